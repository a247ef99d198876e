"""A forecast file passes the CF 1.11 checks at their strictest, without a remark."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
import xarray as xr

from edgesim.outcomes.dataset import read_dataset, write_dataset
from edgesim.scenario import load_scenario
from edgesim.studies.ensemble import run_forecast

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
