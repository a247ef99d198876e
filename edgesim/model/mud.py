"""The mud: what is suspended over the flat, what settles and stirs, and how the bed packs.

Over the undefended flat at the start settling and stirring balance everywhere, so that the water
carries what the channel's water carries, and near the edge the mud that the scarp loses beside it.
Where a line calms the waves more settles and less is stirred, and the mud for it must come over,
through and around the line, or from the scarp.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, SECONDS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.kernels import kernel
from edgesim.model.edge import EdgeSettings, cell_of_edge
from edgesim.model.state import ENTRY, State
from edgesim.processes.mud import krone_share, tidal_deposition

Floats = NDArray[np.float64]

BOX = 2.0
"""Side of the boxes on which suspended mud is balanced. [m]"""

WASH_START = 0.36
"""Share of the natural stirring from which loose mud washes away: waves of 0.6 of the open height
carry that share of their energy (judgement). [1]"""

FIRMING = 20.0
"""Time in which loose mud becomes part of the firm flat, over that in which it packs (judgement). [1]"""

SKIN = 0.25
"""Loose mud that comes and goes with the seasons on any flat, in years of settling (judgement). [year]"""

LEAST_CONCENTRATION = 1e-4
"""Concentration that the water is measured by where the channel's holds even less. [kg m-3]"""

TRACE = 1e-9
"""Exchange of every box with the channel beside all others; keeps the system solvable. [m]"""

_DEPOSITED = ENTRY["mud_deposited"]
_RESUSPENDED = ENTRY["mud_resuspended"]


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
    shaken: Floats,
    hindered: Floats,
    window_days: float,
    year_phase: float,
    mean_sea_level: float,
    dry_share: Floats,
    flood_depth: Floats,
    line_rows: NDArray[np.int64],
    openness: Floats,
    fluxes: Floats,
    boxes: Floats,
) -> None:
    """Settle and stir up mud on the flat over one window.

    What settles on a cell in a year at the start is, on the undefended shore,
    stirred up again by waves and currents: the surveyed flat is taken to be in
    balance. The model follows departures from that balance: calmer water
    stirs less and lets more settle, a risen bed catches less, dirtier seasons
    and a scarp that falls fast bring more, and lines hold off some of the mud.

    Parameters
    ----------
    state : State
        ``bed``, ``suspended``, ``loose``, ``loose_thickness`` and ``roughness`` are written, mud
        entries posted.
    settings : EdgeSettings
        Numbers of the member.
    excess, shaken, hindered : float64, (nx, ny)
        What waves stir up and keep from settling, as in the wave result. [s]
    window_days : float
        Length of the window. [d]
    year_phase : float
        Share of the calendar year gone. [1]
    mean_sea_level : float
        Mean sea level of the day above the datum. [m]
    dry_share, flood_depth : float64
        Tables of ``forcing/water_levels``.
    line_rows : int64, (n_lines,)
        Row of each line; -1 where it does not stand.
    openness : float64, (n_lines, ny)
        Share of the free exchange that each line lets through. [1]
    fluxes : float64, (3, nx, ny)
        Work space: settling in clear exchange, stirring, mean depth.
    boxes : float64
        Work space of :func:`balance_suspended`.
    """
    nx, ny = state.bed.shape
    years = window_days / DAYS_PER_YEAR
    seconds = years * SECONDS_PER_YEAR
    area = settings.dx * settings.dy
    concentration = seasonal_concentration(settings, year_phase)
    reference = max(concentration, LEAST_CONCENTRATION)
    memory = 1.0 - math.exp(-years)
    deposit, stirred, depth = fluxes[0], fluxes[1], fluxes[2]
    last_row = 0
    for y in range(ny):
        edge_row = cell_of_edge(state.edge[y], settings.dx, nx)
        last_row = max(last_row, edge_row)
        for row in range(edge_row):
            level = state.bed[row, y] - mean_sea_level
            wet = 1.0 - look_up(dry_share, TABLE_LOW, TABLE_STEP, level)
            flood = look_up(flood_depth, TABLE_LOW, TABLE_STEP, level)
            deposit[row, y] = tidal_deposition(
                reference, flood, settings.trapping, settings.settling_velocity, wet
            ) * krone_share(hindered[row, y], wet * seconds)
            depth[row, y] = flood * wet
            currents = settings.current_stirring[row, y]
            natural = settings.stirring[row, y] + currents
            # Roots and shell hold the flat under them.
            covered = max(state.shoots[row, y], settings.shell[row, y])
            now = 0.0
            if natural > 0.0:
                now = (excess[row, y] / seconds + (1.0 - covered) * currents) / natural
            stirred[row, y] = settings.natural_deposition[row, y] * now
            if covered > 0.0 and natural > 0.0:
                # What has settled among them can go.
                off_cover = (shaken[row, y] / seconds + covered * currents) / natural
                loose = covered * (deposit[row, y] + state.loose_mud[row, y] / years)
                stirred[row, y] += min(settings.natural_deposition[row, y] * off_cover, loose)
            state.roughness[row, y] += (now - state.roughness[row, y]) * memory
    balance_suspended(
        state.suspended,
        state.edge,
        settings.dx,
        settings.dy,
        settings.mixing * SECONDS_PER_YEAR * reference,
        concentration / reference,
        last_row,
        line_rows,
        openness,
        deposit,
        stirred,
        depth,
        state.scarp_mud,
        years,
        boxes,
    )
    for y in range(ny):
        for row in range(cell_of_edge(state.edge[y], settings.dx, nx)):
            settled = years * deposit[row, y] * state.suspended[row, y]
            lifted = years * stirred[row, y]
            loose, thickness, firm_gain, washed = pack_bed(
                state.loose_mud[row, y],
                state.loose_thickness[row, y],
                settled - lifted,
                SKIN * settings.natural_deposition[row, y],
                state.roughness[row, y],
                years,
                settings.flat_density,
                settings.fresh_density,
                settings.consolidation_time,
                settings.wash_time,
            )
            state.bed[row, y] += thickness - state.loose_thickness[row, y]
            state.bed[row, y] += firm_gain / settings.flat_density
            state.loose_mud[row, y] = loose
            state.loose_thickness[row, y] = thickness
            state.ledger[_DEPOSITED] += settled * area
            state.ledger[_RESUSPENDED] += (lifted + washed) * area


