"""The edge, the mud in front of it and the plants: what one day or window does to them."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, SECONDS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.kernels import kernel
from edgesim.model.state import ENTRY, State
from edgesim.processes.mud import tidal_deposition
from edgesim.processes.plants import platform_accretion, suits_plants
from edgesim.processes.scarp import retreat_rate

Floats = NDArray[np.float64]

LOWEST_SCARP = 0.10
"""Scarp height below which retreat does not speed up further (judgement). [m]"""

SETTLING_WIDTH = 5.0
"""Width of flat in front of the scarp on which its mud settles (judgement). [m]"""

ROOTING_DAYS = 20.0
"""Days that shoots must stand before the marsh spreads, mode of 10 to 40 (judgement). [d]"""

_DEPOSITED = ENTRY["mud_deposited"]
_RESUSPENDED = ENTRY["mud_resuspended"]
_EXPORTED = ENTRY["mud_scarp_exported"]
_ACCRETED = ENTRY["mud_platform_accreted"]


class EdgeSettings(NamedTuple):
    """Numbers of one member for edge, mud and plants, SI, years where named.

    Attributes
    ----------
    erodibility : float
        Volume eroded a metre of edge and year for one watt a metre. [m2 year-1 (W m-1)-1]
    side_exposure : float
        Wave attack on the side of a notch relative to its face. [1]
    strength : float64, (nx, ny)
        Soil strength over its mean. [1]
    soil_density, flat_density : float
        Dry densities. [kg m-3]
    concentration, winter_factor, summer_factor : float
        Suspended mud [kg m-3] and its seasonal range [1].
    trapping, settling_velocity, critical_stress : float
        See ``processes/mud``. [1], [m s-1], [Pa]
    share_kept : float
        Share of scarp mud that settles in front of the edge in calm water. [1]
    stirring : float64, (nx, ny)
        Natural stirring of each cell by waves: seconds of excess stress a second. [1]
    current_stirring : float64, (nx, ny)
        The same by tidal currents, which no line changes. [1]
    natural_deposition : float64, (nx, ny)
        What settles on each cell at the start, and is stirred up again. [kg m-2 year-1]
    accretion_cap, clonal_spread : float
        [m year-1]
    band_low, band_high : float
        Share of time under water between which grass grows. [1]
    seedling_stress : float
        Bed stress that shoots stand. [Pa]
    dx, dy : float
        Cell size. [m]
    """

    erodibility: float
    side_exposure: float
    strength: Floats
    soil_density: float
    flat_density: float
    concentration: float
    winter_factor: float
    summer_factor: float
    trapping: float
    settling_velocity: float
    critical_stress: float
    share_kept: float
    stirring: Floats
    current_stirring: Floats
    natural_deposition: Floats
    accretion_cap: float
    clonal_spread: float
    band_low: float
    band_high: float
    seedling_stress: float
    dx: float
    dy: float


@kernel
def cell_of_edge(edge: float, dx: float, nx: int) -> int:
    """First row whose centre is marsh: the edge counts as reaching it at the cell's middle."""
    return min(int(edge / dx + 0.5), nx - 1)


@kernel
def calmness(excess: float, natural: float, current: float) -> float:
    """Share of the natural stirring that no longer takes place; below 0 where there is more."""
    whole = natural + current
    return 1.0 - (excess + current) / whole if whole > 0.0 else 0.0


