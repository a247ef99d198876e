"""The whole scenario, as plain numbers."""

from __future__ import annotations

import re

from edgesim.scenario.design import Design, Option
from edgesim.scenario.ecology import Marsh, Mud, Oysters
from edgesim.scenario.events import Event
from edgesim.scenario.parameters import (
    Parameter,
    Section,
    about_field,
    parameter,
    section_class,
)
from edgesim.scenario.permit import Permit
from edgesim.scenario.plan import Plan
from edgesim.scenario.prices import Prices
from edgesim.scenario.run import Goals, Run, Upkeep
from edgesim.scenario.site import SeaLevel, Site, Tide, Wind
from edgesim.scenario.traffic import Traffic
from edgesim.scenario.work import Work

SCHEMA = 1
"""Version of the file format that is read."""


class Scenario(Section):
    """Everything that one forecast needs, every number known; SI units."""

    schema_version: int = parameter(
        "Version of the file format.",
        "count",
        key="schema",
        at_least=SCHEMA,
        at_most=SCHEMA,
        example="1",
    )
    title: str = parameter("Title of the scenario.", "text", example='"Reach 3, two lines"')
    notes: str = parameter("Anything worth remembering.", "text", "")
    site: Site = parameter("The shore.", "section")
    tide: Tide = parameter("The water levels.", "section")
    sea_level: SeaLevel = parameter("The rise of the sea.", "section", SeaLevel())
    traffic: Traffic = parameter("The boats.", "section")
    wind: Wind | None = parameter(
        "The wind; left out when wind waves do not matter.", "section", None
    )
    mud: Mud = parameter("The mud.", "section", Mud())
    marsh: Marsh = parameter("The marsh.", "section", Marsh())
    oysters: Oysters = parameter("The oysters.", "section", Oysters())
    design: Design = parameter("What is built.", "section", Design())
    options: tuple[Option, ...] = parameter(
        'The options compared; "no action" is always among them.', "section", (), basic=True
    )
    upkeep: Upkeep = parameter("The repairs.", "section", Upkeep())
    work: Work = parameter("How the lines are built.", "section", Work())
    events: tuple[Event, ...] = parameter("What happens on known days.", "section", ())
    prices: Prices = parameter("The prices.", "section", Prices())
    permit: Permit = parameter("Facts of the place that rules ask for.", "section", Permit())
    goals: Goals = parameter("The goals.", "section", Goals())
    plan: Plan = parameter("The people's part of the plan.", "section", Plan())
    run: Run = parameter("The forecast.", "section", Run())


def about_input(path: str) -> Parameter:
    """Find the description of an input by its path, as ``traffic.classes[cruisers].speed``.

    Raises
    ------
    KeyError
        If there is no such input.
    """
    *heads, last = re.findall(r"[^.\[\]]+(?:\[[^\]]*\])?", path)
    cls: type[Section] = Scenario
    for head in heads:
        inner, _ = section_class(cls.model_fields[head.partition("[")[0]])
        if inner is None:
            raise KeyError(path)
        cls = inner
    return about_field(cls.model_fields[last])
