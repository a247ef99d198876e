"""What single bays and units do: visits by the calendar, shell after the mesh, settlers on dry tops."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from edgesim.forcing.water_levels import TABLE_SIZE
from edgesim.model.reef import age_reef, grow_oysters
from edgesim.model.state import ENTRY
from edgesim.model.step import Member
from edgesim.model.walls import CALENDAR, plan_visit

Build = Callable[..., Member]
JULY = 6


@pytest.fixture
def member(small_scenario: Callable[..., Any], build_member: Build) -> Member:
    return build_member(small_scenario(), "walls and reef")


@pytest.mark.parametrize(
    ("interval", "days", "visits"), [(1.0, 365, 364), (182.625, 1826, 9), (365.25, 1828, 5)]
)
def test_the_calendar_keeps_its_own_dates(
    member: Member, interval: float, days: int, visits: int
) -> None:
    # Visits fall due at whole multiples of the interval: floor((days - 1) / interval) of them.
    settings = member.wall_settings._replace(
        rule=CALENDAR, interval_days=interval, last_day=1e9, skipped=np.zeros(8, dtype=np.uint8)
    )
    came = [day for day in range(days) if plan_visit(member.state, settings, day, 0.0)]
    assert len(came) == int((days - 1) / interval) == visits
    due = interval * np.arange(1, visits + 1)
    assert np.all((np.array(came) >= due) & (np.array(came) < due + 1.0))


def _shell_lost(member: Member, mesh_end: float, adults: float) -> float:
    state, settings = member.state, member.reef_settings._replace(reef_growth=0.0, is_solid=False)
    state.unit_height[:] = 1.0
    state.spilled[:] = 0.0
    state.placed[:] = 1.0
    state.loose[:] = 0.0
    state.mesh_end[:] = mesh_end
    state.ring_end[:] = 1e9
    state.oysters[:] = 0.0
    state.oysters[0] = adults
    before = state.ledger[ENTRY["shell_dissolved"]]
    dry = member.weather.dry_share
    age_reef(state, settings, 400, 1.1, float(member.weather.mean_sea_level[0]), dry, 0.0)
    return float(state.ledger[ENTRY["shell_dissolved"]] - before)


def test_a_cemented_unit_goes_on_losing_shell_without_its_mesh(member: Member) -> None:
    many = 3.0 * member.reef_settings.consolidation_density  # cemented to 1 - exp(-3) = 0.95
    held, bare = _shell_lost(member, 1e9, many), _shell_lost(member, 100.0, many)
    assert 0.0 < held < bare
    assert not member.state.spilled.any()


def test_an_uncemented_unit_spills_half_when_its_mesh_fails(member: Member) -> None:
    settings = member.reef_settings
    lost = _shell_lost(member, 100.0, 0.0)
    whole = settings.built_height * settings.area * settings.bulk_density
    assert 0.0 < lost < 0.01 * whole * member.state.spilled.size
    assert member.state.spilled.all()
    assert member.state.unit_height == pytest.approx(0.5, rel=0.01)
    assert member.state.loose == pytest.approx(0.5, rel=0.01)


def test_settlement_fades_between_the_reefs_limit_and_where_oysters_stop(member: Member) -> None:
    settings = member.reef_settings
    settled = []
    shares = np.linspace(settings.exposure_low, settings.exposure_stop + 0.05, 60)
    for share in shares:
        member.state.oysters[:] = 0.0
        dry = np.full(TABLE_SIZE, share)
        grow_oysters(member.state, settings, 182, JULY, 0.5, 0.0, dry, 1.0, 0.0, False)
        settled.append(member.state.oysters[0].mean())
    found = np.array(settled)
    inside = shares <= settings.exposure_high
    assert found[inside] == pytest.approx(found[0])
    assert np.all(found[shares >= settings.exposure_stop] == 0.0)
    # No jump: a step of exposure changes settlement by no more than its share of the fade.
    fade = (shares[1] - shares[0]) / (settings.exposure_stop - settings.exposure_high)
    assert np.abs(np.diff(found)).max() <= found[0] * fade * 1.01
