"""Wave power at the edge through time: by source, and by line of defence."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from edgesim.figures.style import (
    BLACK,
    BLUE,
    GREEN,
    IN_MOST,
    ORANGE,
    PURPLE,
    VERMILLION,
    Look,
    draw_bands,
    featured_option,
    finish,
    head_room,
    in_words,
    label_ends,
    last_range,
    last_year,
    members_of,
    name_panel,
    new_figure,
    note_evidence,
    option_looks,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.summary import METRES_PER_FOOT, member_quantiles

SOURCES = {
    "edge_power_wake": ("boat wakes", Look(PURPLE, "-", "s")),
    "edge_power_wind": ("wind waves", Look(GREEN, "--", "v")),
}

COLUMNS = 4

READING = (
    "line median, bands 50 % and (by source) 90 % of members. "
    "A year's waves on the ground and lines of the day."
)

Floats = NDArray[np.float64]


def _as_built(dataset: xr.Dataset, option: str) -> Floats:
    wake, wind = (members_of(dataset, name, option) for name in SOURCES)
    return wake + wind


def _by_line(dataset: xr.Dataset, option: str) -> dict[str, tuple[Floats, Look]]:
    """Power with no line, with each line alone, and with all, as they stand, for one option."""
    curves = {"no line": (members_of(dataset, "edge_power_open", option), Look(BLACK, "--", "x"))}
    both = has_walls(dataset, option) and has_reef(dataset, option)
    if has_walls(dataset, option):
        walls = members_of(dataset, "edge_power_walls", option)
        curves["walls alone" if both else "walls"] = (walls, Look(ORANGE, "-", "s"))
    if has_reef(dataset, option):
        reef = members_of(dataset, "edge_power_reef", option)
        curves["reef alone" if both else "reef"] = (reef, Look(BLUE, "-.", "^"))
    if both:
        curves["both"] = (_as_built(dataset, option), Look(VERMILLION, "-", "o"))
    return curves


def headline(dataset: xr.Dataset) -> str:
    """Say which share of the wave power reaches the edge at the end."""
    option, year = featured_option(dataset), last_year(dataset)
    open_power = members_of(dataset, "edge_power_open", option)[:, -1]
    if len(_by_line(dataset, option)) == 1:
        words = in_words(last_range(dataset, "edge_power_open", option), "W/m", 2)
        return f"In year {year} waves work on the edge with {words} {IN_MOST}"
    left = member_quantiles(_as_built(dataset, option)[:, -1] / open_power)
    return (
        f"{in_words((100 * left[0], 100 * left[-1]), '%', 0)} of the wave power "
        f"reaches the edge behind {option} in year {year} {IN_MOST}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    lines = ", ".join(_by_line(dataset, featured_option(dataset)))
    return (
        "Wave power at the marsh edge in watts a metre and a foot of shore: above by source (boat wakes, "
        f"wind waves), one panel an option; below by line ({lines}). {headline(dataset)}."
    )


@styled
def wave_energy(dataset: xr.Dataset) -> Figure:
    """Draw power at the edge by source for every option, and by line for one.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Watts a metre at the left, watts a foot at the right.
    """
    looks = option_looks(dataset)
    columns = min(COLUMNS, len(looks))
    rows = -(-len(looks) // columns)
    figure = new_figure(95.0 + 58.0 * rows)
    above, below = figure.subfigures(2, 1, squeeze=False, height_ratios=(rows, 1.15))[:, 0]
    panels = list(above.subplots(rows, columns, sharey=True, squeeze=False).flat)
    for spare in panels[len(looks) :]:
        spare.remove()
    for index, (axes, option) in enumerate(zip(panels, looks, strict=False)):
        _sources(axes, dataset, option)
        name_panel(axes, option, looks[option], width=18)
        if index % columns == 0:
            axes.set_ylabel("Power at the edge (W/m)")
        if index % columns == columns - 1 or index == len(looks) - 1:
            second_axis(axes, METRES_PER_FOOT, "Power at the edge (W/ft)")
    panels[0].set_ylim(bottom=0)
    _lines(below.subplots(), dataset)
    handles = [
        Line2D([], [], color=look.colour, ls=look.line, marker=look.marker, label=label)
        for label, look in SOURCES.values()
    ]
    above.legend(handles=handles, loc="outside lower center", ncols=len(handles))
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _sources(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    for name, (_, look) in SOURCES.items():
        draw_bands(axes, years_elapsed(dataset), members_of(dataset, name, option), look)
    year_axis(axes, last_year(dataset))


def _lines(axes: Axes, dataset: xr.Dataset) -> None:
    option, years, last = featured_option(dataset), years_elapsed(dataset), last_year(dataset)
    ends = []
    for label, (power, look) in _by_line(dataset, option).items():
        drawn = draw_bands(axes, years, power, look, outer=False)
        ends.append((float(drawn[2, -1]), label, look.colour))
    axes.set_ylim(bottom=0)
    head_room(axes, 0.15)
    year_axis(axes, last, room=0.20)
    label_ends(axes, last, ends)
    note_evidence(axes, last)
    axes.set_title(f"By line of defence, {option}")
    axes.set_ylabel("Power at the edge (W/m)")
    second_axis(axes, METRES_PER_FOOT, "Power at the edge (W/ft)")
