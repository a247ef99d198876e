"""What the reef does over years: growth by exposure, a rising sea, mud, spat and wire.

The day loop of the model runs on the reef alone: no waves, mud and sea level given. The same
qualitative facts are known of the three-volume reef model after Jordan-Cooley, Lipcius, Shaw, Shen
and Shi (2011), which ``tests/published/test_shell.py`` holds for comparison; its equations are from
memory, so that only the direction of each fact is compared, never a number.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from edgesim.constants import DAYS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_SIZE, TABLE_STEP
from edgesim.model.reef import crests
from edgesim.model.state import ENTRY, State
from edgesim.model.step import Member, grow_reef
from edgesim.names import CEMENTED
from edgesim.processes.oysters import consolidation, reef_growth
from edgesim.processes.shell import HALF_LIFE_BURIED, loss_rate

YEARS = 15
STEP = 30


@pytest.fixture(scope="module")
def reef(small_scenario: Callable[..., Any], build_member: Callable[..., Any]) -> Member:
    """A reef alone, its wire for ever, without settlement into the mud or loss of shell."""

    def quiet(table: dict[str, Any]) -> None:
        for boats in table["traffic"]["classes"]:
            boats["passages_weekday"] = boats["passages_weekend"] = 1

    member = build_member(small_scenario({"run.years": YEARS + 1}, edit=quiet), "reef only")
    settings = member.reef_settings
    steady = np.full_like(settings.recruitment, 4000.0)
    member.state.mesh_end[:] = member.state.ring_end[:] = np.inf
    return replace(
        member,
        reef_settings=settings._replace(
            recruitment=steady,
            settlement=0.0,
            shell_half_life=1e9,
            grown_density=500.0,
            reef_growth=0.03,
            exposure_low=0.10,
            exposure_high=0.55,
            exposure_stop=0.75,
            adult_mortality=0.5,
            consolidation_density=500.0,
            capacity=3000.0,
            asymptotic_height=0.09,
            growth_coefficient=1.0,
            wave_factor=1.0,
        ),
    )


def grown(
    reef: Member,
    years: float = YEARS,
    *,
    sea_rise: float = 0.0,
    mud_rise: float = 0.0,
    washing: float = 0.0,
    dry: float | None = None,
    container_end: float = np.inf,
    state: State | None = None,
    **settings: Any,
) -> Member:
    """Run the reef from its build, or from a state; rates a year, exposure constant if given."""
    begun = State(*(array.copy() for array in (state or reef.state)))
    begun.mesh_end[:] = container_end
    member = replace(reef, state=begun, reef_settings=reef.reef_settings._replace(**settings))
    sea = float(member.weather.mean_sea_level[0])
    dry_share = np.full(TABLE_SIZE, dry) if dry is not None else member.weather.dry_share
    for first in range(0, int(years * DAYS_PER_YEAR), STEP):
        member.state.bed[:] += mud_rise * STEP / DAYS_PER_YEAR
        grow_reef(
            member.state,
            member.weather.days,
            dry_share,
            sea + sea_rise * first / DAYS_PER_YEAR,
            1.0,
            washing,
            member.reef_settings,
            first,
            first + STEP,
        )
    return member


def top(member: Member, years: float = YEARS) -> float:
    return float(crests(member.state, member.reef_settings, years).mean())


def live(member: Member) -> float:
    return float(member.state.oysters.sum(axis=0).mean())


def cement(member: Member) -> float:
    adults = float(member.state.oysters[:-1].sum(axis=0).mean())
    return consolidation(adults, member.reef_settings.consolidation_density)


def test_crest_grows_between_its_limits_only_and_best_between_20_and_40_percent(
    reef: Member,
) -> None:
    """Zero at 10 and 55 % in air, best at 20 to 40 % (read, Ridge et al., 2015, abstract)."""
    shares = np.array([0.02, 0.10, 0.15, 0.20, 0.325, 0.40, 0.50, 0.55, 0.65])
    start = reef.reef_settings.base + reef.reef_settings.built_height
    members = [grown(reef, 6, dry=share) for share in shares]
    rise = np.array([top(member, 6) - start for member in members])
    made = np.array([member.state.ledger[ENTRY["shell_grown"]] for member in members])
    outside = (shares <= 0.10) | (shares >= 0.55)
    assert np.all(made[outside] < 1e-9)
    # What is cemented still dissolves slowly: without growth the crest falls.
    assert np.all(rise[outside] < 0.0)
    assert 0.20 <= shares[np.argmax(rise)] <= 0.40
    assert rise.max() > 0.03


def test_reef_never_rises_faster_than_its_oysters_make_shell(reef: Member) -> None:
    fast = {"dry": 0.325, "reef_growth": 10.0}
    for recruits in (200.0, 1000.0):
        member = grown(reef, 6, recruitment=np.full(YEARS + 2, recruits), **fast)
        ledger, settings = member.state.ledger, member.reef_settings
        area = settings.area * member.state.unit_height.size
        # All shell ever made is at most that of every recruit at its full height of 90 mm: 70 g
        # (1.8e-3 * 90^2.35, the judged allometry), for six years and some.
        assert 0.0 < ledger[ENTRY["shell_grown"]] < 0.070 * recruits * 7.0 * area
    slow = grown(reef, 6, recruitment=np.full(YEARS + 2, 200.0), **fast)
    quick = grown(reef, 6, recruitment=np.full(YEARS + 2, 1000.0), **fast)
    assert top(slow, 6) < top(quick, 6)


def _exposure(member: Member, sea: float) -> float:
    ladder = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
    return float(np.interp(top(member) - sea, ladder, member.weather.dry_share))


def test_crest_follows_a_rising_sea_to_the_exposure_where_growth_equals_the_rise(
    reef: Member,
) -> None:
    rise, most = 0.06, 0.11
    member = grown(reef, sea_rise=rise, reef_growth=most, grown_density=1.0)
    sea = float(reef.weather.mean_sea_level[0]) + rise * YEARS
    exposure = _exposure(member, sea)
    growth = most * reef_growth(exposure, 0.10, 0.55) * cement(member)
    height = top(member) - member.reef_settings.base
    dissolving = loss_rate(HALF_LIFE_BURIED[1]) * cement(member) * height
    assert 0.10 < exposure < 0.55
    # Fifteen years, three times the time in which the crest finds its place: within a tenth.
    assert growth - dissolving == pytest.approx(rise, rel=0.10)


def test_crest_drowns_when_the_sea_rises_faster_than_it_can_grow(reef: Member) -> None:
    member = grown(reef, sea_rise=0.10, reef_growth=0.03)
    sea = float(reef.weather.mean_sea_level[0]) + 0.10 * YEARS
    assert _exposure(member, sea) < 0.10
    slow = grown(reef, sea_rise=0.004, reef_growth=0.03)
    sea = float(reef.weather.mean_sea_level[0]) + 0.004 * YEARS
    assert 0.10 < _exposure(slow, sea) < 0.55


HEIGHTS = np.array([0.05, 0.10, 0.15, 0.20, 0.30, 0.40, 0.55, 0.70])
"""Relief of the units. [m]"""


def persisting(
    reef: Member, mud_rise: float, growth: float, years: float = 10, supply: float = 4000.0
) -> list[bool]:
    """Whether oysters live on units of each relief after some years of rising mud."""
    settings = reef.reef_settings
    # All begin with their crest at the same, best exposure, so that only relief above the mud differs.
    level = settings.base + settings.built_height
    found = []
    for height in HEIGHTS:
        begun = State(*(array.copy() for array in reef.state))
        begun.bed[settings.row, settings.place] = level - height
        spat = np.full_like(settings.recruitment, supply)
        member = grown(
            reef,
            years,
            mud_rise=mud_rise,
            reef_growth=growth,
            dry=0.325,
            state=begun,
            recruitment=spat,
        )
        found.append(live(member) > 100.0)
    return found


def test_relief_decides_whether_a_reef_lives_and_mud_and_growth_move_the_threshold(
    reef: Member,
) -> None:
    alive = persisting(reef, 0.05, 0.03)
    # One flip from death to life as relief grows.
    assert alive == sorted(alive)
    assert not alive[0]
    assert alive[-1]
    more_mud, more_growth = persisting(reef, 0.08, 0.03), persisting(reef, 0.05, 0.06)
    assert more_mud == sorted(more_mud)
    assert more_growth == sorted(more_growth)
    assert sum(more_mud) < sum(alive) < sum(more_growth)


def test_outside_supply_is_needed_and_more_of_it_lowers_the_relief_that_lives(reef: Member) -> None:
    """Direction (read in the notes of Lipcius and others, 2021, larvae from outside and from the reef):
    without supply no reef lasts even in clear water; more supply needs less relief."""
    assert not any(persisting(reef, 0.0, 0.05, supply=0.0))
    scarce, usual, ample = (persisting(reef, 0.05, 0.05, supply=s) for s in (600.0, 1500.0, 8000.0))
    for alive in (scarce, usual, ample):
        assert alive == sorted(alive)
    assert sum(scarce) < sum(usual) < sum(ample)


def test_a_buried_reef_stays_dead_even_with_some_oysters_and_full_spat(reef: Member) -> None:
    settings = reef.reef_settings
    begun = State(*(array.copy() for array in reef.state))
    begun.bed[settings.row, settings.place] = settings.base + settings.built_height + 0.08
    begun.oysters[0], begun.shell_height[0] = 50.0, 0.03
    member = grown(reef, 5, dry=0.325, state=begun)
    assert live(member) < 1e-6 * 50.0  # not one in a million
    assert member.state.ledger[ENTRY["shell_grown"]] < 1.0


def test_without_spat_a_reef_is_passive_and_fails_with_its_wire(reef: Member) -> None:
    nobody = {"recruitment": np.zeros(YEARS + 2), "shell_half_life": 5.0}
    wire_end = 6.0 * DAYS_PER_YEAR
    before = grown(reef, 5.9, container_end=wire_end, **nobody)
    assert live(before) == 0.0
    assert before.state.ledger[ENTRY["shell_grown"]] == 0.0
    assert not before.state.spilled.any()
    assert 0.8 < before.state.unit_height.mean() < 0.9
    after = grown(reef, 10, container_end=wire_end, washing=1.0, **nobody)
    assert after.state.spilled.all()
    assert after.state.ledger[ENTRY["units_spilled"]] == after.state.spilled.size
    assert after.state.unit_height.mean() < 0.5 * before.state.unit_height.mean()


def test_with_spat_and_lasting_wire_a_reef_is_cemented_within_a_few_years(reef: Member) -> None:
    plenty = np.full(YEARS + 2, 7000.0)
    member = grown(reef, 4, recruitment=plenty)
    assert cement(member) > CEMENTED
    # Then the wire may go: nothing spills.
    later = grown(reef, 10, recruitment=plenty, container_end=4.0 * DAYS_PER_YEAR)
    assert not later.state.spilled.any()


def test_spilled_shell_lies_loose_and_waves_carry_it_off(reef: Member) -> None:
    nobody = {"recruitment": np.zeros(YEARS + 2)}
    calm = grown(reef, 3, container_end=400.0, **nobody)
    rough = grown(reef, 3, container_end=400.0, washing=2.0, **nobody)
    assert calm.state.loose_shell.mean() == pytest.approx(0.5, rel=0.02)
    # The steps of the helper end on day 1110.
    assert rough.state.loose_shell.mean() == pytest.approx(
        0.5 * np.exp(-2.0 * (1110.0 - 400.0) / 365.25), rel=0.01
    )
    assert calm.state.ledger[ENTRY["shell_washed_off"]] == 0.0
    assert rough.state.ledger[ENTRY["shell_washed_off"]] > 0.0


def test_a_heap_washed_off_in_a_day_is_lost_once(reef: Member) -> None:
    from edgesim.model.ledger import shell_stock

    nobody = {"recruitment": np.zeros(YEARS + 2)}
    member = grown(reef, 3, container_end=400.0, washing=1e6, shell_half_life=2.0, **nobody)
    before, books = shell_stock(reef.state, reef.reef_settings), member.state.ledger
    lost = books[ENTRY["shell_washed_off"]] + books[ENTRY["shell_dissolved"]]
    kept = shell_stock(member.state, member.reef_settings)
    assert kept + lost == pytest.approx(before + books[ENTRY["shell_grown"]], rel=1e-12)


def test_oysters_on_loose_shell_go_with_it(reef: Member) -> None:
    few = {"recruitment": np.full(YEARS + 2, 300.0), "container_end": 400.0}
    calm, rough = grown(reef, 4, **few), grown(reef, 4, washing=5.0, **few)
    assert calm.state.spilled.all()
    assert live(rough) < 0.8 * live(calm)


def test_shell_by_part_is_the_shell_of_the_books(reef: Member) -> None:
    from edgesim.model.ledger import shell_stock
    from edgesim.model.records import shell_parts

    for end in (np.inf, 500.0):
        member = grown(reef, 5, container_end=end, washing=0.5, shell_half_life=5.0)
        parts = shell_parts(member)
        assert np.all(parts >= 0.0)
        assert parts.sum() == pytest.approx(shell_stock(member.state, member.reef_settings))
        assert parts[1] > 0.0
        ledger = member.state.ledger
        kept = ledger[ENTRY["shell_opening"]] + ledger[ENTRY["shell_grown"]]
        lost = ledger[ENTRY["shell_dissolved"]] + ledger[ENTRY["shell_washed_off"]]
        assert parts.sum() == pytest.approx(kept - lost, rel=1e-12)


def test_heat_kills_above_the_reefs_upper_limit_in_summer_only(reef: Member) -> None:
    hot, fresh = (grown(reef, 3, dry=0.70, heat_mortality=rate) for rate in (8.0, 0.0))
    assert live(hot) < 0.9 * live(fresh)
    inside = {"dry": 0.50}
    assert live(grown(reef, 3, **inside)) == live(grown(reef, 3, heat_mortality=0.0, **inside))


def test_waves_at_the_reef_keep_settlers_away(reef: Member) -> None:
    """Exposed over sheltered settlement 686/6260 = 0.11 at one site (read, O'Beirn et al., abstract)."""
    state = State(*(array.copy() for array in reef.state))
    member = replace(
        reef, state=state, reef_settings=reef.reef_settings._replace(wave_factor=686.0 / 6260.0)
    )
    from edgesim.model.reef import grow_oysters

    settled = []
    for calm in (0.0, 1.0):
        state.oysters[:] = 0.0
        dry = np.full(TABLE_SIZE, 0.3)
        grow_oysters(state, member.reef_settings, 200, 7, 0.5, 0.0, dry, calm, 0.0, False)
        settled.append(float(state.oysters[0].mean()))
    assert settled[0] / settled[1] == pytest.approx(0.1096, abs=1e-4)
