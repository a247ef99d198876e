"""The undefended flat of the survey: what settles on it and is stirred up again."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import SECONDS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP, look_up
from edgesim.model.edge import LOWEST_SCARP
from edgesim.model.grid import make_grid
from edgesim.model.mud import LEAST_CONCENTRATION, balance_suspended, seasonal_concentration
from edgesim.model.step import Member
from edgesim.processes.mud import krone_share, tidal_deposition
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]


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
    settings = member.edge_settings
    season = np.array([seasonal_concentration(settings, float(phase)) for phase in year_phase])
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
    season = 0.5 * (settings.winter_factor + settings.summer_factor)
    mean = settings.concentration * season
    reference = max(mean, LEAST_CONCENTRATION)
    sea_level = float(member.weather.mean_sea_level[0])
    ladder, place = np.unique(grid.bed - sea_level, return_inverse=True)
    rungs = []
    for level in ladder.tolist():
        wet = 1.0 - look_up(member.weather.dry_share, TABLE_LOW, TABLE_STEP, level)
        flood = look_up(member.weather.flood_depth, TABLE_LOW, TABLE_STEP, level)
        calm = tidal_deposition(
            reference, flood, settings.trapping, settings.settling_velocity, wet
        )
        rungs.append((wet, flood * wet, calm))
    wet_share, depth, calm_water = np.array(rungs)[place.reshape(grid.bed.shape)].transpose(2, 0, 1)
    settled = calm_water * np.vectorize(krone_share)(hindered, wet_share)
    water = np.ones_like(grid.bed)
    height = np.maximum(
        (grid.platform - grid.bed)[last_flat, np.arange(grid.edge.size)], LOWEST_SCARP
    )
    falling = rate * height * grid.dy * settings.soil_density * settings.scarp_share
    nothing = np.zeros_like(grid.bed)
    # In balance as much is stirred up as settles: the scarp's mud leaves by mixing alone.
    balance_suspended(
        water,
        grid.edge,
        grid.dx,
        grid.dy,
        settings.mixing * SECONDS_PER_YEAR * reference,
        mean / reference,
        int(last_flat.max()) + 1,
        np.full(1, -1, dtype=np.int64),
        np.ones((1, grid.edge.size)),
        nothing,
        nothing,
        np.ascontiguousarray(depth),
        falling,
        1.0,
        member.work.boxes,
    )
    water = before_edge(water)
    return NaturalFlat(stirring, currents, before_edge(settled) * water, water[-1])
