"""A line of defence as waves meet it: what its parts let through, and which parts a place sees."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.kernels import kernel
from edgesim.processes.transmission import (
    barrier_transmission,
    flux_share_above,
    overtopped_transmission,
)

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int32]

CONDITIONS = 17
"""Rungs of the ladder of part heights (0 to twice the height at build)."""

HIGHEST_CONDITION = 2.0
"""Top of that ladder: a reef that has doubled its height. [1]"""


class LineField(NamedTuple):
    """A line as the march sees it.

    Attributes
    ----------
    first_row : int
        First row behind the line; beyond the grid where there is no line.
    intensity : float32, (n_levels, n_classes, n_transmissions, n_rows, ny)
        Tables of :class:`edgesim.model.shelter.Shelter`.
    transmission : float32, (n_levels, n_classes, CONDITIONS)
        Transmission coefficient by height of the part over its height at build.
    rung, share : int32 and float32, (n_rows, ny)
        Rung of that height, averaged over the parts that a place looks at, and share of the next rung.
    part : int64, (ny,)
        Part of the line at each alongshore cell, -1 in the open.
    """

    first_row: int
    intensity: Singles
    transmission: Singles
    rung: Integers
    share: Singles
    part: NDArray[np.int64]


@kernel
def part_transmission(
    height: float,
    period: float,
    wavenumber_there: float,
    depth: float,
    crest_above_bed: float,
    resistance_below: float,
    linear_below: float,
    resistance_above: float,
) -> float:
    """Transmission of a part of a line: dense below its crest, open or posts only above.

    Parameters
    ----------
    height, period, wavenumber_there, depth : float
        The wave and the water at the line. [m], [s], [m-1], [m]
    crest_above_bed : float
        Height of the dense part. [m]
    resistance_below, resistance_above : float
        Quadratic resistance times thickness of the dense part and of what stands above it. [1]
    linear_below : float
        Linear resistance times thickness of the dense part. [m s-1]

    Returns
    -------
    float
        Transmission coefficient of height. [1]

    Notes
    -----
    The energy flux is split at the crest (``processes/transmission``): the part
    below meets the dense wall, the part above what stands above.
    """
    frequency = 2.0 * math.pi / period
    dense = barrier_transmission(
        height, frequency, wavenumber_there, depth, linear_below, resistance_below
    )
    share_above = flux_share_above(wavenumber_there, depth, depth - crest_above_bed)
    if share_above <= 0.0:
        return dense
    if resistance_above <= 0.0:
        return overtopped_transmission(dense, share_above)
    light = barrier_transmission(height, frequency, wavenumber_there, depth, 0.0, resistance_above)
    return math.sqrt(share_above * light**2 + (1.0 - share_above) * dense**2)


@kernel
def fill_transmissions(
    height: Floats,
    period: Floats,
    wavenumber: Floats,
    depth_step: float,
    levels: Floats,
    base: float,
    rise: float,
    built_height: float,
    resistance_below: float,
    linear_below: float,
    resistance_above: float,
    transmission: Singles,
) -> None:
    """Transmission of a line for every level, class and height of its parts.

    Parameters
    ----------
    height : float64, (n_levels, n_classes)
        Height of the waves that meet the line. [m]
    period : float64, (n_classes,)
        Their periods. [s]
    wavenumber : float64, (n_classes, n_depths)
        Their wavenumbers by depth. [m-1]
    depth_step : float
        Step of the depths. [m]
    levels : float64, (n_levels,)
        Water level of each bin. [m]
    base, rise, built_height : float
        Level of the bed under the line at the start, its rise since, and height of the line at
        build above the first. [m]
    resistance_below, linear_below, resistance_above : float
        See :func:`part_transmission`.
    transmission : float32, (n_levels, n_classes, CONDITIONS)
        Filled.
    """
    n_depths = wavenumber.shape[1]
    for k in range(levels.size):
        depth = levels[k] - base - rise
        for w in range(period.size):
            for c in range(CONDITIONS):
                if depth <= depth_step:
                    transmission[k, w, c] = 1.0
                    continue
                crest = built_height * HIGHEST_CONDITION * c / (CONDITIONS - 1) - rise
                rung = min(int(depth / depth_step + 0.5), n_depths - 1)
                transmission[k, w, c] = part_transmission(
                    height[k, w],
                    period[w],
                    wavenumber[w, rung],
                    depth,
                    max(crest, 0.0),
                    resistance_below if crest > 0.0 else resistance_above,
                    linear_below if crest > 0.0 else 0.0,
                    resistance_above,
                )


@kernel
def spread_condition(line: LineField, heights: Floats, spread: Floats, sums: Floats) -> None:
    """Average, for every place behind a line, the parts that it looks at.

    A place sees the parts within an alongshore reach that grows with its
    distance; places that see none take the mean of all.

    Parameters
    ----------
    line : LineField
        Its ``rung`` and ``share`` are filled.
    heights : float64, (n_parts,)
        Height of each part over its height at build. [1]
    spread : float64, (n_rows,)
        Alongshore reach of each row, in cells. [1]
    sums : float64, (2, ny + 1)
        Work space.
    """
    ny = line.part.size
    mean = 0.0
    for part in range(heights.size):
        mean += heights[part] / heights.size
    for y in range(ny):
        on_line = line.part[y] >= 0
        sums[0, y + 1] = sums[0, y] + (heights[line.part[y]] if on_line else 0.0)
        sums[1, y + 1] = sums[1, y] + (1.0 if on_line else 0.0)
    for row in range(spread.size):
        reach = int(spread[row])
        for y in range(ny):
            low = max(0, y - reach)
            high = min(ny, y + reach + 1)
            seen = sums[1, high] - sums[1, low]
            height = (sums[0, high] - sums[0, low]) / seen if seen > 0.0 else mean
            place = min(height / HIGHEST_CONDITION, 1.0) * (CONDITIONS - 1)
            rung = min(int(place), CONDITIONS - 2)
            line.rung[row, y] = rung
            line.share[row, y] = place - rung


def middle_transmission(transmission: Singles, heights: Floats, level_centres: Floats) -> float:
    """Mean transmission of the parts of a line at mean sea level for the lowest class of waves. [1].

    Parameters
    ----------
    transmission : float32, (n_levels, n_classes, CONDITIONS)
        Of :class:`LineField`.
    heights : float64, (n_parts,)
        Height of each part over its height at build. [1]
    level_centres : float64, (n_levels,)
        Levels of the bins about mean sea level. [m]

    Returns
    -------
    float
        Not-a-number where there are no waves at all.
    """
    if not transmission.shape[1]:
        return float("nan")
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    by_level = [float(np.interp(heights, ladder, row).mean()) for row in transmission[:, 0]]
    return float(np.interp(0.0, level_centres, by_level))
