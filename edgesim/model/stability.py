"""Stability of posts and units in the largest waves of one member: planning level, never a design."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.waves import fleet, sample_passages, waterway
from edgesim.forcing.wind import wind_rows
from edgesim.model.grid import Line, reef_line, wall_line
from edgesim.model.hold import HIGHEST, deepest_scour, hole_depth, largest_load, resistance
from edgesim.processes.linear_waves import breaking_height, wavenumber
from edgesim.processes.posts import bearing_safety, morison_force, sliding_safety
from edgesim.processes.substrate import UNITS
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]

PASSAGES = 1000
"""Passages of which the highest wake counts."""

SURFACE_STRENGTH = 0.5
"""Strength of the top of the mud over its mean to the foot of the posts (judgement). [1]"""

FRICTION = 0.3
"""Friction of a unit on mud, mode of 0.2 to 0.4 (judgement). [1]"""

LEVELS = 8
"""Water levels between the top of a unit and mean high water at which it is looked at."""


class Screen(NamedTuple):
    """What acts and what resists, in one unit; the safety is the ratio. [N], [Pa] or [m]."""

    acting: float
    resisting: float


def highest_wave(scenario: Scenario, index: int, outer_offset: float) -> tuple[float, float]:
    """Height [m] and period [s] of the highest wave that a member expects; (0, 1) without waves.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    index : int
        Member, from 0.
    outer_offset : float
        Distance from the edge to the outer line. [m]

    Notes
    -----
    The highest wake of a thousand passages, or the highest wave of the strongest listed wind,
    whichever is higher, times the factor of the strongest dated storm.
    """
    best = 0.0, 1.0
    if scenario.traffic.classes:
        sample = np.empty((PASSAGES, 4))
        generator = stream(scenario.run.seed, index, Purpose.SCREENS)
        sample_passages(fleet(scenario, outer_offset), waterway(scenario), generator, sample)
        top = int(np.argmax(sample[:, 0]))
        best = float(sample[top, 0]), float(sample[top, 1])
    *_, height, period = wind_rows(scenario)
    if height.size:
        top = int(np.argmax(height))
        # The table holds root mean squares; the significant height is sqrt(2) times that.
        best = max(best, (HIGHEST * math.sqrt(2.0) * float(height[top]), float(period[top])))
    factors = [event.wave_factor for event in scenario.events if event.kind == "storm"]
    return max(1.0, *factors, 1.0) * best[0], best[1]


def member_screens(scenario: Scenario, index: int) -> dict[str, Screen]:
    """All screens of one member that its design has parts for.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    index : int
        Member, from 0.

    Returns
    -------
    dict of str to Screen
        By the names of ``edgesim.outcomes.screens``.
    """
    walls, reef = wall_line(scenario), reef_line(scenario)
    lines = (scenario.design.walls, scenario.design.reef)
    outer = max((line.offset for line in lines if line is not None), default=0.0)
    height, period = highest_wave(scenario, index, outer)
    found: dict[str, Screen] = {}
    if walls is not None:
        found |= _posts(scenario, walls, height, period)
    if reef is not None:
        found |= _units(scenario, reef, height, period)
    return found


def _posts(scenario: Scenario, line: Line, height: float, period: float) -> dict[str, Screen]:
    walls = scenario.design.walls
    assert walls is not None
    load, arm = largest_load(scenario, line, height, period)
    deepest = deepest_scour(scenario)
    depth = walls.crest - line.base
    wave = min(height, float(breaking_height(period, depth)))
    bare, hole = 0.0, hole_depth(scenario, line, height, period, in_mud=1.0)
    if wave > 0.0:
        length = 2.0 * math.pi / float(wavenumber(period, depth))
        bare = float(morison_force(wave, period, length, depth, walls.post_diameter).largest)

    def borne(scour: float) -> float:
        if scour >= deepest:
            return 0.0
        strength = np.array([scenario.mud.strength])
        return float(resistance(scenario, strength, arm, np.array([scour]))[0])

    return {
        "posts of a full wall": Screen(load, borne(0.0)),
        "posts of a full wall, dug out at its ends": Screen(load, borne(hole)),
        "bare posts": Screen(bare, borne(0.0)),
        "scour at wall ends": Screen(hole, deepest),
    }


def _units(scenario: Scenario, line: Line, height: float, period: float) -> dict[str, Screen]:
    reef = scenario.design.reef
    assert reef is not None
    unit = UNITS[reef.material]
    solid = 1.0 - reef.porosity
    volume = reef.unit_length * reef.unit_width * reef.unit_height
    submerged = volume * solid * (unit.solid_density - WATER_DENSITY) * GRAVITY
    emerged = reef.unit_height * solid * unit.solid_density * GRAVITY
    front = reef.unit_length * reef.unit_height
    highest = max(scenario.site.datums.mhw - line.base, 1.2 * reef.unit_height)
    drags: list[float] = []
    holds: list[float] = []
    for depth in np.linspace(reef.unit_height, highest, LEVELS):
        wave = min(height, float(breaking_height(period, depth)))
        k = float(wavenumber(period, depth))
        middle = math.cosh(0.5 * k * reef.unit_height) / math.sinh(k * depth)
        velocity = max(math.pi * wave / period * middle, 1e-6)
        safety = float(
            sliding_safety(
                velocity,
                front,
                reef.unit_length * reef.unit_width,
                submerged,
                friction=FRICTION,
            )
        )
        drags.append(0.5 * WATER_DENSITY * 1.5 * front * velocity**2)
        holds.append(max(safety, 0.0) * drags[-1])
    worst = int(np.argmin(np.array(holds) / np.array(drags)))
    strength = SURFACE_STRENGTH * scenario.mud.strength
    return {
        "sliding of a unit": Screen(drags[worst], holds[worst]),
        "bearing of a unit on mud": Screen(
            emerged, emerged * float(bearing_safety(emerged, strength))
        ),
    }
