"""From the scenario of one member to the numbers that the day loop uses."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from edgesim.constants import DAYS_PER_YEAR, GRAVITY
from edgesim.model.edge import EdgeSettings
from edgesim.model.grid import Grid, Line
from edgesim.model.ground import Grass
from edgesim.model.hold import hole_depth, post_strengths, scour_held
from edgesim.model.line_field import NOTHING, LineMaterial
from edgesim.model.lives import NEVER, borer_pressure, post_lives, tie_lives
from edgesim.model.prices import day_prices, mends_reef
from edgesim.model.reef import GROWN_POROSITY, ReefSettings
from edgesim.model.walls import CALENDAR, NONE, TRIGGER, WallSettings
from edgesim.processes.oysters import (
    RECRUITMENT_SEASON,
    freshet_mortality,
    salinity_suitability,
    year_factor,
)
from edgesim.processes.shell import bulk_density
from edgesim.processes.substrate import UNITS
from edgesim.processes.transmission import (
    post_row_resistance,
    rubble_resistance_linear,
    rubble_resistance_quadratic,
    stem_resistance,
)
from edgesim.scenario import Scenario
from edgesim.scenario.events import day_of

Floats = NDArray[np.float64]

SPARE_VISITS = 256
"""Upkeep visits whose skipping is drawn in advance."""

SOIL_LATTICE = 0.5
"""Spacing of the lattice on which soil strength is drawn. [m]"""

SHELL_DENSITY = 2500.0
"""Density of oyster shell, 2400 to 2700 (from memory). [kg m-3]"""

SHELL_ROUGHNESS = 1.0 / 12.0
"""Roughness length z0 of a bed of shells over their size (from memory: Soulsby, 1997). [1]"""

INTERTIDAL_EXPOSURE = 0.30
"""Share of the time in air of the clusters that the growth coefficient is given for: the middle of the
band in which reefs grow best (band read, Ridge et al., 2015; its use here judgement). [1]"""

FRESHET_RATE = 0.10 * 52.0
"""Death rate at 25 C in nearly fresh water (judgement). [year-1]"""

RULES = {"none": NONE, "calendar": CALENDAR, "trigger": TRIGGER}


class WallStreams(NamedTuple):
    """Random streams of the walls: lives, skipped visits, mud at the posts."""

    structures: np.random.Generator
    upkeep: np.random.Generator
    posts: np.random.Generator


def strength_field(
    grid: Grid, variation: float, length: float, generator: np.random.Generator
) -> Floats:
    """Random field of soil strength over its mean.

    Parameters
    ----------
    grid : Grid
        The reach.
    variation : float
        Coefficient of variation. [1]
    length : float
        Distance over which strength stays alike. [m]
    generator : numpy.random.Generator
        Random stream of strength.

    Returns
    -------
    ndarray, (nx, ny)
        Lognormal with mean 1: over many blocks the edge then retreats at the
        rate of the mean strength. [1]
    """
    # The soil lies on a lattice of its own, so that a finer grid meets the same soil.
    corner = (grid.cross_shore[-1] + grid.dx, grid.alongshore[-1] + grid.dy)
    shape = tuple(int(np.ceil(side / SOIL_LATTICE)) + 1 for side in corner)
    noise = generator.standard_normal(shape)
    lattice = gaussian_filter(noise, 0.5 * length / SOIL_LATTICE, mode="wrap")
    lattice /= lattice.std()
    places = np.meshgrid(
        grid.cross_shore / SOIL_LATTICE, grid.alongshore / SOIL_LATTICE, indexing="ij"
    )
    smooth = map_coordinates(lattice, places, order=1)
    variance = math.log1p(variation**2)
    return np.asarray(np.exp(math.sqrt(variance) * smooth - 0.5 * variance))


def edge_settings(
    scenario: Scenario, grid: Grid, reef: Line | None, generator: np.random.Generator
) -> EdgeSettings:
    """Numbers for edge, mud and plants; erodibility and natural stirring are set by calibration."""
    mud, marsh = scenario.mud, scenario.marsh
    return EdgeSettings(
        erodibility=marsh.erodibility,
        side_exposure=marsh.side_exposure,
        strength=strength_field(grid, marsh.strength_variation, marsh.strength_length, generator),
        tensile_strength=marsh.tensile_strength,
        unit_weight=marsh.wet_density * GRAVITY,
        root_depth=marsh.root_depth,
        crack_distance=marsh.crack_distance,
        slump_share=marsh.slump_share,
        soil_density=marsh.soil_density,
        flat_density=mud.flat_density,
        fresh_density=min(mud.fresh_density, mud.flat_density),
        consolidation_time=mud.consolidation_time,
        wash_time=mud.wash_time,
        mixing=mud.mixing,
        concentration=mud.concentration,
        winter_factor=mud.winter_factor,
        summer_factor=mud.summer_factor,
        trapping=mud.trapping_efficiency,
        settling_velocity=mud.settling_velocity,
        critical_stress=mud.critical_stress,
        scarp_share=mud.scarp_share_suspended,
        stirring=np.zeros_like(grid.bed),
        current_stirring=np.zeros_like(grid.bed),
        natural_deposition=np.zeros_like(grid.bed),
        natural_water=np.ones_like(grid.edge),
        shell=shell_cover(scenario, grid, reef),
        accretion_cap=marsh.accretion_cap,
        clonal_spread=marsh.clonal_spread,
        organic_share=marsh.organic_share,
        band_low=marsh.band_low,
        band_high=marsh.band_high,
        seedling_stress=marsh.seedling_stress,
        stress_growth=marsh.stress_growth,
        dry_days=marsh.dry_days,
        rooting_days=marsh.rooting_days,
        bed_change=marsh.bed_change,
        dx=grid.dx,
        dy=grid.dy,
    )


def shell_cover(scenario: Scenario, grid: Grid, line: Line | None) -> NDArray[np.float32]:
    """Share of each cell that the reef covers with shell. (nx, ny)."""
    reef = scenario.design.reef
    if line is None or reef is None:
        return np.zeros(grid.bed.shape, dtype=np.float32)
    away = np.abs(grid.cross_shore - line.position)
    across = np.clip((0.5 * (reef.rows * reef.unit_width + grid.dx) - away) / grid.dx, 0.0, 1.0)
    under = line.part_of(grid.alongshore) >= 0
    return np.outer(across, under).astype(np.float32)


def monthly_temperature(scenario: Scenario) -> Floats:
    """Water temperature by month: a cosine with its top in August. [degree_Celsius]."""
    oysters = scenario.oysters
    middle = 0.5 * (oysters.summer_temperature + oysters.winter_temperature)
    swing = 0.5 * (oysters.summer_temperature - oysters.winter_temperature)
    return np.asarray(middle + swing * np.cos(2.0 * np.pi * (np.arange(12) - 7) / 12.0))


def reef_settings(
    scenario: Scenario,
    grid: Grid,
    line: Line | None,
    n_years: int,
    months: NDArray[np.int64],
    wall_middle: float,
    generator: np.random.Generator,
) -> ReefSettings:
    """Numbers for oysters and reef units; without a reef there are no units.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    grid : Grid
        The reach.
    line : Line or None
        The reef's columns.
    n_years : int
        Year classes of oysters.
    months : ndarray, (n_days,)
        Month of every day, 0 to 11.
    wall_middle : float
        Level of the middle of the walls. [m]
    generator : numpy.random.Generator
        Random stream of recruitment.
    """
    oysters, reef = scenario.oysters, scenario.design.reef
    site = year_factor(oysters.site_spread, float(generator.standard_normal()))
    years = generator.standard_normal(n_years)
    recruitment = np.array(
        [oysters.recruitment * site * year_factor(oysters.year_spread, float(z)) for z in years]
    )
    monthly = monthly_temperature(scenario).tolist()
    # Salinity takes few values over the years.
    values, kind = np.unique(daily_salinity(scenario, months.size), return_inverse=True)
    suits = np.array([salinity_suitability(float(value)) for value in values])
    deaths = np.array(
        [
            [freshet_mortality(value, temperature, FRESHET_RATE) for temperature in monthly]
            for value in values.tolist()
        ]
    )
    column = row = place = np.empty(0, dtype=np.int64)
    if reef is not None and line is not None:
        column = np.tile(np.arange(len(line.parts)), reef.rows)
        place = (line.parts.mean(axis=1) / grid.dy).astype(np.int64)[column]
        place = np.minimum(place, grid.alongshore.size - 1)
        row = np.full(column.size, line.row(grid.dx))
    return ReefSettings(
        base=line.base if line else 0.0,
        built_height=reef.unit_height if reef else 1.0,
        area=reef.unit_length * reef.unit_width if reef else 1.0,
        bulk_density=bulk_density(SHELL_DENSITY, reef.porosity) if reef else 1.0,
        grown_density=bulk_density(SHELL_DENSITY, GROWN_POROSITY),
        is_solid=bool(reef and not UNITS[reef.material].holds_shell),
        settlement=reef.settlement if reef else 0.0,
        settlement_time=reef.settlement_time if reef else 1.0,
        recruitment=recruitment,
        season=np.array(RECRUITMENT_SEASON),
        wave_factor=oysters.wave_factor,
        suitability=suits[kind],
        fresh_deaths=deaths[kind, months],
        substrate=reef.substrate_factor if reef else 1.0,
        wood=oysters.wood_factor,
        wall_middle=wall_middle,
        capacity=oysters.capacity,
        asymptotic_height=oysters.asymptotic_height,
        growth_coefficient=oysters.growth_coefficient
        / max(1.0 - INTERTIDAL_EXPOSURE / oysters.exposure_stop, 0.1),
        exposure_stop=oysters.exposure_stop,
        exposure_low=oysters.exposure_low,
        exposure_high=oysters.exposure_high,
        adult_mortality=oysters.adult_mortality + oysters.disease_mortality,
        heat_mortality=oysters.heat_mortality,
        low_predation=oysters.low_predation,
        reef_growth=oysters.reef_growth,
        shell_half_life=oysters.shell_half_life,
        consolidation_density=oysters.consolidation_density,
        loose_embedment=oysters.loose_embedment,
        loose_share=oysters.loose_share,
        column=column.astype(np.int64),
        row=row.astype(np.int64),
        place=place.astype(np.int64),
    )


def daily_salinity(scenario: Scenario, n_days: int) -> Floats:
    """Salinity of every day: the mean, and that of dated spells of fresh water. [1e-3]."""
    salinity = np.full(n_days, scenario.oysters.salinity)
    for event in scenario.events:
        if event.kind == "freshet" and event.salinity is not None:
            first = day_of(event, scenario.run)
            salinity[first : first + math.ceil(event.duration)] = event.salinity
    return salinity


def wall_settings(
    scenario: Scenario,
    line: Line | None,
    sea_level: float,
    dry_share: Floats,
    wave: tuple[float, float],
    n_days: int,
    streams: WallStreams,
) -> WallSettings:
    """Numbers for the walls and their upkeep; without walls there are no bays.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    line : Line or None
        The walls' bays.
    sea_level : float
        Mean sea level at the start, above the datum. [m]
    dry_share : ndarray
        Table of ``forcing/water_levels``.
    wave : tuple of float
        Height [m] and period [s] of the highest wave.
    n_days : int
        Length of the run. [d]
    streams : WallStreams
        Random streams.
    """
    walls, rule, paid = scenario.design.walls, scenario.upkeep, day_prices(scenario)
    skipped = (streams.upkeep.random(SPARE_VISITS) < rule.skip_chance).astype(np.uint8)
    held, held_in_storm, hole = np.empty((0, 2)), np.empty((0, 2)), 0.0
    storm, factor = storm_days(scenario, n_days)
    broken = [event for event in scenario.events if event.kind == "broken bay" and event.bay]
    volume, posts = np.empty(0), np.empty((0, 2), dtype=np.int64)
    posts_last, ties_last = np.empty((0, 1)), np.empty((0, 1))
    height = decay = washing = packing = 0.0
    if walls is not None and line is not None:
        height = walls.crest - line.base
        volume = (line.parts[:, 1] - line.parts[:, 0]) * walls.row_gap * height
        posts = post_table(line, walls.rows)
        pressure = borer_pressure(scenario, line, sea_level, dry_share)
        n_posts = int(posts.max()) + 1
        posts_last = post_lives(scenario, pressure, n_posts, streams.structures)
        ties_last = tie_lives(scenario, volume.size, streams.structures)
        strengths = post_strengths(scenario, n_posts, streams.posts)
        held = scour_held(scenario, line, strengths, wave[0], wave[1])
        hole = hole_depth(scenario, line, wave[0], wave[1])
        held_in_storm = (
            scour_held(scenario, line, strengths, factor * wave[0], wave[1]) if factor else held
        )
        borers = pressure if walls.branch_eaten_by_borers else 1.0
        decay, washing = walls.branch_decay * borers, walls.branch_washing
        packing = walls.settlement_share
    return WallSettings(
        base=line.base if line else 0.0,
        built_height=height if line else 1.0,
        volume=volume,
        posts=posts,
        decay=decay,
        washing=washing,
        packing=packing,
        post_lives=posts_last,
        tie_lives=ties_last,
        rule=RULES[rule.rule],
        interval_days=rule.interval * DAYS_PER_YEAR,
        delay_days=rule.delay,
        last_day=rule.until_year * DAYS_PER_YEAR,
        fill_trigger=rule.fill_trigger,
        kt_trigger=NEVER if rule.kt_trigger is None else rule.kt_trigger,
        posts_trigger=NEVER if rule.posts_trigger is None else rule.posts_trigger,
        reef_trigger=rule.reef_trigger if mends_reef(scenario) else NEVER,
        replace_posts=rule.replace_posts,
        skipped=skipped,
        price_refill=paid.refill,
        price_post=paid.post,
        price_visit=paid.visit,
        hours_refill=rule.hours_per_m3,
        hours_post=rule.hours_post,
        hours_visit=rule.hours_visit,
        post_bays=bays_of_posts(posts),
        opening_scour=hole,
        scour_held=held,
        scour_held_in_storm=held_in_storm,
        storm=storm,
        broken_day=np.array([day_of(event, scenario.run) for event in broken], dtype=np.int64),
        broken_bay=np.array([(event.bay or 1) - 1 for event in broken], dtype=np.int64),
    )


def storm_days(scenario: Scenario, n_days: int) -> tuple[NDArray[np.uint8], float]:
    """Days of a storm, and the largest factor on their waves; 0 without one."""
    days, factor = np.zeros(n_days, dtype=np.uint8), 0.0
    for event in scenario.events:
        if event.kind == "storm":
            first = day_of(event, scenario.run)
            days[first : first + math.ceil(event.duration)] = 1
            factor = max(factor, event.wave_factor)
    return days, factor


def bays_of_posts(posts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Bays on the two sides of every post, -1 where a wall ends.

    Parameters
    ----------
    posts : ndarray, (n_bays, n)
        Posts of each bay, left and right in turn, as :func:`post_table` gives them.

    Returns
    -------
    ndarray, (n_posts, 2)
        The bay that begins at the post, and the one that ends there.
    """
    found = np.full((int(posts.max()) + 1 if posts.size else 0, 2), -1, dtype=np.int64)
    bays = np.arange(len(posts))
    for column in range(posts.shape[1]):
        found[posts[:, column], column % 2] = bays
    return found


