"""Blocks of the scarp against the array laws, their cycle, and the law of the mean."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from edgesim.model.edge import work_on_block, worn_position
from edgesim.processes.blocks import next_block, overhang_limit, standing_width
from edgesim.processes.scarp import cantilever_width, toppling_moments, undercut_cycle_mean


@pytest.mark.golden
@pytest.mark.parametrize(
    ("tensile", "thickness", "weight", "width"),
    # Note of the science, computed; recomputed by hand: sqrt(5 * 1 / (3 * 16)) = 0.3227 m.
    [(2e3, 0.5, 14e3, 0.154), (5e3, 1.0, 16e3, 0.323)],
)
def test_overhang(tensile: float, thickness: float, weight: float, width: float) -> None:
    assert overhang_limit(tensile, thickness, weight) == pytest.approx(width, abs=6e-4)
    array_form = float(cantilever_width(tensile, thickness, weight))
    assert overhang_limit(tensile, thickness, weight) == pytest.approx(array_form, rel=1e-12)


@pytest.mark.parametrize(("height", "weight", "tensile"), [(0.6, 14e3, 1e3), (1.0, 16e3, 3e3)])
def test_a_slab_of_standing_width_is_just_in_balance(
    height: float, weight: float, tensile: float
) -> None:
    # scipy finds the width at which the moments of the published block are equal.
    def excess(width: float) -> float:
        overturning, resisting = toppling_moments(height, width, height, 0.0, weight, tensile)
        return overturning - resisting

    assert standing_width(height, weight, tensile) == pytest.approx(
        brentq(excess, 0.01, 3.0), rel=1e-9
    )


def test_the_limit_that_comes_first_decides() -> None:
    overhang = overhang_limit(3e3, 0.35, 14e3)
    stands = standing_width(0.87, 14e3, 3e3)
    # A crack far back leaves the overhang to fall by itself.
    assert next_block(0.87, 0.35, 2.0, 14e3, 3e3) == (overhang, overhang)
    # A nearer one lets the slab topple first, by 0.09 m of undercut, and whole.
    limit, width = next_block(0.87, 0.35, stands + 0.09, 14e3, 3e3)
    assert limit == pytest.approx(0.09, rel=1e-12)
    assert width == stands + 0.09
    # One nearer than a slab can stand topples as soon as its foot is worn away.
    assert next_block(0.87, 0.35, 0.3, 14e3, 3e3) == (0.0, 0.3)


@pytest.mark.parametrize("rate", [0.2, 0.5, 1.0])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.6])
@pytest.mark.parametrize("limits", [(0.15, 0.15), (0.09, 0.5), (0.0, 0.3)])
def test_blocks_keep_the_mean_of_the_law(
    rate: float, share: float, limits: tuple[float, float]
) -> None:
    undercut, slump, edge, falls = limits[0] - limits[1], 0.0, 0.0, 0
    worn = worn_position(edge, undercut, slump, share)
    for day in range(36525):
        undercut, slump, fallen = work_on_block(
            undercut, slump, rate / 365.25, share, limits[0], limits[1]
        )
        edge, falls = edge + fallen, falls + (fallen > 0.0)
        # What the law has worn is kept to the last digits, block or no block.
        worn += rate / 365.25
        if day % 300 == 0:
            assert abs(worn_position(edge, undercut, slump, share) - worn) < 1e-9
    # A hundred years, wrong by one block at most.
    assert abs(edge - 100.0 * rate) <= limits[1] + 1e-9
    assert falls == pytest.approx(100.0 * rate / limits[1], rel=0.05)


def test_the_cycle_is_the_published_one() -> None:
    # Undercutting at R_bare until w, then shelter for T: w / (w / R_bare + T), the law's rate R
    # where R_bare = R / (1 - share) and T = share * w / R. By hand with w .3, R .35, share .3:
    # R_bare = .5, T = .257 yr; .3 / (.6 + .257) = .35.
    rate, share, width = 0.35, 0.3, 0.3
    mean = undercut_cycle_mean(width, rate / (1.0 - share), share * width / rate)
    assert float(mean) == pytest.approx(rate, rel=1e-12)
    undercut, slump, edge, sheltered = 0.0, 0.0, 0.0, 0
    for _ in range(365250):
        before = undercut
        undercut, slump, fallen = work_on_block(undercut, slump, rate / 3652.5, share, width, width)
        edge += fallen
        sheltered += fallen == 0.0 and undercut == before
    assert edge / 100.0 == pytest.approx(float(mean), rel=0.01)
    # The toe lies behind its slump for T of every cycle of w / R.
    assert sheltered / 365250 == pytest.approx(share, abs=0.01)


@given(
    st.floats(-1.0, 1.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 0.9),
    st.floats(0.0, 0.5),
    st.floats(0.0, 0.5),
)
def test_no_block_moves_more_than_was_worn(
    undercut: float, slump: float, law: float, share: float, limit: float, more: float
) -> None:
    undercut = min(undercut, limit)
    after, left, fallen = work_on_block(undercut, slump, law, share, limit, limit + more)
    assert fallen >= 0.0
    assert left >= 0.0
    before = worn_position(0.0, undercut, slump, share)
    now = worn_position(fallen, after, left, share)
    assert math.isclose(now - before, law, rel_tol=1e-9, abs_tol=1e-9)
    assert np.isfinite([after, left, fallen]).all()
