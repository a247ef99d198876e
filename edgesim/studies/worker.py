"""What a worker process does: run whole members of a scenario that it was given once."""

from __future__ import annotations

from typing import Any

from edgesim.model.common import Common, member_forcing
from edgesim.model.forecast import run_all_options
from edgesim.scenario import ScenarioFile

Result = dict[str, Any]

_given: dict[str, Any] = {}


def give(scenario_file: ScenarioFile, common: Common) -> None:
    """Keep a scenario and what its members share for all later calls in this process."""
    _given["scenario_file"] = scenario_file
    _given["common"] = common


def run_member(index: int) -> list[Result]:
    """Run one member of every option of the scenario given before.

    Parameters
    ----------
    index : int
        Member, from 0.

    Returns
    -------
    list of dict
        One result for each option, in the order of the scenario.
    """
    scenario_file, common = _given["scenario_file"], _given["common"]
    forcing = member_forcing(scenario_file, common, index)
    return run_all_options(forcing.scenario, forcing, common)
