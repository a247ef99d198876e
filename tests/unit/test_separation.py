"""The patient rule finds boxes that are known."""

from __future__ import annotations

import numpy as np
import pytest

from edgesim.errors import InvalidParameterError
from edgesim.studies.separation import DOUBTFUL, Box, Limit, chosen_box, patient_rule


def test_a_known_box_is_found_and_idle_inputs_are_left_free() -> None:
    plan = np.random.default_rng(1).random((1000, 5))
    inside = (plan[:, 0] > 0.6) & (plan[:, 2] < 0.3)
    box = chosen_box(patient_rule(plan, inside), plan, inside)
    limits = {limit.column: limit for limit in box.limits}
    assert set(limits) == {0, 2}
    # One peel takes 5 % of what is left, so an end is found no better than that.
    assert limits[0].low == pytest.approx(0.6, abs=0.05)
    assert limits[0].high == 1.0
    assert limits[2].high == pytest.approx(0.3, abs=0.05)
    assert box.density > 0.9
    assert box.coverage > 0.9
    assert max(limit.by_chance for limit in box.limits) < 1e-10


def test_a_choice_without_an_order_loses_its_bad_levels() -> None:
    generator = np.random.default_rng(2)
    plan = generator.random((900, 2))
    levels = np.zeros(plan.shape, dtype=np.int64)
    levels[:, 1] = (3 * plan[:, 1]).astype(np.int64)
    good = np.isin(levels[:, 1], [0, 2]) & (generator.random(900) < 0.9)
    box = chosen_box(patient_rule(plan, good, levels, (1,)), plan, good, levels)
    assert [limit.column for limit in box.limits] == [1]
    assert box.limits[0].levels == {0, 2}
    assert box.density == pytest.approx(0.9, abs=0.04)


def test_what_no_input_separates_is_not_separated() -> None:
    plan = np.random.default_rng(3).random((400, 6))
    by_chance = np.random.default_rng(4).random(400) < 0.4
    box = chosen_box(patient_rule(plan, by_chance), plan, by_chance)
    assert all(limit.by_chance <= DOUBTFUL for limit in box.limits)
    assert len(box.limits) <= 2
    assert box.density < 0.7


def test_boxes_shrink_and_grow_denser() -> None:
    plan = np.random.default_rng(5).random((500, 3))
    interesting = plan[:, 0] + 0.5 * plan[:, 1] > 1.0
    boxes = patient_rule(plan, interesting)
    assert (boxes[0].coverage, boxes[0].mass) == (1.0, 1.0)
    assert np.all(np.diff([box.density for box in boxes]) > 0.0)
    assert np.all(np.diff([box.mass for box in boxes]) < 0.0)


@pytest.mark.parametrize("value", [False, True])
def test_all_or_nothing_cannot_be_separated(value: bool) -> None:
    with pytest.raises(InvalidParameterError, match="must hold some of the points"):
        patient_rule(np.random.default_rng(6).random((10, 2)), np.full(10, value))


def test_a_limit_that_chance_explains_is_dropped() -> None:
    plan = np.random.default_rng(7).random((300, 2))
    good = plan[:, 0] > 0.5
    box = Box((Limit(0, low=0.5), Limit(1, high=0.9)), density=1.0, coverage=0.9, mass=0.45)
    found = chosen_box([box], plan, good)
    assert [limit.column for limit in found.limits] == [0]
    assert (found.density, found.coverage) == (1.0, 1.0)
