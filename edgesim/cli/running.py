"""What every command that runs a study shares: options, folder, progress, how it stops and fails."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from edgesim.errors import DataFileError

if TYPE_CHECKING:
    from edgesim.studies.estimate import Estimate

Progress = Callable[[int, int], None]
Command = Callable[..., Any]


def study_options(command: Command) -> Command:
    """Add the options that every command that runs a study has.

    They arrive as ``workers``, ``scheduler``, ``resume``, ``dry_run``, ``force`` and ``quiet``.
    """
    options = (
        click.option(
            "--workers", type=click.IntRange(min=1), help="Processes; by default one a core."
        ),
        click.option("--scheduler", metavar="ADDRESS", help="Use a running dask cluster instead."),
        click.option("--resume", is_flag=True, help="Go on where a run was broken off."),
        click.option(
            "--dry-run", is_flag=True, help="Tell runs, time and disk space; run nothing."
        ),
        click.option("--force", is_flag=True, help="Overwrite results that are there already."),
        click.option("--quiet", "-q", is_flag=True, help="No progress."),
    )
    for option in reversed(options):
        command = option(command)
    return command


def claim(
    folder: Path, names: Sequence[str], *, force: bool, resume: bool = False, store: str = ""
) -> bool:
    """Make sure, before any computing, that results can be written.

    Parameters
    ----------
    folder : Path
        Where results go.
    names : sequence of str
        What will be written into it.
    force : bool
        Whether to overwrite what is there.
    resume : bool, default False
        Whether to go on with what was broken off.
    store : str, optional
        Name of the store that a run which was broken off leaves behind.

    Returns
    -------
    bool
        Whether the folder is new.

    Raises
    ------
    DataFileError
        If results are there already, or the folder cannot be written.
    """
    is_new = not folder.exists()
    there = _there(folder, names)
    if there and not force:
        msg = (
            f"{folder}: holds results already ({', '.join(there)}). "
            "Name another folder with --output, or add --force to overwrite them."
        )
        raise DataFileError(msg)
    if store and (folder / store).exists() and not (force or resume):
        msg = (
            f"{folder}: holds a forecast that was broken off ({store}). "
            "Add --resume to go on with it, or --force to begin anew."
        )
        raise DataFileError(msg)
    _refuse_read_only(folder)
    return is_new


def claim_study(
    folder: Path, results: Sequence[str], stores: Sequence[str], *, force: bool, resume: bool
) -> None:
    """Do the same for a study, which may grow: resume goes on with results, force begins anew.

    Parameters
    ----------
    folder : Path
        Where results go.
    results, stores : sequence of str
        Names of files and of stores in it.
    force : bool
        Whether to remove what is there.
    resume : bool
        Whether to go on with what is there.

    Raises
    ------
    DataFileError
        If results are there already, or the folder cannot be written.
    """
    there = _there(folder, (*results, *stores))
    if there and not force and not resume:
        msg = (
            f"{folder}: holds results already ({', '.join(there)}). Add --resume to go on with them, "
            "--force to begin anew, or name another folder with --output."
        )
        raise DataFileError(msg)
    _refuse_read_only(folder)
    if force and not resume:
        from edgesim.studies.store import remove_store

        for name in stores:
            remove_store(folder / name)


def _there(folder: Path, names: Sequence[str]) -> list[str]:
    """Which of some names a folder holds already."""
    if folder.exists() and not folder.is_dir():
        msg = f"{folder}: is a file, not a folder. Name another folder with --output."
        raise DataFileError(msg)
    return [name for name in names if (folder / name).exists()]


def _refuse_read_only(folder: Path) -> None:
    """Make the folder and see whether files can be made in it."""
    probe = folder / f".probe.{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except OSError as error:
        msg = f"{folder}: cannot be written ({error.strerror}). Name a folder of your own with --output."
        raise DataFileError(msg) from error


@contextmanager
def progress(what: str, *, quiet: bool) -> Iterator[Progress | None]:
    """Show how many are done, the rate and the time left.

    Parameters
    ----------
    what : str
        What is counted, in the plural.
    quiet : bool
        Show nothing.

    Yields
    ------
    callable or None
        To be called with the number done and the number in all: it moves a bar on a
        terminal and prints a line every tenth elsewhere.
    """
    if quiet:
        yield None
        return
    rate = _Rate()
    if not sys.stderr.isatty():
        yield lambda done, total: _print_tenths(what, done, total, rate(done, total))
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Bar(*columns, TextColumn("{task.fields[rate]}"), console=Console(stderr=True)) as bar:
        task = bar.add_task(what, total=None, rate="")
        yield lambda done, total: bar.update(
            task, completed=done, total=total, rate=rate(done, total)
        )


class _Rate:
    """Rate and time left, reckoned from what was done since the first call."""

    def __init__(self) -> None:
        self.start: tuple[float, int] | None = None

    def __call__(self, done: int, total: int) -> str:
        """Put them in words; nothing before the first is done."""
        now = time.monotonic()
        if self.start is None:
            self.start = now, done
        began, before = self.start
        if done == before or now == began:
            return ""
        seconds_each = (now - began) / (done - before)
        words = f"{60.0 / seconds_each:.3g} a minute"
        return words if done == total else f"{words}, {in_time((total - done) * seconds_each)} left"


def in_time(seconds: float) -> str:
    """Seconds as people say them.

    Examples
    --------
    >>> in_time(42.0), in_time(754.0), in_time(7500.0)
    ('42 s', '13 min', '2 h 5 min')
    """
    if seconds < 90.0:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"


def _print_tenths(what: str, done: int, total: int, rate: str) -> None:
    tenth = max(1, total // 10)
    if done % tenth == 0 or done == total:
        click.echo(f"{done} of {total} {what} done" + (f", {rate}" if rate else ""), err=True)


@contextmanager
def stoppable(*stores: Path) -> Iterator[None]:
    """Let Ctrl-C and SIGTERM end a study in the same way, and say how to go on.

    Parameters
    ----------
    *stores : Path
        The stores that are kept.

    Raises
    ------
    KeyboardInterrupt
        With the last words to the user, when stopped and something was kept.
    """
    is_main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGTERM, signal.default_int_handler) if is_main else None
    try:
        yield
    except KeyboardInterrupt as stop:
        there = [store for store in stores if store.exists()]
        if not there:
            raise
        from edgesim.studies.store import read_store

        finished = [read_store(store).finished for store in there]
        msg = (
            f"Stopped. {sum(part.sum() for part in finished)} of {sum(part.size for part in finished)} runs are kept; "
            "go on with the same command and --resume."
        )
        raise KeyboardInterrupt(msg) from stop
    finally:
        if is_main:
            signal.signal(signal.SIGTERM, before)


def print_estimate(cost: Estimate, what: str, free: int, *, as_json: bool = False) -> None:
    """Print what a study would cost.

    Parameters
    ----------
    cost : Estimate
        From :func:`edgesim.studies.estimate.estimate`.
    what : str
        What a task is, in words.
    free : int
        Free room on the disk. [bytes]
    as_json : bool, default False
        For programs.
    """
    from edgesim.studies.estimate import in_words

    if as_json:
        click.echo(json.dumps({"schema": 1, **asdict(cost), "free_bytes": free}, indent=2))
        return
    click.echo(
        f"{cost.tasks} model runs ({what}), {cost.seconds_a_task:.2g} s each, the mean of {cost.measured} "
        "that were measured."
    )
    click.echo(f"About {in_time(cost.seconds)} on {cost.workers} worker(s), and start-up.")
    click.echo(f"Store: at most {in_words(cost.store_bytes)}; {in_words(free)} are free.")
    click.echo("Nothing was run or written.")


def report_failures(reasons: Sequence[str], folder: Path) -> None:
    """Say which runs failed and end with exit code 1; nothing when none did."""
    if not reasons:
        return
    for reason in reasons[:5]:
        click.echo(reason, err=True)
    more = f" (and {len(reasons) - 5} more)" if len(reasons) > 5 else ""
    click.echo(f"{len(reasons)} runs failed{more}; what was completed is in {folder}.", err=True)
    click.get_current_context().exit(1)
