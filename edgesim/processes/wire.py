"""Life of wire baskets, rings and ties in salt water.

A jacket delays, zinc then protects, and at last the steel thins until half of its
strength is gone. Lengths in metres, time in Julian years, rates in m year-1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError
from edgesim.kernels import kernel

ZINC_DENSITY = 7140.0
"""Density of zinc (from memory). [kg m-3]"""

FAILURE_STRENGTH = 0.5
"""Share of its strength at which a wire counts as broken (judgement). [1]"""

ZINC_EXPONENT = 0.813
"""Time exponent of zinc in air, ISO 9224:2012 (from memory). [1]"""

STEEL_EXPONENT = 0.523
"""Time exponent of carbon steel in air, ISO 9224:2012 (from memory). [1]"""

POWER_LAW_YEARS = 20.0
"""Longest exposure for which the power law of ISO 9224 is meant (from memory). [year]"""

ZINC_RATES: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "air": (4.2e-6, 6.0e-6, 8.4e-6),
        "intertidal": (15e-6, 25e-6, 60e-6),
        "subtidal": (10e-6, 15e-6, 25e-6),
    }
)
"""Loss of zinc by position: low, mode, high. [m year-1]

Air: corrosivity category C5, 4.2 to 8.4 um/yr, read (Galvanizers Association of
Australia, performance page, after ISO 9223). Sea water 15 to 25 um/yr read (same
association). The tidal range, up to some four times that, is judgement.
"""

STEEL_RATES: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "air": (80e-6, 120e-6, 200e-6),
        "intertidal": (80e-6, 150e-6, 400e-6),
        "subtidal": (50e-6, 100e-6, 200e-6),
    }
)
"""Loss of bare steel, a side, by position: low, mode, high. [m year-1]

