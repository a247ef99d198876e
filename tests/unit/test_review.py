"""A review: futures are weighed by surveys, and the corrected forecast says what it rests on."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from edgesim.errors import ScenarioError, StudyError
from edgesim.monitoring.surveys import Survey
from edgesim.outcomes.dataset import read_dataset, write_dataset, years_elapsed
from edgesim.outcomes.tables.forecast import limits, skill_table
from edgesim.scenario import ScenarioFile
from edgesim.scenario.loader import from_table
from edgesim.studies.review import FEWEST, Review, review

BUILT = "walls and reef"
MEMBERS = 40


def with_beliefs(demo: ScenarioFile, *changes: dict[str, object]) -> ScenarioFile:
    names = ("as it was", "worse")
    beliefs = [{"name": n, "weight": 1.0, **c} for n, c in zip(names, changes, strict=False)]
    table = {**demo.table, "beliefs": beliefs} if beliefs else demo.table
    return from_table(table, demo.path).overridden(members=MEMBERS)


def survey(years: float, value: float, error: float, quantity: str = "retreat") -> Survey:
    day = date.fromordinal(date(2027, 1, 1).toordinal() + round(365.25 * years))
    return Survey(day, quantity, value, error, years)


def reviewed(
    demo: ScenarioFile, dataset: xr.Dataset, surveys: list[Survey], factor: float | None = None
) -> Review:
    """Review under one belief, or with a second under which the edge goes back `factor` times as far."""
    decay = {"design.walls.branch_decay": "0.6 /yr"}
    file = with_beliefs(demo, decay, decay) if factor else with_beliefs(demo)
    worse = dataset.assign(retreat=dataset["retreat"] * (factor or 1.0))
    return review(file, surveys, BUILT, lambda place, _: (dataset, worse)[place])


def test_surveys_of_one_future_pull_the_forecast_to_it(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    retreat = synthetic_dataset["retreat"].sel(option=BUILT).values
    order = np.argsort(retreat[:, -1])
    truth = order[-4]  # one of the worst
    years = years_elapsed(synthetic_dataset)
    surveys = [
        survey(year, float(np.interp(year, years, retreat[truth])), 0.02 * retreat[truth, -1])
        for year in (3.0, 6.0, 9.0)
    ]
    done = reviewed(demo, synthetic_dataset, surveys)
    row = next(row for row in done.changes if row.option == BUILT)
    wanted = retreat[truth, -1]
    assert abs(row.after_p50 - wanted) < abs(row.before_p50 - wanted)
    assert row.after_p95 - row.after_p05 < row.before_p95 - row.before_p05
    corrected = done.dataset["retreat"].sel(option=BUILT).values
    np.testing.assert_array_equal(corrected, retreat[done.dataset["drawn_member"].values])


def test_the_belief_that_the_surveys_hold_gains_weight(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    middle = float(synthetic_dataset["retreat"].sel(option=BUILT).median("member")[-1])
    surveys = [survey(9.9, 2.0 * middle, 0.2 * middle)]
    done = reviewed(demo, synthetic_dataset, surveys, factor=2.0)
    first, last = done.beliefs[:2], done.beliefs[2:]
    assert [row.weight for row in first] == pytest.approx([0.5, 0.5])
    assert last[1].belief == "worse"
    assert last[1].weight > 0.6
    assert sum(row.weight for row in last) == pytest.approx(1.0)
    np.testing.assert_allclose(
        done.dataset["belief_weight"].values[:, -1], [row.weight for row in last]
    )
    share = float((done.dataset["drawn_belief"] == 1).mean())
    number = done.dataset.sizes["member"]
    assert number == round(done.effective)
    assert share == pytest.approx(last[1].weight, abs=1.0 / number + 1e-9)


def test_sharp_surveys_never_leave_a_forecast_without_spread(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    retreat = synthetic_dataset["retreat"].sel(option=BUILT).values
    done = reviewed(demo, synthetic_dataset, [survey(9.9, float(retreat[5, -1]), 1e-6)])
    assert done.error_factor > 100.0
    assert done.effective == pytest.approx(FEWEST, rel=1e-3)
    assert np.unique(done.dataset["drawn_member"]).size >= FEWEST / 2
    assert (
        f"errors taken {done.error_factor:.2f} times as large" in done.dataset.attrs["review_note"]
    )


def test_vague_surveys_change_next_to_nothing(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    done = reviewed(demo, synthetic_dataset, [survey(5.0, 0.5, 1e4)])
    assert done.error_factor == 1.0
    assert done.effective == pytest.approx(MEMBERS)
    np.testing.assert_array_equal(done.dataset["drawn_member"], np.arange(MEMBERS))


def test_bands_are_those_before_each_survey(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    retreat = synthetic_dataset["retreat"].sel(option=BUILT).values
    high = float(np.quantile(retreat[:, -1], 0.9))
    done = reviewed(
        demo, synthetic_dataset, [survey(9.0, high, 0.05 * high), survey(9.9, high, 0.05 * high)]
    )
    first, second = done.surveys
    assert second.p50 > first.p50


def test_the_corrected_forecast_is_written_and_read_whole(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset, tmp_path: Path
) -> None:
    done = reviewed(demo, synthetic_dataset, [survey(5.0, 0.5, 0.3)], factor=2.0)
    write_dataset(done.dataset, tmp_path / "forecast.nc")
    again = read_dataset(tmp_path / "forecast.nc")
    assert list(again["belief"].values) == ["as it was", "worse"]
    np.testing.assert_array_equal(again["drawn_member"], done.dataset["drawn_member"])
    assert again.sizes["member"] == round(done.effective)
    assert set(synthetic_dataset.data_vars) <= set(again.data_vars)


def test_the_plan_says_what_corrected_it(demo: ScenarioFile, synthetic_dataset: xr.Dataset) -> None:
    done = reviewed(demo, synthetic_dataset, [survey(5.0, 0.5, 0.3)], factor=2.0)
    correction = dict(row[:2] for row in limits(done.dataset).rows)["Correction"]
    assert "1 survey up to 2032-01-01, 80 futures under 2 beliefs" in correction
    assert "“as it was”" in correction
    assert "no proof of skill" in skill_table(done.dataset).note
    before = done.dataset.copy()
    del before.attrs["review_note"]
    assert "no proof of skill" not in skill_table(before).note


def test_the_same_seed_draws_the_same_futures(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    one, two = (reviewed(demo, synthetic_dataset, [survey(5.0, 0.5, 0.3)]) for _ in range(2))
    xr.testing.assert_identical(one.dataset, two.dataset)


def test_beliefs_that_change_the_run_are_refused(demo: ScenarioFile) -> None:
    file = with_beliefs(demo, {"run.years": 12})
    with pytest.raises(ScenarioError, match='beliefs: "as it was" changes the section run'):
        review(file, [survey(1.0, 0.1, 0.1)], BUILT, lambda *_: xr.Dataset())


def test_surveys_that_no_future_holds_are_an_error(
    demo: ScenarioFile, synthetic_dataset: xr.Dataset
) -> None:
    empty = synthetic_dataset.assign(retreat=np.nan * synthetic_dataset["retreat"])
    with pytest.raises(StudyError, match="No future of walls and reef holds"):
        reviewed(demo, empty, [survey(5.0, 0.5, 0.3)])
