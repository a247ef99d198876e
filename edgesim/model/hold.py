"""What posts bear: the depth of scour at which the largest wave load pushes each of them over.

Planning level, never a design: an upper bound of the load against a textbook resistance.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from edgesim.model.grid import Line
from edgesim.processes.linear_waves import breaking_height, wavenumber
from edgesim.processes.posts import (
    bending_capacity,
    broms_long_pile,
    broms_short_pile,
    goda_force,
    goda_pressure,
    wave_scour,
)
from edgesim.scenario import Scenario
from edgesim.scenario.design import Walls

Floats = NDArray[np.float64]

SOLIDITY = 0.5
"""Share of the pressure on a tight wall that a packed one bears, mode of .3 to .8 (judgement). [1]"""

RUPTURE_STRESS = 0.5 * 35e6
"""Modulus of rupture of green pine, halved for knots (judgement). [Pa]"""

SOIL_VARIATION = 0.3
"""Coefficient of variation of mud strength from post to post (judgement). [1]"""

HELD_AT_BUILD = 0.05
"""Scour that every post bears, since the wall stood when it was built (judgement). [m]"""

THINNEST = 0.6
"""Diameter above the bed of a post that reaches the end of its life, over that of a new one (judgement). [1]"""

AGES = 6
"""Shares of a post's life at which its hold is worked out, evenly from none to all."""

SCOUR_IN_MUD = 0.6
"""Depth of a hole in mud over that in sand, mode of 0.3 to 1 (judgement). [1]"""

HIGHEST = 1.8
"""Highest wave over the mean of its class (from memory, for Rayleigh-distributed waves). [1]"""

RUNGS = 40


def wave_at_crest(
    scenario: Scenario, line: Line, height: float, period: float
) -> tuple[Walls, float, float]:
    """The walls, and depth and highest wave before them with the water at their crest. [m], [m]."""
    walls = scenario.design.walls
    assert walls is not None
    depth = walls.crest - line.base
    return walls, depth, min(height, float(breaking_height(period, depth)))


def largest_load(
    scenario: Scenario, line: Line, height: float, period: float
) -> tuple[float, float]:
    """Load of the highest wave on one post of a filled wall, and its height above the bed.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    line : Line
        The walls' bays.
    height, period : float
        Highest wave and its period. [m], [s]

    Returns
    -------
    force, arm : float
        [N], [m]

    Notes
    -----
    Goda's pressure on a tight wall times `SOLIDITY`, water at the crest, waves capped by
    breaking; rows share the load evenly, and it acts at half the height.
    """
    walls, depth, wave = wave_at_crest(scenario, line, height, period)
    if wave <= 0.0:
        return 0.0, 0.5 * depth
    length = 2.0 * math.pi / float(wavenumber(period, depth))
    tight = goda_force(goda_pressure(wave, length, depth, 0.0), depth, 0.0)
    spacing = float(np.diff(line.parts, axis=1).mean())
    return SOLIDITY * float(tight) * spacing / walls.rows, 0.5 * depth


def hole_depth(
    scenario: Scenario, line: Line, height: float, period: float, in_mud: float = SCOUR_IN_MUD
) -> float:
    """Depth to which waves dig out a post for each side on which it is open. [m].

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    line : Line
        The walls' bays.
    height, period : float
        Highest wave and its period. [m], [s]
    in_mud : float, default `SCOUR_IN_MUD`
        Depth of a hole over that in sand; 1 for the upper bound of a screen. [1]

    Notes
    -----
    The depth given, or that which Sumer and Fredsoe's hole of a lone post has in mud where that is
    larger. Boat wakes are short, so the formula alone gives a centimetre or two: it knows nothing
    of the water that an opening draws together, which the depth given stands for.
    """
    walls, depth, wave = wave_at_crest(scenario, line, height, period)
    if wave <= 0.0:
        return walls.opening_scour
    swing = math.pi * wave / period / math.sinh(float(wavenumber(period, depth)) * depth)
    alone = in_mud * float(wave_scour(swing, period, walls.post_diameter))
    return max(walls.opening_scour, alone)


def resistance(
    scenario: Scenario, strength: Floats, arm: float, scour: Floats, worn: float = 0.0
) -> Floats:
    """Load that posts bear, the lesser of turning over and breaking. [N].

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    strength : ndarray
        Mud strength at each post. [Pa]
    arm : float
        Height of the load above the bed. [m]
    scour : ndarray
        Depth of the hole; broadcasts with `strength`. [m]
    worn : float, default 0
        Share of its life that a post has behind it. [1]

    Notes
    -----
    A post thins evenly above the bed, to `THINNEST` at the end of its life, and bending strength
    goes with the cube of the diameter (read form). In the mud no borer lives: the grip stays.
    """
    walls = scenario.design.walls
    assert walls is not None
    deep = broms_short_pile(walls.post_embedment, walls.post_diameter, arm, strength, scour)
    sound = walls.post_diameter * (1.0 - (1.0 - THINNEST) * worn)
    moment = bending_capacity(RUPTURE_STRESS, sound)
    stiff = broms_long_pile(walls.post_diameter, arm + scour, strength, moment)
    return np.minimum(deep.force, stiff.force)


def post_strengths(scenario: Scenario, n_posts: int, generator: np.random.Generator) -> Floats:
    """Mud strength at each post: lognormal about the member's mean. [Pa]."""
    variance = math.log1p(SOIL_VARIATION**2)
    draws = generator.standard_normal(n_posts)
    return np.asarray(scenario.mud.strength * np.exp(math.sqrt(variance) * draws - 0.5 * variance))


def deepest_scour(scenario: Scenario) -> float:
    """Scour at which no grip is left: all but a diameter and a half of the embedment. [m]."""
    walls = scenario.design.walls
    assert walls is not None
    return max(0.0, walls.post_embedment - 1.5 * walls.post_diameter)


def scour_held(
    scenario: Scenario, line: Line, strength: Floats, height: float, period: float
) -> Floats:
    """Depth of scour at which the highest wave pushes each post over or breaks it, by age. [m].

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    line : Line
        The walls' bays.
    strength : ndarray, (n_posts,)
        Mud strength at each post. [Pa]
    height, period : float
        Highest wave and its period. [m], [s]

    Returns
    -------
    ndarray, (n_posts, AGES)
        For posts with none to all of their life behind them; at least `HELD_AT_BUILD` for a new
        post, and that times the bending strength left for an older one.
    """
    load, arm = largest_load(scenario, line, height, period)
    deepest = deepest_scour(scenario)
    worn = np.linspace(0.0, 1.0, AGES)
    least = HELD_AT_BUILD * (1.0 - (1.0 - THINNEST) * worn) ** 3
    if deepest <= HELD_AT_BUILD:
        return np.tile(least, (strength.size, 1))
    ladder = np.linspace(0.0, deepest * (1.0 - 1e-6), RUNGS)
    held = np.empty((strength.size, AGES))
    for age in range(AGES):
        borne = resistance(scenario, strength[:, None], arm, ladder[None, :], float(worn[age]))
        # Resistance falls with scour: the first rung that cannot bear the load decides.
        rungs = (borne >= load).sum(axis=1)
        held[:, age] = np.where(rungs > 0, ladder[np.maximum(rungs - 1, 0)], 0.0)
    return np.maximum(held, least)
