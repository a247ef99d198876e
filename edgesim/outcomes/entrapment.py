"""Screen for closed pockets: water in which animals are shut in as the tide falls.

The plan of walls, reef and marsh edge is laid on the levelled bed. At every water level from mean
high water down to the lowest datum given, water that an animal cannot leave for open water is a
pocket. Lines bar the way while their top is above the water; branches and shell let water
through, not animals. Hollows that the bed has without any line are not counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from edgesim.model.grid import Grid, Line, make_grid, reef_line, wall_line
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option

Mask = NDArray[np.bool_]

CELL = 0.2
"""Cell of the lattice on which pockets are looked for. [m]"""

LEVEL_STEP = 0.05
"""Step of the water levels. [m]"""

PASSAGE = 0.6
"""Narrowest passage that counts as open (judgement). [m]"""

SMALLEST = 1.0
"""Area below which a pocket is not told (judgement). [m2]"""

AROUND = 3.0
"""Width of water and marsh looked at outside the lines and behind the edge. [m]"""

POCKET, OPEN, CANNOT_TELL = "closed pocket", "open", "cannot tell"


@dataclass(frozen=True, slots=True)
class Pocket:
    """The screen of one option.

    Attributes
    ----------
    option : str
        Name of the option.
    answer : str
        "closed pocket", "open", or "cannot tell" where it hangs on the shore beyond the survey.
    level : float
        Highest water level at which a pocket is closed, above the vertical datum; NaN when open. [m]
    area : float
        Largest area of closed pockets at any level. [m2]
    depth : float
        Greatest depth of water in them. [m]
    from_, to : float
        Stretch of shore in which they lie. [m]
    """

    option: str
    answer: str
    level: float = float("nan")
    area: float = 0.0
    depth: float = 0.0
    from_: float = float("nan")
    to: float = float("nan")


@dataclass(frozen=True)
class _Plan:
    """Ground and tops of the lines on the lattice; top is minus infinity where no line stands."""

    grid: Grid
    ground: NDArray[np.float64]
    top: NDArray[np.float64]
    bars_side: bool


def screen_pockets(scenario: Scenario, option: Option) -> Pocket:
    """Look for closed pockets behind the lines of an option.

    Parameters
    ----------
    scenario : Scenario
        Plain numbers.
    option : Option
        Which lines stand.

    Returns
    -------
    Pocket
    """
    plan = _plan(scenario, option)
    found = _closed(scenario, plan, sides_open=True)
    if found is not None:
        return _told(option, plan, POCKET, *found)
    # A line that runs into the side of the survey may go on there, or the marsh may meet it.
    if plan.bars_side:
        found = _closed(scenario, plan, sides_open=False)
        if found is not None:
            return _told(option, plan, CANNOT_TELL, *found)
    return Pocket(option.name, OPEN)


def _plan(scenario: Scenario, option: Option) -> _Plan:
    fine = scenario.run.model_copy(update={"cell_size": CELL})
    grid = make_grid(scenario.model_copy(update={"run": fine}))
    marsh = grid.cross_shore[:, None] >= grid.edge[None, :]
    ground = np.where(marsh, grid.platform, grid.bed)
    top = np.full_like(ground, -np.inf)
    outer = min((line.position for line in _lines(scenario, option)), default=0.0)
    walls, reef = scenario.design.walls, scenario.design.reef
    wall, units = wall_line(scenario), reef_line(scenario)
    sides = []
    if option.walls and walls is not None and wall is not None:
        sides.append(_stand(grid, top, wall, walls.row_gap, walls.crest))
    if option.reef and reef is not None and units is not None:
        width, crest = reef.rows * reef.unit_width, units.base + reef.unit_height
        sides.append(_stand(grid, top, units, width, crest))
    # Beyond the outermost line and inland of the edge there is nothing to be shut in by.
    kept = (grid.cross_shore > outer - AROUND) & (grid.cross_shore < grid.edge.max() + AROUND)
    return _Plan(grid, ground[kept], top[kept], any(sides))


def _lines(scenario: Scenario, option: Option) -> list[Line]:
    """Lines that an option builds."""
    found = [
        wall_line(scenario) if option.walls else None,
        reef_line(scenario) if option.reef else None,
    ]
    return [line for line in found if line is not None]


def _stand(
    grid: Grid, top: NDArray[np.float64], line: Line, thickness: float, crest: float
) -> bool:
    """Stand a line on the lattice; tell whether it reaches a side of the survey."""
    across = np.abs(grid.cross_shore - line.position) <= max(0.5 * thickness, 0.5 * CELL)
    for start, end in line.segments:
        along = (grid.alongshore > start) & (grid.alongshore < end)
        top[np.ix_(across, along)] = crest
    reach = grid.alongshore[-1] + 0.5 * grid.dy
    return any(start < PASSAGE or end > reach - PASSAGE for start, end in line.segments)


def _closed(
    scenario: Scenario, plan: _Plan, *, sides_open: bool
) -> tuple[float, Mask, float, float] | None:
    """Highest level of a pocket, where pockets lie at any level, their largest area and depth."""
    datums = scenario.site.datums
    lowest = min(level for level in (datums.mlw, datums.mllw) if level is not None)
    levels = np.arange(datums.mhw, lowest - 0.5 * LEVEL_STEP, -LEVEL_STEP)
    highest, area, depth = None, 0.0, 0.0
    anywhere = np.zeros_like(plan.ground, dtype=bool)
    for level in levels:
        wet = plan.ground < level
        free = wet & (plan.top < level)
        shut = _unreached(free, sides_open=sides_open)
        if shut.any():  # hollows of the bed are looked for only where there is something to compare
            shut &= ~_unreached(wet, sides_open=True)
        size = shut.sum() * CELL * plan.grid.dy
        if size < SMALLEST:
            continue
        highest = float(level) if highest is None else highest
        area = max(area, float(size))
        depth = max(depth, float((level - plan.ground[shut]).max()))
        anywhere |= shut
    return None if highest is None else (highest, anywhere, area, depth)


def _unreached(free: Mask, *, sides_open: bool) -> Mask:
    """Water from which no passage of the least width leads to open water."""
    width = max(1, round(PASSAGE / CELL))
    # The rim counts as deep water, so that the survey's sides do not narrow a passage.
    rim = np.pad(free, width, constant_values=False)
    rim[:width] = True
    if sides_open:
        rim[:, :width] |= np.pad(free[:, :1], ((width, width), (0, 0)))
        rim[:, -width:] |= np.pad(free[:, -1:], ((width, width), (0, 0)))
    passable = ndimage.binary_opening(rim, np.ones((width, width)))
    labels, _ = ndimage.label(passable)
    open_labels = {int(label) for label in labels[0] if label}
    if sides_open:
        open_labels |= {int(label) for label in (*labels[:, 0], *labels[:, -1]) if label}
    reached = np.isin(labels, list(open_labels))
    inside = (slice(width, -width), slice(width, -width))
    return np.asarray(passable[inside] & ~reached[inside])


def _told(
    option: Option, plan: _Plan, answer: str, level: float, where: Mask, area: float, depth: float
) -> Pocket:
    columns = plan.grid.alongshore[where.any(axis=0)]
    half = 0.5 * plan.grid.dy
    return Pocket(
        option.name, answer, level, area, depth, float(columns[0] - half), float(columns[-1] + half)
    )
