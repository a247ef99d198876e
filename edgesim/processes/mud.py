"""Mud: what the water lifts, what it drops, and how dense the bed becomes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import (
    GRAVITY,
    SECONDS_PER_YEAR,
    TIDES_PER_YEAR,
    WATER_DENSITY,
    WATER_VISCOSITY,
)
from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel

Floats = NDArray[np.float64]

ORGANIC_DENSITY = 85.0
"""Self-packing dry density of pure organic soil, +-0.7 (read: Morris et al. 2016). [kg m-3]"""

MINERAL_DENSITY = 1990.0
"""Self-packing dry density of pure mineral soil, +-28 (read: Morris et al. 2016). [kg m-3]"""

GRAIN_DENSITY = 2650.0
"""Density of quartz and clay minerals (from memory). [kg m-3]"""

HINDERED_EXPONENT = 5.0
"""Exponent of hindered settling for small grains (from memory: Richardson and Zaki 1954). [1]"""


@kernel
def partheniades_erosion(stress: float, critical: float, rate: float) -> float:
    """Mass of mud lifted from the bed in unit time.

    Parameters
    ----------
    stress : float
        Largest bed stress of waves and current. [Pa]
    critical : float
        Stress at which the bed begins to erode, > 0. [Pa]
    rate : float
        Erosion at twice the critical stress. [kg m-2 s-1]

    Returns
    -------
    float
        Erosion, >= 0. [kg m-2 s-1]

    Notes
    -----
    ``E = M (stress / critical - 1)`` above the critical stress, else 0 (read in the guide of an
    agency sediment model: the particle-by-particle form of Partheniades 1962). Surface erosion
    only; a bed that fails in mass goes faster.

    References
    ----------
    E. Partheniades, 1962, "A study of erosion and deposition of cohesive soils in salt water".
    """
    return rate * max(stress / critical - 1.0, 0.0)


@kernel
def krone_deposition(
    settling: float, concentration: float, stress: float, critical: float
) -> float:
    """Mass of mud that reaches the bed and stays, in unit time.

    Parameters
    ----------
    settling : float
        Settling velocity of the flocs. [m s-1]
    concentration : float
        Suspended mud near the bed. [kg m-3]
    stress : float
        Mean bed stress. [Pa]
    critical : float
        Stress above which nothing stays, > 0. [Pa]

    Returns
    -------
    float
        Deposition, >= 0. [kg m-2 s-1]

    Notes
    -----
    ``D = w C (1 - stress / critical)`` below the critical stress, else 0 (from memory). Others
    let mud settle at every stress; hold the two laws against each other where it matters.

    References
    ----------
    R. B. Krone, 1962, "Flume studies of the transport of sediment in estuarial shoaling processes".
    """
    return settling * concentration * max(1.0 - stress / critical, 0.0)


@kernel
def krone_share(hindered: float, wet: float) -> float:
    """Share of settling mud that stays, mean over the time under water by Krone's law.

    Parameters
    ----------
    hindered : float
        Integral over that time of the stress over the critical one, at most 1. [s]
    wet : float
        Time under water. [s]

    Returns
    -------
    float
        Mean of ``max(1 - stress / critical, 0)``, in 0 to 1; 1 for a bed that waves never reach. [1]

    Notes
    -----
    The mean of :func:`krone_deposition` over that of ``w C`` (from memory, as there). Waves that
    meet at the same moment count one after the other.
    """
    return max(1.0 - hindered / max(wet, 1e-12), 0.0)


@kernel
def tidal_deposition(
    concentration: float,
    mean_flood_depth: float,
    trapping: float,
    settling_velocity: float,
    inundated_fraction: float,
) -> float:
    """Mud that a year of tides leaves on a sheltered bed.

    Parameters
    ----------
    concentration : float
        Suspended mud of the water that floods the bed. [kg m-3]
    mean_flood_depth : float
        Depth of that water over the bed, 0 for a bed that never floods. [m]
    trapping : float
        Share of the load of a tide that stays, 0 to 1. [1]
    settling_velocity : float
        Settling velocity of the flocs. [m s-1]
    inundated_fraction : float
        Share of the time under water. [1]

    Returns
    -------
    float
        Dry mass, >= 0. [kg m-2 yr-1]

    Notes
    -----
    The lesser of supply ``N e C h`` (N tides a year) and settling ``w C F`` over the time F under
    water (judgement, with e between 0.1 and 0.8). Self-limiting: depth and flooding shrink as the
    bed rises. What waves keep from the bed is not in it (:func:`krone_share`).
    """
    supply = TIDES_PER_YEAR * trapping * concentration * mean_flood_depth
    settled = settling_velocity * concentration * inundated_fraction * SECONDS_PER_YEAR
    return max(min(supply, settled), 0.0)


@kernel
def consolidated_density(age: float, initial: float, final: float, timescale: float) -> float:
    """Dry density of a deposit that packs under its own weight.

    Parameters
    ----------
    age : float
        Age of the deposit. [yr]
    initial, final : float
        Dry density when fresh and when old. [kg m-3]
    timescale : float
        Time in which 63 % of the change is done, > 0. [yr]

    Returns
    -------
    float
        Dry density. [kg m-3]

    Notes
    -----
    ``rho = final - (final - initial) exp(-age / timescale)`` (judgement; timescale 0.3 to 2 yr).
    Mass is kept, so thickness shrinks as initial / rho.
    """
    return final - (final - initial) * math.exp(-age / timescale)


def stokes_settling(
    diameter: ArrayLike,
    *,
    grain_density: float = GRAIN_DENSITY,
    water_density: float = WATER_DENSITY,
    viscosity: float = WATER_VISCOSITY,
) -> Floats:
    """Settling velocity of a single small grain in still water.

    Parameters
    ----------
    diameter : array_like
        Grain diameter, > 0. [m]
    grain_density, water_density : float
        Densities, the grain the denser one. [kg m-3]
    viscosity : float
        Kinematic viscosity of the water. [m2 s-1]

    Returns
    -------
    ndarray of float64, same shape as `diameter`
        Settling velocity, positive downwards. [m s-1]

    Raises
    ------
    InvalidParameterError
        If a diameter is not > 0 or the grain not denser than the water.

    Notes
    -----
    ``w = (s - 1) g d**2 / (18 nu)``, s the density ratio: theory of Stokes for a sphere, good below
    about 60 micrometres. Mud settles as flocs: measure their velocity instead where possible.
    """
    size = np.asarray(diameter, dtype=np.float64)
    if not (np.isfinite(size).all() and (size > 0).all()):
        message = f"diameter: smallest is {size.min()} m; every grain must be finite and > 0"
        raise InvalidParameterError(message)
    if not grain_density > water_density > 0:
        message = (
            f"grain_density: is {grain_density} kg m-3; must exceed the water's {water_density}"
        )
        raise InvalidParameterError(message)
    ratio = grain_density / water_density
    return np.asarray((ratio - 1) * GRAVITY * size**2 / (18 * viscosity), dtype=np.float64)


def hindered_settling(velocity: ArrayLike, volume_fraction: ArrayLike) -> Floats:
    """Settling velocity of grains that crowd each other.

    Parameters
    ----------
    velocity : array_like
        Settling velocity of a lone grain or floc. [m s-1]
    volume_fraction : array_like
        Share of the volume that grains or flocs fill, in [0, 1]. [1]

    Returns
    -------
    ndarray of float64
        Settling velocity. [m s-1]

    Raises
    ------
    InvalidParameterError
        If a volume fraction is outside [0, 1].

    Notes
    -----
    ``w (1 - phi)**5`` (from memory).

    References
    ----------
    J. F. Richardson and W. N. Zaki, 1954, "Sedimentation and fluidisation: part I".
    """
    fraction = _shares(volume_fraction, "volume_fraction")
    return np.asarray(velocity, dtype=np.float64) * (1 - fraction) ** HINDERED_EXPONENT


def suspended_share(settling_velocity: float, duration: ArrayLike, depth: float) -> Floats:
    """Share of the mud still in a well mixed column after some still time.

    Parameters
    ----------
    settling_velocity : float
        Settling velocity. [m s-1]
    duration : array_like
        Time since the column was filled, >= 0. [s]
    depth : float
        Depth of the column, > 0. [m]

    Returns
    -------
    ndarray of float64, same shape as `duration`
        Share of the first concentration. [1]

    Raises
    ------
    InvalidParameterError
        If the depth is not > 0.

    Notes
    -----
    ``exp(-w t / h)``, the solution of ``h dC/dt = -w C`` used over flooded marsh (from memory).

    References
    ----------
    J. R. French, 2006, "Tidal marsh sedimentation and resilience to environmental change".
    """
    if not depth > 0:
        message = f"depth: is {depth} m; must be > 0"
        raise InvalidParameterError(message)
    return np.exp(-settling_velocity * np.asarray(duration, dtype=np.float64) / depth)


def mean_flood_depth(levels: ArrayLike, elevation: ArrayLike) -> Floats:
    """Mean depth over a bed while it is under water.

    Parameters
    ----------
    levels : array_like
        Water levels at even time steps. [m]
    elevation : array_like
        Height of the bed in the same datum, any shape. [m]

    Returns
    -------
    ndarray of float64, same shape as `elevation`
        Mean depth of the wet times, 0 where the water never comes. [m]

    Raises
    ------
    InvalidParameterError
        If `levels` is empty or not finite.

    Examples
    --------
    >>> mean_flood_depth([0.0, 1.0, 2.0], [-1.0, 0.5, 2.0]).tolist()
    [2.0, 1.0, 0.0]
    """
    record = np.sort(np.asarray(levels, dtype=np.float64), axis=None)
    if record.size == 0 or not np.isfinite(record).all():
        message = "levels: must hold at least one value and only finite ones"
        raise InvalidParameterError(message)
    bed = np.asarray(elevation, dtype=np.float64)
    dry = np.searchsorted(record, bed, side="right")
    wet = record.size - dry
    sum_above = np.concatenate([np.cumsum(record[::-1])[::-1], [0.0]])[dry]
    return np.where(wet > 0, sum_above / np.maximum(wet, 1) - bed, 0.0)


def dry_density_from_organic(loss_on_ignition: ArrayLike) -> Floats:
    """Dry density of marsh soil from its organic share.

    Parameters
    ----------
    loss_on_ignition : array_like
        Organic share of the dry mass, in [0, 1]. [1]

    Returns
    -------
    ndarray of float64, same shape as `loss_on_ignition`
        Dry density. [kg m-3]

    Raises
    ------
    InvalidParameterError
        If a share is outside [0, 1].

    Notes
    -----
    ``1 / (L / k1 + (1 - L) / k2)``: organic and mineral volumes add up (read; 78 % of the variance
    of 5075 samples from 33 US wetlands). Describes old soil, not fresh mud.

    References
    ----------
    J. T. Morris et al., 2016, "Contributions of organic and inorganic matter to sediment volume
    and accretion in tidal wetlands at steady state", abstract.

    Examples
    --------
    >>> float(dry_density_from_organic(0.2).round())
    363.0
    """
    organic = _shares(loss_on_ignition, "loss_on_ignition")
    return 1 / (organic / ORGANIC_DENSITY + (1 - organic) / MINERAL_DENSITY)


def approach_to_equilibrium(time: ArrayLike, equilibrium: float, timescale: float) -> Floats:
    """Rise of a bed behind a permeable fence.

    Parameters
    ----------
    time : array_like
        Time since the fence was built, >= 0. [yr]
    equilibrium : float
        Rise at which the bed comes to rest. [m]
    timescale : float
        Time in which 63 % of it is reached, > 0. [yr]

    Returns
    -------
    ndarray of float64, same shape as `time`
        Rise. [m]

    Raises
    ------
    InvalidParameterError
        If a time is negative or the timescale not > 0.

    Notes
    -----
    ``z = z_eq (1 - exp(-t / tau))`` (judgement). Its two constants were fitted to the first and
    third year of a muddy delta coast; carry over the shape, not the numbers.

    References
    ----------
    C. Van Cuong et al., 2015, "Using Melaleuca fences as soft coastal engineering for mangrove
    restoration in Kien Giang, Vietnam".
    """
    elapsed = np.asarray(time, dtype=np.float64)
    if not ((elapsed >= 0).all() and timescale > 0):
        message = (
            f"time, timescale: least are {elapsed.min()}, {timescale} yr; must be >= 0 and > 0"
        )
        raise InvalidParameterError(message)
    return equilibrium * -np.expm1(-elapsed / timescale)


def _shares(values: ArrayLike, name: str) -> Floats:
    shares = np.asarray(values, dtype=np.float64)
    wrong = shares[~((shares >= 0) & (shares <= 1))]
    if wrong.size:
        message = f"{name}: holds {wrong[0]}; must lie between 0 and 1"
        raise InvalidParameterError(message)
    return shares
