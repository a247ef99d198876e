"""Linear waves against published examples, scipy and stored digits."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.errors import InvalidParameterError
from edgesim.processes import linear_waves

KH = np.geomspace(1e-4, 100.0, 4001)
M = KH * np.tanh(KH)  # omega^2 h / g that belongs to KH


def guo(m: np.ndarray) -> np.ndarray:
    return m * (1.0 - np.exp(-(m**1.2454))) ** -0.4015


def eckart(m: np.ndarray) -> np.ndarray:
    return m / np.sqrt(np.tanh(m))


def fenton_mckee(m: np.ndarray) -> np.ndarray:
    return m / np.tanh(m**0.75) ** (2.0 / 3.0)


def hunt_six(m: np.ndarray) -> np.ndarray:
    series = 1.0
    for power, d in enumerate((0.66667, 0.35556, 0.16085, 0.06321, 0.02175, 0.00654), start=1):
        series = series + d * m**power
    return np.sqrt(m**2 + m / series)


def hunt_five(m: np.ndarray) -> np.ndarray:
    polynomial = 1.0 + 0.6522 * m + 0.4622 * m**2 + 0.0864 * m**4 + 0.0675 * m**5
    return m * np.sqrt(1.0 + 1.0 / (m * polynomial))


def beji(m: np.ndarray) -> np.ndarray:
    return eckart(m) * (1.0 + m**1.09 * np.exp(-(1.55 + 1.30 * m + 0.216 * m**2)))


def newton(y: np.ndarray, m: np.ndarray) -> np.ndarray:
    slope = y / np.cosh(np.minimum(y, 300.0)) ** 2
    return (m + y * slope) / (np.tanh(y) + slope)


def test_wavenumber_agrees_with_scipy_root_finder_over_all_depths() -> None:
    depth = 1.0
    omega = np.sqrt(GRAVITY * M / depth)
    exact = [
        brentq(
            lambda k, m=m: k * depth * np.tanh(k * depth) - m, 1e-6, 200.0, xtol=1e-16, rtol=1e-14
        )
        for m in M[::40]
    ]
    found = linear_waves.wavenumber(2.0 * np.pi / omega, depth)
    np.testing.assert_allclose(found[::40], exact, rtol=1e-9)
    np.testing.assert_allclose(found, KH, rtol=2e-10)


@pytest.mark.published
def test_wavelength_of_manual_example() -> None:
    # Read: US Army Corps of Engineers, Coastal Engineering Manual, Example II-1-1:
    # T = 10 s, d = 3 m gives L = 53.2 m, C = 5.32 m/s, d/L = 0.05641. Tolerance 0.2 %: three
    # printed digits and g = 9.80 there; this code gives 53.16 m.
    k = linear_waves.wavenumber(10.0, 3.0)
    assert 2.0 * np.pi / k == pytest.approx(53.2, rel=2e-3)
    assert linear_waves.phase_speed(10.0, 3.0) == pytest.approx(5.32, rel=2e-3)
    assert 3.0 * k / (2.0 * np.pi) == pytest.approx(0.05641, rel=2e-3)
    # the page's explicit approximation, 54.1 m with L0 = 156 m
    assert 156.0 * np.sqrt(np.tanh(2.0 * np.pi * 3.0 / 156.0)) == pytest.approx(54.1, abs=0.05)


@pytest.mark.published
def test_fenton_mckee_wavelength_error_stays_below_published_bound() -> None:
    # Read: J. D. Fenton and W. D. McKee, 1990, On calculating the lengths of water waves
    # (abstract): error below 1.7 %. Our wavenumber serves as the exact value.
    k = linear_waves.wavenumber(2.0 * np.pi / np.sqrt(GRAVITY * M), 1.0)
    error = np.max(np.abs(k / fenton_mckee(M) - 1.0))
    assert 0.016 < error < 0.017


@pytest.mark.golden
@pytest.mark.parametrize(
    ("formula", "percent", "at_kh"),
    [
        # Computed against the exact root. Published bounds from memory: Eckart (1952) about 5 %,
        # Guo (2002) 0.75 %, Hunt (1979) 0.1 % (five terms), Beji (2013) 0.044 %.
        (eckart, 4.98, 0.94),
        (fenton_mckee, 1.63, 0.62),
        (guo, 0.754, 1.87),
        (hunt_six, 0.186, 2.5),
        (hunt_five, 0.078, None),
        (beji, 0.044, None),
    ],
)
def test_explicit_rivals_have_their_known_errors(
    formula: Callable[[np.ndarray], np.ndarray], percent: float, at_kh: float | None
) -> None:
    k = linear_waves.wavenumber(2.0 * np.pi / np.sqrt(GRAVITY * M), 1.0)
    error = np.abs(formula(M) / k - 1.0)
    assert 100.0 * error.max() == pytest.approx(percent, abs=0.006 if percent > 1 else 0.0006)
    if at_kh is not None:
        assert KH[error.argmax()] == pytest.approx(at_kh, rel=0.02)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("start", "steps", "error"),
    [
        (eckart, 1, 5.1e-4),
        (fenton_mckee, 1, 8.5e-5),
        (guo, 1, 2.0e-5),
        (beji, 1, 8.2e-8),
        (guo, 2, 1.4e-10),
    ],
)
def test_newton_steps_from_each_start(
    start: Callable[[np.ndarray], np.ndarray], steps: int, error: float
) -> None:
    y = start(M)
    for _ in range(steps):
        y = newton(y, M)
    assert np.max(np.abs(y / KH - 1.0)) == pytest.approx(error, rel=0.05)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("period", "depth", "k", "length", "speed", "ratio", "group", "shoaling"),
    [
        (10, 3, 0.118203, 53.15586, 5.31559, 0.960420, 5.10519, 1.23658),
        (1, 0.5, 4.152845, 1.51298, 1.51298, 0.565297, 0.85529, 0.95538),
        (1.5, 0.5, 2.222976, 2.82647, 1.88432, 0.743574, 1.40113, 0.91419),
        (2, 1, 1.204743, 5.21537, 2.60769, 0.718283, 1.87306, 0.91300),
        (2, 2, 1.038211, 6.05193, 3.02597, 0.565297, 1.71057, 0.95538),
        (4, 2, 0.387236, 16.22571, 4.05643, 0.844667, 3.42633, 0.95465),
    ],
)
def test_wave_table(
    period: float,
    depth: float,
    k: float,
    length: float,
    speed: float,
    ratio: float,
    group: float,
    shoaling: float,
) -> None:
    found = linear_waves.wavenumber(period, depth)
    assert found == pytest.approx(k, abs=6e-7)
    assert 2.0 * np.pi / found == pytest.approx(length, abs=6e-6)
    assert linear_waves.phase_speed(period, depth) == pytest.approx(speed, abs=6e-6)
    assert linear_waves.group_ratio(period, depth) == pytest.approx(ratio, abs=6e-7)
    assert linear_waves.group_velocity(period, depth) == pytest.approx(group, abs=6e-6)
    assert linear_waves.shoaling_coefficient(period, depth) == pytest.approx(shoaling, abs=6e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "period", "depth", "flux"),
    [
        (0.2, 2.0, 1.0, 94.170),
        (0.3, 2.0, 1.5, 204.57),
        (0.3, 2.5, 1.0, 254.835),  # two notes round 254.83 and 254.84
        (0.1, 1.5, 0.5, 17.61),
    ],
)
def test_energy_flux(height: float, period: float, depth: float, flux: float) -> None:
    assert linear_waves.energy_flux(height, period, depth) == pytest.approx(flux, abs=6e-3)


def test_group_velocity_is_the_slope_of_the_dispersion_curve() -> None:
    # d omega / d k by a central difference of omega(k) = sqrt(g k tanh kh)
    depth, k, step = 1.3, np.array([0.05, 0.8, 3.0, 9.0]), 1e-5

    def omega(number: np.ndarray) -> np.ndarray:
        return np.sqrt(GRAVITY * number * np.tanh(number * depth))

    slope = (omega(k + step) - omega(k - step)) / (2.0 * step)
    found = linear_waves.group_velocity(2.0 * np.pi / omega(k), depth)
    np.testing.assert_allclose(found, slope, rtol=1e-7)


def test_bed_velocity_is_amplitude_of_the_potential_flow() -> None:
    # u = a omega cosh(k(z+h)) / sinh(kh) at z = -h
    k = linear_waves.wavenumber(2.0, 1.0)
    expected = 0.1 * np.pi / np.sinh(k)
    assert linear_waves.near_bed_velocity(0.2, 2.0, 1.0) == pytest.approx(
        float(expected), rel=1e-12
    )


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "period", "depth", "velocity"),
    [
        (0.2, 2.0, 1.0, 0.2069),
        (0.2, 2.0, 0.5, 0.3678),
        (0.3, 2.5, 1.0, 0.3676),
        (0.3, 2.0, 1.0, 0.3104),
        (0.1, 1.5, 0.3, 0.2341),
    ],
)
def test_bed_velocity_table(height: float, period: float, depth: float, velocity: float) -> None:
    found = linear_waves.near_bed_velocity(height, period, depth)
    assert found == pytest.approx(velocity, abs=6e-5)
    # this row was stored with three digits
    assert linear_waves.near_bed_velocity(0.3, 2.0, 0.4) == pytest.approx(0.642, abs=6e-4)


@pytest.mark.golden
def test_breaking_heights_from_remembered_formulas() -> None:
    assert linear_waves.breaking_height(2.0, 0.5) == pytest.approx(0.37413, abs=6e-6)
    assert linear_waves.breaking_height_mccowan(0.5) == pytest.approx(0.390, abs=1e-12)
    shallow = linear_waves.breaking_height(1000.0, 0.5) / 0.5
    assert shallow == pytest.approx(0.892, abs=3e-4)  # 0.142 * 2 pi
    deep = linear_waves.breaking_height(2.0, 500.0) / (GRAVITY * 4.0 / (2.0 * np.pi))
    assert deep == pytest.approx(0.142, rel=1e-9)


@pytest.mark.golden
def test_refraction_from_deep_water() -> None:
    angle = linear_waves.refracted_angle(np.radians(35.27), 2.0, 100.0, 0.5)
    assert np.degrees(angle) == pytest.approx(22.028, abs=6e-4)


def test_refraction_there_and_back() -> None:
    inward = linear_waves.refracted_angle(-0.4, 2.0, 3.0, 0.6)
    assert linear_waves.refracted_angle(inward, 2.0, 0.6, 3.0) == pytest.approx(-0.4, rel=1e-12)


def test_wave_turned_back_is_an_error() -> None:
    with pytest.raises(InvalidParameterError, match="turned back"):
        linear_waves.refracted_angle(1.4, 4.0, 0.5, 5.0)
    with pytest.raises(InvalidParameterError, match="right angle"):
        linear_waves.refracted_angle(2.0, 4.0, 5.0, 0.5)


def test_very_deep_water_does_not_overflow() -> None:
    assert linear_waves.group_ratio(1.0, 5000.0) == pytest.approx(0.5, rel=1e-12)
    assert linear_waves.near_bed_velocity(0.2, 1.0, 5000.0) == 0.0


def test_arguments_broadcast() -> None:
    flux = linear_waves.energy_flux(0.1, np.array([[1.0], [2.0]]), np.array([0.5, 1.0, 2.0]))
    assert flux.shape == (2, 3)
    assert flux[1, 1] == linear_waves.energy_flux(0.1, 2.0, 1.0)


def test_energy_flux_of_deep_wave_is_half_energy_times_phase_speed() -> None:
    speed = GRAVITY * 2.0 / (2.0 * np.pi)
    expected = WATER_DENSITY * GRAVITY * 0.3**2 / 8.0 * speed / 2.0
    assert linear_waves.energy_flux(0.3, 2.0, 200.0) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
def test_bad_depth_is_named(bad: float) -> None:
    with pytest.raises(InvalidParameterError, match=r"depth must be finite and > 0 m; 1 of 2"):
        linear_waves.wavenumber(2.0, [1.0, bad])
    with pytest.raises(InvalidParameterError, match="period must be"):
        linear_waves.wavenumber(bad, 1.0)


def test_negative_height_is_named() -> None:
    with pytest.raises(InvalidParameterError, match=r"height must be finite and >= 0 m"):
        linear_waves.energy_flux(-0.1, 2.0, 1.0)
    assert linear_waves.energy_flux(0.0, 2.0, 1.0) == 0.0
