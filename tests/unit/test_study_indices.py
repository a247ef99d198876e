"""Functions with known indices through the whole pipeline: list of inputs, runner, store, analysis.

Ishigami and Homma, 1990: a = 7, b = 0.1 has first-order indices 0.3139, 0.4424, 0 and total
0.5576, 0.4424, 0.2437 (first-order read in the documentation of SALib; the others follow from the
variances V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = 8 b^2 pi^8 / 225).
Sobol' g function: V_i = 1 / (3 (1 + a_i)^2), V = prod(1 + V_i) - 1 (Saltelli and others, 2008).
"""

from __future__ import annotations

import math
import sys
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.errors import InvalidParameterError, ScenarioError, StudyError
from edgesim.outcomes.exploration import conclusions, limit_table
from edgesim.scenario.plans import study_of
from edgesim.studies import indices, sampling
from edgesim.studies.explore import (
    Budget,
    failures_of,
    plan_exploration,
    refuse_nothing,
    run_exploration,
)
from edgesim.studies.study_dataset import build_exploration

sys.path.insert(0, str(Path(__file__).parents[1]))
import study_functions as functions


def inputs(count: int) -> list[dict[str, Any]]:
    ranges = {
        "marsh.soil_density": ("400 kg/m^3", "900 kg/m^3"),
        "mud.concentration": ("10 mg/l", "90 mg/l"),
        "mud.settling_velocity": ("0.2 mm/s", "0.9 mm/s"),
        "oysters.recruitment": ("1000 /m^2/yr", "5000 /m^2/yr"),
        "traffic.level": (0.5, 1.5),
        "oysters.adult_mortality": ("0.1 /yr", "0.5 /yr"),
    }
    return [
        {"name": f"x{k}", "path": path, "low": ranges[path][0], "high": ranges[path][1]}
        for k, path in enumerate(functions.UNIT[:count], start=1)
    ]


@pytest.fixture
def explored(
    small_scenario: Callable[..., Any], tmp_path: Path
) -> Callable[..., tuple[xr.Dataset, Any]]:
    def explore(
        study: dict[str, Any], function: Callable[..., Any], budget: Budget, **more: Any
    ) -> tuple[xr.Dataset, Any]:
        file = small_scenario(edit=lambda table: table.update(study=study))
        exploration = replace(plan_exploration(file), function=function)
        stages = run_exploration(exploration, tmp_path / "study", budget, workers=1, **more)
        refuse_nothing(stages)
        return build_exploration(exploration, stages), stages

    return explore


def at_the_end(dataset: xr.Dataset) -> dict[str, np.ndarray[Any, Any]]:
    o = list(dataset["outcome"].values).index("land_kept_year_2")
    names = list(dataset["leading"].values)
    order = [names.index(name) for name in sorted(set(names) - {"chance"})] + [
        names.index("chance")
    ]
    return {
        which: dataset[which].values[-1, o][order]
        for which in ("first", "first_bound", "total", "total_bound")
    }


@pytest.mark.slow
def test_ishigami_meets_its_indices_within_their_bounds(
    explored: Callable[..., Any], tell: Callable[[str], None]
) -> None:
    dataset, _ = explored({"inputs": inputs(3)}, functions.ishigami, Budget(4, 256, 3))
    found = at_the_end(dataset)
    b = 0.1
    v1, v2, v13 = 0.5 * (1 + b * math.pi**4 / 5) ** 2, 49 / 8, 8 * b**2 * math.pi**8 / 225
    v = v1 + v2 + v13
    first = np.array([v1 / v, v2 / v, 0.0, 0.0])
    total = np.array([(v1 + v13) / v, v2 / v, v13 / v, 0.0])
    assert first[:2] == pytest.approx([0.3139, 0.4424], abs=5e-5)
    tell(f"first {found['first']}, total {found['total']}, bounds {found['total_bound']}")
    assert (np.abs(found["first"] - first) <= found["first_bound"] + 1e-12).all()
    assert (np.abs(found["total"] - total) <= found["total_bound"] + 1e-12).all()
    names = list(dataset["leading"].values)
    i, j = sorted((names.index("x1"), names.index("x3")))
    pair = float(dataset["second"].values[0, i, j])
    assert abs(pair - v13 / v) <= float(dataset["second_bound"].values[0, i, j])
    assert found["first_bound"].max() < 0.15


