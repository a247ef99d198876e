"""The upkeep log: every visit of every member, with its cost and hours of work."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from edgesim.names import LOG_KINDS
from edgesim.outcomes.dataset import write_table


@dataclass(frozen=True, slots=True)
class UpkeepRow:
    """One row: the build, a visit, or a visit that did not take place; cost in the file's currency."""

    option: str
    member: int
    day: int
    date: str
    kind: str
    cost: float
    hours: float
    posts: int
    volume_m3: float
    reef_units: int
    shell_m3: float


def upkeep_rows(dataset: xr.Dataset) -> list[UpkeepRow]:
    """Every row of the log, by option, member and day.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of UpkeepRow
        The costs of a member's rows sum to its cost at the end of the run without monitoring.
    """
    start = np.datetime64(dataset["time"].values[0], "D")
    rows = []
    for option in dataset["option"].values:
        of_option = dataset.sel(option=option)
        columns = [
            of_option[f"upkeep_{name}"].values
            for name in ("day", "kind", "cost", "hours", "posts", "volume", "units", "shell")
        ]
        for member, row in np.argwhere(np.isfinite(columns[0])):
            day, kind, cost, hours, posts, volume, units, shell = (
                float(column[member, row]) for column in columns
            )
            date = str(start + np.timedelta64(int(day), "D"))
            rows.append(
                UpkeepRow(
                    str(option), int(member), int(day), date, LOG_KINDS[int(kind)], cost, hours,
                    int(posts), volume, int(units), shell,
                )
            )  # fmt: skip
    return rows


def write_upkeep(rows: list[UpkeepRow], path: str | Path) -> None:
    """Write the log as CSV."""
    write_table(rows, path)
