"""Oysters and reef units: what one day does to them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.kernels import kernel
from edgesim.model.state import ENTRY, State
from edgesim.names import CEMENTED
from edgesim.processes.oysters import (
    SHELL_COEFFICIENT,
    SHELL_EXPONENT,
    burial_kill,
    consolidation,
    free_space,
    growth_coefficient,
    heat_mortality,
    height_increment,
    reef_growth,
    shell_mass,
    subtidal_predation,
)
from edgesim.processes.posts import subsidence
from edgesim.processes.shell import HALF_LIFE_BURIED, loss_rate

Floats = NDArray[np.float64]

EXPOSED_IN_MESH = 0.2
"""Share of a unit's shell that is exposed while its mesh holds (judgement). [1]"""

SPILL = 0.5
"""Share of the uncemented shell that leaves the unit when its mesh fails (judgement). [1]"""

HEAP_SURFACE = 0.2
"""Share of a spilled unit that lies at its surface, where waves reach it (judgement). [1]"""

GROWN_POROSITY = 0.8
"""Share of voids in the clusters that oysters build, the open end of (0.5, 0.65, 0.8) (judgement). [1]"""

BURIAL_SPREAD = 0.08
"""Spread of the burial curve, mode of 0.05 to 0.12 (derived from a read value). [1]"""

BURIAL_DAYS = 7.0
"""Time in which a burial kills its share, 2 to 7 days in summer (from memory). [d]"""

MOST_KILLED = 1.0 - 1e-9
"""Share killed by burial beyond which the last oysters are left to their other deaths. [1]"""

SUMMER = (5, 6, 7)
"""June to August, the months in which air kills by heat."""

_GROWN = ENTRY["shell_grown"]
_DISSOLVED = ENTRY["shell_dissolved"]
_WASHED = ENTRY["shell_washed_off"]
_SPILLED = ENTRY["units_spilled"]


class ReefSettings(NamedTuple):
    """Numbers of one member for the reef.

    Attributes
    ----------
    base : float
        Level of the bed under the units at the start. [m]
    built_height, area : float
        Height [m] and plan area [m2] of a unit.
    bulk_density, grown_density : float
        Shell mass in a volume of placed shell, and of what oysters build. [kg m-3]
    is_solid : bool
        Concrete: no shell to lose, no mesh.
    settlement, settlement_time : float
        Final sinking into the mud [m] and its time scale [year].
    recruitment : float64, (n_cohorts,)
        Recruits of each year on loose shell at full suitability. [m-2 year-1]
    suitability : float64, (n_days,)
        Share of full settlement that the salinity of each day allows. [1]
    fresh_deaths : float64, (n_days,)
        Death rate by fresh water on each day. [year-1]
    substrate, wood : float
        Settlement on the units, and on the wood of the walls, relative to loose shell. [1]
    wall_middle : float
        Level of the middle of the walls' fill. [m]
    season : float64, (12,)
        Share of the year's recruits by month. [1]
    wave_factor : float
        Settlement in undefended waves over settlement in calm water. [1]
    column, row : int64, (n_units,)
        Column of each unit along the reef; grid row under it.
    place : int64, (n_units,)
        Alongshore cell under the unit.
    """

    base: float
    built_height: float
    area: float
    bulk_density: float
    grown_density: float
    is_solid: bool
    settlement: float
    settlement_time: float
    recruitment: Floats
    season: Floats
    wave_factor: float
    suitability: Floats
    fresh_deaths: Floats
    substrate: float
    wood: float
    wall_middle: float
    capacity: float
    asymptotic_height: float
    growth_coefficient: float
    exposure_stop: float
    exposure_low: float
    exposure_high: float
    adult_mortality: float
    heat_mortality: float
    low_predation: float
    reef_growth: float
    shell_half_life: float
    consolidation_density: float
    loose_embedment: float
    loose_share: float
    column: NDArray[np.int64]
    row: NDArray[np.int64]
    place: NDArray[np.int64]


