"""The forecast as one self-describing Dataset, and its way to disk and back.

The attributes follow the CF conventions 1.11 (Eaton et al., NetCDF Climate and
Forecast Metadata Conventions); names, units and long names come from
:mod:`edgesim.names`. The layout of the shore and of the lines travels in the
same Dataset, so that a figure or a table needs nothing else.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import astuple, dataclass, fields
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR
from edgesim.errors import DataFileError, InvalidParameterError
from edgesim.names import BY_NAME, DERIVED, VARIABLES, Variable
from edgesim.outcomes.cash import cash_flow
from edgesim.outcomes.coordinates import coordinates
from edgesim.outcomes.indicators import (
    NO_ACTION,
    first_failures,
    land_kept,
    reach_mask,
    retreats,
    stands_alone,
    takeover_year,
)
from edgesim.outcomes.provenance import provenance
from edgesim.scenario import ScenarioFile

Result = Mapping[str, NDArray[Any]]
Span = tuple[float, float]

SINGLE_PRECISION = ("edge_position", "surface_section", "oyster_sizes")
"""The large fields, kept as float32 (0.002 mm at 30 m)."""

TIME_AND_SPACE = ("time", "alongshore", "cross_shore")

LABELS = ("option", "ledger_entry", "budget", "cost_head", "datum", "shell_part")
"""Dimensions whose coordinate is a name. On disk it is called ``option_name`` and so on,
since a CF coordinate variable is numeric and a label is an auxiliary coordinate (CF 6.1)."""

SITE_LABELS = ("boat_class", "day_kind", "belief")
"""The same for what only a forecast with its site has."""

ELEVATIONS = (
    "surface_section",
    "mean_sea_level",
    "reef_crest",
    "wall_crest",
    "reef_crest_built",
    "datum_level",
)
"""Quantities measured up from the vertical datum."""


@dataclass(frozen=True, slots=True)
class Facts:
    """The geometry and the calendar that all options and members share.

    Attributes
    ----------
    alongshore, cross_shore : ndarray
        Cell centres along the shore and across it (landward). [m]
    cell_size, shore_length : float
        Length of shore of one cell, and of the whole. [m]
    time_days : ndarray
        Record times since `start`. [d]
    start : date
        First day.
    initial_edge : ndarray
        Edge position at the start, at each `alongshore`. [m]
    defended : (float, float)
        Reach that the design covers; the whole shore without a design. [m]
    wall_segments, reef_segments : tuple of (float, float)
        Start and end of every wall and reef run along the shore. [m]
    wall_position, wall_crest, wall_thickness : float
        Centre line, crest level and thickness across the shore; NaN without walls. [m]
    reef_position, reef_width, reef_crest_built : float
        Centre line, total width and crest at build; NaN without a reef. [m]
    datums : mapping of str to float
        Tidal datums, such as MHW, above the vertical datum. [m]
    vertical_datum : str
        Name of the datum that every elevation refers to.
    """

    alongshore: NDArray[np.float64]
    cross_shore: NDArray[np.float64]
    cell_size: float
    shore_length: float
    time_days: NDArray[np.float64]
    start: date
    initial_edge: NDArray[np.float64]
    defended: Span
    wall_segments: tuple[Span, ...]
    wall_position: float
    wall_crest: float
    wall_thickness: float
    reef_segments: tuple[Span, ...]
    reef_position: float
    reef_width: float
    reef_crest_built: float
    datums: Mapping[str, float]
    vertical_datum: str


def build_dataset(
    facts: Facts,
    options: Sequence[str],
    results: Sequence[Sequence[Result]],
    scenario_file: ScenarioFile,
    members: Sequence[int] | None = None,
) -> xr.Dataset:
    """Gather the results of every option and member with what they mean.

    Parameters
    ----------
    facts : Facts
        Shared geometry and calendar.
    options : sequence of str
        Option names; one of them is "no action".
    results : sequence of sequence of mapping
        One mapping of quantity name to array per option and member.
    scenario_file : ScenarioFile
        The scenario that was run, for goals and provenance.
    members : sequence of int, optional
        Numbers of the members; by default from 0 on without gaps.

    Returns
    -------
    xarray.Dataset
        Dimensions ``option``, ``member``, ``time`` and those of the fields.

    Raises
    ------
    InvalidParameterError
        If the results do not fit the options or lack a quantity.
    """
    _check(options, results)
    arrays = {
        variable.name: _stack(results, variable.name)
        for variable in VARIABLES
        if variable.name not in DERIVED
    }
    share = scenario_file.central.goals.takeover_share
    arrays |= derive(facts, list(options), arrays, share)
    dataset = xr.Dataset(
        {name: _described(BY_NAME[name], values, facts) for name, values in arrays.items()}
        | _layout(facts),
        coords=coordinates(facts, options, members or range(len(results[0]))),
        attrs=_global_attributes(facts, scenario_file),
    )
    # Decoding here as a reader would makes the Dataset in memory equal to the one read back.
    return xr.decode_cf(dataset)


def _check(options: Sequence[str], results: Sequence[Sequence[Result]]) -> None:
    """Refuse results that would give a Dataset with holes."""
    counts = {len(members) for members in results}
    if len(results) != len(options) or len(counts) != 1 or counts == {0}:
        msg = (
            f"results must hold one list a option ({len(options)} options), all of the same "
            f"length; it holds {[len(members) for members in results]} members."
        )
        raise InvalidParameterError(msg)
    if NO_ACTION not in options:
        msg = f"options must include {NO_ACTION!r}, which the others are compared with; got {list(options)}."
        raise InvalidParameterError(msg)
    needed = {variable.name for variable in VARIABLES} - set(DERIVED)
    missing = sorted(needed - set(results[0][0]))
    if missing:
        msg = f"results lack the quantities {missing}."
        raise InvalidParameterError(msg)


def _stack(results: Sequence[Sequence[Result]], name: str) -> NDArray[np.float64]:
    values = [
        [np.asarray(member[name], dtype=np.float64) for member in members] for members in results
    ]
    if BY_NAME[name].dims[-1] == "visit":
        return _padded(values)
    return np.array(values, dtype=np.float64)


def _padded(logs: list[list[NDArray[np.float64]]]) -> NDArray[np.float64]:
    """Logs of every option and member in one array, as long as the longest, at least one row."""
    used = [int(np.isfinite(log).sum()) for members in logs for log in members]
    padded = np.full((len(logs), len(logs[0]), max([1, *used])), np.nan)
    for option, members in enumerate(logs):
        for member, log in enumerate(members):
            rows = min(log.size, padded.shape[-1])
            padded[option, member, :rows] = log[:rows]
    return padded


def derive(
    facts: Facts, options: list[str], arrays: Mapping[str, NDArray[np.float64]], share: float
) -> dict[str, NDArray[np.float64]]:
    """Quantities that follow from the recorded ones, arrays ``[option, member, time, ...]``.

    Parameters
    ----------
    facts : Facts
        Shared geometry and calendar.
    options : list of str
        Option names; one of them is "no action".
    arrays : mapping of str to ndarray
        Recorded quantities.
    share : float
        Share of the open power below which the reef has taken over. [1]

    Returns
    -------
    dict of str to ndarray
        Those of ``edgesim.names.DERIVED``.
    """
    edge = arrays["edge_position"]
    defended = reach_mask(facts.alongshore, *facts.defended)
    has_reef = np.isfinite(arrays["reef_crest"]).any(axis=-1, keepdims=True)
    reef_power = np.where(has_reef, arrays["edge_power_reef"], np.nan)
    return {
        **retreats(edge, facts.initial_edge, defended),
        "land_kept": land_kept(edge, edge[options.index(NO_ACTION)], facts.cell_size),
        "platform_starved": arrays["platform_rise_behind"][[options.index(NO_ACTION)]]
        - arrays["platform_rise_behind"],
        "takeover_year": takeover_year(
            reef_power,
            arrays["edge_power_open"],
            stands_alone(arrays["consolidation"], arrays["mesh_intact"]),
            facts.time_days / DAYS_PER_YEAR,
            share,
        ),
        **first_failures(arrays, facts.time_days / DAYS_PER_YEAR),
        **cash_flow(arrays["ledger"], facts.time_days / DAYS_PER_YEAR),
    }


def _described(variable: Variable, values: NDArray[np.float64], facts: Facts) -> xr.Variable:
    attributes: dict[str, Any] = dict(
        _attributes(variable.name, variable.long_name, variable.unit, facts)
    )
    if variable.standard_name:
        attributes["standard_name"] = variable.standard_name
    if variable.cell_methods:
        attributes["cell_methods"] = variable.cell_methods
    if variable.flags:
        attributes["flag_values"] = np.arange(len(variable.flags), dtype=np.float64)
        attributes["flag_meanings"] = " ".join(variable.flags)
    kind = np.float32 if variable.name in SINGLE_PRECISION else np.float64
    described = xr.Variable(variable.dims, values.astype(kind), attributes)
    # CF 2.4: what is neither time nor space stands left of them.
    return described.transpose(*(dim for dim in variable.dims if dim not in TIME_AND_SPACE), ...)


def _attributes(name: str, long_name: str, unit: str, facts: Facts) -> dict[str, str]:
    attributes = {"long_name": long_name, "units": unit}
    if name in ELEVATIONS:
        attributes["comment"] = f"positive up from {facts.vertical_datum}"
    return attributes


def _layout(facts: Facts) -> dict[str, xr.Variable]:
    """Where the shore and the lines are; what the design lacks is left out."""
    entries: dict[str, tuple[tuple[str, ...], Any, str]] = {
        "initial_edge": (("alongshore",), facts.initial_edge, "edge position at the start"),
        "cell_size": ((), facts.cell_size, "length of shore of a grid cell"),
        "shore_length": ((), facts.shore_length, "length of shore in the forecast"),
        "defended_start": ((), facts.defended[0], "start of the reach that the design covers"),
        "defended_end": ((), facts.defended[1], "end of the reach that the design covers"),
        "datum_level": (("datum",), list(facts.datums.values()), "level of the tidal datum"),
    }
    if facts.wall_segments:
        starts, ends = np.array(facts.wall_segments, dtype=np.float64).T
        entries |= {
            "wall_start": (("wall",), starts, "start of each wall along the shore"),
            "wall_end": (("wall",), ends, "end of each wall along the shore"),
            "wall_position": ((), facts.wall_position, "cross-shore position of the wall line"),
            "wall_crest": ((), facts.wall_crest, "crest level of the walls at build"),
            "wall_thickness": ((), facts.wall_thickness, "thickness of the walls across the shore"),
        }
    if facts.reef_segments:
        starts, ends = np.array(facts.reef_segments, dtype=np.float64).T
        entries |= {
            "reef_start": (("reef_run",), starts, "start of each reef run along the shore"),
            "reef_end": (("reef_run",), ends, "end of each reef run along the shore"),
            "reef_position": ((), facts.reef_position, "cross-shore position of the reef line"),
            "reef_width": ((), facts.reef_width, "width of the reef across the shore"),
            "reef_crest_built": ((), facts.reef_crest_built, "crest level of the reef at build"),
        }
    return {
        name: xr.Variable(dims, np.asarray(values, np.float64), _attributes(name, text, "m", facts))
        for name, (dims, values, text) in entries.items()
    }


def _global_attributes(facts: Facts, scenario_file: ScenarioFile) -> dict[str, Any]:
    found = provenance(scenario_file, f"forecast of {Path(scenario_file.path).name}")
    return {**found, "vertical_datum": facts.vertical_datum}


def years_elapsed(dataset: xr.Dataset) -> NDArray[np.float64]:
    """Time since the start of every record, in Julian years."""
    return np.asarray(dataset["elapsed"].values, dtype=np.float64)


def has_walls(dataset: xr.Dataset, option: str) -> bool:
    """Whether an option builds the walls."""
    return bool(np.isfinite(dataset["fill_fraction"].sel(option=option)).any())


def has_reef(dataset: xr.Dataset, option: str) -> bool:
    """Whether an option builds the reef."""
    return bool(np.isfinite(dataset["reef_crest"].sel(option=option)).any())


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Write to a name beside the target, and move it there only when complete.

    Parameters
    ----------
    path : Path
        The target.

    Yields
    ------
    Path
        The temporary name to write to.

    Raises
    ------
    DataFileError
        If the target cannot be written.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield temporary
        temporary.replace(path)
    except OSError as error:
        msg = f"{path}: cannot be written ({error.strerror or error}). Name a folder that exists and may be written to."
        raise DataFileError(msg) from error
    finally:
        temporary.unlink(missing_ok=True)


def write_dataset(dataset: xr.Dataset, path: str | Path) -> None:
    """Write the Dataset as compressed netCDF-4.

    Parameters
    ----------
    dataset : xarray.Dataset
        As :func:`build_dataset` makes it.
    path : str or Path
        Target, replaced only when the new file is complete.
    """
    labels = [*LABELS, *(name for name in SITE_LABELS if name in dataset.coords)]
    labelled = dataset.rename_vars({name: f"{name}_name" for name in labels})
    encoding: dict[str, dict[str, Any]] = {
        str(name): {"_FillValue": None} for name in labelled.coords
    }
    encoding["time"]["dtype"] = "float64"
    for name, variable in labelled.data_vars.items():
        encoding[str(name)] = {"zlib": True, "complevel": 4} if variable.ndim else {}
    with replacing(Path(path)) as temporary:
        labelled.to_netcdf(temporary, engine="netcdf4", format="NETCDF4", encoding=encoding)


def read_dataset(path: str | Path) -> xr.Dataset:
    """Read a Dataset that :func:`write_dataset` wrote, whole, and close the file.

    Parameters
    ----------
    path : str or Path
        The netCDF file.

    Returns
    -------
    xarray.Dataset
        In memory.

    Raises
    ------
    DataFileError
        If the file is missing or no netCDF.
    """
    try:
        labelled = xr.load_dataset(path, engine="netcdf4")
    except OSError as error:
        msg = f"{path}: cannot be read as netCDF ({error.strerror or error}). Name a file that a forecast wrote."
        raise DataFileError(msg) from error
    missing = [name for name in LABELS if f"{name}_name" not in labelled.coords]
    if missing:
        msg = f"{path}: holds no forecast (no names for {missing}). Name a file that a forecast wrote."
        raise DataFileError(msg)
    labels = [*LABELS, *(name for name in SITE_LABELS if f"{name}_name" in labelled.coords)]
    names = {name: f"{name}_name" for name in labels}
    return labelled.swap_dims(names).rename({label: name for name, label in names.items()})


def write_table(rows: Sequence[Any], path: str | Path) -> None:
    """Write rows (instances of one dataclass) as CSV with a header.

    Parameters
    ----------
    rows : sequence of dataclass instances
        At least one; the field names become the header.
    path : str or Path
        Target, replaced only when the new file is complete.

    Raises
    ------
    InvalidParameterError
        If there is no row.
    """
    if not rows:
        msg = "rows must hold at least one row; it is empty."
        raise InvalidParameterError(msg)
    with (
        replacing(Path(path)) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as stream,
    ):
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(field.name for field in fields(rows[0]))
        writer.writerows(astuple(row) for row in rows)
