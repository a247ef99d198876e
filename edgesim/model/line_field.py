"""A line of defence as waves meet it: what its parts let through, and which parts a place sees."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.kernels import kernel
from edgesim.processes.low_crested import low_crested_transmission
from edgesim.processes.porous_block import block_coefficients, crest_transmission
from edgesim.processes.transmission import LORENTZ, barrier_transmission, flux_share_above

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

CONDITIONS = 17
"""Rungs of the ladder of part heights (0 to twice the height at build)."""

HIGHEST_CONDITION = 2.0
"""Top of that ladder: a reef that has doubled its height. [1]"""


NEAR_SIGHT, SIGHT_PER_DISTANCE = 1.0, 0.4
"""How far to either side a place sees the parts of a line: at the line, and more for each metre
behind it (computed: least error against exact solutions in the tests). [m], [1]"""


def sight(distances: Floats) -> Floats:
    """Distance to either side within which places see the parts of a line, by distance behind it. [m].

    Waves come through within some 22 degrees of the normal; and no wave follows changes along the
    line that are much shorter than itself, so that even a place close behind sees several bays.
    """
    return np.asarray(NEAR_SIGHT + SIGHT_PER_DISTANCE * distances)


class LineMaterial(NamedTuple):
    """What a line is made of.

    Attributes
    ----------
    is_block : bool
        Whether it is thick against the waves (``processes/porous_block``), as a reef is, or thin
        (``processes/transmission``), as a wall of branches is.
    thickness, porosity : float
        Of the dense part. [m], [1]
    linear, quadratic, swing : float
        Resistance of the dense part: linear [s-1], quadratic [m-1], and the linear resistance
        times the period that comes from the flow's turning to and fro [1].
    posts : float
        Quadratic resistance times thickness of the rows of posts, which stand at all heights. [1]
    roughness : float
        Roughness length of the crest of a block. [m]
    is_low_crested, is_tight : bool
        Whether the formulas of low-crested structures stand in for the block
        (``processes/low_crested``), and which of them.
    """

    is_block: bool
    thickness: float
    porosity: float
    linear: float
    quadratic: float
    swing: float
    posts: float
    roughness: float
    is_low_crested: bool = False
    is_tight: bool = False


NOTHING = LineMaterial(False, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
"""Material of a line that does not stand."""


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
    part : int64, (ny,)
        Part of the line at each alongshore cell, -1 in the open.
    reach : int64, (n_rows,)
        Cells to either side within which a place of each row sees the parts. [1]
    seen : float32, (n_rows, ny)
        One over the number of cells of the line that a place sees, 0 where it sees none. [1]
    sums : float64, (n_levels, n_classes, ny + 2 margin + 1)
        Running sums along the line of the energy that its parts let through, with a margin on
        either side: places that see several parts take the mean of their energy. [1]
    mean : float32, (n_levels, n_classes)
        Mean of that energy over the parts, for places that see none. [1]
    """

    first_row: int
    intensity: Singles
    transmission: Singles
    part: NDArray[np.int64]
    reach: NDArray[np.int64]
    seen: Singles
    sums: Floats
    mean: Singles


def line_field(
    first_row: int, intensity: Singles, part: NDArray[np.int64], reach: NDArray[np.int64]
) -> LineField:
    """Line with room for its condition.

    Parameters
    ----------
    first_row : int
        First row behind the line.
    intensity : float32, (n_levels, n_classes, n_transmissions, n_rows, ny)
        Tables of the line.
    part : int64, (ny,)
        Part of the line at each alongshore cell, -1 in the open.
    reach : int64, (n_rows,)
        Alongshore reach of each row. [cells]
    """
    n_levels, n_classes = intensity.shape[:2]
    ny = part.size
    margin = int(reach.max(initial=0))
    count = np.concatenate([[0], np.cumsum(part >= 0)])
    place = np.arange(ny)
    high = np.minimum(place + reach[:, None] + 1, ny)
    low = np.maximum(place - reach[:, None], 0)
    number = count[high] - count[low]
    return LineField(
        first_row=first_row,
        intensity=intensity,
        transmission=np.ones((n_levels, n_classes, CONDITIONS), dtype=np.float32),
        part=part,
        reach=reach,
        seen=np.where(number > 0, 1.0 / np.maximum(number, 1), 0.0).astype(np.float32),
        sums=np.zeros((n_levels, n_classes, ny + 2 * margin + 1)),
        mean=np.ones((n_levels, n_classes), dtype=np.float32),
    )


@kernel
def dense_transmission(
    height: float, frequency: float, number: float, depth: float, material: LineMaterial
) -> float:
    """Transmission of the dense part of a line that stands out of the water. [1].

    From height, angular frequency and wavenumber of the wave, and the depth. [m, s-1, m-1, m]
    """
    linear = material.linear + LORENTZ * material.swing * frequency / (2.0 * math.pi)
    if material.is_block:
        through, _ = block_coefficients(
            height,
            frequency,
            number,
            depth,
            material.thickness,
            material.porosity,
            linear,
            material.quadratic,
        )
        return through
    return barrier_transmission(
        height,
        frequency,
        number,
        depth,
        linear * material.thickness,
        material.quadratic * material.thickness + material.posts,
    )


