"""Writes a scenario back: as TOML in inside units, or as plain data for a digest."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from edgesim.scenario.distributions import Distribution
from edgesim.scenario.model import Scenario
from edgesim.scenario.parameters import Parameter, Section, parameters_of, section_class
from edgesim.scenario.reading import Tree, given_keys, labels_of, toml_key, toml_value
from edgesim.units import KINDS


def resolved_toml(tree: Tree) -> str:
    """Return the completed scenario as TOML that reads back to the same scenario."""
    return "\n".join(_table(Scenario, tree, "")).strip() + "\n"


def _table(cls: type[Section], tree: Tree, path: str) -> Iterator[str]:
    """Yield the lines of a table: its own keys first, then the tables in it."""
    later: list[tuple[str, type[Section], bool, Any]] = []
    for name, about, info in parameters_of(cls):
        value = tree.get(name)
        inner_cls, several = section_class(info)
        key = about.key or name
        if value is None or value == () or _is_derived(cls, name, tree):
            continue
        if about.kind == "own":
            yield from _own(name, value)
        elif inner_cls is not None:
            later.append((f"{path}.{key}" if path else key, inner_cls, several, value))
        else:
            yield _line(about, key, value)
    for inner_path, inner_cls, several, value in later:
        for item in value if several else [value]:
            yield ""
            yield f"[[{inner_path}]]" if several else f"[{inner_path}]"
            yield from _table(inner_cls, item, inner_path)


def _is_derived(cls: type[Section], name: str, tree: Tree) -> bool:
    """Whether the value follows from others that are written as well."""
    return cls.__name__ == "Walls" and name == "segments" and tree.get("count") is not None


def _line(about: Parameter, key: str, value: Any) -> str:
    """One key with its value in the inside unit."""
    written_key, written = _written(about, key, value)
    return f"{written_key} = {toml_value(written)}"


def _written(about: Parameter, key: str, value: Any) -> tuple[str, Any]:
    """Key and value as a file holds them, with the inside unit in the key."""
    if about.kind == "table":
        if {column.kind for column in about.columns} == {"length"}:
            return f"{key}_m", value
        names = [f"{c.name}_{KINDS[c.kind].suffix}".removesuffix("_") for c in about.columns]
        return key, [dict(zip(names, row, strict=True)) for row in value]
    written = value.entries() if isinstance(value, Distribution) else value
    return about.inside_key(key), written


def write_into(table: dict[str, Any], path: str, value: Any) -> bool:
    """Put another value into the tables of a file, in place.

    Parameters
    ----------
    table : dict
        The whole file.
    path : str
        Path of an attribute, as ``traffic.classes[cruisers].speed``.
    value : object
        Number or distribution in inside units, or a word.

    Returns
    -------
    bool
        Whether there is such an input.
    """
    cls: type[Section] = Scenario
    *heads, last = re.findall(r"[^.\[\]]+(?:\[[^\]]*\])?", path)
    for head in heads:
        name, _, label = head.removesuffix("]").partition("[")
        inner, several = (
            section_class(cls.model_fields[name]) if name in cls.model_fields else (None, False)
        )
        if inner is None:
            return False
        if several:
            items = table.get(name, [])
            if label not in labels_of(items):
                return False
            table = items[labels_of(items).index(label)]
        else:
            table = table.setdefault(name, {})
        cls = inner
    described = {name: about for name, about, _ in parameters_of(cls)}
    if last not in described or described[last].kind in ("section", "own"):
        return False
    about = described[last]
    for given in given_keys(cls, last):
        table.pop(given, None)
    key, written = _written(about, about.key or last, value)
    table[key] = written
    return True


def _own(name: str, value: Any) -> Iterator[str]:
    """Inputs with a form of their own, each on one line."""
    if name == "constituents":
        parts = {
            label: {"amplitude_m": amplitude, "phase_rad": phase}
            for label, (amplitude, phase) in value.items()
        }
        yield f"{toml_key(name)} = {toml_value(parts)}"
    elif name == "gauge":
        record = {
            "first_time": value["first_time"],
            "hours": value["hours"],
            "level_m": value["levels"],
        }
        yield f"{name} = {toml_value(record)}"
    elif name == "book":
        yield f"{name} = {toml_value(canonical(value))}"
    else:
        yield f"{name} = {toml_value(value)}"


def canonical(node: Any) -> Any:
    """Plain data with the same content: what is equal here is the same scenario."""
    if isinstance(node, Distribution):
        return node.entries()
    if isinstance(node, dict):
        return {key: canonical(value) for key, value in node.items() if value is not None}
    if isinstance(node, list | tuple):
        return [canonical(item) for item in node]
    if isinstance(node, date):
        return node.isoformat()
    return node
