"""What parts never from ever, which part failed first, and the stability screens."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.model import stability
from edgesim.model.grid import reef_line, wall_line
from edgesim.model.hold import largest_load
from edgesim.model.stability import Screen, highest_wave, member_screens
from edgesim.names import PARTS
from edgesim.outcomes.indicators import CONDITION, first_failures, stands_alone, takeover_year
from edgesim.outcomes.screens import ENGINEER, LOOK, OK, SCOUR, _row, screen_table
from edgesim.outcomes.takeover import never_words, takeover_causes
from edgesim.processes.linear_waves import breaking_height, wavenumber
from edgesim.processes.wind_waves import wave_young_verhagen
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


def test_a_reef_that_failed_once_took_over_only_after_it() -> None:
    """Holds, holds, fails, holds, holds: from year 3 on, not from the start."""
    found = takeover_year([4.0, 4.0, 6.0, 4.0, 4.0], [10.0] * 5, [True] * 5, range(5), 0.5)
    assert found == 3.0


def test_a_reef_stands_alone_once_half_of_its_mesh_is_gone() -> None:
    """Uncemented it depends on wire as long as most units have theirs."""
    mesh = [1.0, 0.9, 0.51, 0.5, 0.0]
    assert stands_alone(np.zeros(5), mesh).tolist() == [False, False, False, True, True]
    assert stands_alone(np.array([0.69, 0.70]), np.ones(2)).tolist() == [False, True]


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


POSTS = ("posts of a full wall", "posts of a full wall, dug out at its ends", "bare posts")
SAFETIES = [*((name, 2.0, 1.0) for name in POSTS), ("sliding of a unit", 1.5, 1.0)]
SAFETIES += [("bearing of a unit on mud", 3.0, 1.5)]
"""Safety from which a screen is ok, and below which it is for an engineer, as the page on decay says."""


@pytest.mark.parametrize(("name", "ok_from", "engineer_below"), SAFETIES)
def test_verdicts_follow_the_stated_limits(
    name: str, ok_from: float, engineer_below: float
) -> None:
    for safety, verdict in (
        (ok_from, OK),
        (ok_from - 0.01, LOOK),
        (engineer_below, LOOK),
        (engineer_below - 0.01, ENGINEER),
    ):
        row = _row(name, [Screen(100.0, 100.0 * safety)] * 20)
        assert row.verdict == verdict, safety
        assert (row.ok_from, row.engineer_below) == (ok_from, engineer_below)


@pytest.mark.parametrize(
    ("hole", "verdict"), [(0.24, OK), (0.25, LOOK), (0.49, LOOK), (0.50, ENGINEER)]
)
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


@pytest.mark.parametrize(("height", "worst"), [(0.15, "lowest"), (0.60, "inner")])
def test_a_unit_slides_at_the_water_level_that_holds_it_least(
    small_scenario: Make, monkeypatch: pytest.MonkeyPatch, height: float, worst: str
) -> None:
    """By linear theory: drag of 1.5 and lift of 0.4 against friction of 0.3 on mud at eight levels from
    the top of the unit to mean high water. A wave that never breaks moves most water near the bed where
    it is shallowest; one that breaks there is higher, and worse, a little further up."""
    scenario = small_scenario().central
    reef, line = scenario.design.reef, reef_line(scenario)
    assert reef is not None
    assert line is not None
    monkeypatch.setattr(stability, "highest_wave", lambda *_: (height, 2.0))
    depths = np.linspace(reef.unit_height, scenario.site.datums.mhw - line.base, 8)
    k = wavenumber(2.0, depths)
    wave = np.minimum(height, breaking_height(2.0, depths))
    speed = np.pi * wave / 2.0 * np.cosh(0.5 * k * reef.unit_height) / np.sinh(k * depths)
    plan = reef.unit_length * reef.unit_width
    weight = plan * reef.unit_height * (1.0 - reef.porosity) * (2500.0 - WATER_DENSITY) * GRAVITY
    head = 0.5 * WATER_DENSITY * speed**2
    drag = 1.5 * head * reef.unit_length * reef.unit_height
    safety = 0.3 * (weight - 0.4 * head * plan) / drag
    assert (int(safety.argmin()) == 0) == (worst == "lowest")
    assert safety.argmin() < 7
    screen = member_screens(scenario, 0)["sliding of a unit"]
    assert screen.acting == pytest.approx(drag[safety.argmin()], rel=1e-9)
    assert screen.resisting / screen.acting == pytest.approx(safety.min(), rel=1e-9)


def test_a_full_wall_bears_half_of_the_pressure_on_a_tight_one(small_scenario: Make) -> None:
    """By hand: under a long wave Goda's pressure on a tight wall is 1.1 rho g H from bed to crest."""
    scenario = small_scenario({"design.walls.rows": 2}).central
    walls, line = scenario.design.walls, wall_line(scenario)
    assert walls is not None
    assert line is not None
    load, arm = largest_load(scenario, line, 0.05, 60.0)
    depth = walls.crest - line.base
    width = float(line.parts[0, 1] - line.parts[0, 0])
    tight = 1.1 * WATER_DENSITY * GRAVITY * 0.05 * depth * width
    assert load == pytest.approx(0.5 * tight / 2, rel=0.005)
    assert arm == pytest.approx(0.5 * depth)


def test_the_highest_wave_of_a_wind_is_1_8_times_its_significant_one(small_scenario: Make) -> None:
    """The strongest listed wind of 19 knots over its longest fetch of 600 ft with 8 ft of water, boats creeping."""

    def creeping(table: dict[str, Any]) -> None:
        table["traffic"]["classes"] = [{**table["traffic"]["classes"][-1], "speed": "1 knot"}]

    scenario = small_scenario({"wind.formula": "young-verhagen"}, edit=creeping).central
    significant, period = wave_young_verhagen(19.0 * 0.514444, 600.0 * 0.3048, 8.0 * 0.3048)
    found = highest_wave(scenario, 0, 7.3)
    assert found == pytest.approx((1.8 * float(significant), float(period)), rel=1e-5)


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
