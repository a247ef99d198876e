"""What a worker does for a forecast: run whole members. It imports no more than that needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.model.common import Common, member_forcing
from edgesim.model.forecast import run_all_options
from edgesim.names import DERIVED, VARIABLES
from edgesim.scenario import ScenarioFile

COMPUTED = tuple(variable for variable in VARIABLES if variable.name not in DERIVED)
"""Quantities that a member gives; the others follow from those of all members."""


@dataclass(frozen=True)
class Shared:
    """What all members share, on every worker; `visits` is the length of the longest upkeep log."""

    scenario_file: ScenarioFile
    common: Common
    visits: int


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
