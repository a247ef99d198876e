"""One run of a comparison or a study: one member of one design at given inputs."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from edgesim.model.common import RECORDS_PER_YEAR
from edgesim.model.forecast import run_option
from edgesim.names import BY_NAME
from edgesim.outcomes.dataset import derive
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.measures import YEARLY
from edgesim.scenario import ScenarioFile
from edgesim.studies.layouts import Bench, Recent
from edgesim.studies.study import Quantity

VARIANTS = 200
"""Changed scenarios that one process keeps. [1]"""


@dataclass(frozen=True)
class Shared:
    """What all runs share.

    Attributes
    ----------
    files : tuple of ScenarioFile
        Scenarios that runs refer to by number.
    options : tuple of str
        Option of each that is run.
    """

    files: tuple[ScenarioFile, ...]
    options: tuple[str, ...]


class _Process:
    """What this process keeps between runs."""

    bench = Bench()
    variants = Recent(VARIANTS)


def job(
    file: int,
    member: int,
    changes: Mapping[str, Any] | None = None,
    shares: Mapping[str, float] | None = None,
) -> dict[str, Any]:
    """Describe one run in plain words and numbers.

    Parameters
    ----------
    file : int
        Which scenario.
    member : int
        Which member: the chance of everything that is not given.
    changes : mapping, optional
        Path -> value in inside units, or word.
    shares : mapping, optional
        Path of a distribution -> share of probability.

    Returns
    -------
    dict
    """
    return {
        "file": file,
        "member": member,
        "changes": dict(changes or {}),
        "shares": dict(shares or {}),
    }


def run_job(shared: Shared, payload: Mapping[str, Any]) -> dict[str, Any]:
    """Run one job.

    Parameters
    ----------
    shared : Shared
        What all runs share.
    payload : mapping
        From :func:`job`.

    Returns
    -------
    dict
        ``yearly``, (quantities, years + 1), and ``takeover_year``.
    """
    number, changes = int(payload["file"]), payload["changes"]
    base, option_name = shared.files[number], shared.options[number]
    key = (id(base), json.dumps(changes, sort_keys=True))
    # The scenario is kept beside what was made of it, so that its number is not used again.
    _, variant = _Process.variants.get(
        key, lambda: (base, base.overridden(changes) if changes else base)
    )
    layout = _Process.bench.layout(variant)
    drawn = variant.at_shares(payload["shares"]) if payload["shares"] else variant
    forcing, calibration, nothing = _Process.bench.member(drawn, layout, int(payload["member"]))
    scenario = forcing.scenario
    option = next(one for one in scenario.options if one.name == option_name)
    built = (
        run_option(forcing, calibration, layout.common, option)
        if option.walls or option.reef
        else nothing
    )
    # Upkeep logs are as long as each one's rule asks; nothing is derived from them.
    arrays = {
        name: np.stack([nothing[name], values])[:, None]
        for name, values in built.items()
        if BY_NAME[name].dims[-1] != "visit"
    }
    derived = derive(layout.facts, [NO_ACTION, option_name], arrays, scenario.goals.takeover_share)
    yearly = np.stack(
        [
            (derived[name][1, 0] if name in derived else np.asarray(built[name]))[
                ::RECORDS_PER_YEAR
            ]
            for name in YEARLY
        ]
    )
    return {"yearly": yearly, "takeover_year": float(derived["takeover_year"][1, 0])}


def template(years: int) -> dict[str, Quantity]:
    """What a run gives, for the store."""
    units = {name: BY_NAME[name].unit for name in YEARLY}
    return {
        "yearly": Quantity(
            ("quantity", "year"),
            (len(YEARLY), years + 1),
            attributes={
                "long_name": "quantities of the design at whole years",
                "quantity_names": list(YEARLY),
                "quantity_units": list(units.values()),
            },
        ),
        "takeover_year": Quantity(
            attributes={"long_name": BY_NAME["takeover_year"].long_name, "units": "year"}
        ),
    }
