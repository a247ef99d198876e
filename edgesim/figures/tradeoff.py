"""What money buys: cost against marsh kept and oysters, option by option."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from edgesim.figures.style import (
    IN_MOST,
    Look,
    featured_option,
    finish,
    last_year,
    members_of,
    new_figure,
    option_looks,
    second_axis,
    styled,
)
from edgesim.outcomes.cash import unit_costs
from edgesim.outcomes.summary import METRES_PER_FOOT, member_quantiles

READING = (
    "marks medians, crosses 90 % of members in the last year. Ring: no other option is cheaper and "
    "better in both at the medians."
)

Floats = NDArray[np.float64]


def _last(dataset: xr.Dataset, name: str, option: str) -> Floats:
    values = members_of(dataset, name, option)[:, -1]
    return np.nan_to_num(values) if name == "oyster_density" else values


def undominated(dataset: xr.Dataset) -> list[str]:
    """Options that no other beats or equals in cost, marsh and oysters, with one better."""
    points = {
        option: (
            -float(np.median(_last(dataset, "cost", option))),
            float(np.median(_last(dataset, "land_kept", option))),
            float(np.median(_last(dataset, "oyster_density", option))),
        )
        for option in option_looks(dataset)
    }

    def beaten(name: str) -> bool:
        mine = points[name]
        return any(
            all(theirs >= ours for theirs, ours in zip(other, mine, strict=True)) and other != mine
            for other in points.values()
        )

    return [name for name in points if not beaten(name)]


def headline(dataset: xr.Dataset) -> str:
    """Say what a square metre of marsh costs with the featured option, as the table of money does."""
    option = featured_option(dataset)
    found = unit_costs(dataset, option)
    if not found.per_area.size:
        return f"No member keeps marsh with {option} that no action loses"
    low, *_, high = member_quantiles(found.per_area)
    foot = METRES_PER_FOOT**2
    most = IN_MOST.replace("members", "the members that keep any") if found.without else IN_MOST
    return (
        f"A square metre of marsh kept by {option} costs {low:,.0f} to {high:,.0f} "
        f"{dataset.attrs['currency']} ({low * foot:,.0f} to {high * foot:,.0f} a square foot) "
        f"over {last_year(dataset)} years {most}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    points = "; ".join(
        f"{option} {np.median(_last(dataset, 'cost', option)):,.0f} {dataset.attrs['currency']}, "
        f"{np.median(_last(dataset, 'land_kept', option)):.0f} m2, "
        f"{np.median(_last(dataset, 'oyster_density', option)):.0f} oysters per m2"
        for option in option_looks(dataset)
    )
    return (
        "Two scatter plots of cost against marsh kept in square metres and square feet and against live "
        f"oysters. {headline(dataset)}. Medians: {points}. Not beaten: {', '.join(undominated(dataset))}."
    )


@styled
def tradeoff(dataset: xr.Dataset) -> Figure:
    """Draw cost against marsh kept and against oysters at the end.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Two panels.
    """
    figure = new_figure(98.0)
    land, oysters = figure.subplots(1, 2)
    best = undominated(dataset)
    for option, look in option_looks(dataset).items():
        for axes, name in ((land, "land_kept"), (oysters, "oyster_density")):
            _point(axes, dataset, name, option, look, ringed=option in best)
    money = f"1000 {dataset.attrs['currency']} of {dataset.attrs['price_year']}"
    for axes in (land, oysters):
        axes.set_xlabel(f"Money spent ({money})")
        axes.margins(0.12, 0.12)
        axes.grid(axis="both")
    land.set_title("Marsh kept against no action")
    land.set_ylabel("Marsh kept (m²)")
    second_axis(land, 1.0 / METRES_PER_FOOT**2, "Marsh kept (ft²)")
    oysters.set_title("Live oysters on the reef")
    oysters.set_ylabel("Oysters (per m²)")
    second_axis(oysters, METRES_PER_FOOT**2, "Oysters (per ft²)")
    handles = [
        Line2D([], [], ls="", marker=look.marker, color=look.colour, ms=6, label=option)
        for option, look in option_looks(dataset).items()
    ]
    finish(figure, dataset, headline(dataset), READING, handles)
    return figure


def _point(
    axes: Axes, dataset: xr.Dataset, name: str, option: str, look: Look, *, ringed: bool
) -> None:
    x = member_quantiles(_last(dataset, "cost", option) / 1000.0)
    y = member_quantiles(_last(dataset, name, option))
    axes.errorbar(
        x[2],
        y[2],
        xerr=[[x[2] - x[0]], [x[4] - x[2]]],
        yerr=[[y[2] - y[0]], [y[4] - y[2]]],
        fmt=look.marker,
        color=look.colour,
        ms=6,
        elinewidth=1.0,
        capsize=2,
        zorder=3,
    )
    if ringed:
        axes.plot(x[2], y[2], marker="o", mfc="none", mec="#222222", mew=1.1, ms=13, zorder=4)
