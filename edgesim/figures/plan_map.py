"""Plan of the shore at true scale: the edge through the years, walls and reef."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from edgesim.figures.style import (
    FEET_PER_METRE,
    FIGURE_WIDTH,
    IN_MOST,
    MARSH,
    MUD,
    SHELL,
    WATER,
    WOOD,
    featured_option,
    finish,
    first_edge,
    in_words,
    last_range,
    last_year,
    median,
    members_of,
    name_panel,
    new_figure,
    option_looks,
    option_names,
    second_axis,
    styled,
)
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.indicators import NO_ACTION, record_of_year
from edgesim.outcomes.summary import member_quantiles

YEARS = (0, 1, 3, 5, 10, 20, 30)
COLUMNS = 2
PANEL_WIDTH = FIGURE_WIDTH / COLUMNS - 15.0
"""Room for a panel between the axes' labels. [mm]"""

MARGIN = 2.0
"""Water and marsh shown beyond the outermost things drawn. [m]"""

READING = "lines median edges, shade 50 % of members about the last edge. True scale."


def records(dataset: xr.Dataset) -> dict[int, int]:
    """Find the records of the years drawn: year to index."""
    elapsed = years_elapsed(dataset)
    found = {year: record_of_year(elapsed, year) for year in sorted({*YEARS, last_year(dataset)})}
    return {year: record for year, record in found.items() if record is not None}


def headline(dataset: xr.Dataset) -> str:
    """Say how much marsh the featured option keeps, or how far the edge goes without any."""
    option, year = featured_option(dataset), last_year(dataset)
    if option == NO_ACTION:
        worst = in_words(last_range(dataset, "retreat_worst", option), "m")
        return f"Largest local retreat by year {year}: {worst} {IN_MOST}"
    kept = in_words(last_range(dataset, "land_kept", option), "m²", 0)
    return f"By year {year}, with {option}, {kept} of marsh stand that no action loses {IN_MOST}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    drawn = ", ".join(str(year) for year in records(dataset))
    return (
        f"Plan maps at true scale, one panel an option ({', '.join(option_names(dataset))}), with the "
        f"median marsh edge at years {drawn}, the walls and the reef. {headline(dataset)}."
    )


@styled
def plan_map(dataset: xr.Dataset) -> Figure:
    """Draw the median edge at a few years, true scale, one panel an option.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and above.
    """
    looks = option_looks(dataset)
    low, high = _extent(dataset)
    panel_height = min(PANEL_WIDTH * (high - low) / float(dataset["shore_length"]), 120.0)
    rows = int(np.ceil(len(looks) / COLUMNS))
    figure = new_figure(45.0 + rows * (panel_height + 8.0))
    grid = figure.subplots(rows, COLUMNS, sharex=True, sharey=True, squeeze=False)
    panels = list(grid.flat)
    for spare in panels[len(looks) :]:
        spare.remove()
    for index, (axes, option) in enumerate(zip(panels, looks, strict=False)):
        _panel(axes, dataset, option)
        axes.set(xlim=dataset["alongshore"].values[[0, -1]], ylim=(low, high), aspect="equal")
        name_panel(axes, option, looks[option], pad=3)
        _frame(axes, index, len(looks))
    finish(figure, dataset, headline(dataset), READING, _legend(dataset))
    return figure


def _extent(dataset: xr.Dataset) -> tuple[float, float]:
    """Cross-shore range that holds lines and edges, from the first edge, in metres."""
    origin = first_edge(dataset)
    ends = dataset["edge_position"].isel(time=[0, -1]).quantile(0.95, dim="member")
    seaward = [
        float(dataset[name]) for name in ("wall_position", "reef_position") if name in dataset
    ]
    low, high = min([float(ends.min()), *seaward]), float(ends.max())
    return low - origin - 1.5 * MARGIN, high - origin + MARGIN


def _colours(dataset: xr.Dataset) -> dict[int, tuple[float, float, float, float]]:
    """Dark to light by year, so that the order survives grey print."""
    drawn = list(records(dataset))
    shades = np.linspace(0.0, 0.78, len(drawn))
    return {year: colormaps["inferno"](shade) for year, shade in zip(drawn, shades, strict=True)}


def _panel(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    along, origin = dataset["alongshore"].values, first_edge(dataset)
    edge = members_of(dataset, "edge_position", option) - origin
    first, colours = dataset["initial_edge"].values - origin, _colours(dataset)
    _, lower, last, upper, _ = member_quantiles(edge[:, -1])
    landward_end = float(dataset["cross_shore"].values[-1]) - origin
    axes.set_facecolor(WATER)
    axes.fill_between(along, last, landward_end, color=MARSH, lw=0)
    axes.fill_between(along, first, last, where=last >= first, color=MUD, lw=0)
    axes.fill_between(along, lower, upper, color=colours[max(colours)], alpha=0.35, lw=0)
    for year, record in records(dataset).items():
        axes.plot(along, median(edge[:, record]), color=colours[year], lw=1.6 if year == 0 else 1.1)
    _draw_lines(axes, dataset, option, origin)
    axes.grid(visible=False)
    axes.text(0.985, 0.04, "channel", transform=axes.transAxes, ha="right", style="italic")
    axes.text(0.985, 0.96, "marsh", transform=axes.transAxes, ha="right", va="top", style="italic")


def _draw_lines(axes: Axes, dataset: xr.Dataset, option: str, origin: float) -> None:
    if has_walls(dataset, option):
        thick = float(dataset["wall_thickness"])
        _runs(axes, dataset, "wall", float(dataset["wall_position"]) - origin, thick, WOOD)
    if has_reef(dataset, option):
        wide = float(dataset["reef_width"])
        _runs(axes, dataset, "reef", float(dataset["reef_position"]) - origin, wide, SHELL)


def _runs(
    axes: Axes, dataset: xr.Dataset, line: str, centre: float, thickness: float, colour: str
) -> None:
    spans = zip(dataset[f"{line}_start"].values, dataset[f"{line}_end"].values, strict=True)
    for start, end in spans:
        corner = (start, centre - thickness / 2)
        axes.add_patch(Rectangle(corner, end - start, thickness, fc=colour, ec="#333333", lw=0.4))


def _frame(axes: Axes, index: int, count: int) -> None:
    """Label the outer sides only: metres left and below, feet right and above."""
    bottom, right = index + COLUMNS >= count, index % COLUMNS == COLUMNS - 1 or index == count - 1
    if index % COLUMNS == 0:
        axes.set_ylabel("Landward of first edge (m)")
    if bottom:
        axes.set_xlabel("Along the shore (m)")
        axes.tick_params(labelbottom=True)
    if right:
        second_axis(axes, FEET_PER_METRE, "Landward (ft)")
    if index < COLUMNS:
        second_axis(axes, FEET_PER_METRE, "Along the shore (ft)", top=True)


def _legend(dataset: xr.Dataset) -> list[Line2D | Patch]:
    handles: list[Line2D | Patch] = [
        Line2D([], [], color=colour, label=f"edge, year {year}" if year == 0 else f"year {year}")
        for year, colour in _colours(dataset).items()
    ]
    handles.append(Patch(fc=MUD, label="marsh lost"))
    if "wall_position" in dataset:
        handles.append(Patch(fc=WOOD, ec="#333333", lw=0.4, label="walls"))
    if "reef_position" in dataset:
        handles.append(Patch(fc=SHELL, ec="#333333", lw=0.4, label="reef"))
    return handles
