"""Which inputs separate success from failure: the patient rule of bump hunting.

A box in the space of inputs is peeled, a thin slice at a time, where that
raises most the share of interesting points in what is left; then it is pasted
back where nothing is lost; then limits that could be chance are dropped.

References
----------
J. H. Friedman and N. I. Fisher, 1999, Bump hunting in high-dimensional data.
B. P. Bryant and R. J. Lempert, 2010, Thinking inside the box: a participatory,
computer-assisted approach to scenario discovery.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from edgesim.errors import InvalidParameterError

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

PEEL = 0.05
"""Share of the points in a box that one peel takes away (Friedman and Fisher: 0.05 to 0.1). [1]"""

SMALLEST_MASS = 0.05
"""A box keeps at least this share of all points. [1]"""

DOUBTFUL = 0.05
"""A limit that chance explains with a larger probability is dropped. [1]"""


@dataclass(frozen=True)
class Limit:
    """Limit of one input.

    Attributes
    ----------
    column : int
        The input.
    low, high : float
        Ends of what is kept, for a number. [unit interval]
    levels : frozenset of int
        Levels that are kept, for a choice; empty for a number.
    by_chance : float
        Probability that it separates as well by chance. [1]
    """

    column: int
    low: float = 0.0
    high: float = 1.0
    levels: frozenset[int] = frozenset()
    by_chance: float = 1.0

    def keeps(self, plan: Floats, levels: NDArray[np.int64]) -> Bools:
        """Points inside."""
        if self.levels:
            return np.asarray(np.isin(levels[:, self.column], list(self.levels)))
        column = plan[:, self.column]
        return np.asarray((column >= self.low) & (column <= self.high))


@dataclass(frozen=True)
class Box:
    """A box with what it holds.

    Attributes
    ----------
    limits : tuple of Limit
        Inputs that it limits.
    density : float
        Share of interesting points among those inside. [1]
    coverage : float
        Share of all interesting points that lies inside. [1]
    mass : float
        Share of all points that lies inside. [1]
    """

    limits: tuple[Limit, ...]
    density: float
    coverage: float
    mass: float


def patient_rule(
    plan: Floats,
    interesting: Bools,
    levels: NDArray[np.int64] | None = None,
    choices: tuple[int, ...] = (),
) -> list[Box]:
    """Peel a box down to where interesting points are dense.

    Parameters
    ----------
    plan : ndarray, (points, inputs)
        Points in the unit cube.
    interesting : ndarray of bool, (points,)
        Which points are looked for.
    levels : ndarray of int, (points, inputs), optional
        Level of each point, for inputs that are choices without an order.
    choices : tuple of int
        Columns of those.

    Returns
    -------
    list of Box
        From all points to the smallest box; empty limits first.

    Raises
    ------
    InvalidParameterError
        If all points are interesting, or none.
    """
    count = int(interesting.sum())
    if count in (0, interesting.size):
        msg = f"interesting must hold some of the points; it holds {count} of {interesting.size}."
        raise InvalidParameterError(msg)
    table = np.zeros(plan.shape, dtype=np.int64) if levels is None else levels
    limits: dict[int, Limit] = {}
    inside = np.ones(interesting.size, dtype=bool)
    boxes = [_box(limits, inside, interesting)]
    while True:
        best = _best_peel(plan, table, choices, limits, inside, interesting)
        if best is None:
            return boxes
        limits = {**limits, best.column: best}
        inside = inside & best.keeps(plan, table)
        boxes.append(_box(limits, inside, interesting))
        if boxes[-1].density == 1.0:
            return boxes


def _box(limits: dict[int, Limit], inside: Bools, interesting: Bools) -> Box:
    found = int((inside & interesting).sum())
    return Box(
        tuple(limits[column] for column in sorted(limits)),
        found / int(inside.sum()),
        found / int(interesting.sum()),
        float(inside.mean()),
    )


def _best_peel(
    plan: Floats,
    levels: NDArray[np.int64],
    choices: tuple[int, ...],
    limits: dict[int, Limit],
    inside: Bools,
    interesting: Bools,
) -> Limit | None:
    """The peel after which the rest is densest, per point taken away; None when none is left."""
    now = interesting[inside].mean()
    best: tuple[float, float, Limit] | None = None
    for column in range(plan.shape[1]):
        limit = limits.get(column, Limit(column))
        for trial in _peels(plan[inside, column], levels[inside, column], column in choices, limit):
            kept = inside & trial.keeps(plan, levels)
            if kept.sum() == inside.sum() or kept.mean() < SMALLEST_MASS:
                continue
            gain = float(interesting[kept].mean() - now)
            # Choices are peeled in lumps of any size: gains are compared per share taken away.
            lost = 1.0 - kept.sum() / inside.sum()
            if gain > 0.0 and (best is None or gain / lost > best[0]):
                best = (gain / lost, gain, trial)
    return best[2] if best else None


def _peels(column: Floats, levels: NDArray[np.int64], is_choice: bool, limit: Limit) -> list[Limit]:
    """Ways to take a slice off one side, or one level away."""
    if is_choice:
        there = frozenset(int(level) for level in np.unique(levels))
        return [replace(limit, levels=there - {level}) for level in there] if len(there) > 1 else []
    low = float(np.quantile(column, PEEL, method="higher"))
    high = float(np.quantile(column, 1.0 - PEEL, method="lower"))
    return [replace(limit, low=low), replace(limit, high=high)]


def chosen_box(
    boxes: list[Box], plan: Floats, interesting: Bools, levels: NDArray[np.int64] | None = None
) -> Box:
    """Choose the box with the best balance, free of limits that could be chance.

    Parameters
    ----------
    boxes : list of Box
        From :func:`patient_rule`.
    plan, interesting, levels
        See there.

    Returns
    -------
    Box
        The box whose density times coverage is largest (judgement), with every limit dropped
        that chance explains with a probability above 5 %, and ends that lie within one peel of
        the unit interval's own taken back.

    Notes
    -----
    The probability of a limit is that of Bryant and Lempert: as many interesting points or more
    inside, drawn with the density that the box has without this limit (binomial).
    """
    table = np.zeros(plan.shape, dtype=np.int64) if levels is None else levels
    box = max(boxes, key=lambda one: one.density * one.coverage)
    limits = {limit.column: limit for limit in box.limits}
    while limits:
        judged = {
            column: replace(limit, by_chance=_by_chance(limits, column, plan, table, interesting))
            for column, limit in limits.items()
        }
        worst = max(judged.values(), key=lambda limit: limit.by_chance)
        if worst.by_chance <= DOUBTFUL:
            limits = judged
            break
        limits = {column: limit for column, limit in limits.items() if column != worst.column}
    return _box(limits, _inside(limits, plan, table), interesting)


def _inside(limits: dict[int, Limit], plan: Floats, levels: NDArray[np.int64]) -> Bools:
    inside = np.ones(plan.shape[0], dtype=bool)
    for limit in limits.values():
        inside &= limit.keeps(plan, levels)
    return inside


def _by_chance(
    limits: dict[int, Limit],
    column: int,
    plan: Floats,
    levels: NDArray[np.int64],
    interesting: Bools,
) -> float:
    inside = _inside(limits, plan, levels)
    without = _inside({c: one for c, one in limits.items() if c != column}, plan, levels)
    share = float(interesting[without].mean())
    return float(binom.sf(int(interesting[inside].sum()) - 1, int(inside.sum()), share))
