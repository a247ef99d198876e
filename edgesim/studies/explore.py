"""A study in stages: screening of all inputs, shares of the leading ones, a map of the decisions.

Each stage has its own store in the folder of the study. Stages grow: more
trajectories follow those that are there, and a longer Sobol' sequence begins
with the shorter one, so that no run is ever wasted.

Chance. Whatever is not an input of the study - weather, and inputs that are
drawn but not listed - hangs on the number of a member. In the screening all
steps of a trajectory meet the same member, so that noise does not stand among
the effects, and one more step changes the member: the effect of chance. For
shares of variance the member is one more input, drawn like the others: its
total share says how much of the spread nobody in the study can explain or
decide. A fixed member would hide that share; the mean over many members would
cost as many times more.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.errors import DataFileError, StudyError
from edgesim.outcomes.measures import Measure
from edgesim.scenario import ScenarioFile
from edgesim.scenario.plans import Factor, Target, study_of, targets_of
from edgesim.scenario.plans import Study as Wanted
from edgesim.studies.clock import Clock
from edgesim.studies.indices import screen
from edgesim.studies.jobs import Shared, job, run_job, template
from edgesim.studies.runner import Progress, run_tasks
from edgesim.studies.sampling import inner_shares, morris_plan, rows_per_point, sobol_plan
from edgesim.studies.store import StudyStore, read_store
from edgesim.studies.study import Study

Floats = NDArray[np.float64]

CHANCE = "chance"
"""Name of the input that stands for everything that the study does not list."""

MEMBERS = 1024
"""Members among which chance draws. [1]"""

FIRST_TRAJECTORIES = 4
"""Fewest trajectories that a screening begins with. [1]"""

FIRST_POINTS = 16
"""Fewest base points that shares begin with. [1]"""

STORES = {"screening": "screening.zarr", "shares": "shares.zarr", "map": "map.zarr"}

STANDARD = ("land_kept", "retreat", "cost", "oyster_density")
"""Quantities that every study looks at, at the end."""

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Exploration:
    """What is explored, ready to run.

    Attributes
    ----------
    file : ScenarioFile
        As it was written.
    base : ScenarioFile
        Without plans and targets, with the distributions of the study in place.
    study : Wanted
        Option, factors and map.
    targets : tuple of Target
        What success means.
    measures : tuple of Measure
        Numbers that are looked at.
    function : callable
        What does a run; another model may stand here.
    """

    file: ScenarioFile
    base: ScenarioFile
    study: Wanted
    targets: tuple[Target, ...]
    measures: tuple[Measure, ...]
    function: Callable[[Any, Any], Mapping[str, Any]] = run_job

    @property
    def names(self) -> list[str]:
        """All inputs and, last, chance."""
        return [*(factor.name for factor in self.study.factors), CHANCE]

    @property
    def seed(self) -> int:
        """Seed of the study."""
        return self.base.central.run.seed

    @property
    def leaders(self) -> list[Measure]:
        """Measures by which inputs are ranked: those of the targets, else marsh kept and cost."""
        aimed = list(dict.fromkeys(Measure(t.quantity, t.year) for t in self.targets))
        aimed = [measure for measure in aimed if measure.quantity != "takeover_year"]
        return aimed or list(self.measures[:1])

    def payload(self, names: Sequence[str], shares: Floats, member: int) -> dict[str, Any]:
        """Run at some shares of the named inputs; the others stand in the middle."""
        changes: dict[str, Any] = {}
        at: dict[str, float] = {}
        given = dict(zip(names, shares.tolist(), strict=True))
        for factor in self.study.factors:
            share = given.get(factor.name, 0.5)
            for path in factor.paths:
                if factor.levels or factor.layout:
                    changes[path] = factor.value(share)
                else:
                    at[path] = share
        return job(0, member, changes, at)


def plan_exploration(file: ScenarioFile) -> Exploration:
    """Find out what is to be explored.

    Parameters
    ----------
    file : ScenarioFile
        With a [study].

    Returns
    -------
    Exploration

    Raises
    ------
    ScenarioError
        If anything in the study is wrong.
    """
    study, targets = study_of(file), targets_of(file)
    bare = file.without_plans().without_targets()
    # An input on its own distribution is left alone: that of a wood or a wire goes with its name.
    spreads = {
        path: factor.spread
        for factor in study.factors
        if factor.spread is not None and not factor.layout
        for path in factor.paths
        if factor.spread != bare.distributions.get(path)
    }
    base = bare.overridden(spreads) if spreads else bare
    option = next(one for one in base.central.options if one.name == study.option)
    last = base.central.run.years
    wanted = [name for name in STANDARD if option.reef or name != "oyster_density"]
    measures = [Measure(name, last) for name in wanted]
    measures += [Measure(t.quantity, t.year) for t in targets if t.quantity != "takeover_year"]
    return Exploration(file, base, study, tuple(targets), tuple(dict.fromkeys(measures)))


def _study(exploration: Exploration, kind: str, payloads: list[Any], **identity: str) -> Study:
    base = exploration.base
    return Study(
        {"kind": kind, "scenario": base.digest(), "option": exploration.study.option, "seed": str(exploration.seed), **identity},
        exploration.function,
        Shared((base,), (exploration.study.option,)),
        payloads,
        template(base.central.run.years),
    )  # fmt: skip


def screening_study(exploration: Exploration, trajectories: int) -> tuple[Study, Floats]:
    """Runs of a screening and its plan (on Morris's grid)."""
    names = exploration.names
    plan = morris_plan(names, trajectories, exploration.seed)
    shares = inner_shares(plan)
    length = len(names) + 1
    payloads = [
        exploration.payload(names[:-1], row[:-1], 2 * (place // length) + int(row[-1] > 0.5))
        for place, row in enumerate(shares)
    ]
    inputs = hashable(exploration.study.factors)
    return _study(exploration, "screening", payloads, inputs=inputs), plan


def shares_study(
    exploration: Exploration, leading: Sequence[str], points: int
) -> tuple[Study, Floats]:
    """Runs for Sobol' indices of the leading inputs and chance, and their plan."""
    names = [*leading, CHANCE]
    plan = sobol_plan(names, points, exploration.seed, second_order=True)
    payloads = [
        exploration.payload(leading, row[:-1], min(int(row[-1] * MEMBERS), MEMBERS - 1))
        for row in plan
    ]
    by_name = {factor.name: factor for factor in exploration.study.factors}
    inputs = hashable([by_name[name] for name in leading])
    identity = {"inputs": inputs, "leading": json.dumps(list(leading))}
    return _study(exploration, "shares", payloads, **identity), plan


def map_study(exploration: Exploration) -> Study | None:
    """Runs of the map: quantile by quantile of the uncertain input, member by member, cell by cell."""
    wanted = exploration.study.map
    if wanted is None:
        return None
    by_name = {factor.name: factor for factor in exploration.study.factors}
    rows, columns = by_name[wanted.rows], by_name[wanted.columns]
    payloads = []
    for member in range(wanted.members):
        for quantile in wanted.quantiles:
            for i in range(len(rows.levels)):
                for j in range(len(columns.levels)):
                    # The middle of a level's share of the unit interval gives that level.
                    at = np.array(
                        [(i + 0.5) / len(rows.levels), (j + 0.5) / len(columns.levels), quantile]
                    )
                    names = [wanted.rows, wanted.columns, wanted.over]
                    payload = exploration.payload(names, at, member)
                    # Other uncertain inputs are drawn with the member; decisions stand in the middle.
                    kept = by_name[wanted.over].paths
                    payload["shares"] = {p: s for p, s in payload["shares"].items() if p in kept}
                    payloads.append(payload)
    return _study(
        exploration,
        "map",
        payloads,
        map=json.dumps([wanted.rows, wanted.columns, wanted.over, wanted.quantiles]),
    )


def hashable(factors: Sequence[Factor]) -> str:
    """Everything of some factors that decides their values, as one text."""
    return json.dumps(
        [
            [
                f.name, list(f.paths), [str(level) for level in f.levels],
                None if f.spread is None else f.spread.entries(),
            ]
            for f in factors
        ]
    )  # fmt: skip


def ranked(
    exploration: Exploration, plan: Floats, store_values: Callable[[Measure], Floats]
) -> list[str]:
    """Inputs (without chance) by their mean effect on what the targets name, largest first."""
    names = exploration.names
    score = np.zeros(len(names))
    for measure in exploration.leaders:
        effect = screen(names, plan, store_values(measure), exploration.seed).effect
        largest = effect[:-1].max()
        score += effect / largest if largest > 0.0 else 0.0
    order = np.argsort(-score[:-1], kind="stable")
    return [names[place] for place in order]


@dataclass
class Stages:
    """How far a study has come.

    Attributes
    ----------
    trajectories, points : int
        Whole trajectories and points that are complete.
    leading : list of str
        Inputs of the second stage.
    order : list of str
        All inputs by the screening.
    screening, shares, map : StudyStore or None
        The stores.
    notes : list of str
        What was left out, and why.
    """

    trajectories: int = 0
    points: int = 0
    leading: list[str] = field(default_factory=list)
    order: list[str] = field(default_factory=list)
    screening: StudyStore | None = None
    shares: StudyStore | None = None
    map: StudyStore | None = None
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Budget:
    """How large a study may grow.

    Attributes
    ----------
    trajectories, points, leading : int
        Of the screening, of the shares, and how many inputs go into these.
    seconds : float or None
        Time for all. [s]
    """

    trajectories: int = 10
    points: int = 256
    leading: int = 6
    seconds: float | None = None


def run_exploration(
    exploration: Exploration,
    folder: Path,
    budget: Budget,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
    progress: Callable[[str], Progress | None] = lambda _: None,
    tell: Tell = lambda _: None,
) -> Stages:
    """Run a study stage by stage, as far as the budget allows.

    Parameters
    ----------
    exploration : Exploration
        From :func:`plan_exploration`.
    folder : Path
        Where its stores are.
    budget : Budget
        How large it may grow.
    workers, scheduler, resume
        See :func:`edgesim.studies.runner.run_tasks`.
    progress : callable, optional
        Given the name of a stage, the progress report of its runs.
    tell : callable, optional
        Told what is done, in words.

    Returns
    -------
    Stages
    """
    clock = Clock(budget.seconds)
    stages = Stages()

    def run(study: Study, stage: str) -> StudyStore:
        return run_tasks(
            study,
            folder / STORES[stage],
            workers=workers,
            scheduler=scheduler,
            resume=resume or clock.has_begun(stage),
            progress=progress(stage),
            budget_seconds=clock.left(),
        )

    length = len(exploration.names) + 1
    there = _size(folder, "screening", resume=resume) // length

    def screening(count: int) -> StudyStore:
        return run(screening_study(exploration, count)[0], "screening")

    size, stages.screening = _grow(
        screening, max(FIRST_TRAJECTORIES, there), max(budget.trajectories, there), length, clock
    )
    stages.trajectories = size
    plan = screening_study(exploration, size)[1]
    good = whole(stages.screening.done[: len(plan)], length)
    if good.reshape(-1, length).all(axis=1).sum() < 2:
        stages.notes.append("Too few trajectories were completed to say anything.")
        return stages
    stages.order = ranked(exploration, plan[good], reader(stages.screening, slice(None), good))
    kept = _leading_there(folder, resume=resume)
    stages.leading = kept or stages.order[: budget.leading]
    if kept and set(kept) != set(stages.order[: len(kept)]):
        stages.notes.append(
            f"The shares are of {', '.join(kept)}, chosen when the screening was shorter; "
            f"now it puts {', '.join(stages.order[: len(kept)])} first. Begin anew with --force to follow it."
        )
    rows = rows_per_point(len(stages.leading) + 1, second_order=True)
    there = _size(folder, "shares", resume=resume) // rows
    first, most = max(FIRST_POINTS, there), max(budget.points, there)
    if clock.fits(first * rows - _done(folder, "shares", resume=resume)) or there:

        def shares(count: int) -> StudyStore:
            return run(shares_study(exploration, stages.leading, count)[0], "shares")

        stages.points, stages.shares = _grow(shares, first, most, rows, clock, doubling=True)
    wanted = map_study(exploration)
    if wanted is not None and clock.fits(
        len(wanted.payloads) - _done(folder, "map", resume=resume)
    ):
        stages.map = run(wanted, "map")
    tell(f"{clock.runs} runs in {clock.elapsed() / 60.0:.1f} minutes.")
    return stages


def _grow(
    run: Callable[[int], StudyStore],
    first: int,
    most: int,
    rows: int,
    clock: Clock,
    *,
    doubling: bool = False,
) -> tuple[int, StudyStore]:
    """Let a stage grow while there is time; without a limit it runs at once to the end."""
    size = most if clock.seconds is None else min(first, most)
    while True:
        began, store = clock.elapsed(), run(size)
        clock.learn(store, began)
        complete = bool((store.status[: size * rows] != 0).all())
        if size >= most or not complete:
            return size, store
        step = size if doubling else 1
        if not clock.fits(step * rows):
            return size, store
        grown = 2 * size if doubling else min(2 * size, size + int(clock.affordable() / rows))
        size = min(most, grown)


def whole(done: NDArray[np.bool_], rows: int) -> NDArray[np.bool_]:
    """Runs of groups (trajectories, points) all of whose runs have a result."""
    groups = done[: done.size // rows * rows].reshape(-1, rows).all(axis=1)
    found = np.zeros(done.size, dtype=bool)
    found[: groups.size * rows] = np.repeat(groups, rows)
    return found


def reader(store: StudyStore, rows: slice, good: NDArray[np.bool_]) -> Callable[[Measure], Floats]:
    """Function that reads a measure off the good runs of a store."""
    yearly, takeover = store.values("yearly")[rows], store.values("takeover_year")[rows]

    def read(measure: Measure) -> Floats:
        return measure.of(yearly[: good.size][good], takeover[: good.size][good])

    return read


def _size(folder: Path, stage: str, *, resume: bool) -> int:
    """Runs that the store of a stage holds room for; 0 without one."""
    path = folder / STORES[stage]
    return read_store(path).status.size if resume and path.exists() else 0


def _done(folder: Path, stage: str, *, resume: bool) -> int:
    path = folder / STORES[stage]
    return int((read_store(path).status != 0).sum()) if resume and path.exists() else 0


def _leading_there(folder: Path, *, resume: bool) -> list[str]:
    """Inputs of the shares that are there already."""
    path = folder / STORES["shares"]
    if not (resume and path.exists()):
        return []
    try:
        found = json.loads(read_store(path).identity["leading"])
    except (KeyError, ValueError) as error:
        msg = f"{path}: is not the store of a study's shares. Begin anew with --force."
        raise DataFileError(msg) from error
    return [str(name) for name in found]


def failures_of(stages: Stages) -> list[str]:
    """Every failed run in one sentence."""
    stores = {"screening": stages.screening, "shares": stages.shares, "map": stages.map}
    return [
        f"{stage}, run {failure.index}: {failure.kind}: {failure.reason}"
        for stage, store in stores.items()
        if store is not None
        for failure in store.failures()
    ]


def refuse_nothing(stages: Stages) -> None:
    """Refuse a study of which no trajectory was completed.

    Raises
    ------
    StudyError
        With the first reason.
    """
    if not stages.order:
        reasons = failures_of(stages)
        why = f" The first reason: {reasons[0]}" if reasons else " Give more minutes."
        msg = f"the study could conclude nothing: too few runs were completed.{why}"
        raise StudyError(msg)


def planned_studies(
    exploration: Exploration, budget: Budget, folder: Path, *, resume: bool
) -> dict[str, Study]:
    """All stages at full size; until they are chosen inputs of all kinds stand for those of the second."""
    names = [factor.name for factor in exploration.study.factors]
    some = names[:: max(1, len(names) // budget.leading)][: budget.leading]
    leading = _leading_there(folder, resume=resume) or some
    rows = rows_per_point(len(leading) + 1, second_order=True)
    trajectories = _size(folder, "screening", resume=resume) // (len(exploration.names) + 1)
    points = _size(folder, "shares", resume=resume) // rows
    stages = {
        "screening": screening_study(exploration, max(budget.trajectories, trajectories))[0],
        "shares": shares_study(exploration, leading, max(budget.points, points))[0],
    }
    mapped = map_study(exploration)
    return stages if mapped is None else {**stages, "map": mapped}
