"""Strength of posts, baskets and loose units against waves, scour and soft mud.

Every function here is a planning-level screen, never a design: an engineer designs.
Forces in newtons, pressures in pascals, lengths in metres; numbers or arrays alike.
Every function raises `InvalidParameterError`, naming argument, value and bound, when a
number is not finite or outside the range that its docstring gives.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel

Floats = NDArray[np.float64]

STABILITY_COEFFICIENTS = {
    "rough quarrystone": (2.0, 4.0),
    "smooth round stone": (1.2, 2.4),
    "concrete cube": (6.5, 7.5),
}
"""For `hudson_mass`, breaking and non-breaking waves (from memory, Shore Protection Manual). [1]"""

ISBASH_EXPOSED = 0.86
"""Isbash coefficient in highly turbulent flow or of a lone stone (read). [1]"""

ISBASH_EMBEDDED = 1.20
"""Isbash coefficient in calm flow or of a stone among others (read). [1]"""


class LateralResistance(NamedTuple):
    """Load a post just holds [N], zero shear below 1.5 diameters [m], bending moment [N m]."""

    force: Floats
    shear_depth: Floats
    moment: Floats


class PostForce(NamedTuple):
    """Amplitudes of drag and inertia [N], largest sum within a wave [N]."""

    drag: Floats
    inertia: Floats
    largest: Floats


class WallPressure(NamedTuple):
    """Pressure at still water, foot and crest [Pa], and its reach above still water [m]."""

    still_water: Floats
    toe: Floats
    crest: Floats
    reach: Floats


def _checked(name: str, value: ArrayLike, low: float = 0.0, *, strict: bool = True) -> Floats:
    """Return the value as an array; refuse what is not finite or below the bound."""
    number = np.asarray(value, dtype=np.float64)
    above = number > low if strict else number >= low
    if not np.all(np.isfinite(number) & above):
        bound = "above" if strict else "at least"
        msg = f"{name} = {value!r}: must be finite and {bound} {low:g}."
        raise InvalidParameterError(msg)
    return number


def _relative_density(unit_density: ArrayLike, water_density: float) -> Floats:
    unit = _checked("unit_density", unit_density, water_density)
    return unit / water_density - 1.0


def broms_short_pile(
    length: ArrayLike,
    diameter: ArrayLike,
    eccentricity: ArrayLike,
    strength: ArrayLike,
    scour: ArrayLike = 0.0,
) -> LateralResistance:
    r"""Load that turns a stiff, free-headed post over in soft clay or mud.

    Parameters
    ----------
    length, diameter : array_like
        Embedment before scour, of which 1.5 diameters must be left; diameter, > 0. [m]
    eccentricity : array_like
        Height of the load above the unscoured bed, 0 or more. [m]
    strength : array_like
        Undrained shear strength, mean over the embedment, > 0. [Pa]
    scour : array_like, default 0
        Depth of the scour hole, taken from `length` and added to `eccentricity`. [m]

    Returns
    -------
    LateralResistance
        Planning-level only; a factor of safety of 2 to 2.5 is usual.

    Notes
    -----
    Soil gives :math:`9 c_u D` a metre, nothing in the top :math:`1.5 D`. With
    :math:`H = 9 c_u D f`, :math:`b = L - 1.5 D`, :math:`a = e + 1.5 D`, the read
    :math:`M = H (a + f/2)` and (from memory) :math:`M = 2.25 c_u D (b - f)^2` give
    :math:`f^2 + (4a + 2b) f - b^2 = 0`, solved here in the form that loses no digits.

    References
    ----------
    B. B. Broms, 1964, "Lateral resistance of piles in cohesive soils"; equations read in
    an open textbook, "Fundamentals of foundation engineering", eqs 6.104 and 6.105.
    """
    hole = _checked("scour", scour, strict=False)
    width = _checked("diameter", diameter)
    cu = _checked("strength", strength)
    b = _checked("length - scour - 1.5 diameter", np.asarray(length) - hole - 1.5 * width)
    a = _checked("eccentricity", eccentricity, strict=False) + hole + 1.5 * width
    half = 2.0 * a + b
    f = b**2 / (half + np.hypot(half, b))
    force = 9.0 * cu * width * f
    return LateralResistance(force, f, force * (a + 0.5 * f))


def broms_long_pile(
    diameter: ArrayLike, eccentricity: ArrayLike, strength: ArrayLike, yield_moment: ArrayLike
) -> LateralResistance:
    r"""Load that breaks a deep, free-headed post in soft clay or mud.

    Parameters
    ----------
    diameter, eccentricity, strength : array_like
        As in `broms_short_pile`.
    yield_moment : array_like
        Bending moment that breaks the post, > 0. [N m]

    Returns
    -------
    LateralResistance
        Planning-level only; the post holds the smaller of this and `broms_short_pile`.

    Notes
    -----
    :math:`M_y = H (a + f/2)`, symbols and source as in `broms_short_pile`.
    """
    width = _checked("diameter", diameter)
    a = _checked("eccentricity", eccentricity, strict=False) + 1.5 * width
    soil = 9.0 * _checked("strength", strength) * width
    moment = _checked("yield_moment", yield_moment)
    f = 2.0 * moment / soil / (a + np.sqrt(a**2 + 2.0 * moment / soil))
    return LateralResistance(soil * f, f, moment + 0.0 * f)


def broms_fixed_head(length: ArrayLike, diameter: ArrayLike, strength: ArrayLike) -> Floats:
    """Load that pushes a stiff post, held upright at its head, through the mud.

    Parameters
    ----------
    length, diameter, strength : array_like
        As in `broms_short_pile`.

    Returns
    -------
    ndarray of float64
        9 strength diameter (length - 1.5 diameter); planning-level only. [N]
    """
    width = _checked("diameter", diameter)
    gripped = _checked("length - 1.5 diameter", np.asarray(length) - 1.5 * width)
    return 9.0 * _checked("strength", strength) * width * gripped


def bending_capacity(rupture_stress: ArrayLike, diameter: ArrayLike) -> Floats:
    """Bending moment that breaks a round post.

    Parameters
    ----------
    rupture_stress, diameter : array_like
        Modulus of rupture, (25, 35, 50) MPa for green pine, half of it with knots
        (judgement), > 0 [Pa]; sound diameter, 0 or more [m].

    Returns
    -------
    ndarray of float64
        rupture_stress pi diameter^3/32; planning-level only. [N m]
    """
    stress = _checked("rupture_stress", rupture_stress)
    return stress * np.pi * _checked("diameter", diameter, strict=False) ** 3 / 32.0


def morison_force(
    wave_height: ArrayLike,
    period: ArrayLike,
    wavelength: ArrayLike,
    depth: ArrayLike,
    diameter: ArrayLike,
    *,
    drag_coefficient: float = 1.2,
    inertia_coefficient: float = 2.0,
    water_density: float = WATER_DENSITY,
) -> PostForce:
    r"""Force of a linear wave on a bare post, bed to still water.

    Parameters
    ----------
    wave_height, period, wavelength, depth, diameter : array_like
        Wave and water at the post, and the post itself, > 0. [m], period [s]
    drag_coefficient, inertia_coefficient, water_density : float
        From memory, drag 1.0 to 1.4 [1]; density of the water [kg m-3].

    Returns
    -------
    PostForce
        Planning-level only; the part above still water is left out.

    Notes
    -----
    :math:`F_D = \frac12 \rho C_D D u_b^2 (h/2 + \sinh 2kh / 4k)`,
    :math:`F_I = \rho C_M \frac{\pi D^2}{4} \frac{H \omega^2}{2 k}`, and the largest
    :math:`F_D \cos|\cos| + F_I \sin` is :math:`F_D + F_I^2 / 4 F_D`, or :math:`F_I` once
    that exceeds :math:`2 F_D`.

    References
    ----------
    J. R. Morison et al., 1950, "The force exerted by surface waves on piles" (from memory).
    """
    height = _checked("wave_height", wave_height)
    k = 2.0 * np.pi / _checked("wavelength", wavelength)
    omega = 2.0 * np.pi / _checked("period", period)
    h, D = _checked("depth", depth), _checked("diameter", diameter)
    bed_velocity = 0.5 * height * omega / np.sinh(k * h)
    column = 0.5 * h + np.sinh(2.0 * k * h) / (4.0 * k)
    drag = 0.5 * water_density * drag_coefficient * D * bed_velocity**2 * column
    added = water_density * inertia_coefficient * np.pi * D**2 / 4.0
    inertia = added * 0.5 * height * omega**2 / k
    mixed = drag + inertia**2 / (4.0 * drag)
    return PostForce(drag, inertia, np.where(inertia < 2.0 * drag, mixed, inertia))


def goda_pressure(
    wave_height: ArrayLike,
    wavelength: ArrayLike,
    depth: ArrayLike,
    crest: ArrayLike,
    *,
    seaward_depth: ArrayLike | None = None,
    angle: float = 0.0,
    water_density: float = WATER_DENSITY,
) -> WallPressure:
    r"""Wave pressure on a tight wall standing on the bed.

    Parameters
    ----------
    wave_height, wavelength, depth, crest : array_like
        Highest wave of the train, its length and the water at the wall, > 0; crest above
        still water, 0 or more. [m]
    seaward_depth : array_like, optional
        Five wave heights in front; the depth at the wall on a flat bed. [m]
    angle, water_density : float
        Wave direction from the normal of the wall [rad]; density of the water [kg m-3].

    Returns
    -------
    WallPressure
        Planning-level only; an upper bound for a porous wall.

    Notes
    -----
    :math:`p_1 = \frac12 (1 + \cos\beta)(\alpha_1 + \alpha_2 \cos^2\beta) \rho g H`,
    :math:`p_3 = \alpha_3 p_1`, :math:`\eta^* = 0.75 (1 + \cos\beta) H` (forms read);
    the coefficients :math:`\alpha` are from memory, for a wall without a mound.

    References
    ----------
    Y. Goda, 2010, "Random seas and design of maritime structures"; forms read in
    P. Novak et al., "Hydraulic structures", 4th ed., section 15.
    """
    H, h = _checked("wave_height", wave_height), _checked("depth", depth)
    h_b = h if seaward_depth is None else _checked("seaward_depth", seaward_depth)
    freeboard = _checked("crest", crest, strict=False)
    kh = 2.0 * np.pi * h / _checked("wavelength", wavelength)
    alpha_1 = 0.6 + 0.5 * (2.0 * kh / np.sinh(2.0 * kh)) ** 2
    alpha_2 = np.minimum(np.maximum(0.0, (h_b - h) / (3.0 * h_b)) * (H / h) ** 2, 2.0 * h / H)
    towards = 0.5 * (1.0 + np.cos(angle))
    still = towards * (alpha_1 + alpha_2 * np.cos(angle) ** 2) * water_density * GRAVITY * H
    reach = 1.5 * towards * H
    crest_pressure = still * np.maximum(0.0, 1.0 - freeboard / reach)
    return WallPressure(still, still / np.cosh(kh), crest_pressure, reach)


def goda_force(pressure: WallPressure, depth: ArrayLike, crest: ArrayLike) -> Floats:
    """Wave force on a metre of tight wall.

    Parameters
    ----------
    pressure : WallPressure
        From `goda_pressure`. [Pa]
    depth, crest : array_like
        Water at the wall, > 0; crest above still water, 0 or more. [m]

    Returns
    -------
    ndarray of float64
        Area of the pressure figure. For a filled fence multiply by its solidity, (0.3,
        0.5, 0.8) (judgement); planning-level only. [N m-1]
    """
    wetted = np.minimum(_checked("crest", crest, strict=False), pressure.reach)
    below = 0.5 * (pressure.still_water + pressure.toe) * _checked("depth", depth)
    return below + 0.5 * (pressure.still_water + pressure.crest) * wetted


def wave_scour(bed_velocity: ArrayLike, period: ArrayLike, diameter: ArrayLike) -> Floats:
    r"""Depth of the hole that waves dig around a post in sand.

    Parameters
    ----------
    bed_velocity, period, diameter : array_like
        Orbital amplitude at the bed, 0 or more [m s-1]; wave period [s] and post diameter
        [m], > 0.

    Returns
    -------
    ndarray of float64
        Scour depth; in mud an upper bound, times (0.3, 0.6, 1) (judgement). [m]

    Notes
    -----
    :math:`S = 1.3 D (1 - \exp(-0.03 (KC - 6)))` for :math:`KC = u_b T / D \ge 6`, else 0;
    from memory. Under a current S is 1.3 D. Planning-level only.

    References
    ----------
    B. M. Sumer, J. Fredsoe and N. Christiansen, 1992, "Scour around vertical pile in waves".
    """
    D = _checked("diameter", diameter)
    swing = _checked("bed_velocity", bed_velocity, strict=False) * _checked("period", period) / D
    return -1.3 * D * np.expm1(-0.03 * np.maximum(0.0, swing - 6.0))


def bearing_safety(pressure: ArrayLike, strength: ArrayLike) -> Floats:
    """Factor of safety of mud under the weight of a unit.

    Parameters
    ----------
    pressure, strength : array_like
        Weight over footprint and undrained shear strength of the mud, > 0. [Pa]

    Returns
    -------
    ndarray of float64
        (2 + pi) strength/pressure, Terzaghi's strip footing with Prandtl's factor (from
        memory); below 3 a warning; planning-level only. [1]
    """
    return (2.0 + np.pi) * _checked("strength", strength) / _checked("pressure", pressure)


@kernel
def subsidence(t: float, final: float, time_scale: float) -> float:
    """Settlement of a unit into the mud.

    Parameters
    ----------
    t : float
        Time since placing. [year]
    final, time_scale : float
        Settlement in the end, (0.02, 0.10, 0.40) [m], and time of 63 % of it, (0.2, 0.8, 3)
        [year] (judgement).

    Returns
    -------
    float
        final (1 - exp(-t/time_scale)). [m]
    """
    return -final * math.expm1(-t / time_scale)


def sliding_safety(
    velocity: ArrayLike,
    front_area: ArrayLike,
    plan_area: ArrayLike,
    submerged_weight: ArrayLike,
    *,
    friction: float = 0.4,
    drag_coefficient: float = 1.5,
    lift_coefficient: float = 0.4,
    water_density: float = WATER_DENSITY,
) -> Floats:
    """Factor of safety of a single low unit against sliding.

    Parameters
    ----------
    velocity, front_area, plan_area, submerged_weight : array_like
        Largest water velocity [m s-1], area facing it and seen from above [m2], weight
        less buoyancy [N], all > 0.
    friction, drag_coefficient, lift_coefficient, water_density : float
        0.5 on sand and 0.2 to 0.4 on mud, 1.0 to 2.0, 0.3 to 0.6 (judgement) [1]; density
        of the water [kg m-3].

    Returns
    -------
    ndarray of float64
        friction (weight - lift)/drag, negative if lifted; planning-level only. [1]
    """
    head = 0.5 * water_density * _checked("velocity", velocity) ** 2
    drag = head * drag_coefficient * _checked("front_area", front_area)
    lift = head * lift_coefficient * _checked("plan_area", plan_area)
    return friction * (_checked("submerged_weight", submerged_weight) - lift) / drag


def hudson_mass(
    wave_height: ArrayLike,
    unit_density: ArrayLike,
    stability_coefficient: ArrayLike,
    slope_cotangent: ArrayLike,
    water_density: float = WATER_DENSITY,
) -> Floats:
    r"""Mass of the loose units that a wave does not move on a slope.

    Parameters
    ----------
    wave_height, stability_coefficient, slope_cotangent : array_like
        Wave at the slope [m], see `STABILITY_COEFFICIENTS` [1], run over rise [1], > 0.
    unit_density, water_density : array_like, float
        Density of the unit, more than that of the water. [kg m-3]

    Returns
    -------
    ndarray of float64
        Mass of a unit; planning-level only. [kg]

    Notes
    -----
    :math:`M = \rho_s H^3 / (K_D \Delta^3 \cot\alpha)` (read); not for tight cores or swell.

    References
    ----------
    R. Y. Hudson, 1959, "Laboratory investigation of rubble-mound breakwaters".
    """
    excess = _relative_density(unit_density, water_density)
    height = _checked("wave_height", wave_height)
    K_D = _checked("stability_coefficient", stability_coefficient)
    slope = _checked("slope_cotangent", slope_cotangent)
    return np.asarray(unit_density, dtype=np.float64) * height**3 / (K_D * excess**3 * slope)


def stability_number(
    wave_height: ArrayLike,
    unit_density: ArrayLike,
    nominal_diameter: ArrayLike,
    water_density: float = WATER_DENSITY,
) -> Floats:
    """Wave height over the buoyant size of a unit: stable below 1.5 to 2 (read).

    Parameters
    ----------
    wave_height, nominal_diameter : array_like
        Wave at the unit, edge of the cube of the unit's volume, > 0. [m]
    unit_density, water_density : array_like, float
        Density of the unit, more than that of the water. [kg m-3]

    Returns
    -------
    ndarray of float64
        Damage grows fast above 3 (read); planning-level only. [1]
    """
    size = _checked("nominal_diameter", nominal_diameter)
    buoyant = _relative_density(unit_density, water_density) * size
    return _checked("wave_height", wave_height) / buoyant


def isbash_diameter(
    velocity: ArrayLike,
    unit_density: ArrayLike,
    coefficient: float = ISBASH_EXPOSED,
    water_density: float = WATER_DENSITY,
) -> Floats:
    """Diameter of the stone that a current just does not move.

    Parameters
    ----------
    velocity : array_like
        Near the stone, 0 or more. [m s-1]
    unit_density, water_density : array_like, float
        Density of the stone, more than that of the water. [kg m-3]
    coefficient : float, default `ISBASH_EXPOSED`
        `ISBASH_EXPOSED` or `ISBASH_EMBEDDED`. [1]

    Returns
    -------
    ndarray of float64
        velocity^2/(coefficient^2 2 g (relative density - 1)); planning-level only. [m]

    References
    ----------
    National Cooperative Highway Research Program, 2006, "Riprap design criteria" (as
    quoted by a calculator page).
    """
    reduced = 2.0 * GRAVITY * _relative_density(unit_density, water_density)
    return (_checked("velocity", velocity, strict=False) / coefficient) ** 2 / reduced
