"""The regret table: how far each design stays behind the best, belief by belief."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import finish_study
from edgesim.figures.style import new_figure, styled
from edgesim.outcomes.comparison import regret_table
from edgesim.outcomes.exploration import map_regret


def _table(
    dataset: xr.Dataset,
) -> tuple[list[str], list[str], np.ndarray[tuple[int, int], np.dtype[np.float64]], str]:
    """Designs, beliefs, regret [design, belief] and in what."""
    if "design" in dataset.dims:
        rows = regret_table(dataset)
        criterion = rows[0].criterion
        rows = [row for row in rows if row.criterion == criterion]
        designs = list(dict.fromkeys(row.design for row in rows))
        beliefs = list(dict.fromkeys(row.belief for row in rows))
        values = np.array(
            [
                [next(r.regret for r in rows if (r.design, r.belief) == (d, b)) for b in beliefs]
                for d in designs
            ]
        )
        what = "marsh kept [m2]" if criterion == "land_kept" else f"{criterion} [1]"
        return designs, beliefs, values, what
    found = map_regret(dataset)
    if found is None:
        msg = "dataset must hold designs or a map for this figure; it holds neither."
        raise InvalidParameterError(msg)
    designs = [
        f"{row}, {column}"
        for row in dataset["row_level"].values
        for column in dataset["column_level"].values
    ]
    beliefs = [
        f"{dataset.attrs['map_over']}\n{value}" for value in dataset["map_over_value"].values
    ]
    what = "chance of all targets [1]" if "map_success" in dataset else "marsh kept [m2]"
    return designs, beliefs, found.values.reshape(found.shape[0], -1).T, what


def headline(dataset: xr.Dataset) -> str:
    """Name the design whose largest regret is smallest."""
    designs, _, values, what = _table(dataset)
    worst = values.max(axis=1)
    best = int(np.argmin(worst))
    ties = int((worst <= worst[best] + 1e-12).sum())
    also = f" (and {ties - 1} more)" if ties > 1 else ""
    return f"Smallest largest regret in {what.split(' [')[0]}: {designs[best]}{also}"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Table of regret by design and belief. {headline(dataset)}."


@styled
def study_regret(dataset: xr.Dataset) -> Figure:
    """Draw the regret table, darker where a design stays further behind.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison, or a study with a map.

    Returns
    -------
    Figure
    """
    designs, beliefs, values, what = _table(dataset)
    order = np.argsort(values.max(axis=1), kind="stable")
    worst = values.max(axis=1, keepdims=True)
    table = np.hstack([values, worst])[order]
    figure = new_figure(38.0 + 7.0 * len(designs))
    axes = figure.add_subplot()
    top = max(float(table.max()), 1e-12)
    axes.imshow(table, cmap="Greys", vmin=0.0, vmax=1.3 * top, aspect="auto")
    for i, j in np.ndindex(table.shape):
        axes.text(j, i, f"{table[i, j]:.2g}", ha="center", va="center", fontsize=8,
                  color="white" if table[i, j] > 0.75 * top else "black")  # fmt: skip
    axes.axvline(len(beliefs) - 0.5, color="white", lw=3)
    axes.set_xticks(range(len(beliefs) + 1), [*beliefs, "largest"])
    axes.set_yticks(range(len(designs)), [designs[i] for i in order])
    axes.tick_params(length=0)
    axes.grid(visible=False)
    axes.set_xlabel(f"Behind the best, in {what}")
    finish_study(
        figure,
        dataset,
        headline(dataset),
        "0: the best under that belief; ordered by the largest regret.",
    )
    return figure
