"""What single bays and units do: visits by the calendar, shell after the mesh, settlers on dry tops."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_SIZE
from edgesim.model.records import Reach, record
from edgesim.model.reef import (
    ReefSettings,
    age_reef,
    arriving_recruits,
    crests,
    grow_oysters,
    settle_on_wood,
)
from edgesim.model.state import ENTRY, State
from edgesim.model.step import Member
from edgesim.model.walls import CALENDAR, VISIT, age_walls, plan_visit

Build = Callable[..., Member]
JANUARY, MAY, JUNE, JULY, AUGUST, SEPTEMBER = 0, 4, 5, 6, 7, 8


@pytest.fixture(scope="module")
def built(small_scenario: Callable[..., Any], build_member: Build) -> Member:
    return build_member(small_scenario(), "walls and reef")


@pytest.fixture
def member(built: Member) -> Member:
    """Walls and reef as built, with a state of their own."""
    return replace(built, state=State(*(array.copy() for array in built.state)))


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
    state.loose_shell[:] = 0.0
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
    assert member.state.loose_shell == pytest.approx(0.5, rel=0.01)


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


def _by_hand(member: Member, cement: float, **settings: Any) -> ReefSettings:
    """A unit a fifth above its height at build, three quarters of it placed shell, and a heap beside it."""
    state = member.state
    plain = {"reef_growth": 0.0, "is_solid": False, "shell_half_life": 5.0}
    numbers = member.reef_settings._replace(**{**plain, **settings})
    state.unit_height[:], state.placed[:], state.loose_shell[:] = 1.2, 0.9, 0.3
    state.spilled[:] = 0.0
    state.mesh_end[:] = state.ring_end[:] = 1e9
    state.oysters[:] = 0.0
    state.oysters[0] = -numbers.consolidation_density * np.log(1.0 - cement)
    return numbers


def _one_day(member: Member, settings: ReefSettings, dry: float, washing: float = 0.0) -> None:
    table = np.full(TABLE_SIZE, dry)
    age_reef(member.state, settings, 400, 400 / DAYS_PER_YEAR, 0.0, table, washing)


@pytest.mark.parametrize("ends", [None, "mesh_end", "ring_end"])
def test_shell_dissolves_by_how_far_wire_and_cement_cover_it(
    member: Member, ends: str | None
) -> None:
    """By hand: half in 5 years where water reaches it, in 30 inside cement; a fifth lies open in mesh."""
    settings, state, cement = _by_hand(member, 0.8), member.state, 0.8
    if ends:
        getattr(state, ends)[:] = 100.0
    before = state.ledger[ENTRY["shell_dissolved"]]
    _one_day(member, settings, 0.3)
    open_rate, covered_rate = np.log(2.0) / 5.0, np.log(2.0) / 30.0
    exposed = (1.0 - cement) * (0.2 if ends is None else 1.0)
    lost = 1.2 * (open_rate * exposed + covered_rate * cement) / DAYS_PER_YEAR
    heap = 0.3 * open_rate / DAYS_PER_YEAR
    assert 1.2 - state.unit_height == pytest.approx(lost, rel=1e-9)
    assert 0.3 - state.loose_shell == pytest.approx(heap, rel=1e-9)
    # Placed shell is three quarters of the unit and goes in that share.
    density = 0.75 * settings.bulk_density + 0.25 * settings.grown_density
    volume = settings.built_height * settings.area * state.unit_height.size
    mass = (lost * density + heap * settings.bulk_density) * volume
    assert state.ledger[ENTRY["shell_dissolved"]] - before == pytest.approx(mass, rel=1e-9)
    assert not state.spilled.any()


def test_waves_reach_a_fifth_of_a_spilled_unit_and_all_of_its_heap(member: Member) -> None:
    settings, state = _by_hand(member, 0.4, shell_half_life=1e12), member.state
    state.spilled[:] = 1.0
    state.mesh_end[:] = 100.0
    _one_day(member, settings, 0.3, washing=2.0)
    buried = np.log(2.0) / 30.0 * 0.4 / DAYS_PER_YEAR
    left = 1.2 * (1.0 - buried)
    washed = left * 0.6 * (1.0 - np.exp(-0.2 * 2.0 / DAYS_PER_YEAR))
    assert state.unit_height == pytest.approx(left - washed, rel=1e-9)
    assert state.loose_shell == pytest.approx(0.3 * np.exp(-2.0 / DAYS_PER_YEAR), rel=1e-9)


def test_a_crest_rises_by_the_parabola_times_its_cement(member: Member) -> None:
    """By hand: 3 cm a year at most, 0.8889 of it at 40 % in air (computed from the parabola)."""
    settings, state = _by_hand(member, 0.5, shell_half_life=1e12), member.state
    settings = settings._replace(reef_growth=0.03, exposure_low=0.10, exposure_high=0.55)
    state.shell_made[:] = 1e9
    before = float(state.unit_height[0])
    _one_day(member, settings, 0.40)
    buried = 1.2 * np.log(2.0) / 30.0 * 0.5 / DAYS_PER_YEAR
    rise = 0.03 * 0.8889 * 0.5 / DAYS_PER_YEAR / settings.built_height
    assert state.unit_height[0] - before + buried == pytest.approx(rise, rel=1e-3)
    # Grown shell is open: a fifth of its volume.
    assert settings.grown_density == pytest.approx(0.2 * 2500.0)


def test_a_unit_sinks_by_its_weight(member: Member) -> None:
    settings = member.reef_settings._replace(settlement=0.2, settlement_time=0.8, base=-0.5)
    member.state.unit_height[:] = 1.5
    expected = -0.5 - 0.2 * (1.0 - np.exp(-1.0 / 0.8)) + 1.5 * settings.built_height
    assert crests(member.state, settings, 1.0) == pytest.approx(expected, rel=1e-12)


def test_a_visit_renews_broken_ties_and_fills_to_the_height_at_build(member: Member) -> None:
    state = member.state
    settings = member.wall_settings._replace(decay=0.0, washing=0.0, packing=0.2)
    state.post_end[:] = 1e9
    state.fill_mass[:], state.fill_settled[:] = 0.8, 0.2
    state.tie_end[:] = 1e9
    state.tie_end[0] = 5.0
    age_walls(state, settings, 40, VISIT)
    # Only what had packed before has packed: the fresh fill stands at its full height.
    assert state.fill_mass * (1.0 - state.fill_settled) == pytest.approx(1.0)
    assert state.fill_mass == pytest.approx(1.16, abs=0.03)
    assert state.tie_end[0] == pytest.approx(40.0 + settings.tie_lives[0, 1])
    assert np.all(state.tie_end[1:] == 1e9)


def test_no_crew_comes_after_the_last_day_with_money(member: Member) -> None:
    settings = member.wall_settings._replace(
        rule=CALENDAR, interval_days=50.0, last_day=160.0, skipped=np.zeros(8, dtype=np.uint8)
    )
    came = [day for day in range(400) if plan_visit(member.state, settings, day, 0.0)]
    assert came == [50, 100, 150]


def _rates(member: Member, fresh: float = 0.0) -> ReefSettings:
    """Round rates a year by which oysters die and grow, and nothing that settles."""
    n_days = member.reef_settings.fresh_deaths.size
    return member.reef_settings._replace(
        suitability=np.zeros(n_days),
        fresh_deaths=np.full(n_days, fresh),
        adult_mortality=0.5,
        low_predation=1.5,
        heat_mortality=3.0,
        exposure_low=0.10,
        exposure_high=0.55,
        exposure_stop=0.75,
        growth_coefficient=1.2,
        asymptotic_height=0.09,
    )


DEATHS = pytest.mark.parametrize(
    ("month", "dry", "fresh", "low", "heat"),
    [
        (JANUARY, 0.30, 0.0, 0.0, 0.0),
        (JANUARY, 0.30, 5.0, 0.0, 0.0),
        (JANUARY, 0.10, 0.0, 0.75, 0.0),
        (JANUARY, 0.20, 0.0, 0.0, 0.0),
        (MAY, 0.70, 0.0, 0.0, 0.0),
        (JUNE, 0.70, 0.0, 0.0, 1.0),
        (AUGUST, 0.70, 0.0, 0.0, 1.0),
        (SEPTEMBER, 0.70, 0.0, 0.0, 0.0),
    ],
)
"""What a day kills with, by hand: fresh water as given; low on the shore 1.5 a year, none from a fifth
of the time in air (twice the 10 % at which reefs begin to grow); in summer 3 (0.70 - 0.55)/(1 - 0.55)."""


@DEATHS
def test_fresh_water_predators_and_summer_heat_kill_reef_oysters(
    member: Member, month: int, dry: float, fresh: float, low: float, heat: float
) -> None:
    """From given adults and spat of the season in a month without settlement; adults alone also age."""
    state, settings = member.state, _rates(member, fresh)
    state.oysters[0], state.oysters[1], state.shell_height[:2] = 200.0, 300.0, 0.03
    table = np.full(TABLE_SIZE, dry)
    grow_oysters(state, settings, 400, month, 1.1, 0.0, table, 1.0, 0.0, False)
    year = np.array([fresh + low + heat + 0.5, fresh + low + heat])
    left = np.array([200.0, 300.0]) * np.exp(-year / 365.25)
    assert state.oysters[:2] == pytest.approx(np.tile(left[:, None], state.oysters.shape[1]))


@DEATHS
def test_fresh_water_and_summer_heat_kill_oysters_on_the_wood(
    member: Member, month: int, dry: float, fresh: float, low: float, heat: float
) -> None:
    """As on the reef, without the predators of the low shore; the wood counts no first season apart."""
    state, settings = member.state, _rates(member, fresh)
    state.wood_oysters[:], state.fill_mass[:] = 100.0, 1.0
    settings = settings._replace(capacity=3000.0, wood=0.3)
    settle_on_wood(state, settings, 400, month, 1.1, 0.0, np.full(TABLE_SIZE, dry))
    assert state.wood_oysters == pytest.approx(100.0 * np.exp(-(0.5 + fresh + heat) / 365.25))


@pytest.mark.parametrize(("dry", "slowed"), [(0.0, 1.2), (0.375, 0.6), (0.75, 0.0)])
def test_oysters_grow_only_while_they_feed(member: Member, dry: float, slowed: float) -> None:
    """By hand: 1.2 a year under water, half of it halfway to the 75 % in air at which growth stops."""
    state = member.state
    state.oysters[0], state.shell_height[0] = 200.0, 0.03
    table = np.full(TABLE_SIZE, dry)
    grow_oysters(state, _rates(member), 400, JANUARY, 1.1, 0.0, table, 1.0, 0.0, False)
    rise = (0.09 - 0.03) * (1.0 - np.exp(-slowed / 365.25))
    assert state.shell_height[0] - 0.03 == pytest.approx(rise, rel=1e-9)


def test_the_spat_of_whole_years_is_the_recruits_of_these_years(member: Member) -> None:
    """Four years have 1461 days: with an even season they bring four times the recruits of a year."""
    settings = member.reef_settings._replace(
        recruitment=np.full(5, 4000.0), season=np.full(12, 1.0 / 12.0), suitability=np.ones(1)
    )
    days = np.arange(1461)
    arrived = sum(arriving_recruits(settings, int(day), JULY, int(day / 365.25)) for day in days)
    assert arrived == pytest.approx(4 * 4000.0, rel=1e-9)


def test_spat_of_the_season_cement_nothing(member: Member) -> None:
    """Cement is of oysters older than their first season; what is written down counts as the reef does."""
    state = member.state
    settings = member.reef_settings._replace(consolidation_density=500.0)
    counted = replace(member, reef_settings=settings)
    reach = Reach(first=10, last=40, outer_row=0, bed=state.bed, edge=state.edge, inland=0.0)
    for adults, cement in ((0.0, 0.0), (500.0, 0.6321)):
        state.oysters[0], state.oysters[1] = adults, 5000.0
        _one_day(member, settings, 0.3)
        assert state.cement == pytest.approx(cement, abs=1e-4)
        assert record(counted, reach, 400)["consolidation"] == pytest.approx(cement, abs=1e-4)


def _settling(member: Member) -> ReefSettings:
    """Settlers of an August day in which nobody dies or grows: 4000 a year, 28 % of them in the month,
    half for the salinity: 18.4 a square metre of loose shell in calm water."""
    return _rates(member)._replace(
        suitability=np.full(1, 0.5),
        recruitment=np.full(3, 4000.0),
        season=np.full(12, 0.28),
        substrate=1.5,
        wood=0.3,
        wave_factor=0.4,
        capacity=2000.0,
        adult_mortality=0.0,
        growth_coefficient=0.0,
    )


ARRIVING = 4000.0 * 0.28 * 12.0 / 365.25 * 0.5


def test_settlers_find_the_room_that_waves_substrate_and_the_living_leave(member: Member) -> None:
    """By hand: substrate 1.5; half of the wave energy kept away: halfway from 0.4 to 1; 600 of 2000 live
    there. Those that come have no size: the mean height of the year class falls as its number grows."""
    state = member.state
    state.oysters[0], state.oysters[1], state.shell_height[1] = 500.0, 100.0, 0.02
    dry = np.full(TABLE_SIZE, 0.3)
    grow_oysters(state, _settling(member), 400, AUGUST, 1.1, 0.0, dry, 0.5, 0.0, False)
    came = ARRIVING * 1.5 * 0.7 * 0.7
    assert state.oysters[1] == pytest.approx(100.0 + came, rel=1e-9)
    assert state.shell_height[1] == pytest.approx(0.02 * 100.0 / (100.0 + came), rel=1e-9)


def test_the_wood_holds_no_more_oysters_than_its_fill_has_room_for(member: Member) -> None:
    """By hand: wood 0.3, waves 0.4; at half the fill 0.3 x 2000 / 2 = 300 find room, and what is more
    goes with the wood; too dry, nobody comes."""
    state, settings = member.state, _settling(member)
    state.fill_mass[:], state.wood_oysters[:] = 0.5, 100.0
    state.wood_oysters[0] = 400.0
    settle_on_wood(state, settings, 400, AUGUST, 1.1, 0.0, np.full(TABLE_SIZE, 0.3))
    came = ARRIVING * 0.3 * 0.4 * (1.0 - 100.0 / 300.0)
    assert state.wood_oysters[0] == pytest.approx(300.0)
    assert state.wood_oysters[1:] == pytest.approx(100.0 + came, rel=1e-9)
    state.wood_oysters[:] = 0.0
    settle_on_wood(state, settings, 400, AUGUST, 1.1, 0.0, np.full(TABLE_SIZE, 0.75))
    assert np.all(state.wood_oysters == 0.0)


def test_oysters_make_the_shell_by_which_they_grow(member: Member) -> None:
    """By hand: a shell of h mm weighs 1.8e-3 h^2.35 g; found anew on the first day of a window only."""
    state, settings = member.state, _rates(member)
    dry = np.zeros(TABLE_SIZE)
    begun = {0: (200.0, 30.0), 1: (300.0, 10.0)}
    for cohort, (density, height) in begun.items():
        state.oysters[cohort], state.shell_height[cohort] = density, 1e-3 * height
    grow_oysters(state, settings, 400, JANUARY, 1.1, 0.0, dry, 1.0, 0.0, True)
    made = 0.0
    for cohort, (_, height) in begun.items():
        taller = height + (90.0 - height) * (1.0 - np.exp(-1.2 / 365.25))
        gained = 1.8e-6 * (taller**2.35 - height**2.35) * 365.25
        made += float(state.oysters[cohort, 0]) * gained
    assert state.shell_made == pytest.approx(made, rel=1e-9)
    grow_oysters(state, settings, 401, JANUARY, 1.1, 0.0, dry, 1.0, 0.0, False)
    assert state.shell_made == pytest.approx(made, rel=1e-9)


def test_a_solid_unit_loses_only_what_oysters_added(member: Member) -> None:
    """By hand: a fifth of its height was added; half of that in five years, the cemented part none."""
    settings = _by_hand(member, 0.4, is_solid=True)
    _one_day(member, settings, 0.3)
    lost = 0.2 * np.log(2.0) / 5.0 * 0.6 / DAYS_PER_YEAR
    assert 1.2 - member.state.unit_height == pytest.approx(lost, rel=1e-9)


@pytest.mark.parametrize(("cement", "spills"), [(0.68, True), (0.72, False)])
def test_a_unit_cemented_to_70_percent_outlasts_its_wire(
    member: Member, cement: float, spills: bool
) -> None:
    settings = _by_hand(member, cement)
    member.state.mesh_end[:] = 100.0
    _one_day(member, settings, 0.3)
    assert np.all(member.state.spilled == float(spills))


def test_oysters_on_a_spilled_unit_go_with_what_is_not_cemented(member: Member) -> None:
    """By hand: waves reach a fifth of the unit; cemented to 0.4, six tenths of that goes with them."""
    state = member.state
    state.oysters[0], state.cement[:], state.spilled[:] = 200.0, 0.4, 1.0
    state.spilled[0] = 0.0
    dry = np.full(TABLE_SIZE, 0.3)
    grow_oysters(state, _rates(member), 400, JANUARY, 1.1, 0.0, dry, 1.0, 2.0, False)
    assert state.oysters[0, 0] == pytest.approx(200.0 * np.exp(-0.5 / 365.25), rel=1e-9)
    washed = 0.2 * 2.0 * 0.6
    assert state.oysters[0, 1:] == pytest.approx(200.0 * np.exp(-(0.5 + washed) / 365.25), rel=1e-9)


def test_a_wall_that_is_nearly_full_is_not_topped_up(member: Member) -> None:
    """From 98 % of the height at build on a visit adds nothing."""
    state = member.state
    settings = member.wall_settings._replace(decay=0.0, washing=0.0, packing=0.0)
    state.fill_mass[:], state.post_end[:], state.tie_end[:] = 0.985, 1e9, 1e9
    state.fill_mass[3] = 0.975
    age_walls(state, settings, 40, VISIT)
    assert np.all(np.delete(state.fill_mass, 3) == 0.985)
    assert state.fill_mass[3] == pytest.approx(1.0)
