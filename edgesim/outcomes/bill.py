"""The bill of quantities with its spread: the members' own bills, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from edgesim.model.bill import (
    MEASURE,
    BillLine,
    bill,
    build_cost,
    removal_lines,
    volunteer_value,
)
from edgesim.model.prices import day_prices, items_of_other_years, mends_reef, unit_price
from edgesim.outcomes.cash import MIXED
from edgesim.outcomes.dataset import write_table
from edgesim.outcomes.summary import ENGLISH_UNITS
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.design import NO_ACTION, Option

OTHER_UNITS = {**ENGLISH_UNITS, "m3": ("yd3", 1.0 / 0.9144**3)}
"""Customary unit and factor beside each SI unit; exact by definition of foot and pound."""

ENDS = (0.05, 0.50, 0.95)

MOST_DRAWS = 200
"""Members beyond which a bill is not drawn any finer."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a bill over the members, quantities and costs at 5, 50 and 95 %."""

    option: str
    part: str
    line: str
    kind: str
    quantity_p05: float
    quantity_p50: float
    quantity_p95: float
    unit: str
    quantity_p50_customary: float
    customary_unit: str
    price_p50: float
    cost_p05: float
    cost_p50: float
    cost_p95: float
    currency: str
    price_year: int
    formula: str
    price_source: str
    price_mark: str
    flag: str


@dataclass(frozen=True, slots=True)
class Total:
    """A sum or a price over the members."""

    option: str
    name: str
    p05: float
    p50: float
    p95: float


def draws(scenario_file: ScenarioFile) -> list[Scenario]:
    """The scenarios of the members that a forecast would run, at most `MOST_DRAWS`."""
    count = min(scenario_file.central.run.members, MOST_DRAWS)
    return [scenario_file.member(index) for index in range(count)]


def built(scenario_file: ScenarioFile) -> list[Option]:
    """Options that build something."""
    central = scenario_file.central
    return [
        option
        for option in central.options
        if option.name != NO_ACTION and bill(central, option)
    ]  # fmt: skip


def bill_rows(
    scenario_file: ScenarioFile, option: Option, members: Sequence[Scenario]
) -> list[Row]:
    """Every line of an option's bill with its spread.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    option : Option
        One that builds something.
    members : sequence of Scenario
        From :func:`draws`.

    Returns
    -------
    list of Row
        Lines of which there is nothing in any member are left out.
    """
    sheets = [bill(member, option) for member in members]
    lines = [
        [sheet[place] for sheet in sheets]
        for place in range(len(sheets[0]))
    ]  # fmt: skip
    central = scenario_file.central
    known = {item.name: (item.source, item.mark) for item in central.prices.book}
    own = ("written in the scenario", "judgement")
    return [
        _row(option.name, of_line, central, known.get(of_line[0].item, own if of_line[0].item else ("", "")))
        for of_line in lines
        if any(line.quantity for line in of_line)
    ]  # fmt: skip


def _row(option: str, lines: list[BillLine], central: Scenario, origin: tuple[str, str]) -> Row:
    first = lines[0]
    quantity = np.quantile([line.quantity for line in lines], ENDS)
    cost = np.quantile([line.cost for line in lines], ENDS)
    other, factor = OTHER_UNITS.get(first.unit, ("", float("nan")))
    return Row(
        option=option,
        part=first.part,
        line=first.name,
        kind=first.kind,
        quantity_p05=float(quantity[0]),
        quantity_p50=float(quantity[1]),
        quantity_p95=float(quantity[2]),
        unit=first.unit,
        quantity_p50_customary=float(quantity[1]) * factor,
        customary_unit=other,
        price_p50=float(np.median([line.price for line in lines])),
        cost_p05=float(cost[0]),
        cost_p50=float(cost[1]),
        cost_p95=float(cost[2]),
        currency="" if first.kind == MEASURE else central.prices.currency,
        price_year=central.prices.price_year,
        formula=first.formula,
        price_source=origin[0],
        price_mark=origin[1],
        flag=MIXED if first.item in items_of_other_years(central.prices) else "",
    )


def totals(option: Option, members: Sequence[Scenario]) -> list[Total]:
    """Sums of an option's bill, member by member: medians of lines do not add up, these do.

    Parameters
    ----------
    option : Option
        One that builds something.
    members : sequence of Scenario
        From :func:`draws`.

    Returns
    -------
    list of Total
    """
    sheets = [bill(member, option) for member in members]
    paid = [day_prices(member) for member in members]
    found = {
        "build, cash": [build_cost(sheet) for sheet in sheets],
        "volunteers' hours of the build, valued, not cash": [volunteer_value(sheet) for sheet in sheets],
        "monitoring, a year": [unit_price(member.prices, "monitoring") for member in members],
        "removal, owed at the end": [
            sum(line.cost for line in removal_lines(member, option)) for member in members
        ],
    }  # fmt: skip
    if option.walls:
        found |= {
            "upkeep: one visit": [price.visit for price in paid],
            "upkeep: one m3 of packed branches": [price.refill for price in paid],
            "upkeep: one post": [price.post for price in paid],
        }
    if option.reef and mends_reef(members[0]):
        found |= {
            "upkeep: one visit": [price.visit for price in paid],
            "upkeep: new cage or bag on one reef unit": [price.unit for price in paid],
            "upkeep: one m3 of shell": [price.shell for price in paid],
        }
    return [
        Total(option.name, name, *(float(value) for value in np.quantile(values, ENDS)))
        for name, values in found.items()
        if any(values)
    ]


def price_flags(scenario: Scenario) -> list[str]:
    """What a reader must know of the prices before comparing options.

    Parameters
    ----------
    scenario : Scenario
        Plain numbers.

    Returns
    -------
    list of str
        Sentences.
    """
    prices, flags = scenario.prices, []
    mixed = items_of_other_years(prices)
    if mixed:
        flags.append(
            f"MIXED PRICE YEARS: the prices of {', '.join(mixed)} are of other years than "
            f"{prices.price_year} and prices.index does not tell how to bring them there; do not compare options by these sums."
        )
    guessed = sum(item.mark == "judgement" for item in prices.book)
    if guessed:
        flags.append(
            f"{guessed} of {len(prices.book)} prices are guesses, not quotes: put a book of your own in their place (prices.book)."
        )
    return flags


def write_bill(scenario_file: ScenarioFile, path: str | Path) -> None:
    """Write the bills of all options that build something as CSV, if any does.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    path : str or Path
        Target.
    """
    members = draws(scenario_file)
    rows = [
        row
        for option in built(scenario_file)
        for row in bill_rows(scenario_file, option, members)
    ]  # fmt: skip
    if rows:
        write_table(rows, path)
