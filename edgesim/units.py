"""The only place that knows feet, knots and pounds.

A :class:`Kind` is a kind of quantity with the one unit used inside edgesim and the
units in which a person may write it, either as text (``"5 ft"``) or as the
ending of a key (``gap_ft = 5``). Inside edgesim lengths are in metres, masses in
kilograms, angles in radians; slow rates are per year of 365.25 days and
temperatures are in degrees Celsius, the units of the ecology.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from edgesim.errors import UnitError

_NUMBER = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
# A number, then a unit that ends where the next number begins, as in 5 ft 6 in.
_PART = re.compile(rf"\s*({_NUMBER})\s*([^\d\s+\-.].*?)??(?=\s+\d|\s*$|(?<=')\d)\s*")
# What people write, and what the unit library would read otherwise (C is a coulomb there).
_SPELLINGS = {
    "°c": "degC", "degc": "degC", "c": "degC", "celsius": "degC",
    "°f": "degF", "degf": "degF", "f": "degF", "fahrenheit": "degF",
    "°": "degree", "'": "ft", '"': "in", "%": "percent", "kt": "knot", "kts": "knot",
    "lbs": "lb", "tons": "ton", "microns": "um",
}  # fmt: skip


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its inside unit, how it is called and how it may be written.

    Parameters
    ----------
    name : str
        Plain name, used in messages.
    unit : str
        The unit used inside edgesim, as the unit library spells it; "" for pure numbers.
    suffixes : dict
        Ending of a key -> unit; the first is the ending used in resolved files.
    example : str
        A value as a user would write it.
    other : str
        The second unit in which the value is shown to people; "" for none.
    bare : bool
        Whether a number without any unit is understood.
    shown : str
        Metric unit in which the value is shown to people, if not the inside unit.
    """

    name: str
    unit: str
    suffixes: dict[str, str]
    example: str
    other: str = ""
    bare: bool = False
    shown: str = ""

    @property
    def suffix(self) -> str:
        """Ending of a key whose value is in the inside unit ("" for pure numbers)."""
        return "" if self.bare else next(iter(self.suffixes))


def _kind(
    name: str, unit: str, suffixes: str, example: str, other: str = "", shown: str = ""
) -> Kind:
    """Build a kind from ``"ending:unit ending:unit"``."""
    pairs = dict(item.split(":") for item in suffixes.split())
    return Kind(name, unit, pairs, example, other, shown=shown)


