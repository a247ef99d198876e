"""Inputs with a form of their own: tidal constants, water-level records, months."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime
from typing import Any

from edgesim.scenario.parameters import Parameter
from edgesim.scenario.price_book import read_book
from edgesim.scenario.reading import BAD, Reader, shown
from edgesim.scenario.site import CONSTITUENTS, Constituent
from edgesim.scenario.tables import TableError, read_gauge
from edgesim.units import KINDS

AMPLITUDE = Parameter(
    "Amplitude of the constituent", "length", at_least=0.0, example='"2.5 ft"', certain=True
)
PHASE = Parameter("Greenwich phase lag", "angle", example="phase_deg = 10.1", certain=True)


def read_constituents(reader: Reader, value: object, path: str) -> Any:
    """Read ``M2 = {amplitude = "2.5 ft", phase_deg = 10.1}`` and so on."""
    if not isinstance(value, dict):
        return reader.blame(path, shown(value), "must be a table", f"Begin it with [{path}].")
    read: dict[str, Constituent] = {}
    for name, entry in value.items():
        key = f"{path}.{name}"
        if name not in CONSTITUENTS:
            reader.choose(key, shown(entry), name, CONSTITUENTS)
            continue
        amplitude = _part(reader, entry, "amplitude", AMPLITUDE, key)
        phase = _part(reader, entry, "phase", PHASE, key)
        known = _endings("amplitude", AMPLITUDE) | _endings("phase", PHASE)
        for extra in sorted(set(entry) - set(known)) if isinstance(entry, dict) else ():
            reader.blame(
                f"{key}.{extra}",
                shown(entry[extra]),
                "is not a known key",
                "Known keys here are amplitude and phase_deg.",
            )
        if amplitude is not BAD and phase is not BAD:
            read[name] = Constituent(amplitude, phase)
    return read


def _endings(base: str, about: Parameter) -> dict[str, str]:
    """Key with and without ending -> ending."""
    return {base: "", **{f"{base}_{suffix}": suffix for suffix in KINDS[about.kind].suffixes}}


def _part(reader: Reader, entry: object, base: str, about: Parameter, key: str) -> Any:
    """One of the two numbers of a constituent."""
    endings = _endings(base, about)
    found = [name for name in endings if isinstance(entry, dict) and name in entry]
    if len(found) != 1 or not isinstance(entry, dict):
        return reader.blame(
            key, shown(entry), f"must give its {base} once",
            'Write for example {amplitude = "2.5 ft", phase_deg = 10.1}.',
        )  # fmt: skip
    value = entry[found[0]]
    return reader.quantity(about, value, endings[found[0]], f"{key}.{found[0]}", shown(value))


def read_gauge_record(reader: Reader, value: object, path: str) -> Any:
    """Read the name of a CSV file, or a record already in hours and metres."""
    origin = reader.origins[path]
    if isinstance(value, str):
        try:
            first, hours, levels = read_gauge(reader.folder / value)
        except TableError as error:
            return reader.blame(origin.key, origin.text, error.what, error.remedy)
        return {"first_time": first, "hours": hours, "levels": levels}
    if isinstance(value, dict) and set(value) == {"first_time", "hours", "level_m"}:
        hours, levels = value["hours"], value["level_m"]
        if (
            isinstance(value["first_time"], datetime)
            and _numbers(hours)
            and _numbers(levels)
            and len(hours) == len(levels) > 0
        ):
            return {
                "first_time": value["first_time"],
                "hours": tuple(hours),
                "levels": tuple(levels),
            }
    return reader.blame(
        origin.key, origin.text, "must be the name of a CSV file",
        "Give a file with the columns time_utc and level_m or level_ft.",
    )  # fmt: skip


def read_months(reader: Reader, value: object, path: str) -> Any:
    """Read twelve factors and bring their mean to 1."""
    origin = reader.origins[path]
    if (
        not isinstance(value, list)
        or not _numbers(value)
        or len(value) != 12
        or min(value) < 0.0
        or sum(value) <= 0.0
    ):
        return reader.blame(
            origin.key, origin.text, "must be a list of 12 numbers, none negative",
            "Give one factor for each month, January to December, with a mean of 1.",
        )  # fmt: skip
    mean = sum(value) / 12.0
    if abs(mean - 1.0) > 0.02:
        return reader.blame(
            origin.key, origin.text, f"must have a mean of 1, but has {mean:.3g}",
            "Divide each of the 12 factors by their mean.",
        )  # fmt: skip
    return tuple(float(factor) / mean for factor in value)


def _numbers(value: Any) -> bool:
    """Whether the value is a list of finite numbers."""
    return isinstance(value, list) and all(
        isinstance(item, int | float) and not isinstance(item, bool) and math.isfinite(item)
        for item in value
    )


OWN: dict[tuple[str, str], Callable[[Reader, object, str], Any]] = {
    ("Tide", "constituents"): read_constituents,
    ("Tide", "gauge"): read_gauge_record,
    ("BoatClass", "months"): read_months,
    ("Prices", "book"): read_book,
}
"""Reader of each input that has a form of its own."""
