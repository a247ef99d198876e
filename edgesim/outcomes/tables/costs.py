"""T7 bill of materials and labour, T15 maintenance, T16 cost by year, and what the money buys."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.model.bill import MEASURE, VOLUNTEER
from edgesim.names import COST_HEADS
from edgesim.outcomes.bill import (
    OTHER_UNITS,
    Row,
    bill_rows,
    built,
    draws,
    price_flags,
    totals,
)
from edgesim.outcomes.calendar import upkeep_end_words
from edgesim.outcomes.cash import built_options, discount_factors, spent_until, unit_costs
from edgesim.outcomes.embedded import SITE, scenario_file_of
from edgesim.outcomes.indicators import yearly_records
from edgesim.outcomes.needs import Need
from edgesim.outcomes.tables.table import Table, TableEntry, make_table
from edgesim.scenario import CAUTIONS, ScenarioFile

Floats = NDArray[np.float64]

A_BUILD = Need(
    lambda dataset: "cash_flow" in dataset and bool(built_options(dataset)),
    "no option of this forecast builds anything, or it was written before costs were kept",
    "add an option with walls or a reef and run the forecast again",
)

BAND = (0.05, 0.95)

UNIT_WORDS = {"each": "", "hour": "hours", "day": "days", "sum": "lump sum"}
"""Units as a table shows them."""

PRECEDENT = (
    "Beside it: two-row pole-and-branch fences on a tropical muddy coast took some 20 % of the cost of "
    "building a year in upkeep, for up to three years (read; wages and prices of another country)."
)


def money(value: float) -> str:
    """Money in whole units with commas, for bands and sums.

    Examples
    --------
    >>> money(12345.6)
    '12,346'
    """
    return f"{value:,.0f}"


def cents(value: float) -> str:
    """Money to the cent.

    Examples
    --------
    >>> cents(12345.6)
    '12,345.60'
    """
    return f"{value:,.2f}"


def number(value: float) -> str:
    """A quantity in three digits, large ones whole.

    Examples
    --------
    >>> number(1234.5), number(19.51), number(0.456)
    ('1,234', '19.5', '0.456')
    """
    return f"{value:,.0f}" if abs(value) >= 100.0 else f"{value:.3g}"


def _band(values: Floats) -> str:
    low, high = np.quantile(values, BAND)
    return f"{money(float(low))} to {money(float(high))}"


def _prices_note(scenario_file: ScenarioFile) -> str:
    prices = scenario_file.central.prices
    flags = " ".join(price_flags(scenario_file.central))
    return f"Money of {prices.price_year} in {prices.currency}. {flags} {CAUTIONS}"


def bill_table(scenario_file: ScenarioFile) -> Table:
    """T7 of a scenario: quantities both ways, costs with their spread, hours apart from cash.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.

    Returns
    -------
    Table
    """
    members, options = draws(scenario_file), built(scenario_file)
    # The lines of a part are the same in every option that builds it: the fullest option shows all.
    every = [bill_rows(scenario_file, option, members) for option in options]
    rows = [_bill_cells(row) for row in max(every, key=len, default=[])]
    rows += [
        (option.name, f"sum: {total.name}", "", "", "", cents(total.p50), f"{money(total.p05)} to {money(total.p95)}", "", "")
        for option in options
        for total in totals(option, members)
    ]  # fmt: skip
    currency = scenario_file.central.prices.currency
    headings = (
        "part or option", "line", "quantity (median)", "quantity (90 %)", f"unit price ({currency}, median)",
        f"cost ({currency}, median)", f"cost ({currency}, 90 %)", "how the quantity is found", "mark of the price",
    )  # fmt: skip
    note = (
        f"Lines of the option that builds most, sums of every option. Medians and 90 % bands of {len(members)} members of the forecast's own draws; medians of lines do not add up, "
        "sums are medians of the members' sums. Volunteers' hours are valued but are not cash. "
        + _prices_note(scenario_file)
    )
    return make_table("Bill of materials and labour", headings, rows, note)


def _bill_cells(row: Row) -> tuple[str, ...]:
    other, factor = OTHER_UNITS.get(row.unit, ("", 1.0))

    unit = UNIT_WORDS.get(row.unit, row.unit)

    def both(*values: float) -> str:
        shown = " to ".join(number(value) for value in values)
        customary = " to ".join(number(value * factor) for value in values)
        return f"{shown} {unit}" + (f" ({customary} {other})" if other else "")

    spread = row.quantity_p95 - row.quantity_p05 > 1e-9 * abs(row.quantity_p50)
    priced = row.kind != MEASURE
    cash = "" if row.kind != VOLUNTEER else " (valued, not cash)"
    is_reserve = row.line == "contingency"
    return (
        row.part,
        row.line + cash,
        f"{row.quantity_p50:.0%}" if is_reserve else both(row.quantity_p50).strip(),
        both(row.quantity_p05, row.quantity_p95).strip() if spread else "",
        cents(row.price_p50) if priced and not is_reserve else "",
        cents(row.cost_p50) if priced else "",
        f"{money(row.cost_p05)} to {money(row.cost_p95)}" if priced else "",
        row.formula,
        row.price_mark,
    )


def t7_bill(dataset: xr.Dataset) -> Table:
    """T7, bill of materials and labour of the scenario behind a forecast."""
    return bill_table(scenario_file_of(dataset))


def t16_cost_by_year(dataset: xr.Dataset) -> Table:
    """T16, expected cash of every year by head, nominal and discounted, with the band of the sum.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
        Expected values add up along rows and columns; bands do not.
    """
    rate = float(dataset.attrs["discount_rate"])
    currency = dataset.attrs["currency"]
    years = dataset["cost_year"].values
    weights = discount_factors(years, rate)
    rows = []
    for option in built_options(dataset):
        flow = dataset["cash_flow"].sel(option=option).values
        volunteers = dataset["volunteer_value"].sel(option=option).values.mean(axis=0)
        for place, year in enumerate(years):
            heads = flow[:, place].mean(axis=0)
            spent = float(heads[: COST_HEADS.index("removal")].sum())
            to_date = spent_until(dataset, option, int(year))
            discounted = spent_until(dataset, option, int(year), rate)
            rows.append(
                (
                    option, str(int(year)), *[cents(float(head)) for head in heads[:3]], cents(spent),
                    cents(spent * float(weights[place])), cents(float(to_date.mean())), _band(to_date),
                    cents(float(discounted.mean())), cents(float(heads[3])), cents(float(volunteers[place])),
                )
            )  # fmt: skip
    headings = (
        "option", "year", "build", "upkeep", "monitoring", "spent", "spent, discounted", "spent to date",
        "spent to date, 90 %", "spent to date, discounted", "removal owed", "volunteers' hours, not cash",
    )  # fmt: skip
    note = (
        f"Expected values (means of {dataset.sizes['member']} members) in {currency} of {dataset.attrs['price_year']}, "
        f"so that they add up; discounted at {rate:.1%} a year, year 0 is the build, later years count at their end. "
        f"Removal is owed at the end of the last year and stands outside the sums. {PRECEDENT}{_flags(dataset)}"
    )
    return make_table("Cost by year, nominal and discounted", headings, rows, note)


def _flags(dataset: xr.Dataset) -> str:
    """What must be known of the prices, where the forecast carries its scenario, and the cautions."""
    flags = price_flags(scenario_file_of(dataset).central) if SITE.holds(dataset) else []
    return " " + " ".join([*flags, CAUTIONS])


def t15_maintenance(dataset: xr.Dataset) -> Table:
    """T15, upkeep that the forecast expects in every year.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    rows = [cells for option in built_options(dataset) for cells in _upkeep_rows(dataset, option)]
    currency = dataset.attrs["currency"]
    headings = (
        "option", "year", "chance of a visit", "visits (expected)", "crew hours (expected)",
        "branches packed in, m3 (expected)",
        "branches packed in, yd3 (expected)", "reef units mended (expected)", f"upkeep ({currency}, expected)", f"upkeep ({currency}, 90 %)",
    )  # fmt: skip
    note = (
        f"Over {dataset.sizes['member']} members. What a crew should look at on each visit stands in the trigger table; "
        f"a refill needs the permit and safety checks of the build.{_flags(dataset)} {upkeep_end_words(dataset)}"
    )
    return make_table("Maintenance schedule", headings, rows, note.rstrip())