# A function called for every cell takes numbers only: handing over the state costs more than the work.


@kernel
def pack_bed(
    loose: float,
    thickness: float,
    net: float,
    skin: float,
    roughness: float,
    years: float,
    flat_density: float,
    fresh_density: float,
    consolidation_time: float,
    wash_time: float,
) -> tuple[float, float, float, float]:
    """Add or take mud at one place, and let loose mud pack, firm and wash away.

    Mud that has come to lie is loose: of low density at first, packing with time, and washed away
    where waves are nearly as before. What the seasons bring and take on any flat is left alone.

    Parameters
    ----------
    loose, thickness : float
        Loose mud [kg m-2] and its thickness [m].
    net : float
        What settled less what was stirred up. [kg m-2]
    skin : float
        Loose mud that does not wash away. [kg m-2]
    roughness : float
        Yearly mean of the stirring over the natural one. [1]
    years : float
        Length of the window. [year]
    flat_density, fresh_density : float
        Dry densities. [kg m-3]
    consolidation_time, wash_time : float
        See :class:`edgesim.model.edge.EdgeSettings`. [year]

    Returns
    -------
    tuple of float
        Loose mud [kg m-2] and thickness [m] at the end, what the firm bed gained and what was
        washed away [kg m-2].
    """
    firm_gain = 0.0
    if net >= 0.0:
        loose += net
        thickness += net / fresh_density
    else:
        taken = min(loose, -net)
        thickness *= 1.0 - taken / loose if loose > 0.0 else 0.0
        loose -= taken
        firm_gain = net + taken
    washed = 0.0
    rough = (roughness - WASH_START) / (1.0 - WASH_START)
    if loose > skin and rough > 0.0:
        washed = (loose - skin) * (1.0 - math.exp(-years * rough / wash_time))
        thickness *= 1.0 - washed / loose
        loose -= washed
    packed = loose / flat_density
    thickness = packed + (thickness - packed) * math.exp(-years / consolidation_time)
    firmed = 1.0 - math.exp(-years / (FIRMING * consolidation_time))
    firm_gain += firmed * loose
    return loose * (1.0 - firmed), thickness * (1.0 - firmed), firm_gain, washed


