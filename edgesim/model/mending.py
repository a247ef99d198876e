"""Mending the reef on upkeep visits: new cages or bags, and shell, for units that have spilled.

Visits are few, so that this is no part of the compiled day loop: the window is cut at the visit.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.model.lives import spare_containers
from edgesim.model.prices import day_prices, mends_reef
from edgesim.model.reef import ReefSettings
from edgesim.model.state import ENTRY, State
from edgesim.model.walls import COST, DAY, HOURS, KIND, SHELL, UNITS, VISIT
from edgesim.names import CEMENTED
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]


class Mending(NamedTuple):
    """Numbers of one member for mending.

    Attributes
    ----------
    mesh_lives, ring_lives : float64, (n_units, n_lives)
        Lives of the containers that replace those that fail. [d]
    price_unit, price_shell, hours_unit : float
        New container of a unit, with work [currency]; fresh shell [currency m-3]; work on a unit [h].
    """

    mesh_lives: Floats
    ring_lives: Floats
    price_unit: float
    price_shell: float
    hours_unit: float


def mending_of(scenario: Scenario, n_units: int, generator: np.random.Generator) -> Mending | None:
    """Numbers for mending the reef's units; None where nobody mends them.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    n_units : int
        Units of the reef; 0 without one.
    generator : numpy.random.Generator
        Random stream of the lives.
    """
    if not n_units or not mends_reef(scenario):
        return None
    paid = day_prices(scenario)
    mesh, rings = spare_containers(scenario, n_units, generator)
    return Mending(mesh, rings, paid.unit, paid.shell, scenario.upkeep.hours_unit)


def spans(
    state: State, settings: ReefSettings, mending: Mending | None, first_day: int, end: int
) -> Iterator[tuple[int, int]]:
    """Parts of a window between which the crew mends the reef, on the day of its last visit."""
    visit = int(state.visit[2])
    if mending is not None and first_day <= visit < end:
        if visit > first_day:
            yield first_day, visit
        mend_units(state, settings, mending, visit)
        first_day = visit
    yield first_day, end


def mend_units(state: State, settings: ReefSettings, mending: Mending, day: int) -> None:
    """Give every spilled unit a new container and fill it up; what oysters hold together is left.

    Parameters
    ----------
    state : State
        Units, containers and the day's row of the log are written, shell, unit and money entries
        posted.
    settings : ReefSettings
        Numbers of the member.
    mending : Mending
        Lives, prices and hours.
    day : int
        Day of a visit. [d]

    Notes
    -----
    The crew shovels in what lies beside the unit, then fresh shell, up to the height at build; a unit
    of which nothing is left is in this way a new one. Oysters stay as they are.
    """
    units = np.flatnonzero((state.spilled == 1.0) & (state.cement < CEMENTED))
    life = state.unit_life[units].astype(np.int64) % mending.mesh_lives.shape[1]
    state.unit_life[units] += 1.0
    state.mesh_end[units] = day + mending.mesh_lives[units, life]
    state.ring_end[units] = day + mending.ring_lives[units, life]
    state.spilled[units] = 0.0
    missing = np.maximum(1.0 - state.unit_height[units], 0.0)
    shovelled = np.minimum(missing, state.loose_shell[units])
    state.loose_shell[units] -= shovelled
    state.placed[units] += missing
    state.unit_height[units] += missing
    shell = float((missing - shovelled).sum()) * settings.built_height * settings.area
    cost = units.size * mending.price_unit + shell * mending.price_shell
    state.ledger[ENTRY["units_mended"]] += units.size
    state.ledger[ENTRY["shell_refilled"]] += shell * settings.bulk_density
    state.ledger[ENTRY["money_units"]] += cost
    row = np.flatnonzero((state.log[:, DAY] == day) & (state.log[:, KIND] == VISIT))[-1]
    state.log[row, COST] += cost
    state.log[row, HOURS] += units.size * mending.hours_unit
    state.log[row, UNITS] = units.size
    state.log[row, SHELL] = shell