def _upkeep_rows(dataset: xr.Dataset, option: str) -> Iterator[tuple[str, ...]]:
    of_option = dataset.sel(option=option)
    records = list(yearly_records(dataset["elapsed"].values).values())
    visits = np.nan_to_num(of_option["refills"].values[:, records])
    fill = of_option["ledger"].sel(ledger_entry="fill_refilled").values[:, records]
    mended = of_option["ledger"].sel(ledger_entry="units_mended").values[:, records]
    upkeep = of_option["cash_flow"].sel(cost_head="upkeep").values
    hours = np.nan_to_num(of_option["crew_hours"].values[:, records])
    for index, year in enumerate(dataset["cost_year"].values):
        if index == 0:
            continue
        came = visits[:, index] - visits[:, index - 1]
        worked = float((hours[:, index] - hours[:, index - 1]).mean())
        packed = float((fill[:, index] - fill[:, index - 1]).mean())
        yield (
            option, str(int(year)), f"{float((came > 0).mean()):.0%}", f"{float(came.mean()):.1f}",
            f"{worked:.1f}", f"{packed:.1f}", f"{packed * OTHER_UNITS['m3'][1]:.1f}",
            f"{float((mended[:, index] - mended[:, index - 1]).mean()):.1f}", cents(float(upkeep[:, index].mean())),
            _band(upkeep[:, index]),
        )  # fmt: skip


