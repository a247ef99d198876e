"""What the figures of comparisons and studies share: footers, names of pairs, shades."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import xarray as xr
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import OPTION_LOOKS, Look, finish

DECIDED, GIVEN, BY_CHANCE = "#0072B2", "#E69F00", "#777777"
"""Colours of decisions, of uncertain inputs, and of chance (Okabe and Ito; grey)."""


def finish_study(
    figure: Figure,
    dataset: xr.Dataset,
    title: str,
    reading: str,
    handles: Sequence[Artist] = (),
    columns: int = 4,
) -> None:
    """Add title, legend and footer; the footer says how to read the signs and where the data come from.

    Parameters
    ----------
    figure : Figure
        The figure, otherwise complete.
    dataset : xarray.Dataset
        A comparison or a study.
    title : str
        One sentence.
    reading : str
        How to read the figure.
    handles : sequence of Artist, default ()
        Entries of a legend between the panels and the footer.
    columns : int, default 4
        Most entries in one row of it.
    """
    finish(figure, dataset, title, reading, handles, sample=None, columns=columns)


def name_outcome(axes: Axes, text: str) -> None:
    """Title a panel with its outcome, folded to its width."""
    axes.set_title(textwrap.fill(text, 44), loc="left", fontsize=8)


def input_colours(dataset: xr.Dataset, names: Sequence[str]) -> list[str]:
    """Colour of every input by who has a hand in it."""
    decided = dict(
        zip(dataset["input"].values, dataset["input_is_decision"].values.astype(bool), strict=True)
    )
    return [
        BY_CHANCE if name == "chance" else DECIDED if decided[name] else GIVEN for name in names
    ]


def bars(
    axes: Axes,
    names: Sequence[str],
    values: Sequence[float],
    bounds: Sequence[float],
    colours: Sequence[str],
    known: Sequence[bool],
) -> None:
    """Draw horizontal bars with bounds, the first on top; what is not converged is hatched."""
    places = np.arange(len(names))[::-1]
    for place, value, bound, colour, sure in zip(
        places, values, bounds, colours, known, strict=True
    ):
        axes.barh(
            place, value, 0.7, color=colour if sure else "white", edgecolor=colour,
            hatch="" if sure else "/////", lw=0.8,
        )  # fmt: skip
        axes.errorbar(value, place, xerr=bound, color="black", lw=0.8, capsize=2)
    axes.set_yticks(places, names)
    axes.set_ylim(-0.6, len(names) - 0.4)


def design_looks(dataset: xr.Dataset) -> dict[str, Look]:
    """Colour, line and marker of every design, in the order of the comparison."""
    names = [str(name) for name in dataset["design"].values]
    return {name: OPTION_LOOKS[i % len(OPTION_LOOKS)] for i, name in enumerate(names)}


def shade_text(value: float, low: float = 0.0, high: float = 1.0) -> str:
    """Colour of a text on a shade of the sequential map: white on dark, black on light."""
    return "white" if (value - low) / max(high - low, 1e-12) < 0.55 else "black"
