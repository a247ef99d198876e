"""Waves from the seaward side of the grid to the edge, for every level and class.

A class wave brings a known energy flux. On its way the flux is shared out
behind the lines (``shelter``), capped by breaking and worn down by friction on
the bed; what is left in the last wet cell works on the scarp. On smooth mud the
wave boundary layer is laminar, so that friction takes a fixed share a metre and
the stress goes with the root of the flux: all functions of depth become tables
of one class, and the march holds no transcendental function.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.waves import WaveClasses
from edgesim.kernels import kernel
from edgesim.model.line_field import LineField
from edgesim.processes.bed_stress import friction_decay_rate, laminar_stress_coefficient
from edgesim.processes.linear_waves import (
    breaking_height,
    energy_flux,
    near_bed_velocity,
    wavenumber,
)
from edgesim.processes.scarp import water_level_weight

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int32]

DEPTH_STEP = 0.005
"""Step of the depth tables, fine enough to take the nearest rung. [m]"""

SHALLOWEST = 0.02
"""Depth below which no wave runs. [m]"""


class WaveTables(NamedTuple):
    """Functions of depth for every class, ``(n_classes, n_depths)``, and the classes themselves.

    Attributes
    ----------
    breaking_flux : float32
        Largest energy flux that a depth carries. [W m-1]
    passing : float32
        Share of the flux left after one cell of friction. [1]
    stress : float32
        Bed stress over the root of the flux. [Pa (W m-1)-1/2]
    flux, period, height : float64, (n_classes,)
        Incoming flux [W m-1], period [s] and deep-water height [m].
    wavenumber : float64, (n_classes, n_depths)
        Wavenumber. [m-1]
    """

    breaking_flux: Singles
    passing: Singles
    stress: Singles
    flux: Floats
    period: Floats
    height: Floats
    wavenumber: Floats


def wave_tables(classes: WaveClasses, cell_size: float, deepest: float) -> WaveTables:
    """Tables of every class down to a depth.

    Parameters
    ----------
    classes : WaveClasses
        The classes.
    cell_size : float
        Length of a cell in the direction of travel. [m]
    deepest : float
        Largest depth on the grid. [m]

    Returns
    -------
    WaveTables
    """
    depth = np.maximum(np.arange(0.0, deepest + 2 * DEPTH_STEP, DEPTH_STEP), 0.5 * DEPTH_STEP)
    period = classes.period[:, None]
    unit_flux = energy_flux(1.0, period, depth)
    unit_velocity = near_bed_velocity(1.0, period, depth)
    # Nothing passes a cell that is dry or nearly so.
    breaking_flux = unit_flux * breaking_height(period, depth) ** 2 * (depth > SHALLOWEST)
    return WaveTables(
        breaking_flux=breaking_flux.astype(np.float32),
        passing=np.exp(-friction_decay_rate(period, depth) * cell_size).astype(np.float32),
        stress=(laminar_stress_coefficient(period) * unit_velocity / np.sqrt(unit_flux)).astype(
            np.float32
        ),
        flux=classes.flux,
        period=classes.period,
        height=classes.height,
        wavenumber=wavenumber(period, depth),
    )


class WaveResult(NamedTuple):
    """What the march leaves behind.

    Attributes
    ----------
    gain : float64, (n_levels, n_classes, ny)
        Energy that one class wave spends on a metre of edge, weighted by water level. [J m-1]
    excess : float64, (nx, ny)
        Seconds of waves times their excess over the critical stress. [s]
    edge_stress : float64, (ny,)
        Largest bed stress in the last cell before the edge. [Pa]
    reef_energy : float64, (2,)
        Energy that reached the outer side of the reef, and that in the open. [J m-1]
    share : float32, (n_classes, ny)
        Work space: share of each class not yet lost by breaking and friction. [1]
    rows : float32, (7, ny)
        Work space of a row.
    rungs : int32, (2, ny)
        Work space of a row.
    """

    gain: Floats
    excess: Floats
    edge_stress: Floats
    reef_energy: Floats
    share: Singles
    rows: Singles
    rungs: Integers


# The loops below are split so that each becomes vector code: look-ups in one, arithmetic in
# another, unsigned indices (no wrap-around), conditional expressions instead of min and max.


@kernel
def multiply_by_line(
    factor: Singles,
    transmission: Singles,
    intensity: Singles,
    rung: Integers,
    share: Singles,
    step: Integers,
    between: Singles,
) -> None:
    """Multiply a row of energy factors by what one line lets through to that row.

    Parameters
    ----------
    factor : float32, (ny,)
        Updated. [1]
    transmission : float32, (CONDITIONS,)
        Transmission of the line by the height of its parts. [1]
    intensity : float32, (n_transmissions, ny)
        Relative energy in this row by transmission. [1]
    rung, share : int32 and float32, (ny,)
        Height of the parts that each place looks at.
    step, between : int32 and float32, (ny,)
        Work space.
    """
    last = np.int32(intensity.shape[0] - 2)
    scale = np.float32(intensity.shape[0] - 1)
    for y in range(factor.size):
        c = np.uint64(np.uint32(rung[y]))
        low = transmission[c]
        between[y] = scale * (low + share[y] * (transmission[c + np.uint64(1)] - low))
    for y in range(factor.size):
        t = np.int32(between[y])
        step[y] = t if t < last else last
        between[y] -= np.float32(step[y])
    for y in range(factor.size):
        rise = np.uint64(np.uint32(step[y]))
        low = intensity[rise, y]
        factor[y] *= low + between[y] * (intensity[rise + np.uint64(1), y] - low)


@kernel
def depth_rungs(bed_row: Floats, level: float, last: int, rung: Integers) -> None:
    """Rung of the depth tables at every place of a row, 0 on dry ground."""
    inverse = np.float32(1.0 / DEPTH_STEP)
    top = np.float32(last)
    zero = np.float32(0.0)
    for y in range(bed_row.size):
        place = np.float32(level - bed_row[y]) * inverse + np.float32(0.5)
        place = place if place > zero else zero
        rung[y] = np.int32(place if place < top else top)


@kernel
def look_up_row(rung: Integers, table: Singles, values: Singles) -> None:
    """Value of a depth table at every place of a row."""
    for y in range(rung.size):
        values[y] = table[np.uint64(np.uint32(rung[y]))]


@kernel
def march_row(
    incoming: np.float32,
    inverse_stress: np.float32,
    factor: Singles,
    breaking: Singles,
    passing: Singles,
    stress: Singles,
    share: Singles,
    flux: Singles,
    excess: Singles,
) -> None:
    """Carry the flux of one class across one row of cells.

    Parameters
    ----------
    incoming : float32
        Flux on the seaward side. [W m-1]
    inverse_stress : float32
        One over the stress from which the bed moves. [Pa-1]
    factor : float32, (ny,)
        What the lines let through. [1]
    breaking, passing, stress : float32, (ny,)
        Functions of depth in this row.
    share : float32, (ny,)
        Share not yet lost by breaking and friction; updated. [1]
    flux : float32, (ny,)
        Filled with the flux in this row. [W m-1]
    excess : float32, (ny,)
        Filled with the excess over the critical stress. [1]
    """
    one, zero = np.float32(1.0), np.float32(0.0)
    tiny = np.float32(1e-30)  # keeps the ratio finite where nothing arrives
    for y in range(factor.size):
        here = incoming * factor[y] * share[y]
        capped = here if here < breaking[y] else breaking[y]
        share[y] *= passing[y] * (capped / (here + tiny))
        flux[y] = capped
        over = stress[y] * np.sqrt(capped) * inverse_stress - one
        excess[y] = over if over > zero else zero


@kernel
def solve_waves(
    bed: Floats,
    platform: Floats,
    edge: Floats,
    dx: float,
    levels: Floats,
    counts: Floats,
    tables: WaveTables,
    wall: LineField,
    reef: LineField,
    with_wall: bool,
    with_reef: bool,
    critical_stress: float,
    level_decay: float,
    result: WaveResult,
) -> None:
    """March every level and class that occurs from the seaward side to the edge.

    Parameters
    ----------
    bed, platform : float64, (nx, ny)
        Level of the flat and of the marsh. [m]
    edge : float64, (ny,)
        Position of the edge. [m]
    dx : float
        Cell size across the shore. [m]
    levels : float64, (n_levels,)
        Water level of each bin above the datum. [m]
    counts : float64, (n_levels, n_classes)
        Class waves that the result stands for; classes without any are skipped. [1]
    tables : WaveTables
        Functions of depth.
    wall, reef : LineField
        The lines.
    with_wall, with_reef : bool
        Whether each line stands.
    critical_stress : float
        Stress from which the bed moves. [Pa]
    level_decay : float
        Level above the platform, in wave heights, over which the thrust on the scarp falls to 1/e. [1]
    result : WaveResult
        Filled.
    """
    nx = bed.shape[0]
    result.gain[:] = 0.0
    result.excess[:] = 0.0
    result.edge_stress[:] = 0.0
    result.reef_energy[:] = 0.0
    first_edge, last_edge = nx, 0
    for y in range(edge.size):
        row = cell_before_edge(edge[y], dx, nx)
        first_edge = min(first_edge, row)
        last_edge = max(last_edge, row)
    last_rung = tables.stress.shape[1] - 1
    inverse_stress = np.float32(1.0 / critical_stress)
    rung = result.rungs[0]
    for k in range(levels.size):
        result.share[:] = np.float32(1.0)
        for row in range(last_edge + 1):
            if levels[k] - bed[row].min() <= SHALLOWEST:
                break
            depth_rungs(bed[row], levels[k], last_rung, rung)
            for w in range(tables.period.size):
                if counts[k, w] <= 0.0:
                    continue
                share_out(k, w, row, counts, tables, wall, reef, with_wall, with_reef, result)
                look_up_row(rung, tables.breaking_flux[w], result.rows[1])
                look_up_row(rung, tables.passing[w], result.rows[2])
                look_up_row(rung, tables.stress[w], result.rows[3])
                march_row(
                    np.float32(tables.flux[w]),
                    inverse_stress,
                    result.rows[0],
                    result.rows[1],
                    result.rows[2],
                    result.rows[3],
                    result.share[w],
                    result.rows[4],
                    result.rows[5],
                )
                seconds = counts[k, w] * tables.period[w]
                for y in range(edge.size):
                    result.excess[row, y] += seconds * result.rows[5, y]
                if row >= first_edge:
                    spend_at_edge(
                        k, w, row, bed, platform, edge, dx, levels[k], level_decay, tables, result
                    )


@kernel
def share_out(
    k: int,
    w: int,
    row: int,
    counts: Floats,
    tables: WaveTables,
    wall: LineField,
    reef: LineField,
    with_wall: bool,
    with_reef: bool,
    result: WaveResult,
) -> None:
    """Fill the first work row with what the lines let through, and note what reaches the reef."""
    factor = result.rows[0]
    factor[:] = np.float32(1.0)
    if with_wall and row >= wall.first_row:
        i = row - wall.first_row
        multiply_by_line(
            factor,
            wall.transmission[k, w],
            wall.intensity[k, w, :, i],
            wall.rung[i],
            wall.share[i],
            result.rungs[1],
            result.rows[6],
        )
    if row == reef.first_row - 1:
        energy = counts[k, w] * tables.period[w] * tables.flux[w]
        for y in range(factor.size):
            if reef.part[y] >= 0:
                result.reef_energy[0] += energy * factor[y]
                result.reef_energy[1] += energy
    if with_reef and row >= reef.first_row:
        i = row - reef.first_row
        multiply_by_line(
            factor,
            reef.transmission[k, w],
            reef.intensity[k, w, :, i],
            reef.rung[i],
            reef.share[i],
            result.rungs[1],
            result.rows[6],
        )


@kernel
def cell_before_edge(edge: float, dx: float, nx: int) -> int:
    """Last row of flat before the edge."""
    return min(int(edge / dx + 0.5), nx) - 1


@kernel
def spend_at_edge(
    k: int,
    w: int,
    row: int,
    bed: Floats,
    platform: Floats,
    edge: Floats,
    dx: float,
    level: float,
    level_decay: float,
    tables: WaveTables,
    result: WaveResult,
) -> None:
    """Spend the flux of this row on the edge wherever the row is the last before it."""
    nx = bed.shape[0]
    inland = min(row + 1, nx - 1)
    for y in range(edge.size):
        if cell_before_edge(edge[y], dx, nx) != row:
            continue
        flux = result.rows[4, y]
        weight = water_level_weight(
            level, bed[row, y], platform[inland, y], level_decay * tables.height[w]
        )
        result.gain[k, w, y] = flux * tables.period[w] * weight
        result.edge_stress[y] = max(result.edge_stress[y], result.rows[3, y] * math.sqrt(flux))
