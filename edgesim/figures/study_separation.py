"""Which inputs separate success from failure."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import finish_study, input_colours
from edgesim.figures.style import BLACK, MUTED, new_figure, styled


def headline(dataset: xr.Dataset) -> str:
    """Name the inputs that separate."""
    what = str(dataset["separation_of"].values)
    chance = dataset["separation_by_chance"].values
    names = [
        str(name)
        for name, p in zip(dataset["leading"].values, chance, strict=True)
        if np.isfinite(p)
    ]
    if not names:
        return f"No input separates {what} better than chance"
    return f"{what.capitalize()} is separated by {', '.join(names)}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Limits of each input inside which {dataset['separation_of'].values} is dense. {headline(dataset)}."


@styled
def study_separation(dataset: xr.Dataset) -> Figure:
    """Draw the limits of the box, and density against coverage as it was peeled.

    Parameters
    ----------
    dataset : xarray.Dataset
        A study with shares of which some succeed and some fail.

    Returns
    -------
    Figure

    Raises
    ------
    InvalidParameterError
        If there is nothing to separate.
    """
    if "separation_words" not in dataset:
        msg = "dataset must hold runs that succeed and runs that fail for this figure."
        raise InvalidParameterError(msg)
    names = [str(name) for name in dataset["leading"].values]
    low, high = dataset["separation_low"].values, dataset["separation_high"].values
    limited = np.isfinite(dataset["separation_by_chance"].values)
    words = [str(text) for text in dataset["separation_words"].values]
    figure = new_figure(42.0 + 9.0 * len(names))
    left, right = figure.subplots(1, 2, width_ratios=(1.7, 1.0))
    places = np.arange(len(names))[::-1]
    colours = input_colours(dataset, names)
    for i, place in enumerate(places):
        left.barh(place, 1.0, 0.62, color="#EEEEEE", lw=0)
        by_levels = limited[i] and low[i] == 0.0 and high[i] == 1.0
        if limited[i] and not by_levels:
            left.barh(
                place, high[i] - low[i], 0.62, left=low[i], color=colours[i], alpha=0.75, lw=0
            )
        left.text(0.5, place, words[i] if limited[i] else "any", ha="center", va="center", fontsize=7.5,
                  fontweight="bold" if limited[i] else "normal", color=BLACK if limited[i] else MUTED)  # fmt: skip
    left.set_yticks(places, names)
    left.set_xlim(0.0, 1.0)
    left.set_xlabel("Place in the range of the input [share of probability]")
    left.set_title("Limits of the box", loc="left", fontsize=9)
    left.grid(visible=False)
    density, coverage = float(dataset["separation_density"]), float(dataset["separation_coverage"])
    right.plot(dataset["separation_coverage_path"].values, dataset["separation_density_path"].values, "-", marker=".", color=MUTED, lw=1.0)  # fmt: skip
    right.plot(coverage, density, "o", color=BLACK, ms=8)
    right.axhline(float(dataset["separation_base"]), color=BLACK, ls=":", lw=0.8)
    right.set_xlim(0.0, 1.03)
    right.set_ylim(0.0, 1.03)
    right.set_xlabel("Coverage [1]")
    right.set_ylabel("Density [1]")
    right.set_title("Boxes while peeling", loc="left", fontsize=9)
    reading = "density: share of the runs inside that count; coverage: share of all of these that is inside; dot: box shown; dotted: all."
    finish_study(figure, dataset, headline(dataset), reading)
    return figure
