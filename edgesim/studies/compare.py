"""Designs side by side in the same futures, under the scenario as written and under beliefs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from edgesim.errors import InvalidParameterError, ScenarioError, StudyError
from edgesim.model.grid import covered_reach
from edgesim.outcomes.comparison import AS_WRITTEN, build_comparison
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.scenario import ScenarioFile
from edgesim.scenario.plans import Target, Variant, beliefs_of, designs_of, featured, targets_of
from edgesim.scenario.writing import canonical
from edgesim.studies.jobs import Shared, job, run_job, template
from edgesim.studies.runner import Progress, run_tasks
from edgesim.studies.store import StudyStore
from edgesim.studies.study import Study

SAME = ("site", "tide", "sea_level", "traffic", "wind", "mud", "marsh", "oysters")
"""Sections that describe the place, not the design."""


@dataclass(frozen=True)
class Design:
    """A design under comparison: one option of one scenario."""

    name: str
    file: ScenarioFile
    option: str


@dataclass(frozen=True)
class Comparison:
    """What is compared.

    Attributes
    ----------
    designs : tuple of Design
        No action first.
    beliefs : tuple of Variant
        The scenario as written first.
    targets : tuple of Target
        Of the first scenario.
    advice : tuple of str
        What a reader should know, one sentence each.
    """

    designs: tuple[Design, ...]
    beliefs: tuple[Variant, ...]
    targets: tuple[Target, ...]
    advice: tuple[str, ...]


def plan_comparison(files: Sequence[ScenarioFile], *, mixed_prices: bool = False) -> Comparison:
    """Find out what is to be compared.

    Parameters
    ----------
    files : sequence of ScenarioFile
        Several scenarios, each a design; or one that lists [[designs]]; or one without, whose
        options are compared.
    mixed_prices : bool, default False
        Whether prices of different years may be compared.

    Returns
    -------
    Comparison

    Raises
    ------
    ScenarioError
        If the scenarios cannot be compared.
    """
    first = files[0]
    targets, beliefs = targets_of(first), beliefs_of(first)
    designs = _from_files(files) if len(files) > 1 else _from_one(first)
    base = Design(NO_ACTION, first.without_plans(), NO_ACTION)
    everything = (base, *(design for design in designs if design.option != NO_ACTION))
    if len(everything) < 2:
        raise ScenarioError(
            [
                f"{first.path}: designs: there is nothing to compare with no action. Give a design, or more files."
            ]
        )
    advice = _refuse_unlike([design.file for design in everything], mixed_prices=mixed_prices)
    return Comparison(
        everything, (Variant(AS_WRITTEN, {}), *beliefs), tuple(targets), tuple(advice)
    )


def _from_files(files: Sequence[ScenarioFile]) -> list[Design]:
    stems = [file.path.stem for file in files]
    names = [
        stem if stems.count(stem) == 1 else str(file.path.with_suffix(""))
        for stem, file in zip(stems, files, strict=True)
    ]
    names = [
        name if names.count(name) == 1 else f"{name} ({place})"
        for place, name in enumerate(names, start=1)
    ]
    return [
        Design(name, file.without_plans(), featured(file))
        for name, file in zip(names, files, strict=True)
    ]


def _from_one(file: ScenarioFile) -> list[Design]:
    bare = file.without_plans()
    variants = designs_of(file)
    if not variants:
        return [Design(option.name, bare, option.name) for option in file.central.options]
    listed = [
        Design(one.name, bare.changed(one.changes), one.option or featured(file))
        for one in variants
    ]
    return [Design(AS_WRITTEN, bare, featured(file)), *listed]


def _refuse_unlike(files: Sequence[ScenarioFile], *, mixed_prices: bool) -> list[str]:
    """Refuse scenarios whose numbers cannot stand side by side; advise on the rest."""
    first, problems, advice = files[0], [], []
    for file in files[1:]:
        ours, theirs = first.central, file.central
        for key, a, b, free in (
            ("prices.currency", ours.prices.currency, theirs.prices.currency, False),
            ("prices.price_year", ours.prices.price_year, theirs.prices.price_year, mixed_prices),
            ("run.years", ours.run.years, theirs.run.years, False),
            ("run.start", ours.run.start, theirs.run.start, False),
        ):
            if a != b and not free:
                remedy = (
                    "Bring the prices to one year, or add --mixed-price-years to compare them as they are."
                    if key == "prices.price_year"
                    else "Write the same in both."
                )
                problems.append(
                    f"{file.path}: {key} = {b}: differs from {a} in {first.path}. {remedy}"
                )
        unlike = [
            name
            for name in SAME
            if canonical(first.tree.get(name)) != canonical(file.tree.get(name))
        ]
        if unlike:
            advice.append(
                f"{file.path} differs from {first.path} in more than the design: {', '.join(unlike)}."
            )
    if problems:
        raise ScenarioError(list(dict.fromkeys(problems)))
    return list(dict.fromkeys(advice))


def comparison_study(comparison: Comparison) -> Study:
    """All runs of a comparison: belief by belief, member by member, design by design."""
    first = comparison.designs[0].file.central.run
    files = tuple(
        _believed(design.file, belief).overridden(members=first.members, seed=first.seed)
        for belief in comparison.beliefs
        for design in comparison.designs
    )
    n = len(comparison.designs)
    options = tuple(design.option for design in comparison.designs) * len(comparison.beliefs)
    payloads = [
        job(b * n + d, member)
        for b in range(len(comparison.beliefs))
        for member in range(first.members)
        for d in range(n)
    ]
    identity = {
        "kind": "comparison",
        "scenarios": " ".join(file.digest()[:16] for file in files),
        "options": "; ".join(options),
        "seed": str(first.seed),
    }
    return Study(identity, run_job, Shared(files, options), payloads, template(first.years))


def _believed(file: ScenarioFile, belief: Variant) -> ScenarioFile:
    return file.changed(belief.changes) if belief.changes else file


def run_comparison(
    comparison: Comparison,
    path: Path | None = None,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> tuple[xr.Dataset, StudyStore]:
    """Run every design in the same futures.

    Parameters
    ----------
    comparison : Comparison
        From :func:`plan_comparison`.
    path, workers, scheduler, resume, progress
        See :func:`edgesim.studies.runner.run_tasks`.

    Returns
    -------
    xarray.Dataset
        See :func:`edgesim.outcomes.comparison.build_comparison`. A future in which any design
        failed is left out for all.
    StudyStore
        With the failures.

    Raises
    ------
    StudyError
        If no future is left.
    """
    study = comparison_study(comparison)
    store = run_tasks(
        study, path, workers=workers, scheduler=scheduler, resume=resume, progress=progress
    )
    return gather_comparison(comparison, store), store


def gather_comparison(comparison: Comparison, store: StudyStore) -> xr.Dataset:
    """Put the results of a store into a Dataset; see :func:`run_comparison`."""
    shape = (len(comparison.beliefs), -1, len(comparison.designs))
    done = store.done.reshape(shape).all(axis=(0, 2))
    if not done.any():
        msg = f"no future was completed for all designs; {_first_reason(store)}"
        raise StudyError(msg)
    yearly = store.values("yearly")
    yearly = yearly.reshape(*shape, *yearly.shape[1:])[:, done].swapaxes(1, 2)
    takeover = store.values("takeover_year").reshape(shape)[:, done].swapaxes(1, 2)
    covered = [_covered(design) for design in comparison.designs]
    dataset = build_comparison(
        [design.name for design in comparison.designs],
        [(belief.name, belief.weight) for belief in comparison.beliefs],
        yearly,
        takeover,
        comparison.targets,
        covered,
        [design.file for design in comparison.designs],
    )
    dataset.attrs["futures_left_out"] = int((~done).sum())
    return dataset.assign_coords(
        member=("member", np.flatnonzero(done).astype(np.int32), dataset["member"].attrs)
    )


def _covered(design: Design) -> float:
    """Length of shore behind what the option builds; 0 when it builds nothing."""
    central = design.file.central
    option = next(one for one in central.options if one.name == design.option)
    if not (option.walls or option.reef):
        return 0.0
    start, end = covered_reach(central)
    return end - start


def _first_reason(store: StudyStore) -> str:
    failures = store.failures()
    return f"the first reason: {failures[0].reason}" if failures else "the runs were broken off."


def refuse_few(comparison: Comparison) -> None:
    """Refuse a comparison without a spread.

    Raises
    ------
    InvalidParameterError
        If there are fewer than two futures.
    """
    members = comparison.designs[0].file.central.run.members
    if members < 2:
        msg = f"run.members = {members}: a comparison needs at least 2 futures, better 40 or more."
        raise InvalidParameterError(msg)
