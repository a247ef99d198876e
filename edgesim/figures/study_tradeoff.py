"""The trade-off between money and marsh, with oysters as size."""

from __future__ import annotations

import xarray as xr
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import design_looks, finish_study
from edgesim.figures.style import MUTED, OPTION_LOOKS, new_figure, second_axis, styled
from edgesim.outcomes.comparison import at_end, last_year_of, undominated
from edgesim.outcomes.decisions import bands
from edgesim.outcomes.exploration import MapRow, map_table

SQUARE_FEET = 10.7639104


def headline(dataset: xr.Dataset) -> str:
    """Name what none beats in all respects."""
    if "design" in dataset.dims:
        names = dataset["design"].values[undominated(dataset)[0]]
        return f"None beats these in money, marsh and oysters at once: {', '.join(map(str, names))}"
    middle = _middle_rows(dataset)
    best = sum(row.undominated for row in middle)
    return f"{best} of {len(middle)} combinations are beaten by none in money, marsh and oysters at once"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Marsh kept against money spent. {headline(dataset)}."


@styled
def study_tradeoff(dataset: xr.Dataset) -> Figure:
    """Draw marsh kept against money spent: designs with their bands, or cells of the map.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison, or a study with a map.

    Returns
    -------
    Figure

    Raises
    ------
    InvalidParameterError
        If it is a study without a map.
    """
    if "design" in dataset.dims:
        return _designs(dataset)
    if "map_members" in dataset:
        return _cells(dataset)
    msg = "dataset must hold designs or a map for this figure; it holds neither."
    raise InvalidParameterError(msg)


def _designs(dataset: xr.Dataset) -> Figure:
    figure = new_figure(105.0)
    axes = figure.add_subplot()
    cost, kept = at_end(dataset, "cost") / 1000.0, at_end(dataset, "land_kept")
    best, share = undominated(dataset)
    for place, (name, look) in enumerate(design_looks(dataset).items()):
        x, y = bands(cost[place]), bands(kept[place])
        axes.plot([x[0], x[4]], [y[2], y[2]], color=look.colour, lw=1.0)
        axes.plot([x[2], x[2]], [y[0], y[4]], color=look.colour, lw=1.0)
        axes.plot([x[1], x[3]], [y[2], y[2]], color=look.colour, lw=3.0)
        axes.plot([x[2], x[2]], [y[1], y[3]], color=look.colour, lw=3.0)
        face = look.colour if best[place] else "white"
        axes.plot(x[2], y[2], look.marker if look.marker != "x" else "o", color=look.colour, mfc=face, ms=9, label=f"{name} ({share[place]:.0%} of futures unbeaten)", ls="none")  # fmt: skip
    axes.set_xlabel(
        f"Money spent by year {last_year_of(dataset)} [1000 {dataset.attrs['currency']}]"
    )
    axes.set_ylabel("Marsh kept against no action [m2]")
    second_axis(axes, SQUARE_FEET, "[ft2]")
    axes.margins(0.06)
    reading = f"{dataset.sizes['member']} futures: median, thick 50 %, thin 90 %; filled: beaten by none in money, marsh and oysters, by medians."
    handles = [line for line in axes.get_lines() if not str(line.get_label()).startswith("_")]
    finish_study(figure, dataset, headline(dataset), reading, handles, 2)
    return figure


def _middle_rows(dataset: xr.Dataset) -> list[MapRow]:
    """Cells at the middle quantile."""
    quantiles = dataset["over_quantile"].values
    middle = float(quantiles[len(quantiles) // 2])
    return [row for row in map_table(dataset) if row.quantile == middle]


def _cells(dataset: xr.Dataset) -> Figure:
    """Mark of a row, colour of a column; rings of several sizes, so that equal cells show."""
    figure = new_figure(105.0)
    axes = figure.add_subplot()
    rows = list(dict.fromkeys(row.row for row in _middle_rows(dataset)))
    columns = list(dict.fromkeys(row.column for row in _middle_rows(dataset)))
    for cell in _middle_rows(dataset):
        place = columns.index(cell.column)
        colour = OPTION_LOOKS[(place + 1) % len(OPTION_LOOKS)].colour
        axes.plot(
            cell.cost / 1000.0, cell.land_kept_m2, _mark(rows.index(cell.row)), color=colour,
            mfc=colour if cell.undominated else "none", ms=15.0 - 3.5 * place, mew=1.6, ls="none",
        )  # fmt: skip
    axes.margins(0.08)
    axes.set_xlabel(
        f"Mean money spent by year {dataset.attrs['last_year']} [1000 {dataset.attrs['currency']}]"
    )
    axes.set_ylabel("Mean marsh kept [m2]")
    second_axis(axes, SQUARE_FEET, "[ft2]")
    handles = [
        Line2D(
            [],
            [],
            marker=_mark(i),
            color=MUTED,
            mfc="none",
            ls="none",
            label=f"{dataset.attrs['map_rows']} {row}",
        )
        for i, row in enumerate(rows)
    ]
    handles += [
        Line2D(
            [],
            [],
            marker="o",
            color=OPTION_LOOKS[(j + 1) % len(OPTION_LOOKS)].colour,
            mfc="none",
            ls="none",
            label=column,
        )
        for j, column in enumerate(columns)
    ]
    reading = (
        f"{int(dataset['map_members'].values.min())} futures a cell, middle quantile of {dataset.attrs['map_over']}; colour: "
        f"{dataset.attrs['map_columns']}; filled: beaten by none in money, marsh and oysters."
    )
    finish_study(figure, dataset, headline(dataset), reading, handles)
    return figure


def _mark(place: int) -> str:
    return "osD^vPX*"[place % 8]
