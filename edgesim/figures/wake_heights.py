"""How high wakes are: share of passages above each height, by class of boats."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import (
    FEET_PER_METRE,
    OPTION_LOOKS,
    Look,
    finish,
    new_figure,
    second_axis,
    styled,
)

READING = (
    "highest wave of each passage where the outer line stands, in deep water; speed, distance "
    "off and wave making scatter as the scenario says."
)

LOOKS = OPTION_LOOKS[1:] + OPTION_LOOKS[:1]

SAMPLE = "Sampled passages of 20 members"


def headline(dataset: xr.Dataset) -> str:
    """Say which class makes the highest wakes."""
    one_in_ten = dataset["wake_height"].sel(exceeded=0.1)
    half = dataset["wake_height"].sel(exceeded=0.5)
    worst = str(one_in_ten["boat_class"].values[int(np.argmax(one_in_ten.values))])
    low, high = (100 * float(part.sel(boat_class=worst)) for part in (half, one_in_ten))
    return (
        f"The highest wakes are those of {worst}: half of them above {low:.0f} cm ({low / 2.54:.0f} in), "
        f"one in ten above {high:.0f} cm ({high / 2.54:.0f} in)"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    classes = ", ".join(str(name) for name in dataset["boat_class"].values)
    return (
        "Curves of the share of passages whose wake is higher than a height in centimetres and inches, "
        f"one a boat class ({classes}). {headline(dataset)}."
    )


@styled
def wake_heights(dataset: xr.Dataset) -> Figure:
    """Draw exceedance of wake height by boat class.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Figure
        Centimetres below, inches on top.
    """
    figure = new_figure(95.0)
    axes = figure.subplots()
    share = 100 * dataset["exceeded"].values
    names = [str(name) for name in dataset["boat_class"].values]
    for index, name in enumerate(names):
        look: Look = LOOKS[index % len(LOOKS)]
        height = 100 * dataset["wake_height"].sel(boat_class=name).values
        axes.plot(
            height,
            share,
            color=look.colour,
            ls=look.line,
            marker=look.marker,
            mec="white" if look.marker != "x" else look.colour,
            label=name,
        )
    axes.set(yscale="log", ylim=(0.9, 110), xlim=(0, None))
    axes.set_yticks([1, 2, 5, 10, 25, 50, 100], ["1", "2", "5", "10", "25", "50", "100"])
    axes.minorticks_off()
    axes.grid(axis="both")
    axes.set_xlabel("Height of the wake (cm)")
    axes.set_ylabel("Passages with a higher wake (%)")
    second_axis(axes, FEET_PER_METRE * 12 / 100, "Height of the wake (in)", top=True)
    axes.legend(loc="lower left", title="Boat class", title_fontsize=7)
    finish(figure, dataset, headline(dataset), READING, sample=SAMPLE)
    return figure
