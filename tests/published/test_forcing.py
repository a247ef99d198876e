"""Forcing against published formulas and measurements: levels, surge, wakes, counts and wind.

Bounds on drawn numbers are four standard errors of the estimate (one failure in 16 000); seeds are
fixed, so that a test passes always or never.
"""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.forcing.calendar import calendar
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.tally import count_wakes, count_wind_waves
from edgesim.forcing.water_levels import (
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    WaterLevels,
    daily_surge,
    fill_exposure_tables,
    look_up,
    water_levels,
)
from edgesim.forcing.waves import (
    HULL_SPEED,
    PLANING_LIMIT,
    SUBCRITICAL_LIMIT,
    Fleet,
    Waterway,
    deep_water_flux,
    fleet,
    held_speed,
    hull_of,
    passage_height,
    passage_wave,
    sample_passages,
    waterway,
    wave_classes,
)
from edgesim.forcing.wind import SPELLS_PER_DAY, wind_sea, wind_table, winds
from edgesim.processes.wakes import (
    volume_froude,
    wake_height_bhowmik,
    wake_height_kriebel_seelig,
    wake_height_maynord,
)
from edgesim.scenario import Scenario, ScenarioFile

Floats = NDArray[np.float64]

OUTER = 7.3
STANDARD_ERRORS = 4.0
HOURS = 24 // SPELLS_PER_DAY
KNOT, FOOT, INCH = 1852.0 / 3600.0, 0.3048, 0.0254


def one_bin(n_days: int) -> WaterLevels:
    """Water at rest, all in one bin."""
    return WaterLevels(np.zeros(n_days * 24), np.empty(0), np.zeros(1), width=1.0)


def exposure(hourly: Floats, surge: Floats) -> tuple[Floats, Floats]:
    dry_share, flood_depth = np.empty(TABLE_SIZE), np.empty(TABLE_SIZE)
    fill_exposure_tables(hourly, surge, TABLE_LOW, TABLE_STEP, dry_share, flood_depth)
    return dry_share, flood_depth


def still(boats: Fleet) -> Fleet:
    """Boats that all pass at one speed and one distance."""
    nothing = np.zeros_like(boats.speed)
    return boats._replace(speed_spread=nothing, distance_spread=nothing)


# --- water levels -----------------------------------------------------------------------------


def test_exposure_to_a_single_tide_has_a_closed_form() -> None:
    # Share of the time that A cos(wt) stands above z: arccos(z / A) / pi, exact. The period is
    # that of the moon's half day, so that the hours fall everywhere in the tide.
    amplitude, n_days = 0.7, 3650
    hourly = amplitude * np.cos(2.0 * np.pi * np.arange(n_days * 24) / 12.4206012)
    dry_share, _ = exposure(hourly, np.zeros(n_days))
    ladder = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
    wet = np.arccos(np.clip(ladder / amplitude, -1.0, 1.0)) / np.pi
    assert 1.0 - dry_share == pytest.approx(wet, abs=1e-3)


def test_flood_depth_of_a_single_tide_has_a_closed_form() -> None:
    # High waters read off hourly lie within half an hour of the crest: their mean is the mean of
    # A cos over that hour, A sin(w / 2) / (w / 2). The table knows a high water to half a step.
    amplitude, n_days, rate = 0.7, 3650, 2.0 * np.pi / 12.4206012
    hourly = amplitude * np.cos(rate * np.arange(n_days * 24))
    _, flood_depth = exposure(hourly, np.zeros(n_days))
    mean_high_water = amplitude * math.sin(rate / 2.0) / (rate / 2.0)
    for elevation in (-1.0, -0.3, 0.0, 0.4):
        found = look_up(flood_depth, TABLE_LOW, TABLE_STEP, elevation)
        assert found == pytest.approx(mean_high_water - elevation, abs=0.5 * TABLE_STEP)
    assert look_up(flood_depth, TABLE_LOW, TABLE_STEP, amplitude) == pytest.approx(0.0, abs=1e-3)


