"""Paired differences: what each design changes against the first one that builds something."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from edgesim.figures.study_style import design_looks, finish_study, name_outcome
from edgesim.figures.style import label_ends, new_figure, second_axis, styled, year_axis
from edgesim.names import BY_NAME
from edgesim.outcomes.comparison import last_year_of, unit_of
from edgesim.outcomes.decisions import bands, chance_of_beating
from edgesim.outcomes.measures import LESS_IS_BETTER
from edgesim.outcomes.summary import ENGLISH_UNITS

QUANTITIES = ("land_kept", "retreat", "cost", "oyster_density")


def reference(dataset: xr.Dataset) -> tuple[int, list[int]]:
    """Design that others are held against, and the others: no action only where there is one design."""
    built = list(range(1, dataset.sizes["design"]))
    return (built[0], built[1:]) if len(built) > 1 else (0, built)


def headline(dataset: xr.Dataset) -> str:
    """Say the difference in marsh kept that is largest, as a range."""
    names = [str(name) for name in dataset["design"].values]
    first, others = reference(dataset)
    kept = dataset["land_kept"].values[0, :, :, -1]
    found = {place: bands(kept[place] - kept[first]) for place in others}
    most = max(others, key=lambda place: abs(found[place][2]))
    low, high = float(found[most][0]), float(found[most][4])
    feet = ENGLISH_UNITS["m2"][1]
    return (
        f"{names[most].capitalize()} against {names[first]}: {_signed(low)} to {_signed(high)} m2 "
        f"({_signed(low * feet, 0)} to {_signed(high * feet, 0)} ft2) of marsh kept (90 % of futures)"
    )


def _signed(value: float, digits: int = 1) -> str:
    return f"{np.round(value, digits) + 0.0:+,.{digits}f}"


def _per(unit: str) -> str:
    return unit.replace("m-2", "per m2").replace("ft-2", "per ft2")


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
    looks, (first, others) = design_looks(dataset), reference(dataset)
    years = dataset["year"].values.astype(float)
    figure = new_figure(140.0)
    grid = figure.add_gridspec(2, 2)
    for panel, quantity in enumerate(QUANTITIES):
        axes = figure.add_subplot(grid[divmod(panel, 2)])
        values = dataset[quantity].values[0]
        scale = 1000.0 if quantity == "cost" else 1.0
        ends = []
        for place in others:
            look = looks[names[place]]
            found = bands((values[place] - values[first]).T / scale)
            axes.fill_between(years, found[0], found[4], color=look.colour, alpha=0.12, lw=0)
            axes.fill_between(years, found[1], found[3], color=look.colour, alpha=0.25, lw=0)
            axes.plot(years, found[2], color=look.colour, ls=look.line, marker=look.marker, ms=3.5)
            chance = chance_of_beating(
                values[place, :, -1],
                values[first, :, -1],
                less_is_better=quantity in LESS_IS_BETTER,
            )
            ends.append((float(found[2][-1]), f"{chance:.0%}", look.colour))
        axes.axhline(0.0, color="black", lw=0.7)
        year_axis(axes, int(years[-1]), room=0.2)
        if axes.get_ylim()[1] - axes.get_ylim()[0] < 1e-9:
            axes.set_ylim(-1.0, 1.0)
        label_ends(axes, years[-1], ends)
        unit = unit_of(dataset, quantity)
        axes.set_ylabel(f"Difference [{'1000 ' if scale > 1 else ''}{_per(unit)}]")
        if unit in ENGLISH_UNITS:
            other, factor = ENGLISH_UNITS[unit]
            second_axis(axes, factor, f"Difference [{_per(other)}]")
        name_outcome(axes, BY_NAME[quantity].label)
    handles = [
        Line2D(
            [],
            [],
            color=looks[names[p]].colour,
            ls=looks[names[p]].line,
            marker=looks[names[p]].marker,
            label=names[p],
        )
        for p in others
    ]
    reading = (
        f"{dataset.sizes['member']} futures, each met by all designs: difference to {names[first]}, median, 50 % and "
        f"90 %; at the end: chance of being better in year {last_year_of(dataset)} (equal counts half)."
    )
    finish_study(figure, dataset, headline(dataset), reading, handles)
    return figure
