"""The race: walls and mesh wear out while oysters cement and raise the reef."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.style import (
    BLACK,
    BLUE,
    FEET_PER_METRE,
    GREEN,
    MUTED,
    ORANGE,
    PURPLE,
    VERMILLION,
    Look,
    draw_bands,
    featured_option,
    finish,
    halo,
    label_ends,
    last_year,
    members_of,
    new_figure,
    note_evidence,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import METRES_PER_FOOT, takeover_table

CONDITIONS = {
    "fill_fraction": ("fill", Look(ORANGE, "-", "s")),
    "posts_standing": ("posts", Look(BLACK, "--", "x")),
    "ties_intact": ("ties", Look(PURPLE, "-.", "v")),
}
UNITS = {
    "mesh_intact": ("mesh", Look(VERMILLION, "-", "o")),
    "consolidation": ("cemented", Look(BLUE, "-.", "^")),
}

READING = (
    "line median, bands 50 % and (oysters, crest) 90 % of members; "
    "chance with its exact 90 % interval."
)


def headline(dataset: xr.Dataset) -> str:
    """Say the chance of takeover at the end, where there is a reef."""
    option, year = featured_option(dataset), last_year(dataset)
    if not has_reef(dataset, option):
        return f"Condition of the walls over {year} years: {option}"
    row = next(row for row in takeover_table(dataset, (year,)) if row.option == option)
    return (
        f"The race, {option}: chance that the reef alone shelters the edge by year {year}: "
        f"{row.low:.0%} to {row.high:.0%}"
    ).replace("%", " %")


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        "Panels through time: condition of fill, posts and ties of the walls, condition of the reef's mesh "
        "and cement, live oysters a square metre and square foot, reef crest in metres and feet above "
        f"{dataset.attrs['vertical_datum']}, and the chance of takeover. {headline(dataset)}."
    )


@styled
def race(dataset: xr.Dataset) -> Figure:
    """Draw what wears out beside what grows, for the option with the most lines.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast in which some option builds a line.

    Returns
    -------
    Figure
        One panel a subject; those of a missing line are left out.

    Raises
    ------
    InvalidParameterError
        If no option builds anything.
    """
    option = featured_option(dataset)
    if option == NO_ACTION:
        msg = "dataset must hold an option with walls or a reef for this figure; it holds none."
        raise InvalidParameterError(msg)
    panels = [_walls] if has_walls(dataset, option) else []
    panels += [_oysters, _mesh, _crest, _takeover] if has_reef(dataset, option) else []
    columns = min(2, len(panels))
    rows = -(-len(panels) // columns)
    figure = new_figure(28.0 + 50.0 * rows)
    grid = figure.add_gridspec(rows, columns)
    for index, draw in enumerate(panels):
        row, column = divmod(index, columns)
        alone = index == len(panels) - 1 and column == 0
        axes = figure.add_subplot(grid[row, :] if alone else grid[row, column])
        draw(axes, dataset, option)
    note_evidence(
        figure.axes[panels.index(_oysters) if _oysters in panels else 0], last_year(dataset), 0.2
    )
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _shares(
    axes: Axes, dataset: xr.Dataset, option: str, which: dict[str, tuple[str, Look]]
) -> None:
    """Draw conditions between 0 and 1 as per cent, 50 % bands only."""
    ends = []
    for name, (label, look) in which.items():
        values = 100.0 * members_of(dataset, name, option)
        drawn = draw_bands(axes, years_elapsed(dataset), values, look, outer=False)
        ends.append((float(drawn[2, -1]), label, look.colour))
    axes.set_ylim(-3, 105)
    year_axis(axes, last_year(dataset), room=0.26)
    label_ends(axes, last_year(dataset), ends, gap=0.12)


def _walls(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    _shares(axes, dataset, option, CONDITIONS)
    _refills(axes, dataset, option)
    axes.set_title("Walls: what is left (marks below: refills)")
    axes.set_ylabel("Share left (%)")


def _refills(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    """Mark the records since which most members had a refill visit."""
    visits = np.diff(members_of(dataset, "refills", option), axis=1)
    when = years_elapsed(dataset)[1:][(visits > 0).mean(axis=0) > 0.5]
    axes.set_ylim(-9, 105)
    if when.size:
        axes.plot(when, np.full(when.size, -5.5), ls="", marker="^", color="#333333", ms=3.0)


def _mesh(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    _shares(axes, dataset, option, UNITS)
    axes.set_title("Reef units: mesh against cement")
    axes.set_ylabel("Share of units (%)")


def _oysters(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    density = members_of(dataset, "oyster_density", option)
    draw_bands(axes, years_elapsed(dataset), density, Look(GREEN, "-", "D"))
    axes.set_ylim(bottom=0)
    year_axis(axes, last_year(dataset))
    axes.set_title("Live oysters on the reef")
    axes.set_ylabel("Oysters (per m²)")
    second_axis(axes, METRES_PER_FOOT**2, "Oysters (per ft²)")


def _crest(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    datum, last = dataset.attrs["vertical_datum"], last_year(dataset)
    years = years_elapsed(dataset)
    draw_bands(axes, years, members_of(dataset, "reef_crest", option), Look(BLUE, "-.", "^"))
    draw_sea = np.nanmedian(members_of(dataset, "mean_sea_level", option), axis=0)
    axes.plot(years, draw_sea, color=MUTED, ls=":", lw=1.2)
    text = axes.annotate(
        "mean sea level",
        (0, draw_sea[0]),
        xytext=(4, 4),
        textcoords="offset points",
        fontsize=7,
        color=MUTED,
    )
    halo(text)
    year_axis(axes, last)
    axes.set_title("Reef crest")
    axes.set_ylabel(f"Crest (m {datum})")
    second_axis(axes, FEET_PER_METRE, f"Crest (ft {datum})")


def _takeover(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    """Draw the chance by year with its exact 90 % interval."""
    last = last_year(dataset)
    rows = [row for row in takeover_table(dataset, range(last + 1)) if row.option == option]
    years = [row.year for row in rows]
    chance = np.array([(row.chance, row.chance - row.low, row.high - row.chance) for row in rows])
    axes.errorbar(
        years,
        100.0 * chance[:, 0],
        yerr=100.0 * chance[:, 1:].T,
        color=VERMILLION,
        marker="o",
        ls=":",
        lw=0.8,
        elinewidth=1.6,
        capsize=2.0,
        clip_on=False,
        zorder=3,
    )
    axes.set_ylim(-3, 105)
    year_axis(axes, last)
    share = dataset.attrs["takeover_share"]
    axes.set_title(
        f"Chance that from then on the reef alone keeps edge power below {100 * share:.0f} % "
        "of that with no line"
    )
    axes.set_ylabel("Chance (%)")
