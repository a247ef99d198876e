"""Marsh plants: growth, accretion under them, wave damping and new seedlings."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel

Floats = NDArray[np.float64]

BIOMASS_LINEAR = 15.5
"""Coefficient a of standing biomass, 155 g m-2 cm-1 (read in public code after Morris et al. 2002). [kg m-3]"""

BIOMASS_QUADRATIC = -18.55
"""Coefficient b, -1.855 g m-2 cm-2 (read: same). [kg m-4]"""

BIOMASS_CONSTANT = -1.364
"""Coefficient c, -1364 g m-2 (read: same). [kg m-2]"""

SETTLING_RATE = 0.0018
"""Accretion q of bare sediment per unit depth (read: same). [yr-1]"""

TRAPPING_RATE = 0.015
"""Accretion k per depth and biomass, 1.5e-5 m2 g-1 yr-1 (read: same). [m2 kg-1 yr-1]"""

ACCRETION_CAP = 0.005
"""Largest steady accretion under the sediment load of a typical East Coast estuary
(read: Morris et al. 2016, abstract). [m yr-1]"""

RANDOM_WAVES = 0.75 * math.sqrt(math.pi)
"""Multiply `damping_coefficient` by this when its height is the rms of random waves:
1/(3 sqrt(pi)) over 4/(9 pi) (read as a ratio of dissipations: Mendez and Losada 2004). [1]"""


@kernel
def biomass_morris(depth_below_high_tide: float) -> float:
    """Standing biomass of smooth cordgrass on a platform.

    Parameters
    ----------
    depth_below_high_tide : float
        Depth of the surface below mean high tide. [m]

    Returns
    -------
    float
        Biomass, >= 0. [kg m-2]

    Notes
    -----
    ``B = a D + b D**2 + c``, 0 outside its roots at 0.10 and 0.74 m (read in public code). Fitted in South
    Carolina at a tidal range of about 1.4 m; elsewhere the band moves with the range.

    References
    ----------
    J. T. Morris et al., 2002, "Responses of coastal wetlands to rising sea level".
    """
    depth = depth_below_high_tide
    return max(BIOMASS_LINEAR * depth + BIOMASS_QUADRATIC * depth * depth + BIOMASS_CONSTANT, 0.0)


@kernel
def accretion_morris(depth_below_high_tide: float) -> float:
    """Accretion of a platform with its plants and a rich supply of mud.

    Parameters
    ----------
    depth_below_high_tide : float
        Depth of the surface below mean high tide. [m]

    Returns
    -------
    float
        Accretion, 0 above mean high tide. [m yr-1]

    Notes
    -----
    ``(q + k B) D`` (read in public code). Holds the sediment supply of one estuary; up to 1.4 cm/yr, more
    than most supply: see `platform_accretion`.

    References
    ----------
    J. T. Morris et al., 2002, "Responses of coastal wetlands to rising sea level".
    """
    depth = max(depth_below_high_tide, 0.0)
    return (SETTLING_RATE + TRAPPING_RATE * biomass_morris(depth)) * depth


@kernel
def platform_accretion(depth_below_high_tide: float, cap: float) -> float:
    """Accretion of a platform, no more than its supply allows.

    Parameters
    ----------
    depth_below_high_tide : float
        Depth of the surface below mean high tide. [m]
    cap : float
        Largest accretion that mud and peat can sustain, `ACCRETION_CAP` for want of better. [m yr-1]

    Returns
    -------
    float
        Accretion, >= 0. [m yr-1]

    Notes
    -----
    ``min((q + k B) D, cap)`` (judgement). The steady depth is stable only where accretion grows with
    depth, that is above 0.51 m below mean high tide.
    """
    return min(accretion_morris(depth_below_high_tide), cap)


@kernel
def suits_plants(inundation_fraction: float, low: float, high: float) -> bool:
    """Whether a surface floods neither too seldom nor too long for the plants.

    Parameters
    ----------
    inundation_fraction : float
        Share of the time under water. [1]
    low, high : float
        Band, ends included; about 0.1 to 0.55 for smooth cordgrass (judgement). [1]

    Returns
    -------
    bool
        Inside the band.
    """
    return low <= inundation_fraction <= high


@kernel
def grown_stress(first: float, growth: float, days: float) -> float:
    """Bed stress that a seedling bears some days after it anchored.

    Parameters
    ----------
    first : float
        Stress borne at first. [Pa]
    growth : float
        Gain a day. [Pa d-1]
    days : float
        Days since it anchored. [d]

    Returns
    -------
    float
        Stress borne, ``first + growth * days`` (structure from memory: Hu et al. 2015). [Pa]
    """
    return first + growth * days


@kernel
def damping_coefficient(
    drag_coefficient: float,
    stem_diameter: float,
    stem_density: float,
    height: float,
    wavenumber: float,
    depth: float,
    stem_height: float,
) -> float:
    """Decay coefficient of waves that run through stems.

    Parameters
    ----------
    drag_coefficient : float
        Drag coefficient of a stem. [1]
    stem_diameter : float
        Diameter of a stem. [m]
    stem_density : float
        Stems on unit area. [m-2]
    height : float
        Wave height where the stems begin. [m]
    wavenumber : float
        Wavenumber, > 0. [rad m-1]
    depth : float
        Water depth, > 0. [m]
    stem_height : float
        Height of the stems; what rises above the water does not count. [m]

    Returns
    -------
    float
        Coefficient beta of `height_ratio`. [m-1]

    Notes
    -----
    ``beta = 4/(9 pi) C b N H k (sinh(y)**3 + 3 sinh(y)) / (sinh(x) (sinh(2 x) + 2 x))`` with x = k h
    and y = k times the wet stem height, for rigid stems and one regular wave. Follows from the
    dissipation read for the source; written with falling exponentials so that deep water cannot
    overflow. For random waves multiply by `RANDOM_WAVES`.

    References
    ----------
    R. A. Dalrymple, J. T. Kirby and P. A. Hwang, 1984, "Wave diffraction due to areas of energy
    dissipation".
    F. J. Mendez and I. J. Losada, 2004, "An empirical model to estimate the propagation of random
    breaking and nonbreaking waves over vegetation fields".
    """
    x = wavenumber * depth
    y = wavenumber * min(max(stem_height, 0.0), depth)
    sinh_x = -math.expm1(-2 * x) / 2  # times exp(x), and so on below
    sinh_y = -math.expm1(-2 * y) / 2
    stems = sinh_y**3 + 3 * math.exp(-2 * y) * sinh_y
    water = sinh_x * (-math.expm1(-4 * x) / 2 + 2 * x * math.exp(-2 * x))
    shape = math.exp(3 * (y - x)) * stems / water
    frontal_area = drag_coefficient * stem_diameter * stem_density
    return 4 / (9 * math.pi) * frontal_area * height * wavenumber * shape


@kernel
def height_ratio(damping: float, distance: float) -> float:
    """Wave height after a run through stems over the height before it.

    Parameters
    ----------
    damping : float
        Result of `damping_coefficient`. [m-1]
    distance : float
        Distance run, >= 0. [m]

    Returns
    -------
    float
        Ratio in (0, 1]. [1]

    Notes
    -----
    ``1 / (1 + beta x)`` (from memory: Dalrymple et al. 1984), over a flat bed.
    """
    return 1 / (1 + damping * distance)


def drag_from_keulegan_carpenter(keulegan_carpenter: ArrayLike) -> Floats:
    """Drag coefficient of field cordgrass from the Keulegan-Carpenter number.

    Parameters
    ----------
    keulegan_carpenter : array_like
        Orbital velocity times period over stem diameter, > 0. [1]

    Returns
    -------
    ndarray of float64
        Drag coefficient. [1]

    Raises
    ------
    InvalidParameterError
        If a number is not > 0.

    Notes
    -----
    ``70 KC**-0.86`` (from memory, not verified; use as one of several beliefs).

    References
    ----------
    R. S. Jadhav, Q. Chen and J. M. Smith, 2013, "Spectral distribution of wave energy dissipation by
    salt marsh vegetation".
    """
    return 70 * _positive(keulegan_carpenter, "keulegan_carpenter") ** -0.86


def drag_from_reynolds(reynolds: ArrayLike) -> Floats:
    """Drag coefficient of salt-marsh plants from the stem Reynolds number.

    Parameters
    ----------
    reynolds : array_like
        Orbital velocity times stem diameter over viscosity, > 0. [1]

    Returns
    -------
    ndarray of float64
        Drag coefficient. [1]

    Raises
    ------
    InvalidParameterError
        If a number is not > 0.

    Notes
    -----
    ``0.159 + (227.3 / Re)**1.615`` (from memory, not verified; use as one of several beliefs).

    References
    ----------
    I. Moller et al., 2014, "Wave attenuation over coastal salt marshes under storm surge conditions".
    """
    return 0.159 + (227.3 / _positive(reynolds, "reynolds")) ** 1.615


def seedling_establishes(
    inundated: ArrayLike,
    bed_stress: ArrayLike,
    bed_level: ArrayLike,
    time_step: float,
    *,
    dry_days: float = 2.5,
    rooting_days: float = 20.0,
    first_stress: float = 0.15,
    stress_growth: float = 0.01,
    bed_change: float = 0.02,
) -> bool:
    """Whether a record offers a seedling one window of opportunity.

    Parameters
    ----------
    inundated : array_like of bool
        Whether the spot is under water, at even time steps.
    bed_stress : array_like
        Bed stress at the same times. [Pa]
    bed_level : array_like
        Height of the bed at the same times. [m]
    time_step : float
        Time between records, > 0. [d]
    dry_days : float
        Rest without flooding that a seed needs to anchor. [d]
    rooting_days : float
        Time thereafter in which stress and bed must stay within limits. [d]
    first_stress : float
        Stress borne at the end of the rest. [Pa]
    stress_growth : float
        Gain of that limit a day. [Pa d-1]
    bed_change : float
        Largest rise or fall of the bed since the end of the rest. [m]

    Returns
    -------
    bool
        True if one start in the record passes all three tests before the record ends.

    Raises
    ------
    InvalidParameterError
        If the records differ in length or the time step is not > 0.

    Notes
    -----
    Structure from the source (from memory); the default numbers are judgement with ranges of
    1 to 5 d, 10 to 40 d, 0.05 to 0.3 Pa, 0.005 to 0.02 Pa/d and 0.01 to 0.04 m.

    References
    ----------
    T. Balke et al., 2011, "Windows of opportunity: thresholds to mangrove seedling establishment on
    tidal flats".
    Z. Hu et al., 2015, "Windows of opportunity for salt marsh vegetation establishment on bare tidal
    flats".
    """
    wet = np.asarray(inundated, dtype=np.bool_)
    stress = np.asarray(bed_stress, dtype=np.float64)
    level = np.asarray(bed_level, dtype=np.float64)
    if not (wet.ndim == 1 and wet.shape == stress.shape == level.shape):
        message = f"inundated, bed_stress, bed_level: shapes {wet.shape}, {stress.shape}, {level.shape} differ"
        raise InvalidParameterError(message)
    if not time_step > 0:
        message = f"time_step: is {time_step} d; must be > 0"
        raise InvalidParameterError(message)
    rest, rooting = math.ceil(dry_days / time_step), math.ceil(rooting_days / time_step)
    limit = first_stress + stress_growth * time_step * np.arange(1, rooting + 1)
    flooded_before = np.concatenate([[0], np.cumsum(wet)])
    for anchored in range(rest, wet.size - rooting + 1):
        if flooded_before[anchored] > flooded_before[anchored - rest]:
            continue
        later = slice(anchored, anchored + rooting)
        moved = np.abs(level[later] - level[anchored - 1])
        if (stress[later] <= limit).all() and (moved <= bed_change).all():
            return True
    return False


def _positive(values: ArrayLike, name: str) -> Floats:
    numbers = np.asarray(values, dtype=np.float64)
    wrong = numbers[~(np.isfinite(numbers) & (numbers > 0))]
    if wrong.size:
        message = f"{name}: holds {wrong[0]}; must be finite and > 0"
        raise InvalidParameterError(message)
    return numbers
