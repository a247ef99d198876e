"""The grid of a reach and where the two lines of defence stand on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgesim.scenario import Scenario

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """Cells of a reach; arrays run ``[cross_shore, alongshore]``, alongshore contiguous.

    Attributes
    ----------
    cross_shore : ndarray, (nx,)
        Cell centres, growing landward from the seaward side. [m]
    alongshore : ndarray, (ny,)
        Cell centres. [m]
    dx, dy : float
        Cell size across and along the shore. [m]
    edge : ndarray, (ny,)
        Position of the marsh edge at the start. [m]
    bed : ndarray, (nx, ny)
        Level of the flat; under the marsh, the level to which the scarp wears. [m]
    platform : ndarray, (nx, ny)
        Level of the marsh platform. [m]
    """

    cross_shore: Floats
    alongshore: Floats
    dx: float
    dy: float
    edge: Floats
    bed: Floats
    platform: Floats


@dataclass(frozen=True)
class Line:
    """A line of defence: its parts along the shore and its position.

    Attributes
    ----------
    segments : tuple of (start, end)
        Stretches of the line. [m]
    parts : ndarray, (n, 2)
        Start and end of each part: a bay of a wall, a column of reef units. [m]
    position : float
        Cross-shore position of the centre line. [m]
    base : float
        Mean level of the bed under the line. [m]
    """

    segments: tuple[tuple[float, float], ...]
    parts: Floats
    position: float
    base: float

    def row(self, dx: float) -> int:
        """Grid row under the centre line."""
        return int(self.position / dx)

    def part_of(self, places: Floats) -> NDArray[np.int64]:
        """Index of the part at each alongshore place, -1 in the open."""
        index = np.searchsorted(self.parts[:, 0], places, side="right") - 1
        inside = (index >= 0) & (places < self.parts[np.maximum(index, 0), 1])
        return np.where(inside, index, -1).astype(np.int64)


def make_grid(scenario: Scenario) -> Grid:
    """Grid of a scenario, with the surveyed profile laid along the edge."""
    site, run = scenario.site, scenario.run
    ny = max(4, round(site.shore_length / run.cell_size))
    nx = round((run.seaward_width + run.landward_width) / run.cell_size)
    dy = site.shore_length / ny
    alongshore = dy * (np.arange(ny, dtype=np.float64) + 0.5)
    cross_shore = run.cell_size * (np.arange(nx, dtype=np.float64) + 0.5)
    edge = np.full(ny, run.seaward_width)
    if site.edge:
        places, offsets = np.array(site.edge, dtype=np.float64).T
        edge += np.interp(alongshore, places, offsets)
    distance, elevation = np.array(site.profile, dtype=np.float64).T
    seaward = np.maximum(edge[None, :] - cross_shore[:, None], 0.0)
    bed = np.interp(seaward, distance, elevation)
    platform = np.full_like(bed, elevation[0] + site.scarp_height)
    return Grid(cross_shore, alongshore, run.cell_size, dy, edge, bed, platform)


def wall_line(scenario: Scenario) -> Line | None:
    """The walls of a scenario: every stretch between neighbouring posts is a bay."""
    walls = scenario.design.walls
    if walls is None:
        return None
    bays: list[tuple[float, float]] = []
    segments = tuple((part.start, part.start + part.length) for part in walls.segments)
    for start, end in segments:
        n = max(1, round((end - start) / walls.post_spacing))
        corners = np.linspace(start, end, n + 1)
        bays.extend(zip(corners[:-1].tolist(), corners[1:].tolist(), strict=True))
    return _line(scenario, segments, np.array(bays), walls.offset)


def reef_line(scenario: Scenario) -> Line | None:
    """The reef of a scenario: columns of units side by side along its length."""
    reef = scenario.design.reef
    if reef is None:
        return None
    n = max(1, int(reef.length / reef.unit_length + 1e-9))
    # The loader has filled in the start.
    corners = (reef.start or 0.0) + np.arange(n + 1) * reef.unit_length
    segments = ((float(corners[0]), float(corners[-1])),)
    return _line(scenario, segments, np.column_stack([corners[:-1], corners[1:]]), reef.offset)


def _line(
    scenario: Scenario, segments: tuple[tuple[float, float], ...], parts: Floats, offset: float
) -> Line:
    distance, elevation = np.array(scenario.site.profile, dtype=np.float64).T
    base = float(np.interp(offset, distance, elevation))
    return Line(segments, parts, scenario.run.seaward_width - offset, base)


def covered_reach(scenario: Scenario) -> tuple[float, float]:
    """Alongshore reach that the design covers, in metres; the whole shore without a design."""
    lines = [line for line in (wall_line(scenario), reef_line(scenario)) if line is not None]
    if not lines:
        return 0.0, scenario.site.shore_length
    corners = [corner for line in lines for segment in line.segments for corner in segment]
    return min(corners), max(corners)
