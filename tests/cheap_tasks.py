"""Cheap functions that worker processes of the tests can import."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import numpy as np

from edgesim.errors import SolverError


def cheap(shared: dict[str, Any], payload: dict[str, Any]) -> dict[str, Any]:
    """Numbers that depend on the payload alone; leaves a mark in a folder when it has one."""
    number = int(payload["number"])
    if "marks" in shared:
        (Path(shared["marks"]) / f"{number}.{os.getpid()}").touch()
    time.sleep(shared.get("seconds", 0.0))
    if number in shared.get("bad", ()):
        message = f"number {number} is bad."
        raise SolverError(message)
    if number in shared.get("deadly", ()):
        os.kill(os.getpid(), 9)
    generator = np.random.default_rng((shared["seed"], number))
    return {"square": float(number**2), "series": generator.normal(size=50), "count": number}
