"""Measure how fast edgesim is on this machine, and write the table to ``results.json``.

Run ``python benchmarks/speed.py`` (about three minutes); ``--quick`` leaves out the two workers.
Nothing here is asserted: times depend on the machine and on its other users. Ratios are taken
between runs that follow each other, alternately, so that both meet the same neighbours.
"""

from __future__ import annotations

import json
import math
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import Any

# One thread of linear algebra, before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from numpy_march import march

from edgesim.model.common import Common, member_forcing, prepare
from edgesim.model.forecast import calibrate, run_option, set_up
from edgesim.model.step import Member, flood_lines, levels_of, raise_lines
from edgesim.model.wave_field import solve_waves
from edgesim.scenario import ScenarioFile, load_scenario
from edgesim.scenario.design import Option
from edgesim.studies.ensemble import run_forecast

HERE = Path(__file__).parent
ROOT = HERE.parent
DEMO = ROOT / "configs" / "demo.toml"
GRID = {
    "site.shore_length": 64.0,
    "run.cell_size": 0.5,
    "run.seaward_width": 24.0,
    "run.landward_width": 24.0,
    "run.water_level_bins": 6,
    "run.wake_classes": 3,
    "run.years": 10,
    "run.members": 1,
}
"""128 cells along the shore, 96 across, 6 levels of 3 classes of wakes and 1 of wind: 24."""

ENSEMBLES = (12, 40)
"""Members of the demonstration, four options of ten years each."""

BOTH = Option(name="walls and reef", walls=True, reef=True)
NONE = Option(name="no action")


@dataclass(frozen=True)
class Timing:
    """Seconds of one kind of work: the fastest of several and the median, wall and processor."""

    repeats: int
    wall_best: float
    wall_median: float
    processor_best: float
    processor_median: float


def clock(work: Callable[[], object]) -> tuple[float, float]:
    """Wall and processor seconds of one call."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def summary(times: list[tuple[float, float]]) -> Timing:
    """Best and median of several calls."""
    walls, processors = (sorted(column) for column in zip(*times, strict=True))
    return Timing(
        len(times),
        walls[0],
        statistics.median(walls),
        processors[0],
        statistics.median(processors),
    )


def timed(work: Callable[[], object], repeats: int) -> Timing:
    """Time several calls after one that warms up."""
    work()
    return summary([clock(work) for _ in range(repeats)])


def alternately(works: dict[str, Callable[[], object]], repeats: int) -> dict[str, Timing]:
    """Time several kinds of work in turn, so that all meet the same neighbours."""
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in works}
    for work in works.values():
        work()
    for _ in range(repeats):
        for name, work in works.items():
            times[name].append(clock(work))
    return {name: summary(found) for name, found in times.items()}


def march_arguments(member: Member) -> dict[str, Any]:
    """Arguments of the march for a year's waves on the first day."""
    return {
        "bed": member.state.bed,
        "platform": member.state.platform,
        "edge": member.state.edge,
        "cover": member.state.shoots,
        "dx": member.edge_settings.dx,
        "levels": levels_of(member, 0),
        "level_width": member.weather.bin_width,
        "counts": member.weather.tally[:365].sum(axis=0),
        "tables": member.tables,
        "wall": member.walls.field,
        "reef": member.reef.field,
        "with_wall": member.walls.stands,
        "with_reef": member.reef.stands,
        "critical_stress": member.edge_settings.critical_stress,
        "level_decay": member.level_decay,
    }


def re_solve(member: Member, arguments: dict[str, Any]) -> None:
    """Bring both lines up to water and condition, and solve the field from the shared tables."""
    flood_lines(member, 0)
    raise_lines(member, 0)
    solve_waves(**arguments, result=member.work.waves)


def march_measured(member: Member) -> dict[str, Any]:
    """Speed of the compiled march over its numpy twins, and how well they agree."""
    flood_lines(member, 0)
    raise_lines(member, 0)
    arguments = march_arguments(member)
    result = member.work.waves
    works: dict[str, Callable[[], object]] = {
        "compiled": lambda: [solve_waves(**arguments, result=result) for _ in range(20)],
        "numpy_single": lambda: march(**arguments, kind=np.float32),
        "numpy_double": lambda: march(**arguments, kind=np.float64),
    }
    times = alternately(works, 9)
    solve_waves(**arguments, result=result)
    twin = march(**arguments, kind=np.float64)
    gaps = {
        name: float(np.abs(getattr(twin, name) - getattr(result, name)).max())
        / float(np.abs(getattr(twin, name)).max())
        for name in twin._fields
    }
    one = times["compiled"].processor_median / 20
    resolved = timed(lambda: re_solve(member, arguments), 9).processor_median
    cells = int((member.state.edge / member.edge_settings.dx + 0.5).astype(int).sum())
    combinations = arguments["counts"].size
    return {
        "seconds_compiled": one,
        "seconds_numpy_single": times["numpy_single"].processor_median,
        "seconds_numpy_double": times["numpy_double"].processor_median,
        "ratio_to_numpy_single": times["numpy_single"].processor_median / one,
        "ratio_to_numpy_double": times["numpy_double"].processor_median / one,
        "nanoseconds_a_cell_level_and_class": 1e9 * one / (cells * combinations),
        "milliseconds_a_level_and_class": 1e3 * one / combinations,
        "milliseconds_with_lines_brought_up_to_date": 1e3 * resolved / combinations,
        "wanted_milliseconds_at_most": 0.2,
        "largest_gap_to_numpy_double": gaps,
    }


