"""How long posts, ties, meshes, bags and rings of one member last, each with a life of its own."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.model.grid import Line
from edgesim.processes.wire import time_to_failure
from edgesim.processes.wood import (
    diameter_factor,
    immersion_factor,
    salinity_factor,
    scale_life,
    temperature_factor,
    weibull_lifetime,
)
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]

SPARE_LIVES = 12
"""Lives drawn in advance for each post and each bay's ties, to replace those that fail."""

WIRE_SCATTER = 0.2
"""Coefficient of variation of the life of single wires about the member's mean (judgement). [1]"""

NEVER = math.inf


def container_ends(
    scenario: Scenario, n_units: int, generator: np.random.Generator
) -> tuple[Floats, Floats]:
    """Days on which the mesh or bag of each unit, and its rings, fail; never for solid units. [d]."""
    reef = scenario.design.reef
    never = np.full(n_units, NEVER)
    # Every draw is made whatever the material, so that one part never moves another.
    scatter, damaged = _scatter(generator, n_units), generator.random(n_units)
    ring_scatter, ring_damaged = _scatter(generator, n_units), generator.random(n_units)
    bag_draws = generator.random(n_units)
    if reef is None:
        return never, never
    if reef.wire is None:
        if reef.bag_life is None or reef.bag_shape is None:
            return never, never
        lives = [weibull_lifetime(float(u), reef.bag_life, reef.bag_shape) for u in bag_draws]
        return np.array(lives) * DAYS_PER_YEAR, never
    mesh = _wire_lives(reef, "mesh", damaged) * scatter * DAYS_PER_YEAR
    rings = _wire_lives(reef, "ring", ring_damaged) * ring_scatter * DAYS_PER_YEAR
    return mesh, rings


def spare_containers(
    scenario: Scenario, n_units: int, generator: np.random.Generator
) -> tuple[Floats, Floats]:
    """Lives of the meshes or bags, and of the rings, that replace those that fail. [d]; (n_units, SPARE_LIVES)."""
    lives = [container_ends(scenario, n_units, generator) for _ in range(SPARE_LIVES)]
    return np.column_stack([mesh for mesh, _ in lives]), np.column_stack(
        [ring for _, ring in lives]
    )


def _wire_lives(section: object, prefix: str, damaged: Floats) -> Floats:
    """Life of wires by the numbers of a section that begin with a prefix. [year].

    Where a draw of `damaged` is below the share of damage the jacket is cut and delays nothing.
    """
    numbers = {
        key: float(getattr(section, f"{prefix}_{key}") or 0.0)
        for key in (
            "coating_thickness", "zinc_rate", "wire_diameter", "steel_rate", "jacket_life",
            "damaged_share",
        )
    }  # fmt: skip
    bare = time_to_failure(
        0.0,
        numbers["coating_thickness"],
        numbers["zinc_rate"],
        numbers["wire_diameter"],
        numbers["steel_rate"],
    )
    jackets = np.where(damaged < numbers["damaged_share"], 0.0, numbers["jacket_life"])
    return np.asarray(jackets + bare)


def _scatter(generator: np.random.Generator, size: int | tuple[int, ...]) -> Floats:
    variance = math.log1p(WIRE_SCATTER**2)
    draws = generator.standard_normal(size)
    return np.exp(math.sqrt(variance) * draws - 0.5 * variance)


def borer_pressure(scenario: Scenario, line: Line, sea_level: float, dry_share: Floats) -> float:
    """Borers' attack at half the height of the walls, relative to warm, salty, constant water."""
    oysters, walls = scenario.oysters, scenario.design.walls
    assert walls is not None
    middle = 0.5 * (line.base + walls.crest) - sea_level
    immersed = immersion_factor(look_up(dry_share, TABLE_LOW, TABLE_STEP, middle))
    warm_and_salty = salinity_factor(oysters.salinity) * temperature_factor(
        oysters.summer_temperature
    )
    return warm_and_salty * immersed


def post_lives(
    scenario: Scenario, pressure: float, n_posts: int, generator: np.random.Generator
) -> Floats:
    """Life of each post and of those that replace it. [d]; (n_posts, SPARE_LIVES)."""
    walls = scenario.design.walls
    assert walls is not None
    scale = walls.post_life
    if walls.post_eaten_by_borers:
        scale = scale_life(scale, diameter_factor(walls.post_diameter), 1.0, 1.0, pressure)
    draws = generator.random((n_posts, SPARE_LIVES))
    lives = [weibull_lifetime(float(u), scale, walls.post_shape) for u in draws.ravel()]
    return np.array(lives).reshape(draws.shape) * DAYS_PER_YEAR


def tie_lives(scenario: Scenario, n_bays: int, generator: np.random.Generator) -> Floats:
    """Life of the ties of each bay and of those that replace them. [d]; (n_bays, SPARE_LIVES)."""
    walls = scenario.design.walls
    assert walls is not None
    shape = (n_bays, SPARE_LIVES)
    # Every draw is made whatever the material, so that one part never moves another.
    scatter, draws, damaged = (
        _scatter(generator, shape), generator.random(shape), generator.random(shape)
    )  # fmt: skip
    if walls.tie_life is not None and walls.tie_shape is not None:
        lives = [weibull_lifetime(float(u), walls.tie_life, walls.tie_shape) for u in draws.ravel()]
        return np.array(lives).reshape(shape) * DAYS_PER_YEAR
    return _wire_lives(walls, "tie", damaged) * scatter * DAYS_PER_YEAR
