"""Designs that met the same futures, as one Dataset and as tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.names import BY_NAME
from edgesim.outcomes.decisions import (
    bands,
    chance_of_beating,
    non_dominated,
    ratio,
    regret,
)
from edgesim.outcomes.measures import LESS_IS_BETTER, YEARLY, Measure, met
from edgesim.outcomes.provenance import provenance
from edgesim.outcomes.summary import chance_interval
from edgesim.scenario import ScenarioFile
from edgesim.scenario.plans import AIMS, Target
from edgesim.units import KINDS, both_ways

Floats = NDArray[np.float64]

AS_WRITTEN = "as written"
"""Name of the belief that the scenario itself states, and of the design that it holds."""

MAIN = ("retreat", "land_kept", "cost", "oyster_density")
"""Quantities that every comparison shows."""

RESPECTS = ("cost", "land_kept", "oyster_density")
"""What a design must not lose in all of: money, marsh and oysters."""

DIMS = ("belief", "design", "member")


@dataclass(frozen=True)
class DesignRow:
    """Bands of one quantity of one design at the end."""

    design: str
    quantity: str
    unit: str
    year: int
    p05: float
    p25: float
    p50: float
    p75: float
    p95: float
    n: int


@dataclass(frozen=True)
class PairRow:
    """Paired difference `first` minus `second` of one quantity, and the chance that `first` is better."""

    first: str
    second: str
    quantity: str
    unit: str
    year: int
    p05: float
    p25: float
    p50: float
    p75: float
    p95: float
    chance_first_is_better: float
    n: int


@dataclass(frozen=True)
class ChanceRow:
    """Chance that a design meets a target, with its 90 % interval."""

    design: str
    target: str
    chance: float
    low: float
    high: float
    n: int


@dataclass(frozen=True)
class RegretRow:
    """What a design brings under a belief, and how far the best one is ahead."""

    criterion: str
    unit: str
    design: str
    belief: str
    weight: float
    value: float
    regret: float


def build_comparison(
    names: Sequence[str],
    beliefs: Sequence[tuple[str, float]],
    yearly: Floats,
    takeover: Floats,
    targets: Sequence[Target],
    covered: Sequence[float],
    files: Sequence[ScenarioFile],
) -> xr.Dataset:
    """Gather what the designs did in the same futures.

    Parameters
    ----------
    names : sequence of str
        Designs.
    beliefs : sequence of (str, float)
        Names and weights; the first is the scenario as written.
    yearly : ndarray, (beliefs, designs, members, quantities, years + 1)
        Quantities at whole years.
    takeover : ndarray, (beliefs, designs, members)
        Year of takeover; NaN where there is none. [year]
    targets : sequence of Target
        What must hold.
    covered : sequence of float
        Shore that each design covers; 0 for no action. [m]
    files : sequence of ScenarioFile
        Scenario of each design.

    Returns
    -------
    xarray.Dataset
        Dimensions ``belief``, ``design``, ``member``, ``year`` and ``target``.
    """
    currency = files[0].central.prices.currency
    data: dict[str, Any] = {}
    for place, name in enumerate(YEARLY):
        attributes = {"long_name": BY_NAME[name].long_name, "units": BY_NAME[name].unit}
        values = yearly[..., place, :]
        if name == "oyster_density":
            values = np.where(np.isnan(values), 0.0, values)
        data[name] = ((*DIMS, "year"), values, attributes)
    data["takeover_year"] = (
        DIMS, takeover, {"long_name": BY_NAME["takeover_year"].long_name, "units": "year"},
    )  # fmt: skip
    shape = takeover.shape
    flat = (yearly.reshape(-1, *yearly.shape[3:]), takeover.ravel())
    kept = np.array([met(target, *flat).reshape(shape) for target in targets])
    if targets:
        data["met"] = (
            ("target", *DIMS), kept.astype(np.int8),
            {"long_name": "whether the target is met", "units": "1"},
        )  # fmt: skip
        data["success"] = (
            DIMS, kept.all(axis=0).astype(np.int8),
            {"long_name": "whether all targets are met", "units": "1"},
        )  # fmt: skip
    data["covered_length"] = (
        ("design",), np.asarray(covered, float),
        {"long_name": "length of shore that the design covers", "units": "m"},
    )  # fmt: skip
    data["belief_weight"] = (
        ("belief",), np.array([weight for _, weight in beliefs]),
        {"long_name": "weight of the belief", "units": "1"},
    )  # fmt: skip
    data["design_scenario"] = (
        ("design",), np.array([file.resolved_toml() for file in files], dtype=object),
        {"long_name": "resolved scenario of the design"},
    )  # fmt: skip
    coords = {
        "design": ("design", _words(names), {"long_name": "name of the design"}),
        "belief": ("belief", _words([n for n, _ in beliefs]), {"long_name": "name of the belief"}),
        "member": ("member", np.arange(shape[2], dtype=np.int32), {"long_name": "future, the same for all designs", "units": "1"}),
        "year": ("year", np.arange(yearly.shape[-1], dtype=np.int32), {"long_name": "whole years since the start", "units": "year"}),
    }  # fmt: skip
    if targets:
        coords["target"] = (
            "target", _words([t.name for t in targets]), {"long_name": "name of the target"},
        )  # fmt: skip
    dataset = xr.Dataset(data, coords)
    dataset.attrs = provenance(files[0], f"comparison of {', '.join(names)}")
    dataset.attrs["currency"] = currency
    dataset.attrs["target_words"] = "; ".join(map(target_words, targets)) or "none"
    return dataset


def five(values: Floats) -> tuple[float, float, float, float, float]:
    """Ends of the bands and the median of one number over members."""
    a, b, c, d, e = bands(values).tolist()
    return a, b, c, d, e


def _words(names: Sequence[str]) -> NDArray[Any]:
    return np.array(list(names), dtype=object)


def target_words(target: Target) -> str:
    """Say a target in words, in both units."""
    side = "at most" if target.at_most else "at least"
    kind = AIMS[target.quantity]
    plain = kind not in KINDS or kind == "number"
    said = f"{target.threshold:,.6g}" if plain else both_ways(target.threshold, kind)
    return f"{target.name}: {Measure(target.quantity, target.year).label} {side} {said}"


def last_year_of(dataset: xr.Dataset) -> int:
    """Last whole year of the comparison."""
    return int(dataset["year"].values[-1])


def at_end(dataset: xr.Dataset, name: str, belief: int = 0) -> Floats:
    """One quantity at the last year under one belief: ``[design, member]``."""
    return np.asarray(dataset[name].values[belief, ..., -1], dtype=np.float64)


def unit_of(dataset: xr.Dataset, name: str) -> str:
    """Unit for people: the currency for money."""
    return str(dataset.attrs["currency"]) if name == "cost" else BY_NAME[name].unit


def unit_costs(dataset: xr.Dataset) -> dict[str, Floats]:
    """Money spent by the end for each metre of covered edge and each m2 of marsh kept: ``[design, member]``."""
    cost = at_end(dataset, "cost")
    return {
        "cost_per_m_of_edge": ratio(cost, dataset["covered_length"].values[:, None]),
        "cost_per_m2_kept": ratio(cost, at_end(dataset, "land_kept")),
    }


def design_table(dataset: xr.Dataset) -> list[DesignRow]:
    """Bands of the main quantities of every design at the last year, under the first belief."""
    year, currency = last_year_of(dataset), str(dataset.attrs["currency"])
    shown = {name: (at_end(dataset, name), unit_of(dataset, name)) for name in MAIN}
    for name, values in unit_costs(dataset).items():
        shown[name] = values, f"{currency} {'m-1' if name.endswith('edge') else 'm-2'}"
    rows = []
    for place, design in enumerate(dataset["design"].values):
        for name, (values, unit) in shown.items():
            members = values[place]
            count = int((~np.isnan(members)).sum())
            if count:
                rows.append(DesignRow(str(design), name, unit, year, *five(members), count))
    return rows


def pair_table(dataset: xr.Dataset) -> list[PairRow]:
    """Paired differences of every two designs: main quantities at the end, and every target's."""
    wanted = [(name, last_year_of(dataset)) for name in MAIN]
    designs = [str(name) for name in dataset["design"].values]
    rows = []
    for a, b in combinations(range(len(designs)), 2):
        for name, year in wanted:
            values = dataset[name].values[0, :, :, year]
            difference = values[a] - values[b]
            chance = chance_of_beating(values[a], values[b], less_is_better=name in LESS_IS_BETTER)
            count = int((~np.isnan(difference)).sum())
            if count:
                rows.append(
                    PairRow(
                        designs[a], designs[b], name, unit_of(dataset, name), year,
                        *five(difference), chance, count,
                    )
                )  # fmt: skip
    return rows


