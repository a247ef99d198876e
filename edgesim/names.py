"""The nomenclature: one table of every quantity that leaves the model.

It is the authority for name, plain label, unit (UDUNITS spelling), sign,
dimensions and CF attributes, and feeds the netCDF attributes, the CSV headers
and the axis labels. It holds data only.

Axes: ``alongshore`` (y) runs along the shore; ``cross_shore`` (x) grows
landward from the seaward side of the grid; elevations are up from the named
vertical datum; retreat is positive landward.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Variable:
    """One output quantity.

    Attributes
    ----------
    name, label, unit : str
        Identifier, plain words for a figure, UDUNITS unit.
    dims : tuple of str
        Dimensions in order, ``option`` and ``member`` leftmost.
    long_name : str
        One sentence for the file.
    standard_name : str or None
        CF standard name, only where the CF table has one.
    cell_methods : str
        CF cell methods; empty for quantities without time.
    flags : tuple of str
        Meanings of the values 0, 1, 2 and so on, where the quantity is a kind.
    """

    name: str
    label: str
    unit: str
    dims: tuple[str, ...]
    long_name: str
    standard_name: str | None = None
    cell_methods: str = "time: point"
    flags: tuple[str, ...] = ()


_SERIES = ("option", "member", "time")
_LOG = ("option", "member", "visit")

SHELL_PARTS: tuple[str, ...] = ("placed", "live", "dead", "loose")
"""Parts of the reef's shell: placed at build, carried by live oysters, dead and cemented, spilled."""

LOG_KINDS: tuple[str, ...] = ("build", "visit", "skipped_visit")
"""Kinds of rows of the upkeep log, by their flag."""

PARTS: tuple[str, ...] = ("none", "fill", "ties", "posts", "mesh", "rings")
"""Parts that can fail first, by their flag."""

