"""What must hold for any wall and any wave."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgesim.constants import GRAVITY
from edgesim.processes import diffraction, porous_block
from edgesim.processes import transmission as tr
from edgesim.processes.linear_waves import wavenumber

heights = st.floats(0.01, 0.8)
wavenumbers = st.floats(0.05, 8.0)
depths = st.floats(0.2, 4.0)
lengths = st.floats(0.05, 2.0)
solids = st.floats(0.02, 0.6)
diameters = st.floats(0.005, 0.08)
more = st.floats(1.01, 1.6)


def stem_wall(
    height: float, k: float, depth: float, length: float, solid: float, diameter: float
) -> float:
    w = math.sqrt(GRAVITY * k * math.tanh(k * depth))
    resistance = length * tr.stem_resistance(solid, diameter, 1.5)
    return tr.barrier_transmission(height, w, k, depth, 0.0, resistance)


@given(heights, wavenumbers, depths, lengths, solids, diameters, more)
def test_transmission_falls_with_all_that_resists(
    height: float, k: float, depth: float, length: float, solid: float, diameter: float, up: float
) -> None:
    Kt = stem_wall(height, k, depth, length, solid, diameter)
    assert 0.0 < Kt <= 1.0
    assert stem_wall(height * up, k, depth, length, solid, diameter) < Kt
    assert stem_wall(height, k, depth, length * up, solid, diameter) < Kt
    assert stem_wall(height, k, depth, length, solid * up, diameter) < Kt
    assert stem_wall(height, k, depth, length, solid, diameter / up) < Kt


@given(heights, wavenumbers, depths, st.floats(0.0, 50.0), st.floats(0.0, 500.0))
def test_a_thin_wall_takes_half_the_energy_at_most(
    height: float, k: float, depth: float, linear: float, quadratic: float
) -> None:
    w = math.sqrt(GRAVITY * k * math.tanh(k * depth))
    Kt = tr.barrier_transmission(height, w, k, depth, linear, quadratic)
    Lam = tr.resistance_number(Kt)
    Kr = Lam / (1.0 + Lam)
    dissipated = 1.0 - Kt**2 - Kr**2
    assert -1e-12 <= dissipated <= 0.5 + 1e-12
    assert dissipated == pytest.approx(2.0 * Kt * Kr, abs=1e-12)


@given(wavenumbers, depths, st.floats(0.0, 0.95), st.floats(0.001, 0.05), st.floats(0.05, 0.95))
def test_transmission_rises_with_submergence(
    k: float, depth: float, relative: float, step: float, emergent: float
) -> None:
    low = tr.flux_share_above(k, depth, relative * depth)
    high = tr.flux_share_above(k, depth, (relative + step) * depth)
    assert 0.0 <= low <= high <= 1.0
    below, above = (tr.overtopped_transmission(emergent, share) for share in (low, high))
    assert emergent * (1.0 - 1e-12) <= below <= above <= 1.0


@given(heights, st.floats(0.8, 4.0), depths, st.floats(0.2, 1.0), lengths, solids, diameters, more)
def test_walls_pass_more_when_the_water_rises_over_them(
    height: float,
    period: float,
    depth: float,
    relative_crest: float,
    length: float,
    solid: float,
    diameter: float,
    up: float,
) -> None:
    # The crest stays where it is, under water; the period stays. (A wall that stands out of
    # deepening water passes ever more too, but for a fall of 0.0003 or so beyond k h of 2.6, where
    # the depth factor of the drag rises again from 0.660 to its limit of 2/3.)
    crest = relative_crest * depth

    def passed(water: float) -> float:
        k = float(wavenumber(period, water))
        emergent = stem_wall(height, k, water, length, solid, diameter)
        share = tr.flux_share_above(k, water, max(0.0, water - crest))
        return tr.overtopped_transmission(emergent, share)

    # Beyond two wavelengths deep all the wave is over the crest and nothing is left to rise.
    if passed(depth) < 1.0 - 1e-9:
        assert passed(depth * up) > passed(depth)


@given(st.floats(0.02, 0.98), more)
def test_wider_openings_resist_less(open_fraction: float, up: float) -> None:
    wider = min(open_fraction * up, 1.0)
    assert 0.0 <= tr.post_row_resistance(wider) < tr.post_row_resistance(open_fraction)


@given(wavenumbers, depths, lengths, st.floats(0.3, 1.0), st.floats(0.0, 50.0), st.floats(1.0, 2.0))
def test_blocks_never_make_energy(
    k: float, depth: float, length: float, porosity: float, friction: float, inertia: float
) -> None:
    w = math.sqrt(GRAVITY * k * math.tanh(k * depth))
    t, r = porous_block.block_transmission(k, w, length, porosity, friction, inertia=inertia)
    assert abs(t) ** 2 + abs(r) ** 2 <= 1.0 + 1e-12


rows = st.lists(
    st.one_of(st.just(0.0), st.floats(0.05, 10.0), st.just(math.inf)), min_size=3, max_size=6
)


@settings(max_examples=40, deadline=None)
@given(rows, st.floats(0.6, 1.8), st.floats(-0.9, 0.9))
def test_energy_closes_behind_any_row(bays: list[float], k: float, angle: float) -> None:
    row = np.repeat(bays, 8)
    jump = diffraction.barrier_jump(row, 0.25, k, angle)
    shares = diffraction.energy_partition(jump, row, 0.25, k, angle)
    assert min(shares) >= 0.0
    assert sum(shares) == pytest.approx(1.0, abs=0.01)


@settings(max_examples=25, deadline=None)
@given(rows, st.floats(0.6, 1.8), st.floats(-0.9, 0.9))
def test_mirrored_rows_give_mirrored_waves(bays: list[float], k: float, angle: float) -> None:
    row = np.repeat(bays, 8)
    jump = diffraction.barrier_jump(row, 0.25, k, angle)
    mirrored = diffraction.barrier_jump(row[::-1], 0.25, k, -angle)
    np.testing.assert_allclose(mirrored, jump[::-1], atol=1e-9)


@settings(max_examples=25, deadline=None)
@given(rows, st.floats(0.6, 1.8), st.floats(0.05, 0.9))
def test_reciprocity(bays: list[float], k: float, angle: float) -> None:
    # The straight-through amplitude is the same for a wave from +angle and one from -angle,
    # whatever the row: the mean of the transmitted field over the wave's own phase.
    row = np.repeat(bays, 8)
    y = (np.arange(row.size) - 0.5 * (row.size - 1)) * 0.25
    through = []
    for direction in (angle, -angle):
        jump = diffraction.barrier_jump(row, 0.25, k, direction)
        through.append(np.mean(jump * np.exp(-1j * k * np.sin(direction) * y)))
    assert through[0] == pytest.approx(through[1], abs=1e-9)
