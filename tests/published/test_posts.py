"""Screens for posts and units against worked examples, statics, scipy and regression values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from edgesim.errors import InvalidParameterError
from edgesim.processes import posts

WATER = 1020.0  # the density of the regression values
SHORT = {"wave_height": 0.3, "period": 2.5, "wavelength": 2.0 * np.pi / 0.89930, "depth": 1.0}
LONG = {"wave_height": 0.4, "period": 3.0, "wavelength": 2.0 * np.pi / 0.72280, "depth": 1.0}


@pytest.mark.published
def test_short_pile_moment_is_the_textbook_one() -> None:
    # "Fundamentals of foundation engineering", eqs 6.104 and 6.105, read: f = H/(9 Su D),
    # Mmax = H (e + 1.5 D + 0.5 f).
    length, diameter, e, su = 1.5, 0.1, 0.5, 10e3
    found = posts.broms_short_pile(length, diameter, e, su)
    assert found.shear_depth == pytest.approx(found.force / (9.0 * su * diameter))
    by_the_book = found.force * (e + 1.5 * diameter + 0.5 * found.shear_depth)
    assert found.moment == pytest.approx(by_the_book)


@pytest.mark.published
def test_fixed_head_is_the_textbook_one() -> None:
    # Same chapter, statics read: 9 Su D (L - 1.5 D); by hand 9 * 10 * 0.1 * 1.35 = 12.15 kN.
    assert posts.broms_fixed_head(1.5, 0.1, 10e3) == pytest.approx(12.15e3)


@pytest.mark.parametrize(
    ("length", "e", "su"), [(1.5, 0.5, 10e3), (1.0, 0.5, 10e3), (2.0, 0.0, 3e3)]
)
def test_short_pile_is_in_equilibrium(length: float, e: float, su: float) -> None:
    # Independent of the closed form: the soil pushes back over f, then over the remaining
    # length half one way and half the other; forces and moments about the load must vanish.
    diameter = 0.1
    found = posts.broms_short_pile(length, diameter, e, su)
    top, turn = 1.5 * diameter, 1.5 * diameter + float(found.shear_depth)
    middle = 0.5 * (turn + length)
    pressure = 9.0 * su * diameter
    pieces = ((top, turn, -1.0), (turn, middle, -1.0), (middle, length, 1.0))
    force = sum(sign * quad(lambda z: pressure, a, b)[0] for a, b, sign in pieces)
    moment = sum(sign * quad(lambda z: pressure * (z + e), a, b)[0] for a, b, sign in pieces)
    assert found.force + force == pytest.approx(0.0, abs=1e-6)
    assert moment == pytest.approx(0.0, abs=1e-6)


def test_short_pile_root_agrees_with_brentq() -> None:
    length, diameter, e, su = 1.5, 0.1, 0.5, 10e3

    def excess(force: float) -> float:
        f = force / (9.0 * su * diameter)
        below = length - 1.5 * diameter - f
        return force * (e + 1.5 * diameter + 0.5 * f) - 2.25 * su * diameter * below**2

    root = brentq(excess, 0.0, 9.0 * su * diameter * (length - 1.5 * diameter))
    assert posts.broms_short_pile(length, diameter, e, su).force == pytest.approx(root, rel=1e-9)


@pytest.mark.golden
def test_short_pile_values() -> None:
    found = posts.broms_short_pile([1.5, 1.5, 1.0], 0.1, 0.5, [10e3, 5e3, 10e3])
    assert found.force == pytest.approx([2916.5, 1458.2, 1457.3], abs=0.06)
    assert found.shear_depth[0] == pytest.approx(0.3241, abs=6e-5)
    assert found.moment[0] == pytest.approx(2368.0, abs=0.5)
    scoured = posts.broms_short_pile(1.5, 0.1, 0.5, 10e3, scour=0.2)
    assert scoured.force == pytest.approx(2009.4, abs=0.06)
    assert scoured.force / found.force[0] == pytest.approx(0.689, abs=5e-4)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("slenderness", "relative_height", "force"),
    [(12.0, 0.0, 32.424), (20.0, 0.0, 61.773), (12.0, 4.0, 21.843), (4.0, 0.0, 4.874)],
)
def test_short_pile_without_dimensions(
    slenderness: float, relative_height: float, force: float
) -> None:
    # Force over (strength diameter^2); the design chart of Broms (1964) was not opened.
    found = posts.broms_short_pile(slenderness, 1.0, relative_height, 1.0)
    assert found.force == pytest.approx(force, abs=6e-4)


def test_long_pile_breaks_at_its_moment() -> None:
    found = posts.broms_long_pile(0.1, 0.5, 10e3, 1.5e3)
    assert found.force * (0.5 + 0.15 + 0.5 * found.shear_depth) == pytest.approx(1.5e3)
    assert found.force == pytest.approx(9.0 * 10e3 * 0.1 * found.shear_depth)


def test_long_and_short_pile_meet() -> None:
    # Where the strongest moment of the short pile is just the strength of the post.
    short = posts.broms_short_pile(1.5, 0.1, 0.5, 10e3)
    long = posts.broms_long_pile(0.1, 0.5, 10e3, short.moment)
    assert long.force == pytest.approx(short.force, rel=1e-12)


def test_bending_capacity_is_stress_times_section_modulus() -> None:
    # I/(D/2) of a circle by quadrature; 30 MPa and 0.1 m give 2945 N m.
    inertia, _ = quad(lambda y: 2.0 * y**2 * math.sqrt(0.05**2 - y**2), -0.05, 0.05, epsabs=1e-14)
    assert posts.bending_capacity(30e6, 0.1) == pytest.approx(30e6 * inertia / 0.05, rel=1e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("wave", "drag", "inertia", "largest"),
    [(SHORT, 10.89, 16.88, 17.43), (LONG, 20.67, 19.45, 25.24)],
)
def test_morison_values(
    wave: dict[str, float], drag: float, inertia: float, largest: float
) -> None:
    force = posts.morison_force(**wave, diameter=0.1, water_density=WATER)
    assert force == pytest.approx((drag, inertia, largest), abs=6e-3)


@pytest.mark.parametrize("diameter", [0.05, 0.1, 0.4])
def test_morison_integrates_linear_theory(diameter: float) -> None:
    # Independent: velocity and acceleration of linear theory integrated by quad, largest
    # over the phase; 0.05 m is governed by drag, 0.4 m by inertia alone.
    H, T, h = LONG["wave_height"], LONG["period"], LONG["depth"]
    k, omega = 2.0 * np.pi / LONG["wavelength"], 2.0 * np.pi / T
    shape = quad(lambda z: math.cosh(k * z), 0.0, h)[0] / math.sinh(k * h)
    square = quad(lambda z: math.cosh(k * z) ** 2, 0.0, h)[0] / math.sinh(k * h) ** 2
    phase = np.linspace(0.0, np.pi, 200_001)
    drag = 0.5 * WATER * 1.2 * diameter * (0.5 * H * omega) ** 2 * square
    inertia = WATER * 2.0 * np.pi * diameter**2 / 4.0 * 0.5 * H * omega**2 * shape
    total = drag * np.cos(phase) * np.abs(np.cos(phase)) + inertia * np.sin(phase)
    found = posts.morison_force(**LONG, diameter=diameter, water_density=WATER)
    assert found.largest == pytest.approx(total.max(), rel=1e-8)


@pytest.mark.published
def test_goda_forms() -> None:
    # Novak et al., "Hydraulic structures", 4th ed., section 15, read: run-up
    # 0.75 (1 + cos b) H, p1 = 0.5 (1 + cos b)(a1 + a2 cos^2 b) rho g H, p3 = a3 p1.
    angle, wall = 0.5, {"wave_height": 0.4, "wavelength": 8.693, "depth": 1.0, "crest": 0.3}
    head_on, slanted = posts.goda_pressure(**wall), posts.goda_pressure(**wall, angle=angle)
    assert slanted.reach == pytest.approx(0.75 * (1.0 + math.cos(angle)) * 0.4)
    ratio = slanted.still_water / head_on.still_water  # a2 = 0 on a flat bed
    assert ratio == pytest.approx(0.5 * (1.0 + math.cos(angle)))
    assert slanted.toe / slanted.still_water == pytest.approx(head_on.toe / head_on.still_water)


def test_goda_limits() -> None:
    # a1 runs from 1.1 in very long waves to 0.6 in very short ones (property of its formula).
    shallow = posts.goda_pressure(0.1, 1e4, 1.0, 0.5)
    deep = posts.goda_pressure(0.1, 0.5, 1.0, 0.5)
    per_head = 1025.0 * 9.81 * 0.1
    assert shallow.still_water / per_head == pytest.approx(1.1, rel=1e-4)
    assert deep.still_water / per_head == pytest.approx(0.6, rel=1e-4)
    # A steep foreshore adds the impulsive term, by hand (2 - 1)/(3*2) * (0.4/1)^2 = 0.02667.
    flat = posts.goda_pressure(0.4, 8.693, 1.0, 0.3)
    steep = posts.goda_pressure(0.4, 8.693, 1.0, 0.3, seaward_depth=2.0)
    gained = (steep.still_water - flat.still_water) / (1025.0 * 9.81 * 0.4)
    assert gained == pytest.approx(0.16 / 6.0)


@pytest.mark.golden
def test_goda_values() -> None:
    p = posts.goda_pressure(0.4, LONG["wavelength"], 1.0, 0.3, water_density=WATER)
    assert p[:3] == pytest.approx((3442.0, 2705.0, 1721.0), abs=0.7)
    assert posts.goda_force(p, 1.0, 0.3) == pytest.approx(3848.0, abs=0.7)
    p = posts.goda_pressure(0.3, SHORT["wavelength"], 1.0, 0.2, water_density=WATER)
    assert posts.goda_force(p, 1.0, 0.2) == pytest.approx(2375.0, abs=0.7)


@pytest.mark.parametrize("crest", [0.0, 0.3, 0.6, 2.0])
def test_goda_force_is_the_area_of_the_pressure_figure(crest: float) -> None:
    p = posts.goda_pressure(0.4, 8.693, 1.0, crest)

    def pressure(z: float) -> float:
        if z < 0.0:
            return float(np.interp(z, [-1.0, 0.0], [p.toe, p.still_water]))
        return max(0.0, float(p.still_water) * (1.0 - z / float(p.reach)))

    area = quad(pressure, -1.0, 0.0)[0] + quad(pressure, 0.0, min(crest, float(p.reach)))[0]
    assert posts.goda_force(p, 1.0, crest) == pytest.approx(area, rel=1e-9)


@pytest.mark.golden
def test_wave_scour() -> None:
    # Sumer et al. (1992), from memory. By hand at KC = 10: 1.3 (1 - e^-0.12) = 0.1470.
    swing = np.array([3.0, 6.0, 10.0, 20.0, 30.0, 100.0])
    scour = posts.wave_scour(swing * 0.1 / 2.5, 2.5, 0.1) / 0.1
    assert scour == pytest.approx([0.0, 0.0, 0.1470, 0.4458, 0.6672, 1.2225], abs=6e-5)


@pytest.mark.golden
def test_bearing_safety() -> None:
    # Shell basket 0.5 m high at 4.36 kN/m3; by hand 5.14 * 3/2.18 = 7.1.
    assert posts.bearing_safety(2180.0, [3000.0, 500.0]) == pytest.approx([7.1, 1.18], abs=0.03)


def test_subsidence_approaches_its_end() -> None:
    assert posts.subsidence(0.0, 0.1, 0.8) == 0.0
    assert posts.subsidence(0.8, 0.1, 0.8) == pytest.approx(0.1 * (1.0 - math.exp(-1.0)))
    assert posts.subsidence(1e3, 0.1, 0.8) == pytest.approx(0.1)


@pytest.mark.golden
def test_sliding_safety() -> None:
    # 1 x 0.5 x 0.5 m basket of 1.09 kN; by hand 0.4 (1.09 - 0.102)/0.3825 = 1.03.
    safety = posts.sliding_safety(1.0, 0.5, 0.5, 1090.0, water_density=WATER)
    assert safety == pytest.approx(1.033, abs=1e-3)
    assert posts.sliding_safety(5.0, 0.5, 0.5, 1090.0) < 0.0


@pytest.mark.published
def test_hudson_worked_example() -> None:
    # Worked example of a web page on breakwater armour, read: stone of 25.5 kN/m3 in sea water
    # of 10.05 kN/m3, slope 1:2, H = 3 m, KD = 4 gives 23.7 kN or 2.41 t.
    stone, sea = 25.5e3 / 9.81, 10.05e3 / 9.81
    mass = posts.hudson_mass(3.0, stone, 4.0, 2.0, water_density=sea)
    assert mass * 9.81 / 1e3 == pytest.approx(23.7, abs=0.05)
    assert mass / 1e3 == pytest.approx(2.41, abs=5e-3)


@pytest.mark.golden
def test_hudson_values() -> None:
    # By hand: 2650 * 0.125/(2 * 1.598^3 * 2) = 20.29.
    breaking, standing = posts.STABILITY_COEFFICIENTS["rough quarrystone"]
    stone = posts.hudson_mass(0.5, 2650.0, [breaking, standing], 2.0, WATER)
    assert stone == pytest.approx([20.29, 10.15], abs=6e-3)
    assert (stone[0] / 2650.0) ** (1.0 / 3.0) == pytest.approx(0.197, abs=5e-4)
    cube = posts.STABILITY_COEFFICIENTS["concrete cube"][0]
    assert posts.hudson_mass(0.5, 2300.0, cube, 2.0, WATER) == pytest.approx(11.19, abs=6e-3)
    assert posts.stability_number(0.5, 2300.0, 0.5, WATER) == pytest.approx(0.797, abs=5e-4)


def test_hudson_in_terms_of_the_stability_number() -> None:
    # The same law written as N_s = (KD cot a)^(1/3).
    size = (posts.hudson_mass(0.5, 2650.0, 4.0, 2.0) / 2650.0) ** (1.0 / 3.0)
    assert posts.stability_number(0.5, 2650.0, size) == pytest.approx(8.0 ** (1.0 / 3.0))


@pytest.mark.published
def test_isbash_agrees_with_a_culvert_outlet_rule() -> None:
    # Documentation of a culvert program, read: D = 0.692 V^2/((SG - 1) 2 g). That is Isbash
    # with C = 1.20, whose 1/C^2 = 0.6944 is 0.35 % higher: the rule rounds its coefficient.
    ours = posts.isbash_diameter(2.0, 2650.0, posts.ISBASH_EMBEDDED, water_density=1000.0)
    rule = 0.692 * 2.0**2 / (1.65 * 2.0 * 9.81)
    assert ours == pytest.approx(rule, rel=4e-3)


@pytest.mark.golden
def test_isbash_values() -> None:
    # By hand: 1/(0.86^2 * 19.62 * 1.598) = 0.0431.
    assert posts.isbash_diameter(1.0, 2650.0, water_density=WATER) == pytest.approx(
        0.0431, abs=6e-5
    )
    embedded = posts.isbash_diameter(1.0, 2650.0, posts.ISBASH_EMBEDDED, WATER)
    assert embedded == pytest.approx(0.0221, abs=6e-5)
    concrete = posts.isbash_diameter(1.5, 2300.0, water_density=WATER)
    assert concrete == pytest.approx(0.1236, abs=6e-5)


@pytest.mark.parametrize(
    ("length", "diameter", "e", "strength", "culprit"),
    [
        (0.1, 0.1, 0.5, 1e4, "length - scour - 1.5 diameter"),
        (1.5, 0.0, 0.5, 1e4, "diameter = 0.0: must be finite and above 0"),
        (1.5, 0.1, -0.1, 1e4, "eccentricity = -0.1: must be finite and at least 0"),
        (1.5, 0.1, 0.5, float("nan"), "strength"),
    ],
)
def test_bad_numbers_are_named(
    length: float, diameter: float, e: float, strength: float, culprit: str
) -> None:
    with pytest.raises(InvalidParameterError, match=culprit):
        posts.broms_short_pile(length, diameter, e, strength)


def test_floating_stone_is_refused() -> None:
    with pytest.raises(InvalidParameterError, match="unit_density = 900"):
        posts.hudson_mass(0.5, 900.0, 4.0, 2.0)
