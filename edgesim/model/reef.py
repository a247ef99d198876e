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
    burial_kill,
    consolidation,
    free_space,
    freshet_mortality,
    growth_coefficient,
    heat_mortality,
    height_increment,
    reef_growth,
    subtidal_predation,
)
from edgesim.processes.posts import subsidence
from edgesim.processes.shell import HALF_LIFE_BURIED, loss_rate

Floats = NDArray[np.float64]

EXPOSED_IN_MESH = 0.2
"""Share of a unit's shell that is exposed while its mesh holds (judgement). [1]"""

SPILL = 0.5
"""Share of the uncemented shell that leaves the unit when its mesh fails (judgement). [1]"""

WASHED_A_YEAR = 0.5
"""Share of spilled, uncemented shell that waves carry off in a year (judgement). [year-1]"""

BURIAL_SPREAD = 0.08
"""Spread of the burial curve, mode of 0.05 to 0.12 (derived from a read value). [1]"""

BURIAL_DAYS = 7.0
"""Days of burial that kill, 2 to 7 in summer (from memory). [d]"""

FRESHET_RATE = 0.10 * 52.0
"""Death rate at 25 C in nearly fresh water (judgement). [year-1]"""

SUMMER = (5, 6, 7)
"""June to August, the months in which air kills by heat."""

_GROWN = ENTRY["shell_grown"]
_LOST = ENTRY["shell_lost"]


class ReefSettings(NamedTuple):
    """Numbers of one member for the reef.

    Attributes
    ----------
    base : float
        Level of the bed under the units at the start. [m]
    built_height, area : float
        Height [m] and plan area [m2] of a unit.
    bulk_density : float
        Shell mass in a volume of reef. [kg m-3]
    is_solid : bool
        Concrete: no shell to lose, no mesh.
    settlement, settlement_time : float
        Final sinking into the mud [m] and its time scale [year].
    recruitment : float64, (n_cohorts,)
        Recruits of each year at full suitability. [m-2 year-1]
    season : float64, (12,)
        Share of the year's recruits by month. [1]
    wave_factor : float
        Settlement in undefended waves over settlement in calm water. [1]
    temperature : float64, (12,)
        Water temperature by month. [degree_Celsius]
    column, row : int64, (n_units,)
        Column of each unit along the reef; grid row under it.
    place : int64, (n_units,)
        Alongshore cell under the unit.
    """

    base: float
    built_height: float
    area: float
    bulk_density: float
    is_solid: bool
    settlement: float
    settlement_time: float
    recruitment: Floats
    season: Floats
    wave_factor: float
    temperature: Floats
    salinity: float
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
    column: NDArray[np.int64]
    row: NDArray[np.int64]
    place: NDArray[np.int64]


@kernel
def crest(state: State, settings: ReefSettings, unit: int, year: float) -> float:
    """Crest elevation of a unit, sunk into the mud by its weight. [m]."""
    sunk = subsidence(year, settings.settlement, settings.settlement_time)
    return float(settings.base - sunk + settings.built_height * state.unit_height[unit])


def crests(state: State, settings: ReefSettings, year: float) -> Floats:
    """Crest elevation of every unit. [m]."""
    sunk = subsidence(year, settings.settlement, settings.settlement_time)
    return np.asarray(settings.base - sunk + settings.built_height * state.unit_height)


@kernel
def adults(state: State, unit: int, cohort: int) -> float:
    """Oysters of a unit that are older than their first season. [m-2]."""
    total = 0.0
    for older in range(cohort):
        total += state.oysters[older, unit]
    return total


