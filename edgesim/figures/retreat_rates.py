"""How fast the edge went back: bars with error, from surveys or from the rate given."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLACK,
    FEET_PER_METRE,
    MUTED,
    SKY,
    finish,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.history import Rate, edge_lines, rates
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import member_quantiles

READING = "bars medians, lines 90 % of what surveys or members allow."

NINETY = 1.645
"""Half width of a 90 % band in standard deviations."""

GIVEN = "as given\nin the scenario"
POSTERIOR = "by the surveys\nin site.history"


def _bars(dataset: xr.Dataset) -> list[tuple[str, float, float, float]]:
    """Name, median and 90 % band of every rate. [m year-1]."""
    found: list[Rate] = rates(edge_lines(dataset))
    bars = [
        (rate.name, rate.rate, rate.rate - NINETY * rate.error, rate.rate + NINETY * rate.error)
        for rate in found
    ]
    given = dataset["surveyed_retreat_rate"].values
    is_posterior = "site.history" in dataset["surveyed_retreat_rate"].attrs.get("comment", "")
    label = POSTERIOR if is_posterior else GIVEN
    bars.append((label, float(given[2]), float(given[0]), float(given[-1])))
    years = years_elapsed(dataset)[-1]
    ahead = member_quantiles(
        dataset["retreat"].sel(option=NO_ACTION).values[:, -1] / years
    )  # the forecast begins where the history ends
    name = f"forecast,\n{NO_ACTION}"
    bars.append((name, float(ahead[2]), float(ahead[0]), float(ahead[-1])))
    return bars


def headline(dataset: xr.Dataset) -> str:
    """Say the rate that the forecast was fitted to."""
    low, high = dataset["surveyed_retreat_rate"].values[[0, -1]]
    feet = (low * FEET_PER_METRE, high * FEET_PER_METRE)
    return (
        f"The edge goes back by {low:.2f} to {high:.2f} m/yr ({feet[0]:.1f} to {feet[1]:.1f} ft/yr) "
        "by the surveys (90 % band)"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    bars = "; ".join(
        f"{' '.join(name.split())} {middle:.2f} ({low:.2f} to {high:.2f})"
        for name, middle, low, high in _bars(dataset)
    )
    return (
        f"Bars of retreat in metres and feet a year with 90 % bands: {bars}. {headline(dataset)}."
    )


@styled
def retreat_rates(dataset: xr.Dataset) -> Figure:
    """Draw retreat rates with their errors.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site and a surveyed rate.

    Returns
    -------
    Figure
        Metres a year at the left, feet a year at the right.
    """
    bars = _bars(dataset)
    figure = new_figure(85.0)
    axes = figure.subplots()
    x = np.arange(len(bars))
    middle, low, high = np.array([bar[1:] for bar in bars]).T
    colours = ["#BBBBBB" if "forecast" in bar[0] else SKY for bar in bars]
    hatches = ["////" if "forecast" in bar[0] else "" for bar in bars]
    axes.bar(x, middle, 0.5, color=colours, hatch=hatches, ec="#333333", lw=0.6)
    axes.errorbar(
        x, middle, yerr=[middle - low, high - middle], fmt="none", ecolor=BLACK, capsize=4
    )
    for place, bar in zip(x, bars, strict=True):
        axes.annotate(
            f"{bar[1]:.2f} m/yr\n{bar[1] * FEET_PER_METRE:.1f} ft/yr",
            (place, bar[3]),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            fontsize=7,
        )
    axes.set_xticks(x, [bar[0] for bar in bars])
    axes.set(
        xlim=(-0.6, max(len(bars) - 0.4, 2.4)),
        ylim=(min(0.0, float(low.min())), float(high.max()) * 1.3),
    )
    axes.set_ylabel("Retreat (m/yr)")
    second_axis(axes, FEET_PER_METRE, "Retreat (ft/yr)")
    if len(bars) == 2:
        words = (
            "bars of single\nperiods:\nnot provided\n(no edge lines\nof the past in\nthe scenario)"
        )
        axes.text(
            2.0,
            0.5,
            words,
            transform=axes.get_xaxis_transform(),
            fontsize=7,
            color=MUTED,
            ha="center",
            va="center",
            style="italic",
        )
    finish(figure, dataset, headline(dataset), READING)
    return figure
