"""Retreat and failure of the marsh scarp, the small cliff between platform and flat.

Everything here is a law of the mean climate: give it mean power over a day, a tide
or a year, never a single wake, and calibrate it at the site.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel

Floats = NDArray[np.float64]

SCHWIMMER_RATE = 0.35
"""Retreat at 1 kW/m (from memory: Schwimmer 2001; also in the lattice rule, read). [m yr-1]"""

SCHWIMMER_EXPONENT = 1.1
"""Exponent of power in the same law (from memory: Schwimmer 2001). [1]"""

STABILITY_NUMBER = 3.83
"""Stability number of an uncracked vertical cut (from memory: Taylor 1937); 4 without, 2.67 with
a tension crack. [1]"""

ROOT_ORIENTATION = 1.1
"""Share of root tension that acts as cohesion; 1.0 to 1.3 (from memory: Wu et al. 1979). [1]"""

WATER_UNIT_WEIGHT = WATER_DENSITY * GRAVITY
"""Unit weight of sea water. [N m-3]"""


@kernel
def water_level_weight(level: float, toe: float, platform: float, decay_length: float) -> float:
    """Share of the wave power that works on the scarp at a water level.

    Parameters
    ----------
    level, toe, platform : float
        Still water, foot of the scarp and marsh platform in one datum, toe < platform. [m]
    decay_length : float
        Depth over the platform at which the share has fallen to 1/e, > 0; about 0.5 to 2
        wave heights. [m]

    Returns
    -------
    float
        Weight in [0, 1]. [1]

    Notes
    -----
    0 up to the toe, linear to 1 at the platform, ``exp(-(level - platform) / decay_length)`` above
    it. The shape is judgement: the source says that thrust grows until the marsh is submerged and
    then falls rapidly, and that it is largest on a vertical scarp (read). Use the weighted power
    in calibration too.

    References
    ----------
    M. Tonelli, S. Fagherazzi and M. Petti, 2010, "Modeling wave impact on salt marsh boundaries",
    abstract.
    """
    if level <= toe:
        return 0.0
    if level <= platform:
        return (level - toe) / (platform - toe)
    return math.exp(-(level - platform) / decay_length)


@kernel
def mean_level_weight(
    level: float, width: float, toe: float, platform: float, decay_length: float
) -> float:
    """Mean of `water_level_weight` over a band of water levels.

    Parameters
    ----------
    level, width : float
        Middle and width of the band, all levels in it equally frequent; width >= 0. [m]
    toe, platform, decay_length : float
        As in :func:`water_level_weight`. [m]

    Returns
    -------
    float
        Weight in [0, 1]. [1]

    Notes
    -----
    The tent is integrated in closed form. Computed, checked by quadrature.
    """
    if width <= 0.0:
        return water_level_weight(level, toe, platform, decay_length)
    low, high = level - 0.5 * width, level + 0.5 * width
    total = 0.0
    start, end = max(low, toe), min(high, platform)
    if end > start:
        total += 0.5 * ((end - toe) ** 2 - (start - toe) ** 2) / (platform - toe)
    start = max(low, platform, toe)
    if high > start:
        total += decay_length * (
            math.exp(-(start - platform) / decay_length)
            - math.exp(-(high - platform) / decay_length)
        )
    return total / width


@kernel
def retreat_rate(
    power: float, erodibility: float, strength_ratio: float, scarp_height: float
) -> float:
    """Retreat of the scarp under a mean wave power.

    Parameters
    ----------
    power : float
        Mean wave power per metre of edge, weighted by water level. [W m-1]
    erodibility : float
        Volume eroded per metre of edge, year and unit power, of soil of reference strength.
        [m2 yr-1 (W m-1)-1]
    strength_ratio : float
        Soil cohesion over the reference cohesion, > 0. [1]
    scarp_height : float
        Height of the scarp, > 0. [m]

    Returns
    -------
    float
        Landward retreat. [m yr-1]

    Notes
    -----
    ``R = k P / (c / c_ref) / h``: the volume eroded is linear in power (from memory), so a high
    scarp retreats slower. Erodibility of 0.005 to 0.2 is judgement; calibrate at the site. That
    retreat is linear in power, without a threshold, is read in Leonardi et al. 2016.

    References
    ----------
    M. Marani et al., 2011, "Understanding and predicting wave erosion of marsh edges".
    N. Leonardi, N. K. Ganju and S. Fagherazzi, 2016, "A linear relationship between wave power and
    erosion determines salt-marsh resilience to violent storms and hurricanes", abstract.
    """
    return erodibility * power / strength_ratio / scarp_height


@kernel
def lattice_rate(power: float, critical_height: float, wave_height: float) -> float:
    """Rate at which one cell of the marsh boundary gives way.

    Parameters
    ----------
    power : float
        Mean wave power. [W m-1]
    critical_height : float
        Resistance of the cell: the wave height it can bear. [m]
    wave_height : float
        Mean wave height, > 0. [m]

    Returns
    -------
    float
        Erosion rate of the cell. [m yr-1]

    Notes
    -----
    ``E = 0.35 P**1.1 exp(-Hc / H)`` with P in kW/m (read in the authors' public summary). Only
    exposed cells go, one at a time, drawn in proportion to E.

    References
    ----------
    N. Leonardi and S. Fagherazzi, 2014, "How waves shape salt marshes"; 2015, "Effect of local
    variability in erosional resistance on large-scale morphodynamic response of salt marshes to
    wind waves and extreme events".
    """
    growth: float = (power / 1000.0) ** SCHWIMMER_EXPONENT
    return SCHWIMMER_RATE * growth * math.exp(-critical_height / wave_height)


def retreat_schwimmer(power: ArrayLike) -> Floats:
    """Retreat by the power law of one microtidal bay; a rival, not the default.

    Parameters
    ----------
    power : array_like
        Mean wave power by that author's convention, >= 0. [W m-1]

    Returns
    -------
    ndarray of float64, same shape as `power`
        Retreat. [m yr-1]

    Raises
    ------
    InvalidParameterError
        If a power is negative or not finite.

    Notes
    -----
    ``R = 0.35 P**1.1`` with P in kW/m (from memory). Rates differ from those of `retreat_rate` by
    orders of magnitude because power was counted otherwise: never mix the coefficients.

    References
    ----------
    R. A. Schwimmer, 2001, "Rates and processes of marsh shoreline erosion in Rehoboth Bay,
    Delaware, U.S.A.".
    """
    kilowatts = _not_negative(power, "power") / 1000.0
    return SCHWIMMER_RATE * kilowatts**SCHWIMMER_EXPONENT


def retreat_site_normalised(
    power: ArrayLike, site_power: float, site_retreat: float, exponent: float = 1.0
) -> Floats:
    """Retreat at a spot from its power relative to the site's mean.

    Parameters
    ----------
    power : array_like
        Mean wave power at the spot, >= 0. [W m-1]
    site_power : float
        Mean of the site, > 0. [W m-1]
    site_retreat : float
        Mean surveyed retreat of the site, >= 0. [m yr-1]
    exponent : float, default 1.0
        Power of the law, about 0.9 to 1.2. [1]

    Returns
    -------
    ndarray of float64, same shape as `power`
        Retreat. [m yr-1]

    Raises
    ------
    InvalidParameterError
        If a power is negative, the site's power not > 0 or its retreat negative.

    Notes
    -----
    ``R / R_site = (P / P_site)**b`` with b = 1: worldwide data collapse on a line after division by
    the site's means, without a threshold (read). The fitted constants were not read; the factor
    1 and the range of b are judgement.

    References
    ----------
    N. Leonardi, N. K. Ganju and S. Fagherazzi, 2016, "A linear relationship between wave power and
    erosion determines salt-marsh resilience to violent storms and hurricanes", abstract.
    """
    if not (site_power > 0 and site_retreat >= 0):
        message = (
            f"site_power, site_retreat: are {site_power}, {site_retreat}; must be > 0 and >= 0"
        )
        raise InvalidParameterError(message)
    return site_retreat * (_not_negative(power, "power") / site_power) ** exponent


def critical_height(
    strength: ArrayLike, unit_weight: ArrayLike, stability_number: float = STABILITY_NUMBER
) -> Floats:
    """Height at which a vertical scarp falls under its own weight.

    Parameters
    ----------
    strength : array_like
        Undrained shear strength, >= 0. [Pa]
    unit_weight : array_like
        Bulk unit weight of the soil, > 0. [N m-3]
    stability_number : float, default 3.83
        4 without crack, 3.83 for a curved slip surface, 2.67 with a tension crack. [1]

    Returns
    -------
    ndarray of float64
        Critical height. [m]

    Raises
    ------
    InvalidParameterError
        If a strength is negative or a unit weight not > 0.

    Notes
    -----
    ``H = N c / gamma`` (classical; from memory).

    References
    ----------
    D. W. Taylor, 1937, "Stability of earth slopes".
    """
    weight = _positive(unit_weight, "unit_weight")
    return stability_number * _not_negative(strength, "strength") / weight


def cantilever_width(tensile: ArrayLike, thickness: ArrayLike, unit_weight: ArrayLike) -> Floats:
    """Width of overhang at which an undercut block breaks off.

    Parameters
    ----------
    tensile : array_like
        Tensile strength of the rooted soil, >= 0. [Pa]
    thickness : array_like
        Thickness of the overhang, > 0. [m]
    unit_weight : array_like
        Weight of unit volume that the overhang carries, > 0: bulk when the tide is out, bulk less
        `WATER_UNIT_WEIGHT` when drowned. [N m-3]

    Returns
    -------
    ndarray of float64
        Critical width. [m]

    Raises
    ------
    InvalidParameterError
        If a strength is negative, or a thickness or weight not > 0.

    Notes
    -----
    Beam theory: the moment ``gamma h w**2 / 2`` meets the section modulus ``h**2 / 6``, hence
    ``w = sqrt(sigma h / (3 gamma))``.
    """
    weight = _positive(unit_weight, "unit_weight")
    height = _positive(thickness, "thickness")
    return np.sqrt(_not_negative(tensile, "tensile") * height / (3 * weight))


def toppling_moments(
    height: float,
    width: float,
    crack_water: float,
    front_water: float,
    unit_weight: float,
    tensile: float,
) -> tuple[float, float]:
    """Overturning and resisting moment of a block cut off by a tension crack.

    Parameters
    ----------
    height, width : float
        Size of the block across the edge, > 0. [m]
    crack_water, front_water : float
        Depth of water in the crack and in front, above the block's base, >= 0. [m]
    unit_weight : float
        Bulk unit weight, > 0. [N m-3]
    tensile : float
        Tensile strength at the base, >= 0. [Pa]

    Returns
    -------
    tuple of float
        Overturning and resisting moment; the block topples when the first exceeds the second.
        [N m per m]

    Raises
    ------
    InvalidParameterError
        If a size or the weight is not > 0, or a depth or the strength negative.

    Notes
    -----
    ``M_o = gamma_w (z_c**3 - z_f**3) / 6`` and ``M_r = gamma B**2 h / 2 + sigma B**2 / 6`` (judgement:
    a planar, rigid, one-line version of the source's block). Worst with water in the crack and a
    low tide in front (read). Uplift under the base is left out.

    References
    ----------
    M. Bendoni et al., 2014, "On salt marshes retreat: experiments and modeling toppling failures
    induced by wind waves", abstract.
    """
    for name, value in (("height", height), ("width", width), ("unit_weight", unit_weight)):
        _positive(value, name)
    for name, value in (
        ("crack_water", crack_water),
        ("front_water", front_water),
        ("tensile", tensile),
    ):
        _not_negative(value, name)
    overturning = WATER_UNIT_WEIGHT * (crack_water**3 - front_water**3) / 6
    resisting = unit_weight * width**2 * height / 2 + tensile * width**2 / 6
    return overturning, resisting


def undercut_cycle_mean(width: ArrayLike, retreat: ArrayLike, residence: ArrayLike) -> Floats:
    """Long-run retreat of an edge whose fallen blocks shelter the toe for a while.

    Parameters
    ----------
    width : array_like
        Overhang at which a block falls, > 0. [m]
    retreat : array_like
        Undercutting while the toe is bare, > 0. [m yr-1]
    residence : array_like
        Time for which a fallen block shelters the toe, >= 0. [yr]

    Returns
    -------
    ndarray of float64
        Mean retreat. [m yr-1]

    Raises
    ------
    InvalidParameterError
        If a width or retreat is not > 0 or a residence negative.

    Notes
    -----
    ``w / (w / R + T)`` (judgement). It is this mean, not the rate R, that a survey sees.
    """
    block = _positive(width, "width")
    time = block / _positive(retreat, "retreat") + _not_negative(residence, "residence")
    return block / time


def root_cohesion(tensile: ArrayLike, area_ratio: ArrayLike) -> Floats:
    """Cohesion that roots add to a soil.

    Parameters
    ----------
    tensile : array_like
        Tensile strength of the roots, >= 0. [Pa]
    area_ratio : array_like
        Root area over soil area, >= 0. [1]

    Returns
    -------
    ndarray of float64
        Added cohesion. [Pa]

    Raises
    ------
    InvalidParameterError
        If an argument is negative.

    Notes
    -----
    ``1.1 T a`` (from memory); an upper bound, since it lets all roots break at once.

    References
    ----------
    T. H. Wu, W. P. McKinnell and D. N. Swanston, 1979, "Strength of tree roots and landslides on
    Prince of Wales Island, Alaska".
    """
    ratio = _not_negative(area_ratio, "area_ratio")
    return ROOT_ORIENTATION * _not_negative(tensile, "tensile") * ratio


def _not_negative(values: ArrayLike, name: str) -> Floats:
    numbers = np.asarray(values, dtype=np.float64)
    wrong = numbers[~(np.isfinite(numbers) & (numbers >= 0))]
    if wrong.size:
        message = f"{name}: holds {wrong[0]}; must be finite and >= 0"
        raise InvalidParameterError(message)
    return numbers


def _positive(values: ArrayLike, name: str) -> Floats:
    numbers = np.asarray(values, dtype=np.float64)
    wrong = numbers[~(np.isfinite(numbers) & (numbers > 0))]
    if wrong.size:
        message = f"{name}: holds {wrong[0]}; must be finite and > 0"
        raise InvalidParameterError(message)
    return numbers
