"""Who passes: classes of boats, how often, how fast and how far off."""

from __future__ import annotations

from typing import Literal

from edgesim.scenario.distributions import Choice, Lognormal
from edgesim.scenario.parameters import JUDGEMENT, MEMORY, READ, Section, parameter

FASTEST = 100.0 * 1852.0 / 3600.0
"""No boat that passes marshes is faster: 100 knots (judgement). [m s-1]"""

MOST_PASSAGES = 100_000.0
"""Passages on a day that no water sees: more than one a second (judgement)."""


class BoatClass(Section):
    """Boats that are alike."""

    name: str = parameter("Name of the class.", "text", example='"open boats"', basic=True)
    hull: Literal["planing", "displacement"] = parameter(
        "Whether the boats skim over the water at their usual speed or push through it.",
        "text",
        example='"planing"',
        basic=True,
    )
    waterline_length: float = parameter(
        "Length at the waterline.",
        "length",
        above=0.0,
        at_most=200.0,
        example='"20 ft"',
        basic=True,
    )
    displacement: float = parameter(
        "Mass of boat and load.",
        "mass",
        above=0.0,
        at_most=1e6,
        example='"3000 lb"',
        basic=True,
    )
    draft: float = parameter(
        "Depth of the hull under water.", "length", above=0.0, example='"1.5 ft"'
    )
    speed: float = parameter(
        "Usual speed past the site, from a stopwatch or radar.",
        "speed",
        above=0.0,
        at_most=FASTEST,
        example='"22 knots"',
        basic=True,
    )
    speed_spread: float = parameter(
        "Coefficient of variation of the speed from boat to boat.",
        "fraction",
        0.2,
        at_least=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    distance_off: float = parameter(
        "Usual distance of the sailing line from the marsh edge; with lanes, of the middle between them.",
        "length",
        above=0.0,
        example='"200 ft"',
        basic=True,
    )
    distance_spread: float = parameter(
        "Coefficient of variation of that distance from boat to boat.",
        "fraction",
        0.3,
        at_least=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    passages_weekday: float = parameter(
        "Passages on a weekday, mean of the year, both directions together, from a count.",
        "number",
        at_least=0.0,
        at_most=MOST_PASSAGES,
        example="12",
        basic=True,
    )
    passages_weekend: float = parameter(
        "Passages on a day of a weekend, mean of the year.",
        "number",
        at_least=0.0,
        at_most=MOST_PASSAGES,
        example="40",
        basic=True,
    )
    months: tuple[float, ...] = parameter(
        "Twelve factors, January to December, whose mean is 1.",
        "own",
        (1.0,) * 12,
        example="[0.5, 0.6, 0.8, 1, 1.2, 1.4, 1.5, 1.4, 1.2, 1, 0.8, 0.6]",
        mark=JUDGEMENT,
        source="edgesim",
    )
    hull_constant: float = parameter(
        "Constant of the wake-height formula for planing hulls.",
        "number",
        spread=(0.6, 0.8, 1.0),
        above=0.0,
        at_most=3.0,
        mark=MEMORY,
        source="Maynord, 2005, wave height from planing and semi-planing small boats",
    )
    block_coefficient: float = parameter(
        "Share of the box length x beam x draft that the hull fills.",
        "fraction",
        0.45,
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    entrance_share: float = parameter(
        "Length of the bow entrance as a share of the waterline length.",
        "fraction",
        0.35,
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    waves_per_packet: float = parameter(
        "Waves in the train that one boat makes.",
        "number",
        spread=(6.0, 10.0, 15.0),
        at_least=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )


class SpeedRule(Section):
    """A slow-speed zone."""

    speed_limit: float = parameter(
        "The speed that is allowed.", "speed", above=0.0, example='"5 knots"'
    )
    compliance: float = parameter(
        "Share of the boats that keep to it.",
        "fraction",
        spread=(0.75, 0.85, 0.9),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )


class Traffic(Section):
    """All boats; there is no silent default for how many pass."""

    level: float = parameter(
        "Multiplier on all passages: how far a short count may be from the yearly mean.",
        "number",
        spread=Lognormal(1.0, 1.5),
        at_least=0.0,
        mark=JUDGEMENT,
        source="a month of counts",
    )
    growth: float = parameter(
        "Growth of the traffic each year.",
        "per year",
        spread=(-0.01, 0.01, 0.03),
        at_least=-0.5,
        at_most=0.5,
        mark=JUDGEMENT,
        source="edgesim",
    )
    channel_depth: float = parameter(
        "Depth where the boats pass, below mean sea level.",
        "length",
        above=0.0,
        example='"12 ft"',
        basic=True,
    )
    onward_share: float = parameter(
        "Share of the passages that go onward: the way in which distances alongshore grow, to the right "
        "looking landward. Their wakes run that way too, and shelter lies to that side of each wall.",
        "fraction",
        0.5,
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    lanes_apart: float = parameter(
        "Distance between the middles of the two lanes, where boats keep to their side of the channel; 0 "
        "where both ways run on one line.",
        "length",
        0.0,
        at_least=0.0,
        example='"60 ft"',
        mark=JUDGEMENT,
        source="edgesim",
    )
    near_lane: Literal["back", "onward"] = parameter(
        "Which boats pass nearer to the marsh where there are lanes: those that go back have it on their "
        "right and, keeping to the right of the channel, pass nearer.",
        "text",
        "back",
        mark=READ,
        source="International Regulations for Preventing Collisions at Sea, 1972, rule 9 (a)",
    )
    day_start_hour: float = parameter(
        "Hour at which boating begins.",
        "number",
        7.0,
        at_least=0.0,
        below=24.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    day_end_hour: float = parameter(
        "Hour at which boating ends.",
        "number",
        19.0,
        above=0.0,
        at_most=24.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    overdispersion: float = parameter(
        "Variance of the daily counts beyond chance, relative to the squared mean.",
        "number",
        0.5,
        at_least=0.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    rough_wind: float = parameter(
        "Wind from which most boats stay in harbour.",
        "speed",
        9.0,
        above=0.0,
        example='"18 knots"',
        mark=JUDGEMENT,
        source="edgesim",
    )
    rough_share: float = parameter(
        "Share of the usual passages that still take place in such a wind.",
        "fraction",
        0.3,
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    passages: Literal["drawn", "expected"] = parameter(
        "Whether every passage is drawn by itself, or each day has its expected waves: no chance in traffic "
        "and wind, for comparing designs.",
        "text",
        "drawn",
    )
    planing_formula: Literal["maynord", "bhowmik"] = parameter(
        "Wake height of planing hulls; left out, members believe in one or the other.",
        "text",
        spread=Choice(("maynord", "bhowmik"), (2.0, 1.0)),
        mark=JUDGEMENT,
        source="weights: edgesim; formulas: Maynord, 2005, and Bhowmik and others, 1991",
    )
    displacement_formula: Literal["kriebel-seelig", "weggel-sorensen"] = parameter(
        "Wake height of displacement hulls; left out, members believe in one or the other.",
        "text",
        spread=Choice(("kriebel-seelig", "weggel-sorensen"), (2.0, 1.0)),
        mark=JUDGEMENT,
        source="weights: edgesim; formulas: Kriebel and Seelig, 2005, and Weggel and Sorensen, 1986",
    )
    speed_rule: SpeedRule | None = parameter(
        "A slow-speed zone; none when left out.", "section", None
    )
    classes: tuple[BoatClass, ...] = parameter(
        "One table for each class of boats.", "section", basic=True
    )
