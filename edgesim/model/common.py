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
from edgesim.forcing.tally import count_wakes, count_wind_waves
from edgesim.forcing.water_levels import (
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    WaterLevels,
    daily_surge,
    fill_exposure_tables,
    water_levels,
)
from edgesim.forcing.waves import (
    WAKE,
    WaveClasses,
    fleet,
    sample_passages,
    waterway,
    wave_classes,
    wind_sea,
    wind_table,
)
from edgesim.model.grid import make_grid, reef_line, wall_line
from edgesim.model.shelter import Shelter, shelter
from edgesim.model.step import Weather
from edgesim.processes.sea_level import rise
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


def prepare(scenario_file: ScenarioFile) -> Common:
    """Make what all members share: calendar, levels, wave classes and shelter tables.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.

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
        wall=shelter(grid, walls, classes, above_datum) if walls else None,
        reef=shelter(grid, reef, classes, above_datum) if reef else None,
    )


def sea_levels(scenario: Scenario, days: Calendar) -> Floats:
    """Mean sea level above the vertical datum on every day: the datum's, and the rise since its epoch. [m]."""
    start, curve = scenario.run.start, scenario.sea_level
    since_2000 = start.year - 2000 + start.timetuple().tm_yday / DAYS_PER_YEAR
    then = rise(scenario.site.datums_year - 2000.0, curve.rate, curve.acceleration)
    now = rise(since_2000 + days.year_fraction, curve.rate, curve.acceleration)
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
    share, flux, height, period = wind_table(scenario_file.central)
    sea = (share * flux, height, period)
    sample = np.concatenate(samples) if samples else np.empty((0, 4))
    return wave_classes(sample, sea, run.wake_classes, scenario_file.central.traffic.channel_depth)


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
    """

    index: int
    scenario: Scenario
    weather: Weather
    history: Weather


def member_forcing(scenario_file: ScenarioFile, common: Common, index: int) -> MemberForcing:
    """Draw a member's values and weather.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    common : Common
        From :func:`prepare`.
    index : int
        Member, from 0.

    Returns
    -------
    MemberForcing
    """
    scenario = scenario_file.member(index)
    tide, datums = scenario.tide, scenario.site.datums
    generator = stream(scenario.run.seed, index, Purpose.SURGE)
    surge = daily_surge(common.n_days, tide.surge_sd, tide.surge_days, generator)
    dry_share, flood_depth = np.empty(TABLE_SIZE), np.empty(TABLE_SIZE)
    # The tables of exposure are those of ordinary water; the surge of a storm is in the waves.
    fill_exposure_tables(common.levels.hourly, surge, TABLE_LOW, TABLE_STEP, dry_share, flood_depth)
    weather = Weather(
        days=common.days,
        tally=_tally(
            scenario,
            common,
            surge + storm_surge(scenario, surge.size),
            index,
            common.n_days,
            history=False,
        ),
        level_centres=common.levels.centres,
        bin_width=common.levels.width,
        mean_sea_level=sea_levels(scenario, common.days),
        high_water=datums.mhw - datums.msl,
        dry_share=dry_share,
        flood_depth=flood_depth,
        source=common.classes.source,
    )
    n_days = min(HISTORY_DAYS, common.n_days)
    history = weather._replace(
        days=calendar(scenario.run.start, n_days),
        tally=_tally(scenario, common, surge, index, n_days, history=True),
        mean_sea_level=np.full(n_days, weather.mean_sea_level[0]),
    )
    return MemberForcing(index, scenario, weather, history)


def _tally(
    scenario: Scenario, common: Common, surge: Floats, index: int, n_days: int, *, history: bool
) -> Floats:
    """Tally of the forecast, or of the history, which knew neither growth nor a new rule."""
    traffic, classes, levels = scenario.traffic, common.classes, common.levels
    tally = np.zeros((n_days, levels.centres.size, classes.period.size))
    seed = scenario.run.seed
    if traffic.classes and (classes.source == WAKE).any():
        generator = stream(seed, index, Purpose.PAST_TRAFFIC if history else Purpose.TRAFFIC)
        ways = [(0, waterway(scenario, with_rule=not history))]
        # From its day on a new speed rule takes the place of the one before.
        ways += [] if history else new_rules(scenario)
        for (first, way), (last, _) in pairwise([*ways, (n_days, ways[0][1])]):
            count_wakes(
                fleet(scenario, common.outer_offset),
                way,
                classes,
                calendar_from(common.days, first),
                levels._replace(hourly=levels.hourly[24 * first :]),
                surge[first:],
                traffic.level,
                0.0 if history else traffic.growth,
                traffic.overdispersion,
                traffic.day_start_hour,
                traffic.day_end_hour,
                generator,
                tally[first:last],
            )
    sea = wind_sea(scenario, classes)
    if sea.flux.size:
        generator = stream(seed, index, Purpose.PAST_WIND if history else Purpose.WIND)
        count_wind_waves(sea, classes, levels, surge, generator, tally)
    if not history:
        raise_storm_waves(scenario, tally)
    return tally
