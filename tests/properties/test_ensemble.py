"""What must hold over members and options: budgets, bytes, bounds, convergence, calibration."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import UNDEFENDED, calibrate, run_all_options, run_option
from edgesim.model.ledger import INFLOWS, OUTFLOWS
from edgesim.model.records import LOGGED
from edgesim.model.settings import log_size
from edgesim.model.state import ENTRY
from edgesim.model.step import Member, flood_lines, run_window
from edgesim.names import BUDGETS
from edgesim.outcomes.dataset import build_dataset, write_dataset
from edgesim.outcomes.facts import layout_facts
from edgesim.outcomes.site import with_site
from edgesim.scenario import ScenarioFile, load_scenario
from edgesim.studies import worker
from edgesim.studies.ensemble import run_forecast

Make = Callable[..., ScenarioFile]
Build = Callable[..., Member]
Tell = Callable[[str], None]

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"

# 8. Budgets.


def stocks(member: Member) -> dict[str, float]:
    """Stocks of mud, shell, fill, money and whole units, counted here from the state alone."""
    state, edge = member.state, member.edge_settings
    # Marsh from the edge landward; the soil of a row reaches half a cell to either side.
    sides = (np.arange(state.bed.shape[0] + 1) - 0.5) * edge.dx
    lengths = np.diff(np.maximum(sides[:, None], state.edge), axis=0)
    soil = float((lengths * (state.platform - state.bed)).sum()) * edge.dy
    firm = float((state.bed - state.loose_thickness).sum()) * edge.flat_density
    flat = (firm + float(state.loose_mud.sum())) * edge.dx * edge.dy
    reef, walls = member.reef_settings, member.wall_settings
    ledger = state.ledger
    spent = sum(ledger[ENTRY[name]] for name in INFLOWS["money"])
    return {
        "mud": flat + soil * edge.soil_density,
        "shell": reef.built_height
        * reef.area
        * float(
            ((state.placed + state.loose_shell) * reef.bulk_density).sum()
            + ((state.unit_height - state.placed) * reef.grown_density).sum()
        ),
        "units": float(np.sum(state.spilled == 0.0)),
        "fill": float((state.fill_mass * walls.volume).sum()),
        "money": float(spent),
    }


def gap_of(member: Member, budget: str, stock: float) -> float:
    """Opening plus gains less losses less the stock, relative to all that moved or lay there."""
    ledger = member.state.ledger
    gained = [ledger[ENTRY[name]] for name in INFLOWS[budget]]
    lost = [ledger[ENTRY[name]] for name in OUTFLOWS[budget]]
    gap = abs(sum(gained) - sum(lost) - stock)
    turnover = turnover_of(member, budget)
    return gap / turnover if turnover else gap


def turnover_of(member: Member, budget: str) -> float:
    """All that moved or lay there at the start."""
    names = (*INFLOWS[budget], *OUTFLOWS[budget])
    return sum(abs(float(member.state.ledger[ENTRY[name]])) for name in names)


ACTIVE = (
    "mud_deposited",
    "mud_resuspended",
    "mud_scarp_exported",
    "mud_platform_accreted",
    "shell_grown",
    "shell_dissolved",
    "shell_washed_off",
    "shell_refilled",
    "units_spilled",
    "units_mended",
    "fill_refilled",
    "fill_decayed",
    "fill_washed_out",
    "money_built",
    "money_refilled",
    "money_posts",
    "money_units",
    "money_visits",
)


@pytest.mark.slow
def test_every_budget_closes_in_every_window_of_ten_years(build_member: Build, tell: Tell) -> None:
    # Posts fall early, loose shell lies in the reach of small waves, and crews go on: all of it moves.
    changes = {"design.walls.post_life": 4.0, "oysters.loose_embedment": 0.02}
    changes |= {"upkeep.mend_reef": True, "upkeep.until_year": 10.0}
    scenario_file = load_scenario(DEMO).overridden(changes, members=3)
    worst, moved = dict.fromkeys(BUDGETS, 0.0), dict.fromkeys(ACTIVE, 0.0)
    for option in ("no action", "walls only", "reef only", "walls and reef"):
        for index in (0, 1):
            member = build_member(scenario_file, option, index)
            last = member.weather.tally.shape[0]
            flood_lines(member, 0)
            for day in range(0, last, member.window_days):
                run_window(member, day, min(day + member.window_days, last))
                for budget, stock in stocks(member).items():
                    worst[budget] = max(worst[budget], gap_of(member, budget, stock))
                    closing = member.state.ledger[ENTRY[f"{budget}_closing"]]
                    # The stock of mud is counted from the zero of the datum and may pass through 0.
                    assert abs(closing - stock) <= 1e-9 * turnover_of(member, budget)
            assert member.state.residual.max() < 1e-9
            for name in ACTIVE:
                moved[name] = max(moved[name], abs(float(member.state.ledger[ENTRY[name]])))
    tell("gaps: " + ", ".join(f"{name} {gap:.1e}" for name, gap in worst.items()))
    assert max(worst.values()) < 1e-9
    # All of it went on: eroding, trapping, refilling and failing.
    assert [name for name, value in moved.items() if value <= 0.0] == []


def test_a_kilogram_of_mud_out_of_nowhere_opens_the_budget(
    small_scenario: Make, build_member: Build
) -> None:
    member = build_member(small_scenario(), "walls and reef")
    flood_lines(member, 0)
    run_window(member, 0, 14)
    assert gap_of(member, "mud", stocks(member)["mud"]) < 1e-12
    edge = member.edge_settings
    member.state.bed[3, 3] += 1.0 / (edge.dx * edge.dy * edge.flat_density)
    assert gap_of(member, "mud", stocks(member)["mud"]) > 1e-9


# 9. The same bytes.


def same(one: xr.Dataset, other: xr.Dataset) -> None:
    """Every variable and coordinate holds the same bytes."""
    assert list(one.variables) == list(other.variables)
    for name in one.variables:
        a, b = one[name].values, other[name].values
        assert a.dtype == b.dtype
        assert a.tobytes() == b.tobytes() if a.dtype != object else list(a) == list(b)


@pytest.mark.slow
def test_workers_and_order_change_no_byte(
    small_scenario: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    scenario_file = small_scenario({"run.members": 4})
    alone = run_forecast(scenario_file, workers=1)
    pair = run_forecast(scenario_file, workers=2)
    common = prepare(scenario_file)
    shared = worker.Shared(scenario_file, common, log_size(scenario_file.central, common.n_days))
    backwards = {index: worker.run_member(shared, {"member": index}) for index in (3, 1, 2, 0)}
    options = [option.name for option in scenario_file.central.options]
    by_option = [
        [{name: values[place] for name, values in backwards[index].items()} for index in range(4)]
        for place in range(len(options))
    ]
    facts = layout_facts(scenario_file, common)
    shuffled = build_dataset(facts, options, by_option, scenario_file)
    shuffled = with_site(shuffled, scenario_file, common)
    same(alone, pair)
    same(alone, shuffled)
    assert alone.attrs == pair.attrs == shuffled.attrs
    for name, dataset in (("alone", alone), ("pair", pair)):
        write_dataset(dataset, tmp_path / f"{name}.nc")
    assert (tmp_path / "alone.nc").read_bytes() == (tmp_path / "pair.nc").read_bytes()
    other = run_forecast(scenario_file.overridden(seed=2), workers=1)
    assert not np.array_equal(alone["retreat"].values, other["retreat"].values)


def test_a_member_is_the_same_whatever_the_number_of_members(small_scenario: Make) -> None:
    few, many = (small_scenario({"run.members": n}) for n in (3, 30))
    for index in (0, 7):
        one, other = few.member(index), many.member(index)
        assert one.model_dump(exclude={"run"}) == other.model_dump(exclude={"run"})
        tallies = [
            member_forcing(f, prepare(f), index).weather.tally.tobytes() for f in (few, many)
        ]
        assert tallies[0] == tallies[1]


# 10. Convergence.


def ten_year_retreat(changes: dict[str, Any], members: int) -> float:
    """Mean over members of the undefended retreat and that behind walls and reef. [m]."""
    scenario_file = load_scenario(DEMO).overridden(changes, members=members)
    common = prepare(scenario_file)
    moved = []
    for index in range(members):
        forcing = member_forcing(scenario_file, common, index)
        calibration = calibrate(forcing, common)
        for option in (scenario_file.central.options[0], scenario_file.central.options[-1]):
            edge = run_option(forcing, calibration, common, option)["edge_position"]
            moved.append((edge[-1] - edge[0]).mean())
    return float(np.mean(moved))


FINER = {
    "cell size 0.25 m": {"run.cell_size": 0.25},
    "16 level bins": {"run.water_level_bins": 16},
    "6 wake classes": {"run.wake_classes": 6},
}


@pytest.fixture(scope="module")
def usual_retreat() -> float:
    return ten_year_retreat({}, 4)


@pytest.mark.slow
@pytest.mark.parametrize("changes", FINER.values(), ids=FINER.keys())
def test_a_finer_forecast_retreats_alike(
    usual_retreat: float, changes: dict[str, Any], tell: Tell
) -> None:
    """Members keep their draws, so that only the numerical error is left."""
    change = ten_year_retreat(changes, 4) / usual_retreat - 1.0
    tell(f"{changes}: {change:+.2%}")
    assert change != 0.0
    assert abs(change) < 0.05


@pytest.mark.slow
def test_waves_of_each_day_retreat_like_those_of_a_fortnight(
    usual_retreat: float, tell: Tell
) -> None:
    """Mean over members; single ones move by up to 2 %, erodibility with them."""
    change = ten_year_retreat({"run.wave_update_days": 1}, 4) / usual_retreat - 1.0
    tell(f"waves solved daily: {change:+.2%}")
    assert change != 0.0
    assert abs(change) < 0.01


# 11. Calibration.


@pytest.mark.slow
def test_undefended_retreat_over_members_is_the_surveyed_rate(
    small_scenario: Make, tell: Tell
) -> None:
    """Without growth and without a rise of the sea the future is like the surveyed past.

    Found 1 to 2 % too slow on this coarse grid: the windows of the forecast begin anew at each
    record and so meet other levels within the bins than those of the trial.
    """
    rate = 0.4
    steady = {
        "traffic.growth": 0.0,
        "sea_level.rate": 0.0,
        "sea_level.acceleration": 0.0,
        "site.retreat_rate": rate,
        "run.years": 4,
        "run.members": 16,
    }
    scenario_file = small_scenario(steady)
    common = prepare(scenario_file)
    rates = []
    for index in range(16):
        forcing = member_forcing(scenario_file, common, index)
        found = run_option(forcing, calibrate(forcing, common), common, UNDEFENDED)
        mean = found["edge_position"].mean(axis=1)
        rates.append([(mean[4 * year] - mean[0]) / year for year in (2, 3, 4)])
    means = np.mean(rates, axis=0)
    error = np.std(rates, axis=0, ddof=1) / 4.0
    tell(f"retreat over the surveyed rate: {means / rate} +- {error / rate}")
    np.testing.assert_allclose(means, rate, rtol=0.05)


# 13. Bounds.

SHARES = (
    "fill_fraction",
    "posts_standing",
    "ties_intact",
    "mesh_intact",
    "rings_intact",
    "bays_open",
    "consolidation",
    "reef_exposure",
    "wall_transmission",
    "reef_transmission",
)
BY_LINE = {
    "walls": {
        "fill_fraction",
        "posts_standing",
        "ties_intact",
        "wall_transmission",
        "wood_oysters",
        "bays_open",
        "post_scour",
        "refills",
        "crew_hours",
    },
    "reef": {
        "mesh_intact",
        "rings_intact",
        "shell_stock",
        "oyster_sizes",
        "consolidation",
        "oyster_density",
        "reef_crest",
        "reef_exposure",
        "reef_transmission",
    },
}
drawn = st.fixed_dictionaries(
    {
        "run.seed": st.integers(0, 10_000),
        "design.walls.crest": st.floats(0.0, 0.8),
        "design.walls.solid_fraction": st.floats(0.1, 0.5),
        "design.reef.unit_height": st.floats(0.2, 0.9),
        "mud.concentration": st.floats(0.0, 0.3),
        "mud.mixing": st.floats(0.0005, 0.05),
        "marsh.tensile_strength": st.floats(0.0, 1e4),
        "marsh.slump_share": st.floats(0.0, 0.9),
        "marsh.seedling_stress": st.floats(0.01, 2.0),
        "site.retreat_rate": st.floats(0.05, 1.0),
        "oysters.recruitment": st.floats(0.0, 3000.0),
        "traffic.growth": st.floats(-0.1, 0.2),
        "sea_level.rate": st.floats(0.0, 0.02),
    }
)


@pytest.mark.slow
@given(drawn)
@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.generate,),  # a failure is told at once, not made smaller for minutes
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_every_forecast_stays_within_bounds(small_scenario: Make, changes: dict[str, Any]) -> None:
    scenario_file = small_scenario(changes)
    common = prepare(scenario_file)
    forcing = member_forcing(scenario_file, common, 0)
    options = scenario_file.central.options
    for option, found in zip(
        options, run_all_options(forcing.scenario, forcing, common), strict=True
    ):
        absent = set().union(
            *(names for line, names in BY_LINE.items() if not getattr(option, line))
        )
        absent |= {"edge_power_walls"} if not option.walls else set()
        absent |= {"edge_power_reef"} if not option.reef else set()
        for name, values in found.items():
            if name in absent:
                assert np.isnan(values).all(), name
            elif name in LOGGED:
                # The log has room for more visits than were made.
                assert np.isfinite(values).any() == (option.walls or option.reef), name
            else:
                assert np.isfinite(values).all(), name
        for name in set(SHARES) - absent:
            # A fill topped up on a visit may stand no higher than built.
            assert (found[name] >= 0.0).all(), name
            assert (found[name] <= 1.0 + 1e-6).all(), name
        assert (found["suspended_share"] >= 0.0).all()
        for name in {"shell_stock", "oyster_sizes", "wood_oysters", "post_scour"} - absent:
            assert (found[name] >= 0.0).all(), name
        assert (found["shoot_cover"] >= 0.0).all()
        assert (found["shoot_cover"] <= 1.0).all()
        assert (found["ledger_residual"] < 1e-9).all()
        if option.reef:
            assert (found["oyster_density"] >= 0.0).all()
            assert (found["reef_transmission"] > 0.0).all()
        if option.walls:
            # Between lines waves pile up by diffraction, but hardly over the whole reach.
            assert (found["edge_power_walls"] <= 1.05 * found["edge_power_open"]).all()
        assert (np.diff(found["cost"]) >= 0.0).all()
        assert found["edge_power_wake"].min() >= 0.0
        assert found["edge_power_wind"].min() >= 0.0
