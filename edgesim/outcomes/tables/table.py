"""A plain table: what a document shows and what its CSV holds are the same texts."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import xarray as xr

from edgesim.errors import InvalidParameterError
from edgesim.outcomes.dataset import replacing
from edgesim.outcomes.needs import Need, why_missing


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, and its unit where its cells are numbers of one unit."""

    name: str
    unit: str = ""

    @property
    def heading(self) -> str:
        """Name with unit, as documents and CSV files write it."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, slots=True)
class Table:
    """A table ready to be shown.

    Attributes
    ----------
    title : str
        Plain words, without number and full stop.
    columns : tuple of Column
        One or more.
    rows : tuple of tuple of str
        One text a column; numbers are written out already, missing ones are "".
    note : str
        Small print under the table: sample size, version, datum, marks; may be "".
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse rows that do not fit the columns."""
        wrong = [row for row in self.rows if len(row) != len(self.columns)]
        if wrong or not self.columns:
            msg = (
                f"rows must have one cell for each of {len(self.columns)} columns; got {wrong[:1]}."
            )
            raise InvalidParameterError(msg)

    @property
    def headings(self) -> tuple[str, ...]:
        """Headings of the columns."""
        return tuple(column.heading for column in self.columns)


class TableEntry(NamedTuple):
    """A table of the plan: number, short title for lists, what builds it, what it needs."""

    number: str
    title: str
    build: Callable[[xr.Dataset], Table]
    needs: tuple[Need, ...] = ()

    def missing(self, dataset: xr.Dataset) -> str:
        """Say why the table cannot be built and how to provide what it needs; "" when it can."""
        return why_missing(dataset, self.needs)


def make_table(
    title: str, headings: Sequence[str | Column], rows: Sequence[Sequence[str]], note: str = ""
) -> Table:
    """Make a table from plain words and lists.

    Parameters
    ----------
    title, note : str
        See :class:`Table`.
    headings : sequence of str or Column
        A text stands for a column without a unit.
    rows : sequence of sequence of str
        Cells.

    Returns
    -------
    Table
    """
    columns = tuple(Column(head) if isinstance(head, str) else head for head in headings)
    return Table(title, columns, tuple(tuple(row) for row in rows), note)


def csv_text(table: Table) -> str:
    """Write a table as CSV: the headings, then the rows, as they are shown.

    Examples
    --------
    >>> print(csv_text(make_table("Walls", [Column("length", "m")], [["4.9"]])), end="")
    length (m)
    4.9
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(table.headings)
    writer.writerows(table.rows)
    return stream.getvalue()


def markdown_text(table: Table) -> str:
    """Write a table with its title and note as Markdown.

    Examples
    --------
    >>> print(markdown_text(make_table("Walls", ["part", "count"], [["post", "14"]])))
    **Walls**
    <BLANKLINE>
    | part | count |
    | --- | --- |
    | post | 14 |
    <BLANKLINE>
    """

    def line(cells: Sequence[str]) -> str:
        safe = (cell.replace("|", "\\|").replace("\n", " ") for cell in cells)
        return f"| {' | '.join(safe)} |"

    head = [f"**{table.title}**", "", line(table.headings), line(["---"] * len(table.columns))]
    foot = ["", *([table.note, ""] if table.note else [])]
    return "\n".join([*head, *map(line, table.rows), *foot])


def write_csv(table: Table, path: str | Path) -> None:
    """Write a table as a CSV file, replaced only when the new one is complete.

    Parameters
    ----------
    table : Table
        The table.
    path : str or Path
        Target.
    """
    with replacing(Path(path)) as temporary:
        temporary.write_text(csv_text(table), encoding="utf-8")
