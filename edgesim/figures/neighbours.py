"""What the works do to the shore beside them: edge against no action, place by place."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from edgesim.figures.style import (
    FEET_PER_METRE,
    IN_MOST,
    MUTED,
    draw_bands,
    featured_option,
    finish,
    in_both,
    last_year,
    members_of,
    name_panel,
    new_figure,
    option_looks,
    second_axis,
    styled,
)
from edgesim.outcomes.indicators import NO_ACTION, reach_mask
from edgesim.outcomes.summary import member_quantiles

READING = (
    "marsh kept (+) or lost (-) at each place against no action in the same member; line median, "
    "bands 50 % and 90 % of members. Grey: the reach of the design."
)

Floats = NDArray[np.float64]


def gain(dataset: xr.Dataset, option: str) -> Floats:
    """Marsh kept at each place at the end against no action, (member, alongshore). [m]."""
    edge = [members_of(dataset, "edge_position", name)[:, -1] for name in (NO_ACTION, option)]
    return edge[0] - edge[1]


def _beside(dataset: xr.Dataset, option: str) -> Floats:
    """Mean gain of every member outside the reach of the design; empty without neighbours."""
    inside = reach_mask(
        dataset["alongshore"].values,
        float(dataset["defended_start"]),
        float(dataset["defended_end"]),
    )
    found = gain(dataset, option)[:, ~inside]
    return found.mean(axis=1) if found.size else np.empty(0)


def headline(dataset: xr.Dataset) -> str:
    """Say what the neighbours gain or lose by the featured option."""
    option, year = featured_option(dataset), last_year(dataset)
    beside = _beside(dataset, option)
    if not beside.size:
        return "The design covers the whole shore of this forecast: there is no neighbour in it"
    low, high = (100 * float(end) for end in member_quantiles(beside)[[0, -1]])
    words = in_both((low, high), "cm", 0).replace("-", "\N{MINUS SIGN}")
    verdict = "keep marsh" if low >= 0 else "may lose marsh" if high >= 0 else "lose marsh"
    return (
        f"The neighbours of {option} {verdict}: {words} of it against no action "
        f"by year {year} {IN_MOST}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    worst = "; ".join(
        f"{option} {float(np.median(gain(dataset, option), axis=0).min()) + 0.0:.2f} m".replace(
            "-0.00", "0.00"
        )
        for option in option_looks(dataset)
        if option != NO_ACTION
    )
    return (
        "Curves along the shore of marsh kept against no action in metres and feet, one panel an option. "
        f"{headline(dataset)}. Least median gain anywhere: {worst}."
    )


@styled
def neighbours(dataset: xr.Dataset) -> Figure:
    """Draw gain or loss along the shore for every option that builds something.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with at least one line.

    Returns
    -------
    Figure
        Metres at the left, feet at the right.
    """
    looks = option_looks(dataset)
    options = [name for name in looks if name != NO_ACTION]
    figure = new_figure(30.0 + 36.0 * len(options))
    panels = figure.subplots(len(options), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    for axes, option in zip(panels, options, strict=True):
        _panel(axes, dataset, option)
        name_panel(axes, option, looks[option])
        axes.set_ylabel("Marsh kept (m)")
        second_axis(axes, FEET_PER_METRE, "Marsh kept (ft)")
    panels[-1].set_xlabel("Along the shore (m)")
    second_axis(panels[0], FEET_PER_METRE, "Along the shore (ft)", top=True)
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _panel(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    along = dataset["alongshore"].values
    start, end = float(dataset["defended_start"]), float(dataset["defended_end"])
    axes.axvspan(start, end, color="#EFEFEF", lw=0, zorder=0)
    draw_bands(axes, along, gain(dataset, option), option_looks(dataset)[option])
    axes.axhline(0.0, color="#666666", lw=0.8)
    axes.set_xlim(along[0], along[-1])
    for x, words in (
        (0.5 * (along[0] + start), "neighbour"),
        (0.5 * (end + along[-1]), "neighbour"),
    ):
        if words and along[0] < x < along[-1]:
            axes.text(
                x,
                0.82,
                words,
                transform=axes.get_xaxis_transform(),
                ha="center",
                fontsize=7,
                color=MUTED,
                style="italic",
            )
