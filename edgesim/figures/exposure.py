"""How long each level lies in air: the tide's curve with the oysters' band, now and later."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from edgesim.figures.style import (
    BLACK,
    BLUE,
    FEET_PER_METRE,
    GREEN,
    IN_MOST,
    MUTED,
    VERMILLION,
    featured_option,
    finish,
    halo,
    in_both,
    last_range,
    last_year,
    median,
    members_of,
    new_figure,
    second_axis,
    styled,
)
from edgesim.outcomes.dataset import has_reef
from edgesim.outcomes.summary import member_quantiles

Floats = NDArray[np.float64]

BEST = (0.20, 0.40)
"""Share of the time in air where reefs grow best (Ridge et al., 2015, read in the abstract). [1]"""

READING = (
    "curves of one run of weather at the middle of the inputs; later curve raised by the median rise "
    "of the sea, shade 90 % of members. Hatched: where reefs grow; dense: where they grow best."
)


def _rise(dataset: xr.Dataset) -> Floats:
    """Rise of mean sea level in every member. [m]."""
    sea = members_of(dataset, "mean_sea_level", featured_option(dataset))
    return sea[:, -1] - sea[:, 0]


def _start(dataset: xr.Dataset) -> float:
    """Median mean sea level at the start. [m]."""
    sea = members_of(dataset, "mean_sea_level", featured_option(dataset))
    return float(np.median(sea[:, 0]))


def band(dataset: xr.Dataset) -> tuple[float, float]:
    """Levels about mean sea level between which reefs grow at the start. [m]."""
    level, dry = dataset["tide_level"].values, dataset["dry_share"].values
    low, high = dataset["oyster_band"].values[:2]
    return float(np.interp(low, dry, level)), float(np.interp(high, dry, level))


def headline(dataset: xr.Dataset) -> str:
    """Say between which levels reefs grow now, and by how much that band rises."""
    low, high = (end + _start(dataset) for end in band(dataset))
    risen = 100 * member_quantiles(_rise(dataset))[[0, -1]]
    datum = dataset.attrs["vertical_datum"]
    levels = in_both((low, high), "m", 2).replace(" m ", f" m {datum} ")
    rise = in_both((float(risen[0]), float(risen[1])), "cm", 0)
    text = f"Reefs grow from {levels}; the band rises {rise} by year {last_year(dataset)}"
    return f"{text} {IN_MOST}".replace("-", "\N{MINUS SIGN}")


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    words = (
        "Curve of the share of the time that each level lies in air, elevation in metres and feet above "
        f"{dataset.attrs['vertical_datum']}, at the start and in year {last_year(dataset)}, with the band in "
        f"which oyster reefs grow. {headline(dataset)}."
    )
    option = featured_option(dataset)
    if has_reef(dataset, option):
        low, high = last_range(dataset, "reef_exposure", option)
        words += f" The reef's crest is in air {100 * low:.0f} to {100 * high:.0f} % of the time at the end {IN_MOST}."
    return words


@styled
def exposure(dataset: xr.Dataset) -> Figure:
    """Draw the exposure curve, the band of the oysters and the crests of the reef.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Figure
        Metres at the left, feet at the right.
    """
    figure = new_figure(105.0)
    axes = figure.subplots()
    dry, level = 100 * dataset["dry_share"].values, dataset["tide_level"].values
    start = _start(dataset)
    low, _, middle, _, high = start + member_quantiles(_rise(dataset))
    axes.fill_betweenx(level + start, 0, dry, color="#F4F1EA", lw=0)
    axes.plot(dry, level + start, color=BLACK, lw=1.6, label="at the start")
    x = np.concatenate([dry, dry[::-1]])
    y = np.concatenate([level + low, (level + high)[::-1]])
    axes.fill(x, y, color=BLUE, alpha=0.25, lw=0)
    axes.plot(
        dry, level + middle, color=BLUE, ls="--", lw=1.6, label=f"in year {last_year(dataset)}"
    )
    ends = 100 * dataset["oyster_band"].values
    axes.axvspan(ends[0], ends[1], fc="none", ec=GREEN, hatch="///", lw=0, alpha=0.5)
    axes.axvspan(100 * BEST[0], 100 * BEST[1], color=GREEN, alpha=0.22, lw=0)
    axes.set(xlim=(0, 100), ylim=(level[0] + start, level[-1] + start))
    _name_bands(axes, ends)
    _crest(axes, dataset)
    _datums(axes, dataset)
    datum = dataset.attrs["vertical_datum"]
    axes.set_xlabel("Share of the time in air (%)")
    axes.set_ylabel(f"Elevation (m {datum})")
    second_axis(axes, FEET_PER_METRE, f"Elevation (ft {datum})")
    axes.legend(
        loc="lower right",
        title="Tide curve",
        title_fontsize=7,
        frameon=True,
        framealpha=0.9,
        edgecolor="none",
    )
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _name_bands(axes: Axes, ends: Floats) -> None:
    for x, text in ((ends[0] + 0.6, "reefs\ngrow"), (100 * BEST[0] + 0.6, "reefs grow best")):
        note = axes.text(
            x, 0.985, text, transform=axes.get_xaxis_transform(), va="top", fontsize=7, color=GREEN
        )
        halo(note)


def _crest(axes: Axes, dataset: xr.Dataset) -> None:
    """Mark where the reef's crest stands at the start and at the end."""
    option = featured_option(dataset)
    if not has_reef(dataset, option):
        return
    crest, share = (members_of(dataset, name, option) for name in ("reef_crest", "reef_exposure"))
    for record, marker, words in ((0, "o", "crest at the start"), (-1, "s", "crest at the end")):
        x, y = 100 * median(share[:, record]), median(crest[:, record])
        spread_x = 100 * member_quantiles(share[:, record])[[0, -1]]
        spread_y = member_quantiles(crest[:, record])[[0, -1]]
        axes.errorbar(
            x,
            y,
            xerr=np.abs(spread_x - x)[:, None],
            yerr=np.abs(spread_y - y)[:, None],
            fmt=marker,
            color=VERMILLION,
            mec="white",
            ms=6,
            elinewidth=1.2,
            label=words,
            zorder=5,
        )


def _datums(axes: Axes, dataset: xr.Dataset) -> None:
    for name in ("MHW", "MSL", "MLW"):
        if name in dataset["datum"].values:
            level = float(dataset["datum_level"].sel(datum=name))
            axes.axhline(level, color=MUTED, lw=0.7, ls=(0, (6, 2)), zorder=0.5)
            note = axes.annotate(
                f"{name} {level:.2f} m".replace("-", "\N{MINUS SIGN}"),
                (0.575, level),
                xycoords=("axes fraction", "data"),
                xytext=(0, 2),
                textcoords="offset points",
                fontsize=7,
                color=MUTED,
            )
            halo(note)
