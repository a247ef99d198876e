"""Cross-shore section: ground at the start and at the end, lines, tidal datums."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from numpy.typing import NDArray

from edgesim.figures.style import (
    BANDS,
    BLACK,
    BLUE,
    FEET_PER_METRE,
    IN_MOST,
    MUD,
    MUTED,
    ORANGE,
    SHELL,
    WOOD,
    featured_option,
    finish,
    first_edge,
    halo,
    in_words,
    last_range,
    last_year,
    median,
    members_of,
    new_figure,
    second_axis,
    spread,
    styled,
)
from edgesim.outcomes.dataset import has_reef, has_walls
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import member_quantiles

Floats = NDArray[np.float64]

READING = BANDS

LAST_GROUND = "#A85B00"
DATUMS = ("MHW", "MSL", "MLW")
POST_WIDTH = 0.15
"""Width at which a row of posts is drawn. [m]"""

SEAWARD_MARGIN = 6.0
"""Flat shown seaward of the outermost line. [m]"""

LANDWARD_MARGIN = 4.0
"""Marsh shown landward of the last edge. [m]"""


def _options(dataset: xr.Dataset) -> list[str]:
    return list(dict.fromkeys((NO_ACTION, featured_option(dataset))))


def headline(dataset: xr.Dataset) -> str:
    """Say how far the flat behind the outer line of the featured option rose."""
    option, year = featured_option(dataset), last_year(dataset)
    low, high = last_range(dataset, "bed_rise", option)
    if option == NO_ACTION:
        return f"Section through the edge at the start and in year {year}"
    inch = FEET_PER_METRE * 12
    return (
        f"The flat behind {option} rises by {in_words((low * 100, high * 100), 'cm', 0)} "
        f"({in_words((low * inch, high * inch), 'in')}) by year {year} {IN_MOST}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    return (
        f"Cross-shore sections for {' and '.join(_options(dataset))}, elevation in metres and feet "
        f"above {dataset.attrs['vertical_datum']}, with tidal datums, the first ground and the ground "
        f"in year {last_year(dataset)}. {headline(dataset)}."
    )


@styled
def section(dataset: xr.Dataset) -> Figure:
    """Draw the section for no action and for the option with the most lines.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Metres at the left and below, feet at the right and above.
    """
    options = _options(dataset)
    figure = new_figure(34.0 + 48.0 * len(options))
    panels = list(figure.subplots(len(options), 1, sharex=True, sharey=True, squeeze=False).flat)
    datum = dataset.attrs["vertical_datum"]
    for axes, option in zip(panels, options, strict=True):
        _panel(axes, dataset, option)
        axes.set_title(option.capitalize())
        axes.set_ylabel(f"Elevation (m {datum})")
        second_axis(axes, FEET_PER_METRE, f"Elevation (ft {datum})")
    panels[0].set(xlim=_across(dataset), ylim=_heights(dataset))
    for axes in panels:
        _draw_datums(axes, dataset)
    second_axis(panels[0], FEET_PER_METRE, "Landward of the first edge (ft)", top=True)
    panels[-1].set_xlabel("Landward of the first edge (m)")
    finish(figure, dataset, headline(dataset), READING, _legend(dataset))
    for axes, option in zip(panels, options, strict=True):
        _note(figure, axes, _crests(dataset, option))
    return figure


def _across(dataset: xr.Dataset) -> tuple[float, float]:
    origin = first_edge(dataset)
    last = float(dataset["edge_position"].isel(time=-1).quantile(0.95)) - origin
    lines = [float(dataset[n]) for n in ("wall_position", "reef_position") if n in dataset]
    x = dataset["cross_shore"].values - origin
    seaward = min([*lines, origin]) - origin - SEAWARD_MARGIN
    return max(float(x[0]), seaward), min(float(x[-1]), last + LANDWARD_MARGIN)


def _heights(dataset: xr.Dataset) -> tuple[float, float]:
    left, right = _across(dataset)
    x = dataset["cross_shore"].values - first_edge(dataset)
    ground = dataset["surface_section"].values[..., (x >= left) & (x <= right)]
    levels = [float(dataset["datum_level"].sel(datum=name)) for name in _datums(dataset)]
    low, high = min(*levels, float(np.nanmin(ground))), max(*levels, float(np.nanmax(ground)))
    return low - 0.15 * (high - low), high + 0.12 * (high - low)


def _datums(dataset: xr.Dataset) -> list[str]:
    return [name for name in DATUMS if name in dataset["datum"].values]


def _panel(axes: Axes, dataset: xr.Dataset, option: str) -> None:
    x = dataset["cross_shore"].values - first_edge(dataset)
    ground = members_of(dataset, "surface_section", option)
    first = median(ground[:, 0])
    low, lower, last, upper, high = member_quantiles(ground[:, -1])
    axes.fill_between(x, -50.0, last, color=MUD, lw=0, zorder=1)
    axes.fill_between(x, low, high, color=ORANGE, alpha=0.25, lw=0, zorder=2)
    axes.fill_between(x, lower, upper, color=ORANGE, alpha=0.45, lw=0, zorder=2)
    if has_walls(dataset, option):
        _draw_walls(axes, dataset, x, first)
    if has_reef(dataset, option):
        _draw_reef(axes, dataset, option, x, first)
    axes.plot(x, first, color=BLACK, ls="--", lw=1.0, zorder=5)
    axes.plot(x, last, color=LAST_GROUND, lw=1.6, zorder=5)
    axes.grid(visible=False)


def _draw_walls(axes: Axes, dataset: xr.Dataset, x: Floats, ground: Floats) -> None:
    """Draw the fill between its two rows of posts, as built."""
    centre = float(dataset["wall_position"]) - first_edge(dataset)
    thickness, crest = float(dataset["wall_thickness"]), float(dataset["wall_crest"])
    foot = float(np.interp(centre, x, ground))
    left = centre - thickness / 2
    axes.add_patch(
        Rectangle((left, foot), thickness, crest - foot, fc="#D9B98F", ec=WOOD, hatch="////", lw=0)
    )
    for side in (left, left + thickness):
        corner = (side - POST_WIDTH / 2, foot - 0.5 * (crest - foot))
        axes.add_patch(Rectangle(corner, POST_WIDTH, 1.6 * (crest - foot), fc=WOOD, lw=0, zorder=4))
    _name(axes, centre, crest, "walls")


def _draw_reef(axes: Axes, dataset: xr.Dataset, option: str, x: Floats, ground: Floats) -> None:
    """Draw the reef as built, and its crest at the end."""
    centre = float(dataset["reef_position"]) - first_edge(dataset)
    width, crest = float(dataset["reef_width"]), float(dataset["reef_crest_built"])
    foot = float(np.interp(centre, x, ground))
    last = float(median(members_of(dataset, "reef_crest", option))[-1])
    left = centre - width / 2
    axes.add_patch(
        Rectangle((left, foot), width, crest - foot, fc=SHELL, ec="#444444", hatch="oo", lw=0.6)
    )
    axes.plot([left, left + width], [last, last], color=BLUE, lw=2.0, zorder=6)
    _name(axes, centre, max(crest, last), "reef")


def _level(metres: float) -> str:
    return f"{metres:.2f} m ({metres * FEET_PER_METRE:.1f} ft)".replace("-", "\N{MINUS SIGN}")


def _name(axes: Axes, x: float, y: float, text: str) -> None:
    halo(
        axes.annotate(
            text,
            (x, y),
            xytext=(0, 9),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=7,
            zorder=7,
        )
    )


def _draw_datums(axes: Axes, dataset: xr.Dataset) -> None:
    """Draw the tidal datums and name them with their level at the seaward side."""
    low, high = axes.get_ylim()
    names = sorted(_datums(dataset), key=lambda name: float(dataset["datum_level"].sel(datum=name)))
    levels = [float(dataset["datum_level"].sel(datum=name)) for name in names]
    heights = spread([(level - low) / (high - low) + 0.045 for level in levels], 0.09)
    for name, level, height in zip(names, levels, heights, strict=True):
        axes.axhline(level, color=BLUE, lw=0.8, ls=(0, (6, 2)), zorder=0.5)
        text = axes.annotate(
            f"{name} {_level(level)}",
            (0, height),
            xycoords="axes fraction",
            xytext=(3, 0),
            textcoords="offset points",
            va="center",
            fontsize=7,
            color=BLUE,
            zorder=7,
        )
        halo(text)


def _legend(dataset: xr.Dataset) -> list[Line2D | Patch]:
    return [
        Line2D([], [], color=BLACK, ls="--", lw=1.0, label="ground at the start"),
        Line2D([], [], color=LAST_GROUND, lw=1.6, label=f"ground in year {last_year(dataset)}"),
        Patch(fc=ORANGE, alpha=0.45, label="50 %"),
        Patch(fc=ORANGE, alpha=0.25, label="90 % of members"),
        Line2D([], [], color=BLUE, lw=0.8, ls=(0, (6, 2)), label="tidal datum"),
    ]


def _note(figure: Figure, axes: Axes, lines: list[str]) -> None:
    """Write crests and the vertical exaggeration, known once the layout is, into the ground."""
    figure.draw_without_rendering()
    box = axes.get_window_extent()
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    factor = (box.height / (high - low)) / (box.width / (right - left))
    axes.annotate(
        "\n".join([*lines, f"vertical scale {factor:.1f} times the horizontal"]),
        (1, 0),
        xycoords="axes fraction",
        xytext=(-4, 4),
        textcoords="offset points",
        ha="right",
        fontsize=7,
        color=MUTED,
        zorder=7,
        linespacing=1.4,
    )


def _crests(dataset: xr.Dataset, option: str) -> list[str]:
    """Say the crest of each line of an option."""
    lines = []
    if has_walls(dataset, option):
        lines.append(f"walls: crest {_level(float(dataset['wall_crest']))}")
    if has_reef(dataset, option):
        last = float(median(members_of(dataset, "reef_crest", option))[-1])
        built = _level(float(dataset["reef_crest_built"]))
        lines.append(f"reef: crest {built}, in year {last_year(dataset)} {_level(last)} (blue)")
    return lines
