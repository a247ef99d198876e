"""Gives a forecast what a study of the same shore found, under the names of :mod:`edgesim.outcomes.extras`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import xarray as xr
from scipy.special import ndtri

from edgesim.errors import DataFileError
from edgesim.outcomes.label_files import read_labelled

STUDY_FILE = "study.nc"

NARROWER = float(ndtri(0.95) / ndtri(0.975))
"""Half-width of the 90 % interval over that of the 95 % interval: bounds of studies are a number
of standard errors. [1]"""


def read_study(place: Path, options: Iterable[str]) -> xr.Dataset:
    """Read a study that is to be shown with a forecast.

    Parameters
    ----------
    place : Path
        Folder that a study was written to, or its netCDF file.
    options : iterable of str
        Options of the forecast.

    Returns
    -------
    xarray.Dataset

    Raises
    ------
    DataFileError
        If there is no study, it is of another option, or it has got neither to shares of the
        variance nor to a map with targets.
    """
    file = place / STUDY_FILE if place.is_dir() else place
    if not file.exists():
        msg = f"{file}: does not exist. Name a folder that edgesim explore wrote."
        raise DataFileError(msg)
    study = read_labelled(file)
    option = study.attrs.get("option")
    if option not in list(options):
        msg = f"{file}: is no study of an option of this forecast ({option}). Name one of the same shore and option."
        raise DataFileError(msg)
    if "map_success" not in study and not _shares(study):
        msg = f"{file}: has neither shares of the variance nor a map with targets yet. Go on with edgesim explore --resume."
        raise DataFileError(msg)
    name = file.resolve().parent.name if file.name == STUDY_FILE else file.stem
    return study.assign_attrs(study_name=name)


def add_study(dataset: xr.Dataset, study: xr.Dataset) -> xr.Dataset:
    """Add the shares of the variance and the map of a study to a forecast.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    study : xarray.Dataset
        From :func:`read_study`.

    Returns
    -------
    xarray.Dataset
        With ``sensitivity_first`` and others, and ``success_chance``, as far as the study has
        them; the attribute ``study_note`` says from which study they are.
    """
    shares = _shares(study)
    added = dataset.assign({**shares, **_map(study, dataset)})
    added.attrs |= {"study_note": _note(study)}
    if shares:
        added.attrs["sensitivity_output"] = _outcome(study)[1]
    return added


def _outcome(study: xr.Dataset) -> tuple[int, str]:
    """Place and name of the outcome shown: marsh kept, the first of every study."""
    label = str(study["outcome_label"].values[0])
    return 0, label[:1].lower() + label[1:]


def _shares(study: xr.Dataset) -> dict[str, xr.DataArray]:
    """Shares at the whole sample; what has not converged says so in its name."""
    if "total" not in study:
        return {}
    place, _ = _outcome(study)
    if not np.isfinite(study["total"].values[-1, place]).all():
        return {}
    known = study["total_converged"].values[place].astype(bool)
    names = [
        str(name) if sure else f"{name} (not converged)"
        for name, sure in zip(study["leading"].values, known, strict=True)
    ]

    def of(which: str, factor: float = 1.0) -> xr.DataArray:
        values = factor * study[which].values[-1, place]
        return xr.DataArray(values, dims=("input",), coords={"input": names})

    return {
        "sensitivity_first": of("first"),
        "sensitivity_first_bound": of("first_bound", NARROWER),
        "sensitivity_total": of("total"),
        "sensitivity_total_bound": of("total_bound", NARROWER),
    }


def _map(study: xr.Dataset, dataset: xr.Dataset) -> dict[str, xr.DataArray]:
    """Chance of success at the middle one of the map's quantiles."""
    if "map_success" not in study:
        return {}
    taken = {str(name) for name in (*dataset.dims, *dataset.variables)}
    labels = [str(study.attrs["map_rows"]), str(study.attrs["map_columns"])]
    dims = [label if label not in taken else f"{label} of the study" for label in labels]
    coords = {
        dim: (dim, study[level].values.astype(str), {"long_name": label})
        for dim, label, level in zip(dims, labels, ("row_level", "column_level"), strict=True)
    }
    middle = _middle(study)
    chance = study["map_success"].values[middle]
    futures = {"futures": int(study["map_members"].values[middle].min())}
    return {"success_chance": xr.DataArray(chance, dims=dims, coords=coords, attrs=futures)}


def _middle(study: xr.Dataset) -> int:
    """Place of the quantile next to one half."""
    return int(np.argmin(np.abs(study["over_quantile"].values - 0.5)))


def _note(study: xr.Dataset) -> str:
    """Which study it was, how large, and what its map stands on."""
    said = [f"study “{study.attrs['study_name']}” of {study.attrs['option']} ({study.attrs['title']}), seed {study.attrs['seed']}"]  # fmt: skip
    if "total" in study:
        said.append(f"{int(study['size'].values[-1])} base points for shares of the variance")
    if "map_success" in study:
        middle = _middle(study)
        members = study["map_members"].values[middle]
        at = f"{study.attrs['map_over']} {study['map_over_value'].values[middle]}"
        said.append(f"map from {members.min()} futures a cell, at {at}")
    return ", ".join(said)
