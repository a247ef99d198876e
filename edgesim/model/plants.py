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
    for y in range(ny):
        edge_row = cell_of_edge(state.edge[y], settings.dx, nx)
        front = max(edge_row - 1, 0)
        # Mud reaches the platform with the water that comes over the edge.
        supply = settings.organic_share + (1.0 - settings.organic_share) * min(
            state.suspended[front, y], 1.0
        )
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
            if state.shoots[row, y] > 0.0:
                grow_shoots(state, settings, row, y, suits, stress, years)
            elif suits:
                try_seedling(state, settings, row, y, stress, level, first_day, end, daily_high)
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
            state.advance[y] = (state.edge[y] - (front - 0.5) * settings.dx) / window_days
        elif state.calm_days[y] >= settings.rooting_days:
            state.advance[y] = settings.clonal_spread / DAYS_PER_YEAR
        if state.advance[y] > 0.0:
            # New marsh stands on the flat it grows on.
            state.platform[front, y] = state.bed[front, y]


@kernel
def grow_shoots(
    state: State,
    settings: EdgeSettings,
    row: int,
    y: int,
    suits: bool,
    stress: float,
    years: float,
) -> None:
    """Let established shoots close up, or die of drowning, stress or burial."""
    limit = grown_stress(settings.seedling_stress, settings.stress_growth, settings.rooting_days)
    moved = abs(state.bed[row, y] - state.rooted_at[row, y])
    if suits and stress <= limit and moved <= settings.bed_change:
        state.shoots[row, y] = min(state.shoots[row, y] + years * COVER_GROWTH, 1.0)
        # Roots grow up with the bed: only what comes within a window buries them.
        state.rooted_at[row, y] = state.bed[row, y]
    else:
        state.shoots[row, y] = 0.0
        state.seedling[row, y] = 0.0


@kernel
def try_seedling(
    state: State,
    settings: EdgeSettings,
    row: int,
    y: int,
    stress: float,
    level: float,
    first_day: int,
    end: int,
    daily_high: Floats,
) -> None:
    """Take a cell through the days of a window: rest without flooding, then rooting, then shoots.

    ``seedling`` counts the days: first those without flooding in a row, then those since anchoring.
    """
    age = state.seedling[row, y]
    for day in range(first_day, end):
        if age < settings.dry_days:
            age = age + 1.0 if daily_high[day] <= level else 0.0
            state.rooted_at[row, y] = state.bed[row, y]
            continue
        limit = grown_stress(
            settings.seedling_stress, settings.stress_growth, age - settings.dry_days
        )
        moved = abs(state.bed[row, y] - state.rooted_at[row, y])
        age = age + 1.0 if stress <= limit and moved <= settings.bed_change else 0.0
        if age >= settings.dry_days + settings.rooting_days:
            state.shoots[row, y] = FIRST_COVER
            break
    state.seedling[row, y] = age