@kernel
def grow_oysters(
    state: State,
    settings: ReefSettings,
    month: int,
    year: float,
    mean_sea_level: float,
    dry_share: Floats,
    calm_share: float,
) -> None:
    """Settle, grow and kill the oysters of every unit for one day.

    Parameters
    ----------
    state : State
        ``oysters`` and ``shell_height`` are written.
    settings : ReefSettings
        Numbers of the member.
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
    """
    dt = 1.0 / DAYS_PER_YEAR
    cohort = min(int(year), state.oysters.shape[0] - 1)
    waves = settings.wave_factor + (1.0 - settings.wave_factor) * calm_share
    arriving = settings.recruitment[cohort] * settings.season[month] * 12.0 * dt * waves
    freshet = freshet_mortality(settings.salinity, settings.temperature[month], FRESHET_RATE)
    summer = 1.0 if month in SUMMER else 0.0
    for unit in range(state.unit_height.size):
        top = crest(state, settings, unit, year)
        exposure = look_up(dry_share, TABLE_LOW, TABLE_STEP, top - mean_sea_level)
        growth = growth_coefficient(settings.growth_coefficient, exposure, settings.exposure_stop)
        everywhere = freshet + subtidal_predation(
            exposure, 2.0 * settings.exposure_low, settings.low_predation
        )
        everywhere += summer * heat_mortality(
            exposure, settings.exposure_high, settings.heat_mortality
        )
        young_left = np.exp(-everywhere * dt)
        old_left = np.exp(-(everywhere + settings.adult_mortality) * dt)
        mud = state.bed[settings.row[unit], settings.place[unit]]
        live = 0.0
        for c in range(cohort + 1):
            height = state.shell_height[c, unit]
            left = young_left if c == cohort else old_left
            if mud > top and height > 0.0:
                buried = (mud - top) / height
                left *= 1.0 - burial_kill(buried, BURIAL_SPREAD) / BURIAL_DAYS
            state.oysters[c, unit] *= left
            live += state.oysters[c, unit]
            state.shell_height[c, unit] = height + height_increment(
                height, settings.asymptotic_height, growth, dt
            )
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
def age_reef(
    state: State,
    settings: ReefSettings,
    day: int,
    year: float,
    mean_sea_level: float,
    dry_share: Floats,
) -> None:
    """Raise, dissolve and spill the shell of every unit for one day.

    A cemented unit keeps its shape when its mesh fails; one that is not, then or
    later, spills and is carried off. Growth needs live oysters and the right time in air.

    Parameters
    ----------
    state : State
        ``unit_height`` and ``spilled`` are written, shell entries posted.
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
    """
    dt = 1.0 / DAYS_PER_YEAR
    cohort = min(int(year), state.oysters.shape[0] - 1)
    dissolving = loss_rate(settings.shell_half_life)
    buried_dissolving = loss_rate(HALF_LIFE_BURIED[1])
    mass_of_height = settings.built_height * settings.area * settings.bulk_density
    for unit in range(state.unit_height.size):
        top = crest(state, settings, unit, year)
        exposure = look_up(dry_share, TABLE_LOW, TABLE_STEP, top - mean_sea_level)
        cement = consolidation(adults(state, unit, cohort), settings.consolidation_density)
        shape = reef_growth(exposure, settings.exposure_low, settings.exposure_high)
        grown = settings.reef_growth * shape * cement * dt / settings.built_height
        loose = 1.0 - cement
        lost = 0.0
        if settings.is_solid:
            # Oysters thicken a solid unit; nothing of the unit itself is lost.
            lost = max(0.0, state.unit_height[unit] - 1.0) * dissolving * loose * dt
        else:
            exposed = loose * EXPOSED_IN_MESH if day < state.mesh_end[unit] else loose
            rate = dissolving * exposed + buried_dissolving * cement
            if state.spilled[unit] == 1.0:
                rate += WASHED_A_YEAR * loose
            elif day >= state.mesh_end[unit] and cement < CEMENTED:
                state.spilled[unit] = 1.0
                lost = SPILL * loose * state.unit_height[unit]
            lost += rate * state.unit_height[unit] * dt
        state.unit_height[unit] += grown - lost
        state.ledger[_GROWN] += grown * mass_of_height
        state.ledger[_LOST] += lost * mass_of_height
