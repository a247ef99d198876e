"""A forecast shows what a study found, and says from which study it is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner, Result
from scipy.stats import norm

from edgesim.cli.main import cli
from edgesim.errors import DataFileError
from edgesim.figures import FIGURES
from edgesim.outcomes.dataset import write_dataset
from edgesim.outcomes.label_files import read_labelled, write_labelled
from edgesim.outcomes.study_extras import add_study, read_study
from edgesim.studies.explore import Budget, plan_exploration, run_exploration
from edgesim.studies.study_dataset import build_exploration

sys.path.insert(0, str(Path(__file__).parents[1]))
import study_functions as functions


@pytest.fixture(scope="module")
def studied(small_scenario: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a study of a function that keeps marsh by the gap, with a map."""

    def edit(table: dict[str, Any]) -> None:
        target = {"name": "much", "quantity": "land_kept", "at_least": "12 ft^2"}
        table["goals"] = {**table["goals"], "targets": [target]}
        table["study"] = {
            "decisions": [
                {"name": "gap", "path": "design.walls.gap", "levels": ["4 ft", "9 ft"]},
                {"name": "option", "path": "design.walls.ties", "levels": ["galvanised", "stainless"]},
            ],
            "inputs": [{"name": "traffic", "path": "traffic.level", "low": 0.5, "high": 1.5}],
            "map": {"rows": "gap", "columns": "option", "over": "traffic", "members": 3},
        }  # fmt: skip

    exploration = replace(plan_exploration(small_scenario(edit=edit)), function=functions.by_gap)
    folder = tmp_path_factory.mktemp("studies") / "spacing"
    stages = run_exploration(exploration, folder, Budget(4, 16, 3), workers=1)
    write_labelled(build_exploration(exploration, stages), folder / "study.nc")
    return folder


@pytest.fixture(scope="module")
def results(synthetic_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site") / "demo_forecast"
    folder.mkdir()
    write_dataset(synthetic_dataset.isel(member=slice(0, 5)), folder / "forecast.nc")
    return folder


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def test_shares_and_map_of_a_study_come_under_the_agreed_names(
    synthetic_dataset: xr.Dataset, studied: Path
) -> None:
    study = read_study(studied, synthetic_dataset["option"].values)
    found = add_study(synthetic_dataset, study)
    assert found.attrs["sensitivity_output"] == "marsh kept against no action, year 2"
    for new, old in (("first", "first"), ("total", "total")):
        assert np.array_equal(found[f"sensitivity_{new}"], study[old].values[-1, 0])
    # Bounds of studies are 95 %, those of a plan 90 %: both a number of standard errors.
    ratio = norm.ppf(0.95) / norm.ppf(0.975)
    expected = ratio * study["total_bound"].values[-1, 0]
    assert found["sensitivity_total_bound"].values == pytest.approx(expected)
    known = study["total_converged"].values[0].astype(bool)
    marked = [not str(name).endswith("(not converged)") for name in found["input"].values]
    assert marked == known.tolist()
    # The option of a forecast is another thing than a decision of that name.
    assert found["success_chance"].dims == ("gap", "option of the study")
    assert found["success_chance"].values.tolist() == [[0.0, 0.0], [1.0, 1.0]]
    assert "sensitivity_total" not in synthetic_dataset


@pytest.mark.parametrize("name", ["sensitivity", "design_map"])
def test_a_figure_says_from_which_study_it_is(
    results: Path, studied: Path, tmp_path: Path, name: str
) -> None:
    target = tmp_path / "figure.svg"
    done = run("figure", name, results, "--study", studied, "-o", target)
    assert done.exit_code == 0, done.output
    caption = done.stdout.splitlines()[0]
    for words in (
        "From the study “spacing” of walls and reef",
        "16 base points",
        "3 futures a cell",
    ):
        assert words in caption
    assert "5 members" not in caption
    assert target.stat().st_size > 0
    listed = run("figure", "--list", results, "--study", studied).stdout
    (line,) = [line for line in listed.splitlines() if f" {name} " in f" {' '.join(line.split())} "]
    assert "not provided" not in line


def test_the_small_print_of_a_figure_names_the_study(
    synthetic_dataset: xr.Dataset, studied: Path
) -> None:
    found = add_study(synthetic_dataset, read_study(studied, synthetic_dataset["option"].values))
    for name in ("sensitivity", "design_map"):
        texts = " ".join(text.get_text() for text in FIGURES[name].draw(found).texts)
        assert "study “spacing”" in " ".join(texts.split())
    assert "study" not in FIGURES["edge_fan"].caption(found)


def test_cells_that_few_futures_cannot_tell_apart_are_called_so(
    synthetic_dataset: xr.Dataset, studied: Path
) -> None:
    found = add_study(synthetic_dataset, read_study(studied, synthetic_dataset["option"].values))
    headline = FIGURES["design_map"].headline
    # 3 of 3: the lower end is 0.05^(1/3), Clopper and Pearson.
    assert "gap 9 ft with option of the study galvanised and 1 more (100 %" in headline(found)
    assert "90 % interval 37 to 100 %); all others lie between 0 and 0 %" in headline(found)
    assert "cannot tell apart" not in headline(found)
    close = found["success_chance"].copy(data=[[2 / 3, 2 / 3], [1.0, 2 / 3]])
    assert headline(found.assign(success_chance=close)).endswith(
        "which so few futures cannot tell apart"
    )


def test_the_table_of_inputs_says_from_which_study_it_is(results: Path, studied: Path) -> None:
    done = run("table", "sensitivity", results, "--study", studied)
    assert done.exit_code == 0, done.output
    assert "from the study “spacing”" in done.stdout


def test_a_study_that_does_not_fit_is_refused_before_anything_is_written(
    results: Path, studied: Path, tmp_path: Path
) -> None:
    target = tmp_path / "plan"
    for command in (("plan", results, "-o", target), ("figure", "sensitivity", results)):
        done = run(*command, "--study", tmp_path)
        assert (done.exit_code, done.stdout) == (2, "")
        assert "edgesim explore" in done.stderr
    assert not target.exists()
    with pytest.raises(DataFileError, match="of an option of this forecast"):
        read_study(studied, ["walls only"])
    bare = read_labelled(studied / "study.nc").drop_vars(["total", "map_success"])
    write_labelled(bare, tmp_path / "study.nc")
    with pytest.raises(DataFileError, match="neither shares of the variance nor a map"):
        read_study(tmp_path, ["walls and reef"])
