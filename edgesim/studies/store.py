"""The store of a study: one zarr group, one row a task, written by one process.

Each quantity is an array ``[task, ...]``; ``status`` says which rows hold a result and is
written after them, so that a row counts only when it is whole. Chunks, compression and
attributes are the same whatever the number of workers, the order of the tasks or the breaks
in between, and nothing in the store knows the time: a study that was broken off and resumed
ends with the same bytes as one that was not. zarr moves every file into place when it is
complete, so that a killed process leaves old or new bytes, never half of them.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import zarr
from numpy.typing import NDArray
from zarr.codecs import ZstdCodec
from zarr.storage import LocalStore, MemoryStore

from edgesim.errors import DataFileError
from edgesim.studies.study import Failure, Outcome, Quantity, Study, digests, identity_of

NOT_DONE, DONE, FAILED, LOST = range(4)
"""Values of ``status``; a lost task is one that a machine failed, and is tried again."""

CHUNK_BYTES = 262_144
"""Largest chunk of several tasks before compression. [bytes]"""

CHUNK_TASKS = 256
"""Most tasks in one chunk: writing one task writes its whole chunk anew."""

REASON_BYTES, INPUTS_BYTES = 600, 4000
"""Longest reason and inputs of a failed task that are kept, as UTF-8. [bytes]"""

FLUSH_SECONDS = 1.0
"""Results wait at most about this long for the next write. [s]"""

WRITING_SHARE = 0.05
"""Share of time that writing may take; results of quick tasks are gathered accordingly."""

LONGEST_PAUSE = 10.0
"""Results never wait longer, however slow the disk: a killed process loses no more than these. [s]"""

OWN = {
    "status": Quantity(
        dtype="uint8",
        attributes={
            "long_name": "state of the task",
            "flag_values": [NOT_DONE, DONE, FAILED, LOST],
            "flag_meanings": "not_done done failed lost",
        },
    ),
    "failure_kind": Quantity(("kind_byte",), (80,), "uint8"),
    "failure_reason": Quantity(("reason_byte",), (REASON_BYTES,), "uint8"),
    "failure_inputs": Quantity(("inputs_byte",), (INPUTS_BYTES,), "uint8"),
    "payload_digest": Quantity(("digest_byte",), (16,), "uint8"),
}
"""Arrays that every store has beside those of its template."""


class StudyStore:
    """Results of a study, complete or not; made by :func:`open_store` and :func:`read_store`.

    Parameters
    ----------
    group : zarr.Group
        An existing store.
    path : Path or None
        Where it is; None in memory.
    """

    def __init__(self, group: zarr.Group, path: Path | None) -> None:
        self.path = path
        attributes: dict[str, Any] = dict(group.attrs)
        self.identity: dict[str, str] = attributes["identity"]
        self._arrays = {str(name): _array(group, name) for name in attributes["quantities"]}
        self._own = {name: _array(group, name) for name in OWN}
        self.status: NDArray[np.uint8] = self._whole(self._own["status"])
        self._waiting: dict[int, Outcome] = {}
        self._written_at, self._writing_took = time.perf_counter(), 0.0

    @property
    def names(self) -> list[str]:
        """Quantities of the study."""
        return list(self._arrays)

    @property
    def done(self) -> NDArray[np.bool_]:
        """Which tasks have a result."""
        return np.asarray(self.status == DONE)

    @property
    def finished(self) -> NDArray[np.bool_]:
        """Which tasks need not be tried again: those with a result, and those that failed."""
        return np.isin(self.status, (DONE, FAILED))

    def unfinished(self) -> list[int]:
        """Tasks that remain to be done."""
        found: list[int] = np.flatnonzero(~self.finished).tolist()
        return found

    def values(self, name: str) -> NDArray[Any]:
        """One quantity of all tasks, ``[task, ...]``; not-a-number where there is no result."""
        return self._whole(self._arrays[name])

    def payload_digests(self) -> NDArray[np.uint8]:
        """Hash of the payload of every task."""
        return self._whole(self._own["payload_digest"])[: self.status.size]

    def refuse_damaged(self) -> None:
        """Read all of it once, so that a damaged file is found before the rest is computed."""
        for array in (*self._arrays.values(), *self._own.values()):
            self._whole(array)

    def attributes(self, name: str) -> dict[str, Any]:
        """What was written beside a quantity."""
        return dict(self._arrays[name].attrs)

    def dims(self, name: str) -> tuple[str, ...]:
        """Names of the axes of a quantity; the first is ``task``."""
        return tuple(str(dim) for dim in self._arrays[name].metadata.dimension_names or ())  # type: ignore[union-attr]

    def failures(self) -> list[Failure]:
        """Tasks that failed, with their reasons and inputs."""
        return [
            Failure(
                index,
                self._text("failure_kind", index),
                self._text("failure_reason", index),
                self._text("failure_inputs", index),
                lost=bool(self.status[index] == LOST),
            )
            for index in np.flatnonzero(np.isin(self.status, (FAILED, LOST))).tolist()
        ]

    def _whole(self, array: zarr.Array[Any]) -> NDArray[Any]:
        """All rows of an array, or the sentence that the store is damaged."""
        try:
            return np.asarray(array[:])
        except (OSError, ValueError, RuntimeError) as error:  # what zarr and its codecs raise
            msg = (
                f"{self.path}: is damaged and cannot be read ({array.basename}: {error}). "
                "Begin anew with --force, or name another folder with --output."
            )
            raise DataFileError(msg) from error

    def put(self, outcome: Outcome) -> None:
        """Take up the outcome of a task; it is on disk after some seconds, or :meth:`flush`."""
        self._waiting[outcome.index] = outcome
        pause = min(max(FLUSH_SECONDS, self._writing_took / WRITING_SHARE), LONGEST_PAUSE)
        if time.perf_counter() - self._written_at >= pause:
            self.flush()

    def flush(self) -> None:
        """Write what was taken up: first the results, then that they are there."""
        began = time.perf_counter()
        for rows in _runs(sorted(self._waiting)):
            self._write([self._waiting[index] for index in rows])
        self._waiting.clear()
        self._written_at = time.perf_counter()
        self._writing_took = self._written_at - began

    def _write(self, outcomes: list[Outcome]) -> None:
        """Write outcomes of neighbouring tasks."""
        rows = slice(outcomes[0].index, outcomes[-1].index + 1)
        for name, array in self._arrays.items():
            empty = np.full(array.shape[1:], array.fill_value, array.dtype)
            array[rows] = np.stack(
                [empty if o.values is None else o.values[name] for o in outcomes]
            )
        now = [_status(outcome) for outcome in outcomes]
        if any(o.failure for o in outcomes) or LOST in self.status[rows]:
            for name in ("failure_kind", "failure_reason", "failure_inputs"):
                width = OWN[name].shape[0]
                words = [
                    getattr(o.failure, name.removeprefix("failure_")) if o.failure else ""
                    for o in outcomes
                ]
                self._own[name][rows] = np.stack([_bytes(text, width) for text in words])
        self._own["status"][rows] = np.array(now, dtype=np.uint8)
        self.status[rows] = now

    def _text(self, name: str, index: int) -> str:
        return bytes(np.asarray(self._own[name][index])).rstrip(b"\0").decode(errors="ignore")


def open_store(path: Path | None, study: Study, *, resume: bool = False) -> StudyStore:
    """Make the store of a study, or take up one that was broken off.

    Parameters
    ----------
    path : Path or None
        Folder of the store; None keeps it in memory.
    study : Study
        What is computed. With more tasks than an old store holds, its first tasks must be
        those of the store, which then grows.
    resume : bool, default False
        Go on with the store that is there; where there is none, a new one is made.

    Returns
    -------
    StudyStore

    Raises
    ------
    DataFileError
        If there is a store and `resume` is false, if it is of another study or damaged, or if
        it cannot be written.
    """
    if path is None:
        return StudyStore(_create(MemoryStore(), study), None)
    if path.exists():
        if not resume:
            msg = f"{path}: is there already. Add --resume to go on with it, or --force to begin anew."
            raise DataFileError(msg)
        _sweep(path)
        store = read_store(path, writable=True)
        _refuse_another(store, study)
        store.refuse_damaged()
        return _grown(store, study)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _create(LocalStore(part), study)
        part.replace(path)
    except OSError as error:
        msg = f"{path}: cannot be written ({error.strerror or error}). Name a folder of your own."
        raise DataFileError(msg) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return read_store(path, writable=True)


def read_store(path: Path, *, writable: bool = False) -> StudyStore:
    """Open a store that exists, complete or not.

    Parameters
    ----------
    path : Path
        Folder of the store.
    writable : bool, default False
        Whether results will be added.

    Returns
    -------
    StudyStore

    Raises
    ------
    DataFileError
        If it is not the store of a study, or damaged.
    """
    return StudyStore(_group_of(path, writable=writable), path)


def left_to_do(path: Path, study: Study, *, resume: bool) -> int:
    """Tasks that a run would do: all, less what the store has when it is gone on with.

    Parameters
    ----------
    path : Path
        Folder of the store.
    study : Study
        What would be computed.
    resume : bool
        Whether to go on with the store that is there.

    Returns
    -------
    int

    Raises
    ------
    DataFileError
        If the store is that of another study.
    """
    tasks = len(study.payloads)
    if not resume or not path.exists():
        return tasks
    store = read_store(path)
    _refuse_another(store, study)
    return tasks - int(store.finished[:tasks].sum())


def remove_store(path: Path) -> None:
    """Remove a store, damaged or not, and nothing that is not one."""
    if path.exists():
        _group_of(path)
        shutil.rmtree(path)


def _group_of(path: Path, *, writable: bool = False) -> zarr.Group:
    """Open the group of a store; refuse what is not one."""
    try:
        group = zarr.open_group(path, mode="r+" if writable else "r", zarr_format=3)
        attributes: dict[str, Any] = dict(group.attrs)
        for name in (*attributes["quantities"], *OWN):
            _array(group, name)
    except (OSError, KeyError, ValueError) as error:
        msg = f"{path}: is not the store of a study. Name a folder that a study wrote."
        raise DataFileError(msg) from error
    return group


def _create(place: LocalStore | MemoryStore, study: Study) -> zarr.Group:
    group = zarr.create_group(place, zarr_format=3)
    tasks = len(study.payloads)
    for name, quantity in {**study.template, **OWN}.items():
        kind = np.dtype(quantity.dtype)
        created = group.create_array(
            name,
            shape=(tasks, *quantity.shape),
            chunks=(_chunk_tasks(quantity), *(max(1, n) for n in quantity.shape)),
            dtype=kind,
            fill_value=np.nan if kind.kind in "fc" else 0,
            compressors=ZstdCodec(level=3),
            dimension_names=("task", *quantity.dims),
            attributes=dict(quantity.attributes),
        )
        if name == "payload_digest":
            created[:] = digests(study.payloads)
    group.attrs.update({"identity": identity_of(study), "quantities": list(study.template)})
    return group


def _array(group: zarr.Group, name: str) -> zarr.Array[Any]:
    found = group[name]
    assert isinstance(found, zarr.Array)
    return found


def _chunk_tasks(quantity: Quantity) -> int:
    """Tasks in one chunk; it must not depend on how many there are, since a study may grow."""
    return int(np.clip(CHUNK_BYTES // max(1, quantity.size), 1, CHUNK_TASKS))


def _sweep(path: Path) -> None:
    """Remove what a killed process left half written beside its target."""
    for part in path.rglob("*.partial"):
        part.unlink()


def _refuse_another(store: StudyStore, study: Study) -> None:
    wanted, there = identity_of(study), store.identity
    differing = [key for key in {**there, **wanted} if wanted.get(key) != there.get(key)]
    if differing:
        pairs = [
            f"{key} {there.get(key, 'none')} there, {wanted.get(key, 'none')} now"
            for key in differing
        ]
        msg = (
            f"{store.path}: is the store of another study ({'; '.join(pairs)}). "
            "Name another folder with --output, or begin anew with --force."
        )
        raise DataFileError(msg)
    rows = store.payload_digests()
    given = digests(study.payloads)
    if len(given) < len(rows) or (given[: len(rows)] != rows).any():
        msg = (
            f"{store.path}: holds other tasks than this study ({len(rows)} there, {len(given)} now). "
            "Name another folder with --output, or begin anew with --force."
        )
        raise DataFileError(msg)


def _grown(store: StudyStore, study: Study) -> StudyStore:
    """Make room for more tasks; the status last, by which the store counts its tasks."""
    tasks = len(study.payloads)
    if tasks == store.status.size:
        return store
    own = {name: array for name, array in store._own.items() if name != "status"}
    for array in (*store._arrays.values(), *own.values(), store._own["status"]):
        array.resize((tasks, *array.shape[1:]))
        if array is own["payload_digest"]:
            array[:] = digests(study.payloads)
    assert store.path is not None
    return read_store(store.path, writable=True)


def _status(outcome: Outcome) -> int:
    if outcome.failure is None:
        return DONE
    return LOST if outcome.failure.lost else FAILED


def _bytes(text: str, width: int) -> NDArray[np.uint8]:
    """UTF-8 of a text, cut or filled up to a width."""
    return np.frombuffer(text.encode()[:width].ljust(width, b"\0"), dtype=np.uint8)


def _runs(indices: Sequence[int]) -> Iterator[list[int]]:
    """Split ascending numbers into runs of neighbours."""
    run: list[int] = []
    for index in indices:
        if run and index != run[-1] + 1:
            yield run
            run = []
        run.append(index)
    if run:
        yield run