def log_size(scenario: Scenario, n_days: int) -> int:
    """Rows that the upkeep log may need: the build, and every visit that the rule allows."""
    rule = scenario.upkeep
    if rule.rule == "none" or not (scenario.design.walls or mends_reef(scenario)):
        return 1
    last = min(n_days, rule.until_year * DAYS_PER_YEAR)
    between = rule.interval * DAYS_PER_YEAR if rule.rule == "calendar" else rule.delay
    # Day steps: there is at most one visit a day.
    return int(last / max(between, 1.0)) + 3


def post_table(line: Line, rows: int) -> NDArray[np.int64]:
    """Posts at the corners of every bay; neighbouring bays of a wall share posts.

    Parameters
    ----------
    line : Line
        The walls' bays.
    rows : int
        Rows of posts.

    Returns
    -------
    ndarray, (n_bays, 2 * rows)
        Numbers of the posts, from 0.
    """
    starts_wall = np.ones(len(line.parts), dtype=bool)
    starts_wall[1:] = line.parts[1:, 0] > line.parts[:-1, 1] + 1e-9
    # Each wall has one corner more than bays.
    left = np.arange(len(line.parts)) + np.cumsum(starts_wall) - 1
    per_row = int(left[-1]) + 2
    corners = np.column_stack([left, left + 1])
    return np.hstack([corners + row * per_row for row in range(rows)]).astype(np.int64)


