"""What a worker does for a forecast: run whole members. It imports no more than that needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.model.common import Common, member_forcing
from edgesim.model.forecast import run_all_options, set_up
from edgesim.model.step import (
    flood_lines,
    raise_lines,
    solve,
    step_edge,
    step_mud,
    step_plants,
    step_reef,
    step_walls,
    waves_of,
)
from edgesim.names import DERIVED, VARIABLES
from edgesim.scenario import ScenarioFile
from edgesim.scenario.design import Option

COMPUTED = tuple(variable for variable in VARIABLES if variable.name not in DERIVED)
"""Quantities that a member gives; the others follow from those of all members."""


@dataclass(frozen=True)
class Shared:
    """What all members share, on every worker; `visits` is the length of the longest upkeep log."""

    scenario_file: ScenarioFile
    common: Common
    visits: int


def rehearse(shared: Shared, part: int, parts: int) -> None:
    """Go through some of the steps of a member once, so that they are compiled, or loaded, by then.

    Parameters
    ----------
    shared : Shared
        The scenario and what its members share.
    part, parts : int
        Which of the steps: every `parts`-th from `part` on. Workers that start together share
        the work in this way instead of all compiling everything.
    """
    common, scenario = shared.common, shared.scenario_file.central
    forcing = member_forcing(shared.scenario_file, common, 0, waves=False)
    both = Option(
        name="rehearsal",
        walls=scenario.design.walls is not None,
        reef=scenario.design.reef is not None,
    )
    member = set_up(forcing, common, both)
    end = min(member.window_days, common.n_days)
    steps: list[Callable[[], object]] = [
        lambda: member_forcing(shared.scenario_file, common, 0),
        lambda: step_walls(member, 0, end),
        lambda: solve(member, 0, waves_of(member, 0, end)),
        lambda: step_mud(member, 0, end),
        lambda: flood_lines(member, 0),
        lambda: step_edge(member, 0, end),
        lambda: step_reef(member, 0, end),
        lambda: step_plants(member, 0, end),
        lambda: raise_lines(member, 0),
    ]
    for step in steps[part::parts]:
        step()


def run_member(shared: Shared, payload: dict[str, Any]) -> dict[str, Any]:
    """Run one member of every option.

    Parameters
    ----------
    shared : Shared
        The scenario and what its members share.
    payload : dict
        ``member``, its number from 0.

    Returns
    -------
    dict of str to ndarray
        Every quantity that the model writes, ``[option, ...]``.
    """
    forcing = member_forcing(shared.scenario_file, shared.common, payload["member"])
    results = run_all_options(forcing.scenario, forcing, shared.common)
    return {
        variable.name: np.stack(
            [
                _as_long(result[variable.name], shared.visits)
                if variable.dims[-1] == "visit"
                else result[variable.name]
                for result in results
            ]
        )
        for variable in COMPUTED
    }


def _as_long(log: NDArray[np.float64], rows: int) -> NDArray[np.float64]:
    """Log with rows of not-a-number at its end."""
    return np.pad(log, (0, rows - log.size), constant_values=np.nan)
