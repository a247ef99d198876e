"""When boats pass: passages a day by month, on weekdays and at weekends."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import OPTION_LOOKS, finish, new_figure, styled

READING = (
    "bars expected passages a day in the first year, both directions; lines at their tops what is "
    "not known of the level of the traffic (90 %)."
)

SAMPLE = "Inputs of the scenario"

MONTHS = "JFMAMJJASOND"

COLOURS = tuple(look.colour for look in OPTION_LOOKS[1:])
HATCHES = ("", "////", "....", "xx", "----", "\\\\\\\\", "++++")


def _peaks(dataset: xr.Dataset) -> tuple[float, float, int]:
    total = dataset["passages"].sum("boat_class")
    weekend = total.sel(day_kind="weekend").values
    return (
        float(total.sel(day_kind="weekday").max()),
        float(weekend.max()),
        int(np.argmax(weekend)),
    )


def headline(dataset: xr.Dataset) -> str:
    """Say how many boats pass on the busiest days, with what is not known."""
    _, peak, month = _peaks(dataset)
    low, high = (peak * float(dataset["traffic_level"][end]) for end in (0, -1))
    name = np.datetime64(f"2000-{month + 1:02d}").astype(object).strftime("%B")
    return f"On a weekend day in {name} {low:.0f} to {high:.0f} boats pass (90 % of what the counts allow)"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    weekday, weekend, _ = _peaks(dataset)
    classes = ", ".join(str(name) for name in dataset["boat_class"].values)
    return (
        f"Two bar charts of boat passages a day by month, weekdays and weekends, stacked by class ({classes}). "
        f"The busiest month has {weekday:.0f} on a weekday and {weekend:.0f} on a weekend day. {headline(dataset)}."
    )


@styled
def traffic_calendar(dataset: xr.Dataset) -> Figure:
    """Draw expected passages by month, a panel for weekdays and one for weekends.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Figure
        Bars stacked by class.
    """
    figure = new_figure(92.0)
    panels = figure.subplots(1, 2, sharey=True)
    for axes, kind in zip(panels, dataset["day_kind"].values, strict=True):
        _panel(axes, dataset, str(kind))
    panels[0].set_ylabel("Passages (per day)")
    handles = [
        bars[0] for bars in panels[0].containers if hasattr(bars, "patches") and len(bars.patches)
    ]
    finish(figure, dataset, headline(dataset), READING, handles, sample=SAMPLE)
    return figure


def _panel(axes: Axes, dataset: xr.Dataset, kind: str) -> None:
    passages = dataset["passages"].sel(day_kind=kind)
    months = np.arange(12)
    bottom = np.zeros(12)
    for index, name in enumerate(passages["boat_class"].values):
        values = passages.sel(boat_class=name).values
        bars = axes.bar(
            months,
            values,
            0.8,
            bottom,
            color=COLOURS[index % len(COLOURS)],
            hatch=HATCHES[index % len(HATCHES)],
            ec="white",
            lw=0.3,
        )
        bars[0].set_label(str(name))
        bottom += values
    level = dataset["traffic_level"].values
    span = np.abs(np.outer(level[[0, -1]] - 1.0, bottom))
    axes.errorbar(
        months, bottom, yerr=span, fmt="none", ecolor="#222222", elinewidth=1.0, capsize=2
    )
    axes.set_xticks(months, list(MONTHS))
    axes.set_xlim(-0.6, 11.6)
    axes.set_xlabel("Month")
    axes.set_title("A weekday" if kind == "weekday" else "A day of a weekend")