VARIABLES: tuple[Variable, ...] = (
    Variable(
        "edge_position",
        "Position of the marsh edge",
        "m",
        (*_SERIES, "alongshore"),
        "cross-shore position of the marsh edge, positive landward from the seaward side of the grid",
    ),
    Variable(
        "retreat",
        "Retreat behind the design",
        "m",
        _SERIES,
        "retreat of the marsh edge since the start, mean over the reach that the design covers, positive landward",
        cell_methods="time: point",
    ),
    Variable(
        "retreat_neighbours",
        "Retreat beside the design",
        "m",
        _SERIES,
        "retreat of the marsh edge since the start, mean over the shore outside the reach that the design covers",
    ),
    Variable(
        "retreat_worst",
        "Largest local retreat",
        "m",
        _SERIES,
        "retreat of the marsh edge since the start, largest anywhere on the shore",
    ),
    Variable(
        "land_kept",
        "Marsh kept against no action",
        "m2",
        _SERIES,
        "marsh area kept over the whole shore against the no-action option of the same member",
    ),
    Variable(
        "surface_section",
        "Ground level",
        "m",
        (*_SERIES, "cross_shore"),
        "elevation of the ground, mean over the reach that the design covers",
        "surface_altitude",
    ),
    Variable(
        "fill_fraction",
        "Fill left in the walls",
        "1",
        _SERIES,
        "height of branch fill left in the walls as a share of the height at build, mean over bays",
    ),
    Variable("posts_standing", "Posts standing", "1", _SERIES, "share of wall posts still sound"),
    Variable(
        "ties_intact", "Ties intact", "1", _SERIES, "share of wall bays whose ties still hold"
    ),
    Variable(
        "mesh_intact",
        "Reef mesh intact",
        "1",
        _SERIES,
        "share of reef units whose mesh still holds",
    ),
    Variable(
        "rings_intact",
        "Reef rings intact",
        "1",
        _SERIES,
        "share of reef units whose rings or lacing still hold",
    ),
    Variable(
        "consolidation",
        "Reef cemented",
        "1",
        _SERIES,
        "degree to which oysters have cemented the reef units, mean over units",
    ),
    Variable(
        "oyster_density",
        "Live oysters on the reef",
        "m-2",
        _SERIES,
        "live oysters per plan area of reef unit, all sizes, mean over units",
    ),
    Variable(
        "wood_oysters",
        "Live oysters on the walls",
        "m-2",
        _SERIES,
        "live oysters per plan area of branch fill, mean over bays; they go when the wood goes",
    ),
    Variable(
        "shell_stock",
        "Shell on the reef",
        "kg",
        (*_SERIES, "shell_part"),
        "shell of all reef units: placed, carried by live oysters, dead and cemented, and spilled beside them",
    ),
    Variable(
        "oyster_sizes",
        "Live oysters by size",
        "m-2",
        (*_SERIES, "oyster_size"),
        "live oysters of each class of shell height per plan area of reef unit, mean over units; every year class counts at its mean height",
    ),
    Variable(
        "reef_crest",
        "Reef crest",
        "m",
        _SERIES,
        "crest elevation of the reef units, mean over units",
        "surface_altitude",
    ),
    Variable(
        "reef_exposure",
        "Reef crest in air",
        "1",
        _SERIES,
        "share of the time that the reef crest is in air, mean over units",
    ),
    Variable(
        "bays_open",
        "Bays open",
        "1",
        _SERIES,
        "share of wall bays that stand open: two posts lost, or hardly any fill left",
    ),
    Variable(
        "post_scour",
        "Scour at the posts",
        "m",
        _SERIES,
        "depth to which waves have dug out the posts, mean over posts",
    ),
    Variable(
        "wall_transmission",
        "Kt of the walls at mid tide",
        "1",
        _SERIES,
        "transmitted over incoming wave height of the wall bays at mean sea level, heaviest class of waves (mean of a packet), mean over bays",
    ),
    Variable(
        "reef_transmission",
        "Kt of the reef at mid tide",
        "1",
        _SERIES,
        "transmitted over incoming wave height of the reef units at mean sea level, heaviest class of waves (mean of a packet), mean over units",
    ),
    Variable(
        "edge_power_wake",
        "Wake power at the edge",
        "W m-1",
        _SERIES,
        "power of boat wakes that works on the edge behind the design, weighted by water level: the past year's waves on ground and lines as they stand",
        cell_methods="time: point",
    ),
    Variable(
        "edge_power_wind",
        "Wind-wave power at the edge",
        "W m-1",
        _SERIES,
        "power of wind waves that works on the edge behind the design, weighted by water level: the past year's waves on ground and lines as they stand",
    ),
    Variable(
        "edge_power_open",
        "Edge power with no line",
        "W m-1",
        _SERIES,
        "level-weighted wave power at the edge of the reach with both lines taken away, past year's waves",
    ),
    Variable(
        "edge_power_walls",
        "Edge power behind the walls alone",
        "W m-1",
        _SERIES,
        "level-weighted wave power at the edge of the reach with the walls alone, past year's waves",
    ),
    Variable(
        "edge_power_reef",
        "Edge power behind the reef alone",
        "W m-1",
        _SERIES,
        "level-weighted wave power at the edge of the reach with the reef alone, past year's waves",
    ),
    Variable(
        "mud_trapped",
        "Mud trapped in front of the edge",
        "kg",
        _SERIES,
        "dry mud gained since the start by the flat between the outer line and the first edge, over the reach of the design",
    ),
    Variable(
        "bed_rise",
        "Rise of the flat behind the outer line",
        "m",
        _SERIES,
        "mean rise since the start of the flat between the outer line and the first edge, over the reach of the design",
    ),
    Variable(
        "platform_rise",
        "Rise of the marsh platform",
        "m",
        _SERIES,
        "mean rise since the start of the marsh platform",
    ),
    Variable(
        "platform_rise_behind",
        "Rise of the platform behind the design",
        "m",
        _SERIES,
        "mean rise since the start of the marsh platform behind the reach of the design",
    ),
    Variable(
        "platform_starved",
        "Rise that the design keeps from the platform",
        "m",
        _SERIES,
        "rise of the platform behind the reach of the design in the no-action option of the same member, less that in this option",
    ),
    Variable(
        "suspended_share",
        "Mud in the water behind the outer line",
        "1",
        _SERIES,
        "suspended mud over the flat between the outer line and the first edge relative to the channel, mean over the reach of the design",
    ),
    Variable(
        "shoot_cover",
        "Flat taken by grass behind the outer line",
        "1",
        _SERIES,
        "cover of shoots on the flat between the outer line and the first edge, mean over the reach of the design",
    ),
    Variable(
        "mean_sea_level",
        "Mean sea level",
        "m",
        _SERIES,
        "elevation of mean sea level",
    ),
    Variable(
        "cost",
        "Money spent",
        "1",
        _SERIES,
        "cumulative outlay in the currency and price year named in the file's attributes",
    ),
    Variable("refills", "Refills", "1", _SERIES, "number of upkeep visits since the start"),
    Variable(
        "crew_hours",
        "Hours of work",
        "h",
        _SERIES,
        "hours of work of the crew on upkeep since the start, all hands together",
    ),
    Variable(
        "upkeep_day",
        "Day of the upkeep log",
        "d",
        _LOG,
        "day of each row of the upkeep log, since the start; missing beyond the last row",
        cell_methods="",
    ),
    Variable(
        "upkeep_kind",
        "Kind of the row",
        "1",
        _LOG,
        "what each row of the upkeep log stands for",
        cell_methods="",
        flags=LOG_KINDS,
    ),
    Variable(
        "upkeep_cost",
        "Cost of the row",
        "1",
        _LOG,
        "outlay of each row of the upkeep log in the currency and price year named in the file's attributes; the rows sum to the cost without monitoring",
        cell_methods="",
    ),
    Variable(
        "upkeep_hours",
        "Hours of the row",
        "h",
        _LOG,
        "hours of work of each row of the upkeep log, all hands together",
        cell_methods="",
    ),
    Variable(
        "upkeep_posts",
        "Posts of the row",
        "1",
        _LOG,
        "posts replaced on each visit of the upkeep log",
        cell_methods="",
    ),
    Variable(
        "upkeep_volume",
        "Branches of the row",
        "m3",
        _LOG,
        "volume of branches packed in on each visit of the upkeep log",
        cell_methods="",
    ),
    Variable(
        "upkeep_units",
        "Reef units of the row",
        "1",
        _LOG,
        "reef units mended on each visit of the upkeep log",
        cell_methods="",
    ),
    Variable(
        "upkeep_shell",
        "Shell of the row",
        "m3",
        _LOG,
        "volume of fresh shell filled into reef units on each visit of the upkeep log",
        cell_methods="",
    ),
    Variable(
        "ledger",
        "Ledger",
        "1",
        (*_SERIES, "ledger_entry"),
        "cumulative entries of the budgets of mud [kg], shell [kg], fill [m3], money [currency] and whole reef units [1], and two memos outside them: removal owed at the end and the value of volunteers' hours [currency]",
    ),
    Variable(
        "ledger_residual",
        "Largest ledger gap",
        "1",
        ("option", "member", "budget"),
        "largest gap of each budget at any step, relative to its turnover",
        cell_methods="",
    ),
    Variable(
        "cash_flow",
        "Money spent in a year",
        "1",
        ("option", "member", "cost_year", "cost_head"),
        "nominal outlay of each year by head, in the currency and price year named in the file's attributes; year 0 is the build, removal is owed at the end of the last year",
        cell_methods="",
    ),
    Variable(
        "volunteer_value",
        "Value of volunteers' hours",
        "1",
        ("option", "member", "cost_year"),
        "value of the hours that volunteers work in each year, which is not cash",
        cell_methods="",
    ),
    Variable(
        "takeover_year",
        "Year of takeover by the reef",
        "year",
        ("option", "member"),
        "first year from which the reef, standing without its wire, alone keeps edge power below the stated share of the undefended power to the end; missing where it never does",
        cell_methods="",
    ),
    Variable(
        "first_failure",
        "Part that failed first",
        "1",
        ("option", "member"),
        "part of the design of which half was gone first; fill counts as gone below half its height at build",
        cell_methods="",
        flags=PARTS,
    ),
    Variable(
        "first_failure_year",
        "Year of the first failure",
        "year",
        ("option", "member"),
        "time from the start to the record at which the part that failed first was half gone; missing where none was",
        cell_methods="",
    ),
)

