"""The day loops: everything with a life of its own, one compiled loop for each.

Within a window neither of them reads what another writes, so that each runs
through all days of the window at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.calendar import Calendar
from edgesim.kernels import kernel
from edgesim.model.edge import EdgeSettings, move_edge
from edgesim.model.reef import ReefSettings, age_reef, grow_oysters, settle_on_wood
from edgesim.model.state import State
from edgesim.model.walls import WallSettings, age_walls, plan_visit

Floats = NDArray[np.float64]


@kernel
def wear_edge(
    state: State,
    tally: Floats,
    gain: Floats,
    edge: EdgeSettings,
    first_day: int,
    end: int,
    retreat: Floats,
) -> None:
    """Step the blocks of the edge through the days of a window."""
    for day in range(first_day, end):
        is_first = day == first_day
        move_edge(state, edge, gain, tally[day], is_first, retreat)


@kernel
def wear_walls(
    state: State,
    days: Calendar,
    dry_share: Floats,
    sea_level: float,
    transmission: float,
    reef: ReefSettings,
    wall: WallSettings,
    first_day: int,
    end: int,
) -> None:
    """Step posts, ties, fill and crew, and the oysters on the wood, through the days of a window."""
    for day in range(first_day, end):
        visit = plan_visit(state, wall, day, transmission)
        age_walls(state, wall, day, visit)
        year, month = days.year_fraction[day], days.month[day]
        settle_on_wood(state, reef, day, month, year, sea_level, dry_share)


@kernel
def grow_reef(
    state: State,
    days: Calendar,
    dry_share: Floats,
    sea_level: float,
    calm: float,
    washing: float,
    reef: ReefSettings,
    first_day: int,
    end: int,
) -> None:
    """Step oysters, shell and mesh of the reef through the days of a window."""
    for day in range(first_day, end):
        is_first = day == first_day
        year, month = days.year_fraction[day], days.month[day]
        grow_oysters(state, reef, day, month, year, sea_level, dry_share, calm, washing, is_first)
        age_reef(state, reef, day, year, sea_level, dry_share, washing)