@pytest.mark.slow
def test_sobol_g_meets_its_indices_within_their_bounds(explored: Callable[..., Any]) -> None:
    dataset, _ = explored({"inputs": inputs(6)}, functions.sobol_g, Budget(4, 256, 6))
    found = at_the_end(dataset)
    single = 1.0 / (3.0 * (1.0 + functions.G_WEIGHTS) ** 2)
    v = np.prod(1.0 + single) - 1.0
    total = np.array([s * np.prod(1.0 + np.delete(single, k)) for k, s in enumerate(single)]) / v
    assert (np.abs(found["first"][:6] - single / v) <= found["first_bound"][:6] + 1e-12).all()
    assert (np.abs(found["total"][:6] - total) <= found["total_bound"][:6] + 1e-12).all()
    assert found["total"][6] == 0.0
    # The bounds say something: they are far narrower than the leading index.
    assert found["total_bound"].max() < 0.25


@pytest.mark.slow
def test_a_word_and_a_whole_number_meet_their_indices(explored: Callable[..., Any]) -> None:
    study = {
        "option": "walls and reef",
        "decisions": [
            {"name": "rows", "path": "design.reef.rows", "low": 1, "high": 4},
            {"name": "wire", "path": "design.walls.ties", "levels": list(functions.WORDS)},
        ],
    }
    dataset, _ = explored(study, functions.words_and_counts, Budget(4, 256, 2))
    found = at_the_end(dataset)
    # Variance of 1..4 is 15/12; of the words 0, 3, 1 it is 10/3 - (4/3)^2.
    rows, words = 15 / 12, 10 / 3 - 16 / 9
    expected = np.array([rows, words, 0.0]) / (rows + words)
    for which in ("first", "total"):
        assert (np.abs(found[which] - expected) <= found[f"{which}_bound"] + 1e-12).all()
    assert dataset["input_range"].values[1] == "thin galvanised | galvanised | stainless"


def test_words_that_members_believe_in_by_turns_are_an_input(
    explored: Callable[..., Any],
) -> None:
    study = {"inputs": [{"name": "wakes", "path": "traffic.planing_formula"}]}
    dataset, _ = explored(study, functions.by_formula, Budget(4, 64, 1))
    # The scenario believes in the first twice as much as in the second, in which marsh is kept.
    assert dataset["input_range"].values[0] == "maynord 67% | bhowmik 33%"
    base = dataset["shares_result"].values[:, 0]
    assert set(base) == {0.0, 3.0}
    assert base.mean() == pytest.approx(1.0, abs=0.1)
    found = at_the_end(dataset)
    assert found["total"][0] == pytest.approx(1.0, abs=found["total_bound"][0])
    assert limit_table(dataset)[0].limit == "bhowmik"


def test_words_may_have_other_weights_in_a_study(small_scenario: Callable[..., Any]) -> None:
    path = "traffic.planing_formula"
    form = {"choices": ["maynord", "bhowmik"], "weights": [1.0, 3.0]}
    file = small_scenario(edit=lambda t: t.update(study={"inputs": [{"path": path, **form}]}))
    exploration = plan_exploration(file)
    (factor,) = exploration.study.factors
    assert [factor.category(share) for share in (0.1, 0.24, 0.26, 0.9)] == [0, 0, 1, 1]
    payload = exploration.payload([path], np.array([0.3]), 0)
    assert exploration.base.at_shares(payload["shares"]).member(0).traffic.planing_formula == (
        "bhowmik"
    )


def test_words_of_two_inputs_are_not_moved_together(small_scenario: Callable[..., Any]) -> None:
    paths = ["traffic.planing_formula", "traffic.displacement_formula"]
    file = small_scenario(edit=lambda table: table.update(study={"inputs": [{"path": paths}]}))
    with pytest.raises(ScenarioError, match=r"drawn from other words.*table of its own"):
        study_of(file)


def test_chance_takes_the_share_that_the_inputs_leave(explored: Callable[..., Any]) -> None:
    # Variance of x1 is 1/12, that of the noise 1.
    dataset, _ = explored({"inputs": inputs(1)}, functions.chance_alone, Budget(4, 256, 1))
    found = at_the_end(dataset)
    assert abs(found["total"][1] - 12 / 13) <= found["total_bound"][1]
    assert abs(found["first"][0] - 1 / 13) <= found["first_bound"][0]