@kernel
def balance_suspended(
    suspended: Floats,
    edge: Floats,
    dx: float,
    dy: float,
    unit: float,
    outside: float,
    last_row: int,
    line_rows: NDArray[np.int64],
    openness: Floats,
    deposit: Floats,
    stirred: Floats,
    depth: Floats,
    scarp_mud: Floats,
    years: float,
    boxes: Floats,
) -> None:
    """Balance suspended mud over boxes of the flat, relative to the channel's water.

    In every box what mixes in from its neighbours, is stirred up and falls from the scarp equals
    what settles::

        sum of G (c_neighbour - c) + stirred + scarp - deposit c = 0,   G = K C0 depth width / distance

    with c = 1 beyond the seaward side and nothing through the edge or the ends of the shore. A
    line multiplies G of the face that it crosses by its openness. Steady, averaged over the tide:
    the water over a few metres of flat mixes within a tide. All terms but the source stand on the
    diagonal with c, so that no concentration can be negative.

    Parameters
    ----------
    suspended : float64, (nx, ny)
        Filled over the flat. [1]
    edge : float64, (ny,)
        Position of the edge. [m]
    dx, dy : float
        Cell size. [m]
    unit : float
        Mixing times the channel's concentration. [kg m-1 year-1]
    outside : float
        Concentration of the channel's water in that by which all is measured, as a rule 1. [1]
    last_row : int
        First row that is marsh in every column.
    line_rows, openness
        As in :func:`exchange_mud`.
    deposit, stirred, depth : float64, (nx, ny)
        Settling in the channel's water and stirring [kg m-2 year-1], mean depth [m].
    scarp_mud : float64, (ny,)
        Mud that fell from every column of the scarp [kg], and in what time:
    years : float
        [year]
    boxes : float64
        Work space of the linear system.
    """
    nx, ny = suspended.shape
    rows_per = max(1, int(BOX / dx + 0.5))
    n_along = boxes_along(ny * dy)
    n_across = (last_row + rows_per - 1) // rows_per
    band = n_across
    n = n_across * n_along
    for box in range(n):
        for column in range(boxes.shape[1]):
            boxes[box, column] = 0.0
    source, sink, mean_depth, count = band + 1, band + 2, band + 3, band + 4
    area = dx * dy
    for y in range(ny):
        along = int((y + 0.5) * n_along / ny)
        for row in range(cell_of_edge(edge[y], dx, nx)):
            box = along * n_across + row // rows_per
            boxes[box, source] += stirred[row, y] * area
            boxes[box, sink] += deposit[row, y] * area
            boxes[box, mean_depth] += depth[row, y]
            boxes[box, count] += 1.0
        # The scarp's mud goes into the water at its foot.
        foot = max(cell_of_edge(edge[y], dx, nx) - 1, 0) // rows_per
        boxes[along * n_across + foot, source] += scarp_mud[y] / years
    for along in range(n_along):
        for across in range(n_across):
            box = along * n_across + across
            boxes[box, mean_depth] /= max(boxes[box, count], 1.0)
    length_across = rows_per * dx
    length_along = ny * dy / n_along
    across_unit = unit * length_along / length_across
    along_unit = unit * length_across / length_along
    # The matrix is symmetric: column 0 holds the diagonal, column k the coupling to box + k.
    for along in range(n_along):
        for across in range(n_across):
            box = along * n_across + across
            # A trace of exchange keeps the water over ever dry ground that of the channel.
            boxes[box, 0] += boxes[box, sink] + TRACE * unit
            boxes[box, source] += TRACE * unit * outside
            if boxes[box, count] == 0.0:
                boxes[box, 0] += 1.0
                boxes[box, source] += outside
            if across == 0:
                free = across_unit * boxes[box, mean_depth]
                boxes[box, 0] += free
                boxes[box, source] += free * outside
            if across + 1 < n_across and boxes[box + 1, count] > 0.0:
                face = across_unit * 0.5 * (boxes[box, mean_depth] + boxes[box + 1, mean_depth])
                face *= line_share(
                    line_rows, openness, along, n_along, (across + 1) * rows_per, rows_per, ny
                )
                boxes[box, 0] += face
                boxes[box + 1, 0] += face
                boxes[box, 1] -= face
            beside = box + n_across
            if along + 1 < n_along and boxes[beside, count] > 0.0 and boxes[box, count] > 0.0:
                face = along_unit * 0.5 * (boxes[box, mean_depth] + boxes[beside, mean_depth])
                boxes[box, 0] += face
                boxes[beside, 0] += face
                boxes[box, band] -= face
    solve_symmetric_band(boxes, n, band, source)
    for y in range(ny):
        along = int((y + 0.5) * n_along / ny)
        for row in range(cell_of_edge(edge[y], dx, nx)):
            suspended[row, y] = boxes[along * n_across + row // rows_per, source]


@kernel
def boxes_along(length: float) -> int:
    """Odd number of boxes along a shore: a cell's middle then never lies on the side of a box."""
    return 2 * int(0.5 * length / BOX) + 1


def box_room(nx: int, ny: int, dx: float, dy: float) -> Floats:
    """Work space of :func:`balance_suspended` for a grid."""
    n_across = -(-nx // max(1, int(BOX / dx + 0.5)))
    n_along = boxes_along(ny * dy)
    return np.zeros((n_across * n_along, n_across + 5))


@kernel
def line_share(
    line_rows: NDArray[np.int64],
    openness: Floats,
    along: int,
    n_along: int,
    face_row: int,
    rows_per: int,
    ny: int,
) -> float:
    """Share of the free exchange across a face of boxes that the lines near it let through. [1]."""
    share = 1.0
    for line in range(line_rows.size):
        # A line belongs to the face nearest to it.
        away = line_rows[line] - face_row
        if line_rows[line] < 0 or away < -(rows_per // 2) or away >= rows_per - rows_per // 2:
            continue
        total = 0.0
        count = 0.0
        for y in range(ny):
            if int((y + 0.5) * n_along / ny) == along:
                total += openness[line, y]
                count += 1.0
        share *= total / max(count, 1.0)
    return share


@kernel
def solve_symmetric_band(matrix: Floats, n: int, band: int, right: int) -> None:
    """Solve a symmetric, diagonally dominant band system in place by elimination.

    Parameters
    ----------
    matrix : float64
        Column k holds the coupling of row i to row i + k, k up to `band`; column `right` holds the
        right side, then the solution.
    n, band, right : int
        Number of rows, half-width, and column of the right side.
    """
    for i in range(n):
        pivot = matrix[i, 0]
        for k in range(1, min(band, n - 1 - i) + 1):
            factor = matrix[i, k] / pivot
            if factor != 0.0:
                for m in range(k, min(band, n - 1 - i) + 1):
                    matrix[i + k, m - k] -= factor * matrix[i, m]
                matrix[i + k, right] -= factor * matrix[i, right]
    for i in range(n - 1, -1, -1):
        total = matrix[i, right]
        for k in range(1, min(band, n - 1 - i) + 1):
            total -= matrix[i, k] * matrix[i + k, right]
        matrix[i, right] = total / matrix[i, 0]
