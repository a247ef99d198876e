"""Figures of what studies and surveys add to a forecast: sensitivity, design map, skill, beliefs.

The forecast holds none of it by itself; the names of the variables stand in
:mod:`edgesim.outcomes.extras`.
"""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLACK,
    BLUE,
    FEET_PER_METRE,
    MUTED,
    OPTION_LOOKS,
    ORANGE,
    VERMILLION,
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
from edgesim.outcomes.extras import Skill, skill

SENSITIVITY_READING = (
    "bars share of the variance, lines its 90 % bounds. First order: alone; total: with all that it "
    "acts together with."
)
MAP_READING = "number in each cell the chance of success (per cent); dark is likely."
SKILL_READING = (
    "line median, bands 50 % and 90 % of members; marks surveys with their standard error."
)
BELIEF_READING = "areas the weight of each belief after each review; together 100 %."

BARS = 12
"""Most inputs shown."""


def _ranked(dataset: xr.Dataset) -> xr.Dataset:
    names = ["sensitivity_total", "sensitivity_first"]
    order = np.argsort(dataset["sensitivity_total"].values)[::-1][:BARS]
    return dataset[[*names, *(f"{name}_bound" for name in names)]].isel(input=order)


def sensitivity_headline(dataset: xr.Dataset) -> str:
    """Say which input matters most."""
    first = _ranked(dataset).isel(input=0)
    share, bound = float(first["sensitivity_total"]), float(first["sensitivity_total_bound"])
    return (
        f"{str(first['input'].values).capitalize()} matters most: {100 * max(share - bound, 0):.0f} to "
        f"{100 * min(share + bound, 1):.0f} % of the variance of {dataset.attrs['sensitivity_output']} (90 % bounds)"
    )


def sensitivity_alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    ranked = _ranked(dataset)
    words = "; ".join(
        f"{name} {100 * total:.0f} %"
        for name, total in zip(
            ranked["input"].values, ranked["sensitivity_total"].values, strict=True
        )
    )
    return f"Bars of first-order and total sensitivity by input with bounds. {sensitivity_headline(dataset)}. Total: {words}."


@styled
def sensitivity(dataset: xr.Dataset) -> Figure:
    """Draw first-order and total sensitivity, largest on top.

    Parameters
    ----------
    dataset : xarray.Dataset
        With the variables of a sensitivity study.

    Returns
    -------
    Figure
    """
    ranked = _ranked(dataset)
    names = [str(name) for name in ranked["input"].values]
    figure = new_figure(34.0 + 9.0 * len(names))
    axes = figure.subplots()
    y = np.arange(len(names))
    for kind, shift, colour, hatch in (
        ("total", 0.2, BLUE, ""),
        ("first", -0.2, ORANGE, "////"),
    ):
        share = 100 * ranked[f"sensitivity_{kind}"].values
        bound = 100 * ranked[f"sensitivity_{kind}_bound"].values
        axes.barh(
            y - shift,
            share,
            0.36,
            xerr=bound,
            color=colour,
            hatch=hatch,
            ec="#333333",
            lw=0.4,
            ecolor=BLACK,
            label="total" if kind == "total" else "first order",
        )
    axes.set_yticks(y, names)
    axes.invert_yaxis()
    axes.set_xlim(left=0)
    axes.set_xlabel(f"Share of the variance of {dataset.attrs['sensitivity_output']} (%)")
    axes.grid(axis="x")
    axes.legend(loc="lower right")
    finish(figure, dataset, sensitivity_headline(dataset), SENSITIVITY_READING)
    return figure


def _best(dataset: xr.Dataset) -> tuple[str, str, float]:
    chance = dataset["success_chance"]
    row, column = np.unravel_index(int(np.nanargmax(chance.values)), chance.shape)
    y, x = map(str, chance.dims)
    return (
        f"{y.replace('_', ' ')} {chance[y].values[row]}",
        f"{x.replace('_', ' ')} {chance[x].values[column]}",
        float(chance.values[row, column]),
    )


def map_headline(dataset: xr.Dataset) -> str:
    """Say which cell of the map does best."""
    row, column, chance = _best(dataset)
    low, high = np.nanmin(dataset["success_chance"]), np.nanmax(dataset["success_chance"])
    return (
        f"Most likely to succeed: {row} with {column} ({100 * chance:.0f} %); all others lie between "
        f"{100 * low:.0f} and {100 * high:.0f} %"
    )


