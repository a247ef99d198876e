"""A study as one Dataset: plans, results, indices, bounds, convergence, provenance."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.names import BY_NAME
from edgesim.outcomes.measures import Measure, successes
from edgesim.outcomes.provenance import provenance
from edgesim.scenario.distributions import Choice
from edgesim.scenario.plans import Factor
from edgesim.studies.explore import (
    CHANCE,
    Exploration,
    Stages,
    screening_study,
    shares_study,
    whole,
)
from edgesim.studies.indices import (
    Sobol,
    converged,
    density,
    growth,
    ranking_verdict,
    screen,
    shares_converged,
)
from edgesim.studies.sampling import base_rows, inner_shares, rows_per_point
from edgesim.studies.separation import chosen_box, patient_rule
from edgesim.studies.store import StudyStore
from edgesim.units import KINDS, both_ways

Floats = NDArray[np.float64]
Entries = dict[str, tuple[tuple[str, ...], Any, dict[str, str]]]

SUCCESS = "success"
"""Name of the outcome that is 1 when all targets are met."""

BEST_SHARE = 0.25
"""Share of runs that count as good where the user wrote no target (judgement). [1]"""


def build_exploration(exploration: Exploration, stages: Stages) -> xr.Dataset:
    """Analyse what a study has run so far.

    Parameters
    ----------
    exploration : Exploration
        What was explored.
    stages : Stages
        How far it came.

    Returns
    -------
    xarray.Dataset
    """
    data: Entries = {}
    coords: Entries = {"input": _words("input", exploration.names, "name of the input")}
    data |= _inputs(exploration)
    data |= _outcomes(exploration, coords)
    if stages.screening is not None:
        data |= _screening(exploration, stages.screening, stages.trajectories)
    if stages.shares is not None:
        data |= _shares(exploration, stages, stages.shares, coords)
    if stages.map is not None:
        data |= _map(exploration, stages.map, coords)
    dataset = xr.Dataset(data, coords)
    dataset.attrs = provenance(exploration.file, f"study of {exploration.study.option}")
    dataset.attrs |= {
        "option": exploration.study.option,
        "notes": " ".join(stages.notes) or "none",
        "ranked_by": "; ".join(measure.label for measure in exploration.leaders),
        "last_year": exploration.base.central.run.years,
    }
    if exploration.study.map is not None:
        wanted = exploration.study.map
        dataset.attrs |= {
            "map_rows": wanted.rows,
            "map_columns": wanted.columns,
            "map_over": wanted.over,
        }
    return dataset


def _words(
    dimension: str, names: list[str], meaning: str
) -> tuple[tuple[str, ...], NDArray[Any], dict[str, str]]:
    return (dimension,), np.array(names, dtype=object), {"long_name": meaning}


def _number(
    dims: tuple[str, ...], values: Any, meaning: str, unit: str = "1"
) -> tuple[tuple[str, ...], Any, dict[str, str]]:
    return dims, values, {"long_name": meaning, "units": unit}


def shown(factor: Factor, share: float) -> str:
    """Value of an input at a share of its range, for people."""
    if factor.levels:
        return str(factor.raw_levels[factor.level(share)])
    value = factor.value(share)
    return both_ways(value, factor.kind) if factor.kind in KINDS else str(value)


def _inputs(exploration: Exploration) -> Entries:
    factors = exploration.study.factors
    paths = [", ".join(factor.paths) for factor in factors]
    ranges = [_range_words(factor) for factor in factors]
    return {
        "input_path": _words("input", [*paths, ""], "path of the input in the scenario"),
        "input_range": _words("input", [*ranges, "other futures"], "values that it takes"),
        "input_is_decision": _number(
            ("input",), np.array([*(f.decision for f in factors), False], np.int8), "whether it is decided"
        ),
    }  # fmt: skip


def _range_words(factor: Factor) -> str:
    """Values that an input takes; words with the share of futures in which they are believed."""
    if factor.levels:
        return " | ".join(map(str, factor.raw_levels))
    if isinstance(factor.spread, Choice):
        whole_weight = sum(factor.spread.weights)
        pairs = zip(factor.spread.choices, factor.spread.weights, strict=True)
        return " | ".join(f"{word} {w / whole_weight:.0%}" for word, w in pairs if w > 0.0)
    return f"{shown(factor, 0.1)} to {shown(factor, 0.9)} (8 of 10)"


def _outcomes(exploration: Exploration, coords: Entries) -> Entries:
    measures, currency = exploration.measures, exploration.base.central.prices.currency
    names = [measure.name for measure in measures]
    labels = [measure.label for measure in measures]
    units = [
        currency if measure.quantity == "cost" else BY_NAME[measure.quantity].unit
        for measure in measures
    ]
    if exploration.targets:
        names, labels, units = [*names, SUCCESS], [*labels, "All targets met"], [*units, "1"]
    coords["outcome"] = _words("outcome", names, "name of the outcome")
    return {
        "outcome_label": _words("outcome", labels, "outcome in words"),
        "outcome_unit": _words("outcome", units, "unit of the outcome"),
    }


def _results(exploration: Exploration, store: StudyStore, good: NDArray[np.bool_]) -> Floats:
    """Outcomes of the good runs: ``[run, outcome]``."""
    yearly = store.values("yearly")[: good.size][good]
    takeover = store.values("takeover_year")[: good.size][good]
    columns = [measure.of(yearly, takeover) for measure in exploration.measures]
    if exploration.targets:
        columns.append(successes(exploration.targets, yearly, takeover).astype(np.float64))
    return np.column_stack(columns)


def _screening(exploration: Exploration, store: StudyStore, trajectories: int) -> Entries:
    names, seed = exploration.names, exploration.seed
    length = len(names) + 1
    plan = screening_study(exploration, trajectories)[1]
    good = whole(store.done[: len(plan)], length)
    plan = plan[good]
    results = _results(exploration, store, good)
    half = max(2, len(plan) // length // 2) * length
    every = [screen(names, plan, column, seed) for column in results.T]
    before = [screen(names, plan[:half], column[:half], seed) for column in results.T]
    effect = np.array([one.effect for one in every])
    bound = np.array([one.bound for one in every])
    scale = np.maximum(effect.max(axis=1, keepdims=True), 1e-300)
    verdicts = [
        ranking_verdict(b.effect / s, e.effect / s, e.bound / s)
        for b, e, s in zip(before, every, scale[:, 0], strict=True)
    ]
    by_input = ("outcome", "input")
    return {
        "screening_share": _number(("screening_run", "input"), inner_shares(plan), "place in the range of the input"),
        "screening_result": _number(("screening_run", "outcome"), results, "outcome, in its own unit"),
        "screening_effect": _number(by_input, effect, "mean absolute effect of a step over about half the range, in the unit of the outcome and per whole range"),
        "screening_bound": _number(by_input, bound, "half-width of its 95 % interval"),
        "screening_spread": _number(by_input, np.array([one.spread for one in every]), "standard deviation of the effects"),
        "screening_effect_half": _number(by_input, np.array([one.effect for one in before]), "mean absolute effect from the first half of the trajectories"),
        "screening_converged": _number(by_input, converged(effect / scale, bound / scale).astype(np.int8), "whether the effect is known to half of itself, or is small"),
        "screening_ranking": _words("outcome", verdicts, "ranking against the one at half the sample"),
        "screening_trajectories": _number((), np.int32(len(plan) // length), "complete trajectories"),
    }  # fmt: skip


def _shares(
    exploration: Exploration, stages: Stages, store: StudyStore, coords: Entries
) -> Entries:
    names, seed = [*stages.leading, CHANCE], exploration.seed
    rows = rows_per_point(len(names), second_order=True)
    plan = shares_study(exploration, stages.leading, stages.points)[1]
    good = whole(store.done[: len(plan)], rows)
    plan = plan[good]
    results = _results(exploration, store, good)
    points = len(plan) // rows
    if points < 4:
        stages.notes.append("Too few points were completed for shares of the variance.")
        return {}
    found = [growth(names, column, seed, second_order=True) for column in results.T]
    sizes = found[0][0]
    last: list[Sobol] = [one[1][-1] for one in found]
    middle: list[Sobol] = [one[1][-2 if len(sizes) > 1 else -1] for one in found]
    coords["leading"] = _words("leading", names, "name of the input")
    coords["other"] = _words("other", names, "name of the other input")
    coords["size"] = _number(("size",), sizes.astype(np.int32), "base points")
    base = base_rows(len(names), points, second_order=True)
    dense = [
        density(names, plan[base], column[base], seed) if np.ptp(column[base]) > 0.0 else None
        for column in results.T
    ]
    nothing = np.full(len(names), np.nan)

    def grown(which: str) -> Floats:
        return np.array([[getattr(s, which) for s in one[1]] for one in found]).swapaxes(0, 1)

    by_size, by_input = ("size", "outcome", "leading"), ("outcome", "leading")
    entries: Entries = {
        "shares_share": _number(("shares_run", "leading"), plan, "place in the range of the input"),
        "shares_result": _number(("shares_run", "outcome"), results, "outcome, in its own unit"),
        "first": _number(by_size, grown("first"), "share of the variance that the input explains alone"),
        "first_bound": _number(by_size, grown("first_bound"), "half-width of its 95 % interval"),
        "total": _number(by_size, grown("total"), "share of the variance in which the input has a part"),
        "total_bound": _number(by_size, grown("total_bound"), "half-width of its 95 % interval"),
        "second": _number((*by_input, "other"), np.array([s.second for s in last]), "share of the variance that a pair explains beyond its single shares"),
        "second_bound": _number((*by_input, "other"), np.array([s.second_bound for s in last]), "half-width of its 95 % interval"),
        "first_converged": _number(by_input, _flags(last, "first", sizes[-1]), "whether the share is known to half of itself, or is small"),
        "total_converged": _number(by_input, _flags(last, "total", sizes[-1]), "whether the share is known to half of itself, or is small"),
        "ranking": _words("outcome", [
            "no ranking at half the sample" if len(sizes) < 2 else ranking_verdict(m.total, s.total, s.total_bound)
            for m, s in zip(middle, last, strict=True)
        ], "ranking by total share against the one at half the sample"),
        "density": _number(by_input, np.array([nothing if d is None else d.index for d in dense]), "median distance of the distribution when the input is known"),
        "density_bound": _number(by_input, np.array([nothing if d is None else d.bound for d in dense]), "half-width of its 95 % interval"),
        "density_floor": _number(("outcome",), np.array([np.nan if d is None else d.floor for d in dense]), "what an input that does nothing reaches in one case of twenty"),
    }  # fmt: skip
    return entries | _separation(exploration, names, plan[base], results[base])


def _flags(indices: list[Sobol], which: str, points: int) -> NDArray[np.int8]:
    pairs = [(getattr(s, which), getattr(s, f"{which}_bound")) for s in indices]
    return np.array([shares_converged(*pair, points) for pair in pairs], dtype=np.int8)


def _separation(
    exploration: Exploration, names: list[str], plan: Floats, results: Floats
) -> Entries:
    """Box of the inputs in which success, or failure where it is the rarer, is dense."""
    if exploration.targets:
        good = results[:, -1] > 0.5
        what = "success" if good.mean() <= 0.5 else "failure"
        interesting = good if what == "success" else ~good
    else:
        kept = results[:, 0]
        interesting = kept >= np.quantile(kept, 1.0 - BEST_SHARE)
        what = f"best quarter by {exploration.measures[0].label}"
    if not 0 < interesting.sum() < interesting.size:
        return {}
    by_name = {factor.name: factor for factor in exploration.study.factors}
    choices = tuple(
        place for place, name in enumerate(names) if name in by_name and by_name[name].categories
    )
    levels = np.zeros(plan.shape, dtype=np.int64)
    for place in choices:
        factor = by_name[names[place]]
        levels[:, place] = [factor.category(share) for share in plan[:, place]]
    boxes = patient_rule(plan, interesting, levels, choices)
    box = chosen_box(boxes, plan, interesting, levels)
    low, high = np.zeros(len(names)), np.ones(len(names))
    chance, words = np.full(len(names), np.nan), ["any"] * len(names)
    for limit in box.limits:
        name = names[limit.column]
        low[limit.column], high[limit.column] = limit.low, limit.high
        chance[limit.column] = limit.by_chance
        words[limit.column] = _limit_words(by_name.get(name), limit.low, limit.high, limit.levels)
    paths = np.array([[one.density, one.coverage] for one in boxes])
    return {
        "separation_low": _number(("leading",), low, "lower limit, as a place in the range"),
        "separation_high": _number(("leading",), high, "upper limit, as a place in the range"),
        "separation_by_chance": _number(("leading",), chance, "probability that the limit separates as well by chance"),
        "separation_words": _words("leading", words, "limit in words"),
        "separation_density": _number((), box.density, "share of what is looked for inside the box"),
        "separation_coverage": _number((), box.coverage, "share of all that is looked for that is inside the box"),
        "separation_base": _number((), float(interesting.mean()), "share of what is looked for in all runs"),
        "separation_of": ((), what, {"long_name": "what is looked for"}),
        "separation_density_path": _number(("peel",), paths[:, 0], "density after each peel"),
        "separation_coverage_path": _number(("peel",), paths[:, 1], "coverage after each peel"),
    }  # fmt: skip


def _limit_words(factor: Factor | None, low: float, high: float, levels: frozenset[int]) -> str:
    if factor is None:
        return f"futures {low:.2f} to {high:.2f}"
    if levels:
        return " or ".join(str(factor.categories[level]) for level in sorted(levels))
    if factor.levels:
        first, last = factor.level(low), factor.level(high)
        kept = factor.raw_levels[first : last + 1]
        return str(kept[0]) if len(kept) == 1 else f"{kept[0]} to {kept[-1]}"
    if low <= 0.0:
        return f"at most {shown(factor, high)}"
    if high >= 1.0:
        return f"at least {shown(factor, low)}"
    return f"{shown(factor, low)} to {shown(factor, high)}"


def _map(exploration: Exploration, store: StudyStore, coords: Entries) -> Entries:
    wanted = exploration.study.map
    assert wanted is not None
    by_name = {factor.name: factor for factor in exploration.study.factors}
    rows, columns, over = by_name[wanted.rows], by_name[wanted.columns], by_name[wanted.over]
    shape = (-1, len(wanted.quantiles), len(rows.levels), len(columns.levels))
    yearly, takeover, done = store.values("yearly"), store.values("takeover_year"), store.done
    last = exploration.base.central.run.years
    dims = ("over_quantile", "row_level", "column_level")

    def mean(values: Floats) -> Floats:
        table = np.where(done, values, np.nan).reshape(shape)
        counts = np.isfinite(table).sum(axis=0)
        total = np.nansum(table, axis=0)
        found = np.full(total.shape, np.nan)
        np.divide(total, counts, out=found, where=counts > 0)
        return found

    coords["row_level"] = _words("row_level", [str(v) for v in rows.raw_levels], wanted.rows)
    coords["column_level"] = _words(
        "column_level", [str(v) for v in columns.raw_levels], wanted.columns
    )
    coords["over_quantile"] = _number(
        ("over_quantile",), np.array(wanted.quantiles), "share of probability"
    )
    entries: Entries = {
        "map_over_value": _words("over_quantile", [shown(over, q) for q in wanted.quantiles], wanted.over),
        "map_members": _number(dims, done.reshape(shape).sum(axis=0).astype(np.int32), "runs that were completed"),
    }  # fmt: skip
    if exploration.targets:
        kept = successes(exploration.targets, yearly, takeover).astype(np.float64)
        entries["map_success"] = _number(dims, mean(kept), "chance of meeting all targets")
    for name in ("land_kept", "cost", "oyster_density"):
        values = Measure(name, last).of(yearly, takeover)
        if np.isfinite(values[done]).any():
            entries[f"map_{name}"] = _number(
                dims, mean(values), f"mean of: {BY_NAME[name].label}", BY_NAME[name].unit
            )
    return entries
