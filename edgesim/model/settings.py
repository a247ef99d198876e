"""From the scenario of one member to the numbers that the day loop uses."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.model.edge import EdgeSettings
from edgesim.model.grid import Grid, Line
from edgesim.model.prices import day_prices
from edgesim.model.reef import ReefSettings
from edgesim.model.walls import CALENDAR, NONE, TRIGGER, WallSettings
from edgesim.processes.oysters import RECRUITMENT_SEASON, salinity_suitability, year_factor
from edgesim.processes.shell import bulk_density
from edgesim.processes.transmission import (
    post_row_resistance,
    rubble_resistance_linear,
    rubble_resistance_quadratic,
    stem_resistance,
)
from edgesim.processes.wire import time_to_failure
from edgesim.processes.wood import (
    diameter_factor,
    immersion_factor,
    salinity_factor,
    scale_life,
    temperature_factor,
    weibull_lifetime,
)
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]

SPARE_LIVES = 12
"""Lives drawn in advance for each post and each bay's ties, to replace those that fail."""

SPARE_VISITS = 256
"""Upkeep visits whose skipping is drawn in advance."""

WIRE_SCATTER = 0.2
"""Coefficient of variation of the life of single wires about the member's mean (judgement). [1]"""

SOIL_LATTICE = 0.5
"""Spacing of the lattice on which soil strength is drawn. [m]"""

SHELL_DENSITY = 2500.0
"""Density of oyster shell, 2400 to 2700 (from memory). [kg m-3]"""

NEVER = math.inf

RULES = {"none": NONE, "calendar": CALENDAR, "trigger": TRIGGER}


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


def edge_settings(scenario: Scenario, grid: Grid, generator: np.random.Generator) -> EdgeSettings:
    """Numbers for edge, mud and plants; erodibility and natural stirring are set by calibration."""
    mud, marsh = scenario.mud, scenario.marsh
    return EdgeSettings(
        erodibility=marsh.erodibility,
        side_exposure=marsh.side_exposure,
        strength=strength_field(grid, marsh.strength_variation, marsh.strength_length, generator),
        soil_density=marsh.soil_density,
        flat_density=mud.flat_density,
        concentration=mud.concentration,
        winter_factor=mud.winter_factor,
        summer_factor=mud.summer_factor,
        trapping=mud.trapping_efficiency,
        settling_velocity=mud.settling_velocity,
        critical_stress=mud.critical_stress,
        share_kept=mud.scarp_share_kept,
        stirring=np.zeros_like(grid.bed),
        current_stirring=np.zeros_like(grid.bed),
        natural_deposition=np.zeros_like(grid.bed),
        accretion_cap=marsh.accretion_cap,
        clonal_spread=marsh.clonal_spread,
        band_low=marsh.band_low,
        band_high=marsh.band_high,
        seedling_stress=marsh.seedling_stress,
        dx=grid.dx,
        dy=grid.dy,
    )


def monthly_temperature(scenario: Scenario) -> Floats:
    """Water temperature by month: a cosine with its top in August. [degree_Celsius]."""
    oysters = scenario.oysters
    middle = 0.5 * (oysters.summer_temperature + oysters.winter_temperature)
    swing = 0.5 * (oysters.summer_temperature - oysters.winter_temperature)
    return np.asarray(middle + swing * np.cos(2.0 * np.pi * (np.arange(12) - 7) / 12.0))


