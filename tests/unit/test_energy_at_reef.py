"""What walls let through to the reef: look-ups in tables against those of numpy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION, between_rungs
from edgesim.model.step import energy_at_reef, flood_lines


def test_between_rungs_is_linear_interpolation_along_the_last_axis() -> None:
    """Against numpy.interp; beyond its ends a table keeps its last value."""
    rng = np.random.default_rng(1)
    table, places = rng.random((3, 4, 6)), rng.uniform(-0.2, 1.2, (3, 4))
    rungs = np.linspace(0.0, 1.0, 6)
    found = between_rungs(table, places)
    for at in np.ndindex(3, 4):
        assert found[at] == pytest.approx(np.interp(places[at], rungs, table[at]), rel=1e-12)
    assert between_rungs(table, 0.4) == pytest.approx(table[:, :, 2], rel=1e-12)


def test_the_reef_meets_what_the_walls_let_through_at_their_height(
    small_scenario: Callable[..., Any], build_member: Callable[..., Any]
) -> None:
    member = build_member(small_scenario(), "walls and reef")
    flood_lines(member, 0)
    member.state.fill_mass[:] = 0.6
    walls, reef = member.walls.field, member.reef.field
    row = reef.first_row - 1 - walls.first_row
    at_reef = walls.intensity[:, :, :, row, reef.part >= 0].mean(axis=3)
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    steps = np.linspace(0.0, 1.0, at_reef.shape[2])
    found = energy_at_reef(member)
    for at in np.ndindex(*found.shape):
        passed = np.interp(0.6, ladder, walls.transmission[at])
        assert found[at] == pytest.approx(np.interp(passed, steps, at_reef[at]), rel=1e-6)
    assert found.min() < 0.95