@kernel
def foot_level(settings: ReefSettings, year: float) -> float:
    """Level of the foot of the units, sunk into the mud by their weight. [m]."""
    sunk = subsidence(year, settings.settlement, settings.settlement_time)
    return float(settings.base - sunk)


def crests(state: State, settings: ReefSettings, year: float) -> Floats:
    """Crest elevation of every unit. [m]."""
    return np.asarray(foot_level(settings, year) + settings.built_height * state.unit_height)


# What is called for every unit takes the numbers that it reads: handing over the state costs more
# than the work.


@kernel
def shell_density(
    height: float, placed: float, is_solid: bool, bulk_density: float, grown_density: float
) -> float:
    """Shell mass in a volume of a unit, between that of placed and that of grown shell. [kg m-3]."""
    if is_solid or height <= 0.0:
        return grown_density
    share = min(1.0, placed / height)
    return share * bulk_density + (1.0 - share) * grown_density


@kernel
def adults(oysters: Floats, unit: int, cohort: int) -> float:
    """Oysters of a unit that are older than their first season. [m-2]."""
    total = 0.0
    for older in range(cohort):
        total += oysters[older, unit]
    return total


@kernel
def grow_oysters(
    state: State,
    settings: ReefSettings,
    day: int,
    month: int,
    year: float,
    mean_sea_level: float,
    dry_share: Floats,
    calm_share: float,
    washing: float,
    is_first: bool,
) -> None:
    """Settle, grow and kill the oysters of every unit for one day.

    Parameters
    ----------
    state : State
        ``oysters``, ``shell_height``, ``burial_killed`` and ``shell_made`` are written.
    settings : ReefSettings
        Numbers of the member.
    day : int
        Days since the start. [d]
    month : int
        0 to 11.
    year : float
        Years since the start. [year]
    mean_sea_level : float
        Mean sea level of the day above the datum. [m]
    dry_share : float64
        Table of ``forcing/water_levels``.
    calm_share : float
        Share of the open wave energy that does not reach the reef. [1]
    washing : float
        Rate at which waves carry off loose shell and what lives on it. [year-1]
    is_first : bool
        Whether the shell that is made is to be found anew.
    """
    dt = 1.0 / DAYS_PER_YEAR
    cohort = min(int(year), state.oysters.shape[0] - 1)
    waves = settings.wave_factor + (1.0 - settings.wave_factor) * calm_share
    arriving = arriving_recruits(settings, day, month, cohort) * settings.substrate * waves
    fresh = settings.fresh_deaths[min(day, settings.fresh_deaths.size - 1)]
    summer = 1.0 if month in SUMMER else 0.0
    foot = foot_level(settings, year)
    for unit in range(state.unit_height.size):
        top = foot + settings.built_height * state.unit_height[unit]
        exposure = look_up(dry_share, TABLE_LOW, TABLE_STEP, top - mean_sea_level)
        growth = growth_coefficient(settings.growth_coefficient, exposure, settings.exposure_stop)
        everywhere = fresh + subtidal_predation(
            exposure, 2.0 * settings.exposure_low, settings.low_predation
        )
        everywhere += summer * heat_mortality(
            exposure, settings.exposure_high, settings.heat_mortality
        )
        if state.spilled[unit] == 1.0:
            # Oysters on loose shell go with it.
            everywhere += HEAP_SURFACE * washing * (1.0 - state.cement[unit])
        young_left = np.exp(-everywhere * dt)
        old_left = np.exp(-(everywhere + settings.adult_mortality) * dt)
        mud = state.bed[settings.row[unit], settings.place[unit]]
        live = 0.0
        made = 0.0
        for c in range(cohort + 1):
            height = state.shell_height[c, unit]
            left = young_left if c == cohort else old_left
            killed = 0.0
            if mud > top and height > 0.0:
                before = state.burial_killed[c, unit]
                killed = burial_killed_so_far(before, (mud - top) / height)
                left *= (1.0 - killed) / (1.0 - before)
            state.burial_killed[c, unit] = killed
            state.oysters[c, unit] *= left
            live += state.oysters[c, unit]
            rise = height_increment(height, settings.asymptotic_height, growth, dt)
            state.shell_height[c, unit] = height + rise
            if is_first:
                gained = shell_mass(height + rise, SHELL_COEFFICIENT, SHELL_EXPONENT)
                gained -= shell_mass(height, SHELL_COEFFICIENT, SHELL_EXPONENT)
                made += state.oysters[c, unit] * gained / dt
        if is_first:
            state.shell_made[unit] = made
        # Fewer settle above the reef's upper limit, and none where an oyster cannot feed.
        dry_band = max(settings.exposure_stop - settings.exposure_high, 1e-9)
        wet_enough = min(1.0, max(0.0, (settings.exposure_stop - exposure) / dry_band))
        room = free_space(live, settings.capacity)
        new = arriving * room * wet_enough if mud < top else 0.0
        if new > 0.0:
            known = state.oysters[cohort, unit]
            # New settlers have no size yet: the year class's height is its mean.
            state.shell_height[cohort, unit] *= known / (known + new)
            state.oysters[cohort, unit] = known + new


