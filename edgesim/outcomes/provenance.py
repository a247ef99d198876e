"""Where a Dataset comes from: everything needed to make it again."""

from __future__ import annotations

import importlib.metadata
import os
import platform
from datetime import UTC, datetime
from typing import Any

from edgesim import __version__
from edgesim.scenario import CAUTIONS, ScenarioFile

LIBRARIES = ("numpy", "scipy", "xarray", "netCDF4", "numba", "pydantic", "pint")


def _run_attributes(scenario_file: ScenarioFile) -> dict[str, Any]:
    scenario = scenario_file.central
    return {
        "seed": scenario.run.seed,
        "takeover_share": scenario.goals.takeover_share,
        "currency": scenario.prices.currency,
        "price_year": scenario.prices.price_year,
        "discount_rate": scenario.prices.discount_rate,
        "library_versions": _library_versions(),
        "edgesim_scenario_sha256": scenario_file.digest(),
        "edgesim_scenario": scenario_file.resolved_toml(),
    }


def provenance(scenario_file: ScenarioFile, what: str) -> dict[str, Any]:
    """Attributes that say of a Dataset where it comes from.

    Parameters
    ----------
    scenario_file : ScenarioFile
        The scenario that was run.
    what : str
        What was done with it, in a few words.

    Returns
    -------
    dict of str to object
        Enough to make it again.
    """
    scenario = scenario_file.central
    return {
        "Conventions": "CF-1.11",
        "title": scenario.title,
        "institution": "not stated in the scenario",
        "source": f"edgesim {__version__}",
        "history": f"{_now():%Y-%m-%dT%H:%M:%SZ} edgesim {__version__}: {what}",
        "references": "edgesim documentation, page docs/sources.md",
        "comment": " ".join(part for part in (scenario.notes.strip(), CAUTIONS) if part),
        **_run_attributes(scenario_file),
    }


def _now() -> datetime:
    """Give the time of writing, or the one frozen by SOURCE_DATE_EPOCH (seconds)."""
    frozen = os.environ.get("SOURCE_DATE_EPOCH")
    return datetime.fromtimestamp(int(frozen), UTC) if frozen else datetime.now(UTC)


def _library_versions() -> str:
    found = [f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES]
    return ", ".join([f"Python {platform.python_version()}", *found])
