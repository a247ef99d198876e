"""Bed stress against exact laminar theory and stored digits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from edgesim.constants import GRAVITY, WATER_DENSITY, WATER_VISCOSITY
from edgesim.errors import InvalidParameterError
from edgesim.processes import bed_stress
from edgesim.processes.linear_waves import energy_flux, near_bed_velocity


def swart(amplitude_over_roughness: float) -> float:
    """Older rough friction factor (from memory: Swart, 1974), the rival of the one in use."""
    return min(0.3, 0.00251 * math.exp(5.21 * amplitude_over_roughness**-0.19))


# Coefficients of the friction factors: read in an independent implementation of Soulsby (1997);
# the digits below were computed, with a viscosity of 1.0e-6 m2/s in the first table.
TABLE = [
    # height, period, depth, z0, A/z0, rough, swart, smooth, Reynolds, rough stress
    (0.2, 2.0, 1.0, 2e-4, 329.4, 0.06821, 0.06837, 0.01713, 13632, 1.4970),
    (0.2, 2.0, 0.5, 2e-4, 585.3, 0.05058, 0.04857, 0.00964, 43051, 3.5059),
    (0.3, 2.5, 1.0, 5e-4, 292.5, 0.07255, 0.07372, 0.00863, 53766, 5.0240),
]


@pytest.mark.golden
@pytest.mark.parametrize("row", TABLE)
def test_friction_table(row: tuple[float, ...]) -> None:
    height, period, depth, z0, relative, rough, old, smooth, reynolds, stress = row
    u_bed = float(near_bed_velocity(height, period, depth))
    amplitude = u_bed * period / (2.0 * math.pi)
    assert amplitude / z0 == pytest.approx(relative, abs=0.06)
    assert u_bed * amplitude / 1.0e-6 == pytest.approx(reynolds, abs=0.6)
    factor = bed_stress.wave_friction_rough(u_bed, period, z0)
    assert factor == pytest.approx(rough, abs=6e-6)
    assert swart(relative / 30.0) == pytest.approx(old, abs=3e-5)
    assert factor == pytest.approx(old, rel=0.045)  # the rivals differ by at most 4.2 % here
    assert bed_stress.wave_stress(u_bed, factor) == pytest.approx(stress, abs=6e-5)
    # laminar friction goes with the root of viscosity
    found = bed_stress.wave_friction_smooth(u_bed, period) * math.sqrt(1.0e-6 / WATER_VISCOSITY)
    assert found == pytest.approx(smooth, abs=6e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "period", "depth", "factor", "stress", "rough_stress"),
    [
        (0.3, 2.0, 1.0, 0.01170, 0.578, 2.73),
        (0.2, 2.0, 0.5, 0.00988, 0.685, 3.51),
        (0.3, 2.0, 0.4, 0.00566, 1.195, 8.00),
        (0.1, 1.5, 0.3, 0.01790, 0.503, 2.09),
    ],
)
def test_smooth_and_rough_stress_of_wakes_on_mud(
    height: float,
    period: float,
    depth: float,
    factor: float,
    stress: float,
    rough_stress: float,
) -> None:
    u_bed = float(near_bed_velocity(height, period, depth))
    smooth = bed_stress.wave_friction_smooth(u_bed, period)
    assert smooth == pytest.approx(factor, abs=3e-5)
    assert bed_stress.wave_stress(u_bed, smooth) == pytest.approx(stress, abs=6e-4)
    rough = bed_stress.wave_friction_rough(u_bed, period, 2e-4)
    assert bed_stress.wave_stress(u_bed, rough) == pytest.approx(rough_stress, abs=6e-3)


def test_two_forms_of_the_rough_friction_factor_are_one() -> None:
    # 1.39 (A/z0)^-0.52 = 0.237 (A/ks)^-0.52 with ks = 30 z0, to 0.05 %
    u_bed, period, z0 = 0.3, 2.0, 2e-4
    amplitude = u_bed * period / (2.0 * math.pi)
    other = 0.237 * (amplitude / (30.0 * z0)) ** -0.52
    assert bed_stress.wave_friction_rough(u_bed, period, z0) == pytest.approx(other, rel=5e-4)


def test_smooth_friction_above_the_laminar_limit() -> None:
    # 0.0521 R^-0.187 at R = 1e6
    period = 5.0
    u_bed = math.sqrt(1e6 * 2.0 * math.pi * WATER_VISCOSITY / period)
    expected = 0.0521 * 1e6**-0.187
    assert bed_stress.wave_friction_smooth(u_bed, period) == pytest.approx(expected, rel=1e-9)
    below = bed_stress.wave_friction_smooth(u_bed * math.sqrt(0.4999), period)
    above = bed_stress.wave_friction_smooth(u_bed * math.sqrt(0.5001), period)
    assert above / below == pytest.approx(1.584, abs=0.002)  # the jump that the docstring states


def test_water_at_rest_has_no_stress() -> None:
    assert bed_stress.wave_friction_smooth(0.0, 2.0) == 0.0
    assert bed_stress.wave_friction_rough(0.0, 2.0, 2e-4) == 0.0
    assert bed_stress.wave_stress(0.0, 0.0) == 0.0
    assert bed_stress.mean_stress(0.0, 0.0) == 0.0


@pytest.mark.golden
@pytest.mark.parametrize(
    ("speed", "depth", "stress"), [(0.3, 1.0, 0.261), (0.5, 2.0, 0.608), (0.1, 0.5, 0.0352)]
)
def test_current_stress(speed: float, depth: float, stress: float) -> None:
    assert bed_stress.current_stress(speed, depth, 2e-4) == pytest.approx(stress, rel=2e-3)


def test_current_stress_is_that_of_the_logarithmic_profile() -> None:
    # depth mean of u*/kappa ln(z/z0) by scipy's quadrature; the formula drops a term of z0/h
    depth, z0, stress = 1.5, 2e-4, 0.4
    shear_velocity = math.sqrt(stress / WATER_DENSITY)
    total, _ = quad(lambda z: shear_velocity / 0.4 * math.log(z / z0), z0, depth)
    assert bed_stress.current_stress(total / depth, depth, z0) == pytest.approx(stress, rel=1e-4)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("current", "wave", "degrees", "mean", "largest"),
    [
        (0.1, 0.5, 0.0, 0.16696, 0.66696),
        (0.1, 0.5, 90.0, 0.16696, 0.52714),
        (0.2, 0.2, 45.0, 0.22612, 0.39381),
        (0.1, 0.3, 0.0, 0.1478, 0.4478),
        (0.1, 0.3, 90.0, 0.1478, 0.3344),
    ],
)
def test_combined_stress(
    current: float, wave: float, degrees: float, mean: float, largest: float
) -> None:
    # 1.2 and 3.2 from memory: Soulsby (1997)
    found = bed_stress.mean_stress(current, wave)
    assert found == pytest.approx(mean, abs=6e-5 if mean == 0.1478 else 6e-6)
    peak = bed_stress.maximum_stress(found, wave, math.radians(degrees))
    assert peak == pytest.approx(largest, abs=6e-5 if mean == 0.1478 else 6e-6)


def test_current_alone_keeps_its_stress() -> None:
    assert bed_stress.mean_stress(0.3, 0.0) == 0.3
    assert bed_stress.maximum_stress(0.3, 0.0, 1.0) == pytest.approx(0.3, rel=1e-15)


def test_laminar_stress_is_that_of_the_oscillating_plate() -> None:
    # Exact: u = U exp(-y/d) cos(wt - y/d), d = sqrt(2 nu / w); wall stress amplitude
    # rho nu |du/dy| = rho U sqrt(nu w). Taken here by a one-sided difference in y.
    period, u_bed, step = 2.0, 0.2, 1e-8
    omega = 2.0 * math.pi / period
    thickness = math.sqrt(2.0 * WATER_VISCOSITY / omega)
    profile = 1.0 - np.exp(-(1.0 + 1.0j) * step / thickness)
    exact = WATER_DENSITY * WATER_VISCOSITY * u_bed * abs(profile) / step
    found = u_bed * bed_stress.laminar_stress_coefficient(period)
    assert found == pytest.approx(exact, rel=1e-4)
    factor = bed_stress.wave_friction_smooth(u_bed, period)
    assert bed_stress.wave_stress(u_bed, factor) == pytest.approx(float(found), rel=1e-12)


@pytest.mark.parametrize(("height", "period", "depth"), [(0.2, 2.0, 0.5), (0.05, 3.0, 1.0)])
def test_decay_rate_is_the_general_loss_over_the_flux(
    height: float, period: float, depth: float
) -> None:
    # loss per area 2/(3 pi) rho fw u^3, the mean over a wave of rho fw/2 |u| u u
    u_bed = float(near_bed_velocity(height, period, depth))
    factor = bed_stress.wave_friction_smooth(u_bed, period)
    mean_cube = quad(lambda phase: abs(math.cos(phase)) ** 3, 0.0, 2.0 * math.pi)[0] / (
        2.0 * math.pi
    )
    loss = 0.5 * WATER_DENSITY * factor * u_bed**3 * mean_cube
    expected = loss / float(energy_flux(height, period, depth))
    assert bed_stress.friction_decay_rate(period, depth) == pytest.approx(expected, rel=1e-9)


def test_decay_rate_exceeds_exact_laminar_damping_by_a_known_factor() -> None:
    # Exact boundary-layer damping: loss = U tau cos(45 deg) / 2, stress leading velocity by 45 deg
    period, depth = 2.0, 0.5
    u_bed = float(near_bed_velocity(0.1, period, depth))
    stress = u_bed * float(bed_stress.laminar_stress_coefficient(period))
    exact = 0.5 * u_bed * stress * math.cos(math.pi / 4.0) / float(energy_flux(0.1, period, depth))
    ratio = float(bed_stress.friction_decay_rate(period, depth)) / exact
    assert ratio == pytest.approx(8.0 * math.sqrt(2.0) / (3.0 * math.pi), rel=1e-9)


def test_decay_over_a_short_flat_is_small_for_wakes() -> None:
    # order of magnitude by hand in shallow water: alpha = 4/(3 pi) sqrt(2 pi nu/T) 2 / (h sqrt(g h))
    period, depth = 60.0, 0.5
    by_hand = (4.0 / (3.0 * math.pi) * math.sqrt(2.0 * math.pi * WATER_VISCOSITY / period)) * (
        2.0 / (depth * math.sqrt(GRAVITY * depth))
    )
    assert bed_stress.friction_decay_rate(period, depth) == pytest.approx(by_hand, rel=2e-3)


def test_arrays_and_bad_arguments() -> None:
    assert bed_stress.friction_decay_rate([2.0, 3.0], [[0.5], [1.0]]).shape == (2, 2)
    with pytest.raises(InvalidParameterError, match="period"):
        bed_stress.laminar_stress_coefficient(0.0)
    with pytest.raises(InvalidParameterError, match="depth"):
        bed_stress.friction_decay_rate(2.0, -1.0)
