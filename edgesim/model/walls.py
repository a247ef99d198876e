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

OPEN_FILL = 0.1
"""Fill height below which a bay stands open (judgement). [1]"""

SCOUR_YEARS = 0.5
"""Time scale in which a hole at a post forms, or fills again (judgement). [year]"""

NONE, CALENDAR, TRIGGER = 0, 1, 2
"""Upkeep rules."""

BUILD, VISIT, SKIPPED = 0, 1, 2
"""Kinds of rows of the upkeep log; the order of ``names.LOG_KINDS``."""

DAY, KIND, COST, HOURS, POSTS, VOLUME, UNITS, SHELL = range(8)
"""Columns of the upkeep log."""

LOG_COLUMNS = 8

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
    fill_trigger, kt_trigger, posts_trigger, reef_trigger : float
        Mean fill height below which, Kt above which and shares of posts lost and of reef units
        spilled at which a visit is planned; inf where Kt, posts or reef do not call for one. [1]
    replace_posts : bool
        Whether lost posts are replaced.
    skipped : uint8, (n_visits,)
        1 for visits that do not take place.
    price_refill, price_post, price_visit : float
        [currency m-3], [currency], [currency]
    hours_refill, hours_post, hours_visit : float
        Work. [h m-3], [h], [h]
    post_bays : int64, (n_posts, 2)
        Bays on both sides of each post, -1 where the wall ends.
    opening_scour : float
        Depth to which waves dig out a post for each side on which it is open. [m]
    scour_held, scour_held_in_storm : float64, (n_posts, n_ages)
        Depth of scour at which the largest load fells the post, by the share of its life behind it. [m]
    storm : uint8, (n_days,)
        1 on the days of a storm.
    broken_day, broken_bay : int64, (n_events,)
        Bays that break on a known day.
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
    kt_trigger: float
    posts_trigger: float
    reef_trigger: float
    replace_posts: bool
    skipped: NDArray[np.uint8]
    price_refill: float
    price_post: float
    price_visit: float
    hours_refill: float
    hours_post: float
    hours_visit: float
    post_bays: NDArray[np.int64]
    opening_scour: float
    scour_held: Floats
    scour_held_in_storm: Floats
    storm: NDArray[np.uint8]
    broken_day: NDArray[np.int64]
    broken_bay: NDArray[np.int64]


def fill_heights(state: State) -> Floats:
    """Height of every bay's fill over its height at build. [1]."""
    return state.fill_mass * (1.0 - state.fill_settled)


@kernel
def mean_fill_height(state: State) -> float:
    """Mean fill height of all bays. [1]."""
    total = 0.0
    for bay in range(state.fill_mass.size):
        total += state.fill_mass[bay] * (1.0 - state.fill_settled[bay])
    return total / max(1, state.fill_mass.size)


# What is called for every bay or post takes the arrays that it reads: handing over the state costs
# more than the work.


@kernel
def lost_posts(post_end: Floats, posts: NDArray[np.int64], bay: int, day: float) -> int:
    """Posts of a bay that have failed."""
    lost = 0
    for i in range(posts.shape[1]):
        if post_end[posts[bay, i]] <= day:
            lost += 1
    return lost


@kernel
def share_lost(state: State, day: float) -> float:
    """Share of all posts that have failed. [1]."""
    lost = 0
    for post in range(state.post_end.size):
        if state.post_end[post] <= day:
            lost += 1
    return lost / max(1, state.post_end.size)


@kernel
def share_spilled(state: State) -> float:
    """Share of the reef units that have spilled. [1]."""
    total = 0.0
    for unit in range(state.spilled.size):
        total += state.spilled[unit]
    return total / max(1, state.spilled.size)


@kernel
def calls_for_visit(state: State, settings: WallSettings, day: int, transmission: float) -> bool:
    """Whether fill, Kt, posts or reef have passed the point at which a visit is planned."""
    if share_spilled(state) >= settings.reef_trigger:
        return True
    if state.fill_mass.size == 0:
        return False
    height = mean_fill_height(state)
    if height < settings.fill_trigger:
        return True
    # A wall that is full cannot be made denser.
    if transmission > settings.kt_trigger and height < FULL_ENOUGH:
        return True
    return settings.replace_posts and share_lost(state, day) >= settings.posts_trigger


