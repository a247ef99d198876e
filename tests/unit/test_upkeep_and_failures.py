"""Upkeep by calendar and triggers, its log, and how failures of a wall spread."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from edgesim.model.hold import (
    AGES,
    THINNEST,
    hole_depth,
    largest_load,
    post_strengths,
    resistance,
    scour_held,
)
from edgesim.model.settings import bays_of_posts, log_size
from edgesim.model.state import State
from edgesim.model.step import Member, run_until, wall_kt, wear_walls
from edgesim.model.walls import (
    CALENDAR,
    COST,
    HOURS,
    KIND,
    NONE,
    POSTS,
    SKIPPED,
    TRIGGER,
    VISIT,
    VOLUME,
    WallSettings,
    plan_visit,
)
from edgesim.outcomes.upkeep import upkeep_rows
from edgesim.studies.ensemble import run_forecast

Build = Callable[..., Member]
YEAR = 365


@pytest.fixture(scope="module")
def built(small_scenario: Callable[..., Any], build_member: Build) -> Member:
    def quiet(table: dict[str, Any]) -> None:
        for boats in table["traffic"]["classes"]:
            boats["passages_weekday"] = boats["passages_weekend"] = 1

    return build_member(small_scenario({"run.years": 5}, edit=quiet), "walls only")


@pytest.fixture
def member(built: Member) -> Member:
    """The walls as built, with a state of its own."""
    return replace(built, state=State(*(array.copy() for array in built.state)))


def waiting(member: Member, **numbers: Any) -> WallSettings:
    """Settings by trigger in which nothing has called yet."""
    calm = {"rule": TRIGGER, "last_day": 1e9, "delay_days": 30.0, "fill_trigger": 0.0}
    calm |= {"skipped": np.zeros(4, dtype=np.uint8), "kt_trigger": np.inf, "posts_trigger": np.inf}
    return member.wall_settings._replace(**{**calm, **numbers})


@pytest.mark.parametrize("cause", ["fill", "kt", "posts", "nothing"])
def test_each_trigger_calls_a_crew_after_the_delay(member: Member, cause: str) -> None:
    given = {
        "fill": {"fill_trigger": 0.99},
        "kt": {"kt_trigger": 0.5},
        "posts": {"posts_trigger": 0.02, "replace_posts": True},
        "nothing": {},
    }[cause]
    member.state.fill_mass[:] = 0.9
    member.state.post_end[:2] = 5
    settings = waiting(member, **given)
    came = [day for day in range(10, 60) if plan_visit(member.state, settings, day, 0.6) == VISIT]
    assert came == ([] if cause == "nothing" else [40])


def test_posts_and_kt_do_not_call_where_a_visit_could_not_help(member: Member) -> None:
    member.state.fill_mass[:] = 1.0
    member.state.post_end[:] = 0
    settings = waiting(member, kt_trigger=0.1, posts_trigger=0.02, replace_posts=False)
    assert all(plan_visit(member.state, settings, day, 0.9) == 0 for day in range(100))


def test_kt_is_looked_at_only_where_upkeep_asks_for_it(member: Member) -> None:
    run_until(member, 0, 14)
    assert wall_kt(member) == 0.0
    asking = replace(member, wall_settings=member.wall_settings._replace(kt_trigger=0.5))
    assert 0.0 < wall_kt(asking) < 1.0


def test_a_visit_costs_and_takes_what_was_done(member: Member) -> None:
    """Cost and hours by hand from prices and what was replaced."""
    state = member.state
    settings = member.wall_settings._replace(
        price_visit=500.0, price_post=40.0, price_refill=100.0,
        hours_visit=8.0, hours_post=2.0, hours_refill=3.0, replace_posts=True,
        decay=0.0, washing=0.0, packing=0.0,
    )  # fmt: skip
    state.fill_mass[:] = 0.75
    state.post_end[:3] = 5
    state.post_end[3:] = 1e9
    state.tie_end[:] = 1e9
    rows = int(state.log_rows[0])
    skips = np.array([0, 1], dtype=np.uint8)
    calendar = {"rule": CALENDAR, "interval_days": 10.0, "last_day": 1e9, "skipped": skips}
    _run(member, settings._replace(**calendar), 10, 21)
    row, skipped = state.log[rows], state.log[rows + 1]
    volume = row[VOLUME]
    # Bays that lost posts lost a day's fill faster; all are topped up to the volume at build.
    assert volume == pytest.approx(0.25 * settings.volume.sum(), rel=0.02)
    assert row[POSTS] == 3
    assert row[COST] == pytest.approx(500.0 + 3 * 40.0 + volume * 100.0, rel=1e-12)
    assert row[HOURS] == pytest.approx(8.0 + 3 * 2.0 + volume * 3.0, rel=1e-12)
    assert row[KIND] == VISIT
    assert (skipped[KIND], skipped[COST], skipped[HOURS]) == (SKIPPED, 0.0, 0.0)


@pytest.fixture(scope="module")
def forecast(small_scenario: Callable[..., Any]) -> Any:
    changes = {"run.years": 3, "upkeep.skip_chance": 0.4, "upkeep.until_year": 3}
    return run_forecast(
        small_scenario({**changes, "design.walls.post_life": 3.0, "oysters.salinity": 30.0}),
        workers=1,
    )


def test_log_equals_the_cost_to_the_cent_at_every_record(forecast: Any) -> None:
    days = forecast["elapsed"].values * 365.25
    log = forecast.transpose("option", "member", "visit", ...)
    when, cost = log["upkeep_day"].values, log["upkeep_cost"].values
    assert np.isfinite(cost).sum() > 3 * 6
    # Surveys are paid for as well, but are no visits of a crew.
    surveys = forecast["ledger"].sel(ledger_entry="money_monitoring")
    walls_money = (forecast["cost"] - surveys).transpose("option", "member", "time")
    for record, day in enumerate(days):
        done = np.where(when < day + 0.5, cost, 0.0)
        paid = np.nansum(done, axis=-1)
        spent = walls_money.values[:, :, record]
        # A visit on the very day of a record belongs to the day that begins then.
        today = np.nansum(np.where(np.abs(when - np.rint(day)) < 0.5, cost, 0.0), axis=-1)
        assert np.all((np.abs(paid - spent) < 0.005) | (np.abs(paid - today - spent) < 0.005))
    total = np.nansum(cost, axis=-1)
    assert np.abs(total - walls_money.values[:, :, -1]).max() < 0.005


def test_log_counts_skipped_visits_and_hours(forecast: Any) -> None:
    rows = [row for row in upkeep_rows(forecast) if row.option == "walls only"]
    skipped = [row for row in rows if row.kind == "skipped_visit"]
    visits = [row for row in rows if row.kind == "visit"]
    assert skipped
    assert visits
    assert all(row.cost == row.hours == 0.0 for row in skipped)
    assert {row.kind for row in rows if row.day == 0} == {"build"}
    for member in range(forecast.sizes["member"]):
        hours = sum(row.hours for row in visits if row.member == member)
        last = forecast["crew_hours"].sel(option="walls only", member=member).isel(time=-1)
        assert hours == pytest.approx(float(last))
    first = next(row for row in rows if row.kind != "build")
    assert date.fromisoformat(first.date).toordinal() == date(2027, 1, 1).toordinal() + first.day


def test_log_has_room_for_every_visit_that_a_rule_allows(
    small_scenario: Callable[..., Any], build_member: Build
) -> None:
    changes = {"upkeep.rule": "trigger", "upkeep.delay": 0.0, "upkeep.fill_trigger": 0.99}
    scenario = small_scenario({**changes, "upkeep.until_year": 2.0, "run.years": 1})
    often = build_member(scenario, "walls only")
    run_until(often, 0, YEAR)
    assert often.state.log_rows[0] > 100
    assert often.state.log_rows[0] <= log_size(scenario.central, YEAR)


def _standing(member: Member) -> WallSettings:
    """A wall that neither rots nor washes nor wears, so that scour alone acts."""
    state = member.state
    state.post_end[:] = 1e9
    state.tie_end[:] = 1e9
    n = state.post_end.size
    return member.wall_settings._replace(
        rule=NONE,
        decay=0.0,
        washing=0.0,
        packing=0.0,
        opening_scour=0.2,
        scour_held=np.full((n, AGES), 9.0),
    )


def breaking(settings: WallSettings, bay: int, day: int) -> WallSettings:
    """Settings with the event of a broken bay."""
    return settings._replace(
        broken_day=np.array([day], dtype=np.int64), broken_bay=np.array([bay], dtype=np.int64)
    )


def _run(member: Member, settings: WallSettings, first: int, last: int) -> None:
    """The model's own day loop without waves, with other settings for the walls."""
    for day in range(first, last, 30):
        wear_walls(
            member.state,
            member.weather.days,
            member.weather.dry_share,
            float(member.weather.mean_sea_level[0]),
            0.0,
            member.reef_settings,
            settings,
            day,
            min(day + 30, last),
        )


