"""When something has to be done: visits, surveys, reviews, and repairs by their chance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.embedded import INPUTS, scenario_of
from edgesim.outcomes.indicators import yearly_records
from edgesim.outcomes.triggers import chances, modelled, starter_rows

Floats = NDArray[np.float64]

REVIEWS = (1, 2, 3, 5, 10, 15, 20, 25, 30)
"""Years after building in which the plan is reviewed as a whole (judgement)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A row of the monitoring plan."""

    name: str
    method: str
    stations: str
    frequency: str
    visits_year_1: float
    visits_a_year: float
    who: str
    cost: str
    mark: str


def monitoring_of(dataset: xr.Dataset) -> list[Measured]:
    """Rows of the monitoring plan: the starter set with the scenario's own rows.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of Measured
        Rows for lines that no option builds are left out.
    """
    options = [str(name) for name in dataset["option"].values]
    walls = any(has_walls(dataset, name) for name in options)
    reef = any(has_reef(dataset, name) for name in options)
    without = {name for name, built in (("State of walls", walls), ("Oysters", reef), ("Spat", reef), ("Reef height and area", reef)) if not built}  # fmt: skip
    found = {
        row["name"]: Measured(
            name=row["name"],
            method=row["method"],
            stations=row["stations"],
            frequency=row["frequency"],
            visits_year_1=float(row["visits_year_1"]),
            visits_a_year=float(row["visits_a_year"]),
            who=row["who"],
            cost=row["cost"],
            mark=row["mark"],
        )
        for row in starter_rows("monitoring")
        if row["name"] not in without
    }
    own = scenario_of(dataset).plan.monitoring if INPUTS in dataset.attrs else ()
    for row in own:
        known = found.get(row.name) or Measured(row.name, "", "", "", 1.0, 1.0, "", "", "")
        found[row.name] = replace(
            known,
            method=row.method,
            stations=row.stations,
            frequency=row.frequency,
            who=row.who or known.who,
            cost=row.cost or known.cost,
            mark="given in the scenario",
        )
    return list(found.values())


@dataclass(frozen=True, slots=True)
class Work:
    """Something to be done, year by year.

    Attributes
    ----------
    name : str
        What.
    kind : str
        "visit", "repair" or "review".
    share : dict of int to float
        Year (counted from 1) to visits in that year, or the chance of a repair; years without are
        left out.
    """

    name: str
    kind: str
    share: dict[int, float]


def refill_visits(dataset: xr.Dataset, option: str) -> dict[int, float]:
    """Mean number of upkeep visits in each year.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    option : str
        Option.

    Returns
    -------
    dict of int to float
        Year, counted from 1, to visits; empty where no crew is sent.
    """
    records = yearly_records(years_elapsed(dataset))
    visits = np.nan_to_num(dataset["refills"].sel(option=option).values)[:, list(records.values())]
    each = np.diff(visits, axis=1).mean(axis=0)
    return {
        year: float(count) for year, count in zip(list(records)[1:], each, strict=True) if count > 0
    }


def review_years(dataset: xr.Dataset) -> list[int]:
    """Years of a forecast in which the plan is reviewed as a whole, the last among them."""
    last = round(float(years_elapsed(dataset)[-1]))
    return sorted({*(year for year in REVIEWS if year < last), last})


def upkeep_end(dataset: xr.Dataset) -> float | None:
    """Year after which the scenario sends no crew any more, where that is before the forecast ends."""
    if INPUTS not in dataset.attrs:
        return None
    upkeep, last = scenario_of(dataset).upkeep, float(years_elapsed(dataset)[-1])
    ends = 0.0 if upkeep.rule == "none" else upkeep.until_year
    return ends if ends < last - 1e-6 else None


def upkeep_end_words(dataset: xr.Dataset) -> str:
    """When upkeep ends by the scenario's rule; "" where it does not end within the forecast."""
    ends = upkeep_end(dataset)
    if ends is None:
        return ""
    if ends == 0.0:
        return "By its scenario nothing is ever filled, replaced or mended."
    return (
        f"By its scenario upkeep ends after year {ends:g}: from then on nothing is filled, "
        "replaced or mended, whatever a trigger says."
    )


def works(dataset: xr.Dataset, option: str) -> list[Work]:
    """Everything that an option asks for, in the order of a calendar.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    option : str
        Option.

    Returns
    -------
    list of Work
    """
    last = int(np.round(years_elapsed(dataset)[-1]))
    found = [Work("Upkeep visits", "visit", refill_visits(dataset, option))]
    for trigger in modelled(dataset, option):
        if trigger.measure in ("fill_fraction", "posts_standing", "mesh_intact"):
            chance = chances(dataset, trigger, option) or {}
            # What would be written as 0 % is left empty.
            share = {year: value for year, value in chance.items() if value >= 0.005}
            found.append(Work(f"{trigger.name}: act", "repair", share))
    found += [
        Work(
            row.name,
            "visit",
            dict.fromkeys(range(1, last + 1), row.visits_a_year) | {1: row.visits_year_1},
        )
        for row in monitoring_of(dataset)
        if row.name in ("Edge line", "State of walls", "Oysters", "Cross-shore profile")
    ]
    found.append(Work("Formal review", "review", dict.fromkeys(review_years(dataset), 1.0)))
    return [work for work in found if work.share]
