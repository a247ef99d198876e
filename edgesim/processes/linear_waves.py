"""Linear (Airy) waves over a flat bed: length, speed, energy, bed velocity, breaking.

Everything is set-up code: arguments are numbers or arrays that broadcast, results
are numpy arrays of the broadcast shape. Heights are crest to trough of one regular
wave. All formulas but the two breaking limits are exact for waves of small steepness.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError

Floats = NDArray[np.float64]

TWO_PI = 2.0 * np.pi


def checked(name: str, values: ArrayLike, unit: str, *, allow_zero: bool = False) -> Floats:
    """Array of finite positive numbers, or an error that says which are not.

    Parameters
    ----------
    name : str
        Argument as the caller knows it.
    values : array_like
        Values to check, any shape.
    unit : str
        Unit that the message shows.
    allow_zero : bool, default False
        Accept 0 as well.

    Returns
    -------
    ndarray of float64
        The values, unchanged.

    Raises
    ------
    InvalidParameterError
        If any value is not finite, negative, or 0 where that is not allowed.
    """
    array = np.asarray(values, dtype=np.float64)
    lowest = array >= 0.0 if allow_zero else array > 0.0
    wrong = ~(np.isfinite(array) & lowest)
    if np.any(wrong):
        bound = ">= 0" if allow_zero else "> 0"
        first = int(np.flatnonzero(wrong)[0])
        message = (
            f"{name} must be finite and {bound} {unit}; {int(wrong.sum())} of {array.size} values "
            f"are not (first: {float(array.flat[first])} at flat index {first})."
        )
        raise InvalidParameterError(message)
    return array


def wavenumber(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Wavenumber of a wave of given period in water of given depth.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Wavenumber, 2 pi over the wavelength. [m-1]

    Raises
    ------
    InvalidParameterError
        If a period or depth is not finite and > 0.

    Notes
    -----
    Solves :math:`\omega^2 = g k \tanh kh` for :math:`y = kh`: the explicit form
    :math:`y = m (1 - e^{-m^{1.2454}})^{-0.4015}`, :math:`m = \omega^2 h / g`
    (Guo; constants read in an independent implementation), then two Newton steps.
    Relative error below 2e-10 for kh from 1e-4 to 100.

    References
    ----------
    J. Guo, 2002, Simple and explicit solution of wave dispersion equation.

    Examples
    --------
    >>> float((2 * np.pi / wavenumber(10.0, 3.0)).round(2))
    53.16
    """
    period = checked("period", period, "s")
    depth = checked("depth", depth, "m")
    m = (TWO_PI / period) ** 2 * depth / GRAVITY
    y = m * (-np.expm1(-(m**1.2454))) ** -0.4015
    for _ in range(2):
        tangent = np.tanh(y)
        slope = y * (1.0 - tangent**2)
        y = (m + y * slope) / (tangent + slope)
    return np.asarray(y / depth)