def test_what_ties_and_posts_take_from_a_bays_fill(member: Member) -> None:
    """By hand, rot of 0.6 and washing of 0.3 a year: a bay without ties or with one post lost washes
    out three times as fast and rots no faster; with two lost a month takes 1 - 1/e of what is left."""
    settings = _standing(member)._replace(decay=0.6, washing=0.3)
    no_ties, one_lost, two_lost, sound = 0, 8, 16, 24  # the first bay of each of the four walls
    member.state.tie_end[no_ties] = 0.0
    member.state.post_end[settings.posts[one_lost, 0]] = 0.0
    member.state.post_end[settings.posts[two_lost, [0, 2]]] = 0.0
    _run(member, settings, 0, 60)
    years = 60 / 365.25
    fill = member.state.fill_mass
    assert fill[sound] == pytest.approx(np.exp(-(0.6 + 0.3) * years), rel=1e-9)
    loose = np.exp(-(0.6 + 0.9) * years)
    assert fill[[no_ties, one_lost]] == pytest.approx([loose, loose], rel=1e-9)
    month = 365.25 / 12.0
    assert fill[two_lost] == pytest.approx(np.exp(-0.6 * years) * np.exp(-60 / month), rel=1e-9)
    assert np.flatnonzero(member.state.bay_open).tolist() == [two_lost]


