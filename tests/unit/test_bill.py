"""The bill of quantities against counts by hand, and the one source of every price."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from edgesim.model.bill import MEASURE, VOLUNTEER, BillLine, bill, build_cost, removal_lines
from edgesim.model.prices import day_prices, items_of_other_years, unit_price
from edgesim.outcomes.bill import bill_rows, built, draws, price_flags, totals

FOOT, YARD = 0.3048, 0.9144
CERTAIN = {
    "work.post_embedment": 2.0,
    "work.post_freeboard": 0.2,
    "work.packing": 2.0,
    "work.waste": 0.10,
    "work.hours_per_post": 0.5,
    "work.hours_per_m3": 2.0,
    "work.hours_per_unit": 1.0,
    "upkeep.hours_visit": 8.0,
    "upkeep.hours_per_m3": 3.0,
    "upkeep.hours_post": 1.5,
    "work.volunteer_share": 0.25,
    "design.walls.solid_fraction": 0.25,
    "design.reef.porosity": 0.65,
}


def option_of(scenario, name):
    return next(option for option in scenario.options if option.name == name)


def by_name(lines: list[BillLine]) -> dict[str, BillLine]:
    return {line.name: line for line in lines}


@pytest.fixture(scope="module")
def certain(small_scenario):
    return small_scenario(CERTAIN)


def test_demo_wall_agrees_with_a_count_by_hand(certain) -> None:
    # Four walls of 16 ft, posts every 2 ft in two rows, 2 ft wide, crest 2.6 ft over NAVD88 on a bed
    # at -2.42 ft, 24 ft from the edge (demo_profile.csv); posts of 4 in.
    central = certain.central
    lines = by_name(bill(central, option_of(central, "walls only")))
    posts = 4 * 2 * (8 + 1)
    height = 2.6 - -2.42  # ft
    post = (height * FOOT + 0.2) * (1 + 2.0)
    packed = 64 * 2 * height * FOOT**3
    tie = 2 * 2 * FOOT + 2 * math.pi * (4 / 12 * FOOT) * 2
    hours = 72 * 0.5 + packed * 2.0
    expected = {
        "length of wall": 64 * FOOT,
        "posts driven": posts,
        "length of a post": post,
        "wood of the posts": posts * post * math.pi / 4 * (4 / 12 * FOOT) ** 2,
        "packed fill": packed,
        "solid wood in the fill": 0.25 * packed,
        "bundles of branches": math.ceil(packed * 2.0 * 1.1 / (math.pi / 4 * 0.3**2 * 1.8)),
        "posts bought": 80 * post,  # 72 and a tenth are 79.2
        "loose branches": packed * 2.0 * 1.1,
        "ties": 36 * 2 * tie * 1.1,  # 36 pairs at two heights
        "nails": 317,  # 72 times 4 and a tenth are 316.8
        "paid hours": 0.75 * hours,
        "volunteer hours": 0.25 * hours,
        "boat days": 4,  # 72.4 hours over 4 people and 5 hours
        "navigation markers": 2,  # 79 ft
    }
    assert posts == 72
    assert packed == pytest.approx(18.195, abs=0.001)
    for name, quantity in expected.items():
        assert lines[name].quantity == pytest.approx(quantity, rel=1e-9), name


def test_demo_reef_agrees_with_a_count_by_hand(certain) -> None:
    # 80 ft in units of 3 ft are 26, three rows; a unit is 3 ft x 18 in x 18 in.
    central = certain.central
    lines = by_name(bill(central, option_of(central, "reef only")))
    volume = 78 * 3 * 1.5 * 1.5 * FOOT**3 * 1.1
    assert lines["reef units"].quantity == 78
    assert lines["shell"].quantity == pytest.approx(volume)
    assert lines["mass of shell"].quantity == pytest.approx(volume * 2500.0 * 0.35)
    faces = 2 * (3 * 1.5 + 3 * 1.5 + 1.5 * 1.5) * FOOT**2
    assert lines["mesh"].quantity == pytest.approx(78 * faces * 1.1 * 1.1)
    assert lines["rings"].quantity == math.ceil(78 * 4 * 6 * FOOT / 0.12 * 1.1)


@pytest.mark.parametrize(
    ("material", "item"),
    [("shell bag", "bags"), ("fibre shell bag", "bags"), ("shell-cement module", "shell-cement modules"),
     ("concrete module", "concrete modules")],
)  # fmt: skip
def test_every_kind_of_unit_has_its_lines_and_price(small_scenario, material, item) -> None:
    def edit(table):
        reef = table["design"]["reef"]
        reef["material"] = material
        reef.pop("wire")

    changes = {key: value for key, value in CERTAIN.items() if "reef" not in key}
    central = small_scenario(changes, edit).central
    lines = by_name(bill(central, option_of(central, "reef only")))
    solid = "module" in material
    assert lines[item].quantity == (78 if solid else 86)  # 78 and a tenth are 85.8
    assert lines[item].item == material
    assert ("shell" in lines) is not solid
    assert "mesh" not in lines
    assert "rings" not in lines
    assert lines["mass of modules" if solid else "mass of shell"].quantity > 1000.0


def test_three_walls_and_two_gaps_of_the_trade_fit_their_reach(small_scenario) -> None:
    # Common practice, no source: three 14 ft walls with two 6 ft gaps fit a reach of 54 to 55 ft,
    # with 14 posts a wall in two rows of seven.
    def edit(table):
        walls = table["design"]["walls"]
        walls |= {"count": 3, "length": "14 ft", "gap": "6 ft", "post_spacing": "28 in"}

    central = small_scenario(CERTAIN, edit).central
    segments = central.design.walls.segments
    reach = segments[-1].start + segments[-1].length - segments[0].start
    assert 54.0 <= reach / FOOT + 1e-9 <= 55.0
    lines = by_name(bill(central, option_of(central, "walls only")))
    assert lines["posts driven"].quantity == 3 * 14


def test_a_bill_adds_up_to_the_cent_and_keeps_volunteers_apart(certain) -> None:
    central = certain.member(1)
    lines = bill(central, option_of(central, "walls and reef"))
    cash = [line for line in lines if line.kind not in (MEASURE, VOLUNTEER)]
    cents = [round(100 * round(line.quantity * line.price, 2)) for line in cash]
    assert round(100 * build_cost(lines)) == sum(cents)
    reserve = next(line for line in lines if line.name == "contingency")
    rest = sum(line.cost for line in cash if line is not reserve)
    assert reserve.cost == pytest.approx(0.2 * rest, abs=0.005)
    worth = sum(line.cost for line in lines if line.kind == VOLUNTEER)
    hours = sum(line.quantity for line in lines if line.kind == VOLUNTEER)
    assert worth == pytest.approx(hours * unit_price(central.prices, "volunteer hour"), abs=0.01)


def test_volunteers_lower_the_cash_and_not_the_hours(small_scenario) -> None:
    def of(share):
        central = small_scenario({**CERTAIN, "work.volunteer_share": share}).central
        return by_name(bill(central, option_of(central, "walls only")))

    none, half = of(0.0), of(0.5)
    assert half["paid hours"].cost == pytest.approx(0.5 * none["paid hours"].cost, abs=0.01)
    assert half["boat days"].quantity == none["boat days"].quantity
    assert (
        half["paid hours"].quantity + half["volunteer hours"].quantity
        == none["paid hours"].quantity
    )


def test_no_action_has_no_bill(certain) -> None:
    assert bill(certain.central, option_of(certain.central, "no action")) == []
    assert removal_lines(certain.central, option_of(certain.central, "no action")) == []


def test_a_price_of_the_scenario_stands_for_the_sum_of_its_part(small_scenario) -> None:
    own = {"prices.wall_per_m": 500.0, "prices.reef_unit": 60.0}
    central = small_scenario({**CERTAIN, **own}).central
    lines = by_name(bill(central, option_of(central, "walls and reef")))
    assert lines["walls, built"].cost == pytest.approx(64 * FOOT * 500.0, abs=0.005)
    assert lines["units, placed"].cost == 78 * 60.0
    assert "posts bought" not in lines
    assert lines["posts driven"].quantity == 72


def test_prices_of_upkeep_come_from_the_same_book(certain, small_scenario) -> None:
    central = certain.member(2)
    price = {item.name: item.price for item in central.prices.book}
    paid = day_prices(central)
    assert paid.refill == pytest.approx(
        2.0 * 1.1 * price["branches"] + 0.75 * 3.0 * price["labour"]
    )
    height = (2.6 + 2.42) * FOOT
    assert paid.post == pytest.approx(
        (height + 0.2) * 3 * price["post"] + 0.75 * 1.5 * price["labour"]
    )
    assert paid.visit == pytest.approx(price["boat day"] + 8.0 * price["labour"])
    own = {"prices.refill_per_m3": 100.0, "prices.post": 40.0, "prices.visit": 800.0}
    given = day_prices(small_scenario({**CERTAIN, **own}).central)
    assert (given.refill, given.post, given.visit) == (100.0, 40.0, 800.0)


def test_every_price_is_drawn_once_a_member_and_is_common_to_options(certain) -> None:
    first, second = certain.member(0), certain.member(1)
    both = [bill(first, option_of(first, name)) for name in ("walls only", "walls and reef")]
    alone, together = (by_name(lines) for lines in both)
    assert alone["posts bought"].price == together["posts bought"].price
    assert unit_price(first.prices, "post") != unit_price(second.prices, "post")
    assert certain.member(0).prices == first.prices


def test_prices_of_another_year_follow_the_index_or_are_flagged(
    small_scenario, tmp_path: Path
) -> None:
    book = tmp_path / "prices.csv"
    book.write_text(
        "item,unit,low,mode,high,currency,year,source,mark\n"
        "post,ft,2,2,2,USD,2020,quote of a yard,read\n",
        encoding="utf-8",
    )

    def edit(table, index=None):
        table["prices"] = {"book": str(book), **({"index": index} if index else {})}

    flagged = small_scenario(CERTAIN, edit).central
    assert items_of_other_years(flagged.prices) == ["post"]
    assert "MIXED PRICE YEARS" in price_flags(flagged)[0]
    assert unit_price(flagged.prices, "post") == pytest.approx(2.0 / FOOT)
    scenario_file = small_scenario(CERTAIN, edit)
    rows = bill_rows(scenario_file, built(scenario_file)[0], draws(scenario_file))
    assert {row.line for row in rows if row.flag} == {"posts bought"}
    brought = small_scenario(
        CERTAIN, lambda table: edit(table, [[2020, 80.0], [2026, 100.0]])
    ).central
    assert items_of_other_years(brought.prices) == []
    assert not any("MIXED" in flag for flag in price_flags(brought))
    assert unit_price(brought.prices, "post") == pytest.approx(1.25 * 2.0 / FOOT)


def test_rows_hold_both_units_and_the_spread_of_the_members(small_scenario) -> None:
    scenario_file = small_scenario({"run.members": 20})
    members = draws(scenario_file)
    option = built(scenario_file)[0]
    rows = {row.line: row for row in bill_rows(scenario_file, option, members)}
    fill = rows["packed fill"]
    assert fill.quantity_p50_customary == pytest.approx(fill.quantity_p50 / YARD**3)
    assert fill.customary_unit == "yd3"
    loose = rows["loose branches"]
    assert loose.quantity_p05 < loose.quantity_p50 < loose.quantity_p95
    assert loose.price_mark == "judgement"
    sums = {total.name: total for total in totals(option, members)}
    every = sorted(build_cost(bill(member, option)) for member in members)
    assert every[0] <= sums["build, cash"].p05 <= sums["build, cash"].p50 <= every[-1]