def grass_of(scenario: Scenario) -> Grass:
    """Closed grass of a member as waves meet it."""
    marsh = scenario.marsh
    return Grass(marsh.stem_drag, marsh.stem_diameter, marsh.stems_per_m2, marsh.stem_height)


def wall_material(scenario: Scenario) -> LineMaterial:
    """Branches between rows of posts, thin against the waves."""
    walls = scenario.design.walls
    if walls is None:
        return NOTHING
    open_share = max(1.0 - walls.post_diameter / walls.post_spacing, 0.01)
    return LineMaterial(
        is_block=False,
        thickness=walls.row_gap,
        porosity=1.0 - walls.solid_fraction,
        linear=0.0,
        quadratic=stem_resistance(
            walls.solid_fraction, walls.branch_diameter, walls.drag_coefficient
        ),
        swing=0.0,
        posts=0.5 * walls.rows * post_row_resistance(open_share),
        roughness=0.0,
    )


def reef_material(scenario: Scenario) -> LineMaterial:
    """Rows of units of shell or with openings: one porous block with a rough crest.

    In the quadratic resistance of rubble the part 7.5/KC, KC = U T/(n D), goes with one over
    the velocity: it is a linear resistance, larger for shorter waves.
    """
    reef = scenario.design.reef
    if reef is None:
        return NOTHING
    steady = rubble_resistance_quadratic(reef.porosity, reef.grain_size, math.inf)
    at_one = rubble_resistance_quadratic(reef.porosity, reef.grain_size, 1.0)
    return LineMaterial(
        is_block=True,
        thickness=reef.rows * reef.unit_width,
        porosity=reef.porosity,
        linear=rubble_resistance_linear(reef.porosity, reef.grain_size),
        quadratic=steady,
        swing=(at_one - steady) * reef.porosity * reef.grain_size,
        posts=0.0,
        roughness=reef.grain_size * SHELL_ROUGHNESS,
        is_low_crested=reef.transmission == "low-crested",
        is_tight=not UNITS[reef.material].holds_shell,
    )
