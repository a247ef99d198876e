"""Measure the tables of docs/science/edge.md: ``python docs/science/measure_edge.py [members]``.

Every member keeps its draws, so that only the numerical error is left.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import calibrate, run_option
from edgesim.scenario import load_scenario

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "configs" / "demo.toml"

CHANGES: dict[str, dict[str, Any]] = {
    "as in the demo": {},
    "waves solved every 7 days, not 14": {"run.wave_update_days": 7},
    "cell 0.25 m, not 0.5 m": {"run.cell_size": 0.25},
    "16 level bins, not 8": {"run.water_level_bins": 16},
}


def ten_years(changes: dict[str, Any], members: int) -> dict[str, float]:
    """Mean retreat [m] over members without lines and with both, and mud trapped by both [kg]."""
    scenario_file = load_scenario(DEMO).overridden(changes, members=members)
    common = prepare(scenario_file)
    options = (scenario_file.central.options[0], scenario_file.central.options[-1])
    found: dict[str, list[float]] = {"no action": [], "walls and reef": [], "mud": []}
    for index in range(members):
        forcing = member_forcing(scenario_file, common, index)
        calibration = calibrate(forcing, common)
        for option in options:
            result = run_option(forcing, calibration, common, option)
            edge = result["edge_position"]
            found[option.name].append(float((edge[-1] - edge[0]).mean()))
        found["mud"].append(float(result["mud_trapped"][-1]))
    return {name: float(np.mean(values)) for name, values in found.items()}


def main() -> None:
    """Print the table in Markdown."""
    members = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    usual = ten_years(CHANGES["as in the demo"], members)
    write = sys.stdout.write
    write(
        "| what was changed | retreat, no action | retreat, walls and reef | mud trapped, walls and reef |\n"
    )
    write("|---|---|---|---|\n")
    write(
        f"| nothing | {usual['no action']:.2f} m | {usual['walls and reef']:.2f} m | {usual['mud']:.0f} kg |\n"
    )
    for name, changes in list(CHANGES.items())[1:]:
        moved = ten_years(changes, members)
        cells = " | ".join(f"{moved[key] / usual[key] - 1.0:+.1%}" for key in usual)
        write(f"| {name} | {cells} |\n")
        sys.stdout.flush()
    sys.path.insert(0, str(ROOT / "tests"))
    from half_days import halve_the_day

    with pytest.MonkeyPatch.context() as patch:
        halve_the_day(patch)
        moved = ten_years({}, members)
    cells = " | ".join(f"{moved[key] / usual[key] - 1.0:+.1%}" for key in usual)
    write(f"| steps of half a day, not a day | {cells} |\n")


if __name__ == "__main__":
    main()
