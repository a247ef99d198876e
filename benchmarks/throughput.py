"""Measure the runner of studies, and write the table to ``throughput.json``.

Run ``python benchmarks/throughput.py`` (some ten minutes, best on an idle machine); ``--quick``
does a tenth of it. Nothing here is asserted. Rates in members per minute belong to the machine and
the moment; processor seconds and memory belong to the program.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

# One thread of linear algebra, before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import psutil
from speed import DEMO, busy_seconds, machine

from edgesim.scenario import load_scenario
from edgesim.studies.ensemble import forecast_study
from edgesim.studies.runner import run_tasks
from edgesim.studies.study import Quantity, Study

HERE = Path(__file__).parent
SCALE = 10 if "--quick" in sys.argv else 1

SMALL = {
    "run.years": 1,
    "run.cell_size": 1.0,
    "run.water_level_bins": 4,
    "run.wake_classes": 2,
    "traffic.level": 0.1,
}
"""The demonstration on a coarse grid for one year with few boats: four options in less than 0.1 s."""

FEW, MANY = 40 // SCALE + 2, 240 // SCALE
"""Members of the two studies whose difference leaves out start-up and set-up."""

TASKS = 20_000 // SCALE
LONG = 2_000 // SCALE
SAMPLES = 20


def nothing(_shared: None, payload: int) -> dict[str, float]:
    """A task that costs nothing."""
    return {"value": float(payload)}


class Workers:
    """Processor seconds and memory of the processes that do the tasks."""

    def __init__(self, workers: int) -> None:
        self.alone = workers == 1
        self.memory: list[tuple[int, list[float]]] = []

    def processes(self) -> list[psutil.Process]:
        """Give this process itself when it works alone, its children that compute otherwise."""
        me = psutil.Process()
        if self.alone:
            return [me]
        children = me.children(recursive=True)
        return [child for child in children if "spawn_main" in " ".join(child.cmdline())]

    def note(self, done: int) -> None:
        """Note the memory of each of them [MB]."""
        sizes = [process.memory_info().rss / 1e6 for process in self.processes()]
        self.memory.append((done, sizes))


def run(
    study: Study, workers: int, note: Callable[[int, int], None] | None = None
) -> dict[str, float]:
    """Wall and processor seconds of a study into a store on disk."""
    own, busy, began = sum(os.times()[:4]), busy_seconds(), time.perf_counter()
    client = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        store = run_tasks(study, Path(folder) / "store.zarr", workers=workers, progress=note)
        assert store.done.all()
    wall = time.perf_counter() - began
    own, busy = sum(os.times()[:4]) - own, busy_seconds() - busy
    return {
        "wall": wall,
        "processor": own,
        "processor_of_client": time.process_time() - client,
        "cores_of_others": (busy - own) / wall,
    }


def forecast(members: int) -> Study:
    """A small forecast."""
    return forecast_study(load_scenario(DEMO).overridden({**SMALL, "run.members": members}))


def rates() -> dict[str, Any]:
    """Members per minute and processor seconds a member, by one and two workers, start-up left out."""
    studies = {n: forecast(n) for n in (FEW, MANY)}
    run(studies[FEW], 2)  # compiles
    times = {w: {n: run(study, w) for n, study in studies.items()} for w in (1, 2)}
    found: dict[str, Any] = {"members": [FEW, MANY]}
    for workers, of in times.items():
        more = {key: of[MANY][key] - of[FEW][key] for key in of[FEW]}
        found[f"{workers}_workers"] = {
            "members_a_minute": 60.0 * (MANY - FEW) / more["wall"],
            "processor_seconds_a_member": more["processor"] / (MANY - FEW),
            "start_and_set_up": of[FEW]["wall"] - FEW * more["wall"] / (MANY - FEW),
            "cores_of_others": of[MANY]["cores_of_others"],
        }
    one, two = found["1_workers"], found["2_workers"]
    found["efficiency"] = two["members_a_minute"] / (2.0 * one["members_a_minute"])
    found["efficiency_of_processor"] = (
        one["processor_seconds_a_member"] / two["processor_seconds_a_member"]
    )
    return found


def overhead() -> dict[str, Any]:
    """Seconds that a task costs which does nothing: messages, batches and writing."""
    found = {}
    for workers in (1, 2):
        few, many = (
            run(
                Study({"kind": "nothing"}, nothing, None, range(n), {"value": Quantity()}),
                workers,
            )
            for n in (TASKS // 10, TASKS)
        )
        found[f"{workers}_workers"] = {
            key: (many[key] - few[key]) / (TASKS - TASKS // 10)
            for key in ("wall", "processor", "processor_of_client")
        }
    return {"tasks": TASKS, "seconds_a_task": found}


def memory() -> dict[str, Any]:
    """Memory of each of two workers in the course of many members."""
    workers = Workers(2)
    steps = {round(LONG * k / SAMPLES) for k in range(1, SAMPLES)} | {LONG - 1}

    def note(done: int, _: int) -> None:
        if done in steps:
            workers.note(done)

    times = run(forecast(LONG), 2, note)
    settled = [(done, sizes) for done, sizes in workers.memory if done >= LONG // 10]
    first, last = settled[0], settled[-1]
    return {
        "members": LONG,
        "wall": times["wall"],
        "cores_of_others": times["cores_of_others"],
        "megabytes_of_each_worker": workers.memory,
        "growth_megabytes": {
            "from_member": first[0],
            "to_member": last[0],
            "of_each": [b - a for a, b in zip(first[1], last[1], strict=True)],
        },
        "megabytes_of_this_process": psutil.Process().memory_info().rss / 1e6,
    }


def main() -> None:
    """Measure everything, print the table and write it beside this file."""
    results: dict[str, Any] = {"machine_before": machine(), "small_scenario": SMALL}
    results["rates"] = rates()
    results["overhead"] = overhead()
    results["memory"] = memory()
    results["machine_after"] = machine()
    text = json.dumps(results, indent=2) + "\n"
    (HERE / "throughput.json").write_text(text, encoding="utf-8")
    print(text, end="")


if __name__ == "__main__":
    main()
