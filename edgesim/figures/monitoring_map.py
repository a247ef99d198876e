"""Where to measure: transects behind the design and at a control, stations on the lines."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from edgesim.figures.style import (
    BLUE,
    FEET_PER_METRE,
    GREEN,
    MARSH,
    PURPLE,
    SHELL,
    VERMILLION,
    WATER,
    WOOD,
    finish,
    first_edge,
    halo,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.layout import PAIRS, monitoring_layout, spans

READING = (
    "a proposal from the layout of the design: before and after, here and at a control. Move stations to "
    "what the ground allows."
)

SAMPLE = "The design"

INLAND = 6.0
"""How far transects reach into the marsh. [m]"""


def _out(dataset: xr.Dataset) -> float:
    """Distance of the outermost line from the edge. [m]."""
    origin = first_edge(dataset)
    lines = [
        origin - float(dataset[f"{key}_position"])
        for key in ("wall", "reef")
        if f"{key}_position" in dataset
    ]
    return max([*lines, 5.0])


def headline(dataset: xr.Dataset) -> str:
    """Say how many transects, and whether the shore has room for a control."""
    layout = monitoring_layout(dataset)
    low, high = float(layout.control.min()), float(layout.control.max())
    if not layout.room:
        return f"{PAIRS} transects behind the design; the control must be found beyond this shore"
    return (
        f"{PAIRS} transects behind the design and {PAIRS} at a control {low:.0f} to {high:.0f} m along the shore "
        f"({low * FEET_PER_METRE:.0f} to {high * FEET_PER_METRE:.0f} ft)"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    layout = monitoring_layout(dataset)
    places = ", ".join(f"{place:.0f}" for place in layout.reach)
    return (
        f"Plan in metres and feet with transects at {places} m behind the design, a control, pairs of wave "
        f"loggers on either side of the lines and marker plots in the marsh. {headline(dataset)}."
    )


@styled
def monitoring_map(dataset: xr.Dataset) -> Figure:
    """Draw the proposed transects and stations.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and on top.
    """
    out, along = _out(dataset), dataset["alongshore"].values
    low = -out - 5.0
    figure = new_figure(62.0 + 132.0 * (INLAND + 2.0 - low) / float(dataset["shore_length"]))
    axes = figure.subplots()
    edge = dataset["initial_edge"].values - first_edge(dataset)
    axes.set_facecolor(WATER)
    axes.fill_between(along, edge, INLAND + 2.0, color=MARSH, lw=0)
    axes.plot(along, edge, color="black", lw=1.3)
    _lines(axes, dataset)
    _stations(axes, dataset, out)
    axes.set(xlim=(along[0], along[-1]), ylim=(low, INLAND + 2.0), aspect="equal")
    axes.grid(visible=False)
    axes.set_xlabel("Along the shore (m)")
    axes.set_ylabel("Landward of the edge (m)")
    second_axis(axes, FEET_PER_METRE, "Landward of the edge (ft)")
    second_axis(axes, FEET_PER_METRE, "Along the shore (ft)", top=True)
    finish(figure, dataset, headline(dataset), READING, _legend(dataset), sample=SAMPLE)
    return figure


def _lines(axes: Axes, dataset: xr.Dataset) -> None:
    for key, colour, width in (
        ("wall", WOOD, "wall_thickness"),
        ("reef", SHELL, "reef_width"),
    ):
        for start, end in spans(dataset, key):
            thick = float(dataset[width])
            centre = float(dataset[f"{key}_position"]) - first_edge(dataset)
            axes.add_patch(
                Rectangle(
                    (start, centre - thick / 2), end - start, thick, fc=colour, ec="#333333", lw=0.4
                )
            )


def _stations(axes: Axes, dataset: xr.Dataset, out: float) -> None:
    layout = monitoring_layout(dataset)
    groups = [(layout.reach, VERMILLION, "T", "-")]
    if layout.room:
        groups.append((layout.control, BLUE, "C", "--"))
    for places, colour, letter, line in groups:
        for number, x in enumerate(places, start=1):
            axes.plot([x, x], [-out - 3.0, INLAND], color=colour, ls=line, lw=1.1, zorder=4)
            name = axes.text(
                x, INLAND + 0.3, f"{letter}{number}", ha="center", fontsize=7, color=colour
            )
            halo(name)
        for x in places[[0, PAIRS // 2, -1]]:
            axes.plot(x, 3.0, marker="s", color=GREEN, mec="white", ms=5, ls="", zorder=5)
    origin = first_edge(dataset)
    middle = float(np.mean(layout.reach[[1, 2]]))
    for key in ("wall", "reef"):
        if f"{key}_position" in dataset:
            centre = float(dataset[f"{key}_position"]) - origin
            for side in (-1.4, 1.4):
                axes.plot(
                    middle,
                    centre + side,
                    marker="^",
                    color=PURPLE,
                    mec="white",
                    ms=6,
                    ls="",
                    zorder=6,
                )


def _legend(dataset: xr.Dataset) -> list[Line2D | Patch]:
    room = monitoring_layout(dataset).room
    handles: list[Line2D | Patch] = [Line2D([], [], color=VERMILLION, label="transect here")]
    if room:
        handles.append(Line2D([], [], color=BLUE, ls="--", label="at the control"))
    handles += [
        Line2D([], [], ls="", marker="^", color=PURPLE, label="wave logger"),
        Line2D([], [], ls="", marker="s", color=GREEN, label="marker plot"),
    ]
    for key, colour, words in (("wall", WOOD, "walls"), ("reef", SHELL, "reef")):
        if f"{key}_position" in dataset:
            handles.append(Patch(fc=colour, ec="#333333", lw=0.4, label=words))
    return handles
