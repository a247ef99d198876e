"""Weights of alternative beliefs through the reviews."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import OPTION_LOOKS, VERMILLION, finish, new_figure, styled

READING = "areas the weight of each belief after each review; together 100 %."


def headline(dataset: xr.Dataset) -> str:
    """Say which belief carries most weight now."""
    last = dataset["belief_weight"].isel(review=-1)
    first = dataset["belief_weight"].isel(review=0)
    best = int(np.argmax(last.values))
    name = str(dataset["belief"].values[best])
    number = dataset.sizes["review"] - 1  # the first is the start
    return (
        f"After {number} review{'s' if number > 1 else ''} “{name}” carries {100 * float(last[best]):.0f} % "
        f"of the weight ({100 * float(first[best]):.0f} % at first)"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    last = "; ".join(
        f"{name} {100 * float(weight):.0f} %"
        for name, weight in zip(
            dataset["belief"].values, dataset["belief_weight"].isel(review=-1).values, strict=True
        )
    )
    return f"Stacked areas of the weight of each belief through the reviews. {headline(dataset)}. Last: {last}."


@styled
def belief_weights(dataset: xr.Dataset) -> Figure:
    """Draw the weight of each belief through the reviews.

    Parameters
    ----------
    dataset : xarray.Dataset
        With ``belief_weight``.

    Returns
    -------
    Figure
    """
    figure = new_figure(88.0)
    axes = figure.subplots()
    years = dataset["review_year"].values
    weights = 100 * dataset["belief_weight"].transpose("belief", "review").values
    bottom = np.zeros(years.size)
    hatches = ("", "////", "....", "xx", "----")
    for index, name in enumerate(dataset["belief"].values):
        look = OPTION_LOOKS[1 + index % (len(OPTION_LOOKS) - 1)]
        axes.fill_between(
            years,
            bottom,
            bottom + weights[index],
            color=look.colour,
            hatch=hatches[index % len(hatches)],
            ec="white",
            lw=0.5,
            alpha=0.8,
            label=str(name),
        )
        bottom = bottom + weights[index]
    axes.set(xlim=(years[0], years[-1]), ylim=(0, 100))
    axes.set_xlabel("Years after building")
    axes.set_ylabel("Weight of the belief (%)")
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.0))
    axes.axhline(50, color=VERMILLION, lw=0.6, ls=":")
    finish(figure, dataset, headline(dataset), READING)
    return figure
