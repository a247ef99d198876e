"""What a study says, as tables and in words, all from its Dataset."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.outcomes.decisions import non_dominated, regret
from edgesim.outcomes.summary import chance_interval

SMALL_SHARE = 0.05
"""A share of the variance below this does not matter to a decision (judgement). [1]"""

ENOUGH_TRAJECTORIES, ENOUGH_POINTS = 8, 64
"""Below these sizes nothing is said to be without effect (judgement). [1]"""

CHANCE, SUCCESS = "chance", "success"


@dataclass(frozen=True)
class EffectRow:
    """Effect of one input on one outcome in the screening, with the half-width of its 95 % interval."""

    outcome: str
    unit: str
    input: str
    effect: float
    bound: float
    spread: float
    converged: bool


@dataclass(frozen=True)
class ShareRow:
    """Shares of the variance and density-based index of one input, with 95 % half-widths."""

    outcome: str
    input: str
    points: int
    first: float
    first_bound: float
    first_converged: bool
    total: float
    total_bound: float
    total_converged: bool
    density: float
    density_bound: float
    density_floor: float


@dataclass(frozen=True)
class PairShareRow:
    """Share of the variance of a pair beyond its single shares."""

    outcome: str
    input: str
    other: str
    second: float
    second_bound: float


@dataclass(frozen=True)
class GrowthRow:
    """Total share at a number of points."""

    outcome: str
    input: str
    points: int
    total: float
    total_bound: float


@dataclass(frozen=True)
class MapRow:
    """One cell of the map."""

    row: str
    column: str
    over: str
    quantile: float
    chance: float
    low: float
    high: float
    land_kept_m2: float
    cost: float
    members: int
    undominated: bool


@dataclass(frozen=True)
class LimitRow:
    """Limit of one input of the separating box."""

    input: str
    limit: str
    by_chance: float


def effect_table(dataset: xr.Dataset) -> list[EffectRow]:
    """Effects of the screening, largest first within each outcome."""
    rows = []
    for o, outcome in enumerate(dataset["outcome"].values):
        for i in np.argsort(-dataset["screening_effect"].values[o], kind="stable"):
            rows.append(  # noqa: PERF401
                EffectRow(
                    str(outcome),
                    str(dataset["outcome_unit"].values[o]),
                    str(dataset["input"].values[i]),
                    float(dataset["screening_effect"].values[o, i]),
                    float(dataset["screening_bound"].values[o, i]),
                    float(dataset["screening_spread"].values[o, i]),
                    bool(dataset["screening_converged"].values[o, i]),
                )
            )
    return rows


def share_table(dataset: xr.Dataset) -> list[ShareRow]:
    """Shares at the whole sample, largest total first within each outcome."""
    if "total" not in dataset:
        return []
    points = int(dataset["size"].values[-1])
    rows = []
    for o, outcome in enumerate(dataset["outcome"].values):
        total = dataset["total"].values[-1, o]
        for i in np.argsort(np.where(np.isnan(total), np.inf, -total), kind="stable"):
            rows.append(  # noqa: PERF401
                ShareRow(
                    str(outcome),
                    str(dataset["leading"].values[i]),
                    points,
                    float(dataset["first"].values[-1, o, i]),
                    float(dataset["first_bound"].values[-1, o, i]),
                    bool(dataset["first_converged"].values[o, i]),
                    float(total[i]),
                    float(dataset["total_bound"].values[-1, o, i]),
                    bool(dataset["total_converged"].values[o, i]),
                    float(dataset["density"].values[o, i]),
                    float(dataset["density_bound"].values[o, i]),
                    float(dataset["density_floor"].values[o]),
                )
            )
    return rows


def pair_share_table(dataset: xr.Dataset) -> list[PairShareRow]:
    """Shares of pairs, largest first within each outcome."""
    if "second" not in dataset:
        return []
    names = [str(name) for name in dataset["leading"].values]
    rows = []
    for o, outcome in enumerate(dataset["outcome"].values):
        second = dataset["second"].values[o]
        found = [
            PairShareRow(str(outcome), names[i], names[j], float(second[i, j]), float(dataset["second_bound"].values[o, i, j]))
            for i in range(len(names))
            for j in range(i + 1, len(names))
            if np.isfinite(second[i, j])
        ]  # fmt: skip
        rows += sorted(found, key=lambda row: -row.second)
    return rows


def growth_table(dataset: xr.Dataset) -> list[GrowthRow]:
    """Total shares and their bounds against the number of points."""
    if "total" not in dataset:
        return []
    return [
        GrowthRow(
            str(outcome), str(name), int(size),
            float(dataset["total"].values[s, o, i]), float(dataset["total_bound"].values[s, o, i]),
        )
        for o, outcome in enumerate(dataset["outcome"].values)
        for i, name in enumerate(dataset["leading"].values)
        for s, size in enumerate(dataset["size"].values)
    ]  # fmt: skip


def map_table(dataset: xr.Dataset) -> list[MapRow]:
    """Cells of the map: chance of success with its 90 % interval, marsh, money, whether dominated."""
    if "map_members" not in dataset:
        return []
    rows = []
    members = dataset["map_members"].values
    success = (
        dataset["map_success"].values
        if "map_success" in dataset
        else np.full(members.shape, np.nan)
    )
    for q, quantile in enumerate(dataset["over_quantile"].values):
        best = _undominated(dataset, q)
        for i, row in enumerate(dataset["row_level"].values):
            for j, column in enumerate(dataset["column_level"].values):
                chance, count = float(success[q, i, j]), int(members[q, i, j])
                low, high = (
                    chance_interval(round(chance * count), count)
                    if count and np.isfinite(chance)
                    else (np.nan, np.nan)
                )
                rows.append(
                    MapRow(
                        str(row), str(column), str(dataset["map_over_value"].values[q]), float(quantile),
                        chance, float(low), float(high),
                        float(dataset["map_land_kept"].values[q, i, j]),
                        float(dataset["map_cost"].values[q, i, j]), count, bool(best[i, j]),
                    )
                )  # fmt: skip
    return rows


def _undominated(dataset: xr.Dataset, quantile: int) -> NDArray[np.bool_]:
    names = [name for name in ("cost", "land_kept", "oyster_density") if f"map_{name}" in dataset]
    values = np.stack([dataset[f"map_{name}"].values[quantile] for name in names], axis=-1)
    flat = values.reshape(-1, len(names))
    found = non_dominated(flat, less_is_better=tuple(name == "cost" for name in names))
    return np.asarray(found.reshape(values.shape[:2]))


def map_regret(dataset: xr.Dataset) -> xr.DataArray | None:
    """Regret of every cell at every quantile: in the chance of success, else in marsh kept."""
    if "map_members" not in dataset:
        return None
    source = dataset["map_success"] if "map_success" in dataset else dataset["map_land_kept"]
    values = source.values.reshape(source.shape[0], -1)
    return source.copy(data=regret(values, less_is_better=False).reshape(source.shape))


def limit_table(dataset: xr.Dataset) -> list[LimitRow]:
    """Inputs that separate success from failure, with their limits."""
    if "separation_words" not in dataset:
        return []
    return [
        LimitRow(str(name), str(words), float(chance))
        for name, words, chance in zip(
            dataset["leading"].values,
            dataset["separation_words"].values,
            dataset["separation_by_chance"].values,
            strict=True,
        )
        if np.isfinite(chance)
    ]


def conclusions(dataset: xr.Dataset) -> list[str]:
    """Say what follows from the indices, and what does not, one sentence or two each.

    Every number and name is taken from the Dataset.
    """
    said = []
    if "screening_effect" in dataset:
        said += _of_screening(dataset)
    if "total" in dataset:
        said += _of_shares(dataset)
    elif "screening_effect" in dataset:
        said.append(
            "Not concluded: shares of the variance, interactions and what separates success from failure; "
            "they need the second stage. Go on with --resume and more minutes."
        )
    said += _of_separation(dataset)
    said += _of_map(dataset)
    return said


def _of_screening(dataset: xr.Dataset) -> list[str]:
    said = []
    trajectories = int(dataset["screening_trajectories"])
    names = [str(name) for name in dataset["input"].values]
    for o, label in enumerate(dataset["outcome_label"].values):
        effect = dataset["screening_effect"].values[o]
        bound = dataset["screening_bound"].values[o]
        unit = str(dataset["outcome_unit"].values[o])
        if effect.max() == 0.0:
            said.append(f"{label}: no input moved it in {trajectories} trajectories.")
            continue
        order = np.argsort(-effect, kind="stable")
        strong = [
            f"{names[i]} ({_round(effect[i])}{_unit(unit)} ± {_round(bound[i])})"
            for i in order[:3]
            if effect[i] > 0.0
        ]
        idle = [names[i] for i in order if effect[i] + bound[i] < SMALL_SHARE * effect.max()]
        text = (
            f"{label}, screening with {trajectories} trajectories: the largest mean effects over the whole range "
            f"are those of {', '.join(strong)}; ranking against half the sample: {dataset['screening_ranking'].values[o]}."
        )
        if trajectories < ENOUGH_TRAJECTORIES or str(dataset["outcome"].values[o]) == SUCCESS:
            text += " Too little to call any input idle."
        elif idle:
            text += f" Below {SMALL_SHARE:.0%} of the largest, bounds included: {_listed(idle)}."
        said.append(text)
    return said


def _of_shares(dataset: xr.Dataset) -> list[str]:
    said = []
    points = int(dataset["size"].values[-1])
    names = [str(name) for name in dataset["leading"].values]
    chance = names.index(CHANCE)
    decided = {
        str(name)
        for name, flag in zip(
            dataset["input"].values, dataset["input_is_decision"].values, strict=True
        )
        if flag
    }
    for o, label in enumerate(dataset["outcome_label"].values):
        first, total = dataset["first"].values[-1, o], dataset["total"].values[-1, o]
        bound = dataset["total_bound"].values[-1, o]
        if not np.isfinite(total).all():
            said.append(
                f"{label}: it did not vary among the runs, so there is nothing to share out."
            )
            continue
        order = np.argsort(-total, kind="stable")
        known = dataset["total_converged"].values[o].astype(bool)
        listed = [
            f"{names[i]} {total[i]:.0%} ± {bound[i]:.0%}{'' if known[i] else ' (not converged)'}"
            for i in order
            if total[i] >= SMALL_SHARE
        ]
        text = f"{label}, {points} points: total shares of the variance are {', '.join(listed)}."
        alone = float(np.clip(first, 0.0, None).sum())
        rest = (
            "the rest is interaction, and noise where bounds are wide"
            if alone < 1.0
            else "what is above 100% is noise of the estimate"
        )
        text += f" All single shares together are {alone:.0%}; {rest}."
        text += f" Ranking against half the sample: {dataset['ranking'].values[o]}."
        mine = [i for i in order if names[i] in decided and known[i] and total[i] >= SMALL_SHARE]
        lost = [
            names[i]
            for i in range(len(names))
            if names[i] in decided and known[i] and total[i] < SMALL_SHARE
        ]
        if mine:
            text += f" Of the decisions, {names[mine[0]]} matters most."
        if lost and points >= ENOUGH_POINTS:
            text += f" {', '.join(lost)} can be chosen for other reasons: below {SMALL_SHARE:.0%}."
        if known[chance] and total[chance] - bound[chance] > 0.5:
            text += " More than half of the spread has a part of chance: weather and what the study does not list."
        said.append(text)
    return said


def _of_separation(dataset: xr.Dataset) -> list[str]:
    limits = limit_table(dataset)
    if "separation_words" not in dataset:
        return []
    what, base = str(dataset["separation_of"].values), float(dataset["separation_base"])
    if not limits:
        return [
            f"No input separates {what} (in {base:.0%} of the runs) from the rest better than chance."
        ]
    box = "; ".join(f"{row.input} {row.limit}" for row in limits)
    text = (
        f"{what.capitalize()} (in {base:.0%} of the runs) is separated by: {box}. Inside these limits it is found in "
        f"{float(dataset['separation_density']):.0%} of the runs, and {float(dataset['separation_coverage']):.0%} of all of it lies there."
    )
    return [text]


def _of_map(dataset: xr.Dataset) -> list[str]:
    found = map_regret(dataset)
    if found is None:
        return []
    worst = found.max("over_quantile").values
    i, j = (int(place) for place in np.unravel_index(np.argmin(worst), worst.shape))
    name = f"{dataset.attrs['map_rows']} {dataset['row_level'].values[i]} with {dataset.attrs['map_columns']} {dataset['column_level'].values[j]}"
    over = dataset.attrs["map_over"]
    count = int(dataset["map_members"].values.min())
    if "map_success" in dataset:
        chance = dataset["map_success"].values[:, i, j]
        rest = float(dataset["map_success"].values.max())
        if rest == 0.0:
            return [
                f"On the map no combination met all targets in any of {count} futures, at any quantile of {over}."
            ]
        text = f"chance of success {chance.min():.0%} to {chance.max():.0%} over the quantiles of {over}"
        regret_text = f"{worst[i, j]:.0%}"
        spread = float(np.ptp(dataset["map_success"].values, axis=(1, 2)).max())
        tie = (
            " Differences on the map are within what so few futures can tell apart."
            if spread < 2.0 / count**0.5
            else ""
        )
    else:
        kept = dataset["map_land_kept"].values[:, i, j]
        text = f"marsh kept {kept.min():.3g} to {kept.max():.3g} m2 over the quantiles of {over}"
        regret_text, tie = f"{worst[i, j]:.3g} m2", ""
    ties = int((worst <= worst[i, j] + 1e-12).sum()) - 1
    also = f" (and {ties} more)" if ties else ""
    return [
        f"On the map, {name}{also} has the smallest largest regret ({regret_text}): {text}, {count} futures a cell.{tie}"
    ]


def _listed(names: list[str], most: int = 6) -> str:
    """Names in a row; the last of many are only counted."""
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def _unit(unit: str) -> str:
    return "" if unit == "1" else f" {unit}"


def _round(value: float) -> str:
    return f"{value:.2g}" if abs(value) < 100.0 else f"{value:,.0f}"