def chance_table(dataset: xr.Dataset) -> list[ChanceRow]:
    """Chance that every design meets every target, and all of them."""
    if "met" not in dataset:
        return []
    members = dataset.sizes["member"]
    rows = []
    every = [
        *zip(dataset["target"].values, dataset["met"].values[:, 0], strict=True),
        ("all targets", dataset["success"].values[0]),
    ]
    for target, kept in every:
        counts = kept.sum(axis=-1)
        low, high = chance_interval(counts, members)
        rows += [
            ChanceRow(str(design), str(target), float(count / members), float(a), float(b), members)
            for design, count, a, b in zip(dataset["design"].values, counts, low, high, strict=True)
        ]
    return rows


def better_on_targets(dataset: xr.Dataset) -> dict[tuple[str, str, str], float]:
    """Chance that the first design is better than the second on a target.

    A design is better in a future where it meets the target and the other does not; where both
    or neither do, they are equal and count half.
    """
    if "met" not in dataset:
        return {}
    designs = [str(name) for name in dataset["design"].values]
    return {
        (designs[a], designs[b], str(target)): chance_of_beating(kept[a], kept[b], less_is_better=False)
        for target, kept in zip(dataset["target"].values, dataset["met"].values[:, 0], strict=True)
        for a, b in combinations(range(len(designs)), 2)
    }  # fmt: skip


