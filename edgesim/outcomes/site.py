"""What the model knows of the site before it runs: tide, wakes, traffic, lines.

These go into the Dataset beside the forecast, so that the figures of the site
need no model.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.water_levels import (
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    daily_surge,
    fill_exposure_tables,
)
from edgesim.forcing.waves import WAKE, fleet, sample_passages, waterway
from edgesim.model.common import Common, sea_levels
from edgesim.model.grid import Line, reef_line, wall_line
from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION, fill_transmissions
from edgesim.model.settings import reef_material, wall_material
from edgesim.model.step import PACKET_HEIGHT, SEA_HEIGHT
from edgesim.model.wave_tables import DEPTH_STEP
from edgesim.outcomes.embedded import INPUTS, inputs_text
from edgesim.outcomes.summary import QUANTILES
from edgesim.processes.linear_waves import breaking_height, wavenumber
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.distributions import Distribution

Floats = NDArray[np.float64]
Entries = dict[str, xr.Variable]

SAMPLE_MEMBERS = 20
"""Members over which wakes and transmissions are taken."""

SAMPLE_PASSAGES = 150
"""Passages of each boat class drawn from each of them."""

EXCEEDED = np.array([0.99, 0.9, 0.75, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01])
"""Shares of passages whose wake is higher. [1]"""

CONDITION = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
"""Heights of what is left of a line over its height at build. [1]"""

LEVEL_STEP = 0.05
"""Step of the water levels at which tide and lines are described. [m]"""

DAY_KINDS = ("weekday", "weekend")


def with_site(dataset: xr.Dataset, scenario_file: ScenarioFile, common: Common) -> xr.Dataset:
    """Add to a forecast what its figures of the site need.

    Parameters
    ----------
    dataset : xarray.Dataset
        As ``build_dataset`` makes it.
    scenario_file : ScenarioFile
        Its scenario.
    common : Common
        What its members share.

    Returns
    -------
    xarray.Dataset
        With the inputs as an attribute, and the variables of this file.
    """
    members = [scenario_file.member(index) for index in range(SAMPLE_MEMBERS)]
    entries = _profile(scenario_file) | _tide(scenario_file.central, common)
    if scenario_file.central.traffic.classes:
        entries |= _traffic(scenario_file) | _wakes(members, common)
    entries |= _lines(members, common)
    coordinates = {name for name in entries if entries[name].dims == (name,)}
    found = dataset.assign(
        {name: value for name, value in entries.items() if name not in coordinates}
    )
    found = found.assign_coords({name: entries[name] for name in coordinates})
    return found.assign_attrs({INPUTS: inputs_text(scenario_file)})


def _variable(dims: str | tuple[str, ...], values: Any, long_name: str, units: str) -> xr.Variable:
    return xr.Variable(dims, np.asarray(values), {"long_name": long_name, "units": units})


def _elevation(dims: str, values: Any, long_name: str, datum: str) -> xr.Variable:
    found = _variable(dims, values, long_name, "m")
    found.attrs["comment"] = f"positive up from {datum}"
    return found


def _profile(scenario_file: ScenarioFile) -> Entries:
    """Levelled profile, scarp, and the surveyed rate of retreat with its spread."""
    site = scenario_file.central.site
    distance, elevation = np.array(site.profile, dtype=np.float64).T
    entries = {
        "profile_distance": _variable(
            "profile_point", distance, "distance seaward of the marsh edge", "m"
        ),
        "profile_elevation": _elevation(
            "profile_point",
            elevation,
            "level of the bed on the levelled profile",
            site.vertical_datum,
        ),
        "scarp_height": _variable((), site.scarp_height, "height of the marsh edge", "m"),
    }
    rate = scenario_file.tree["site"].get("retreat_rate")
    if rate is not None:
        spread = (
            [rate.quantile(q) for q in QUANTILES]
            if isinstance(rate, Distribution)
            else [rate] * len(QUANTILES)
        )
        entries["surveyed_retreat_rate"] = _variable(
            "quantile", spread, "surveyed retreat of the unprotected edge", "m year-1"
        )
        # The loader has put the posterior of a history in the place of the rate.
        source = "posterior of site.history" if site.history else "site.retreat_rate as given"
        entries["surveyed_retreat_rate"].attrs["comment"] = source
        entries["quantile"] = _variable("quantile", QUANTILES, "quantile", "1")
    return entries


def _tide(scenario: Scenario, common: Common) -> Entries:
    """Share of time in air by level about mean sea level, at the middle of the inputs."""
    tide = scenario.tide
    generator = stream(scenario.run.seed, 0, Purpose.SURGE)
    surge = daily_surge(common.n_days, tide.surge_sd, tide.surge_days, generator)
    dry, depth = np.empty(TABLE_SIZE), np.empty(TABLE_SIZE)
    fill_exposure_tables(common.levels.hourly, surge, TABLE_LOW, TABLE_STEP, dry, depth)
    ladder = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
    low = float(ladder[dry > 0.0][0]) - 0.2
    high = float(ladder[dry < 1.0][-1]) + 0.2
    level = np.arange(np.floor(low / LEVEL_STEP), np.ceil(high / LEVEL_STEP) + 1) * LEVEL_STEP
    oysters = scenario.oysters
    band = [oysters.exposure_low, oysters.exposure_high, oysters.exposure_stop]
    return {
        "tide_level": _variable("tide_level", level, "level about mean sea level", "m"),
        "dry_share": _variable(
            "tide_level", np.interp(level, ladder, dry), "share of the time in air", "1"
        ),
        "oyster_band": _variable(
            "band_end",
            band,
            "share of the time in air where reefs begin to grow, end to grow, and no oyster settles",
            "1",
        ),
    }


def _traffic(scenario_file: ScenarioFile) -> Entries:
    """Expected passages a day by class, month and kind of day, and the spread of their level."""
    traffic = scenario_file.central.traffic
    passages = [
        [
            [boat.passages_weekday * month, boat.passages_weekend * month]
            for month in boat.months
        ]
        for boat in traffic.classes
    ]  # fmt: skip
    level = scenario_file.tree["traffic"]["level"]
    spread = (
        [level.quantile(q) for q in QUANTILES]
        if isinstance(level, Distribution)
        else [level] * len(QUANTILES)
    )
    return {
        "boat_class": xr.Variable(
            "boat_class",
            np.array([boat.name for boat in traffic.classes], dtype=object),
            {"long_name": "class of boats"},
        ),
        "month": _variable("month", np.arange(1, 13, dtype=np.int32), "month of the year", "1"),
        "day_kind": xr.Variable(
            "day_kind", np.array(DAY_KINDS, dtype=object), {"long_name": "kind of day"}
        ),
        "passages": _variable(
            ("boat_class", "month", "day_kind"), passages, "boat passages in the first year", "d-1"
        ),
        "traffic_level": _variable(
            "quantile", spread, "factor on all passages: what is not known of the traffic", "1"
        ),
        "quantile": _variable("quantile", QUANTILES, "quantile", "1"),
        "sailing_line": _variable(
            "boat_class",
            [boat.distance_off for boat in traffic.classes],
            "usual distance of the sailing line from the marsh edge",
            "m",
        ),
    }


def _wakes(members: list[Scenario], common: Common) -> Entries:
    """Height of the highest wave of a passage at the outer line, by class and chance."""
    names = [boat.name for boat in members[0].traffic.classes]
    heights: list[list[Floats]] = [[] for _ in names]
    for index, scenario in enumerate(members):
        boats, way = fleet(scenario, common.outer_offset), waterway(scenario)
        sample = np.empty((SAMPLE_PASSAGES * len(names), 4))
        sample_passages(
            boats, way, stream(scenario.run.seed, index, Purpose.SITE), sample
        )  # rows go through the classes in turn
        for place, row in enumerate(heights):
            row.append(sample[place :: len(names), 0])
    table = [np.quantile(np.concatenate(row), 1.0 - EXCEEDED) for row in heights]
    return {
        "wake_height": _variable(
            ("boat_class", "exceeded"),
            table,
            "height of the highest wave of a passage where the outer line stands",
            "m",
        ),
        "exceeded": _variable(
            "exceeded", EXCEEDED, "share of passages whose wake is higher", "1"
        ),
    }  # fmt: skip


def _lines(members: list[Scenario], common: Common) -> Entries:
    """Transmission of both lines by water level and by what is left of them."""
    central = members[0]
    lines = [
        (name, line)
        for name, line in (("walls", wall_line(central)), ("reef", reef_line(central)))
        if line is not None
    ]
    if not lines or not common.classes.period.size:
        return {}
    level = np.arange(
        common.levels.centres.min(), common.levels.centres.max() + LEVEL_STEP, LEVEL_STEP
    )
    sea = float(sea_levels(central, common.days)[0])
    datum = central.site.vertical_datum
    heaviest = int(np.argmax(common.classes.flux))
    height, period = common.classes.height[heaviest], common.classes.period[heaviest]
    # As in the day loop: a packet, or a sea, passes as an even train of another height.
    even = PACKET_HEIGHT if common.classes.source[heaviest] == WAKE else SEA_HEIGHT
    entries: Entries = {
        "water_level": _elevation("water_level", level + sea, "still water level", datum),
        "condition": _variable(
            "condition", CONDITION, "height left of a line over its height at build", "1"
        ),
        "line_wave": _variable(
            "line_wave_part",
            [height, period],
            "height [m] and period [s] of the wave that meets the lines",
            "1",
        ),
        "quantile": _variable("quantile", QUANTILES, "quantile", "1"),
    }
    for name, line in lines:
        found = np.array(
            [
                _transmission(
                    scenario, name, line, level + sea, (float(height), float(period), even)
                )
                for scenario in members
            ]
        )
        entries[f"transmission_{name}"] = _variable(
            ("quantile", "water_level", "condition"),
            np.quantile(found, QUANTILES, axis=0),
            f"transmitted over incoming wave height of the {name}",
            "1",
        )
    return entries


def _transmission(
    scenario: Scenario, name: str, line: Line, levels: Floats, wave: tuple[float, float, float]
) -> Floats:
    """Transmission of one line of one member; (n_levels, n_conditions)."""
    walls, reef = scenario.design.walls, scenario.design.reef
    height, period, even = wave
    built = (walls.crest - line.base) if name == "walls" and walls else 0.0
    if name == "reef" and reef:
        built = reef.unit_height
    material = wall_material(scenario) if name == "walls" else reef_material(scenario)
    depth = np.maximum(levels - line.base, DEPTH_STEP)
    heights = even * np.minimum(height, breaking_height(np.full_like(depth, period), depth))
    depths = np.maximum(np.arange(0.0, depth.max() + 2 * DEPTH_STEP, DEPTH_STEP), 0.5 * DEPTH_STEP)
    table = np.empty((levels.size, 1, CONDITIONS), dtype=np.float32)
    fill_transmissions(
        np.ascontiguousarray(heights[:, None]),
        np.array([period]),
        wavenumber(np.full((1, depths.size), period), depths[None, :]),
        DEPTH_STEP,
        np.ascontiguousarray(levels),
        line.base,
        0.0,
        built,
        material,
        table,
    )
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    return np.array([np.interp(CONDITION, ladder, row[0]) for row in table])
