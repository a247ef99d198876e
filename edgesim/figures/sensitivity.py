"""Which inputs matter: first-order and total shares of the variance, from a study."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import BLACK, BLUE, ORANGE, finish, new_figure, styled

RESTS_ON = "study_note"
"""Attribute that says from which study it is."""

READING = (
    "bars share of the variance, lines its 90 % bounds. First order: alone; total: with all that it "
    "acts together with. Estimates below 0 are noise and cut off."
)


BARS = 12
"""Most inputs shown."""


def _ranked(dataset: xr.Dataset) -> xr.Dataset:
    names = ["sensitivity_total", "sensitivity_first"]
    order = np.argsort(dataset["sensitivity_total"].values)[::-1][:BARS]
    return dataset[[*names, *(f"{name}_bound" for name in names)]].isel(input=order)


def headline(dataset: xr.Dataset) -> str:
    """Say which input matters most."""
    first = _ranked(dataset).isel(input=0)
    share, bound = float(first["sensitivity_total"]), float(first["sensitivity_total_bound"])
    return (
        f"{str(first['input'].values).capitalize()} matters most: {100 * max(share - bound, 0):.0f} to "
        f"{100 * min(share + bound, 1):.0f} % of the variance of {dataset.attrs['sensitivity_output']} (90 % bounds)"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    ranked = _ranked(dataset)
    words = "; ".join(
        f"{name} {100 * total:.0f} %"
        for name, total in zip(
            ranked["input"].values, ranked["sensitivity_total"].values, strict=True
        )
    )
    return f"Bars of first-order and total sensitivity by input with bounds. {headline(dataset)}. Total: {words}."


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
    ends = ranked["sensitivity_total"] + ranked["sensitivity_total_bound"]
    axes.set_xlim(0, 105 * float(max(ends.max(), ranked["sensitivity_first"].max())))
    axes.set_xlabel(f"Share of the variance of {dataset.attrs['sensitivity_output']} (%)")
    axes.grid(axis="x")
    axes.legend(loc="lower right")
    sample = dataset.attrs.get(RESTS_ON, "")
    finish(figure, dataset, headline(dataset), READING, sample=sample)
    return figure
