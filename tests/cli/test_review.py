"""The command `review`: files, tables, weighing anew without running, and wrong input."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from edgesim.cli.main import cli
from edgesim.scenario import CAUTIONS, load_scenario

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"
SMALL = {"run.years": 2, "run.members": 3, "run.cell_size": 1.0}
BELIEFS = """
[[beliefs]]
name = "wood lasts"
weight = 1
"design.walls.branch_decay" = "0.1 /yr"

[[beliefs]]
name = "wood rots fast"
weight = 1
"design.walls.branch_decay" = "1.2 /yr"
"""
SURVEYS = """# invented
date,quantity,value,error
2027-12-01,fill,0.35,0.15
2028-06-01,retreat,1 ft,6 in
2028-06-01,fill,0.2,0.15
"""
Answer = tuple[int, str, str]


def run(*arguments: object) -> Answer:
    result = CliRunner().invoke(cli, [str(argument) for argument in arguments])
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("review")
    scenario, surveys = folder / "site.toml", folder / "surveys.csv"
    text = load_scenario(DEMO).overridden(SMALL).resolved_toml()
    scenario.write_text(text + BELIEFS, encoding="utf-8")
    surveys.write_text(SURVEYS, encoding="utf-8")
    return scenario, surveys


@pytest.fixture(scope="module")
def done(files: tuple[Path, Path]) -> tuple[Answer, Path]:
    scenario, surveys = files
    folder = scenario.parent / "out"
    built = ("--built", "walls and reef")
    return run("review", scenario, surveys, *built, "-o", folder, "--workers", 1, "-q"), folder


def rows_of(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_tables_are_printed_in_feet_and_written_in_metres(done: tuple[Answer, Path]) -> None:
    (code, out, err), folder = done
    assert code == 0, err
    for words in ("1.00 ± 0.50 ft", "0.30 ± 0.15 m", "wood rots fast", "walls and reef", "futures"):
        assert words in out
    assert CAUTIONS.split(":")[0] in err
    surveys = rows_of(folder / "surveys.csv")
    assert [row["quantity"] for row in surveys] == ["fill", "retreat", "fill"]
    assert float(surveys[1]["surveyed"]) == pytest.approx(0.3048)
    beliefs = rows_of(folder / "beliefs.csv")
    assert float(beliefs[-1]["weight"]) > float(beliefs[1]["weight"]) == pytest.approx(0.5)
    assert len(rows_of(folder / "changes.csv")) == 4


def test_its_forecast_serves_figures_and_tables(done: tuple[Answer, Path], tmp_path: Path) -> None:
    _, folder = done
    stems = {path.stem for path in (folder / "figures").iterdir()}
    assert {"observed", "belief_weights", "fig1_edge_fan"} <= stems
    code, out, _ = run("figure", "belief_weights", folder, "-o", tmp_path / "weights.png")
    assert code == 0
    assert "After 2 reviews" in out
    code, out, _ = run("figure", "observed", folder, "-o", tmp_path / "observed.png")
    assert code == 0
    assert "of the forecast that they corrected" in out
    code, out, _ = run("table", "skill", folder)
    assert code == 0
    assert "1 of 1" in out


def test_further_surveys_weigh_the_same_futures_without_running_them(
    done: tuple[Answer, Path],
    files: tuple[Path, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (_, _, _), folder = done
    more = tmp_path / "more.csv"
    more.write_text(SURVEYS + "2028-12-01,fill,0.1,0.1\n", encoding="utf-8")
    before = rows_of(folder / "beliefs.csv")

    def refuse(*_: object) -> None:
        pytest.fail("a member was run anew")

    monkeypatch.setattr("edgesim.studies.worker.run_all_options", refuse)
    command = ("review", files[0], more, "--built", "walls and reef", "-o", folder, "-q", "--json")
    code, out, _ = run(*command)
    assert code == 2
    assert "Add --resume to go on with them" in out
    code, out, err = run(*command, "--workers", 1, "--resume")
    assert code == 0, err
    answer = json.loads(out)
    assert len(answer["surveys"]) == 4
    assert [row["date"] for row in answer["beliefs"]][: len(before)] == [
        row["date"] for row in before
    ]
    assert answer["beliefs"][-1]["date"] == "2028-12-01"


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ((), "--built: is not given"),
        (("--built", "a dam"), '--built "a dam": is no option of'),
        (("--built", "walls only"), "Name one of"),
    ],
)
def test_what_was_built_must_be_named(
    files: tuple[Path, Path], tmp_path: Path, extra: tuple[str, ...], words: str
) -> None:
    scenario, _ = files
    surveys = tmp_path / "reef.csv"
    surveys.write_text(
        "date,quantity,value,error\n2028-01-01,oysters,9 /ft^2,1 /ft^2\n", encoding="utf-8"
    )
    code, out, err = run("review", scenario, surveys, *extra, "-o", tmp_path / "out")
    assert code == 2
    assert out == ""
    if extra == ("--built", "walls only"):
        words = 'belongs to the reef, which "walls only" does not have'
    assert words in err
    assert not (tmp_path / "out").exists()


def test_wrong_surveys_stop_before_any_computing(files: tuple[Path, Path], tmp_path: Path) -> None:
    surveys = tmp_path / "surveys.csv"
    surveys.write_text("date,quantity,value,error\n2028-01-01,retreat,far,1 ft\n", encoding="utf-8")
    code, _, err = run(
        "review", files[0], surveys, "--built", "walls and reef", "-o", tmp_path / "out"
    )
    assert code == 2
    assert 'surveys.csv, row 2, column value, value "far"' in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()
