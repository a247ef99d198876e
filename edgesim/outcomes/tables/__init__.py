"""The tables of the plan: name, number, and a function Dataset to :class:`Table`.

Every cell is a text, so that a document and a CSV file say the same.
"""

from __future__ import annotations

from edgesim.outcomes.tables.costs import COST_TABLES
from edgesim.outcomes.tables.forecast import FORECAST_TABLES
from edgesim.outcomes.tables.people import PEOPLE_TABLES
from edgesim.outcomes.tables.permit import PERMIT_TABLES
from edgesim.outcomes.tables.site import SITE_TABLES
from edgesim.outcomes.tables.table import (
    Column,
    Table,
    TableEntry,
    csv_text,
    make_table,
    markdown_text,
    write_csv,
)

__all__ = [
    "TABLES",
    "Column",
    "Table",
    "TableEntry",
    "csv_text",
    "make_table",
    "markdown_text",
    "write_csv",
]

_GROUPS = (SITE_TABLES, PEOPLE_TABLES, FORECAST_TABLES, COST_TABLES, PERMIT_TABLES)


def _place(entry: TableEntry) -> tuple[int, str]:
    """Place of a table by its number, variants after it."""
    digits = "".join(letter for letter in entry.number if letter.isdigit())
    return int(digits), entry.number


TABLES: dict[str, TableEntry] = dict(
    sorted(
        ((name, entry) for group in _GROUPS for name, entry in group.items()),
        key=lambda item: _place(item[1]),
    )
)
"""Name -> table, in the order of their numbers."""
