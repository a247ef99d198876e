"""The waves of a site as a boater or a manager would describe them, before any forecast.

For every class of boats and for the wind: how many, how high, how long, at the outer line and
at the undefended edge, and which share of the power that works on the edge is theirs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.tally import expect_wakes, expect_wind_waves
from edgesim.forcing.waves import Fleet, deep_water_flux, fleet, sample_passages, waterway
from edgesim.forcing.wind import wind_sea, wind_table
from edgesim.model.common import Common, MemberForcing, member_forcing, prepare
from edgesim.model.forecast import UNDEFENDED, set_up
from edgesim.model.ground import SHALLOWEST
from edgesim.model.step import solve
from edgesim.processes.bed_stress import friction_decay_rate
from edgesim.processes.linear_waves import (
    breaking_height,
    energy_flux,
    group_velocity,
    phase_speed,
)
from edgesim.scenario import Scenario, ScenarioFile

Floats = NDArray[np.float64]

MEMBERS = 20
"""Futures over which the spread is taken."""

PASSAGES = 400
"""Passages drawn of every class of boats."""

DAYS = 365

STEP = 0.5
"""Step of the way from the outer line to the edge. [m]"""

WIND = "wind"


@dataclass(frozen=True, slots=True)
class WaveClimateRow:
    """Median and 90 % band over members of one quantity of the waves of one source."""

    source: str
    quantity: str
    unit: str
    p05: float
    p50: float
    p95: float
    n: int


QUANTITIES = {
    "passages_per_day": "1",
    "waves_per_day": "1",
    "height_at_line": "m",
    "large_height_at_line": "m",
    "period": "s",
    "height_at_edge": "m",
    "large_height_at_edge": "m",
    "share_of_edge_power": "1",
}
"""Quantity and unit. Heights are of the highest wave of a packet, of the median passage and of one in
twenty; those of wind are of the energy-mean and of the highest row of the wind table."""


def wave_climate(scenario_file: ScenarioFile, n_members: int = MEMBERS) -> list[WaveClimateRow]:
    """Describe the waves of a site.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    n_members : int, default MEMBERS
        Members over which the spread is taken.

    Returns
    -------
    list of WaveClimateRow
        For every class of boats and for the wind, over the first members of the ensemble;
        ``edge_power`` of all sources together comes last, in W/m.
    """
    one_year = scenario_file.overridden(years=1)
    common = prepare(one_year, lines=False)
    members = [_of_member(one_year, common, index) for index in range(n_members)]
    rows = []
    for source in members[0]:
        for quantity in members[0][source]:
            values = [member[source][quantity] for member in members]
            p05, p50, p95 = (float(q) for q in np.quantile(values, [0.05, 0.5, 0.95]))
            unit = QUANTITIES.get(quantity, "W m-1")
            rows.append(WaveClimateRow(source, quantity, unit, p05, p50, p95, len(values)))
    return rows


def in_feet(row: WaveClimateRow) -> WaveClimateRow:
    """The same row in feet."""
    foot = 0.3048
    return replace(row, unit="ft", p05=row.p05 / foot, p50=row.p50 / foot, p95=row.p95 / foot)


def _of_member(
    scenario_file: ScenarioFile, common: Common, index: int
) -> dict[str, dict[str, float]]:
    forcing = member_forcing(scenario_file, common, index)
    scenario = forcing.scenario
    powers = _edge_powers(forcing, common)
    total = sum(powers.values())
    found = _boats(scenario, common, index)
    if scenario.wind is not None and WIND in powers:
        found[WIND] = _wind(scenario, common)
    for source, power in powers.items():
        found[source]["share_of_edge_power"] = power / total if total > 0.0 else 0.0
    found["all"] = {"edge_power": total}
    return found


def _boats(scenario: Scenario, common: Common, index: int) -> dict[str, dict[str, float]]:
    boats = fleet(scenario, common.outer_offset)
    n = boats.speed.size
    sample = np.empty((PASSAGES * n, 4))
    if n:
        generator = stream(scenario.run.seed, index, Purpose.CLASSES)
        sample_passages(boats, waterway(scenario), generator, sample)
    found = {}
    for i, boat in enumerate(scenario.traffic.classes):
        height, period, energy, onshore = sample[i::n].T
        middle, large = np.quantile(height, [0.5, 0.95])
        mean_period = float(np.average(period, weights=energy))
        mean_onshore = float(np.average(onshore, weights=energy))
        passages = scenario.traffic.level * (
            5.0 / 7.0 * boat.passages_weekday + 2.0 / 7.0 * boat.passages_weekend
        )
        at_edge = to_the_edge(
            scenario, common, np.array([middle, large]), mean_period, mean_onshore
        )
        found[boat.name] = {
            "passages_per_day": passages,
            "waves_per_day": passages * boat.waves_per_packet,
            "height_at_line": float(middle),
            "large_height_at_line": float(large),
            "period": mean_period,
            "height_at_edge": float(at_edge[0]),
            "large_height_at_edge": float(at_edge[1]),
        }
    return found


def _wind(scenario: Scenario, common: Common) -> dict[str, float]:
    share, flux, height, period = wind_table(scenario)
    weight = share * flux / float(share @ flux)
    mean = float(np.sqrt(weight @ height**2))
    mean_period = float(weight @ period)
    largest = float(height.max())
    at_edge = to_the_edge(scenario, common, np.array([mean, largest]), mean_period, 0.9)
    return {
        "waves_per_day": float(share @ (86400.0 / period)),
        "height_at_line": mean,
        "large_height_at_line": largest,
        "period": mean_period,
        "height_at_edge": float(at_edge[0]),
        "large_height_at_edge": float(at_edge[1]),
    }


def to_the_edge(
    scenario: Scenario, common: Common, height: Floats, period: float, onshore: float
) -> Floats:
    """Heights at the undefended edge at mean high water of waves of some heights at the outer line.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    common : Common
        What all members share.
    height : ndarray
        Deep-water heights at the outer line. [m]
    period, onshore : float
        Their period [s], and the cosine of their angle to the shore's normal. [1]

    Returns
    -------
    ndarray
        Refracted, shoaled, broken and worn by the bed, as in the march of the model. [m]
    """
    distance, elevation = np.array(scenario.site.profile, dtype=np.float64).T
    offset = common.outer_offset if common.outer_offset > 0.0 else float(distance[-1])
    steps = max(1, round(offset / STEP))
    places = offset * (1.0 - (np.arange(steps) + 0.5) / steps)
    depth = scenario.site.datums.mhw - np.interp(places, distance, elevation)
    wet = depth > SHALLOWEST
    if not wet.all():
        return np.zeros_like(height)
    flux = deep_water_flux(height, np.full_like(height, period)) * onshore
    for here in depth:
        # Snell: the alongshore wavenumber stays.
        sine = np.sqrt(1.0 - onshore**2) * phase_speed(period, here)
        cosine = np.sqrt(1.0 - (sine / phase_speed(period, scenario.traffic.channel_depth)) ** 2)
        most = energy_flux(breaking_height(period, here), period, here) * cosine
        flux = np.minimum(flux, most) * np.exp(
            -friction_decay_rate(period, here) * offset / steps / cosine
        )
    energy = WATER_DENSITY * GRAVITY / 8.0 * group_velocity(period, depth[-1]) * cosine
    return np.asarray(np.sqrt(flux / energy))


def _edge_powers(forcing: MemberForcing, common: Common) -> dict[str, float]:
    """Power that works on the undefended edge by source, mean over a year. [W/m]."""
    scenario = forcing.scenario
    member = set_up(forcing, common, UNDEFENDED)
    solve(member, 0, np.ones_like(member.weather.tally[0]))
    gain = member.work.waves.gain.mean(axis=2)
    boats, still = fleet(scenario, common.outer_offset), np.zeros(DAYS)
    shape = (DAYS, *gain.shape)
    powers = {}
    for i, boat in enumerate(scenario.traffic.classes):
        tally = np.zeros(shape)
        one = Fleet._make(column[i : i + 1] for column in boats)
        expect_wakes(
            one,
            waterway(scenario),
            common.classes,
            common.days,
            common.levels,
            still,
            scenario.traffic.level,
            0.0,
            scenario.traffic.day_start_hour,
            scenario.traffic.day_end_hour,
            tally,
        )
        powers[boat.name] = float((tally.sum(axis=0) * gain).sum()) / (DAYS * 86400.0)
    sea = wind_sea(scenario, common.classes)
    if sea.flux.any():
        tally = np.zeros(shape)
        expect_wind_waves(sea, common.classes, common.levels, still, tally)
        powers[WIND] = float((tally.sum(axis=0) * gain).sum()) / (DAYS * 86400.0)
    return powers
