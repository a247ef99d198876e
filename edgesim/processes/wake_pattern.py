"""Direction and period of a boat's waves: exact kinematics of a steady wave pattern.

Every wave that keeps station with a boat of speed V has phase speed c = V cos(theta); the highest
waves are those of the cusp, where the pattern's waves pile up.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from edgesim.constants import GRAVITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import Floats, checked

CLOSED_FORM_LIMIT = 0.01
"""kh below which the cusp's closed form (relative error 5e-6 there) is better than an iteration
that suffers from cancellation; depth Froude numbers above 0.99999 (computed). [1]"""

LAST_STEP = 1e-8
"""Step over kh after which the cusp is found: the secant method's next would lie below the rounding. [1]"""


@kernel
def depth_froude(speed: float, depth: float) -> float:
    r"""Speed over the speed of long waves, :math:`V / \sqrt{g h}`.

    Parameters
    ----------
    speed, depth : float
        Speed through the water [m s-1] and depth of the channel, > 0. [m]

    Returns
    -------
    float
        Depth Froude number; the wave pattern changes near 1. [1]
    """
    return speed / math.sqrt(GRAVITY * depth)


@kernel
def cusp_cosine_squared(kh: float) -> float:
    r"""Squared cosine of the direction of the cusp wave whose number is kh.

    Parameters
    ----------
    kh : float
        Wavenumber times depth of the wave at the cusp, > 0. [1]

    Returns
    -------
    float
        :math:`u = \cos^2\theta = (c/V)^2`: 2/3 in deep water, 1 in shallow water. [1]

    Notes
    -----
    A wave packet leaves the sailing line at :math:`\tan\alpha = n \sqrt{u(1-u)} / (1 - nu)`,
    and the cusp is where :math:`\alpha` is largest. With
    :math:`d \ln u / d(kh) = -2(1-n)/kh = -s` the condition is linear in u:
    :math:`u = (s n - 2 n') / (s n (2 - n) - 2 n')`. Derived here, exact.
    """
    return cusp_of_decay(kh, -math.expm1(-2.0 * kh))


@kernel
def cusp_of_decay(kh: float, fall: float) -> float:
    """The same, with 1 - exp(-2 kh) known: all hyperbolic functions of kh follow from it. [1]."""
    e = 1.0 - fall
    one_less_e_squared = fall * (2.0 - fall)
    excess = 4.0 * kh * e / one_less_e_squared  # 2kh / sinh 2kh = 2n - 1
    n = 0.5 * (1.0 + excess)
    n_slope = excess / (2.0 * kh) * (1.0 - 2.0 * kh * (1.0 + e * e) / one_less_e_squared)
    sn = n * (1.0 - excess) / kh
    return (sn - 2.0 * n_slope) / (sn * (2.0 - n) - 2.0 * n_slope)


@kernel
def cusp_number(froude: float) -> float:
    r"""Wavenumber times depth of the wave at the cusp of the pattern.

    Parameters
    ----------
    froude : float
        Depth Froude number, > 0. [1]

    Returns
    -------
    float
        kh, 0 at and above the critical speed where the leading wave is long. [1]

    Notes
    -----
    With :math:`G = kh\, u / \tanh kh = F^{-2}` the quantity :math:`\tfrac32 \sqrt{G^2 - 1}` is
    kh within 5 % at every depth, so :math:`\tfrac32 \sqrt{F^{-4} - 1}` is a good start, and the
    secant method gains digits fast. Every boat that is drawn comes through here.
    """
    if froude >= 1.0:
        return 0.0
    wanted = 1.5 * math.sqrt(froude**-4 - 1.0)
    kh = wanted
    if kh < CLOSED_FORM_LIMIT:
        return kh
    slope, step, before = 1.0, 0.0, 0.0
    for _ in range(12):
        fall = -math.expm1(-2.0 * kh)
        ratio = kh * cusp_of_decay(kh, fall) * (2.0 - fall) / fall
        off = 1.5 * math.sqrt(ratio * ratio - 1.0) - wanted
        if step != 0.0:
            # The bounds hold at every depth; rounding near the critical speed knows none.
            slope = min(1.2, max(0.8, (off - before) / step))
        step, before = -off / slope, off
        kh += step
        if abs(step) < LAST_STEP * kh:
            break
    return kh