@pytest.mark.published
def test_mean_flood_depth_at_mean_sea_level_is_the_stations_mean_high_water(
    central: Scenario,
) -> None:
    # Read: datums of the public tide station of the demonstration, epoch 1983-2001: mean high
    # water 2.491 m and mean sea level 1.733 m above station zero, 0.758 m apart. Eight constituents
    # and hourly levels lose some of the tide: 0.741 m is found, 17 mm (2.3 %) less.
    n_days = 19 * 365
    hourly = water_levels(central, n_days).hourly
    _, flood_depth = exposure(hourly, np.zeros(n_days))
    found = look_up(flood_depth, TABLE_LOW, TABLE_STEP, 0.0)
    assert found == pytest.approx(2.491 - 1.733, abs=0.02)


# --- surge ------------------------------------------------------------------------------------


def test_surge_has_the_spread_and_memory_asked_for() -> None:
    n, sd, persistence = 200_000, 0.12, 3.0
    surge = daily_surge(n, sd, persistence, np.random.default_rng(5))
    memory = math.exp(-1.0 / persistence)
    # Sampling errors of a first-order autoregression (Bartlett, 1946; from memory).
    of_mean = sd * math.sqrt((1.0 + memory) / (1.0 - memory) / n)
    of_sd = sd * math.sqrt((1.0 + memory**2) / (1.0 - memory**2) / (2.0 * n))
    of_memory = math.sqrt((1.0 - memory**2) / n)
    assert surge.mean() == pytest.approx(0.0, abs=STANDARD_ERRORS * of_mean)
    assert surge.std() == pytest.approx(sd, abs=STANDARD_ERRORS * of_sd)
    found = np.corrcoef(surge[:-1], surge[1:])[0, 1]
    assert found == pytest.approx(memory, abs=STANDARD_ERRORS * of_memory)
    after_three_days = np.corrcoef(surge[:-3], surge[3:])[0, 1]
    # The variance of a correlation at lag k is at most (1 + r^2)/(1 - r^2)/n.
    wide = math.sqrt((1.0 + memory**2) / (1.0 - memory**2) / n)
    assert after_three_days == pytest.approx(math.exp(-1.0), abs=STANDARD_ERRORS * wide)


def test_surge_is_stationary_from_the_first_day() -> None:
    n = 4000
    first = [daily_surge(2, 0.2, 3.0, np.random.default_rng(seed)) for seed in range(n)]
    spread = np.std(first, axis=0)
    assert spread == pytest.approx(0.2, abs=STANDARD_ERRORS * 0.2 / math.sqrt(2.0 * n))


def test_surge_without_spread_or_memory() -> None:
    assert daily_surge(100, 0.0, 3.0, np.random.default_rng(1)).tolist() == [0.0] * 100
    white = daily_surge(50_000, 1.0, 0.0, np.random.default_rng(1))
    bound = STANDARD_ERRORS / math.sqrt(white.size)
    assert np.corrcoef(white[:-1], white[1:])[0, 1] == pytest.approx(0.0, abs=bound)


# --- single passages --------------------------------------------------------------------------


@pytest.mark.published
def test_hull_speed_is_the_rule_of_yachtsmen() -> None:
    # Read in several boating and surveyors' glossaries (common practice): hull speed in knots is
    # 1.34 times the square root of the waterline length in feet.
    froude = 1.34 * KNOT / math.sqrt(GRAVITY * FOOT)
    assert pytest.approx(froude, rel=0.005) == HULL_SPEED


@pytest.mark.published
def test_slow_boats_send_their_waves_ashore_at_the_angle_of_deep_water(central: Scenario) -> None:
    # Read: Coastal Engineering Manual, Part II ch. 7: diverging waves travel at 35 deg 16 min from
    # the sailing line in deep water, here the slowest boats; ch. 7 also: displacement vessels reach
    # at most a depth Froude number of about 0.9.
    boats = still(fleet(central, OUTER))
    _, _, onshore = passage_wave(hull_of(boats, 3), waterway(central), np.random.default_rng(1))
    assert math.degrees(math.asin(onshore)) == pytest.approx(35.0 + 16.0 / 60.0, abs=0.05)
    assert pytest.approx(0.9) == SUBCRITICAL_LIMIT


