"""Edge lines of the past on the plan, with the transects at which rates are taken."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib import colormaps
from matplotlib.figure import Figure

from edgesim.figures.style import (
    FEET_PER_METRE,
    MARSH,
    MUTED,
    WATER,
    both_lengths,
    finish,
    first_edge,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.history import EdgeLine, edge_lines, transects

READING = "lines surveyed edges, shade their standard error, dotted the transects at which rates are taken."

SAMPLE = "Surveys of the edge"


def _span(lines: list[EdgeLine]) -> str:
    return f"{lines[0].year:.0f} to {lines[-1].year:.0f}"


def headline(dataset: xr.Dataset) -> str:
    """Say how far the edge went back between the first and the last survey."""
    lines = edge_lines(dataset)
    moved = float(np.mean(lines[-1].offset - lines[0].offset))
    error = float(np.hypot(lines[0].error, lines[-1].error))
    low, high = both_lengths(moved - 1.645 * error), both_lengths(moved + 1.645 * error)
    return f"From {_span(lines)} the edge went back by {low} to {high} (90 % of the survey error)"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    lines = edge_lines(dataset)
    names = ", ".join(line.name for line in lines)
    return (
        f"Plan with {len(lines)} surveyed edge lines ({names}) in metres and feet along and across the "
        f"shore. {headline(dataset)}."
    )


@styled
def edge_history(dataset: xr.Dataset) -> Figure:
    """Draw the surveyed edge lines, oldest lightest.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast whose scenario lists edge surveys.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and on top.
    """
    lines = edge_lines(dataset)
    figure = new_figure(92.0)
    axes = figure.subplots()
    along = dataset["alongshore"].values
    axes.set_facecolor(WATER)
    today = lines[-1].offset
    low = min(float(np.min(line.offset - line.error)) for line in lines) - 1.0
    high = max(float(np.max(line.offset + line.error)) for line in lines) + 1.5
    axes.fill_between(along, today, high, color=MARSH, lw=0)
    shades = colormaps["inferno"](np.linspace(0.75, 0.0, len(lines)))
    styles = ("-", "--", "-.", ":")
    for index, (line, shade) in enumerate(zip(lines, shades, strict=True)):
        axes.fill_between(
            along, line.offset - line.error, line.offset + line.error, color=shade, alpha=0.2, lw=0
        )
        style = styles[(len(lines) - 1 - index) % len(styles)]
        axes.plot(along, line.offset, color=shade, ls=style, label=line.name)
    for place in transects(along):
        axes.axvline(place, color=MUTED, lw=0.7, ls=":")
    origin = float(np.mean(dataset["initial_edge"].values - first_edge(dataset)))
    axes.set(xlim=(along[0], along[-1]), ylim=(low + origin, high + origin))
    axes.set_xlabel("Along the shore (m)")
    axes.set_ylabel("Landward of today's mean edge (m)")
    second_axis(axes, FEET_PER_METRE, "Landward (ft)")
    second_axis(axes, FEET_PER_METRE, "Along the shore (ft)", top=True)
    axes.grid(visible=False)
    handles = axes.get_legend_handles_labels()[0]
    finish(figure, dataset, headline(dataset), READING, handles, sample=SAMPLE)
    return figure