@kernel
def plan_visit(state: State, settings: WallSettings, day: int, transmission: float) -> int:
    """Decide whether a crew visits today, and plan the next visit.

    Parameters
    ----------
    state : State
        ``visit`` is written.
    settings : WallSettings
        Numbers of the member.
    day : int
        Days since the start. [d]
    transmission : float
        Kt of the walls at mid tide. [1]

    Returns
    -------
    int
        VISIT when the crew comes today, SKIPPED when it should have, else 0.
    """
    if settings.rule == NONE or day > settings.last_day:
        return 0
    if state.visit[0] == np.inf:
        if settings.rule == CALENDAR:
            state.visit[0] = settings.interval_days
        elif calls_for_visit(state, settings, day, transmission):
            state.visit[0] = day + settings.delay_days
    if day < state.visit[0]:
        return 0
    # The calendar goes on from its own date, whatever the day of the visit.
    state.visit[0] = (
        state.visit[0] + settings.interval_days if settings.rule == CALENDAR else np.inf
    )
    decided = int(state.visit[1])
    state.visit[1] += 1.0
    if settings.skipped[decided % settings.skipped.size] != 0:
        return SKIPPED
    state.visit[2] = day
    return VISIT


@kernel
def age_walls(state: State, settings: WallSettings, day: int, visit: int) -> None:
    """Rot, wash out, scour and repair every bay for one day.

    Failures spread: with its ties or one post gone a bay loses fill faster; with
    two posts gone it stands open; beside an opening waves dig out the posts, which
    fall when the hole is as deep as they can bear.

    Parameters
    ----------
    state : State
        Fill, ties, posts and log are written, fill and money entries posted.
    settings : WallSettings
        Numbers of the member.
    day : int
        Days since the start. [d]
    visit : int
        VISIT, SKIPPED or 0, as from :func:`plan_visit`.
    """
    dt = 1.0 / DAYS_PER_YEAR
    for i in range(settings.broken_day.size):
        if settings.broken_day[i] == day:
            break_bay(state, settings, settings.broken_bay[i], day)
    # Sound, loose and open bays differ in their washing alone: what a day takes is worked out once.
    sound = day_losses(settings.decay, settings.washing, dt)
    loose = day_losses(settings.decay, settings.washing * LOOSE_WASHING, dt)
    opened = day_losses(settings.decay, OPEN_WASHING, dt)
    packs = 1.0 - np.exp(-dt / PACKING_YEARS)
    for bay in range(state.fill_mass.size):
        lost = lost_posts(state.post_end, settings.posts, bay, day)
        losses = sound
        if lost >= 2:
            losses = opened
        elif lost == 1 or state.tie_end[bay] <= day:
            losses = loose
        decayed = state.fill_mass[bay] * losses[0]
        washed = state.fill_mass[bay] * losses[1]
        state.fill_mass[bay] -= decayed + washed
        state.ledger[_DECAYED] += decayed * settings.volume[bay]
        state.ledger[_WASHED] += washed * settings.volume[bay]
        state.fill_settled[bay] += (settings.packing - state.fill_settled[bay]) * packs
        height = state.fill_mass[bay] * (1.0 - state.fill_settled[bay])
        is_open = lost >= 2 or height < OPEN_FILL
        state.bay_open[bay] = 1.0 if is_open else 0.0
    scour_posts(state, settings, day)
    if visit == VISIT:
        state.ledger[_MONEY_VISITS] += settings.price_visit
        posts = repair_posts(state, settings, day)
        volume = refill(state, settings, day)
        cost = settings.price_visit + posts * settings.price_post + volume * settings.price_refill
        hours = settings.hours_visit + posts * settings.hours_post + volume * settings.hours_refill
        write_log(state, day, visit, cost, hours, posts, volume)
    elif visit == SKIPPED:
        write_log(state, day, visit, 0.0, 0.0, 0.0, 0.0)


