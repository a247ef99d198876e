"""Arithmetic of choosing between designs that met the same futures."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Ends of the 90 % and 50 % bands and the median."""


def even(values: ArrayLike) -> Floats:
    """Round to nine significant digits, so that the dust of sums decides nothing.

    Examples
    --------
    >>> bool(even(0.1 + 0.2) == even(0.3))
    True
    """
    array = np.asarray(values, dtype=np.float64)
    size = np.where((array == 0.0) | ~np.isfinite(array), 1.0, np.abs(array))
    unit = 10.0 ** (np.floor(np.log10(size)) - 8.0)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(np.isfinite(array), np.rint(array / unit) * unit, array))


def bands(values: ArrayLike, axis: int = -1) -> Floats:
    """Quantiles over members that have a value; infinite values are allowed.

    Parameters
    ----------
    values : array_like
        One number a member.
    axis : int, default -1
        Axis of the members.

    Returns
    -------
    ndarray, (5, ...)
        See :data:`QUANTILES`; NaN where no member has a value.

    Examples
    --------
    >>> bands([1.0, 2.0, np.inf]).tolist()
    [1.0, 1.0, 2.0, inf, inf]
    """
    array = np.moveaxis(np.asarray(values, dtype=np.float64), axis, -1)
    finite = not np.isinf(array).any()
    found = np.full((len(QUANTILES), *array.shape[:-1]), np.nan)
    for place in np.ndindex(array.shape[:-1]):
        there = array[place][~np.isnan(array[place])]
        if there.size:
            # Between a number and infinity there is nothing to interpolate.
            found[(slice(None), *place)] = (
                np.quantile(there, QUANTILES)
                if finite
                else np.quantile(there, QUANTILES, method="inverted_cdf")
            )
    return found


def chance_of_beating(a: ArrayLike, b: ArrayLike, *, less_is_better: bool) -> float:
    """Probability that one design beats another in the same future; equal ones count half.

    Parameters
    ----------
    a, b : array_like, (members,)
        A number of each, member by member.
    less_is_better : bool
        Whether the smaller one wins.

    Returns
    -------
    float
        NaN when no member has both. [1]

    Examples
    --------
    >>> chance_of_beating([1.0, 2.0, 3.0, 4.0], [2.0, 2.0, 2.0, 2.0], less_is_better=True)
    0.375
    """
    difference = even(a) - even(b)
    difference = difference[~np.isnan(difference)]
    if not difference.size:
        return float("nan")
    wins = difference < 0.0 if less_is_better else difference > 0.0
    return float(np.mean(wins) + 0.5 * np.mean(difference == 0.0))


def ratio(cost: ArrayLike, gain: ArrayLike) -> Floats:
    """Money for each unit gained; infinite where money was spent and nothing gained.

    Examples
    --------
    >>> ratio([10.0, 10.0, 0.0], [2.0, -1.0, 0.0]).tolist()
    [5.0, inf, nan]
    """
    spent, got = np.broadcast_arrays(np.asarray(cost, float), np.asarray(gain, float))
    found = np.where(spent > 0.0, np.inf, np.nan)
    np.divide(spent, got, out=found, where=got > 0.0)
    found[np.isnan(spent) | np.isnan(got)] = np.nan
    return np.asarray(found)


def non_dominated(values: ArrayLike, *, less_is_better: tuple[bool, ...]) -> NDArray[np.bool_]:
    """Designs that no other design beats in one respect without losing in another.

    Parameters
    ----------
    values : array_like, (designs, respects)
        Numbers to compare.
    less_is_better : tuple of bool, (respects,)
        Whether the smaller one is better.

    Returns
    -------
    ndarray of bool, (designs,)

    Examples
    --------
    >>> non_dominated([[1, 5], [2, 6], [2, 4]], less_is_better=(True, False)).tolist()
    [True, True, False]
    """
    better = np.where(less_is_better, -1.0, 1.0) * even(values)
    no_worse = (better[:, None, :] >= better[None, :, :]).all(axis=2)
    beats = no_worse & (better[:, None, :] > better[None, :, :]).any(axis=2)
    return np.asarray(~beats.any(axis=0))


def regret(values: ArrayLike, *, less_is_better: bool) -> Floats:
    """How far each design stays behind the best one, belief by belief.

    Parameters
    ----------
    values : array_like, (beliefs, designs)
        What each design brings under each belief.
    less_is_better : bool
        Whether the smaller one is better.

    Returns
    -------
    ndarray, (beliefs, designs)
        0 for the best; never negative.

    References
    ----------
    L. J. Savage, 1951, The theory of statistical decision.

    Examples
    --------
    >>> regret([[3.0, 5.0], [4.0, 1.0]], less_is_better=False).tolist()
    [[2.0, 0.0], [0.0, 3.0]]
    """
    array = np.asarray(values, dtype=np.float64)
    if less_is_better:
        return np.asarray(array - np.nanmin(array, axis=1, keepdims=True))
    return np.asarray(np.nanmax(array, axis=1, keepdims=True) - array)
