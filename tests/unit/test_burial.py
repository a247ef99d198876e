"""Mud over the oysters kills its share within days, and no more however long it lies."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from edgesim.model.reef import burial_killed_so_far, crests
from edgesim.model.step import Member, grow_reef

SHELL = 0.05


@pytest.fixture
def reef(small_scenario: Callable[..., Any], build_member: Callable[..., Any]) -> Member:
    """A reef of full-grown oysters that nothing else kills and on which none settle."""
    member = build_member(small_scenario({"run.years": 1}), "reef only")
    state = member.state
    state.oysters[0], state.shell_height[0] = 1000.0, SHELL
    state.mesh_end[:] = state.ring_end[:] = np.inf
    return member


def left(member: Member, burial_ratio: float, days: int, first: int = 0) -> float:
    """Share of the oysters that live after some days under mud."""
    settings = member.reef_settings
    quiet = settings._replace(
        adult_mortality=0.0,
        low_predation=0.0,
        heat_mortality=0.0,
        fresh_deaths=np.zeros_like(settings.fresh_deaths),
        recruitment=np.zeros_like(settings.recruitment),
        growth_coefficient=0.0,
        reef_growth=0.0,
        shell_half_life=1e12,
        settlement=0.0,
    )
    state, weather = member.state, member.weather
    before = state.oysters[0].copy()
    state.bed[quiet.row, quiet.place] = crests(state, quiet, 0.0) + burial_ratio * SHELL
    sea = float(weather.mean_sea_level[0])
    grow_reef(state, weather.days, weather.dry_share, sea, 1.0, 0.0, quiet, first, first + days)
    shares = state.oysters[0] / before
    assert np.ptp(shares) < 1e-9
    return float(shares[0])


@pytest.mark.published
def test_half_die_of_a_lasting_burial_at_108_percent_of_shell_height(reef: Member) -> None:
    """Read: Colden and Lipcius, 2015, abstract: 50 % mortality at 108 %, survival falls only from 90 %."""
    assert left(reef, 1.08, 180) == pytest.approx(0.5, abs=0.005)
    assert left(reef, 1.08, 100, first=180) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.published
@pytest.mark.parametrize(("ratio", "least"), [(0.5, 0.99), (0.8, 0.95), (0.9, 0.89)])
def test_shallower_mud_leaves_nearly_all_however_long(
    reef: Member, ratio: float, least: float
) -> None:
    assert least < left(reef, ratio, 300) <= 1.0


def test_it_takes_some_days(reef: Member) -> None:
    """Seven days kill 1 - (6/7)^7 = 66 % of what a lasting burial kills."""
    assert 1.0 - left(reef, 1.08, 7) == pytest.approx(0.5 * (1.0 - (6 / 7) ** 7), rel=1e-6)


def test_deeper_mud_kills_more_and_thinner_mud_no_more(reef: Member) -> None:
    half = left(reef, 1.08, 120)
    assert left(reef, 1.0, 30, first=120) == pytest.approx(1.0, abs=1e-9)
    # 1.2 kills 81.8 % in all (1/(1 + exp(-1.5))): of those left, 1 - 0.182/0.5.
    more = left(reef, 1.2, 120, first=150)
    assert half * more == pytest.approx(0.182, abs=0.003)


def test_clean_oysters_can_be_buried_anew(reef: Member) -> None:
    left(reef, 1.08, 120)
    assert left(reef, -1.0, 10, first=120) == pytest.approx(1.0)
    assert left(reef, 1.08, 120, first=130) == pytest.approx(0.5, abs=0.005)


def test_a_deep_burial_ends_in_death_without_dividing_by_nothing() -> None:
    killed = 0.0
    for _ in range(2000):
        before, killed = killed, burial_killed_so_far(killed, 5.0)
        assert before <= killed < 1.0
    assert killed > 0.999999
