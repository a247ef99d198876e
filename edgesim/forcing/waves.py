"""From single boat passages and hours of wind to waves, and the classes they are counted in."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import group_velocity, wavenumber
from edgesim.processes.wakes import (
    cusp_period,
    depth_froude,
    equivalent_waves,
    hull_limited_period,
    wake_direction,
    wake_height_bhowmik,
    wake_height_kriebel_seelig,
    wake_height_maynord,
    wake_height_weggel_sorensen,
)
from edgesim.processes.wind_waves import rms_height, wave_young_verhagen
from edgesim.scenario import Scenario

Floats = NDArray[np.float64]

WAKE, WIND = 0, 1
"""Sources of a wave class."""

PLANING_LIMIT = 2.0
"""Volume Froude number from which the planing formulas hold (from memory). [1]"""

SUBCRITICAL_LIMIT = 0.9
"""Highest depth Froude number of a displacement hull (read, Coastal Engineering Manual II-7). [1]"""


HULL_SPEED = 0.40
"""Length Froude number that a displacement hull hardly exceeds: 1.34 knots a root foot of
waterline (common practice, no source). [1]"""


class Fleet(NamedTuple):
    """Boat classes as arrays of length ``n_classes`` (``months``: ``(n_classes, 12)``).

    Spreads are standard deviations of the logarithm; ``hull_period`` is the period of a wave
    as long as the hull. [s]
    """

    is_planing: NDArray[np.uint8]
    waterline_length: Floats
    displaced_volume: Floats
    draft: Floats
    speed: Floats
    speed_spread: Floats
    distance: Floats
    distance_spread: Floats
    passages_weekday: Floats
    passages_weekend: Floats
    months: Floats
    hull_constant: Floats
    block_coefficient: Floats
    entrance_length: Floats
    equivalent_waves: Floats
    hull_period: Floats


class Waterway(NamedTuple):
    """What all passages share.

    Attributes
    ----------
    depth : float
        Depth at the sailing line at mean sea level. [m]
    speed_limit, compliance : float
        Speed rule; a limit of inf means none. [m s-1], [1]
    use_bhowmik, use_weggel : bool
        Which of the rival formulas serve planing and displacement hulls.
    """

    depth: float
    speed_limit: float
    compliance: float
    use_bhowmik: bool
    use_weggel: bool


class WaveClasses(NamedTuple):
    """Classes in which waves are counted: arrays of length ``n_classes``.

    Attributes
    ----------
    height, period : float64
        Representative wave of the class, in deep water. [m], [s]
    flux : float64
        Energy flux of that wave in deep water; the counts of waves hold the share that runs
        onshore. [W m-1]
    alongshore_wavenumber : float64
        Wavenumber times the sine of the mean angle of approach in the channel, which refraction
        keeps; waves come from both sides. [m-1]
    source : int64
        WAKE or WIND.
    edges : float64
        Heights between neighbouring wake classes, length ``n_wake - 1``. [m]
    """

    height: Floats
    period: Floats
    flux: Floats
    alongshore_wavenumber: Floats
    source: NDArray[np.int64]
    edges: Floats


class WindSea(NamedTuple):
    """Wind waves of each row of the wind table.

    Attributes
    ----------
    cumulative : float64
        Cumulative share of time; what is left to 1 is calm or offshore wind. [1]
    flux : float64
        Onshore energy flux. [W m-1]
    wave_class : int64
        Class of the row.
    """

    cumulative: Floats
    flux: Floats
    wave_class: NDArray[np.int64]


def fleet(scenario: Scenario, outer_offset: float) -> Fleet:
    """Boat classes of a scenario as arrays.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    outer_offset : float
        Distance from the edge to the outermost line of any option, so that every
        option meets the same waves. [m]
    """
    boats = scenario.traffic.classes
    length = np.array([boat.waterline_length for boat in boats])
    return Fleet(
        is_planing=np.array([boat.hull == "planing" for boat in boats], dtype=np.uint8),
        waterline_length=length,
        displaced_volume=np.array([boat.displacement for boat in boats]) / WATER_DENSITY,
        draft=np.array([boat.draft for boat in boats]),
        speed=np.array([boat.speed for boat in boats]),
        speed_spread=_log_spread([boat.speed_spread for boat in boats]),
        distance=np.maximum(np.array([boat.distance_off for boat in boats]) - outer_offset, length),
        distance_spread=_log_spread([boat.distance_spread for boat in boats]),
        passages_weekday=np.array([boat.passages_weekday for boat in boats]),
        passages_weekend=np.array([boat.passages_weekend for boat in boats]),
        months=np.array([boat.months for boat in boats], dtype=np.float64).reshape(len(boats), 12),
        hull_constant=np.array([boat.hull_constant for boat in boats]),
        block_coefficient=np.array([boat.block_coefficient for boat in boats]),
        entrance_length=length * np.array([boat.entrance_share for boat in boats]),
        equivalent_waves=np.array([equivalent_waves(boat.waves_per_packet) for boat in boats]),
        hull_period=np.array(
            [
                hull_limited_period(boat.waterline_length, scenario.traffic.channel_depth)
                for boat in boats
            ]
        ),
    )


def _log_spread(variations: list[float]) -> Floats:
    """Standard deviation of the logarithm for coefficients of variation. [1]."""
    return np.asarray(np.sqrt(np.log1p(np.square(variations))))


def waterway(scenario: Scenario, *, with_rule: bool = True) -> Waterway:
    """Channel and rules of a scenario; the history behind a site knew no new rule."""
    traffic = scenario.traffic
    rule = traffic.speed_rule if with_rule else None
    return Waterway(
        depth=traffic.channel_depth,
        speed_limit=rule.speed_limit if rule else math.inf,
        compliance=rule.compliance if rule else 0.0,
        use_bhowmik=traffic.planing_formula == "bhowmik",
        use_weggel=traffic.displacement_formula == "weggel-sorensen",
    )


@kernel
def passage_height(boats: Fleet, i: int, way: Waterway, speed: float, distance: float) -> float:
    """Highest wave of one passage at the outer line.

    Planing formulas hold above a volume Froude number of 2 and grow without
    bound below it; a planing hull that goes slower makes the wave of a
    displacement hull, never more than at that limit (judgement): its largest
    waves are those of the hump just below planing.
    """
    length = boats.waterline_length[i]
    volume = boats.displaced_volume[i]
    planing = math.inf
    if boats.is_planing[i]:
        limit = PLANING_LIMIT * math.sqrt(GRAVITY * volume ** (1.0 / 3.0))
        on_plane = max(speed, limit)
        if way.use_bhowmik:
            planing = wake_height_bhowmik(on_plane, distance, length, boats.draft[i])
        else:
            planing = wake_height_maynord(on_plane, volume, distance, boats.hull_constant[i])
        if speed >= limit:
            return planing
    slow = min(speed, SUBCRITICAL_LIMIT * math.sqrt(GRAVITY * way.depth))
    if way.use_weggel and 0.2 <= depth_froude(slow, way.depth) <= 0.8:
        displacing = wake_height_weggel_sorensen(slow, volume, way.depth, distance)
    else:
        displacing = wake_height_kriebel_seelig(
            slow,
            length,
            boats.draft[i],
            way.depth,
            boats.block_coefficient[i],
            distance,
            boats.entrance_length[i],
        )
    return min(planing, displacing)


@kernel
def held_speed(boats: Fleet, i: int, way: Waterway, speed: float) -> float:
    """Speed that a hull can reach: a displacement hull makes hull speed and stays subcritical. [m/s]."""
    if boats.is_planing[i]:
        return speed
    hull_speed = HULL_SPEED * math.sqrt(GRAVITY * boats.waterline_length[i])
    return min(speed, hull_speed, SUBCRITICAL_LIMIT * math.sqrt(GRAVITY * way.depth))


@kernel
def passage_wave(
    boats: Fleet, i: int, way: Waterway, generator: np.random.Generator
) -> tuple[float, float, float]:
    """Draw one passage of boat class `i`: height [m], period [s], onshore share [1] of its wake.

    Speed and distance off scatter lognormally about their means; a displacement
    hull is held to its hull speed and below the critical speed; a boat over the
    limit slows down with the probability of compliance. The wave is that of
    the cusp or, where that would be longer than the hull, the one as long as the
    hull; either travels at the angle at which it keeps up with the boat.
    """
    speed = _scattered(boats.speed[i], boats.speed_spread[i], generator)
    distance = _scattered(boats.distance[i], boats.distance_spread[i], generator)
    obeys = generator.random() < way.compliance
    if speed > way.speed_limit and obeys:
        speed = way.speed_limit
    length = boats.waterline_length[i]
    speed = held_speed(boats, i, way, speed)
    height = passage_height(boats, i, way, speed, max(distance, length))
    period = cusp_period(speed, way.depth)
    # The sine of the angle from the sailing line is the cosine of that from the shore's normal.
    if period <= boats.hull_period[i]:
        return height, period, math.sin(wake_direction(speed, way.depth))
    period = boats.hull_period[i]
    along = min(1.0, length / period / speed)
    return height, period, math.sqrt(1.0 - along * along)


@kernel
def _scattered(mean: float, log_spread: float, generator: np.random.Generator) -> float:
    draw = log_spread * generator.standard_normal() - 0.5 * log_spread * log_spread
    return float(mean * math.exp(draw))


@kernel
def sample_passages(
    boats: Fleet, way: Waterway, generator: np.random.Generator, sample: Floats
) -> None:
    """Fill rows (height, period, energy weight, onshore share) with passages of every boat class in turn."""
    n_boats = boats.speed.size
    for row in range(sample.shape[0]):
        i = row % n_boats
        height, period, onshore = passage_wave(boats, i, way, generator)
        passages = 5.0 / 7.0 * boats.passages_weekday[i] + 2.0 / 7.0 * boats.passages_weekend[i]
        sample[row, 0] = height
        sample[row, 1] = period
        sample[row, 2] = height**2 * period**2 * boats.equivalent_waves[i] * passages * onshore
        sample[row, 3] = onshore


def deep_water_flux(height: Floats, period: Floats) -> Floats:
    """Energy flux in W/m of a regular wave in deep water, rho g H^2/8 times g T/(4 pi)."""
    return WATER_DENSITY * GRAVITY**2 * height**2 * period / (32.0 * np.pi)


def wave_classes(
    sample: Floats, sea: tuple[Floats, Floats, Floats], n_wake: int, depth: float
) -> WaveClasses:
    """Classes that share the energy of a sample of wakes evenly, and one class for wind.

    Parameters
    ----------
    sample : ndarray, (n, 4)
        Rows of :func:`sample_passages`, drawn over the members' beliefs.
    sea : tuple of ndarray
        Energy weight, height [m] and period [s] of every row of the wind table; empty without wind.
    n_wake : int
        Number of wake classes.
    depth : float
        Depth of the channel. [m]

    Returns
    -------
    WaveClasses
        Wake classes by rising height, then the wind class if there is wind. A
        class is represented by its energy-mean height and period, so that the
        energy of the sample is kept.
    """
    heights, periods, angles, edges = [], [], [], np.empty(0)
    if sample.size and sample[:, 2].sum() > 0.0:
        order = np.argsort(sample[:, 0], kind="stable")
        ordered = sample[order]
        share = np.cumsum(ordered[:, 2]) / ordered[:, 2].sum()
        # One passage may carry more than a whole class: then there are fewer classes.
        _, parts = np.unique(
            np.minimum(share * n_wake, n_wake - 1).astype(int), return_inverse=True
        )
        edges = np.array([ordered[np.argmax(parts == j), 0] for j in range(1, parts.max() + 1)])
        for j in range(parts.max() + 1):
            rows = ordered[parts == j]
            weight = rows[:, 2] / rows[:, 2].sum()
            heights.append(math.sqrt(float(weight @ rows[:, 0] ** 2)))
            periods.append(float(weight @ rows[:, 1]))
            angles.append(math.acos(min(1.0, float(weight @ rows[:, 3]))))
    n_wakes = len(heights)
    weight, height, period = sea
    if weight.sum() > 0.0:
        weight = weight / weight.sum()
        heights.append(math.sqrt(float(weight @ height**2)))
        periods.append(float(weight @ period))
        angles.append(WIND_SPREAD)
    height_array, period_array = np.array(heights), np.array(periods)
    return WaveClasses(
        height=height_array,
        period=period_array,
        flux=deep_water_flux(height_array, period_array),
        alongshore_wavenumber=wavenumber(period_array, depth) * np.sin(angles),
        source=np.array([WAKE] * n_wakes + [WIND] * (len(heights) - n_wakes), dtype=np.int64),
        edges=edges,
    )


WIND_SPREAD = math.radians(25.0)
"""Angle that stands for the directional spread of a short wind sea (judgement). [rad]"""


def wind_table(scenario: Scenario) -> tuple[Floats, Floats, Floats, Floats]:
    """Share of time, onshore flux [W m-1], height [m] and period [s] of the onshore rows of the wind table.

    The fetch of a row is that of the nearest listed direction; rows from the
    land side make no waves. Heights are energy-equivalent regular waves.
    """
    wind = scenario.wind
    if wind is None or scenario.site.shore_faces is None:
        empty = np.empty(0)
        return empty, empty, empty, empty
    speed, direction, share = np.array(wind.table, dtype=np.float64).T
    fetch_direction, fetch = np.array(wind.fetches, dtype=np.float64).T
    onshore = np.cos(direction - scenario.site.shore_faces)
    nearest = np.argmax(np.cos(direction[:, None] - fetch_direction[None, :]), axis=1)
    makes_waves = (onshore > 1e-6) & (speed > 0.0) & (fetch[nearest] > 0.0)
    share, onshore = share[makes_waves], onshore[makes_waves]
    significant, period = wave_young_verhagen(
        speed[makes_waves], fetch[nearest][makes_waves], wind.fetch_depth
    )
    height = rms_height(significant)
    speed_of_energy = group_velocity(period, wind.fetch_depth) if period.size else period
    flux = WATER_DENSITY * GRAVITY * height**2 / 8.0 * speed_of_energy * onshore
    return share, flux, height, period


def wind_sea(scenario: Scenario, classes: WaveClasses) -> WindSea:
    """Wind waves of each onshore row of the table, ready for drawing."""
    share, flux, _, _ = wind_table(scenario)
    wind_class = int(np.argmax(classes.source == WIND)) if (classes.source == WIND).any() else 0
    return WindSea(np.cumsum(share), flux, np.full(share.size, wind_class, dtype=np.int64))
