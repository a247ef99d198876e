"""Dated events: a storm, a broken bay, a new speed rule, a spell of fresh water."""

from __future__ import annotations

from datetime import date
from typing import Literal

from edgesim.scenario.parameters import JUDGEMENT, Section, parameter
from edgesim.scenario.run import Run

OURS = "edgesim"

NEEDS = {"broken bay": ("bay",), "speed rule": ("speed_limit",), "freshet": ("salinity",)}
"""What each kind of event must say besides its date."""

SAYS = {
    "storm": ("surge", "wave_factor", "duration"),
    "broken bay": ("bay",),
    "speed rule": ("speed_limit", "compliance"),
    "freshet": ("salinity", "duration"),
}
"""What each kind of event may say."""

OPTIONAL = ("bay", "speed_limit", "salinity")
"""Inputs without a default."""


class Event(Section):
    """Something that happens on a known day."""

    kind: Literal["storm", "broken bay", "speed rule", "freshet"] = parameter(
        "What happens.", "text", example='"storm"'
    )
    date_: date = parameter(
        "First day of it.", "date", key="date", certain=True, example="2029-09-12"
    )
    duration: float = parameter(
        "How long a storm or a spell of fresh water lasts.",
        "days",
        2.0,
        above=0.0,
        at_most=366.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    surge: float = parameter(
        "How far a storm raises the water above the tide.",
        "length",
        0.5,
        example='"2 ft"',
        mark=JUDGEMENT,
        source=OURS,
    )
    wave_factor: float = parameter(
        "Height of the waves of a storm relative to those of the same days without it.",
        "number",
        2.0,
        at_least=0.0,
        at_most=20.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    bay: int | None = parameter(
        "Number of the bay that is broken, from 1 at the left end of the walls.",
        "count",
        None,
        at_least=1,
        example="3",
    )
    speed_limit: float | None = parameter(
        "The speed that is allowed from that day on.",
        "speed",
        None,
        above=0.0,
        example='"5 knots"',
    )
    compliance: float = parameter(
        "Share of the boats that keep to it.",
        "fraction",
        spread=(0.75, 0.85, 0.9),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    salinity: float | None = parameter(
        "Salinity while the water is fresh.",
        "salinity",
        None,
        at_least=0.0,
        at_most=50.0,
        example='"3 psu"',
    )


def day_of(event: Event, run: Run) -> int:
    """Days from the start of the forecast to the event. [d]."""
    return (event.date_ - run.start).days
