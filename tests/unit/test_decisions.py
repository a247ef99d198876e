"""Arithmetic of choosing, against brute force and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgesim.outcomes.decisions import bands, chance_of_beating, non_dominated, ratio, regret


@given(
    st.lists(
        st.tuples(*[st.integers(0, 4)] * 3),
        min_size=1,
        max_size=8,
    )
)
def test_the_undominated_set_agrees_with_brute_force(rows: list[tuple[int, int, int]]) -> None:
    less = (True, False, False)

    def beats(a: tuple[int, ...], b: tuple[int, ...]) -> bool:
        signed = [(x - y) * (-1 if small else 1) for x, y, small in zip(a, b, less, strict=True)]
        return min(signed) >= 0 and max(signed) > 0

    expected = [not any(beats(other, row) for other in rows) for row in rows]
    assert non_dominated(np.array(rows, float), less_is_better=less).tolist() == expected


def test_regret_by_hand() -> None:
    # Two beliefs, three designs: the best is 10 under the first and 8 under the second.
    kept = [[10.0, 7.0, 9.0], [2.0, 8.0, 7.0]]
    assert regret(kept, less_is_better=False).tolist() == [[0.0, 3.0, 1.0], [6.0, 0.0, 1.0]]
    # As costs: 7 and 2 are the best.
    assert regret(kept, less_is_better=True).tolist() == [[3.0, 0.0, 2.0], [0.0, 6.0, 5.0]]


def test_the_dust_of_sums_decides_nothing() -> None:
    a, b = np.array([0.1 + 0.2, 5.0]), np.array([0.3, 5.0])
    assert chance_of_beating(a, b, less_is_better=False) == 0.5
    assert non_dominated([[0.1 + 0.2], [0.3]], less_is_better=(False,)).all()


def test_money_spent_for_nothing_costs_infinitely_much() -> None:
    found = bands(ratio([10.0] * 5, [5.0, 2.0, 1.0, 0.0, -1.0]))
    assert found.tolist() == [2.0, 5.0, 10.0, np.inf, np.inf]


def test_members_without_a_value_take_no_part() -> None:
    assert bands([np.nan, 1.0, 3.0])[2] == 2.0
    assert np.isnan(bands([np.nan, np.nan])).all()
    assert chance_of_beating([np.nan, 2.0], [1.0, 1.0], less_is_better=False) == 1.0
    assert chance_of_beating([np.nan], [1.0], less_is_better=False) != pytest.approx(0.5)
