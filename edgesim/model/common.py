"""What all members share, and the weather of each of them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.calendar import Calendar, calendar, calendar_from
from edgesim.forcing.events import new_rules, raise_storm_waves, storm_surge
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.tally import (
    count_wakes,
    count_wind_waves,
    expect_wakes,
    expect_wind_waves,
)
from edgesim.forcing.water_levels import (
    HOURS_PER_DAY,
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    WaterLevels,
    daily_surge,
    fill_exposure_tables,
    surge_spread,
    water_levels,
)
from edgesim.forcing.waves import (
    WAKE,
    WaveClasses,
    fleet,
    sample_passages,
    waterway,
    wave_classes,
)
from edgesim.forcing.wind import (
    WindSea,
    boating_factor,
    onward_shares,
    wind_angles,
    wind_rows,
    wind_sea,
    winds,
)
from edgesim.model.grid import make_grid, reef_line, wall_line
from edgesim.model.shelter import Shelter, shelter
from edgesim.model.step import Weather
from edgesim.processes.sea_level import rate_and_half_acceleration, rise
from edgesim.scenario import Scenario, ScenarioFile

Floats = NDArray[np.float64]

RECORDS_PER_YEAR = 4

CLASS_SAMPLE_MEMBERS = 20
"""Members whose passages shape the wave classes that all members share."""

CLASS_SAMPLE = 300
"""Passages sampled from each of them, with a new speed rule and as many without."""

HISTORY_DAYS = 730
"""Days of present traffic that stand for the history behind the surveyed retreat. [d]"""


@dataclass(frozen=True)
class Common:
    """What all members and options share; made once, sent to every worker.

    Attributes
    ----------
    n_days : int
        Length of the run. [d]
    record_days : ndarray
        Days on which a record is written.
    days, levels, classes
        Calendar, water levels and wave classes.
    outer_offset : float
        Distance from the edge to the outermost line of any option. [m]
    wall, reef : Shelter or None
        Shelter tables of the two lines.
    """

    n_days: int
    record_days: NDArray[np.int64]
    days: Calendar
    levels: WaterLevels
    classes: WaveClasses
    outer_offset: float
    wall: Shelter | None
    reef: Shelter | None


def prepare(scenario_file: ScenarioFile, *, lines: bool = True) -> Common:
    """Make what all members share: calendar, levels, wave classes and shelter tables.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    lines : bool, default True
        Whether the tables of the lines are wanted: they take some seconds.

    Returns
    -------
    Common
    """
    central = scenario_file.central
    n_records = central.run.years * RECORDS_PER_YEAR
    step = DAYS_PER_YEAR / RECORDS_PER_YEAR
    record_days = np.rint(np.arange(n_records + 1) * step).astype(np.int64)
    n_days = int(record_days[-1])
    levels = water_levels(central, n_days)
    grid = make_grid(central)
    walls, reef = wall_line(central), reef_line(central)
    offsets = [
        part.offset for part in (central.design.walls, central.design.reef) if part is not None
    ]
    outer_offset = max(offsets, default=0.0)
    classes = _classes(scenario_file, outer_offset)
    days = calendar(central.run.start, n_days)
    above_datum = levels.centres + sea_levels(central, days)[0]
    return Common(
        n_days=n_days,
        record_days=record_days,
        days=days,
        levels=levels,
        classes=classes,
        outer_offset=outer_offset,
        wall=shelter(grid, walls, classes, above_datum) if walls and lines else None,
        reef=shelter(grid, reef, classes, above_datum) if reef and lines else None,
    )


def sea_levels(scenario: Scenario, days: Calendar) -> Floats:
    """Mean sea level above the vertical datum on every day: the datum's, and the rise since its epoch. [m]."""
    start, curve = scenario.run.start, scenario.sea_level
    since_2000 = start.year - 2000 + start.timetuple().tm_yday / DAYS_PER_YEAR
    rate, acceleration = curve.rate, curve.acceleration
    if curve.rise_2050 is not None and curve.rise_2100 is not None:
        rate, acceleration = rate_and_half_acceleration(curve.rise_2050, curve.rise_2100)
    then = rise(scenario.site.datums_year - 2000.0, rate, acceleration)
    now = rise(since_2000 + days.year_fraction, rate, acceleration)
    return np.asarray(scenario.site.datums.msl + now - then)


