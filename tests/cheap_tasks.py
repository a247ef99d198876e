"""Cheap tasks that worker processes of the tests can import, and a program that runs them."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from edgesim.errors import SolverError
from edgesim.studies import store
from edgesim.studies.runner import run_tasks
from edgesim.studies.study import Study, template_of


def cheap(shared: dict[str, Any], payload: dict[str, Any]) -> dict[str, Any]:
    """Numbers that depend on the payload alone; leaves its process's number in a folder if asked."""
    number = int(payload["number"])
    if "marks" in shared:
        (Path(shared["marks"]) / f"{number}.{os.getpid()}").touch()
    time.sleep(shared.get("seconds", 0.0))
    if number in shared.get("bad", ()):
        message = f"number {number} is bad."
        raise SolverError(message)
    if number in shared.get("wrong", ()):
        return {"square": 0.0}
    if number in shared.get("deadly", ()):
        os.kill(os.getpid(), signal.SIGKILL)
    generator = np.random.default_rng((7, number))
    return {
        "square": float(number**2),
        "series": generator.normal(size=20),
        "field": generator.normal(size=(120, 300)),
        "count": number,
    }


def cheap_study(tasks: int, seed: int = 1, **shared: Any) -> Study:
    """A study of cheap tasks: small chunks that many share, and large ones of one task each."""
    return Study(
        identity={"kind": "cheap", "seed": str(seed)},
        function=cheap,
        shared=shared,
        payloads=[{"number": number} for number in range(tasks)],
        template=template_of(cheap({}, {"number": 0})),
    )


def main() -> None:
    """Run or resume a study: folder of the store, folder of the marks, tasks, workers, scheduler."""
    path, marks, tasks, workers, *scheduler = sys.argv[1:]
    # Write at every chance, so that the process is often killed while it writes.
    store.FLUSH_SECONDS, store.WRITING_SHARE = 0.0, 1e9
    study = cheap_study(int(tasks), marks=marks, seconds=0.01, bad=(3,))
    run_tasks(
        study,
        Path(path),
        workers=int(workers),
        scheduler=scheduler[0] if scheduler else None,
        resume=True,
    )


def sign_in(shared: Any, part: int, parts: int) -> None:
    """Leave a mark for every part that is rehearsed."""
    (Path(shared["folder"]) / f"{part} of {parts}").touch()


def only_after_rehearsal(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    """Give the number of marks that are there when a task begins."""
    return {"value": float(len(list(Path(shared["folder"]).iterdir())))}
