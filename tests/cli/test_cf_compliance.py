"""A forecast file passes the CF 1.11 checks at their strictest, without a remark."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xarray as xr

from edgesim.outcomes.dataset import read_dataset, write_dataset
from edgesim.outcomes.label_files import read_labelled, write_labelled
from edgesim.scenario import load_scenario
from edgesim.studies.compare import plan_comparison, run_comparison
from edgesim.studies.ensemble import run_forecast
from edgesim.studies.explore import Budget, plan_exploration, run_exploration
from edgesim.studies.study_dataset import build_exploration

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"


def check(path: Path) -> tuple[int, list[dict[str, object]]]:
    """Run the checker in a process of its own, as a user would."""
    report = path.with_suffix(".json")
    program = Path(sys.executable).with_name("compliance-checker")
    done = subprocess.run(
        [program, "--test=cf:1.11", "--criteria=strict", "-f", "json", "-o", report, path],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "exceptions occurred" not in done.stderr
    result = json.loads(report.read_text())["cf:1.11"]
    remarks = [
        entry
        for priority in ("high_priorities", "medium_priorities", "low_priorities")
        for entry in result[priority]
        if entry["msgs"]
    ]
    return done.returncode, remarks


@pytest.mark.slow
def test_forecast_is_cf_compliant(synthetic_dataset: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "forecast.nc"
    write_dataset(synthetic_dataset.isel(member=slice(0, 3)), path)
    assert check(path) == (0, [])


@pytest.mark.slow
def test_a_real_forecast_is_cf_compliant(tmp_path: Path) -> None:
    small = {"run.years": 2, "run.members": 2, "run.cell_size": 1.0}
    dataset = run_forecast(load_scenario(DEMO).overridden(small), workers=1)
    path = tmp_path / "forecast.nc"
    write_dataset(dataset, path)
    assert check(path) == (0, [])
    xr.testing.assert_identical(read_dataset(path), dataset)


@pytest.mark.slow
def test_the_check_can_fail(synthetic_dataset: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "broken.nc"
    broken = synthetic_dataset.isel(member=slice(0, 1)).copy()
    broken["retreat"].attrs["units"] = "metres of marsh"
    write_dataset(broken, path)
    code, remarks = check(path)
    assert code == 1
    assert any("retreat" in str(remark) for remark in remarks)


@pytest.mark.slow
def test_studies_and_comparisons_are_cf_compliant(
    small_scenario: Callable[..., Any], tmp_path: Path
) -> None:
    def edit(table: dict[str, Any]) -> None:
        table["study"] = {
            "decisions": [
                {"name": "gap", "path": "design.walls.gap", "levels": ["4 ft", "9 ft"]},
                {"name": "rows", "path": "design.reef.rows", "low": 1, "high": 2},
            ],
            "inputs": [{"name": "traffic", "path": "traffic.level"}],
            "map": {"rows": "gap", "columns": "rows", "over": "traffic", "members": 2},
        }

    file = small_scenario({"run.members": 2}, edit=edit)
    exploration = plan_exploration(file)
    stages = run_exploration(exploration, tmp_path / "study", Budget(2, 4, 2), workers=1)
    study = build_exploration(exploration, stages)
    compared, _ = run_comparison(plan_comparison([file]), workers=1)
    for name, dataset in (("study", study), ("comparison", compared)):
        path = tmp_path / f"{name}.nc"
        write_labelled(dataset, path)
        assert check(path) == (0, [])
        again = tmp_path / f"{name}_again.nc"
        write_labelled(read_labelled(path), again)
        assert check(again) == (0, [])
        xr.testing.assert_identical(read_labelled(again), dataset)