@kernel
def burial_killed_so_far(before: float, burial_ratio: float) -> float:
    """Share of a year class that a burial has killed by the end of a day.

    Parameters
    ----------
    before : float
        Share that it had killed by the end of the day before, below 1. [1]
    burial_ratio : float
        Depth of the mud over the top of the unit, over the shell height. [1]

    Notes
    -----
    A lasting burial kills the share of ``processes/oysters.burial_kill`` and no more, within days;
    deeper mud kills more, mud that thins brings nobody back.
    """
    lasting = burial_kill(burial_ratio, BURIAL_SPREAD)
    if lasting <= before:
        return before
    return min(before + (lasting - before) / BURIAL_DAYS, MOST_KILLED)


@kernel
def arriving_recruits(settings: ReefSettings, day: int, month: int, cohort: int) -> float:
    """Recruits of a day on bare loose shell in calm water. [m-2]."""
    suits = settings.suitability[min(day, settings.suitability.size - 1)]
    return float(
        settings.recruitment[cohort] * settings.season[month] * 12.0 / DAYS_PER_YEAR * suits
    )


@kernel
def settle_on_wood(
    state: State,
    settings: ReefSettings,
    day: int,
    month: int,
    year: float,
    mean_sea_level: float,
    dry_share: Floats,
) -> None:
    """Settle and kill the oysters on the walls' branches for one day; they go with the wood.

    Parameters
    ----------
    state : State
        ``wood_oysters`` is written.
    settings, day, month, year, mean_sea_level, dry_share
        As in :func:`grow_oysters`; walls stand in the open waves.
    """
    cohort = min(int(year), settings.recruitment.size - 1)
    arriving = (
        arriving_recruits(settings, day, month, cohort) * settings.wood * settings.wave_factor
    )
    exposure = look_up(dry_share, TABLE_LOW, TABLE_STEP, settings.wall_middle - mean_sea_level)
    dying = (
        settings.adult_mortality + settings.fresh_deaths[min(day, settings.fresh_deaths.size - 1)]
    )
    if month in SUMMER:
        dying += heat_mortality(exposure, settings.exposure_high, settings.heat_mortality)
    if exposure >= settings.exposure_stop:
        arriving = 0.0
    left = np.exp(-dying / DAYS_PER_YEAR)
    for bay in range(state.wood_oysters.size):
        most = settings.capacity * settings.wood * min(1.0, state.fill_mass[bay])
        living = min(most, state.wood_oysters[bay] * left)
        state.wood_oysters[bay] = living + arriving * (1.0 - living / most if most > 0.0 else 0.0)


