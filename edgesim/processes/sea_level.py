"""Mean sea level as a quadratic in time, counted from the year 2000."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError

YEARS_TO_2050 = 50.0
"""Time from 2000 to the first target. [yr]"""

YEARS_TO_2100 = 100.0
"""Time from 2000 to the second target. [yr]"""


def rise(years: ArrayLike, rate: float, half_acceleration: float) -> NDArray[np.float64]:
    """Rise of mean sea level above that of the year 2000.

    Parameters
    ----------
    years : array_like
        Time since the start of 2000, any shape. [yr]
    rate : float
        Rate of rise in 2000. [m yr-1]
    half_acceleration : float
        Half the (constant) acceleration. [m yr-2]

    Returns
    -------
    ndarray of float64, same shape as `years`
        Rise, positive upwards. [m]

    Raises
    ------
    InvalidParameterError
        If a number is not finite.

    Notes
    -----
    ``S = a t + b t**2`` (judgement: the simplest curve through a rate and a target). Use it
    between 2000 and 2100; scenarios bend after that.

    Examples
    --------
    >>> float(rise(50.0, 0.0034, 7.6e-5).round(3))
    0.36
    """
    time = np.asarray(years, dtype=np.float64)
    if not (np.isfinite(time).all() and np.isfinite(rate) and np.isfinite(half_acceleration)):
        message = f"years, rate, half_acceleration: must be finite, got {rate}, {half_acceleration}"
        raise InvalidParameterError(message)
    return np.asarray(rate * time + half_acceleration * time**2, dtype=np.float64)


def rate_and_half_acceleration(rise_2050: float, rise_2100: float) -> tuple[float, float]:
    """Coefficients of the quadratic through two targets above the level of 2000.

    Parameters
    ----------
    rise_2050, rise_2100 : float
        Rise by 2050 and by 2100. [m]

    Returns
    -------
    tuple of float
        Rate in 2000 [m yr-1] and half the acceleration [m yr-2], the arguments of `rise`.

    Raises
    ------
    InvalidParameterError
        If a target is not finite.

    Examples
    --------
    >>> rate, half_acceleration = rate_and_half_acceleration(0.36, 1.1)
    >>> round(1000 * rate, 2), round(half_acceleration, 7)
    (3.4, 7.6e-05)
    """
    if not (np.isfinite(rise_2050) and np.isfinite(rise_2100)):
        message = f"rise_2050, rise_2100: must be finite, got {rise_2050}, {rise_2100}"
        raise InvalidParameterError(message)
    slope_2050, slope_2100 = rise_2050 / YEARS_TO_2050, rise_2100 / YEARS_TO_2100
    half_acceleration = (slope_2100 - slope_2050) / (YEARS_TO_2100 - YEARS_TO_2050)
    return slope_2050 - half_acceleration * YEARS_TO_2050, half_acceleration
