"""How likely each trigger stands at red, year by year."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from edgesim.figures.style import (
    EVIDENCE_YEARS,
    MUTED,
    featured_option,
    finish,
    last_year,
    new_figure,
    styled,
)
from edgesim.outcomes.triggers import Trigger, chances, modelled

READING = "each cell the share of members in red in that year (per cent). Thresholds are judgement and editable."

LEVELS = (
    (0.2, "#DDF1E7", "", "below 20 %"),
    (0.5, "#E3A72F", "....", "20 to 50 %"),
    (1.01, "#C8553D", "////", "above 50 %: expect to act"),
)
"""Upper end, colour, hatching and words: light to dark, so that grey print keeps the order."""

COLUMNS = 15
"""Most years shown side by side."""


def _look(chance: float) -> tuple[float, str, str, str]:
    return next(level for level in LEVELS if chance < level[0])


def _rows(dataset: xr.Dataset) -> list[tuple[Trigger, dict[int, float]]]:
    option = featured_option(dataset)
    found = ((trigger, chances(dataset, trigger, option)) for trigger in modelled(dataset, option))
    return [(trigger, chance) for trigger, chance in found if chance]


def _years(dataset: xr.Dataset) -> list[int]:
    last = last_year(dataset)
    step = -(-last // COLUMNS)
    return sorted({*range(step, last + 1, step), last})


def headline(dataset: xr.Dataset) -> str:
    """Say which triggers are more likely red than not, and from when."""
    option = featured_option(dataset)
    found = []
    for trigger, chance in _rows(dataset):
        first = next((year for year, share in chance.items() if share > 0.5), None)
        if first is not None:
            found.append((first, trigger.name))
    count = len(_rows(dataset))
    if not found:
        return f"None of {count} triggers is more likely red than not with {option}"
    first, name = min(found)
    return (
        f"With {option} {len(found)} of {count} triggers turn red in more than half of the members, "
        f"first “{name}” (year {first})"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    last = "; ".join(
        f"{trigger.name} {100 * list(chance.values())[-1]:.0f} %"
        for trigger, chance in _rows(dataset)
    )
    return (
        f"Grid of triggers by year with the chance of red for {featured_option(dataset)}. {headline(dataset)}. "
        f"In year {last_year(dataset)}: {last}."
    )


@styled
def trigger_chart(dataset: xr.Dataset) -> Figure:
    """Draw the chance of red for every trigger that the forecast can judge.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Rows triggers, columns years.
    """
    rows, years = _rows(dataset), _years(dataset)
    figure = new_figure(30.0 + 7.5 * len(rows))
    axes = figure.subplots()
    for y, (_, chance) in enumerate(rows):
        for x, year in enumerate(years):
            _cell(axes, x, y, chance.get(year))
    axes.set(xlim=(0, len(years)), ylim=(len(rows), 0))
    axes.set_xticks(np.arange(len(years)) + 0.5, [str(year) for year in years])
    axes.set_yticks(np.arange(len(rows)) + 0.5, [trigger.name for trigger, _ in rows])
    axes.tick_params(length=0)
    axes.grid(visible=False)
    axes.set_xlabel("Years after building")
    beyond = sum(year <= EVIDENCE_YEARS for year in years)
    if beyond < len(years):
        axes.axvline(beyond, color=MUTED, lw=1.2, ls=(0, (4, 2)))
        axes.annotate(
            "beyond the evidence of monitored sites",
            (beyond, 0),
            xytext=(3, 3),
            textcoords="offset points",
            fontsize=7,
            style="italic",
            color=MUTED,
        )
    handles = [
        Patch(fc=colour, hatch=hatch, ec="#333333", lw=0.4, label=words)
        for _, colour, hatch, words in LEVELS
    ]
    finish(figure, dataset, headline(dataset), READING, handles)
    return figure


def _cell(axes: Axes, x: int, y: int, chance: float | None) -> None:
    if chance is None:
        axes.add_patch(Rectangle((x, y), 1, 1, fc="#F7F7F7", ec="white", lw=1.0))
        return
    _, colour, hatch, _ = _look(chance)
    axes.add_patch(Rectangle((x, y), 1, 1, fc=colour, ec="#FFFFFF", lw=1.0))
    if hatch:
        axes.add_patch(
            Rectangle((x, y), 1, 1, fc="none", ec="#00000033", hatch=hatch, lw=0, zorder=1.5)
        )
    text = axes.text(x + 0.5, y + 0.52, f"{100 * chance:.0f}", ha="center", va="center", fontsize=7)
    text.set_bbox({"facecolor": colour, "edgecolor": "none", "pad": 0.8})
