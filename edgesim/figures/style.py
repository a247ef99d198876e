"""What all figures share: colours, bands, second units, footers.

The colours are those of Okabe and Ito, Color Universal Design (hexadecimal codes read
in a secondary text; docs/sources.md, row figures-2).
Every option also has a line style and a marker of its own, for grey print.
"""

from __future__ import annotations

import functools
import re
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import matplotlib.style
import numpy as np
import xarray as xr
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke
from numpy.typing import ArrayLike, NDArray

from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.extras import sample_words
from edgesim.outcomes.indicators import NO_ACTION, reach_mask
from edgesim.outcomes.summary import METRES_PER_FOOT, member_quantiles

Floats = NDArray[np.float64]

STYLE = Path(__file__).with_name("edgesim.mplstyle")

MILLIMETRES_PER_INCH = 25.4
FIGURE_WIDTH = 175.0
"""Width of a double column. [mm]"""

TITLE_CHARACTERS = 88
"""Longest line of a title that fits the width."""

FOOTER_LINE, LEGEND_HEIGHT = 3.4, 6.0
"""Strips kept free below the panels: for a line of small print, for a row of the legend. [mm]"""

FOOTER_CHARACTERS = 124
"""Longest line of small print that fits the width."""

LEGEND_COLUMNS = 8

BANDS = "line median, bands 50 % and 90 % of members."

FEET_PER_METRE = 1.0 / METRES_PER_FOOT

EVIDENCE_YEARS = 5.0
"""Most monitored living shorelines are younger than this (docs/sources.md, row figures-1). [year]"""

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
MUTED = "#555555"
WATER, MARSH, MUD = "#EAF3F8", "#E3EDDA", "#E8E0D5"
WOOD, SHELL = "#7A4B1E", "#9C9C9C"


@dataclass(frozen=True, slots=True)
class Look:
    """Colour, line style and marker of one curve."""

    colour: str
    line: str | tuple[int, tuple[float, ...]] = "-"
    marker: str = ""


OPTION_LOOKS = (
    Look(BLACK, (0, (4, 1.5)), "x"),
    Look(ORANGE, "-", "s"),
    Look(BLUE, "-.", "^"),
    Look(VERMILLION, "-", "o"),
    Look(SKY, (0, (1, 1)), "D"),
    Look(GREEN, "--", "v"),
    Look(PURPLE, (0, (5, 1, 1, 1, 1, 1)), "P"),
    Look(YELLOW, "-", "*"),
)
"""No action first, then the others in the order of the scenario."""


def styled(function: Callable[[xr.Dataset], Figure]) -> Callable[[xr.Dataset], Figure]:
    """Draw a figure with the style sheet and leave matplotlib's settings alone."""

    @functools.wraps(function)
    def with_style(dataset: xr.Dataset) -> Figure:
        with matplotlib.style.context(STYLE):
            return function(dataset)

    return with_style


def new_figure(height: float) -> Figure:
    """Make an empty figure of double-column width.

    Parameters
    ----------
    height : float
        Height. [mm]

    Returns
    -------
    Figure
        With constrained layout.
    """
    size = (FIGURE_WIDTH / MILLIMETRES_PER_INCH, height / MILLIMETRES_PER_INCH)
    return Figure(figsize=size, layout="constrained")


def option_names(dataset: xr.Dataset) -> list[str]:
    """List the options, no action first."""
    names = [str(name) for name in dataset["option"].values]
    return sorted(names, key=lambda name: name != NO_ACTION)


def option_looks(dataset: xr.Dataset) -> dict[str, Look]:
    """Give every option its look; they repeat after eight."""
    names = option_names(dataset)
    return {name: OPTION_LOOKS[i % len(OPTION_LOOKS)] for i, name in enumerate(names)}


def featured_option(dataset: xr.Dataset) -> str:
    """Pick the option with the most lines: both, else one, else no action."""
    return max(
        option_names(dataset),
        key=lambda name: has_walls(dataset, name) + has_reef(dataset, name),
    )


