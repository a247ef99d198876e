"""`edgesim cost` and `edgesim permit`: tables from a scenario alone, CSV equal to what is shown."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from edgesim.cli.main import cli
from edgesim.outcomes.tables.costs import bill_table
from edgesim.scenario import CAUTIONS, load_scenario

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"


def run(*arguments: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(cli, [str(argument) for argument in arguments])
    return result.exit_code, result.stdout, result.stderr


def test_cost_shows_the_bill_and_the_cautions_and_says_that_prices_are_guesses() -> None:
    code, out, err = run("cost", DEMO)
    assert code == 0
    for words in (
        "posts driven",
        "72",
        "19.5 m (64 ft)",
        "volunteer hours",
        "build, cash",
        "removal",
    ):
        assert words in out, words
    assert CAUTIONS in err
    assert "guesses, not quotes" in err


def test_the_csv_of_the_bill_holds_what_the_table_holds(tmp_path: Path) -> None:
    code, out, _ = run("cost", DEMO, "--output", tmp_path, "--json")
    assert code == 0
    answer = json.loads(out)
    assert answer["cautions"] == CAUTIONS
    with (tmp_path / "bill.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert rows == answer["tables"]["bill"]["rows"]
    table = bill_table(load_scenario(DEMO))
    assert [tuple(row.values()) for row in rows] == list(table.rows)


def test_permit_answers_every_rule_and_asks_for_the_agency(tmp_path: Path) -> None:
    code, out, err = run("permit", DEMO, "-o", tmp_path)
    assert code == 0
    for words in (
        "inside",
        "outside",
        "cannot tell",
        "ask the agency",
        "VA 1330-40",
        "worker safety",
    ):
        assert words in out, words
    assert CAUTIONS in err
    assert "only the agency decides" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "cautions.txt", "checklists.csv", "design_numbers.csv", "permit.csv",
    ]  # fmt: skip
    assert (tmp_path / "cautions.txt").read_text(encoding="utf-8").strip() == CAUTIONS


@pytest.mark.parametrize(("command", "table"), [("cost", "bill.csv"), ("permit", "permit.csv")])
def test_tables_are_not_overwritten_unasked(command: str, table: str, tmp_path: Path) -> None:
    (tmp_path / table).write_text("mine", encoding="utf-8")
    code, out, err = run(command, DEMO, "-o", tmp_path)
    assert (code, out) == (2, "")
    assert f"{tmp_path}: holds results already ({table})." in err
    assert "--force" in err
    assert [path.name for path in tmp_path.iterdir()] == [table]
    assert (tmp_path / table).read_text(encoding="utf-8") == "mine"
    assert run(command, DEMO, "-o", tmp_path, "--force")[0] == 0
    assert (tmp_path / table).read_text(encoding="utf-8") != "mine"


def test_cost_and_permit_may_share_a_folder(tmp_path: Path) -> None:
    assert run("cost", DEMO, "-o", tmp_path)[0] == 0
    assert run("permit", DEMO, "-o", tmp_path)[0] == 0
    assert {"bill.csv", "permit.csv"} < {path.name for path in tmp_path.iterdir()}


def test_wrong_files_end_with_code_2_and_one_sentence(tmp_path: Path) -> None:
    code, out, err = run("cost", tmp_path / "none.toml")
    assert (code, out) == (2, "")
    assert "does not exist" in err
    code, _, err = run("permit", DEMO, "--rules", tmp_path / "none.toml")
    assert code == 2
    assert "Name a rule pack that exists." in err


@pytest.mark.parametrize("command", ["cost", "permit"])
def test_a_scenario_that_builds_nothing_has_empty_tables(command: str, tmp_path: Path) -> None:
    import tomllib

    from edgesim.scenario.loader import from_table

    table = tomllib.loads(load_scenario(DEMO).resolved_toml())
    table.pop("design")
    table["options"] = [{"name": "no action"}]
    path = tmp_path / "nothing.toml"
    path.write_text(from_table(table, DEMO).resolved_toml(), encoding="utf-8")
    code, _, err = run(command, path)
    assert code == 0
    assert CAUTIONS in err
