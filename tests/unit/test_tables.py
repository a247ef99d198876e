"""Tables of the plan: what is shown equals the CSV, and the numbers are those of the data."""

from __future__ import annotations

import csv
import io
import re

import numpy as np
import pytest
import xarray as xr

from edgesim.errors import InvalidParameterError
from edgesim.outcomes.tables import TABLES, Column, csv_text, make_table, markdown_text, write_csv
from edgesim.outcomes.tables.words import band, plain

NAMES = tuple(TABLES)


def rows_of(name: str, dataset: xr.Dataset) -> list[dict[str, str]]:
    table = TABLES[name].build(dataset)
    return [dict(zip(table.headings, row, strict=True)) for row in table.rows]


def test_the_plan_has_its_22_tables():
    numbers = [entry.number for entry in TABLES.values()]
    assert sorted({int(re.sub(r"\D", "", number)) for number in numbers}) == list(range(1, 23))
    assert len(set(numbers)) == len(numbers)
    assert numbers == sorted(numbers, key=lambda n: (int(re.sub(r"\D", "", n)), n))


@pytest.mark.parametrize("name", NAMES)
def test_every_table_equals_its_csv_and_says_what_it_rests_on(
    whole_dataset: xr.Dataset, name: str, tmp_path
):
    entry = TABLES[name]
    missing = entry.missing(whole_dataset)
    if missing:
        assert re.fullmatch(r"not provided: .+; .+\.", missing)
        return
    table = entry.build(whole_dataset)
    assert table.rows
    assert all(isinstance(cell, str) for row in table.rows for cell in row)
    assert not any(re.search(r"\bnan\b|\binf\b|None", cell) for row in table.rows for cell in row)
    written = list(csv.reader(io.StringIO(csv_text(table))))
    assert written[0] == list(table.headings)
    assert [tuple(row) for row in written[1:]] == list(table.rows)
    write_csv(table, tmp_path / "table.csv")
    assert (tmp_path / "table.csv").read_text(encoding="utf-8") == csv_text(table)
    for cell in table.rows[0]:
        assert cell.replace("|", "\\|").replace("\n", " ") in markdown_text(table)


def test_what_the_scenario_does_not_say_is_not_provided(synthetic_dataset: xr.Dataset):
    for name in ("stakeholders", "objectives", "changes", "site_facts", "assumptions", "skill", "sensitivity"):  # fmt: skip
        assert TABLES[name].missing(synthetic_dataset).startswith("not provided: ")
    for name in ("options", "forecast_summary", "triggers", "limits", "settings"):
        assert TABLES[name].missing(synthetic_dataset) == ""


def test_the_people_of_the_scenario_are_in_their_tables(whole_dataset: xr.Dataset):
    assert rows_of("stakeholders", whole_dataset)[0]["who"] == "manager"
    assert rows_of("objectives", whole_dataset)[0]["by (year)"] == "5"
    chance = rows_of("objectives", whole_dataset)[0]["chance in this forecast"]
    assert chance.startswith("not computed: ")
    assert rows_of("changes", whole_dataset)[0]["date"] == "2027-03-01"
    assert rows_of("risks", whole_dataset)[-1]["risk"] == "a flood"
    assert rows_of("monitoring", whole_dataset)[-1]["metric"] == "Fish"


def test_objectives_stand_with_their_chance_by_option(whole_dataset: xr.Dataset):
    toml = whole_dataset.attrs["edgesim_scenario"]
    said = toml.replace('metric = "retreat"', 'metric = "fill left in the walls"')
    filled = whole_dataset.assign(fill_fraction=0.0 * whole_dataset["fill_fraction"])
    assert said != toml
    row = rows_of("objectives", filled.assign_attrs(edgesim_scenario=said))[0]
    # None or all of 40: the one-sided 5 % point is 1 - 0.05**(1/40) = 7.2 %.
    assert row["chance in this forecast"] == (
        "walls only: 93 to 100 % (40 of 40 members); walls and reef: 93 to 100 % (40 of 40 members)"
    )


def test_a_trigger_of_the_scenario_changes_its_row_and_adds_another(whole_dataset: xr.Dataset):
    rows = {row["trigger"]: row for row in rows_of("triggers", whole_dataset)}
    assert rows["Posts sound"]["red"] == "below 80 %"
    assert rows["Posts sound"]["amber"] == "below 95 %"
    assert rows["Posts sound"]["mark"] == "given in the scenario"
    assert rows["Rats"]["action on red"] == "call"
    assert rows["Rats"]["red by, 80 % sure"] == "not modelled"


