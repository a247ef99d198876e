"""Worker processes through dask.distributed: on this machine, or of a running scheduler.

Each worker is given the study's function and shared data once, when it starts (also when it
starts anew after it died). Tasks go out in batches that last about two seconds, two for each
worker, so that neither messages nor the last batches cost much time. A batch whose worker died
is repeated elsewhere; a task whose worker dies again and again, though it runs alone, is given up.
"""

from __future__ import annotations

import logging
import math
import signal
import threading
import time
import uuid
from collections import deque
from collections.abc import Collection, Generator, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from multiprocessing import resource_tracker
from typing import Any

import dask
from distributed import (
    CancelledError,
    Client,
    Future,
    KilledWorker,
    LocalCluster,
    Worker,
    WorkerPlugin,
    as_completed,
    get_worker,
)

from edgesim.errors import InvalidParameterError, StudyError
from edgesim.studies.study import Failure, Outcome, Study, as_json, attempt, code_version

BATCH_SECONDS = 2.0
"""How long a batch of tasks should last. [s]"""

BATCHES_A_WORKER = 2
"""Batches under way for each worker: one that runs and one that waits."""

CONNECT_SECONDS = 10.0
"""How long a scheduler may take to answer. [s]"""

WORKERS_SECONDS = 600.0
"""How long to wait for the first worker of a scheduler: a cluster may have a queue. [s]"""

LEAN = {
    "distributed.worker.profile.enabled": False,
    "distributed.admin.system-monitor.log-length": 60,
    "distributed.admin.system-monitor.disk": False,
    "distributed.admin.low-level-log-length": 100,
}
"""Nobody looks at what workers would otherwise keep about themselves; it grew by 40 kB a second."""

RATES = 8
"""Batches from whose durations the next size is reckoned."""


class Share(WorkerPlugin):
    """The study without its payloads, held by every worker."""

    def __init__(self, study: Study) -> None:
        self.name = f"edgesim-{uuid.uuid4().hex}"
        self.study = replace(study, payloads=())

    def setup(self, worker: Worker) -> None:
        """Nothing: the worker keeps the plugin, and that is all."""


def run_batch(name: str, indices: list[int], payloads: list[Any]) -> list[Outcome]:
    """Do some tasks in a worker process.

    Parameters
    ----------
    name : str
        Name under which the worker holds the study.
    indices, payloads : list
        The tasks.

    Returns
    -------
    list of Outcome
    """
    share = get_worker().plugins[name]
    assert isinstance(share, Share)
    return [attempt(share.study, *task) for task in zip(indices, payloads, strict=True)]


def in_cluster(
    study: Study,
    indices: list[int],
    workers: int,
    scheduler: str | None,
    deadline: float | None,
) -> Generator[Outcome]:
    """Do tasks in worker processes and yield their outcomes as they come.

    Parameters
    ----------
    study : Study
        What is computed.
    indices : list of int
        Tasks to do.
    workers : int
        Processes to start when no scheduler is given.
    scheduler : str or None
        Address of a running scheduler.
    deadline : float or None
        Time of the monotonic clock after which no task should end. [s]

    Yields
    ------
    Outcome

    Raises
    ------
    InvalidParameterError
        If no scheduler answers at the address.
    StudyError
        If the cluster was lost.
    """
    with _local(workers) if scheduler is None else _existing(scheduler) as client:
        share = Share(study)
        _check_workers(client, study)
        client.register_plugin(share)
        try:
            if scheduler is None and study.rehearsal is not None:
                _rehearse_all(client, share.name)
            yield from _Dispatch(client, study, share.name, indices, deadline).outcomes()
        except (CancelledError, OSError) as error:
            where = scheduler or "on this machine"
            msg = f"the scheduler {where} was lost ({_first_line(error)}); what is done is kept: add --resume to go on."
            raise StudyError(msg) from error
        finally:
            # A worker that died meanwhile has none to give back.
            if client.status == "running":
                with suppress(OSError):
                    client.unregister_worker_plugin(share.name)


def rehearse_part(name: str, part: int, parts: int) -> None:
    """Do one part of the rehearsal in a worker process."""
    share = get_worker().plugins[name]
    assert isinstance(share, Share)
    assert share.study.rehearsal is not None
    share.study.rehearsal(share.study.shared, part, parts)


def _rehearse_all(client: Client, name: str) -> None:
    """Let every worker compile its part, so that none compiles everything."""
    workers = sorted(client.nthreads())
    parts = [
        client.submit(
            rehearse_part,
            name,
            part,
            len(workers),
            workers=[worker],
            allow_other_workers=True,
            pure=False,
        )
        for part, worker in enumerate(workers)
    ]
    # What fails here fails again in the first task, and is told there.
    client.gather(parts, errors="skip")


