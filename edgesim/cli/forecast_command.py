"""`edgesim forecast`: run the ensemble, print the table, write files and figures."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from edgesim.cli.race_output import FILES as RACE_FILES
from edgesim.cli.race_output import RaceOutput
from edgesim.cli.running import claim, print_estimate, progress, stoppable, study_options

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import Console

    from edgesim.outcomes.summary import SummaryRow
    from edgesim.scenario import ScenarioFile

WIDTH = 172
"""Width at which every row of the demonstration fits its line: of tables where the output is not a terminal. [characters]"""

DATASET, SUMMARY, TAKEOVER, FIGURES = "forecast.nc", "summary.csv", "takeover.csv", "figures"
COST, BILL, CAUTIONS_FILE = "cost.csv", "bill.csv", "cautions.txt"

FAILURES = "failures.csv"
"""Written only when members failed."""

WRITTEN = (
    DATASET,
    SUMMARY,
    TAKEOVER,
    FAILURES,
    COST,
    BILL,
    CAUTIONS_FILE,
    *RACE_FILES,
    FIGURES,
)

STORE = "members.zarr"
"""Members done so far; removed when the forecast is complete."""

IN_FEET_TOO = ("retreat", "reef_crest")

ONLY_IN_FILES = ("cost", "mud_trapped")
"""Left to ``summary.csv``: money has a table of its own."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the results.")
@click.option("--members", type=click.IntRange(min=1), help="Number of futures of each option.")
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option("--json", "as_json", is_flag=True, help="Print the table for programs.")
@study_options
def forecast(
    file: Path,
    output: Path | None,
    members: int | None,
    seed: int | None,
    as_json: bool,
    workers: int | None,
    scheduler: str | None,
    resume: bool,
    dry_run: bool,
    force: bool,
    quiet: bool,
) -> None:
    """Forecast every option of the scenario FILE, and write table, data and figures.

    Example:  edgesim forecast configs/demo.toml

    Results go to the folder FILE_forecast unless --output names another. A forecast that
    was broken off goes on with the same command and --resume.
    """
    from edgesim.scenario import cautions_for, load_scenario

    wanted = {"run.members": members, "run.seed": seed}
    given = {path: value for path, value in wanted.items() if value is not None}
    scenario_file = load_scenario(file).overridden(given)
    folder = output or Path(f"{file.stem}_forecast")
    if dry_run:
        _print_estimate(scenario_file, folder / STORE, workers, resume=resume, as_json=as_json)
        return
    is_new = claim(folder, WRITTEN, force=force, resume=resume, store=STORE)

    from edgesim.figures import save_all
    from edgesim.outcomes.bill import price_flags
    from edgesim.outcomes.dataset import write_dataset, write_table
    from edgesim.outcomes.summary import takeover_table, write_summary, write_takeover
    from edgesim.studies.ensemble import failures_of, run_forecast
    from edgesim.studies.store import read_store, remove_store

    store = folder / STORE
    if not resume:
        remove_store(store)
    try:
        with progress("members", quiet=quiet) as report, stoppable(store):
            dataset = run_forecast(
                scenario_file, workers, report, scheduler=scheduler, path=store, resume=resume
            )
    except BaseException:
        if store.exists() and not read_store(store).done.any():  # every member failed
            remove_store(store)
        if is_new:
            with suppress(OSError):
                folder.rmdir()
        raise
    write_dataset(dataset, folder / DATASET)
    write_summary(dataset, folder / SUMMARY)
    written = [DATASET, SUMMARY]
    if takeover_table(dataset):  # there is none without a reef
        write_takeover(dataset, folder / TAKEOVER)
        written.append(TAKEOVER)
    failures = failures_of(dataset)
    (folder / FAILURES).unlink(missing_ok=True)
    if failures:
        write_table([_row_of(failure) for failure in failures], folder / FAILURES)
        written.append(FAILURES)
    written += _write_money(dataset, scenario_file, folder)
    race = RaceOutput(dataset, scenario_file)
    written += race.write(folder)
    figures = save_all(dataset, folder / FIGURES)
    remove_store(store)
    if as_json:
        _print_json(dataset, folder, written, figures, race)
    else:
        _print_tables(dataset, race)
        race.show_screens()
        for flag in price_flags(scenario_file.central) if COST in written else ():
            click.echo(flag)
        click.echo(f"\nWritten to {folder}: {', '.join(written)}, {FIGURES}/")
    click.echo(cautions_for(scenario_file.central), err=True)
    if failures:
        first = failures[0]
        click.echo(
            f"{len(failures)} of {scenario_file.central.run.members} members failed and are left out; "
            f"the first: member {first['member']}: {first['reason']} All: {folder / FAILURES}",
            err=True,
        )
        click.get_current_context().exit(1)


def _write_money(dataset: xr.Dataset, scenario_file: ScenarioFile, folder: Path) -> list[str]:
    """Write cost by year and bill of quantities, where an option builds something."""
    from edgesim.outcomes.bill import write_bill
    from edgesim.outcomes.cash import cost_rows
    from edgesim.outcomes.dataset import write_table
    from edgesim.scenario import cautions_for

    rows = cost_rows(dataset)
    if not rows:
        return []
    write_table(rows, folder / COST)
    write_bill(scenario_file, folder / BILL)
    write_cautions(folder, cautions_for(scenario_file.central))
    return [COST, BILL, CAUTIONS_FILE]


def write_cautions(folder: Path, cautions: str) -> None:
    """Put the cautions beside tables that somebody could build from."""
    from edgesim.outcomes.dataset import replacing

    with replacing(folder / CAUTIONS_FILE) as temporary:
        temporary.write_text(cautions + "\n", encoding="utf-8")


