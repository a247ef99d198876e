"""Paired differences: what each design changes against the first one that builds something."""

from __future__ import annotations

from typing import Any

import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.study_style import design_looks, finish_study
from edgesim.figures.style import new_figure, styled
from edgesim.names import BY_NAME
from edgesim.outcomes.comparison import last_year_of, unit_of
from edgesim.outcomes.decisions import bands, chance_of_beating
from edgesim.outcomes.measures import LESS_IS_BETTER


def reference(dataset: xr.Dataset) -> int:
    """Place of the design that the others are held against: the first that builds something."""
    return 1 if dataset.sizes["design"] > 2 else 0


def headline(dataset: xr.Dataset) -> str:
    """Say the marsh that the last design keeps more than the reference, as a range."""
    names = [str(name) for name in dataset["design"].values]
    ref = reference(dataset)
    kept = dataset["land_kept"].values[0, :, :, -1]
    found = bands(kept[-1] - kept[ref])
    return f"{names[-1]} keeps {found[0]:.1f} to {found[4]:.1f} m2 more marsh than {names[ref]} (90 % of futures)"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Paired differences of marsh, retreat, money and oysters between designs through time. {headline(dataset)}."


@styled
def compare_differences(dataset: xr.Dataset) -> Figure:
    """Draw the difference of every design to the reference through the years, with bands.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison.

    Returns
    -------
    Figure
        One panel a quantity.
    """
    names = [str(name) for name in dataset["design"].values]
    looks, ref = design_looks(dataset), reference(dataset)
    others = [place for place in range(len(names)) if place != ref]
    years = dataset["year"].values.astype(float)
    figure = new_figure(150.0)
    grid = figure.add_gridspec(2, 2)
    handles: list[Any] = []
    for panel, quantity in enumerate(("land_kept", "retreat", "cost", "oyster_density")):
        axes = figure.add_subplot(grid[divmod(panel, 2)])
        values = dataset[quantity].values[0]
        scale = 1000.0 if quantity == "cost" else 1.0
        lines = []
        for place in others:
            look = looks[names[place]]
            found = bands((values[place] - values[ref]).T / scale)
            axes.fill_between(years, found[0], found[4], color=look.colour, alpha=0.12, lw=0)
            axes.fill_between(years, found[1], found[3], color=look.colour, alpha=0.25, lw=0)
            chance = chance_of_beating(
                values[place, :, -1], values[ref, :, -1], less_is_better=quantity in LESS_IS_BETTER
            )
            lines += axes.plot(
                years,
                found[2],
                color=look.colour,
                ls=look.line,
                marker=look.marker,
                ms=3.5,
                label=names[place],
            )
            axes.annotate(f"{chance:.0%}", (years[-1], found[2][-1]), xytext=(3, 0), textcoords="offset points", fontsize=7, color=look.colour, va="center")  # fmt: skip
        axes.axhline(0.0, color="black", lw=0.7)
        axes.set_xlim(0, years[-1] * 1.12)
        unit = unit_of(dataset, quantity).replace("m-2", "per m2")
        axes.set_ylabel(f"Difference [{'1000 ' if scale > 1 else ''}{unit}]")
        axes.set_title(f"{BY_NAME[quantity].label}", loc="left", fontsize=9)
        axes.set_xlabel("Years after building")
        handles = handles or lines
    figure.legend(handles=handles, loc="outside lower center", ncols=min(4, len(handles)))
    reading = f"{dataset.sizes['member']} futures, each met by all designs: difference to {names[ref]}, median, 50 % and 90 %; at the end: chance of being better in year {last_year_of(dataset)}."
    finish_study(figure, dataset, headline(dataset), reading)
    return figure
