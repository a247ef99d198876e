"""What must hold for every wave, wake and bed stress in the range of use."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgesim.constants import GRAVITY
from edgesim.processes import bed_stress, linear_waves, wake_pattern, wakes
from edgesim.processes.wind_waves import wave_spm, wave_young_verhagen

heights = st.floats(0.01, 1.0)
periods = st.floats(0.5, 15.0)
depths = st.floats(0.02, 30.0)
speeds = st.floats(0.5, 20.0)
distances = st.floats(10.0, 500.0)
volumes = st.floats(0.3, 50.0)
lengths = st.floats(3.0, 20.0)
growth = st.floats(1.05, 3.0)
stresses = st.floats(0.0, 20.0)

settings.register_profile("waves", max_examples=60, deadline=None)
settings.load_profile("waves")


@given(periods, depths)
def test_wavenumber_satisfies_the_dispersion_relation(period: float, depth: float) -> None:
    k = linear_waves.wavenumber(period, depth)
    omega = 2.0 * np.pi / period
    assert GRAVITY * k * np.tanh(k * depth) == pytest.approx(omega**2, rel=1e-9)


@given(periods, depths, st.floats(0.1, 10.0))
def test_waves_scale_with_froude(period: float, depth: float, scale: float) -> None:
    model = linear_waves.wavenumber(period * math.sqrt(scale), depth * scale) * scale
    assert model == pytest.approx(float(linear_waves.wavenumber(period, depth)), rel=1e-9)


@given(periods, depths, growth)
def test_waves_slow_down_and_shorten_in_shallower_water(
    period: float, depth: float, factor: float
) -> None:
    assert linear_waves.phase_speed(period, depth * factor) >= linear_waves.phase_speed(
        period, depth
    ) * (1.0 - 1e-9)
    assert 0.5 <= linear_waves.group_ratio(period, depth) <= 1.0 + 1e-12
    assert linear_waves.phase_speed(period, depth) <= math.sqrt(GRAVITY * depth) * (1.0 + 1e-9)


@given(heights, periods, depths, depths)
def test_shoaling_keeps_the_energy_flux(
    height: float, period: float, first: float, second: float
) -> None:
    ratio = linear_waves.shoaling_coefficient(period, second) / linear_waves.shoaling_coefficient(
        period, first
    )
    before = linear_waves.energy_flux(height, period, first)
    assert linear_waves.energy_flux(height * ratio, period, second) == pytest.approx(
        float(before), rel=1e-9
    )


@given(heights, periods, depths, growth)
def test_energy_flux_goes_with_height_squared(
    height: float, period: float, depth: float, factor: float
) -> None:
    base = float(linear_waves.energy_flux(height, period, depth))
    grown = linear_waves.energy_flux(factor * height, period, depth)
    assert grown == pytest.approx(factor**2 * base, rel=1e-12)


@given(st.floats(-1.2, 1.2), periods, depths, st.floats(0.2, 1.0))
def test_refraction_turns_towards_the_normal(
    angle: float, period: float, depth: float, share: float
) -> None:
    turned = linear_waves.refracted_angle(angle, period, depth, depth * share)
    assert abs(turned) <= abs(angle) + 1e-9
    mirrored = linear_waves.refracted_angle(-angle, period, depth, depth * share)
    assert mirrored == pytest.approx(-float(turned), abs=1e-15)


@given(periods, depths)
def test_breaking_height_is_limited_by_depth_and_by_steepness(period: float, depth: float) -> None:
    limit = linear_waves.breaking_height(period, depth)
    assert limit <= 0.8923 * depth
    assert limit <= 0.142 * GRAVITY * period**2 / (2.0 * np.pi) * (1.0 + 1e-9)


@given(st.floats(0.05, 5.0), st.floats(0.001, 0.2))
def test_cusp_opens_and_waves_turn_with_speed(froude: float, more: float) -> None:
    slow, fast = wake_pattern.cusp_kinematics([froude, froude + more])[0]
    turn_slow, turn_fast = wake_pattern.cusp_kinematics([froude, froude + more])[1]
    if froude + more < 1.0:
        assert fast >= slow - 1e-9
        assert turn_fast <= turn_slow + 1e-9
    elif froude > 1.0:
        assert fast < slow
        assert turn_fast > turn_slow


@given(speeds, st.floats(0.5, 30.0), lengths)
def test_highest_wave_is_no_longer_than_either_limit_and_keeps_station_with_the_boat(
    speed: float, depth: float, length: float
) -> None:
    limit = wake_pattern.hull_limited_period(length, depth)
    period, along = wake_pattern.highest_wave(speed, depth, length, limit)
    cusp, along_cusp = wake_pattern.cusp_wave(speed, depth)
    assert 0.0 < period == min(cusp, limit)
    assert 0.0 <= along <= 1.0
    if period < limit:
        assert along == along_cusp
    elif speed > length / limit:
        assert speed * along == pytest.approx(length / limit, rel=1e-9)


@given(speeds, volumes, st.floats(1.0, 20.0), lengths, distances, growth)
def test_wakes_fall_with_distance(
    speed: float, volume: float, depth: float, length: float, distance: float, factor: float
) -> None:
    far = distance * factor
    rivals = [
        lambda x: wakes.wake_height_maynord(speed, volume, x, 0.82),
        lambda x: wakes.wake_height_bhowmik(speed, x, length, 0.5),
        lambda x: wakes.wake_height_kriebel_seelig(speed, length, 0.5, depth, 0.5, x, length / 2),
    ]
    if 0.2 <= wake_pattern.depth_froude(speed, depth) <= 0.8:
        rivals.append(lambda x: wakes.wake_height_weggel_sorensen(speed, volume, depth, x))
    for height in rivals:
        near = height(distance)
        assert near >= 0.0
        assert height(far) < near or near == 0.0


@given(speeds, volumes, distances, st.floats(0.1, 10.0))
def test_maynord_scales_with_froude(
    speed: float, volume: float, distance: float, scale: float
) -> None:
    small = wakes.wake_height_maynord(speed, volume, distance, 0.82)
    large = wakes.wake_height_maynord(
        speed * math.sqrt(scale), volume * scale**3, distance * scale, 0.82
    )
    assert large == pytest.approx(scale * small, rel=1e-9)


@given(st.floats(0.5, 5.0), st.floats(1.0, 10.0), lengths, distances, st.floats(0.1, 10.0))
def test_kriebel_seelig_scales_with_froude(
    speed: float, depth: float, length: float, distance: float, scale: float
) -> None:
    small = wakes.wake_height_kriebel_seelig(speed, length, 0.5, depth, 0.5, distance, 3.0)
    large = wakes.wake_height_kriebel_seelig(
        speed * math.sqrt(scale),
        length * scale,
        0.5 * scale,
        depth * scale,
        0.5,
        distance * scale,
        3.0 * scale,
    )
    assert large == pytest.approx(scale * small, rel=1e-7, abs=1e-12)


@given(st.floats(1.0, 100.0), growth)
def test_equivalent_waves_lie_between_one_and_all(n_waves: float, factor: float) -> None:
    equivalent = wakes.equivalent_waves(n_waves)
    assert 1.0 <= equivalent <= n_waves
    assert wakes.equivalent_waves(n_waves * factor) >= equivalent


@given(st.floats(1.0, 30.0), st.floats(50.0, 20e3), st.floats(0.2, 20.0), growth)
def test_wind_waves_grow_with_wind_fetch_and_depth(
    wind_speed: float, fetch: float, depth: float, factor: float
) -> None:
    for formula in (wave_young_verhagen, wave_spm):
        height, period = formula(wind_speed, fetch, depth)
        assert height > 0.0
        assert formula(wind_speed * factor, fetch, depth)[0] > height
        assert formula(wind_speed, fetch * factor, depth)[0] >= height
        assert formula(wind_speed, fetch, depth * factor)[0] >= height * (1.0 - 1e-12)
        assert formula(wind_speed, fetch * factor, depth)[1] >= period


@given(st.floats(0.001, 2.0), periods, st.floats(1e-5, 5e-3), growth)
def test_wave_stress_grows_with_bed_velocity(
    u_bed: float, period: float, z0: float, factor: float
) -> None:
    def smooth(u: float) -> float:
        return bed_stress.wave_stress(u, bed_stress.wave_friction_smooth(u, period))

    def rough(u: float) -> float:
        return bed_stress.wave_stress(u, bed_stress.wave_friction_rough(u, period, z0))

    assert smooth(factor * u_bed) > smooth(u_bed)
    assert rough(factor * u_bed) > rough(u_bed)


@given(stresses, stresses, st.floats(0.0, math.pi / 2.0))
def test_combined_stress_lies_between_its_parts_and_their_enhanced_sum(
    current: float, wave: float, angle: float
) -> None:
    mean = bed_stress.mean_stress(current, wave)
    largest = bed_stress.maximum_stress(mean, wave, angle)
    assert current <= mean <= 2.2 * current
    assert max(mean, wave) * (1.0 - 1e-12) <= largest <= (mean + wave) * (1.0 + 1e-12)
    head_on = bed_stress.maximum_stress(mean, wave, 0.0)
    assert largest <= head_on * (1.0 + 1e-12)


@given(periods, st.floats(0.05, 3.0), growth)
def test_friction_decay_is_strongest_in_shallow_water(
    period: float, depth: float, factor: float
) -> None:
    near = bed_stress.friction_decay_rate(period, depth)
    assert near > 0.0
    assert bed_stress.friction_decay_rate(period, depth * factor) < near
