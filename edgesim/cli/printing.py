"""Prints tables on the terminal, or as JSON for programs."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from edgesim.outcomes.comparison import DesignRow
    from edgesim.outcomes.tables import Table

WIDTH = 180
"""Width of tables where the output is not a terminal. [characters]"""

STUDY_WIDTH = 150
"""The same for comparisons and studies. [characters]"""


def print_table(table: Table, leave_out: tuple[str, ...] = ()) -> None:
    """Print a table without the columns named, and its note under it."""
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table as Shown

    console = Console(highlight=False)
    if not sys.stdout.isatty():
        console = Console(width=WIDTH, highlight=False)
    shown = Shown(title=f"\n{table.title}", title_justify="left", box=None, pad_edge=False)
    kept = [place for place, name in enumerate(table.headings) if name not in leave_out]
    for place in kept:
        shown.add_column(escape(table.headings[place]), overflow="fold")
    for row in table.rows:
        shown.add_row(*[escape(row[place]) for place in kept])
    console.print(shown)
    click.echo(f"\n{table.note}", err=True)


def table_data(table: Table) -> dict[str, Any]:
    """A table as plain data: one mapping of heading to text a row."""
    return {
        "title": table.title,
        "rows": [dict(zip(table.headings, row, strict=True)) for row in table.rows],
        "note": table.note,
    }


def console() -> Any:
    """Where tables go: wide when it is no terminal."""
    from rich.console import Console

    made = Console(highlight=False)
    return made if made.is_terminal else Console(width=STUDY_WIDTH, highlight=False)


def band(row: DesignRow | Any, factor: float = 1.0) -> str:
    """Median, (50 % band) and [90 % band] of a row."""
    values = [getattr(row, name) * factor for name in ("p05", "p25", "p50", "p75", "p95")]
    p05, p25, p50, p75, p95 = (figure(value) for value in values)
    return f"{p50} ({p25}..{p75}) [{p05}..{p95}]"


def both_units(unit: str) -> list[tuple[str, float]]:
    """A unit for people and its number in one unit of the file; then the customary one if there is any.

    Examples
    --------
    >>> both_units("1"), both_units("USD m-2")
    ([('1', 1.0)], [('USD per m2', 1.0), ('USD per ft2', 0.09290304)])
    """
    from edgesim.outcomes.summary import ENGLISH_UNITS, METRES_PER_FOOT

    money, space, measure = unit.rpartition(" ")
    other = {**ENGLISH_UNITS, "m-1": ("ft-1", METRES_PER_FOOT)}.get(measure)
    found = [(unit, 1.0)] + ([(f"{money}{space}{other[0]}", other[1])] if other else [])
    return [(re.sub(r"(m|ft)-([12])", _per, name), factor) for name, factor in found]


def _per(found: re.Match[str]) -> str:
    return f"per {found[1]}{found[2].replace('1', '')}"


def figure(value: float) -> str:
    """A number for people: no decimals from 100 on."""
    if value != value or value in (float("inf"), float("-inf")):
        return {True: "none"}.get(value != value, "inf" if value > 0 else "-inf")
    return f"{value:,.0f}" if abs(value) >= 100.0 else f"{value:.2f}"