@pytest.mark.published
def test_a_skiff_close_by_makes_waves_of_the_measured_size(central: Scenario) -> None:
    # Read (a newspaper's report of Maynord's measurements on boats of 16 to 20 ft, 2001): one wake
    # of about 10.5 in; speed and distance are not given, so that it can only be of the order of
    # the highest wave, one boat length off. Found: 0.77 of it.
    boats = fleet(central, OUTER)
    length = boats.waterline_length[0]
    height = passage_height(hull_of(boats, 0), waterway(central), boats.speed[0], length)
    assert 0.5 < height / (10.5 * INCH) < 2.0


@given(
    speed=st.floats(0.3, 20.0),
    i=st.integers(0, 1),
    distance=st.floats(10.0, 150.0),
    depth=st.floats(1.0, 12.0),
    use_bhowmik=st.booleans(),
)
def test_a_planing_hull_off_its_plane_never_exceeds_the_limit(
    demo: ScenarioFile, speed: float, i: int, distance: float, depth: float, use_bhowmik: bool
) -> None:
    boats = fleet(demo.central, OUTER)
    way = Waterway(depth, math.inf, 0.0, use_bhowmik, False)
    volume = boats.displaced_volume[i]
    limit = PLANING_LIMIT * math.sqrt(GRAVITY * volume ** (1.0 / 3.0))

    def formula(at: float) -> float:
        if use_bhowmik:
            return wake_height_bhowmik(at, distance, boats.waterline_length[i], boats.draft[i])
        return wake_height_maynord(at, volume, distance, boats.hull_constant[i])

    height = passage_height(hull_of(boats, i), way, speed, distance)
    if volume_froude(speed, volume) >= PLANING_LIMIT:
        assert height == pytest.approx(formula(speed), rel=1e-12)
    else:
        assert 0.0 <= height <= formula(limit) * (1.0 + 1e-12)


@pytest.mark.parametrize("i", [2, 3])
def test_a_displacement_hull_is_held_to_its_hull_speed(central: Scenario, i: int) -> None:
    boats = fleet(central, OUTER)
    way = waterway(central)._replace(depth=20.0)
    hull_speed = HULL_SPEED * math.sqrt(GRAVITY * boats.waterline_length[i])
    at_limit = wake_height_kriebel_seelig(
        hull_speed,
        boats.waterline_length[i],
        boats.draft[i],
        way.depth,
        boats.block_coefficient[i],
        50.0,
        boats.entrance_length[i],
    )
    for speed in (hull_speed, 1.3 * hull_speed, 5.0 * hull_speed):
        held = held_speed(hull_of(boats, i), way, speed)
        assert passage_height(hull_of(boats, i), way, held, 50.0) == pytest.approx(
            at_limit, rel=1e-12
        )
    slower = 0.9 * hull_speed
    assert held_speed(hull_of(boats, i), way, slower) == slower
    assert passage_height(hull_of(boats, i), way, slower, 50.0) < 0.95 * at_limit


def test_a_planing_boat_slowed_into_the_hump_makes_its_largest_wave(central: Scenario) -> None:
    # Judgement on values from memory: the largest wakes come below planing, at length Froude
    # numbers of about 0.4 to 0.55 and above; a slow boat makes less, a fast one too.
    boats, way = fleet(central, OUTER), waterway(central)
    speeds = np.linspace(1.5, 12.0, 60)
    heights = [
        passage_height(hull_of(boats, 0), way, held_speed(hull_of(boats, 0), way, v), 40.0)
        for v in speeds
    ]
    largest = float(speeds[int(np.argmax(heights))])
    assert 0.4 < largest / math.sqrt(GRAVITY * boats.waterline_length[0]) < 1.0
    assert heights[0] < 0.2 * max(heights)
    assert heights[-1] < 0.9 * max(heights)


