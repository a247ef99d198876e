"""`edgesim review`: weigh futures and beliefs by surveys, and write the corrected forecast."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.printing import console, figure
from edgesim.cli.running import claim_study, progress, report_failures, stoppable
from edgesim.outcomes.summary import ENGLISH_UNITS

if TYPE_CHECKING:
    import xarray as xr

    from edgesim.scenario import ScenarioFile
    from edgesim.scenario.design import Option
    from edgesim.studies.review import Review

DATASET, SURVEYS, BELIEFS, CHANGES = "forecast.nc", "surveys.csv", "beliefs.csv", "changes.csv"
RESULTS = (DATASET, SURVEYS, BELIEFS, CHANGES, "figures")
FIGURES = ("observed", "belief_weights", "edge_fan")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("surveys", type=click.Path(path_type=Path))
@click.option("--built", help="Option that was built; needed where the scenario has several.")
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the results.")
@click.option("--members", type=click.IntRange(min=2), help="Number of futures of each belief.")
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option("--workers", type=click.IntRange(min=1), help="Processes; by default one a core.")
@click.option("--resume", is_flag=True, help="Go on where a run was broken off, or weigh anew.")
@click.option("--force", is_flag=True, help="Overwrite results that are there already.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
def review(
    file: Path,
    surveys: Path,
    built: str | None,
    output: Path | None,
    members: int | None,
    seed: int | None,
    workers: int | None,
    resume: bool,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Correct the forecast of the scenario FILE by SURVEYS, a CSV file of what was measured since.

    Example:  edgesim review my_site.toml surveys.csv --built "walls and reef"

    SURVEYS has the columns date, quantity, value and error, as 2028-03-01, retreat, 1.3 ft, 0.3 ft.
    Every belief of the scenario ([[beliefs]]) is run, and all futures are weighed by how well they
    hold the surveys. Results go to the folder FILE_review unless --output names another; its forecast
    serves plan, figure, table and view. With further surveys, the same command and --resume weighs the
    same futures anew.
    """
    from edgesim.monitoring.surveys import read_surveys
    from edgesim.scenario import cautions_for, load_scenario
    from edgesim.studies.review import believed
    from edgesim.studies.review import review as weigh

    given = {p: v for p, v in {"run.members": members, "run.seed": seed}.items() if v is not None}
    scenario_file = load_scenario(file).overridden(given)
    option = _built(scenario_file, built)
    found = read_surveys(surveys, scenario_file.central, option)
    n_beliefs = len(believed(scenario_file))
    stores = [f"belief_{place}.zarr" for place in range(1, n_beliefs + 1)]
    folder = output or Path(f"{file.stem}_review")
    claim_study(folder, RESULTS, stores, force=force, resume=resume)
    paths = [folder / name for name in stores]
    failed: list[str] = []
    with progress("members", quiet=quiet) as report, stoppable(*paths):

        def forecast(place: int, changed: ScenarioFile) -> xr.Dataset:
            from edgesim.studies.ensemble import failures_of, run_forecast

            dataset = run_forecast(changed, workers, report, path=paths[place], resume=resume)
            failed.extend(
                f"{stores[place]}, member {one['member']}: {one['kind']}: {one['reason']}"
                for one in failures_of(dataset)
            )
            return dataset

        done = weigh(scenario_file, found, option.name, forecast)
    written = _write(done, folder)
    if as_json:
        tables = {
            "surveys": [asdict(row) for row in done.surveys],
            "beliefs": [asdict(row) for row in done.beliefs],
            "changes": [asdict(row) for row in done.changes],
        }
        rests = {"effective_futures": done.effective, "error_factor": done.error_factor}
        answer = {"schema": 1, "folder": str(folder), "files": written, **rests, **tables}
        click.echo(json.dumps(answer, indent=2))
    else:
        _print(done)
        click.echo(f"\nWritten to {folder}: {', '.join(written)}, figures/")
    if done.error_factor > 1.0:
        click.echo(
            f"Few futures hold the surveys: their errors were taken {done.error_factor:.1f} times as large, so that "
            f"{done.effective:.0f} futures carry the weight. Run with more --members, and see that the errors hold "
            "what the forecast leaves out.",
            err=True,
        )
    click.echo(cautions_for(scenario_file.central), err=True)
    report_failures(failed, folder)


