"""The command `forecast`: exit codes, files, tables, and nothing overwritten or computed in vain."""

from __future__ import annotations

import csv
import json
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from edgesim.cli.forecast_command import ONLY_IN_FILES
from edgesim.cli.main import cli
from edgesim.errors import BudgetError
from edgesim.names import BY_NAME
from edgesim.outcomes.summary import QUANTITIES
from edgesim.scenario import CAUTIONS, load_scenario

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"
SMALL = {"run.years": 2, "run.members": 2, "run.cell_size": 1.0}
OPTIONS = ["no action", "walls only", "reef only", "walls and reef"]
STEMS = ["edge_fan", "plan_map", "section", "wave_energy", "race", "mud"]
Answer = tuple[int, str, str]


def run(*arguments: object) -> Answer:
    result = CliRunner().invoke(cli, ["forecast", *(str(argument) for argument in arguments)])
    return result.exit_code, result.stdout, result.stderr


def write_scenario(path: Path, **changes: object) -> Path:
    """The demonstration made small, with other inputs changed, as one file by itself."""
    given = {key.replace("__", "."): value for key, value in changes.items()}
    path.write_text(load_scenario(DEMO).overridden(SMALL | given).resolved_toml(), encoding="utf-8")
    return path


def contents(folder: Path) -> dict[str, tuple[bytes, int]]:
    """Bytes and time of change of every file below a folder."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(path): (path.read_bytes(), path.stat().st_mtime_ns) for path in files}


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_scenario(tmp_path_factory.mktemp("scenario") / "small.toml")


@pytest.fixture(scope="module")
def done(scenario: Path) -> tuple[Answer, Path]:
    """One whole run with its figures; the tests below only look at it."""
    folder = scenario.parent / "results"
    return run(scenario, "--output", folder, "--workers", 1), folder


@pytest.fixture
def without_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave out the drawing, the slowest part, where a test asks about something else."""
    monkeypatch.setattr("edgesim.figures.save_all", lambda *_: [])