def cusp_kinematics(froude: ArrayLike) -> tuple[Floats, Floats, Floats]:
    r"""Shape of the wave pattern at a depth Froude number.

    Parameters
    ----------
    froude : array_like
        Depth Froude number, > 0. [1]

    Returns
    -------
    half_angle, direction : ndarray of float64
        Angles of the line of highest waves, and of their travel, to the sailing line. [rad]
    kh : ndarray of float64
        Their wavenumber times depth, 0 at and above the critical speed. [1]

    Raises
    ------
    InvalidParameterError
        If a Froude number is not finite and > 0.

    Notes
    -----
    Below 1: stationary phase, exact for a point-like boat and small waves. Above 1 only
    diverging waves remain; the leading one travels at :math:`\cos\theta = 1/F` and its
    crest lies at :math:`\sin\alpha = 1/F`.

    References
    ----------
    T. H. Havelock, 1908, The propagation of groups of waves in dispersive media (from memory).
    """
    froude = checked("froude", froude, "")
    kh = np.asarray(np.vectorize(cusp_number, otypes=[np.float64])(froude))
    below = froude < 1.0
    safe = np.where(below, kh, 1.0)
    u = np.vectorize(cusp_cosine_squared, otypes=[np.float64])(safe)
    n = 0.5 + 2.0 * safe * np.exp(-2.0 * safe) / -np.expm1(-4.0 * safe)
    inverse = np.minimum(1.0, 1.0 / froude)
    spread = np.arctan2(n * np.sqrt(u * (1.0 - u)), 1.0 - n * u)
    half_angle = np.where(below, spread, np.arcsin(inverse))
    direction = np.arccos(np.where(below, np.sqrt(u), inverse))
    return half_angle, direction, kh


@kernel
def cusp_wave(speed: float, depth: float) -> tuple[float, float]:
    r"""Period and direction of the waves at the cusp of the pattern.

    Parameters
    ----------
    speed, depth : float
        Speed through the water [m s-1] and depth of the channel, > 0. [m]

    Returns
    -------
    tuple of float
        Period, infinite at and above the critical speed [s], and the cosine of the angle between
        the sailing line and their travel. [1]

    Notes
    -----
    :math:`T = 2\pi h / (kh\, V \cos\theta)`; in deep water
    :math:`2\pi V \sqrt{2/3} / g = 0.523\,V`. Above the critical speed the leading wave travels at
    :math:`\cos\theta = 1/F`.
    """
    froude = depth_froude(speed, depth)
    if froude >= 1.0:
        return math.inf, 1.0 / froude
    kh = cusp_number(froude)
    along = math.sqrt(cusp_cosine_squared(kh))
    return 2.0 * math.pi * depth / (kh * speed * along), along


@kernel
def hull_limited_period(waterline_length: float, depth: float) -> float:
    r"""Period of the wave that is as long as the hull.

    Parameters
    ----------
    waterline_length, depth : float
        Length of the hull at the waterline and depth of the channel, > 0. [m]

    Returns
    -------
    float
        Period :math:`2\pi / \sqrt{g k \tanh kh}` with :math:`k = 2\pi/L`. [s]

    Notes
    -----
    A hull makes no wave much longer than itself; equating the two lengths is judgement.

    References
    ----------
    M. Rabaud and F. Moisy, 2013, Ship wakes: Kelvin or Mach angle? (idea; from memory).
    """
    k = 2.0 * math.pi / waterline_length
    return 2.0 * math.pi / math.sqrt(GRAVITY * k * math.tanh(k * depth))


@kernel
def highest_wave(
    speed: float, depth: float, waterline_length: float, hull_period: float
) -> tuple[float, float]:
    r"""Period and direction of a boat's highest waves: those of the cusp, or as long as the hull.

    Parameters
    ----------
    speed, depth, waterline_length : float
        Speed through the water [m s-1]; depth of the channel and length of the hull, > 0. [m]
    hull_period : float
        Period of :func:`hull_limited_period`, which is worked out once a boat class. [s]

    Returns
    -------
    tuple of float
        Period [s], and the cosine of the angle between the sailing line and their travel. [1]

    Notes
    -----
    The shorter of the two, which travels where it keeps up with the boat:
    :math:`\cos\theta = c/V`. That the hull sets a limit is judgement without measurements behind
    it: give the period a spread of about 25 % in an uncertainty study.
    """
    period, along = cusp_wave(speed, depth)
    if period > hull_period:
        return hull_period, min(1.0, waterline_length / hull_period / speed)
    return period, along