def members_of(dataset: xr.Dataset, name: str, option: str) -> Floats:
    """Take one quantity of one option: an array with ``member`` first."""
    return np.asarray(dataset[name].sel(option=option).values, dtype=np.float64)


def median(values: ArrayLike) -> Floats:
    """Take the median over members, NaN where no member has a value."""
    return np.asarray(member_quantiles(values)[2])


def first_edge(dataset: xr.Dataset) -> float:
    """Mean cross-shore position of the first edge over the defended reach, in metres."""
    inside = reach_mask(
        dataset["alongshore"].values,
        float(dataset["defended_start"]),
        float(dataset["defended_end"]),
    )
    return float(dataset["initial_edge"].values[inside].mean())


def last_year(dataset: xr.Dataset) -> int:
    """Round the length of the run to whole years."""
    return int(np.round(years_elapsed(dataset)[-1]))


def draw_bands(
    axes: Axes,
    x: ArrayLike,
    members: ArrayLike,
    look: Look,
    *,
    outer: bool = True,
    strength: float = 1.0,
) -> Floats:
    """Draw the median with its 50 % and 90 % bands.

    Parameters
    ----------
    axes : Axes
        Where to draw.
    x : array_like
        Abscissa of the records.
    members : array_like, (member, x)
        Values; NaN where a member has none.
    look : Look
        Colour, line and marker.
    outer : bool, default True
        Whether to draw the 90 % band too.
    strength : float, default 1.0
        Opacity of the bands relative to the usual one.

    Returns
    -------
    ndarray, (5, x)
        The quantiles drawn.
    """
    quantiles = member_quantiles(members)
    if outer:
        axes.fill_between(
            x, quantiles[0], quantiles[4], color=look.colour, alpha=0.13 * strength, lw=0
        )
    axes.fill_between(x, quantiles[1], quantiles[3], color=look.colour, alpha=0.25 * strength, lw=0)
    draw_median(axes, x, quantiles[2], look)
    return quantiles


def draw_median(axes: Axes, x: ArrayLike, values: ArrayLike, look: Look) -> None:
    """Draw one line with about a marker a year on ten."""
    axes.plot(
        x,
        values,
        color=look.colour,
        ls=look.line,
        marker=look.marker,
        markevery=0.12,
        mec="white" if look.marker not in ("x", "") else look.colour,
        mew=0.8 if look.marker == "x" else 0.4,
    )


def second_axis(axes: Axes, factor: float, label: str, *, top: bool = False) -> None:
    """Add the same scale in another unit, at the right or on top.

    Parameters
    ----------
    axes : Axes
        The first axis.
    factor : float
        Second unit per first unit.
    label : str
        Label with the second unit.
    top : bool, default False
        Whether it goes with the x axis.
    """

    def forward(value: ArrayLike) -> ArrayLike:
        return np.multiply(value, factor)

    def back(value: ArrayLike) -> ArrayLike:
        return np.divide(value, factor)

    if top:
        second = axes.secondary_xaxis("top", functions=(forward, back))
        second.set_xlabel(label)
    else:
        second = axes.secondary_yaxis("right", functions=(forward, back))
        second.set_ylabel(label)
    second.spines["top" if top else "right"].set_visible(True)


def year_axis(axes: Axes, last: int, *, room: float = 0.0, label: bool = True) -> None:
    """Count years along x, and shade what lies beyond the evidence.

    Parameters
    ----------
    axes : Axes
        The panel.
    last : int
        Last year of the run. [year]
    room : float, default 0
        Empty share at the right, for labels. [1]
    label : bool, default True
        Whether to name the axis.
    """
    axes.set_xlim(0, last * (1 + room))
    step = next((step for step in (1, 2, 5, 10) if last / step <= 6), 20)
    axes.set_xticks(range(0, last + 1, step))
    if label:
        axes.set_xlabel("Years after building")
    if last > EVIDENCE_YEARS:
        axes.axvspan(EVIDENCE_YEARS, last, color="#F1F1F1", zorder=0, lw=0)


