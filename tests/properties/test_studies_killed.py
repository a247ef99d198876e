"""Studies on worker processes end with the same bytes, whoever is killed on the way; they are really killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import dask
import psutil
import pytest

from edgesim.errors import InvalidParameterError, StudyError
from edgesim.scenario import ScenarioFile
from edgesim.studies import crew
from edgesim.studies.ensemble import run_forecast
from edgesim.studies.runner import run_tasks
from edgesim.studies.store import read_store
from edgesim.studies.study import Study

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="the signals are those of POSIX systems"),
]

Make = Callable[..., Study]

TESTS = Path(__file__).parents[1]
PATIENCE = 120.0
"""Longest wait for something that must happen, on however busy a machine. [s]"""

TASKS = 120


def contents(path: Path) -> dict[str, bytes]:
    """Every file of a store."""
    files = (file for file in path.rglob("*") if file.is_file())
    return {file.relative_to(path).as_posix(): file.read_bytes() for file in files}


def wait_for(what: Callable[[], bool]) -> None:
    """Wait until something is so."""
    end = time.monotonic() + PATIENCE
    while not what():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.005)


def marks_in(folder: Path) -> list[tuple[int, int]]:
    """Number of each task that was begun and the process that did it."""
    return [tuple(map(int, path.name.split("."))) for path in folder.iterdir()]  # type: ignore[misc]


@pytest.fixture
def marks(tmp_path: Path) -> Path:
    (tmp_path / "marks").mkdir()
    return tmp_path / "marks"


@pytest.fixture
def whole(cheap_study: Make, tmp_path: Path) -> dict[str, bytes]:
    """Bytes of the study, run by one process without a break."""
    run_tasks(cheap_study(TASKS, bad=(3,)), tmp_path / "whole", workers=1)
    return contents(tmp_path / "whole")


def test_one_and_two_workers_give_the_same_bytes(
    cheap_study: Make, tmp_path: Path, marks: Path, whole: dict[str, bytes]
) -> None:
    listening: set[str] = set()

    def look(done: int, _: int) -> None:
        if done == TASKS // 2:
            me = psutil.Process()
            for process in (me, *me.children(recursive=True)):
                connections = process.net_connections()
                listening.update(c.laddr.ip for c in connections if c.status == "LISTEN")

    study = cheap_study(TASKS, bad=(3,), marks=str(marks), seconds=0.01)
    run_tasks(study, tmp_path / "two", workers=2, progress=look)
    assert contents(tmp_path / "two") == whole
    # Every task was done once, and each of two other processes did some.
    assert len(marks_in(marks)) == TASKS
    assert len({process for _, process in marks_in(marks)} - {os.getpid()}) == 2
    # Nothing outside this machine can reach them.
    assert listening == {"127.0.0.1"}


@pytest.mark.parametrize("victims", [1, 2])
def test_killed_workers_are_replaced_and_their_tasks_done_again(
    cheap_study: Make, tmp_path: Path, marks: Path, whole: dict[str, bytes], victims: int
) -> None:
    killed: list[int] = []

    def kill(done: int, _: int) -> None:
        workers = sorted({process for _, process in marks_in(marks)} - {os.getpid()})
        if done >= 10 and len(workers) == 2 and not killed:
            killed.extend(workers[:victims])
            for process in killed:
                os.kill(process, signal.SIGKILL)

    study = cheap_study(TASKS, bad=(3,), marks=str(marks), seconds=0.02)
    run_tasks(study, tmp_path / "s", workers=2, progress=kill)
    assert len(killed) == victims
    assert not any(psutil.pid_exists(process) for process in killed)
    assert contents(tmp_path / "s") == whole


def test_a_task_that_always_kills_its_worker_is_given_up_and_no_other(
    cheap_study: Make, tmp_path: Path
) -> None:
    with dask.config.set({"distributed.scheduler.allowed-failures": 1}):
        store = run_tasks(cheap_study(30, deadly=(7,)), tmp_path / "s", workers=2)
    (failure,) = store.failures()
    assert (failure.index, failure.kind, failure.inputs) == (7, "KilledWorker", '{"number":7}')
    assert failure.lost
    assert store.done.sum() == 29
    # It was the machine's fault, as far as anyone knows: resumed, it is tried again.
    assert run_tasks(cheap_study(30), tmp_path / "s", workers=1, resume=True).done.all()


def begin(*arguments: object) -> subprocess.Popen[bytes]:
    """Run the study of ``cheap_tasks.py`` as a program of its own."""
    program = "import cheap_tasks; cheap_tasks.main()"
    command = [sys.executable, "-c", program, *(str(argument) for argument in arguments)]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    return subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_killed_study_is_resumed_to_the_same_bytes(
    cheap_study: Make, tmp_path: Path, marks: Path, whole: dict[str, bytes], workers: int
) -> None:
    path = tmp_path / "s"
    counts = []
    for more in (5, 37, 30):
        before = len(marks_in(marks))
        with begin(path, marks, TASKS, workers) as process:
            wait_for(lambda before=before, more=more: len(marks_in(marks)) >= before + more)
            children = psutil.Process(process.pid).children(recursive=True)
            process.kill()
            process.wait()
        assert process.returncode == -signal.SIGKILL
        # Workers do not outlive the process that started them.
        psutil.wait_procs(children, timeout=PATIENCE)
        assert not any(child.is_running() for child in children)
        counts.append(int(read_store(path).finished.sum()) if path.exists() else 0)
    # It was broken off in mid-study, and what was done before was not done again.
    assert 0 < counts[-1] < TASKS
    assert counts == sorted(counts)
    run_tasks(cheap_study(TASKS, bad=(3,)), path, workers=workers, resume=True)
    assert contents(path) == whole


@contextmanager
def hand_started_cluster(folder: Path, workers: int) -> Iterator[tuple[str, list[psutil.Popen]]]:
    """A scheduler and workers from the command line, as in docs/howto/cluster.md."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    place = folder / "scheduler.json"
    start = [sys.executable, "-m", "dask"]
    quiet = {"env": environment, "stderr": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
    where = ["--host", "127.0.0.1", "--no-dashboard"]
    commands = [
        [*start, "scheduler", *where, "--port", "0", "--scheduler-file", str(place)],
        *[
            [*start, "worker", *where, "--nthreads", "1", "--scheduler-file", str(place)]
            for _ in range(workers)
        ],
    ]
    processes: list[psutil.Popen] = []
    try:
        for command in commands:
            processes.append(psutil.Popen(command, **quiet))
            wait_for(place.exists)
        yield json.loads(place.read_text())["address"], processes
    finally:
        for process in reversed(processes):
            with suppress(psutil.NoSuchProcess):
                for one in (*process.children(recursive=True), process):
                    one.kill()
            process.wait()


def test_a_cluster_started_by_hand_gives_the_same_bytes(
    cheap_study: Make,
    small_scenario: Callable[..., ScenarioFile],
    tmp_path: Path,
    marks: Path,
    whole: dict[str, bytes],
) -> None:
    # Here first: what is compiled once need not be compiled in each worker at the same time.
    forecast = small_scenario({"run.members": 2, "run.years": 1})
    here = run_forecast(forecast, workers=1)
    with hand_started_cluster(tmp_path, workers=2) as (address, processes):
        there = run_forecast(forecast, scheduler=address)
        assert all(there[name].equals(here[name]) for name in here.variables)

        study = cheap_study(TASKS, bad=(3,), marks=str(marks), seconds=0.01)
        run_tasks(study, tmp_path / "two", scheduler=address)
        assert contents(tmp_path / "two") == whole
        assert os.getpid() not in {process for _, process in marks_in(marks)}

        # One of the two is taken away for good in mid-study; the study ends with the other.
        def take_away(done: int, _: int) -> None:
            worker = processes[-1]
            if done >= 10 and worker.is_running():
                nanny_and_worker = [worker, *worker.children(recursive=True)]
                for process in nanny_and_worker:
                    process.kill()
                worker.wait()

        run_tasks(study, tmp_path / "one", scheduler=address, progress=take_away)
        assert not processes[-1].is_running()
        assert contents(tmp_path / "one") == whole

        # Without its scheduler the study stops, and says so; what is done is kept.
        def end_all(done: int, _: int) -> None:
            if done >= 10 and processes[0].is_running():
                processes[0].kill()
                processes[0].wait()

        with pytest.raises(StudyError, match=r"was lost.*--resume"):
            run_tasks(study, tmp_path / "lost", scheduler=address, progress=end_all)
    assert 10 <= read_store(tmp_path / "lost").finished.sum() < TASKS
    run_tasks(study, tmp_path / "lost", workers=1, resume=True)
    assert contents(tmp_path / "lost") == whole


@pytest.mark.parametrize(
    "address", ["tcp://127.0.0.1:1", "127.0.0.1:1", "nonsense", "nonsense://127.0.0.1:1", "tcp://"]
)
def test_an_address_where_no_scheduler_answers_is_wrong_input(
    cheap_study: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    monkeypatch.setattr(crew, "CONNECT_SECONDS", 0.5)
    with pytest.raises(InvalidParameterError, match="no scheduler answers at") as error:
        run_tasks(cheap_study(2), tmp_path / "s", scheduler=address)
    assert address in str(error.value)
    assert not (tmp_path / "s").exists()


def test_batches_last_about_as_long_as_they_should() -> None:
    # Nothing measured: one by one. Then as many as last two seconds, by the quickest batch.
    assert crew.batch_size([], 10_000, 2, 0, None) == 1
    assert crew.batch_size([9.0, 0.01, 0.02], 10_000, 2, 0, None) == 200
    # Towards the end smaller ones, so that all workers end together.
    assert crew.batch_size([0.01], 100, 2, 0, None) == 25
    assert crew.batch_size([0.01], 3, 2, 0, None) == 1
    # Slow tasks go out alone, and none that would end too late: two wait before it on its worker.
    assert crew.batch_size([5.0], 100, 2, 4, None) == 1
    assert crew.batch_size([5.0], 100, 2, 4, 15.1) == 1
    assert crew.batch_size([5.0], 100, 2, 4, 14.9) == 0
    assert crew.batch_size([0.01], 10_000, 2, 0, 0.5) == 50
