from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from edgesim.cli import main as program
from edgesim.cli.main import cli
from edgesim.errors import BudgetError, EdgesimError, StudyError, UnitError
from edgesim.scenario import CAUTIONS
from edgesim.scenario.cautions import UNSURVEYED

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"


def run(*arguments: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(cli, [str(argument) for argument in arguments])
    return result.exit_code, result.stdout, result.stderr


def test_new_writes_a_scenario_that_checks(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    code, out, err = run("new", path)
    assert (code, out) == (0, "")
    assert f"edgesim check {path}" in err
    assert CAUTIONS in err
    assert list(tmp_path.iterdir()) == [path]
    code, out, err = run("check", path)
    assert code == 0
    assert "no problems found" in out
    assert err.strip() == CAUTIONS


def test_a_site_without_history_is_warned_of_what_its_retreat_rests_on(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    run("new", path)
    lines = path.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if not line.startswith("retreat_rate")]
    assert len(kept) < len(lines)
    path.write_text("\n".join(kept), encoding="utf-8")
    code, _, err = run("check", path)
    assert code == 0
    assert err.strip() == f"{CAUTIONS}\n{UNSURVEYED}"


def test_new_has_no_more_than_fifteen_headings_with_a_meaning(tmp_path: Path) -> None:
    run("new", tmp_path / "a.toml")
    text = (tmp_path / "a.toml").read_text(encoding="utf-8")
    assert "INVENTED" in text
    assert '"200 ft"' in text
    assert "metres" in text.lower()


def test_new_never_overwrites_without_force(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("keep me", encoding="utf-8")
    code, _, err = run("new", path)
    assert code == 2
    assert "--force" in err
    assert path.read_text(encoding="utf-8") == "keep me"
    code, _, _ = run("new", path, "--force")
    assert code == 0
    assert path.read_text(encoding="utf-8").startswith("# A scenario for edgesim")


def test_new_into_a_missing_folder_leaves_nothing(tmp_path: Path) -> None:
    code, _, err = run("new", tmp_path / "none" / "mine.toml")
    assert code == 2
    assert "cannot be written" in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("force", [(), ("--force",)])
def test_new_refuses_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, force: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _, err = run("new", ".", *force)
    assert code == 2
    assert err == ".: is a folder. Name the file to write, for example scenario.toml.\n"
    assert list(tmp_path.iterdir()) == []


def test_check_shows_units_both_ways_origins_and_marks() -> None:
    code, out, _ = run("check", DEMO)
    assert code == 0
    line = next(line for line in out.splitlines() if line.startswith("walls.gap "))
    assert line.split("  ")[0] == "walls.gap"
    assert "1.524 m (5 ft)" in line
    assert line.rstrip().endswith("file")
    line = next(line for line in out.splitlines() if line.startswith("concentration "))
    assert "mg/l" in line
    assert "default" in line
    assert "judgement" in line
    assert "defaults taken" in out
    line = next(line for line in out.splitlines() if line.startswith("book[post].price "))
    assert "9.633 USD per m " in line


def test_check_says_that_upkeep_has_no_end(tmp_path: Path) -> None:
    run("new", tmp_path / "a.toml")
    _, out, _ = run("check", tmp_path / "a.toml")
    (line,) = [line for line in out.splitlines() if line.startswith("until_year ")]
    assert line.removeprefix("until_year").strip().startswith("no end ")


def test_check_as_json() -> None:
    code, out, _ = run("check", DEMO, "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["schema"] == 1
    inputs = {item["path"]: item for item in answer["inputs"]}
    assert inputs["design.walls.gap"]["value"] == "1.524 m (5 ft)"
    assert inputs["design.walls.post_life"]["given_by"] == "material"


def test_errors_as_json(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text('schema = 1\ntitle = "x"\ncolour = 1\n', encoding="utf-8")
    code, out, _ = run("check", path, "--json")
    answer = json.loads(out)
    assert code == 2
    assert answer["error"]["type"] == "ScenarioError"
    assert any("colour = 1: is not a known key" in text for text in answer["error"]["problems"])


@pytest.mark.parametrize(
    ("raised", "code"),
    [
        (UnitError("wrong unit"), 2),
        (BudgetError("mud is lost"), 1),
        (StudyError("no member ended"), 1),
        (EdgesimError("something"), 1),
        (KeyboardInterrupt(), 130),
    ],
)
def test_exit_codes(monkeypatch: pytest.MonkeyPatch, raised: BaseException, code: int) -> None:
    @click.command()
    def failing() -> None:
        raise raised

    monkeypatch.setattr(program.Commands, "get_command", lambda *_: failing)
    result = CliRunner().invoke(cli, ["failing"])
    assert result.exit_code == code
    assert (str(raised) or "Stopped.") in result.stderr
    assert "Traceback" not in result.output


def test_debug_shows_where_an_error_arose(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["--debug", "check", str(tmp_path / "none.toml")])
    assert result.exit_code == 2
    assert "Traceback" in result.stderr


def test_help_names_every_command_and_costs_no_heavy_import() -> None:
    code = (
        "import sys; from edgesim.cli.main import cli\n"
        "try: cli(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'numba', 'pydantic', 'pint', 'xarray', 'rich'} & set(sys.modules)\n"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "new" in done.stdout
    assert "check" in done.stdout


def test_program_runs_as_a_module(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "edgesim", "check", str(tmp_path / "none.toml")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "does not exist" in done.stderr


def test_unknown_command_is_refused() -> None:
    code, _, err = run("chek")
    assert code == 2
    assert "No such command" in err
