"""`edgesim explore`: which inputs matter, and where a design succeeds."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from edgesim.cli.printing import console
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

    from edgesim.studies.explore import Budget, Exploration

STORES = {"screening": "screening.zarr", "shares": "shares.zarr", "map": "map.zarr"}
RESULTS = (
    "study.nc",
    "effects.csv",
    "shares.csv",
    "pairs.csv",
    "growth.csv",
    "map.csv",
    "limits.csv",
    "conclusions.txt",
    "figures",
)
STAGES = {"screening": "the screening", "shares": "the shares of variance", "map": "the map"}


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the results.")
@click.option("--minutes", type=click.FloatRange(min=0.1), help="Do what fits into this time.")
@click.option(
    "--trajectories",
    type=click.IntRange(min=2),
    default=10,
    show_default=True,
    help="Steps through all inputs in the screening.",
)
@click.option(
    "--points",
    type=click.IntRange(min=4),
    default=256,
    show_default=True,
    help="Base points of the second stage; a power of two.",
)
@click.option(
    "--leading",
    type=click.IntRange(min=1),
    default=6,
    show_default=True,
    help="Inputs that go into the second stage.",
)
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option("--json", "as_json", is_flag=True, help="Print the tables for programs.")
@study_options
def explore(
    file: Path,
    output: Path | None,
    minutes: float | None,
    trajectories: int,
    points: int,
    leading: int,
    seed: int | None,
    workers: int | None,
    scheduler: str | None,
    dry_run: bool,
    resume: bool,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Explore the [study] of the scenario FILE: screening, shares of the variance, map, separation.

    Example:  edgesim explore my_site.toml --minutes 10

    Results go to the folder FILE_study unless --output names another. A study grows: the same
    command with --resume and more minutes, trajectories or points goes on where it was.
    """
    from edgesim.scenario import cautions_for, load_scenario
    from edgesim.studies.explore import (
        Budget,
        failures_of,
        plan_exploration,
        refuse_nothing,
        run_exploration,
    )
    from edgesim.studies.sampling import refuse_unbalanced

    refuse_unbalanced(points)
    exploration = plan_exploration(load_scenario(file))
    if seed is not None:
        exploration = plan_exploration(load_scenario(file).overridden(seed=seed))
    leading = min(leading, len(exploration.study.factors))
    budget = Budget(trajectories, points, leading, None if minutes is None else 60.0 * minutes)
    folder = output or Path(f"{file.stem}_study")
    if dry_run:
        _estimate(exploration, budget, workers, folder, resume=resume, as_json=as_json)
        return
    claim_study(folder, RESULTS, tuple(STORES.values()), force=force, resume=resume)
    with ExitStack() as stack, stoppable(*(folder / name for name in STORES.values())):
        stages = run_exploration(
            exploration, folder, budget, workers=workers, scheduler=scheduler, resume=resume,
            progress=_progress(stack, quiet=quiet), tell=lambda text: click.echo(text, err=True),
        )  # fmt: skip
    refuse_nothing(stages)

    from edgesim.outcomes.exploration import conclusions
    from edgesim.studies.study_dataset import build_exploration

    dataset = build_exploration(exploration, stages)
    said = [*conclusions(dataset), *stages.notes]
    written = _write(dataset, said, folder)
    if as_json:
        answer = {
            "schema": 1,
            "folder": str(folder),
            "files": written,
            "conclusions": said,
            **tables(dataset),
        }
        click.echo(
            json.dumps(json.loads(json.dumps(answer), parse_constant=lambda _: None), indent=2)
        )
    else:
        _print(dataset, said)
        click.echo(f"\nWritten to {folder}: {', '.join(written)}")
    click.echo(cautions_for(exploration.file.central), err=True)
    report_failures(failures_of(stages), folder)


def _progress(
    stack: ExitStack, *, quiet: bool
) -> Callable[[str], Callable[[int, int], None] | None]:
    """Progress of one stage after the other; the one before ends when the next begins."""

    def of(stage: str) -> Callable[[int, int], None] | None:
        stack.close()
        return stack.enter_context(progress(f"runs of {STAGES[stage]}", quiet=quiet))

    return of


