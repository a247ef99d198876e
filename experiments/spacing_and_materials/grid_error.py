"""Measure what the coarser grid of the study changes: the same members on the study's grid and on the full one."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np

from edgesim.outcomes.measures import YEARLY
from edgesim.scenario import load_scenario
from edgesim.studies.explore import plan_exploration
from edgesim.studies.jobs import Shared, job, run_job

HERE = Path(__file__).parent
FULL = {
    "run.cell_size": 0.5,
    "run.wave_update_days": 14,
    "run.water_level_bins": 8,
    "run.wake_classes": 3,
}
"""Numerical settings of the demonstration."""

DESIGNS = {
    "as written": {},
    "gap 12 ft": {"design.walls.gap": 3.6576},
    "untreated posts": {"design.walls.post_wood": "untreated softwood"},
}
QUANTITIES = {
    "land_kept": "marsh kept [m2]",
    "retreat": "retreat [m]",
    "cost": "money [USD]",
    "oyster_density": "oysters [per m2]",
}


def main() -> None:
    """Run both grids and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--members", type=int, default=6)
    members = parser.parse_args().members
    exploration = plan_exploration(load_scenario(HERE / "scenario.toml"))
    coarse = exploration.base
    files, option = {"study": coarse, "full": coarse.overridden(FULL)}, exploration.study.option
    results, seconds = {}, {}
    for name, file in files.items():
        shared = Shared((file,), (option,))
        run_job(shared, job(0, 0))  # compiles
        began = time.process_time()
        results[name] = np.array(
            [
                [run_job(shared, job(0, m, changes))["yearly"][:, -1] for m in range(members)]
                for changes in DESIGNS.values()
            ]
        )
        seconds[name] = (time.process_time() - began) / (members * len(DESIGNS))
    lines = [
        f"{members} members, the same on both grids (processor time of a run: study {seconds['study']:.2f} s, full {seconds['full']:.2f} s).\n",
        '| design | outcome | full, mean | study minus full, mean (range over members) | change against "as written": full, study |',
        "|---|---|---|---|---|",
    ]
    for d, design in enumerate(DESIGNS):
        for quantity, words in QUANTITIES.items():
            q = YEARLY.index(quantity)
            full, study = results["full"][d, :, q], results["study"][d, :, q]
            off = study - full
            moved = (
                ""
                if d == 0
                else f"{_digits(np.mean(full - results['full'][0, :, q]))}, {_digits(np.mean(study - results['study'][0, :, q]))}"
            )
            lines.append(
                f"| {design} | {words} | {_digits(full.mean())} | {_digits(off.mean())} ({_digits(off.min())} to {_digits(off.max())}) | {moved} |"
            )
    (HERE / "grid_error.md").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _digits(number: float) -> str:
    """Three or four digits without exponent; what is only rounding is 0."""
    if abs(number) < 1e-6:
        return "0"
    return f"{number:,.0f}" if abs(number) >= 100.0 else f"{number:.3g}"


if __name__ == "__main__":
    main()
