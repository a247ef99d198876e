"""What only people know and a plan must say: who, what for, and what was seen before.

The model uses none of it. What is left out is marked "not provided" in the plan.
"""

from __future__ import annotations

from edgesim.scenario.parameters import Column, Section, parameter


class Stakeholder(Section):
    """Somebody who decides, works, pays or is touched."""

    name: str = parameter("Who it is: an office or a role.", "text", example='"reserve manager"')
    role: str = parameter("What they do in the project.", "text", example='"decides on upkeep"')
    interest: str | None = parameter(
        "What matters to them.", "text", None, example='"a marsh to the road"'
    )


class Objective(Section):
    """Something that can be measured and reached by a date."""

    name: str = parameter("What is wanted.", "text", example='"keep the marsh"')
    metric: str = parameter(
        "What is measured.", "text", example='"retreat behind the design against no action"'
    )
    target: str = parameter("The value that counts as reached.", "text", example='"below half"')
    by_year: int | None = parameter(
        "Year of the forecast by which it shall be reached.", "count", None, at_least=1
    )


class TriggerRule(Section):
    """A threshold that calls for action: changes a row of the starter set, or adds one."""

    name: str = parameter("Name of the trigger.", "text", example='"fill left in the walls"')
    amber: float | None = parameter("Value from which to look closer.", "number", None)
    red: float | None = parameter("Value from which to act.", "number", None)
    action: str | None = parameter("What is done on red.", "text", None, example='"refill"')
    data: str | None = parameter(
        "Where the value comes from.", "text", None, example='"monthly count"'
    )
    who: str | None = parameter("Who looks and who acts.", "text", None, example='"field crew"')


class Risk(Section):
    """Something that may go wrong."""

    name: str = parameter("What may happen.", "text", example='"a boat hits a wall"')
    chance: str | None = parameter(
        "How likely it is, in words.", "text", None, example='"some years"'
    )
    effect: str = parameter("What it would do.", "text", example='"a bay is lost"')
    answer: str = parameter("What is done about it.", "text", example='"lights and signs"')
    who: str | None = parameter("Whose matter it is.", "text", None, example='"reserve manager"')


class Measurement(Section):
    """A row of the monitoring plan: replaces or adds to the starter set by its name."""

    name: str = parameter("What is measured.", "text", example='"edge line"')
    method: str = parameter("How.", "text", example='"walked with a satellite receiver"')
    stations: str = parameter("Where.", "text", example='"5 transects here, 5 at the control"')
    frequency: str = parameter("How often.", "text", example='"yearly, and after storms"')
    who: str | None = parameter("Who does it.", "text", None, example='"doctoral researcher"')
    cost: str | None = parameter(
        "What a year of it costs.", "text", None, example='"2 days and a boat"'
    )


class EdgeSurvey(Section):
    """An edge line of the past."""

    name: str = parameter("Date or label of the survey.", "text", example='"air photo 1999"')
    year: float = parameter(
        "Calendar year, with decimals.", "number", at_least=1700.0, at_most=2200.0, example="1999.5"
    )
    error: float = parameter(
        "Standard error of the position of the line.", "length", at_least=0.0, example='"6 ft"'
    )
    line: tuple[tuple[float, float], ...] = parameter(
        "Where the edge lay then, against today's mean line.",
        "table",
        example='"edge_1999.csv"',
        columns=(
            Column("alongshore", "length", "from the left end of the shore, looking landward"),
            Column("offset", "length", "landward (+) of today's mean edge line"),
        ),
    )


class Change(Section):
    """An entry of the log of changes to the plan."""

    name: str = parameter("Date.", "text", example='"2027-03-01"')
    change: str = parameter("What was changed and why.", "text", example='"second survey added"')
    by: str | None = parameter("By whom.", "text", None, example='"research coordinator"')


class Plan(Section):
    """The people's part of the plan."""

    location: str | None = parameter(
        "Where the site is, as a map reader would say it.",
        "text",
        None,
        example='"left bank, mile 12"',
    )
    coordinate_system: str | None = parameter(
        "Coordinate system of the project's maps.", "text", None, example='"NAD83 / UTM zone 17N"'
    )
    utilities: str | None = parameter(
        "Cables and pipes found near the site, and who was asked.", "text", None
    )
    stakeholders: tuple[Stakeholder, ...] = parameter("Who is involved.", "section", ())
    objectives: tuple[Objective, ...] = parameter("What shall be reached.", "section", ())
    triggers: tuple[TriggerRule, ...] = parameter("Thresholds for action.", "section", ())
    risks: tuple[Risk, ...] = parameter("What may go wrong.", "section", ())
    monitoring: tuple[Measurement, ...] = parameter("What is measured.", "section", ())
    edge_surveys: tuple[EdgeSurvey, ...] = parameter(
        "Edge lines of the past as drawn on maps, for figures of the plan. They do not set the rate of retreat: "
        "for that give the mean positions and their dates in site.history.",
        "section",
        (),
    )
    changes: tuple[Change, ...] = parameter("The log of changes.", "section", ())
