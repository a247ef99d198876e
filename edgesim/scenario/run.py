"""Upkeep, goals and the settings of the forecast itself."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

from edgesim.scenario.parameters import JUDGEMENT, OURS, Section, parameter

NO_END = 1e9
"""Year of the forecast that no forecast reaches: `until_year` where money for upkeep does not end."""


class Upkeep(Section):
    """Who repairs what, and when."""

    rule: Literal["none", "calendar", "trigger"] = parameter(
        "When fill and posts are renewed: never, at fixed times, or when fill, Kt or posts pass their triggers.",
        "text",
        "trigger",
        example='"trigger"',
        mark=JUDGEMENT,
        source=OURS,
    )
    interval: float = parameter(
        "Time between visits by the calendar.",
        "years",
        1.0,
        above=0.0,
        example='"1 year"',
        mark=JUDGEMENT,
        source=OURS,
    )
    fill_trigger: float = parameter(
        "Remaining share of the fill height at which branches are added.",
        "fraction",
        0.7,
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    kt_trigger: float | None = parameter(
        "Kt of the walls at mid tide, for the heaviest waves, above which branches are added; when left out Kt calls for no visit.",
        "fraction",
        None,
        above=0.0,
        below=1.0,
        example="0.6",
    )
    posts_trigger: float | None = parameter(
        "Share of the posts lost at which a crew is sent; when left out lost posts wait for the fill.",
        "fraction",
        None,
        above=0.0,
        below=1.0,
        example="0.05",
    )
    delay: float = parameter(
        "Time between finding and repairing.",
        "days",
        30.0,
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    replace_posts: bool = parameter(
        "Whether lost posts are replaced.", "flag", True, mark=JUDGEMENT, source=OURS
    )
    skip_chance: float = parameter(
        "Chance that a visit does not take place.",
        "fraction",
        0.0,
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    mend_reef: bool = parameter(
        "Whether visits also mend the reef: units that have spilled get a new cage or bag and are filled up again.",
        "flag",
        False,
        mark=JUDGEMENT,
        source=OURS,
    )
    reef_trigger: float = parameter(
        "Share of the reef units spilled at which a crew is sent, where the rule is by trigger and the reef is mended.",
        "fraction",
        0.1,
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_visit: float = parameter(
        "Hours of work, all hands together, to get to the walls, look and get back.",
        "number",
        spread=(4.0, 12.0, 30.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_per_m3: float = parameter(
        "Hours of work to pack one cubic metre of branches.",
        "number",
        spread=(1.0, 3.0, 8.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_post: float = parameter(
        "Hours of work to pull one lost post and drive a new one.",
        "number",
        spread=(0.5, 1.5, 4.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_unit: float = parameter(
        "Hours of work to give one spilled reef unit a new cage or bag and to fill it up.",
        "number",
        spread=(0.5, 1.5, 4.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    until_year: float = parameter(
        "Year of the forecast after which there is no money for upkeep.",
        "number",
        NO_END,
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )


class Goals(Section):
    """What counts as success."""

    takeover_share: float = parameter(
        "The reef has taken over when, alone, it lets through less than this share of the wave power that reaches "
        "an undefended edge.",
        "fraction",
        0.5,
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    targets: tuple[dict[str, Any], ...] = parameter(
        "What must hold for success, one table each: name, quantity, at_most or at_least, year.",
        "own",
        (),
        example='[{name = "edge holds", quantity = "retreat", at_most = "3 ft", year = 10}]',
    )


class Run(Section):
    """How long, how often and how finely the forecast is made."""

    years: int = parameter(
        "Length of the forecast in years.",
        "count",
        10,
        at_least=1,
        at_most=100,
        example="10",
        basic=True,
    )
    seed: int = parameter(
        "Number from which all chance starts; the same seed gives the same forecast.",
        "count",
        1,
        at_least=0,
    )
    members: int = parameter(
        "Number of equally likely futures.", "count", 40, at_least=1, at_most=100_000
    )
    cell_size: float = parameter(
        "Size of a grid cell.",
        "length",
        0.5,
        # Less than the width of a post, which the lines of defence are smeared over anyway.
        at_least=0.02,
        certain=True,
        example='"0.5 m"',
        mark=JUDGEMENT,
        source=OURS,
    )
    start: date = parameter(
        "First day of the forecast.",
        "date",
        date(2027, 1, 1),
        # The curve of the sea is one through 2000, 2050 and 2100: outside there is nothing that it fits.
        at_least=date(1990, 1, 1),
        at_most=date(2100, 1, 1),
        example="2027-01-01",
    )
    wave_update_days: int = parameter(
        "Days after which the wave field is solved again.",
        "count",
        14,
        at_least=1,
        at_most=366,
        mark=JUDGEMENT,
        source=OURS,
    )
    water_level_bins: int = parameter(
        "Number of water levels in the tally of waves.",
        "count",
        8,
        at_least=2,
        at_most=50,
        mark=JUDGEMENT,
        source=OURS,
    )
    wake_classes: int = parameter(
        "Number of classes of wakes in the tally.",
        "count",
        3,
        at_least=1,
        at_most=50,
        mark=JUDGEMENT,
        source=OURS,
    )
    wind_classes: int = parameter(
        "Number of classes of wind waves in the tally.",
        "count",
        1,
        at_least=1,
        at_most=50,
        mark=JUDGEMENT,
        source=OURS,
    )
    seaward_width: float = parameter(
        "Width of the grid in front of the edge.",
        "length",
        24.0,
        above=0.0,
        at_most=1000.0,
        certain=True,
        mark=JUDGEMENT,
        source=OURS,
    )
    landward_width: float = parameter(
        "Width of the grid behind the edge.",
        "length",
        24.0,
        above=0.0,
        at_most=1000.0,
        certain=True,
        mark=JUDGEMENT,
        source=OURS,
    )
