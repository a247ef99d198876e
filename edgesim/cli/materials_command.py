"""`edgesim materials`: list what walls and reef can be made of."""

from __future__ import annotations

import json

import click

WIDTH = 150
"""Width of tables where the output is not a terminal. [characters]"""


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
def materials(as_json: bool) -> None:
    """List the woods, wires, ties and reef units that a scenario may name, with their numbers.

    Example:  edgesim materials
    """
    from edgesim.scenario.materials_reference import tables

    if as_json:
        listed = {
            title: [dict(zip(headings, row, strict=True)) for row in rows]
            for title, headings, rows in tables()
        }
        click.echo(json.dumps({"schema": 1, "materials": listed}, indent=2))
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(width=WIDTH, highlight=False)
    for title, headings, rows in tables():
        table = Table(
            title="\n" + title.replace("`", ""), title_justify="left", box=None, pad_edge=False
        )
        for heading in headings:
            table.add_column(heading, overflow="fold")
        for row in rows:
            table.add_row(*map(escape, row))
        console.print(table)
