"""Wire lives against read rates, the ISO time law and regression values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from edgesim.errors import InvalidParameterError
from edgesim.processes import wire

MICRON = 1e-6


@pytest.mark.published
def test_zinc_rates_lie_in_the_read_ranges() -> None:
    # Galvanizers Association of Australia, performance page (after ISO 9223), read: category
    # C5 4.2 to 8.4 um/yr; zinc in sea water 15 to 25 um/yr (same association).
    low, mode, high = wire.ZINC_RATES["air"]
    assert (low, high) == pytest.approx((4.2e-6, 8.4e-6))
    assert low < mode < high
    assert all(15e-6 <= wire.ZINC_RATES[place][1] <= 25e-6 for place in ("intertidal", "subtidal"))
    # Tidal and splash zones are the worst of all (read).
    assert wire.ZINC_RATES["intertidal"] > wire.ZINC_RATES["subtidal"] > wire.ZINC_RATES["air"]


@pytest.mark.published
def test_steel_in_air_lies_in_category_c5() -> None:
    low, mode, high = wire.STEEL_RATES["air"]
    assert (low, high) == pytest.approx((80e-6, 200e-6))  # same page, read
    assert low < mode < high


@pytest.mark.published
def test_mesh_coatings_lie_in_the_data_sheets() -> None:
    # Mesh makers' data sheets, read: at least 240 g/m2 at 2.2 mm, 275 g/m2 at 2.7 and 3.4 mm.
    for name in ("galvanised", "zinc-aluminium", "jacketed galvanised"):
        low, mode, high = wire.WIRES[name].coating_mass
        assert (low, high) == pytest.approx((0.240, 0.275))
        assert low < mode < high
    # Zinc with 5 % aluminium lasts 2 to 3 times as long (maker's glossary, read).
    assert wire.WIRES["zinc-aluminium"].coating_factor[::2] == (2.0, 3.0)


@pytest.mark.golden
@pytest.mark.parametrize(("mass", "microns"), [(0.245, 34.3), (0.260, 36.4), (0.275, 38.5)])
def test_coating_thickness(mass: float, microns: float) -> None:
    # By hand: 245/7.14 = 34.3.
    assert wire.coating_thickness(mass) / MICRON == pytest.approx(microns, abs=0.05)


@pytest.mark.golden
@pytest.mark.parametrize(("rate", "years"), [(4.2, 8.67), (8.4, 4.34), (15.0, 2.43), (25.0, 1.46)])
def test_coating_life(rate: float, years: float) -> None:
    life = wire.coating_life(wire.coating_thickness(0.260), rate * MICRON)
    assert life == pytest.approx(years, abs=6e-3)


def test_steel_breaks_at_half_its_section() -> None:
    # Independent: find when the area of the thinning circle is half, by root finding.
    diameter, rate = 2.7e-3, 150e-6
    halved = brentq(lambda t: (1.0 - 2.0 * rate * t / diameter) ** 2 - 0.5, 0.0, 5.0)
    assert wire.steel_life(diameter, rate) == pytest.approx(halved, rel=1e-10)
    # By hand: 0.1464 * 2.7 mm = 0.3954 mm, over 0.150 mm/yr is 2.64 years.
    assert wire.steel_life(diameter, rate) == pytest.approx(2.64, abs=0.01)


@pytest.mark.golden
@pytest.mark.parametrize(("jacket", "years"), [(0.0, 4.01), (12.0, 16.0)])
def test_time_to_failure(jacket: float, years: float) -> None:
    # By hand: 34.3/25 = 1.37 years of zinc and 2.64 of steel.
    coat = wire.coating_thickness(0.245)
    age = wire.time_to_failure(jacket, coat, 25e-6, 2.7e-3, 150e-6)
    assert age == pytest.approx(years, abs=0.011)
    left = wire.strength_left(age, jacket, coat, 25e-6, 2.7e-3, 150e-6)
    assert left == pytest.approx(wire.FAILURE_STRENGTH)


def test_strength_is_kept_until_the_zinc_is_gone() -> None:
    coat = wire.coating_thickness(0.245)
    assert wire.strength_left(1.3, 0.0, coat, 25e-6, 2.7e-3, 150e-6) == 1.0
    assert wire.strength_left(1.5, 0.0, coat, 25e-6, 2.7e-3, 150e-6) < 1.0
    assert wire.strength_left(50.0, 0.0, coat, 25e-6, 2.7e-3, 150e-6) == 0.0


@pytest.mark.golden
def test_losses_in_air() -> None:
    # ISO 9224:2012, equation and exponents from memory. By hand: 4.2 * 10^0.813 = 27.3.
    zinc = wire.loss_in_air(4.2e-6, wire.ZINC_EXPONENT, [1.0, 5.0, 10.0, 20.0]) / MICRON
    assert zinc == pytest.approx([4.2, 15.54, 27.31, 47.97], abs=6e-3)
    steel = wire.loss_in_air(200e-6, wire.STEEL_EXPONENT, [5.0, 10.0]) / MICRON
    assert steel == pytest.approx([464.0, 667.0], abs=0.6)


@pytest.mark.golden
@pytest.mark.parametrize(("rate", "years"), [(8.4, 6.07), (4.2, 14.24)])
def test_coating_life_in_air(rate: float, years: float) -> None:
    thickness = wire.coating_thickness(0.260)
    assert wire.coating_life_in_air(thickness, rate * MICRON) == pytest.approx(years, abs=0.02)


def test_loss_in_air_is_the_integral_of_its_rate() -> None:
    # dD/dt = r b t^(b-1), by scipy.integrate.quad.
    b = wire.STEEL_EXPONENT
    total, _ = quad(lambda t: 120e-6 * b * t ** (b - 1.0), 0.0, 12.0)
    assert wire.loss_in_air(120e-6, b, 12.0) == pytest.approx(total, rel=1e-6)


def test_life_in_air_inverts_the_loss() -> None:
    years = np.array([0.5, 3.0, 18.0])
    lost = wire.loss_in_air(6e-6, wire.ZINC_EXPONENT, years)
    assert wire.coating_life_in_air(lost, 6e-6) == pytest.approx(years)


@pytest.mark.parametrize(
    ("rate", "exponent", "years", "culprit"),
    [
        (0.0, 0.8, 1.0, "first_year_rate"),
        (4e-6, 1.01, 1.0, "exponent"),
        (4e-6, 0.8, 30.0, "years = 30.0: must be above 0 and at most 20"),
        (4e-6, 0.8, float("nan"), "years"),
    ],
)
def test_bad_numbers_are_named(rate: float, exponent: float, years: float, culprit: str) -> None:
    with pytest.raises(InvalidParameterError, match=culprit):
        wire.loss_in_air(rate, exponent, years)


def test_bad_coatings_are_named() -> None:
    with pytest.raises(InvalidParameterError, match=r"exponent = 1\.01"):
        wire.coating_life_in_air(30e-6, 6e-6, 1.01)
    with pytest.raises(InvalidParameterError, match=r"thickness = -1\.0"):
        wire.coating_life_in_air(-1.0, 6e-6)


def test_table_rows_are_sound() -> None:
    for name, row in wire.WIRES.items():
        assert row.name == name
        for triple in (row.coating_mass, row.coating_factor, row.jacket_life, row.steel_factor):
            assert 0.0 <= triple[0] <= triple[1] <= triple[2]
        assert row.damaged_share[2] < 1.0
        assert row.source
        assert row.mark in {"read", "from memory", "judgement"}
    for name, tie in wire.TIES.items():
        assert tie.name == name
        assert 0.0 < tie.life[0] < tie.life[1] < tie.life[2]


def test_better_wires_last_longer() -> None:
    def life(name: str) -> float:
        row = wire.WIRES[name]
        coat = wire.coating_thickness(row.coating_mass[1]) * row.coating_factor[1]
        steel = 150e-6 * row.steel_factor[1]
        return wire.time_to_failure(row.jacket_life[1], coat, 25e-6, 2.7e-3, steel)

    order = ["thin galvanised", "galvanised", "zinc-aluminium", "jacketed galvanised", "stainless"]
    lives = [life(name) for name in order]
    assert lives == sorted(lives)
