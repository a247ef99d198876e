"""What an option is made of and what building it costs: quantity times price, line by line.

Quantities follow from the same lines of bays and units that the day loop uses, prices from the
scenario's price book, so that the ledger and the bill cannot disagree. A line's cost is rounded
to cents; sums are of rounded lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from edgesim.model.grid import reef_line, wall_line
from edgesim.model.prices import (
    MESH_OVERLAP,
    item_of,
    mesh_area,
    post_length,
    ring_count,
    unit_price,
)
from edgesim.model.settings import post_table
from edgesim.processes.shell import bulk_density
from edgesim.processes.substrate import UNITS
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option, Reef, Walls

MEASURE, MATERIAL, LABOUR, BOAT, HEAD, VOLUNTEER = (
    "measure",
    "material",
    "labour",
    "boat",
    "head",
    "volunteers",
)
"""Kinds of line: a measure has no price, volunteers' hours are valued but are not cash."""


@dataclass(frozen=True)
class BillLine:
    """One line of a bill.

    Attributes
    ----------
    part : str
        "walls", "reef" or "project".
    name : str
        What it is.
    kind : str
        See the kinds above.
    quantity : float
        How much. [unit]
    unit : str
        m, m2, m3, kg, each, hour, day or sum.
    price : float
        Price of one unit in money of the base year; 0 for a measure. [currency]
    item : str
        Item of the price book; "" for none.
    formula : str
        How the quantity is found, in words.
    """

    part: str
    name: str
    kind: str
    quantity: float
    unit: str
    price: float
    item: str
    formula: str

    @property
    def cost(self) -> float:
        """Quantity times price, to the cent. [currency]."""
        return round(self.quantity * self.price, 2)

    @property
    def is_cash(self) -> bool:
        """Whether the line is paid in money."""
        return self.kind not in (MEASURE, VOLUNTEER)


def bill(scenario: Scenario, option: Option) -> list[BillLine]:
    """Every line of the bill of an option; empty for an option that builds nothing.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    option : Option
        Which lines are built.

    Returns
    -------
    list of BillLine
    """
    walls = scenario.design.walls if option.walls else None
    reef = scenario.design.reef if option.reef else None
    lines: list[BillLine] = []
    if walls is not None:
        lines += _overridden(scenario, "walls", list(_wall_lines(scenario, walls)))
    if reef is not None:
        lines += _overridden(scenario, "reef", list(_reef_lines(scenario, reef)))
    if not lines:
        return []
    lines += _project_lines(scenario, _outer_extent(scenario, option))
    cash = sum(line.cost for line in lines if line.is_cash)
    reserve = scenario.prices.contingency
    return [
        *lines,
        BillLine(
            "project", "contingency", HEAD, reserve, "share of cash", cash, "",
            "share of the sum of all other lines that are cash",
        ),
    ]  # fmt: skip


def build_cost(lines: list[BillLine]) -> float:
    """Cash that building costs, to the cent. [currency]."""
    return round(sum(line.cost for line in lines if line.is_cash), 2)


def volunteer_value(lines: list[BillLine]) -> float:
    """Value of the volunteers' hours of building. [currency]."""
    return round(sum(line.cost for line in lines if line.kind == VOLUNTEER), 2)


def removal_lines(scenario: Scenario, option: Option) -> list[BillLine]:
    """Lines of taking everything away at the end: it is owed whether or not it is ever asked for."""
    lines: list[BillLine] = []
    walls, reef = wall_line(scenario), reef_line(scenario)
    if option.walls and walls is not None:
        length = sum(end - start for start, end in walls.segments)
        lines.append(
            _line(scenario, "walls", "walls taken away", HEAD, length, "wall removal", "length of all walls")
        )  # fmt: skip
    if option.reef and reef is not None and scenario.design.reef is not None:
        count = len(reef.parts) * scenario.design.reef.rows
        lines.append(
            _line(scenario, "reef", "units taken away", HEAD, count, "unit removal", "all units as built")
        )  # fmt: skip
    if lines:
        lines.append(
            _line(scenario, "project", "mobilisation for removal", HEAD, 1.0, "mobilisation", "once")
        )  # fmt: skip
    return lines


