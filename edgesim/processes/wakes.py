"""Height, period, direction and energy of the waves that a passing boat makes.

Rival height formulas stand side by side; each gives the highest wave of the packet
at a lateral distance from the sailing line and already holds the decay with that
distance (do not decay twice, nor use one within about a boat length). Which to take:
``wake_height_maynord`` for planing recreational boats, ``wake_height_kriebel_seelig``
for hulls that push through the water, the other two as second opinions.

Direction and period come from the exact kinematics of a steady wave pattern: every
wave that keeps station with a boat of speed V has phase speed c = V cos(theta).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from edgesim.constants import GRAVITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import Floats, checked, energy_flux

CLOSED_FORM_LIMIT = 0.01
"""kh below which the cusp's closed form (relative error 5e-6 there) is better than an iteration
that suffers from cancellation; depth Froude numbers above 0.99999 (computed). [1]"""


@kernel
def volume_froude(speed: float, displaced_volume: float) -> float:
    r"""Speed over the wave speed of the hull's volume, :math:`V / \sqrt{g \nabla^{1/3}}`.

    Parameters
    ----------
    speed, displaced_volume : float
        Speed through the water [m s-1]; boat's mass over the water's density, > 0. [m3]

    Returns
    -------
    float
        Volume Froude number; a hull planes fully above about 3 (from memory). [1]
    """
    return speed / math.sqrt(GRAVITY * displaced_volume ** (1.0 / 3.0))


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
def length_froude(speed: float, waterline_length: float) -> float:
    r"""Speed over the wave speed of the hull's length, :math:`V / \sqrt{g L}`.

    Parameters
    ----------
    speed, waterline_length : float
        Speed through the water [m s-1] and length of the hull at the waterline, > 0. [m]

    Returns
    -------
    float
        Length Froude number; wakes are largest at about 0.4 to 0.55 (from memory). [1]
    """
    return speed / math.sqrt(GRAVITY * waterline_length)


@kernel
def wake_height_maynord(
    speed: float, displaced_volume: float, distance: float, hull_constant: float
) -> float:
    r"""Highest wave of a planing or nearly planing recreational boat.

    Parameters
    ----------
    speed, displaced_volume : float
        Speed through the water [m s-1]; boat's mass over the water's density, > 0. [m3]
    distance : float
        Lateral distance from the sailing line, > 0. [m]
    hull_constant : float
        Constant of the hull's shape, 0.6 (flat) to 1.0, about 0.82 for V hulls. [1]

    Returns
    -------
    float
        Height of the highest wave. [m]

    Notes
    -----
    :math:`H = C\, \nabla^{1/3} F_\nabla^{-0.58} (x / \nabla^{1/3})^{-0.42}`. Fitted to boats
    of 5 to 6 m; falls with speed, so not for volume Froude numbers below about 2.
    Provenance: from memory, the hull constant least certain.

    References
    ----------
    S. T. Maynord, 2005, Wave height from planing and semi-planing small boats.
    """
    size = displaced_volume ** (1.0 / 3.0)
    froude = volume_froude(speed, displaced_volume)
    return float(hull_constant * size * froude**-0.58 * (distance / size) ** -0.42)


@kernel
def wake_height_kriebel_seelig(
    speed: float,
    waterline_length: float,
    draft: float,
    depth: float,
    block_coefficient: float,
    distance: float,
    entrance_length: float,
) -> float:
    r"""Highest wave of a hull that pushes through the water.

    Parameters
    ----------
    speed, waterline_length, draft, depth : float
        Speed through the water [m s-1]; length and draft of the hull; channel's depth, > 0. [m]
    block_coefficient : float
        Displaced volume over length times beam times draft, 0 to 1. [1]
    distance, entrance_length : float
        Lateral distance from the sailing line; length over which the bow widens, > 0. [m]

    Returns
    -------
    float
        Height of the highest wave, 0 for slow boats. [m]

    Notes
    -----
    .. math::
        \frac{gH}{V^2} = \beta (F_* - 0.1)^2 (y/L)^{-1/3},\quad
        F_* = F_L \exp(a D / h),\quad a = 2.35 (1 - C_b),\quad
        \beta = 1 + 8 \tanh^3[0.45 (L/L_e - 2)]

    Displacement hulls below the critical speed of the depth. Provenance: from memory.

    References
    ----------
    D. L. Kriebel and W. N. Seelig, 2005, An empirical model for ship-generated waves.
    """
    shallow = 2.35 * (1.0 - block_coefficient) * draft / depth
    excess = length_froude(speed, waterline_length) * math.exp(shallow) - 0.1
    if excess <= 0.0:
        return 0.0
    bow = 1.0 + 8.0 * math.tanh(0.45 * (waterline_length / entrance_length - 2.0)) ** 3
    decay = (distance / waterline_length) ** (-1.0 / 3.0)
    return float(speed**2 / GRAVITY * bow * excess**2 * decay)


@kernel
def wake_height_weggel_sorensen(
    speed: float, displaced_volume: float, depth: float, distance: float
) -> float:
    r"""Highest wave of a vessel known by its displacement alone.

    Parameters
    ----------
    speed, displaced_volume : float
        Speed through the water [m s-1]; vessel's mass over the water's density, > 0. [m3]
    depth, distance : float
        Depth of the channel and lateral distance from the sailing line, > 0. [m]

    Returns
    -------
    float
        Height of the highest wave. [m]

    Notes
    -----
    With lengths over :math:`\nabla^{1/3}` and F the depth Froude number,
    :math:`H_* = A x_*^n`, :math:`n = b\, d_*^e`,
    :math:`\log_{10} A = p + q \log_{10} d_* + r \log_{10}^2 d_*`,
    :math:`p = -0.6/F`, :math:`q = 0.75 F^{-1.125}`, :math:`r = 2.653 F - 1.95`;
    :math:`b = -0.225 F^{-0.699}`, :math:`e = -0.118 F^{-0.356}` below F = 0.55 and
    -0.342, -0.146 above. For 0.2 <= F <= 0.8; not for planing hulls.
    Provenance: from memory.

    References
    ----------
    J. R. Weggel and R. M. Sorensen, 1986, Ship wave prediction for port and channel design.
    """
    size = displaced_volume ** (1.0 / 3.0)
    F = depth_froude(speed, depth)
    b, e = -0.342, -0.146
    if F < 0.55:
        b, e = -0.225 * F**-0.699, -0.118 * F**-0.356
    log_depth = math.log10(depth / size)
    log_a = -0.6 / F + 0.75 * F**-1.125 * log_depth + (2.653 * F - 1.95) * log_depth**2
    exponent = b * (depth / size) ** e
    return float(size * 10.0**log_a * (distance / size) ** exponent)


@kernel
def wake_height_bhowmik(
    speed: float, distance: float, waterline_length: float, draft: float
) -> float:
    r"""Highest wave of a recreational boat, fitted on a large river.

    Parameters
    ----------
    speed, distance, waterline_length, draft : float
        Speed through the water [m s-1]; distance from the sailing line, size of boat, > 0. [m]

    Returns
    -------
    float
        Height of the highest wave. [m]

    Notes
    -----
    :math:`H = 0.537\, V^{-0.346} x^{-0.345} L^{0.56} D^{0.355}` in metres and seconds.
    Provenance: from memory.

    References
    ----------
    N. G. Bhowmik and others, 1991, Waves generated by recreational traffic on the Upper
    Mississippi River System.
    """
    return float(0.537 * speed**-0.346 * distance**-0.345 * waterline_length**0.56 * draft**0.355)


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
    excess = 4.0 * kh * math.exp(-2.0 * kh) / -math.expm1(-4.0 * kh)  # 2kh / sinh 2kh = 2n - 1
    n = 0.5 * (1.0 + excess)
    n_slope = excess / (2.0 * kh) * (1.0 - 2.0 * kh / math.tanh(2.0 * kh))
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
    With :math:`G = kh\, u / \tanh kh = F^{-2}` the quantity :math:`\sqrt{G^2 - 1}` is
    2/3 kh within 5 % at every depth, so :math:`\tfrac32 \sqrt{F^{-4} - 1}` is a good start
    and scaling by the ratio of wanted to found converges (factor 0.14 or better a turn).
    """
    if froude >= 1.0:
        return 0.0
    target = math.sqrt(froude**-4 - 1.0)
    kh = 1.5 * target
    if kh < CLOSED_FORM_LIMIT:
        return kh
    for _ in range(12):
        found = kh * cusp_cosine_squared(kh) / math.tanh(kh)
        kh *= target / math.sqrt(found**2 - 1.0)
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
def cusp_period(speed: float, depth: float) -> float:
    r"""Period of the waves at the cusp of the pattern.

    Parameters
    ----------
    speed, depth : float
        Speed through the water [m s-1] and depth of the channel, > 0. [m]

    Returns
    -------
    float
        Period, infinite at and above the critical speed. [s]

    Notes
    -----
    :math:`T = 2\pi h / (kh\, V \cos\theta)`; in deep water
    :math:`2\pi V \sqrt{2/3} / g = 0.523\,V`.
    """
    kh = cusp_number(depth_froude(speed, depth))
    if kh <= 0.0:
        return math.inf
    return 2.0 * math.pi * depth / (kh * speed * math.sqrt(cusp_cosine_squared(kh)))


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
def wake_period(speed: float, depth: float, waterline_length: float) -> float:
    r"""Period of a boat's highest waves: that of the cusp, or of the hull if shorter.

    Parameters
    ----------
    speed, depth, waterline_length : float
        Speed through the water [m s-1]; depth of the channel and length of the hull, > 0. [m]

    Returns
    -------
    float
        Wave period. [s]

    Notes
    -----
    The smaller of two is judgement without measurements behind it: give the period a
    spread of about 25 % in an uncertainty study.
    """
    return min(cusp_period(speed, depth), hull_limited_period(waterline_length, depth))


