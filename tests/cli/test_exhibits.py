"""`edgesim figure` and `edgesim table`: one at a time, from a folder of results."""

from __future__ import annotations

from pathlib import Path

import pytest
import xarray as xr
from click.testing import CliRunner, Result
from PIL import Image

from edgesim.cli.main import cli
from edgesim.figures import FIGURES
from edgesim.outcomes.dataset import read_dataset, write_dataset
from edgesim.outcomes.tables import TABLES, csv_text


@pytest.fixture(scope="module")
def results(synthetic_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site") / "demo_forecast"
    folder.mkdir()
    write_dataset(synthetic_dataset.isel(member=slice(0, 5)), folder / "forecast.nc")
    return folder


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def test_lists_name_every_figure_and_table():
    for command, registry in (("figure", FIGURES), ("table", TABLES)):
        shown = run(command, "--list")
        assert shown.exit_code == 0
        for name, entry in registry.items():
            assert any(
                line.split()[:2] == [entry.number, name] for line in shown.output.splitlines()
            )


def test_the_list_of_a_forecast_says_what_is_missing(results: Path):
    shown = run("figure", "--list", results).output
    (line,) = [line for line in shown.splitlines() if line.startswith("F17")]
    assert "not provided: " in line
    (line,) = [line for line in shown.splitlines() if line.startswith("F12")]
    assert "not provided" not in line


def test_a_figure_is_written_with_caption_alt_text_and_cautions(results: Path, tmp_path: Path):
    target = tmp_path / "fan.png"
    done = run("figure", "cost_fan", results, "-o", target)
    assert done.exit_code == 0, done.output
    with Image.open(target) as image:
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.5)
    assert "F24. " in done.output
    assert "5 members" in done.output
    assert "Alt text: " in done.output
    assert "licensed engineer" in done.stderr


def test_nothing_is_overwritten_unasked(results: Path, tmp_path: Path):
    target = tmp_path / "fan.svg"
    target.write_text("mine", encoding="utf-8")
    done = run("figure", "cost_fan", results, "-o", target)
    assert done.exit_code == 2
    assert "--force" in done.output
    assert target.read_text(encoding="utf-8") == "mine"
    assert run("figure", "cost_fan", results, "-o", target, "--force").exit_code == 0
    assert target.read_text(encoding="utf-8").startswith("<?xml")


def test_a_table_is_printed_as_markdown_and_as_csv(results: Path, tmp_path: Path):
    table = TABLES["options"].build(read_dataset(results / "forecast.nc"))
    shown = run("table", "options", results)
    assert shown.exit_code == 0, shown.output
    assert shown.stdout.startswith("**Options compared in year 10**")
    assert run("table", "options", results, "--format", "csv").stdout == csv_text(table)
    target = tmp_path / "options.csv"
    assert run("table", "options", results, "-o", target).exit_code == 0
    assert target.read_text(encoding="utf-8") == csv_text(table)


@pytest.mark.parametrize("name", ["T5", "t5", "Options"])
def test_a_number_serves_as_well_as_a_name_in_any_case(results: Path, name: str):
    shown = run("table", name, results)
    assert shown.exit_code == 0, shown.output
    assert shown.stdout == run("table", "options", results).stdout


def test_a_figure_is_drawn_by_its_number(results: Path, tmp_path: Path):
    done = run("figure", "f24", results, "-o", tmp_path / "fan.svg")
    assert done.exit_code == 0, done.output
    assert done.output.startswith("F24. ")


def test_the_only_forecast_near_is_found(results: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(results.parent)
    assert run("table", "limits").exit_code == 0
    monkeypatch.chdir(results)
    assert run("table", "limits").exit_code == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("figure", "edge_fam"), 'Did you mean "edge_fan"?'),
        (
            ("table",),
            "table: no name is given. Give one, for example site_facts, or its number T1.",
        ),
        (("figure",), "edgesim figure --list"),
        (("figure", "F99", "RESULTS"), "none of that name"),
        (("figure", "edge_fan", "RESULTS", "-o", "a.jpg"), "Let the name end in .png, .svg, .pdf."),
        (("figure", "edge_fan", "site.toml"), "Run first: edgesim forecast site.toml"),
        (("view", "site.toml"), "Run first: edgesim forecast site.toml"),
        (("figure", "edge_fan", "nowhere"), "holds no forecast"),
        (("figure", "edge_fan", "RESULTS", "--format", "svg", "-o", "a.png"), "another format"),
        (("figure", "sensitivity", "RESULTS"), "not provided: "),
        (("table", "skill", "RESULTS"), "not provided: "),
    ],
)
def test_wrong_wishes_end_with_a_sentence_and_code_2(
    results: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    says: str,
):
    monkeypatch.chdir(tmp_path)
    done = run(*[results if word == "RESULTS" else word for word in words])
    assert done.exit_code == 2
    assert says in done.output
    assert not list(tmp_path.iterdir())