def phase_speed(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Speed of the crests, :math:`c = \omega / k`.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Phase speed. [m s-1]
    """
    return TWO_PI / (np.asarray(period, dtype=np.float64) * wavenumber(period, depth))


def group_ratio(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Speed of the energy over speed of the crests: 1/2 in deep, 1 in shallow water.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Ratio :math:`n = (1 + 2kh / \sinh 2kh) / 2`. [1]

    Notes
    -----
    The hyperbolic sine is written with decaying exponentials, so that very deep
    water does not overflow.
    """
    kh = wavenumber(period, depth) * np.asarray(depth, dtype=np.float64)
    ratio: Floats = 0.5 + 2.0 * kh * np.exp(-2.0 * kh) / -np.expm1(-4.0 * kh)
    return ratio


def group_velocity(period: ArrayLike, depth: ArrayLike) -> Floats:
    """Speed at which wave energy travels.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Group velocity. [m s-1]
    """
    return group_ratio(period, depth) * phase_speed(period, depth)


def energy_flux(height: ArrayLike, period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Power that a regular wave carries through one metre of crest.

    Parameters
    ----------
    height : array_like
        Height of the wave, >= 0. [m]
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Energy flux :math:`P = \rho g H^2 c_g / 8`. [W m-1]

    Raises
    ------
    InvalidParameterError
        If a height is negative, or a period or depth is not > 0.

    Examples
    --------
    >>> float(energy_flux(0.2, 2.0, 1.0).round(2))
    94.17
    """
    height = checked("height", height, "m", allow_zero=True)
    return WATER_DENSITY * GRAVITY * height**2 / 8.0 * group_velocity(period, depth)


def near_bed_velocity(height: ArrayLike, period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Amplitude of the to-and-fro velocity just above the bed's boundary layer.

    Parameters
    ----------
    height : array_like
        Height of the wave, >= 0. [m]
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Velocity amplitude :math:`u_b = \pi H / (T \sinh kh)`. [m s-1]

    Raises
    ------
    InvalidParameterError
        If a height is negative, or a period or depth is not > 0.
    """
    height = checked("height", height, "m", allow_zero=True)
    kh = wavenumber(period, depth) * np.asarray(depth, dtype=np.float64)
    inverse_sinh: Floats = 2.0 * np.exp(-kh) / -np.expm1(-2.0 * kh)
    return np.pi * height / np.asarray(period, dtype=np.float64) * inverse_sinh


def breaking_height(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Largest height that a wave can have, limited by steepness and by depth.

    The first choice for short steep wakes.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Limiting height :math:`0.142\, L \tanh kh`. [m]

    Notes
    -----
    0.142 is the limiting steepness in deep water; in shallow water the limit tends
    to 0.892 of the depth. Flat bed. Provenance: from memory.

    References
    ----------
    R. Miche, 1944, Mouvements ondulatoires de la mer.
    """
    k = wavenumber(period, depth)
    limit: Floats = 0.142 * TWO_PI / k * np.tanh(k * np.asarray(depth, dtype=np.float64))
    return limit


def breaking_height_mccowan(depth: ArrayLike) -> Floats:
    r"""Largest height of a solitary wave, :math:`0.78\, h`.

    Parameters
    ----------
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Limiting height. [m]

    Raises
    ------
    InvalidParameterError
        If a depth is not finite and > 0.

    Notes
    -----
    Very long waves on a flat bed only. Provenance: from memory.

    References
    ----------
    J. McCowan, 1894, On the highest wave of permanent type.
    """
    return 0.78 * checked("depth", depth, "m")


def shoaling_coefficient(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Height in the given depth over height in deep water, crests kept parallel.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Ratio :math:`K_s = \sqrt{c_{g0} / c_g}`, with :math:`c_{g0} = gT / 4\pi`. [1]

    Notes
    -----
    Between two depths take the ratio of their coefficients. No loss of energy.
    """
    deep = GRAVITY * np.asarray(period) / (2.0 * TWO_PI)
    return np.sqrt(deep / group_velocity(period, depth))


def refracted_angle(
    angle: ArrayLike, period: ArrayLike, depth_from: ArrayLike, depth_to: ArrayLike
) -> Floats:
    r"""Direction of a wave after it has passed from one depth to another.

    Parameters
    ----------
    angle : array_like
        Direction of travel against the normal of the depth contours. [rad]
    period : array_like
        Wave period, > 0. [s]
    depth_from, depth_to : array_like
        Still-water depth before and after, > 0. [m]

    Returns
    -------
    ndarray of float64
        New direction against the same normal. [rad]

    Raises
    ------
    InvalidParameterError
        If a depth or period is not > 0, an angle is beyond a right angle, or the
        wave is turned back before it reaches the deeper water.

    Notes
    -----
    Snell's law, :math:`\sin\theta / c` constant over straight parallel contours.
    """
    angle = np.asarray(angle, dtype=np.float64)
    if not np.all(np.abs(angle) <= np.pi / 2.0):
        message = "angle must lie within a right angle (pi/2 rad) on either side of the normal."
        raise InvalidParameterError(message)
    sine = np.sin(angle) * phase_speed(period, depth_to) / phase_speed(period, depth_from)
    if np.any(np.abs(sine) > 1.0):
        message = (
            f"angle: a wave at {float(np.max(np.abs(angle))):.4g} rad is turned back before it "
            "reaches depth_to; give a smaller angle or a smaller depth_to."
        )
        raise InvalidParameterError(message)
    return np.asarray(np.arcsin(sine))
