"""Steps of half a day against steps of a day: ten years of edge, walls and reef."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import calibrate, run_option
from edgesim.scenario import ScenarioFile

sys.path.insert(0, str(Path(__file__).parents[1]))
from half_days import halve_the_day

Make = Callable[..., ScenarioFile]
Tell = Callable[[str], None]
OPTIONS = ("no action", "walls and reef")


def ten_years(scenario_file: ScenarioFile, members: int) -> dict[str, float]:
    """Mean retreat of each option [m], and of the last the fill left and the oysters."""
    common = prepare(scenario_file)
    found: dict[str, list[float]] = {name: [] for name in (*OPTIONS, "fill", "oysters")}
    for index in range(members):
        forcing = member_forcing(scenario_file, common, index)
        calibration = calibrate(forcing, common)
        for option in forcing.scenario.options:
            if option.name in OPTIONS:
                result = run_option(forcing, calibration, common, option)
                edge = result["edge_position"]
                found[option.name].append(float((edge[-1] - edge[0]).mean()))
        found["fill"].append(float(result["fill_fraction"].mean()))
        found["oysters"].append(float(result["oyster_density"].mean()))
    return {name: float(np.mean(values)) for name, values in found.items()}


@pytest.mark.slow
def test_half_the_day_step_moves_ten_years_of_edge_loss_by_less_than_5_percent(
    small_scenario: Make, tell: Tell, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes: dict[str, Any] = {"run.years": 10}
    whole = ten_years(small_scenario(changes), 2)
    halve_the_day(monkeypatch)
    half = ten_years(small_scenario(changes), 2)
    moved = {name: half[name] / whole[name] - 1.0 for name in whole}
    tell(f"half days: { ({name: f'{share:+.2%}' for name, share in moved.items()}) }")
    for option in OPTIONS:
        assert abs(moved[option]) < 0.05
    # Something did change: the walls' wood and the oysters step otherwise.
    assert 0.0 < abs(moved["fill"]) < 0.05
    assert 0.0 < abs(moved["oysters"]) < 0.05
