"""The edge: what one day of waves and one day of growth do to it, block by block."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import SECONDS_PER_YEAR
from edgesim.kernels import kernel
from edgesim.model.state import ENTRY, State
from edgesim.processes.blocks import next_block
from edgesim.processes.scarp import retreat_rate

Floats = NDArray[np.float64]

LOWEST_SCARP = 0.10
"""Scarp height below which retreat does not speed up further (judgement). [m]"""

_EXPORTED = ENTRY["mud_scarp_exported"]


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
    tensile_strength, unit_weight : float
        Of the rooted soil on average. [Pa], [N m-3]
    root_depth, crack_distance : float
        Thickness of the rooted mat; distance of tension cracks behind the face. [m]
    slump_share : float
        Share of the waves' work that goes into breaking up what has fallen. [1]
    soil_density, flat_density, fresh_density : float
        Dry densities. [kg m-3]
    consolidation_time, wash_time : float
        Times in which loose mud packs, and in which undefended waves wash it away. [year]
    mixing : float
        Horizontal mixing over the flat. [m2 s-1]
    concentration, winter_factor, summer_factor : float
        Suspended mud [kg m-3] and its seasonal range [1].
    trapping, settling_velocity, critical_stress : float
        See ``processes/mud``. [1], [m s-1], [Pa]
    scarp_share : float
        Share of the scarp's soil that goes into the water over the flat as mud. [1]
    stirring : float64, (nx, ny)
        Natural stirring of each cell by waves: seconds of excess stress a second. [1]
    current_stirring : float64, (nx, ny)
        The same by tidal currents, which no line changes. [1]
    natural_deposition : float64, (nx, ny)
        What settles on each cell at the start, and is stirred up again. [kg m-2 year-1]
    natural_water : float64, (ny,)
        Mud in the water before the edge at the start, relative to the channel's. [1]
    shell : float32, (nx, ny)
        Cover of the flat with shell, on which beds are rough and under which they are held. [1]
    accretion_cap, clonal_spread : float
        [m year-1]
    organic_share : float
        Share of the platform's accretion that needs no mud. [1]
    band_low, band_high : float
        Share of time under water between which grass grows. [1]
    seedling_stress, stress_growth : float
        Bed stress that young shoots stand [Pa], and how it grows [Pa d-1].
    dry_days, rooting_days : float
        Rest that a seed needs, and time that its roots need. [d]
    bed_change : float
        Rise or fall of the bed that a shoot outlives. [m]
    dx, dy : float
        Cell size. [m]
    """

    erodibility: float
    side_exposure: float
    strength: Floats
    tensile_strength: float
    unit_weight: float
    root_depth: float
    crack_distance: float
    slump_share: float
    soil_density: float
    flat_density: float
    fresh_density: float
    consolidation_time: float
    wash_time: float
    mixing: float
    concentration: float
    winter_factor: float
    summer_factor: float
    trapping: float
    settling_velocity: float
    critical_stress: float
    scarp_share: float
    stirring: Floats
    current_stirring: Floats
    natural_deposition: Floats
    natural_water: Floats
    shell: NDArray[np.float32]
    accretion_cap: float
    clonal_spread: float
    organic_share: float
    band_low: float
    band_high: float
    seedling_stress: float
    stress_growth: float
    dry_days: float
    rooting_days: float
    bed_change: float
    dx: float
    dy: float


@kernel
def cell_of_edge(edge: float, dx: float, nx: int) -> int:
    """First row whose centre is marsh: the edge counts as reaching it at the cell's middle."""
    return min(int(edge / dx + 0.5), nx - 1)


