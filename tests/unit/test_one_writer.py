"""Every field of the state has one writer: the processes are run one by one and compared."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from edgesim.constants import SECONDS_PER_DAY
from edgesim.model import step
from edgesim.model.edge import exchange_mud, grow_plants, move_edge
from edgesim.model.reef import age_reef, grow_oysters
from edgesim.model.state import WRITES, State
from edgesim.model.step import Member, calm_share, flood_lines, raise_lines, run_until, solve
from edgesim.model.walls import age_walls, plan_visit

BOOKS = {"ledger", "residual"}
"""Fields to which every process posts, and the closing of the books."""

WINDOWS = 78
"""Three years of fortnights: long enough for ties, fill, mesh and visits to have moved."""


def changed(state: State, run: Callable[[], Any]) -> tuple[set[str], Any]:
    """Fields that a call changes, the books left out, and what the call returns."""
    before = {name: getattr(state, name).copy() for name in State._fields}
    result = run()
    moved = {
        name
        for name, values in before.items()
        if not np.array_equal(values, getattr(state, name), equal_nan=True)
    }
    return moved - BOOKS, result


class Traced:
    """Runs the windows of a member process by process and notes who writes what."""

    def __init__(self, member: Member) -> None:
        self.member = member
        self.written: dict[str, set[str]] = {}

    def call(self, function: Callable[..., Any], *arguments: Any) -> Any:
        moved, result = changed(
            self.member.state, lambda: function(self.member.state, *arguments)
        )
        self.written.setdefault(function.__name__, set()).update(moved)
        return result

    def outside(self, name: str, function: Callable[..., Any], *arguments: Any) -> Any:
        """Note a call that takes the member and must write no field at all."""
        moved, result = changed(self.member.state, lambda: function(self.member, *arguments))
        self.written.setdefault(name, set()).update(moved)
        return result

    def window(self, first_day: int, end: int) -> None:
        """One window in the order of ``step.run_window``."""
        member, weather = self.member, self.member.weather
        waves, settings = member.work.waves, member.edge_settings
        sea_level = float(weather.mean_sea_level[first_day])
        self.outside("raise_lines", raise_lines, first_day)
        self.outside("solve", solve, first_day, weather.tally[first_day:end].sum(axis=0))
        calm, seconds = calm_share(member), (end - first_day) * SECONDS_PER_DAY
        for day in range(first_day, end):
            self.call(
                move_edge,
                settings,
                waves.gain,
                weather.tally[day],
                waves.excess,
                seconds,
                day == first_day,
                member.work.retreat,
            )
            year, dry = weather.days.year_fraction[day], weather.dry_share
            month = weather.days.month[day]
            comes = self.call(plan_visit, member.wall_settings, day)
            self.call(age_walls, member.wall_settings, day, comes)
            self.call(grow_oysters, member.reef_settings, month, year, sea_level, dry, calm)
            self.call(age_reef, member.reef_settings, day, year, sea_level, dry)
        phase, length = float(weather.days.year_phase[first_day]), float(end - first_day)
        self.call(
            exchange_mud,
            settings,
            waves.excess,
            length,
            phase,
            sea_level,
            weather.dry_share,
            weather.flood_depth,
        )
        high = sea_level + weather.high_water
        self.call(
            grow_plants, settings, waves.edge_stress, length, sea_level, high, weather.dry_share
        )
        self.outside("settle_books", step.settle_books)


LIVELY = {
    "run.years": 3,
    "design.walls.post_life": 2.0,
    "design.walls.tie_coating_thickness": 1e-6,
    "design.walls.tie_wire_diameter": 2e-4,
    "design.reef.mesh_coating_thickness": 1e-6,
    "design.reef.mesh_wire_diameter": 2e-4,
    "marsh.band_low": 0.01,
    "marsh.band_high": 0.99,
    "marsh.seedling_stress": 50.0,
}
"""Short lives, and a flat that grass takes at once, so that every field moves."""


@pytest.fixture(scope="module")
def traced(small_scenario: Callable[..., Any], build_member: Callable[..., Any]) -> Traced:
    member = build_member(small_scenario(LIVELY), "walls and reef")
    flood_lines(member, 0)
    traced = Traced(member)
    for window in range(WINDOWS):
        traced.window(14 * window, 14 * window + 14)
    return traced


def test_every_field_has_a_writer_in_the_table() -> None:
    assert set(State._fields) - BOOKS == set(WRITES)


def test_each_process_writes_its_own_fields_and_no_others(traced: Traced) -> None:
    for process, fields in traced.written.items():
        assert fields <= {name for name, writer in WRITES.items() if writer == process}, process


def test_every_field_of_the_table_is_written_by_its_writer(traced: Traced) -> None:
    """Without this the test above would pass on processes that do nothing."""
    idle = {name for name, writer in WRITES.items() if name not in traced.written[writer]}
    assert idle == set()


def test_traced_windows_are_those_of_the_model(
    traced: Traced, small_scenario: Callable[..., Any], build_member: Callable[..., Any]
) -> None:
    """Process by process gives the same bytes as the day loop: none was left out."""
    member = build_member(small_scenario(LIVELY), "walls and reef")
    run_until(member, 0, 14 * WINDOWS)
    for name, values in zip(State._fields, member.state, strict=True):
        np.testing.assert_array_equal(values, getattr(traced.member.state, name), name)


def test_every_process_of_the_step_was_traced(traced: Traced) -> None:
    """Whatever the step hands the state to, by name, is in the trace."""
    source = inspect.getsource(step.run_window) + inspect.getsource(step.run_days.py_func)
    for process in set(WRITES.values()):
        assert f"{process}(" in source
        assert process in traced.written


def test_a_second_writer_would_be_found(traced: Traced) -> None:
    """The comparison sees a single bit in a single cell."""
    state = traced.member.state

    def meddle() -> None:
        state.bed[0, 0] = np.nextafter(state.bed[0, 0], np.inf)

    assert changed(state, meddle)[0] == {"bed"}
