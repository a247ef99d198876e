"""The reef's own life: oysters, their sizes, time in air and height through the years."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLUE,
    GREEN,
    IN_MOST,
    MUTED,
    ORANGE,
    Look,
    draw_bands,
    featured_option,
    finish,
    halo,
    last_range,
    last_year,
    median,
    members_of,
    new_figure,
    note_evidence,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.indicators import record_of_year
from edgesim.outcomes.summary import METRES_PER_FOOT
from edgesim.outcomes.triggers import LOCAL_REEF

READING = (
    "line median, bands 50 % and 90 % of members. Dotted: mean of natural reefs of South Carolina "
    "(2,350 per m²). Hatched: time in air at which reefs grow."
)

CENTIMETRES_PER_INCH = 2.54


def headline(dataset: xr.Dataset) -> str:
    """Say how many oysters live on the reef at the end."""
    low, high = last_range(dataset, "oyster_density", featured_option(dataset))
    return (
        f"{low:,.0f} to {high:,.0f} oysters live on a square metre of reef "
        f"({low * METRES_PER_FOOT**2:,.0f} to {high * METRES_PER_FOOT**2:,.0f} a square foot) "
        f"in year {last_year(dataset)} {IN_MOST}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    option = featured_option(dataset)
    low, high = last_range(dataset, "reef_exposure", option)
    return (
        "Panels through time: live oysters a square metre and square foot, height of the reef against "
        "its height at build in centimetres and inches, and share of the time that its crest is in air; below, oysters by shell height. "
        f"{headline(dataset)}. In the end the crest is in air {100 * low:.0f} to {100 * high:.0f} % of the time."
    )


@styled
def oysters(dataset: xr.Dataset) -> Figure:
    """Draw density, height and time in air of the featured option's reef.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with a reef.

    Returns
    -------
    Figure
        Metric units at the left, customary ones at the right.
    """
    option = featured_option(dataset)
    figure = new_figure(150.0 if "oyster_sizes" not in dataset else 195.0)
    rows = 3 + ("oyster_sizes" in dataset)
    grid = figure.add_gridspec(rows, 1, height_ratios=[1.0] * rows)
    density, height, air = (figure.add_subplot(grid[row]) for row in range(3))
    if rows == 4:
        _sizes(figure.add_subplot(grid[3]), dataset, option)
    years, last = years_elapsed(dataset), last_year(dataset)
    draw_bands(density, years, members_of(dataset, "oyster_density", option), Look(GREEN, "-", "D"))
    density.axhline(LOCAL_REEF, color=MUTED, ls=":", lw=1.2)
    density.set_ylim(bottom=0)
    density.set_title(f"Live oysters on the reef, {option}")
    density.set_ylabel("Oysters (per m²)")
    second_axis(density, METRES_PER_FOOT**2, "Oysters (per ft²)")
    crest = members_of(dataset, "reef_crest", option)
    draw_bands(height, years, 100 * (crest - crest[:, :1]), Look(BLUE, "-.", "^"))
    height.axhline(0.0, color="#888888", lw=0.7)
    height.set_title("Height of the crest against that at build")
    height.set_ylabel("Change (cm)")
    second_axis(height, 1 / CENTIMETRES_PER_INCH, "Change (in)")
    _air(air, dataset, option)
    for axes in (density, height, air):
        year_axis(axes, last, label=axes is air)
        axes.tick_params(labelbottom=axes is air)
    note_evidence(density, last, 0.2)
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _sizes(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    """Draw the sizes of the oysters at a few years, medians of the members."""
    size = 1000 * dataset["oyster_size"].values
    width = float(size[1] - size[0])
    elapsed = years_elapsed(dataset)
    shown = [year for year in (1, 3, 5, last_year(dataset)) if year <= last_year(dataset)]
    styles = ("-", "--", "-.", ":")
    shades = colormaps["inferno"](np.linspace(0.0, 0.72, len(set(shown))))
    for year, style, shade in zip(sorted(set(shown)), styles, shades, strict=False):
        record = record_of_year(elapsed, year)
        if record is None:
            continue
        then = dataset["oyster_sizes"].sel(option=option).isel(time=record)
        found = median(then.transpose("member", "oyster_size").values)
        axes.stairs(
            found,
            np.append(size - width / 2, size[-1] + width / 2),
            color=shade,
            ls=style,
            lw=1.4,
            label=f"year {year}",
        )
    axes.set(xlim=(0, size[-1] + width / 2), ylim=(0, None))
    axes.set_title("Sizes, medians of the members (every year class at its mean height)")
    axes.set_xlabel("Shell height (mm)")
    axes.set_ylabel("Oysters (per m²)")
    second_axis(axes, METRES_PER_FOOT**2, "Oysters (per ft²)")
    second_axis(axes, 1 / (10 * CENTIMETRES_PER_INCH), "Shell height (in)", top=True)
    axes.legend(loc="upper right")


def _air(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    share = 100 * members_of(dataset, "reef_exposure", option)
    draw_bands(axes, years_elapsed(dataset), share, Look(ORANGE, "-", "s"))
    if "oyster_band" in dataset:
        low, high = 100 * dataset["oyster_band"].values[:2]
        axes.axhspan(low, high, fc="none", ec=GREEN, hatch="///", lw=0, alpha=0.35, zorder=0.5)
        note = axes.annotate(
            "reefs grow",
            (0, high),
            xytext=(4, -3),
            textcoords="offset points",
            va="top",
            fontsize=7,
            color=GREEN,
        )
        halo(note)
    axes.set_ylim(0, max(60.0, float(np.nanmax(share)) + 5))
    axes.set_title("Crest in air")
    axes.set_ylabel("Share of the time (%)")
