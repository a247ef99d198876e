"""How the parts act on one another: the model as boxes and arrows, with this site's numbers."""

from __future__ import annotations

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, FancyBboxPatch

from edgesim.figures.style import (
    IN_MOST,
    MUTED,
    featured_option,
    finish,
    in_both,
    in_words,
    last_range,
    last_year,
    members_of,
    new_figure,
    styled,
)
from edgesim.outcomes.dataset import has_reef, has_walls
from edgesim.outcomes.summary import member_quantiles

READING = "arrows: acts on; dashed: wears out or is repaired. Numbers are those of the option named, 90 % of members."

WIDTH, HEIGHT = 22.0, 12.5
"""Size of a box on a sheet of 100 by 64."""

PLACES = {
    "boats": (1, 48, "Boats and wind", "#DCEBF5"),
    "walls": (26.5, 48, "Walls of branches", "#EADFD2"),
    "reef": (52, 48, "Oyster reef", "#E4E4E4"),
    "edge": (77, 48, "Marsh edge", "#E3EDDA"),
    "decay": (14, 25, "Rot, borers, rust", "#F6E3DC"),
    "oysters": (52, 25, "Oysters settle and grow", "#E2F2EC"),
    "mud": (77, 25, "Mud", "#E8E0D5"),
    "upkeep": (26.5, 3, "Upkeep and money", "#FBF1D9"),
    "sea": (64.5, 3, "Sea level and tide", "#DCEBF5"),
}
ARROWS = (
    ("boats", "walls", "-"),
    ("walls", "reef", "-"),
    ("reef", "edge", "-"),
    ("decay", "walls", "--"),
    ("oysters", "reef", "-"),
    ("mud", "edge", "-"),
    ("upkeep", "walls", "--"),
    ("sea", "oysters", "-"),
    ("sea", "mud", "-"),
    ("decay", "upkeep", "--"),
)


def headline(dataset: xr.Dataset) -> str:
    """Say the question that the whole chain answers."""
    option, year = featured_option(dataset), last_year(dataset)
    words = in_both(last_range(dataset, "retreat", option), "m")
    return f"Waves wear the edge; lines hold them off while they last: {words} of retreat by year {year}, {option} {IN_MOST}"


def _percent(dataset: xr.Dataset, name: str, option: str) -> str:
    low, high = last_range(dataset, name, option)
    return f"{100 * low:.0f} to {100 * high:.0f} %"


def _facts(dataset: xr.Dataset) -> dict[str, str]:
    """One line of numbers for each box."""
    option = featured_option(dataset)
    power = in_words(last_range(dataset, "edge_power_open", option), "W/m", 2)
    facts = {
        "boats": f"{power}\nat an open edge",
        "edge": f"{in_words(last_range(dataset, 'retreat', option), 'm')}\nof retreat",
        "mud": f"flat rises {in_words(tuple(100 * end for end in last_range(dataset, 'bed_rise', option)), 'cm', 0)}",  # type: ignore[arg-type]
        "upkeep": f"{last_range(dataset, 'cost', option)[0] / 1000:,.0f} to {last_range(dataset, 'cost', option)[1] / 1000:,.0f}\nthousand {dataset.attrs['currency']}",
        "walls": "not built",
        "reef": "not built",
        "oysters": "no reef",
        "decay": "nothing to wear",
    }
    sea = members_of(dataset, "mean_sea_level", option)
    low, high = (100 * float(end) for end in member_quantiles(sea[:, -1] - sea[:, 0])[[0, -1]])
    facts["sea"] = f"sea rises {low:.0f} to {high:.0f} cm"
    if has_walls(dataset, option):
        facts["walls"] = f"fill left\n{_percent(dataset, 'fill_fraction', option)}"
        facts["decay"] = f"posts sound\n{_percent(dataset, 'posts_standing', option)}"
    if has_reef(dataset, option):
        facts["reef"] = f"cemented\n{_percent(dataset, 'consolidation', option)}"
        low, high = last_range(dataset, "oyster_density", option)
        facts["oysters"] = f"{low:,.0f} to {high:,.0f}\nlive a square metre"
    return facts


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    boxes = "; ".join(
        f"{PLACES[key][2]}: {' '.join(fact.split())}" for key, fact in _facts(dataset).items()
    )
    chain = ", ".join(f"{PLACES[one][2]} on {PLACES[other][2]}" for one, other, _ in ARROWS)
    return (
        f"Boxes and arrows. {headline(dataset)}. Year {last_year(dataset)}: {boxes}. Acts: {chain}."
    )


@styled
def conceptual_model(dataset: xr.Dataset) -> Figure:
    """Draw the chain from boats to marsh with the numbers of this forecast.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Boxes and arrows.
    """
    figure = new_figure(112.0)
    axes = figure.subplots()
    axes.set(xlim=(0, 100), ylim=(0, 63))
    axes.axis("off")
    facts = _facts(dataset)
    for key, (x, y, name, colour) in PLACES.items():
        _box(axes, x, y, name, facts[key], colour)
    for one, other, line in ARROWS:
        _arrow(axes, one, other, line)
    axes.text(
        1,
        62.5,
        f"{featured_option(dataset)}, year {last_year(dataset)}",
        fontsize=7.5,
        color=MUTED,
        va="top",
    )
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _box(axes: Axes, x: float, y: float, name: str, fact: str, colour: str) -> None:
    box = FancyBboxPatch(
        (x, y), WIDTH, HEIGHT, boxstyle="round,pad=0,rounding_size=1.2", fc=colour, ec="#555555"
    )
    axes.add_patch(box)
    middle = x + WIDTH / 2
    axes.text(
        middle, y + HEIGHT - 1.6, name, ha="center", va="top", fontweight="bold", fontsize=7.5
    )
    axes.text(middle, y + 4.4, fact, ha="center", va="center", fontsize=7, linespacing=1.25)


def _arrow(axes: Axes, one: str, other: str, line: str) -> None:
    x0, y0, *_ = PLACES[one]
    x1, y1, *_ = PLACES[other]
    half = WIDTH / 2
    if y0 == y1:
        ends = (x0 + WIDTH, y0 + HEIGHT / 2), (x1, y1 + HEIGHT / 2)
    else:
        up = y1 > y0
        ends = (x0 + half, y0 + (HEIGHT if up else 0)), (x1 + half, y1 + (0 if up else HEIGHT))
    axes.add_patch(
        FancyArrowPatch(
            *ends,
            arrowstyle="-|>",
            mutation_scale=9,
            lw=1.3,
            ls=line,
            color="#444444",
            shrinkA=1,
            shrinkB=1,
        )
    )
