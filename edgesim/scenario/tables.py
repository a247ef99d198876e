"""Tables that stand in a file of their own or as rows in the scenario.

The heading of a column names its unit, as ``distance_ft`` or ``elevation_m``.
Commas and semicolons, a byte-order mark, blank lines and lines that begin
with ``#`` are all right.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from edgesim.errors import UnitError
from edgesim.scenario.parameters import Column
from edgesim.units import KINDS, parse_quantity, to_inside

Row = tuple[float, ...]


class TableError(Exception):
    """A table cannot be used; the text says which cell, what is wrong and what to do.

    Parameters
    ----------
    where : str
        File, row and column, or "" when the whole value is meant.
    what, remedy : str
        What is wrong, and what to do.
    """

    def __init__(self, *, where: str = "", what: str, remedy: str) -> None:
        self.what = f"{where}: {what}" if where else what
        self.remedy = remedy
        super().__init__(f"{self.what}. {remedy}")


@dataclass(frozen=True)
class Lines:
    """Heading and numbered rows of a file."""

    name: str
    heading: list[str]
    rows: list[tuple[int, list[str]]]


def headings(column: Column) -> dict[str, str]:
    """Every heading that a column may have, with its unit."""
    kind = KINDS[column.kind]
    return {
        f"{column.name}_{suffix}" if suffix else column.name: unit
        for suffix, unit in kind.suffixes.items()
    }


def read_table(path: Path, columns: Sequence[Column]) -> tuple[Row, ...]:
    """Read a CSV file with one numeric column for each of `columns`.

    Parameters
    ----------
    path : Path
        The file.
    columns : sequence of Column
        What is looked for; further columns are ignored.

    Returns
    -------
    tuple of tuple of float
        One row a line. [inside unit of each column]

    Raises
    ------
    TableError
        Naming file, row, column and value.
    """
    lines = read_lines(path)
    places = [_place(lines, column) for column in columns]
    rows: list[Row] = []
    for number, cells in lines.rows:
        row = tuple(
            _number(lines.name, number, lines.heading[place], cells, place, unit, column.kind)
            for column, (place, unit) in zip(columns, places, strict=True)
        )
        rows.append(row)
    return tuple(rows)


def read_gauge(path: Path) -> tuple[datetime, tuple[float, ...], tuple[float, ...]]:
    """Read a water-level record: time of the first row, hours since then, levels [m]."""
    first, hours, rows = read_record(path, (Column("level", "length", "above the vertical datum"),))
    return first, hours, tuple(level for (level,) in rows)


def read_record(
    path: Path, columns: Sequence[Column]
) -> tuple[datetime, tuple[float, ...], tuple[Row, ...]]:
    """Read rows with times: time of the first row, hours since then, and one value a column.

    Parameters
    ----------
    path : Path
        The file, with a column ``time_utc``.
    columns : sequence of Column
        What is looked for; further columns are ignored.

    Raises
    ------
    TableError
        Naming file, row, column and value.
    """
    lines = read_lines(path)
    places = [_place(lines, column) for column in columns]
    if "time_utc" not in lines.heading:
        raise TableError(
            where=f"{lines.name}, heading",
            what='has no column "time_utc"',
            remedy="Give the time of each row in UTC, for example 2027-01-01 06:00.",
        )
    time_place = lines.heading.index("time_utc")
    times = [_time(lines.name, number, cells, time_place) for number, cells in lines.rows]
    rows = tuple(
        tuple(
            _number(lines.name, number, lines.heading[place], cells, place, unit, column.kind)
            for column, (place, unit) in zip(columns, places, strict=True)
        )
        for number, cells in lines.rows
    )
    hours = tuple((time - times[0]).total_seconds() / 3600.0 for time in times)
    for (number, _), before, after in zip(lines.rows[1:], hours, hours[1:], strict=False):
        if not after > before:
            raise TableError(
                where=f"{lines.name}, row {number}, column time_utc",
                what="is not later than the row before",
                remedy="Sort the rows by time and remove doubles.",
            )
    return times[0], hours, rows


def read_surveys(path: Path) -> tuple[tuple[date, float, float], ...]:
    """Read dated positions of an edge: date, position [m] and its standard deviation [m]."""
    lines = read_lines(path)
    columns = (Column("position", "length", "landward of a mark"), Column("sd", "length", "error"))
    places = [_place(lines, column) for column in columns]
    if "date" not in lines.heading:
        raise TableError(
            where=f"{lines.name}, heading",
            what='has no column "date"',
            remedy="Give the day of each survey, for example 1994-03-01.",
        )
    day = lines.heading.index("date")
    rows = []
    for number, cells in lines.rows:
        position, error = (
            _number(lines.name, number, lines.heading[place], cells, place, unit, "length")
            for place, unit in places
        )
        text = cells[day] if day < len(cells) else ""
        rows.append((day_cell(lines.name, number, text), position, error))
    return tuple(rows)


def rows_from_file(
    value: Sequence[object], columns: Sequence[Column], unit_suffix: str
) -> tuple[Row, ...]:
    """Read rows written in the scenario file itself.

    Parameters
    ----------
    value : sequence
        Rows, each a list of cells or a table of named cells.
    columns : sequence of Column
        What each cell is.
    unit_suffix : str
        Unit of bare numbers, from the ending of the key; "" for none.

    Returns
    -------
    tuple of tuple of float
        The rows. [inside unit of each column]

    Raises
    ------
    TableError
        Naming row, column and value.
    """
    rows: list[Row] = []
    for number, row in enumerate(value, start=1):
        cells = _named_cells(number, row, columns) if isinstance(row, dict) else row
        if not isinstance(cells, list | tuple) or len(cells) != len(columns):
            names = " and ".join(column.name for column in columns)
            raise TableError(
                where=f"row {number}", what=f"must hold {names}", remedy=_row_remedy(columns)
            )
        rows.append(
            tuple(
                _cell(number, column, cell, unit_suffix)
                for column, cell in zip(columns, cells, strict=True)
            )
        )
    if not rows:
        raise TableError(what="must hold at least one row", remedy=_row_remedy(columns))
    return tuple(rows)


def _row_remedy(columns: Sequence[Column]) -> str:
    cells = ", ".join(f'"{KINDS[column.kind].example}"' for column in columns)
    return f"Write rows such as [{cells}]."


def _named_cells(number: int, row: dict[str, object], columns: Sequence[Column]) -> list[object]:
    """Cells of a row given as a table, as quantities with their unit."""
    cells: list[object] = []
    left = dict(row)
    for column in columns:
        names = {column.name: "", **headings(column)}
        found = [name for name in names if name in left]
        if len(found) != 1:
            raise TableError(
                where=f"row {number}",
                what=f'must hold "{column.name}" once',
                remedy=f"Give the {column.name} {column.meaning}, for example "
                f'{column.name} = "{KINDS[column.kind].example}".',
            )
        cell = left.pop(found[0])
        if names[found[0]] and isinstance(cell, int | float) and not isinstance(cell, bool):
            cell = to_inside(float(cell), names[found[0]], column.kind)
            cell = _Inside(cell)
        cells.append(cell)
    if left:
        known = ", ".join(column.name for column in columns)
        raise TableError(
            where=f"row {number}",
            what=f'has an unknown key "{next(iter(left))}"',
            remedy=f"Use {known}.",
        )
    return cells


class _Inside(float):
    """A number that is in the inside unit already."""


def _cell(number: int, column: Column, cell: object, unit_suffix: str) -> float:
    """One cell of an inline row in the inside unit."""
    kind = KINDS[column.kind]
    where = f"row {number}, {column.name} = {cell!r}"
    try:
        if isinstance(cell, _Inside):
            value = float(cell)
        elif isinstance(cell, str):
            value = parse_quantity(cell, column.kind)
        elif isinstance(cell, bool) or not isinstance(cell, int | float):
            msg = "is not a number"
            raise UnitError(msg)  # noqa: TRY301
        elif unit_suffix in kind.suffixes:
            value = to_inside(float(cell), kind.suffixes[unit_suffix], column.kind)
        elif kind.bare:
            value = float(cell)
        else:
            msg = "has no unit"
            raise UnitError(msg)  # noqa: TRY301
    except UnitError as error:
        raise TableError(
            where=where, what=str(error), remedy=f'Give {kind.name}, for example "{kind.example}".'
        ) from error
    if not math.isfinite(value):
        raise TableError(
            where=where, what="is not a finite number", remedy="Give a measured value."
        )
    return value


def read_lines(path: Path) -> Lines:
    """Heading and rows of a file, each row with its line number."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise TableError(
            what=f'the file "{path}" does not exist',
            remedy="Correct the name; it is looked for beside the scenario file.",
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise TableError(
            what=f'the file "{path}" cannot be read as text', remedy="Save it as CSV in UTF-8."
        ) from error
    kept = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip(" \t;,") and not line.lstrip().startswith("#")
    ]
    if not kept:
        raise TableError(
            what=f'the file "{path}" is empty', remedy="Give a heading line and at least one row."
        )
    separator = ";" if ";" in kept[0][1] else ","
    cells = [
        (number, [cell.strip() for cell in next(csv.reader([line], delimiter=separator))])
        for number, line in kept
    ]
    if len(cells) == 1:
        raise TableError(
            what=f'the file "{path}" has a heading but no rows', remedy="Give at least one row."
        )
    return Lines(path.name, [name.lower() for name in cells[0][1]], cells[1:])