def test_new_fill_packs_most_of_its_way_in_a_season(member: Member) -> None:
    """Most of it within 3 to 6 months: by hand 87 % of a fifth after 91 days, 98 % after 183."""
    settings = _standing(member)._replace(packing=0.2)
    for first, last, share in ((0, 91, 0.8746), (91, 183, 0.9846)):
        _run(member, settings, first, last)
        assert member.state.fill_settled == pytest.approx(0.2 * share, abs=2e-5)


def test_a_bay_stands_open_with_less_than_a_tenth_of_its_height(member: Member) -> None:
    settings = _standing(member)
    member.state.fill_mass[:] = 0.11
    member.state.fill_mass[5] = 0.09
    _run(member, settings, 0, 1)
    assert np.flatnonzero(member.state.bay_open).tolist() == [5]


def test_only_posts_at_wall_ends_are_dug_out_while_all_bays_stand(member: Member) -> None:
    settings = _standing(member)
    _run(member, settings, 0, 3 * YEAR)
    ends = (settings.post_bays < 0).any(axis=1)
    # Four walls of two rows have sixteen end posts.
    assert ends.sum() == 16
    assert member.state.post_scour[~ends] == pytest.approx(0.0)
    assert member.state.post_scour[ends] == pytest.approx(0.2, rel=0.01)


def test_an_open_bay_digs_out_its_neighbours_posts_and_then_takes_them(member: Member) -> None:
    settings = _standing(member)
    held = np.full(settings.scour_held.shape, 9.0)
    bay = 3
    # The posts that bay 3 shares with bay 4 bear half of the hole that an open bay makes.
    shared = np.intersect1d(settings.posts[bay], settings.posts[bay + 1])
    held[shared] = 0.1
    settings = settings._replace(scour_held=held)
    _run(member, settings, 0, YEAR)
    assert not member.state.bay_open.any()
    _run(member, breaking(settings, bay, YEAR), YEAR, YEAR + 1)
    member.state.post_end[shared] = 1e9  # they were only shaken
    _run(member, settings, YEAR + 1, 4 * YEAR)
    assert member.state.bay_open[bay] == 1.0
    assert np.all(member.state.post_end[shared] < 4 * YEAR)
    assert member.state.bay_open[bay + 1] == 1.0


def test_an_open_bay_lets_waves_through_and_spares_the_others(member: Member) -> None:
    settings = _standing(member)
    run_until(member, 0, 1)
    asking = replace(member, wall_settings=settings._replace(kt_trigger=0.5))
    member.state.fill_mass[:] = 1.0
    whole = wall_kt(asking)
    _run(member, breaking(settings, 0, 5), 5, 6)
    assert member.state.fill_mass[0] == 0.0
    # The next bay shares two posts with it: it stands open as well, and begins to empty.
    assert member.state.bay_open[:2].tolist() == [1.0, 1.0]
    assert 0.9 < member.state.fill_mass[1] < 1.0
    assert np.all(member.state.fill_mass[2:] == 1.0)
    assert wall_kt(asking) > whole


