"""What a study computes: one function, what all its tasks share, and the tasks themselves."""

from __future__ import annotations

import hashlib
import inspect
import json
import math
import time
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

import edgesim
from edgesim import __version__
from edgesim.errors import EdgesimError, InvalidParameterError
from edgesim.kernels import source_fingerprint

Values = dict[str, NDArray[Any]]


@dataclass(frozen=True)
class Quantity:
    """One array that every task gives, as the store keeps it.

    Attributes
    ----------
    dims : tuple of str
        Names of its axes; the store puts the axis ``task`` before them.
    shape : tuple of int
        Lengths of those axes; a plain number has none.
    dtype : str
        A numpy type; what was not computed is not-a-number, or 0 where the type has none.
    attributes : mapping
        Written beside the array: ``units``, ``long_name`` and the like.
    """

    dims: tuple[str, ...] = ()
    shape: tuple[int, ...] = ()
    dtype: str = "float64"
    attributes: Mapping[str, Any] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """Bytes of one task before compression."""
        return math.prod(self.shape) * np.dtype(self.dtype).itemsize


@dataclass(frozen=True)
class Study:
    """Tasks that are independent of each other, and the one function that does them.

    A study is described in full before it is run, so that it can be estimated,
    run on any number of workers, broken off and taken up again.

    Attributes
    ----------
    identity : mapping of str to str
        What makes it this study: kind, scenario digest, seed, ... A store made under another
        identity is refused. The version of the code is added by :func:`identity_of`.
    function : callable
        ``function(shared, payload)`` gives one value or array for each name of the template.
        It stands at the top level of a module, so that other processes find it; it must not
        depend on anything but its arguments. An exception makes its task a failed one.
    shared : object
        Scenario, layouts, tables: sent once to every worker; must be picklable.
    payloads : sequence
        What is special to each task: numbers, words, lists and tables of them (as in JSON).
        A task is known by its place in this list.
    template : mapping of str to Quantity
        What `function` gives. See :func:`template_of`.
    rehearsal : callable, optional
        ``rehearsal(shared, part, parts)`` compiles one part of what `function` calls; new workers
        of this machine do a part each before the first task.

    Examples
    --------
    >>> def area(shared, payload):
    ...     return {"area": shared["width"] * payload["length"]}
    >>> study = Study(
    ...     identity={"kind": "areas"},
    ...     function=area,
    ...     shared={"width": 2.0},
    ...     payloads=[{"length": float(n)} for n in range(3)],
    ...     template={"area": Quantity(attributes={"units": "m2"})},
    ... )
    >>> from edgesim.studies.runner import run_tasks
    >>> store = run_tasks(study, None, workers=1)  # None: kept in memory
    >>> store.values("area").tolist()
    [0.0, 2.0, 4.0]
    """

    identity: Mapping[str, str]
    function: Callable[[Any, Any], Mapping[str, Any]]
    shared: Any
    payloads: Sequence[Any]
    template: Mapping[str, Quantity]
    rehearsal: Callable[[Any, int, int], None] | None = None


@dataclass(frozen=True)
class Failure:
    """A task that gave no result.

    Attributes
    ----------
    index : int
        Place of the task in the list.
    kind : str
        Name of the error's class.
    reason : str
        What the error said.
    inputs : str
        The task's payload as JSON.
    lost : bool
        Whether the machine failed (memory, a dying process) rather than the task: such a task
        is tried again when the study is resumed.
    """

    index: int
    kind: str
    reason: str
    inputs: str
    lost: bool = False


@dataclass(frozen=True)
class Outcome:
    """What became of one task: its values or its failure, and the seconds that it took."""

    index: int
    values: Values | None
    failure: Failure | None
    seconds: float


def identity_of(study: Study) -> dict[str, str]:
    """Everything that two studies must have in common to share a store, but for the tasks."""
    names = json.dumps({name: _row(q) for name, q in study.template.items()}, sort_keys=True)
    function = study.function
    return {
        **{key: str(value) for key, value in sorted(study.identity.items())},
        "function": f"{function.__module__}.{function.__qualname__}",
        "quantities": hashlib.sha256(names.encode()).hexdigest()[:16],
        "code": code_version(function),
    }