Air: category C5, 80 to 200 um/yr in the first year, read (same page); the water
positions from memory and judgement.
"""


@dataclass(frozen=True)
class Wire:
    """One kind of wire.

    Parameters
    ----------
    name : str
        Our plain name.
    coating_mass : tuple of float
        Zinc or alloy on the surface: low, mode, high. [kg m-2]
    coating_factor : tuple of float
        Life of the coating relative to zinc of that mass: low, mode, high. [1]
    jacket_life : tuple of float
        Delay by the polymer jacket: low, mode, high. [year]
    damaged_share : tuple of float
        Share of wires whose jacket is cut from the start: low, mode, high. [1]
    steel_factor : tuple of float
        Loss rate of the bare wire relative to carbon steel: low, mode, high. [1]
    source : str
        Where the numbers come from.
    mark : str
        "read", "from memory" or "judgement".
    """

    name: str
    coating_mass: tuple[float, float, float]
    coating_factor: tuple[float, float, float]
    jacket_life: tuple[float, float, float]
    damaged_share: tuple[float, float, float]
    steel_factor: tuple[float, float, float]
    source: str
    mark: str


_ONE = (1.0, 1.0, 1.0)
_NONE = (0.0, 0.0, 0.0)
_HEAVY_COAT = (0.240, 0.260, 0.275)

WIRES: Mapping[str, Wire] = MappingProxyType(
    {
        wire.name: wire
        for wire in (
            Wire(
                "thin galvanised",
                (0.030, 0.060, 0.100),
                _ONE,
                _NONE,
                _NONE,
                _ONE,
                "hexagonal netting of 1.0 to 1.8 mm",
                "judgement",
            ),
            Wire(
                "galvanised",
                _HEAVY_COAT,
                _ONE,
                _NONE,
                _NONE,
                _ONE,
                "mesh makers' data sheets: 240 g/m2 at 2.2 mm, 275 g/m2 at 2.7 and 3.4 mm",
                "read",
            ),
            Wire(
                "zinc-aluminium",
                _HEAVY_COAT,
                (2.0, 2.5, 3.0),
                _NONE,
                _NONE,
                _ONE,
                "maker's glossary: zinc with 5 % aluminium lasts 2 to 3 times as long",
                "read",
            ),
            Wire(
                "jacketed galvanised",
                _HEAVY_COAT,
                _ONE,
                (5.0, 12.0, 25.0),
                (0.01, 0.05, 0.20),
                _ONE,
                "delay by the polymer jacket and share of damaged wires",
                "judgement",
            ),
            Wire(
                "stainless",
                _NONE,
                _ONE,
                _NONE,
                _NONE,
                (0.01, 0.05, 0.20),
                "molybdenum grade; may eat galvanised wire that touches it",
                "judgement",
            ),
        )
    }
)
"""Kinds of wire by name."""


@dataclass(frozen=True)
class Tie:
    """One kind of tie that is no wire, with a Weibull life.

    Parameters
    ----------
    name : str
        Our plain name.
    life : tuple of float
        Weibull scale: low, mode, high. [year]
    shape : float
        Weibull shape. [1]
    source : str
        Where the life comes from.
    mark : str
        "read", "from memory" or "judgement".
    """

    name: str
    life: tuple[float, float, float]
    shape: float
    source: str
    mark: str


TIES: Mapping[str, Tie] = MappingProxyType(
    {
        tie.name: tie
        for tie in (
            Tie("coir rope", (0.5, 1.0, 2.0), 2.0, "plastic-free, rots in the sea", "judgement"),
            Tie("plain nylon", (0.5, 1.5, 3.0), 3.0, "common practice, no source", "from memory"),
            Tie("black nylon", (3.0, 7.0, 12.0), 3.0, "common practice, no source", "from memory"),
        )
    }
)
"""Kinds of tie that are no wire, by name."""


@kernel
def coating_thickness(coating_mass: float) -> float:
    """Thickness of a zinc coating.

    Parameters
    ----------
    coating_mass : float
        Zinc on the surface. [kg m-2]

    Returns
    -------
    float
        coating_mass / 7140 kg m-3. [m]
    """
    return coating_mass / ZINC_DENSITY


@kernel
def coating_life(thickness: float, zinc_rate: float) -> float:
    """Time until the zinc is gone at a steady loss.

    Parameters
    ----------
    thickness : float
        Thickness of the coating. [m]
    zinc_rate : float
        Loss of thickness. [m year-1]

    Returns
    -------
    float
        thickness/zinc_rate. [year]

    Notes
    -----
    Linear because chlorides keep zinc from forming a patina in the tide (read, American
    Galvanizers Association, article on splash zones).
    """
    return thickness / zinc_rate


@kernel
def steel_life(wire_diameter: float, steel_rate: float) -> float:
    """Time from bare steel to a broken wire.

    Parameters
    ----------
    wire_diameter : float
        Diameter of the steel. [m]
    steel_rate : float
        Loss of radius. [m year-1]

    Returns
    -------
    float
        Time until half of the cross-section is gone. [year]

    Notes
    -----
    Strength goes with the square of the diameter, so the radius lost at failure is
    (1 - sqrt(1/2))/2 = 0.1464 diameters. Pits can be 1.5 to 3 times as fast.
    """
    return 0.5 * wire_diameter * (1.0 - math.sqrt(FAILURE_STRENGTH)) / steel_rate


@kernel
def time_to_failure(
    jacket_years: float,
    coating_thickness: float,
    zinc_rate: float,
    wire_diameter: float,
    steel_rate: float,
) -> float:
    """Age at which a wire breaks.

    Parameters
    ----------
    jacket_years : float
        Delay by the jacket, 0 without one or where it is cut. [year]
    coating_thickness : float
        Thickness of the zinc. [m]
    zinc_rate : float
        Loss of zinc. [m year-1]
    wire_diameter : float
        Diameter of the steel. [m]
    steel_rate : float
        Loss of radius of the steel. [m year-1]

    Returns
    -------
    float
        jacket_years + `coating_life` + `steel_life`. [year]
    """
    return (
        jacket_years
        + coating_life(coating_thickness, zinc_rate)
        + steel_life(wire_diameter, steel_rate)
    )


@kernel
def strength_left(
    age: float,
    jacket_years: float,
    coating_thickness: float,
    zinc_rate: float,
    wire_diameter: float,
    steel_rate: float,
) -> float:
    """Strength of a wire relative to new; it breaks at `FAILURE_STRENGTH`.

    Parameters
    ----------
    age : float
        Age of the wire. [year]
    jacket_years, coating_thickness, zinc_rate, wire_diameter, steel_rate : float
        As in `time_to_failure`.

    Returns
    -------
    float
        Square of the ratio of diameters. [1]
    """
    bare_years = max(0.0, age - jacket_years - coating_life(coating_thickness, zinc_rate))
    ratio = max(0.0, 1.0 - 2.0 * steel_rate * bare_years / wire_diameter)
    return ratio * ratio


def _require(name: str, value: ArrayLike, low: float, high: float = math.inf) -> None:
    """Refuse numbers outside low < value <= high, and anything not finite."""
    number = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(number) & (number > low) & (number <= high)):
        msg = f"{name} = {value!r}: must be above {low:g} and at most {high:g}."
        raise InvalidParameterError(msg)


def loss_in_air(
    first_year_rate: ArrayLike, exponent: float, years: ArrayLike
) -> NDArray[np.float64]:
    """Thickness lost in air, where a patina slows the loss.

    Parameters
    ----------
    first_year_rate : array_like
        Loss of the first year, > 0. [m]
    exponent : float
        `ZINC_EXPONENT` or `STEEL_EXPONENT`, in (0, 1]. [1]
    years : array_like
        Exposure, above 0 to 20. [year]

    Returns
    -------
    ndarray of float64
        first_year_rate years^exponent. [m]

    Raises
    ------
    InvalidParameterError
        If an argument is outside its range.

    References
    ----------
    ISO 9224:2012, "Corrosion of metals and alloys. Corrosivity of atmospheres. Guiding
    values for the corrosivity categories" (equation and exponents from memory).
    """
    _require("first_year_rate", first_year_rate, 0.0)
    _require("exponent", exponent, 0.0, 1.0)
    _require("years", years, 0.0, POWER_LAW_YEARS)
    rate = np.asarray(first_year_rate, dtype=np.float64)
    return np.asarray(rate * np.asarray(years, dtype=np.float64) ** exponent)


def coating_life_in_air(
    thickness: ArrayLike, first_year_rate: ArrayLike, exponent: float = ZINC_EXPONENT
) -> NDArray[np.float64]:
    """Time until a coating in air is gone, the inverse of `loss_in_air`.

    Parameters
    ----------
    thickness : array_like
        Thickness of the coating, > 0. [m]
    first_year_rate : array_like
        Loss of the first year, > 0. [m]
    exponent : float, default `ZINC_EXPONENT`
        Time exponent, in (0, 1]. [1]

    Returns
    -------
    ndarray of float64
        (thickness/first_year_rate)^(1/exponent); beyond 20 years an extrapolation. [year]

    Raises
    ------
    InvalidParameterError
        If an argument is outside its range.
    """
    _require("thickness", thickness, 0.0)
    _require("first_year_rate", first_year_rate, 0.0)
    _require("exponent", exponent, 0.0, 1.0)
    ratio = np.asarray(thickness, dtype=np.float64) / np.asarray(first_year_rate, dtype=np.float64)
    return np.asarray(ratio ** (1.0 / exponent))