@pytest.fixture
def never_computes(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Note every call of the forecast itself, and refuse it."""
    calls: list[str] = []

    def refuse(*_: object, **__: object) -> None:
        calls.append("run_forecast")
        raise AssertionError

    monkeypatch.setattr("edgesim.studies.ensemble.run_forecast", refuse)
    return calls


@pytest.mark.slow
def test_a_run_ends_well_and_writes_every_file(done: tuple[Answer, Path]) -> None:
    (code, _, _), folder = done
    assert code == 0
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    figures = {
        f"figures/fig{number}_{stem}.{kind}"
        for number, stem in enumerate(STEMS, start=1)
        for kind in ("png", "svg")
    }
    tables = {"summary.csv", "takeover.csv", "cost.csv", "bill.csv", "cautions.txt"}
    race = {"upkeep_log.csv", "stability.csv"}
    assert names == {"forecast.nc"} | tables | race | figures
    for name in names:
        start = (folder / name).read_bytes()[:8]
        if name.endswith(".png"):
            assert start == b"\x89PNG\r\n\x1a\n"
        if name.endswith(".svg"):
            assert start.startswith(b"<?xml")


@pytest.mark.slow
def test_the_table_holds_every_quantity_and_only_years_of_the_run(
    done: tuple[Answer, Path],
) -> None:
    (_, out, _), folder = done
    for name in QUANTITIES:
        assert (BY_NAME[name].label in out) == (name not in ONLY_IN_FILES)
    lines = [line.strip() for line in out.splitlines()]
    assert [line for line in lines if line in OPTIONS] == OPTIONS
    headings = [line.split() for line in lines if line.startswith("quantity")]
    # The years asked for are 1, 3, 5 and 10; the run has two.
    assert headings == [["quantity", "year", "1"]] * len(OPTIONS)
    assert str(folder) in out.replace("\n", "")


@pytest.mark.slow
def test_the_numbers_of_the_table_are_those_of_the_files(done: tuple[Answer, Path]) -> None:
    import xarray as xr

    (_, out, _), folder = done
    rows = list(csv.DictReader((folder / "summary.csv").read_text().splitlines()))
    retreat = [row for row in rows if row["quantity"] == "retreat" and row["unit"] == "m"]
    assert [row["option"] for row in retreat] == OPTIONS
    with xr.open_dataset(folder / "forecast.nc") as dataset:
        # The fourth quarterly record after the start is that of year 1.
        medians = dataset["retreat"].isel(time=4).median("member").values
    assert [float(row["p50"]) for row in retreat] == pytest.approx(medians, rel=1e-12)
    printed = [line for line in out.splitlines() if line.startswith("Retreat behind the design, m")]
    for row, line in zip(retreat, printed, strict=True):
        assert f" {float(row['p50']):.2f} (" in line
        assert f"[{float(row['p05']):.2f}..{float(row['p95']):.2f}]" in line
    feet = [row for row in rows if row["quantity"] == "retreat" and row["unit"] == "ft"]
    in_feet = [
        line for line in out.splitlines() if line.startswith("Retreat behind the design, ft")
    ]
    for row, line in zip(feet, in_feet, strict=True):
        assert line.split(", ft")[1].split() == [
            f"{float(row['p50']):.2f}", f"[{float(row['p05']):.2f}..{float(row['p95']):.2f}]"
        ]  # fmt: skip
    for metric, english in zip(retreat, feet, strict=True):
        assert float(english["p50"]) * 0.3048 == pytest.approx(float(metric["p50"]), rel=1e-12)
    taken = list(csv.DictReader((folder / "takeover.csv").read_text().splitlines()))
    assert {row["option"] for row in taken} == {"reef only", "walls and reef"}
    assert {(row["year"], row["n"]) for row in taken} == {("1", "2")}


@pytest.mark.slow
def test_results_go_to_stdout_and_talk_to_stderr(done: tuple[Answer, Path]) -> None:
    (_, out, err), _ = done
    assert "2 of 2 members done" in err
    assert CAUTIONS in err
    assert "members done" not in out
    assert CAUTIONS not in out
    assert "retreat" not in err


@pytest.mark.slow
def test_results_are_not_overwritten_unasked(
    done: tuple[Answer, Path], scenario: Path, never_computes: list[str]
) -> None:
    _, folder = done
    before = contents(folder)
    code, out, err = run(scenario, "--output", folder)
    assert (code, out) == (2, "")
    assert "--force" in err
    assert contents(folder) == before
    assert never_computes == []


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    ["forecast.nc", "summary.csv", "takeover.csv", "failures.csv", "figures", "members.zarr"],
)
def test_one_old_result_is_enough_to_refuse(
    scenario: Path, tmp_path: Path, never_computes: list[str], name: str
) -> None:
    (tmp_path / name).write_text("keep me", encoding="utf-8")
    before = contents(tmp_path)
    code, _, err = run(scenario, "--output", tmp_path)
    assert code == 2
    assert name in err
    assert contents(tmp_path) == before
    assert never_computes == []


@pytest.mark.slow
def test_a_failed_run_keeps_the_old_results_even_with_force(
    scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise BudgetError("mud is lost")

    (tmp_path / "summary.csv").write_text("keep me", encoding="utf-8")
    before = contents(tmp_path)
    monkeypatch.setattr("edgesim.studies.ensemble.run_forecast", fail)
    code, out, err = run(scenario, "--output", tmp_path, "--force")
    assert (code, out) == (1, "")
    assert "mud is lost" in err
    assert contents(tmp_path) == before


@pytest.mark.slow
def test_force_overwrites_and_quiet_is_silent_but_for_the_cautions(
    scenario: Path, tmp_path: Path, without_figures: None
) -> None:
    (tmp_path / "summary.csv").write_text("old", encoding="utf-8")
    code, out, err = run(scenario, "-o", tmp_path, "--workers", 1, "--force", "-q")
    assert code == 0
    assert "Retreat behind the design" in out
    assert err.strip() == CAUTIONS
    assert (tmp_path / "summary.csv").read_text(encoding="utf-8").startswith("option,quantity,")


def as_json(scenario: Path, folder: Path, *more: object) -> dict[str, Any]:
    code, out, _ = run(scenario, "-o", folder, "--workers", 1, "--json", *more)
    assert code == 0
    answer = json.loads(out)
    assert isinstance(answer, dict)
    return answer


@pytest.mark.slow
def test_json_answer_and_the_seed(scenario: Path, tmp_path: Path, without_figures: None) -> None:
    answer = as_json(scenario, tmp_path / "a", "--seed", 5)
    assert answer["schema"] == 1
    assert (answer["seed"], answer["members"]) == (5, 2)
    tables = ["summary.csv", "takeover.csv", "cost.csv", "bill.csv", "cautions.txt"]
    race = ["upkeep_log.csv", "stability.csv"]
    assert answer["files"] == ["forecast.nc", *tables, *race]
    assert answer["figures"] == []
    rows = answer["summary"]
    assert {row["option"] for row in rows} == set(OPTIONS)
    assert {row["quantity"] for row in rows} == set(QUANTITIES)
    assert {row["year"] for row in rows} == {1}
    units = {row["quantity"]: row["unit"] for row in rows}
    assert units == {name: BY_NAME[name].unit for name in QUANTITIES} | {"cost": "USD"}
    for row in rows:
        assert row["p05"] <= row["p25"] <= row["p50"] <= row["p75"] <= row["p95"]
    assert {row["option"] for row in answer["takeover"]} == {"reef only", "walls and reef"}

    # The same seed gives the same bytes, another seed other numbers.
    as_json(scenario, tmp_path / "again", "--seed", 5)
    as_json(scenario, tmp_path / "other", "--seed", 6)
    first, again, other = (
        (tmp_path / name / "summary.csv").read_bytes() for name in ("a", "again", "other")
    )
    assert again == first
    assert other != first


@pytest.mark.slow
def test_members_can_be_given_on_the_command_line(
    scenario: Path, tmp_path: Path, without_figures: None
) -> None:
    answer = as_json(scenario, tmp_path, "--members", 1)
    assert answer["members"] == 1
    assert {row["n"] for row in answer["summary"]} == {1}


def a_file(tmp_path: Path) -> Path:
    (tmp_path / "taken").write_text("keep me", encoding="utf-8")
    return tmp_path / "taken"


@pytest.mark.slow
@pytest.mark.parametrize("place", [lambda path: path, lambda path: path / "deeper"])
def test_a_folder_that_cannot_be_written_is_refused_before_computing(
    scenario: Path, tmp_path: Path, never_computes: list[str], place: Callable[[Path], Path]
) -> None:
    folder = place(a_file(tmp_path))
    code, out, err = run(scenario, "--output", folder)
    assert (code, out) == (2, "")
    assert str(folder) in err
    assert "--output" in err
    assert never_computes == []
    assert contents(tmp_path).keys() == {str(tmp_path / "taken")}
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "keep me"


@pytest.mark.slow
def test_a_retreat_without_waves_is_wrong_input(tmp_path: Path) -> None:
    calm = write_scenario(tmp_path / "calm.toml", traffic__level=0.0, wind__table=[(0.0, 0.0, 1.0)])
    code, out, err = run(calm, "--output", tmp_path / "results", "--workers", 1, "-q")
    assert (code, out) == (2, "")
    assert "site.retreat_rate = " in err
    assert "no waves reach the edge" in err
    assert not (tmp_path / "results").exists()
    code, out, _ = run(calm, "--output", tmp_path / "results", "--workers", 1, "--json")
    assert code == 2
    error = json.loads(out)["error"]
    assert error["type"] == "InvalidParameterError"
    assert "site.retreat_rate" in error["problems"][0]


@pytest.mark.slow
def test_an_edge_that_leaves_the_grid_is_a_failed_computation(tmp_path: Path) -> None:
    # The surveyed rate would leave room; traffic that grows by half each year does not.
    fast = write_scenario(
        tmp_path / "fast.toml",
        site__retreat_rate=1.0,
        traffic__growth=0.5,
        run__years=5,
        run__landward_width=7.0,
    )
    code, out, err = run(fast, "--output", tmp_path / "results", "--workers", 1, "-q")
    assert (code, out) == (1, "")
    assert "run.landward_width than 7.0 m" in err
    assert not (tmp_path / "results").exists()


@pytest.mark.slow
def test_stopped_from_the_keyboard(
    scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("edgesim.studies.ensemble.run_forecast", interrupt)
    code, out, err = run(scenario, "--output", tmp_path, "-q")
    assert (code, out) == (130, "")
    assert "Stopped." in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the signal is that of POSIX systems")
@pytest.mark.parametrize("workers", [1, 2])
def test_a_real_interrupt_ends_the_program(scenario: Path, tmp_path: Path, workers: int) -> None:
    program = [sys.executable, "-m", "edgesim", "forecast", str(scenario)]
    with subprocess.Popen(
        [*program, "-o", str(tmp_path / "out"), "--members", "400", "--workers", str(workers)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stderr is not None
        # The first line of talk comes when computing has begun.
        first = process.stderr.readline()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert first == "0 of 400 members done\n"
    assert process.returncode == 130
    assert out == ""
    last = err.splitlines()[-1]
    # Whether a store was there already is a matter of milliseconds; the tests of resuming wait for it.
    assert last.startswith("Stopped.")
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()
