"""The forecast against surveys of what came."""

from __future__ import annotations

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLACK,
    FEET_PER_METRE,
    MUTED,
    draw_bands,
    finish,
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
from edgesim.outcomes.extras import REVIEWED, Skill, skill

READING = "line median, bands 50 % and 90 % of members; marks surveys with their standard error, which counts with the band."


def headline(dataset: xr.Dataset) -> str:
    """Say how often the surveys lie in the bands."""
    found = skill(dataset)
    # A forecast that was corrected by its surveys is no proof of skill.
    band = (
        "90 % band of the forecast that they corrected"
        if REVIEWED in dataset.attrs
        else "90 % band"
    )
    bias = f"{found.bias:+.2f} m ({found.bias * FEET_PER_METRE:+.1f} ft)"
    return f"{found.inside} of {found.count} surveys lie inside the {band}; mean difference {bias}".replace(
        "-", "\N{MINUS SIGN}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        "Two panels: forecast retreat with surveys in metres and feet through time, and survey minus forecast "
        f"median. {headline(dataset)}."
    )


@styled
def observed(dataset: xr.Dataset) -> Figure:
    """Draw surveys on the forecast, and what is left between them.

    Parameters
    ----------
    dataset : xarray.Dataset
        With the variables of surveys.

    Returns
    -------
    Figure
        Metres at the left, feet at the right.
    """
    found = skill(dataset)
    look = option_looks(dataset)[found.option]
    figure = new_figure(125.0)
    axes, rest = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
    draw_bands(axes, years_elapsed(dataset), members_of(dataset, "retreat", found.option), look)
    _marks(axes, found.years, found.observed, found.errors)
    axes.set_title(f"Retreat behind the design, {found.option}")
    axes.set_ylabel("Retreat (m)")
    second_axis(axes, FEET_PER_METRE, "Retreat (ft)")
    _rest(rest, found)
    last = last_year(dataset)
    for panel in (axes, rest):
        year_axis(panel, last, label=panel is rest)
    note_evidence(axes, last, 0.2)
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _marks(axes: Axes, years: object, values: object, errors: object) -> None:
    axes.errorbar(
        years, values, yerr=errors, fmt="o", color=BLACK, mfc="white", ms=5, capsize=3, zorder=5  # type: ignore[arg-type]
    )  # fmt: skip


def _rest(axes: Axes, found: Skill) -> None:
    axes.axhline(0.0, color=MUTED, lw=0.8)
    _marks(axes, found.years, found.observed - found.median, found.errors)
    axes.set_title("Survey less median of the forecast")
    axes.set_ylabel("Difference (m)")
    second_axis(axes, FEET_PER_METRE, "Difference (ft)")
