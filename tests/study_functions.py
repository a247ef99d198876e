"""Functions with known indices, run in the place of the model through the whole pipeline."""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from edgesim.errors import SolverError
from edgesim.outcomes.measures import YEARLY

UNIT = (
    "marsh.soil_density",
    "mud.concentration",
    "mud.settling_velocity",
    "oysters.recruitment",
    "traffic.level",
    "oysters.adult_mortality",
)
"""Paths of inputs that the tests borrow as x1, x2, ..."""


def _answer(value: float, years: int) -> dict[str, Any]:
    yearly = np.zeros((len(YEARLY), years + 1))
    yearly[YEARLY.index("land_kept")] = value
    return {"yearly": yearly, "takeover_year": float("nan")}


def _drawn(shared: Any, payload: dict[str, Any]) -> np.ndarray[Any, Any]:
    """Inputs as the scenario draws them, brought back to the unit interval."""
    base = shared.files[0]
    found = []
    for path in UNIT:
        if path in payload["shares"]:
            spread = base.distributions[path]
            low, high = spread.support
            found.append((spread.quantile(payload["shares"][path]) - low) / (high - low))
    return np.array(found)


def ishigami(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    x = np.pi * (2.0 * _drawn(shared, payload) - 1.0)
    value = np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])
    return _answer(float(value), shared.files[0].central.run.years)


def slow(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    time.sleep(0.03)
    return ishigami(shared, payload)


G_WEIGHTS = np.array([0.0, 1.0, 4.5, 9.0, 99.0, 99.0])


def sobol_g(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    x = _drawn(shared, payload)
    value = np.prod((np.abs(4.0 * x - 2.0) + G_WEIGHTS) / (1.0 + G_WEIGHTS))
    return _answer(float(value), shared.files[0].central.run.years)


WORDS = {"thin galvanised": 0.0, "galvanised": 3.0, "stainless": 1.0}


def words_and_counts(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    changes = payload["changes"]
    value = WORDS[changes["design.walls.ties"]] + float(changes["design.reef.rows"])
    return _answer(value, shared.files[0].central.run.years)


def by_formula(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    """Marsh kept of 3 m2 with one formula for wakes of planing boats, 0 with the other."""
    base = shared.files[0]
    (share,) = payload["shares"].values()
    word = base.at_shares(payload["shares"]).member(0).traffic.planing_formula
    assert word == base.distributions["traffic.planing_formula"].quantile(share)
    return _answer(3.0 * (word == "bhowmik"), base.central.run.years)


def sometimes_failing(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    x = _drawn(shared, payload)
    if x[0] > 0.97:
        message = "x1 is too large."
        raise SolverError(message)
    return _answer(float(x[0]), shared.files[0].central.run.years)


def chance_alone(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    noise = np.random.default_rng(payload["member"]).normal()
    return _answer(float(_drawn(shared, payload)[0] + noise), shared.files[0].central.run.years)


def by_gap_but_for_much_traffic(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    if payload["shares"].get("traffic.level", 0.5) > 0.9:
        message = "so much traffic cannot be."
        raise SolverError(message)
    return by_gap(shared, payload)


def by_gap(shared: Any, payload: dict[str, Any]) -> dict[str, Any]:
    """Marsh kept of 1 or 2 m2 by the gap alone, and a little by the traffic."""
    share = payload["shares"].get("traffic.level", 0.5)
    wide = payload["changes"]["design.walls.gap"] > 2.0
    return _answer(2.0 * wide + 0.1 * share, shared.files[0].central.run.years)
