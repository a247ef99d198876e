"""What the commands for comparisons and studies share: folders, tables, failures."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from edgesim.errors import DataFileError

if TYPE_CHECKING:
    from edgesim.outcomes.comparison import DesignRow

WIDTH = 150
"""Width of tables where the output is not a terminal. [characters]"""


def claim(
    folder: Path, results: Sequence[str], stores: Sequence[str], *, force: bool, resume: bool
) -> None:
    """Make sure, before any computing, that results can be written; with force, begin anew.

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
    if folder.exists() and not folder.is_dir():
        msg = f"{folder}: is a file, not a folder. Name another folder with --output."
        raise DataFileError(msg)
    there = [name for name in (*results, *stores) if (folder / name).exists()]
    if there and not force and not resume:
        msg = (
            f"{folder}: holds results already ({', '.join(there)}). Add --resume to go on with them, "
            "--force to begin anew, or name another folder with --output."
        )
        raise DataFileError(msg)
    probe = folder / f".probe.{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except OSError as error:
        msg = f"{folder}: cannot be written ({error.strerror}). Name a folder of your own with --output."
        raise DataFileError(msg) from error
    if force and not resume:
        from edgesim.studies.store import remove_store

        for name in stores:
            remove_store(folder / name)


def console() -> Any:
    """Where tables go: wide when it is no terminal."""
    from rich.console import Console

    made = Console(highlight=False)
    return made if made.is_terminal else Console(width=WIDTH, highlight=False)


def band(row: DesignRow | Any, factor: float = 1.0) -> str:
    """Median, (50 % band) and [90 % band] of a row."""
    values = [getattr(row, name) * factor for name in ("p05", "p25", "p50", "p75", "p95")]
    p05, p25, p50, p75, p95 = (figure(value) for value in values)
    return f"{p50} ({p25}..{p75}) [{p05}..{p95}]"


def figure(value: float) -> str:
    """A number for people: no decimals from 100 on."""
    if value != value or value in (float("inf"), float("-inf")):
        return {True: "none"}.get(value != value, "inf" if value > 0 else "-inf")
    return f"{value:,.0f}" if abs(value) >= 100.0 else f"{value:.2f}"


def report_failures(reasons: Sequence[str], folder: Path) -> None:
    """Say which runs failed and end with exit code 1; nothing when none did."""
    if not reasons:
        return
    for reason in reasons[:5]:
        click.echo(reason, err=True)
    more = f" (and {len(reasons) - 5} more)" if len(reasons) > 5 else ""
    click.echo(f"{len(reasons)} runs failed{more}; what was completed is in {folder}.", err=True)
    click.get_current_context().exit(1)
