"""Walls and their upkeep: what one day does to posts, ties and fill, and what is decided."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.kernels import kernel
from edgesim.model.state import ENTRY, State
from edgesim.processes.wood import fill_lost_to

Floats = NDArray[np.float64]

PACKING_YEARS = 0.12
"""Time scale of the packing of new fill; most of it in 3 to 6 months (judgement). [year]"""

LOOSE_WASHING = 3.0
"""Factor on washing out where ties have failed or one post is lost (judgement). [1]"""

OPEN_WASHING = 12.0
"""Rate at which an open bay, with two posts lost, loses its fill (judgement). [year-1]"""

FULL_ENOUGH = 0.98
"""Fill height above which a visit adds nothing. [1]"""

NONE, CALENDAR, TRIGGER = 0, 1, 2
"""Upkeep rules."""

_REFILLED = ENTRY["fill_refilled"]
_DECAYED = ENTRY["fill_decayed"]
_WASHED = ENTRY["fill_washed_out"]
_MONEY_REFILL = ENTRY["money_refilled"]
_MONEY_POSTS = ENTRY["money_posts"]
_MONEY_VISITS = ENTRY["money_visits"]


class WallSettings(NamedTuple):
    """Numbers of one member for the walls and their upkeep.

    Attributes
    ----------
    base, built_height : float
        Level of the bed under the walls [m], height of the fill at build [m].
    volume : float64, (n_bays,)
        Fill volume of each bay at build. [m3]
    posts : int64, (n_bays, n)
        Posts of each bay.
    decay, washing : float
        Rates of rot and of washing out of sound bays. [year-1]
    packing : float
        Share of its height that fresh fill loses by packing. [1]
    post_lives : float64, (n_posts, n_lives)
        Life of each post and of those that replace it. [d]
    tie_lives : float64, (n_bays, n_lives)
        Life of the ties of each bay, and of those that replace them. [d]
    rule : int
        NONE, CALENDAR or TRIGGER.
    interval_days, delay_days, last_day : float
        Time between visits by the calendar; time from finding to repair; last day with money. [d]
    fill_trigger : float
        Mean fill height at which a visit is planned. [1]
    replace_posts : bool
        Whether lost posts are replaced.
    skipped : uint8, (n_visits,)
        1 for visits that do not take place.
    price_refill, price_post, price_visit : float
        [currency m-3], [currency], [currency]
    """

    base: float
    built_height: float
    volume: Floats
    posts: NDArray[np.int64]
    decay: float
    washing: float
    packing: float
    post_lives: Floats
    tie_lives: Floats
    rule: int
    interval_days: float
    delay_days: float
    last_day: float
    fill_trigger: float
    replace_posts: bool
    skipped: NDArray[np.uint8]
    price_refill: float
    price_post: float
    price_visit: float


@kernel
def fill_height(state: State, bay: int) -> float:
    """Height of a bay's fill over its height at build. [1]."""
    return float(state.fill_mass[bay] * (1.0 - state.fill_settled[bay]))


def fill_heights(state: State) -> Floats:
    """Height of every bay's fill over its height at build. [1]."""
    return state.fill_mass * (1.0 - state.fill_settled)


@kernel
def mean_fill_height(state: State) -> float:
    """Mean fill height of all bays. [1]."""
    total = 0.0
    for bay in range(state.fill_mass.size):
        total += fill_height(state, bay)
    return total / max(1, state.fill_mass.size)


@kernel
def lost_posts(state: State, settings: WallSettings, bay: int, day: float) -> int:
    """Posts of a bay that have failed."""
    lost = 0
    for i in range(settings.posts.shape[1]):
        if state.post_end[settings.posts[bay, i]] <= day:
            lost += 1
    return lost


@kernel
def plan_visit(state: State, settings: WallSettings, day: int) -> bool:
    """Decide whether a crew visits today, and plan the next visit.

    Parameters
    ----------
    state : State
        ``visit`` is written.
    settings : WallSettings
        Numbers of the member.
    day : int
        Days since the start. [d]

    Returns
    -------
    bool
        Whether the crew comes today.
    """
    if settings.rule == NONE or day > settings.last_day:
        return False
    if state.visit[0] == np.inf:
        if settings.rule == CALENDAR:
            state.visit[0] = settings.interval_days
        elif mean_fill_height(state) < settings.fill_trigger:
            state.visit[0] = day + settings.delay_days
    if day < state.visit[0]:
        return False
    # The calendar goes on from its own date, whatever the day of the visit.
    state.visit[0] = (
        state.visit[0] + settings.interval_days if settings.rule == CALENDAR else np.inf
    )
    decided = int(state.visit[1])
    state.visit[1] += 1.0
    return bool(settings.skipped[decided % settings.skipped.size] == 0)


@kernel
def age_walls(state: State, settings: WallSettings, day: int, crew_comes: bool) -> None:
    """Rot, wash out and repair every bay for one day.

    Failures spread: with its ties or one post gone a bay loses fill faster;
    with two posts gone it stands open.

    Parameters
    ----------
    state : State
        Fill, ties and posts are written, fill and money entries posted.
    settings : WallSettings
        Numbers of the member.
    day : int
        Days since the start. [d]
    crew_comes : bool
        Whether there is a visit today.
    """
    dt = 1.0 / DAYS_PER_YEAR
    for bay in range(state.fill_mass.size):
        lost = lost_posts(state, settings, bay, day)
        washing = settings.washing
        if lost >= 2:
            washing = OPEN_WASHING
        elif lost == 1 or state.tie_end[bay] <= day:
            washing *= LOOSE_WASHING
        decayed = state.fill_mass[bay] * fill_lost_to(dt, settings.decay, washing)
        washed = state.fill_mass[bay] * fill_lost_to(dt, washing, settings.decay)
        state.fill_mass[bay] -= decayed + washed
        state.ledger[_DECAYED] += decayed * settings.volume[bay]
        state.ledger[_WASHED] += washed * settings.volume[bay]
        state.fill_settled[bay] += (settings.packing - state.fill_settled[bay]) * (
            1.0 - np.exp(-dt / PACKING_YEARS)
        )
    if crew_comes:
        state.ledger[_MONEY_VISITS] += settings.price_visit
        repair_posts(state, settings, day)
        refill(state, settings, day)


@kernel
def repair_posts(state: State, settings: WallSettings, day: int) -> None:
    """Replace every lost post by one with a life of its own."""
    if not settings.replace_posts:
        return
    n_lives = settings.post_lives.shape[1]
    for post in range(state.post_end.size):
        if state.post_end[post] <= day:
            state.post_life[post] += 1.0
            life = int(state.post_life[post]) % n_lives
            state.post_end[post] = day + settings.post_lives[post, life]
            state.ledger[_MONEY_POSTS] += settings.price_post


@kernel
def refill(state: State, settings: WallSettings, day: int) -> None:
    """Top up every bay to its height at build and renew broken ties."""
    n_lives = settings.tie_lives.shape[1]
    for bay in range(state.fill_mass.size):
        if state.tie_end[bay] <= day:
            state.tie_life[bay] += 1.0
            life = int(state.tie_life[bay]) % n_lives
            state.tie_end[bay] = day + settings.tie_lives[bay, life]
        height = fill_height(state, bay)
        if height >= FULL_ENOUGH:
            continue
        added = 1.0 - height
        before = state.fill_mass[bay]
        state.fill_mass[bay] = before + added
        # Only the old fill has packed already.
        state.fill_settled[bay] *= before / (before + added)
        volume = added * settings.volume[bay]
        state.ledger[_REFILLED] += volume
        state.ledger[_MONEY_REFILL] += volume * settings.price_refill
