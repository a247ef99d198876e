"""From a wind rose or an hourly record to the waves of each spell, and to days too rough for boats."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.forcing.waves import WIND, WIND_SPREAD, WaveClasses
from edgesim.processes.linear_waves import group_velocity
from edgesim.processes.wind_waves import rms_height, wave_spm, wave_young_verhagen
from edgesim.scenario import Scenario
from edgesim.scenario.site import WindRecord

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

FORMULAS = {"young-verhagen": wave_young_verhagen, "spm": wave_spm}
"""Rival formulas of wind waves by their name in the scenario."""

SPELLS_PER_DAY = 8
"""Spells of one wind in a day drawn from a wind rose: three hours each."""


class WindSea(NamedTuple):
    """Wind waves of each row of the wind rose, or of each hour of the record.

    Attributes
    ----------
    cumulative : float64
        Cumulative share of time. [1]
    speed : float64
        Speed of the wind, from whichever side. [m s-1]
    flux : float64
        Onshore energy flux, 0 for calms and winds without fetch. [W m-1]
    wave_class : int64
        Class of the row.
    onward : float64
        Share of its waves that run onward, the way in which distances alongshore grow. [1]
    """

    cumulative: Floats
    speed: Floats
    flux: Floats
    wave_class: Integers
    onward: Floats


def wind_rows(scenario: Scenario) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Share of time, speed [m s-1], onshore flux [W m-1], height [m] and period [s] of all winds.

    Parameters
    ----------
    scenario : Scenario
        A member's values: its wind rose, or the hours of its record, each as likely.

    Notes
    -----
    The fetch of a row is that of the nearest listed direction; rows from the land side make no
    waves, and have no flux, height or period. Heights are energy-equivalent regular waves.
    """
    wind = scenario.wind
    if wind is None or scenario.site.shore_faces is None:
        empty = np.empty(0)
        return empty, empty, empty, empty, empty
    if wind.hourly is not None:
        speed, direction = np.array(wind.hourly.speeds), np.array(wind.hourly.directions)
        share = np.full(speed.size, 1.0 / speed.size)
    else:
        speed, direction, share = np.array(wind.table, dtype=np.float64).T
    fetch_direction, fetch = np.array(wind.fetches, dtype=np.float64).T
    onshore = np.cos(direction - scenario.site.shore_faces)
    nearest = np.argmax(np.cos(direction[:, None] - fetch_direction[None, :]), axis=1)
    makes = (onshore > 1e-6) & (speed > 0.0) & (fetch[nearest] > 0.0)
    flux, height, period = (np.zeros(speed.size) for _ in range(3))
    if makes.any():
        significant, period[makes] = FORMULAS[wind.formula](
            speed[makes], fetch[nearest][makes], wind.fetch_depth
        )
        height[makes] = rms_height(significant)
        energy = WATER_DENSITY * GRAVITY * height[makes] ** 2 / 8.0
        flux[makes] = energy * group_velocity(period[makes], wind.fetch_depth) * onshore[makes]
    return share, speed, flux, height, period


def wind_table(scenario: Scenario) -> tuple[Floats, Floats, Floats, Floats]:
    """Share of time, onshore flux [W m-1], height [m] and period [s] of the winds that make waves."""
    share, _, flux, height, period = wind_rows(scenario)
    makes = flux > 0.0
    return share[makes], flux[makes], height[makes], period[makes]


def wind_angles(scenario: Scenario) -> Floats:
    """Angle of every wind from the shore's normal, positive when it blows onward. [rad].

    Onward is to the right looking landward: a wind from the left of the way the shore faces.
    """
    wind = scenario.wind
    if wind is None or scenario.site.shore_faces is None:
        return np.empty(0)
    record = wind.hourly
    direction = np.array(record.directions) if record else np.array(wind.table).T[1]
    return np.asarray(np.angle(np.exp(1j * (direction - scenario.site.shore_faces))))