@kernel
def move_edge(
    state: State,
    settings: EdgeSettings,
    gain: Floats,
    tally: Floats,
    excess: Floats,
    window_seconds: float,
    is_first_day: bool,
    retreat: Floats,
) -> None:
    """Wear the edge by one day of waves, and let the marsh advance where it grows.

    Every column of the edge is a block with its own strength. Its face meets
    the day's waves; where it stands out beyond a neighbour, its side meets a
    share of the neighbour's. What falls goes to the flat or out to the channel.

    Parameters
    ----------
    state : State
        ``edge``, ``calm`` and ``scarp_mud`` are written, mud entries posted.
    settings : EdgeSettings
        Numbers of the member.
    gain : float64, (n_levels, n_classes, ny)
        Weighted energy of one class wave. [J m-1]
    tally : float64, (n_levels, n_classes)
        Class waves of the day. [1]
    excess : float64, (nx, ny)
        Stirring of the window. [s]
    window_seconds : float
        Length of the window. [s]
    is_first_day : bool
        First day of a window: the scarp mud of the last one has settled.
    retreat : float64, (2, ny)
        Work space: dose, then retreat of the day.
    """
    ny = state.edge.size
    nx = state.bed.shape[0]
    dose = retreat[0]
    dose[:] = 0.0
    for k in range(tally.shape[0]):
        for w in range(tally.shape[1]):
            n = tally[k, w]
            if n > 0.0:
                for y in range(ny):
                    dose[y] += n * gain[k, w, y]
    for y in range(ny):
        row = cell_of_edge(state.edge[y], settings.dx, nx)
        height = max(state.platform[row, y] - state.bed[row, y], LOWEST_SCARP)
        worn = dose[y]
        for side in (-1, 1):
            neighbour = y + side
            if 0 <= neighbour < ny:
                stands_out = max(0.0, state.edge[neighbour] - state.edge[y])
                worn += settings.side_exposure * dose[neighbour] * stands_out / settings.dy
        # Energy of the day over a year's seconds is its part of the yearly mean power.
        power = worn / SECONDS_PER_YEAR
        retreat[1, y] = retreat_rate(power, settings.erodibility, settings.strength[row, y], height)
    for y in range(ny):
        row = cell_of_edge(state.edge[y], settings.dx, nx)
        # The last row stays: the caller reports an edge that reached it.
        furthest = (nx - 1) * settings.dx
        target = min(state.edge[y] + retreat[1, y] - state.advance[y], furthest)
        moved = max(target, settings.dx) - state.edge[y]
        mass = wear(state, settings, y, moved)
        state.edge[y] += moved
        if is_first_day:
            state.scarp_mud[y] = 0.0
            front = max(row - 1, 0)
            calm = calmness(
                excess[front, y] / window_seconds,
                settings.stirring[front, y],
                settings.current_stirring[front, y],
            )
            # A calm season is no calm place: only the yearly mean lets mud stay.
            state.calm[y] += (calm - state.calm[y]) * (
                1.0 - math.exp(-window_seconds / SECONDS_PER_YEAR)
            )
        kept = max(mass, 0.0) * settings.share_kept * max(state.calm[y], 0.0)
        state.scarp_mud[y] += kept
        state.ledger[_EXPORTED] += mass - kept


@kernel
def wear(state: State, settings: EdgeSettings, y: int, moved: float) -> float:
    """Mass of marsh soil between the edge and where it moves to, in one column. [kg].

    Negative where the marsh advances: it first fills the rest of the cell in which the edge stands
    at that cell's platform level, then grows at the level of the flat.
    """
    nx = state.bed.shape[0]
    low = min(state.edge[y], state.edge[y] + moved)
    high = max(state.edge[y], state.edge[y] + moved)
    # A cell's marsh begins at its middle, as in `cell_of_edge`.
    first = cell_of_edge(low, settings.dx, nx)
    last = cell_of_edge(high, settings.dx, nx)
    volume = 0.0
    for row in range(first, last + 1):
        start = max(low, (row - 0.5) * settings.dx)
        end = min(high, (row + 0.5) * settings.dx)
        if end > start:
            volume += (end - start) * (state.platform[row, y] - state.bed[row, y])
    mass = volume * settings.dy * settings.soil_density
    return mass if moved >= 0.0 else -mass


@kernel
def marsh_volume(bed: Floats, platform: Floats, edge: Floats, dx: float, dy: float) -> float:
    """Volume of the marsh soil above the level of the flat. [m3]."""
    nx, ny = bed.shape
    volume = 0.0
    for y in range(ny):
        for row in range(cell_of_edge(edge[y], dx, nx), nx):
            start = max(edge[y], (row - 0.5) * dx)
            volume += ((row + 0.5) * dx - start) * (platform[row, y] - bed[row, y])
    return volume * dy


@kernel
def seasonal_concentration(settings: EdgeSettings, year_phase: float) -> float:
    """Suspended mud on a day of the year, a cosine with its top at the end of July. [kg m-3]."""
    middle = 0.5 * (settings.summer_factor + settings.winter_factor)
    swing = 0.5 * (settings.summer_factor - settings.winter_factor)
    return settings.concentration * (middle - swing * math.cos(2.0 * math.pi * (year_phase - 0.08)))