def _place(lines: Lines, column: Column) -> tuple[int, str]:
    """Where a column stands, and its unit."""
    allowed = headings(column)
    for place, name in enumerate(lines.heading):
        if name in allowed:
            return place, allowed[name]
    shown = " or ".join(list(allowed)[:2])
    raise TableError(
        where=f"{lines.name}, heading",
        what=f"has no column for {column.name}",
        remedy=f"Name a column {shown}: {column.name} {column.meaning}.",
    )


def _number(
    name: str, number: int, heading: str, cells: list[str], place: int, unit: str, kind: str
) -> float:
    text = cells[place] if place < len(cells) else ""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise TableError(
            where=f'{name}, row {number}, column {heading}, value "{text}"',
            what="is not a number",
            remedy="Write one number in each cell, with a point for decimals.",
        )
    return to_inside(value, unit, kind)


def day_cell(name: str, number: int, text: str) -> date:
    """Date of a cell in the column ``date`` of a row of a file."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise TableError(
            where=f'{name}, row {number}, column date, value "{text}"',
            what="is not a date",
            remedy="Write dates as 1994-03-01.",
        ) from error


def _time(name: str, number: int, cells: list[str], place: int) -> datetime:
    text = cells[place] if place < len(cells) else ""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise TableError(
            where=f'{name}, row {number}, column time_utc, value "{text}"',
            what="is not a time",
            remedy="Write times as 2027-01-01 06:00, in UTC.",
        ) from error
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
