"""Sampling plans from SALib, in the unit cube, guarded against its traps and nested.

Every plan is a matrix of numbers between 0 and 1, one column an input. A longer
plan begins with the shorter one of the same seed, so that a study grows without
wasting a run.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.errors import InvalidParameterError

Floats = NDArray[np.float64]

GRID_LEVELS = 4
"""Levels of Morris's grid. [1]"""

INNER = 0.1
"""Share of probability left out at each end in a screening. [1]"""


def problem_of(names: Sequence[str]) -> dict[str, Any]:
    """Make SALib's description of the unit cube, a new one each time.

    Notes
    -----
    SALib writes into the description that it is given (``sample_scaled``, ``groups``), so one
    must never serve twice.
    """
    if len(set(names)) != len(names) or not names:
        msg = f"names must hold at least one input, each once; got {list(names)}."
        raise InvalidParameterError(msg)
    return {
        "num_vars": len(names),
        "names": list(names),
        "bounds": [[0.0, 1.0] for _ in names],
        "groups": None,
    }


def library_seed(seed: int, purpose: int) -> int:
    """Seed for SALib: depends on the study's seed and on the purpose, and is never 0.

    Notes
    -----
    SALib takes a seed of 0 for no seed at all, and then no two analyses agree.
    """
    words = np.random.SeedSequence(seed, spawn_key=(2, purpose)).generate_state(1)
    return int(words[0] % (2**31 - 2)) + 1


def is_power_of_two(n: int) -> bool:
    """Whether Sobol' points of this number are balanced."""
    return n > 0 and n & (n - 1) == 0


def refuse_unbalanced(points: int) -> None:
    """Refuse a number of Sobol' points that is no power of two (SALib itself only warns).

    Raises
    ------
    InvalidParameterError
        Naming the powers next to it.
    """
    if not is_power_of_two(points) or points < 4:
        below = 2 ** int(np.log2(max(points, 4)))
        msg = (
            f"points = {points}: must be a power of two, at least 4, or the Sobol' points are not "
            f"balanced. Take {below} or {2 * below}."
        )
        raise InvalidParameterError(msg)


def morris_plan(names: Sequence[str], trajectories: int, seed: int) -> Floats:
    """Trajectories of Morris: one step along every input, in random order and direction.

    Parameters
    ----------
    names : sequence of str
        Inputs.
    trajectories : int
        How many, at least 2.
    seed : int
        Seed of the study.

    Returns
    -------
    ndarray, (trajectories * (inputs + 1), inputs)
        On a grid of 0, 1/3, 2/3 and 1.

    References
    ----------
    M. D. Morris, 1991, Factorial sampling plans for preliminary computational experiments.
    """
    if trajectories < 2:
        msg = (
            f"trajectories must be at least 2, or there is no spread to judge; got {trajectories}."
        )
        raise InvalidParameterError(msg)
    from SALib.sample import morris

    sample = morris.sample(
        problem_of(names), trajectories, num_levels=GRID_LEVELS, seed=library_seed(seed, 1)
    )
    return np.asarray(sample, dtype=np.float64)


def inner_shares(plan: Floats) -> Floats:
    """Move the grid of Morris off the ends: to shares between 10 % and 90 %.

    The ends of a distribution are its most extreme draws, on which a screening must not rest;
    and steps of half the range would be blind to what repeats after half of it (judgement).
    """
    return INNER + plan * (1.0 - 2.0 * INNER)


def rows_per_point(n_inputs: int, *, second_order: bool) -> int:
    """Model runs that one point of a Sobol' plan costs."""
    return 2 * n_inputs + 2 if second_order else n_inputs + 2


def sobol_plan(names: Sequence[str], points: int, seed: int, *, second_order: bool) -> Floats:
    """Plan of Saltelli for Sobol' indices, on scrambled Sobol' points.

    Parameters
    ----------
    names : sequence of str
        Inputs.
    points : int
        Base points, a power of two.
    seed : int
        Seed of the study.
    second_order : bool
        Whether pairs are wanted.

    Returns
    -------
    ndarray, (points * rows_per_point, inputs)
        The rows of one point stand together: A, A with one column of B each, (B with one column
        of A each), B.

    Raises
    ------
    InvalidParameterError
        If the number is no power of two (SALib itself only warns).

    References
    ----------
    A. Saltelli, 2002, Making best use of model evaluations to compute sensitivity indices.
    """
    refuse_unbalanced(points)
    from SALib.sample import sobol

    sample = sobol.sample(
        problem_of(names),
        points,
        calc_second_order=second_order,
        scramble=True,
        seed=library_seed(seed, 2),
    )
    return np.asarray(sample, dtype=np.float64)


def base_rows(n_inputs: int, points: int, *, second_order: bool) -> NDArray[np.int64]:
    """Rows of a Sobol' plan that are independent draws: all of A, then all of B."""
    rows = rows_per_point(n_inputs, second_order=second_order)
    first = np.arange(points, dtype=np.int64) * rows
    return np.concatenate([first, first + rows - 1])
