"""The site on its waterway: shore, sailing lines, compass, scale; what is not known says so."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    FEET_PER_METRE,
    MARSH,
    MUTED,
    OPTION_LOOKS,
    VERMILLION,
    WATER,
    both_lengths,
    finish,
    halo,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.embedded import scenario_of

READING = "local plane of the site, true scale, landward up. Sailing lines are usual distances of the classes of boats."

SAMPLE = "Inputs of the scenario"


def _lines(dataset: xr.Dataset) -> dict[str, float]:
    if "sailing_line" not in dataset:
        return {}
    return {
        str(name): float(dataset["sailing_line"].sel(boat_class=name))
        for name in dataset["boat_class"].values
    }


def headline(dataset: xr.Dataset) -> str:
    """Say how long the shore is and how near the boats pass."""
    length = both_lengths(float(dataset["shore_length"]))
    lines = _lines(dataset).values()
    text = f"{scenario_of(dataset).site.name}: {length} of shore"
    if lines:
        text += f", boats pass {min(lines):.0f} to {max(lines):.0f} m ({min(lines) * FEET_PER_METRE:.0f} to {max(lines) * FEET_PER_METRE:.0f} ft) off"
    return text


def _unknown(dataset: xr.Dataset) -> list[str]:
    """Words for what a location map shows, given or not."""
    plan = scenario_of(dataset).plan
    return [
        f"Place: {plan.location or 'not provided'}",
        f"Coordinate system: {plan.coordinate_system or 'not provided'}",
        f"Cables and pipes: {plan.utilities or 'not provided: ask before driving posts'}",
    ]


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    lines = ", ".join(f"{name} at {both_lengths(off)}" for name, off in _lines(dataset).items())
    return (
        f"Sketch map at true scale in metres and feet with the shore, the reach of the design and sailing lines: "
        f"{lines or 'none'}. {headline(dataset)}. {'. '.join(_unknown(dataset))}."
    )


@styled
def location_map(dataset: xr.Dataset) -> Figure:
    """Draw the shore, the reach of the design and the sailing lines.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and on top.
    """
    figure = new_figure(135.0)
    axes = figure.subplots()
    length, lines = float(dataset["shore_length"]), _lines(dataset)
    off = max([*lines.values(), 20.0])
    low, high = -1.4 * off, 0.28 * off
    across = max(length, 1.6 * (high - low))
    left = 0.5 * (length - across)
    along = dataset["alongshore"].values
    axes.set_facecolor(WATER)
    edge = dataset["initial_edge"].values
    places = np.concatenate([[left], along, [left + across]])
    line = np.pad(edge - edge.mean(), 1, mode="edge")
    axes.fill_between(places, line, high, color=MARSH, lw=0)
    axes.plot(places, line, color="#888888", lw=1.0, ls="--")
    axes.plot(along, edge - edge.mean(), color="black", lw=1.6)
    start, end = float(dataset["defended_start"]), float(dataset["defended_end"])
    axes.plot([start, end], [0, 0], color=VERMILLION, lw=4.5, solid_capstyle="butt")
    _note(axes, 0.5 * (start + end), 2.0, "reach of the design", VERMILLION)
    _sail(axes, lines)
    axes.set(xlim=(left, left + across), ylim=(low, high), aspect="equal")
    _compass(axes, dataset)
    axes.text(
        0.015,
        0.03,
        "\n".join(_unknown(dataset)),
        transform=axes.transAxes,
        fontsize=7,
        color=MUTED,
        linespacing=1.4,
        bbox={"facecolor": "white", "alpha": 0.8, "edgecolor": "none", "pad": 2.0},
        zorder=8,
    )
    _note(axes, left + 0.97 * across, high - 0.14 * off, "marsh", "#333333", ha="right")
    axes.set_xlabel("Along the shore (m)")
    axes.set_ylabel("Landward of the edge (m)")
    second_axis(axes, FEET_PER_METRE, "Landward of the edge (ft)")
    second_axis(axes, FEET_PER_METRE, "Along the shore (ft)", top=True)
    axes.grid(visible=False)
    finish(figure, dataset, headline(dataset), READING, sample=SAMPLE)
    return figure


def _note(axes: Axes, x: float, y: float, words: str, colour: str, ha: str = "center") -> None:
    halo(axes.text(x, y, words, fontsize=7, color=colour, ha=ha, va="bottom", zorder=6))


def _sail(axes: Axes, lines: dict[str, float]) -> None:
    """Draw the usual sailing line of each class, and name them where no line runs."""
    for index, (name, off) in enumerate(sorted(lines.items(), key=lambda item: item[1])):
        look = OPTION_LOOKS[1 + index % (len(OPTION_LOOKS) - 1)]
        label = f"{name}, {both_lengths(off)} off"
        axes.axhline(-off, color=look.colour, ls=look.line, lw=1.3, label=label)
    if lines:
        axes.legend(loc="lower right", fontsize=7, frameon=True, framealpha=0.8, edgecolor="none")


def _compass(axes: Axes, dataset: xr.Dataset) -> None:
    """Draw the north arrow and a bar of ten metres."""
    faces = scenario_of(dataset).site.shore_faces
    if faces is None:
        axes.text(0.02, 0.9, "north: not provided", transform=axes.transAxes, fontsize=7)
    else:
        # Down on the map is the direction that the shore faces; north lies that much anticlockwise of down.
        x, y = float(np.sin(-faces + np.pi)), float(np.cos(-faces + np.pi))
        axes.annotate(
            "N",
            (0.06 - 0.035 * x, 0.87 - 0.055 * y),
            (0.06 + 0.035 * x, 0.87 + 0.055 * y),
            xycoords="axes fraction",
            textcoords="axes fraction",
            arrowprops={"arrowstyle": "<-", "lw": 1.2},
            fontsize=8,
            fontweight="bold",
            ha="center",
            va="center",
        )
    (left, right), (_, high) = axes.get_xlim(), axes.get_ylim()
    start = left + 0.14 * (right - left)
    axes.plot([start, start + 10.0], [0.5 * high] * 2, color="black", lw=2.5, solid_capstyle="butt")
    _note(axes, start + 5.0, 0.53 * high, "10 m (33 ft)", "#222222")
