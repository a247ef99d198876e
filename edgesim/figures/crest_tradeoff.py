"""Crest level of a reef: what it does to waves, and what oysters make of it."""

from __future__ import annotations

import textwrap

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BANDS,
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
from edgesim.outcomes.summary import member_quantiles

READING = (
    "Height: from the energy of the waves that meet the reef, at every water level above its foot (thin line: only while its crest is\n"
    "under water). Growth: rise of the crest over its most. {members} futures: {bands} Planning-level forecast, not\n"
    "a design. {invented}{source}: {title}."
)

DRY, WET = 0.68, 0.05
"""Height taken off by structures dry and wet more than half of the time (read: Morris and others, 2021,
abstract). [1]"""


def headline(dataset: xr.Dataset) -> str:
    """Say what waves lose where oysters grow best, and behind a crest that is never under water."""
    growth = dataset["growth"].mean("member").values
    best = member_quantiles(dataset["height_reduction"].values)[:, int(np.argmax(growth))]
    most = member_quantiles(dataset["height_reduction"].values.max(axis=1))
    where, top = (
        f"{100 * found[2]:.0f} % [{100 * found[0]:.0f}..{100 * found[4]:.0f}]"
        for found in (best, most)
    )
    return (
        f"High reefs break waves, low reefs grow: waves lose {where} of their height where "
        f"oysters grow best, {top} at most"
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
    reduction = member_quantiles(100.0 * dataset["height_reduction"].values)
    growth = member_quantiles(100.0 * dataset["growth"].values)
    for found, colour, style, marker in ((reduction, BLUE, "-", "s"), (growth, GREEN, "--", "D")):
        axes.fill_between(level, found[0], found[4], color=colour, alpha=0.12, lw=0)
        axes.fill_between(level, found[1], found[3], color=colour, alpha=0.25, lw=0)
        axes.plot(level, found[2], color=colour, ls=style, marker=marker, ms=3)
    in_air = dataset["in_air"].mean("member").values
    wet = in_air <= 0.5
    under_water = np.median(100.0 * dataset["under_water"].values[:, wet], axis=0)
    axes.plot(level[wet], under_water, color=BLUE, lw=0.9)
    halo(
        axes.annotate(
            "while under water",
            (level[wet][-1], under_water[-1]),
            xytext=(0, 2),
            textcoords="offset points",
            ha="right",
            color=BLUE,
            fontsize=7,
        )
    )
    half = float(np.interp(0.5, in_air, level))
    axes.axvline(half, color=MUTED, lw=0.8, ls=":")
    for share, start, end in ((WET, level[0], half), (DRY, half, level[-1])):
        axes.plot((start, end), (100.0 * share,) * 2, color=MUTED, lw=1.0, ls=(0, (1, 2)))
        axes.annotate(
            f"measured elsewhere, mean: {100 * share:.0f} %",
            (start if share == DRY else end, 100.0 * share),
            xytext=(4, 3) if share == DRY else (-4, -3),
            textcoords="offset points",
            ha="left" if share == DRY else "right",
            va="bottom" if share == DRY else "top",
            color=MUTED,
            fontsize=7,
        )
    axes.set_ylim(-6, 116)
    axes.set_xlim(level[0], level[-1])
    tall = int(np.argmax(growth[2]))
    for place, height, words, colour in (
        (level[-2], reduction[2, -2], "waves: height taken off", BLUE),
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
        members=dataset.sizes["member"],
        bands=BANDS,
        invented="Invented data. " if "invented" in attrs["comment"].lower() else "",
        source=attrs["source"],
        title=attrs["title"],
    )
    figure.text(0.01, 0.012, text, fontsize=7, color=MUTED, linespacing=1.35)
    figure.get_layout_engine().set(rect=(0.004, 0.12, 0.99, 0.88))  # type: ignore[union-attr, call-arg]
    figure.suptitle(textwrap.fill(headline(dataset), TITLE_CHARACTERS), x=0.01, ha="left")
    return figure
