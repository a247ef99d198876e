"""A forecast that is stopped or killed goes on where it was and ends with the same bytes."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import psutil
import pytest
from click.testing import CliRunner

from edgesim.cli import running
from edgesim.cli.main import cli
from edgesim.errors import SolverError
from edgesim.outcomes.dataset import read_dataset, write_dataset
from edgesim.scenario import ScenarioFile, load_scenario
from edgesim.studies import worker
from edgesim.studies.ensemble import run_forecast
from edgesim.studies.store import read_store

Make = Callable[..., ScenarioFile]
Answer = tuple[int, str, str]

MEMBERS = 10


@pytest.fixture
def scenario(small_scenario: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small scenario as a file; files get a fixed time and no figures are drawn."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    monkeypatch.setattr("edgesim.figures.save_all", lambda *_: [])
    changes = {"run.members": MEMBERS, "run.years": 1}
    (tmp_path / "small.toml").write_text(small_scenario(changes).resolved_toml(), encoding="utf-8")
    return tmp_path / "small.toml"


def run(*arguments: object) -> Answer:
    result = CliRunner().invoke(cli, ["forecast", *(str(argument) for argument in arguments)])
    return result.exit_code, result.stdout, result.stderr


def broken_off(
    scenario: Path, folder: Path, end: Callable[[subprocess.Popen[str]], None], after: int
) -> tuple[int, str]:
    """Run a forecast as a program of its own and end it when some members are done."""
    arguments = ["forecast", str(scenario), "-o", str(folder), "--workers", "2", "--resume"]
    with subprocess.Popen(
        [sys.executable, "-m", "edgesim", *arguments],
        stderr=subprocess.PIPE,
        text=True,
        # As in a terminal, where Ctrl-C goes to the program and to its workers.
        start_new_session=True,
    ) as process:
        assert process.stderr is not None
        said = []
        for line in process.stderr:
            said.append(line)
            if line.startswith(f"{after} of {MEMBERS} members done"):
                end(process)
        process.wait(timeout=120)
    return process.returncode, "".join(said)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the signals are those of POSIX systems")
def test_a_forecast_stopped_and_killed_ends_with_the_same_bytes(
    scenario: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "results"

    def interrupt(process: subprocess.Popen[str]) -> None:
        os.killpg(process.pid, signal.SIGINT)

    code, said = broken_off(scenario, folder, interrupt, after=2)
    assert code == 130
    assert said.splitlines()[-1].startswith("Stopped. ")
    assert said.endswith(
        f" of {MEMBERS} runs are kept; go on with the same command and --resume.\n"
    )
    assert "Traceback" not in said
    stopped = read_store(folder / "members.zarr").done.sum()
    assert 2 <= stopped < MEMBERS

    # Without --resume or --force, what is there is not touched.
    code, _, said = run(scenario, "-o", folder)
    assert code == 2
    assert "--resume" in said
    assert read_store(folder / "members.zarr").done.sum() == stopped

    code, said = broken_off(scenario, folder, lambda process: process.terminate(), after=4)
    assert code == 130
    assert "Stopped. " in said
    assert "Traceback" not in said

    code, said = broken_off(scenario, folder, lambda process: process.kill(), after=7)
    assert code == -signal.SIGKILL
    left = int((~read_store(folder / "members.zarr").done).sum())
    assert 0 < left < MEMBERS - 2

    code, _, said = run(scenario, "-o", folder, "--workers", 1, "--resume")
    assert code == 0
    assert said.startswith(f"{MEMBERS - left} of {MEMBERS} members done\n")
    assert not (folder / "members.zarr").exists()
    write_dataset(run_forecast(load_scenario(scenario), workers=1), tmp_path / "whole.nc")
    assert (folder / "forecast.nc").read_bytes() == (tmp_path / "whole.nc").read_bytes()


@pytest.mark.slow
def test_a_forecast_whose_worker_is_killed_ends_with_the_same_bytes(
    scenario: Path, tmp_path: Path
) -> None:
    killed: list[int] = []

    def kill(done: int, _: int) -> None:
        if done == 3:
            workers = psutil.Process().children(recursive=True)
            busiest = max(workers, key=lambda process: sum(process.cpu_times()[:2]))
            busiest.kill()
            killed.append(busiest.pid)

    scenario_file = load_scenario(scenario)
    write_dataset(run_forecast(scenario_file, 2, kill), tmp_path / "killed.nc")
    assert len(killed) == 1
    write_dataset(run_forecast(scenario_file, 1), tmp_path / "whole.nc")
    assert (tmp_path / "killed.nc").read_bytes() == (tmp_path / "whole.nc").read_bytes()


@pytest.fixture
def third_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the third member fail."""
    healthy = worker.run_all_options

    def run_all_options(scenario: Any, forcing: Any, common: Any) -> Any:
        if forcing.index == 2:
            message = "the third has failed."
            raise SolverError(message)
        return healthy(scenario, forcing, common)

    monkeypatch.setattr(worker, "run_all_options", run_all_options)