_LENGTHS = "m:m ft:ft in:in cm:cm mm:mm km:km miles:mile um:um"
_SPEEDS = "m_per_s:m/s knots:knot mph:mile/hour ft_per_s:ft/s mm_per_s:mm/s cm_per_s:cm/s km_per_h:km/hour"
_DENSITIES = "kg_per_m3:kg/m^3 mg_per_l:mg/liter g_per_l:g/liter lb_per_ft3:lb/ft^3"
_RATES = (
    "m_per_year:m/year ft_per_year:ft/year in_per_year:in/year cm_per_year:cm/year "
    "mm_per_year:mm/year um_per_year:um/year"
)
KINDS: dict[str, Kind] = {
    "length": _kind("a length", "m", _LENGTHS, "5 ft", "ft"),
    "area": _kind("an area", "m^2", "m2:m^2 ft2:ft^2 acres:acre", "500 ft^2", "ft^2"),
    "size": _kind("a length", "m", _LENGTHS, "4 in", "in", "mm"),
    "speed": _kind("a speed", "m/s", _SPEEDS, "20 knots", "knot"),
    "fall speed": _kind("a speed", "m/s", _SPEEDS, "0.5 mm/s", "", "mm/s"),
    "mass": _kind("a mass", "kg", "kg:kg lb:lb tonnes:tonne", "3000 lb", "lb"),
    "density": _kind("a mass per volume", "kg/m^3", _DENSITIES, "600 kg/m^3", "lb/ft^3"),
    "concentration": _kind("a mass per volume", "kg/m^3", _DENSITIES, "35 mg/l", "", "mg/liter"),
    "rate": _kind("a length per year", "m/year", _RATES, "1.3 ft/yr", "ft/year"),
    "slow rate": _kind("a length per year", "m/year", _RATES, "5 mm/yr", "in/year", "mm/year"),
    "acceleration": _kind(
        "a length per year squared",
        "m/year^2",
        "m_per_year2:m/year^2 mm_per_year2:mm/year^2",
        "0.08 mm/yr^2",
        "",
        "mm/year^2",
    ),
    "years": _kind("a time", "year", "years:year months:month days:day", "2 years"),
    "days": _kind("a time", "day", "days:day weeks:week hours:hour", "30 days"),
    "stress": _kind("a stress", "Pa", "pa:Pa kpa:kPa psf:lbf/ft^2", "0.4 Pa"),
    "stress per day": _kind("a stress per day", "Pa/day", "pa_per_day:Pa/day", "0.01 Pa/day"),
    "mixing": _kind("an area per time", "m^2/s", "m2_per_s:m^2/s cm2_per_s:cm^2/s", "0.005 m^2/s"),
    "angle": _kind("an angle", "radian", "rad:radian deg:degree", "90 deg", "", "degree"),
    "temperature": _kind("a temperature", "degC", "c:degC f:degF", "28 C", "degF"),
    "per year": _kind(
        "a rate per year",
        "1/year",
        "per_year:1/year percent_per_year:percent/year per_day:1/day",
        "0.6 /yr",
    ),
    "per area": _kind(
        "a number per area", "1/m^2", "per_m2:1/m^2 per_ft2:1/ft^2", "3000 /m^2", "1/ft^2"
    ),
    "per area and year": _kind(
        "a number per area and year",
        "1/m^2/year",
        "per_m2_per_year:1/m^2/year per_ft2_per_year:1/ft^2/year",
        "4000 /m^2/yr",
        "1/ft^2/year",
    ),
    "erodibility": _kind(
        "an eroded area per year and wave power",
        "m^3/year/W",
        "m2_per_year_per_w_per_m:m^3/year/W",
        "0.05 m^3/yr/W",
    ),
    "salinity": _kind("a salinity", "psu", "psu:psu", "25 psu"),
    "fraction": Kind("a share", "", {"": "", "percent": "percent"}, "0.25", bare=True),
    "number": Kind("a number", "", {"": ""}, "1.0", bare=True),
    "money per length": _kind("a price per length", "1/m", "per_m:1/m per_ft:1/ft", "120", "1/ft"),
    "money per volume": _kind(
        "a price per volume", "1/m^3", "per_m3:1/m^3 per_ft3:1/ft^3 per_yd3:1/yard^3", "60"
    ),
}


@cache
def _registry() -> Any:
    """Return the unit library's registry, made at first use because that takes 0.2 s."""
    import pint

    registry: Any = pint.UnitRegistry(cache_folder=None)
    registry.define("psu = []")
    return registry


@cache
def _scale(unit: str, kind_name: str) -> tuple[float, float]:
    """Factor and offset that turn a number in `unit` into the inside unit of the kind."""
    registry = _registry()
    kind = KINDS[kind_name]
    zero, one = (
        float(registry.Quantity(number, unit).to(kind.unit or "dimensionless").magnitude)
        for number in (0.0, 1.0)
    )
    return _tidied(one - zero), _tidied(zero)


def _tidied(number: float) -> float:
    """Number without the last digits, so that 16 ft is 4.8768 m and not 4.876799999999999 m."""
    return float(f"{number:.13g}")


def to_inside(value: float, unit: str, kind_name: str) -> float:
    """Turn a number in a unit into the unit used inside edgesim.

    Parameters
    ----------
    value : float
        The number. [in `unit`]
    unit : str
        Unit in the spelling of the suffix tables or as a person writes it.
    kind_name : str
        Key of :data:`KINDS`.

    Returns
    -------
    float
        The number. [inside unit of the kind]

    Raises
    ------
    UnitError
        If the unit is unknown or of another kind.

    Examples
    --------
    >>> round(to_inside(5.0, "ft", "length"), 6)
    1.524
    """
    kind = KINDS[kind_name]
    try:
        factor, offset = _scale(_spelled(unit), kind_name)
    except Exception as error:
        reason = (
            "is not a unit that is known"
            if type(error).__name__ != "DimensionalityError"
            else f"is not the unit of {kind.name}"
        )
        msg = f'the unit "{unit}" {reason}'
        raise UnitError(msg) from error
    return value * factor + offset