def reef_settings(
    scenario: Scenario, grid: Grid, line: Line | None, n_years: int, generator: np.random.Generator
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
    generator : numpy.random.Generator
        Random stream of recruitment.
    """
    oysters, reef = scenario.oysters, scenario.design.reef
    site = year_factor(oysters.site_spread, float(generator.standard_normal()))
    years = generator.standard_normal(n_years)
    recruitment = np.array(
        [oysters.recruitment * site * year_factor(oysters.year_spread, float(z)) for z in years]
    )
    recruitment *= salinity_suitability(oysters.salinity)
    column = row = place = np.empty(0, dtype=np.int64)
    if reef is not None and line is not None:
        recruitment *= reef.substrate_factor
        column = np.tile(np.arange(len(line.parts)), reef.rows)
        place = (line.parts.mean(axis=1) / grid.dy).astype(np.int64)[column]
        place = np.minimum(place, grid.alongshore.size - 1)
        row = np.full(column.size, line.row(grid.dx))
    return ReefSettings(
        base=line.base if line else 0.0,
        built_height=reef.unit_height if reef else 1.0,
        area=reef.unit_length * reef.unit_width if reef else 1.0,
        bulk_density=bulk_density(SHELL_DENSITY, reef.porosity) if reef else 1.0,
        is_solid=bool(reef and reef.material == "concrete module"),
        settlement=reef.settlement if reef else 0.0,
        settlement_time=reef.settlement_time if reef else 1.0,
        recruitment=recruitment,
        season=np.array(RECRUITMENT_SEASON),
        wave_factor=oysters.wave_factor,
        temperature=monthly_temperature(scenario),
        salinity=oysters.salinity,
        capacity=oysters.capacity,
        asymptotic_height=oysters.asymptotic_height,
        growth_coefficient=oysters.growth_coefficient,
        exposure_stop=oysters.exposure_stop,
        exposure_low=oysters.exposure_low,
        exposure_high=oysters.exposure_high,
        adult_mortality=oysters.adult_mortality,
        heat_mortality=oysters.heat_mortality,
        low_predation=oysters.low_predation,
        reef_growth=oysters.reef_growth,
        shell_half_life=oysters.shell_half_life,
        consolidation_density=oysters.consolidation_density,
        column=column.astype(np.int64),
        row=row.astype(np.int64),
        place=place.astype(np.int64),
    )


def mesh_ends(scenario: Scenario, n_units: int, generator: np.random.Generator) -> Floats:
    """Day on which the mesh of each unit fails; never for units without mesh. [d]."""
    scatter = _scatter(generator, n_units)
    damaged = generator.random(n_units)
    reef = scenario.design.reef
    if (
        reef is None
        or reef.wire is None
        or reef.mesh_coating_thickness is None
        or reef.mesh_zinc_rate is None
        or reef.mesh_wire_diameter is None
        or reef.mesh_steel_rate is None
    ):
        return np.full(n_units, NEVER)
    jackets = np.where(
        damaged < (reef.mesh_damaged_share or 0.0), 0.0, reef.mesh_jacket_life or 0.0
    )
    bare = time_to_failure(
        0.0,
        reef.mesh_coating_thickness,
        reef.mesh_zinc_rate,
        reef.mesh_wire_diameter,
        reef.mesh_steel_rate,
    )
    return np.asarray((jackets + bare) * scatter * DAYS_PER_YEAR)


def _scatter(generator: np.random.Generator, size: int | tuple[int, ...]) -> Floats:
    variance = math.log1p(WIRE_SCATTER**2)
    draws = generator.standard_normal(size)
    return np.exp(math.sqrt(variance) * draws - 0.5 * variance)


def wall_settings(
    scenario: Scenario,
    line: Line | None,
    sea_level: float,
    dry_share: Floats,
    structures: np.random.Generator,
    upkeep: np.random.Generator,
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
    structures, upkeep : numpy.random.Generator
        Random streams.
    """
    walls, rule, paid = scenario.design.walls, scenario.upkeep, day_prices(scenario)
    skipped = (upkeep.random(SPARE_VISITS) < rule.skip_chance).astype(np.uint8)
    volume, posts = np.empty(0), np.empty((0, 2), dtype=np.int64)
    post_lives, tie_lives = np.empty((0, 1)), np.empty((0, 1))
    height = decay = washing = packing = 0.0
    if walls is not None and line is not None:
        height = walls.crest - line.base
        volume = (line.parts[:, 1] - line.parts[:, 0]) * walls.row_gap * height
        posts = post_table(line, walls.rows)
        pressure = _borer_pressure(scenario, line, sea_level, dry_share)
        post_lives = _post_lives(scenario, pressure, int(posts.max()) + 1, structures)
        tie_lives = _tie_lives(scenario, volume.size, structures)
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
        post_lives=post_lives,
        tie_lives=tie_lives,
        rule=RULES[rule.rule],
        interval_days=rule.interval * DAYS_PER_YEAR,
        delay_days=rule.delay,
        last_day=rule.until_year * DAYS_PER_YEAR,
        fill_trigger=rule.fill_trigger,
        replace_posts=rule.replace_posts,
        skipped=skipped,
        price_refill=paid.refill,
        price_post=paid.post,
        price_visit=paid.visit,
    )


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


