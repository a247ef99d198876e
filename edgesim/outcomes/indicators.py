"""Indicators computed from the recorded edge lines and powers of a forecast.

Every array has the dimensions of :mod:`edgesim.names` in order, so ``option``
and ``member`` lead; the last one or two are named in each docstring.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.names import CEMENTED, PARTS

Floats = NDArray[np.float64]

NO_ACTION = "no action"
"""Name of the option that every other one is compared with."""

RECORD_TOLERANCE = 31.0 / DAYS_PER_YEAR
"""A record counts as that of a whole year when it is no farther from it (judgement). [year]"""


def reach_mask(alongshore: ArrayLike, start: float, end: float) -> NDArray[np.bool_]:
    """Cells of the shore whose centre lies in the reach that the design covers.

    Parameters
    ----------
    alongshore : array_like
        Cell centres. [m]
    start, end : float
        Ends of the reach. [m]

    Returns
    -------
    ndarray of bool
        True inside the reach.
    """
    centres = np.asarray(alongshore, dtype=np.float64)
    return (centres >= start) & (centres <= end)


def retreats(edge: ArrayLike, initial_edge: ArrayLike, defended: ArrayLike) -> dict[str, Floats]:
    """Retreat behind the design, beside it, and the largest anywhere.

    Parameters
    ----------
    edge : array_like, (..., alongshore)
        Edge position, positive landward. [m]
    initial_edge : array_like, (alongshore,)
        Edge position at the start. [m]
    defended : array_like of bool, (alongshore,)
        Cells of the reach that the design covers.

    Returns
    -------
    dict
        ``retreat``, ``retreat_neighbours`` (NaN where the design covers the
        whole shore) and ``retreat_worst``, each without ``alongshore``. [m]

    Examples
    --------
    >>> found = retreats([[1.0, 4.0, 2.0]], [0.0, 1.0, 1.0], [True, True, False])
    >>> float(found["retreat"][0]), float(found["retreat_neighbours"][0])
    (2.0, 1.0)
    """
    moved = np.asarray(edge, dtype=np.float64) - np.asarray(initial_edge, dtype=np.float64)
    inside = np.asarray(defended, dtype=bool)
    missing = np.full(moved.shape[:-1], np.nan)
    return {
        "retreat": moved[..., inside].mean(axis=-1) if inside.any() else missing,
        "retreat_neighbours": missing if inside.all() else moved[..., ~inside].mean(axis=-1),
        "retreat_worst": moved.max(axis=-1),
    }


def land_kept(edge: ArrayLike, no_action_edge: ArrayLike, cell_size: float) -> Floats:
    """Marsh area kept over the whole shore against no action, same member.

    Parameters
    ----------
    edge : array_like, (..., alongshore)
        Edge position, positive landward. [m]
    no_action_edge : array_like, broadcasts with `edge`
        Edge position of the same members without any work. [m]
    cell_size : float
        Length of shore of one cell. [m]

    Returns
    -------
    ndarray
        Area, positive where the option kept more marsh. [m2]

    Examples
    --------
    >>> float(land_kept([2.0, 2.0], [5.0, 3.0], 0.5))
    2.0
    """
    kept = np.asarray(no_action_edge, dtype=np.float64) - np.asarray(edge, dtype=np.float64)
    return np.asarray(kept.sum(axis=-1) * cell_size)


def record_of_year(elapsed: ArrayLike, year: float) -> int | None:
    """Index of the record nearest to a year, or None where the run has none.

    Parameters
    ----------
    elapsed : array_like, (time,)
        Time since the start. [year]
    year : float
        The year asked for. [year]

    Returns
    -------
    int or None
        The record, no farther than `RECORD_TOLERANCE` from the year.
    """
    distance = np.abs(np.asarray(elapsed, dtype=np.float64) - year)
    nearest = int(np.argmin(distance))
    return nearest if distance[nearest] <= RECORD_TOLERANCE else None


def yearly_records(elapsed: ArrayLike) -> dict[int, int]:
    """Find the records at whole years: year to index, from 0 on.

    Parameters
    ----------
    elapsed : array_like, (time,)
        Time since the start, increasing. [year]

    Returns
    -------
    dict of int to int
        Years without a record are left out.
    """
    last = int(np.round(np.asarray(elapsed)[-1]))
    found = {year: record_of_year(elapsed, year) for year in range(last + 1)}
    return {year: record for year, record in found.items() if record is not None}


def stands_alone(consolidation: ArrayLike, mesh_intact: ArrayLike) -> NDArray[np.bool_]:
    """Whether a reef stands without its wire: cemented, or most of its mesh gone, or never any.

    Parameters
    ----------
    consolidation, mesh_intact : array_like
        Mean degree of cementing, and share of units whose mesh holds (NaN without mesh). [1]

    Returns
    -------
    ndarray of bool
        True where the reef no longer depends on wire.
    """
    cement, mesh = np.asarray(consolidation), np.asarray(mesh_intact)
    return np.asarray((cement >= CEMENTED) | (mesh <= 0.5) | np.isnan(mesh))


def takeover_year(
    reef_power: ArrayLike,
    open_power: ArrayLike,
    alone: ArrayLike,
    elapsed: ArrayLike,
    share: float,
) -> Floats:
    """First whole year from which the reef alone shelters the edge to the end.

    Parameters
    ----------
    reef_power : array_like, (..., time)
        Power at the edge behind the reef alone, NaN without a reef. [W m-1]
    open_power : array_like, (..., time)
        Power at the edge with no line. [W m-1]
    alone : array_like of bool, (..., time)
        Whether the reef stands without its wire: a fresh gabion has taken over nothing.
    elapsed : array_like, (time,)
        Time since the start. [year]
    share : float
        The reef holds while its power is below this share of the open one. [1]

    Returns
    -------
    ndarray, (...)
        The year, counted from 0; NaN where the reef does not hold at the end, or only there. [year]

    Notes
    -----
    Looks at yearly records only, so that a season cannot decide, and asks for two of them at
    least, so that the last one cannot (judgement).

    Examples
    --------
    >>> float(takeover_year([9.0, 4.0, 6.0, 4.0, 4.0], [10.0] * 5, [True] * 5, range(5), 0.5))
    3.0
    """
    records = yearly_records(elapsed)
    years = np.array(list(records), dtype=np.float64)
    indices = list(records.values())
    reef = np.asarray(reef_power, dtype=np.float64)[..., indices]
    holds = reef < share * np.asarray(open_power, dtype=np.float64)[..., indices]
    holds &= np.asarray(alone, dtype=bool)[..., indices]
    to_the_end = np.flip(np.logical_and.accumulate(np.flip(holds, -1), axis=-1), -1)
    first = years[np.argmax(to_the_end, axis=-1)]
    return np.where(to_the_end.sum(axis=-1) >= 2, first, np.nan)


HALF_GONE = 0.5
"""Share of a part left below which it counts as failed (judgement). [1]"""

CONDITION = {
    "fill": "fill_fraction",
    "ties": "ties_intact",
    "posts": "posts_standing",
    "mesh": "mesh_intact",
    "rings": "rings_intact",
}
"""Quantity that says what is left of each part of ``names.PARTS``."""


def first_failures(arrays: Mapping[str, Floats], elapsed: ArrayLike) -> dict[str, Floats]:
    """Which part of the design was the first to be half gone, and when.

    Parameters
    ----------
    arrays : mapping of str to ndarray, (..., time)
        The quantities of `CONDITION`, NaN where an option lacks the part. [1]
    elapsed : array_like, (time,)
        Time of the records since the start. [year]

    Returns
    -------
    dict
        ``first_failure``, the index in ``names.PARTS``, and ``first_failure_year``, NaN where
        nothing failed. Of parts that failed between the same records the first in that order counts.

    Examples
    --------
    >>> kept = {name: np.array([1.0, 0.9, 0.8]) for name in CONDITION.values()}
    >>> kept["ties_intact"] = np.array([1.0, 0.4, 0.0])
    >>> found = first_failures(kept, [0.0, 0.5, 1.0])
    >>> PARTS[int(found["first_failure"])], float(found["first_failure_year"])
    ('ties', 0.5)
    """
    times = np.asarray(elapsed, dtype=np.float64)
    when = []
    for part in PARTS[1:]:
        gone = np.asarray(arrays[CONDITION[part]]) < HALF_GONE
        when.append(np.where(gone.any(axis=-1), times[np.argmax(gone, axis=-1)], np.inf))
    stacked = np.array(when)
    first = stacked.min(axis=0)
    failed = np.isfinite(first)
    return {
        "first_failure": np.where(failed, 1.0 + np.argmin(stacked, axis=0), 0.0),
        "first_failure_year": np.where(failed, first, np.nan),
    }
