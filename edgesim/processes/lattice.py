"""The marsh boundary as cells that give way one by one: the published rule, run on its own.

The forecast lets every column of the edge break in blocks and keeps no islands. This mode runs the
rule of the literature on a lattice of cells, to show what strong soil under weak waves does to
the plan of an edge, and to compare with surveys of the same kind.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from edgesim.errors import InvalidParameterError
from edgesim.processes.scarp import lattice_rate

Floats = NDArray[np.float64]
Map = NDArray[np.bool_]

POWER = 1000.0
"""Power of the runs; it sets their pace alone, since cells differ by exp(-Hc / H). [W m-1]"""


@dataclass(frozen=True)
class EdgeStatistics:
    """How rough an edge is and how uneven its retreat.

    Attributes
    ----------
    length : float
        Length of the boundary over its width. [1]
    variation : float
        Coefficient of variation of the retreat between surveys. [1]
    extreme : float
        Retreat that one point in a hundred exceeds, over the mean. [1]
    skewness : float
        Skewness of the retreat between surveys. [1]
    profile_spread : float
        Standard deviation along the shore of the cells lost in each column. [cell]
    """

    length: float
    variation: float
    extreme: float
    skewness: float
    profile_spread: float


def surveys_of_a_lattice(
    wave_height: float,
    generator: np.random.Generator,
    *,
    variation: float = 0.5,
    columns: int = 200,
    advance: int = 8,
    surveys: int = 16,
) -> list[Map]:
    """Erode a lattice and map which cells are gone after each advance of the mean edge.

    Parameters
    ----------
    wave_height : float
        Mean wave height over the mean resistance of a cell, > 0. [1]
    generator : numpy.random.Generator
        Random stream.
    variation : float
        Coefficient of variation of the lognormal resistance. [1]
    columns : int
        Cells along the periodic shore.
    advance : int
        Cells of mean advance between surveys.
    surveys : int
        Number of surveys after the first.

    Returns
    -------
    list of ndarray of bool, (columns, rows)
        True where a cell is gone.

    Raises
    ------
    InvalidParameterError
        If a number is not > 0.

    Notes
    -----
    (i) Only cells with a side to the water can go; (ii) one goes at a time, drawn in proportion to
    `scarp.lattice_rate`; (iii) a cell left without neighbours goes too (read in the authors' public
    summary). Drawing in proportion to rates is the same as a race of exponential clocks that
    start at first exposure, so that a heap gives the order.

    References
    ----------
    N. Leonardi and S. Fagherazzi, 2014, "How waves shape salt marshes"; 2015, "Effect of local
    variability in erosional resistance on large-scale morphodynamic response of salt marshes to
    wind waves and extreme events".
    """
    if not (wave_height > 0 and variation > 0 and columns > 0 and advance > 0 and surveys > 0):
        message = f"wave_height, variation: are {wave_height}, {variation}; all must be > 0"
        raise InvalidParameterError(message)
    rows = (surveys + 12) * advance
    sigma = math.sqrt(math.log1p(variation**2))
    resistance = generator.lognormal(-(sigma**2) / 2, sigma, (columns, rows))
    rate = np.vectorize(lattice_rate)(POWER, resistance, wave_height)
    clock = generator.exponential(size=resistance.shape) / rate
    gone, exposed = np.zeros((2, columns, rows), dtype=bool)
    exposed[:, 0] = True
    queue = [(clock[x, 0], x, 0) for x in range(columns)]
    heapq.heapify(queue)
    maps, removed = [gone.copy()], 0
    while len(maps) <= surveys:
        time, x, y = heapq.heappop(queue)
        if gone[x, y]:
            continue
        gone[x, y] = True
        removed += 1
        for i, j in _beside(x, y, columns, rows):
            if not gone[i, j] and all(gone[cell] for cell in _beside(i, j, columns, rows)):
                gone[i, j] = True
                removed += 1
            elif not exposed[i, j]:
                exposed[i, j] = True
                heapq.heappush(queue, (time + clock[i, j], i, j))
        if removed >= len(maps) * advance * columns:
            maps.append(gone.copy())
    if gone[:, -1].any():
        message = (
            f"wave_height: at {wave_height} an inlet ran through all {rows} rows; give a higher one"
        )
        raise InvalidParameterError(message)
    return maps


def _beside(x: int, y: int, columns: int, rows: int) -> list[tuple[int, int]]:
    sides = (((x + 1) % columns, y), ((x - 1) % columns, y), (x, y + 1), (x, y - 1))
    return [(i, j) for i, j in sides if 0 <= j < rows]


def boundary(gone: Map) -> NDArray[np.int64]:
    """Remaining cells with a side to the water, which lies beyond row 0; (n, 2)."""
    water = np.pad(gone, ((0, 0), (1, 0)), constant_values=True)
    near = np.roll(water, 1, axis=0) | np.roll(water, -1, axis=0)
    near[:, 1:] |= water[:, :-1]
    near[:, :-1] |= water[:, 1:]
    return np.argwhere(near[:, 1:] & ~gone)


def edge_statistics(maps: list[Map], warm_up: int = 4) -> EdgeStatistics:
    """Statistics of the edge of the last survey, and of the retreat between surveys.

    Parameters
    ----------
    maps : list of ndarray of bool
        From :func:`surveys_of_a_lattice`.
    warm_up : int
        Surveys at the start that are left out: the edge of the first one is straight.

    Returns
    -------
    EdgeStatistics

    Notes
    -----
    The retreat of a boundary point is its shortest distance to the boundary of the next survey, as
    in the field data of Leonardi and Fagherazzi 2014 (read).
    """
    from scipy.spatial import cKDTree

    edges = [boundary(gone) for gone in maps[warm_up:]]
    across = (maps[-1] != np.roll(maps[-1], 1, axis=0)).sum()
    along = (maps[-1][:, 1:] != maps[-1][:, :-1]).sum()
    moves = np.concatenate([cKDTree(new).query(old)[0] for old, new in pairwise(edges)])
    return EdgeStatistics(
        length=float(across + along) / maps[-1].shape[0],
        variation=float(moves.std() / moves.mean()),
        extreme=float(np.percentile(moves, 99) / moves.mean()),
        skewness=float(((moves - moves.mean()) ** 3).mean() / moves.std() ** 3),
        profile_spread=float(maps[-1].sum(axis=1).std()),
    )
