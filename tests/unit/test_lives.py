"""Lives of posts and wires: the borers' pressure and who feels it, thickness, scatter, cut jackets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from edgesim.forcing.water_levels import TABLE_LOW, TABLE_SIZE, TABLE_STEP
from edgesim.model.grid import wall_line
from edgesim.model.lives import borer_pressure, container_ends, post_lives

Make = Callable[..., Any]


@pytest.mark.parametrize(
    ("salinity", "summer", "share"), [(25.0, 28.0, 1.0), (10.0, 28.0, 0.525), (25.0, 18.0, 0.5)]
)
def test_borers_attack_by_the_time_under_water_of_the_middle_of_the_wall(
    small_scenario: Make, salinity: float, summer: float, share: float
) -> None:
    """By hand: from -0.4 to 0.8 m the middle is 0.1 m above a sea at 0.1 m; where the time in air grows
    evenly from 0 at -1 m to all of it at 1 m it is 55 % in air, 45 % in reach; at salinity 10 the ramp
    gives 0.05 + 0.95/2, at 18 degrees half."""
    changes = {"oysters.salinity": salinity, "oysters.summer_temperature": summer}
    scenario = small_scenario({**changes, "design.walls.crest": 0.8}).central
    line = wall_line(scenario)
    assert line is not None
    line = replace(line, base=-0.4)
    ladder = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
    dry_share = np.clip(0.5 * (ladder + 1.0), 0.0, 1.0)
    pressure = borer_pressure(scenario, line, 0.1, dry_share)
    assert pressure == pytest.approx(0.45 * share, rel=1e-9)


def lives(small_scenario: Make, pressure: float, **walls: Any) -> Any:
    """Lives of posts of 0.10 m, or of others, that have the same draws."""
    numbers = {"post_life": 10.0, "post_diameter": 0.1, **walls}
    changes = {f"design.walls.{name}": value for name, value in numbers.items()}
    return post_lives(small_scenario(changes).central, pressure, 6, np.random.default_rng(3))


def test_posts_last_longer_where_borers_are_fewer_or_wood_is_thicker(small_scenario: Make) -> None:
    """Half the pressure or twice the diameter, twice the life; but no wood lasts more than twentyfold."""
    usual = lives(small_scenario, 1.0)
    assert lives(small_scenario, 0.5) == pytest.approx(2.0 * usual)
    assert lives(small_scenario, 1.0, post_diameter=0.2) == pytest.approx(2.0 * usual)
    assert lives(small_scenario, 0.01) == pytest.approx(20.0 * usual)


def test_borers_eat_no_composite(small_scenario: Make) -> None:
    near, far = (lives(small_scenario, p, post_wood="composite") for p in (1.0, 0.1))
    np.testing.assert_array_equal(near, far)


def test_single_wires_scatter_by_a_fifth_about_the_life_of_their_kind(small_scenario: Make) -> None:
    """By hand: 30 micrometres of zinc at 20 a year, then 0.1464 of 2 mm of steel (half of its section) at
    100, are 1.5 + 2.93 years. Bounds of four standard errors of 4000 draws; the seed is fixed."""
    wire = {
        "coating_thickness": 30e-6,
        "zinc_rate": 20e-6,
        "wire_diameter": 2e-3,
        "steel_rate": 100e-6,
        "jacket_life": 6.0,
        "damaged_share": 0.25,
    }
    changes = {f"design.reef.mesh_{name}": value for name, value in wire.items()}
    bare = {**changes, "design.reef.mesh_jacket_life": 0.0}
    ends, jacketed = (
        container_ends(small_scenario(given).central, 4000, np.random.default_rng(5))[0] / 365.25
        for given in (bare, changes)
    )
    years = 1.5 + 0.5 * (1.0 - 0.5**0.5) * 2e-3 / 100e-6
    assert ends.mean() == pytest.approx(years, rel=4.0 * 0.2 / 4000**0.5)
    assert ends.std() / ends.mean() == pytest.approx(0.2, rel=4.0 / 8000**0.5)
    # A quarter of the jackets are cut and delay nothing; the others put off all that follows.
    factor = jacketed / ends
    cut = np.isclose(factor, 1.0)
    assert cut.mean() == pytest.approx(0.25, abs=4.0 * (0.25 * 0.75 / 4000) ** 0.5)
    assert factor[~cut] == pytest.approx((years + 6.0) / years, rel=1e-9)
