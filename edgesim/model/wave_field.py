"""Waves from the seaward side of the grid to the edge, for every level and class.

A class wave brings a known energy flux. On its way the flux is shared out
behind the lines (``shelter``), capped by breaking and worn down by friction on
the bed; what is left in the last wet cell works on the scarp. On smooth mud the
wave boundary layer is laminar, so that friction takes a fixed share a metre and
the stress goes with the root of the flux: all functions of depth become tables
of one class, and the march holds no transcendental function.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.kernels import kernel
from edgesim.model.edge import cell_of_edge
from edgesim.model.ground import (
    SHALLOWEST,
    damp_over_grass,
    roughen,
    sum_stirring,
)
from edgesim.model.line_field import LineField
from edgesim.model.wave_tables import DEPTH_STEP, WaveTables
from edgesim.processes.scarp import mean_level_weight

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int32]


class WaveResult(NamedTuple):
    """What the march leaves behind.

    Attributes
    ----------
    gain : float64, (n_levels, n_classes, ny)
        Energy that one class wave spends on a metre of edge, weighted by water level. [J m-1]
    excess : float64, (nx, ny)
        Seconds of waves times their excess over the critical stress, on the bare part of a cell. [s]
    shaken : float64, (nx, ny)
        The same on the part that shell or stems cover. [s]
    hindered : float64, (nx, ny)
        Seconds of waves times the share of settling mud that they keep from the bed. [s]
    edge_stress : float64, (ny,)
        Largest bed stress in the last cell before the edge. [Pa]
    reef_energy : float64, (2,)
        Energy that reached the outer side of the reef, and that in the open. [J m-1]
    share, factor, flux : float32, (n_classes, ny)
        Work space of a row: share of each class left, what the lines let through [1], flux [W m-1].
    breaking, passing, stress, between : float32, (n_classes, ny)
        Work space of a row: functions of depth, the last then the bed stress [Pa]; places in tables.
    seconds : float64, (2, n_classes)
        Work space: duration of each class at a level, and that weighted by its season. [s]
    lifted, held, rung, step : float32 and int32, (ny,)
        Work space of a row.
    planted : uint8, (nx,)
        Work space: 1 where a row holds any grass, 2 where shell only.
    """

    gain: Floats
    excess: Floats
    shaken: Floats
    hindered: Floats
    edge_stress: Floats
    reef_energy: Floats
    share: Singles
    factor: Singles
    flux: Singles
    breaking: Singles
    passing: Singles
    stress: Singles
    between: Singles
    seconds: Floats
    lifted: Singles
    held: Singles
    rung: Integers
    step: Integers
    planted: NDArray[np.uint8]


def wave_result(n_levels: int, n_classes: int, nx: int, ny: int) -> WaveResult:
    """Room for the result of a march, and its work space."""

    def row() -> Singles:
        return np.zeros((n_classes, ny), dtype=np.float32)

    return WaveResult(
        gain=np.zeros((n_levels, n_classes, ny)),
        excess=np.zeros((nx, ny)),
        shaken=np.zeros((nx, ny)),
        hindered=np.zeros((nx, ny)),
        edge_stress=np.zeros(ny),
        reef_energy=np.zeros(2),
        share=row(),
        factor=row(),
        flux=row(),
        breaking=row(),
        passing=row(),
        stress=row(),
        between=row(),
        seconds=np.zeros((2, n_classes)),
        lifted=np.zeros(ny, dtype=np.float32),
        held=np.zeros(ny, dtype=np.float32),
        rung=np.zeros(ny, dtype=np.int32),
        step=np.zeros(ny, dtype=np.int32),
        planted=np.zeros(nx, dtype=np.uint8),
    )


# The loops below are split so that each becomes vector code: look-ups in one, arithmetic in
# another, unsigned indices (no wrap-around), conditional expressions instead of min and max. They
# run over all classes of a row at once: a slice of an array costs as much as a row of cells.


@kernel
def multiply_by_line(
    factor: Singles, line: LineField, k: int, row: int, step: Integers, between: Singles
) -> None:
    """Multiply a row of energy factors by what one line lets through to that row.

    Parameters
    ----------
    factor : float32, (n_classes, ny)
        Updated. [1]
    line : LineField
        The line.
    k, row : int
        Level bin and row.
    step, between : int32 and float32, (ny,) and (n_classes, ny)
        Work space.
    """
    i = row - line.first_row
    zero = np.float32(0.0)
    next_rung = np.uint64(1)
    last = np.int32(line.intensity.shape[2] - 2)
    scale = np.float32(line.intensity.shape[2] - 1)
    margin = (line.sums.shape[2] - line.part.size - 1) // 2
    low_end = np.uint64(margin - line.reach[i])
    high_end = np.uint64(margin + line.reach[i] + 1)
    for w in range(factor.shape[0]):
        mean = line.mean[k, w]
        for y in range(factor.shape[1]):
            c = np.uint64(y)
            total = np.float32(line.sums[k, w, high_end + c] - line.sums[k, w, low_end + c])
            share = line.seen[i, y]
            energy = total * share if share > zero else mean
            between[w, y] = scale * np.sqrt(energy)
        for y in range(factor.shape[1]):
            t = np.int32(between[w, y])
            step[y] = t if t < last else last
            between[w, y] -= np.float32(step[y])
        for y in range(factor.shape[1]):
            lower = np.uint64(np.uint32(step[y]))
            low = line.intensity[k, w, lower, i, y]
            rise = line.intensity[k, w, lower + next_rung, i, y] - low
            factor[w, y] *= low + between[w, y] * rise


@kernel
def depth_rungs(bed: Floats, row: int, level: float, last: int, rung: Integers) -> None:
    """Rung of the depth tables at every place of a row, 0 on dry ground."""
    inverse = np.float32(1.0 / DEPTH_STEP)
    top = np.float32(last)
    zero = np.float32(0.0)
    for y in range(rung.size):
        place = np.float32(level - bed[row, y]) * inverse + np.float32(0.5)
        place = place if place > zero else zero
        rung[y] = np.int32(place if place < top else top)


@kernel
def look_up_row(rung: Integers, table: Singles, values: Singles) -> None:
    """Value of the depth tables of all classes at every place of a row."""
    for w in range(values.shape[0]):
        for y in range(rung.size):
            values[w, y] = table[w, np.uint64(np.uint32(rung[y]))]


@kernel
def march_row(incoming: Floats, result: WaveResult) -> None:
    """Carry the flux of all classes across one row of cells.

    Parameters
    ----------
    incoming : float64, (n_classes,)
        Flux on the seaward side. [W m-1]
    result : WaveResult
        Its rows: ``factor``, ``breaking`` and ``passing`` are read; ``share`` is updated, ``stress``
        becomes that of the waves, ``flux`` is filled.
    """
    tiny = np.float32(1e-30)  # keeps the ratio finite where nothing arrives
    factor, share, flux = result.factor, result.share, result.flux
    breaking, passing, stress = result.breaking, result.passing, result.stress
    for w in range(factor.shape[0]):
        coming = np.float32(incoming[w])
        for y in range(factor.shape[1]):
            here = coming * factor[w, y] * share[w, y]
            capped = here if here < breaking[w, y] else breaking[w, y]
            share[w, y] *= passing[w, y] * (capped / (here + tiny))
            flux[w, y] = capped
            stress[w, y] *= np.sqrt(capped)


@kernel
def solve_waves(
    bed: Floats,
    platform: Floats,
    edge: Floats,
    cover: Floats,
    dx: float,
    levels: Floats,
    level_width: float,
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
    """March every level and class from the seaward side to the edge.

    Parameters
    ----------
    bed, platform : float64, (nx, ny)
        Level of the flat and of the marsh. [m]
    edge : float64, (ny,)
        Position of the edge. [m]
    cover : float64, (nx, ny)
        Cover of the flat with grass. [1]
    dx : float
        Cell size across the shore. [m]
    levels : float64, (n_levels,)
        Water level of each bin above the datum. [m]
    level_width : float
        Width of the band of levels that each stands for at the scarp; 0 where successive windows
        shift the levels through their bins. [m]
    counts : float64, (n_levels, n_classes)
        Class waves that the result stands for; a class without any has no gain and no stress. [1]
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
    result.shaken[:] = 0.0
    result.hindered[:] = 0.0
    result.edge_stress[:] = 0.0
    result.reef_energy[:] = 0.0
    first_edge, last_edge = nx, 0
    for y in range(edge.size):
        row = cell_of_edge(edge[y], dx, nx) - 1
        first_edge = min(first_edge, row)
        last_edge = max(last_edge, row)
    for row in range(nx):
        result.planted[row] = 0
        for y in range(edge.size):
            if cover[row, y] > 0.0:
                result.planted[row] = 1
            elif tables.shell[row, y] > 0.0 and result.planted[row] == 0:
                result.planted[row] = 2
    last_rung = tables.stress.shape[1] - 1
    for k in range(levels.size):
        result.share[:] = np.float32(1.0)
        result.seconds[0] = counts[k] * tables.period
        result.seconds[1] = result.seconds[0] * tables.season[k]
        for row in range(last_edge + 1):
            if levels[k] - bed[row].min() <= SHALLOWEST:
                break
            result.factor[:] = np.float32(1.0)
            # One place of call for both lines: a kernel is compiled anew wherever it is called.
            for outer in (True, False):
                if not outer and row == reef.first_row - 1:
                    note_reef_energy(k, counts, tables, reef, result)
                line = wall if outer else reef
                stands = with_wall if outer else with_reef
                if stands and row >= line.first_row:
                    multiply_by_line(result.factor, line, k, row, result.step, result.between)
            depth_rungs(bed, row, levels[k], last_rung, result.rung)
            look_up_row(result.rung, tables.breaking_flux, result.breaking)
            look_up_row(result.rung, tables.passing, result.passing)
            look_up_row(result.rung, tables.stress, result.stress)
            march_row(tables.flux, result)
            if result.planted[row] == 1:
                damp_over_grass(cover, row, tables.stems, result.flux, result.rung, result.share)
            if row >= first_edge:
                spend_at_edge(
                    k,
                    row,
                    bed,
                    platform,
                    edge,
                    dx,
                    levels[k],
                    level_width,
                    level_decay,
                    counts,
                    tables,
                    result,
                )
            stir_row(row, cover, tables, critical_stress, result)


