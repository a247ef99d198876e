"""The model with steps of half a day: the same compiled formulas, told that a year has 731 steps.

What crews decide and what the calendar says stays a matter of whole days; waves of a day are
shared evenly between its halves.
"""

from __future__ import annotations

from types import FunctionType, ModuleType
from typing import Any

import numba
import numpy as np
import pytest
from numba.core.registry import CPUDispatcher

from edgesim.model import edge, reef, step, walls

PER_DAY = 2


def retold(module: ModuleType) -> Any:
    """Kernels of a module, compiled anew with the shorter step wherever they know its length."""
    names = dict(vars(module))
    names["DAYS_PER_YEAR"] = names["DAYS_PER_YEAR"] * PER_DAY
    if "BURIAL_DAYS" in names:
        names["BURIAL_DAYS"] = names["BURIAL_DAYS"] * PER_DAY
    for name, kernel in list(names.items()):
        if isinstance(kernel, CPUDispatcher) and kernel.py_func.__module__ == module.__name__:
            old = kernel.py_func
            again = FunctionType(old.__code__, names, name, old.__defaults__)
            names[name] = numba.njit(error_model="numpy", inline="always")(again)
    return names


def halve_the_day(patch: pytest.MonkeyPatch) -> None:
    """Let every process with steps of a day take two of half a day."""
    of_walls, of_reef = retold(walls), retold(reef)

    def wear_edge(
        state: Any, tally: Any, gain: Any, settings: Any, first: int, end: int, retreat: Any
    ) -> None:
        for half in range(PER_DAY * first, PER_DAY * end):
            waves = np.ascontiguousarray(tally[half // PER_DAY] / PER_DAY)
            # Growth of the marsh is told by the day.
            grown = state.advance.copy()
            state.advance[:] = grown / PER_DAY
            edge.move_edge(state, settings, gain, waves, half == PER_DAY * first, retreat)
            state.advance[:] = grown

    def wear_walls(
        state: Any,
        days: Any,
        dry_share: Any,
        sea_level: float,
        transmission: float,
        reef_numbers: Any,
        wall_numbers: Any,
        first: int,
        end: int,
    ) -> None:
        for half in range(PER_DAY * first, PER_DAY * end):
            day = half // PER_DAY
            visit = 0
            if half % PER_DAY == 0:
                visit = walls.plan_visit(state, wall_numbers, day, transmission)
            of_walls["age_walls"](state, wall_numbers, day, visit)
            of_reef["settle_on_wood"](
                state, reef_numbers, day, days.month[day], days.year_fraction[day], sea_level, dry_share
            )  # fmt: skip

    def grow_reef(
        state: Any,
        days: Any,
        dry_share: Any,
        sea_level: float,
        calm: float,
        washing: float,
        numbers: Any,
        first: int,
        end: int,
    ) -> None:
        for half in range(PER_DAY * first, PER_DAY * end):
            day = half // PER_DAY
            year, month = days.year_fraction[day], days.month[day]
            of_reef["grow_oysters"](
                state, numbers, day, month, year, sea_level, dry_share, calm, washing,
                half == PER_DAY * first,
            )  # fmt: skip
            of_reef["age_reef"](state, numbers, day, year, sea_level, dry_share, washing)

    for loop in (wear_edge, wear_walls, grow_reef):
        patch.setattr(step, loop.__name__, loop)
