"""`edgesim figure` and `edgesim table`: one figure or table of a forecast, by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from edgesim.cli.plan_command import refuse_scenario
from edgesim.errors import DataFileError, InvalidParameterError

if TYPE_CHECKING:
    import xarray as xr

    from edgesim.figures.registry import Entry
    from edgesim.outcomes.tables.table import TableEntry

DATASET = "forecast.nc"


def find_results(given: Path | None) -> Path:
    """Find the file of a forecast: the one named, in the folder named, or near.

    Parameters
    ----------
    given : Path or None
        A netCDF file, a folder of results, or None for the folder of work.

    Returns
    -------
    Path

    Raises
    ------
    DataFileError
        If there is none, or more than one.
    """
    place = given or Path()
    refuse_scenario(place)
    if place.is_file():
        return place
    if (place / DATASET).is_file():
        return place / DATASET
    found = sorted(place.glob(f"*/{DATASET}")) if place.is_dir() else []
    if len(found) == 1:
        return found[0]
    if not found:
        msg = f"{place}: holds no forecast. Name a folder of results or make one with: edgesim forecast FILE"
    else:
        names = ", ".join(str(path.parent) for path in found)
        msg = f"{place}: holds several forecasts. Name one of {names}."
    raise DataFileError(msg)


def _chosen(name: str | None, entries: Mapping[str, Entry | TableEntry], kind: str) -> str:
    """Find a name or a number, in whatever case, among those there are."""
    if name is None:
        first, entry = next(iter(entries.items()))
        msg = (
            f"{kind}: no name is given. Give one, for example {first}, or its number {entry.number}. "
            f"See: edgesim {kind} --list"
        )
        raise InvalidParameterError(msg)
    known = {key: key for key in entries}
    known |= {entry.number.lower(): key for key, entry in entries.items()}
    if name.lower() in known:
        return known[name.lower()]
    import difflib

    near = difflib.get_close_matches(name.lower(), entries, n=1)
    hint = f' Did you mean "{near[0]}"?' if near else ""
    msg = f"{kind} {name!r}: there is none of that name.{hint} See: edgesim {kind} --list"
    raise InvalidParameterError(msg)


def _read(results: Path | None, study: Path | None) -> xr.Dataset:
    from edgesim.outcomes.dataset import read_dataset
    from edgesim.outcomes.study_extras import add_study, read_study

    dataset = read_dataset(find_results(results))
    if study is None:
        return dataset
    return add_study(dataset, read_study(study, dataset["option"].values))


def _show_list(rows: Iterable[tuple[str, str, str, str]]) -> None:
    """Print number, name, title and, where it cannot be made, why."""
    listed = list(rows)
    wide = max(len(name) for _, name, _, _ in listed)
    for number, name, title, missing in listed:
        click.echo(f"{number:5}{name:{wide + 2}}{title}{f' ({missing})' if missing else ''}")


of_study = click.option(
    "--study",
    type=click.Path(path_type=Path),
    help="Folder of a study (edgesim explore) whose results are shown as well.",
)


@click.command()
@click.argument("name", required=False)
@click.argument("results", required=False, type=click.Path(path_type=Path))
@click.option("--list", "listing", is_flag=True, help="List all figures and stop.")
@click.option("--output", "-o", type=click.Path(path_type=Path), help="File to write.")
@click.option(
    "--format", "kind", type=click.Choice(["png", "svg", "pdf"]), help="Format; png by default."
)
@click.option(
    "--width",
    type=click.Choice(["journal", "slide"]),
    default="journal",
    show_default=True,
    help="A double column (175 mm), or a slide (320 mm).",
)
@of_study
@click.option("--force", is_flag=True, help="Overwrite a file that is there already.")
def figure(
    name: str | None,
    results: Path | None,
    listing: bool,
    output: Path | None,
    kind: str | None,
    width: str,
    study: Path | None,
    force: bool,
) -> None:
    """Draw the figure NAME (or F12, its number) of the forecast in RESULTS; print caption and alt text.

    Example:  edgesim figure edge_fan demo_forecast --format svg

    RESULTS is a folder that a forecast wrote, or its netCDF file; by default the one
    in this folder. With --list, RESULTS may stand alone.
    """
    from edgesim.figures import FIGURES
    from edgesim.figures.saving import FORMATS, save_figure

    if listing:
        place = results or (Path(name) if name else None)
        dataset = _read(place, study) if place else None
        _show_list(
            (entry.number, key, entry.title, entry.missing(dataset) if dataset is not None else "")
            for key, entry in FIGURES.items()
        )
        return
    key = _chosen(name, FIGURES, "figure")
    target = _target(output, f"{key}.{kind or 'png'}", force=force)
    if kind and target.suffix[1:].lower() != kind:
        msg = f"{target}: the name ends in another format than --format {kind}. Leave out one of the two."
        raise InvalidParameterError(msg)
    if target.suffix[1:].lower() not in FORMATS:
        msg = f"{target}: figures are not written in that format. Let the name end in .{', .'.join(FORMATS)}."
        raise InvalidParameterError(msg)
    dataset = _read(results, study)
    entry = FIGURES[key]
    _refuse(entry.number, key, entry.missing(dataset))
    save_figure(entry.draw(dataset), target, dataset, width)
    click.echo(f"{entry.number}. {entry.caption(dataset)}\n")
    click.echo(f"Alt text: {entry.alt_text(dataset)}\n")
    click.echo(f"Written to {target}")
    _caution()


@click.command()
@click.argument("name", required=False)
@click.argument("results", required=False, type=click.Path(path_type=Path))
@click.option("--list", "listing", is_flag=True, help="List all tables and stop.")
@click.option("--output", "-o", type=click.Path(path_type=Path), help="CSV file to write.")
@click.option(
    "--format",
    "kind",
    type=click.Choice(["csv", "markdown"]),
    default="markdown",
    show_default=True,
    help="How to print it; a file is always CSV unless its name ends in .md.",
)
@of_study
@click.option("--force", is_flag=True, help="Overwrite a file that is there already.")
def table(
    name: str | None,
    results: Path | None,
    listing: bool,
    output: Path | None,
    kind: str,
    study: Path | None,
    force: bool,
) -> None:
    """Print the table NAME (or T5, its number) of the forecast in RESULTS, or write it as CSV.

    Example:  edgesim table options demo_forecast -o options.csv

    RESULTS is a folder that a forecast wrote, or its netCDF file; by default the one
    in this folder. With --list, RESULTS may stand alone.
    """
    from edgesim.outcomes.dataset import replacing
    from edgesim.outcomes.tables import TABLES, csv_text, markdown_text

    if listing:
        place = results or (Path(name) if name else None)
        dataset = _read(place, study) if place else None
        _show_list(
            (entry.number, key, entry.title, entry.missing(dataset) if dataset is not None else "")
            for key, entry in TABLES.items()
        )
        return
    key = _chosen(name, TABLES, "table")
    target = _target(output, "", force=force) if output else None
    dataset = _read(results, study)
    entry = TABLES[key]
    _refuse(entry.number, key, entry.missing(dataset))
    built = entry.build(dataset)
    if target is None:
        click.echo(csv_text(built) if kind == "csv" else markdown_text(built), nl=False)
    else:
        text = markdown_text(built) if target.suffix == ".md" else csv_text(built)
        with replacing(target) as temporary:
            temporary.write_text(text, encoding="utf-8")
        click.echo(f"{entry.number}. {built.title}. {built.note}\n\nWritten to {target}")
    _caution()


def _target(output: Path | None, name: str, *, force: bool) -> Path:
    """Make sure that nothing is overwritten unasked."""
    target = output or Path(name)
    if target.exists() and not force:
        msg = f"{target}: is there already. Name another file with --output, or add --force."
        raise DataFileError(msg)
    return target


def _refuse(number: str, key: str, missing: str) -> None:
    if missing:
        msg = f"{number} {key}: {missing}"
        raise DataFileError(msg)


def _caution() -> None:
    from edgesim.scenario import CAUTIONS

    click.echo(CAUTIONS, err=True)
