"""Reads a price book: a CSV file, or rows written in the scenario; prices go to metres and kilograms."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, get_args

from edgesim.scenario.distributions import Distribution, Triangular, from_entries
from edgesim.scenario.parameters import Mark
from edgesim.scenario.reading import BAD, Origin, Reader, Tree, toml_value
from edgesim.scenario.tables import Lines, TableError, read_lines

FOOT = 0.3048
"""International foot, exact by definition. [m]"""

UNITS: dict[str, tuple[str, float]] = {
    "m": ("m", 1.0),
    "ft": ("m", FOOT),
    "m2": ("m2", 1.0),
    "ft2": ("m2", FOOT**2),
    "m3": ("m3", 1.0),
    "ft3": ("m3", FOOT**3),
    "yd3": ("m3", (3.0 * FOOT) ** 3),
    "kg": ("kg", 1.0),
    "lb": ("kg", 0.45359237),
    **{unit: (unit, 1.0) for unit in ("each", "hour", "day", "sum", "year")},
}
"""Unit in a book -> unit inside, and its size in that unit; exact by definition."""

COLUMNS = ("item", "unit", "low", "mode", "high", "currency", "year", "source", "mark")

MARKS = tuple(mark for mark in get_args(Mark) if mark)

DEFAULT_BOOK = Path(__file__).with_name("price_book.csv")


@dataclass(frozen=True)
class _Cells:
    """The cells of one row and where it stands."""

    where: str
    cells: dict[str, Any]

    def fault(self, *, column: str, what: str, remedy: str) -> TableError:
        """The error that names file, line, column and value."""
        value = self.cells.get(column, "")
        where = f'{self.where}, column {column}, value "{value}"'
        return TableError(where=where, what=what, remedy=remedy)


def read_book(reader: Reader, value: object, path: str) -> Any:
    """Read a book named by its file, or rows, and fill it up with the book of edgesim.

    Parameters
    ----------
    reader : Reader
        Takes origins and problems.
    value : object
        Name of a CSV file, or a list of rows as a resolved scenario holds them.
    path : str
        Path of the attribute.

    Returns
    -------
    list of dict
        One entry an item, in the order of edgesim's own book; `BAD` when something is wrong.
    """
    origin = reader.origins[path]
    try:
        if isinstance(value, str):
            given = _from_lines(read_lines(reader.folder / value))
        else:
            given = _from_rows(value)
    except TableError as error:
        return reader.blame(origin.key, origin.text, error.what, error.remedy)
    reader.origins[path] = replace(origin, kind="section")  # its prices are listed one by one
    _note(reader, path, given, "file")
    return [given.get(name, item) for name, item in _default_items(reader, path, given).items()]


def fill_book(reader: Reader, tree: Tree, path: str) -> None:
    """Put edgesim's own book where the file names none, and tell currencies that differ."""
    key = f"{path}.book"
    if "book" not in tree:
        tree["book"] = list(_default_items(reader, key, {}).values())
        reader.origins[key] = Origin(
            key, "the book that comes with edgesim", "default", kind="section"
        )
    levels = tree.get("index", ())
    wrong = [row for row in levels if not row[1] > 0.0] if levels is not BAD else []
    if wrong:
        year, level = wrong[0]
        reader.blame(
            f"{path}.index",
            f"{year:.0f}: {level:g}",
            "is not a level of prices above 0",
            "Give for example [[2022, 100.0], [2026, 112.0]].",
        )
    currency = tree.get("currency", "USD")
    if tree["book"] is BAD or currency is BAD:
        return
    others = [item for item in tree["book"] if item["currency"] != currency]
    if others:
        reader.blame(
            key,
            others[0]["currency"],
            f'the price of "{others[0]["name"]}" is in {others[0]["currency"]}, but {path}.currency is {currency}',
            f"Give all {len(_own_book())} prices in one currency: a book of your own with every item, or another currency.",
        )


def _default_items(reader: Reader, path: str, given: Tree) -> Tree:
    """Edgesim's own book, with origins for the items that the user does not give."""
    items = {name: dict(item) for name, item in _own_book().items()}
    left = {name: item for name, item in items.items() if name not in given}
    _note(reader, path, left, "default")
    return items


def _note(reader: Reader, path: str, items: Tree, given_by: str) -> None:
    for name, item in items.items():
        key = f"{path}[{name}].price"
        price = item["price"]
        written = price.entries() if isinstance(price, Distribution) else price
        text = f"{toml_value(written)} per {item['unit']}"
        reader.origins[key] = Origin(key, text, given_by, item["source"], item["mark"], "number")


