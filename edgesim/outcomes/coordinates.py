"""The coordinates of a forecast: options, members, time, shore, sizes and names of entries."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from edgesim.constants import DAYS_PER_YEAR
from edgesim.names import (
    BUDGETS,
    COST_HEADS,
    LEDGER_ENTRIES,
    OYSTER_SIZE_COUNT,
    OYSTER_SIZE_STEP,
    SHELL_PARTS,
)
from edgesim.outcomes.indicators import yearly_records

if TYPE_CHECKING:
    from edgesim.outcomes.dataset import Facts


def coordinates(facts: Facts, options: Sequence[str], members: int) -> dict[str, xr.Variable]:
    """Coordinates of a forecast.

    Parameters
    ----------
    facts : Facts
        Geometry and calendar.
    options : sequence of str
        Names of the options.
    members : int
        Number of members.

    Returns
    -------
    dict of str to xarray.Variable
    """
    days = np.asarray(facts.time_days, dtype=np.float64)
    time_attributes = {
        "standard_name": "time",
        "long_name": "time of the record",
        "units": f"days since {facts.start.isoformat()} 00:00:00",
        "calendar": "standard",
        "units_metadata": "leap_seconds: unknown",
        "axis": "T",
    }
    return {
        "option": _labels("option", options, "name of the option"),
        "member": xr.Variable(
            "member",
            np.arange(members, dtype=np.int32),
            {"standard_name": "realization", "long_name": "ensemble member", "units": "1"},
        ),
        "time": xr.Variable("time", days, time_attributes),
        "elapsed": xr.Variable(
            "time",
            days / DAYS_PER_YEAR,
            {"long_name": "time since the start", "units": "Julian_year"},
        ),
        "alongshore": xr.Variable(
            "alongshore",
            np.asarray(facts.alongshore, dtype=np.float64),
            {
                "standard_name": "projection_y_coordinate",
                "long_name": "distance along the shore, in the local plane of the site",
                "units": "m",
                "axis": "Y",
            },
        ),
        "cross_shore": xr.Variable(
            "cross_shore",
            np.asarray(facts.cross_shore, dtype=np.float64),
            {
                "standard_name": "projection_x_coordinate",
                "long_name": "distance landward from the seaward side of the grid, in the local plane of the site",
                "units": "m",
                "axis": "X",
            },
        ),
        "oyster_size": xr.Variable(
            "oyster_size",
            (np.arange(OYSTER_SIZE_COUNT) + 0.5) * OYSTER_SIZE_STEP,
            {"long_name": "middle of the class of shell height", "units": "m"},
        ),
        "ledger_entry": _labels("ledger_entry", LEDGER_ENTRIES, "name of the ledger entry"),
        "shell_part": _labels("shell_part", SHELL_PARTS, "part of the reef's shell"),
        "budget": _labels("budget", BUDGETS, "name of the budget"),
        "cost_head": _labels("cost_head", COST_HEADS, "head of the cash flow"),
        "cost_year": xr.Variable(
            "cost_year",
            np.array(list(yearly_records(days / DAYS_PER_YEAR)), dtype=np.int32),
            {
                "long_name": "year of the forecast in which money is spent; 0 is the build",
                "units": "1",
            },
        ),
        "datum": _labels("datum", list(facts.datums), "name of the tidal datum"),
    }


def _labels(dimension: str, names: Sequence[str], long_name: str) -> xr.Variable:
    return xr.Variable(dimension, np.array(names, dtype=object), {"long_name": long_name})
