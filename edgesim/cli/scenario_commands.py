"""`edgesim new` and `edgesim check`."""

from __future__ import annotations

import json
import os
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.errors import DataFileError

if TYPE_CHECKING:
    from edgesim.scenario import ScenarioFile

WIDTH = 150
"""Width of tables where the output is not a terminal. [characters]"""


@click.command()
@click.argument("path", type=click.Path(path_type=Path), default=Path("scenario.toml"))
@click.option("--force", is_flag=True, help="Overwrite the file if it is there.")
def new(path: Path, force: bool) -> None:
    """Write a commented starter scenario to PATH (default scenario.toml).

    Example:  edgesim new my_site.toml
    """
    if path.is_dir():
        msg = f"{path}: is a folder. Name the file to write, for example {path / 'scenario.toml'}."
        raise DataFileError(msg)
    if path.exists() and not force:
        msg = (
            f"{path}: the file is there already. Give another name, or add --force to overwrite it."
        )
        raise DataFileError(msg)
    text = resources.files("edgesim.scenario").joinpath("starter.toml").read_text(encoding="utf-8")
    _write(path, text)
    click.echo(
        f"Wrote {path}. Its numbers are invented: put your own in their place, then run:\n"
        f"  edgesim check {path}",
        err=True,
    )
    _caution()


def _write(path: Path, text: str) -> None:
    """Write beside the target and move into place, so that no half file is ever left."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        msg = f"{path}: cannot be written ({error.strerror}). Choose a folder that exists and is yours."
        raise DataFileError(msg) from error


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--waves", is_flag=True, help="Show the waves of boats and wind instead.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer for programs.")
def check(file: Path, waves: bool, as_json: bool) -> None:
    """Check the scenario FILE and show every input, its origin and how far to trust it.

    Example:  edgesim check my_site.toml
    """
    from edgesim.scenario import cautions_for, load_scenario
    from edgesim.scenario.summary import as_data

    scenario_file = load_scenario(file)
    if waves:
        from edgesim.cli.wave_table import show_waves

        show_waves(scenario_file, as_json=as_json)
        _caution()
        return
    if as_json:
        click.echo(json.dumps(as_data(scenario_file), indent=2))
        return
    _show(scenario_file)
    click.echo(cautions_for(scenario_file.central), err=True)


def _show(scenario_file: ScenarioFile) -> None:
    """Print the banner and one table for each section."""
    from itertools import groupby

    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    from edgesim.scenario.summary import banner, rows

    console = Console(soft_wrap=False, highlight=False)
    if not console.is_terminal:
        console = Console(width=WIDTH, highlight=False)
    console.print(f"{scenario_file.path}: no problems found.", markup=False)
    console.print(banner(scenario_file), markup=False)
    for section, listed in groupby(rows(scenario_file), key=lambda row: row.section):
        table = Table(title=f"\n{section}", title_justify="left", box=None, pad_edge=False)
        for heading in ("input", "value", "spread", "origin", "mark", "source"):
            table.add_column(heading, overflow="fold")
        for row in listed:
            origin = row.origin
            table.add_row(
                escape(row.path.removeprefix(f"{section}.").removeprefix(section)),
                *map(escape, (row.value, row.spread, origin.given_by, origin.mark, origin.source)),
            )
        console.print(table)


def _caution() -> None:
    """Say what every reader must know."""
    from edgesim.scenario.cautions import CAUTIONS

    click.echo(CAUTIONS, err=True)
