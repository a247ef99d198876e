"""Sensitivity indices with their bounds, and whether they can be trusted yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from edgesim.errors import InvalidParameterError, StudyError
from edgesim.studies.sampling import (
    GRID_LEVELS,
    library_seed,
    problem_of,
    rows_per_point,
)

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
"""Confidence of every bound. [1]"""

RESAMPLES = 200
"""Bootstrap resamples behind a bound. [1]"""

SHUFFLES = 50
"""Shuffled samples behind the floor of the density-based index. [1]"""

SMALL = 0.05
"""Indices and half-widths below this do not matter to a decision (judgement). [1]"""

SLICES = 8
"""Slices of each input for the density-based index. [1]"""

SMALLEST = 16
"""Fewest base points for which bounds are worth showing. [1]"""


def require_finite(values: Floats, what: str) -> None:
    """Refuse values that are not finite.

    Raises
    ------
    StudyError
        Naming what, and how many.

    Notes
    -----
    One missing value makes SALib answer 0 for every index, without a word.
    """
    missing = int((~np.isfinite(values)).sum())
    if missing:
        msg = f"{what}: {missing} of {values.size} results are not finite; indices of these mean nothing."
        raise StudyError(msg)


@dataclass(frozen=True)
class Screening:
    """Elementary effects: what an input moves on average over its range.

    Attributes
    ----------
    effect : ndarray
        Mean of the absolute effects. [unit of the output]
    bound : ndarray
        Half-width of its 95 % interval. [unit of the output]
    spread : ndarray
        Standard deviation of the effects: interaction or curvature. [unit of the output]
    """

    effect: Floats
    bound: Floats
    spread: Floats


def screen(names: Sequence[str], plan: Floats, values: Floats, seed: int) -> Screening:
    """Elementary effects of Morris, by SALib.

    Parameters
    ----------
    names : sequence of str
        Inputs.
    plan : ndarray
        From :func:`edgesim.studies.sampling.morris_plan`.
    values : ndarray
        One output, a value a row.
    seed : int
        Seed of the study.

    Returns
    -------
    Screening

    References
    ----------
    F. Campolongo, J. Cariboni and A. Saltelli, 2007, An effective screening design for
    sensitivity analysis of large models.
    """
    _same_length(plan, values)
    require_finite(values, "screening")
    from SALib.analyze import morris

    found = morris.analyze(
        problem_of(names),
        np.ascontiguousarray(plan, dtype=float),
        np.ascontiguousarray(values, dtype=float),
        num_resamples=RESAMPLES,
        conf_level=CONFIDENCE,
        num_levels=GRID_LEVELS,
        seed=library_seed(seed, 3),
    )
    return Screening(*(np.asarray(found[k], float) for k in ("mu_star", "mu_star_conf", "sigma")))


@dataclass(frozen=True)
class Sobol:
    """Shares of the variance, each with the half-width of its 95 % interval.

    Attributes
    ----------
    first, first_bound, total, total_bound : ndarray, (inputs,)
        Alone, and with all interactions. [1]
    second, second_bound : ndarray, (inputs, inputs)
        Of pairs beyond their single shares, upper triangle; NaN elsewhere or when not asked for. [1]
    """

    first: Floats
    first_bound: Floats
    total: Floats
    total_bound: Floats
    second: Floats
    second_bound: Floats


def sobol(names: Sequence[str], values: Floats, seed: int, *, second_order: bool) -> Sobol:
    """Sobol' indices by SALib.

    Parameters
    ----------
    names : sequence of str
        Inputs.
    values : ndarray
        One output, in the order of the plan.
    seed : int
        Seed of the study.
    second_order : bool
        Whether the plan has the rows for pairs.

    Returns
    -------
    Sobol
        All NaN when the output does not vary.

    References
    ----------
    A. Saltelli and others, 2010, Variance based sensitivity analysis of model output.
    """
    n = len(names)
    if values.size % rows_per_point(n, second_order=second_order):
        msg = f"values must hold a whole number of points of {rows_per_point(n, second_order=second_order)} rows; it holds {values.size}."
        raise InvalidParameterError(msg)
    require_finite(values, "Sobol' indices")
    nothing = np.full(n, np.nan)
    pairs = np.full((n, n), np.nan)
    if np.ptp(values) == 0.0:
        return Sobol(nothing, nothing, nothing, nothing, pairs, pairs)
    from SALib.analyze import sobol as library

    found = library.analyze(
        problem_of(names),
        np.array(values, dtype=float),
        calc_second_order=second_order,
        num_resamples=RESAMPLES,
        conf_level=CONFIDENCE,
        seed=library_seed(seed, 4),
    )
    single = [np.asarray(found[k], float) for k in ("S1", "S1_conf", "ST", "ST_conf")]
    double = (
        [np.asarray(found[k], float) for k in ("S2", "S2_conf")] if second_order else [pairs] * 2
    )
    return Sobol(*single, *double)


def growth(
    names: Sequence[str], values: Floats, seed: int, *, second_order: bool
) -> tuple[NDArray[np.int64], list[Sobol]]:
    """Indices from the first 16, 32, 64, ... points up to all of them.

    Returns
    -------
    ndarray of int
        Numbers of points, rising by doubling.
    list of Sobol
        The indices of each.
    """
    rows = rows_per_point(len(names), second_order=second_order)
    points = values.size // rows
    sizes = [2**k for k in range(2, 31) if min(SMALLEST, points) <= 2**k < points] + [points]
    found = [sobol(names, values[: size * rows], seed, second_order=second_order) for size in sizes]
    return np.array(sizes, dtype=np.int64), found


def converged(index: Floats, bound: Floats) -> NDArray[np.bool_]:
    """Whether an index is known well enough to be read.

    It is when its bound is narrower than half of it, or when index and bound are both so small
    that it does not matter (judgement).
    """
    with np.errstate(invalid="ignore"):
        return np.asarray((bound <= 0.5 * np.abs(index)) | (np.abs(index) + bound <= 2.0 * SMALL))


WIDEST = 0.25
"""Half-width of a share of the variance from which it is not known, however large (judgement). [1]"""


def shares_converged(share: Floats, bound: Floats, points: int) -> NDArray[np.bool_]:
    """Whether shares of the variance are known well enough to be read.

    As :func:`converged`, but never with bounds wider than :data:`WIDEST`, nor before there is a
    half sample to compare with: a few points can give shares beyond all with bounds to match.
    """
    return converged(share, bound) & (bound <= WIDEST) & (points > SMALLEST)


def ranking_verdict(before: Floats, after: Floats, bound: Floats) -> str:
    """Judge a ranking against the one at half the sample.

    Parameters
    ----------
    before, after : ndarray
        Index at half the sample, and at the whole.
    bound : ndarray
        Half-widths at the whole.

    Returns
    -------
    str
        "same", "same but for ties" (inputs that changed places overlap within their bounds, or
        are both small), or "not stable".
    """
    if not (np.isfinite(before).all() and np.isfinite(after).all()):
        return "not stable"
    n = after.size
    ties = True
    same = True
    for i in range(n):
        for j in range(i + 1, n):
            if max(after[i], after[j]) < SMALL:
                continue
            if (before[i] - before[j]) * (after[i] - after[j]) < 0.0:
                same = False
                ties &= bool(abs(after[i] - after[j]) <= bound[i] + bound[j])
    if same:
        return "same"
    return "same but for ties" if ties else "not stable"


@dataclass(frozen=True)
class Density:
    """How much the whole distribution of an output moves when an input is known.

    Attributes
    ----------
    index, bound : ndarray
        Median over slices of the largest distance of distribution functions, and its bound. [1]
    floor : float
        95 % point of the same index of inputs that do nothing. [1]
    """

    index: Floats
    bound: Floats
    floor: float


def density(names: Sequence[str], plan: Floats, values: Floats, seed: int) -> Density:
    """PAWN index, by SALib, with bootstrap bounds and the floor of an input that does nothing.

    Parameters
    ----------
    names : sequence of str
        Inputs.
    plan, values : ndarray
        Independent draws (rows A and B of a Sobol' plan) and one output.
    seed : int
        Seed of the study.

    Returns
    -------
    Density

    Notes
    -----
    Fit for skewed outputs and outputs of two values. Slices are cut on the unit interval that
    drives an input: cut on the values of an input with a few levels, the library leaves out the
    highest level.

    References
    ----------
    F. Pianosi and T. Wagener, 2018, Distribution-based sensitivity analysis from a generic
    input-output sample.
    """
    _same_length(plan, values)
    require_finite(values, "density-based index")
    from SALib.analyze import pawn

    found = pawn.analyze(problem_of(names), plan, values, S=SLICES)
    index = np.asarray(found["median"], dtype=np.float64)
    generator = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(2, 5)))
    n = values.size
    draws = [generator.integers(0, n, n) for _ in range(RESAMPLES)]
    resampled = np.array([slice_distances(plan[rows], values[rows]) for rows in draws])
    shuffled = [slice_distances(plan, values[generator.permutation(n)]) for _ in range(SHUFFLES)]
    bound = 1.96 * resampled.std(axis=0, ddof=1)
    return Density(index, bound, float(np.quantile(shuffled, 0.95)))


def slice_distances(plan: Floats, values: Floats) -> Floats:
    """The same index as the library's, without its tests of significance, which take most of its time.

    Parameters
    ----------
    plan, values : ndarray
        See :func:`density`.

    Returns
    -------
    ndarray, (inputs,)
        Median over slices of the largest distance between the distribution function in a slice
        and that of all values. [1]
    """
    ordered = np.sort(values)
    whole = np.searchsorted(ordered, ordered, side="right") / values.size
    found = np.empty(plan.shape[1])
    for column in range(plan.shape[1]):
        x = plan[:, column]
        cuts = np.quantile(x, np.linspace(0.0, 1.0, SLICES + 1))
        distances = []
        for low, high in pairwise(cuts):
            inside = np.sort(values[(x >= low) & (x < high)])
            if inside.size:
                part = np.searchsorted(inside, ordered, side="right") / inside.size
                distances.append(np.abs(part - whole).max())
        found[column] = np.median(distances)
    return found


def _same_length(plan: Floats, values: Floats) -> None:
    if plan.shape[0] != values.shape[0]:
        msg = f"values must hold one for each of the {plan.shape[0]} rows; it holds {values.shape[0]}."
        raise InvalidParameterError(msg)
