"""Where things stand on the plan: lines, gaps, contours, transects."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

PERMIT_DISTANCE = 9.144
"""30 ft, the distance from mean low water that permits of living shorelines name (read in 4VAC20-1330;
docs/sources.md, row figures-5). [m]"""

PAIRS = 5
"""Transects in the reach of the design, and as many at the control (read, from a monitoring
framework: five parallel transects, each treatment with a control; docs/sources.md, row figures-6)."""

LEAST_CONTROL = 0.15
"""Least share of the shore that can serve as a control (judgement). [1]"""


def spans(dataset: xr.Dataset, line: str) -> Floats:
    """Start and end of every wall ("wall") or run of reef ("reef"); (n, 2). [m]."""
    if f"{line}_start" not in dataset:
        return np.empty((0, 2))
    return np.column_stack([dataset[f"{line}_start"].values, dataset[f"{line}_end"].values])


def gaps(runs: ArrayLike) -> Floats:
    """Clear openings between neighbouring runs. [m].

    Examples
    --------
    >>> gaps([[0.0, 4.0], [5.5, 9.5]]).tolist()
    [1.5]
    """
    ends = np.asarray(runs, dtype=np.float64)
    return ends[1:, 0] - ends[:-1, 1]


def contour_distance(dataset: xr.Dataset, datum: str) -> float:
    """Distance seaward of the edge at which the surveyed bed lies at a tidal datum.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.
    datum : str
        Name of the datum, as "MLW".

    Returns
    -------
    float
        NaN where the profile does not reach that level. [m]
    """
    if datum not in dataset["datum"].values:
        return float("nan")
    level = float(dataset["datum_level"].sel(datum=datum))
    distance, bed = dataset["profile_distance"].values, dataset["profile_elevation"].values
    below = np.flatnonzero(bed < level)
    if not below.size:
        return float("nan")
    first = int(below[0])
    if first == 0:
        return 0.0
    share = (bed[first - 1] - level) / (bed[first - 1] - bed[first])
    return float(distance[first - 1] + share * (distance[first] - distance[first - 1]))


@dataclass(frozen=True, slots=True)
class Layout:
    """Transects of the reach and of the control, along the shore. [m]."""

    reach: Floats
    control: Floats
    room: bool


def monitoring_layout(dataset: xr.Dataset) -> Layout:
    """Transects behind the design, and at a control on the longer open side.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Layout
        ``room`` says whether the shore of the forecast has room for the control.
    """
    start, end = float(dataset["defended_start"]), float(dataset["defended_end"])
    length = float(dataset["shore_length"])
    parts = (np.arange(PAIRS) + 0.5) / PAIRS
    low, high = (0.0, start) if start >= length - end else (end, length)
    # What the lines do fades with the distance from them: leave the nearest third of the side out.
    apart = (high - low) / 3.0
    low, high = (low, high - apart) if low == 0.0 else (low + apart, high)
    return Layout(
        start + parts * (end - start),
        low + parts * (high - low),
        (high - low) >= LEAST_CONTROL * length,
    )
