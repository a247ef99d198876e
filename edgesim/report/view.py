"""The interactive page: a forecast that can be moved through in a browser, from one file.

The data are thinned and rounded (see `MOST_TIMES` and its neighbours), and stand in the page
as 16-bit numbers; bands are taken over all members before anything is thinned.
"""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from edgesim.figures.style import (
    EVIDENCE_YEARS,
    FEET_PER_METRE,
    Look,
    featured_option,
    first_edge,
    option_looks,
)
from edgesim.names import BY_NAME
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.summary import ENGLISH_UNITS, member_quantiles
from edgesim.report.pages import as_json, environment, part, write_page
from edgesim.scenario import CAUTIONS

MOST_TIMES, MOST_PLACES, MOST_MEMBERS = 61, 81, 40
"""Records, places and members that are shown at most; evenly spread over the run."""

MISSING, LARGEST = -32768, 32000
"""Code of a missing value, and the largest code of a value."""

FINEST = 0.001
"""Smallest step in which lengths on the map and in the section are kept. [m]"""

DASHES = ("9 4", "", "8 3 2 3", "4 3", "2 3", "12 3", "8 3 2 3 2 3", "1 5")
"""Dashes of the options' lines, all different, so that they are told apart without colour."""


class Shown(NamedTuple):
    """One row of the table: quantity, digits, and whether it stands in per cent."""

    name: str
    digits: int
    percent: bool = False


SERIES = (
    Shown("retreat", 2),
    Shown("retreat_neighbours", 2),
    Shown("land_kept", 0),
    Shown("fill_fraction", 0, percent=True),
    Shown("posts_standing", 0, percent=True),
    Shown("mesh_intact", 0, percent=True),
    Shown("oyster_density", 0),
    Shown("reef_crest", 2),
    Shown("wall_transmission", 2),
    Shown("reef_transmission", 2),
    Shown("cost", 0),
)
UNIT_WORDS = {"m2": "m²", "m-2": "per m²", "ft2": "ft²", "ft-2": "per ft²", "1": ""}


def pack(values: ArrayLike, finest: float = 0.0) -> dict[str, Any]:
    """Pack numbers as 16-bit whole numbers with one scale.

    Parameters
    ----------
    values : array_like
        Numbers; NaN stands for a missing one.
    finest : float, default 0
        Smallest step worth keeping.

    Returns
    -------
    dict
        ``scale``, ``shape`` and ``data`` (base64, little-endian).

    Examples
    --------
    >>> pack([0.0, 1.0, float("nan")], finest=0.5)
    {'scale': 0.5, 'shape': [3], 'data': 'AAACAACA'}
    """
    array = np.asarray(values, dtype=np.float64)
    known = np.isfinite(array)
    largest = float(np.abs(array[known]).max()) if known.any() else 1.0
    scale = max(finest, largest / LARGEST) or 1.0
    codes = np.full(array.shape, MISSING, dtype="<i2")
    codes[known] = np.round(array[known] / scale).astype("<i2")
    return {
        "scale": scale,
        "shape": list(array.shape),
        "data": base64.b64encode(codes.tobytes()).decode("ascii"),
    }


def spread_over(count: int, most: int) -> NDArray[np.int64]:
    """Choose indices evenly spread over `count`, both ends among them.

    Examples
    --------
    >>> spread_over(5, 3).tolist(), spread_over(2, 3).tolist()
    ([0, 2, 4], [0, 1])
    """
    return np.unique(np.round(np.linspace(0, count - 1, min(count, most))).astype(np.int64))


