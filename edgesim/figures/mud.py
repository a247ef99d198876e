"""Mud trapped in front of the edge, and the rise of the flat, by option."""

from __future__ import annotations

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    IN_MOST,
    draw_bands,
    featured_option,
    finish,
    head_room,
    in_both,
    label_ends,
    last_range,
    last_year,
    members_of,
    new_figure,
    note_evidence,
    option_looks,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.indicators import NO_ACTION

TONNE = 1000.0
"""Metric ton. [kg]"""

POUNDS_PER_TONNE = 1000.0 / 0.45359237
"""By definition of the pound."""

CENTIMETRES_PER_INCH = 2.54

READING = "line median, bands 50 %, bars at the right 90 % of members in the last year."


def headline(dataset: xr.Dataset) -> str:
    """Say the mud gained by the featured option at the end."""
    option, year = featured_option(dataset), last_year(dataset)
    low, high = (end / TONNE for end in last_range(dataset, "mud_trapped", option))
    where = "in front of the edge" if option == NO_ACTION else f"behind {option}"
    return f"By year {year} the flat {where} gains {in_both((low, high), 't')} of dry mud {IN_MOST}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        "Two panels through time, one curve an option: dry mud gained in front of the edge in tonnes and "
        f"pounds, and mean rise of the flat in centimetres and inches. {headline(dataset)}."
    )


@styled
def mud(dataset: xr.Dataset) -> Figure:
    """Draw mud trapped and rise of the flat, every option in one panel each.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Metric units at the left, customary ones at the right.
    """
    figure = new_figure(158.0)
    trapped, rise = figure.subplots(2, 1, sharex=True)
    _curves(trapped, dataset, "mud_trapped", 1.0 / TONNE)
    _curves(rise, dataset, "bed_rise", 100.0)
    trapped.set_title("Dry mud gained between the outer line and the first edge")
    trapped.set_ylabel("Mud gained (t)")
    second_axis(trapped, POUNDS_PER_TONNE / 1000.0, "Mud gained (1000 lb)")
    rise.set_title("Mean rise of the flat between the outer line and the first edge")
    rise.set_ylabel("Rise (cm)")
    second_axis(rise, 1.0 / CENTIMETRES_PER_INCH, "Rise (in)")
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _curves(axes: Axes, dataset: xr.Dataset, name: str, factor: float) -> None:
    years, last = years_elapsed(dataset), last_year(dataset)
    looks = option_looks(dataset)
    step = 0.016 * last
    ends = []
    for index, (option, look) in enumerate(looks.items()):
        values = factor * members_of(dataset, name, option)
        drawn = draw_bands(axes, years, values, look, outer=False)
        ends.append((float(drawn[2, -1]), option, look.colour))
        axes.plot([last + step * (index + 1)] * 2, drawn[[0, 4], -1], color=look.colour, lw=2.0)
    axes.plot([0, last], [0, 0], color="#888888", lw=0.6, zorder=1)
    head_room(axes)
    # Bars and names stand right of the last year; a letter takes about 1.5 % of the panel.
    room = 0.03 + 0.016 * len(looks) + 0.0145 * max(map(len, looks))
    year_axis(axes, last, room=room, label=name == "bed_rise")
    label_ends(axes, last + step * (len(looks) + 0.5), ends)
    note_evidence(axes, last)
