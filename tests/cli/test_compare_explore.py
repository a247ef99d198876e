"""The commands `compare` and `explore` from the command line."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from edgesim.cli import running
from edgesim.cli.main import cli
from edgesim.studies import explore

sys.path.insert(0, str(Path(__file__).parents[1]))
import study_functions as functions

SMALL = """
[run]
years = 2
members = 2
cell_size_m = 1.0
water_level_bins = 4
wake_classes = 2
wave_update_days = 30
seaward_width = "46 ft"
landward_width = "60 ft"
"""

STUDY = """
[[goals.targets]]
name = "edge"
quantity = "retreat"
at_most = "1.9 ft"

[study]
[[study.decisions]]
name = "gap"
path = "design.walls.gap"
levels = ["4 ft", "9 ft"]
[[study.decisions]]
name = "wire"
path = ["design.walls.ties", "design.reef.wire"]
levels = ["galvanised", "stainless"]
[[study.inputs]]
name = "traffic"
path = "traffic.level"
[study.map]
rows = "gap"
columns = "wire"
over = "traffic"
quantiles = [0.5]
members = 2
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = Path(__file__).parents[2] / "configs"
    for name in ("demo_profile.csv", "demo_wind.csv"):
        (tmp_path / name).write_text((folder / name).read_text())
    text = (folder / "demo.toml").read_text()
    (tmp_path / "site.toml").write_text(text[: text.index("[run]")] + SMALL + STUDY)
    return tmp_path / "site.toml"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(cli, [str(argument) for argument in arguments])


@pytest.mark.slow
def test_compare_writes_tables_data_and_figures(site: Path) -> None:
    out = site.parent / "out"
    done = run("compare", site, "-o", out, "--workers", 1, "--json", "-q")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout)
    assert answer["schema"] == 1
    assert {row["design"] for row in answer["designs"]} == {
        "no action", "walls only", "reef only", "walls and reef",
    }  # fmt: skip
    for name in ("comparison.nc", "designs.csv", "differences.csv", "targets.csv", "regret.csv"):
        assert (out / name).stat().st_size > 0
    assert len(list((out / "figures").glob("*.png"))) == 3
    again = run("compare", site, "-o", out)
    assert again.exit_code == 2
    assert "holds results already" in again.output
    shown = run("compare", site, "-o", out, "--workers", 1, "--resume", "-q")
    assert shown.exit_code == 0, shown.output
    assert "None beats these in money, marsh and oysters at once" in shown.output
    assert "Regret in Marsh kept against no action" in shown.output