@kernel
def move_edge(
    state: State,
    settings: EdgeSettings,
    gain: Floats,
    tally: Floats,
    is_first_day: bool,
    retreat: Floats,
) -> None:
    """Wear the edge by one day of waves, and let the marsh advance where it grows.

    The face of every column of the edge is a block with its own strength, and
    meets the day's waves; where it stands out beyond a neighbour, its side meets
    a share of the neighbour's. Waves first break up what fell last, then
    undercut the block until it goes. What falls goes into the water over the flat as mud, or is
    carried off.

    Parameters
    ----------
    state : State
        ``edge``, ``undercut``, ``slump`` and ``scarp_mud`` are written, mud entries posted.
    settings : EdgeSettings
        Numbers of the member.
    gain : float64, (n_levels, n_classes, ny)
        Weighted energy of one class wave. [J m-1]
    tally : float64, (n_levels, n_classes)
        Class waves of the day. [1]
    is_first_day : bool
        First day of a window: the scarp mud of the last one is dispersed.
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
        face = cell_of_edge(state.edge[y] + max(state.undercut[y], 0.0), settings.dx, nx)
        retreat[1, y] = retreat_rate(
            power, settings.erodibility, settings.strength[face, y], height
        )
    for y in range(ny):
        row = cell_of_edge(state.edge[y], settings.dx, nx)
        limit, width = next_block(
            max(state.platform[row, y] - state.bed[row, y], LOWEST_SCARP),
            settings.root_depth,
            settings.crack_distance,
            settings.unit_weight,
            settings.tensile_strength * settings.strength[row, y],
        )
        undercut, slump, fallen = work_on_block(
            state.undercut[y], state.slump[y], retreat[1, y], settings.slump_share, limit, width
        )
        state.undercut[y] = undercut
        state.slump[y] = slump
        # The last row stays: the caller reports an edge that reached it.
        furthest = (nx - 1) * settings.dx
        target = min(state.edge[y] + fallen - state.advance[y], furthest)
        moved = max(target, settings.dx) - state.edge[y]
        # Most days nothing moves.
        mass = 0.0
        if moved != 0.0:
            volume = worn_volume(state.bed, state.platform, y, state.edge[y], moved, settings.dx)
            mass = volume * settings.dy * settings.soil_density
        state.edge[y] += moved
        if is_first_day:
            state.scarp_mud[y] = 0.0
        state.scarp_mud[y] += settings.scarp_share * max(mass, 0.0)
        state.ledger[_EXPORTED] += mass


# Functions called for every column take numbers only: handing over the state costs more than the work.


@kernel
def work_on_block(
    undercut: float, slump: float, law: float, slump_share: float, limit: float, width: float
) -> tuple[float, float, float]:
    """Spend what the mean law wears in a day on the block of a column.

    Every metre of edge costs the waves a metre of the law: the share `slump_share` for breaking
    up the block once it has fallen, the rest for undercutting it. Blocks therefore change when
    the edge moves, never how far it moves in the long run.

    Parameters
    ----------
    undercut, slump : float
        State of the column. [m]
    law : float
        Retreat of the day by the mean law. [m]
    slump_share : float
        See :class:`EdgeSettings`. [1]
    limit, width : float
        From ``processes/blocks.next_block``. [m]

    Returns
    -------
    tuple of float
        Undercut and slump at the end of the day, and how far the edge breaks. [m]
    """
    spent = min(slump, law)
    undercut += (law - spent) / (1.0 - slump_share)
    if undercut < limit:
        return undercut, slump - spent, 0.0
    # An overhang falls with all that is undercut; a slab topples whole and leaves its foot.
    fallen = max(undercut, width)
    return undercut - fallen, slump - spent + slump_share * fallen, fallen


def start_blocks(state: State, settings: EdgeSettings, generator: np.random.Generator) -> None:
    """Put every column at a chance point of the life of its block.

    Parameters
    ----------
    state : State
        ``undercut`` and ``slump`` are set.
    settings : EdgeSettings
        Numbers of the member.
    generator : numpy.random.Generator
        Random stream of blocks.
    """
    nx, ny = state.bed.shape
    phases: Floats = generator.random((ny,))
    for y in range(ny):
        row = cell_of_edge(state.edge[y], settings.dx, nx)
        limit, width = next_block(
            max(state.platform[row, y] - state.bed[row, y], LOWEST_SCARP),
            settings.root_depth,
            settings.crack_distance,
            settings.unit_weight,
            settings.tensile_strength * settings.strength[row, y],
        )
        # First the slump of the last block is broken up, then this one is undercut.
        left = settings.slump_share - phases[y]
        state.slump[y] = max(left, 0.0) * width
        worn = max(-left, 0.0) / (1.0 - settings.slump_share)
        state.undercut[y] = limit - width * (1.0 - worn)


@kernel
def worn_position(edge: float, undercut: float, slump: float, slump_share: float) -> float:
    """Position to which the mean law has worn a column: blocks move the edge, but not this. [m]."""
    return edge + (1.0 - slump_share) * undercut - slump


@kernel
def worn_volume(
    bed: Floats, platform: Floats, y: int, edge: float, moved: float, dx: float
) -> float:
    """Marsh soil between the edge and where it moves to, a metre of one column. [m2].

    Negative where the marsh advances: it first fills the rest of the cell in which the edge stands
    at that cell's platform level, then grows at the level of the flat.
    """
    nx = bed.shape[0]
    low = min(edge, edge + moved)
    high = max(edge, edge + moved)
    # A cell's marsh begins at its middle, as in `cell_of_edge`.
    first = cell_of_edge(low, dx, nx)
    last = cell_of_edge(high, dx, nx)
    volume = 0.0
    for row in range(first, last + 1):
        start = max(low, (row - 0.5) * dx)
        end = min(high, (row + 0.5) * dx)
        if end > start:
            volume += (end - start) * (platform[row, y] - bed[row, y])
    return volume if moved >= 0.0 else -volume


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
