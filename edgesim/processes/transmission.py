r"""How much of a wave passes a wall of branches, a row of posts, a block of shell or a sill.

A wall that is thin against the wavelength is a resistance: the pressure drop
across it, per unit mass, is :math:`l\,(\alpha u + \beta |u| u)`. Velocity and
pressure of a progressive wave share one depth profile, so a full-depth wall is
described exactly by one number, its resistance number

.. math:: \Lambda = \frac{l}{2c} F, \quad K_t = \frac{1}{1+\Lambda}, \quad
   K_r = 1 - K_t, \quad D = 2 K_t K_r \le 1/2

with `F` the drag made linear so that it dissipates the same energy (Lorentz).
Walls of branches are thin in this sense; a reef, a quarter of a wavelength wide, is not (see
``porous_block``). Rival formulas to compare with stand in ``rival_transmission``.
"""

from __future__ import annotations

import math

from edgesim.constants import GRAVITY, WATER_VISCOSITY
from edgesim.kernels import kernel

LORENTZ = 8.0 / (3.0 * math.pi)
"""Equal-dissipation factor of quadratic drag in a sinusoidal flow (exact). [1]"""


@kernel
def stem_resistance(solid_fraction: float, stem_diameter: float, drag_coefficient: float) -> float:
    r"""Quadratic resistance of a pack of stems or branches.

    Parameters
    ----------
    solid_fraction, stem_diameter : float
        Share of the volume that is wood, in [0, 1); diameter of the stems, > 0. [1, m]
    drag_coefficient : float
        Bulk drag coefficient, about 1 to 2. [1]

    Returns
    -------
    float
        Coefficient beta of `|u|u` on the discharge velocity. [m-1]

    Notes
    -----
    .. math:: \beta = \frac{C_d a}{2 n^2}, \quad a = \frac{4 (1-n)}{\pi d}, \quad n = 1 - s

    Round stems across the flow; the drag coefficient must be calibrated for
    each material. Algebra computed from the geometry; range of Cd from memory.
    """
    porosity = 1.0 - solid_fraction
    frontal_area = 4.0 * solid_fraction / (math.pi * stem_diameter)
    return drag_coefficient * frontal_area / (2.0 * porosity * porosity)


@kernel
def rubble_resistance_linear(porosity: float, grain_diameter: float) -> float:
    r"""Linear (viscous) resistance of rubble, loose shell or a gabion.

    Parameters
    ----------
    porosity, grain_diameter : float
        Share of the volume that is water, in (0, 1]; median diameter of the pieces. [1, m]

    Returns
    -------
    float
        Coefficient alpha of `u` on the discharge velocity. [s-1]

    Notes
    -----
    .. math:: \alpha = 1000\, \nu \frac{(1-n)^2}{n^3 D_{50}^2}

    After van Gent (1995), "Porous flow through rubble-mound material": form read at second
    hand, 1000 from memory. Small for pieces above a few centimetres.
    """
    solid = 1.0 - porosity
    return 1000.0 * WATER_VISCOSITY * solid * solid / (porosity**3 * grain_diameter**2)


@kernel
def rubble_resistance_quadratic(
    porosity: float, grain_diameter: float, keulegan_carpenter: float
) -> float:
    r"""Quadratic (turbulent) resistance of rubble, loose shell or a gabion.

    Parameters
    ----------
    porosity, grain_diameter : float
        As :func:`rubble_resistance_linear`. [1, m]
    keulegan_carpenter : float
        `U T / (n D50)`, > 0; infinity for steady flow. [1]

    Returns
    -------
    float
        Coefficient beta of `|u|u` on the discharge velocity. [m-1]

    Notes
    -----
    .. math:: \beta = 1.1 \left(1 + \frac{7.5}{KC}\right) \frac{1-n}{n^3 D_{50}}

    After van Gent (1995), as above: form and 7.5 read at second hand, 1.1 from memory.
    """
    oscillation = 1.0 + 7.5 / keulegan_carpenter
    return 1.1 * oscillation * (1.0 - porosity) / (porosity**3 * grain_diameter)


@kernel
def post_row_resistance(open_fraction: float) -> float:
    r"""Loss coefficient of one row of posts; `l beta = f / 2`.

    Parameters
    ----------
    open_fraction : float
        Open share of the area of the row, in (0, 1]. [1]

    Returns
    -------
    float
        Loss coefficient f of the discharge velocity. [1]

    Notes
    -----
    .. math:: f = \left(\frac{1}{n C_c} - 1\right)^2, \quad C_c = 0.6 + 0.4 n^3

    A jet contracts between the posts and loses its energy behind them. From memory,
    after Mei, Liu and Ippen (1974), "Quadratic loss and scattering of long waves".
    """
    contraction = 0.6 + 0.4 * open_fraction**3
    expansion = 1.0 / (open_fraction * contraction) - 1.0
    return expansion * expansion


