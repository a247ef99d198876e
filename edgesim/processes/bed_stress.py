"""Stress that waves and currents put on the bed, and the wave energy it costs.

The stress formulas are compiled and take one number each; the two functions of a
whole wave (period, depth) are set-up code and take arrays. Choose the smooth wave
friction on mud, the rough one on shell or stems.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from edgesim.constants import GRAVITY, WATER_DENSITY, WATER_VISCOSITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import (
    Floats,
    checked,
    group_velocity,
    near_bed_velocity,
)

VON_KARMAN = 0.4
"""Constant of the logarithmic velocity profile (from memory). [1]"""

LAMINAR_REYNOLDS_LIMIT = 5e5
"""Wave Reynolds number above which the layer over a smooth bed is turbulent. [1]"""


@kernel
def wave_friction_smooth(u_bed: float, period: float) -> float:
    r"""Wave friction factor of a smooth bed.

    Parameters
    ----------
    u_bed : float
        Velocity amplitude above the boundary layer, >= 0. [m s-1]
    period : float
        Wave period, > 0. [s]

    Returns
    -------
    float
        Friction factor, 0 for water at rest. [1]

    Notes
    -----
    :math:`f_w = 2 R_w^{-1/2}` up to :math:`R_w = u_b^2 T / (2 \pi \nu) = 5\times10^5`
    (laminar, exact), :math:`0.0521 R_w^{-0.187}` above, where it jumps up by 58 %.
    Provenance: read in an independent implementation, not in the book itself.

    References
    ----------
    R. Soulsby, 1997, Dynamics of marine sands.
    """
    if u_bed <= 0.0:
        return 0.0
    reynolds = u_bed**2 * period / (2.0 * math.pi * WATER_VISCOSITY)
    if reynolds <= LAMINAR_REYNOLDS_LIMIT:
        return 2.0 / math.sqrt(reynolds)
    return float(0.0521 * reynolds**-0.187)


@kernel
def wave_friction_rough(u_bed: float, period: float, z0: float) -> float:
    r"""Wave friction factor of a rough bed.

    Parameters
    ----------
    u_bed : float
        Velocity amplitude above the boundary layer, >= 0. [m s-1]
    period : float
        Wave period, > 0. [s]
    z0 : float
        Roughness length of the bed, > 0. [m]

    Returns
    -------
    float
        Friction factor, 0 for water at rest. [1]

    Notes
    -----
    :math:`f_w = 1.39 (A/z_0)^{-0.52}`, orbital amplitude :math:`A = u_b T / 2\pi`; a fit
    for turbulent flow with :math:`A` well above :math:`z_0`. Provenance: its equal
    :math:`0.237 (A/30 z_0)^{-0.52}` read in an independent implementation of the book.

    References
    ----------
    R. Soulsby, 1997, Dynamics of marine sands.
    """
    if u_bed <= 0.0:
        return 0.0
    amplitude = u_bed * period / (2.0 * math.pi)
    return float(1.39 * (amplitude / z0) ** -0.52)


@kernel
def wave_stress(u_bed: float, friction: float) -> float:
    r"""Largest bed stress within a wave, :math:`\tau_w = \rho f_w u_b^2 / 2`.

    Parameters
    ----------
    u_bed : float
        Velocity amplitude above the boundary layer. [m s-1]
    friction : float
        Wave friction factor. [1]

    Returns
    -------
    float
        Stress amplitude. [Pa]
    """
    return 0.5 * WATER_DENSITY * friction * u_bed**2


@kernel
def current_stress(speed: float, depth: float, z0: float) -> float:
    r"""Bed stress of a steady current with a logarithmic profile.

    Parameters
    ----------
    speed : float
        Depth-averaged speed, >= 0. [m s-1]
    depth : float
        Water depth, far above `z0` (at least ten times). [m]
    z0 : float
        Roughness length of the bed, > 0. [m]

    Returns
    -------
    float
        Bed stress. [Pa]

    Notes
    -----
    :math:`\tau_c = \rho [\kappa / (\ln(h/z_0) - 1)]^2 U^2`, the depth mean of the
    logarithmic law (exact for z0 << h).
    """
    drag = (VON_KARMAN / (math.log(depth / z0) - 1.0)) ** 2
    return WATER_DENSITY * drag * speed**2


@kernel
def mean_stress(current: float, wave: float) -> float:
    r"""Bed stress averaged over a wave that rides on a current.

    Mud settles against this stress.

    Parameters
    ----------
    current : float
        Stress of the current alone, >= 0. [Pa]
    wave : float
        Stress amplitude of the wave alone, >= 0. [Pa]

    Returns
    -------
    float
        Mean stress, along the current. [Pa]

    Notes
    -----
    :math:`\tau_m = \tau_c [1 + 1.2 (\tau_w / (\tau_c + \tau_w))^{3.2}]`; a fit to data
    of rough turbulent beds. Provenance: from memory.

    References
    ----------
    R. Soulsby, 1997, Dynamics of marine sands.
    """
    if current <= 0.0:
        return 0.0
    return float(current * (1.0 + 1.2 * (wave / (current + wave)) ** 3.2))


@kernel
def maximum_stress(mean: float, wave: float, angle: float) -> float:
    r"""Largest bed stress within a wave that rides on a current.

    Mud erodes under this stress.

    Parameters
    ----------
    mean : float
        Stress averaged over the wave. [Pa]
    wave : float
        Stress amplitude of the wave alone. [Pa]
    angle : float
        Angle between wave and current. [rad]

    Returns
    -------
    float
        Length of the vector sum of both. [Pa]

    References
    ----------
    R. Soulsby, 1997, Dynamics of marine sands.
    """
    return math.hypot(mean + wave * math.cos(angle), wave * math.sin(angle))


def laminar_stress_coefficient(period: ArrayLike) -> Floats:
    r"""Stress amplitude on a smooth bed per unit of bed velocity, laminar layer.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]

    Returns
    -------
    ndarray of float64
        Coefficient :math:`\rho \sqrt{2 \pi \nu / T}`. [Pa s m-1]

    Raises
    ------
    InvalidParameterError
        If a period is not finite and > 0.

    Notes
    -----
    With :math:`f_w = 2 R_w^{-1/2}` the stress :math:`\rho f_w u_b^2 / 2` is linear in
    :math:`u_b`; it equals the exact solution over an oscillating plate. Holds up to
    :math:`R_w = 5\times10^5`.

    References
    ----------
    H. Lamb, 1932, Hydrodynamics (oscillating plate; from memory).
    """
    return WATER_DENSITY * np.sqrt(2.0 * np.pi * WATER_VISCOSITY / checked("period", period, "s"))


def friction_decay_rate(period: ArrayLike, depth: ArrayLike) -> Floats:
    r"""Share of its energy flux that a wave loses per metre over a smooth bed.

    Parameters
    ----------
    period : array_like
        Wave period, > 0. [s]
    depth : array_like
        Still-water depth, > 0. [m]

    Returns
    -------
    ndarray of float64
        Rate :math:`\alpha` in :math:`dF/dx = -\alpha F`. [m-1]

    Raises
    ------
    InvalidParameterError
        If a period or depth is not finite and > 0.

    Notes
    -----
    The loss per area is :math:`\varepsilon = \frac{2}{3\pi} \rho f_w u_b^3`, which for the
    laminar smooth layer is :math:`\frac{4}{3\pi} \rho \sqrt{2\pi\nu/T}\, u_b^2`: linear in
    the energy, so the rate does not depend on height. This form takes stress and
    velocity to be in phase; in an exactly laminar layer the stress leads by 45
    degrees and the loss is smaller by the factor 8 sqrt(2) / (3 pi) = 1.20.
    """
    loss = 4.0 / (3.0 * np.pi) * laminar_stress_coefficient(period)
    velocity_squared = near_bed_velocity(1.0, period, depth) ** 2
    energy = WATER_DENSITY * GRAVITY / 8.0
    return loss * velocity_squared / (energy * group_velocity(period, depth))
