"""The scenario that a forecast carries with it, read back.

A Dataset holds its resolved scenario as text, and the origin of every input as
JSON, so that figures and tables need no other file.
"""

from __future__ import annotations

import functools
import json
import tomllib
from pathlib import Path
from typing import Any

import xarray as xr

from edgesim.errors import DataFileError
from edgesim.outcomes.needs import variables
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.loader import from_table
from edgesim.scenario.summary import as_data

INPUTS = "edgesim_inputs"
"""Attribute that holds every input with its value, spread and origin."""

SITE = variables(
    INPUTS,
    reason="this forecast was written without its inputs",
    remedy="run the forecast again with this version of edgesim",
)


def inputs_text(scenario_file: ScenarioFile) -> str:
    """Write every input of a scenario, with its origin, as JSON for the Dataset."""
    return json.dumps(as_data(scenario_file), ensure_ascii=True, separators=(",", ":"))


def inputs_of(dataset: xr.Dataset) -> list[dict[str, str]]:
    """Every input of the scenario behind a forecast.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with the attribute `INPUTS`.

    Returns
    -------
    list of dict
        Path, value, spread, given_by, as_written, source and mark.
    """
    found: list[dict[str, str]] = json.loads(dataset.attrs[INPUTS])["inputs"]
    return found


def banner_of(dataset: xr.Dataset) -> str:
    """One line that says how much of the scenario is not the user's own."""
    words: str = json.loads(dataset.attrs[INPUTS])["banner"]
    return words


def scenario_of(dataset: xr.Dataset) -> Scenario:
    """Scenario behind a forecast, every distribution at its median.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Scenario

    Raises
    ------
    DataFileError
        If the scenario in the Dataset is none that this version reads.
    """
    return _read(str(dataset.attrs["edgesim_scenario"])).central


def scenario_file_of(dataset: xr.Dataset) -> ScenarioFile:
    """Scenario behind a forecast with its distributions, from which its members can be drawn again."""
    return _read(str(dataset.attrs["edgesim_scenario"]))


def distributions_of(dataset: xr.Dataset) -> dict[str, Any]:
    """Every uncertain input of a forecast by its path."""
    return dict(_read(str(dataset.attrs["edgesim_scenario"])).distributions)


@functools.lru_cache(maxsize=4)
def _read(text: str) -> ScenarioFile:
    try:
        return from_table(tomllib.loads(text), Path("scenario.toml"))
    except (tomllib.TOMLDecodeError, ValueError) as error:
        msg = f"the forecast's own scenario cannot be read ({error}). Run the forecast again with this version."
        raise DataFileError(msg) from error