@kernel
def dissipation_depth_factor(kh: float) -> float:
    r"""Depth factor of quadratic drag: 1 in long waves, 2/3 in short ones.

    Parameters
    ----------
    kh : float
        Wavenumber times depth, > 0. [1]

    Returns
    -------
    float
        Factor G on the surface velocity. [1]

    Notes
    -----
    .. math::
        G = \frac{\int_0^{kh} \cosh^3 q\,dq}{\cosh kh \int_0^{kh} \cosh^2 q\,dq}
          = \frac{2 t (1 - \frac{2}{3} t^2)}{t + kh (1 - t^2)}, \quad t = \tanh kh

    Elementary integrals, divided by cosh^3 to hold at every depth; checked by quadrature.
    """
    t = math.tanh(kh)
    return 2.0 * t * (1.0 - 2.0 / 3.0 * t * t) / (t + kh * (1.0 - t * t))


@kernel
def barrier_transmission(
    height: float,
    angular_frequency: float,
    wavenumber: float,
    depth: float,
    linear_resistance_length: float,
    quadratic_resistance_length: float,
) -> float:
    r"""Height transmitted by a thin, full-depth, emergent wall at normal incidence.

    Parameters
    ----------
    height : float
        Incident wave height, >= 0. [m]
    angular_frequency, wavenumber : float
        Of the wave, > 0. [s-1, m-1]
    depth : float
        Depth of still water, > 0. [m]
    linear_resistance_length, quadratic_resistance_length : float
        Thickness times resistance, `l alpha` and `l beta`, summed over the parts
        of the wall, >= 0. [m s-1, 1]

    Returns
    -------
    float
        Transmission coefficient of height, in (0, 1]. [1]

    Notes
    -----
    The surface velocity inside the wall is :math:`K_t (H/2) g k/\omega`, so

    .. math:: K_t = \frac{-(1+A) + \sqrt{(1+A)^2 + 4B}}{2B} = \frac{2}{(1+A) + \sqrt{(1+A)^2 + 4B}}

    with :math:`A = l\alpha/2c` and :math:`B = (l\beta/2c)(8/3\pi)\,G(kh)\,(H/2)\,gk/\omega`.
    Holds for a wall thin against the wavelength without added inertia; resistances
    of post rows and fill add. Derivation computed here; it passes energy conservation.
    """
    celerity = angular_frequency / wavenumber
    surface_velocity = 0.5 * height * GRAVITY / celerity
    drag = LORENTZ * dissipation_depth_factor(wavenumber * depth) * surface_velocity
    linear = 1.0 + linear_resistance_length / (2.0 * celerity)
    quadratic = quadratic_resistance_length / (2.0 * celerity) * drag
    return 2.0 / (linear + math.sqrt(linear * linear + 4.0 * quadratic))


@kernel
def resistance_number(transmission: float) -> float:
    """Resistance number `1/Kt - 1` of a thin wall that passes the share Kt of the height."""
    return 1.0 / transmission - 1.0


@kernel
def flux_share_above(wavenumber: float, depth: float, crest_depth: float) -> float:
    r"""Share of the wave's energy flux that runs above a submerged crest.

    Parameters
    ----------
    wavenumber, depth : float
        Wavenumber and depth of still water, > 0. [m-1, m]
    crest_depth : float
        Depth of the crest below still water; negative when it emerges. [m]

    Returns
    -------
    float
        Share phi in [0, 1]. [1]

    Notes
    -----
    .. math:: \phi = \frac{\int_{-d_c}^0 \cosh^2 k(z+h)\,dz}{\int_{-h}^0 \cosh^2 k(z+h)\,dz}

    in decaying exponentials only; checked by quadrature.
    """
    if crest_depth <= 0.0:
        return 0.0
    if crest_depth >= depth:
        return 1.0
    kh, kd = 2.0 * wavenumber * depth, 2.0 * wavenumber * crest_depth
    above = 2.0 * kd * math.exp(-kh) - math.expm1(-kd) * (1.0 + math.exp(kd - 2.0 * kh))
    return above / (2.0 * kh * math.exp(-kh) - math.expm1(-2.0 * kh))


@kernel
def overtopped_transmission(transmission_emergent: float, share_above: float) -> float:
    r"""Height transmitted by a wall whose crest lies under water.

    From the transmission of the same wall standing out of the water and the share
    of the energy flux above the crest. [1]

    Notes
    -----
    .. math:: K_t^2 = \phi + (1 - \phi) K_{t,e}^2

    Judgement: water above the crest passes freely, water below meets the wall.
    Energy closes by construction; not validated against measurements.
    """
    return math.sqrt(share_above + (1.0 - share_above) * transmission_emergent**2)
