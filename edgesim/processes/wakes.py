"""Height, period, direction and energy of the waves that a passing boat makes.

Rival height formulas stand side by side; each gives the highest wave of the packet
at a lateral distance from the sailing line and already holds the decay with that
distance (do not decay twice, nor use one within about a boat length). Which to take:
``wake_height_maynord`` for planing recreational boats, ``wake_height_kriebel_seelig``
for hulls that push through the water, the other two as second opinions.

Direction and period are those of ``wake_pattern``.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from edgesim.constants import GRAVITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import Floats, checked, energy_flux
from edgesim.processes.wake_pattern import depth_froude


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
