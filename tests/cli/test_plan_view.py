"""The commands `plan` and `view`: files, exit codes, and nothing overwritten or left half."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import xarray as xr
from click.testing import CliRunner

from edgesim.cli.main import cli
from edgesim.outcomes.dataset import write_dataset
from edgesim.report import exhibits
from edgesim.scenario import CAUTIONS

PARTS = {"plan.html", "plan.docx", "view.html", "figures", "tables"}


def run(*arguments: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(cli, [str(argument) for argument in arguments])
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture(scope="module")
def results(synthetic_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("place") / "invented"
    folder.mkdir()
    little = synthetic_dataset.isel(member=slice(0, 5), time=slice(0, None, 4))
    write_dataset(little, folder / "forecast.nc")
    return folder


@pytest.fixture(autouse=True)
def one_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw one figure only: drawing is slow."""
    few = {"conceptual_model": exhibits.FIGURES["conceptual_model"]}
    monkeypatch.setattr(exhibits, "FIGURES", few)


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_plan_is_written_from_a_folder_of_results(results: Path, tmp_path: Path):
    folder = tmp_path / "out"
    code, out, err = run("plan", results, "--output", folder, "--workers", 1, "--json", "-q")
    assert code == 0
    assert names(folder) == PARTS
    assert set(json.loads(out)["files"]) == {"plan.html", "plan.docx", "view.html", "figures/", "tables/"}  # fmt: skip
    assert err.strip() == CAUTIONS


def test_only_one_form_from_a_file_and_the_usual_name(
    results: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.chdir(tmp_path)
    code, _, _ = run("plan", results / "forecast.nc", "--only", "html", "--workers", 1)
    assert code == 0
    assert names(tmp_path / "invented_plan") == PARTS - {"plan.docx"}


def test_a_plan_that_is_there_is_kept_without_force(results: Path, tmp_path: Path):
    (tmp_path / "plan.docx").write_text("mine")
    code, _, err = run("plan", results, "--output", tmp_path)
    assert code == 2
    assert "--force" in err
    assert names(tmp_path) == {"plan.docx"}
    code, _, _ = run("plan", results, "--output", tmp_path, "--force", "--workers", 1)
    assert code == 0
    assert (tmp_path / "plan.docx").read_bytes().startswith(b"PK")


def test_a_plan_that_fails_leaves_the_old_one_and_nothing_half(
    results: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "plan.html").write_text("old")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("edgesim.report.plan.write_docx", fail)
    code, _, err = run("plan", results, "--output", tmp_path, "--force", "--workers", 1)
    assert code == 2
    assert "No space left" in err
    assert (tmp_path / "plan.html").read_text() == "old"
    assert names(tmp_path) == {"plan.html"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan", "nothing_here"], "does not exist"),
        (["plan", "nothing.toml"], "edgesim new"),
        (["plan", "RESULTS", "--members", "3"], "Leave out --members"),
        (["view", "nothing_here"], "does not exist"),
    ],
)
def test_wrong_input_is_a_sentence_and_exit_code_two(
    arguments: list[str], words: str, results: Path, tmp_path: Path, monkeypatch: Any
):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*[str(results) if a == "RESULTS" else a for a in arguments])
    assert code == 2
    assert words in err
    assert out == ""
    assert names(tmp_path) == set()


def test_a_page_is_written_and_opened(
    results: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    opened: list[str] = []
    monkeypatch.setattr("webbrowser.open", opened.append)
    monkeypatch.chdir(tmp_path)
    code, out, err = run("view", results)
    page = tmp_path / "invented_view.html"
    assert code == 0
    assert "invented_view.html" in out
    assert CAUTIONS in err
    assert opened == [page.resolve().as_uri()]
    assert run("view", results)[0] == 2
    assert run("view", results, "--force", "--no-open")[0] == 0
    assert len(opened) == 1
    assert CAUTIONS in page.read_text(encoding="utf-8")


@pytest.mark.slow
def test_a_plan_of_a_scenario_runs_its_forecast_first(small_scenario: Any, tmp_path: Path):
    scenario = tmp_path / "small.toml"
    scenario.write_text(small_scenario().resolved_toml(), encoding="utf-8")
    code, _, err = run(
        "plan", scenario, "--output", tmp_path / "out", "--members", 2, "--workers", 1
    )
    assert code == 0, err
    assert names(tmp_path / "out") == PARTS | {"forecast.nc"}
    page = (tmp_path / "out" / "plan.html").read_text(encoding="utf-8")
    assert "middle of 2 equally likely futures" in page
