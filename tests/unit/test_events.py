"""Dated events: what they change, and that they change nothing before their day or elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pytest

from edgesim.errors import ScenarioError
from edgesim.forcing.waves import WAKE
from edgesim.model.common import MemberForcing, member_forcing, prepare
from edgesim.model.settings import daily_salinity
from edgesim.model.step import Member, run_until

Make = Callable[..., Any]
START = date(2027, 1, 1)
DAY = (date(2027, 7, 1) - START).days


def with_event(**event: Any) -> Callable[[dict[str, Any]], None]:
    def edit(table: dict[str, Any]) -> None:
        table["run"]["years"] = 1
        table["events"] = [{"date": date(2027, 7, 1), **event}]

    return edit


def plain(table: dict[str, Any]) -> None:
    table["run"]["years"] = 1


def weather(scenario: Any) -> MemberForcing:
    return member_forcing(scenario, prepare(scenario), 0)


@pytest.fixture(scope="module")
def quiet(small_scenario: Make) -> MemberForcing:
    return weather(small_scenario({"run.years": 1}, edit=plain))


def test_a_storm_raises_water_and_waves_on_its_days_only(
    small_scenario: Make, quiet: MemberForcing
) -> None:
    edit = with_event(kind="storm", surge="3 ft", wave_factor=2.0, duration="2 days")
    stormy = weather(small_scenario({"run.years": 1}, edit=edit))
    same = np.ones(quiet.weather.tally.shape[0], dtype=bool)
    same[DAY : DAY + 2] = False
    np.testing.assert_array_equal(stormy.weather.tally[same], quiet.weather.tally[same])
    # Twice the height carries four times the energy.
    for day in (DAY, DAY + 1):
        assert stormy.weather.tally[day].sum() == pytest.approx(
            4.0 * quiet.weather.tally[day].sum()
        )
        levels = np.arange(quiet.weather.tally.shape[1])
        before, after = (
            float(
                (found.weather.tally[day].sum(axis=1) * levels).sum()
                / found.weather.tally[day].sum()
            )
            for found in (quiet, stormy)
        )
        assert after > before
    np.testing.assert_array_equal(stormy.history.tally, quiet.history.tally)
    np.testing.assert_array_equal(stormy.weather.dry_share, quiet.weather.dry_share)


def test_a_speed_rule_changes_the_wakes_from_its_day_on(
    small_scenario: Make, quiet: MemberForcing
) -> None:
    edit = with_event(kind="speed rule", speed_limit="5 knots", compliance=1.0)
    ruled = weather(small_scenario({"run.years": 1}, edit=edit))
    np.testing.assert_array_equal(ruled.weather.tally[:DAY], quiet.weather.tally[:DAY])
    wakes = quiet.weather.source == WAKE
    after, before = (float(found.weather.tally[DAY:, :, wakes].sum()) for found in (ruled, quiet))
    assert after < 0.7 * before
    np.testing.assert_array_equal(
        ruled.weather.tally[:, :, ~wakes], quiet.weather.tally[:, :, ~wakes]
    )
    np.testing.assert_array_equal(ruled.history.tally, quiet.history.tally)


def test_a_freshet_is_fresh_for_its_days_and_kills_oysters(
    small_scenario: Make, build_member: Callable[..., Member]
) -> None:
    def living(edit: Callable[[dict[str, Any]], None], day: int) -> float:
        member = build_member(small_scenario({"run.years": 1}, edit=edit), "reef only")
        run_until(member, 0, day)
        return float(member.state.oysters.sum(axis=0).mean())

    edit = with_event(kind="freshet", salinity="2 psu", duration="21 days")
    salinity = daily_salinity(small_scenario({"run.years": 1}, edit=edit).central, 365)
    assert np.flatnonzero(salinity < 5.0).tolist() == list(range(DAY, DAY + 21))
    assert living(edit, DAY) == living(plain, DAY)
    assert living(edit, DAY + 21) < 0.7 * living(plain, DAY + 21)


def test_a_broken_bay_loses_posts_and_fill_on_its_day(
    small_scenario: Make, build_member: Callable[..., Member]
) -> None:
    edit = with_event(kind="broken bay", bay=3)
    changes = {"run.years": 1, "upkeep.rule": "none"}
    broken = build_member(small_scenario(changes, edit=edit), "walls only")
    whole = build_member(small_scenario(changes, edit=plain), "walls only")
    for member in (broken, whole):
        run_until(member, 0, DAY)
    np.testing.assert_array_equal(broken.state.fill_mass, whole.state.fill_mass)
    run_until(broken, DAY, DAY + 1)
    assert broken.state.fill_mass[2] == 0.0
    assert broken.state.bay_open[2] == 1.0
    assert np.all(broken.state.post_end[broken.wall_settings.posts[2]] <= DAY)
    assert broken.state.fill_mass[5] > 0.0


def test_posts_are_asked_whether_they_bear_the_waves_of_a_storm(
    small_scenario: Make, build_member: Callable[..., Member]
) -> None:
    edit = with_event(kind="storm", wave_factor=3.0, duration="2 days")
    numbers = build_member(small_scenario({"run.years": 1}, edit=edit), "walls only").wall_settings
    assert np.flatnonzero(numbers.storm).tolist() == [DAY, DAY + 1]
    assert np.all(numbers.scour_held_in_storm <= numbers.scour_held)
    assert np.any(numbers.scour_held_in_storm < numbers.scour_held)


@pytest.mark.parametrize(
    ("event", "words"),
    [
        ({"kind": "storm", "date": date(2040, 1, 1)}, "lies outside the forecast"),
        ({"kind": "broken bay"}, "A broken bay needs its bay"),
        ({"kind": "broken bay", "bay": 400}, "is bay 400 of walls with 32 bays"),
        ({"kind": "speed rule"}, "needs its speed_limit"),
        ({"kind": "storm", "bay": 2}, 'says nothing about a "storm"'),
        ({"kind": "flood"}, "is not one of the choices"),
    ],
)
def test_wrong_events_are_refused_in_plain_words(
    small_scenario: Make, event: dict[str, Any], words: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        small_scenario({"run.years": 1}, edit=with_event(**event))
    assert any(words in problem for problem in caught.value.problems), caught.value.problems