def test_a_new_post_is_driven_below_the_hole(member: Member) -> None:
    settings = _standing(member)._replace(replace_posts=True)
    settings.scour_held[:] = 0.1
    _run(member, settings, 0, YEAR)
    ends = (settings.post_bays < 0).any(axis=1)
    assert np.all(member.state.post_end[ends] <= YEAR)
    calendar = {"rule": CALENDAR, "interval_days": float(YEAR), "last_day": 1e9}
    unskipped = {"skipped": np.zeros(1, dtype=np.uint8)}
    _run(member, settings._replace(**calendar, **unskipped), YEAR, YEAR + 1)
    assert np.all(member.state.post_end[ends] > YEAR)
    assert np.all(member.state.post_scour[ends] == 0.0)


def test_a_new_post_has_a_life_and_an_age_of_its_own(member: Member) -> None:
    """Bears 0.3 m when new and nothing at the end of six years: a year old it stands in a hole of 0.17 m."""
    settings = _standing(member)._replace(replace_posts=True, rule=CALENDAR)
    lives = np.full(settings.post_lives.shape, 1e6)
    lives[:, 1] = 6.0 * YEAR
    held = np.tile(np.linspace(0.3, 0.0, AGES), (len(lives), 1))
    visit = {"interval_days": 3.0 * YEAR, "last_day": 3.0 * YEAR, "skipped": np.zeros(1, np.uint8)}
    settings = settings._replace(post_lives=lives, scour_held=held, **visit)
    post = settings.posts[0, 0]  # at the end of a wall
    member.state.post_end[post] = 5.0
    _run(member, settings, 3 * YEAR, 4 * YEAR)
    assert member.state.post_scour[post] == pytest.approx(0.2 * (1.0 - np.exp(-2.0)), rel=0.01)
    assert member.state.post_end[post] == 9.0 * YEAR
    assert np.all(np.delete(member.state.post_end, post) == 1e9)


def test_a_storm_fells_on_its_day_what_its_waves_push_over(member: Member) -> None:
    settings = _standing(member)
    storm = np.zeros(60, dtype=np.uint8)
    storm[40] = 1
    weak = np.full(settings.scour_held.shape, 0.005)
    settings = settings._replace(storm=storm, scour_held_in_storm=weak)
    _run(member, settings, 0, 60)
    ends = (settings.post_bays < 0).any(axis=1)
    assert np.all(member.state.post_end[ends] == 40.0)
    assert np.all(member.state.post_end[~ends] == 1e9)


def test_every_post_knows_the_bays_on_both_sides(member: Member) -> None:
    posts = member.wall_settings.posts
    sides = bays_of_posts(posts)
    for bay, corners in enumerate(posts):
        for post in corners:
            assert bay in sides[post]
    assert (sides >= 0).sum() == posts.size


def test_mud_and_waves_decide_how_deep_a_hole_posts_bear(
    small_scenario: Callable[..., Any],
) -> None:
    from edgesim.model.grid import wall_line

    scenario = small_scenario({"mud.strength": 3000.0, "design.walls.post_embedment": 1.0}).central
    line = wall_line(scenario)
    assert line is not None
    mud = np.array([3000.0, 6000.0, 20000.0])
    low, high = (scour_held(scenario, line, mud, wave, 2.5)[:, 0] for wave in (0.10, 0.15))
    assert np.all(np.diff(low) >= 0.0)
    assert np.all(high <= low)
    assert 0.05 < high[0] < low[0]
    load, arm = largest_load(scenario, line, 0.10, 2.5)
    # At the depth found the post still bears the load; a rung further it does not.
    at = resistance(scenario, mud, arm, low)
    beyond = resistance(scenario, mud, arm, low + 0.03)
    inside = low > 0.05
    assert np.all(at[inside] >= load)
    assert np.all(beyond[inside] < load)


def test_old_posts_bear_less_scour_than_new_ones(small_scenario: Callable[..., Any]) -> None:
    from edgesim.model.grid import wall_line

    # Stiff mud, thin posts: breaking decides, and it goes with the cube of the sound diameter.
    scenario = small_scenario(
        {"design.walls.post_diameter": 0.07, "design.walls.post_embedment": 1.5}
    ).central
    line = wall_line(scenario)
    assert line is not None
    mud = np.array([4000.0, 20000.0])
    held = scour_held(scenario, line, mud, 0.20, 2.5)
    assert held.shape == (2, AGES)
    assert np.all(np.diff(held, axis=1) <= 0.0)
    assert np.all(held[:, -1] < held[:, 0])
    # Without scour, on very stiff mud, the load that breaks a post goes with the bending moment.
    stone, dry = np.array([1e9]), np.array([0.0])
    new, old = (resistance(scenario, stone, 0.5, dry, worn) for worn in (0.0, 1.0))
    assert old / new == pytest.approx(THINNEST**3, rel=1e-3)
    # By hand: a round section of 7 cm breaks under 17.5 MPa, green pine halved for knots, a diameter
    # and a half below the bed, where Broms lets mud begin to hold.
    assert new * (0.5 + 1.5 * 0.07) == pytest.approx(np.pi / 32.0 * 0.07**3 * 17.5e6, rel=1e-3)


