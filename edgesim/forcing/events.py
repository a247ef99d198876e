"""Dated events as they change water and waves: storms and new speed rules."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.waves import Waterway, waterway
from edgesim.scenario import Scenario
from edgesim.scenario.events import day_of

Floats = NDArray[np.float64]


def storm_surge(scenario: Scenario, n_days: int) -> Floats:
    """Rise of the water above the tide by dated storms on every day. [m].

    Levels above the highest bin of the tally count in that bin.
    """
    surge = np.zeros(n_days)
    for event in scenario.events:
        if event.kind == "storm":
            first = day_of(event, scenario.run)
            surge[first : first + math.ceil(event.duration)] += event.surge
    return surge


def raise_storm_waves(scenario: Scenario, tally: Floats) -> None:
    """Raise the waves of stormy days: heights by the factor, so energy by its square.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    tally : float64, (n_days, n_levels, n_classes)
        Class waves of every day; changed in place. [1]
    """
    for event in scenario.events:
        if event.kind == "storm":
            first = day_of(event, scenario.run)
            tally[first : first + math.ceil(event.duration)] *= event.wave_factor**2


def new_rules(scenario: Scenario) -> list[tuple[int, Waterway]]:
    """Day and waterway of every dated speed rule, in the order of their days."""
    before = waterway(scenario)
    rules = [
        (
            day_of(event, scenario.run),
            before._replace(speed_limit=event.speed_limit, compliance=event.compliance),
        )
        for event in scenario.events
        if event.kind == "speed rule" and event.speed_limit is not None
    ]
    return sorted(rules, key=lambda rule: rule[0])