def note_evidence(axes: Axes, last: int, y: float = 0.98) -> None:
    """Say in words what the shade after year 5 means."""
    if last > EVIDENCE_YEARS:
        axes.annotate(
            "beyond the evidence\nof monitored sites",
            (last, y),
            xycoords=("data", "axes fraction"),
            xytext=(-3, 0),
            textcoords="offset points",
            ha="right",
            va="top",
            fontsize=7,
            style="italic",
            color=MUTED,
        )


def name_panel(axes: Axes, option: str, look: Look, pad: float = 4.0, width: int = 28) -> None:
    """Title a panel with its option in the option's colour, folded at `width` characters."""
    axes.set_title(textwrap.fill(option.capitalize(), width), color=look.colour, pad=pad)


def head_room(axes: Axes, share: float = 0.12) -> None:
    """Lift the upper y limit by a share of the range, for a note inside."""
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + share * (high - low))


def label_ends(
    axes: Axes, x: float, entries: Sequence[tuple[float, str, str]], gap: float = 0.085
) -> None:
    """Name curves at their right ends, moved apart where they would overlap.

    Parameters
    ----------
    axes : Axes
        The panel, with its final y limits.
    x : float
        End of the curves.
    entries : sequence of (y, text, colour)
        One a curve; curves without a finite end are left out.
    gap : float, default 0.085
        Smallest distance of two labels as a share of the panel's height. [1]
    """
    low, high = axes.get_ylim()
    ordered = sorted(entry for entry in entries if np.isfinite(entry[0]))
    shares = [(entry[0] - low) / (high - low) for entry in ordered]
    for height, (_, text, colour) in zip(spread(shares, gap), ordered, strict=True):
        label = axes.annotate(
            text,
            (x, height),
            xycoords=("data", "axes fraction"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=7,
            fontweight="bold",
            color=colour,
        )
        halo(label)


def halo(text: object) -> None:
    """Put a white rim round a text so that it stays legible over lines."""
    text.set_path_effects([withStroke(linewidth=1.8, foreground="white")])  # type: ignore[attr-defined]


def spread(positions: Sequence[float], gap: float) -> list[float]:
    """Move ascending positions apart to at least `gap`, inside 0 to 1.

    Examples
    --------
    >>> [round(p, 2) for p in spread([0.5, 0.5, 0.9], 0.1)]
    [0.45, 0.55, 0.9]
    """

    def inside(centre: float, size: int) -> float:
        return min(max(centre, gap * size / 2), 1 - gap * size / 2)

    groups: list[tuple[float, int]] = []
    for position in positions:
        centre, size = inside(position, 1), 1
        # Labels that would touch form a block round their common centre.
        while groups and centre - groups[-1][0] < gap * (size + groups[-1][1]) / 2:
            other, count = groups.pop()
            size, total = size + count, centre * size + other * count
            centre = inside(total / size, size)
        groups.append((centre, size))
    return [
        centre + gap * (index - (size - 1) / 2) for centre, size in groups for index in range(size)
    ]


def finish(
    figure: Figure,
    dataset: xr.Dataset,
    title: str,
    reading: str = BANDS,
    handles: Sequence[Artist] = (),
    sample: str | None = "",
    columns: int = LEGEND_COLUMNS,
) -> None:
    """Add the title that says what is seen and the footer with the small print.

    Parameters
    ----------
    figure : Figure
        The figure, otherwise complete.
    dataset : xarray.Dataset
        The forecast shown.
    title : str
        One sentence.
    reading : str, default `BANDS`
        How to read the signs of this figure.
    handles : sequence of Artist, default ()
        Entries of a legend between the panels and the footer.
    sample : str or None, default ""
        What the figure rests on, where that is not the members of the forecast; None where the
        reading says it.
    columns : int, default `LEGEND_COLUMNS`
        Most entries in one row of the legend.
    """
    invented = "Invented data. " if "invented" in dataset.attrs["comment"].lower() else ""
    if sample is not None:
        reading = f"{sample or sample_words(dataset)}: {reading}"
    small_print = (
        reading,
        f"Planning-level forecast, not a design. {invented}{dataset.attrs['source']}: {dataset.attrs['title']}.",
    )
    footer = [row for text in small_print for row in textwrap.wrap(text, FOOTER_CHARACTERS)]
    height = figure.get_figheight() * MILLIMETRES_PER_INCH
    share = (FOOTER_LINE * len(footer) + 1.7) / height
    figure.text(0.01, 1.2 / height, "\n".join(footer), fontsize=7, color=MUTED, linespacing=1.35)
    if handles:
        rows = -(-len(handles) // columns)
        figure.legend(
            handles=list(handles),
            loc="lower center",
            bbox_to_anchor=(0.5, share),
            ncols=-(-len(handles) // rows),
            columnspacing=1.2,
            borderaxespad=0.0,
        )
        share += LEGEND_HEIGHT * rows / height
    figure.get_layout_engine().set(rect=(0.004, share, 0.99, 1 - share))  # type: ignore[union-attr, call-arg]
    for words in (NO_ACTION, " %"):
        title = title.replace(words, words.replace(" ", "\N{NO-BREAK SPACE}"))
    title = re.sub(r"(?<=\d) (?=(?:m|ft|cm|in)\b)", "\N{NO-BREAK SPACE}", title)
    lines = -(-len(title) // TITLE_CHARACTERS)
    even = TITLE_CHARACTERS if lines == 1 else len(title) // lines + 8
    figure.suptitle(textwrap.fill(title, even), x=0.01, ha="left")


IN_MOST = "(90 % of members)"
"""Ends every headline that gives a range."""


def last_range(dataset: xr.Dataset, name: str, option: str) -> tuple[float, float]:
    """Ends of the 90 % band of a quantity in the last record.

    Headlines give this band: a single number without its spread is never one.
    """
    quantiles = member_quantiles(members_of(dataset, name, option)[:, -1])
    return float(quantiles[0]), float(quantiles[-1])


def in_words(ends: tuple[float, float], unit: str, digits: int = 1) -> str:
    """Write a range.

    Examples
    --------
    >>> in_words((1.25, 3.0), "m")
    '1.2 to 3.0 m'
    """
    return f"{ends[0]:.{digits}f} to {ends[1]:.{digits}f} {unit}"


OTHER_UNITS = {
    "m": ("ft", FEET_PER_METRE, 1),
    "cm": ("in", 1.0 / 2.54, 1),
    "t": ("thousand lb", 1.0 / 0.45359237, 1),
}
"""Unit -> customary unit, its number in one unit, and digits; exact by definition of inch and pound."""


def in_both(ends: tuple[float, float], unit: str, digits: int = 1) -> str:
    """Write a range in a unit and in the customary one.

    Examples
    --------
    >>> in_both((0.3048, 3.048), "m"), in_both((2.54, 15.24), "cm", 0), in_both((1.0, 2.5), "t")
    ('0.3 to 3.0 m (1.0 to 10.0 ft)', '3 to 15 cm (1.0 to 6.0 in)', '1.0 to 2.5 t (2.2 to 5.5 thousand lb)')
    """
    other, factor, fine = OTHER_UNITS[unit]
    low, high = (end * factor for end in ends)
    return f"{in_words(ends, unit, digits)} ({low:,.{fine}f} to {high:,.{fine}f} {other})"


def both_lengths(metres: float) -> str:
    """Write a length in metres and in feet.

    Examples
    --------
    >>> both_lengths(3.048)
    '3.0 m (10.0 ft)'
    """
    return f"{metres:.1f} m ({metres * FEET_PER_METRE:.1f} ft)"
