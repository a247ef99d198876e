"""`edgesim view`: one page to move through a forecast, which works without a network."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

from edgesim.cli.plan_command import name_of, read_results
from edgesim.errors import DataFileError


@click.command()
@click.argument("results", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help="The page to write.")
@click.option("--force", is_flag=True, help="Overwrite a page that is there already.")
@click.option("--no-open", is_flag=True, help="Write the page without opening it.")
def view(results: Path, output: Path | None, force: bool, no_open: bool) -> None:
    """Write a page to move through the forecast in RESULTS, and open it.

    Example:  edgesim view results/demo

    RESULTS is a folder that edgesim forecast wrote, or the forecast.nc in it. The page goes to
    RESULTS_view.html unless --output names another file. It needs no network.
    """
    page = output or Path(f"{name_of(results)}_view.html")
    if page.exists() and not force:
        msg = f"{page}: is there already. Name another file with --output, or add --force to overwrite it."
        raise DataFileError(msg)
    dataset = read_results(results)

    from edgesim.report.view import write_view
    from edgesim.scenario import CAUTIONS

    write_view(dataset, page)
    click.echo(f"Written: {page}")
    click.echo(CAUTIONS, err=True)
    if not no_open:
        webbrowser.open(page.resolve().as_uri())
