"""Prices in money of the base year, and those that the day loop uses."""

from __future__ import annotations

from dataclasses import dataclass

from edgesim.model.grid import wall_line
from edgesim.processes.substrate import UNITS
from edgesim.scenario import Scenario
from edgesim.scenario.design import Reef
from edgesim.scenario.prices import PriceItem, Prices
from edgesim.scenario.work import Work

MESH_OVERLAP = 0.10
"""Mesh bought above the faces of a cage, for laps (judgement). [1]"""


@dataclass(frozen=True)
class DayPrices:
    """Prices that the day loop uses, and what volunteers' part of the same work is worth.

    Attributes
    ----------
    refill, post, visit, unit, shell : float
        Cash of a cubic metre of packed branches, of a post driven, of a visit, of a new cage or bag
        on a reef unit, of a cubic metre of shell in it. [currency]
    volunteer_refill, volunteer_post, volunteer_unit : float
        Value of volunteers' hours in a cubic metre of branches, a post, a reef unit. [currency]
    """

    refill: float
    post: float
    visit: float
    unit: float
    shell: float
    volunteer_refill: float
    volunteer_post: float
    volunteer_unit: float


def unit_price(prices: Prices, name: str) -> float:
    """Price of an item in money of the base year. [currency]."""
    item = item_of(prices, name)
    return item.price * (index_factor(prices, item.year) or 1.0)


def index_factor(prices: Prices, year: int) -> float | None:
    """Factor from money of a year to money of the base year; None when the index does not tell."""
    if year == prices.price_year:
        return 1.0
    index = {int(a_year): level for a_year, level in prices.index}
    if year not in index or prices.price_year not in index:
        return None
    return index[prices.price_year] / index[year]


def items_of_other_years(prices: Prices) -> list[str]:
    """Items whose price is of another year and is not brought to the base year."""
    return [item.name for item in prices.book if index_factor(prices, item.year) is None]


def day_prices(scenario: Scenario) -> DayPrices:
    """Prices of upkeep, from the book unless the scenario gives them.

    Parameters
    ----------
    scenario : Scenario
        A member's values.

    Returns
    -------
    DayPrices
    """
    work, prices, upkeep = scenario.work, scenario.prices, scenario.upkeep
    paid = 1.0 - work.volunteer_share
    hour, volunteer_hour = unit_price(prices, "labour"), unit_price(prices, "volunteer hour")
    length = post_length(scenario)
    refill = work.packing * (1.0 + work.waste) * unit_price(prices, "branches")
    post = length * unit_price(prices, "post")
    visit = unit_price(prices, "boat day") + upkeep.hours_visit * hour
    return DayPrices(
        refill=_given(prices.refill_per_m3, refill + paid * upkeep.hours_per_m3 * hour),
        post=_given(prices.post, post + paid * upkeep.hours_post * hour),
        visit=_given(prices.visit, visit),
        unit=_given(
            prices.unit_mended, container_price(scenario) + paid * upkeep.hours_unit * hour
        ),
        shell=(1.0 + work.waste) * unit_price(prices, "shell"),
        volunteer_refill=work.volunteer_share * upkeep.hours_per_m3 * volunteer_hour,
        volunteer_post=work.volunteer_share * upkeep.hours_post * volunteer_hour,
        volunteer_unit=work.volunteer_share * upkeep.hours_unit * volunteer_hour,
    )


def mends_reef(scenario: Scenario) -> bool:
    """Whether visits mend the reef's units; solid ones never spill."""
    reef = scenario.design.reef
    return reef is not None and scenario.upkeep.mend_reef and UNITS[reef.material].holds_shell


def container_price(scenario: Scenario) -> float:
    """Material of the cage or bag of one reef unit, with waste; 0 for solid units. [currency]."""
    reef, work = scenario.design.reef, scenario.work
    if reef is None or not UNITS[reef.material].holds_shell:
        return 0.0
    if UNITS[reef.material].container == "bag":
        material = unit_price(scenario.prices, reef.material)
    else:
        material = mesh_area(reef) * unit_price(scenario.prices, "mesh")
        material += ring_count(reef, work) * unit_price(scenario.prices, "rings")
    return (1.0 + work.waste) * material


def mesh_area(reef: Reef) -> float:
    """Mesh of one cage: its six faces, with laps. [m2]."""
    length, width, height = reef.unit_length, reef.unit_width, reef.unit_height
    faces = 2.0 * (length * width + length * height + width * height)
    return faces * (1.0 + MESH_OVERLAP)


def ring_count(reef: Reef, work: Work) -> float:
    """Rings along the twelve edges of one cage."""
    return 4.0 * (reef.unit_length + reef.unit_width + reef.unit_height) / work.ring_spacing


def _given(own: float | None, computed: float) -> float:
    return computed if own is None else own


def item_of(prices: Prices, name: str) -> PriceItem:
    """The item of the book with a name."""
    return next(item for item in prices.book if item.name == name)


def post_length(scenario: Scenario) -> float:
    """Length of a post: its height over the bed and its embedment; 0 without walls. [m]."""
    walls, line, work = scenario.design.walls, wall_line(scenario), scenario.work
    if walls is None or line is None:
        return 0.0
    return (walls.crest - line.base + work.post_freeboard) * (1.0 + work.post_embedment)