def map_alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return f"Map of the chance of success by spacing and material. {map_headline(dataset)}."


@styled
def design_map(dataset: xr.Dataset) -> Figure:
    """Draw the chance of success by two decisions.

    Parameters
    ----------
    dataset : xarray.Dataset
        With ``success_chance``.

    Returns
    -------
    Figure
    """
    chance = dataset["success_chance"]
    figure = new_figure(40.0 + 12.0 * chance.shape[0])
    axes = figure.subplots()
    shades = colormaps["cividis_r"].with_extremes(bad="#FFFFFF")
    axes.pcolormesh(100 * chance.values, cmap=shades, vmin=0, vmax=100, edgecolor="white", lw=1.0)
    for (row, column), value in np.ndenumerate(chance.values):
        if np.isfinite(value):
            colour = "white" if value > 0.55 else "black"
            words = f"{100 * value:.0f}"
            axes.text(column + 0.5, row + 0.5, words, ha="center", va="center", color=colour)
    y, x = chance.dims
    axes.set_xticks(np.arange(chance.shape[1]) + 0.5, [str(v) for v in chance[x].values])
    axes.set_yticks(np.arange(chance.shape[0]) + 0.5, [str(v) for v in chance[y].values])
    axes.set_xlabel(chance[x].attrs.get("long_name", str(x)))
    axes.set_ylabel(chance[y].attrs.get("long_name", str(y)))
    axes.grid(visible=False)
    finish(figure, dataset, map_headline(dataset), MAP_READING)
    return figure


def skill_headline(dataset: xr.Dataset) -> str:
    """Say how often the surveys lie in the bands."""
    found = skill(dataset)
    return (
        f"{found.inside} of {found.count} surveys lie inside the 90 % band; mean difference "
        f"{found.bias:+.2f} m (root mean square {found.rmse:.2f} m)"
    ).replace("-", "\N{MINUS SIGN}")


def skill_alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        "Two panels: forecast retreat with surveys in metres and feet through time, and survey minus forecast "
        f"median. {skill_headline(dataset)}."
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
    finish(figure, dataset, skill_headline(dataset), SKILL_READING)
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


def belief_headline(dataset: xr.Dataset) -> str:
    """Say which belief carries most weight now."""
    last = dataset["belief_weight"].isel(review=-1)
    first = dataset["belief_weight"].isel(review=0)
    best = int(np.argmax(last.values))
    name = str(dataset["belief"].values[best])
    return (
        f"After {dataset.sizes['review']} reviews “{name}” carries {100 * float(last[best]):.0f} % "
        f"of the weight ({100 * float(first[best]):.0f} % at first)"
    )


def belief_alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    last = "; ".join(
        f"{name} {100 * float(weight):.0f} %"
        for name, weight in zip(
            dataset["belief"].values, dataset["belief_weight"].isel(review=-1).values, strict=True
        )
    )
    return f"Stacked areas of the weight of each belief through the reviews. {belief_headline(dataset)}. Last: {last}."


@styled
def belief_weights(dataset: xr.Dataset) -> Figure:
    """Draw the weight of each belief through the reviews.

    Parameters
    ----------
    dataset : xarray.Dataset
        With ``belief_weight``.

    Returns
    -------
    Figure
    """
    figure = new_figure(88.0)
    axes = figure.subplots()
    years = dataset["review_year"].values
    weights = 100 * dataset["belief_weight"].transpose("belief", "review").values
    bottom = np.zeros(years.size)
    hatches = ("", "////", "....", "xxxx", "----")
    for index, name in enumerate(dataset["belief"].values):
        look = OPTION_LOOKS[1 + index % (len(OPTION_LOOKS) - 1)]
        axes.fill_between(
            years,
            bottom,
            bottom + weights[index],
            color=look.colour,
            hatch=hatches[index % len(hatches)],
            ec="white",
            lw=0.5,
            alpha=0.8,
            label=str(name),
        )
        bottom = bottom + weights[index]
    axes.set(xlim=(years[0], years[-1]), ylim=(0, 100))
    axes.set_xlabel("Years after building")
    axes.set_ylabel("Weight of the belief (%)")
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.0))
    axes.axhline(50, color=VERMILLION, lw=0.6, ls=":")
    finish(figure, dataset, belief_headline(dataset), BELIEF_READING)
    return figure
