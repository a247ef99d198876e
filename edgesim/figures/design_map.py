"""Chance of success by spacing and material, from a study."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib import colormaps
from matplotlib.figure import Figure

from edgesim.figures.style import finish, new_figure, styled
from edgesim.outcomes.summary import chance_interval

RESTS_ON = "study_note"
"""Attribute that says from which study it is."""

READING = "number in each cell the chance of success (per cent); dark is likely."


def _best(dataset: xr.Dataset) -> tuple[str, str, float]:
    chance = dataset["success_chance"]
    row, column = np.unravel_index(int(np.nanargmax(chance.values)), chance.shape)
    y, x = map(str, chance.dims)
    return (
        f"{y.replace('_', ' ')} {chance[y].values[row]}",
        f"{x.replace('_', ' ')} {chance[x].values[column]}",
        float(chance.values[row, column]),
    )


def headline(dataset: xr.Dataset) -> str:
    """Say which cell of the map does best."""
    row, column, chance = _best(dataset)
    values = dataset["success_chance"].values
    others = np.sort(values[np.isfinite(values)])[:-1]
    ties = int((others >= chance - 1e-12).sum())
    best = f"{row} with {column}" + (f" and {ties} more" if ties else "")
    futures = int(dataset["success_chance"].attrs.get("futures", 0))
    low, high = chance_interval(round(chance * futures), futures) if futures else (0.0, 1.0)
    spread = f", 90 % interval {100 * low:.0f} to {100 * high:.0f} %" if futures else ""
    words = f"Most likely to succeed: {best} ({100 * chance:.0f} %{spread})"
    rest = others[: others.size - ties]
    if not rest.size:
        return words
    doubt = ", which so few futures cannot tell apart" if futures and rest[0] >= low else ""
    return f"{words}; all others lie between {100 * rest[0]:.0f} and {100 * rest[-1]:.0f} %{doubt}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Map of the chance of success by spacing and material. {headline(dataset)}."


@styled
def design_map(dataset: xr.Dataset) -> Figure:
    """Draw the chance of success by two decisions.

    Parameters
    ----------
    dataset : xarray.Dataset
        With ``success_chance``.

    Returns
    -------
    Figure
    """
    chance = dataset["success_chance"]
    figure = new_figure(40.0 + 12.0 * chance.shape[0])
    axes = figure.subplots()
    shades = colormaps["cividis_r"].with_extremes(bad="#FFFFFF")
    axes.pcolormesh(100 * chance.values, cmap=shades, vmin=0, vmax=100, edgecolor="white", lw=1.0)
    for (row, column), value in np.ndenumerate(chance.values):
        if np.isfinite(value):
            colour = "white" if value > 0.55 else "black"
            words = f"{100 * value:.0f}"
            axes.text(column + 0.5, row + 0.5, words, ha="center", va="center", color=colour)
    y, x = chance.dims
    axes.set_xticks(np.arange(chance.shape[1]) + 0.5, [str(v) for v in chance[x].values])
    axes.set_yticks(np.arange(chance.shape[0]) + 0.5, [str(v) for v in chance[y].values])
    axes.set_xlabel(chance[x].attrs.get("long_name", str(x)))
    axes.set_ylabel(chance[y].attrs.get("long_name", str(y)))
    axes.grid(visible=False)
    sample = dataset.attrs.get(RESTS_ON, "")
    finish(figure, dataset, headline(dataset), READING, sample=sample)
    return figure
