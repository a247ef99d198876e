"""What parts never from ever, which part failed first, and the stability screens."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.model.stability import Screen, member_screens
from edgesim.names import PARTS
from edgesim.outcomes.indicators import CONDITION, first_failures
from edgesim.outcomes.screens import ENGINEER, LIMITS, LOOK, OK, SCOUR, _row, screen_table
from edgesim.outcomes.takeover import never_words, takeover_causes
from edgesim.scenario.loader import uniform_draw

Make = Callable[..., Any]


def decided_by(path: str, dataset: xr.Dataset, scenario: Any, *, above: bool) -> xr.Dataset:
    """The invented ensemble, in which takeover is decided by the draw of one input alone."""
    members = dataset["member"].values
    draws = np.array([uniform_draw(int(dataset.attrs["seed"]), int(m), path) for m in members])
    ever = draws > 0.5 if above else draws < 0.5
    years = np.where(ever, 6.0, np.nan)
    dims = dataset["takeover_year"].dims
    found = dataset.copy()
    found["takeover_year"] = (dims, np.tile(years, (dataset.sizes["option"], 1)))
    assert scenario.distributions[path] is not None
    return found


@pytest.mark.parametrize(
    ("path", "above", "never_when"),
    [("oysters.recruitment", True, "low"), ("design.reef.mesh_zinc_rate", False, "high")],
)
def test_the_deciding_input_is_found_first(
    small_scenario: Make, synthetic_dataset: xr.Dataset, path: str, above: bool, never_when: str
) -> None:
    scenario = small_scenario()
    dataset = decided_by(path, synthetic_dataset, scenario, above=above)
    causes = [row for row in takeover_causes(dataset, scenario) if row.option == "reef only"]
    assert causes[0].quantity == path
    assert causes[0].never_when == never_when
    assert causes[0].order in (0.0, 1.0)
    # Chance lets one idle input of a hundred pass, so very few.
    assert len(causes) <= 6
    words = never_words(dataset, causes, "reef only")
    assert path in words
    assert never_when in words


def test_nothing_is_claimed_where_all_or_none_take_over(
    small_scenario: Make, synthetic_dataset: xr.Dataset
) -> None:
    scenario = small_scenario()
    for years, words in ((np.nan, "In none of 40"), (5.0, "In all 40")):
        dataset = synthetic_dataset.copy()
        dataset["takeover_year"] = xr.full_like(dataset["takeover_year"], years)
        assert takeover_causes(dataset, scenario) == []
        assert words in never_words(dataset, [], "reef only")


def test_first_failure_is_the_first_part_that_is_half_gone() -> None:
    times = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
    kept = {name: np.full((3, 5), np.nan) for name in CONDITION.values()}
    kept["posts_standing"] = np.array(
        [[1.0, 1.0, 0.4, 0.2, 0.0], [1.0] * 5, [1.0, 1.0, 0.5, 0.5, 0.5]]
    )
    kept["mesh_intact"] = np.array(
        [[1.0, 0.6, 0.5, 0.4, 0.4], [1.0] * 5, [1.0, 1.0, 1.0, 0.49, 0.0]]
    )
    found = first_failures(kept, times)
    assert [PARTS[int(index)] for index in found["first_failure"]] == ["posts", "none", "mesh"]
    np.testing.assert_array_equal(found["first_failure_year"], [0.5, np.nan, 0.75])


def test_first_failure_is_a_flag_in_the_file(synthetic_dataset: xr.Dataset) -> None:
    failure = synthetic_dataset["first_failure"]
    assert failure.attrs["flag_meanings"].split() == list(PARTS)
    assert failure.attrs["flag_values"].tolist() == list(range(len(PARTS)))
    assert np.all(failure.sel(option="no action") == 0)
    assert set(np.unique(failure.sel(option="walls and reef"))) <= set(range(1, len(PARTS)))


@pytest.mark.parametrize(
    ("name", "safety", "verdict"),
    [
        ("posts of a full wall", 2.1, OK),
        ("posts of a full wall", 1.9, LOOK),
        ("posts of a full wall", 0.9, ENGINEER),
        ("sliding of a unit", 1.4, LOOK),
        ("bearing of a unit on mud", 2.9, LOOK),
        ("bearing of a unit on mud", 1.4, ENGINEER),
    ],
)
def test_verdicts_follow_the_stated_limits(name: str, safety: float, verdict: str) -> None:
    row = _row(name, [Screen(100.0, 100.0 * safety)] * 20)
    assert row.verdict == verdict
    assert (row.ok_from, row.engineer_below) == LIMITS[name][1:]


@pytest.mark.parametrize(("hole", "verdict"), [(0.1, OK), (0.3, LOOK), (0.6, ENGINEER)])
def test_deep_holes_at_wall_ends_are_flagged(hole: float, verdict: str) -> None:
    assert _row(SCOUR, [Screen(hole, 1.5)] * 20).verdict == verdict


def test_the_weak_twentieth_decides_not_the_middle() -> None:
    screens = [Screen(1.0, 5.0)] * 18 + [Screen(1.0, 0.5)] * 2
    row = _row("bare posts", screens)
    assert row.safety == 5.0
    assert row.verdict == ENGINEER


def test_weaker_mud_and_shorter_posts_are_never_safer(small_scenario: Make) -> None:
    def safety(changes: dict[str, Any]) -> dict[str, float]:
        scenario = small_scenario(changes).central
        return {name: s.resisting / s.acting for name, s in member_screens(scenario, 0).items()}

    good = safety({"mud.strength": 12000.0, "design.walls.post_embedment": 2.0})
    weak = safety({"mud.strength": 3000.0, "design.walls.post_embedment": 2.0})
    short = safety({"mud.strength": 12000.0, "design.walls.post_embedment": 0.6})
    for name in ("posts of a full wall", "bare posts", "bearing of a unit on mud"):
        assert weak[name] < good[name]
    assert weak["sliding of a unit"] == good["sliding of a unit"]
    for name in ("posts of a full wall", "bare posts", SCOUR):
        assert short[name] < good[name]
    assert good["posts of a full wall, dug out at its ends"] < good["posts of a full wall"]


@pytest.mark.golden
def test_bearing_of_the_notes_gabion_is_its_safety(small_scenario: Make) -> None:
    """Shell of solid share .3 and 0.5 m height on mud of 3 kPa (computed): out of the water
    q = .5 * .3 * 2500 * 9.81 = 3.68 kPa, q_ult = 5.14 * 3 = 15.4 kPa, safety 4.19."""
    changes = {
        "design.reef.unit_height": 0.5,
        "design.reef.porosity": 0.7,
        "mud.strength": 6000.0,  # the top of the mud has half of it
    }
    screen = member_screens(small_scenario(changes).central, 0)["bearing of a unit on mud"]
    assert screen.acting == pytest.approx(3678.0, rel=1e-3)
    assert screen.resisting / screen.acting == pytest.approx(4.19, abs=0.01)


def test_a_scenario_without_a_design_has_no_screens(small_scenario: Make) -> None:
    def bare(table: dict[str, Any]) -> None:
        del table["design"]
        table["options"] = [{"name": "no action"}]

    assert screen_table(small_scenario(edit=bare), 2) == []


def test_dated_storms_count_in_the_screens(small_scenario: Make) -> None:
    from datetime import date

    def stormy(table: dict[str, Any]) -> None:
        table["events"] = [{"kind": "storm", "date": date(2027, 9, 1), "wave_factor": 3.0}]

    calm, rough = (
        member_screens(small_scenario(edit=edit).central, 0)["bare posts"].acting
        for edit in (None, stormy)
    )
    assert rough > calm