def _line(
    scenario: Scenario, part: str, name: str, kind: str, quantity: float, item: str, formula: str
) -> BillLine:
    """A line priced by the book."""
    unit = item_of(scenario.prices, item).unit
    price = unit_price(scenario.prices, item)
    return BillLine(part, name, kind, quantity, unit, price, item, formula)


def _measure(part: str, name: str, quantity: float, unit: str, formula: str) -> BillLine:
    return BillLine(part, name, MEASURE, quantity, unit, 0.0, "", formula)


def _bought(number: float, waste: float) -> int:
    """Whole pieces bought for a number built in; rounding aside, never one too many."""
    return math.ceil(number * (1.0 + waste) - 1e-9)


def _wall_lines(scenario: Scenario, walls: Walls) -> Iterator[BillLine]:
    work, line = scenario.work, wall_line(scenario)
    assert line is not None
    height = walls.crest - line.base
    length = sum(end - start for start, end in line.segments)
    posts = int(post_table(line, walls.rows).max()) + 1
    post = post_length(scenario)
    packed = length * walls.row_gap * height
    loose = packed * work.packing * (1.0 + work.waste)
    bundle = 0.25 * math.pi * work.bundle_diameter**2 * work.bundle_length
    pairs = posts / walls.rows
    tie = 2.0 * walls.row_gap + walls.rows * 2.0 * math.pi * walls.post_diameter
    wire = pairs * work.tie_layers * tie * (1.0 + work.waste)
    bought = _bought(posts, work.waste)
    measure = [
        ("length of wall", length, "m", "sum of all walls"),
        ("posts driven", posts, "each", "bays of each wall and one, times rows, over all walls"),
        ("length of a post", post, "m", "height over the bed with freeboard, and embedment"),
        ("wood of the posts", posts * post * math.pi * 0.25 * walls.post_diameter**2, "m3",
         "posts times length times cross-section"),
        ("packed fill", packed, "m3", "length times width times height of the branches"),
        ("solid wood in the fill", packed * walls.solid_fraction, "m3", "packed fill times solid share"),
        ("bundles of branches", math.ceil(loose / bundle), "each", "loose volume over that of a bundle"),
    ]  # fmt: skip
    for name, quantity, unit, formula in measure:
        yield _measure("walls", name, quantity, unit, formula)
    material = [
        ("posts bought", bought * post, "post", "posts with waste, in whole posts, times length"),
        ("loose branches", loose, "branches", "packed fill times packing, with waste"),
        ("ties", wire, "ties",
         "pairs of posts times layers times (two crossings and a turn round each post), with waste"),
        ("nails", _bought(posts * work.nails_per_post, work.waste), "nails", "posts times nails of a post, with waste"),
    ]  # fmt: skip
    for name, quantity, item, formula in material:
        yield _line(scenario, "walls", name, MATERIAL, quantity, item, formula)
    hours = posts * work.hours_per_post + packed * work.hours_per_m3
    yield from _hours(scenario, "walls", hours, "posts and packed fill times hours of each")


def _reef_lines(scenario: Scenario, reef: Reef) -> Iterator[BillLine]:
    work, line = scenario.work, reef_line(scenario)
    assert line is not None
    units = len(line.parts) * reef.rows
    sides = (reef.unit_length, reef.unit_width, reef.unit_height)
    volume = math.prod(sides)
    yield _measure("reef", "reef units", units, "each", "units along the reef times rows")
    yield _measure(
        "reef", "area covered", units * sides[0] * sides[1], "m2", "units times length times width"
    )
    made = UNITS[reef.material]
    mass = units * volume * bulk_density(made.solid_density, reef.porosity)
    if made.holds_shell:
        yield from _shell_lines(scenario, reef, units, volume, mass)
    else:
        yield _measure(
            "reef", "mass of modules", mass, "kg", "volume times density and solid share"
        )
        yield _line(
            scenario, "reef", f"{reef.material}s", MATERIAL, units, reef.material, "one a unit"
        )
    hours = units * work.hours_per_unit
    yield from _hours(scenario, "reef", hours, "units times hours of a unit")