DERIVED: tuple[str, ...] = (
    "retreat",
    "retreat_neighbours",
    "retreat_worst",
    "land_kept",
    "platform_starved",
    "takeover_year",
    "first_failure",
    "first_failure_year",
    "cash_flow",
    "volunteer_value",
)
"""Quantities that follow from what the model writes down."""

OYSTER_SIZE_STEP, OYSTER_SIZE_COUNT = 0.010, 16
"""Width of a class of shell height [m], and how many there are; the last holds all larger ones."""

CEMENTED = 0.7
"""Degree of cementing from which a reef keeps its shape without wire (judgement). [1]"""

BY_NAME: dict[str, Variable] = {variable.name: variable for variable in VARIABLES}

COST_HEADS: tuple[str, ...] = ("build", "upkeep", "monitoring", "removal")
"""Heads of the cash flow."""

BUDGETS: tuple[str, ...] = ("mud", "shell", "fill", "money", "units")

LEDGER_ENTRIES: tuple[str, ...] = (
    "mud_opening",
    "mud_deposited",
    "mud_resuspended",
    "mud_scarp_exported",
    "mud_platform_accreted",
    "mud_closing",
    "shell_opening",
    "shell_grown",
    "shell_refilled",
    "shell_dissolved",
    "shell_washed_off",
    "shell_closing",
    "fill_opening",
    "fill_refilled",
    "fill_decayed",
    "fill_washed_out",
    "fill_closing",
    "money_opening",
    "money_built",
    "money_refilled",
    "money_posts",
    "money_units",
    "money_visits",
    "money_monitoring",
    "money_closing",
    "units_opening",
    "units_spilled",
    "units_mended",
    "units_closing",
    "money_removal_owed",
    "money_volunteers",
)
