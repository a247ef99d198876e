"""The calendar of upkeep, surveys and reviews, with the chance of repairs."""

from __future__ import annotations

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from edgesim.figures.style import (
    BLUE,
    EVIDENCE_YEARS,
    GREEN,
    MUTED,
    VERMILLION,
    featured_option,
    finish,
    last_year,
    new_figure,
    styled,
)
from edgesim.outcomes.calendar import Work, refill_visits, upkeep_end, works

READING = (
    "each row a kind of work, each column a year; numbers visits a year, or the per cent of members "
    "in which a repair is called for."
)

LOOKS = {
    "visit": (BLUE, "", "visits a year"),
    "repair": (VERMILLION, "////", "repair called for (%)"),
    "review": (GREEN, "xx", "formal review"),
}


def headline(dataset: xr.Dataset) -> str:
    """Say how many upkeep visits crews make, and whether repair is called for after the last."""
    option = featured_option(dataset)
    visits = refill_visits(dataset, option)
    if not visits:
        return f"{option[0].upper()}{option[1:]} has no upkeep visits in {last_year(dataset)} years"
    counts = dataset["refills"].sel(option=option).values[:, -1]
    low, high = sorted((float(counts.min()), float(counts.max())))
    count = f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
    words = f"With {option} crews make {count} upkeep visits in {last_year(dataset)} years"
    ends = upkeep_end(dataset)
    if ends is None:
        return f"{words}, the last in year {max(visits)} (all members)"
    repairs = (work.share for work in works(dataset, option) if work.kind == "repair")
    open_end = any(year > ends for share in repairs for year in share)
    still = ", while repair is still called for" if open_end else ""
    return f"{words}; upkeep ends after year {ends:g}{still} (all members)"


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    rows = "; ".join(
        f"{work.name} in years {_spans(list(work.share))}"
        for work in works(dataset, featured_option(dataset))
    )
    return f"Calendar of {last_year(dataset)} years. {headline(dataset)}. {rows}."


def _spans(years: list[int]) -> str:
    """Write years in short.

    Examples
    --------
    >>> _spans([1, 2, 3, 5])
    '1 to 3, 5'
    """
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)


@styled
def maintenance(dataset: xr.Dataset) -> Figure:
    """Draw the calendar of the featured option.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Rows works, columns years.
    """
    rows, last = works(dataset, featured_option(dataset)), last_year(dataset)
    figure = new_figure(34.0 + 7.0 * len(rows))
    axes = figure.subplots()
    for y, work in enumerate(rows):
        _row(axes, y, work, last)
    axes.set(xlim=(0.5, last + 0.5), ylim=(len(rows) - 0.5, -0.5))
    axes.set_yticks(range(len(rows)), [work.name for work in rows])
    step = next(step for step in (1, 2, 5, 10, 20) if last / step <= 15)
    axes.set_xticks(range(step, last + 1, step))
    axes.tick_params(length=0)
    axes.grid(axis="both", color="#EEEEEE")
    axes.set_xlabel("Year after building")
    if last > EVIDENCE_YEARS:
        axes.axvline(EVIDENCE_YEARS + 0.5, color=MUTED, lw=1.2, ls=(0, (4, 2)))
        axes.annotate(
            "beyond the evidence of monitored sites",
            (EVIDENCE_YEARS + 0.5, -0.5),
            xytext=(3, 3),
            textcoords="offset points",
            fontsize=7,
            style="italic",
            color=MUTED,
        )
    handles = [
        Patch(fc=colour, hatch=hatch, ec="white", label=words)
        for kind, (colour, hatch, words) in LOOKS.items()
        if any(work.kind == kind for work in rows)
    ]
    finish(figure, dataset, headline(dataset), READING, handles)
    return figure


def _row(axes: Axes, y: int, work: Work, last: int) -> None:
    colour, hatch, _ = LOOKS[work.kind]
    for year, share in work.share.items():
        strength = 0.25 + 0.75 * min(share, 1.0) if work.kind == "repair" else 0.75
        axes.add_patch(
            Rectangle(
                (year - 0.46, y - 0.36),
                0.92,
                0.72,
                fc=colour,
                ec="white",
                hatch=hatch,
                lw=0.4,
                alpha=strength,
            )
        )
        if last <= 15 and work.kind != "review":
            words = f"{100 * share:.0f}" if work.kind == "repair" else f"{share:.1f}".rstrip("0").rstrip(".")  # fmt: skip
            text = axes.text(year, y, words, ha="center", va="center", fontsize=7, zorder=4)
            text.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 0.7, "alpha": 0.85})