@pytest.mark.slow
def test_explore_writes_a_study_and_says_what_follows(site: Path) -> None:
    out = site.parent / "study"
    arguments = (
        "explore",
        site,
        "-o",
        out,
        "--workers",
        1,
        "--points",
        4,
        "--trajectories",
        2,
        "-q",
    )
    done = run(*arguments, "--leading", 2, "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout)
    assert {row["input"] for row in answer["effects"]} == {"gap", "wire", "traffic", "chance"}
    assert len({row["input"] for row in answer["shares"]}) == 3
    assert len(answer["map"]) == 4
    assert answer["conclusions"]
    assert (out / "conclusions.txt").read_text().splitlines() == answer["conclusions"]
    assert len(list((out / "figures").glob("*.png"))) >= 5
    assert run(*arguments).exit_code == 2


@pytest.mark.slow
def test_a_dry_run_tells_runs_and_writes_nothing(site: Path) -> None:
    told = run("explore", site, "-o", site.parent / "none", "--dry-run", "--workers", 1, "--json")
    assert told.exit_code == 0, told.output
    # 10 x (4 + 1) of screening, 256 x (2 x 4 + 2) of shares, 4 cells x 2 members.
    assert json.loads(told.stdout)["tasks"] == 50 + 2560 + 8
    assert not (site.parent / "none").exists()


@pytest.fixture
def fails_at_much_traffic(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put a quick function that sometimes fails in the place of the model; draw nothing."""
    plan = explore.plan_exploration

    def planned(file: Any) -> explore.Exploration:
        return replace(plan(file), function=functions.by_gap_but_for_much_traffic)

    monkeypatch.setattr(explore, "plan_exploration", planned)
    monkeypatch.setattr("edgesim.figures.studies.save_figures", lambda *_: [])


def test_a_study_with_failed_runs_is_written_and_ends_with_1(
    site: Path, fails_at_much_traffic: None
) -> None:
    out = site.parent / "study"
    size = ("--trajectories", 4, "--leading", 3, "--workers", 1, "-q")
    done = run("explore", site, "-o", out, *size, "--points", 16)
    assert done.exit_code == 1, done.output
    assert "so much traffic cannot be." in done.stderr
    assert f"what was completed is in {out}." in done.stderr
    assert (out / "study.nc").exists()

    # A dry run of what is there counts only what is left: 16 more points of 2 x 4 + 2 runs.
    for more, left in ((16, 0), (32, 16 * 10)):
        again = ("--points", more, "--resume", "--dry-run", "--json")
        told = run("explore", site, "-o", out, *size, *again)
        assert told.exit_code == 0, told.output
        assert json.loads(told.stdout)["tasks"] == left
    anew = run("explore", site, "-o", out, *size, "--points", 16, "--dry-run", "--json")
    assert json.loads(anew.stdout)["tasks"] == 4 * 5 + 16 * 10 + 4 * 2


def test_a_study_that_is_stopped_counts_the_runs_of_all_its_stages(
    site: Path, fails_at_much_traffic: None
) -> None:
    out = site.parent / "study"
    size = ("--trajectories", 4, "--leading", 3, "--workers", 1, "-q", "--points", 16)
    run("explore", site, "-o", out, *size)
    stores = [out / "screening.zarr", out / "shares.zarr", out / "none.zarr"]
    with (
        pytest.raises(KeyboardInterrupt, match="180 of 180 runs are kept"),
        running.stoppable(*stores),
    ):
        raise KeyboardInterrupt


@pytest.mark.slow
def test_a_comparison_with_a_failed_run_ends_with_1(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from edgesim.errors import SolverError
    from edgesim.studies import jobs

    healthy = jobs.run_option

    def run_option(forcing: Any, calibration: Any, common: Any, option: Any) -> Any:
        if option.name == "reef only" and forcing.index == 1:
            message = "this one has failed."
            raise SolverError(message)
        return healthy(forcing, calibration, common, option)

    monkeypatch.setattr(jobs, "run_option", run_option)
    out = site.parent / "out"
    done = run("compare", site, "-o", out, "--workers", 1, "--members", 3, "-q")
    assert done.exit_code == 1, done.output
    assert "this one has failed." in done.stderr
    assert "1 futures are left out, since a run of theirs failed." in done.stdout
    assert (out / "comparison.nc").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--points", 100), "must be a power of two"),
        (("--output", "{file}"), "is a file, not a folder"),
    ],
)
def test_wrong_use_of_explore_ends_with_2(
    site: Path, arguments: tuple[Any, ...], said: str
) -> None:
    done = run("explore", site, *[str(a).format(file=site) for a in arguments])
    assert done.exit_code == 2
    assert said in done.output


def test_a_scenario_without_a_study_is_told_where_to_look(site: Path) -> None:
    text = site.read_text()
    site.write_text(text[: text.index("[study]")])
    done = run("explore", site)
    assert done.exit_code == 2
    assert "study: is missing" in done.output
    assert "docs/howto/explore.md" in done.output


def test_a_wrong_design_is_named_before_any_computing(site: Path) -> None:
    site.write_text(site.read_text() + '\n[[designs]]\nname = "odd"\ndesign.walls.gab = "8 ft"\n')
    done = run("compare", site)
    assert done.exit_code == 2
    assert "designs[odd]: design.walls.gab" in done.output
    assert 'Did you mean "design.walls.gap"?' in done.output
    assert not list(site.parent.glob("*_comparison"))


def test_both_commands_are_listed_with_an_example() -> None:
    listed = run("--help").output
    for name in ("compare", "explore"):
        assert name in listed
        assert f"Example:  edgesim {name}" in run(name, "--help").output
