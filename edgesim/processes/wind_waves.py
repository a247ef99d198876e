"""Waves that a steady wind raises over a short fetch of shallow water.

Two rivals: the first choice was fitted to a lake of nearly uniform depth, the
second is the older manual method. They differ by up to a fifth in height and more
in period, and that difference is an honest measure of what is not known.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from edgesim.constants import GRAVITY
from edgesim.processes.linear_waves import Floats, checked


def wave_young_verhagen(
    wind_speed: ArrayLike, fetch: ArrayLike, depth: ArrayLike
) -> tuple[Floats, Floats]:
    r"""Significant height and peak period of wind waves in water of finite depth.

    The first choice for open water in front of a marsh.

    Parameters
    ----------
    wind_speed : array_like
        Wind speed 10 m above the water, > 0; leave calm hours out. [m s-1]
    fetch : array_like
        Straight-line distance of open water upwind, > 0. [m]
    depth : array_like
        Mean depth along the fetch, > 0. [m]

    Returns
    -------
    significant_height : ndarray of float64
        Four times the standard deviation of the surface. [m]
    peak_period : ndarray of float64
        Period of the spectrum's peak. [s]

    Raises
    ------
    InvalidParameterError
        If an argument is not finite and > 0.

    Notes
    -----
    With :math:`\delta = gd/U^2` and :math:`\chi = gX/U^2`,

    .. math::
        \frac{g^2 (H/4)^2}{U^4} = 3.64\times10^{-3}
        \{\tanh A_1 \tanh[B_1/\tanh A_1]\}^{1.74},\quad
        \frac{U}{g T} = 0.133 \{\tanh A_2 \tanh[B_2/\tanh A_2]\}^{-0.37}

    :math:`A_1 = 0.493\,\delta^{0.75}`, :math:`B_1 = 3.13\times10^{-3}\chi^{0.57}`,
    :math:`A_2 = 0.331\,\delta^{1.01}`, :math:`B_2 = 5.215\times10^{-4}\chi^{0.73}`.
    Uniform depth, steady wind, fetch-limited. Breaking is not in it: a storm over 0.2 m of
    water gives a height above the depth, so cap it. Provenance: coefficients read in an
    independent implementation of the paper, not in the paper itself.

    References
    ----------
    I. R. Young and L. A. Verhagen, 1996, The growth of fetch limited waves in water
    of finite depth. Part 1.

    Examples
    --------
    >>> height, period = wave_young_verhagen(10.0, 2000.0, 2.0)
    >>> float(height.round(4)), float(period.round(4))
    (0.2117, 1.9117)
    """
    U = checked("wind_speed", wind_speed, "m/s")
    chi = GRAVITY * checked("fetch", fetch, "m") / U**2
    delta = GRAVITY * checked("depth", depth, "m") / U**2
    tanh_a1 = np.tanh(0.493 * delta**0.75)
    tanh_a2 = np.tanh(0.331 * delta**1.01)
    energy = 3.64e-3 * (tanh_a1 * np.tanh(3.13e-3 * chi**0.57 / tanh_a1)) ** 1.74
    frequency = 0.133 * (tanh_a2 * np.tanh(5.215e-4 * chi**0.73 / tanh_a2)) ** -0.37
    return 4.0 * np.sqrt(energy) * U**2 / GRAVITY, U / (GRAVITY * frequency)


def wave_spm(wind_speed: ArrayLike, fetch: ArrayLike, depth: ArrayLike) -> tuple[Floats, Floats]:
    r"""Significant height and period by the older shallow-water manual method.

    Parameters
    ----------
    wind_speed : array_like
        Wind speed 10 m above the water, > 0; leave calm hours out. [m s-1]
    fetch : array_like
        Straight-line distance of open water upwind, > 0. [m]
    depth : array_like
        Mean depth along the fetch, > 0. [m]

    Returns
    -------
    significant_height : ndarray of float64
        Significant height. [m]
    significant_period : ndarray of float64
        Significant period, about 0.95 of a peak period. [s]

    Raises
    ------
    InvalidParameterError
        If an argument is not finite and > 0.

    Notes
    -----
    With the wind-stress factor :math:`U_A = 0.71\,U^{1.23}`,

    .. math::
        \frac{gH}{U_A^2} = 0.283 \tanh a \tanh\frac{0.00565\,(gX/U_A^2)^{1/2}}{\tanh a},
        \quad
        \frac{gT}{U_A} = 7.54 \tanh b \tanh\frac{0.0379\,(gX/U_A^2)^{1/3}}{\tanh b}

    :math:`a = 0.530\,(gd/U_A^2)^{0.75}`, :math:`b = 0.833\,(gd/U_A^2)^{0.375}`.
    Steady wind, fetch-limited. Provenance: from memory; its deep-water limits
    0.0016 and 0.286 were read in a worked example.

    References
    ----------
    US Army Corps of Engineers, 1984, Shore Protection Manual.
    """
    UA = 0.71 * checked("wind_speed", wind_speed, "m/s") ** 1.23
    chi = GRAVITY * checked("fetch", fetch, "m") / UA**2
    delta = GRAVITY * checked("depth", depth, "m") / UA**2
    tanh_a = np.tanh(0.530 * delta**0.75)
    tanh_b = np.tanh(0.833 * delta**0.375)
    height = 0.283 * tanh_a * np.tanh(0.00565 * np.sqrt(chi) / tanh_a) * UA**2 / GRAVITY
    period = 7.54 * tanh_b * np.tanh(0.0379 * np.cbrt(chi) / tanh_b) * UA / GRAVITY
    return height, period


def rms_height(significant_height: ArrayLike) -> Floats:
    r"""Height of the regular wave that carries the energy of an irregular sea.

    Parameters
    ----------
    significant_height : array_like
        Four times the standard deviation of the surface, >= 0. [m]

    Returns
    -------
    ndarray of float64
        Root-mean-square height :math:`H_{m0} / \sqrt 2`. [m]

    Raises
    ------
    InvalidParameterError
        If a height is not finite and >= 0.

    Notes
    -----
    Energy :math:`\rho g H^2/8` of the regular wave equals :math:`\rho g H_{m0}^2/16`.
    """
    height = checked("significant_height", significant_height, "m", allow_zero=True)
    return height / math.sqrt(2.0)
