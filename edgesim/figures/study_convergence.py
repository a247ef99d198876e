"""Convergence: shares and bounds against the number of points."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import finish_study
from edgesim.figures.style import OPTION_LOOKS, new_figure, styled


def headline(dataset: xr.Dataset) -> str:
    """Say how many shares are known well enough."""
    known = int(dataset["total_converged"].values.sum())
    return f"{known} of {dataset['total_converged'].size} total shares have converged at {int(dataset['size'].values[-1])} points"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Total share of each input with its bound against the number of points. {headline(dataset)}."


@styled
def study_convergence(dataset: xr.Dataset) -> Figure:
    """Draw total shares with their bounds as the sample grows.

    Parameters
    ----------
    dataset : xarray.Dataset
        A study with shares.

    Returns
    -------
    Figure
        One panel an outcome.

    Raises
    ------
    InvalidParameterError
        If the study has no shares yet.
    """
    if "total" not in dataset:
        msg = "dataset must hold shares of the variance for this figure; it holds a screening only."
        raise InvalidParameterError(msg)
    n, columns = dataset.sizes["outcome"], 2
    rows = -(-n // columns)
    figure = new_figure(32.0 + 46.0 * rows)
    grid = figure.add_gridspec(rows, columns)
    sizes = dataset["size"].values.astype(float)
    names = [str(name) for name in dataset["leading"].values]
    handles: list[Any] = []
    for o in range(n):
        axes = figure.add_subplot(grid[divmod(o, columns)])
        lines = []
        for i, name in enumerate(names):
            look = OPTION_LOOKS[i % len(OPTION_LOOKS)]
            total, bound = dataset["total"].values[:, o, i], dataset["total_bound"].values[:, o, i]
            # Moved sideways, so that whiskers do not hide each other.
            shifted = sizes * 1.035 ** (i - (len(names) - 1) / 2)
            lines.append(
                axes.errorbar(
                    shifted, total, yerr=bound, color=look.colour, ls=look.line,
                    marker=look.marker, ms=4, capsize=1.5, elinewidth=0.7, label=name,
                )
            )  # fmt: skip
        axes.set_xscale("log", base=2)
        axes.set_xticks(sizes, [f"{size:.0f}" for size in sizes])
        axes.minorticks_off()
        axes.set_xlim(sizes[0] / 1.3, sizes[-1] * 1.3)
        axes.set_ylim(
            -0.05,
            max(0.6, min(1.5, float(np.nanmax(dataset["total"].values[-1, o], initial=0.0)) * 1.4)),
        )
        axes.axhline(0.0, color="black", lw=0.5)
        axes.set_title(
            f"{dataset['outcome_label'].values[o]}\nranking: {dataset['ranking'].values[o]}",
            loc="left", fontsize=8,
        )  # fmt: skip
        axes.set_ylabel("Total share [1]")
        axes.set_xlabel("Base points")
        handles = handles or lines
    reading = "whiskers 95 %; the ranking is judged against the one at half the points."
    finish_study(figure, dataset, headline(dataset), reading, handles)
    return figure
