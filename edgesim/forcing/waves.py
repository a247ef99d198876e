"""From single boat passages and hours of wind to waves, and the classes they are counted in."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import GOLDEN_RATIO, GRAVITY, WATER_DENSITY
from edgesim.kernels import kernel
from edgesim.processes.linear_waves import wavenumber
from edgesim.processes.wake_pattern import depth_froude, highest_wave, hull_limited_period
from edgesim.processes.wakes import (
    equivalent_waves,
    wake_height_bhowmik,
    wake_height_kriebel_seelig,
    wake_height_maynord,
    wake_height_weggel_sorensen,
)
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


class Hull(NamedTuple):
    """One boat class of a :class:`Fleet`, without its traffic.

    What is called for every passage takes this: handing over arrays costs more than the work.
    """

    is_planing: bool
    waterline_length: float
    displaced_volume: float
    draft: float
    speed: float
    speed_spread: float
    distance: float
    distance_spread: float
    hull_constant: float
    block_coefficient: float
    entrance_length: float
    equivalent_waves: float
    hull_period: float


@kernel
def hull_of(boats: Fleet, i: int) -> Hull:
    """Boat class `i` of a fleet."""
    return Hull(
        boats.is_planing[i] == 1,
        boats.waterline_length[i],
        boats.displaced_volume[i],
        boats.draft[i],
        boats.speed[i],
        boats.speed_spread[i],
        boats.distance[i],
        boats.distance_spread[i],
        boats.hull_constant[i],
        boats.block_coefficient[i],
        boats.entrance_length[i],
        boats.equivalent_waves[i],
        boats.hull_period[i],
    )


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
    onward_share : float
        Share of the passages that go onward, the way in which distances alongshore grow. [1]
    half_lane : float
        How much nearer the boats of the near lane pass, and those of the far lane farther off. [m]
    near_goes_onward : bool
        Whether the near lane is that of the boats that go onward.
    """

    depth: float
    speed_limit: float
    compliance: float
    use_bhowmik: bool
    use_weggel: bool
    onward_share: float = 0.5
    half_lane: float = 0.0
    near_goes_onward: bool = False


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
        keeps; waves come from both sides, in shares of their own (``tally``). [m-1]
    source : int64
        WAKE or WIND.
    edges, wind_edges : float64
        Heights between neighbouring classes of wakes, and of wind waves: one fewer than classes. [m]
    """

    height: Floats
    period: Floats
    flux: Floats
    alongshore_wavenumber: Floats
    source: NDArray[np.int64]
    edges: Floats
    wind_edges: Floats = np.empty(0)


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
        onward_share=traffic.onward_share,
        half_lane=0.5 * traffic.lanes_apart,
        near_goes_onward=traffic.near_lane == "onward",
    )


@kernel
def goes_onward(way: Waterway, chance: float) -> bool:
    """Whether the boat of an even chance between 0 and 1 goes onward.

    Low chances take the near lane: a site and its mirror image meet the same boats.
    """
    near_share = way.onward_share if way.near_goes_onward else 1.0 - way.onward_share
    return (chance < near_share) == way.near_goes_onward


@kernel
def distance_in_lane(hull: Hull, way: Waterway, onward: bool) -> float:
    """Usual distance from the outer line of the boats of a class that go onward, or back. [m]."""
    shift = -way.half_lane if onward == way.near_goes_onward else way.half_lane
    return float(max(hull.distance + shift, hull.waterline_length))


@kernel
def passage_height(hull: Hull, way: Waterway, speed: float, distance: float) -> float:
    """Highest wave of one passage at the outer line.

    Planing formulas hold above a volume Froude number of 2 and grow without
    bound below it; a planing hull that goes slower makes the wave of a
    displacement hull, never more than at that limit (judgement): its largest
    waves are those of the hump just below planing.
    """
    length = hull.waterline_length
    volume = hull.displaced_volume
    planing = math.inf
    if hull.is_planing:
        limit = PLANING_LIMIT * math.sqrt(GRAVITY * volume ** (1.0 / 3.0))
        on_plane = max(speed, limit)
        if way.use_bhowmik:
            planing = wake_height_bhowmik(on_plane, distance, length, hull.draft)
        else:
            planing = wake_height_maynord(on_plane, volume, distance, hull.hull_constant)
        if speed >= limit:
            return planing
    slow = min(speed, SUBCRITICAL_LIMIT * math.sqrt(GRAVITY * way.depth))
    if way.use_weggel and 0.2 <= depth_froude(slow, way.depth) <= 0.8:
        displacing = wake_height_weggel_sorensen(slow, volume, way.depth, distance)
    else:
        displacing = wake_height_kriebel_seelig(
            slow,
            length,
            hull.draft,
            way.depth,
            hull.block_coefficient,
            distance,
            hull.entrance_length,
        )
    return min(planing, displacing)


@kernel
def held_speed(hull: Hull, way: Waterway, speed: float) -> float:
    """Speed that a hull can reach: a displacement hull makes hull speed and stays subcritical. [m/s]."""
    if hull.is_planing:
        return speed
    hull_speed = HULL_SPEED * math.sqrt(GRAVITY * hull.waterline_length)
    return min(speed, hull_speed, SUBCRITICAL_LIMIT * math.sqrt(GRAVITY * way.depth))


@kernel
def wake_of(hull: Hull, way: Waterway, speed: float, distance: float) -> tuple[float, float, float]:
    """Wake of one passage: height [m], period [s], onshore share [1].

    Parameters
    ----------
    hull, way : Hull, Waterway
        See their classes.
    speed, distance : float
        Speed that the boat would make [m s-1] and its distance from the outer line. [m]

    Notes
    -----
    A displacement hull is held to its hull speed and below the critical speed. The wave travels to
    one side or the other by the way that the boat goes. No wave is taken closer than a boat length.
    """
    length = hull.waterline_length
    speed = held_speed(hull, way, speed)
    height = passage_height(hull, way, speed, max(distance, length))
    period, along = highest_wave(speed, way.depth, length, hull.hull_period)
    # The sine of the angle from the sailing line is the cosine of that from the shore's normal.
    return height, period, math.sqrt(1.0 - along * along)


@kernel
def passage_wave(
    hull: Hull, way: Waterway, generator: np.random.Generator, onward: bool = True
) -> tuple[float, float, float]:
    """Draw one passage: height [m], period [s], onshore share [1] of its wake.

    Speed and distance off scatter lognormally about their means, the latter about the lane of
    the way that the boat goes; a boat over the limit slows down with the probability of compliance.
    """
    speed = _scattered(hull.speed, hull.speed_spread, generator)
    usual = distance_in_lane(hull, way, onward)
    distance = _scattered(usual, hull.distance_spread, generator)
    obeys = generator.random() < way.compliance
    if speed > way.speed_limit and obeys:
        speed = way.speed_limit
    return wake_of(hull, way, speed, distance)


@kernel
def _scattered(mean: float, log_spread: float, generator: np.random.Generator) -> float:
    draw = log_spread * generator.standard_normal() - 0.5 * log_spread * log_spread
    return float(mean * math.exp(draw))


@kernel
def sample_passages(
    boats: Fleet, way: Waterway, generator: np.random.Generator, sample: Floats
) -> None:
    """Fill rows (height, period, energy weight, onshore share) with passages of every boat class in turn.

    The ways that boats go are spread evenly over the rows by their shares, without draws.
    """
    n_boats = boats.speed.size
    for row in range(sample.shape[0]):
        i = row % n_boats
        onward = goes_onward(way, ((row // n_boats + 0.5) * GOLDEN_RATIO) % 1.0)
        height, period, onshore = passage_wave(hull_of(boats, i), way, generator, onward)
        passages = 5.0 / 7.0 * boats.passages_weekday[i] + 2.0 / 7.0 * boats.passages_weekend[i]
        sample[row, 0] = height
        sample[row, 1] = period
        sample[row, 2] = height**2 * period**2 * boats.equivalent_waves[i] * passages * onshore
        sample[row, 3] = onshore


def deep_water_flux(height: Floats, period: Floats) -> Floats:
    """Energy flux in W/m of a regular wave in deep water, rho g H^2/8 times g T/(4 pi)."""
    return WATER_DENSITY * GRAVITY**2 * height**2 * period / (32.0 * np.pi)


def wave_classes(
    sample: Floats,
    sea: tuple[Floats, Floats, Floats],
    n_wake: int,
    depth: float,
    n_wind: int = 1,
    angle: Floats | None = None,
) -> WaveClasses:
    """Classes that share the energy of a sample of wakes evenly, and that of the wind waves.

    Parameters
    ----------
    sample : ndarray, (n, 4)
        Rows of :func:`sample_passages`, drawn over the members' beliefs.
    sea : tuple of ndarray
        Energy weight, height [m] and period [s] of every row of the wind table; empty without wind.
    n_wake, n_wind : int
        Number of classes of wakes and of wind waves.
    depth : float
        Depth of the channel. [m]
    angle : ndarray, optional
        Angle of the wind of every row from the normal, either way; all along it when left out. [rad]

    Returns
    -------
    WaveClasses
        Wake classes by rising height, then the wind classes if there is wind. A class is
        represented by its energy-mean height and period, so that the energy of the sample is
        kept.
    """
    wakes, edges = _shared_classes(sample[:, 2], sample[:, 0], sample[:, 1], sample[:, 3], n_wake)
    weight, height, period = sea
    mean_angle = np.zeros(weight.size) if angle is None else angle
    off = np.minimum(np.hypot(mean_angle, WIND_SPREAD), STEEPEST_WIND)
    seas, wind_edges = _shared_classes(weight, height, period, np.cos(off), n_wind)
    heights, periods, onshore = np.concatenate([wakes, seas], axis=1)
    return WaveClasses(
        height=heights,
        period=periods,
        flux=deep_water_flux(heights, periods),
        alongshore_wavenumber=wavenumber(periods, depth) * np.sqrt(1.0 - onshore**2),
        source=np.array([WAKE] * wakes.shape[1] + [WIND] * seas.shape[1], dtype=np.int64),
        edges=edges,
        wind_edges=wind_edges,
    )


def _shared_classes(
    weight: Floats, height: Floats, period: Floats, onshore: Floats, n: int
) -> tuple[Floats, Floats]:
    """Height, period and onshore share of classes of even energy by rising height, and their edges."""
    if not weight.sum() > 0.0:
        return np.empty((3, 0)), np.empty(0)
    order = np.argsort(height, kind="stable")
    weight, height, period, onshore = (part[order] for part in (weight, height, period, onshore))
    share = np.cumsum(weight) / weight.sum()
    # One passage may carry more than a whole class: then there are fewer classes.
    _, parts = np.unique(
        np.minimum(share * n * (1.0 - 1e-12), n - 1).astype(int), return_inverse=True
    )
    n_parts = int(parts.max()) + 1
    energy = np.bincount(parts, weight)
    mean = [np.bincount(parts, weight * part) / energy for part in (height**2, period, onshore)]
    edges = np.array([height[np.argmax(parts == j)] for j in range(1, n_parts)])
    return np.array([np.sqrt(mean[0]), mean[1], np.minimum(mean[2], 1.0)]), edges


WIND_SPREAD = math.radians(25.0)
"""Standard deviation of the directions of a short wind sea about its wind (judgement). [rad]"""

STEEPEST_WIND = math.radians(85.0)
"""Largest angle from the normal of the waves of a wind that blows along the shore (judgement). [rad]"""
