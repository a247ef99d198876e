"""The ranking: how much of each outcome hangs on each input, with bounds."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from edgesim.figures.study_style import (
    BY_CHANCE,
    DECIDED,
    GIVEN,
    bars,
    finish_study,
    input_colours,
    name_outcome,
)
from edgesim.figures.style import BLACK, new_figure, styled

MOST = 12
"""Inputs shown in a panel. [1]"""

LARGEST_SHARE = 1.25
"""Where the axis of shares ends: more than all, for bounds. [1]"""


def headline(dataset: xr.Dataset) -> str:
    """Say which input leads the first outcome."""
    label = str(dataset["outcome_label"].values[0])
    if "total" in dataset:
        total, bound = dataset["total"].values[-1, 0], dataset["total_bound"].values[-1, 0]
        if not np.isfinite(total).all():
            return f"{label} did not vary"
        i = int(np.argmax(total))
        name = str(dataset["leading"].values[i])
        if not dataset["total_converged"].values[0, i]:
            return f"{label}: too few points to say what moves it most"
        low, high = max(0.0, total[i] - bound[i]), min(1.0, total[i] + bound[i])
        return f"{label}: {low:.0%} to {high:.0%} of its variance involves {name}".replace(
            "%", " %"
        )
    effect = dataset["screening_effect"].values[0]
    return f"Screening: {label} hangs most on {dataset['input'].values[int(np.argmax(effect))]}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Horizontal bars of sensitivity of each outcome to each input, with bounds. {headline(dataset)}."


@styled
def study_ranking(dataset: xr.Dataset) -> Figure:
    """Draw bars of total and first shares, or of mean effects where there was only a screening.

    Parameters
    ----------
    dataset : xarray.Dataset
        A study.

    Returns
    -------
    Figure
        One panel an outcome.
    """
    n = dataset.sizes["outcome"]
    columns = 2
    rows = -(-n // columns)
    size = dataset.sizes["leading"] if "total" in dataset else min(MOST, dataset.sizes["input"])
    figure = new_figure(26.0 + rows * (16.0 + 4.6 * size))
    grid = figure.add_gridspec(rows, columns)
    for o in range(n):
        axes = figure.add_subplot(grid[divmod(o, columns)])
        (_shares if "total" in dataset else _effects)(axes, dataset, o)
        name_outcome(axes, str(dataset["outcome_label"].values[o]))
    reading = (
        "bar: total share; diamond: share alone; cross: distance of distributions (PAWN) where above that of an idle input; whiskers 95 %; hatched: not converged."
        if "total" in dataset
        else "bar mean effect over the whole range; whiskers 95 %; hatched: not converged."
    )
    points = (
        f"{int(dataset['size'].values[-1])} points: "
        if "total" in dataset
        else f"{int(dataset['screening_trajectories'])} trajectories: "
    )
    finish_study(figure, dataset, headline(dataset), points + reading, _key())
    return figure


def _key() -> list[Patch]:
    return [
        Patch(color=colour, label=label)
        for colour, label in ((DECIDED, "decided"), (GIVEN, "uncertain"), (BY_CHANCE, "chance"))
    ]


def _shares(axes: Axes, dataset: xr.Dataset, outcome: int) -> None:
    total = dataset["total"].values[-1, outcome]
    if not np.isfinite(total).all():
        _did_not_vary(axes)
        return
    order = np.argsort(-total, kind="stable")
    names = [str(dataset["leading"].values[i]) for i in order]
    known = dataset["total_converged"].values[outcome].astype(bool)[order]
    bars(axes, names, total[order], dataset["total_bound"].values[-1, outcome][order], input_colours(dataset, names), known.tolist())  # fmt: skip
    places = np.arange(len(names))[::-1]
    first = dataset["first"].values[-1, outcome][order]
    axes.plot(first, places, "D", color="white", mec=BLACK, ms=4.5, ls="none", zorder=4)
    index = dataset["density"].values[outcome][order]
    moved = index > float(dataset["density_floor"].values[outcome])
    axes.plot(index[moved], places[moved], "x", color=BLACK, ms=5, ls="none", zorder=5)
    axes.set_xlim(max(-0.3, min(0.0, float(first.min()) - 0.03)), LARGEST_SHARE)
    axes.axvline(0.0, color=BLACK, lw=0.6)
    axes.set_xlabel("Share of the variance [1]")


def _effects(axes: Axes, dataset: xr.Dataset, outcome: int) -> None:
    effect = dataset["screening_effect"].values[outcome]
    if not effect.any():
        _did_not_vary(axes)
        return
    order = np.argsort(-effect, kind="stable")[:MOST]
    names = [str(dataset["input"].values[i]) for i in order]
    known = dataset["screening_converged"].values[outcome].astype(bool)[order]
    bars(axes, names, effect[order], dataset["screening_bound"].values[outcome][order], input_colours(dataset, names), known.tolist())  # fmt: skip
    axes.set_xlim(0.0, None)
    unit = str(dataset["outcome_unit"].values[outcome]).replace("m-2", "per m2")
    axes.set_xlabel(f"Mean effect [{unit}]")


def _did_not_vary(axes: Axes) -> None:
    axes.text(0.5, 0.5, "did not vary", ha="center", transform=axes.transAxes)
    axes.set_axis_off()