def member_measured(scenario_file: ScenarioFile, common: Common) -> dict[str, Any]:
    """Seconds of the parts of one ten-year member."""
    forcing = member_forcing(scenario_file, common, 0)
    calibration = calibrate(forcing, common)
    works: dict[str, Callable[[], object]] = {
        "weather": lambda: member_forcing(scenario_file, common, 0),
        "calibration": lambda: calibrate(forcing, common),
        "option_no_action": lambda: run_option(forcing, calibration, common, NONE),
        "option_walls_and_reef": lambda: run_option(forcing, calibration, common, BOTH),
    }
    return {name: asdict(timing) for name, timing in alternately(works, 5).items()}


def busy_seconds() -> float:
    """Processor seconds that the whole machine has spent (Linux; not-a-number elsewhere)."""
    place = Path("/proc/stat")
    if not place.exists():
        return math.nan
    user, nice, system = (int(word) for word in place.read_text().split()[1:4])
    return (user + nice + system) / os.sysconf("SC_CLK_TCK")


def ensemble_clock(members: int, workers: int) -> dict[str, float]:
    """Wall seconds of an ensemble of the demonstration, and the cores that others kept busy."""
    ensemble = load_scenario(DEMO).overridden(members=members)
    own, busy = sum(os.times()[:4]), busy_seconds()
    wall, _ = clock(partial(run_forecast, ensemble, workers))
    own, busy = sum(os.times()[:4]) - own, busy_seconds() - busy
    return {"wall": wall, "processor": own, "cores_of_others": (busy - own) / wall}


def workers_measured() -> dict[str, Any]:
    """Seconds of a small and a usual ensemble by one and by two worker processes.

    The speed-up holds start-up and set-up; that of the further members alone does not. Both say
    something only where others left a core free.
    """
    times = {n: {w: ensemble_clock(n, w) for w in (1, 2)} for n in ENSEMBLES}
    few, many = times.values()
    further = [many[workers]["wall"] - few[workers]["wall"] for workers in (1, 2)]
    return {
        "times": {
            f"{members}_members": {
                "one_worker": found[1],
                "two_workers": found[2],
                "speed_up": found[1]["wall"] / found[2]["wall"],
            }
            for members, found in times.items()
        },
        "speed_up_of_further_members": further[0] / further[1],
    }


def process_clock(arguments: list[str], **variables: str) -> tuple[float, float]:
    """Wall and processor seconds of a process of its own."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)} | variables
    command = [sys.executable, *arguments]
    before, started = os.times(), time.perf_counter()
    subprocess.run(command, env=environment, capture_output=True, check=True)
    wall, after = time.perf_counter() - started, os.times()
    user = after.children_user - before.children_user
    return wall, user + after.children_system - before.children_system


def start_measured() -> dict[str, Any]:
    """Seconds until the help is on the screen, against a bare interpreter."""
    programs = {"interpreter": ["-c", "pass"], "help": ["-m", "edgesim", "--help"]}
    times = {
        name: summary([process_clock(program) for _ in range(7)])
        for name, program in programs.items()
    }
    return {name: asdict(timing) for name, timing in times.items()}


def compile_measured() -> dict[str, Any]:
    """Seconds that a first forecast takes longer than a later one, with an empty cache."""
    short = load_scenario(DEMO).overridden(years=1, members=1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "short.toml"
        path.write_text(short.resolved_toml(), encoding="utf-8")
        program = (
            "from edgesim.scenario import load_scenario\n"
            "from edgesim.studies.ensemble import run_forecast\n"
            f"run_forecast(load_scenario({str(path)!r}), 1)"
        )
        cache = {"NUMBA_CACHE_DIR": str(Path(folder) / "cache")}
        cold = summary([process_clock(["-c", program], **cache)])
        warm = summary([process_clock(["-c", program], **cache) for _ in range(3)])
    return {
        "cold_run": asdict(cold),
        "warm_run": asdict(warm),
        "compile_wall": cold.wall_best - warm.wall_best,
        "compile_processor": cold.processor_best - warm.processor_best,
    }


def machine() -> dict[str, Any]:
    """What the numbers were measured on, and how busy it was."""
    lines = Path("/proc/cpuinfo").read_text().splitlines() if Path("/proc/cpuinfo").exists() else []
    models = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return {
        "processor": models[0] if models else platform.processor(),
        "cores": os.cpu_count(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "numpy": version("numpy"),
        "numba": version("numba"),
        "load_average": list(os.getloadavg()) if hasattr(os, "getloadavg") else None,
        "time": datetime.now(UTC).isoformat(timespec="seconds"),
    }


def main() -> None:
    """Measure everything, print the table and write it beside this file."""
    results: dict[str, Any] = {"machine_before": machine()}
    scenario_file = load_scenario(DEMO).overridden(GRID)
    results["grid"] = GRID
    results["layout_set_up"] = asdict(timed(lambda: prepare(scenario_file), 3))
    common = prepare(scenario_file)
    member = set_up(member_forcing(scenario_file, common, 0), common, BOTH)
    results["march"] = march_measured(member)
    results["ten_year_member"] = member_measured(scenario_file, common)
    results["start"] = start_measured()
    results["compile"] = compile_measured()
    if "--quick" not in sys.argv:
        results["workers"] = workers_measured()
    results["machine_after"] = machine()
    text = json.dumps(results, indent=2) + "\n"
    (HERE / "results.json").write_text(text, encoding="utf-8")
    print(text, end="")


if __name__ == "__main__":
    main()
