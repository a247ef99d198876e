"""A forecast: every option of a scenario with the same members, on one or more cores."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool

import xarray as xr

from edgesim.errors import StudyError
from edgesim.model.common import Common, prepare
from edgesim.outcomes.dataset import build_dataset
from edgesim.outcomes.facts import layout_facts
from edgesim.outcomes.site import with_site
from edgesim.scenario import ScenarioFile
from edgesim.studies.worker import Result, give, run_member

Progress = Callable[[int, int], None]


def run_forecast(
    scenario_file: ScenarioFile, workers: int | None = None, progress: Progress | None = None
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

    Returns
    -------
    xarray.Dataset
        See :func:`edgesim.outcomes.dataset.build_dataset`.

    Raises
    ------
    StudyError
        If a worker process died.

    Notes
    -----
    More than one worker needs a script guarded by ``if __name__ == "__main__"``.
    """
    central = scenario_file.central
    common = prepare(scenario_file)
    n_members = central.run.members
    report = progress or _say_nothing
    report(0, n_members)
    wanted = min(workers or os.cpu_count() or 1, n_members)
    found: dict[int, list[Result]] = {}
    for index, results in (
        _in_pool(scenario_file, common, n_members, wanted)
        if wanted > 1
        else _here(scenario_file, common, n_members)
    ):
        found[index] = results
        report(len(found), n_members)
    by_option = [
        [found[index][option] for index in range(n_members)]
        for option in range(len(central.options))
    ]
    names = [option.name for option in central.options]
    dataset = build_dataset(layout_facts(scenario_file, common), names, by_option, scenario_file)
    return with_site(dataset, scenario_file, common)


def _say_nothing(_done: int, _total: int) -> None:
    """Report no progress."""


def _here(
    scenario_file: ScenarioFile, common: Common, n_members: int
) -> Iterator[tuple[int, list[Result]]]:
    """Run members one after the other in this process."""
    give(scenario_file, common)
    for index in range(n_members):
        yield index, run_member(index)


def _in_pool(
    scenario_file: ScenarioFile, common: Common, n_members: int, workers: int
) -> Iterator[tuple[int, list[Result]]]:
    """Run members in worker processes and yield them as they finish."""
    pool = ProcessPoolExecutor(
        max_workers=workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=give,
        initargs=(scenario_file, common),
    )
    futures = {pool.submit(run_member, index): index for index in range(n_members)}
    try:
        for future in as_completed(futures):
            yield futures[future], future.result()
    except BrokenProcessPool as error:
        msg = f"a worker process died ({error}); try again with fewer workers."
        raise StudyError(msg) from error
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
