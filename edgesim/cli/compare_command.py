"""`edgesim compare`: designs side by side in the same futures."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.printing import band, both_units, console, figure
from edgesim.cli.running import (
    claim_study,
    print_estimate,
    progress,
    report_failures,
    stoppable,
    study_options,
)

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import Console
    from rich.table import Table

    from edgesim.outcomes.comparison import RegretRow

STORE = "comparison.zarr"
RESULTS = (
    "comparison.nc",
    "designs.csv",
    "differences.csv",
    "targets.csv",
    "regret.csv",
    "figures",
)


@click.command()
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the results.")
@click.option("--members", type=click.IntRange(min=2), help="Number of futures.")
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option(
    "--mixed-price-years", is_flag=True, help="Compare prices of different years as they are."
)
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
@study_options
def compare(
    files: tuple[Path, ...],
    output: Path | None,
    members: int | None,
    seed: int | None,
    workers: int | None,
    scheduler: str | None,
    mixed_price_years: bool,
    resume: bool,
    dry_run: bool,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Compare designs in the same futures: FILES, each a design, or one file that lists [[designs]].

    Example:  edgesim compare my_site.toml

    A file without [[designs]] has its options compared. Results go to the folder
    FILE_comparison unless --output names another.
    """
    from edgesim.scenario import cautions_for, load_scenario
    from edgesim.studies.compare import plan_comparison, refuse_few, run_comparison

    given = {p: v for p, v in {"run.members": members, "run.seed": seed}.items() if v is not None}
    loaded = [load_scenario(file).overridden(given) for file in files]
    comparison = plan_comparison(loaded, mixed_prices=mixed_price_years)
    refuse_few(comparison)
    folder = output or Path(f"{files[0].stem}_comparison")
    if dry_run:
        from edgesim.studies.compare import comparison_study
        from edgesim.studies.estimate import check_disk, estimate, free_bytes
        from edgesim.studies.store import left_to_do

        study = comparison_study(comparison)
        check_disk(study, folder / STORE)
        what = "one a design, belief and future"
        left = left_to_do(folder / STORE, study, resume=resume)
        cost, free = estimate(study, workers, left), free_bytes(folder / STORE)
        print_estimate(cost, what, free, as_json=as_json)
        return
    claim_study(folder, RESULTS, (STORE,), force=force, resume=resume)
    for advice in comparison.advice:
        click.echo(advice, err=True)
    with progress("runs", quiet=quiet) as report, stoppable(folder / STORE):
        dataset, store = run_comparison(
            comparison, folder / STORE, workers=workers, scheduler=scheduler, resume=resume, progress=report,
        )  # fmt: skip
    written = _write(dataset, folder)
    if as_json:
        click.echo(
            json.dumps(
                {"schema": 1, "folder": str(folder), "files": written, **tables(dataset)}, indent=2
            )
        )
    else:
        _print(dataset)
        click.echo(f"\nWritten to {folder}: {', '.join(written)}")
    click.echo(cautions_for(loaded[0].central), err=True)
    report_failures([f"run {f.index}: {f.kind}: {f.reason}" for f in store.failures()], folder)


def _write(dataset: xr.Dataset, folder: Path) -> list[str]:
    from edgesim.figures.studies import COMPARISON_FIGURES, save_figures
    from edgesim.outcomes.comparison import chance_table, design_table, pair_table, regret_table
    from edgesim.outcomes.dataset import write_table
    from edgesim.outcomes.label_files import write_labelled

    write_labelled(dataset, folder / "comparison.nc")
    written = ["comparison.nc"]
    for name, rows in (
        ("designs.csv", design_table(dataset)),
        ("differences.csv", pair_table(dataset)),
        ("targets.csv", chance_table(dataset)),
        ("regret.csv", regret_table(dataset)),
    ):
        if rows:
            write_table(rows, folder / name)
            written.append(name)
    save_figures(dataset, folder / "figures", COMPARISON_FIGURES)
    return [*written, "figures/"]


def tables(dataset: xr.Dataset) -> dict[str, object]:
    """All tables of a comparison as plain data; what is infinite or missing as null."""
    from edgesim.outcomes.comparison import (
        better_on_targets,
        chance_table,
        design_table,
        pair_table,
        regret_table,
        undominated,
    )

    by_median, share = undominated(dataset)
    plain = {
        "designs": [asdict(row) for row in design_table(dataset)],
        "differences": [asdict(row) for row in pair_table(dataset)],
        "targets": [asdict(row) for row in chance_table(dataset)],
        "better_on_targets": [
            {"first": a, "second": b, "target": t, "chance_first_is_better": chance}
            for (a, b, t), chance in better_on_targets(dataset).items()
        ],
        "regret": [asdict(row) for row in regret_table(dataset)],
        "undominated": [
            {"design": str(name), "by_median": bool(flag), "share_of_futures": float(part)}
            for name, flag, part in zip(dataset["design"].values, by_median, share, strict=True)
        ],
    }
    found: dict[str, object] = json.loads(json.dumps(plain), parse_constant=lambda _: None)
    return found


