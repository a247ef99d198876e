"""The resolved scenario as rows for people: value both ways, origin, source and mark."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from edgesim.scenario.distributions import Choice, Distribution
from edgesim.scenario.loader import ScenarioFile
from edgesim.scenario.reading import Origin, labels_of, toml_value
from edgesim.scenario.run import NO_END
from edgesim.units import KINDS, both_ways


@dataclass(frozen=True)
class Row:
    """One input of a resolved scenario.

    Parameters
    ----------
    path : str
        Path of the attribute.
    value : str
        Value with its unit, both ways where there are two.
    spread : str
        Ends of its distribution; "" for a known number.
    origin : Origin
        Where it comes from.
    """

    path: str
    value: str
    spread: str
    origin: Origin

    @property
    def section(self) -> str:
        """Table of the file in which it stands; "scenario" for the top."""
        head, _, rest = self.path.replace("[", ".[").partition(".")
        return head if rest else "scenario"


def rows(scenario_file: ScenarioFile) -> list[Row]:
    """Every input of the scenario, in the order of the model."""
    return list(_rows(scenario_file.tree, "", scenario_file.origins))


def _rows(node: Any, path: str, origins: dict[str, Origin]) -> Iterator[Row]:
    if path in origins and origins[path].kind != "section":
        origin = origins[path]
        yield Row(path, _shown(node, origin.kind), _spread(node, origin.kind), origin)
    elif isinstance(node, dict):
        # A price is read with its currency and unit, which stand beside it in the book.
        per = f" {node['currency']} per {node['unit']}" if "price" in node else ""
        for name, value in node.items():
            for row in _rows(value, f"{path}.{name}" if path else name, origins):
                yield replace(row, value=row.value + per) if name == "price" else row
    elif isinstance(node, list):
        for label, value in zip(labels_of(node), node, strict=True):
            yield from _rows(value, f"{path}[{label}]", origins)


def _shown(value: Any, kind: str) -> str:
    """Value, or the middle of its distribution, as people read it."""
    middle = value.median if isinstance(value, Distribution) else value
    if middle == NO_END:
        return "no end"
    if isinstance(middle, float) and kind in KINDS:
        return both_ways(middle, kind)
    if kind == "table":
        return f"{len(value)} rows"
    if kind == "own" and isinstance(value, dict):
        return ", ".join(value) if "hours" not in value else f"{len(value['hours'])} rows"
    return middle if isinstance(middle, str) else toml_value(middle)


def _spread(value: Any, kind: str) -> str:
    """Ends of a distribution as people read them."""
    if not isinstance(value, Distribution):
        return ""
    if isinstance(value, Choice):
        return " or ".join(value.support)
    low, high = (both_ways(end, kind) for end in value.support)
    return f"{low} to {high}"


def banner(scenario_file: ScenarioFile) -> str:
    """One line that says how much of the scenario is not the user's own.

    Returns
    -------
    str
        Counts of inputs given, taken from materials and taken as defaults, the
        defaults that are judgement apart.
    """
    listed = rows(scenario_file)
    counts = Counter(row.origin.given_by for row in listed)
    judged = sum(
        row.origin.mark == "judgement" and row.origin.given_by in ("default", "material")
        for row in listed
    )
    return (
        f"{len(listed)} inputs: {counts['file'] + counts['override']} given, {counts['layout']} from "
        f"the layout, {counts['material']} from materials, {counts['default']} defaults taken; "
        f"{judged} of those not given are judgement, not measurement."
    )


def as_data(scenario_file: ScenarioFile) -> dict[str, Any]:
    """The resolved scenario as plain data for programs."""
    return {
        "schema": 1,
        "file": str(scenario_file.path),
        "digest": scenario_file.digest(),
        "banner": banner(scenario_file),
        "inputs": [
            {
                "path": row.path,
                "value": row.value,
                "spread": row.spread,
                "given_by": row.origin.given_by,
                "as_written": row.origin.text,
                "source": row.origin.source,
                "mark": row.origin.mark,
            }
            for row in rows(scenario_file)
        ],
    }
