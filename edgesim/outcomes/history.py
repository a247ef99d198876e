"""What surveys of the past say of the edge: lines, rates and their errors."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from edgesim.outcomes.embedded import scenario_of
from edgesim.outcomes.needs import Need

Floats = NDArray[np.float64]

TRANSECTS = 5
"""Places along the shore at which rates are taken (judgement)."""

SURVEYS = Need(
    lambda dataset: "edgesim_inputs" in dataset.attrs and len(edge_lines(dataset)) >= 2,
    "the scenario lists fewer than two edge lines of the past",
    "add [[plan.edge_surveys]] with name, year, error and line to the scenario",
)


@dataclass(frozen=True, slots=True)
class EdgeLine:
    """A surveyed edge on the alongshore cells: offset landward (+) of today's mean line. [m]."""

    name: str
    year: float
    error: float
    offset: Floats


@dataclass(frozen=True, slots=True)
class Rate:
    """Retreat between two dates with its standard error. [m year-1]."""

    name: str
    rate: float
    error: float


def edge_lines(dataset: xr.Dataset) -> list[EdgeLine]:
    """Edge lines of the scenario's surveys, oldest first.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    list of EdgeLine
        Empty when the scenario lists none.
    """
    along = dataset["alongshore"].values
    found = []
    for survey in scenario_of(dataset).plan.edge_surveys:
        places, offsets = np.array(survey.line, dtype=np.float64).T
        order = np.argsort(places)
        offset = np.interp(along, places[order], offsets[order])
        found.append(EdgeLine(survey.name, survey.year, survey.error, offset))
    return sorted(found, key=lambda line: line.year)


def transects(along: ArrayLike) -> Floats:
    """Places along the shore at which rates are taken, evenly spread. [m].

    Examples
    --------
    >>> transects([0.5, 1.5, 9.5]).tolist()
    [1.0, 3.0, 5.0, 7.0, 9.0]
    """
    cells = np.asarray(along, dtype=np.float64)
    length = cells[-1] + cells[0]
    return np.asarray((np.arange(TRANSECTS) + 0.5) * length / TRANSECTS)


def rate_error(first: float, second: float, years: float) -> float:
    """Standard error of a rate from the errors of two surveys: sqrt(e1^2 + e2^2)/years.

    Parameters
    ----------
    first, second : float
        Standard errors of the two positions. [m]
    years : float
        Time between them. [year]

    Returns
    -------
    float
        Standard error. [m year-1]

    Examples
    --------
    >>> round(rate_error(2.0, 2.0, 10.0), 2)
    0.28
    """
    return float(np.hypot(first, second) / years)


def rates(lines: list[EdgeLine]) -> list[Rate]:
    """Mean retreat between neighbouring surveys, and from the first to the last.

    Parameters
    ----------
    lines : list of EdgeLine
        Oldest first.

    Returns
    -------
    list of Rate
    """
    pairs = list(pairwise(lines))
    if len(lines) > 2:
        pairs.append((lines[0], lines[-1]))
    return [
        Rate(
            f"{old.year:.0f} to {new.year:.0f}",
            float(np.mean(new.offset - old.offset)) / (new.year - old.year),
            rate_error(old.error, new.error, new.year - old.year),
        )
        for old, new in pairs
        if new.year > old.year
    ]
