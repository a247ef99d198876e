"""Mending the reef: what a visit does to spilled units, what it costs, and that the books close."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from edgesim.model.mending import Mending, mend_units, spans
from edgesim.model.prices import day_prices
from edgesim.model.settings import log_size
from edgesim.model.state import ENTRY, State
from edgesim.model.step import Member, run_until
from edgesim.model.walls import COST, DAY, HOURS, KIND, SHELL, UNITS, VISIT, plan_visit

Build = Callable[..., Member]
Make = Callable[..., Any]
YEAR = 365

SHORT = {
    "run.years": 3,
    "design.reef.mesh_coating_thickness": 1e-6,
    "design.reef.mesh_wire_diameter": 2e-4,
    "oysters.recruitment": 0.0,
    "prices.unit_mended": 70.0,
    "upkeep.hours_unit": 2.0,
}
"""Wire of some months, and no oysters that could hold a unit together."""

MENDED = {"upkeep.mend_reef": True, "upkeep.rule": "calendar", "upkeep.interval": 0.5}


@pytest.fixture(scope="module")
def built(small_scenario: Make, build_member: Build) -> Member:
    return build_member(small_scenario({**SHORT, **MENDED}), "reef only")


@pytest.fixture
def member(built: Member) -> Member:
    """The reef as built, with a state of its own."""
    return replace(built, state=State(*(array.copy() for array in built.state)))


def plan(member: Member) -> Mending:
    """Lives of the member, plain prices."""
    assert member.mending is not None
    return member.mending._replace(price_unit=70.0, price_shell=100.0, hours_unit=2.0)


def visited(member: Member, day: float) -> None:
    """Note a visit on a day, in the second row of the log."""
    member.state.visit[2] = day
    member.state.log[1, : SHELL + 1] = (day, VISIT, 500.0, 12.0, 0.0, 0.0, 0.0, 0.0)
    member.state.log_rows[0] = 2.0


def test_a_spilled_unit_is_filled_from_its_heap_and_then_with_fresh_shell(member: Member) -> None:
    """Quantities and money by hand."""
    state = member.state
    settings, mending = member.reef_settings, plan(member)
    volume = settings.built_height * settings.area
    state.spilled[:3] = 1.0
    state.unit_height[:3] = state.placed[:3] = (0.5, 0.9, 0.0)
    state.loose_shell[:3] = (0.2, 0.4, 0.0)
    state.cement[:] = 0.0
    visited(member, 40.0)
    mend_units(state, settings, mending, 40)
    assert state.unit_height[:3] == pytest.approx(1.0)
    assert state.placed[:3] == pytest.approx(1.0)
    assert state.loose_shell[:3] == pytest.approx((0.0, 0.3, 0.0))
    assert not state.spilled.any()
    # 0.3 of the first unit and all of the third are bought; the heap of the second is enough.
    shell = 1.3 * volume
    assert state.log[1, UNITS] == 3.0
    assert state.log[1, SHELL] == pytest.approx(shell)
    assert state.log[1, COST] == pytest.approx(500.0 + 3 * 70.0 + shell * 100.0)
    assert state.log[1, HOURS] == pytest.approx(12.0 + 3 * 2.0)
    assert state.ledger[ENTRY["shell_refilled"]] == pytest.approx(shell * settings.bulk_density)
    assert state.ledger[ENTRY["money_units"]] == pytest.approx(3 * 70.0 + shell * 100.0)
    # Each got the next container of its own.
    assert state.mesh_end[:3] == pytest.approx(40.0 + mending.mesh_lives[:3, 0])
    assert state.ring_end[:3] == pytest.approx(40.0 + mending.ring_lives[:3, 0])
    assert state.unit_life.sum() == 3.0


def test_what_oysters_hold_together_needs_no_new_wire(member: Member) -> None:
    state = member.state
    state.spilled[:] = 1.0
    state.unit_height[:] = 0.5
    state.cement[:] = 0.7
    visited(member, 40.0)
    mend_units(state, member.reef_settings, plan(member), 40)
    assert state.spilled.all()
    assert state.ledger[ENTRY["units_mended"]] == 0.0


def test_a_reef_is_mended_on_the_day_of_a_visit_and_on_no_other(member: Member) -> None:
    state, settings, mending = member.state, member.reef_settings, plan(member)
    state.spilled[:] = 1.0
    visited(member, 30.0)
    for first, end in ((16, 30), (31, 45)):
        assert list(spans(state, settings, mending, first, end)) == [(first, end)]
        assert state.spilled.all()
    # Until the day of the visit the reef ages as it lies, from then on mended.
    found = []
    for first, end in spans(state, settings, mending, 23, 37):
        found.append((first, end, bool(state.spilled.any())))
    assert found == [(23, 30, True), (30, 37, False)]
    state.spilled[:] = 1.0
    assert list(spans(state, settings, mending, 30, 44)) == [(30, 44)]
    assert not state.spilled.any()
    assert list(spans(state, settings, None, 30, 44)) == [(30, 44)]


def test_spilled_units_send_a_crew_after_the_delay(member: Member) -> None:
    settings = member.wall_settings._replace(
        rule=2, delay_days=30.0, last_day=1e9, reef_trigger=0.1, skipped=np.zeros(4, np.uint8)
    )
    assert [day for day in range(50) if plan_visit(member.state, settings, day, 0.0)] == []
    member.state.spilled[: int(0.2 * member.state.spilled.size) + 1] = 1.0
    came = [day for day in range(50, 120) if plan_visit(member.state, settings, day, 0.0) == VISIT]
    assert came[0] == 80
    assert member.state.visit[2] == came[-1]


@pytest.mark.parametrize("option", ["reef only", "walls and reef"])
@pytest.mark.parametrize("rule", ["none", "calendar", "trigger"])
def test_each_rule_mends_and_the_books_close(
    small_scenario: Make, build_member: Build, option: str, rule: str
) -> None:
    scenario = small_scenario({**SHORT, **MENDED, "upkeep.rule": rule})
    member = build_member(scenario, option)
    run_until(member, 0, 3 * YEAR)
    state, ledger = member.state, member.state.ledger
    mended = ledger[ENTRY["units_mended"]]
    assert (mended > 0.0) == (rule != "none")
    # Shell, units and money close; the log is the money, to the cent.
    assert state.residual.max() < 1e-9
    assert np.nansum(state.log[:, COST]) == pytest.approx(ledger[ENTRY["money_closing"]], abs=0.005)
    assert np.nansum(state.log[:, UNITS]) == mended == state.unit_life.sum()
    placed = np.nansum(state.log[:, SHELL]) * member.reef_settings.bulk_density
    assert placed == pytest.approx(ledger[ENTRY["shell_refilled"]], rel=1e-12)
    whole = ledger[ENTRY["units_opening"]] - ledger[ENTRY["units_spilled"]] + mended
    assert whole == (state.spilled == 0.0).sum()
    assert state.log_rows[0] <= log_size(scenario.central, 3 * YEAR)
    visits = state.log[state.log[:, KIND] == VISIT]
    assert np.all(np.diff(visits[:, DAY]) > 0.0)


def test_mending_keeps_the_reef_up_and_is_off_by_default(
    small_scenario: Make, build_member: Build
) -> None:
    left, kept = (
        build_member(small_scenario({**SHORT, **more}), "walls and reef") for more in ({}, MENDED)
    )
    for member in (left, kept):
        run_until(member, 0, 3 * YEAR)
    assert left.state.ledger[ENTRY["units_mended"]] == 0.0
    assert kept.state.unit_height.mean() > left.state.unit_height.mean() + 0.1
    # The draws of the first containers are those of the reef that is left alone.
    first = build_member(small_scenario(SHORT), "reef only").state.mesh_end
    again = build_member(small_scenario({**SHORT, **MENDED}), "reef only").state.mesh_end
    np.testing.assert_array_equal(first, again)


def test_the_price_of_a_new_cage_is_that_of_its_parts(small_scenario: Make) -> None:
    """By hand: a cage of 1 x 0.5 x 0.5 m has faces of 2.5 m2 and 8 m of edges."""
    scenario = small_scenario(
        {
            "design.reef.unit_length": 1.0, "design.reef.unit_width": 0.5, "design.reef.unit_height": 0.5,
            "work.waste": 0.1, "work.ring_spacing": 0.1, "work.volunteer_share": 0.25, "upkeep.hours_unit": 2.0,
        }
    ).central  # fmt: skip
    price = {item.name: item.price for item in scenario.prices.book}
    paid = day_prices(scenario)
    parts = 2.5 * 1.1 * price["mesh"] + 80 * price["rings"]
    assert paid.unit == pytest.approx(1.1 * parts + 0.75 * 2.0 * price["labour"])
    assert paid.volunteer_unit == pytest.approx(0.25 * 2.0 * price["volunteer hour"])
    assert paid.shell == pytest.approx(1.1 * price["shell"])