def wind_sea(scenario: Scenario, classes: WaveClasses) -> WindSea:
    """Wind waves of each row of the rose or the record, with their classes.

    Directions scatter about the wind's normally with `WIND_SPREAD`: of a wind straight onto the
    shore half of the waves run either way, of one 25 degrees off five sixths run its own.
    """
    share, speed, flux, height, _ = wind_rows(scenario)
    first = int((classes.source != WIND).sum())
    place = np.searchsorted(classes.wind_edges, height, side="right")
    wave_class = np.minimum(first + place, max(classes.source.size - 1, 0))
    onward = ndtr(wind_angles(scenario) / WIND_SPREAD)
    return WindSea(np.cumsum(share), speed, flux, wave_class, onward)


def onward_shares(sea: WindSea, time: Floats, n_classes: int) -> Floats:
    """Share of the energy of each class that winds send onward; a half where there is none. (n_classes,). [1].

    Parameters
    ----------
    sea : WindSea
        Rows of the wind.
    time : ndarray
        How long each of them blew, in any unit.
    n_classes : int
        Number of classes.
    """
    energy = time * sea.flux
    total = np.bincount(sea.wave_class, energy, minlength=n_classes)
    onward = np.bincount(sea.wave_class, energy * sea.onward, minlength=n_classes)
    return np.asarray(np.divide(onward, total, out=np.full(n_classes, 0.5), where=total > 0.0))


def winds(
    scenario: Scenario, sea: WindSea, n_days: int, generator: np.random.Generator
) -> Integers:
    """Row of the wind in every spell of every day, -1 for a calm that is not listed.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    sea : WindSea
        Its rows.
    n_days : int
        Length of the run. [d]
    generator : numpy.random.Generator
        Random stream of wind; not used where there is an hourly record, which is laid on the
        calendar by its own times and repeated end to end.

    Returns
    -------
    ndarray of int64, (n_days, n_spells)
        Spells are independent of each other where drawn.
    """
    record = scenario.wind.hourly if scenario.wind is not None else None
    if record is not None:
        return _recorded(scenario, record, n_days)
    draws = generator.random((n_days, SPELLS_PER_DAY))
    rows = np.searchsorted(sea.cumulative, draws, side="right")
    return np.where(rows < sea.cumulative.size, rows, -1).astype(np.int64)


def _recorded(scenario: Scenario, record: WindRecord, n_days: int) -> Integers:
    """Row of the record nearest to every whole hour of the run."""
    hours = np.array(record.hours)
    span = round(hours[-1]) + 1
    nearest = np.searchsorted(0.5 * (hours[1:] + hours[:-1]), np.arange(span))
    start = np.datetime64(scenario.run.start, "s")
    first = np.datetime64(record.first_time.replace(tzinfo=None), "s")
    offset = round(float((start - first) / np.timedelta64(1, "h")))
    return np.asarray(nearest[(offset + np.arange(24 * n_days)) % span].reshape(n_days, 24))


def boating_factor(scenario: Scenario, sea: WindSea, rows: Integers) -> Floats:
    """Factor on the passages of every day from its wind; its mean is 1. (n_days,). [1].

    Counts of passages are means of the year, rough days included. In rough hours only a share
    of the boats goes out; the factor is what is left of the boating hours of the day over what
    is left on average.
    """
    traffic = scenario.traffic
    if not sea.speed.size:
        return np.ones(rows.shape[0])
    lost = (sea.speed >= traffic.rough_wind) * (1.0 - traffic.rough_share)
    share = np.diff(sea.cumulative, prepend=0.0)
    hours = (np.arange(rows.shape[1]) + 0.5) * 24.0 / rows.shape[1]
    boating = (hours > traffic.day_start_hour) & (hours < traffic.day_end_hour)
    boating |= ~boating.any()
    lost_now = np.where(rows >= 0, lost[rows], 0.0)[:, boating].mean(axis=1)
    return np.asarray((1.0 - lost_now) / max(1.0 - float(share @ lost), 1e-9))
