"""Crest level of a reef: what it does to waves, and what oysters make of it."""

from __future__ import annotations

import textwrap

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLUE,
    FEET_PER_METRE,
    GREEN,
    MUTED,
    TITLE_CHARACTERS,
    halo,
    new_figure,
    second_axis,
    styled,
)

READING = (
    "Height: from the energy of all waves that meet the reef, at every water level above its foot. Growth: rise of the crest\n"
    "over its most. Planning-level forecast, not a design. {invented}{source}: {title}."
)

DRY, WET = 0.68, 0.05
"""Height taken off by structures dry and wet more than half of the time (read: Morris and others, 2021,
abstract). [1]"""


def headline(dataset: xr.Dataset) -> str:
    """Say where the two lines have their best."""
    best = int(np.argmax(dataset["growth"].values))
    reduction = dataset["height_reduction"].values
    return (
        f"High reefs break waves, low reefs grow: waves lose {100 * reduction[best]:.0f} % of their "
        f"height where oysters grow best, {100 * reduction.max():.0f} % at most"
    )


@styled
def crest_tradeoff(dataset: xr.Dataset) -> Figure:
    """Draw height reduction and growth against crest level on one pair of axes.

    Parameters
    ----------
    dataset : xarray.Dataset
        From ``edgesim.studies.tradeoff.crest_tradeoff``.

    Returns
    -------
    Figure
        One panel, crest level in metres and feet.
    """
    figure = new_figure(92.0)
    axes = figure.subplots()
    level, datum = dataset["crest_level"].values, dataset.attrs["vertical_datum"]
    reduction, growth = 100.0 * dataset["height_reduction"], 100.0 * dataset["growth"]
    axes.plot(level, reduction, color=BLUE, ls="-", marker="s", ms=3)
    axes.plot(level, growth, color=GREEN, ls="--", marker="D", ms=3)
    half = float(np.interp(0.5, dataset["in_air"].values, level))
    axes.axvline(half, color=MUTED, lw=0.8, ls=":")
    for share, start, end in ((WET, level[0], half), (DRY, half, level[-1])):
        axes.plot((start, end), (100.0 * share,) * 2, color=MUTED, lw=1.0, ls=(0, (1, 2)))
        axes.annotate(
            f"measured elsewhere, mean: {100 * share:.0f} %",
            (start if share == DRY else end, 100.0 * share),
            xytext=(4 if share == DRY else -4, 3),
            textcoords="offset points",
            ha="left" if share == DRY else "right",
            color=MUTED,
            fontsize=7,
        )
    axes.set_ylim(-3, 116)
    axes.set_xlim(level[0], level[-1])
    tall = int(np.argmax(growth.values))
    for place, height, words, colour in (
        (level[-2], float(reduction[-2]), "waves: height taken off", BLUE),
        (level[tall], 100.0, "oysters: growth", GREEN),
    ):
        halo(
            axes.annotate(
                words,
                (place, height),
                xytext=(0, 5),
                textcoords="offset points",
                ha="right" if colour == BLUE else "center",
                color=colour,
                fontsize=8,
            )
        )
    halo(
        axes.annotate(
            "under water half of the time",
            (half, 88.0),
            xytext=(4, 0),
            textcoords="offset points",
            color=MUTED,
            fontsize=7,
        )
    )
    axes.set_xlabel(f"Crest of the reef (m {datum})")
    axes.set_ylabel("Height taken off, and growth (%)")
    second_axis(axes, FEET_PER_METRE, f"Crest of the reef (ft {datum})", top=True)
    attrs = dataset.attrs
    text = READING.format(
        invented="Invented data. " if "invented" in attrs["comment"].lower() else "",
        source=attrs["source"],
        title=attrs["title"],
    )
    figure.text(0.01, 0.012, text, fontsize=7, color=MUTED, linespacing=1.35)
    figure.get_layout_engine().set(rect=(0.004, 0.09, 0.99, 0.91))  # type: ignore[union-attr, call-arg]
    figure.suptitle(textwrap.fill(headline(dataset), TITLE_CHARACTERS), x=0.01, ha="left")
    return figure
