"""Comparisons and shared tables on the model itself, on a coarse grid."""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.errors import ScenarioError
from edgesim.model.common import Common, prepare
from edgesim.outcomes.comparison import (
    better_on_targets,
    chance_table,
    design_table,
    pair_table,
    regret_table,
)
from edgesim.outcomes.label_files import read_labelled, write_labelled
from edgesim.scenario.loader import from_table
from edgesim.studies.compare import plan_comparison, run_comparison
from edgesim.studies.jobs import Shared, _Process, job, run_job
from edgesim.studies.layouts import Bench, layout_key, weather_key


def with_plans(table: dict[str, Any]) -> None:
    table["goals"] = {
        **table["goals"],
        "targets": [
            {"name": "edge", "quantity": "retreat", "at_most": "2 ft", "year": 2},
            {"name": "money", "quantity": "cost", "at_most": 25000},
        ],
    }
    table["designs"] = [
        {"name": "twin", "option": "walls and reef"},
        {"name": "wide", "design": {"walls": {"gap": "8 ft"}}},
    ]
    table["beliefs"] = [
        {"name": "busy", "weight": 1.0, "traffic": {"growth": "5 %/yr"}},
        {"name": "quiet", "weight": 3.0, "traffic": {"growth": "-5 %/yr"}},
    ]


@pytest.fixture(scope="module")
def compared(small_scenario: Callable[..., Any]) -> xr.Dataset:
    comparison = plan_comparison([small_scenario(edit=with_plans)])
    dataset, store = run_comparison(comparison, workers=1)
    assert store.failures() == []
    return dataset


@pytest.mark.slow
def test_identical_designs_differ_by_exactly_nothing(compared: xr.Dataset) -> None:
    assert compared["design"].values.tolist() == ["no action", "as written", "twin", "wide"]
    for name in ("retreat", "land_kept", "cost", "oyster_density", "fill_fraction"):
        one, other = (compared[name].sel(design=which).values for which in ("as written", "twin"))
        assert np.array_equal(one, other, equal_nan=True)
    rows = [
        row for row in pair_table(compared) if (row.first, row.second) == ("as written", "twin")
    ]
    assert {(row.p05, row.p95, row.chance_first_is_better) for row in rows} == {(0.0, 0.0, 0.5)}


@pytest.mark.slow
def test_tables_of_a_comparison_agree_with_its_members(compared: xr.Dataset) -> None:
    end = compared.isel(belief=0, year=-1)
    kept = end["land_kept"].values
    assert np.array_equal(kept[0], np.zeros(3))
    rows = {(row.design, row.quantity): row for row in design_table(compared)}
    cost = end["cost"].values[1]
    assert rows["as written", "cost_per_m2_kept"].p50 == pytest.approx(np.median(cost / kept[1]))
    # Four walls of 16 ft with gaps of 5 ft cover 79 ft, a reef of 80 ft covers 80 ft.
    assert rows["as written", "cost_per_m_of_edge"].p50 == pytest.approx(
        np.median(cost) / float(compared["covered_length"].values[1])
    )
    assert float(compared["covered_length"].values[1]) == pytest.approx(79 * 0.3048, rel=0.02)
    chances = {(row.design, row.target): row.chance for row in chance_table(compared)}
    meets = (end["retreat"].values[1] <= 2 * 0.3048) & (cost <= 25000)
    assert chances["as written", "all targets"] == pytest.approx(meets.mean())
    both = better_on_targets(compared)
    assert both["as written", "twin", "edge"] == 0.5


@pytest.mark.slow
def test_regret_is_reckoned_over_the_beliefs_that_are_stated(compared: xr.Dataset) -> None:
    rows = [row for row in regret_table(compared) if row.criterion == "land_kept"]
    assert {row.belief for row in rows} == {"busy", "quiet"}
    assert {row.belief: row.weight for row in rows} == {"busy": 0.25, "quiet": 0.75}
    for belief in ("busy", "quiet"):
        of = [row for row in rows if row.belief == belief]
        best = max(row.value for row in of)
        assert all(row.regret == pytest.approx(best - row.value) for row in of)
    values = compared["land_kept"].sel(belief="busy", design="wide").values[:, -1]
    found = next(r for r in rows if (r.belief, r.design) == ("busy", "wide"))
    assert found.value == pytest.approx(values.mean())


@pytest.mark.slow
def test_a_comparison_comes_back_from_its_file(compared: xr.Dataset, tmp_path: Any) -> None:
    write_labelled(compared, tmp_path / "comparison.nc")
    xr.testing.assert_identical(read_labelled(tmp_path / "comparison.nc"), compared)