def _estimate(
    exploration: Exploration,
    budget: Budget,
    workers: int | None,
    folder: Path,
    *,
    resume: bool,
    as_json: bool,
) -> None:
    """Say what a study would cost, from a few runs that are measured; refuse it if the disk is too small."""
    from edgesim.studies.estimate import check_disk, estimate, free_bytes
    from edgesim.studies.explore import planned_studies
    from edgesim.studies.store import left_to_do

    stages = planned_studies(exploration, budget, folder, resume=resume)
    whole = replace(stages["screening"], payloads=[p for s in stages.values() for p in s.payloads])
    check_disk(whole, folder / STORES["screening"])
    left = {
        name: left_to_do(folder / STORES[name], study, resume=resume)
        for name, study in stages.items()
    }
    what = ", ".join(f"{STAGES[name]} {count}" for name, count in left.items())
    print_estimate(
        estimate(whole, workers, sum(left.values())), what, free_bytes(folder), as_json=as_json
    )


def _write(dataset: xr.Dataset, said: list[str], folder: Path) -> list[str]:
    from edgesim.figures.studies import STUDY_FIGURES, save_figures
    from edgesim.outcomes import exploration as outcomes
    from edgesim.outcomes.dataset import replacing, write_table
    from edgesim.outcomes.label_files import write_labelled

    write_labelled(dataset, folder / "study.nc")
    written = ["study.nc"]
    for name, rows in (
        ("effects.csv", outcomes.effect_table(dataset)),
        ("shares.csv", outcomes.share_table(dataset)),
        ("pairs.csv", outcomes.pair_share_table(dataset)),
        ("growth.csv", outcomes.growth_table(dataset)),
        ("map.csv", outcomes.map_table(dataset)),
        ("limits.csv", outcomes.limit_table(dataset)),
    ):
        if rows:
            write_table(rows, folder / name)
            written.append(name)
    with replacing(folder / "conclusions.txt") as temporary:
        temporary.write_text("\n".join(said) + "\n", encoding="utf-8")
    save_figures(dataset, folder / "figures", STUDY_FIGURES)
    return [*written, "conclusions.txt", "figures/"]


def tables(dataset: xr.Dataset) -> dict[str, Any]:
    """All tables of a study as plain data."""
    from edgesim.outcomes import exploration as outcomes

    return {
        "effects": [asdict(row) for row in outcomes.effect_table(dataset)],
        "shares": [asdict(row) for row in outcomes.share_table(dataset)],
        "pairs": [asdict(row) for row in outcomes.pair_share_table(dataset)],
        "map": [asdict(row) for row in outcomes.map_table(dataset)],
        "limits": [asdict(row) for row in outcomes.limit_table(dataset)],
    }


def _print(dataset: xr.Dataset, said: list[str]) -> None:
    from rich.table import Table

    from edgesim.outcomes.exploration import effect_table, share_table

    out = console()
    shares = share_table(dataset)
    labels = dict(zip(dataset["outcome"].values, dataset["outcome_label"].values, strict=True))
    for outcome, label in labels.items():
        if shares and all(row.total != row.total for row in shares if row.outcome == outcome):
            continue  # it did not vary, as the conclusions say
        made = Table(title=f"\n{label}", title_justify="left", box=None, pad_edge=False)
        if shares:
            for column in ("input", "alone", "with interactions", "distribution", ""):
                made.add_column(column, justify="left" if column in ("input", "") else "right")
            for row in shares:
                if row.outcome == outcome:
                    made.add_row(
                        row.input, f"{row.first:.2f} ± {row.first_bound:.2f}", f"{row.total:.2f} ± {row.total_bound:.2f}",
                        f"{row.density:.2f} (idle: {row.density_floor:.2f})", "" if row.total_converged else "not converged",
                    )  # fmt: skip
        else:
            for column in ("input", "mean effect", "spread", ""):
                made.add_column(column, justify="left" if column in ("input", "") else "right")
            for effect in effect_table(dataset):
                if effect.outcome == outcome:
                    made.add_row(
                        effect.input, f"{effect.effect:.3g} ± {effect.bound:.2g}", f"{effect.spread:.2g}",
                        "" if effect.converged else "not converged",
                    )  # fmt: skip
        out.print(made)
    out.print("\nWhat follows", style="bold")
    for sentence in said:
        out.print(f"- {sentence}", markup=False)
