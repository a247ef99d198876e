"""Where the marsh edge is: shore, datums, profile, tide, sea level and wind."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal, NamedTuple

from edgesim.scenario.distributions import Choice
from edgesim.scenario.parameters import JUDGEMENT, READ, Column, Section, parameter

CONSTITUENTS = ("M2", "S2", "N2", "K1", "O1", "M4", "SA", "SSA")
"""Tidal constituents that may be given."""


class Datums(Section):
    """Tidal datums, all above the vertical datum of the site."""

    mhhw: float | None = parameter(
        "Mean higher high water, from the nearest tide station.", "length", None, key="MHHW"
    )
    mhw: float = parameter(
        "Mean high water, from the nearest tide station.",
        "length",
        key="MHW",
        example='"2.2 ft"',
        basic=True,
    )
    msl: float = parameter(
        "Mean sea level, from the nearest tide station.",
        "length",
        key="MSL",
        example='"-0.2 ft"',
        basic=True,
    )
    mlw: float = parameter(
        "Mean low water, from the nearest tide station.",
        "length",
        key="MLW",
        example='"-2.9 ft"',
        basic=True,
    )
    mllw: float | None = parameter(
        "Mean lower low water, from the nearest tide station.", "length", None, key="MLLW"
    )


class Survey(NamedTuple):
    """One dated position of the edge: landward positive [m], with its standard deviation [m]."""

    day: date
    position: float
    sd: float


class Site(Section):
    """The shore in its present state."""

    name: str = parameter("Name of the site.", "text", example='"Reach 3"', basic=True)
    vertical_datum: str = parameter(
        "Datum of every elevation in the file.", "text", example='"NAVD88"', basic=True
    )
    datums: Datums = parameter("Tidal datums above the vertical datum.", "section", basic=True)
    datums_year: float = parameter(
        "Middle of the years that the tidal datums stand for: 1992 for the national epoch 1983-2001. "
        "The sea has risen since; the forecast begins with the sea of its first day.",
        "number",
        1992.0,
        at_least=1900.0,
        at_most=2100.0,
        certain=True,
        source="the national tidal datum epoch 1983-2001",
        mark=READ,
    )
    shore_length: float = parameter(
        "Length of shore in the forecast, measured along the marsh edge.",
        "length",
        above=0.0,
        at_most=10_000.0,
        example='"200 ft"',
        basic=True,
        certain=True,
    )
    shore_faces: float | None = parameter(
        "Compass direction from the marsh straight out to the channel; needed when wind is given.",
        "angle",
        None,
        at_least=0.0,
        at_most=6.283185307179587,
        example='"90 deg"',
        certain=True,
    )
    profile: tuple[tuple[float, float], ...] = parameter(
        "Bed in front of the marsh: distance seaward of the edge and elevation above the datum, "
        "from a levelled line; the first point is the toe of the scarp at distance 0.",
        "table",
        example='"profile.csv"',
        basic=True,
        columns=(
            Column("distance", "length", "seaward of the marsh edge"),
            Column("elevation", "length", "above the vertical datum"),
        ),
    )
    scarp_height: float = parameter(
        "Height of the marsh edge from its toe to the platform, measured with a staff.",
        "length",
        above=0.0,
        at_most=10.0,
        example='"2.5 ft"',
        basic=True,
    )
    edge: tuple[tuple[float, float], ...] = parameter(
        "Surveyed edge line: distance alongshore and how far the edge lies landward (+) of the mean line; "
        "straight when left out.",
        "table",
        (),
        example='"edge.csv"',
        columns=(
            Column("alongshore", "length", "from the left end of the shore, looking landward"),
            Column("offset", "length", "landward of the mean edge line"),
        ),
    )
    retreat_rate: float | None = parameter(
        "Measured landward retreat of the unprotected edge, from old photographs or stakes.",
        "rate",
        None,
        at_least=0.0,
        example='"1.3 ft/yr"',
        basic=True,
    )
    history: tuple[Survey, ...] = parameter(
        "Dated positions of the unprotected edge, in place of retreat_rate: date, how far landward of any fixed "
        "mark, and the error of that (old photographs 6 to 15 ft, stakes 2 in); rows here or a CSV file. "
        "The rate of retreat and its error follow from them. Whole edge lines for the figures of a plan go into "
        "plan.edge_surveys; they do not set the rate.",
        "own",
        (),
        example='[{date = 1994-03-01, position = "0 ft", sd = "10 ft"}, {date = 2024-03-01, position = "39 ft", sd = "3 ft"}]',
    )


class Constituent(NamedTuple):
    """One part of the tide: amplitude [m] and Greenwich phase lag [rad]."""

    amplitude: float
    phase_lag: float


class Gauge(Section):
    """A record of the water level."""

    first_time: datetime = parameter("Time of the first row.", "own")
    hours: tuple[float, ...] = parameter("Hours since the first row.", "own")
    levels: tuple[float, ...] = parameter("Water level above the vertical datum. [m]", "own")


class Tide(Section):
    """Water levels: harmonic constants, or a record from a gauge in their place."""

    constituents: dict[str, Constituent] = parameter(
        "Harmonic constants of the nearest tide station: amplitude and Greenwich phase lag of "
        + ", ".join(CONSTITUENTS)
        + ".",
        "own",
        {},
        basic=True,
        example='M2 = {amplitude = "2.5 ft", phase_deg = 10.1}',
    )
    gauge: Gauge | None = parameter(
        "CSV file of a water-level logger with columns time_utc and level_m or level_ft.",
        "own",
        None,
        example='"gauge.csv"',
    )
    surge_sd: float = parameter(
        "Standard deviation of the weather part of the water level, added to the tide of the constants; "
        "a gauge's record holds its own.",
        "length",
        spread=(0.05, 0.10, 0.20),
        at_least=0.0,
        mark=JUDGEMENT,
        source="edgesim",
    )
    surge_days: float = parameter(
        "How long a weather set-up or set-down lasts.",
        "days",
        3.0,
        above=0.0,
        mark=JUDGEMENT,
        source="edgesim",
    )


class SeaLevel(Section):
    """Rise of mean sea level, counted from the year 2000."""

    rate: float = parameter(
        "Rise of relative mean sea level in 2000, from the nearest long tide record.",
        "slow rate",
        spread=(0.0025, 0.0034, 0.0050),
        mark=JUDGEMENT,
        at_least=-0.02,
        at_most=0.05,
        source="between 3.3 mm/yr for the Georgia Bight (Windom and Palmer, 2022) and a fit to the US Southeast "
        "intermediate scenario (Sweet et al., 2022, from memory)",
    )
    acceleration: float = parameter(
        "Coefficient b of the rise a t + b t^2 (half the second derivative).",
        "acceleration",
        spread=(0.0, 7.6e-5, 1.5e-4),
        mark=JUDGEMENT,
        at_least=-5e-4,
        at_most=5e-4,
        source="fit through .36 m in 2050 and 1.1 m in 2100 (Sweet et al., 2022, scenario values from memory)",
    )
    scenario: (
        Literal["low", "intermediate-low", "intermediate", "intermediate-high", "high"] | None
    ) = parameter(
        "A national scenario of the global mean in place of rate and acceleration: it fills rise_2050 and "
        "rise_2100 with their spread. Where the land sinks give those two yourself.",
        "text",
        None,
        example='"intermediate"',
    )
    rise_2050: float | None = parameter(
        "Rise of mean sea level from 2000 to 2050; given with rise_2100 it takes the place of rate and acceleration.",
        "length",
        None,
        at_least=-1.0,
        at_most=3.0,
        example='"1.2 ft"',
    )
    rise_2100: float | None = parameter(
        "Rise of mean sea level from 2000 to 2100.",
        "length",
        None,
        at_least=-2.0,
        at_most=6.0,
        example='"3.6 ft"',
    )


class WindRecord(Section):
    """Winds by the hour."""

    first_time: datetime = parameter("Time of the first row.", "own")
    hours: tuple[float, ...] = parameter("Hours since the first row.", "own")
    speeds: tuple[float, ...] = parameter("Speed at 10 m height. [m/s]", "own")
    directions: tuple[float, ...] = parameter("Direction from which it blows. [rad]", "own")


class Wind(Section):
    """Winds and the open water they blow over."""

    table: tuple[tuple[float, float, float], ...] = parameter(
        "Wind rose: speed, direction the wind comes from, and share of the time, from an airport record; "
        "the shares include calms and winds from land and make 100 %. Give this or an hourly record.",
        "table",
        (),
        example='"wind.csv"',
        columns=(
            Column("speed", "speed", "at 10 m height"),
            Column("direction", "angle", "from which the wind blows, clockwise from north"),
            Column("share", "fraction", "of the time"),
        ),
    )
    fetches: tuple[tuple[float, float], ...] = parameter(
        "Open water in each direction, measured on a chart.",
        "table",
        example='[["90 deg", "1200 ft"]]',
        columns=(
            Column("direction", "angle", "clockwise from north"),
            Column("fetch", "length", "of open water"),
        ),
    )
    fetch_depth: float = parameter(
        "Mean depth of that water at mean sea level.", "length", above=0.0, example='"8 ft"'
    )
    hourly: WindRecord | None = parameter(
        "CSV file of hourly winds with columns time_utc, speed_knots and direction_deg (or other units), in "
        "place of the wind rose; it is laid on the calendar by its times and repeated end to end.",
        "own",
        None,
        example='"wind_hourly.csv"',
    )
    formula: Literal["young-verhagen", "spm"] = parameter(
        "Wave growth; left out, members believe in one or the other.",
        "text",
        spread=Choice(("young-verhagen", "spm"), (2.0, 1.0)),
        mark=JUDGEMENT,
        source="weights: edgesim; formulas: Young and Verhagen, 1996, and Shore Protection Manual, 1984",
    )
