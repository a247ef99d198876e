"""Runs the tasks of a study on this machine or on a cluster, into a store.

The whole interface::

    study = Study(identity, function, shared, payloads, template)   # what to compute
    cost = estimate(study, workers)                                  # a dry run
    store = run_tasks(study, path, workers=2, resume=True)           # compute it
    store.values("retreat"), store.done, store.failures()            # look at it

`run_tasks` gives the store even when tasks failed or a budget of time ran out; it is for the
caller to say so. Ctrl-C and everything else leaves a store that ``resume=True`` completes.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Generator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from edgesim.studies.estimate import check_disk
from edgesim.studies.study import Outcome, Study, attempt

if TYPE_CHECKING:
    from edgesim.studies.store import StudyStore

Progress = Callable[[int, int], None]
"""Called with the tasks finished and the tasks in all."""


def run_tasks(
    study: Study,
    path: Path | None,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
    progress: Progress | None = None,
    budget_seconds: float | None = None,
) -> StudyStore:
    """Do all tasks of a study that are not done yet.

    Tasks are independent, so that the store does not depend on the number of workers or on
    the order in which they finish.

    Parameters
    ----------
    study : Study
        What is computed.
    path : Path or None
        Folder of the store; None keeps the results in memory.
    workers : int, optional
        Worker processes on this machine; by default one for each core. One worker is this
        process itself.
    scheduler : str, optional
        Address of a running dask scheduler whose workers do the tasks instead.
    resume : bool, default False
        Go on with the store that is there, or make one. A study with more tasks than the store
        makes it grow.
    progress : callable, optional
        Told of the tasks finished, failed ones among them.
    budget_seconds : float, optional
        Begin no task that would end later than this after the start. [s]

    Returns
    -------
    StudyStore
        ``store.done`` says which tasks have a result, ``store.failures()`` why others have none.

    Raises
    ------
    DataFileError
        If the store is there already, of another study, or cannot be written.
    InvalidParameterError
        If no scheduler answers at the address.
    StudyError
        If the cluster was lost.

    Notes
    -----
    However it ends, the store holds what was done, and there is none when that is nothing.
    More than one worker needs a script guarded by ``if __name__ == "__main__"``.
    """
    # Workers import this module too, and do without zarr.
    from edgesim.studies.store import open_store, remove_store

    if path is not None and not path.exists():
        check_disk(study, path)
    store = open_store(path, study, resume=resume)
    left, total = store.unfinished(), len(study.payloads)
    report = progress or _say_nothing
    report(total - len(left), total)
    if not left:
        return store
    deadline = None if budget_seconds is None else time.monotonic() + budget_seconds
    wanted = min(workers or os.cpu_count() or 1, len(left))
    outcomes = _here(study, left, deadline)
    if scheduler is not None or wanted > 1:
        from edgesim.studies.crew import in_cluster

        outcomes = in_cluster(study, left, wanted, scheduler, deadline)
    finished = total - len(left)
    try:
        with closing(outcomes):
            for outcome in outcomes:
                store.put(outcome)
                finished += 1
                report(finished, total)
    finally:
        store.flush()
        if path is not None and not store.finished.any():
            remove_store(path)
    return store


def _here(study: Study, indices: list[int], deadline: float | None) -> Generator[Outcome]:
    """Do tasks one after the other in this process."""
    seconds = 0.0
    for index in indices:
        if deadline is not None and time.monotonic() + seconds > deadline:
            return
        outcome = attempt(study, index, study.payloads[index])
        seconds = outcome.seconds
        yield outcome


def _say_nothing(_done: int, _total: int) -> None:
    """Report no progress."""
