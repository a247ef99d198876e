"""The undefended flat of the survey: what settles on it and is stirred up again."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, SECONDS_PER_YEAR
from edgesim.model.edge import LOWEST_SCARP, EdgeSettings
from edgesim.model.grid import make_grid
from edgesim.model.mud import exchange_mud, seasonal_concentration
from edgesim.model.state import State
from edgesim.model.step import Member
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]


MEAN_PHASE = 0.08 + 0.25
"""Time of the year at which the water holds its yearly mean of mud. [year]"""


class NaturalFlat(NamedTuple):
    """Stirring, settling and water of the undefended flat; see :class:`edgesim.model.edge.EdgeSettings`."""

    stirring: Floats
    current_stirring: Floats
    natural_deposition: Floats
    natural_water: Floats


def season_of_classes(tally: Floats, year_phase: Floats, member: Member) -> Floats:
    """Mean concentration that each level and class meets over the mean of the year. (n_levels, n_classes).

    Summer brings boats and muddy water alike: what waves keep from settling counts by the mud in
    the water.
    """
    # The formula itself: calling it compiled costs more than its work.
    formula = getattr(seasonal_concentration, "py_func", seasonal_concentration)
    season = np.array([formula(member.edge_settings, phase) for phase in year_phase.tolist()])
    mean = season.mean()
    if mean <= 0.0:
        return np.ones(tally.shape[1:])
    counts = tally.sum(axis=0)
    weighted = np.tensordot(season / mean, tally, axes=1)
    return np.where(counts > 0.0, weighted / np.where(counts > 0.0, counts, 1.0), 1.0)


def natural_flat(
    member: Member, excess: Floats, hindered: Floats, rate: float, scenario: Scenario
) -> NaturalFlat:
    """Find the stirring and settling of every cell of the undefended flat, which balance.

    Parameters
    ----------
    member : Member
        Without lines.
    excess, hindered : ndarray, (nx, ny)
        Seconds of a second of the history's waves, as in the wave result. [1]
    rate : float
        Retreat of the edge, whose mud goes into the water. [m year-1]
    scenario : Scenario
        A member's values.

    Returns
    -------
    NaturalFlat
    """
    grid, settings = make_grid(scenario), member.edge_settings
    # What the sea lays bare later behaves as the last cell before the edge does now.
    rows = np.arange(grid.cross_shore.size)[:, None]
    last_flat = (grid.cross_shore[:, None] < grid.edge[None, :]).sum(axis=0) - 1
    source = np.minimum(rows, last_flat)

    def before_edge(values: Floats) -> Floats:
        return np.take_along_axis(values, source, axis=0)

    stirring = before_edge(excess)
    share = scenario.mud.current_share
    # Cells that waves never stir are stirred by currents alone, whatever their strength.
    currents = np.where(stirring > 0.0, stirring * share / max(1.0 - share, 1e-6), 1.0)
    sea_level = float(member.weather.mean_sea_level[0])
    nothing = np.zeros_like(grid.bed)

    def in_a_mean_year(numbers: EdgeSettings) -> State:
        """What a year of mean water does to a copy of the flat that stirs up nothing."""
        state = State(*(field.copy() for field in member.state))
        height = (grid.platform - grid.bed)[last_flat, np.arange(grid.edge.size)]
        volume = rate * np.maximum(height, LOWEST_SCARP) * grid.dy
        state.scarp_mud[:] = volume * numbers.soil_density * numbers.scarp_share
        exchange_mud(
            state,
            numbers._replace(natural_deposition=nothing),
            nothing,
            nothing,
            hindered * SECONDS_PER_YEAR,
            DAYS_PER_YEAR,
            MEAN_PHASE,
            sea_level,
            member.weather.dry_share,
            member.weather.flood_depth,
            np.full(2, -1, dtype=np.int64),
            np.ones((2, grid.edge.size)),
            member.work.fluxes,
            member.work.boxes,
        )
        return state

    in_a_mean_year(settings)
    settled = before_edge(member.work.fluxes[0])
    # In balance as much is stirred up as settles: the scarp's mud leaves by mixing alone.
    water = before_edge(in_a_mean_year(settings._replace(trapping=0.0)).suspended)
    return NaturalFlat(stirring, currents, settled * water, water[-1])
