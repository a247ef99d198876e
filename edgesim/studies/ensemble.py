"""A forecast: every option of a scenario with the same members, as a study of its members."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr

from edgesim import errors
from edgesim.model.common import prepare
from edgesim.model.settings import log_size
from edgesim.names import BUDGETS, LEDGER_ENTRIES, OYSTER_SIZE_COUNT, SHELL_PARTS
from edgesim.outcomes.dataset import Facts, build_dataset
from edgesim.outcomes.facts import layout_facts
from edgesim.outcomes.site import with_site
from edgesim.scenario import ScenarioFile
from edgesim.scenario.loader import uniform_draw
from edgesim.studies.runner import Progress, run_tasks
from edgesim.studies.study import Failure, Quantity, Study
from edgesim.studies.worker import COMPUTED, Shared, rehearse, run_member

if TYPE_CHECKING:
    from edgesim.studies.store import StudyStore


def forecast_study(scenario_file: ScenarioFile) -> Study:
    """Describe the forecast of a scenario as a study of its members.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.

    Returns
    -------
    Study
        One task a member.
    """
    central = scenario_file.central
    common = prepare(scenario_file)
    visits = _longest_log(scenario_file, common.n_days)
    return Study(
        identity={
            "kind": "forecast",
            "scenario": scenario_file.digest(),
            "seed": str(central.run.seed),
        },
        function=run_member,
        shared=Shared(scenario_file, common, visits),
        payloads=[{"member": index} for index in range(central.run.members)],
        template=_template(layout_facts(scenario_file, common), len(central.options), visits),
        rehearsal=rehearse,
    )


def _longest_log(scenario_file: ScenarioFile, n_days: int) -> int:
    """Rows of the longest upkeep log of all members."""
    if not any(path.startswith("upkeep.") for path in scenario_file.distributions):
        return log_size(scenario_file.central, n_days)
    members = range(scenario_file.central.run.members)
    return max(log_size(scenario_file.member(index), n_days) for index in members)


def _template(facts: Facts, n_options: int, visits: int) -> dict[str, Quantity]:
    lengths = {
        "option": n_options,
        "time": facts.time_days.size,
        "alongshore": facts.alongshore.size,
        "cross_shore": facts.cross_shore.size,
        "ledger_entry": len(LEDGER_ENTRIES),
        "budget": len(BUDGETS),
        "shell_part": len(SHELL_PARTS),
        "oyster_size": OYSTER_SIZE_COUNT,
        "visit": visits,
    }
    found = {}
    for variable in COMPUTED:
        dims = tuple(dim for dim in variable.dims if dim != "member")
        attributes = {"units": variable.unit, "long_name": variable.long_name}
        found[variable.name] = Quantity(
            dims, tuple(lengths[dim] for dim in dims), attributes=attributes
        )
    return found


def run_forecast(
    scenario_file: ScenarioFile,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    scheduler: str | None = None,
    path: Path | None = None,
    resume: bool = False,
) -> xr.Dataset:
    """Run all members of all options and gather them.

    Members are independent and each has its own random streams, so that the
    result does not depend on the number of workers or on the order in which
    they finish.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    workers : int, optional
        Worker processes; by default one for each core. One worker runs in this process.
    progress : callable, optional
        Called with the members done and the members in all.
    scheduler : str, optional
        Address of a running dask scheduler whose workers run the members instead.
    path : Path, optional
        Folder of a store from which a broken-off forecast can be resumed; by default the
        results are only kept in memory.
    resume : bool, default False
        Go on with the store at `path`.

    Returns
    -------
    xarray.Dataset
        See :func:`edgesim.outcomes.dataset.build_dataset`. Members that failed are left out
        of all options; the attribute ``failures`` tells of them, see :func:`failures_of`.

    Raises
    ------
    EdgesimError
        The error of the first member, if all members failed; see also
        :func:`edgesim.studies.runner.run_tasks`.

    Notes
    -----
    More than one worker needs a script guarded by ``if __name__ == "__main__"``.
    """
    study = forecast_study(scenario_file)
    store = run_tasks(
        study, path, workers=workers, scheduler=scheduler, resume=resume, progress=progress
    )
    return forecast_dataset(study.shared, store)


def forecast_dataset(shared: Shared, store: StudyStore) -> xr.Dataset:
    """Gather the members that have a result.

    Parameters
    ----------
    shared : Shared
        What was run.
    store : StudyStore
        Its results.

    Returns
    -------
    xarray.Dataset

    Raises
    ------
    EdgesimError
        The error of the first member, if all failed.
    """
    scenario_file = shared.scenario_file
    failures = store.failures()
    members = np.flatnonzero(store.done).tolist()
    if not members:
        raise _error_of(failures[0])
    arrays = {variable.name: store.values(variable.name)[members] for variable in COMPUTED}
    options = [option.name for option in scenario_file.central.options]
    by_option = [
        [
            {name: values[row, place] for name, values in arrays.items()}
            for row in range(len(members))
        ]
        for place in range(len(options))
    ]
    facts = layout_facts(scenario_file, shared.common)
    dataset = build_dataset(facts, options, by_option, scenario_file, members)
    if failures:
        rows = [_record(scenario_file, failure) for failure in failures]
        dataset.attrs["failures"] = json.dumps(rows, ensure_ascii=False)
    return with_site(dataset, scenario_file, shared.common)


def failures_of(dataset: xr.Dataset) -> list[dict[str, Any]]:
    """Members that failed: ``member``, ``kind``, ``reason``, and ``inputs``, the values drawn for it."""
    found: list[dict[str, Any]] = json.loads(dataset.attrs.get("failures", "[]"))
    return found


def _record(scenario_file: ScenarioFile, failure: Failure) -> dict[str, Any]:
    seed = scenario_file.central.run.seed
    drawn = {
        path: distribution.quantile(uniform_draw(seed, failure.index, path))
        for path, distribution in scenario_file.distributions.items()
    }
    return {
        "member": failure.index,
        "kind": failure.kind,
        "reason": failure.reason,
        "inputs": drawn,
    }


def _error_of(failure: Failure) -> errors.EdgesimError:
    """The error that a failure tells of, so that it is treated as if it had happened here."""
    if failure.kind == "ScenarioError":
        return errors.ScenarioError([failure.reason])
    kind = getattr(errors, failure.kind, None)
    if isinstance(kind, type) and issubclass(kind, errors.EdgesimError):
        return kind(failure.reason)
    msg = f"every member failed; the first: {failure.kind}: {failure.reason}"
    return errors.StudyError(msg)
