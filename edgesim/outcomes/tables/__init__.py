"""The tables of the plan: name, number, and a function Dataset to :class:`Table`.

Every cell is a text, so that a document and a CSV file say the same.
"""

from __future__ import annotations

from edgesim.outcomes.tables.costs import COST_TABLES
from edgesim.outcomes.tables.permit import PERMIT_TABLES
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

TABLES: dict[str, TableEntry] = {**COST_TABLES, **PERMIT_TABLES}
"""Name -> table, in the order of their numbers."""