def test_site_facts_stand_in_both_units(whole_dataset: xr.Dataset):
    facts = {row["fact"]: row for row in rows_of("site_facts", whole_dataset)}
    # 0.691 m / 0.3048 = 2.267 ft; 200 ft of shore as the demonstration states it.
    assert facts["MHW"]["value"] == "0.69"
    assert facts["MHW"]["value in other units"] == "2.3"
    assert facts["Length of shore"]["value in other units"] == "200.0"
    assert facts["MSL"]["value"] == "−0.07"
    assert "above NAVD88" in facts["MHW"]["note"]
    # 1.3 ft/yr = 0.396 m/yr.
    assert facts["Retreat of the edge"]["value"] == "0.40"
    # MLW (-0.90 m = -2.953 ft) between the points (24 ft, -2.42 ft) and (50 ft, -4.15 ft):
    # 24 + 26 (2.953 - 2.42)/(4.15 - 2.42) = 32.0 ft.
    assert float(facts["Edge to mean low water"]["value in other units"]) == pytest.approx(
        32.0, abs=0.05
    )
    # 60 + 25 + 8 + 7 boats on a weekday, months with mean 1.
    assert facts["Boats on a weekday day"]["value"] == "100"


def test_design_schedule_is_that_of_the_demonstration(whole_dataset: xr.Dataset):
    rows = {(row["part"], row["what"]): row for row in rows_of("design_schedule", whole_dataset)}
    assert rows["walls", "post spacing along a row"]["size (ft)"] == "2.00"
    assert rows["walls", "distance from the edge to the middle"]["size (m)"] == "7.32"
    assert rows["walls", "number of walls"]["count or word"] == "4"
    assert rows["walls", "clear gap (least)"]["size (ft)"] == "5.00"
    assert rows["reef", "height of a unit"]["size (m)"] == "0.46"


def test_assumptions_and_priors_are_the_inputs_not_given_and_the_uncertain_ones(
    whole_dataset: xr.Dataset,
):
    taken = {row["input"]: row for row in rows_of("assumptions", whole_dataset)}
    assert "mud.concentration" in taken
    assert "site.scarp_height" not in taken
    assert all(row["given by"] in ("default", "material") for row in taken.values())
    spread = {row["input"]: row for row in rows_of("priors", whole_dataset)}
    assert "traffic.level" in spread
    assert "site.retreat_rate" in spread
    assert "run.seed" not in spread
    assert all(row["ends"] for row in spread.values())


def test_summary_rows_are_quantiles_of_the_members(whole_dataset: xr.Dataset):
    row = next(
        row
        for row in rows_of("forecast_summary", whole_dataset)
        if row["option"] == "walls only"
        and row["quantity"] == "Retreat behind the design"
        and (row["unit"], row["year"]) == ("m", "5")
    )
    values = whole_dataset["retreat"].sel(option="walls only").isel(time=20).values
    for heading, share in (("90 % from", 0.05), ("median", 0.5), ("90 % to", 0.95)):
        assert row[heading] == f"{np.quantile(values, share):.2f}".replace("-", "−")
    assert row["members"] == "40"
    assert row["horizon"] == ""


def test_options_are_compared_in_the_last_year(whole_dataset: xr.Dataset):
    rows = rows_of("options", whole_dataset)
    assert next(row["option"] for row in rows) == "no action"
    both = next(row for row in rows if row["option"] == "walls and reef")
    last = whole_dataset.sel(option="walls and reef").isel(time=-1)
    control = whole_dataset.sel(option="no action").isel(time=-1)
    better = int((last["retreat"] < control["retreat"]).sum())
    assert both["members with less retreat than no action"] == f"{better} of 40"
    assert both["lines"] == "walls and reef"


def test_settings_name_seed_version_and_hash(whole_dataset: xr.Dataset):
    rows = {row["what"]: row["value"] for row in rows_of("settings", whole_dataset)}
    assert rows["Seed"] == str(whole_dataset.attrs["seed"])
    assert rows["Software"] == whole_dataset.attrs["source"]
    assert len(rows["SHA-256 of the resolved scenario"]) == 64


def test_limits_count_the_years_beyond_the_evidence(whole_dataset: xr.Dataset):
    rows = {row["matter"]: row["limit"] for row in rows_of("limits", whole_dataset)}
    assert rows["This run"].startswith("5 of its 10 years")
    assert "not a permit" in rows["Purpose"]


def test_rows_must_fit_the_columns():
    with pytest.raises(InvalidParameterError, match="2 columns"):
        make_table("t", ["a", Column("b", "m")], [["1"]])


def test_cells_with_commas_quotes_and_bars_survive():
    table = make_table("t", ["a", "b"], [['x, "y"', "p|q"]])
    assert list(csv.reader(io.StringIO(csv_text(table))))[1] == ['x, "y"', "p|q"]
    assert "p\\|q" in markdown_text(table)


def test_numbers_are_written_for_people():
    assert plain(-0.001) == "0.00"
    assert plain(-1.5, 1) == "−1.5"
    assert band([np.nan, np.nan]) == ""
    assert band([2.0, 2.0], 0) == "2 (2 to 2)"
