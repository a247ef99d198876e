"""The levelled profile with tidal datums and the design lines, at true scale and raised."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from edgesim.figures.style import (
    BLUE,
    FEET_PER_METRE,
    MARSH,
    MUD,
    MUTED,
    SHELL,
    WATER,
    WOOD,
    both_lengths,
    finish,
    first_edge,
    halo,
    new_figure,
    second_axis,
    spread,
    styled,
)

READING = "ground as surveyed, lines as built. Above: all directions at one scale; below: heights drawn larger."

SAMPLE = "The survey and the design"

DATUMS = ("MHW", "MSL", "MLW")

MARSH_SHOWN, SEA_SHOWN = 4.0, 3.0
"""Marsh landward of the edge, and bed seaward of the outer line. [m]"""


def _levels(dataset: xr.Dataset) -> dict[str, float]:
    names = [name for name in DATUMS if name in dataset["datum"].values]
    return {name: float(dataset["datum_level"].sel(datum=name)) for name in names}


def _lines(dataset: xr.Dataset) -> dict[str, tuple[float, float, float, str]]:
    """Distance seaward of the edge, width, crest and colour of each line."""
    origin = first_edge(dataset)
    found = {}
    for name, width, crest, colour in (
        ("wall", "wall_thickness", "wall_crest", WOOD),
        ("reef", "reef_width", "reef_crest_built", SHELL),
    ):
        if f"{name}_position" in dataset:
            found[name] = (
                origin - float(dataset[f"{name}_position"]),
                float(dataset[width]),
                float(dataset[crest]),
                colour,
            )
    return found


def _bed(dataset: xr.Dataset, distance: float) -> float:
    return float(
        np.interp(distance, dataset["profile_distance"], dataset["profile_elevation"].values)
    )


def headline(dataset: xr.Dataset) -> str:
    """Say how high the scarp is and how far out and how deep the lines stand."""
    parts = [f"The edge is a scarp of {both_lengths(float(dataset['scarp_height']))}"]
    mlw = _levels(dataset).get("MLW", float("nan"))
    for name, (distance, _, _, _) in _lines(dataset).items():
        depth = 100 * (mlw - _bed(dataset, distance))
        where = f"{abs(depth):.0f} cm ({abs(depth) / 2.54:.0f} in) {'below' if depth >= 0 else 'above'} MLW"  # on bare mud at low water
        parts.append(f"the {name} stands {both_lengths(distance)} out on a bed {where}")
    return "; ".join(parts)


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    levels = ", ".join(f"{name} {level:.2f} m" for name, level in _levels(dataset).items())
    return (
        "Cross-shore profile in metres and feet, once at true scale and once with heights enlarged, elevation "
        f"above {dataset.attrs['vertical_datum']}, with tidal datums ({levels}) and the lines of the design. "
        f"{headline(dataset)}."
    )


@styled
def profile(dataset: xr.Dataset) -> Figure:
    """Draw the surveyed profile and the lines on it.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and on top.
    """
    figure = new_figure(128.0)
    true, raised = figure.subplots(2, 1, sharex=True, height_ratios=(1, 1.6))
    datum = dataset.attrs["vertical_datum"]
    for axes in (true, raised):
        _ground(axes, dataset)
        axes.set_ylabel(f"Elevation (m {datum})")
        second_axis(axes, FEET_PER_METRE, f"Elevation (ft {datum})")
        axes.grid(visible=False)
    _limits(true, raised, dataset)
    true.set(aspect="equal", title="True scale", adjustable="box", anchor="W")
    raised.set_title("Heights enlarged")
    _datums(raised, dataset)
    for level in _levels(dataset).values():
        true.axhline(level, color=BLUE, lw=0.6, ls=(0, (6, 2)))
    second_axis(true, FEET_PER_METRE, "Landward of the edge (ft)", top=True)
    raised.set_xlabel("Landward of the edge (m)")
    finish(figure, dataset, headline(dataset), READING, sample=SAMPLE)
    return figure


def _limits(true: Axes, raised: Axes, dataset: xr.Dataset) -> None:
    distances = [distance for distance, *_ in _lines(dataset).values()]
    reach = max([*distances, 8.0]) + SEA_SHOWN
    top = float(dataset["profile_elevation"][0]) + float(dataset["scarp_height"])
    low = min(_bed(dataset, reach), *_levels(dataset).values())
    high = max(
        top, *_levels(dataset).values(), *(crest for _, _, crest, _ in _lines(dataset).values())
    )
    true.set_xlim(-reach, MARSH_SHOWN)
    for axes, room in ((true, 0.3), (raised, 0.35)):
        axes.set_ylim(low - 0.5 * room, high + room)


def _ground(axes: Axes, dataset: xr.Dataset) -> None:
    distance, bed = dataset["profile_distance"].values, dataset["profile_elevation"].values
    top = bed[0] + float(dataset["scarp_height"])
    x = np.concatenate([-distance[::-1], [0.0, MARSH_SHOWN + 2.0]])
    y = np.concatenate([bed[::-1], [top, top]])
    axes.set_facecolor(WATER)
    axes.fill_between(x, y, y.min() - 5.0, color=MUD, lw=0)
    axes.fill_between(x[-2:], y[-2:], y[-2:] - 0.12, color=MARSH, lw=0, zorder=1.5)
    axes.plot(x, y, color="black", lw=1.3, zorder=4)
    points = (-distance, bed)
    axes.plot(*points, ls="", marker="o", color="black", ms=2.6, zorder=5)
    for name, (out, width, crest, colour) in _lines(dataset).items():
        foot = _bed(dataset, out)
        axes.add_patch(
            Rectangle(
                (-out - width / 2, foot),
                width,
                crest - foot,
                fc=colour,
                ec="#333333",
                hatch="////" if name == "wall" else "oo",
                lw=0.5,
                zorder=3,
            )
        )


def _datums(axes: Axes, dataset: xr.Dataset) -> None:
    """Name the tidal datums and the crests."""
    low, high = axes.get_ylim()
    levels = _levels(dataset)
    heights = spread(
        [(level - low) / (high - low) + 0.04 for level in levels.values()][::-1], 0.075
    )
    for (name, level), height in zip(reversed(levels.items()), heights, strict=True):
        axes.axhline(level, color=BLUE, lw=0.8, ls=(0, (6, 2)), zorder=0.5)
        words = f"{name} {level:.2f} m ({level * FEET_PER_METRE:.1f} ft)"
        halo(
            axes.annotate(
                words.replace("-", "\N{MINUS SIGN}"),
                (0, height),
                xycoords="axes fraction",
                xytext=(3, 0),
                textcoords="offset points",
                va="center",
                fontsize=7,
                color=BLUE,
                zorder=7,
            )
        )
    for name, (out, _, crest, _) in _lines(dataset).items():
        words = f"{name}, crest {crest:.2f} m\n({crest * FEET_PER_METRE:.1f} ft)"
        halo(
            axes.annotate(
                words,
                (-out, crest),
                xytext=(0, 3),
                textcoords="offset points",
                ha="center",
                va="bottom",
                fontsize=7,
                zorder=7,
            )
        )
    top = float(dataset["profile_elevation"][0]) + float(dataset["scarp_height"])
    axes.annotate(
        f"marsh {top:.2f} m ({top * FEET_PER_METRE:.1f} ft)",
        (MARSH_SHOWN, top),
        xytext=(-3, 3),
        textcoords="offset points",
        ha="right",
        fontsize=7,
        color=MUTED,
        zorder=7,
    )