@kernel
def day_losses(decay: float, washing: float, years: float) -> tuple[float, float]:
    """Shares of its fill that a bay loses to rot and to washing in some time. [1]."""
    return fill_lost_to(years, decay, washing), fill_lost_to(years, washing, decay)


@kernel
def break_bay(state: State, settings: WallSettings, bay: int, day: int) -> None:
    """Take all posts and all fill from a bay, as a stray boat or log does."""
    for i in range(settings.posts.shape[1]):
        post = settings.posts[bay, i]
        state.post_end[post] = min(state.post_end[post], day)
    state.ledger[_WASHED] += state.fill_mass[bay] * settings.volume[bay]
    state.fill_mass[bay] = 0.0


@kernel
def scour_posts(state: State, settings: WallSettings, day: int) -> None:
    """Deepen or fill the hole at every post, and let fall those that it undermines."""
    in_storm = day < settings.storm.size and settings.storm[day] == 1
    approach = 1.0 - np.exp(-1.0 / DAYS_PER_YEAR / SCOUR_YEARS)
    n_lives = settings.post_lives.shape[1]
    table = settings.scour_held_in_storm if in_storm else settings.scour_held
    for post in range(state.post_end.size):
        sides = 0.0
        for side in range(2):
            bay = settings.post_bays[post, side]
            sides += 1.0 if bay < 0 else state.bay_open[bay]
        state.post_scour[post] += approach * (
            settings.opening_scour * sides - state.post_scour[post]
        )
        life = settings.post_lives[post, int(state.post_life[post]) % n_lives]
        worn = 0.0
        if 0.0 < life < np.inf:
            worn = min(1.0, max(0.0, 1.0 - (state.post_end[post] - day) / life))
        if state.post_scour[post] > bearable_scour(table, post, worn):
            state.post_end[post] = min(state.post_end[post], day)


@kernel
def bearable_scour(table: Floats, post: int, worn: float) -> float:
    """Depth of scour that a post can bear with some share of its life behind it. [m]."""
    last = table.shape[1] - 1
    place = worn * last
    rung = min(int(place), last - 1)
    low = table[post, rung]
    return float(low + (place - rung) * (table[post, rung + 1] - low))


@kernel
def write_log(
    state: State, day: int, kind: int, cost: float, hours: float, posts: float, volume: float
) -> None:
    """Add a row to the upkeep log; its size is that of the most visits that the rule allows."""
    row = int(state.log_rows[0])
    state.log_rows[0] += 1.0
    state.log[row, DAY] = day
    state.log[row, KIND] = kind
    state.log[row, COST] = cost
    state.log[row, HOURS] = hours
    state.log[row, POSTS] = posts
    state.log[row, VOLUME] = volume
    state.log[row, UNITS] = 0.0
    state.log[row, SHELL] = 0.0


@kernel
def repair_posts(state: State, settings: WallSettings, day: int) -> float:
    """Replace every lost post by one with a life of its own, driven below its hole; count them."""
    replaced = 0.0
    if not settings.replace_posts:
        return replaced
    n_lives = settings.post_lives.shape[1]
    for post in range(state.post_end.size):
        if state.post_end[post] <= day:
            state.post_life[post] += 1.0
            life = int(state.post_life[post]) % n_lives
            state.post_end[post] = day + settings.post_lives[post, life]
            state.post_scour[post] = 0.0
            state.ledger[_MONEY_POSTS] += settings.price_post
            replaced += 1.0
    return replaced


@kernel
def refill(state: State, settings: WallSettings, day: int) -> float:
    """Top up every bay to its height at build and renew broken ties; give the volume added. [m3]."""
    n_lives = settings.tie_lives.shape[1]
    total = 0.0
    for bay in range(state.fill_mass.size):
        if state.tie_end[bay] <= day:
            state.tie_life[bay] += 1.0
            life = int(state.tie_life[bay]) % n_lives
            state.tie_end[bay] = day + settings.tie_lives[bay, life]
        height = state.fill_mass[bay] * (1.0 - state.fill_settled[bay])
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
        total += volume
    return total