def undominated(dataset: xr.Dataset) -> tuple[NDArray[np.bool_], Floats]:
    """Designs that none beats in money, marsh and oysters at once.

    Returns
    -------
    ndarray of bool, (designs,)
        By medians.
    ndarray, (designs,)
        Share of futures in which it is so. [1]
    """
    values = np.stack([at_end(dataset, name) for name in RESPECTS], axis=-1)
    less = tuple(name in LESS_IS_BETTER for name in RESPECTS)
    by_median = non_dominated(np.median(values, axis=1), less_is_better=less)
    single = [non_dominated(values[:, m], less_is_better=less) for m in range(values.shape[1])]
    return by_median, np.mean(single, axis=0)


def regret_table(dataset: xr.Dataset) -> list[RegretRow]:
    """What every design brings under every belief and how far it stays behind the best.

    The chance of meeting all targets, when there are targets; the mean marsh kept; the mean cost.
    When the file states beliefs, the scenario as written is not one of them.
    """
    first = 1 if dataset.sizes["belief"] > 1 else 0
    weights = dataset["belief_weight"].values[first:]
    weights = weights / weights.sum()
    criteria: dict[str, tuple[Floats, str]] = {}
    if "success" in dataset:
        criteria["chance of all targets"] = dataset["success"].values[first:].mean(axis=-1), "1"
    for name in ("land_kept", "cost"):
        values = dataset[name].values[first:, :, :, -1].mean(axis=-1)
        criteria[name] = values, unit_of(dataset, name)
    rows = []
    for criterion, (values, unit) in criteria.items():
        behind = regret(values, less_is_better=criterion in LESS_IS_BETTER)
        for b, belief in enumerate(dataset["belief"].values[first:]):
            rows += [
                RegretRow(
                    criterion, unit, str(design), str(belief), float(weights[b]),
                    float(values[b, d]), float(behind[b, d]),
                )
                for d, design in enumerate(dataset["design"].values)
            ]  # fmt: skip
    return rows
