"""Triggers, calendar, layout, history and skill by hand-worked cases."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.outcomes.calendar import refill_visits, review_years, works
from edgesim.outcomes.embedded import INPUTS
from edgesim.outcomes.extras import skill
from edgesim.outcomes.history import EdgeLine, edge_lines, rate_error, rates
from edgesim.outcomes.layout import contour_distance, monitoring_layout
from edgesim.outcomes.triggers import (
    AMBER,
    GREEN,
    MEASURES,
    RED,
    UNKNOWN,
    chances,
    due_year,
    starter_triggers,
    states,
)

FILL = next(trigger for trigger in starter_triggers() if trigger.measure == "fill_fraction")


@pytest.fixture
def filled(synthetic_dataset: xr.Dataset) -> Any:
    """Make a forecast of four members with the fill that is given, in per cent by year."""

    def make(*members: list[float]) -> xr.Dataset:
        dataset = synthetic_dataset.isel(member=slice(0, len(members)))
        years = dataset["elapsed"].values
        fill = dataset["fill_fraction"].copy()
        for index, values in enumerate(members):
            whole = np.interp(years, np.arange(len(values)), np.array(values) / 100)
            fill.loc[{"option": "walls only"}][{"member": index}] = whole
        return dataset.assign(fill_fraction=fill)

    return make


def test_states_stand_on_the_right_side_of_the_thresholds():
    # Table 3b of the practice: green above 75 %, red below 50 %.
    found = FILL.state([100.0, 75.0, 74.9, 50.0, 49.9, np.nan])
    assert found.tolist() == [GREEN, GREEN, AMBER, AMBER, RED, UNKNOWN]
    sheltering = next(t for t in starter_triggers() if t.measure == "wall_reduction")
    assert sheltering.state([75.0, 74.9, 50.0, 49.9]).tolist() == [GREEN, AMBER, AMBER, RED]


def test_new_walls_are_green_whatever_they_let_through(synthetic_dataset: xr.Dataset):
    # The height that they take off is compared with that of the walls as built, not with a number
    # that walls of another fill had.
    trigger = next(t for t in starter_triggers() if t.measure == "wall_reduction")
    kt = synthetic_dataset["wall_transmission"].copy()
    kt[...] = 0.8
    found = states(synthetic_dataset.assign(wall_transmission=kt), trigger, "walls only")
    assert found is not None
    assert np.all(found == GREEN)
    # Half of 1 - 0.8 is gone at 0.9.
    kt[..., 1:] = 0.91
    worn = states(synthetic_dataset.assign(wall_transmission=kt), trigger, "walls only")
    assert worn is not None
    assert np.all(worn[:, 1:] == RED)


def test_a_forecast_says_when_its_upkeep_ends(synthetic_dataset: xr.Dataset, monkeypatch: Any):
    from edgesim.outcomes import calendar

    def told(**upkeep: Any) -> str:
        rule = SimpleNamespace(upkeep=SimpleNamespace(**upkeep))
        monkeypatch.setattr(calendar, "scenario_of", lambda _: rule)
        return calendar.upkeep_end_words(synthetic_dataset.assign_attrs({INPUTS: "{}"}))

    assert "ends after year 5" in told(rule="calendar", until_year=5.0)
    assert told(rule="calendar", until_year=1e9) == ""
    assert "nothing is ever filled" in told(rule="none", until_year=1e9)


def test_chance_of_red_is_the_share_of_the_members(filled: Any):
    data = filled([100, 40, 40], [100, 60, 40], [100, 100, 40], [100, 100, 100])
    found = chances(data, FILL, "walls only")
    assert found is not None
    assert found[1] == 0.25
    assert found[2] == 0.75
    worse = chances(data, FILL, "walls only", AMBER)
    assert worse is not None
    assert worse[1] == 0.5


def test_thresholds_can_be_edited(filled: Any):
    data = filled([100, 40], [100, 60], [100, 100], [100, 100])
    strict = replace(FILL, red=99.0)
    found = chances(data, strict, "walls only")
    assert found is not None
    assert found[1] == 0.5


def test_the_date_due_is_when_four_in_five_have_been_red(filled: Any):
    falls = [100, 100, 40]  # crosses 50 % at 1 + 50/60 of a year: first record after is year 2
    data = filled(falls, falls, falls, falls)
    assert due_year(data, FILL, "walls only") == pytest.approx(2.0, abs=0.26)
    data = filled(falls, falls, falls, [100, 100, 100])
    assert due_year(data, FILL, "walls only") is None
    assert due_year(data, FILL, "walls only", 0.75) == pytest.approx(2.0, abs=0.26)


def test_a_line_that_is_not_there_has_no_state(synthetic_dataset: xr.Dataset):
    assert states(synthetic_dataset, FILL, "reef only") is None
    assert chances(synthetic_dataset, FILL, "no action") is None
    events = next(trigger for trigger in starter_triggers() if trigger.unit == "events")
    assert states(synthetic_dataset, events, "walls only") is None


def test_nothing_is_judged_before_its_year(synthetic_dataset: xr.Dataset):
    oysters = next(t for t in starter_triggers() if t.measure == "oyster_share")
    found = chances(synthetic_dataset, oysters, "reef only")
    assert found is not None
    assert min(found) == 4


def test_measures_of_an_option_against_itself_say_nothing(synthetic_dataset: xr.Dataset):
    for name in ("retreat_share", "extra_retreat", "platform_share"):
        assert np.isnan(MEASURES[name](synthetic_dataset, "no action")).all()
    share = MEASURES["retreat_share"](synthetic_dataset, "walls only")
    kept = synthetic_dataset["retreat"]
    np.testing.assert_allclose(
        share[:, -1],
        100 * kept.sel(option="walls only")[:, -1] / kept.sel(option="no action")[:, -1],
    )


def test_refill_visits_of_all_years_sum_to_those_of_the_run(synthetic_dataset: xr.Dataset):
    each = refill_visits(synthetic_dataset, "walls only")
    total = synthetic_dataset["refills"].sel(option="walls only")[:, -1].mean()
    assert sum(each.values()) == pytest.approx(float(total))
    assert refill_visits(synthetic_dataset, "reef only") == {}
    assert [work.kind for work in works(synthetic_dataset, "walls only")].count("review") == 1


def test_the_calendar_holds_the_visits_and_chances_of_the_tables(filled: Any):
    data = filled([40], *[[100]] * 3)
    found = {work.name: work.share for work in works(data, "walls only")}
    # Monthly in year 1, then twice a year, as the monitoring matrix says.
    assert (found["State of walls"][1], found["State of walls"][2]) == (12.0, 2.0)
    assert list(found["Formal review"]) == review_years(data) == [1, 2, 3, 5, 10]
    assert found["Fill left in the walls: act"] == chances(data, FILL, "walls only")


def test_a_chance_that_is_not_written_as_zero_stands_in_the_calendar(synthetic_dataset: xr.Dataset):
    posts = synthetic_dataset["posts_standing"].copy()
    posts[...] = 1.0
    posts[{"member": 0}] = 0.0
    found = works(synthetic_dataset.assign(posts_standing=posts), "walls only")
    share = next(work.share for work in found if work.name == "Posts sound: act")
    assert share[7] == pytest.approx(1 / 40)


def test_contour_lies_where_the_profile_crosses_the_datum(whole_dataset: xr.Dataset):
    flat = whole_dataset.drop_dims("profile_point").assign(
        profile_distance=("profile_point", np.array([0.0, 10.0])),
        profile_elevation=("profile_point", np.array([0.1, -1.9])),
    )
    # From 0.1 m down 0.2 m a metre: -0.90 m lies at 5 m.
    assert contour_distance(flat, "MLW") == pytest.approx(5.0)
    assert np.isnan(contour_distance(flat.isel(profile_point=slice(0, 1)), "MLW"))


def test_control_is_as_dense_and_stands_apart(whole_dataset: xr.Dataset):
    layout = monitoring_layout(whole_dataset)
    start, end = (float(whole_dataset[f"defended_{side}"]) for side in ("start", "end"))
    assert layout.reach.size == layout.control.size == 5
    assert ((layout.reach > start) & (layout.reach < end)).all()
    assert ((layout.control < start) | (layout.control > end)).all()
    assert layout.room


def test_rate_error_of_two_surveys():
    # Two air photographs of 2 m, 10 years apart: 0.28 m/yr; two walks of 0.3 m, one year apart:
    # 0.42 m/yr (computed by hand: sqrt(2) e/years).
    assert rate_error(2.0, 2.0, 10.0) == pytest.approx(0.283, abs=5e-4)
    assert rate_error(0.3, 0.3, 1.0) == pytest.approx(0.424, abs=5e-4)


def test_rates_between_neighbouring_surveys_and_over_all():
    lines = [
        EdgeLine(str(year), year, 1.0, np.full(4, offset))
        for year, offset in ((2000.0, -6.0), (2010.0, -4.0), (2020.0, 0.0))
    ]
    assert [rate.rate for rate in rates(lines)] == pytest.approx([0.2, 0.4, 0.3])
    assert rates(lines[:1]) == []


def test_surveyed_lines_are_laid_on_the_cells(whole_dataset: xr.Dataset):
    old, new = edge_lines(whole_dataset)
    assert (old.year, new.year) == (1999.0, 2019.0)
    along = whole_dataset["alongshore"].values
    np.testing.assert_allclose(old.offset, -9.0 + 2.0 * along / 60.0)


def test_skill_of_a_perfect_forecast_is_perfect(whole_dataset: xr.Dataset):
    exact = whole_dataset["retreat"] * 0 + whole_dataset["elapsed"]
    data = whole_dataset.assign(
        retreat=exact, observed_retreat=("survey", whole_dataset["observed_year"].values)
    )
    found = skill(data)
    assert found.rmse == pytest.approx(0, abs=1e-9)
    assert found.crps == pytest.approx(0, abs=1e-9)
    assert found.inside == found.count == 2


def test_score_of_one_member_is_its_absolute_error(whole_dataset: xr.Dataset):
    one = whole_dataset.isel(member=slice(0, 1))
    found = skill(one)
    assert found.crps == pytest.approx(float(np.abs(found.observed - found.median).mean()))


def test_score_of_two_members_by_hand(whole_dataset: xr.Dataset):
    # Members at 0 and 2, survey at 1: mean|x - y| = 1, half of mean|x - x'| = (0 + 2 + 2 + 0)/8 = 0.5.
    two = whole_dataset.isel(member=slice(0, 2))
    values = two["retreat"] * 0 + xr.DataArray([0.0, 2.0], dims="member")
    data = two.assign(retreat=values, observed_retreat=("survey", np.array([1.0, 1.0])))
    assert skill(data).crps == pytest.approx(0.5)


def test_oysters_of_all_sizes_are_all_oysters():
    from types import SimpleNamespace

    from edgesim.model.records import oyster_sizes

    # Two year classes on two units: 5 and 25 mm on one, 8 mm and 300 mm on the other.
    state: Any = SimpleNamespace(
        oysters=np.array([[100.0, 50.0], [10.0, 4.0]]),
        shell_height=np.array([[0.005, 0.008], [0.025, 0.300]]),
    )
    found = oyster_sizes(state)
    assert found[0] == 75.0
    assert found[2] == 5.0
    assert found[-1] == 2.0
    assert found.sum() == state.oysters.sum(axis=0).mean()
