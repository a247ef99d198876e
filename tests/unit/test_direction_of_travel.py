"""Which way boats go: shares, lanes, the side from which their wakes come, and the shelter that follows.

Bounds on drawn numbers are four standard errors (one failure in 16 000); seeds are fixed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from edgesim.errors import ScenarioError
from edgesim.forcing.calendar import calendar
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.tally import count_wakes, expect_wakes
from edgesim.forcing.water_levels import WaterLevels
from edgesim.forcing.waves import (
    WAKE,
    WIND,
    Fleet,
    Waterway,
    distance_in_lane,
    fleet,
    hull_of,
    sample_passages,
    wake_of,
    waterway,
    wave_classes,
)
from edgesim.forcing.wind import WIND_SPREAD, wind_angles, wind_sea
from edgesim.model.common import Common, member_forcing, prepare
from edgesim.processes.linear_waves import wavenumber
from edgesim.scenario import Scenario, ScenarioFile, load_scenario

Floats = NDArray[np.float64]
Tell = Callable[[str], None]
Make = Callable[..., ScenarioFile]

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"
OUTER = 7.3
STANDARD_ERRORS = 4.0
CERTAIN: dict[str, Any] = {
    "traffic.planing_formula": "maynord",
    "traffic.displacement_formula": "kriebel-seelig",
    "wind.formula": "young-verhagen",
    "tide.surge_sd": 0.0,
    "traffic.level": 1.0,
    "traffic.growth": 0.02,
}


def drawn(boats: Fleet, way: Waterway, n_days: int, directions: int) -> tuple[Any, Any, Any]:
    """Classes, tally (n_days, 1, n_classes) and class waves of boats that go onward."""
    sample = np.empty((2000, 4))
    sample_passages(boats, way, stream(3, 0, Purpose.CLASSES), sample)
    none = np.empty(0)
    classes = wave_classes(sample, (none, none, none), 3, way.depth)
    n_classes = classes.period.size
    tally, onward = np.zeros((n_days, 1, n_classes)), np.zeros(n_classes)
    days = calendar(date(2027, 1, 1), n_days)
    levels = WaterLevels(np.zeros(n_days * 24), np.empty(0), np.zeros(1), width=1.0)
    count_wakes(
        boats, way, classes, days, levels, np.zeros(n_days), np.ones(n_days), 1.0, 0.0, 0.5, 7.0, 19.0,
        np.random.default_rng(1), np.random.default_rng(directions), tally, onward,
    )  # fmt: skip
    return classes, tally, onward


# --- shares -----------------------------------------------------------------------------------


def test_boats_go_onward_by_their_share(central: Scenario) -> None:
    # Boats that are all alike, so that shares of energy are shares of boats.
    boats = Fleet._make(column[:1] for column in still(fleet(central, OUTER)))
    one, _, _ = wake_of(hull_of(boats, 0), waterway(central), boats.speed[0], boats.distance[0])
    for share in (0.0, 0.3, 1.0):
        way = waterway(central)._replace(onward_share=share)
        classes, tally, onward = drawn(boats, way, 400, directions=5)
        assert classes.height == pytest.approx(one)
        found = float(onward.sum() / tally.sum())
        n = tally.sum() / (boats.equivalent_waves[0] * onshore_of(boats, way))
        assert n > 20_000
        error = math.sqrt(share * (1.0 - share) / n)
        assert found == pytest.approx(share, abs=STANDARD_ERRORS * error + 1e-12)


def still(boats: Fleet) -> Fleet:
    """Boats that all pass at one speed and one distance."""
    none = np.zeros_like(boats.speed)
    return boats._replace(speed_spread=none, distance_spread=none)


def onshore_of(boats: Fleet, way: Waterway) -> float:
    return wake_of(hull_of(boats, 0), way, boats.speed[0], boats.distance[0])[2]


def test_the_way_that_boats_go_moves_no_wave_unless_there_are_lanes(central: Scenario) -> None:
    """Common random numbers: designs and traffic one way or the other meet the same passages."""
    boats, way = fleet(central, OUTER), waterway(central)
    _, tally, onward = drawn(boats, way._replace(onward_share=0.2), 60, directions=5)
    _, same, other = drawn(boats, way._replace(onward_share=0.9), 60, directions=6)
    np.testing.assert_array_equal(tally, same)
    assert (onward < other).all()


def test_a_scenario_gives_half_and_half_and_no_lanes_by_itself(central: Scenario) -> None:
    way = waterway(central)
    assert (way.onward_share, way.half_lane) == (0.5, 0.0)


def test_the_share_may_be_uncertain(small_scenario: Make) -> None:
    def edit(table: dict[str, Any]) -> None:
        table["traffic"]["onward_share"] = {"low": 0.2, "mode": 0.3, "high": 0.4}

    scenario_file = small_scenario(edit=edit)
    shares = np.array([scenario_file.member(i).traffic.onward_share for i in range(50)])
    assert 0.2 <= shares.min() < 0.26
    assert 0.34 < shares.max() <= 0.4


# --- lanes ------------------------------------------------------------------------------------


def test_boats_that_keep_to_the_right_pass_nearer_on_their_way_back(demo: ScenarioFile) -> None:
    # International Regulations for Preventing Collisions at Sea, 1972, rule 9 (a) (read): a vessel
    # keeps near to the outer limit of the channel on her starboard side. Onward is to the right
    # looking landward: who goes that way has the marsh on the left hand.
    apart = {"traffic.lanes_apart": 20.0}
    keeps_right = waterway(demo.overridden(apart).central)
    boats = fleet(demo.central, OUTER)
    assert distance_in_lane(hull_of(boats, 0), keeps_right, True) == boats.distance[0] + 10.0
    assert distance_in_lane(hull_of(boats, 0), keeps_right, False) == boats.distance[0] - 10.0
    other = demo.overridden({**apart, "traffic.near_lane": "onward"})
    assert (
        distance_in_lane(hull_of(boats, 0), waterway(other.central), True)
        == boats.distance[0] - 10.0
    )


def test_the_near_lane_makes_the_higher_wakes(central: Scenario) -> None:
    boats = fleet(central, OUTER)
    means = []
    for share in (0.0, 1.0):
        way = waterway(central)._replace(onward_share=share, half_lane=15.0)
        sample = np.empty((4000, 4))
        sample_passages(boats, way, stream(3, 0, Purpose.CLASSES), sample)
        means.append([sample[i::4, 0].mean() for i in range(4)])
    # Heights of planing boats fall with distance to the power -0.42 (Maynord), of hulls to -1/3.
    near, far = np.array(means)
    usual = np.array([float(d) for d in boats.distance])
    ratio = (usual + 15.0) / (usual - 15.0)
    assert near[:2] / far[:2] == pytest.approx(ratio[:2] ** 0.42, rel=0.03)
    assert near[2:] / far[2:] == pytest.approx(ratio[2:] ** (1.0 / 3.0), rel=0.06)


def test_the_ways_of_a_sample_are_spread_by_their_share(central: Scenario) -> None:
    boats = still(fleet(central, OUTER))
    way = waterway(central)._replace(onward_share=0.3, half_lane=15.0)
    sample = np.empty((400, 4))
    sample_passages(boats, way, stream(3, 0, Purpose.CLASSES), sample)
    for i in range(4):
        lanes = np.unique(sample[i::4, 0])
        assert lanes.size == 2
        # The far lane, with the lower wakes, is that of boats that go onward.
        assert (sample[i::4, 0] == lanes[0]).mean() == pytest.approx(0.3, abs=0.011)


def test_lanes_that_would_lie_on_the_marsh_are_refused(demo: ScenarioFile) -> None:
    with pytest.raises(ScenarioError, match=r"no water for the near lane"):
        demo.overridden({"traffic.lanes_apart": 1000.0})


def test_a_mirrored_channel_meets_the_same_boats_in_mirrored_ways(central: Scenario) -> None:
    boats, way = fleet(central, OUTER), waterway(central)._replace(half_lane=10.0)
    one = way._replace(onward_share=0.7)
    image = way._replace(onward_share=0.3, near_goes_onward=True)
    (_, tally, onward), (_, same, back) = (drawn(boats, w, 60, directions=5) for w in (one, image))
    np.testing.assert_allclose(tally, same, rtol=1e-12)
    np.testing.assert_allclose(onward + back, tally.sum(axis=(0, 1)), rtol=1e-12)


# --- the expected tally -----------------------------------------------------------------------


def test_expected_waves_by_way_add_up(central: Scenario) -> None:
    """All one way and all the other, weighted by their shares, are the expected waves of both."""
    boats, n_days = fleet(central, OUTER), 10
    way = waterway(central)._replace(half_lane=12.0)
    classes, _, _ = drawn(boats, way, 1, directions=1)
    days = calendar(date(2027, 1, 1), n_days)
    levels = WaterLevels(np.zeros(n_days * 24), np.empty(0), np.zeros(1), width=1.0)
    still = np.zeros(n_days)

    def expected(share: float) -> tuple[Floats, Floats]:
        tally, onward = np.zeros((n_days, 1, 3)), np.zeros(3)
        one_way = way._replace(onward_share=share)
        expect_wakes(
            boats, one_way, classes, days, levels, still, 1.0, 0.0, 7.0, 19.0, tally, onward
        )
        return tally, onward

    (back, none), (on, all_on), (both, some) = expected(0.0), expected(1.0), expected(0.3)
    np.testing.assert_allclose(both, 0.3 * on + 0.7 * back, rtol=1e-12)
    np.testing.assert_allclose(all_on, on.sum(axis=(0, 1)), rtol=1e-12)
    np.testing.assert_allclose(some, 0.3 * all_on, rtol=1e-12)
    assert not none.any()
    # Those that go back pass nearer: they have more of the highest class.
    assert back[:, :, 2].sum() > 1.2 * on[:, :, 2].sum()


@pytest.mark.slow
def test_expected_shares_and_waves_are_the_mean_of_drawn_ones(
    small_scenario: Make, tell: Tell
) -> None:
    """Two boats in three go onward, in lanes 20 m apart: every level and class, over forty members."""
    changes = CERTAIN | {"run.years": 1, "run.wake_classes": 3, "traffic.onward_share": 0.65}
    drawn_file = small_scenario(changes | {"traffic.lanes_apart": 20.0}, settled_boats)
    expected_file = drawn_file.overridden({"traffic.passages": "expected"})
    common = prepare(drawn_file, lines=False)
    members = [member_forcing(drawn_file, common, i) for i in range(40)]
    one = member_forcing(expected_file, common, 0)
    for found, expected, slack in (
        (np.array([m.weather.tally.sum(axis=0) for m in members]), one.weather.tally.sum(axis=0), 5e-3),
        (np.array([m.onward for m in members]), one.onward, 2e-3),
    ):  # fmt: skip
        error = found.std(axis=0, ddof=1) / math.sqrt(found.shape[0])
        gap = abs(found.mean(axis=0) - expected)
        worst = float((gap / (error + 1e-9 * expected.max())).max())
        tell(f"largest gap {worst:.2f} standard errors")
        # Slices of speed and distance stand for the passages: 0.5 % of the energy at most.
        assert (gap <= STANDARD_ERRORS * error + slack * expected + 1e-9).all()
    # High wakes come more often from the near lane, whose boats go back.
    wakes = one.onward[common.classes.source == WAKE]
    tell(f"share that runs onward, by class: {np.round(one.onward, 3)}")
    assert wakes[0] > 0.65 > wakes[-1]


def settled_boats(table: dict[str, Any]) -> None:
    for boat in table["traffic"]["classes"]:
        boat["hull_constant"] = 0.8
        boat["waves_per_packet"] = 10.0


def test_without_lanes_every_class_has_the_share_of_the_scenario(small_scenario: Make) -> None:
    changes = {"run.years": 1, "traffic.passages": "expected", "traffic.onward_share": 0.8}
    scenario_file = small_scenario(changes)
    common = prepare(scenario_file, lines=False)
    onward = member_forcing(scenario_file, common, 0).onward
    assert onward[common.classes.source == WAKE] == pytest.approx(0.8, abs=1e-12)


# --- wind -------------------------------------------------------------------------------------


def blown(small_scenario: Make, tmp_path: Path, degrees: list[float]) -> ScenarioFile:
    """A year of hourly winds of 8 m/s that come in turn from directions off the way the shore faces."""
    faces = math.degrees(load_scenario(DEMO).central.site.shore_faces or 0.0)
    first = np.datetime64("2027-01-01T00:00")
    lines = ["time_utc,speed_m_per_s,direction_deg"]
    lines += [
        f"{first + np.timedelta64(i, 'h')},8.0,{(faces + degrees[i % len(degrees)]) % 360.0}"
        for i in range(24 * 20)
    ]
    path = tmp_path / "hourly.csv"
    path.write_text("\n".join(lines), encoding="utf-8")

    def edit(table: dict[str, Any]) -> None:
        del table["wind"]["table"]
        table["wind"]["hourly"] = str(path)
        table["wind"]["fetches"] = [[f"{faces} deg", "600 m"]]

    return small_scenario({"run.years": 1, "run.wind_classes": 1, **CERTAIN}, edit)


@pytest.mark.parametrize("degrees", [-60.0, -25.0, 0.0, 25.0, 60.0])
def test_wind_waves_run_the_way_their_wind_blows(
    small_scenario: Make, tmp_path: Path, degrees: float
) -> None:
    """A wind from the left of the way the shore faces is clockwise of it, and blows onward.

    A shore that faces south has its right end in the east: a wind from the west (90 degrees
    clockwise of south) blows to the east.
    """
    scenario_file = blown(small_scenario, tmp_path, [degrees])
    assert np.degrees(wind_angles(scenario_file.central)) == pytest.approx(degrees, abs=1e-9)
    common = prepare(scenario_file, lines=False)
    wind = common.classes.source == WIND
    onward = member_forcing(scenario_file, common, 0).onward[wind]
    # Directions scatter normally by 25 degrees about the wind: of a wind 25 degrees off, 84 % keep to its side.
    assert onward == pytest.approx(float(norm.cdf(degrees, scale=25.0)), abs=1e-9)
    # And the class runs at the angle of its wind and its scatter, whichever way.
    off = math.hypot(math.radians(degrees), WIND_SPREAD)
    sine = common.classes.alongshore_wavenumber[wind] / deep_number(common, wind)
    assert sine == pytest.approx(math.sin(off), rel=1e-9)


def deep_number(common: Common, wind: NDArray[np.bool_]) -> Floats:
    """Wavenumber of the wind's class in the channel, where its angle is taken."""
    depth = load_scenario(DEMO).central.traffic.channel_depth
    return wavenumber(common.classes.period[wind], depth)


def test_winds_from_both_sides_share_by_their_energy(small_scenario: Make, tmp_path: Path) -> None:
    scenario_file = blown(small_scenario, tmp_path, [-50.0, -50.0, 50.0])
    common = prepare(scenario_file, lines=False)
    onward = member_forcing(scenario_file, common, 0).onward[common.classes.source == WIND]
    one = float(norm.cdf(2.0))
    assert onward == pytest.approx((1.0 - one) * 2.0 / 3.0 + one / 3.0, abs=1e-9)


def test_a_site_without_wind_has_no_winds_to_turn(small_scenario: Make) -> None:
    scenario_file = small_scenario(edit=lambda table: table.pop("wind"))
    common = prepare(scenario_file, lines=False)
    sea = wind_sea(scenario_file.central, common.classes)
    assert sea.onward.size == 0
    assert member_forcing(scenario_file, common, 0).onward.size == common.classes.period.size
