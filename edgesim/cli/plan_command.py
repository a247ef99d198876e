"""`edgesim plan`: the adaptive management plan of a scenario or of a forecast."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.forecast_command import DATASET
from edgesim.cli.running import claim, progress
from edgesim.errors import DataFileError

if TYPE_CHECKING:
    import xarray as xr

    from edgesim.scenario import ScenarioFile


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", "-o", type=click.Path(path_type=Path), help="Folder for the plan.")
@click.option(
    "--only", type=click.Choice(["html", "docx"]), multiple=True, help="Write only this form."
)
@click.option(
    "--study",
    type=click.Path(path_type=Path),
    help="Folder of a study (edgesim explore) whose results are shown as well.",
)
@click.option("--members", type=click.IntRange(min=1), help="Number of futures of each option.")
@click.option("--seed", type=click.IntRange(min=0), help="Number from which all chance starts.")
@click.option("--workers", type=click.IntRange(min=1), help="Processes; by default one a core.")
@click.option("--force", is_flag=True, help="Overwrite a plan that is there already.")
@click.option("--json", "as_json", is_flag=True, help="Print what was written for programs.")
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
def plan(
    file: Path,
    output: Path | None,
    only: tuple[str, ...],
    study: Path | None,
    members: int | None,
    seed: int | None,
    workers: int | None,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Write the plan of FILE: a scenario, which is run first, or the results of a forecast.

    Example:  edgesim plan configs/demo.toml

    The folder FILE_plan, unless --output names another, gets plan.html, plan.docx, view.html,
    and every figure and table as a file of its own.
    """
    from edgesim.scenario import CAUTIONS, load_scenario

    scenario_file, dataset = None, None
    if file.suffix.lower() == ".toml":
        wanted = {"run.members": members, "run.seed": seed}
        given = {path: value for path, value in wanted.items() if value is not None}
        scenario_file = load_scenario(file).overridden(given)
        options = [option.name for option in scenario_file.central.options]
    else:
        if members is not None or seed is not None:
            msg = f"{file}: holds results, whose members and seed are fixed. Leave out --members and --seed, or name a scenario."
            raise DataFileError(msg)
        dataset = read_results(file)
        options = list(dataset["option"].values)

    from edgesim.outcomes.study_extras import add_study, read_study
    from edgesim.report.plan import PARTS

    names = (*PARTS, *((DATASET,) if scenario_file else ()))
    folder = output or Path(f"{name_of(file)}_plan")
    found = read_study(study, options) if study else None
    is_new = claim(folder, names, force=force)
    try:
        if scenario_file:
            dataset = _forecast(scenario_file, workers, quiet=quiet)
        assert dataset is not None
        shown = dataset if found is None else add_study(dataset, found)
        written = _write(shown, folder, only, workers, quiet=quiet)
    except BaseException:
        if is_new:
            with suppress(OSError):
                folder.rmdir()
        raise
    if scenario_file:
        from edgesim.outcomes.dataset import write_dataset

        write_dataset(dataset, folder / DATASET)
        written.append(folder / DATASET)
    listed = [path.name + ("/" if path.is_dir() else "") for path in written]
    if as_json:
        click.echo(json.dumps({"schema": 1, "folder": str(folder), "files": listed}, indent=2))
    else:
        click.echo(f"Written to {folder}: {', '.join(listed)}")
    click.echo(CAUTIONS, err=True)


def name_of(file: Path) -> str:
    """Name that results of a file or folder are called after.

    Examples
    --------
    >>> name_of(Path("configs/demo.toml")), name_of(Path("results/demo/forecast.nc"))
    ('demo', 'demo')
    """
    resolved = file.resolve()
    return resolved.parent.name if resolved.name == DATASET else resolved.stem


def read_results(file: Path) -> xr.Dataset:
    """Read the forecast in a folder of results or in a netCDF file.

    Parameters
    ----------
    file : Path
        A folder that holds ``forecast.nc``, or such a file.

    Returns
    -------
    xarray.Dataset

    Raises
    ------
    DataFileError
        If there is none.
    """
    refuse_scenario(file)
    place = file / DATASET if file.is_dir() else file
    if not place.exists():
        msg = (
            f"{place}: does not exist. Name a scenario (.toml), a folder that edgesim forecast "
            f"wrote, or the {DATASET} in it."
        )
        raise DataFileError(msg)
    from edgesim.outcomes.dataset import read_dataset

    return read_dataset(place)


def refuse_scenario(file: Path) -> None:
    """Say what to do first where a scenario stands in place of results."""
    if file.suffix.lower() == ".toml":
        msg = (
            f"{file}: is a scenario, not a result. Run first: edgesim forecast {file}, "
            f"then name its folder {file.stem}_forecast."
        )
        raise DataFileError(msg)


def _forecast(scenario_file: ScenarioFile, workers: int | None, *, quiet: bool) -> xr.Dataset:
    from edgesim.studies.ensemble import run_forecast

    with progress("members", quiet=quiet) as report:
        return run_forecast(scenario_file, workers, report)


def _write(
    dataset: xr.Dataset, folder: Path, only: tuple[str, ...], workers: int | None, *, quiet: bool
) -> list[Path]:
    from edgesim.report.plan import FORMS, write_plan

    report = None if quiet else _fourths()
    return write_plan(dataset, folder, only or tuple(FORMS), workers or os.cpu_count(), report)


def _fourths() -> Callable[[int, int], None]:
    """Tell a line every fourth of the figures and tables."""

    def tell(done: int, total: int) -> None:
        if done == total or done % max(1, total // 4) == 0:
            click.echo(f"{done} of {total} figures and tables done", err=True)

    return tell
