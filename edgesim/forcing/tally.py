"""The tally of each day: how many waves of each class came at each water level.

A passage is counted in the class of its height, as the number of class waves
that carry its energy; energy is therefore kept exactly whatever the classes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.calendar import Calendar
from edgesim.forcing.water_levels import WaterLevels
from edgesim.forcing.waves import Fleet, Waterway, WaveClasses, WindSea, passage_wave
from edgesim.kernels import kernel

Floats = NDArray[np.float64]

HOURS_PER_WIND = 3
"""Length of a spell of one wind. [h]"""


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
    multiplier: float,
    growth: float,
    overdispersion: float,
    day_start_hour: float,
    day_end_hour: float,
    generator: np.random.Generator,
    tally: Floats,
) -> None:
    """Draw every boat passage of a run and add its waves to the tally.

    Parameters
    ----------
    boats, way, classes, days, levels
        See their classes.
    surge : float64, (n_days,)
        Departure of the level. [m]
    multiplier, growth : float
        Factor on all passages; its yearly growth. [1], [year-1]
    overdispersion : float
        Squared coefficient of variation of the daily factor that all boats share. [1]
    day_start_hour, day_end_hour : float
        Hours between which boats pass, evenly. [h]
    generator : numpy.random.Generator
        Random stream of traffic.
    tally : float64, (n_days, n_levels, n_classes)
        Added to: number of class waves. [1]
    """
    for day in range(tally.shape[0]):
        factor = multiplier * (1.0 + growth) ** days.year_fraction[day]
        if overdispersion > 0.0:
            factor *= generator.gamma(1.0 / overdispersion, overdispersion)
        for i in range(boats.speed.size):
            weekly = (
                boats.passages_weekend[i] if days.is_weekend[day] else boats.passages_weekday[i]
            )
            n = generator.poisson(weekly * boats.months[i, days.month[day]] * factor)
            for _ in range(n):
                height, period, onshore = passage_wave(boats, i, way, generator)
                hour = day_start_hour + (day_end_hour - day_start_hour) * generator.random()
                level = levels.hourly[day * 24 + int(min(hour, 23.0))] + surge[day]
                k = level_bin(levels.edges, level)
                w = level_bin(classes.edges, height)
                energy = (height * period) ** 2 * boats.equivalent_waves[i] * onshore
                tally[day, k, w] += energy / (classes.height[w] * classes.period[w]) ** 2


@kernel
def count_wind_waves(
    sea: WindSea,
    classes: WaveClasses,
    levels: WaterLevels,
    surge: Floats,
    generator: np.random.Generator,
    tally: Floats,
) -> None:
    """Draw a wind for every spell of three hours and add its waves to the tally.

    Parameters as in :func:`count_wakes`; spells are independent of each other.
    """
    for day in range(tally.shape[0]):
        for spell in range(24 // HOURS_PER_WIND):
            draw = generator.random()
            row = level_bin(sea.cumulative, draw)
            if row >= sea.flux.size:
                continue
            hour = spell * HOURS_PER_WIND + 1
            k = level_bin(levels.edges, levels.hourly[day * 24 + hour] + surge[day])
            w = sea.wave_class[row]
            energy = sea.flux[row] * HOURS_PER_WIND * 3600.0
            tally[day, k, w] += energy / (classes.flux[w] * classes.period[w])
