"""What must hold for any number: bounds, order, symmetry and conservation."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from edgesim.processes.mud import (
    consolidated_density,
    dry_density_from_organic,
    krone_deposition,
    mean_flood_depth,
    partheniades_erosion,
    tidal_deposition,
)
from edgesim.processes.plants import damping_coefficient, height_ratio, platform_accretion
from edgesim.processes.scarp import (
    cantilever_width,
    critical_height,
    lattice_rate,
    retreat_rate,
    retreat_site_normalised,
    undercut_cycle_mean,
    water_level_weight,
)
from edgesim.processes.sea_level import rate_and_half_acceleration, rise
from edgesim.processes.tide import harmonic_sum, inundation_fraction, predict

untimed = settings(deadline=None)  # the first call of a kernel compiles it
positive = st.floats(0.01, 100.0)
share = st.floats(0.0, 1.0)
level = st.floats(-3.0, 3.0)
records = st.lists(level, min_size=1, max_size=50)


@untimed
@given(level, level, positive, positive)
def test_water_level_weight_is_a_share(
    water: float, toe: float, height: float, decay: float
) -> None:
    assert 0.0 <= water_level_weight(water, toe, toe + height, decay) <= 1.0


@untimed
@given(level, positive, positive)
def test_water_level_weight_is_continuous(toe: float, height: float, decay: float) -> None:
    platform = toe + height
    step = 1e-9 * min(height, decay)
    for edge in (toe, platform):
        before = water_level_weight(edge - step, toe, platform, decay)
        assert abs(before - water_level_weight(edge + step, toe, platform, decay)) < 1e-5


@untimed
@given(positive, positive, positive, positive, st.floats(1.1, 10.0))
def test_retreat_falls_with_strength_and_height(
    power: float, erodibility: float, strength: float, height: float, more: float
) -> None:
    base = retreat_rate(power, erodibility, strength, height)
    assert retreat_rate(power, erodibility, more * strength, height) < base
    assert retreat_rate(power, erodibility, strength, more * height) < base
    # the eroded volume does not depend on the height of the scarp
    volume = more * height * retreat_rate(power, erodibility, strength, more * height)
    assert np.isclose(volume, base * height, rtol=1e-12)


@untimed
@given(st.lists(positive, min_size=2, max_size=30), positive)
def test_mean_modelled_retreat_is_the_surveyed_one(powers: list[float], retreat: float) -> None:
    own = retreat_site_normalised(powers, float(np.mean(powers)), retreat)
    assert np.isclose(own.mean(), retreat, rtol=1e-10)


@untimed
@given(positive, positive, positive)
def test_shelter_slows_the_edge(width: float, retreat: float, residence: float) -> None:
    mean = undercut_cycle_mean(width, retreat, residence)
    assert 0 < mean < retreat
    assert mean < width / residence


@untimed
@given(positive, positive, st.floats(1.1, 10.0))
def test_bigger_waves_take_a_cell_sooner(power: float, critical: float, more: float) -> None:
    wave = critical / 5
    assert lattice_rate(power, critical, more * wave) > lattice_rate(power, critical, wave)
    assert lattice_rate(power, more * critical, wave) < lattice_rate(power, critical, wave)


@untimed
@given(positive, positive, positive, st.floats(1.1, 10.0))
def test_stronger_soil_stands_higher_and_wider(
    strength: float, thickness: float, weight: float, more: float
) -> None:
    assert critical_height(more * strength, weight) > critical_height(strength, weight)
    wide = cantilever_width(more * strength, thickness, weight)
    assert wide > cantilever_width(strength, thickness, weight)


@untimed
@given(st.floats(0.0, 5.0), positive, positive)
def test_bed_never_erodes_and_fills_at_once_below_both_limits(
    stress: float, concentration: float, critical: float
) -> None:
    eroded = partheniades_erosion(stress, critical, 1e-4)
    dropped = krone_deposition(5e-4, concentration, stress, critical)
    assert eroded >= 0
    assert dropped >= 0
    assert eroded * dropped == 0


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 0.5), st.floats(0.2, 2.0))
def test_mud_of_bed_and_water_is_conserved(
    stress: float, concentration: float, depth: float
) -> None:
    bed, water, step = 10.0, concentration * depth, 60.0
    total = bed + water
    for _ in range(500):
        down = min(krone_deposition(5e-4, water / depth, stress, 0.08) * step, water)
        up = min(partheniades_erosion(stress, 0.2, 5e-5) * step, bed)
        bed, water = bed + down - up, water + up - down
    assert abs(bed + water - total) < 1e-10
    assert min(bed, water) >= 0


@untimed
@given(share, share, share, share, st.floats(1e-5, 1e-2))
def test_deposit_never_exceeds_what_the_tide_brings_or_what_settles(
    concentration: float, depth: float, trapping: float, inundated: float, settling: float
) -> None:
    mass = tidal_deposition(concentration, depth, trapping, settling, inundated)
    assert 0 <= mass <= 706 * concentration * depth
    assert mass <= settling * concentration * inundated * 3.16e7


@untimed
@given(st.floats(0.0, 50.0), positive)
def test_density_stays_between_fresh_and_old(age: float, timescale: float) -> None:
    assert 200 <= consolidated_density(age, 200.0, 500.0, timescale) <= 500


@untimed
@given(share, share)
def test_more_organic_soil_is_lighter(first: float, second: float) -> None:
    light, heavy = sorted([first, second], reverse=True)
    own = dry_density_from_organic([light, heavy])
    assert own[0] <= own[1]
    assert own[0] * (1 + 1e-12) >= 85


@untimed
@given(records, level, level)
def test_higher_beds_flood_less(record: list[float], first: float, second: float) -> None:
    low, high = sorted([first, second])
    flooded = inundation_fraction(record, [low, high])
    assert 1 >= flooded[0] >= flooded[1] >= 0


@untimed
@given(records, level)
def test_flood_depth_times_fraction_is_the_mean_excess(record: list[float], bed: float) -> None:
    excess = np.maximum(np.array(record) - bed, 0).mean()
    own = mean_flood_depth(record, bed) * inundation_fraction(record, bed)
    assert np.isclose(own, excess, rtol=1e-9, atol=1e-12)


@untimed
@given(records, level, level)
def test_inundation_depends_on_relative_height_only(
    record: list[float], bed: float, shift: float
) -> None:
    exact = np.round(np.array([*record, bed, shift]) * 64) / 64  # binary fractions add exactly
    lifted = inundation_fraction(exact[:-2] + exact[-1], exact[-2] + exact[-1])
    assert lifted == inundation_fraction(exact[:-2], exact[-2])


@untimed
@given(st.floats(0.0, 2.0), st.floats(-10.0, 10.0), st.floats(0.0, 1e6))
def test_tide_is_bounded_by_its_amplitudes_and_adds_up(
    amplitude: float, lag: float, elapsed: float
) -> None:
    both = harmonic_sum(elapsed, {"M2": (amplitude, lag), "K1": (0.3, 0.0)})
    assert abs(both) <= amplitude + 0.3 + 1e-12
    apart = harmonic_sum(elapsed, {"M2": (amplitude, lag)}) + harmonic_sum(
        elapsed, {"K1": (0.3, 0.0)}
    )
    assert np.isclose(both, apart, atol=1e-12)


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(12)), st.integers(0, 20_000))
def test_prediction_ignores_order_and_shape(order: list[int], start: int) -> None:
    constants = {"M2": (0.7, 0.5), "O1": (0.1, 2.0), "SA": (0.1, 3.0)}
    first = np.datetime64("2000-01-01") + np.timedelta64(start, "D")
    times = first + np.arange(12) * np.timedelta64(400, "h")
    level = predict(times, constants)
    np.testing.assert_array_equal(predict(times[order], constants), level[order])
    np.testing.assert_array_equal(predict(times.reshape(3, 4), constants), level.reshape(3, 4))


@untimed
@given(st.floats(-1.0, 2.0), st.floats(0.0, 0.02))
def test_accretion_stays_within_its_cap(depth: float, cap: float) -> None:
    assert 0 <= platform_accretion(depth, cap) <= cap


@untimed
@given(
    st.floats(0.1, 5.0),
    st.floats(0.05, 0.5),
    st.floats(0.05, 20.0),
    st.floats(0.1, 5.0),
    st.floats(0.05, 2.0),
    st.floats(1.05, 3.0),
)
def test_taller_stems_damp_more_until_they_emerge(
    drag: float, height: float, wavenumber: float, depth: float, stem: float, more: float
) -> None:
    damping = damping_coefficient(drag, 0.006, 250.0, height, wavenumber, depth, stem)
    taller = damping_coefficient(drag, 0.006, 250.0, height, wavenumber, depth, more * stem)
    emerged = damping_coefficient(drag, 0.006, 250.0, height, wavenumber, depth, depth)
    assert 0 <= damping <= taller * (1 + 1e-12)
    assert taller <= emerged * (1 + 1e-12)
    assert 0 < height_ratio(damping, 20.0) <= 1


@untimed
@given(st.floats(-1.0, 3.0), st.floats(-1.0, 5.0))
def test_sea_level_passes_through_its_targets(first: float, second: float) -> None:
    own = rise([50.0, 100.0], *rate_and_half_acceleration(first, second))
    np.testing.assert_allclose(own, [first, second], atol=1e-12)