def _classes(scenario_file: ScenarioFile, outer_offset: float) -> WaveClasses:
    run = scenario_file.central.run
    samples = []
    # Always the same number of them, so that a member does not depend on how many there are.
    for index in range(CLASS_SAMPLE_MEMBERS):
        scenario = scenario_file.member(index)
        if not scenario.traffic.classes:
            continue
        generator = stream(run.seed, index, Purpose.CLASSES)
        # The history knew no new rule: its waves are counted in the same classes.
        for with_rule in (True, False):
            sample = np.empty((CLASS_SAMPLE, 4))
            way = waterway(scenario, with_rule=with_rule)
            sample_passages(fleet(scenario, outer_offset), way, generator, sample)
            samples.append(sample)
    sample = np.concatenate(samples) if samples else np.empty((0, 4))
    depth = scenario_file.central.traffic.channel_depth
    *sea, angle = _seas(scenario_file)
    weight, height, period = sea
    return wave_classes(
        sample, (weight, height, period), run.wake_classes, depth, run.wind_classes, angle
    )


def _seas(scenario_file: ScenarioFile) -> list[Floats]:
    """Energy weight, height, period and angle of the wind waves after every formula that members use."""
    seas = {}
    for index in range(CLASS_SAMPLE_MEMBERS):
        scenario = scenario_file.member(index)
        name = scenario.wind.formula if scenario.wind else ""
        if name not in seas:
            share, _, flux, height, period = wind_rows(scenario)
            makes = flux > 0.0
            columns = (share * flux, height, period, wind_angles(scenario))
            seas[name] = [column[makes] for column in columns]
    return [np.concatenate(parts) for parts in zip(*seas.values(), strict=True)]


@dataclass(frozen=True)
class MemberForcing:
    """Values and weather of one member, the same for every option.

    Attributes
    ----------
    index : int
        Member, from 0.
    scenario : Scenario
        Its values.
    weather : Weather
        The weather of the forecast.
    history : Weather
        Weather like that behind the site's surveyed retreat: today's traffic without
        growth, without a new speed rule, and without a rise of the sea.
    onward : ndarray, (n_classes,)
        Share of the energy of each class that runs onward in the forecast, the way in which
        distances alongshore grow. (The history knew no lines that could tell.) [1]
    """

    index: int
    scenario: Scenario
    weather: Weather
    history: Weather
    onward: Floats


def member_forcing(
    scenario_file: ScenarioFile, common: Common, index: int, *, waves: bool = True
) -> MemberForcing:
    """Draw a member's values and weather.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    common : Common
        From :func:`prepare`.
    index : int
        Member, from 0.
    waves : bool, default True
        Set false for weather without waves.

    Returns
    -------
    MemberForcing
    """
    scenario = scenario_file.member(index)
    tide, datums = scenario.tide, scenario.site.datums
    generator = stream(scenario.run.seed, index, Purpose.SURGE)
    surge = daily_surge(common.n_days, surge_spread(scenario), tide.surge_days, generator)
    dry_share, flood_depth = np.empty(TABLE_SIZE), np.empty(TABLE_SIZE)
    water = surge + storm_surge(scenario, surge.size)
    tally, onward = _tally(
        scenario, common, water, index, common.n_days, history=False, waves=waves
    )
    # The tables of exposure are those of ordinary water; the surge of a storm is in the waves.
    fill_exposure_tables(common.levels.hourly, surge, TABLE_LOW, TABLE_STEP, dry_share, flood_depth)
    weather = Weather(
        days=common.days,
        tally=tally,
        level_centres=common.levels.centres,
        bin_width=common.levels.width,
        mean_sea_level=sea_levels(scenario, common.days),
        high_water=datums.mhw - datums.msl,
        dry_share=dry_share,
        flood_depth=flood_depth,
        daily_high=common.levels.hourly.reshape(-1, HOURS_PER_DAY).max(axis=1) + surge,
        source=common.classes.source,
    )
    n_days = min(HISTORY_DAYS, common.n_days)
    history = weather._replace(
        days=calendar(scenario.run.start, n_days),
        tally=_tally(scenario, common, surge, index, n_days, history=True, waves=waves)[0],
        mean_sea_level=np.full(n_days, weather.mean_sea_level[0]),
    )
    return MemberForcing(index, scenario, weather, history, onward)


