"""How surveys weigh futures: Bayes' rule over an ensemble, and drawing from what it leaves."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import softmax

Floats = NDArray[np.float64]


def log_likelihood(predicted: Floats, measured: Floats, error: Floats) -> Floats:
    """Logarithm of the density of surveys in every future.

    Parameters
    ----------
    predicted : ndarray, (n_futures, n_surveys)
        What each future holds where and when it was surveyed.
    measured, error : ndarray, (n_surveys,)
        What was found, and its standard error, > 0.

    Returns
    -------
    ndarray, (n_futures,)

    Notes
    -----
    Errors are normal and of their own for each survey. A future whose value is missing (no reef is
    left to be measured) gives no density.
    """
    distance = (predicted - measured) / error
    each = -0.5 * distance**2 - np.log(error * math.sqrt(2.0 * math.pi))
    return np.asarray(np.where(np.isnan(each), -np.inf, each).sum(axis=1))


def posterior(prior: Floats, log_density: Floats) -> Floats:
    """Weights after surveys, which sum to 1.

    Parameters
    ----------
    prior : ndarray, (n_futures,)
        Weights before, >= 0. [1]
    log_density : ndarray, (n_futures,)
        From :func:`log_likelihood`.

    Notes
    -----
    Bayes' rule; the sum over the futures of a belief is the belief's weight, since the mean
    density over its futures is the density of the surveys under it.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(softmax(np.log(prior) + log_density))


def effective_number(weights: Floats) -> float:
    r"""Number of futures of one weight that know as much as these. [1].

    Notes
    -----
    :math:`1 / \sum w^2` (read second hand, after Liu, 2001, "Monte Carlo Strategies in Scientific
    Computing"): n for equal weights, 1 where one future has them all.

    Examples
    --------
    >>> effective_number(np.array([0.5, 0.5, 0.0]))
    2.0
    """
    return float(1.0 / np.square(weights).sum())


def drawn(weights: Floats, number: int, start: float) -> NDArray[np.int64]:
    """Futures of one weight that stand for weighted ones.

    Parameters
    ----------
    weights : ndarray, (n_futures,)
        They sum to 1. [1]
    number : int
        How many to draw.
    start : float
        One random number in [0, 1).

    Returns
    -------
    ndarray of int, (number,)
        In rising order; each future as often as its weight times the number, rounded up or down.

    Notes
    -----
    Systematic resampling (from memory, after Kitagawa, 1996, "Monte Carlo filter and smoother").
    """
    steps = (start + np.arange(number)) / number
    ladder = np.cumsum(weights)
    return np.minimum(np.searchsorted(ladder / ladder[-1], steps, side="right"), weights.size - 1)


def error_factor(
    prior: Floats, predicted: Floats, measured: Floats, error: Floats, least: float
) -> float:
    """Factor on the errors of all surveys from which enough futures carry the weight. [1].

    Parameters
    ----------
    prior : ndarray, (n_futures,)
        Weights before. [1]
    predicted, measured, error : ndarray
        As in :func:`log_likelihood`.
    least : float
        Effective number of futures wanted, below that of the prior. [1]

    Returns
    -------
    float
        1 where the surveys leave enough futures as they are.

    Notes
    -----
    Surveys that are sharper than the futures are many would leave one of them, and a corrected
    forecast without spread. Larger errors make them say less, never more (tempering; judgement).
    """

    def short(log_factor: float) -> float:
        density = log_likelihood(predicted, measured, error * math.exp(log_factor))
        return effective_number(posterior(prior, density)) - least

    if short(0.0) >= 0.0:
        return 1.0
    most = 1.0
    while short(most) < 0.0:
        most *= 2.0
    return math.exp(brentq(short, 0.0, most, xtol=1e-6))