def _built(scenario_file: ScenarioFile, name: str | None) -> Option:
    """Option that was built: the one named, or the only one that builds anything."""
    from edgesim.errors import ScenarioError

    options = {option.name: option for option in scenario_file.central.options}
    if name is None:
        works = [option for option in options.values() if option.walls or option.reef]
        if len(works) == 1:
            return works[0]
        problem = "--built: is not given, and the scenario builds something in several options or in none."
    elif name in options:
        return options[name]
    else:
        problem = f'--built "{name}": is no option of {scenario_file.path}.'
    known = ", ".join(f'"{one}"' for one in options)
    raise ScenarioError([f"{problem} Name one of {known}."])


def _write(done: Review, folder: Path) -> list[str]:
    """Write the corrected forecast, the tables and the figures."""
    from edgesim.figures import FIGURES as ENTRIES
    from edgesim.figures.saving import save_both
    from edgesim.outcomes.dataset import write_dataset, write_table

    write_dataset(done.dataset, folder / DATASET)
    for name, rows in ((SURVEYS, done.surveys), (BELIEFS, done.beliefs), (CHANGES, done.changes)):
        write_table(rows, folder / name)
    (folder / "figures").mkdir(exist_ok=True)
    for name in FIGURES:
        entry = ENTRIES[name]
        if not entry.missing(done.dataset):
            save_both(entry.draw(done.dataset), folder / "figures" / entry.stem, done.dataset)
    return [DATASET, SURVEYS, BELIEFS, CHANGES]


def _print(done: Review) -> None:
    """Print surveys, beliefs and what changed, in feet and metres."""
    _show(
        "Surveys against the forecast as earlier surveys had left it",
        ["date", "quantity", "surveyed", "", "forecast: median [90 % band]", "inside"],
        [
            [row.date, row.quantity, *_both(row.unit, row.surveyed, row.error, " ± "), _bands(row.unit, row.p05, row.p50, row.p95), "yes" if row.inside else "NO"]
            for row in done.surveys
        ],
    )  # fmt: skip
    names = list(dict.fromkeys(row.belief for row in done.beliefs))
    dates = list(dict.fromkeys(row.date for row in done.beliefs))
    by_date = [[row for row in done.beliefs if row.date == date] for date in dates]
    _show(
        "Weight of each belief, and how many futures of one weight know as much",
        ["after the surveys of", *names, "futures"],
        [
            [date if date != dates[0] else "none", *(f"{100 * row.weight:.0f} %" for row in rows), f"{rows[0].effective_futures:.1f}"]
            for date, rows in zip(dates, by_date, strict=True)
        ],
    )  # fmt: skip
    _show(
        "Retreat at the end of the run: median [90 % band]",
        ["option", "before", "after"],
        [
            [
                row.option,
                _bands(row.unit, row.before_p05, row.before_p50, row.before_p95),
                _bands(row.unit, row.after_p05, row.after_p50, row.after_p95),
            ]
            for row in done.changes
        ],
    )


def _show(title: str, headings: list[str], rows: list[list[str]]) -> None:
    from rich.markup import escape
    from rich.table import Table

    table = Table(title=f"\n{title}", title_justify="left", box=None, pad_edge=False)
    for heading in headings:
        table.add_column(escape(heading))
    for row in rows:
        table.add_row(*[escape(cell) for cell in row])
    console().print(table)


def _both(unit: str, value: float, error: float, between: str) -> list[str]:
    """Value and error, in the unit shown and in metric."""
    name, factor = ENGLISH_UNITS.get(unit, ("share", 1.0))
    shown = f"{figure(value * factor)}{between}{figure(error * factor)} {name}"
    return [shown, "" if factor == 1.0 else f"{figure(value)}{between}{figure(error)} {unit}"]


def _bands(unit: str, low: float, middle: float, high: float) -> str:
    """Median and band, in the unit shown and in metric."""
    name, factor = ENGLISH_UNITS.get(unit, ("share", 1.0))

    def words(scale: float) -> str:
        return f"{figure(middle * scale)} [{figure(low * scale)}..{figure(high * scale)}]"

    return f"{words(factor)} {name}" + ("" if factor == 1.0 else f" = {words(1.0)} {unit}")
