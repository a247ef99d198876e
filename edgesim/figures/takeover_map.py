"""Chance of takeover over spat and branch life, one panel a kind of wire."""

from __future__ import annotations

import textwrap

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import MUTED, TITLE_CHARACTERS, new_figure, styled

READING = (
    "Each square: share of {n} futures (the same everywhere) in which the reef alone keeps edge power below {share:.0%} of\n"
    "that with no line, from some year of {years} to the end. Planning-level forecast, not a design. {invented}{source}: {title}."
)


def headline(dataset: xr.Dataset) -> str:
    """Say what the two ends of the map are."""
    chance = dataset["takeover_chance"].values
    return (
        f"No spat, no takeover; much spat and lasting wire: "
        f"{100 * chance[..., 0].max():.0f} % against {100 * chance[-1, -1, -1]:.0f} % of the futures"
    )


@styled
def takeover_map(dataset: xr.Dataset) -> Figure:
    """Draw the chance of takeover as numbered squares.

    Parameters
    ----------
    dataset : xarray.Dataset
        From ``edgesim.studies.takeover_map``.

    Returns
    -------
    Figure
        One panel for each kind of wire.
    """
    wires = [str(wire) for wire in dataset["wire"].values]
    figure = new_figure(86.0)
    panels = figure.subplots(1, len(wires), sharey=True, squeeze=False)[0]
    for axes, wire in zip(panels, wires, strict=True):
        chance = 100.0 * dataset["takeover_chance"].sel(wire=wire).values
        axes.imshow(chance, cmap="cividis", vmin=0.0, vmax=100.0, origin="lower", aspect="auto")
        for (row, column), value in np.ndenumerate(chance):
            colour = "white" if value < 50.0 else "black"
            axes.text(
                column, row, f"{value:.0f} %", ha="center", va="center", color=colour, fontsize=8
            )
        recruits = dataset["recruitment"].values
        axes.set_xticks(
            range(recruits.size), [f"{r:,.0f}\n({r * 0.3048**2:,.0f})" for r in recruits]
        )
        axes.set_xlabel("Young oysters a year, per m² (per ft²)")
        axes.set_title(f"Cage and rings: {wire}")
        axes.tick_params(length=0)
        axes.grid(visible=False)
        for spine in axes.spines.values():
            spine.set_visible(False)
    lives = dataset["branch_life"].values
    panels[0].set_yticks(range(lives.size), [f"{life:g}" for life in lives])
    panels[0].set_ylabel("Life of the branches (years to 1/e)")
    attrs = dataset.attrs
    text = READING.format(
        n=attrs["members"],
        share=attrs["takeover_share"],
        years=attrs["years"],
        invented="Invented data. " if "invented" in attrs["comment"].lower() else "",
        source=attrs["source"],
        title=attrs["title"],
    ).replace("%", " %")
    figure.text(0.01, 0.012, text, fontsize=7, color=MUTED, linespacing=1.35)
    figure.get_layout_engine().set(rect=(0.004, 0.10, 0.99, 0.90))  # type: ignore[union-attr, call-arg]
    figure.suptitle(textwrap.fill(headline(dataset), TITLE_CHARACTERS), x=0.01, ha="left")
    return figure