def test_prices_of_other_years_and_currencies_are_refused(
    small_scenario: Callable[..., Any],
) -> None:
    ours = small_scenario()
    later = small_scenario({"prices.price_year": 2020})
    with pytest.raises(ScenarioError, match=r"prices\.price_year = 2020: differs from 2026"):
        plan_comparison([ours, later])
    assert len(plan_comparison([ours, later], mixed_prices=True).designs) == 3
    text = ours.resolved_toml().replace('"USD"', '"GBP"')
    pounds = from_table(tomllib.loads(text), ours.path)
    with pytest.raises(ScenarioError, match=r"prices\.currency = GBP"):
        plan_comparison([ours, pounds], mixed_prices=True)


def test_options_are_compared_where_no_designs_are_listed(
    small_scenario: Callable[..., Any],
) -> None:
    names = [design.name for design in plan_comparison([small_scenario()]).designs]
    assert names == ["no action", "walls only", "reef only", "walls and reef"]


def test_another_place_is_told(small_scenario: Callable[..., Any]) -> None:
    advice = plan_comparison([small_scenario(), small_scenario({"traffic.level": 2.0})]).advice
    assert len(advice) == 1
    assert "more than the design: traffic" in advice[0]


NO_PART_OF_THE_TABLES = {
    "design.walls.crest": 0.9,
    "design.walls.solid_fraction": 0.4,
    "design.walls.post_wood": "composite",
    "design.walls.ties": "stainless",
    "design.walls.branch_diameter": 0.01,
    "design.walls.row_gap": 0.9,
    "design.reef.rows": 1,
    "design.reef.wire": "stainless",
    "design.reef.unit_height": 0.3,
    "upkeep.rule": "none",
    "prices.post": 1.0,
    "oysters.recruitment": 10.0,
    "mud.concentration": 0.02,
    "marsh.strength_variation": 0.1,
}
PART_OF_THE_TABLES = {
    "design.walls.gap": 2.4,
    "design.walls.length": 4.0,
    "design.walls.offset": 6.5,
    "design.reef.offset": 2.5,
    "design.reef.length": 20.0,
    "traffic.level": 2.0,
    "run.seed": 3,
}


def same(one: Common, other: Common) -> bool:
    """Whether two sets of shared tables are equal to the last bit."""
    return pickle.dumps(one) == pickle.dumps(other)


@pytest.mark.slow
def test_runs_share_tables_only_when_the_tables_are_the_same(
    small_scenario: Callable[..., Any],
) -> None:
    base = small_scenario()
    tables = prepare(base)
    for path, value in NO_PART_OF_THE_TABLES.items():
        changed = base.overridden({path: value})
        assert layout_key(changed) == layout_key(base), path
        assert same(prepare(changed), tables), path
    for path, value in PART_OF_THE_TABLES.items():
        assert layout_key(base.overridden({path: value})) != layout_key(base), path
    assert weather_key(base.overridden({"design.walls.gap": 2.4})) == weather_key(base)
    assert weather_key(base.overridden({"design.walls.offset": 6.5})) != weather_key(base)


@pytest.mark.slow
def test_what_is_kept_between_runs_changes_no_result(
    small_scenario: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    base = small_scenario()
    shared = Shared((base,), ("walls and reef",))
    jobs = [
        job(0, 0, {"design.walls.crest": 0.9}),
        job(0, 0, {"design.walls.gap": 2.4}),
        job(0, 0, {"design.walls.gap": 2.4}, {"traffic.level": 0.8}),
        job(0, 0, {}, {"mud.concentration": 0.9}),
        job(0, 1, {}, {"mud.concentration": 0.9, "oysters.recruitment": 0.2}),
        job(0, 0, {}, {"site.retreat_rate": 0.9}),
        # Logs of other lengths beside the same course without action.
        job(0, 0, {"upkeep.rule": "none"}, {"site.retreat_rate": 0.9}),
        job(0, 0, {"upkeep.rule": "trigger"}, {"site.retreat_rate": 0.9}),
        job(0, 0, {"design.walls.crest": 0.9}),
    ]
    monkeypatch.setattr(_Process, "bench", Bench())
    kept = [run_job(shared, one)["yearly"] for one in jobs]
    bench = _Process.bench
    assert bench.layouts.made == 2
    assert bench.forcings.made < len(jobs)
    for one, result in zip(jobs, kept, strict=True):
        monkeypatch.setattr(_Process, "bench", Bench())
        assert np.array_equal(run_job(shared, one)["yearly"], result, equal_nan=True)
    assert np.array_equal(kept[0], kept[-1], equal_nan=True)
    assert not np.array_equal(kept[1], kept[2], equal_nan=True)


def test_shares_move_only_what_they_name(small_scenario: Callable[..., Any]) -> None:
    base = small_scenario()
    drawn, moved = base.member(3), base.at_shares({"mud.concentration": 0.5}).member(3)
    assert moved.mud.concentration == base.distributions["mud.concentration"].median
    assert moved.oysters == drawn.oysters
    assert replace(base, shares={}).member(3) == drawn