def test_in_shallow_water_the_critical_speed_holds_a_hull_back(central: Scenario) -> None:
    boats, way = fleet(central, OUTER), waterway(central)._replace(depth=1.4)
    critical = math.sqrt(GRAVITY * way.depth)
    assert SUBCRITICAL_LIMIT * critical < HULL_SPEED * math.sqrt(GRAVITY * 12.0)
    at_limit = passage_height(hull_of(boats, 2), way, SUBCRITICAL_LIMIT * critical, 50.0)
    assert passage_height(hull_of(boats, 2), way, 2.0 * critical, 50.0) == pytest.approx(
        at_limit, rel=1e-12
    )
    assert passage_height(hull_of(boats, 2), way, 0.8 * critical, 50.0) < at_limit


def test_heights_of_cruisers_lie_among_measured_ones(central: Scenario) -> None:
    # From memory, low confidence: Sorensen (1973, measured waves of single boats): at 30 m a 7.0 m
    # cruiser made 0.2 m at 3.1 m/s and 0.4 m at 5.1 m/s, a 13.7 m tug 0.2 m and 0.5 m; from 30 m
    # outward heights fall as the cube root. The 12 m boat of the demonstration passes at 4.1 m/s.
    boats, way = fleet(central, OUTER), waterway(central)
    height = passage_height(hull_of(boats, 2), way, boats.speed[2], boats.distance[2])
    decay = (boats.distance[2] / 30.0) ** (-1.0 / 3.0)
    assert 0.2 * decay < height < 0.5 * decay


def small_cruiser(central: Scenario) -> Fleet:
    """A cabin cruiser 7.0 m long; its draft and mass are guesses."""
    boats = fleet(central, OUTER)
    return boats._replace(
        is_planing=np.zeros_like(boats.is_planing),
        waterline_length=np.full(4, 7.0),
        draft=np.full(4, 0.6),
        displaced_volume=np.full(4, 2.7),
        entrance_length=np.full(4, 0.35 * 7.0),
    )


@pytest.mark.golden
@pytest.mark.parametrize(("speed", "measured", "ratio"), [(3.1, 0.2, 0.377), (5.1, 0.4, 0.258)])
def test_how_far_a_small_cruiser_falls_short(
    central: Scenario, speed: float, measured: float, ratio: float
) -> None:
    # The same table (from memory, low confidence), 30 m off in 11.9 m of water (a guess). We miss
    # it: a hull held to its hull speed has no hump. The ratios are computed here, a record of the
    # miss, not a target.
    way = waterway(central)._replace(depth=11.9)
    boats = small_cruiser(central)
    height = passage_height(hull_of(boats, 0), way, held_speed(hull_of(boats, 0), way, speed), 30.0)
    assert height / measured == pytest.approx(ratio, abs=0.001)


def test_wake_climate_of_the_demonstration_is_believable(central: Scenario) -> None:
    # Judgement about the field values above: recreational boats 30 to 60 m off make waves of
    # centimetres to half a metre, of one to three seconds, none longer than the hull allows.
    boats, way = fleet(central, OUTER), waterway(central)
    sample = np.empty((8000, 4))
    sample_passages(boats, way, stream(1, 0, Purpose.CLASSES), sample)
    height, period, _, onshore = sample.T
    low, high = np.quantile(height, [0.05, 0.95])
    assert 0.01 < low < 0.1
    assert 0.2 < high < 0.5
    assert height.max() < 0.8
    assert np.quantile(period, 0.05) > 0.8
    assert (period.reshape(-1, 4) <= boats.hull_period + 1e-12).all()
    assert ((onshore >= 0.0) & (onshore <= 1.0)).all()
    # Heights per boat class rise with the size of the boat among planing boats.
    medians = np.median(height.reshape(-1, 4), axis=0)
    assert medians[3] < medians[0] < medians[1] < medians[2]


# --- counts -----------------------------------------------------------------------------------


