"""Plan of the design: walls, gaps, units, and distances that permits ask for."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from edgesim.figures.style import (
    BLUE,
    FEET_PER_METRE,
    MARSH,
    MUTED,
    SHELL,
    VERMILLION,
    WATER,
    WOOD,
    both_lengths,
    finish,
    first_edge,
    halo,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.layout import PERMIT_DISTANCE, contour_distance, gaps, spans

READING = (
    "as designed, true scale; dashed where the surveyed bed meets mean low water, and 30 ft "
    "(9.14 m) beyond it. Distances only: ask the agency."
)

SAMPLE = "The design"

LANDWARD, SEAWARD = 3.0, 1.5
"""Marsh and water shown beyond what is drawn. [m]"""


def headline(dataset: xr.Dataset) -> str:
    """Say how many walls and how much reef stand how far out."""
    parts = []
    walls = spans(dataset, "wall")
    if len(walls):
        lengths = np.diff(walls, axis=1)
        words = f"{len(walls)} walls of {both_lengths(float(lengths.mean()))}"
        openings = gaps(walls)
        if openings.size:
            words += f" with gaps of {both_lengths(float(openings.mean()))}"
        parts.append(words)
    reef = spans(dataset, "reef")
    if len(reef):
        parts.append(f"{both_lengths(float(np.diff(reef, axis=1).sum()))} of reef")
    text = ", and ".join(parts)
    return text[0].upper() + text[1:]


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    origin = first_edge(dataset)
    places = "; ".join(
        f"{name} {both_lengths(origin - float(dataset[f'{key}_position']))} seaward of the edge"
        for key, name in (("wall", "walls"), ("reef", "reef"))
        if f"{key}_position" in dataset
    )
    return f"Plan of the design at true scale in metres and feet: {places}. {headline(dataset)}."


@styled
def design_plan(dataset: xr.Dataset) -> Figure:
    """Draw the lines as designed, with their sizes and with the permit's distances.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site and at least one line.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and on top.
    """
    origin = first_edge(dataset)
    reach = max(
        origin - float(dataset[f"{key}_position"])
        for key in ("wall", "reef")
        if f"{key}_position" in dataset
    )
    mlw = contour_distance(dataset, "MLW")
    limit = mlw + PERMIT_DISTANCE if np.isfinite(mlw) else reach
    low = -max(reach, min(limit, reach + 12.0)) - SEAWARD
    along = dataset["alongshore"].values
    length = float(along[-1] - along[0])
    height = 132.0 * (LANDWARD - low) / length
    figure = new_figure(min(45.0 + height, 150.0))
    axes = figure.subplots()
    axes.set_facecolor(WATER)
    edge = origin - dataset["initial_edge"].values
    axes.fill_between(along, -edge, LANDWARD, color=MARSH, lw=0)
    axes.plot(along, -edge, color="black", lw=1.4)
    axes.set(xlim=(along[0], along[-1]), ylim=(low, LANDWARD), aspect="equal")
    for distance, words, colour in (
        (mlw, "mean low water", BLUE),
        (limit, "30 ft beyond mean low water", VERMILLION),
    ):
        if np.isfinite(mlw) and -distance > low:
            axes.axhline(-distance, color=colour, lw=1.0, ls=(0, (6, 2)))
            _words(axes, float(along[0]) + 0.4, -distance + 0.15, words, colour, ha="left")
    _line(axes, dataset, "wall", WOOD, "////")
    _line(axes, dataset, "reef", SHELL, "oo")
    _sizes(axes, dataset)
    _words(axes, float(along[-1]) - 0.4, 0.25 * LANDWARD, "marsh", "#333333", ha="right")
    _words(axes, float(along[-1]) - 0.4, low + 0.3, "channel side", "#333333", ha="right")
    axes.grid(visible=False)
    axes.set_xlabel("Along the shore (m)")
    axes.set_ylabel("Landward of the edge (m)")
    second_axis(axes, FEET_PER_METRE, "Landward of the edge (ft)")
    second_axis(axes, FEET_PER_METRE, "Along the shore (ft)", top=True)
    handles = [
        Patch(fc=colour, ec="#333333", hatch=hatch, lw=0.4, label=name)
        for key, name, colour, hatch in (
            ("wall", "walls", WOOD, "////"),
            ("reef", "reef", SHELL, "oo"),
        )
        if f"{key}_position" in dataset
    ]
    finish(figure, dataset, headline(dataset), READING, handles, sample=SAMPLE)
    return figure


def _words(axes: Axes, x: float, y: float, text: str, colour: str, ha: str) -> None:
    halo(axes.text(x, y, text, fontsize=7, color=colour, ha=ha, va="bottom", zorder=6))


def _line(axes: Axes, dataset: xr.Dataset, key: str, colour: str, hatch: str) -> None:
    if f"{key}_position" not in dataset:
        return
    centre = float(dataset[f"{key}_position"]) - first_edge(dataset)
    thick = float(dataset["wall_thickness" if key == "wall" else "reef_width"])
    for start, end in spans(dataset, key):
        corner = (start, centre - thick / 2)
        axes.add_patch(
            Rectangle(corner, end - start, thick, fc=colour, ec="#333333", hatch=hatch, lw=0.5)
        )


def _sizes(axes: Axes, dataset: xr.Dataset) -> None:
    """Write length of a wall, width of a gap and distances off."""
    origin = first_edge(dataset)
    walls = spans(dataset, "wall")
    if len(walls):
        y = float(dataset["wall_position"]) - origin - float(dataset["wall_thickness"]) / 2 - 0.5
        _size(axes, walls[0], y)
        if len(walls) > 1:
            _size(axes, np.array([walls[-2, 1], walls[-1, 0]]), y)
    for key in ("wall", "reef"):
        ends = spans(dataset, key)
        if not len(ends):
            continue
        place = float(dataset[f"{key}_position"]) - origin
        x = float(ends[-1, 1]) + (1.2 if key == "wall" else 3.2)
        axes.annotate(
            "",
            (x, place),
            (x, 0.0),
            arrowprops={"arrowstyle": "<->", "lw": 0.7, "shrinkA": 0, "shrinkB": 0},
        )
        words = both_lengths(-place)
        halo(axes.text(x + 0.3, place / 2, words, fontsize=7, color=MUTED, va="center", zorder=6))


def _size(axes: Axes, ends: np.ndarray[tuple[int], np.dtype[np.float64]], y: float) -> None:
    arrow = {"arrowstyle": "<->", "lw": 0.7, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (ends[0], y), (ends[1], y), arrowprops=arrow)
    words = both_lengths(float(ends[1] - ends[0])).replace(" (", "\n(")
    axes.text(
        float(np.mean(ends)),
        y - 0.25,
        words,
        fontsize=7,
        color=MUTED,
        ha="center",
        va="top",
        bbox={"facecolor": WATER, "edgecolor": "none", "pad": 0.6},
        zorder=6,
    )
