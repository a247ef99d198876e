"""Prices in money of the base year, and those that the day loop uses."""

from __future__ import annotations

from dataclasses import dataclass

from edgesim.model.grid import wall_line
from edgesim.scenario import Scenario
from edgesim.scenario.prices import PriceItem, Prices


@dataclass(frozen=True)
class DayPrices:
    """Prices that the day loop uses, and what volunteers' part of the same work is worth.

    Attributes
    ----------
    refill, post, visit : float
        Cash of a cubic metre of packed branches, of a post driven, of a visit. [currency]
    volunteer_refill, volunteer_post : float
        Value of volunteers' hours in the first two. [currency]
    """

    refill: float
    post: float
    visit: float
    volunteer_refill: float
    volunteer_post: float


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
        volunteer_refill=work.volunteer_share * upkeep.hours_per_m3 * volunteer_hour,
        volunteer_post=work.volunteer_share * upkeep.hours_post * volunteer_hour,
    )


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