@kernel
def exchange_mud(
    state: State,
    settings: EdgeSettings,
    excess: Floats,
    window_days: float,
    year_phase: float,
    mean_sea_level: float,
    dry_share: Floats,
    flood_depth: Floats,
) -> None:
    """Settle and stir up mud on the flat over one window.

    What settles on a cell in a year at the start is, on the undefended shore,
    stirred up again by waves and currents: the surveyed flat is taken to be in
    balance. The model follows departures from that balance: calmer water
    stirs less, a risen bed catches less, dirtier seasons bring more.

    Parameters
    ----------
    state : State
        ``bed`` is written, mud entries posted.
    settings : EdgeSettings
        Numbers of the member.
    excess : float64, (nx, ny)
        Stirring of the window. [s]
    window_days : float
        Length of the window. [d]
    year_phase : float
        Share of the calendar year gone. [1]
    mean_sea_level : float
        Mean sea level of the day above the datum. [m]
    dry_share, flood_depth : float64
        Tables of ``forcing/water_levels``.
    """
    nx, ny = state.bed.shape
    years = window_days / DAYS_PER_YEAR
    seconds = years * SECONDS_PER_YEAR
    area = settings.dx * settings.dy
    concentration = seasonal_concentration(settings, year_phase)
    settling_rows = max(1, int(SETTLING_WIDTH / settings.dx + 0.5))
    for y in range(ny):
        edge_row = cell_of_edge(state.edge[y], settings.dx, nx)
        first_near = max(0, edge_row - settling_rows)
        share_of_scarp = state.scarp_mud[y] / max(1, edge_row - first_near)
        for row in range(edge_row):
            level = state.bed[row, y] - mean_sea_level
            settled = years * tidal_deposition(
                concentration,
                look_up(flood_depth, TABLE_LOW, TABLE_STEP, level),
                settings.trapping,
                settings.settling_velocity,
                1.0 - look_up(dry_share, TABLE_LOW, TABLE_STEP, level),
            )
            natural = settings.stirring[row, y] + settings.current_stirring[row, y]
            stirred = 0.0
            if natural > 0.0:
                now = excess[row, y] / seconds + settings.current_stirring[row, y]
                stirred = years * settings.natural_deposition[row, y] * now / natural
            gained = settled - stirred
            state.ledger[_DEPOSITED] += settled * area
            state.ledger[_RESUSPENDED] += stirred * area
            if row >= first_near:
                gained += share_of_scarp / area
            state.bed[row, y] += gained / settings.flat_density


@kernel
def grow_plants(
    state: State,
    settings: EdgeSettings,
    edge_stress: Floats,
    window_days: float,
    mean_sea_level: float,
    mean_high_water: float,
    dry_share: Floats,
) -> None:
    """Raise the platform and decide where the marsh may spread onto the flat.

    The marsh spreads from its edge where the flat in front lies in the grass's
    band of flooding and shoots have stood its waves for three weeks.

    Parameters
    ----------
    state : State
        ``platform``, ``advance`` and ``calm_days`` are written, accretion posted.
    settings : EdgeSettings
        Numbers of the member.
    edge_stress : float64, (ny,)
        Largest stress of the window in front of the edge. [Pa]
    window_days : float
        Length of the window. [d]
    mean_sea_level, mean_high_water : float
        Levels of the day above the datum. [m]
    dry_share : float64
        Table of ``forcing/water_levels``.
    """
    nx, ny = state.bed.shape
    years = window_days / DAYS_PER_YEAR
    for y in range(ny):
        edge_row = cell_of_edge(state.edge[y], settings.dx, nx)
        for row in range(edge_row, nx):
            depth = mean_high_water - state.platform[row, y]
            rise = years * platform_accretion(depth, settings.accretion_cap)
            state.platform[row, y] += rise
            start = max(state.edge[y], (row - 0.5) * settings.dx)
            area = ((row + 0.5) * settings.dx - start) * settings.dy
            state.ledger[_ACCRETED] += rise * area * settings.soil_density
        front = max(edge_row - 1, 0)
        level = state.bed[front, y] - mean_sea_level
        wet = 1.0 - look_up(dry_share, TABLE_LOW, TABLE_STEP, level)
        stands = edge_stress[y] < settings.seedling_stress
        if stands and suits_plants(wet, settings.band_low, settings.band_high):
            state.calm_days[y] += window_days
        else:
            state.calm_days[y] = 0.0
        grows = state.calm_days[y] >= ROOTING_DAYS
        state.advance[y] = settings.clonal_spread / DAYS_PER_YEAR if grows else 0.0
        if grows and front > 0:
            # New marsh stands on the flat it grows on.
            state.platform[front, y] = state.bed[front, y]
