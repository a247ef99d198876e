"""The trade-off between money and marsh, with oysters as size."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import design_looks, finish_study
from edgesim.figures.style import BLUE, MUTED, halo, new_figure, second_axis, styled
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
    figure = new_figure(100.0)
    axes = figure.add_subplot()
    rows = _middle_rows(dataset)
    cost = np.array([row.cost for row in rows]) / 1000.0
    kept = np.array([row.land_kept_m2 for row in rows])
    best = np.array([row.undominated for row in rows])
    axes.plot(cost[~best], kept[~best], "o", color=MUTED, mfc="white", ms=6, ls="none")
    axes.plot(cost[best], kept[best], "o", color=BLUE, ms=7, ls="none")
    middle = 0.5 * (cost.min() + cost.max())
    close = 0.012 * np.array([max(np.ptp(cost), 1e-9), max(np.ptp(kept), 1e-9)])
    left = list(range(len(rows)))
    while left:
        x, y = float(cost[left[0]]), float(kept[left[0]])
        # Cells that lie on each other share a label.
        near = (np.abs(cost - x) <= close[0]) & (np.abs(kept - y) <= close[1])
        here = [place for place in left if near[place]]
        left = [place for place in left if not near[place]]
        side = 1 if x <= middle else -1
        label = axes.annotate(
            "\n".join(f"{rows[place].row}, {rows[place].column}" for place in here), (x, y),
            xytext=(7 * side, 0), textcoords="offset points",
            ha="left" if side > 0 else "right", va="center", fontsize=7,
            color=BLUE if best[here].any() else MUTED,
        )  # fmt: skip
        halo(label)
    axes.margins(x=0.08, y=0.16)
    axes.set_xlabel(
        f"Mean money spent by year {dataset.attrs['last_year']} [1000 {dataset.attrs['currency']}]"
    )
    axes.set_ylabel("Mean marsh kept [m2]")
    second_axis(axes, SQUARE_FEET, "[ft2]")
    reading = f"{int(dataset['map_members'].values.min())} futures a cell, middle quantile of {dataset.attrs['map_over']}: {dataset.attrs['map_rows']}, {dataset.attrs['map_columns']}; blue: beaten by none."
    finish_study(figure, dataset, headline(dataset), reading)
    return figure
