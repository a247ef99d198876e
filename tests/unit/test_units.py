from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgesim.errors import UnitError
from edgesim.units import (
    KINDS,
    both_ways,
    difference_to_inside,
    from_inside,
    parse_difference,
    parse_quantity,
    to_inside,
)

# Exact by definition: international foot 0.3048 m, inch 0.0254 m, nautical mile 1852 m, statute mile
# 1609.344 m, avoirdupois pound 0.45359237 kg (NIST Special Publication 811, 2008, appendix B; from memory).
EXACT = [
    ("16 ft", "length", 4.8768),
    ("5 ft 6 in", "length", 1.6764),
    ("5'6\"", "length", 1.6764),
    ("-2.5 ft", "length", -0.762),
    ("\u22121 m", "length", -1.0),
    ("1e3 mm", "length", 1.0),
    (".5 m", "length", 0.5),
    ("1 mile", "length", 1609.344),
    ("4 in", "size", 0.1016),
    ("36 um", "size", 36e-6),
    ("22 knots", "speed", 22 * 1852 / 3600),
    ("22 kt", "speed", 22 * 1852 / 3600),
    ("25 mph", "speed", 25 * 1609.344 / 3600),
    ("0.5 mm/s", "fall speed", 0.5e-3),
    ("3000 lb", "mass", 3000 * 0.45359237),
    ("2 tonnes", "mass", 2000.0),
    ("35 mg/l", "concentration", 0.035),
    ("35 mg/L", "concentration", 0.035),
    ("600 kg/m^3", "density", 600.0),
    ("600 kg per m^3", "density", 600.0),
    ("1 ft/yr", "rate", 0.3048),
    ("1 foot per year", "rate", 0.3048),
    ("3.4 mm/yr", "slow rate", 0.0034),
    ("0.076 mm/yr^2", "acceleration", 7.6e-5),
    ("18 months", "years", 1.5),
    ("2 weeks", "days", 14.0),
    ("0.4 kPa", "stress", 400.0),
    ("180 deg", "angle", math.pi),
    ("180°", "angle", math.pi),
    ("28 C", "temperature", 28.0),
    ("82.4 F", "temperature", 28.0),
    ("-4 °F", "temperature", -20.0),
    ("300 K", "temperature", 26.85),
    ("0.6 /yr", "per year", 0.6),
    ("60 %/yr", "per year", 0.6),
    ("0.6 per year", "per year", 0.6),
    ("3000 /m^2", "per area", 3000.0),
    ("4000 /m^2/yr", "per area and year", 4000.0),
    ("0.05 m^3/yr/W", "erodibility", 0.05),
    ("25 psu", "salinity", 25.0),
    ("15 %", "fraction", 0.15),
    ("0.15", "fraction", 0.15),
]


@pytest.mark.parametrize(("text", "kind", "inside"), EXACT)
def test_text_is_read_in_inside_units(text: str, kind: str, inside: float) -> None:
    assert parse_quantity(text, kind) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "reason"),
    [
        ("5 kg", "length", 'unit "kg" is not the unit of a length'),
        ("5 furlots", "length", 'unit "furlots" is not a unit that is known'),
        ("5", "length", "has no unit"),
        ("five ft", "length", "is not one number with a unit"),
        ("", "length", "is not one number with a unit"),
        ("ft", "length", "is not one number with a unit"),
        ("nan ft", "length", "is not one number with a unit"),
        ("inf ft", "length", "is not one number with a unit"),
        ("1e999 ft", "length", "is not a finite number"),
        ("5 ft -6 in", "length", 'unit "ft -6 in" is not a unit that is known'),
        ("5 lb 3 lb", "mass", "holds more than one number"),
        ("5 ft 6", "length", "has no unit"),
        ("5 ft", "fraction", 'unit "ft" is not the unit of a share'),
    ],
)
def test_wrong_text_is_refused_with_a_reason(text: str, kind: str, reason: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, kind)
    assert reason in str(caught.value)


def test_feet_give_short_metres() -> None:
    assert to_inside(16.0, "ft", "length") == 4.8768
    assert to_inside(200.0, "ft", "length") == 60.96


def test_differences_of_temperature_have_no_offset() -> None:
    assert parse_difference("9 F", "temperature") == pytest.approx(5.0)
    assert difference_to_inside(9.0, "degF", "temperature") == pytest.approx(5.0)
    assert difference_to_inside(2.0, "ft", "length") == pytest.approx(0.6096)


@pytest.mark.parametrize("name", KINDS)
def test_first_ending_of_a_kind_is_the_inside_unit(name: str) -> None:
    kind = KINDS[name]
    if kind.bare:
        assert kind.suffix == ""
        assert to_inside(3.0, "", name) == 3.0
    else:
        assert to_inside(3.0, kind.suffixes[kind.suffix], name) == pytest.approx(3.0, rel=1e-12)


@pytest.mark.parametrize("name", KINDS)
def test_every_ending_and_example_of_a_kind_is_understood(name: str) -> None:
    kind = KINDS[name]
    for unit in filter(None, kind.suffixes.values()):
        assert math.isfinite(to_inside(1.0, unit, name))
    if not name.startswith("money"):
        assert math.isfinite(parse_quantity(kind.example, name))
    assert both_ways(1.0, name)


@given(
    st.floats(-1e6, 1e6),
    st.sampled_from(
        [(name, unit) for name, kind in KINDS.items() for unit in kind.suffixes.values() if unit]
    ),
)
def test_there_and_back_again(number: float, place: tuple[str, str]) -> None:
    name, unit = place
    back = from_inside(to_inside(number, unit, name), unit, name)
    assert back == pytest.approx(number, rel=1e-9, abs=1e-9)


def test_values_are_shown_both_ways() -> None:
    assert both_ways(1.524, "length") == "1.524 m (5 ft)"
    assert both_ways(0.1016, "size") == "101.6 mm (4 in)"
    assert both_ways(28.0, "temperature") == "28 C (82.4 F)"
    assert both_ways(0.35, "fraction") == "0.35"
    assert both_ways(math.pi / 2, "angle") == "90 deg"
    assert both_ways(11000.0, "mass") == "11000 kg (24251 lb)"
