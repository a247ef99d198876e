"""The edge, the mud and the plants inside the whole model: calibration, trapping, washing, spreading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, curve_fit

from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import UNDEFENDED, calibrate, covered, run_option
from edgesim.model.grid import make_grid
from edgesim.model.ledger import close_budgets
from edgesim.model.records import record
from edgesim.model.state import ENTRY
from edgesim.model.step import LADDER, Member, flood_lines, run_until
from edgesim.processes.plants import accretion_morris, platform_accretion
from edgesim.scenario import ScenarioFile

Make = Callable[..., ScenarioFile]
Build = Callable[..., Member]
Tell = Callable[[str], None]
Floats = NDArray[np.float64]

STEADY = {
    "traffic.growth": 0.0,
    "sea_level.rate": 0.0,
    "sea_level.acceleration": 0.0,
}
"""A future like the past."""

INTACT = {
    "design.walls.branch_decay": 0.0,
    "design.walls.branch_washing": 0.0,
    "design.walls.settlement_share": 0.0,
    "design.walls.post_life": 1000.0,
    "design.walls.tie_coating_thickness": 1.0,
    "marsh.strength_variation": 1e-9,
}
"""Walls that stay as built."""


def surveyed(rate: float, error: float = 0.3) -> Callable[[dict[str, Any]], None]:
    """Edit that gives the site six surveys of an edge that retreats at a rate."""

    def edit(table: dict[str, Any]) -> None:
        site = table["site"]
        site.pop("retreat_rate", None)
        site["history"] = [
            {"date": date(year, 6, 1), "position_m": rate * (year - 2000), "sd_m": error}
            for year in range(2000, 2030, 5)
        ]

    return edit


# Calibration.


@pytest.mark.slow
@pytest.mark.parametrize("rate", [0.2, 0.4, 1.0])
def test_a_hindcast_of_the_surveys_keeps_their_rate(
    small_scenario: Make, tell: Tell, rate: float
) -> None:
    """Twenty years like those surveyed: median within 5 %, true position inside the stated band.

    Each member is compared with the rate that it drew, so that few members tell; the rates drawn
    have the surveyed one as their median.
    """
    changes = {**STEADY, "run.years": 20, "run.landward_width": 40.0, "marsh.accretion_cap": 0.0}
    scenario_file = small_scenario(changes, surveyed(rate))
    assert scenario_file.central.site.retreat_rate == pytest.approx(rate, rel=0.01)
    common = prepare(scenario_file)
    moved, drawn = [], []
    for index in range(9):
        forcing = member_forcing(scenario_file, common, index)
        found = run_option(forcing, calibrate(forcing, common), common, UNDEFENDED)
        moved.append(found["edge_position"].mean(axis=1) - found["edge_position"][0].mean())
        drawn.append(forcing.scenario.site.retreat_rate)
    end, own = np.array(moved), np.array(drawn)
    five, ten, twenty = (np.median(end[:, 4 * n] / n / own) for n in (5, 10, 20))
    low, high = np.quantile(end[:, 80], [0.05, 0.95])
    tell(
        f"surveyed {rate}: {five:.3f}, {ten:.3f}, {twenty:.3f} of it over 5, 10, 20 years, "
        f"band {low:.2f} to {high:.2f} m, true {20 * rate:.2f} m"
    )
    assert ten == pytest.approx(1.0, abs=0.05)
    assert low < 20.0 * rate < high


def test_blocks_leave_the_calibrated_mean_alone(small_scenario: Make, tell: Tell) -> None:
    """Large blocks against an edge that crumbles evenly, same member, two years."""
    rates = []
    for blocks in (
        {"marsh.tensile_strength": 0.0, "marsh.slump_share": 0.0},
        {"marsh.tensile_strength": 6e3, "marsh.slump_share": 0.5, "marsh.crack_distance": 0.5},
    ):
        scenario_file = small_scenario({**STEADY, **blocks, "site.retreat_rate": 0.5})
        common = prepare(scenario_file)
        ends = []
        for index in range(3):
            forcing = member_forcing(scenario_file, common, index)
            found = run_option(forcing, calibrate(forcing, common), common, UNDEFENDED)
            ends.append((found["edge_position"][-1] - found["edge_position"][0]).mean() / 2.0)
        rates.append(np.mean(ends))
    tell(f"even edge {rates[0]:.3f}, blocks {rates[1]:.3f} m/yr")
    # Three times 61 columns, each off by up to a block of half a metre at both ends: .02 m/yr.
    assert rates[1] == pytest.approx(rates[0], abs=0.04)


# Mud.


def rises(member: Member, years: int, first: int = 0) -> Floats:
    """Mean rise of the flat behind the walls at the end of every year. [m]."""
    bed = member.state.bed.copy()
    behind = slice(member.walls.field.first_row, int(member.state.edge.min()) - 1)
    columns = member.walls.field.part >= 0
    found = []
    for year in range(first, first + years):
        run_until(member, round(year * 365.25), round((year + 1) * 365.25))
        found.append(float((member.state.bed - bed)[behind, columns].mean()))
    return np.array(found)


MEMBERS = 12

MUDDY = {
    **STEADY,
    **INTACT,
    "mud.scarp_share_suspended": 0.0,
    "mud.winter_factor": 1.0,
    "mud.summer_factor": 1.0,
    "mud.trapping_efficiency": 0.5,
    "mud.current_share": 0.2,
    "mud.settling_velocity": 0.001,
    "mud.line_exchange": 0.3,
    "mud.mixing": 0.01,
    "mud.wash_time": 0.7,
    "mud.consolidation_time": 0.75,
    "mud.fresh_density": 200.0,
    "mud.flat_density": 600.0,
    "mud.critical_stress": 0.4,
    "design.walls.solid_fraction": 0.5,
    "site.retreat_rate": 0.05,
    "marsh.band_high": 0.101,
    "run.years": 12,
}


@pytest.mark.slow
def test_the_bed_nears_its_level_exponentially_and_sooner_with_more_mud(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    times = []
    for concentration in (0.1, 0.2):
        scenario_file = small_scenario({**MUDDY, "mud.concentration": concentration})
        # One member's boats come by chance; the mean of several shows the law.
        members = [build_member(scenario_file, "walls only", index) for index in range(MEMBERS)]
        found = np.mean([rises(member, 12) for member in members], axis=0)
        years = np.arange(1.0, 13.0)
        (level, time), _ = curve_fit(
            lambda t, a, b: a * (1.0 - np.exp(-t / b)), years, found, p0=(0.3, 4.0)
        )
        error = np.abs(level * (1.0 - np.exp(-years / time)) - found).max() / found[-1]
        tell(
            f"{concentration} kg/m3: level {level:.2f} m, time {time:.1f} yr, off by {error:.1%}, "
            f"first years {np.round(found[:4], 3)}"
        )
        # The mean of many members departs from one exponential by 11 % of the level, most in the first
        # years, when fresh mud lies loose (stated in docs/science/edge.md).
        assert error < 0.12
        # Self-limiting: four years bring less than the four before them.
        gains = [found[3], found[7] - found[3], found[11] - found[7]]
        assert gains[0] > gains[1] > gains[2]
        times.append(time)
    assert times[1] < times[0]


def first_year_behind_walls(member: Member) -> tuple[float, float]:
    """What settles behind the walls in a year [kg m-2], and the rise that stays [m]."""
    bed, dx = member.state.bed.copy(), member.edge_settings.dx
    behind = slice(member.walls.field.first_row, int(member.state.edge.min() / dx) - 1)
    columns = member.walls.field.part >= 0
    settled = 0.0
    for day in range(0, 364, 14):
        run_until(member, day, day + 14)
        deposit = member.work.fluxes[0] * member.state.suspended
        settled += float(deposit[behind, columns].mean()) * 14.0 / 365.25
    return settled, float((member.state.bed - bed)[behind, columns].mean())


@pytest.mark.slow
def test_twice_the_mud_in_the_water_leaves_nearly_twice_the_deposit(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    found = []
    for concentration in (0.01, 0.02, 0.04, 0.08, 0.16):
        usual = {**STEADY, **INTACT, "mud.scarp_share_suspended": 0.0, "run.water_level_bins": 8}
        scenario_file = small_scenario({**usual, "mud.concentration": concentration})
        members = [build_member(scenario_file, "walls only", index) for index in range(MEMBERS)]
        found.append(np.mean([first_year_behind_walls(member) for member in members], axis=0))
    settled, risen = np.array(found).T
    doublings = settled[1:] / settled[:-1], risen[1:] / risen[:-1]
    tell(f"twice the mud: settles {np.round(doublings[0], 3)}, stays {np.round(doublings[1], 3)}")
    # A thicker deposit is flooded less and catches less: never quite twice as much.
    assert ((doublings[0] > 1.7) & (doublings[0] < 2.0)).all()
    # So is the layer that stays over the whole range: waves take a share of it, thick or thin. From
    # one supply to the next it scatters, by level bins and rows (docs/science/edge.md).
    assert 1.7 < (risen[-1] / risen[0]) ** 0.25 < 2.0
    assert (doublings[1] > 1.7).all()


@pytest.mark.slow
def test_trapped_mud_washes_away_when_the_walls_are_gone(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    usual = {"mud.concentration": 0.035, "mud.trapping_efficiency": 0.3, "mud.wash_time": 0.3}
    scenario_file = small_scenario({**MUDDY, **usual})
    with_walls, without = [], []
    for index in range(MEMBERS):
        member = build_member(scenario_file, "walls only", index)
        with_walls.append(rises(member, 3))
        member.state.fill_mass[:] = 0.0
        member = replace(member, walls=replace(member.walls, stands=False))
        without.append(with_walls[-1][-1] + rises(member, 6, first=3))
    before, after = np.mean(with_walls, axis=0), np.mean(without, axis=0)
    start = before[-1]
    tell(f"with walls {np.round(before, 3)}, without {np.round(after, 3)} m")
    assert start > 0.01
    assert after[0] < start
    assert after[-1] < 0.75 * start
    # It comes back towards the surveyed flat, not below it.
    assert after[-1] > -0.1 * start


def test_waves_hold_off_the_share_of_the_mud_that_krone_says(
    small_scenario: Make, build_member: Build
) -> None:
    settled, held = [], np.zeros(0)
    for stress in (1e9, 0.02):
        scenario_file = small_scenario({**MUDDY, "mud.settling_stress": stress})
        member = build_member(scenario_file, "no action")
        run_until(member, 0, 14)
        settled.append(member.work.fluxes[0][:10].copy())
        held = member.work.waves.hindered[:10]
    # By hand from the law's mean, for a bed as it was before the first mud of the window settled.
    level = small_scenario(MUDDY).member(0)
    bed = make_grid(level).bed[:10] - float(member.weather.mean_sea_level[0])
    wet = 1.0 - np.interp(bed, LADDER, member.weather.dry_share)
    share = 1.0 - held / (wet * 14.0 * 86400.0)
    assert 0.5 < share.min() < share.max() < 0.999
    np.testing.assert_allclose(settled[1] / settled[0], share, rtol=1e-4)


def test_mud_is_shaken_off_shell_but_the_flat_under_it_holds(
    small_scenario: Make, build_member: Build
) -> None:
    muddy = {**MUDDY, "mud.concentration": 0.1, "run.cell_size": 0.5}
    member = build_member(small_scenario(muddy), "reef only")
    before = member.state.bed.copy()
    run_until(member, 0, 365)
    shell = member.edge_settings.shell
    row = int(shell.max(axis=1).argmax())
    cover, columns = float(shell[row].max()), shell[row] > 0.0
    assert cover > 0.8
    rise = (member.state.bed - before)[:, columns]
    behind = rise[row + 3].mean()
    assert behind > 0.01
    # Mud stays on the bare part of a cell alone, and nothing is lost from under the shell.
    assert rise[row].max() < 2.0 * (1.0 - cover) * behind
    assert rise[row].min() > -0.002


def test_no_mud_comes_in_where_none_is_in_the_water(
    small_scenario: Make, build_member: Build
) -> None:
    member = build_member(small_scenario({**MUDDY, "mud.concentration": 0.0}), "walls only")
    found = rises(member, 1)
    assert found.max() <= 0.0
    assert member.state.ledger[ENTRY["mud_deposited"]] == 0.0


def test_lines_starve_the_water_behind_them_and_the_platform(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    tight = {"mud.concentration": 0.1, "mud.mixing": 0.002, "mud.line_exchange": 0.02}
    scenario_file = small_scenario({**MUDDY, **tight, "run.years": 2})
    reach = covered(scenario_file.member(0), prepare(scenario_file))
    share, platform = {}, {}
    for option in ("no action", "walls only"):
        member = build_member(scenario_file, option)
        found = []
        for month in range(24):
            run_until(member, 30 * month, 30 * month + 30)
            found.append(record(member, reach, 30 * month + 30))
        share[option] = np.mean([row["suspended_share"] for row in found])
        platform[option] = found[-1]["platform_rise_behind"]
    tell(f"mud in the water {share}, rise of the platform {platform}")
    assert share["walls only"] < share["no action"]
    assert platform["walls only"] < platform["no action"]


@pytest.mark.slow
def test_the_mud_budget_closes_with_eroding_trapping_and_colonising(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    lively = {
        "run.years": 10,
        "marsh.band_low": 0.05,
        "marsh.band_high": 0.95,
        "marsh.seedling_stress": 5.0,
        "marsh.dry_days": 0.0,
        "marsh.bed_change": 0.2,
    }
    worst, grew = 0.0, False
    for option in ("no action", "walls and reef"):
        member = build_member(small_scenario(lively), option)
        for month in range(120):
            run_until(member, round(month * 30.4375), round((month + 1) * 30.4375))
            close_budgets(
                member.state, member.edge_settings, member.reef_settings, member.wall_settings
            )
            assert (member.state.suspended >= 0.0).all()
            assert (member.state.loose_mud >= 0.0).all()
            assert (member.state.loose_thickness >= 0.0).all()
            grew = grew or bool((member.state.advance > 0.0).any())
        worst = max(worst, float(member.state.residual[0]))
    tell(f"largest gap of mud over its turnover {worst:.1e}")
    assert grew
    assert worst < 1e-9


# Plants.


def flat_like(member: Member, level: float) -> Member:
    """Lift the flat in front of the edge to a level about mean sea level."""
    sea = float(member.weather.mean_sea_level[0])
    rows = slice(int(member.state.edge.min()) - 4, int(member.state.edge.min()))
    member.state.bed[rows] = sea + level
    return member


def test_a_colonised_flat_becomes_marsh_and_the_edge_advances(
    small_scenario: Make, build_member: Build
) -> None:
    calm = {
        **STEADY,
        "marsh.seedling_stress": 50.0,
        "marsh.clonal_spread": 0.0,
        "marsh.dry_days": 2.0,
        "marsh.bed_change": 1.0,
        "mud.concentration": 0.0,
        "marsh.erodibility": 1e-6,
    }
    scenario_file = small_scenario(calm, lambda table: table["site"].pop("retreat_rate"))
    # High enough for some days without flooding around neap tides, low enough for grass.
    member = flat_like(build_member(scenario_file, "no action"), 0.72)
    edge = member.state.edge.copy()
    run_until(member, 0, 700)
    assert (member.state.edge < edge - 1.0).any()
    # The new marsh stands on the flat it grew on.
    y = int(np.argmin(member.state.edge))
    row = int(member.state.edge[y] + 0.5)
    assert member.state.platform[row, y] == pytest.approx(member.state.bed[row, y], abs=0.02)
    # Without windows of opportunity nothing comes up, whatever else is given.
    never = flat_like(
        build_member(
            small_scenario(
                {**calm, "marsh.dry_days": 400.0}, lambda table: table["site"].pop("retreat_rate")
            ),
            "no action",
        ),
        0.72,
    )
    run_until(never, 0, 700)
    assert (never.state.shoots == 0.0).all()
    assert (never.state.edge >= edge - 1e-9).all()


def test_shoots_die_of_drowning_stress_and_burial(
    small_scenario: Make, build_member: Build
) -> None:
    scenario_file = small_scenario(
        {**STEADY, "marsh.seedling_stress": 50.0, "marsh.bed_change": 0.10}
    )
    for cause in ("nothing", "drowning", "stress", "burial"):
        member = flat_like(build_member(scenario_file, "no action"), 0.6)
        flood_lines(member, 0)
        row = int(member.state.edge.min()) - 3
        member.state.rooted_at[:] = member.state.bed
        member.state.shoots[row] = 0.3
        if cause == "drowning":
            member.state.bed[row] -= 1.5
            member.state.rooted_at[:] = member.state.bed
        if cause == "burial":
            member.state.bed[row] += 0.2
        if cause == "stress":
            numbers = member.edge_settings._replace(seedling_stress=-1.0, stress_growth=0.0)
            member = replace(member, edge_settings=numbers)
        run_until(member, 0, 14)
        assert (member.state.shoots[row].max() > 0.3) == (cause == "nothing"), (
            cause,
            member.state.shoots[row],
        )


# Platform and sea level.


def test_after_a_step_of_the_sea_the_platform_recovers_or_drowns_where_the_curve_says() -> None:
    """Steady depths are the two roots of accretion = rise; the deeper one is the brink."""
    rise, cap = 0.004, 1.0
    shallow = brentq(lambda d: accretion_morris(d) - rise, 0.10, 0.514)
    brink = brentq(lambda d: accretion_morris(d) - rise, 0.514, 0.74)

    def depth_after(step: float, years: int = 600) -> Floats:
        depth, path = shallow + step, []
        for _ in range(years):
            depth += rise - platform_accretion(depth, cap)
            path.append(depth)
        return np.array(path)

    lagging = depth_after(0.10)
    # It lags: after five years most of the step is still there, in the end none.
    assert lagging[4] > shallow + 0.05
    assert lagging[-1] == pytest.approx(shallow, abs=1e-3)
    assert depth_after(brink - shallow - 0.01)[-1] == pytest.approx(shallow, abs=1e-3)
    assert depth_after(brink - shallow + 0.01)[-1] > brink + 0.5


def test_the_model_platform_rises_faster_after_a_step_of_the_sea(
    small_scenario: Make, build_member: Build
) -> None:
    scenario_file = small_scenario(
        {**STEADY, "marsh.accretion_cap": 0.02, "marsh.organic_share": 1.0}
    )
    rise = []
    for step in (0.0, 0.15):
        member = build_member(scenario_file, "no action")
        member.weather.mean_sea_level[:] = member.weather.mean_sea_level + step
        before = member.state.platform[-1, 0]
        run_until(member, 0, 365)
        rise.append(member.state.platform[-1, 0] - before)
        high_water = member.weather.mean_sea_level[0] + member.weather.high_water
        expected = 365 / 365.25 * platform_accretion(float(high_water - before), 0.02)
        assert rise[-1] == pytest.approx(expected, rel=0.05)
    assert rise[1] > 2.0 * rise[0]
