"""Every field of the state has one writer: the step runs process by process and is watched."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from edgesim.model import days, mending, step
from edgesim.model.state import WRITES, State
from edgesim.model.step import Member, run_until

BOOKS = {"ledger", "residual", "log"}
"""Fields to which every process posts, and the closing of the books."""

DAYS = 740
"""Two years: long enough for ties, fill, mesh and visits to have moved."""

READERS = (
    "raise_lines",
    "flood_lines",
    "solve",
    "calm_share",
    "settle_books",
    "share_lost",
    "loose_washing",
    "wall_kt",
)
"""Other functions of the step that are handed the state or the member."""


class Watch:
    """Compares the state around every call and notes who wrote what."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.before = self.copy()
        self.written: dict[str, set[str]] = {}
        self.calls: dict[str, int] = {}

    def copy(self) -> dict[str, Any]:
        return {name: getattr(self.state, name).copy() for name in State._fields}

    def note(self, writer: str) -> None:
        """Charge all changes since the last note to a writer."""
        moved = {
            name
            for name, values in self.before.items()
            if not np.array_equal(values, getattr(self.state, name), equal_nan=True)
        }
        self.written.setdefault(writer, set()).update(moved - BOOKS)
        self.before = self.copy()

    def wrapped(
        self, name: str, function: Callable[..., Any], counted: str | None = None
    ) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            self.note("the step itself")
            result = function(*arguments, **named)
            self.note(name)
            self.calls[counted or name] = self.calls.get(counted or name, 0) + 1
            return result

        return call


LIVELY = {
    "run.years": 3,
    "upkeep.mend_reef": True,
    "design.walls.post_life": 2.0,
    "design.walls.tie_coating_thickness": 1e-6,
    "design.walls.tie_wire_diameter": 2e-4,
    "design.reef.mesh_coating_thickness": 1e-6,
    "design.reef.mesh_wire_diameter": 2e-4,
    "marsh.band_low": 0.01,
    "marsh.band_high": 0.99,
    "marsh.seedling_stress": 50.0,
    "marsh.dry_days": 0.0,
}
"""Short lives, and a flat that grass takes at once, so that every field moves."""


def lively(small_scenario: Callable[..., Any], build_member: Callable[..., Any]) -> Member:
    """One unit lies under mud with oysters on it, so that burial has something to kill."""
    member: Member = build_member(small_scenario(LIVELY), "walls and reef")
    state, reef = member.state, member.reef_settings
    state.bed[reef.row[0], reef.place[0]] = reef.base + reef.built_height + 0.05
    state.oysters[0, 0], state.shell_height[0, 0] = 100.0, 0.05
    return member


@pytest.fixture(scope="module")
def watched(
    small_scenario: Callable[..., Any], build_member: Callable[..., Any]
) -> tuple[Watch, Member]:
    """Two years in which the day loop runs in Python, each process by a watched call."""
    member = lively(small_scenario, build_member)
    watch = Watch(member.state)
    with pytest.MonkeyPatch.context() as patch:
        for loop in ("wear_edge", "wear_walls", "grow_reef"):
            patch.setattr(step, loop, getattr(step, loop).py_func)
        for name in (*sorted(set(WRITES.values())), *READERS):
            place = days if hasattr(days, name) else step
            patch.setattr(place, name, watch.wrapped(name, getattr(place, name)))
        # What the crew does to the reef is part of its ageing.
        crew = watch.wrapped("age_reef", mending.mend_units, "mend_units")
        patch.setattr(mending, "mend_units", crew)
        run_until(member, 0, DAYS)
    watch.note("the step itself")
    return watch, member


def test_every_field_has_a_writer_in_the_table() -> None:
    assert set(State._fields) - BOOKS == set(WRITES)


def test_each_process_writes_its_own_fields_and_no_others(watched: tuple[Watch, Member]) -> None:
    for process, fields in watched[0].written.items():
        assert fields <= {name for name, writer in WRITES.items() if writer == process}, process


def test_every_field_of_the_table_is_written_by_its_writer(watched: tuple[Watch, Member]) -> None:
    """Without this the test above would pass on processes that do nothing."""
    idle = {name for name, writer in WRITES.items() if name not in watched[0].written[writer]}
    assert idle == set()


def test_every_process_ran_every_day_or_every_window(watched: tuple[Watch, Member]) -> None:
    calls, windows = watched[0].calls, -(-DAYS // watched[1].window_days)
    daily = ("move_edge", "plan_visit", "age_walls", "grow_oysters", "age_reef")
    assert {name: calls[name] for name in daily} == dict.fromkeys(daily, DAYS)
    seldom = ("raise_lines", "solve", "exchange_mud", "grow_plants", "settle_books")
    assert {name: calls[name] for name in seldom} == dict.fromkeys(seldom, windows)
    assert calls["mend_units"] >= 1


def test_watched_run_is_that_of_the_compiled_day_loop(
    watched: tuple[Watch, Member],
    small_scenario: Callable[..., Any],
    build_member: Callable[..., Any],
) -> None:
    """Watching changes nothing: every field ends with the same bytes."""
    member = lively(small_scenario, build_member)
    run_until(member, 0, DAYS)
    for name in State._fields:
        values, seen = getattr(member.state, name), getattr(watched[1].state, name)
        np.testing.assert_array_equal(values, seen, name)


def test_a_second_writer_would_be_found(
    small_scenario: Callable[..., Any], build_member: Callable[..., Any]
) -> None:
    """The watch sees the smallest change of a single cell."""
    state = build_member(small_scenario(), "walls and reef").state
    watch = Watch(state)

    def meddle() -> None:
        state.bed[0, 0] = np.nextafter(state.bed[0, 0], np.inf)

    watch.wrapped("meddle", meddle)()
    assert watch.written["meddle"] == {"bed"}
