"""What to do after a survey: one question after the other, each with its action."""

from __future__ import annotations

import textwrap

import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, FancyBboxPatch

from edgesim.figures.style import (
    featured_option,
    finish,
    last_year,
    new_figure,
    styled,
)
from edgesim.outcomes.triggers import Trigger, chance_words, chances, counts, triggers_of

READING = (
    "asked from the top after each survey; the first yes decides. Chances are those of red in the year named. "
    "Thresholds are judgement and editable."
)

FIRST = (
    "",
    "mesh_intact",
    "extra_retreat",
    "posts_standing",
    "fill_fraction",
    "wall_reduction",
    "retreat_share",
    "platform_share",
    "reef_height_change",
    "rise_ratio",
    "oyster_share",
)
"""Order of the questions: harm first, then what wears out, then what does not work (judgement)."""

ROW = 9.0
"""Height of a question. [mm]"""

REVIEW_YEAR = 3


def _year(dataset: xr.Dataset) -> int:
    return min(REVIEW_YEAR, last_year(dataset))


def _questions(dataset: xr.Dataset) -> list[tuple[Trigger, float | None]]:
    """Triggers in the order in which they are asked, with the chance of red at the review."""
    option = featured_option(dataset)
    order = {measure: place for place, measure in enumerate(FIRST)}
    listed = sorted(
        triggers_of(dataset), key=lambda trigger: order.get(trigger.measure, len(order))
    )
    found = []
    for trigger in listed:
        chance = chances(dataset, trigger, option) or {}
        found.append((trigger, chance.get(_year(dataset))))
    return found


def question(trigger: Trigger) -> str:
    """Ask for a trigger's red threshold.

    Parameters
    ----------
    trigger : Trigger
        The trigger.

    Returns
    -------
    str
    """
    if trigger.red != trigger.red:  # not a number: none given
        return f"{trigger.name}?"
    if trigger.unit == "events":
        return f"{trigger.name}: any?"
    unit = "" if trigger.unit == "1" else f" {trigger.unit}"
    value = f"{trigger.red:g}".replace("-", "\N{MINUS SIGN}")
    return f"{trigger.name} {trigger.worse} {value}{unit}?"


def headline(dataset: xr.Dataset) -> str:
    """Say which action is most likely at the review."""
    known = [(chance, trigger) for trigger, chance in _questions(dataset) if chance is not None]
    chance, trigger = max(known, key=lambda item: item[0], default=(0.0, None))
    if trigger is None or chance == 0.0:
        return f"At the review of year {_year(dataset)} no trigger calls for action in any member"
    return (
        f"At the review of year {_year(dataset)} the likeliest call is “{trigger.action.lower()}” "
        f"\N{EN DASH} red with {trigger_words(dataset, trigger)}"
    )


def trigger_words(dataset: xr.Dataset, trigger: Trigger) -> str:
    """Chance of red at the review, with its interval."""
    found = counts(dataset, trigger, featured_option(dataset)) or {}
    return chance_words(*found[_year(dataset)])


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    steps = " ".join(
        f"{place}. {question(trigger)} If yes: {trigger.action.lower() or 'to be written'}."
        for place, (trigger, _) in enumerate(_questions(dataset), start=1)
    )
    return f"Ladder of questions and actions after each survey. {headline(dataset)}. {steps}"


@styled
def decision_tree(dataset: xr.Dataset) -> Figure:
    """Draw the ladder of questions with their actions and chances.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
    """
    rows = _questions(dataset)
    figure = new_figure(24.0 + ROW * (len(rows) + 1.2))
    axes = figure.subplots()
    axes.set(xlim=(0, 100), ylim=(len(rows) + 1.0, -0.25))
    axes.axis("off")
    for y, (trigger, chance) in enumerate(rows):
        _question(axes, y, trigger, chance, _year(dataset))
    _box(axes, 1, len(rows) + 0.1, 47, "None is red: carry on, survey again", "#BFE3D3")
    finish(figure, dataset, headline(dataset), READING)
    return figure


def _question(axes: Axes, y: int, trigger: Trigger, chance: float | None, year: int) -> None:
    _box(axes, 1, y, 47, question(trigger), "#F4F4F4")
    _box(axes, 57, y, 31, trigger.action or "to be written", "#F6DFD9", bold=True)
    _arrow(axes, (48, y + 0.36), (57, y + 0.36))
    axes.text(52.3, y + 0.30, "yes", ha="center", va="bottom", fontsize=7)
    _arrow(axes, (24.5, y + 0.72), (24.5, y + 1.0))
    axes.text(25.6, y + 0.86, "no", ha="left", va="center", fontsize=7)
    words = f"{100 * chance:.0f} % in year {year}" if chance is not None else "not modelled"
    if chance is None and trigger.from_year > year:
        words = f"from year {trigger.from_year:.0f}"
    axes.text(89.2, y + 0.36, words, va="center", fontsize=7)


def _box(
    axes: Axes, x: float, y: float, width: float, words: str, colour: str, *, bold: bool = False
) -> None:
    axes.add_patch(
        FancyBboxPatch(
            (x, y), width, 0.72, boxstyle="round,pad=0,rounding_size=0.15", fc=colour, ec="#666666", lw=0.7
        )
    )  # fmt: skip
    axes.text(
        x + width / 2,
        y + 0.36,
        textwrap.fill(words, int(width * (1.08 if bold else 1.35))),
        ha="center",
        va="center",
        fontsize=7,
        fontweight="bold" if bold else "normal",
        linespacing=1.1,
    )


def _arrow(axes: Axes, start: tuple[float, float], end: tuple[float, float]) -> None:
    axes.add_patch(
        FancyArrowPatch(
            start, end, arrowstyle="-|>", mutation_scale=7, lw=1.0, color="#444444", shrinkA=0, shrinkB=0
        )
    )  # fmt: skip
