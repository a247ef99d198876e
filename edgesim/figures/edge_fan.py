"""Fan chart of the edge: retreat behind the design by option against no action."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BANDS,
    FEET_PER_METRE,
    IN_MOST,
    MUTED,
    OPTION_LOOKS,
    Look,
    both_lengths,
    draw_bands,
    featured_option,
    finish,
    head_room,
    in_both,
    last_range,
    last_year,
    median,
    members_of,
    name_panel,
    new_figure,
    note_evidence,
    option_looks,
    option_names,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import member_quantiles

COLUMNS = 3

READING = f"{BANDS} Dotted: median retreat beside the design."


def headline(dataset: xr.Dataset) -> str:
    """Say how far the edge retreats with no action and behind the featured option."""
    year, option = last_year(dataset), featured_option(dataset)
    words = {
        name: in_both(last_range(dataset, "retreat", name), "m") for name in (NO_ACTION, option)
    }
    text = f"By year {year} the edge retreats {words[NO_ACTION]} with no action"
    if option == NO_ACTION:
        return f"{text} {IN_MOST}"
    return f"{text}, {words[option]} behind {option} {IN_MOST}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    names = ", ".join(option_names(dataset))
    return (
        f"Fan chart of marsh edge retreat in metres and feet over {last_year(dataset)} years, "
        f"one panel an option ({names}). {headline(dataset)}."
    )


@styled
def edge_fan(dataset: xr.Dataset) -> Figure:
    """Draw retreat behind the design, one panel an option, no action in each.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Metres at the left, feet at the right.
    """
    looks = option_looks(dataset)
    options = [name for name in looks if name != NO_ACTION] or [NO_ACTION]
    columns = min(COLUMNS, len(options))
    rows = int(np.ceil(len(options) / columns))
    figure = new_figure(24.0 + 62.0 * rows)
    grid = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    panels = list(grid.flat)
    for spare in panels[len(options) :]:
        spare.remove()
    for index, (axes, option) in enumerate(zip(panels, options, strict=False)):
        _panel(axes, dataset, option, looks[option])
        year_axis(axes, last_year(dataset), label=index + columns >= len(options))
        if index + columns >= len(options):
            axes.tick_params(labelbottom=True)
        if index % columns == 0:
            axes.set_ylabel("Retreat behind the design (m)")
        if index % columns == columns - 1 or index == len(options) - 1:
            second_axis(axes, FEET_PER_METRE, "Retreat (ft)")
    head_room(panels[0], 0.18)
    note_evidence(panels[0], last_year(dataset))
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _panel(axes: Axes, dataset: xr.Dataset, option: str, look: Look) -> None:
    years = years_elapsed(dataset)
    if option != NO_ACTION:
        reference = members_of(dataset, "retreat", NO_ACTION)
        drawn = draw_bands(axes, years, reference, OPTION_LOOKS[0], strength=0.7)
        beside = median(members_of(dataset, "retreat_neighbours", option))
        axes.plot(years, beside, color=look.colour, ls=":", lw=1.1)
        axes.annotate(
            NO_ACTION,
            (years[-1], drawn[2, -1]),
            xytext=(-3, 7),
            textcoords="offset points",
            ha="right",
            fontsize=7,
        )
    draw_bands(axes, years, members_of(dataset, "retreat", option), look)
    low, _, middle, _, high = member_quantiles(members_of(dataset, "retreat", option)[:, -1])
    name_panel(axes, option, look, pad=24)
    axes.annotate(
        f"{both_lengths(middle)} by year {last_year(dataset)}\n90 % of members: {low:.1f} to {high:.1f} m",
        (0, 1),
        xycoords="axes fraction",
        xytext=(0, 5),
        textcoords="offset points",
        fontsize=7,
        color=MUTED,
    )