@kernel
def age_reef(
    state: State,
    settings: ReefSettings,
    day: int,
    year: float,
    mean_sea_level: float,
    dry_share: Floats,
    washing: float,
) -> None:
    """Raise, dissolve and spill the shell of every unit for one day.

    The crest rises inside the band of exposure, as far as adults cement it, and never faster
    than live oysters make shell. A cemented unit keeps its shape when its container fails; one
    that is not, then or later, spills: what falls out lies loose beside it, and waves carry it off.

    Parameters
    ----------
    state : State
        ``unit_height``, ``placed``, ``loose``, ``cement`` and ``spilled`` are written, shell and unit
        entries posted.
    settings : ReefSettings
        Numbers of the member.
    day : int
        Days since the start. [d]
    year : float
        Years since the start. [year]
    mean_sea_level : float
        Mean sea level of the day above the datum. [m]
    dry_share : float64
        Table of ``forcing/water_levels``.
    washing : float
        Rate at which waves carry off loose shell. [year-1]
    """
    dt = 1.0 / DAYS_PER_YEAR
    cohort = min(int(year), state.oysters.shape[0] - 1)
    dissolving = loss_rate(settings.shell_half_life)
    buried_dissolving = loss_rate(HALF_LIFE_BURIED[1])
    loose_off = -np.expm1(-washing * dt)
    heap_off = -np.expm1(-HEAP_SURFACE * washing * dt)
    volume_of_height = settings.built_height * settings.area
    foot = foot_level(settings, year)
    for unit in range(state.unit_height.size):
        top = foot + settings.built_height * state.unit_height[unit]
        exposure = look_up(dry_share, TABLE_LOW, TABLE_STEP, top - mean_sea_level)
        cement = consolidation(adults(state.oysters, unit, cohort), settings.consolidation_density)
        state.cement[unit] = cement
        shape = reef_growth(exposure, settings.exposure_low, settings.exposure_high)
        made = state.shell_made[unit] / settings.grown_density
        grown = min(settings.reef_growth * shape * cement, made) * dt / settings.built_height
        uncemented = 1.0 - cement
        height = state.unit_height[unit]
        density = shell_density(
            height,
            state.placed[unit],
            settings.is_solid,
            settings.bulk_density,
            settings.grown_density,
        )
        washed = 0.0
        if settings.is_solid:
            # Oysters thicken a solid unit; nothing of the unit itself is lost.
            dissolved = max(0.0, height - 1.0) * dissolving * uncemented * dt
        else:
            held = day < min(state.mesh_end[unit], state.ring_end[unit])
            exposed = uncemented * EXPOSED_IN_MESH if held else uncemented
            dissolved = height * (dissolving * exposed + buried_dissolving * cement) * dt
            if state.spilled[unit] == 1.0:
                washed = (height - dissolved) * uncemented * heap_off
            elif not held and cement < CEMENTED:
                state.spilled[unit] = 1.0
                state.ledger[_SPILLED] += 1.0
                fallen = SPILL * uncemented * height
                state.loose_shell[unit] += fallen * density / settings.bulk_density
                state.placed[unit] *= 1.0 - fallen / height
                height -= fallen
        loose = state.loose_shell[unit]
        loose_dissolved = loose * dissolving * dt
        # In that order, so that a heap that is all washed off in a day is not lost twice.
        loose_washed = (loose - loose_dissolved) * loose_off
        state.loose_shell[unit] = loose - loose_dissolved - loose_washed
        if height > 0.0:
            state.placed[unit] *= 1.0 - min(1.0, (dissolved + washed) / height)
        state.unit_height[unit] = height + grown - dissolved - washed
        placed_mass = settings.bulk_density * volume_of_height
        state.ledger[_GROWN] += grown * settings.grown_density * volume_of_height
        state.ledger[_DISSOLVED] += (
            dissolved * density * volume_of_height + loose_dissolved * placed_mass
        )
        state.ledger[_WASHED] += washed * density * volume_of_height + loose_washed * placed_mass