def _borer_pressure(scenario: Scenario, line: Line, sea_level: float, dry_share: Floats) -> float:
    """Borers' attack at half the height of the walls, relative to warm, salty, constant water."""
    oysters, walls = scenario.oysters, scenario.design.walls
    assert walls is not None
    middle = 0.5 * (line.base + walls.crest) - sea_level
    immersed = immersion_factor(look_up(dry_share, TABLE_LOW, TABLE_STEP, middle))
    warm_and_salty = salinity_factor(oysters.salinity) * temperature_factor(
        oysters.summer_temperature
    )
    return warm_and_salty * immersed


def _post_lives(
    scenario: Scenario, pressure: float, n_posts: int, generator: np.random.Generator
) -> Floats:
    walls = scenario.design.walls
    assert walls is not None
    scale = walls.post_life
    if walls.post_eaten_by_borers:
        scale = scale_life(scale, diameter_factor(walls.post_diameter), 1.0, 1.0, pressure)
    draws = generator.random((n_posts, SPARE_LIVES))
    lives = [weibull_lifetime(float(u), scale, walls.post_shape) for u in draws.ravel()]
    return np.array(lives).reshape(draws.shape) * DAYS_PER_YEAR


def _tie_lives(scenario: Scenario, n_bays: int, generator: np.random.Generator) -> Floats:
    walls = scenario.design.walls
    assert walls is not None
    life = time_to_failure(
        walls.tie_jacket_life,
        walls.tie_coating_thickness,
        walls.tie_zinc_rate,
        walls.tie_wire_diameter,
        walls.tie_steel_rate,
    )
    return _scatter(generator, (n_bays, SPARE_LIVES)) * life * DAYS_PER_YEAR


def wall_resistance(scenario: Scenario) -> tuple[float, float, float]:
    """Quadratic and linear resistance of filled walls, and quadratic of posts alone."""
    walls = scenario.design.walls
    if walls is None:
        return 0.0, 0.0, 0.0
    open_share = max(1.0 - walls.post_diameter / walls.post_spacing, 0.01)
    posts = 0.5 * walls.rows * post_row_resistance(open_share)
    fill = walls.row_gap * stem_resistance(
        walls.solid_fraction, walls.branch_diameter, walls.drag_coefficient
    )
    return fill + posts, 0.0, posts


def reef_resistance(scenario: Scenario, wave_height: float) -> tuple[float, float, float]:
    """Quadratic and linear resistance of the reef's rows; nothing stands above their crest.

    The stroke of the water, pi times the wave height, over the shell's size
    gives the Keulegan-Carpenter number of the pores.
    """
    reef = scenario.design.reef
    if reef is None:
        return 0.0, 0.0, 0.0
    thickness = reef.rows * reef.unit_width
    stroke = math.pi * wave_height / (reef.porosity * reef.grain_size)
    quadratic = rubble_resistance_quadratic(reef.porosity, reef.grain_size, stroke)
    linear = rubble_resistance_linear(reef.porosity, reef.grain_size)
    return thickness * quadratic, thickness * linear, 0.0
