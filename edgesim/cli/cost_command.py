"""`edgesim cost` and `edgesim permit`: from a scenario alone, without a forecast."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.forecast_command import CAUTIONS_FILE, write_cautions
from edgesim.cli.running import claim

if TYPE_CHECKING:
    from edgesim.outcomes.tables import Table

OUTPUT_HELP = "Also write the tables as CSV files to this folder."
FORCE_HELP = "Overwrite tables that are in that folder already."


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help=OUTPUT_HELP)
@click.option("--force", is_flag=True, help=FORCE_HELP)
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
def cost(file: Path, output: Path | None, force: bool, as_json: bool) -> None:
    """Show what FILE is made of and what it costs: a scenario, or a forecast (forecast.nc).

    Example:  edgesim cost configs/demo.toml

    From a scenario: bill of quantities, labour, cost of building, prices of upkeep, monitoring
    and removal. From a forecast also cost by year, upkeep and what the money buys.
    """
    from edgesim.outcomes.tables.costs import COST_TABLES, bill_table

    if file.suffix == ".nc":
        from edgesim.outcomes.dataset import read_dataset

        dataset = read_dataset(file)
        missing = {name: entry.missing(dataset) for name, entry in COST_TABLES.items()}
        for name, why in missing.items():
            if why:
                click.echo(f"{COST_TABLES[name].title}: {why}", err=True)
        tables = {
            name: entry.build(dataset) for name, entry in COST_TABLES.items() if not missing[name]
        }
    else:
        from edgesim.scenario import load_scenario

        tables = {"bill": bill_table(load_scenario(file))}
    _show(tables, output, force=force, as_json=as_json, leave_out=("how the quantity is found",))


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--rules",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A rule pack of your own, in place of those of edgesim; may be given more than once.",
)
@click.option("--output", "-o", type=click.Path(path_type=Path), help=OUTPUT_HELP)
@click.option("--force", is_flag=True, help=FORCE_HELP)
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
def permit(
    file: Path, rules: tuple[Path, ...], output: Path | None, force: bool, as_json: bool
) -> None:
    """Compare the geometry of the scenario FILE with numbers of rules; only an agency decides.

    Example:  edgesim permit configs/demo.toml

    Answers are inside, outside or cannot tell; then come the numbers that agencies ask for and
    checklists for the work.
    """
    from edgesim.outcomes.permit import load_packs
    from edgesim.outcomes.tables.permit import checklist_table, numbers_table, permit_table
    from edgesim.scenario import load_scenario

    packs = load_packs(rules)
    scenario_file = load_scenario(file)
    tables = {
        "permit": permit_table(scenario_file, packs),
        "design_numbers": numbers_table(scenario_file),
        "checklists": checklist_table(),
    }
    _show(tables, output, force=force, as_json=as_json, leave_out=("done, by whom, when",))


def _show(
    tables: dict[str, Table],
    output: Path | None,
    *,
    force: bool,
    as_json: bool,
    leave_out: tuple[str, ...],
) -> None:
    from edgesim.cli.printing import print_table, table_data
    from edgesim.outcomes.tables import write_csv
    from edgesim.scenario import CAUTIONS

    if output is not None:
        files = {f"{name}.csv": table for name, table in tables.items()}
        claim(output, tuple(files), force=force)
        for name, table in files.items():
            write_csv(table, output / name)
        # Cost and permit may share a folder: cautions that are there already serve both.
        if force or not (output / CAUTIONS_FILE).exists():
            write_cautions(output, CAUTIONS)
    if as_json:
        data = {name: table_data(table) for name, table in tables.items()}
        click.echo(json.dumps({"schema": 1, "cautions": CAUTIONS, "tables": data}, indent=2))
        return
    for table in tables.values():
        print_table(table, leave_out)
