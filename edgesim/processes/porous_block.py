r"""How much of a wave passes a porous block as thick as a good part of its length.

Three rows of shell gabions are a quarter of a wavelength across: pressure and velocity change
inside, water that is stored and set in motion in the pores turns some of the wave back, and more
than half of the energy can be lost, which no thin wall can do. The block is described by one
wave that runs to and fro inside it; its two faces match the open water in pressure and discharge.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel
from edgesim.processes.bed_stress import wave_friction_rough
from edgesim.processes.transmission import LORENTZ, dissipation_depth_factor

TURNS = 20
"""Most turns of the search for the drag, of which it needs about five. [1]"""

SETTLED = 1e-5
"""Relative change of the velocity at which the search ends. [1]"""


@kernel
def block_amplitudes(
    wavenumber: float,
    angular_frequency: float,
    thickness: float,
    porosity: float,
    friction: float,
    inertia: float,
) -> tuple[complex, complex, float]:
    r"""Amplitudes behind and in front of a block with linear drag, and the velocity that drag feels.

    Parameters
    ----------
    wavenumber, angular_frequency : float
        In open water, > 0. [m-1, s-1]
    thickness, porosity : float
        Thickness of the block; share of its volume that is water, > 0. [m, 1]
    friction, inertia : float
        Linear friction F and inertia S on the discharge velocity. [s-1, 1]

    Returns
    -------
    transmission, reflection : complex
        Amplitudes at the two faces over that of the incident wave, time factor exp(-iwt). [1]
    velocity : float
        :math:`\int |u|^3 dx / \int |u|^2 dx` in the block, over the incident velocity. [1]

    Notes
    -----
    .. math::
        s = S + iF/\omega,\; q = k\sqrt{n s},\; Z = \sqrt{s/n},\; t = \left[\cos ql - \tfrac{i}{2}(Z + 1/Z)\sin ql\right]^{-1},\;
        r = -\tfrac{i}{2}(Z - 1/Z)\, t \sin ql,\; u(d) = t[\cos qd - \tfrac{i}{Z} \sin qd]

    with d the distance from the rear face; the integrals by Simpson's rule over four intervals.
    Derived here for long waves; the shape of Sollitt and Cross (1972), "Wave transmission through
    permeable breakwaters", and Madsen (1974) (from memory). A block that is thin is the thin wall
    of ``transmission`` in any depth.
    """
    s = complex(inertia, friction / angular_frequency)
    impedance = cmath.sqrt(s / porosity)
    quarter = 0.25 * wavenumber * thickness * cmath.sqrt(porosity * s)
    # cos and sin of a complex number from its exponential.
    forth, back = cmath.exp(1j * quarter), cmath.exp(-1j * quarter)
    cosine, sine = 0.5 * (forth + back), 0.5j * (back - forth)
    # Points 1, 2 and 4 quarters off the rear face, by the sums of angles.
    cosine2, sine2 = cosine * cosine - sine * sine, 2.0 * sine * cosine
    cosine3, sine3 = cosine2 * cosine - sine2 * sine, sine2 * cosine + cosine2 * sine
    cosine4, sine4 = cosine2 * cosine2 - sine2 * sine2, 2.0 * sine2 * cosine2
    half = 0.5j * sine4
    t = 1.0 / (cosine4 - (impedance + 1.0 / impedance) * half)
    r = -(impedance - 1.0 / impedance) * half * t
    admittance = 1j / impedance
    u0 = abs(t)
    u1 = abs(t * (cosine - admittance * sine))
    u2 = abs(t * (cosine2 - admittance * sine2))
    u3 = abs(t * (cosine3 - admittance * sine3))
    u4 = abs(t * (cosine4 - admittance * sine4))
    squares = u0**2 + 4.0 * u1**2 + 2.0 * u2**2 + 4.0 * u3**2 + u4**2
    cubes = u0**3 + 4.0 * u1**3 + 2.0 * u2**3 + 4.0 * u3**3 + u4**3
    return t, r, cubes / squares


@kernel
def block_coefficients(
    height: float,
    angular_frequency: float,
    wavenumber: float,
    depth: float,
    thickness: float,
    porosity: float,
    linear_resistance: float,
    quadratic_resistance: float,
) -> tuple[float, float]:
    r"""Heights transmitted and reflected by an emergent block of rubble, shell or modules.

    Parameters
    ----------
    height : float
        Incident wave height, >= 0. [m]
    angular_frequency, wavenumber, depth : float
        Of the wave, and depth of still water, > 0. [s-1, m-1, m]
    thickness, porosity : float
        Thickness of the block; share of its volume that is water, in (0, 1]. [m, 1]
    linear_resistance, quadratic_resistance : float
        Coefficients of `u` and `|u|u` on the discharge velocity, >= 0. [s-1, m-1]

    Returns
    -------
    transmission, reflection : float
        Coefficients of height; what is missing from the sum of squares is lost in the block. [1]

    Notes
    -----
    The linear drag dissipates as much as the quadratic one (Lorentz):
    :math:`F = \alpha + \frac{8}{3\pi} \beta\, G(kh)\, \bar u`, with the velocity of
    :func:`block_amplitudes`. More drag slows the water, so the search steps to the geometric
    mean of the last guess and what it gives. The inertia is 1/n: the water in the pores, without
    added mass of the grains (judgement).
    """
    celerity = angular_frequency / wavenumber
    surface_velocity = 0.5 * height * GRAVITY / celerity
    drag = LORENTZ * quadratic_resistance * dissipation_depth_factor(wavenumber * depth)
    velocity = 0.5
    t, r = complex(1.0), complex(0.0)
    for _ in range(TURNS):
        t, r, found = block_amplitudes(
            wavenumber,
            angular_frequency,
            thickness,
            porosity,
            linear_resistance + drag * surface_velocity * velocity,
            1.0 / porosity,
        )
        settled = abs(found - velocity) < SETTLED * velocity
        velocity = math.sqrt(velocity * found)
        if settled:
            break
    return abs(t), abs(r)


@kernel
def crest_transmission(
    height: float,
    angular_frequency: float,
    wavenumber: float,
    depth: float,
    width: float,
    roughness: float,
) -> float:
    r"""Height that is left of a wave after it has run over the rough crest of a reef.

    Parameters
    ----------
    height : float
        Wave height, >= 0. [m]
    angular_frequency, wavenumber, depth : float
        Of the wave in the water over the crest, > 0. [s-1, m-1, m]
    width, roughness : float
        Width of the crest, and roughness length z0 of its surface, > 0. [m, m]

    Returns
    -------
    float
        Transmission coefficient of height, in (0, 1]. [1]

    Notes
    -----
    The loss :math:`\frac{2}{3\pi} \rho f_w u_b^3` with a steady friction factor makes the height
    fall as :math:`1/(1 + \gamma x)`, :math:`\gamma = \frac{2}{3\pi} \rho f_w u_b^3 / (2 F)`,
    F the energy flux. The friction factor is that of rough beds (``bed_stress``).
    """
    if height <= 0.0:
        return 1.0
    kh = wavenumber * depth
    celerity = angular_frequency / wavenumber
    velocity = 0.5 * height * angular_frequency / math.sinh(min(kh, 30.0))
    group = 0.5 * celerity * (1.0 + 2.0 * kh / math.sinh(min(2.0 * kh, 60.0)))
    flux = WATER_DENSITY * GRAVITY * height**2 / 8.0 * group
    friction = wave_friction_rough(velocity, 2.0 * math.pi / angular_frequency, roughness)
    loss = 2.0 / (3.0 * math.pi) * WATER_DENSITY * min(friction, 0.5) * velocity**3
    return 1.0 / (1.0 + 0.5 * loss / flux * width)


def block_transmission(
    wavenumber: ArrayLike,
    angular_frequency: ArrayLike,
    thickness: ArrayLike,
    porosity: ArrayLike,
    friction: ArrayLike,
    *,
    inertia: float = 1.0,
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    r"""Transmission and reflection of long waves by a thick porous block.

    Parameters
    ----------
    wavenumber, angular_frequency : array_like
        In open water, > 0. [m-1, s-1]
    thickness, porosity : array_like
        Thickness of the block; share of its volume that is water, > 0. [m, 1]
    friction, inertia : array_like
        Linear friction F and inertia factor S (1: none is added), both on the
        discharge velocity. [s-1, 1]

    Returns
    -------
    transmission, reflection : ndarray of complex128
        Amplitudes at the two faces, time factor exp(-iwt). [1]

    Raises
    ------
    InvalidParameterError
        If a wavenumber, frequency, thickness or porosity is not > 0.

    Notes
    -----
    :func:`block_amplitudes` for arrays, with its arguments checked.
    """
    for name, value in (
        ("wavenumber", wavenumber),
        ("angular_frequency", angular_frequency),
        ("thickness", thickness),
        ("porosity", porosity),
    ):
        array = np.asarray(value, float)
        if not (np.isfinite(array) & (array > 0.0)).all():
            message = f"{name} = {array} must be finite and > 0"
            raise InvalidParameterError(message)
    of_each = np.vectorize(block_amplitudes, otypes=[complex, complex, float])
    transmitted, reflected, _ = of_each(
        wavenumber, angular_frequency, thickness, porosity, friction, inertia
    )
    return np.asarray(transmitted), np.asarray(reflected)