@cache
def _own_book() -> Tree:
    return _from_lines(read_lines(DEFAULT_BOOK), known=None)


def item_names() -> tuple[str, ...]:
    """Names of everything that has a price."""
    return tuple(_own_book())


def _from_lines(lines: Lines, known: tuple[str, ...] | None = ()) -> Tree:
    missing = [name for name in COLUMNS if name not in lines.heading]
    if missing:
        raise TableError(
            where=f"{lines.name}, heading",
            what=f'has no column "{missing[0]}"',
            remedy=f"Name the columns {','.join(COLUMNS)}.",
        )
    rows = []
    for number, cells in lines.rows:
        filled = [*cells, *[""] * (len(lines.heading) - len(cells))]
        named = dict(zip(lines.heading, filled, strict=False))
        rows.append(_Cells(f"{lines.name}, line {number}", named))
    return _items(rows, item_names() if known == () else known)


def _from_rows(value: object) -> Tree:
    """Rows as a resolved scenario holds them: name, unit, price, currency, year, source, mark."""
    if not isinstance(value, list):
        raise TableError(
            what="must be the name of a CSV file",
            remedy='Write for example book = "my_prices.csv".',
        )
    rows = []
    for number, row in enumerate(value, start=1):
        if not isinstance(row, dict) or "name" not in row or "price" not in row:
            raise TableError(
                where=f"row {number}",
                what="must hold name, unit, price, currency, year, source and mark",
                remedy='Give the name of a CSV file instead, as book = "my_prices.csv".',
            )
        rows.append(_Cells(f"row {number}", {**row, "item": row["name"]}))
    return _items(rows, item_names())


def _items(rows: list[_Cells], known: tuple[str, ...] | None) -> Tree:
    found: Tree = {}
    for row in rows:
        name = str(row.cells["item"]).strip().lower()
        if known is not None and name not in known:
            raise row.fault(
                column="item",
                what="is not an item that is known",
                remedy=f"Use {', '.join(known)}.",
            )
        if name in found:
            raise row.fault(
                column="item", what="stands in the book twice", remedy="Keep one of the two lines."
            )
        found[name] = _item(name, row, _own_book()[name]["unit"] if known is not None else None)
    return found


def _item(name: str, row: _Cells, inside: str | None) -> Tree:
    """One checked item, its price per unit inside."""
    given = str(row.cells["unit"])
    allowed = [unit for unit, (target, _) in UNITS.items() if inside in (None, target)]
    if given not in allowed:
        raise row.fault(
            column="unit", what=f'is not a unit for "{name}"', remedy=f"Use {' or '.join(allowed)}."
        )
    unit, size = UNITS[given]
    mark = str(row.cells["mark"])
    if mark not in MARKS:
        raise row.fault(
            column="mark", what="is not a mark that is known", remedy=f"Use {', '.join(MARKS)}."
        )
    for column in ("currency", "source"):
        if not str(row.cells[column]).strip():
            raise row.fault(
                column=column,
                what="is empty",
                remedy="Say it, so that readers can judge the price.",
            )
    year = _number(row, "year")
    if year != int(year) or not 1900 <= year <= 2200:
        raise row.fault(
            column="year", what="is not a year", remedy="Give the year of the price, as 2026."
        )
    return {
        "name": name,
        "unit": unit,
        "price": _price(row, size),
        "currency": str(row.cells["currency"]).strip(),
        "year": int(year),
        "source": str(row.cells["source"]).strip(),
        "mark": mark,
    }


def _price(row: _Cells, size: float) -> Any:
    """Price per unit inside: one number, or low, mode and high."""
    written = row.cells.get("price")
    if isinstance(written, dict):
        try:
            return from_entries(written)
        except (ValueError, TypeError) as error:
            raise row.fault(
                column="price", what=str(error), remedy="Write {low, mode, high}."
            ) from error
    if written is not None:
        return _number(row, "price")
    low, mode, high = (_number(row, column) / size for column in ("low", "mode", "high"))
    if not low <= mode <= high:
        raise row.fault(
            column="mode",
            what="does not lie between low and high",
            remedy="Give low, mode and high in this order.",
        )
    return low if low == high else Triangular(low, mode, high)


def _number(row: _Cells, column: str) -> float:
    cell = row.cells[column]
    try:
        value = float(cell)
    except (TypeError, ValueError):
        value = math.nan
    if not math.isfinite(value) or value < 0.0 or isinstance(cell, bool):
        raise row.fault(
            column=column,
            what="is not a number of at least 0",
            remedy="Write one number, with a point for decimals.",
        )
    return value