def code_version(function: Callable[..., Any] | None = None) -> str:
    """Version of edgesim and hash of the sources that decide results, a function's own among them."""
    sources = set((Path(edgesim.__file__).parent / "outcomes").glob("*.py"))
    # A function typed at a prompt has no file.
    if function is not None and (own := Path(inspect.getfile(function))).is_file():
        sources.add(own)
    digest = hashlib.sha256()
    for path in sorted(sources, key=lambda path: path.name):
        digest.update(path.read_bytes())
    return f"{__version__} {source_fingerprint()} {digest.hexdigest()[:8]}"


def _row(quantity: Quantity) -> list[Any]:
    return [list(quantity.dims), list(quantity.shape), quantity.dtype, dict(quantity.attributes)]


def as_json(payload: Any) -> str:
    """Write a payload in the one way that its content allows.

    Raises
    ------
    InvalidParameterError
        If it holds something else than numbers, words, lists and tables of them.
    """
    try:
        return json.dumps(payload, sort_keys=True, separators=(",", ":"), default=_plain)
    except (TypeError, ValueError) as error:
        msg = (
            f"payloads must hold numbers, words, lists and tables only; got {payload!r} ({error})."
        )
        raise InvalidParameterError(msg) from error


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    msg = f"{type(value).__name__} cannot be written"
    raise TypeError(msg)


def digests(payloads: Sequence[Any]) -> NDArray[np.uint8]:
    """Hash of every payload, 16 bytes each."""
    rows = [hashlib.sha256(as_json(payload).encode()).digest()[:16] for payload in payloads]
    return np.frombuffer(b"".join(rows), dtype=np.uint8).reshape(len(rows), 16)


def template_of(
    result: Mapping[str, Any],
    dims: Mapping[str, tuple[str, ...]] | None = None,
    attributes: Mapping[str, Mapping[str, Any]] | None = None,
) -> dict[str, Quantity]:
    """Make the template from what one task gave.

    Parameters
    ----------
    result : mapping of str to number or ndarray
        Result of one task.
    dims : mapping, optional
        Names of the axes of the arrays; by default the array's name and a number.
    attributes : mapping, optional
        Units and the like of each array.

    Returns
    -------
    dict of str to Quantity
    """
    found = {}
    for name, value in result.items():
        array = np.asarray(value)
        axes = (dims or {}).get(name, tuple(f"{name}_{axis}" for axis in range(array.ndim)))
        found[name] = Quantity(
            axes, array.shape, array.dtype.name, (attributes or {}).get(name, {})
        )
    return found


def conform(result: Mapping[str, Any], template: Mapping[str, Quantity]) -> Values:
    """Turn a result into arrays of the template, or say what does not fit."""
    if set(result) != set(template):
        missing, extra = sorted(set(template) - set(result)), sorted(set(result) - set(template))
        msg = (
            f"a task must give the quantities of the template; missing {missing}, unknown {extra}."
        )
        raise InvalidParameterError(msg)
    arrays = {name: np.asarray(result[name], dtype=q.dtype) for name, q in template.items()}
    for name, quantity in template.items():
        if arrays[name].shape != quantity.shape:
            msg = f"{name} must have the shape {quantity.shape}; got {arrays[name].shape}."
            raise InvalidParameterError(msg)
    return arrays


def failure_of(index: int, error: Exception, payload: Any) -> Failure:
    """Describe an error that ended a task, in words that do not depend on the machine."""
    reason = str(error)
    if not isinstance(error, EdgesimError):
        # An error of the program, not of the scenario: say where it arose.
        frame = traceback.extract_tb(error.__traceback__)[-1]
        reason = f"{reason} (raised in {frame.name}, {Path(frame.filename).name})"
    kind = type(error).__name__
    return Failure(index, kind, reason, as_json(payload), lost=isinstance(error, MemoryError))


def attempt(study: Study, index: int, payload: Any) -> Outcome:
    """Do one task; an error becomes its failure."""
    began = time.perf_counter()
    try:
        values = conform(study.function(study.shared, payload), study.template)
    except Exception as error:  # noqa: BLE001  (whatever a task raises is the end of that task only)
        return Outcome(index, None, failure_of(index, error, payload), time.perf_counter() - began)
    return Outcome(index, values, None, time.perf_counter() - began)
