"""Stability screens of a design: ok, look closer or engineer, with the numbers; never a design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from edgesim.model.stability import Screen, member_screens
from edgesim.outcomes.dataset import write_table
from edgesim.scenario import ScenarioFile

MEMBERS = 40
"""Members that are looked at."""

OK, LOOK, ENGINEER = "ok", "look closer", "engineer"

LIMITS = {
    "posts of a full wall": ("N", 2.0, 1.0),
    "posts of a full wall, dug out at its ends": ("N", 2.0, 1.0),
    "bare posts": ("N", 2.0, 1.0),
    "sliding of a unit": ("N", 1.5, 1.0),
    "bearing of a unit on mud": ("Pa", 3.0, 1.5),
}
"""Unit of each screen, and safety from which it is ok and below which it is for an engineer.

Posts: a factor of 2 to 2.5 is usual (read, textbook on Broms' method); bearing below 3 is a
warning; sliding and the lower ends are judgement. [1]
"""

SCOUR = "scour at wall ends"

SCOUR_LIMITS = (0.25, 0.50)
"""Hole up to which scour is ok, and from which it is for an engineer (judgement). [m]"""

WEAK_TAIL = 0.05
"""Share of the members that may be worse than the safety that decides. [1]"""


@dataclass(frozen=True, slots=True)
class ScreenRow:
    """One screen over `n` members: medians of what acts and resists, safety, verdict."""

    screen: str
    verdict: str
    unit: str
    acting: float
    resisting: float
    safety: float
    safety_p05: float
    ok_from: float
    engineer_below: float
    n: int


def screen_table(scenario_file: ScenarioFile, members: int | None = None) -> list[ScreenRow]:
    """Every stability screen of the design of a scenario.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    members : int, optional
        Members looked at; by default those of the run, at most `MEMBERS`.

    Returns
    -------
    list of ScreenRow
        Empty without a design. For scour ``acting`` is the depth of the hole, ``resisting``
        the depth at which no grip is left, and the limits are depths. [m]

    Notes
    -----
    Planning level, never a design: the verdict looks at the safety that all but one member in
    twenty exceed, so that doubt about the mud counts as well as its middle value.
    """
    n = members or min(MEMBERS, scenario_file.central.run.members)
    found: dict[str, list[Screen]] = {}
    for index in range(n):
        for name, screen in member_screens(scenario_file.member(index), index).items():
            found.setdefault(name, []).append(screen)
    return [_row(name, screens) for name, screens in found.items()]


def _row(name: str, screens: Sequence[Screen]) -> ScreenRow:
    acting, resisting = np.array(screens, dtype=np.float64).T
    safety = resisting / np.maximum(acting, 1e-9)
    low = float(np.quantile(safety, WEAK_TAIL))
    middle = (float(np.median(acting)), float(np.median(resisting)), float(np.median(safety)))
    if name == SCOUR:
        deep = float(np.quantile(acting, 1.0 - WEAK_TAIL))
        ok_to, engineer_from = SCOUR_LIMITS
        verdict = OK if deep < ok_to else LOOK if deep < engineer_from else ENGINEER
        return ScreenRow(name, verdict, "m", *middle, low, ok_to, engineer_from, len(screens))
    unit, ok_from, engineer_below = LIMITS[name]
    verdict = OK if low >= ok_from else LOOK if low >= engineer_below else ENGINEER
    return ScreenRow(name, verdict, unit, *middle, low, ok_from, engineer_below, len(screens))


def write_screens(rows: Sequence[ScreenRow], path: str | Path) -> None:
    """Write the screens as CSV."""
    write_table(rows, path)
