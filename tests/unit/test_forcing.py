"""From scenario and seed to the tally: exact sums, exact calendars, counts within sampling error.

Bounds are four standard errors (one failure in 16 000); fixed seeds: a test passes always or never.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from edgesim.forcing.calendar import calendar
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.tally import count_wakes
from edgesim.forcing.water_levels import (
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    WaterLevels,
)
from edgesim.forcing.waves import (
    WIND,
    Fleet,
    Waterway,
    WaveClasses,
    fleet,
    hull_of,
    passage_height,
    passage_wave,
    sample_passages,
    waterway,
    wave_classes,
)
from edgesim.forcing.wind import wind_table
from edgesim.processes.linear_waves import wavenumber
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.loader import from_table

Floats = NDArray[np.float64]

OUTER = 7.3
LADDER = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
STANDARD_ERRORS = 4.0


def without_scatter(boats: Fleet) -> Fleet:
    """Boats that all pass at one speed and one distance."""
    still = np.zeros_like(boats.speed)
    return boats._replace(speed_spread=still, distance_spread=still)


def one_of(boats: Fleet, i: int) -> Fleet:
    """Only one of the boat classes."""
    return Fleet._make(column[i : i + 1] for column in boats)


def one_bin(n_days: int) -> WaterLevels:
    """Water at rest, all in one bin."""
    return WaterLevels(np.zeros(n_days * 24), np.empty(0), np.zeros(1), width=1.0)


def classes_of(boats: Fleet, way: Waterway, n: int = 3) -> WaveClasses:
    sample = np.empty((2000, 4))
    sample_passages(boats, way, stream(3, 0, Purpose.CLASSES), sample)
    empty = np.empty(0)
    return wave_classes(sample, (empty, empty, empty), n, way.depth)


def wake_tally(
    boats: Fleet,
    way: Waterway,
    classes: WaveClasses,
    n_days: int,
    levels: WaterLevels | None = None,
    surge: Floats | None = None,
    *,
    multiplier: float = 1.0,
    growth: float = 0.0,
    overdispersion: float = 0.0,
    hours: tuple[float, float] = (7.0, 19.0),
    seed: int = 1,
) -> Floats:
    """Tally of a run; water and traffic are plain unless given."""
    levels = levels or one_bin(n_days)
    tally = np.zeros((n_days, levels.centres.size, classes.period.size))
    count_wakes(
        boats,
        way,
        classes,
        calendar(date(2027, 1, 1), n_days),
        levels,
        np.zeros(n_days) if surge is None else surge,
        np.ones(n_days),
        multiplier,
        growth,
        overdispersion,
        *hours,
        np.random.default_rng(seed),
        np.random.default_rng(0),
        tally,
        np.zeros(tally.shape[2]),
    )
    return tally


def energy_of(tally: Floats, classes: WaveClasses) -> Floats:
    """Energy of each day of a tally over that of a wave of 1 m and 1 s."""
    return np.asarray((tally * (classes.height * classes.period) ** 2).sum(axis=(1, 2)))


def passages_of(tally: Floats, classes: WaveClasses, boats: Fleet, way: Waterway) -> Floats:
    """Passages of each day of one boat class without scatter: all carry the same energy."""
    height, period, onshore = passage_wave(hull_of(boats, 0), way, np.random.default_rng(0))
    one = (height * period) ** 2 * boats.equivalent_waves[0] * onshore
    counts = energy_of(tally, classes) / one
    # They are whole: energy is neither lost nor made.
    assert counts == pytest.approx(np.rint(counts), abs=1e-9)
    return np.asarray(np.rint(counts))


# --- calendar ---------------------------------------------------------------------------------


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.integers(1, 1500))
def test_calendar_agrees_with_the_standard_library(start: date, n_days: int) -> None:
    found = calendar(start, n_days)
    days = [start + timedelta(days=i) for i in range(n_days)]
    assert found.is_weekend.tolist() == [int(day.weekday() >= 5) for day in days]
    assert found.month.tolist() == [day.month - 1 for day in days]
    assert found.year_phase.tolist() == [(day.timetuple().tm_yday - 1) / 365.25 for day in days]
    assert found.year_fraction.tolist() == [i / 365.25 for i in range(n_days)]


# --- random streams ---------------------------------------------------------------------------


def test_streams_are_repeated_exactly_and_differ_in_each_of_three_numbers() -> None:
    def draw(seed: int, member: int, purpose: Purpose) -> list[float]:
        return list(stream(seed, member, purpose).random(4))

    assert draw(1, 2, Purpose.WIND) == draw(1, 2, Purpose.WIND)
    others = [draw(2, 2, Purpose.WIND), draw(1, 3, Purpose.WIND)]
    others += [draw(1, 2, purpose) for purpose in Purpose if purpose is not Purpose.WIND]
    assert draw(1, 2, Purpose.WIND) not in others
    assert len({tuple(other) for other in others}) == len(others)


def test_purposes_have_numbers_of_their_own() -> None:
    # An alias in an IntEnum would silently share a stream.
    assert len(Purpose.__members__) == len(set(Purpose))


# --- single passages --------------------------------------------------------------------------


def test_a_slow_planing_hull_makes_the_wave_of_a_displacement_hull(central: Scenario) -> None:
    boats = fleet(central, OUTER)
    displacing = boats._replace(is_planing=np.zeros_like(boats.is_planing))
    way = waterway(central)
    assert passage_height(hull_of(boats, 0), way, 1.5, 40.0) > 0.0
    assert passage_height(hull_of(boats, 0), way, 1.5, 40.0) == passage_height(
        hull_of(displacing, 0), way, 1.5, 40.0
    )


def test_scatter_keeps_the_mean_and_the_coefficient_of_variation(central: Scenario) -> None:
    # The distance shows in Maynord's height as its power -0.42; in logarithms it is normal.
    boats = one_of(fleet(central, OUTER), 0)
    still = boats._replace(speed_spread=np.zeros(1), waterline_length=np.full(1, 1.0))
    n = 40_000
    generator = np.random.default_rng(4)
    way = waterway(central)
    heights = np.array([passage_wave(hull_of(still, 0), way, generator)[0] for _ in range(n)])
    distance = (heights / passage_height(hull_of(still, 0), way, boats.speed[0], 1.0)) ** (
        -1.0 / 0.42
    )
    variation = central.traffic.classes[0].distance_spread
    mean = boats.distance[0]
    assert distance.mean() == pytest.approx(mean, abs=STANDARD_ERRORS * variation * mean / n**0.5)
    log_spread = math.sqrt(math.log1p(variation**2))
    error = log_spread / math.sqrt(2.0 * n)
    assert np.log(distance).std() == pytest.approx(log_spread, abs=STANDARD_ERRORS * error)


def test_no_wave_is_taken_closer_than_a_boat_length(central: Scenario) -> None:
    boats = without_scatter(fleet(central, OUTER))._replace(distance=np.full(4, 0.5))
    way, generator = waterway(central), np.random.default_rng(1)
    for i, length in enumerate(boats.waterline_length):
        expected = passage_height(hull_of(boats, i), way, boats.speed[i], length)
        assert passage_wave(hull_of(boats, i), way, generator)[0] == pytest.approx(
            expected, rel=1e-12
        )


@pytest.mark.parametrize("compliance", [0.0, 0.7, 1.0])
def test_the_share_that_keeps_to_the_speed_rule(central: Scenario, compliance: float) -> None:
    boats = without_scatter(one_of(fleet(central, OUTER), 0))
    way = waterway(central)._replace(speed_limit=2.0, compliance=compliance)
    fast = passage_height(hull_of(boats, 0), way, boats.speed[0], boats.distance[0])
    slow = passage_height(hull_of(boats, 0), way, 2.0, boats.distance[0])
    assert slow < 0.5 * fast
    n, generator = 20_000, np.random.default_rng(8)
    heights = np.array([passage_wave(hull_of(boats, 0), way, generator)[0] for _ in range(n)])
    obeyed = np.isclose(heights, slow, rtol=1e-12)
    assert (obeyed | np.isclose(heights, fast, rtol=1e-12)).all()
    error = math.sqrt(compliance * (1.0 - compliance) / n)
    assert obeyed.mean() == pytest.approx(compliance, abs=STANDARD_ERRORS * error)


def test_a_speed_rule_never_hastens_a_slow_boat(central: Scenario) -> None:
    boats = without_scatter(one_of(fleet(central, OUTER), 3))
    way = waterway(central)
    limited = way._replace(speed_limit=1.01 * boats.speed[0], compliance=1.0)
    found = passage_wave(hull_of(boats, 0), limited, np.random.default_rng(1))
    assert found == passage_wave(hull_of(boats, 0), way, np.random.default_rng(1))


def test_the_history_knew_no_new_rule(demo: ScenarioFile) -> None:
    table = dict(demo.table)
    table["traffic"] = table["traffic"] | {"speed_rule": {"speed_limit": "5 knots"}}
    ruled = from_table(table, demo.path).central
    assert waterway(ruled).speed_limit == pytest.approx(5.0 * 1852.0 / 3600.0)
    assert 0.75 <= waterway(ruled).compliance <= 0.9
    assert waterway(ruled, with_rule=False) == waterway(demo.central)
    assert waterway(demo.central).speed_limit == math.inf


# --- wave classes -----------------------------------------------------------------------------


def test_classes_share_the_energy_of_the_sample_evenly_and_keep_it(central: Scenario) -> None:
    boats, way = fleet(central, OUTER), waterway(central)
    sample = np.empty((6000, 4))
    sample_passages(boats, way, np.random.default_rng(6), sample)
    height, period, weight, onshore = sample.T
    assert weight == pytest.approx(
        height**2
        * period**2
        * onshore
        * np.tile(boats.equivalent_waves, 1500)
        * np.tile((5 * boats.passages_weekday + 2 * boats.passages_weekend) / 7.0, 1500),
        rel=1e-12,
    )
    empty = np.empty(0)
    for n in (1, 3, 7):
        found = wave_classes(sample, (empty, empty, empty), n, way.depth)
        assert found.height.size == n
        assert (np.diff(found.height) > 0.0).all()
        place = np.searchsorted(found.edges, height, side="right")
        parts = [place == j for j in range(n)]
        # The energy of the sample, counted in class waves, is the energy of the sample.
        counts = [weight[part].sum() / (h * t) ** 2 for part, h, t in
                  zip(parts, found.height, found.period, strict=True)]  # fmt: skip
        kept = np.sum(np.array(counts) * (found.height * found.period) ** 2)
        assert kept == pytest.approx(weight.sum(), rel=1e-9)
        for j, part in enumerate(parts):
            share = weight[part] / weight[part].sum()
            assert weight[part].sum() / weight.sum() == pytest.approx(1.0 / n, abs=0.01)
            # Heights as the square, so that the mean energy density is kept; periods plainly.
            assert found.height[j] ** 2 == pytest.approx(share @ height[part] ** 2, rel=1e-9)
            assert found.period[j] == pytest.approx(share @ period[part], rel=1e-9)
            along = math.sin(math.acos(share @ onshore[part]))
            number = wavenumber(found.period[j], way.depth)
            assert found.alongshore_wavenumber[j] == pytest.approx(number * along, rel=1e-9)


def test_one_passage_with_most_of_the_energy_leaves_fewer_classes() -> None:
    empty = np.empty(0)
    rows = np.array([[0.1, 1.5, 1.0, 0.9], [0.2, 2.0, 98.0, 0.8], [0.3, 2.5, 1.0, 0.7]])
    found = wave_classes(rows, (empty, empty, empty), 5, 4.0)
    assert found.edges.size == found.height.size - 1 < 4
    place = np.searchsorted(found.edges, rows[:, 0], side="right")
    # No class is empty, and each is entered by the passages that made it.
    assert sorted(set(place.tolist())) == list(range(found.height.size))
    for j in range(found.height.size):
        assert found.height[j] ** 2 == pytest.approx(
            np.average(rows[place == j, 0] ** 2, weights=rows[place == j, 2]), rel=1e-12
        )


def test_the_wind_is_a_class_of_its_own(central: Scenario) -> None:
    share, flux, height, period = wind_table(central)
    found = wave_classes(np.empty((0, 4)), (share * flux, height, period), 3, 4.0)
    assert found.source.tolist() == [WIND]
    weight = share * flux / (share @ flux)
    assert found.height[0] ** 2 == pytest.approx(weight @ height**2, rel=1e-12)
    assert found.edges.size == 0


# --- the tally of wakes -----------------------------------------------------------------------


@pytest.mark.parametrize("overdispersion", [0.0, 0.5])
def test_the_tally_holds_the_energy_of_every_passage(
    central: Scenario, overdispersion: float
) -> None:
    boats, way = fleet(central, OUTER), waterway(central)
    classes, n_days = classes_of(boats, way), 60
    days = calendar(date(2027, 1, 1), n_days)
    tally = wake_tally(boats, way, classes, n_days, overdispersion=overdispersion, seed=9)
    # The same draws in the same order, each passage on its own.
    generator = np.random.default_rng(9)
    energy = np.zeros(n_days)
    for day in range(n_days):
        factor = generator.gamma(1.0 / overdispersion, overdispersion) if overdispersion else 1.0
        weekly = boats.passages_weekend if days.is_weekend[day] else boats.passages_weekday
        for i in range(boats.speed.size):
            for _ in range(
                generator.poisson(weekly[i] * boats.months[i, days.month[day]] * factor)
            ):
                height, period, onshore = passage_wave(hull_of(boats, i), way, generator)
                energy[day] += (height * period) ** 2 * boats.equivalent_waves[i] * onshore
                generator.random()  # the hour
    assert energy_of(tally, classes) == pytest.approx(energy, rel=1e-9)


def test_each_passage_counts_at_the_level_of_its_hour_and_in_the_class_of_its_height(
    central: Scenario,
) -> None:
    boats = without_scatter(one_of(fleet(central, OUTER), 0))
    way = waterway(central)
    height = passage_height(hull_of(boats, 0), way, boats.speed[0], boats.distance[0])
    # Three classes about the one height: all waves belong in the middle one.
    about = np.array([0.5, 1.0, 2.0]) * height
    classes = WaveClasses(
        about, np.full(3, 2.0), np.ones(3), np.zeros(3), np.zeros(3, dtype=np.int64),
        np.array([0.9, 1.1]) * height,
    )  # fmt: skip
    n_days = 40
    # High water in the morning, low water in the afternoon, and a surge of one bin every other day.
    hourly = np.tile(np.where(np.arange(24) < 12, 0.5, -0.5), n_days)
    levels = WaterLevels(
        hourly, np.array([-1.0, 0.0, 1.0]), np.array([-1.5, -0.5, 0.5, 1.5]), width=1.0
    )
    surge = np.where(np.arange(n_days) % 2 == 0, 0.0, 1.0)
    tally = wake_tally(boats, way, classes, n_days, levels, surge, hours=(8.0, 20.0))
    assert (tally[:, :, [0, 2]] == 0.0).all()
    by_level = tally[:, :, 1]
    assert (by_level[0::2][:, [0, 3]] == 0.0).all()
    assert (by_level[1::2][:, [0, 1]] == 0.0).all()
    morning = by_level[0::2, 2].sum() + by_level[1::2, 3].sum()
    # 4 of the 12 hours from 8 to 20 come before noon; n passages of a binomial share.
    n = passages_of(tally, classes, boats, way).sum()
    error = math.sqrt(1.0 / 3.0 * 2.0 / 3.0 / n)
    assert morning / by_level.sum() == pytest.approx(1.0 / 3.0, abs=STANDARD_ERRORS * error)


def test_expected_counts_by_kind_of_day_and_by_month(central: Scenario) -> None:
    boats = without_scatter(one_of(fleet(central, OUTER), 0))
    way = waterway(central)
    classes, n_days = classes_of(boats, way, 1), 20 * 365
    days = calendar(date(2027, 1, 1), n_days)
    counts = passages_of(wake_tally(boats, way, classes, n_days), classes, boats, way)
    for is_weekend, passages in ((0, 60.0), (1, 180.0)):
        for month in range(12):
            chosen = (days.is_weekend == is_weekend) & (days.month == month)
            expected = passages * boats.months[0, month]
            error = math.sqrt(expected / chosen.sum())
            assert counts[chosen].mean() == pytest.approx(expected, abs=STANDARD_ERRORS * error)


def test_growth_and_the_multiplier_act_on_the_counts(central: Scenario) -> None:
    boats = without_scatter(one_of(fleet(central, OUTER), 0))
    boats = boats._replace(months=np.ones((1, 12)), passages_weekend=np.full(1, 60.0))
    way = waterway(central)
    classes, n_days = classes_of(boats, way, 1), 20 * 365
    counts = passages_of(
        wake_tally(boats, way, classes, n_days, multiplier=1.5, growth=0.05), classes, boats, way
    )
    for year in range(20):
        middle = (year + 0.5) * 365.0 / 365.25
        expected = 1.5 * 60.0 * 1.05**middle
        error = math.sqrt(expected / 365.0)
        found = counts[year * 365 : (year + 1) * 365].mean()
        assert found == pytest.approx(expected, abs=STANDARD_ERRORS * error)


def test_no_boats_no_waves(central: Scenario) -> None:
    boats, way = fleet(central, OUTER), waterway(central)
    classes = classes_of(boats, way)
    assert wake_tally(boats, way, classes, 30).sum() > 0.0
    assert not wake_tally(boats, way, classes, 30, multiplier=0.0).any()
