"""What dated surveys of an edge say of its rate of retreat, and how surely.

A survey errs by its own error. The edge itself also departs from its mean trend: blocks have just
fallen or are about to (a scatter that each survey meets anew), and the waves of some years are
rougher than those of others (a scatter that adds up along the record).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError

Floats = NDArray[np.float64]

BLOCK_SCATTER = 0.5
"""Scale of the prior of the scatter of the edge about its trend, about one block (judgement). [m]"""

YEAR_VARIATION = 0.3
"""Coefficient of variation of a year's retreat (judgement). [1]"""

_STEPS = 200
_REACH = 6.0


def retreat_posterior(
    years: ArrayLike, positions: ArrayLike, errors: ArrayLike
) -> tuple[float, float]:
    """Mean and standard deviation of the rate of retreat behind dated positions of an edge.

    Parameters
    ----------
    years : array_like, (n,)
        Time of each survey, n >= 2, increasing. [yr]
    positions : array_like, (n,)
        Position of the edge, landward positive. [m]
    errors : array_like, (n,)
        Standard deviation of each position, > 0. [m]

    Returns
    -------
    tuple of float
        Mean and standard deviation of the rate. [m yr-1]

    Raises
    ------
    InvalidParameterError
        If there are fewer than two surveys, or times, positions or errors are impossible.

    Notes
    -----
    Positions are ``a + R t`` plus the survey's error, plus a scatter s that every survey meets
    anew, plus a walk of variance ``(YEAR_VARIATION R)**2`` a year. For a given s the rate is
    normal (generalised least squares, flat prior of a and R). s is unknown: its prior is half a
    normal of scale `BLOCK_SCATTER`, its posterior follows from how well the surveys lie on a line.
    Two surveys cannot tell s and leave the prior as it is; six nearly can. Model and both numbers
    are judgement; the formulas are textbook statistics.

    References
    ----------
    C. R. Rao, 1973, "Linear statistical inference and its applications" (generalised least squares).

    Examples
    --------
    >>> mean, sd = retreat_posterior([1990.0, 2020.0], [0.0, 12.0], [1.0, 1.0])
    >>> round(mean, 2)
    0.4
    """
    time, place, error = (np.asarray(v, dtype=np.float64) for v in (years, positions, errors))
    _check(time, place, error)
    since = time - time[0]
    rough_rate = float(np.polyfit(since, place, 1)[0])
    walk = (YEAR_VARIATION * rough_rate) ** 2 * np.minimum(since[:, None], since[None, :])
    design = np.column_stack([np.ones_like(since), since])
    scatter = (np.arange(_STEPS) + 0.5) / _STEPS * _REACH * BLOCK_SCATTER
    weights, means, variances = np.empty((3, _STEPS))
    for i, s in enumerate(scatter):
        covariance = np.diag(error**2 + s**2) + walk
        precision = np.linalg.inv(covariance)
        normal = design.T @ precision @ design
        fit = np.linalg.solve(normal, design.T @ precision @ place)
        left = place - design @ fit
        # Likelihood with a and R integrated out.
        weights[i] = -0.5 * (
            float(left @ precision @ left)
            + np.linalg.slogdet(covariance)[1]
            + np.linalg.slogdet(normal)[1]
            + (s / BLOCK_SCATTER) ** 2
        )
        means[i], variances[i] = fit[1], np.linalg.inv(normal)[1, 1]
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    mean = float(weights @ means)
    return mean, math.sqrt(float(weights @ (variances + means**2)) - mean**2)


def _check(time: Floats, place: Floats, error: Floats) -> None:
    if not (time.ndim == 1 and time.shape == place.shape == error.shape and time.size >= 2):
        message = f"years, positions, errors: shapes {time.shape}, {place.shape}, {error.shape}; must be at least two each"
        raise InvalidParameterError(message)
    if not (np.diff(time) > 0).all():
        message = f"years: must increase, got {time.tolist()}"
        raise InvalidParameterError(message)
    if not (np.isfinite(place).all() and np.isfinite(error).all() and (error > 0).all()):
        message = "positions, errors: must be finite, errors > 0"
        raise InvalidParameterError(message)