@pytest.mark.slow
def test_a_member_that_fails_is_recorded_and_left_out_of_every_option(
    scenario: Path, tmp_path: Path, third_fails: None
) -> None:
    code, out, said = run(scenario, "-o", tmp_path / "r", "--workers", 1, "--members", 4)
    assert code == 1
    assert (
        "1 of 4 members failed and are left out; the first: member 2: the third has failed" in said
    )
    assert "of 3 equally likely futures" in out
    (row,) = csv.DictReader((tmp_path / "r" / "failures.csv").read_text().splitlines())
    assert (row["member"], row["kind"]) == ("2", "SolverError")
    assert row["reason"] == "the third has failed."
    # Its inputs are those that the member was run with.
    drawn = load_scenario(scenario).overridden(members=4).member(2)
    inputs = json.loads(row["inputs"])
    assert inputs["site.retreat_rate"] == drawn.site.retreat_rate
    assert len(inputs) == len(load_scenario(scenario).distributions)
    dataset = read_dataset(tmp_path / "r" / "forecast.nc")
    assert dataset["member"].values.tolist() == [0, 1, 3]
    assert np.isfinite(dataset["retreat"].values).all()
    assert json.loads(dataset.attrs["failures"])[0]["inputs"] == inputs

    # The others are those of a forecast in which none fails.
    healthy = run_forecast(load_scenario(scenario).overridden(members=2), workers=1)
    assert np.array_equal(dataset["retreat"].values[:, :2], healthy["retreat"].values)

    code, out, _ = run(scenario, "-o", tmp_path / "j", "--workers", 1, "--members", 3, "--json")
    assert code == 1
    assert json.loads(out)["members"] == 2


@pytest.mark.slow
def test_a_dry_run_tells_runs_time_and_room_and_writes_nothing(
    scenario: Path, tmp_path: Path
) -> None:
    before = sorted(tmp_path.rglob("*"))
    code, out, _ = run(scenario, "-o", tmp_path / "r", "--dry-run", "--workers", 2, "--members", 50)
    assert code == 0
    assert "50 model runs (one a member, each of 4 options)" in out
    assert "on 2 worker(s)" in out
    assert "Store: at most" in out
    code, out, _ = run(scenario, "-o", tmp_path / "r", "--dry-run", "--workers", 2, "--json")
    cost = json.loads(out)
    assert (code, cost["tasks"], cost["workers"]) == (0, MEMBERS, 2)
    assert cost["seconds"] == pytest.approx(MEMBERS / 2 * cost["seconds_a_task"])
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.slow
@pytest.mark.parametrize("more", [[], ["--dry-run"]])
def test_a_disk_that_is_too_small_is_refused(
    scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: list[str]
) -> None:
    monkeypatch.setattr("edgesim.studies.estimate.shutil.disk_usage", lambda _: Disk())
    code, out, said = run(scenario, "-o", tmp_path / "r", "--workers", 1, *more)
    assert (code, out) == (2, "")
    assert "only 1.0 kB are free" in said
    assert not (tmp_path / "r").exists()


class Disk:
    free = 1000


@pytest.mark.slow
def test_a_wrong_address_of_a_scheduler_is_wrong_input(scenario: Path, tmp_path: Path) -> None:
    code, out, said = run(scenario, "-o", tmp_path / "r", "--scheduler", "tcp://127.0.0.1:1/", "-q")
    assert (code, out) == (2, "")
    assert "no scheduler answers at 'tcp://127.0.0.1:1/'" in said
    assert not (tmp_path / "r").exists()


def test_rate_and_time_left_are_those_of_this_run(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [100.0]
    monkeypatch.setattr("edgesim.cli.running.time.monotonic", lambda: clock[0])
    rate = running._Rate()
    # Thirty were there before; ten more take 20 seconds: 30 a minute, 60 left take two minutes.
    assert rate(30, 100) == ""
    clock[0] = 120.0
    assert rate(40, 100) == "30 a minute, 2 min left"
    assert rate(100, 100).startswith("210 a minute")
    assert "left" not in rate(100, 100)
