"""Indicators on cases small enough to compute by hand."""

from __future__ import annotations

import numpy as np
import pytest

from edgesim.outcomes.indicators import (
    land_kept,
    reach_mask,
    record_of_year,
    retreats,
    stands_alone,
    takeover_year,
    yearly_records,
)

QUARTERS = np.arange(0.0, 3.01, 0.25)


def test_reach_holds_the_cells_whose_centres_lie_in_it():
    inside = reach_mask([0.5, 1.5, 2.5, 3.5], 1.0, 3.0)
    np.testing.assert_array_equal(inside, [False, True, True, False])


def test_retreats_by_hand():
    edge = [[10.0, 10.0, 10.0, 10.0], [12.0, 11.0, 13.0, 10.5]]
    found = retreats(edge, [10.0, 10.0, 10.0, 10.0], [False, True, True, False])
    np.testing.assert_allclose(found["retreat"], [0.0, 2.0])  # (1 + 3) / 2
    np.testing.assert_allclose(found["retreat_neighbours"], [0.0, 1.25])  # (2 + 0.5) / 2
    np.testing.assert_allclose(found["retreat_worst"], [0.0, 3.0])


def test_retreat_is_measured_from_a_crooked_first_edge():
    found = retreats([[11.0, 9.5]], [10.0, 9.0], [True, False])
    assert found["retreat"] == pytest.approx([1.0])
    assert found["retreat_neighbours"] == pytest.approx([0.5])


def test_no_neighbours_when_the_design_covers_the_whole_shore():
    found = retreats([[11.0, 12.0]], [10.0, 10.0], [True, True])
    assert np.isnan(found["retreat_neighbours"]).all()
    assert found["retreat"] == pytest.approx([1.5])


def test_no_reach_without_any_cell_in_it():
    assert np.isnan(retreats([[11.0]], [10.0], [False])["retreat"]).all()


def test_land_kept_by_hand():
    # Two cells of 0.5 m: (14 - 12) * 0.5 + (13 - 12) * 0.5 = 1.5 m2.
    assert land_kept([12.0, 12.0], [14.0, 13.0], 0.5) == pytest.approx(1.5)


def test_land_kept_is_exactly_zero_for_the_same_edge():
    edge = np.random.default_rng(3).normal(25.0, 1.0, size=(5, 4, 30))
    assert np.array_equal(land_kept(edge, edge, 0.5), np.zeros((5, 4)))


def test_land_kept_is_negative_where_the_option_lost_more():
    assert land_kept([15.0], [14.0], 2.0) == pytest.approx(-2.0)


def test_yearly_records_of_a_quarterly_run():
    assert yearly_records(QUARTERS) == {0: 0, 1: 4, 2: 8, 3: 12}


def test_a_year_without_a_record_is_left_out():
    assert yearly_records([0.0, 1.0, 1.5, 3.0]) == {0: 0, 1: 1, 3: 3}
    assert record_of_year([0.0, 0.5, 1.0], 10) is None


def test_a_record_a_few_days_off_the_year_counts():
    assert record_of_year([0.0, 360.0 / 365.25, 720.0 / 365.25], 2) == 2


ALONE = np.ones(13, dtype=bool)
OPEN = np.full(13, 10.0)


def test_takeover_needs_to_hold_to_the_end():
    reef = np.full(13, 9.0)
    reef[4:] = 4.0  # holds from year 1 ...
    assert takeover_year(reef, OPEN, ALONE, QUARTERS, 0.5) == 1.0
    reef[4] = 6.0  # ... or fails at year 1 and holds from year 2
    assert takeover_year(reef, OPEN, ALONE, QUARTERS, 0.5) == 2.0
    reef[12] = 6.0  # ... or fails at the end
    assert np.isnan(takeover_year(reef, OPEN, ALONE, QUARTERS, 0.5))


def test_the_last_record_alone_is_no_takeover():
    reef = np.full(13, 9.0)
    reef[12] = 4.0
    assert np.isnan(takeover_year(reef, OPEN, ALONE, QUARTERS, 0.5))


def test_takeover_ignores_seasons_between_the_yearly_records():
    reef = np.full(13, 4.0)
    reef[6] = 9.0
    assert takeover_year(reef, OPEN, ALONE, QUARTERS, 0.5) == 0.0


def test_a_reef_held_by_its_wire_has_not_taken_over():
    cement = np.linspace(0.0, 1.0, 13)
    alone = stands_alone(cement, np.ones(13))
    assert not alone[8]  # cemented to 0.67
    assert alone[9]
    assert takeover_year(np.full(13, 4.0), OPEN, alone, QUARTERS, 0.5).size == 1
    assert np.isnan(takeover_year(np.full(13, 4.0), OPEN, alone, QUARTERS, 0.5))
    failed = stands_alone(np.zeros(13), np.where(np.arange(13) < 4, 1.0, 0.2))
    assert takeover_year(np.full(13, 4.0), OPEN, failed, QUARTERS, 0.5) == 1.0
    assert stands_alone(0.0, np.nan)  # a module without mesh


def test_takeover_never_and_without_reef():
    open_power = np.full((2, 13), 10.0)
    reef = np.stack([np.full(13, 5.0), np.full(13, np.nan)])  # 5 is not below 0.5 * 10
    assert np.isnan(takeover_year(reef, open_power, ALONE, QUARTERS, 0.5)).all()


def test_takeover_is_no_earlier_for_a_stricter_share():
    rng = np.random.default_rng(4)
    reef = 10.0 * np.linspace(1.0, 0.1, 13) + rng.normal(0, 1, size=(200, 13))
    found = [takeover_year(reef, OPEN, ALONE, QUARTERS, share) for share in (0.3, 0.6)]
    strict, mild = (np.nan_to_num(years, nan=np.inf) for years in found)
    assert (strict >= mild).all()