def t16b_money_buys(dataset: xr.Dataset) -> Table:
    """What the money buys: cost of a metre protected and of a square metre of marsh kept, with bands.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
        One row an option and way of counting, nominal and discounted.
    """
    rate = float(dataset.attrs["discount_rate"])
    years = int(dataset["cost_year"].values[-1])
    rows = []
    for option in built_options(dataset):
        for words, used in (("nominal", 0.0), (f"discounted at {rate:.1%}", rate)):
            spent = spent_until(dataset, option, rate=used)
            costs = unit_costs(dataset, option, used)
            foot, square = OTHER_UNITS["m"][1], OTHER_UNITS["m2"][1]
            area = costs.per_area
            rows.append(
                (
                    option, words, money(float(np.median(spent))), _band(spent),
                    money(float(np.median(costs.per_metre))), _band(costs.per_metre),
                    money(float(np.median(costs.per_metre)) / foot),
                    money(float(np.median(area))) if area.size else "none kept",
                    _band(area) if area.size else "", money(float(np.median(area)) / square) if area.size else "",
                    f"{costs.without} of {spent.size}",
                )
            )  # fmt: skip
    currency = dataset.attrs["currency"]
    headings = (
        "option", "counted", f"spent in {years} years ({currency}, median)", "90 %",
        f"per m of shore protected ({currency}, median)", "per m, 90 %", "per ft, median",
        f"per m2 of marsh kept ({currency}, median)", "per m2, 90 %", "per ft2, median", "members that keep no marsh",
    )  # fmt: skip
    note = (
        f"{dataset.sizes['member']} members; money of {dataset.attrs['price_year']}. Build, upkeep and monitoring, without "
        "removal. Marsh kept is counted over the whole shore against no action of the same member; members that keep none "
        f"have no price per area and are counted apart.{_flags(dataset)}"
    )
    return make_table("What the money buys", headings, rows, note)


COST_TABLES: dict[str, TableEntry] = {
    "bill": TableEntry("T7", "Bill of materials and labour", t7_bill, (SITE, A_BUILD)),
    "maintenance": TableEntry("T15", "Maintenance schedule", t15_maintenance, (A_BUILD,)),
    "cost_by_year": TableEntry(
        "T16", "Cost by year, nominal and discounted", t16_cost_by_year, (A_BUILD,)
    ),
    "money_buys": TableEntry("T16b", "What the money buys", t16b_money_buys, (A_BUILD,)),
}
"""Tables of money by name."""
