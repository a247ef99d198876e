"""Datasets whose dimensions carry names, to netCDF and back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import xarray as xr

from edgesim.errors import DataFileError
from edgesim.outcomes.dataset import replacing


def write_labelled(dataset: xr.Dataset, path: str | Path) -> None:
    """Write a Dataset as compressed netCDF-4; names of dimensions become auxiliary coordinates.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison or a study.
    path : str or Path
        Target, replaced only when the new file is complete.
    """
    labels = [str(name) for name, one in dataset.coords.items() if one.dtype.kind in "OUT"]
    renamed = dataset.rename_vars({name: f"{name}_name" for name in labels})
    for held in renamed.variables.values():
        held.encoding = {}  # what was read with a file must not come back with another name
    encoding: dict[str, dict[str, Any]] = {str(n): {"_FillValue": None} for n in renamed.coords}
    for name, variable in renamed.data_vars.items():
        packed = bool(variable.ndim) and variable.dtype.kind not in "OUT"
        encoding[str(name)] = {"zlib": True, "complevel": 4} if packed else {}
    with replacing(Path(path)) as temporary:
        renamed.to_netcdf(temporary, engine="netcdf4", format="NETCDF4", encoding=encoding)


def read_labelled(path: str | Path) -> xr.Dataset:
    """Read what :func:`write_labelled` wrote, whole, and close the file.

    Raises
    ------
    DataFileError
        If the file is missing or no netCDF.
    """
    try:
        found = xr.load_dataset(path, engine="netcdf4")
    except OSError as error:
        msg = f"{path}: cannot be read as netCDF ({error.strerror or error}). Name a file that a study wrote."
        raise DataFileError(msg) from error
    names = {
        str(name).removesuffix("_name"): str(name)
        for name in found.coords
        if str(name).endswith("_name") and str(name).removesuffix("_name") in found.dims
    }
    return found.swap_dims(names).rename({label: name for name, label in names.items()})
