"""How the chance of takeover depends on spat and on how long branches last."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import xarray as xr

from edgesim import __version__
from edgesim.scenario import ScenarioFile
from edgesim.studies.ensemble import run_forecast


def takeover_map(
    scenario_file: ScenarioFile,
    option: str,
    recruitment: Sequence[float],
    branch_life: Sequence[float],
    wires: Sequence[str],
    workers: int | None = 1,
) -> xr.Dataset:
    """Chance of takeover for every pair of recruitment and branch life, by kind of wire.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A scenario with walls and a reef.
    option : str
        The option looked at.
    recruitment : sequence of float
        Young oysters that settle in a middling year. [m-2 year-1]
    branch_life : sequence of float
        Time in which branches rot to 1/e. [year]
    wires : sequence of str
        Wires of cage and rings.
    workers : int, optional
        As in :func:`edgesim.studies.ensemble.run_forecast`.

    Returns
    -------
    xarray.Dataset
        ``takeover_chance`` over wire, branch_life and recruitment; the members are the same
        everywhere, so that differences are not those of the draw.
    """
    chance = np.empty((len(wires), len(branch_life), len(recruitment)))
    for (i, wire), (j, life), (k, recruits) in product(
        enumerate(wires), enumerate(branch_life), enumerate(recruitment)
    ):
        changed = scenario_file.overridden(
            {
                "oysters.recruitment": float(recruits),
                "design.walls.branch_decay": 1.0 / life,
                "design.reef.wire": wire,
                "design.reef.rings": wire,
            }
        )
        years = run_forecast(changed, workers)["takeover_year"].sel(option=option).values
        chance[i, j, k] = np.isfinite(years).mean()
    central = scenario_file.central
    return xr.Dataset(
        {"takeover_chance": (("wire", "branch_life", "recruitment"), chance)},
        coords={
            "wire": list(wires),
            "branch_life": np.asarray(branch_life, dtype=np.float64),
            "recruitment": np.asarray(recruitment, dtype=np.float64),
        },
        attrs={
            "option": option,
            "members": central.run.members,
            "years": central.run.years,
            "takeover_share": central.goals.takeover_share,
            "title": central.title,
            "comment": central.notes,
            "source": f"edgesim {__version__}",
        },
    )
