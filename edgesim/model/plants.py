"""The plants: the platform rises under them, seedlings come up on the flat, and the marsh spreads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.kernels import kernel
from edgesim.model.edge import EdgeSettings, cell_of_edge
from edgesim.model.state import ENTRY, State
from edgesim.processes.plants import grown_stress, platform_accretion, suits_plants

Floats = NDArray[np.float64]

FIRST_COVER = 0.1
"""Cover of a seedling that has taken root (judgement). [1]"""

COVER_GROWTH = 1.0
"""Cover that established shoots gain in a year: single seedlings made up to 36 tillers in a season
(read: Metcalfe et al.), a stand takes about two (judgement). [year-1]"""

MARSH_COVER = 0.5
"""Cover from which the flat beside the edge counts as marsh (judgement). [1]"""

_ACCRETED = ENTRY["mud_platform_accreted"]


@kernel
def grow_plants(
    state: State,
    settings: EdgeSettings,
    edge_stress: Floats,
    first_day: int,
    end: int,
    daily_high: Floats,
    mean_sea_level: float,
    mean_high_water: float,
    dry_share: Floats,
) -> None:
    """Raise the platform, follow seedlings and shoots on the flat, and let the marsh spread.

    The marsh spreads sideways from its edge where the flat in front lies in the
    grass's band of flooding and shoots have stood its waves for some weeks.
    Seedlings come up anywhere in the band when the tides leave a window of
    opportunity; once shoots beside the edge have closed up, they are marsh.

    Parameters
    ----------
    state : State
        ``platform``, ``advance``, ``calm_days``, ``seedling``, ``rooted_at`` and ``shoots`` are
        written, accretion posted.
    settings : EdgeSettings
        Numbers of the member.
    edge_stress : float64, (ny,)
        Largest stress of the window in front of the edge. [Pa]
    first_day, end : int
        Days of the window, and the day after. [d]
    daily_high : float64, (n_days,)
        Highest level of each day about mean sea level. [m]
    mean_sea_level, mean_high_water : float
        Levels of the day above the datum. [m]
    dry_share : float64
        Table of ``forcing/water_levels``.
    """
    nx, ny = state.bed.shape
    window_days = float(end - first_day)
    years = window_days / DAYS_PER_YEAR
    borne = grown_stress(settings.seedling_stress, settings.stress_growth, settings.rooting_days)
    for y in range(ny):
        edge_row = cell_of_edge(state.edge[y], settings.dx, nx)
        front = max(edge_row - 1, 0)
        # Mud reaches the platform with the water that comes over the edge; the surveyed platform
        # rises with what that water has held so far.
        so_far = settings.natural_water[y]
        relative = min(state.suspended[front, y] / so_far, 1.0) if so_far > 0.0 else 1.0
        supply = settings.organic_share + (1.0 - settings.organic_share) * relative
        for row in range(edge_row, nx):
            depth = mean_high_water - state.platform[row, y]
            rise = years * supply * platform_accretion(depth, settings.accretion_cap)
            state.platform[row, y] += rise
            start = max(state.edge[y], (row - 0.5) * settings.dx)
            area = ((row + 0.5) * settings.dx - start) * settings.dy
            state.ledger[_ACCRETED] += rise * area * settings.soil_density
            state.shoots[row, y] = 0.0
            state.seedling[row, y] = 0.0
        stress = edge_stress[y]
        for row in range(edge_row):
            level = state.bed[row, y] - mean_sea_level
            wet = 1.0 - look_up(dry_share, TABLE_LOW, TABLE_STEP, level)
            suits = suits_plants(wet, settings.band_low, settings.band_high)
            moved = abs(state.bed[row, y] - state.rooted_at[row, y])
            if state.shoots[row, y] > 0.0:
                # Death by drowning, stress or burial; roots grow up with a bed that rises slowly.
                if suits and stress <= borne and moved <= settings.bed_change:
                    cover = state.shoots[row, y] + years * COVER_GROWTH
                    state.shoots[row, y] = min(cover, 1.0)
                else:
                    state.shoots[row, y] = 0.0
                    state.seedling[row, y] = 0.0
                state.rooted_at[row, y] = state.bed[row, y]
            elif suits:
                age, fresh = seedling_days(
                    state.seedling[row, y],
                    moved,
                    level,
                    stress,
                    daily_high,
                    first_day,
                    end,
                    settings.dry_days,
                    settings.seedling_stress,
                    settings.stress_growth,
                    settings.bed_change,
                )
                state.seedling[row, y] = age
                if fresh:
                    state.rooted_at[row, y] = state.bed[row, y]
                if age >= settings.dry_days + settings.rooting_days:
                    state.shoots[row, y] = FIRST_COVER
                    state.rooted_at[row, y] = state.bed[row, y]
            else:
                state.seedling[row, y] = 0.0
        level = state.bed[front, y] - mean_sea_level
        wet = 1.0 - look_up(dry_share, TABLE_LOW, TABLE_STEP, level)
        stands = stress < settings.seedling_stress
        if stands and suits_plants(wet, settings.band_low, settings.band_high):
            state.calm_days[y] += window_days
        else:
            state.calm_days[y] = 0.0
        state.advance[y] = 0.0
        if front == 0:
            continue
        if state.shoots[front, y] >= MARSH_COVER:
            # A hair's breadth short of the next cell, so that rounding cannot carry it there.
            state.advance[y] = (state.edge[y] - (front - 0.499999) * settings.dx) / window_days
        elif state.calm_days[y] >= settings.rooting_days:
            state.advance[y] = settings.clonal_spread / DAYS_PER_YEAR
        if state.advance[y] > 0.0:
            # New marsh stands on the flat it grows on.
            state.platform[front, y] = state.bed[front, y]


# Functions called for every cell take numbers only: handing over the state costs more than the work.


@kernel
def seedling_days(
    age: float,
    moved: float,
    level: float,
    stress: float,
    daily_high: Floats,
    first_day: int,
    end: int,
    dry_days: float,
    first_stress: float,
    stress_growth: float,
    bed_change: float,
) -> tuple[float, bool]:
    """Take a seed through the days of a window: rest without flooding, then rooting.

    Parameters
    ----------
    age : float
        Days without flooding in a row, and then days since anchoring on top of them. [d]
    moved : float
        Rise or fall of the bed since it anchored. [m]
    level : float
        Of the bed about mean sea level. [m]
    stress : float
        Largest bed stress of the window. [Pa]
    daily_high : float64, (n_days,)
        Highest level of each day about mean sea level. [m]
    first_day, end : int
        Days of the window, and the day after. [d]
    dry_days, first_stress, stress_growth, bed_change : float
        See :class:`edgesim.model.edge.EdgeSettings`.

    Returns
    -------
    tuple of float and bool
        Its age at the end, and whether it anchored, or was not yet anchored, in this window.
    """
    fresh = age < dry_days
    for day in range(first_day, end):
        if age < dry_days:
            age = age + 1.0 if daily_high[day] <= level else 0.0
            moved = 0.0
            fresh = True
        else:
            borne = grown_stress(first_stress, stress_growth, age - dry_days)
            age = age + 1.0 if stress <= borne and moved <= bed_change else 0.0
    return age, fresh