@pytest.mark.published
def test_daily_counts_scatter_as_a_negative_binomial(central: Scenario) -> None:
    # Read (manual of a statistics library): a Poisson count whose mean is drawn from a gamma
    # distribution has the variance mu + alpha mu^2; alpha is the overdispersion.
    boats, way = still(fleet(central, OUTER)), waterway(central)
    boats = Fleet._make(column[:1] for column in boats)._replace(months=np.ones((1, 12)))
    mean, alpha, n_days = 30.0, 0.5, 20_000
    boats = boats._replace(passages_weekday=np.full(1, mean), passages_weekend=np.full(1, mean))
    height, period, onshore = passage_wave(hull_of(boats, 0), way, np.random.default_rng(0))
    empty = np.empty(0)
    row = np.array([[height, period, 1.0, onshore]])
    classes = wave_classes(row, (empty, empty, empty), 1, way.depth)
    tally = np.zeros((n_days, 1, 1))
    count_wakes(
        boats,
        way,
        classes,
        calendar(date(2027, 1, 1), n_days),
        one_bin(n_days),
        np.zeros(n_days),
        np.ones(n_days),
        1.0,
        0.0,
        alpha,
        7.0,
        19.0,
        np.random.default_rng(2),
        np.random.default_rng(3),
        tally,
        np.zeros(1),
    )
    counts = tally.ravel() / (boats.equivalent_waves[0] * onshore)
    variance = mean + alpha * mean**2
    assert counts.mean() == pytest.approx(mean, abs=STANDARD_ERRORS * math.sqrt(variance / n_days))
    # The standard error of a variance, from the fourth moment of the sample itself.
    fourth = np.mean((counts - counts.mean()) ** 4)
    error = math.sqrt((fourth - variance**2) / n_days)
    assert counts.var() == pytest.approx(variance, abs=STANDARD_ERRORS * error)
    # All boats of a day share the factor: without it the variance would be that of Poisson.
    assert counts.var() > 10.0 * mean


def test_energy_of_a_wave_against_a_constant_of_the_wake_literature() -> None:
    # From memory: the energy of one deep-water wave is 1961 H^2 T^2 J/m (Australian wake studies,
    # sea water). It moves on at half the phase speed: flux times period is half of it.
    flux = deep_water_flux(np.array([0.12]), np.array([1.5]))[0]
    assert 2.0 * flux * 1.5 == pytest.approx(1961.0 * 0.12**2 * 1.5**2, rel=0.002)
    energy, group = WATER_DENSITY * GRAVITY * 0.12**2 / 8.0, GRAVITY * 1.5 / (4.0 * math.pi)
    assert flux == pytest.approx(energy * group, rel=1e-12)


# --- the wind ---------------------------------------------------------------------------------


def winded(demo: ScenarioFile, rows: list[tuple[float, float, float]], **more: Any) -> Scenario:
    """The demonstration with another wind rose: speed [m s-1], direction [rad], share [1]."""
    paths = {name.replace("__", "."): value for name, value in more.items()}
    return demo.overridden({"wind.table": rows} | paths).central


def test_the_rows_that_blow_onto_the_shore_are_kept_with_their_shares(demo: ScenarioFile) -> None:
    central = demo.central
    assert central.wind is not None
    assert central.site.shore_faces is not None
    share, flux, height, period = wind_table(central)
    speed, direction, given_share = np.array(central.wind.table).T
    degrees = np.degrees(direction)
    # The shore faces 70 degrees; the fetch is nought from 180 degrees on.
    blows_on = (np.abs((degrees - 70.0 + 180.0) % 360.0 - 180.0) < 90.0) & (degrees < 157.0)
    assert sorted(set(degrees[blows_on & (speed > 0.0)].round())) == [0.0, 45.0, 90.0, 135.0]
    assert share.tolist() == given_share[blows_on & (speed > 0.0)].tolist()
    assert (flux > 0.0).all()
    sea = wind_sea(central, wave_classes(np.empty((0, 4)), (share * flux, height, period), 3, 4.0))
    # Winds from the land are kept for the boats, without waves.
    assert sea.speed.tolist() == speed.tolist()
    assert sea.cumulative[-1] == pytest.approx(1.0, rel=1e-12)
    assert sea.flux[sea.flux > 0.0].tolist() == flux.tolist()