@kernel
def wake_direction(speed: float, depth: float) -> float:
    r"""Angle between the sailing line and the travel of the highest waves.

    Exact; where the hull sets the period take :func:`hull_limited_direction`.

    Parameters
    ----------
    speed, depth : float
        Speed through the water [m s-1] and depth of the channel, > 0. [m]

    Returns
    -------
    float
        Direction: 35.26 degrees in deep water, 0 at the critical speed. [rad]
    """
    froude = depth_froude(speed, depth)
    if froude >= 1.0:
        return math.acos(1.0 / froude)
    return math.acos(math.sqrt(cusp_cosine_squared(cusp_number(froude))))


@kernel
def hull_limited_direction(speed: float, depth: float, waterline_length: float) -> float:
    r"""Travel direction of the wave that is as long as the hull, :math:`\cos\theta = c/V`.

    Parameters
    ----------
    speed, depth, waterline_length : float
        Speed through the water [m s-1]; depth of the channel and length of the hull, > 0. [m]

    Returns
    -------
    float
        Angle against the sailing line, 0 for a boat slower than that wave. [rad]
    """
    wave_speed = waterline_length / hull_limited_period(waterline_length, depth)
    return math.acos(min(1.0, wave_speed / speed))


@kernel
def equivalent_waves(n_waves: float) -> float:
    r"""Full-height waves that together carry the energy of a packet.

    Parameters
    ----------
    n_waves : float
        Waves in the packet, >= 1 (need not be whole). [1]

    Returns
    -------
    float
        :math:`\sum (H_i / H_{max})^2`, at least 1. [1]

    Notes
    -----
    Triangular envelope with peak :math:`H_{max}`, waves at the middle of N equal bins:
    :math:`(N^2 - 1) / (3N)`, N/3 for long packets. If the highest wave itself has the
    height :math:`H_{max}` the sum is :math:`N(N+1) / (3(N-1))`, 31 % more at N = 8. Judgement.
    """
    return max(1.0, (n_waves**2 - 1.0) / (3.0 * n_waves))


def event_energy(
    height_max: ArrayLike, period: ArrayLike, depth: ArrayLike, equivalent_waves: ArrayLike
) -> Floats:
    r"""Energy that one boat's packet carries through one metre of crest.

    Parameters
    ----------
    height_max, period, depth : array_like
        Height of the highest wave, >= 0 [m]; its period [s] and the water's depth, > 0. [m]
    equivalent_waves : array_like
        Number of waves of full height, > 0, see :func:`equivalent_waves`. [1]

    Returns
    -------
    ndarray of float64
        Energy :math:`(\rho g H^2/8)\, c_g T N_{eq}`. [J m-1]

    Raises
    ------
    InvalidParameterError
        If an argument is out of its range.
    """
    count = checked("equivalent_waves", equivalent_waves, "")
    return energy_flux(height_max, period, depth) * np.asarray(period, dtype=np.float64) * count