def test_in_the_softest_mud_a_wall_that_stood_bears_five_centimetres(
    small_scenario: Callable[..., Any],
) -> None:
    """And 0.6 cubed of that with its life behind it, as the page on decay says."""
    from edgesim.model.grid import wall_line

    scenario = small_scenario().central
    line = wall_line(scenario)
    assert line is not None
    held = scour_held(scenario, line, np.array([10.0]), 0.5, 3.0)
    assert held[0, [0, -1]] == pytest.approx([0.05, 0.05 * 0.216])


def test_mud_differs_from_post_to_post_about_its_mean(small_scenario: Callable[..., Any]) -> None:
    """By three tenths; bounds of four standard errors of 4000 draws, the seed is fixed."""
    scenario = small_scenario({"mud.strength": 5000.0}).central
    found = post_strengths(scenario, 4000, np.random.default_rng(2))
    assert found.mean() == pytest.approx(5000.0, rel=4.0 * 0.3 / 4000**0.5)
    assert found.std() / found.mean() == pytest.approx(0.3, rel=0.06)


def test_an_old_post_is_undermined_where_a_new_one_stands(member: Member) -> None:
    settings = _standing(member)
    ends = (settings.post_bays < 0).any(axis=1)
    # Bears 0.3 m when new, none at the end of its life; the hole of an end is 0.2 m.
    held = np.tile(np.linspace(0.3, 0.0, AGES), (ends.size, 1))
    lives = np.full(settings.post_lives.shape, 9.0 * YEAR)
    settings = settings._replace(scour_held=held, post_lives=lives)
    member.state.post_end[:] = 9.0 * YEAR
    third = 3 * YEAR
    # At a third of its life a post bears 0.3 x (1 - 1/3) = 0.2 m.
    _run(member, settings, 0, third - 30)
    assert np.all(member.state.post_end == 9.0 * YEAR)
    _run(member, settings, third - 30, third + 90)
    assert np.all(member.state.post_end[ends] <= third + 30)


def test_a_hole_is_as_deep_as_given_or_as_waves_dig_it(small_scenario: Callable[..., Any]) -> None:
    """Sumer, Fredsoe and Christiansen (1992), from memory: 1.3 D (1 - exp(-0.03 (KC - 6)))."""
    from edgesim.model.grid import wall_line

    def hole(given: float, height: float, period: float) -> float:
        scenario = small_scenario({"design.walls.opening_scour": given}).central
        line = wall_line(scenario)
        assert line is not None
        return hole_depth(scenario, line, height, period)

    assert hole(0.15, 0.2, 2.5) == 0.15
    assert hole(0.0, 0.0, 1.0) == 0.0
    # No hole where water swings less than six diameters, and never more than 1.3 of them.
    assert hole(0.0, 0.05, 1.5) == 0.0
    scenario = small_scenario({}).central
    assert scenario.design.walls is not None
    most = 1.3 * scenario.design.walls.post_diameter
    assert 0.0 < hole(0.0, 0.4, 4.0) < hole(0.0, 0.4, 12.0) < most
    # By hand under a long wave, whose water moves with H/2 sqrt(g/d); six tenths of it in mud.
    line = wall_line(scenario)
    assert line is not None
    depth = scenario.design.walls.crest - line.base
    swings = 0.1 * np.sqrt(9.81 / depth) * 60.0 / scenario.design.walls.post_diameter
    sand = most * (1.0 - np.exp(-0.03 * (swings - 6.0)))
    assert hole(0.0, 0.2, 60.0) == pytest.approx(0.6 * sand, rel=0.005)


def test_lost_posts_resist_no_longer(member: Member) -> None:
    from edgesim.model.step import flood_lines

    member.state.fill_mass[:] = 0.0
    flood_lines(member, 0)
    standing = member.walls.field.transmission.copy()
    member.state.post_end[:] = 0.0
    flood_lines(member, 0)
    assert np.all(member.walls.field.transmission[:, :, 0] == 1.0)
    assert standing[:, :, 0].min() < 1.0