@pytest.mark.slow
def test_a_study_grows_without_wasting_a_run(
    explored: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    study = {"inputs": inputs(3)}
    small, first = explored(study, functions.ishigami, Budget(4, 16, 3))
    before = first.shares.values("yearly")
    grown, stages = explored(study, functions.ishigami, Budget(8, 32, 3), resume=True)
    assert stages.shares.status.size == 2 * len(before)
    assert np.array_equal(stages.shares.values("yearly")[: len(before)], before)
    assert int(grown["screening_trajectories"]) == 8
    assert grown["size"].values.tolist() == [16, 32]
    assert np.array_equal(grown["total"].values[0], small["total"].values[-1], equal_nan=True)


@pytest.mark.slow
def test_a_short_time_gives_a_screening_that_says_what_it_does_not_know(
    explored: Callable[..., Any],
) -> None:
    sampling.morris_plan(["a"], 2, 1)  # the import of the library is no part of the time
    study = {"inputs": inputs(3)}
    # 20 runs of 30 ms fit into 3 s; the 160 of the second stage take 4.8 s and are not begun.
    screened, stages = explored(study, functions.slow, Budget(4, 16, 3, seconds=3.0))
    assert (stages.trajectories, stages.shares) == (4, None)
    said = " ".join(conclusions(screened))
    assert "screening with 4 trajectories" in said
    assert "Not concluded: shares of the variance" in said
    assert "x1" in said
    before = stages.screening.values("yearly")
    whole, stages = explored(study, functions.slow, Budget(4, 16, 3), resume=True)
    assert np.array_equal(stages.screening.values("yearly"), before)
    assert "Not concluded" not in " ".join(conclusions(whole))


def test_too_short_a_time_says_so(explored: Callable[..., Any], tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="Give more minutes"):
        explored({"inputs": inputs(3)}, functions.slow, Budget(4, 16, 3, seconds=1e-9))


def test_points_with_a_failed_run_are_left_out_and_told(explored: Callable[..., Any]) -> None:
    dataset, stages = explored({"inputs": inputs(2)}, functions.sometimes_failing, Budget(4, 64, 2))
    assert len(failures_of(stages)) > 0
    assert "x1 is too large" in failures_of(stages)[0]
    assert dataset["size"].values[-1] < 64
    assert np.isfinite(dataset["shares_result"].values).all()
    assert np.isfinite(dataset["total"].values[-1, 0]).all()


# The traps of the library.


def test_seed_0_gives_the_same_bounds_twice() -> None:
    names = ["a", "b"]
    plan = sampling.sobol_plan(names, 64, 0, second_order=True)
    values = plan[:, 0] + plan[:, 1] ** 2
    first = indices.sobol(names, values, 0, second_order=True)
    again = indices.sobol(names, values, 0, second_order=True)
    assert np.array_equal(first.total_bound, again.total_bound)
    assert sampling.library_seed(0, 4) >= 1
    trajectories = sampling.morris_plan(names, 6, 0)
    effects = [indices.screen(names, trajectories, trajectories[:, 0] ** 2, 0) for _ in range(2)]
    assert np.array_equal(effects[0].bound, effects[1].bound)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_outputs_that_are_not_finite_are_refused(bad: float) -> None:
    names = ["a", "b"]
    plan = sampling.sobol_plan(names, 16, 1, second_order=False)
    values = plan.sum(axis=1)
    values[3] = bad
    with pytest.raises(StudyError, match="1 of 64 results are not finite"):
        indices.sobol(names, values, 1, second_order=False)
    with pytest.raises(StudyError, match="not finite"):
        indices.density(names, plan, values, 1)
    trajectories = sampling.morris_plan(names, 2, 1)
    with pytest.raises(StudyError, match="not finite"):
        indices.screen(names, trajectories, np.full(len(trajectories), bad), 1)


def test_no_description_of_a_problem_serves_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[dict[str, Any]] = []
    original = sampling.problem_of

    def remembered(names: Any) -> dict[str, Any]:
        made.append(original(names))
        return made[-1]

    monkeypatch.setattr(sampling, "problem_of", remembered)
    names = ["a", "b"]
    one = sampling.sobol_plan(names, 16, 1, second_order=True)
    two = sampling.sobol_plan(names, 16, 1, second_order=True)
    assert "sample_scaled" in made[0], "the library no longer writes into the problem"
    assert made[0] is not made[1]
    assert np.array_equal(one, two)
    assert one.min() >= 0.0
    assert one.max() <= 1.0


@pytest.mark.parametrize("points", [3, 100, 0])
def test_a_number_of_points_that_is_no_power_of_two_is_refused(points: int) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(InvalidParameterError, match="power of two"):
            sampling.sobol_plan(["a"], points, 1, second_order=True)


def test_the_highest_level_counts_in_the_density_based_index() -> None:
    # Cut on the values of a choice of two, the library would never see the higher one.
    generator = np.random.default_rng(3)
    plan = generator.random((600, 2))
    values = (plan[:, 0] > 0.5).astype(float)
    found = indices.density(["choice", "idle"], plan, values, 1)
    assert found.index[0] == pytest.approx(0.5, abs=0.05)
    assert found.index[1] < 3.0 * found.floor


def test_our_distances_of_slices_are_those_of_the_library() -> None:
    generator = np.random.default_rng(4)
    plan = generator.random((300, 3))
    values = np.round(plan[:, 0] ** 2 + 0.3 * generator.normal(size=300), 1)
    found = indices.density(["a", "b", "c"], plan, values, 1)
    assert indices.slice_distances(plan, values) == pytest.approx(found.index, abs=1e-12)


def test_longer_plans_begin_with_shorter_ones() -> None:
    names = ["a", "b", "c"]
    for make in (
        lambda n: sampling.morris_plan(names, n, 5),
        lambda n: sampling.sobol_plan(names, n, 5, second_order=True),
    ):
        short, long = make(8), make(16)
        assert np.array_equal(long[: len(short)], short)


def test_rankings_are_judged_by_bounds() -> None:
    def verdict(a: list[float], b: list[float], c: list[float]) -> str:
        return indices.ranking_verdict(np.array(a), np.array(b), np.array(c))

    assert verdict([0.5, 0.2], [0.6, 0.1], [0.01, 0.01]) == "same"
    assert verdict([0.2, 0.3], [0.3, 0.2], [0.1, 0.1]) == "same but for ties"
    assert verdict([0.2, 0.6], [0.6, 0.2], [0.1, 0.1]) == "not stable"
    assert verdict([0.02, 0.01, 0.9], [0.01, 0.02, 0.9], [0.0, 0.0, 0.1]) == "same"


def test_an_index_has_converged_when_its_bound_is_narrow_or_it_is_small() -> None:
    found = indices.converged(np.array([0.6, 0.3, 0.02, 0.02]), np.array([0.2, 0.2, 0.03, 0.2]))
    assert found.tolist() == [True, False, True, False]


def test_shares_of_few_points_or_wide_bounds_are_never_known() -> None:
    share, bound = np.array([1.42, 0.6, 0.5]), np.array([0.54, 0.2, 0.26])
    assert indices.converged(share, bound).tolist() == [True, True, False]
    assert indices.shares_converged(share, bound, 64).tolist() == [False, True, False]
    assert not indices.shares_converged(share, bound, indices.SMALLEST).any()


def test_wrong_studies_are_refused_before_any_computing(
    small_scenario: Callable[..., Any],
) -> None:
    study = {
        "option": "walls and ref",
        "decisions": [{"path": "design.walls.gap", "levels": ["3 kg", "5 ft"]}],
        "inputs": [
            {"path": "trafic.level"},
            {"path": "upkeep.rule"},
            {"path": "traffic.level", "low": 2.0, "high": 1.0},
            {"path": "design.reef.rows", "low": 1.5, "high": 3},
        ],
    }
    file = small_scenario(edit=lambda table: table.update(study=study))
    with pytest.raises(ScenarioError) as caught:
        study_of(file)
    said = "\n".join(caught.value.problems)
    for part in (
        'study.option = "walls and ref": is not an option',
        'study.decisions[design.walls.gap].levels, value 1 = "3 kg"',
        "trafic.level: is not an input of this scenario",
        'Did you mean "traffic.level"?',
        "is one number or word in this scenario",
        "low must be less than high",
        "must give low and high as whole numbers",
    ):
        assert part in said
    assert len(caught.value.problems) == 6