class _Dispatch:
    """Hands out batches and takes outcomes in."""

    def __init__(
        self, client: Client, study: Study, name: str, indices: list[int], deadline: float | None
    ) -> None:
        self.client, self.study, self.name, self.deadline = client, study, name, deadline
        self.left = deque(indices)
        self.suspects: deque[int] = deque()
        self.rates: deque[float] = deque(maxlen=RATES)
        self.under_way: dict[Future[Any], list[int]] = {}
        self.done = as_completed(loop=client.loop)

    def outcomes(self) -> Iterator[Outcome]:
        """Yield the outcome of every task, until none is left or time is up."""
        self._hand_out()
        while self.under_way:
            future = next(self.done)
            indices = self.under_way.pop(future)
            yield from self._taken(future, indices)
            future.release()
            self._hand_out()

    def _taken(self, future: Future[Any], indices: list[int]) -> list[Outcome]:
        """Outcomes of a finished batch; none when its tasks must be tried again."""
        try:
            # Waits when the worker that held the result has died since: it is then computed anew.
            found: list[Outcome] = future.result()
        except KilledWorker:
            return self._suspected(indices)
        except (CancelledError, OSError):
            raise
        except Exception as error:
            msg = (
                f"a worker could not begin its tasks: {type(error).__name__}: {_first_line(error)}"
            )
            raise StudyError(msg) from error
        self.rates.append(sum(outcome.seconds for outcome in found) / len(found))
        return found

    def _suspected(self, indices: list[int]) -> list[Outcome]:
        """Put tasks whose workers died aside; give up one that killed them though it ran alone."""
        if len(indices) > 1 or self.under_way or self.left:
            # Others may have been to blame: each of them is tried once more, alone, at the end.
            self.suspects.extend(indices)
            return []
        reason = "the worker process died each time that it ran this task; is memory short?"
        inputs = as_json(self.study.payloads[indices[0]])
        failure = Failure(indices[0], "KilledWorker", reason, inputs, lost=True)
        return [Outcome(indices[0], None, failure, 0.0)]

    def _hand_out(self) -> None:
        """Keep every worker supplied, as far as there are tasks and time."""
        workers = max(1, len(self.client.nthreads())) if self.left else 1
        while self.left and len(self.under_way) < BATCHES_A_WORKER * workers:
            waiting = sum(len(batch) for batch in self.under_way.values())
            time_left = None if self.deadline is None else self.deadline - time.monotonic()
            size = batch_size(self.rates, len(self.left), workers, waiting, time_left)
            if not size:
                self.left.clear()
                self.suspects.clear()
                return
            self._submit([self.left.popleft() for _ in range(size)])
        if self.suspects and not self.left and not self.under_way:
            self._submit([self.suspects.popleft()])

    def _submit(self, indices: list[int]) -> None:
        payloads = [self.study.payloads[index] for index in indices]
        future = self.client.submit(run_batch, self.name, indices, payloads, pure=False)
        self.under_way[future] = indices
        self.done.add(future)


def batch_size(
    rates: Collection[float], left: int, workers: int, waiting: int, time_left: float | None
) -> int:
    """Number of tasks in the next batch; 0 when there is no time for one.

    Parameters
    ----------
    rates : collection of float
        Seconds a task in the last batches; empty before the first has come back. [s]
    left : int
        Tasks not handed out yet.
    workers : int
        Worker processes.
    waiting : int
        Tasks handed out and not come back.
    time_left : float or None
        Time until the deadline, if there is one. [s]

    Returns
    -------
    int
    """
    if not rates:
        return 1
    # The quickest of the last batches: the first ones compile, and others may disturb.
    seconds = max(min(rates), 1e-6)
    size = min(BATCH_SECONDS / seconds, left / (BATCHES_A_WORKER * workers))
    if time_left is not None:
        room = time_left / seconds - waiting / workers
        if room < 1.0:
            return 0
        size = min(size, room)
    return max(1, math.floor(size))


@contextmanager
def _local(workers: int) -> Iterator[Client]:
    """Start worker processes on this machine, which listen on the loopback alone."""
    with dask.config.set(LEAN), _interrupts_kept_from_children():
        cluster = LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address=None,
            # Without this it takes the port that other clusters of the machine take too.
            scheduler_kwargs={"dashboard_address": "127.0.0.1:0"},
            memory_limit=0,
            silence_logs=logging.CRITICAL,
        )
    with cluster, Client(cluster, set_as_default=False) as client:
        yield client


@contextmanager
def _existing(address: str) -> Iterator[Client]:
    """Connect to a running scheduler and wait for its first worker."""
    try:
        client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        msg = (
            f"no scheduler answers at {address!r} ({_first_line(error)}). "
            "Give --scheduler the address that `dask scheduler` printed, such as tcp://127.0.0.1:8786."
        )
        raise InvalidParameterError(msg) from error
    with _quiet("distributed.client"), client:
        try:
            client.wait_for_workers(1, timeout=WORKERS_SECONDS)
        except TimeoutError as error:
            msg = f"the scheduler at {address} has no workers. Start some: dask worker {address} --nthreads 1"
            raise StudyError(msg) from error
        yield client


def _check_workers(client: Client, study: Study) -> None:
    """Refuse workers that would give other results than this process."""
    if max(client.nthreads().values(), default=1) > 1:
        msg = "workers must have one thread each: start them with `dask worker ADDRESS --nthreads 1 --nworkers N`."
        raise StudyError(msg)
    # A function of the script that was started travels with its code.
    known = study.function if study.function.__module__ != "__main__" else None
    here = code_version(known)
    for address, there in client.run(code_version, known).items():
        if there != here:
            msg = f"the worker {address} has edgesim {there}, this process {here}. Install the same version everywhere."
            raise StudyError(msg)


@contextmanager
def _interrupts_kept_from_children() -> Iterator[None]:
    """Start processes and threads that Ctrl-C does not reach: this process alone answers it.

    A blocked signal stays blocked in threads and processes that are started meanwhile, also in
    the workers that those threads start later in place of dead ones.
    """
    if (
        not hasattr(signal, "pthread_sigmask")
        or threading.current_thread() is not threading.main_thread()
    ):
        yield
        return
    # Its start would lift the block.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _quiet(name: str) -> Iterator[None]:
    """Keep a logger from telling in its words what our errors tell in theirs."""
    logger = logging.getLogger(name)
    before = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        logger.setLevel(before)


def _first_line(error: BaseException) -> str:
    return (str(error) or type(error).__name__).splitlines()[0]