def _shell_lines(
    scenario: Scenario, reef: Reef, units: int, volume: float, mass: float
) -> Iterator[BillLine]:
    """Shell and the cages or bags that hold it."""
    work, spare = scenario.work, 1.0 + scenario.work.waste
    yield _measure(
        "reef",
        "mass of shell",
        mass * spare,
        "kg",
        "volume times density of loose shell, with waste",
    )
    yield _line(
        scenario, "reef", "shell", MATERIAL, units * volume * spare, "shell", "units times volume, with waste"
    )  # fmt: skip
    if UNITS[reef.material].container == "bag":
        bags = _bought(units, work.waste)
        yield _line(scenario, "reef", "bags", MATERIAL, bags, reef.material, "units, with waste")
        return
    rings = _bought(units * ring_count(reef, work), work.waste)
    yield _line(
        scenario, "reef", "mesh", MATERIAL, units * mesh_area(reef) * spare, "mesh",
        f"six faces a unit, {MESH_OVERLAP:.0%} for laps, with waste",
    )  # fmt: skip
    yield _line(
        scenario, "reef", "rings", MATERIAL, rings, "rings",
        "twelve edges a unit over the spacing of rings, with waste",
    )  # fmt: skip


def _hours(scenario: Scenario, part: str, hours: float, formula: str) -> Iterator[BillLine]:
    """Paid and volunteer hours, and the boat days that they need."""
    work = scenario.work
    days = math.ceil(hours / (work.crew * work.day_hours) - 1e-9)
    share = work.volunteer_share
    yield _line(
        scenario, part, "paid hours", LABOUR, (1.0 - share) * hours, "labour",
        f"{formula}, without volunteers' share",
    )  # fmt: skip
    yield _line(
        scenario, part, "volunteer hours", VOLUNTEER, share * hours, "volunteer hour",
        f"{formula}, volunteers' share",
    )  # fmt: skip
    yield _line(
        scenario, part, "boat days", BOAT, days, "boat day",
        "all hours over crew and hours of a day, in whole days",
    )  # fmt: skip


def _overridden(scenario: Scenario, part: str, lines: list[BillLine]) -> list[BillLine]:
    """The lines, or their measures and one line at the price that the scenario gives."""
    own = scenario.prices.wall_per_m if part == "walls" else scenario.prices.reef_unit
    if own is None:
        return lines
    measures = [line for line in lines if line.kind == MEASURE]
    first = next(line for line in measures if line.name in ("length of wall", "reef units"))
    name, item = ("walls, built", "wall") if part == "walls" else ("units, placed", "reef unit")
    formula = f"{first.name}, at the price that the scenario gives"
    whole = BillLine(part, name, MATERIAL, first.quantity, first.unit, own, item, formula)
    return [*measures, whole]


def _outer_extent(scenario: Scenario, option: Option) -> float:
    """Length along the shore of the outermost line that is built. [m]."""
    line = wall_line(scenario) if option.walls else reef_line(scenario)
    assert line is not None
    return max(end for _, end in line.segments) - min(start for start, _ in line.segments)


def _project_lines(scenario: Scenario, extent: float) -> Iterator[BillLine]:
    """Markers and the heads that a project pays once, whatever it builds."""
    markers = 1 + math.ceil(extent / scenario.work.marker_spacing - 1e-9)
    yield _line(
        scenario, "project", "navigation markers", MATERIAL, markers, "navigation marker",
        "one at each end of the outer line and one at every spacing between",
    )  # fmt: skip
    for item in ("mobilisation", "permitting and survey", "engineering"):
        yield _line(scenario, "project", item, HEAD, 1.0, item, "once")
