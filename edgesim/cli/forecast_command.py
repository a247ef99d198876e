"""`edgesim forecast`: run the ensemble, print the table, write files and figures."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.race_output import FILES as RACE_FILES
from edgesim.cli.race_output import RaceOutput
from edgesim.errors import DataFileError

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import Console

    from edgesim.outcomes.summary import SummaryRow
    from edgesim.scenario import ScenarioFile

WIDTH = 150
"""Width of tables where the output is not a terminal. [characters]"""

DATASET, SUMMARY, TAKEOVER, FIGURES = "forecast.nc", "summary.csv", "takeover.csv", "figures"
COST, BILL, CAUTIONS_FILE = "cost.csv", "bill.csv", "cautions.txt"
WRITTEN = (DATASET, SUMMARY, TAKEOVER, COST, BILL, CAUTIONS_FILE, *RACE_FILES, FIGURES)

IN_FEET_TOO = ("retreat", "reef_crest")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the results.")
@click.option("--members", type=click.IntRange(min=1), help="Number of futures of each option.")
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option("--workers", type=click.IntRange(min=1), help="Processes; by default one a core.")
@click.option("--force", is_flag=True, help="Overwrite results that are there already.")
@click.option("--json", "as_json", is_flag=True, help="Print the table for programs.")
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
def forecast(
    file: Path,
    output: Path | None,
    members: int | None,
    seed: int | None,
    workers: int | None,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Forecast every option of the scenario FILE, and write table, data and figures.

    Example:  edgesim forecast configs/demo.toml

    Results go to the folder FILE_forecast unless --output names another.
    """
    from edgesim.scenario import CAUTIONS, load_scenario

    wanted = {"run.members": members, "run.seed": seed}
    given = {path: value for path, value in wanted.items() if value is not None}
    scenario_file = load_scenario(file).overridden(given)
    folder = output or Path(f"{file.stem}_forecast")
    is_new = claim(folder, force=force)

    from edgesim.figures import save_all
    from edgesim.outcomes.bill import price_flags
    from edgesim.outcomes.dataset import write_dataset
    from edgesim.outcomes.summary import takeover_table, write_summary, write_takeover
    from edgesim.studies.ensemble import run_forecast

    try:
        with progress(quiet=quiet) as report:
            dataset = run_forecast(scenario_file, workers, report)
    except BaseException:
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
    written += _write_money(dataset, scenario_file, folder)
    race = RaceOutput(dataset, scenario_file)
    written += race.write(folder)
    figures = save_all(dataset, folder / FIGURES)
    if as_json:
        _print_json(dataset, folder, written, figures, race)
    else:
        _print_tables(dataset, race)
        race.show_screens()
        for flag in price_flags(scenario_file.central) if COST in written else ():
            click.echo(flag)
        click.echo(f"\nWritten to {folder}: {', '.join(written)}, {FIGURES}/")
    click.echo(CAUTIONS, err=True)


def _write_money(dataset: xr.Dataset, scenario_file: ScenarioFile, folder: Path) -> list[str]:
    """Write cost by year and bill of quantities, where an option builds something."""
    from edgesim.outcomes.bill import write_bill
    from edgesim.outcomes.cash import cost_rows
    from edgesim.outcomes.dataset import write_table

    rows = cost_rows(dataset)
    if not rows:
        return []
    write_table(rows, folder / COST)
    write_bill(scenario_file, folder / BILL)
    write_cautions(folder)
    return [COST, BILL, CAUTIONS_FILE]


def write_cautions(folder: Path) -> None:
    """Put the cautions beside tables that somebody could build from."""
    from edgesim.outcomes.dataset import replacing
    from edgesim.scenario import CAUTIONS

    with replacing(folder / CAUTIONS_FILE) as temporary:
        temporary.write_text(CAUTIONS + "\n", encoding="utf-8")


def claim(folder: Path, *, force: bool, names: Sequence[str] = WRITTEN) -> bool:
    """Make sure, before any computing, that the results can be written; tell whether the folder is new."""
    is_new = not folder.exists()
    if folder.exists() and not folder.is_dir():
        msg = f"{folder}: is a file, not a folder. Name another folder with --output."
        raise DataFileError(msg)
    there = [name for name in names if (folder / name).exists()]
    if there and not force:
        msg = (
            f"{folder}: holds results already ({', '.join(there)}). "
            "Name another folder with --output, or add --force to overwrite them."
        )
        raise DataFileError(msg)
    probe = folder / f".probe.{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except OSError as error:
        msg = (
            f"{folder}: cannot be written ({error.strerror}). "
            "Name a folder of your own with --output."
        )
        raise DataFileError(msg) from error
    return is_new


@contextmanager
def progress(*, quiet: bool) -> Iterator[Callable[[int, int], None] | None]:
    """Show members done and time left: a bar on a terminal, a line every tenth elsewhere."""
    if quiet:
        yield None
        return
    if not sys.stderr.isatty():
        yield _print_tenths
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, TimeRemainingColumn(), console=Console(stderr=True)) as bar:
        task = bar.add_task("members of every option", total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def _print_tenths(done: int, total: int) -> None:
    tenth = max(1, total // 10)
    if done % tenth == 0 or done == total:
        click.echo(f"{done} of {total} members done", err=True)


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
        f"\nMedian, (50 % band) and [90 % band] of {n} equally likely futures of each option.",
        markup=False,
    )
    chances = takeover_table(dataset)
    rows = [
        row
        for row in with_english_units(summary_table(dataset))
        if row.unit not in ("ft2", "ft-2", "lb", "ft") or row.quantity in IN_FEET_TOO
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
        if of_reef:
            console.print(_takeover_words(dataset, option), markup=False)
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
    return f"{p50} ({p25}..{p75}) [{p05}..{p95}]"


def _takeover_words(dataset: xr.Dataset, option: str) -> str:
    """Year of takeover among the members that see it."""
    import numpy as np

    years = dataset["takeover_year"].sel(option=option).values
    seen = years[np.isfinite(years)]
    if not seen.size:
        return f"The reef took over in none of {years.size} futures."
    low, middle, high = np.quantile(seen, [0.05, 0.5, 0.95])
    return (
        f"The reef took over in {seen.size} of {years.size} futures; there, in year "
        f"{middle:.0f} (90 % band {low:.0f} to {high:.0f})."
    )
