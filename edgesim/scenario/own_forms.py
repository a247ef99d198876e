"""Inputs with a form of their own: tidal constants, water-level records, surveys, months."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime
from itertools import pairwise
from typing import Any

from edgesim.scenario.parameters import Column, Parameter
from edgesim.scenario.price_book import read_book
from edgesim.scenario.reading import BAD, Reader, shown
from edgesim.scenario.site import CONSTITUENTS, Constituent, Survey
from edgesim.scenario.tables import TableError, read_gauge, read_record, read_surveys
from edgesim.units import KINDS

AMPLITUDE = Parameter(
    "Amplitude of the constituent", "length", at_least=0.0, example='"2.5 ft"', certain=True
)
POSITION = Parameter("Position of the edge", "length", example='"39 ft"', certain=True)
POSITION_SD = Parameter(
    "Error of the position", "length", above=0.0, example='"3 ft"', certain=True
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
            'Write for example {amplitude = "2.5 ft", phase_deg = 10.1}.'
            if about in (AMPLITUDE, PHASE)
            else 'Write for example {date = 1994-03-01, position = "0 ft", sd = "10 ft"}.',
        )  # fmt: skip
    value = entry[found[0]]
    return reader.quantity(about, value, endings[found[0]], f"{key}.{found[0]}", shown(value))


def read_history(reader: Reader, value: object, path: str) -> Any:
    """Read the name of a CSV file of surveys, or surveys written as tables."""
    origin = reader.origins[path]
    if isinstance(value, str):
        try:
            surveys = [Survey(*row) for row in read_surveys(reader.folder / value)]
        except TableError as error:
            return reader.blame(origin.key, origin.text, error.what, error.remedy)
    elif isinstance(value, list):
        found = [
            _survey(reader, entry, f"{path}[{number}]") for number, entry in enumerate(value, 1)
        ]
        if any(survey is BAD for survey in found):
            return BAD
        surveys = found
    else:
        surveys = []
    if len(surveys) < 2 or any(not after.day > before.day for before, after in pairwise(surveys)):
        return reader.blame(
            origin.key, origin.text, "must hold at least two surveys, each later than the one before",
            'Write rows such as {date = 1994-03-01, position = "0 ft", sd = "10 ft"}, or give site.retreat_rate instead.',
        )  # fmt: skip
    if any(not survey.sd > 0.0 for survey in surveys):
        return reader.blame(
            origin.key, origin.text, "has a survey without error",
            "Give in sd how far the position may be wrong, for stakes a few centimetres.",
        )  # fmt: skip
    return tuple(surveys)


def _survey(reader: Reader, entry: object, key: str) -> Any:
    """One row of the site's history."""
    day = entry.get("date") if isinstance(entry, dict) else None
    if not isinstance(day, date) or isinstance(day, datetime):
        return reader.blame(
            key, shown(entry), "must give its date", "Write the date without quotes, as date = 1994-03-01."
        )  # fmt: skip
    position = _part(reader, entry, "position", POSITION, key)
    error = _part(reader, entry, "sd", POSITION_SD, key)
    return BAD if position is BAD or error is BAD else Survey(day, position, error)


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


WIND_COLUMNS = (
    Column("speed", "speed", "at 10 m height"),
    Column("direction", "angle", "from which the wind blows, clockwise from north"),
)


def read_wind_record(reader: Reader, value: object, path: str) -> Any:
    """Read the name of a CSV file, or a record already in hours, m/s and radians."""
    origin = reader.origins[path]
    names = ("hours", "speeds", "directions")
    if isinstance(value, str):
        try:
            first, hours, rows = read_record(reader.folder / value, WIND_COLUMNS)
        except TableError as error:
            return reader.blame(origin.key, origin.text, error.what, error.remedy)
        speeds, directions = zip(*rows, strict=True)
        if min(speeds) < 0.0:
            return reader.blame(
                origin.key, origin.text, "has a negative speed", "Give speeds of 0 or more."
            )
        columns = dict(zip(names, (hours, speeds, directions), strict=True))
        return {"first_time": first, **columns}
    if isinstance(value, dict) and set(value) == {"first_time", *names}:
        lists = [value[name] for name in names]
        alike = all(_numbers(one) and len(one) == len(lists[0]) > 0 for one in lists)
        if isinstance(value["first_time"], datetime) and alike:
            columns = dict(zip(names, map(tuple, lists), strict=True))
            return {"first_time": value["first_time"], **columns}
    return reader.blame(
        origin.key, origin.text, "must be the name of a CSV file",
        "Give a file with the columns time_utc, speed_knots and direction_deg.",
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


def read_named_tables(reader: Reader, value: object, path: str) -> Any:
    """Read a list of tables, each with a name of its own; what they say is checked with the whole."""
    if (
        not isinstance(value, list | tuple)
        or not value
        or not all(isinstance(item, dict) for item in value)
    ):
        return reader.blame(
            path, shown(value), "must be a list of tables", f"Begin each with [[{path}]]."
        )
    labels = [item.get("name") for item in value]
    for number, label in enumerate(labels, start=1):
        if not isinstance(label, str) or not label.strip():
            return reader.blame(
                f"{path}, table {number}", "", "has no name", 'Add for example name = "wide gaps".'
            )
    for double in sorted({label for label in labels if labels.count(label) > 1}):
        return reader.blame(
            path, f'"{double}"', "is the name of more than one table", "Give each its own name."
        )
    return tuple(value)


def read_one_table(reader: Reader, value: object, path: str) -> Any:
    """Read a table whose contents are checked with the whole."""
    if not isinstance(value, dict):
        return reader.blame(path, shown(value), "must be a table", f"Begin it with [{path}].")
    return value


def _numbers(value: Any) -> bool:
    """Whether the value is a list of finite numbers."""
    return isinstance(value, list) and all(
        isinstance(item, int | float) and not isinstance(item, bool) and math.isfinite(item)
        for item in value
    )


OWN: dict[tuple[str, str], Callable[[Reader, object, str], Any]] = {
    ("Tide", "constituents"): read_constituents,
    ("Tide", "gauge"): read_gauge_record,
    ("Wind", "hourly"): read_wind_record,
    ("BoatClass", "months"): read_months,
    ("Site", "history"): read_history,
    ("Prices", "book"): read_book,
    ("Goals", "targets"): read_named_tables,
    ("Scenario", "designs"): read_named_tables,
    ("Scenario", "beliefs"): read_named_tables,
    ("Scenario", "study"): read_one_table,
}
"""Reader of each input that has a form of its own."""