def from_inside(value: float, unit: str, kind_name: str) -> float:
    """Turn a number in the inside unit of a kind into another unit.

    Examples
    --------
    >>> round(from_inside(1.524, "ft", "length"), 6)
    5.0
    """
    factor, offset = _scale(_spelled(unit), kind_name)
    return (value - offset) / factor


def parse_quantity(text: str, kind_name: str) -> float:
    """Read text such as ``"16 ft"``, ``"5 ft 6 in"`` or ``"15 %"``.

    Parameters
    ----------
    text : str
        One number with its unit; lengths may be sums of feet and inches.
    kind_name : str
        Key of :data:`KINDS`.

    Returns
    -------
    float
        The value. [inside unit of the kind]

    Raises
    ------
    UnitError
        If the text is not a finite number with a unit of the kind.

    Examples
    --------
    >>> round(parse_quantity("5 ft 6 in", "length"), 4)
    1.6764
    >>> round(parse_quantity("15 %", "fraction"), 4)
    0.15
    """
    kind = KINDS[kind_name]
    body = text.strip()
    sign = -1.0 if body.startswith(("-", "\u2212")) else 1.0
    parts = _parts(body.lstrip("+-\u2212"))
    if parts is None:
        msg = "is not one number with a unit"
        raise UnitError(msg)
    if len(parts) > 1 and kind.unit != "m":
        msg = "holds more than one number"
        raise UnitError(msg)
    if not all(unit for _, unit in parts) and not (kind.bare and len(parts) == 1):
        msg = "has no unit"
        raise UnitError(msg)
    value = sum(to_inside(sign * number, unit, kind_name) for number, unit in parts)
    if not math.isfinite(value):
        msg = "is not a finite number"
        raise UnitError(msg)
    return value


def parse_difference(text: str, kind_name: str) -> float:
    """Read a difference between two values, where 5 F is 2.78 C rather than -15 C.

    Examples
    --------
    >>> round(parse_difference("9 F", "temperature"), 6)
    5.0
    """
    parse_quantity(text, kind_name)
    return sum(
        difference_to_inside(number, unit, kind_name)
        for number, unit in _parts(text.strip().lstrip("+")) or ()
    )


def difference_to_inside(value: float, unit: str, kind_name: str) -> float:
    """Turn a difference in a unit into the inside unit.

    Examples
    --------
    >>> round(difference_to_inside(9.0, "degF", "temperature"), 6)
    5.0
    """
    return to_inside(value, unit, kind_name) - to_inside(0.0, unit, kind_name)


def _parts(body: str) -> list[tuple[float, str]] | None:
    """Split text into pairs of number and unit; None if anything is left over."""
    parts: list[tuple[float, str]] = []
    position = 0
    while position < len(body):
        match = _PART.match(body, position)
        if match is None:
            return None
        parts.append((float(match[1]), match[2] or ""))
        position = match.end()
    return parts or None


def _spelled(unit: str) -> str:
    """Unit in the spelling of the unit library."""
    words = re.sub(r"\s*\bper\b\s*", "/", unit.strip())
    heads = re.split(r"(\s*[/*]\s*)", words)
    spelled = "".join(_SPELLINGS.get(head.lower(), head) for head in heads)
    return f"1{spelled}" if spelled.startswith("/") else spelled or "dimensionless"


def both_ways(value: float, kind_name: str) -> str:
    """Text of a value in the inside unit and, where there is one, in the other unit.

    Examples
    --------
    >>> both_ways(1.524, "length")
    '1.524 m (5 ft)'
    """
    kind = KINDS[kind_name]
    units = [kind.shown or kind.unit, *([kind.other] if kind.other else [])]
    first, *second = (
        f"{_digits(from_inside(value, unit, kind_name))} {plain(unit)}".strip() for unit in units
    )
    return f"{first} ({second[0]})" if second else first


def _digits(number: float) -> str:
    """Four digits, large numbers without exponent."""
    return f"{number:.4g}" if abs(number) < 1e4 else f"{number:.0f}"


def plain(unit: str) -> str:
    """Unit as people write it.

    Examples
    --------
    >>> plain("1/m^2/year")
    '/m2/yr'
    """
    text = (
        unit.replace("^", "")
        .replace("year", "yr")
        .replace("liter", "l")
        .replace("degC", "C")
        .replace("degF", "F")
    )
    text = text.replace("radian", "rad").replace("degree", "deg")
    return text.removeprefix("1")