def _tally(
    scenario: Scenario,
    common: Common,
    surge: Floats,
    index: int,
    n_days: int,
    *,
    history: bool,
    waves: bool,
) -> tuple[Floats, Floats]:
    """Tally of the forecast, or of the history, which knew neither growth nor a new rule.

    With it the share of each class that runs onward.
    """
    traffic, classes, levels = scenario.traffic, common.classes, common.levels
    n_classes = classes.period.size
    tally, even = np.zeros((n_days, levels.centres.size, n_classes)), np.full(n_classes, 0.5)
    if not waves:
        return tally, even
    seed = scenario.run.seed
    sea = wind_sea(scenario, classes)
    expected = traffic.passages == "expected"
    rows = np.empty((0, 1), dtype=np.int64)
    if not expected:
        purpose = Purpose.PAST_WIND if history else Purpose.WIND
        rows = winds(scenario, sea, n_days, stream(seed, index, purpose))
    onward = np.zeros(n_classes)
    if traffic.classes and (classes.source == WAKE).any():
        _add_wakes(scenario, common, sea, rows, surge, index, tally, onward, history=history)
    of_wakes = tally.sum(axis=(0, 1))
    blew = np.bincount(rows[rows >= 0], minlength=sea.flux.size).astype(np.float64)
    of_wind = onward_shares(
        sea, np.diff(sea.cumulative, prepend=0.0) if expected else blew, n_classes
    )
    onward = np.divide(onward, of_wakes, out=of_wind, where=of_wakes > 0.0)
    if sea.flux.any() and expected:
        expect_wind_waves(sea, classes, levels, surge, tally)
    elif sea.flux.any():
        count_wind_waves(sea, classes, levels, surge, rows, tally)
    if not history:
        raise_storm_waves(scenario, tally)
    return tally, onward


def _add_wakes(
    scenario: Scenario,
    common: Common,
    sea: WindSea,
    rows: NDArray[np.int64],
    surge: Floats,
    index: int,
    tally: Floats,
    onward: Floats,
    *,
    history: bool,
) -> None:
    """Add the boats' waves; from its day on a dated speed rule takes the place of the one before."""
    traffic, n_days = scenario.traffic, tally.shape[0]
    growth = 0.0 if history else traffic.growth
    hours = traffic.day_start_hour, traffic.day_end_hour
    boats = fleet(scenario, common.outer_offset)
    purpose = Purpose.PAST_TRAFFIC if history else Purpose.TRAFFIC
    generator = stream(scenario.run.seed, index, purpose)
    purpose = Purpose.PAST_DIRECTION if history else Purpose.DIRECTION
    directions = stream(scenario.run.seed, index, purpose)
    ways = [(0, waterway(scenario, with_rule=not history))]
    ways += [] if history else new_rules(scenario)
    for (first, way), (last, _) in pairwise([*ways, (n_days, ways[0][1])]):
        days = calendar_from(common.days, first)
        levels = common.levels._replace(hourly=common.levels.hourly[HOURS_PER_DAY * first :])
        when = (boats, way, common.classes, days, levels, surge[first:])
        if traffic.passages == "expected":
            expect_wakes(*when, traffic.level, growth, *hours, tally[first:last], onward)
            continue
        count_wakes(
            *when,
            boating_factor(scenario, sea, rows)[first:],
            traffic.level,
            growth,
            traffic.overdispersion,
            *hours,
            generator,
            directions,
            tally[first:last],
            onward,
        )