@kernel
def stir_row(
    row: int, cover: Floats, tables: WaveTables, critical_stress: float, result: WaveResult
) -> None:
    """Add what the waves of a row stir up and keep from settling, on mud and on shell or stems."""
    lifted, held, one = result.lifted, result.held, np.float32(1.0)
    for is_rough in (False, True):
        if is_rough:
            if result.planted[row] == 0:
                break
            roughen(tables.rough.of_root, tables.rough.of_square, result.stress)

        sum_stirring(
            result.stress, result.seconds, critical_stress, tables.settling_stress, lifted, held
        )
        if result.planted[row]:
            for y in range(lifted.size):
                covered = np.float32(max(cover[row, y], tables.shell[row, y]))
                part = covered if is_rough else one - covered
                lifted[y] *= part
                held[y] *= part
        sums = result.shaken if is_rough else result.excess
        for y in range(lifted.size):
            sums[row, y] += lifted[y]
            result.hindered[row, y] += held[y]


@kernel
def note_reef_energy(
    k: int, counts: Floats, tables: WaveTables, reef: LineField, result: WaveResult
) -> None:
    """Note the energy that reaches the outer side of the reef, and what reaches it in the open."""
    for w in range(tables.period.size):
        energy = counts[k, w] * tables.period[w] * tables.flux[w]
        for y in range(reef.part.size):
            if reef.part[y] >= 0:
                result.reef_energy[0] += energy * result.factor[w, y]
                result.reef_energy[1] += energy


@kernel
def spend_at_edge(
    k: int,
    row: int,
    bed: Floats,
    platform: Floats,
    edge: Floats,
    dx: float,
    level: float,
    level_width: float,
    level_decay: float,
    counts: Floats,
    tables: WaveTables,
    result: WaveResult,
) -> None:
    """Spend the flux of this row on the edge wherever the row is the last before it."""
    nx = bed.shape[0]
    inland = min(row + 1, nx - 1)
    for y in range(edge.size):
        if cell_of_edge(edge[y], dx, nx) != row + 1:
            continue
        for w in range(tables.period.size):
            if counts[k, w] <= 0.0:
                continue
            flux = result.flux[w, y]
            weight = mean_level_weight(
                level,
                level_width,
                bed[row, y],
                platform[inland, y],
                level_decay * tables.height[w],
            )
            result.gain[k, w, y] = flux * tables.period[w] * weight
            result.edge_stress[y] = max(result.edge_stress[y], result.stress[w, y])
