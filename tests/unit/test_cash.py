"""Money by year: the ledger, the cost sheet and the bill agree to the cent; discounting; unit costs."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from edgesim.model.bill import bill, build_cost, removal_lines
from edgesim.model.prices import day_prices, unit_price
from edgesim.names import COST_HEADS, LEDGER_ENTRIES
from edgesim.outcomes.bill import write_bill
from edgesim.outcomes.cash import (
    MIXED,
    TO_DATE,
    VOLUNTEERS,
    built_options,
    cash_flow,
    cost_rows,
    discount_factors,
    money_words,
    spent_until,
    unit_costs,
)
from edgesim.outcomes.dataset import read_dataset, write_dataset, write_table
from edgesim.outcomes.tables.costs import COST_TABLES, cents, t15_maintenance, t16_cost_by_year
from edgesim.scenario import CAUTIONS
from edgesim.studies.ensemble import run_forecast

CENT = 0.01


@pytest.fixture(scope="module")
def scenario_file(small_scenario):
    changes = {"upkeep.interval": 0.5, "upkeep.until_year": 2.0, "prices.monitoring_years": 1.0}
    return small_scenario({**changes, "work.volunteer_share": 0.25})


@pytest.fixture(scope="module")
def dataset(scenario_file):
    return run_forecast(scenario_file, workers=1)


def entry(dataset, option, name, member):
    return dataset["ledger"].sel(option=option, ledger_entry=name).values[member]


def test_money_of_the_ledger_equals_the_cost_sheet_to_the_cent(dataset, scenario_file) -> None:
    for option in scenario_file.central.options:
        for member in range(dataset.sizes["member"]):
            scenario = scenario_file.member(member)
            paid = day_prices(scenario)
            built = build_cost(bill(scenario, option))
            packed = entry(dataset, option.name, "fill_refilled", member)[-1]
            visits = np.nan_to_num(dataset["refills"].sel(option=option.name).values[member, -1])
            posts = entry(dataset, option.name, "money_posts", member)[-1]
            monitored = round(unit_price(scenario.prices, "monitoring"), 2) if built else 0.0
            sheet = built + visits * paid.visit + packed * paid.refill + posts + monitored
            flow = dataset["cash_flow"].sel(option=option.name).values[member]
            spent = flow[:, : COST_HEADS.index("removal")].sum()
            assert spent == pytest.approx(sheet, abs=CENT)
            assert spent == pytest.approx(
                dataset["cost"].sel(option=option.name).values[member, -1], abs=CENT
            )
            assert flow[0].tolist() == pytest.approx([built, 0.0, 0.0, 0.0], abs=CENT)
            removal = sum(line.cost for line in removal_lines(scenario, option))
            assert flow[-1, COST_HEADS.index("removal")] == pytest.approx(removal, abs=CENT)


def test_the_budget_of_money_closes(dataset) -> None:
    assert float(dataset["ledger_residual"].sel(budget="money").max()) < 1e-9


def test_monitoring_is_paid_at_the_end_of_each_year_that_is_monitored(
    dataset, scenario_file
) -> None:
    flow = dataset["cash_flow"].sel(option="reef only", cost_head="monitoring").values
    for member in range(dataset.sizes["member"]):
        price = round(unit_price(scenario_file.member(member).prices, "monitoring"), 2)
        assert flow[member].tolist() == pytest.approx([0.0, price, 0.0], abs=CENT)
    assert float(abs(dataset["cash_flow"].sel(option="no action")).max()) == 0.0


def test_volunteers_are_valued_beside_the_cash(dataset, scenario_file) -> None:
    scenario = scenario_file.member(0)
    worth = dataset["volunteer_value"].sel(option="walls only").values[0]
    packed = entry(dataset, "walls only", "fill_refilled", 0)[-1]
    posts = entry(dataset, "walls only", "money_posts", 0)[-1] / day_prices(scenario).post
    hours = packed * scenario.upkeep.hours_per_m3 + posts * scenario.upkeep.hours_post
    hour = unit_price(scenario.prices, "volunteer hour")
    assert worth[1:].sum() == pytest.approx(0.25 * hours * hour, abs=CENT)
    assert worth[0] > 0.0


def test_heads_and_years_add_up_to_what_the_ledger_spent() -> None:
    # Worked by hand: build 1000, in year 1 a visit of 100 and monitoring of 50, in year 2 two of 100.
    books = np.zeros((1, 1, 3, len(LEDGER_ENTRIES)))

    def put(name, values):
        books[0, 0, :, LEDGER_ENTRIES.index(f"money_{name}")] = values

    put("built", [1000, 1000, 1000])
    put("visits", [0, 100, 300])
    put("monitoring", [0, 50, 50])
    put("closing", [1000, 1150, 1350])
    put("removal_owed", [200, 200, 200])
    put("volunteers", [10, 15, 30])
    found = cash_flow(books, [0.0, 1.0, 2.0])
    assert found["cash_flow"][0, 0].tolist() == [
        [1000.0, 0.0, 0.0, 0.0],
        [0.0, 100.0, 50.0, 0.0],
        [0.0, 200.0, 0.0, 200.0],
    ]
    assert found["volunteer_value"][0, 0].tolist() == [10.0, 5.0, 15.0]


def test_a_rate_of_nothing_is_the_plain_sum(dataset) -> None:
    for option in built_options(dataset):
        assert spent_until(dataset, option, rate=0.0) == pytest.approx(
            dataset["cost"].sel(option=option).values[:, -1], abs=CENT
        )
        assert (spent_until(dataset, option, rate=0.05) < spent_until(dataset, option)).all()


def test_discounting_agrees_with_a_sum_by_hand() -> None:
    # 1000 now, 110 after one year and 121 after two at 10 % are 1000 + 100 + 100.
    flow = np.array([1000.0, 110.0, 121.0])
    assert float(flow @ discount_factors([0, 1, 2], 0.10)) == pytest.approx(1200.0, abs=1e-9)
    assert discount_factors([0, 1, 2], 0.0).tolist() == [1.0, 1.0, 1.0]


def test_unit_costs_by_hand(dataset) -> None:
    option = "walls and reef"
    costs = unit_costs(dataset, option)
    spent = dataset["cost"].sel(option=option).values[:, -1]
    length = float(dataset["defended_end"]) - float(dataset["defended_start"])
    assert costs.per_metre == pytest.approx(spent / length)
    kept = dataset["land_kept"].sel(option=option).values[:, -1]
    assert costs.per_area == pytest.approx((spent / np.where(kept > 0, kept, np.nan))[kept > 0])
    assert costs.without == int((kept <= 0).sum())


def test_members_that_keep_no_marsh_have_no_price_of_it(dataset) -> None:
    lost = dataset.copy(deep=True)
    lost["land_kept"][:, :, -1] = -1.0
    costs = unit_costs(lost, "walls only")
    assert costs.per_area.size == 0
    assert costs.without == dataset.sizes["member"]
    assert "none kept" in {line["per m2 of marsh kept"] for line in money_words(lost)}


def test_cost_rows_say_the_same_as_the_dataset(dataset) -> None:
    rows = cost_rows(dataset)
    assert {row.head for row in rows} == {*COST_HEADS, VOLUNTEERS, TO_DATE}
    for option in built_options(dataset):
        last = max(row.year for row in rows)
        of_option = [row for row in rows if row.option == option]
        spent = sum(row.expected for row in of_option if row.head in COST_HEADS[:3])
        to_date = next(row for row in of_option if row.head == TO_DATE and row.year == last)
        assert to_date.expected == pytest.approx(spent, abs=CENT)
        discounted = sum(row.expected_discounted for row in of_option if row.head in COST_HEADS[:3])
        assert to_date.expected_discounted == pytest.approx(discounted, abs=CENT)


def test_sums_of_mixed_price_years_carry_a_flag(dataset, small_scenario) -> None:
    assert {row.flag for row in cost_rows(dataset)} == {""}
    other = small_scenario({"prices.price_year": 2030})
    mixed = dataset.assign_attrs(edgesim_scenario=other.resolved_toml())
    assert {row.flag for row in cost_rows(mixed)} == {MIXED}
    assert "MIXED PRICE YEARS" in t16_cost_by_year(mixed).note
    assert "MIXED" not in t16_cost_by_year(dataset).note


def test_tables_of_money_hold_what_the_dataset_holds(dataset) -> None:
    for name, entry in COST_TABLES.items():
        assert entry.missing(dataset) == "", name
    table = t16_cost_by_year(dataset)
    place = {name: index for index, name in enumerate(table.headings)}
    for row in table.rows:
        flow = dataset["cash_flow"].sel(option=row[0], cost_year=int(row[1])).values.mean(axis=0)
        shown = [row[place[name]] for name in (*COST_HEADS[:3], "removal owed")]
        assert shown == [cents(float(value)) for value in flow]
    upkeep = t15_maintenance(dataset)
    assert {row[2] for row in upkeep.rows if row[0] == "walls only" and row[1] == "1"} == {"100%"}
    assert {row[2] for row in upkeep.rows if row[0] == "reef only"} == {"0%"}
    worked = sum(float(row[4]) for row in upkeep.rows if row[0] == "walls only")
    hours = dataset["crew_hours"].sel(option="walls only").values[:, -1]
    assert worked == pytest.approx(hours.mean(), abs=0.11)
    packed = sum(float(row[5]) for row in upkeep.rows if row[0] == "walls only")
    books = dataset["ledger"].sel(option="walls only", ledger_entry="fill_refilled").values
    assert packed == pytest.approx(books[:, -1].mean(), abs=0.11)
    for entry in COST_TABLES.values():
        assert CAUTIONS in entry.build(dataset).note


def test_costs_survive_the_way_to_disk(dataset, scenario_file, tmp_path: Path) -> None:
    write_dataset(dataset, tmp_path / "forecast.nc")
    again = read_dataset(tmp_path / "forecast.nc")
    assert again["cash_flow"].equals(dataset["cash_flow"])
    write_table(cost_rows(again), tmp_path / "cost.csv")
    write_bill(scenario_file, tmp_path / "bill.csv")
    for name in ("cost.csv", "bill.csv"):
        with (tmp_path / name).open(encoding="utf-8") as stream:
            assert len(list(csv.DictReader(stream))) > 20


def test_options_share_the_prices_of_a_member(dataset) -> None:
    # What both lines share is paid once; without it the two builds add up.
    built = {
        name: dataset["cash_flow"].sel(option=name).values[:, 0, 0]
        for name in built_options(dataset)
    }
    assert (built["walls and reef"] < built["walls only"] + built["reef only"]).all()
    assert (built["walls and reef"] > np.maximum(built["walls only"], built["reef only"])).all()
