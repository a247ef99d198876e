"""What a study will cost, before it is run: model runs, time and room on the disk."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from edgesim.errors import DataFileError
from edgesim.studies.study import Study, conform

ROW_BYTES = 64
"""What the store keeps of a task beside its results. [bytes]"""

FREE_SHARE = 0.95
"""Share of the free room that a store may take."""

MOST_MEASURED, MEASURING_SECONDS = 32, 10.0
"""Tasks that are measured at most, and the time after which no further one is begun. [1], [s]"""


@dataclass(frozen=True)
class Estimate:
    """The cost of a study.

    Attributes
    ----------
    tasks : int
        Tasks that remain to be done.
    seconds_a_task : float
        Mean of those measured in this process, when everything is compiled. [s]
    measured : int
        Tasks that were measured.
    workers : int
        Worker processes that the time is reckoned for.
    seconds : float
        Time for all tasks on the workers, without start-up. [s]
    store_bytes : int
        Largest size of the store: its size before compression. [bytes]
    """

    tasks: int
    seconds_a_task: float
    measured: int
    workers: int
    seconds: float
    store_bytes: int


def estimate(study: Study, workers: int | None = None, tasks: int | None = None) -> Estimate:
    """Measure a few tasks and reckon the cost of all.

    Parameters
    ----------
    study : Study
        What would be computed.
    workers : int, optional
        Worker processes; by default one for each core.
    tasks : int, optional
        Tasks that remain to be done; by default all of them.

    Returns
    -------
    Estimate

    Raises
    ------
    Exception
        Whatever a measured task raises.
    """
    number = len(study.payloads) if tasks is None else tasks
    conform(study.function(study.shared, study.payloads[0]), study.template)
    measured, seconds = 0, 0.0
    # Neighbours share weather and tables with each other, as they do in the study itself; those of
    # its middle stand for all.
    middle = len(study.payloads) // 2
    for payload in study.payloads[middle : middle + MOST_MEASURED]:
        began = time.perf_counter()
        conform(study.function(study.shared, payload), study.template)
        seconds += time.perf_counter() - began
        measured += 1
        if seconds > MEASURING_SECONDS:
            break
    cores = min(workers or os.cpu_count() or 1, max(number, 1))
    a_task = seconds / measured
    return Estimate(
        number, a_task, measured, cores, -(-number // cores) * a_task, store_bytes(study)
    )


def store_bytes(study: Study) -> int:
    """Size of a study's store before compression. [bytes]."""
    row = sum(quantity.size for quantity in study.template.values())
    return len(study.payloads) * (row + ROW_BYTES)


def free_bytes(path: Path) -> int:
    """Free room on the disk where a path is or would be. [bytes]."""
    there = next(folder for folder in (path, *path.absolute().parents) if folder.exists())
    return shutil.disk_usage(there).free


def check_disk(study: Study, path: Path, free: Callable[[Path], int] = free_bytes) -> None:
    """Refuse a study whose store may not fit on the disk.

    Parameters
    ----------
    study : Study
        What would be computed.
    path : Path
        Folder of its store.
    free : callable, optional
        Gives the free room at a path. [bytes]

    Raises
    ------
    DataFileError
        If the store may be larger than what is free.
    """
    needed, room = store_bytes(study), free(path)
    if needed > FREE_SHARE * room:
        msg = (
            f"{path}: the store of {len(study.payloads)} tasks may take {in_words(needed)}, and only "
            f"{in_words(room)} are free there. Name a folder on another disk with --output, or do fewer runs."
        )
        raise DataFileError(msg)


def in_words(size: int) -> str:
    """Bytes as people write them.

    Examples
    --------
    >>> in_words(950), in_words(12_345_678)
    ('950 B', '12 MB')
    """
    number, unit = float(size), "B"
    for larger in ("kB", "MB", "GB", "TB"):
        if number < 1000.0:
            break
        number, unit = number / 1000.0, larger
    return f"{number:.1f} {unit}" if number < 10.0 and unit != "B" else f"{number:.0f} {unit}"
