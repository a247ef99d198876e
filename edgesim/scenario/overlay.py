"""Changes to a scenario in the words of the file itself: paths, overlays, values in any unit."""

from __future__ import annotations

import copy
import difflib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from edgesim.scenario.own_forms import OWN
from edgesim.scenario.parameters import (
    Parameter,
    Section,
    choices_of,
    parameters_of,
    section_class,
)
from edgesim.scenario.reading import BAD, Problem, Reader, allowed_keys, given_keys, labels_of


class Place(NamedTuple):
    """Where an input stands: its section, attribute, ending of the key, description, choices."""

    cls: type[Section]
    name: str
    suffix: str
    about: Parameter
    choices: tuple[str, ...]


def steps_of(path: str) -> list[str]:
    """Pieces of a path: ``a.b[c d].e`` is ``a``, ``b[c d]``, ``e``."""
    return re.findall(r"[^.\[\]]+(?:\[[^\]]*\])?", path)


def place_of(path: str) -> Place | None:
    """Find the input at a path, whatever the labels of lists; None when there is none."""
    from edgesim.scenario.model import Scenario

    cls: type[Section] = Scenario
    steps = steps_of(path)
    if not steps:
        return None
    for step in steps[:-1]:
        name = step.partition("[")[0]
        inner = section_class(cls.model_fields[name])[0] if name in cls.model_fields else None
        if inner is None:
            return None
        cls = inner
    keys = allowed_keys(cls)
    if steps[-1] not in keys:
        return None
    name, suffix, about, info = keys[steps[-1]]
    if about.kind in ("section", "own", "table"):
        return None
    return Place(cls, name, suffix, about, choices_of(info))


def nearest(path: str) -> str:
    """Paths of inputs that look like a path, for a message; "" when none does."""
    last = path.rsplit(".", 1)[-1]
    every = list(_every_path())
    near = difflib.get_close_matches(path, every, n=1, cutoff=0.6) or [
        other for other in every if other.rsplit(".", 1)[-1] == last
    ]
    return f' Did you mean "{near[0]}"?' if near else ""


def _every_path() -> Iterator[str]:
    from edgesim.scenario.model import Scenario

    def below(cls: type[Section], path: str) -> Iterator[str]:
        for name, about, info in parameters_of(cls):
            inner, several = section_class(info)
            full = f"{path}.{name}" if path else name
            if inner is not None:
                yield from below(inner, f"{full}[...]" if several else full)
            elif about.kind not in ("own", "table"):
                yield full

    return below(Scenario, "")


def put(table: dict[str, Any], path: str, value: Any) -> bool:
    """Put a value, written as in a file, at a path into the tables of a file, in place.

    Parameters
    ----------
    table : dict
        The whole file.
    path : str
        As ``design.walls.gap`` or ``traffic.classes[cruisers].speed_knots``.
    value : object
        As a file holds it: ``"8 ft"``, a number, a word or a distribution.

    Returns
    -------
    bool
        Whether there is such an input in this file.
    """
    place = place_of(path)
    if place is None:
        return False
    *heads, last = steps_of(path)
    for step in heads:
        name, _, label = step.removesuffix("]").partition("[")
        if not label:
            table = table.setdefault(name, {})
            continue
        items = table.get(name, [])
        if label not in labels_of(items):
            return False
        table = items[labels_of(items).index(label)]
    for given in given_keys(place.cls, place.name):
        table.pop(given, None)
    table[last] = value
    return True


def flattened(overlay: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Path and value of every input that the tables of an overlay name.

    A list of tables is written by the names of its tables, as
    ``traffic.classes.cruisers.speed = "8 knots"``.
    """
    from edgesim.scenario.model import Scenario

    return _flattened(overlay, Scenario, "")


def _flattened(node: Mapping[str, Any], cls: type[Section], path: str) -> Iterator[tuple[str, Any]]:
    for key, value in node.items():
        full = f"{path}.{key}" if path else key
        inner, several = (
            section_class(cls.model_fields[key]) if key in cls.model_fields else (None, False)
        )
        if inner is None or not isinstance(value, dict):
            yield full, value
        elif several:
            for label, item in value.items():
                if isinstance(item, dict):
                    yield from _flattened(item, inner, f"{full}[{label}]")
                else:
                    yield f"{full}[{label}]", item
        else:
            yield from _flattened(value, inner, full)


def overlaid(table: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Copy of the tables of a file with other values; paths that are not there are left out."""
    copied = copy.deepcopy(dict(table))
    for path, value in changes.items():
        put(copied, path, value)
    return copied


def read_value(path: str, value: Any, key: str, folder: Path) -> tuple[Any, list[Problem]]:
    """Read one value of the input at a path, as it would be read in a file.

    Parameters
    ----------
    path : str
        Path of an input that :func:`place_of` finds.
    value : object
        As a file holds it.
    key : str
        Where it stands, for messages.
    folder : Path
        Folder of the file.

    Returns
    -------
    object
        Number or distribution in the inside unit, or a word.
    list of Problem
        What is wrong with it.
    """
    place = place_of(path)
    assert place is not None, "the path was found before"
    reader = Reader(folder, OWN)
    tree = reader.section(place.cls, {steps_of(path)[-1]: value}, "")
    found = tree.get(place.name, BAD)
    problems = [Problem(key, p.text, p.what, p.remedy) for p in reader.problems]
    return (None if found is BAD else found), problems
