"""Still-water levels through a run, the level bins, and what a level means for a place.

Levels are metres about the mean sea level of the day; the rise of that mean is
kept apart, so that one set of bins and tables serves every year.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from edgesim.kernels import kernel
from edgesim.processes.tide import predict
from edgesim.scenario import Scenario

HOURS_PER_DAY = 24

SURGE_STEPS = 20
"""Equally likely surges with which the tide is met to lay the level bins."""

TABLE_LOW = -4.0
"""Lowest level of the exposure tables, about mean sea level. [m]"""

TABLE_STEP = 0.01
"""Step of the exposure tables. [m]"""

TABLE_SIZE = 801
"""Number of levels in the exposure tables: -4 m to +4 m."""


class WaterLevels(NamedTuple):
    """Predicted levels of a run and their bins.

    Attributes
    ----------
    hourly : float64, (n_days * 24,)
        Level about mean sea level at the start of each hour. [m]
    edges : float64, (n_bins - 1,)
        Upper bounds of all level bins but the last. [m]
    centres : float64, (n_bins,)
        Mean level within each bin. [m]
    width : float
        Width of a bin. [m]
    """

    hourly: NDArray[np.float64]
    edges: NDArray[np.float64]
    centres: NDArray[np.float64]
    width: float


def water_levels(scenario: Scenario, n_days: int) -> WaterLevels:
    """Hourly levels of a run, from harmonic constants or from a gauge, and their bins.

    Parameters
    ----------
    scenario : Scenario
        Gives tide, start date and number of bins.
    n_days : int
        Length of the run. [d]

    Returns
    -------
    WaterLevels

    Notes
    -----
    A gauge record takes the place of the constants. It is read at whole hours,
    laid on the calendar by its own times and repeated end to end; its mean is
    removed, since mean sea level comes from the datum table. Bins are equally
    wide between the levels of tide and surge exceeded 99.8 % and 0.2 % of the
    time; the season is in the constants SA and SSA, or in the gauge's record.
    """
    start = np.datetime64(scenario.run.start, "h")
    times = start + np.arange(n_days * HOURS_PER_DAY) * np.timedelta64(1, "h")
    gauge = scenario.tide.gauge
    if gauge is not None:
        whole_hours = np.arange(int(gauge.hours[-1]) + 1)
        record = np.interp(whole_hours, gauge.hours, gauge.levels)
        first = np.datetime64(gauge.first_time.replace(tzinfo=None), "s")
        since = np.round((times - first) / np.timedelta64(1, "h")).astype(np.int64)
        hourly = (record - record.mean())[since % record.size]
    else:
        constants = {
            name: (part.amplitude, part.phase_lag)
            for name, part in scenario.tide.constituents.items()
        }
        hourly = predict(times, constants)
    surge = surge_spread(scenario) * ndtri((np.arange(SURGE_STEPS) + 0.5) / SURGE_STEPS)
    # A step that shares no factor with the day and the month meets every phase of the tide.
    levels = (hourly[::7][:, None] + surge[None, :]).ravel()
    low, high = np.quantile(levels, [0.002, 0.998])
    edges = np.linspace(low, high, scenario.run.water_level_bins + 1)[1:-1]
    bins = np.searchsorted(edges, levels, side="right")
    counts = np.bincount(bins, minlength=edges.size + 1)
    sums = np.bincount(bins, weights=levels, minlength=edges.size + 1)
    width = float(high - low) / (edges.size + 1)
    return WaterLevels(hourly, edges, sums / np.maximum(counts, 1), width)


def surge_spread(scenario: Scenario) -> float:
    """Standard deviation of the surge that is added to the tide. [m].

    The record of a gauge holds the weather already: nothing is added to it.
    """
    return 0.0 if scenario.tide.gauge is not None else scenario.tide.surge_sd


def daily_surge(
    n_days: int, standard_deviation: float, persistence_days: float, generator: np.random.Generator
) -> NDArray[np.float64]:
    """Day-by-day departure of the water level from the tide.

    Parameters
    ----------
    n_days : int
        Length of the run. [d]
    standard_deviation : float
        Standard deviation of the departure. [m]
    persistence_days : float
        Time over which a departure falls to 1/e. [d]
    generator : numpy.random.Generator
        Random stream.

    Returns
    -------
    ndarray, (n_days,)
        Departure, mean zero. [m]

    Notes
    -----
    First-order autoregression, stationary from the first day. Common practice, no source.
    """
    memory = np.exp(-1.0 / persistence_days) if persistence_days > 0 else 0.0
    shocks = generator.standard_normal(n_days)
    surge = np.empty(n_days)
    previous = shocks[0]
    surge[0] = previous
    scale = np.sqrt(1.0 - memory**2)
    for day in range(1, n_days):
        previous = memory * previous + scale * shocks[day]
        surge[day] = previous
    return standard_deviation * surge


@kernel
def fill_exposure_tables(
    hourly: NDArray[np.float64],
    surge: NDArray[np.float64],
    low: float,
    step: float,
    dry_share: NDArray[np.float64],
    flood_depth: NDArray[np.float64],
) -> None:
    """Share of time in air and mean flood depth for a ladder of elevations.

    Parameters
    ----------
    hourly : float64, (n_days * 24,)
        Level about mean sea level. [m]
    surge : float64, (n_days,)
        Departure of each day. [m]
    low, step : float
        First elevation of the ladder and its step, about mean sea level. [m]
    dry_share : float64, (n,)
        Filled: share of the time that each elevation is in air. [1]
    flood_depth : float64, (n,)
        Filled: mean over high waters of the depth over each elevation. [m]
    """
    n = dry_share.size
    for i in range(n):
        dry_share[i] = 0.0
        flood_depth[i] = 0.0
    n_high = 0
    last = hourly.size - 1
    for hour in range(hourly.size):
        level = hourly[hour] + surge[hour // 24]
        rung = min(max(int((level - low) / step) + 1, 0), n - 1)
        dry_share[rung] += 1.0
        if 0 < hour < last and hourly[hour - 1] < hourly[hour] >= hourly[hour + 1]:
            n_high += 1
            flood_depth[rung] += 1.0
    # dry_share now counts hours by rung: the hours below a rung are those it is dry.
    total = 0.0
    for i in range(n):
        total += dry_share[i]
        dry_share[i] = total / hourly.size
    # Going down one rung, every high water above it is one step deeper, and those within
    # the rung just passed are half a step deep on average.
    n_above = 0.0
    depth_sum = 0.0
    count_within = 0.0
    for i in range(n - 1, -1, -1):
        depth_sum += step * (n_above + 0.5 * count_within)
        n_above += count_within
        count_within = flood_depth[i]
        flood_depth[i] = depth_sum / max(n_high, 1)


@kernel
def look_up(table: NDArray[np.float64], low: float, step: float, value: float) -> float:
    """Linear interpolation in a table over an even ladder, constant beyond its ends."""
    position = (value - low) / step
    if position <= 0.0:
        return float(table[0])
    rung = int(position)
    if rung >= table.size - 1:
        return float(table[table.size - 1])
    share = position - rung
    return float(table[rung] + share * (table[rung + 1] - table[rung]))
