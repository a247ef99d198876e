"""The map: chance of success over two decisions, at quantiles of what is uncertain."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.study_style import finish_study, shade_text
from edgesim.figures.style import new_figure, styled
from edgesim.outcomes.summary import chance_interval


def headline(dataset: xr.Dataset) -> str:
    """Say the range of chances on the map, or of marsh kept."""
    if "map_success" in dataset:
        values = dataset["map_success"].values
        return f"Chance of meeting all targets: {np.nanmin(values):.0%} to {np.nanmax(values):.0%} on this map".replace("%", " %")  # fmt: skip
    values = dataset["map_land_kept"].values
    return f"Marsh kept: {np.nanmin(values):.3g} to {np.nanmax(values):.3g} m2 on this map"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        f"Tables of {dataset.attrs['map_rows']} by {dataset.attrs['map_columns']}, one for each quantile of "
        f"{dataset.attrs['map_over']}. {headline(dataset)}."
    )


@styled
def study_map(dataset: xr.Dataset) -> Figure:
    """Draw one table of shaded cells a quantile.

    Parameters
    ----------
    dataset : xarray.Dataset
        A study with a map.

    Returns
    -------
    Figure

    Raises
    ------
    InvalidParameterError
        If the study has no map.
    """
    if "map_members" not in dataset:
        msg = "dataset must hold a map for this figure; it holds none."
        raise InvalidParameterError(msg)
    is_chance = "map_success" in dataset
    values = dataset["map_success" if is_chance else "map_land_kept"].values
    low, high = (0.0, 1.0) if is_chance else (float(np.nanmin(values)), float(np.nanmax(values)))
    n, n_rows = values.shape[0], values.shape[1]
    figure = new_figure(46.0 + 11.0 * n_rows)
    panels = figure.subplots(1, n, sharey=True, squeeze=False)[0]
    members = dataset["map_members"].values
    for q, axes in enumerate(panels):
        image = axes.imshow(values[q], vmin=low, vmax=high, cmap="viridis", aspect="auto")
        for i, j in np.ndindex(values.shape[1:]):
            value, count = float(values[q, i, j]), int(members[q, i, j])
            text = "no run" if not np.isfinite(value) else f"{value:.3g}"
            if is_chance and np.isfinite(value):
                a, b = chance_interval(round(value * count), count)
                text = f"{value:.0%}\n{float(a):.0%}-{float(b):.0%}"
            axes.text(
                j, i, text, ha="center", va="center", fontsize=7, color=shade_text(value, low, high)
            )
        names = [str(name).replace(" ", "\n", 1) for name in dataset["column_level"].values]
        axes.set_xticks(range(len(names)), names, fontsize=7)
        axes.set_yticks(range(n_rows), [str(name) for name in dataset["row_level"].values])
        axes.tick_params(length=0)
        axes.grid(visible=False)
        axes.set_xlabel(str(dataset.attrs["map_columns"]).capitalize())
        quantile = float(dataset["over_quantile"].values[q])
        axes.set_title(
            f"{dataset.attrs['map_over']} {dataset['map_over_value'].values[q]}\n({quantile:.0%} point)",
            fontsize=8,
        )  # fmt: skip
    panels[0].set_ylabel(str(dataset.attrs["map_rows"]).capitalize())
    label = "Chance of success [1]" if is_chance else "Marsh kept [m2]"
    figure.colorbar(image, ax=list(panels), label=label, fraction=0.04, pad=0.02)
    reading = (
        f"{int(members.min())} futures a cell: share and its exact 90 % interval."
        if is_chance
        else f"{int(members.min())} futures a cell: mean."
    )
    finish_study(figure, dataset, headline(dataset), reading)
    return figure