@dataclass(frozen=True)
class FailedRow:
    """A line of the table of members that failed; the inputs are the values drawn for it, as JSON."""

    member: int
    kind: str
    reason: str
    inputs: str


def _row_of(failure: dict[str, Any]) -> FailedRow:
    return FailedRow(**failure | {"inputs": json.dumps(failure["inputs"])})


def _print_estimate(
    scenario_file: ScenarioFile, store: Path, workers: int | None, *, resume: bool, as_json: bool
) -> None:
    """Tell what the forecast would cost; refuse it if the disk is too small."""
    from edgesim.studies.ensemble import forecast_study
    from edgesim.studies.estimate import check_disk, estimate, free_bytes
    from edgesim.studies.store import left_to_do

    study = forecast_study(scenario_file)
    check_disk(study, store)
    options = len(scenario_file.central.options)
    what = f"one a member, each of {options} options"
    cost = estimate(study, workers, left_to_do(store, study, resume=resume))
    print_estimate(cost, what, free_bytes(store), as_json=as_json)


def _print_json(
    dataset: xr.Dataset, folder: Path, written: list[str], figures: list[Path], race: RaceOutput
) -> None:
    from edgesim.outcomes.cash import cost_rows
    from edgesim.outcomes.summary import summary_table, takeover_table

    answer = {
        "schema": 1,
        "folder": str(folder),
        "files": written,
        "figures": [path.relative_to(folder).as_posix() for path in figures],
        "seed": int(dataset.attrs["seed"]),
        "members": int(dataset.sizes["member"]),
        "summary": [asdict(row) for row in summary_table(dataset)],
        "takeover": [asdict(row) for row in takeover_table(dataset)],
        "cost": [asdict(row) for row in cost_rows(dataset)],
        **race.as_data(),
    }
    click.echo(json.dumps(answer, indent=2))


def _print_tables(dataset: xr.Dataset, race: RaceOutput) -> None:
    """Print one table an option: median, 50 % band and 90 % band by year."""
    from itertools import groupby

    from rich.console import Console
    from rich.table import Table

    from edgesim.names import BY_NAME
    from edgesim.outcomes.summary import (
        QUANTITIES,
        summary_table,
        takeover_table,
        with_english_units,
    )

    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(width=WIDTH, highlight=False)
    n = dataset.sizes["member"]
    console.print(
        f"\nMedian, (50 % band) and [90 % band] of {n} equally likely futures of each option; "
        f"more rows and units in {SUMMARY}.",
        markup=False,
    )
    chances = takeover_table(dataset)
    rows = [
        row
        for row in with_english_units(summary_table(dataset))
        if row.quantity not in ONLY_IN_FILES
        and (row.unit not in ("ft2", "ft-2", "lb", "ft") or row.quantity in IN_FEET_TOO)
    ]
    for option, of_option in groupby(rows, key=lambda row: row.option):
        table = Table(title=f"\n{option}", title_justify="left", box=None, pad_edge=False)
        listed = list(of_option)
        years = sorted({row.year for row in listed})
        table.add_column("quantity", overflow="fold")
        for year in years:
            table.add_column(f"year {year}", justify="right", overflow="fold")
        for (quantity, unit), cells in groupby(
            sorted(listed, key=lambda row: (QUANTITIES.index(row.quantity), row.unit != "m")),
            key=lambda row: (row.quantity, row.unit),
        ):
            words = BY_NAME[quantity].label + ("" if unit == "1" else f", {_plain(unit)}")
            table.add_row(words, *[_cell(row).replace("[", r"\[") for row in cells])
        of_reef = [row for row in chances if row.option == option]
        if of_reef:
            table.add_row(
                "chance that the reef has taken over",
                *[rf"{row.chance:.0%} \[{row.low:.0%}..{row.high:.0%}]" for row in of_reef],
            )
        console.print(table)
        if of_reef and (words := _takeover_words(dataset, option)):
            console.print(words, markup=False)
        for sentence in race.show_option(option):
            console.print(sentence, markup=False)
    _print_money(dataset, console)


def _print_money(dataset: xr.Dataset, console: Console) -> None:
    """Print what every option costs and what the money buys, one line an option."""
    from rich.table import Table

    from edgesim.outcomes.cash import money_words

    lines = money_words(dataset)
    if not lines:
        return
    table = Table(title="\nwhat it costs", title_justify="left", box=None, pad_edge=False)
    for heading in lines[0]:
        table.add_column(heading, overflow="fold")
    for line in lines:
        table.add_row(*[text.replace("[", r"\[") for text in line.values()])
    console.print(table)


def _plain(unit: str) -> str:
    return {"m-2": "per m2"}.get(unit, unit)


def _cell(row: SummaryRow) -> str:
    digits = 0 if max(abs(row.p05), abs(row.p95)) >= 100.0 else 2
    p05, p25, p50, p75, p95 = (
        f"{value:.{digits}f}" for value in (row.p05, row.p25, row.p50, row.p75, row.p95)
    )
    if row.unit == "ft":  # the line above has the 50 % band, in metres
        return f"{p50} [{p05}..{p95}]"
    return f"{p50} ({p25}..{p75}) [{p05}..{p95}]"


def _takeover_words(dataset: xr.Dataset, option: str) -> str:
    """Year of takeover among the members that see it; nothing where none does."""
    import numpy as np

    years = dataset["takeover_year"].sel(option=option).values
    seen = years[np.isfinite(years)]
    if not seen.size:
        return ""
    low, middle, high = np.quantile(seen, [0.05, 0.5, 0.95])
    return (
        f"The reef took over in {seen.size} of {years.size} futures; there, in year "
        f"{middle:.0f} (90 % band {low:.0f} to {high:.0f})."
    )
