"""Boat wakes against published examples, independent optimisation and stored digits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError
from edgesim.processes import linear_waves, wake_pattern, wakes

KNOT = 1852.0 / 3600.0
FOOT = 0.3048


def fitted_direction(froude: float) -> float:
    """Direction fit of the Coastal Engineering Manual, Eq. II-7-23 (read in Example II-7-5)."""
    return math.radians(35.27) * (1.0 - math.exp(12.0 * (froude - 1.0)))


def packet_angle(kh: float, froude: float) -> float:
    """Angle at which a steady wave packet leaves the sailing line, from c and cg as vectors."""
    speed = math.sqrt(math.tanh(kh) / kh)  # over sqrt(g h)
    cosine = speed / froude
    if cosine >= 1.0:
        return 0.0
    group = speed * (0.5 + kh / math.sinh(2.0 * kh))
    sine = math.sqrt(1.0 - cosine**2)
    return math.atan2(group * sine, froude - group * cosine)


@pytest.mark.published
def test_deep_water_pattern() -> None:
    # Read: Coastal Engineering Manual, Part II ch. 7: cusp line 19 deg 28 min, diverging waves
    # 35 deg 16 min from the sailing line in deep water; 90 degrees at Froude number 1.
    half_angle, direction, _ = wake_pattern.cusp_kinematics([0.1, 1.0])
    assert np.degrees(half_angle) == pytest.approx([19.0 + 28.0 / 60.0, 90.0], abs=0.01)
    assert np.degrees(direction) == pytest.approx([35.0 + 16.0 / 60.0, 0.0], abs=0.01)


@pytest.mark.published
def test_deep_water_worked_example_in_knots_and_feet() -> None:
    # Read: example of the Weggel and Sorensen (1986) method in the report "Vessel Quotas and
    # Operating Requirements", figure 4: 15 knots over 100 fathoms gives waves of 12.2 knots,
    # 35.3 degrees, 4.0 s, 83.4 ft.
    speed, depth = 15.0 * KNOT, 600.0 * FOOT
    period, along = wake_pattern.cusp_wave(speed, depth)
    wave_speed = speed * along
    assert period == pytest.approx(4.0, abs=0.05)
    assert math.degrees(math.acos(along)) == pytest.approx(35.3, abs=0.05)
    assert wave_speed / KNOT == pytest.approx(12.2, abs=0.05)
    assert wave_speed * period / FOOT == pytest.approx(83.4, abs=0.05)


@pytest.mark.published
def test_shallow_worked_example_and_how_far_exact_kinematics_depart_from_it() -> None:
    # Read: Coastal Engineering Manual, Example II-7-5: 5.157 m/s over 5 m gives F = 0.73,
    # theta = 33.88 degrees, T about 2.8 s by trial, all through the direction fit.
    speed, depth = 5.157, 5.0
    froude = wake_pattern.depth_froude(speed, depth)
    assert froude == pytest.approx(0.73, abs=0.007)  # printed cut, not rounded: 0.736
    assert math.degrees(fitted_direction(0.73)) == pytest.approx(33.88, abs=0.01)
    celerity = speed * math.cos(fitted_direction(0.73))
    assert linear_waves.phase_speed(2.8, depth) == pytest.approx(celerity, rel=0.01)
    # Exact kinematics turn the waves sooner (27.5 degrees) and give 2.99 s, 7 % above the example.
    period, along = wake_pattern.cusp_wave(speed, depth)
    assert period / 2.8 == pytest.approx(1.068, abs=0.002)
    assert math.degrees(math.acos(along)) == pytest.approx(27.50, abs=0.01)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("froude", "half_angle", "direction", "fit", "kh"),
    [
        (0.5, 19.475, 35.219, 35.183, 5.993),
        (0.6, 19.590, 34.321, 34.980, 4.070),
        (0.7, 20.527, 29.929, 34.306, 2.692),
        (0.9, 34.621, 16.701, 24.647, 1.054),
        (0.95, 46.102, 12.194, 15.913, 0.704),
    ],
)
def test_cusp_table(
    froude: float, half_angle: float, direction: float, fit: float, kh: float
) -> None:
    found = wake_pattern.cusp_kinematics(froude)
    assert np.degrees(found[0]) == pytest.approx(half_angle, abs=6e-4)
    # the table's directions and kh come from a coarser maximisation (angle is flat there)
    assert np.degrees(found[1]) == pytest.approx(direction, abs=2e-3)
    assert found[2] == pytest.approx(kh, abs=6e-4)
    assert math.degrees(fitted_direction(froude)) == pytest.approx(fit, abs=6e-4)


@pytest.mark.parametrize("froude", [0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 0.99])
def test_cusp_is_the_largest_packet_angle(froude: float) -> None:
    # scipy's bounded minimiser as reference; the angle is flat at its top, so kh is found loosely
    result = minimize_scalar(
        lambda kh: -packet_angle(kh, froude),
        bounds=(0.05, 2.0 / froude**2),
        method="bounded",
        options={"xatol": 1e-9},
    )
    half_angle, direction, kh = wake_pattern.cusp_kinematics(froude)
    assert half_angle == pytest.approx(-result.fun, abs=1e-11)
    assert kh == pytest.approx(result.x, rel=1e-5)
    assert math.cos(direction) == pytest.approx(math.sqrt(math.tanh(kh) / kh) / froude, rel=1e-10)


def test_cusp_number_solves_its_equation_up_to_the_critical_speed() -> None:
    for froude in np.r_[np.linspace(0.02, 0.999, 200), 0.99998]:
        kh = wake_pattern.cusp_number(froude)
        implied = math.sqrt(math.tanh(kh) / (kh * wake_pattern.cusp_cosine_squared(kh)))
        assert implied == pytest.approx(froude, rel=1e-12)
    assert wake_pattern.cusp_number(0.999999) == pytest.approx(1.5 * math.sqrt(0.999999**-4 - 1.0))
    assert wake_pattern.cusp_number(1.0) == 0.0


@pytest.mark.golden
def test_supercritical_direction() -> None:
    froude = np.array([1.1, 1.5, 2.0, 3.0])
    half_angle, direction, _ = wake_pattern.cusp_kinematics(froude)
    np.testing.assert_allclose(np.degrees(direction), [24.620, 48.190, 60.0, 70.529], atol=6e-4)
    np.testing.assert_allclose(np.sin(half_angle), 1.0 / froude, rtol=1e-12)
    for times in (2.0, 1.01):
        _, along = wake_pattern.cusp_wave(times * math.sqrt(GRAVITY), 1.0)
        assert along == pytest.approx(1.0 / times, rel=1e-12)


@pytest.mark.golden
@pytest.mark.parametrize(("speed", "period"), [(3.0, 1.5689), (4.0, 2.0918), (5.0, 2.6148)])
def test_deep_cusp_period(speed: float, period: float) -> None:
    assert wake_pattern.cusp_wave(speed, 100.0)[0] == pytest.approx(period, abs=6e-5)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("speed", "depth", "froude", "direction", "celerity", "period"),
    [
        (3.0, 3.0, 0.5530, 35.105, 2.4543, 1.5721),
        (4.0, 3.0, 0.7373, 33.762, 3.3254, 2.1520),
        (5.0, 4.0, 0.7982, 32.139, 4.2338, 2.7897),
        (4.0, 2.0, 0.9030, 24.251, 3.6470, 2.7516),
    ],
)
def test_period_through_the_direction_fit(
    speed: float, depth: float, froude: float, direction: float, celerity: float, period: float
) -> None:
    assert wake_pattern.depth_froude(speed, depth) == pytest.approx(froude, abs=6e-5)
    theta = fitted_direction(wake_pattern.depth_froude(speed, depth))
    assert math.degrees(theta) == pytest.approx(direction, abs=6e-4)
    assert speed * math.cos(theta) == pytest.approx(celerity, abs=6e-5)
    assert linear_waves.phase_speed(period, depth) == pytest.approx(celerity, rel=1e-4)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("froude", "ratio"), [(0.5, 1.0006), (0.6, 1.0121), (0.7, 1.0712), (0.8, 1.1959)]
)
def test_deep_water_shortcut_understates_the_period_in_shallow_water(
    froude: float, ratio: float
) -> None:
    depth = 2.0
    speed = froude * math.sqrt(GRAVITY * depth)
    shortcut = 2.0 * math.pi * speed * math.sqrt(2.0 / 3.0) / GRAVITY
    assert wake_pattern.cusp_wave(speed, depth)[0] / shortcut == pytest.approx(ratio, abs=6e-5)


def test_cusp_period_satisfies_the_dispersion_relation() -> None:
    for speed, depth in [(2.0, 3.0), (4.0, 2.5), (4.0, 1.8), (4.341, 2.0)]:
        period, along = wake_pattern.cusp_wave(speed, depth)
        assert linear_waves.phase_speed(period, depth) == pytest.approx(speed * along, rel=1e-8)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("length", "period"), [(5, 1.7895), (6, 1.9603), (8, 2.2636), (10, 2.5308), (12, 2.7723)]
)
def test_hull_limited_period(length: float, period: float) -> None:
    assert wake_pattern.hull_limited_period(length, 500.0) == pytest.approx(period, abs=6e-5)
    wave = linear_waves.wavenumber(wake_pattern.hull_limited_period(length, 1.5), 1.5)
    assert 2.0 * np.pi / wave == pytest.approx(length, rel=1e-9)


@pytest.mark.golden
@pytest.mark.parametrize(("froude", "angle"), [(0.7, 15.618), (1.0, 11.240), (2.0, 5.694)])
def test_apparent_wake_angle_of_fast_hulls(froude: float, angle: float) -> None:
    # tan a = sqrt(2 pi F^2 - 1) / (4 pi F^2 - 1): deep water packet of the hull's wavelength
    speed = froude * math.sqrt(GRAVITY * 6.0)
    assert wakes.length_froude(speed, 6.0) == pytest.approx(froude, rel=1e-12)
    limit = wake_pattern.hull_limited_period(6.0, 500.0)
    period, along = wake_pattern.highest_wave(speed, 500.0, 6.0, limit)
    assert period == limit
    theta = math.acos(along)
    group = 0.5 * speed * math.cos(theta)
    found = math.atan2(group * math.sin(theta), speed - group * math.cos(theta))
    assert math.degrees(found) == pytest.approx(angle, abs=6e-4)


def test_wave_is_that_of_the_cusp_when_slow_and_of_the_hull_when_fast() -> None:
    def highest(speed: float, depth: float) -> tuple[float, float]:
        limit = wake_pattern.hull_limited_period(6.0, depth)
        return wake_pattern.highest_wave(speed, depth, 6.0, limit)

    assert highest(2.0, 10.0) == wake_pattern.cusp_wave(2.0, 10.0)
    assert highest(10.0, 10.0)[0] == wake_pattern.hull_limited_period(6.0, 10.0)
    assert wake_pattern.cusp_wave(10.0, 3.0)[0] == math.inf
    assert highest(10.0, 3.0)[0] == wake_pattern.hull_limited_period(6.0, 3.0)


# Height formulas: all coefficients from memory, so these rows check the code, not the formulas.


@pytest.mark.golden
@pytest.mark.parametrize(
    ("speed", "volume", "distance", "froude", "height"),
    [
        (10, 1.5, 30, 2.98412, 0.12629),
        (12, 1.2, 30, 3.71663, 0.10005),
        (8, 2.0, 50, 2.27554, 0.13665),
        (10, 4.0, 100, 2.53409, 0.13322),
    ],
)
def test_maynord(
    speed: float, volume: float, distance: float, froude: float, height: float
) -> None:
    assert wakes.volume_froude(speed, volume) == pytest.approx(froude, abs=6e-6)
    found = wakes.wake_height_maynord(speed, volume, distance, 0.82)
    assert found == pytest.approx(height, abs=6e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("case", "froude", "height"),
    [
        # speed, length, draft, depth, block coefficient, distance, entrance length
        ((4, 8, 0.6, 3, 0.45, 50, 4), 0.45152, 0.20803),
        ((3, 8, 0.6, 3, 0.45, 50, 4), 0.33864, 0.05708),
        ((5, 12, 1.1, 5, 0.5, 100, 5), 0.46083, 0.32422),
        ((3, 13.7, 1.8, 6, 0.55, 60, 5), 0.25878, 0.04627),
    ],
)
def test_kriebel_seelig(case: tuple[float, ...], froude: float, height: float) -> None:
    assert wakes.length_froude(case[0], case[1]) == pytest.approx(froude, abs=6e-6)
    assert wakes.wake_height_kriebel_seelig(*case) == pytest.approx(height, abs=6e-6)


def test_kriebel_seelig_makes_no_wave_below_its_threshold() -> None:
    # F* <= 0.1
    assert wakes.wake_height_kriebel_seelig(0.5, 8.0, 0.6, 3.0, 0.45, 50.0, 4.0) == 0.0
    assert wakes.wake_height_kriebel_seelig(0.8, 8.0, 0.6, 3.0, 0.45, 50.0, 4.0) > 0.0


@pytest.mark.golden
@pytest.mark.parametrize(
    ("speed", "volume", "depth", "distance", "froude", "height"),
    [
        (5.1, 2.7, 11.9, 30, 0.47202, 0.33792),
        (5.1, 2.7, 11.9, 150, 0.47202, 0.21770),
        (3, 10, 4, 50, 0.47891, 0.10600),
        (4, 10, 4, 50, 0.63855, 0.19158),
        (5, 20, 6, 100, 0.65172, 0.26787),
    ],
)
def test_weggel_sorensen(
    speed: float, volume: float, depth: float, distance: float, froude: float, height: float
) -> None:
    assert wake_pattern.depth_froude(speed, depth) == pytest.approx(froude, abs=6e-6)
    found = wakes.wake_height_weggel_sorensen(speed, volume, depth, distance)
    assert found == pytest.approx(height, abs=6e-6)


@pytest.mark.parametrize(
    ("froude", "b", "e"),
    [(0.545, -0.225 * 0.545**-0.699, -0.118 * 0.545**-0.356), (0.555, -0.342, -0.146)],
)
def test_weggel_sorensen_changes_its_decay_at_froude_055(froude: float, b: float, e: float) -> None:
    # both sides of the seam, coefficients from memory; depth is three times the volume's cube root
    speed = froude * math.sqrt(GRAVITY * 6.0)
    near, far = (wakes.wake_height_weggel_sorensen(speed, 8.0, 6.0, x) for x in (20.0, 200.0))
    assert math.log10(far / near) == pytest.approx(b * 3.0**e, rel=1e-9)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("case", "height"),
    [((10, 30, 6, 0.5), 0.15969), ((8, 100, 8, 0.7), 0.15075), ((12, 50, 5, 0.4), 0.10485)],
)
def test_bhowmik(case: tuple[float, float, float, float], height: float) -> None:
    assert wakes.wake_height_bhowmik(*case) == pytest.approx(height, abs=6e-6)


def test_rival_heights_of_one_small_boat_agree_within_a_third() -> None:
    # 10 m/s, 30 m off, 1.5 m3, 6 m long, 0.5 m draft: two independent fits for recreational boats
    first = wakes.wake_height_maynord(10.0, 1.5, 30.0, 0.82)
    second = wakes.wake_height_bhowmik(10.0, 30.0, 6.0, 0.5)
    assert second / first == pytest.approx(1.26, abs=0.01)


@pytest.mark.published
def test_decay_of_displacement_wakes_is_that_of_the_cusp() -> None:
    # Read: Coastal Engineering Manual, Part II ch. 7, after Havelock (1908): cusp heights fall
    # with the cube root of distance, 20 m to 200 m by 0.4642.
    near, far = (
        wakes.wake_height_kriebel_seelig(4.0, 8.0, 0.6, 3.0, 0.45, x, 4.0) for x in (20.0, 200.0)
    )
    assert far / near == pytest.approx(10.0 ** (-1.0 / 3.0), rel=1e-12)


@pytest.mark.golden
def test_decay_of_the_fitted_formulas() -> None:
    maynord = [wakes.wake_height_maynord(10.0, 1.5, x, 0.82) for x in (20.0, 200.0)]
    bhowmik = [wakes.wake_height_bhowmik(10.0, x, 6.0, 0.5) for x in (20.0, 200.0)]
    assert maynord[1] / maynord[0] == pytest.approx(0.3802, abs=6e-5)
    assert bhowmik[1] / bhowmik[0] == pytest.approx(0.4519, abs=6e-5)


@pytest.mark.golden
def test_equivalent_waves_of_a_triangular_packet() -> None:
    assert wakes.equivalent_waves(8.0) == pytest.approx(2.625, abs=1e-12)
    assert wakes.equivalent_waves(1.0) == 1.0
    assert wakes.equivalent_waves(3000.0) == pytest.approx(1000.0, rel=1e-6)


@pytest.mark.parametrize("n", [4, 6, 8, 15, 40])
def test_equivalent_waves_is_the_sum_over_the_envelope(n: int) -> None:
    middle = (np.arange(n) + 0.5) / n
    heights = 1.0 - np.abs(2.0 * middle - 1.0)
    expected = np.sum(heights**2)
    odd = 0.0 if n % 2 == 0 else 1.0 / n  # the peak falls on a wave when n is odd
    assert wakes.equivalent_waves(n) == pytest.approx(float(expected - odd), rel=1e-12)


@pytest.mark.golden
def test_energy_of_one_packet() -> None:
    assert wakes.event_energy(0.2, 2.0, 1.0, 4.0) == pytest.approx(753.36, abs=6e-3)
    # ten full waves of 0.3 m, 2 s over 1.5 m; 50 such passages a day in watts per metre
    energy = wakes.event_energy(0.3, 2.0, 1.5, 10.0)
    assert energy == pytest.approx(4091.0, abs=0.6)
    assert 50.0 * energy / 86400.0 == pytest.approx(2.368, abs=6e-4)


@pytest.mark.golden
def test_energy_of_the_largest_deep_water_wave() -> None:
    # One wavelength holds rho g^2 H^2 T^2 / (16 pi) = 1962.4 H^2 T^2 J/m (0.12 m, 1.5 s: 63.6 J/m);
    # half of it crosses a line in one period, since energy travels at half the phase speed.
    constant = WATER_DENSITY * GRAVITY**2 / (16.0 * math.pi)
    assert constant == pytest.approx(1962.4, abs=0.06)
    held = constant * (0.12 * 1.5) ** 2
    assert held == pytest.approx(63.6, abs=0.06)
    assert wakes.event_energy(0.12, 1.5, 500.0, 1.0) == pytest.approx(held / 2.0, rel=1e-9)


def test_bad_arguments_are_named() -> None:
    with pytest.raises(InvalidParameterError, match="froude"):
        wake_pattern.cusp_kinematics([0.5, 0.0])
    with pytest.raises(InvalidParameterError, match="equivalent_waves"):
        wakes.event_energy(0.2, 2.0, 1.0, 0.0)
    with pytest.raises(InvalidParameterError, match="height"):
        wakes.event_energy(-0.2, 2.0, 1.0, 1.0)