def test_waves_come_with_the_cosine_of_the_wind(demo: ScenarioFile) -> None:
    # The fetch in every direction is made the same, so that only the angle differs.
    angles = np.radians([70.0, 130.0, 10.0])
    rows = [(6.0, float(angle), 0.25) for angle in angles] + [(0.0, 0.0, 0.25)]
    scenario = winded(demo, rows, wind__fetches=[(0.0, 150.0), (2.0, 150.0)])
    _, flux, _, _ = wind_table(scenario)
    assert flux / flux[0] == pytest.approx([1.0, 0.5, 0.5], rel=1e-9)


@pytest.mark.parametrize(
    "row", [(8.0, math.radians(250.0), 1.0), (0.0, math.radians(70.0), 1.0), (8.0, math.pi, 1.0)]
)
def test_no_onshore_wind_no_waves(demo: ScenarioFile, row: tuple[float, float, float]) -> None:
    # From the land, calm, and along the shore from a side without open water.
    scenario = winded(demo, [row])
    share, flux, height, period = wind_table(scenario)
    assert share.size == flux.size == height.size == period.size == 0
    none = np.empty(0)
    classes = wave_classes(np.array([[0.1, 2.0, 1.0, 0.5]]), (none, none, none), 1, 4.0)
    sea = wind_sea(scenario, classes)
    tally = np.zeros((30, 1, 1))
    rows = winds(scenario, sea, 30, np.random.default_rng(1))
    count_wind_waves(sea, classes, one_bin(30), np.zeros(30), rows, tally)
    assert not tally.any()


def test_wind_waves_carry_the_mean_power_of_the_table(demo: ScenarioFile) -> None:
    share, flux, height, period = wind_table(demo.central)
    classes = wave_classes(np.empty((0, 4)), (share * flux, height, period), 3, 4.0)
    sea = wind_sea(demo.central, classes)
    n_days = 20_000
    tally = np.zeros((n_days, 1, 1))
    rows = winds(demo.central, sea, n_days, np.random.default_rng(3))
    count_wind_waves(sea, classes, one_bin(n_days), np.zeros(n_days), rows, tally)
    seconds = HOURS * 3600.0
    energy = tally.sum(axis=(1, 2)) * classes.flux[0] * classes.period[0]
    expected = share @ flux
    deviation = math.sqrt(share @ flux**2 - expected**2)
    spells = n_days * 24 / HOURS
    found = energy.sum() / (spells * seconds)
    assert found == pytest.approx(expected, abs=STANDARD_ERRORS * deviation / math.sqrt(spells))
    # Every day holds eight spells, each of a row of the table or of none.
    one_spell = energy[energy > 0.0].min() / seconds
    assert one_spell == pytest.approx(flux.min(), rel=1e-9)


def test_each_spell_counts_at_the_level_of_its_middle_hour(demo: ScenarioFile) -> None:
    # It always blows ashore, and every hour of the day has a level bin of its own.
    scenario = winded(demo, [(6.0, math.radians(70.0), 1.0)])
    share, flux, height, period = wind_table(scenario)
    classes = wave_classes(np.empty((0, 4)), (share * flux, height, period), 3, 4.0)
    hours = np.arange(24.0)
    levels = WaterLevels(np.tile(hours, 2), hours[1:] - 0.5, hours, width=1.0)
    surge = np.array([0.0, 1.0])
    tally = np.zeros((2, 24, 1))
    sea = wind_sea(scenario, classes)
    rows = winds(scenario, sea, 2, np.random.default_rng(1))
    count_wind_waves(sea, classes, levels, surge, rows, tally)
    middle = np.arange(1, 24, HOURS)
    assert np.flatnonzero(tally[0, :, 0]).tolist() == middle.tolist()
    assert np.flatnonzero(tally[1, :, 0]).tolist() == (middle + 1).tolist()