def view_data(dataset: xr.Dataset) -> dict[str, Any]:
    """Gather what the page shows.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    dict
        Plain data; arrays packed by :func:`pack`, with bands first and members after them.
    """
    origin = first_edge(dataset)
    times = spread_over(dataset.sizes["time"], MOST_TIMES)
    along = spread_over(dataset.sizes["alongshore"], MOST_PLACES)
    across = spread_over(dataset.sizes["cross_shore"], MOST_PLACES)
    members = spread_over(dataset.sizes["member"], MOST_MEMBERS)
    names = list(option_looks(dataset))
    ordered = dataset.sel(option=names)
    days = dataset["time"].values[times].astype("datetime64[D]").tolist()
    return {
        "title": str(dataset.attrs["title"]),
        "datum": str(dataset.attrs["vertical_datum"]),
        "feet": FEET_PER_METRE,
        "evidence": EVIDENCE_YEARS,
        "missing": MISSING,
        "options": [
            _option(dataset, name, look, place)
            for place, (name, look) in enumerate(option_looks(dataset).items())
        ],
        "featured": names.index(featured_option(dataset)),
        "members": [int(dataset["member"].values[index]) + 1 for index in members],
        "total": int(dataset.sizes["member"]),
        "years": [round(float(year), 2) for year in years_elapsed(dataset)[times]],
        "dates": [f"{day.day} {day:%B %Y}" for day in days],
        "along": _rounded(dataset["alongshore"].values[along]),
        "across": _rounded(dataset["cross_shore"].values[across] - origin),
        "first": _rounded(dataset["initial_edge"].values[along] - origin),
        "edge": _bands_and_members(
            ordered["edge_position"].values[:, :, times][..., along] - origin, members, FINEST
        ),
        "ground": _bands_and_members(
            ordered["surface_section"].values[:, :, times][..., across], members, FINEST
        ),
        "series": [
            _series(ordered, shown, times, members)
            for shown in SERIES
            if np.isfinite(ordered[shown.name].values).any()
        ],
        "walls": _line(dataset, "wall", "wall_thickness", "wall_crest", origin),
        "reef": _line(dataset, "reef", "reef_width", "reef_crest_built", origin),
        "datums": [
            [str(name), round(float(level), 3)]
            for name, level in zip(
                dataset["datum"].values, dataset["datum_level"].values, strict=True
            )
        ],
    }


def _rounded(values: ArrayLike) -> list[float]:
    return [round(float(value), 3) for value in np.asarray(values)]


def _option(dataset: xr.Dataset, name: str, look: Look, place: int) -> dict[str, Any]:
    return {
        "name": name,
        "walls": has_walls(dataset, name),
        "reef": has_reef(dataset, name),
        "colour": look.colour,
        "dash": DASHES[place % len(DASHES)],
    }


def _bands_and_members(
    values: NDArray[Any], members: NDArray[np.int64], finest: float = 0.0
) -> dict[str, Any]:
    """Pack five bands of every option, then the members that are shown."""
    bands = np.stack([member_quantiles(option) for option in values])
    return pack(np.concatenate([bands, values[:, members]], axis=1), finest)


def _series(
    ordered: xr.Dataset, shown: Shown, times: NDArray[np.int64], members: NDArray[np.int64]
) -> dict[str, Any]:
    variable = BY_NAME[shown.name]
    unit = str(ordered.attrs["currency"]) if shown.name == "cost" else variable.unit
    other, factor = ENGLISH_UNITS.get(unit, ("", 1.0))
    values = ordered[shown.name].values[:, :, times] * (100.0 if shown.percent else 1.0)
    return {
        "name": shown.name,
        "label": variable.label,
        "unit": "%" if shown.percent else UNIT_WORDS.get(unit, unit),
        "digits": shown.digits,
        "other": UNIT_WORDS.get(other, other),
        "factor": factor,
        "packed": _bands_and_members(values, members),
    }


def _line(
    dataset: xr.Dataset, line: str, thickness: str, crest: str, origin: float
) -> dict[str, Any] | None:
    """Where a line stands; None where the design has none."""
    if f"{line}_position" not in dataset:
        return None
    return {
        "runs": [
            _rounded(run)
            for run in zip(
                dataset[f"{line}_start"].values, dataset[f"{line}_end"].values, strict=True
            )
        ],
        "position": round(float(dataset[f"{line}_position"]) - origin, 3),
        "thickness": round(float(dataset[thickness]), 3),
        "crest": round(float(dataset[crest]), 3),
    }


def view_page(dataset: xr.Dataset) -> str:
    """Make the interactive page.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    str
        One page of HTML that needs no other file and no network.
    """
    data = view_data(dataset)
    return (
        environment()
        .get_template("view.html.j2")
        .render(
            data=data,
            embedded=as_json(data),
            style=part("common.css") + part("view.css"),
            script=part("view_draw.js") + part("view.js"),
            cautions=CAUTIONS,
            attrs=dataset.attrs,
        )
    )


def write_view(dataset: xr.Dataset, path: Path) -> None:
    """Write the interactive page.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    path : Path
        Target, replaced only when the new page is complete.
    """
    write_page(view_page(dataset), path)
