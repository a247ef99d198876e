"""What things cost: a book of prices, and how money is counted."""

from __future__ import annotations

from edgesim.scenario.parameters import JUDGEMENT, OURS, Column, Section, parameter


class PriceItem(Section):
    """One row of a price book, per unit in metres, kilograms, hours, days or pieces."""

    name: str = parameter("What is bought.", "text", example='"post"')
    unit: str = parameter("Unit that the price is for.", "text", example='"m"')
    price: float = parameter("Price of one unit.", "number", at_least=0.0, example="8.0")
    currency: str = parameter("Currency.", "text", example='"USD"')
    year: int = parameter("Year of the price.", "count", at_least=1900, at_most=2200)
    source: str = parameter("Where the price comes from.", "text")
    mark: str = parameter("How far to trust it.", "text", example='"judgement"')


class Prices(Section):
    """What things cost; every price comes from the book unless one is written here."""

    currency: str = parameter("Currency.", "text", "USD", example='"USD"')
    price_year: int = parameter(
        "Year whose money is counted: the base year of the price index.",
        "count",
        2026,
        at_least=1900,
        at_most=2200,
        mark=JUDGEMENT,
        source=OURS,
    )
    book: tuple[PriceItem, ...] = parameter(
        "Price book: a CSV file with the columns item, unit, low, mode, high, currency, year, source and mark; "
        "items that it leaves out keep the price of the book that comes with edgesim, whose prices are guesses.",
        "own",
        (),
        example='"my_prices.csv"',
    )
    index: tuple[tuple[float, float], ...] = parameter(
        "Price index by year, to bring prices of other years to the base year.",
        "table",
        (),
        columns=(
            Column("year", "number", "the year"),
            Column("index", "number", "level of prices in that year, any scale"),
        ),
        example="[[2022, 100.0], [2026, 112.0]]",
    )
    discount_rate: float = parameter(
        "Yearly rate by which later money counts less; 0 counts all years alike.",
        "fraction",
        0.03,
        at_least=0.0,
        below=1.0,
        certain=True,
        example='"3 %"',
        mark=JUDGEMENT,
        source=OURS,
    )
    contingency: float = parameter(
        "Reserve for what is not foreseen, as a share of the cash cost of building.",
        "fraction",
        0.20,
        at_least=0.0,
        at_most=2.0,
        example='"20 %"',
        mark=JUDGEMENT,
        source=OURS,
    )
    monitoring_years: float = parameter(
        "Years of the forecast in which the work is monitored.",
        "number",
        5.0,
        at_least=0.0,
        example="5",
        mark=JUDGEMENT,
        source=OURS,
    )
    wall_per_m: float | None = parameter(
        "A length of wall, built, in place of the sum of its materials, work and boats.",
        "money per length",
        None,
        key="wall",
        at_least=0.0,
    )
    reef_unit: float | None = parameter(
        "One reef unit, placed, in place of the sum of its materials, work and boats.",
        "number",
        None,
        at_least=0.0,
    )
    refill_per_m3: float | None = parameter(
        "A volume of branches, packed in, in place of the sum of branches and work.",
        "money per volume",
        None,
        key="refill",
        at_least=0.0,
    )
    post: float | None = parameter(
        "One post, driven, in place of the sum of wood and work.",
        "number",
        None,
        at_least=0.0,
    )
    unit_mended: float | None = parameter(
        "New cage or bag on one spilled reef unit, in place of the sum of mesh, rings or bag and work; shell is counted apart.",
        "number",
        None,
        at_least=0.0,
    )
    visit: float | None = parameter(
        "Boat and crew for one visit, in place of the sum of boat, travel and inspection.",
        "number",
        None,
        at_least=0.0,
    )