def _print(dataset: xr.Dataset) -> None:
    from edgesim.outcomes.comparison import last_year_of, regret_table, undominated

    out = console()
    n, year = dataset.sizes["member"], last_year_of(dataset)
    out.print(
        f"\nYear {year}: median, (50 % band) and [90 % band] of {n} futures, the same for every design.",
        markup=False,
    )
    _print_designs(dataset, out)
    _print_differences(dataset, out)
    by_median, share = undominated(dataset)
    kept = [
        f"{name} ({part:.0%} of the futures)"
        for name, flag, part in zip(dataset["design"].values, by_median, share, strict=True)
        if flag
    ]
    out.print(
        f"\nNone beats these in money, marsh and oysters at once: {', '.join(kept)}.", markup=False
    )
    rows = regret_table(dataset)
    for criterion in dict.fromkeys(row.criterion for row in rows):
        of = [row for row in rows if row.criterion == criterion]
        for unit, factor in both_units(of[0].unit):
            _print_regret(of, unit, factor, out)
    left_out = int(dataset.attrs["futures_left_out"])
    if left_out:
        out.print(f"{left_out} futures are left out, since a run of theirs failed.", markup=False)


def _table(title: str, columns: list[str]) -> Table:
    from rich.table import Table

    made = Table(title=f"\n{title}", title_justify="left", box=None, pad_edge=False)
    for place, column in enumerate(columns):
        made.add_column(column, justify="right" if place else "left", overflow="fold")
    return made


def _print_designs(dataset: xr.Dataset, out: Console) -> None:
    from edgesim.outcomes.comparison import chance_table, design_table

    rows, chances = design_table(dataset), chance_table(dataset)
    names = [str(name) for name in dataset["design"].values]
    made = _table("Designs", ["", *names])
    for quantity in dict.fromkeys(row.quantity for row in rows):
        cells = {row.design: row for row in rows if row.quantity == quantity}
        for unit, factor in both_units(next(iter(cells.values())).unit):
            made.add_row(
                f"{words(quantity)}, {unit}",
                *[_cell(band(cells[name], factor)) if name in cells else "" for name in names],
            )
    for target in dict.fromkeys(row.target for row in chances):
        found = {row.design: row for row in chances if row.target == target}
        made.add_row(
            f"chance: {target}",
            *[
                _cell(f"{found[n].chance:.0%} [{found[n].low:.0%}..{found[n].high:.0%}]")
                for n in names
            ],
        )
    out.print(made)


def _print_differences(dataset: xr.Dataset, out: Console) -> None:
    from edgesim.outcomes.comparison import better_on_targets, pair_table

    targets = better_on_targets(dataset)
    made = _table(
        "First minus second, future by future; how often the first is better",
        ["pair", "quantity", "difference", "first better"],
    )
    for row in pair_table(dataset):
        for unit, factor in both_units(row.unit):
            made.add_row(
                f"{row.first} - {row.second}", f"{words(row.quantity)}, {unit}",
                _cell(band(row, factor)), f"{row.chance_first_is_better:.0%}",
            )  # fmt: skip
    for (a, b, target), chance in targets.items():
        made.add_row(f"{a} - {b}", f"target: {target}", "", f"{chance:.0%}")
    out.print(made)


def _print_regret(rows: list[RegretRow], unit: str, factor: float, out: Console) -> None:
    """One row a design: what it brings under each belief, and (in brackets) its regret."""
    criterion = rows[0].criterion
    beliefs = list(dict.fromkeys(row.belief for row in rows))
    made = _table(
        f"Regret in {words(criterion)}{'' if unit == '1' else f', {unit}'}: value (behind the best)",
        ["design", *beliefs, "largest regret", "mean regret"],
    )
    for design in dict.fromkeys(row.design for row in rows):
        of = [row for row in rows if row.design == design]
        mean = sum(row.weight * row.regret for row in of)
        made.add_row(
            design,
            *[f"{figure(row.value * factor)} ({figure(row.regret * factor)})" for row in of],
            figure(max(row.regret for row in of) * factor), figure(mean * factor),
        )  # fmt: skip
    out.print(made)


def words(quantity: str) -> str:
    """Name of a quantity for people."""
    from edgesim.names import BY_NAME

    own = {
        "cost_per_m_of_edge": "Cost of edge",
        "cost_per_m2_kept": "Cost of marsh kept",
    }
    return own.get(quantity) or (BY_NAME[quantity].label if quantity in BY_NAME else quantity)


def _cell(text: str) -> str:
    return text.replace("[", r"\[")
