"""The tally of each day: how many waves of each class came at each water level.

A passage is counted in the class of its height, as the number of class waves
that carry its energy; energy is therefore kept exactly whatever the classes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from edgesim.forcing.calendar import Calendar
from edgesim.forcing.water_levels import WaterLevels
from edgesim.forcing.waves import (
    Fleet,
    Hull,
    Waterway,
    WaveClasses,
    distance_in_lane,
    goes_onward,
    hull_of,
    passage_wave,
    wake_of,
)
from edgesim.forcing.wind import WindSea
from edgesim.kernels import kernel

Floats = NDArray[np.float64]


@kernel
def level_bin(edges: Floats, level: float) -> int:
    """Index of the water-level bin that holds `level`."""
    k = 0
    while k < edges.size and level >= edges[k]:
        k += 1
    return k


@kernel
def count_wakes(
    boats: Fleet,
    way: Waterway,
    classes: WaveClasses,
    days: Calendar,
    levels: WaterLevels,
    surge: Floats,
    busy: Floats,
    multiplier: float,
    growth: float,
    overdispersion: float,
    day_start_hour: float,
    day_end_hour: float,
    generator: np.random.Generator,
    directions: np.random.Generator,
    tally: Floats,
    onward: Floats,
) -> None:
    """Draw every boat passage of a run and add its waves to the tally.

    Parameters
    ----------
    boats, way, classes, days, levels
        See their classes.
    surge : float64, (n_days,)
        Departure of the level. [m]
    busy : float64, (n_days,)
        Factor of the day's weather on all passages. [1]
    multiplier, growth : float
        Factor on all passages; its yearly growth. [1], [year-1]
    overdispersion : float
        Squared coefficient of variation of the daily factor that all boats share. [1]
    day_start_hour, day_end_hour : float
        Hours between which boats pass, evenly. [h]
    generator : numpy.random.Generator
        Random stream of traffic.
    directions : numpy.random.Generator
        Random stream of the ways that boats go.
    tally : float64, (n_days, n_levels, n_classes)
        Added to: number of class waves. [1]
    onward : float64, (n_classes,)
        Added to: those of boats that go onward. [1]
    """
    for day in range(tally.shape[0]):
        factor = busy[day] * multiplier * (1.0 + growth) ** days.year_fraction[day]
        if overdispersion > 0.0:
            factor *= generator.gamma(1.0 / overdispersion, overdispersion)
        for i in range(boats.speed.size):
            weekly = (
                boats.passages_weekend[i] if days.is_weekend[day] else boats.passages_weekday[i]
            )
            hull = hull_of(boats, i)
            n = generator.poisson(weekly * boats.months[i, days.month[day]] * factor)
            for _ in range(n):
                is_onward = goes_onward(way, directions.random())
                height, period, onshore = passage_wave(hull, way, generator, is_onward)
                hour = day_start_hour + (day_end_hour - day_start_hour) * generator.random()
                level = levels.hourly[day * 24 + int(min(hour, 23.0))] + surge[day]
                k = level_bin(levels.edges, level)
                w = level_bin(classes.edges, height)
                energy = (height * period) ** 2 * hull.equivalent_waves * onshore
                waves = energy / (classes.height[w] * classes.period[w]) ** 2
                tally[day, k, w] += waves
                if is_onward:
                    onward[w] += waves


@kernel
def count_wind_waves(
    sea: WindSea,
    classes: WaveClasses,
    levels: WaterLevels,
    surge: Floats,
    rows: NDArray[np.int64],
    tally: Floats,
) -> None:
    """Add the waves of the wind of every spell to the tally.

    Parameters
    ----------
    sea, classes, levels, surge, tally
        As in :func:`count_wakes`.
    rows : int64, (n_days, n_spells)
        Row of the wind of every spell, from ``wind.winds``.
    """
    hours = 24 // rows.shape[1]
    for day in range(tally.shape[0]):
        for spell in range(rows.shape[1]):
            row = rows[day, spell]
            if row < 0 or sea.flux[row] <= 0.0:
                continue
            hour = spell * hours + (hours - 1) // 2
            k = level_bin(levels.edges, levels.hourly[day * 24 + hour] + surge[day])
            w = sea.wave_class[row]
            energy = sea.flux[row] * hours * 3600.0
            tally[day, k, w] += energy / (classes.flux[w] * classes.period[w])


# The tally that a long run of draws would have on average.

SPEEDS, DISTANCES = 120, 60
"""Equally likely speeds and distances off that stand for the passages of a boat class."""


def expect_wakes(
    boats: Fleet,
    way: Waterway,
    classes: WaveClasses,
    days: Calendar,
    levels: WaterLevels,
    surge: Floats,
    multiplier: float,
    growth: float,
    day_start_hour: float,
    day_end_hour: float,
    tally: Floats,
    onward: Floats | None = None,
) -> None:
    """Add the expected waves of every day to the tally: no passage is drawn.

    Parameters
    ----------
    boats, way, classes, days, levels, surge, multiplier, growth, day_start_hour, day_end_hour
        As in :func:`count_wakes`; weather and the scatter of days leave the mean alone.
    tally, onward
        As in :func:`count_wakes`; the second may be left out.
    """
    n_days, n_levels, n_classes = tally.shape
    # By way, onward first, boat class and wave class.
    by_way = np.zeros((2, boats.speed.size, n_classes))
    for i in range(boats.speed.size):
        hull = hull_of(boats, i)
        speeds = _equally_likely(hull.speed, hull.speed_spread, SPEEDS)
        held = np.minimum(speeds, way.speed_limit)
        for kind, weight in ((speeds, 1.0 - way.compliance), (held, way.compliance)):
            for is_onward, share in ((True, way.onward_share), (False, 1.0 - way.onward_share)):
                if weight * share > 0.0:
                    usual = distance_in_lane(hull, way, is_onward)
                    distances = _equally_likely(usual, hull.distance_spread, DISTANCES)
                    waves = by_way[0 if is_onward else 1, i]
                    expect_passages(hull, way, classes, kind, distances, weight * share, waves)
    hours = np.arange(24)
    last = np.where(hours == 23, 24.0, hours + 1.0)
    boating = np.clip(np.minimum(day_end_hour, last) - np.maximum(day_start_hour, hours), 0.0, None)
    boating /= boating.sum()
    level = levels.hourly[: 24 * n_days].reshape(n_days, 24) + surge[:n_days, None]
    bins = np.searchsorted(levels.edges, level, side="right")
    at_level = np.zeros((n_days, n_levels))
    np.add.at(at_level, (np.arange(n_days)[:, None], bins), np.broadcast_to(boating, level.shape))
    weekend = days.is_weekend[:n_days, None] == 1
    number = np.where(weekend, boats.passages_weekend, boats.passages_weekday)
    number = number * boats.months[:, days.month[:n_days]].T
    number *= (multiplier * (1.0 + growth) ** days.year_fraction[:n_days])[:, None]
    tally += at_level[:, :, None] * (number @ by_way.sum(axis=0))[:, None, :]
    if onward is not None:
        onward += number.sum(axis=0) @ by_way[0]


def _equally_likely(mean: float, log_spread: float, n: int) -> Floats:
    """Means of `n` equally likely slices of a lognormal quantity, so that its mean is kept."""
    edges = ndtr(ndtri(np.arange(n + 1) / n) - log_spread)
    return np.asarray(mean * n * np.diff(edges))


@kernel
def expect_passages(
    hull: Hull,
    way: Waterway,
    classes: WaveClasses,
    speeds: Floats,
    distances: Floats,
    weight: float,
    waves: Floats,
) -> None:
    """Add to `waves`, (n_classes,), the class waves of a mean passage."""
    share = weight / (speeds.size * distances.size)
    for s in range(speeds.size):
        for d in range(distances.size):
            height, period, onshore = wake_of(hull, way, speeds[s], distances[d])
            w = level_bin(classes.edges, height)
            energy = (height * period) ** 2 * hull.equivalent_waves * onshore
            waves[w] += share * energy / (classes.height[w] * classes.period[w]) ** 2


def expect_wind_waves(
    sea: WindSea, classes: WaveClasses, levels: WaterLevels, surge: Floats, tally: Floats
) -> None:
    """Add the expected waves of the wind rose to the tally: no wind is drawn.

    Parameters
    ----------
    sea, classes, levels, surge, tally
        As in :func:`count_wind_waves`.
    """
    n_days = tally.shape[0]
    share = np.diff(sea.cumulative, prepend=0.0)
    rate = np.bincount(sea.wave_class, share * sea.flux, minlength=classes.flux.size)
    waves = np.divide(rate, classes.flux * classes.period)
    level = levels.hourly[: 24 * n_days].reshape(n_days, 24) + surge[:n_days, None]
    bins = np.searchsorted(levels.edges, level, side="right")
    seconds = np.zeros(tally.shape[:2])
    np.add.at(seconds, (np.arange(n_days)[:, None], bins), 3600.0)
    tally += seconds[:, :, None] * waves