@kernel
def part_transmission(dense: float, light: float, share_above: float) -> float:
    """Transmission of a part of a line: dense below its crest, light above. [1].

    Parameters
    ----------
    dense, light : float
        Transmission of what stands below and above the crest. [1]
    share_above : float
        Share of the energy flux that runs above the crest. [1]

    Notes
    -----
    The energy flux is split at the crest (``processes/transmission``).
    """
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
    material: LineMaterial,
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
    material : LineMaterial
        What the line is made of.
    transmission : float32, (n_levels, n_classes, CONDITIONS)
        Filled.
    """
    last = wavenumber.shape[1] - 1
    for k in range(levels.size):
        depth = levels[k] - base - rise
        for w in range(period.size):
            if depth <= depth_step:
                transmission[k, w, :] = 1.0
                continue
            frequency = 2.0 * math.pi / period[w]
            number = wavenumber[w, min(int(depth / depth_step + 0.5), last)]
            dense = dense_transmission(height[k, w], frequency, number, depth, material)
            posts = barrier_transmission(
                height[k, w], frequency, number, depth, 0.0, material.posts
            )
            for c in range(CONDITIONS):
                crest = built_height * HIGHEST_CONDITION * c / (CONDITIONS - 1) - rise
                if crest <= 0.0:
                    transmission[k, w, c] = posts
                    continue
                over = depth - crest
                above = flux_share_above(number, depth, over)
                if material.is_low_crested:
                    transmission[k, w, c] = low_crested_transmission(
                        height[k, w], period[w], -over, material.thickness, material.is_tight, above
                    )
                    continue
                light = posts
                if material.is_block:
                    # Water over a rough crest can go down into the block (judgement): it never
                    # passes less than the block does, and a drowning reef passes ever more.
                    light = dense
                    if over > depth_step:
                        over_crest = crest_transmission(
                            height[k, w],
                            frequency,
                            wavenumber[w, min(int(over / depth_step + 0.5), last)],
                            over,
                            material.thickness,
                            material.roughness,
                        )
                        light = max(dense, over_crest)
                transmission[k, w, c] = part_transmission(dense, light, above)


@kernel
def raise_parts(line: LineField, heights: Floats) -> None:
    """Bring a line up to the heights of its parts.

    Parameters
    ----------
    line : LineField
        Its ``sums`` and ``mean`` are filled.
    heights : float64, (n_parts,)
        Height of each part over its height at build. [1]
    """
    ny = line.part.size
    margin = (line.sums.shape[2] - ny - 1) // 2
    n_levels, n_classes = line.mean.shape
    for k in range(n_levels):
        for w in range(n_classes):
            mean = 0.0
            before = -1
            here = 0.0
            for part in range(heights.size):
                mean += part_energy(line, k, w, heights[part]) / heights.size
            line.mean[k, w] = mean
            line.sums[k, w, : margin + 1] = 0.0
            total = 0.0
            for y in range(ny):
                part = line.part[y]
                if part >= 0:
                    if part != before:
                        here = part_energy(line, k, w, heights[part])
                        before = part
                    total += here
                line.sums[k, w, margin + y + 1] = total
            line.sums[k, w, margin + ny + 1 :] = total


@kernel
def part_energy(line: LineField, k: int, w: int, height: float) -> float:
    """Share of the energy that a part of a height lets through, from the table of transmission. [1]."""
    place = min(height / HIGHEST_CONDITION, 1.0) * (CONDITIONS - 1)
    rung = min(int(place), CONDITIONS - 2)
    low = line.transmission[k, w, rung]
    rise = line.transmission[k, w, rung + 1] - low
    return float((low + (place - rung) * rise) ** 2)


def between_rungs(table: Floats | Singles, place: Floats | float) -> Floats:
    """Value of a table between the rungs of its last axis, at places from 0 to 1 along it."""
    last = table.shape[-1] - 1
    along = np.clip(np.broadcast_to(place, table.shape[:-1]), 0.0, 1.0) * last
    rung = np.minimum(along.astype(np.int64), last - 1)[..., None]
    low, high = (
        np.take_along_axis(table, rung + i, axis=-1)[..., 0].astype(np.float64) for i in (0, 1)
    )
    return np.asarray(low + (along - rung[..., 0]) * (high - low))


def middle_transmission(
    transmission: Singles, heights: Floats, level_centres: Floats, flux: Floats
) -> float:
    """Mean transmission of the parts of a line at mean sea level for the heaviest class of waves. [1].

    Parameters
    ----------
    transmission : float32, (n_levels, n_classes, CONDITIONS)
        Of :class:`LineField`.
    heights : float64, (n_parts,)
        Height of each part over its height at build. [1]
    level_centres : float64, (n_levels,)
        Levels of the bins about mean sea level. [m]
    flux : float64, (n_classes,)
        Energy flux of a wave of each class; that of the most is looked at. [W m-1]

    Returns
    -------
    float
        Not-a-number where there are no waves at all.
    """
    if not flux.size:
        return float("nan")
    heaviest = int(np.argmax(flux))
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    by_level = [float(np.interp(heights, ladder, row).mean()) for row in transmission[:, heaviest]]
    return float(np.interp(0.0, level_centres, by_level))
