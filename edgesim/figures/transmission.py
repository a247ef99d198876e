"""What passes a line: Kt against the water level for each line, new and worn."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgesim.figures.style import (
    BLUE,
    FEET_PER_METRE,
    MUTED,
    ORANGE,
    Look,
    finish,
    halo,
    name_panel,
    new_figure,
    second_axis,
    styled,
)

READING = (
    "Kt is transmitted over incoming wave height. Line median, band 90 %, for the heaviest class "
    "of waves (mean of a packet); labels say how much of the line's height is left."
)

SAMPLE = "Inputs of 20 members"

SHADES = {"walls": ORANGE, "reef": BLUE}
LINES = ((0, (1, 1)), (0, (3, 1, 1, 1)), "-.", "--", "-")


def _names(dataset: xr.Dataset) -> list[str]:
    return [name for name in ("walls", "reef") if f"transmission_{name}" in dataset]


def _at_mid_tide(dataset: xr.Dataset, name: str) -> xr.DataArray:
    level = float(dataset["datum_level"].sel(datum="MSL"))
    return dataset[f"transmission_{name}"].interp(water_level=level)


def headline(dataset: xr.Dataset) -> str:
    """Say what a new line lets through at mid tide."""
    parts = []
    for name in _names(dataset):
        found = _at_mid_tide(dataset, name).sel(condition=1.0).values
        subject = "new walls let" if name == "walls" else "a new reef lets"
        parts.append(f"{subject} through {found[0]:.2f} to {found[-1]:.2f} of the wave height")
    return f"At mean sea level {', '.join(parts)} (90 % of inputs)"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    worn = "; ".join(
        f"{name} with half of the height left {float(_at_mid_tide(dataset, name).sel(condition=0.5, quantile=0.5)):.2f}"
        for name in _names(dataset)
    )
    return (
        "Transmission coefficient of wave height against water level in metres and feet above "
        f"{dataset.attrs['vertical_datum']}, one panel a line, one curve for each state of wear. "
        f"{headline(dataset)}. Median at mean sea level: {worn}."
    )


@styled
def transmission(dataset: xr.Dataset) -> Figure:
    """Draw Kt against water level for each line and state of wear.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site and at least one line.

    Returns
    -------
    Figure
        Metres below, feet on top.
    """
    names = _names(dataset)
    figure = new_figure(95.0)
    panels = list(figure.subplots(1, len(names), sharey=True, squeeze=False).flat)
    datum = dataset.attrs["vertical_datum"]
    for axes, name in zip(panels, names, strict=True):
        _panel(axes, dataset, name)
        name_panel(axes, name, Look(SHADES[name]), pad=26)
        axes.set_xlabel(f"Water level (m {datum})")
        second_axis(axes, FEET_PER_METRE, f"Water level (ft {datum})", top=True)
    panels[0].set(ylim=(0, 1.03), ylabel="Kt: transmitted over incoming height (1)")
    height, period = dataset["line_wave"].values
    wave = f"wave of {100 * height:.0f} cm ({height * FEET_PER_METRE:.1f} ft) and {period:.1f} s"
    panels[0].text(
        0.02, 0.03, wave, transform=panels[0].transAxes, fontsize=7, color=MUTED, style="italic"
    )
    finish(figure, dataset, headline(dataset), READING, sample=SAMPLE)
    return figure


def _panel(axes: Axes, dataset: xr.Dataset, name: str) -> None:
    level = dataset["water_level"].values
    found = dataset[f"transmission_{name}"]
    # Where every state lets all pass the line stands dry.
    found = found.where((found < 1.0).any(("quantile", "condition")))
    places = np.linspace(0.25, 0.7, found.sizes["condition"])
    for condition, line, place in zip(found["condition"].values, LINES, places, strict=True):
        values = found.sel(condition=condition).values
        full = condition in (0.0, 0.5, 1.0)
        if condition in (0.5, 1.0):
            axes.fill_between(level, values[0], values[-1], color=SHADES[name], alpha=0.2, lw=0)
        axes.plot(level, values[2], color=SHADES[name] if full else "#777777", ls=line, lw=1.4)
        at = int(place * level.size)
        words = {0.0: "gone", 1.0: "new"}.get(condition, f"{100 * condition:.0f} %")
        halo(
            axes.annotate(
                words, (level[at], values[2, at]), fontsize=7, ha="center", va="center", zorder=6
            )
        )
    crest = f"{'wall_crest' if name == 'walls' else 'reef_crest_built'}"
    if crest in dataset:
        axes.axvline(float(dataset[crest]), color=MUTED, lw=0.7, ls=(0, (6, 2)))
        halo(
            axes.annotate(
                "crest",
                (float(dataset[crest]), 0.03),
                xytext=(2, 0),
                textcoords="offset points",
                fontsize=7,
                color=MUTED,
            )
        )
