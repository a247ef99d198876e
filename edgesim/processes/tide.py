"""Astronomical tide from harmonic constants, and what it says of a surface.

The level is a sum of cosines whose arguments follow the mean longitudes of moon
and sun; a slow correction per year (amplitude factor f, phase u) stands for the
18.6-year turn of the moon's node.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.constants import SECONDS_PER_DAY, SECONDS_PER_YEAR
from edgesim.errors import InvalidParameterError

Floats = NDArray[np.float64]
Times = NDArray[np.datetime64]

SECONDS_PER_CENTURY = 100 * SECONDS_PER_YEAR
"""Julian century. [s]"""

J2000 = np.datetime64("2000-01-01T12:00:00", "ms")
"""Epoch of the mean longitudes, noon universal time."""

MOON_LONGITUDE = (218.3164477, 481267.88123421)
"""Mean longitude s of the moon: value at J2000 and change a century (from memory). [degree]"""

SUN_LONGITUDE = (280.46646, 36000.76983)
"""Mean longitude h of the sun: value at J2000 and change a century (from memory). [degree]"""

PERIGEE_LONGITUDE = (83.3532465, 4069.0137287)
"""Longitude p of the moon's perigee: value at J2000 and change a century (from memory). [degree]"""

NODE_LONGITUDE = (125.04452, -1934.136261)
"""Longitude N of the moon's ascending node: J2000 and a century (from memory). [degree]"""

SMALLEST_TIDE = 0.03
"""A high water stands at least so far above the lows beside it (common practice, no source). [m]"""

Nodal = Callable[[float], tuple[float, float]]


def _nodal_none(_node: float) -> tuple[float, float]:
    return 1.0, 0.0


def _nodal_m2(node: float) -> tuple[float, float]:
    factor = 1.0004 - 0.0373 * np.cos(node) + 0.0002 * np.cos(2 * node)
    return float(factor), float(np.radians(-2.14 * np.sin(node)))


def _nodal_m4(node: float) -> tuple[float, float]:
    factor, phase = _nodal_m2(node)
    return factor**2, 2 * phase


def _nodal_k1(node: float) -> tuple[float, float]:
    one, two, three = node, 2 * node, 3 * node
    factor = 1.0060 + 0.1150 * np.cos(one) - 0.0088 * np.cos(two) + 0.0006 * np.cos(three)
    phase = -8.86 * np.sin(one) + 0.68 * np.sin(two) - 0.07 * np.sin(three)
    return float(factor), float(np.radians(phase))


def _nodal_o1(node: float) -> tuple[float, float]:
    one, two, three = node, 2 * node, 3 * node
    factor = 1.0089 + 0.1871 * np.cos(one) - 0.0147 * np.cos(two) + 0.0014 * np.cos(three)
    phase = 10.80 * np.sin(one) - 1.34 * np.sin(two) + 0.19 * np.sin(three)
    return float(factor), float(np.radians(phase))


@dataclass(frozen=True, slots=True)
class Constituent:
    """One line of the tide: how its argument grows and how the node modulates it.

    Parameters
    ----------
    cycles : int
        Turns in a mean solar day (the species). [1]
    moon, sun, perigee : int
        Multiples of the mean longitudes s, h and p. [1]
    offset : float
        Constant of the argument at midnight universal time. [degree]
    nodal : callable
        Amplitude factor and phase [rad] for a longitude of the node [rad].
    """

    cycles: int
    moon: int
    sun: int
    perigee: int
    offset: float
    nodal: Nodal

    @property
    def speed(self) -> float:
        """Rate [rad s-1] at which the argument grows."""
        longitudes = (
            self.moon * MOON_LONGITUDE[1]
            + self.sun * SUN_LONGITUDE[1]
            + self.perigee * PERIGEE_LONGITUDE[1]
        )
        return float(
            2 * np.pi * self.cycles / SECONDS_PER_DAY + np.radians(longitudes) / SECONDS_PER_CENTURY
        )


CONSTITUENTS: Mapping[str, Constituent] = {
    "M2": Constituent(2, -2, 2, 0, 0.0, _nodal_m2),
    "S2": Constituent(2, 0, 0, 0, 0.0, _nodal_none),
    "N2": Constituent(2, -3, 2, 1, 0.0, _nodal_m2),
    "K1": Constituent(1, 0, 1, 0, 90.0, _nodal_k1),
    "O1": Constituent(1, -2, 1, 0, -90.0, _nodal_o1),
    "M4": Constituent(4, -4, 4, 0, 0.0, _nodal_m4),
    "SA": Constituent(0, 0, 1, 0, 0.0, _nodal_none),
    "SSA": Constituent(0, 0, 2, 0, 0.0, _nodal_none),
}
"""The constituents that edgesim knows, by their usual names.

Multiples are those of the International Hydrographic Organization's standard list of
tidal constituents (2017; read). SA is the line that follows the sun's longitude
(0.0410686 degree/h), the one of US station constants, not the one counted from perihelion.
"""


def _seconds_since_epoch(times: ArrayLike | np.datetime64) -> Floats:
    moments = np.asarray(times, dtype="datetime64[ms]")
    return np.asarray((moments - J2000) / np.timedelta64(1, "s"), dtype=np.float64)


def _longitude(line: tuple[float, float], centuries: float) -> float:
    return line[0] + line[1] * centuries


def nodal_factors(time: np.datetime64 | str) -> dict[str, tuple[float, float]]:
    """Amplitude factor f and phase correction u of every constituent at one time.

    Parameters
    ----------
    time : datetime64 or str
        Moment, universal time.

    Returns
    -------
    dict of str to (float, float)
        Factor f [1] and phase u [rad].

    Notes
    -----
    Series in cosines and sines of the node N. The phases and the K1 factor agree with the
    IHO list (read). For the factors of M2 and O1 that list prints the constants 1.0007 and
    1.0176, the root mean squares of ``|1 + r exp(iN)|`` over a node cycle; the means,
    ``1 + r**2 / 4`` with r = 0.0373 and 0.1885, are the 1.0004 and 1.0089 that public tide
    codes carry (read) and that are used here. For 2000 to 2040 an independent analysis library,
    which adds small latitude terms, gives f within 0.008 and u within 0.4 degree of these.

    References
    ----------
    International Hydrographic Organization, 2017, "Standard list of tidal constituents", annex A.
    A. T. Doodson and H. D. Warburg, 1941, "Admiralty manual of tides".
    """
    centuries = float(_seconds_since_epoch(time)) / SECONDS_PER_CENTURY
    node = float(np.radians(_longitude(NODE_LONGITUDE, centuries)))
    return {name: constituent.nodal(node) for name, constituent in CONSTITUENTS.items()}


def equilibrium_argument(time: np.datetime64 | str) -> dict[str, float]:
    """Astronomical argument V of every constituent at one time, seen from Greenwich.

    Parameters
    ----------
    time : datetime64 or str
        Moment, universal time.

    Returns
    -------
    dict of str to float
        Argument in [0, 2 pi). [rad]

    Notes
    -----
    ``V = 360 c t + i s + j h + k p + offset`` with t the part of the day gone, c the turns a
    day and i, j, k the multiples in `CONSTITUENTS`; s, h, p linear in time (from memory;
    for 2000 to 2040 within 0.002 degree of an independent analysis library).
    """
    seconds = float(_seconds_since_epoch(time))
    centuries = seconds / SECONDS_PER_CENTURY
    day_share = (seconds / SECONDS_PER_DAY + 0.5) % 1.0  # the epoch is noon
    arguments = {}
    for name, line in CONSTITUENTS.items():
        degrees = (
            360.0 * line.cycles * day_share
            + line.moon * _longitude(MOON_LONGITUDE, centuries)
            + line.sun * _longitude(SUN_LONGITUDE, centuries)
            + line.perigee * _longitude(PERIGEE_LONGITUDE, centuries)
            + line.offset
        )
        arguments[name] = float(np.radians(degrees % 360.0))
    return arguments


def harmonic_sum(elapsed: ArrayLike, constituents: Mapping[str, tuple[float, float]]) -> Floats:
    """Sum the constituents as plain cosines, without astronomy.

    Parameters
    ----------
    elapsed : array_like
        Time since the moment at which all arguments are zero. [s]
    constituents : mapping of str to (float, float)
        Amplitude [m] and phase lag [rad] by constituent name.

    Returns
    -------
    ndarray of float64, same shape as `elapsed`
        Level about mean sea level. [m]

    Raises
    ------
    InvalidParameterError
        If a name is not in `CONSTITUENTS` or an amplitude is negative or not finite.

    Examples
    --------
    >>> harmonic_sum([0.0, 6 * 3600.0], {"S2": (0.5, 0.0)}).round(3).tolist()
    [0.5, -0.5]
    """
    seconds = np.asarray(elapsed, dtype=np.float64)
    level = np.zeros_like(seconds)
    for name, (amplitude, phase_lag) in constituents.items():
        if name not in CONSTITUENTS:
            message = f"constituents: {name!r} is unknown; known are {', '.join(CONSTITUENTS)}"
            raise InvalidParameterError(message)
        if not (np.isfinite(phase_lag) and 0 <= amplitude < np.inf):
            message = f"constituents: {name} is ({amplitude}, {phase_lag}); both must be finite, amplitude >= 0"
            raise InvalidParameterError(message)
        level += amplitude * np.cos(CONSTITUENTS[name].speed * seconds - phase_lag)
    return level


def predict(times: Times, constituents: Mapping[str, tuple[float, float]]) -> Floats:
    """Predict the tide from the harmonic constants of a station.

    Parameters
    ----------
    times : array of datetime64
        Moments, universal time, any shape and order.
    constituents : mapping of str to (float, float)
        Amplitude [m] and phase lag behind Greenwich [rad] by constituent name.

    Returns
    -------
    ndarray of float64, same shape as `times`
        Level about mean sea level. [m]

    Raises
    ------
    InvalidParameterError
        If a name is unknown, an amplitude is negative, or a time is missing (NaT).

    Notes
    -----
    ``eta = sum f A cos(V + u - G)``. As in printed tables, f and u are those of the middle of
    each calendar year; at New Year the level therefore jumps by up to about 1 % of an amplitude.
    Minor and shallow-water constituents are left out: mean range 1-2 % under the observed one
    on the open south-eastern US coast.

    Examples
    --------
    >>> hours = np.datetime64("2030-06-01") + np.arange(0, 4) * np.timedelta64(3, "h")
    >>> predict(hours, {"S2": (0.5, 0.0)}).round(3).tolist()
    [0.5, 0.0, -0.5, -0.0]
    """
    moments = np.asarray(times, dtype="datetime64[ms]")
    if np.isnat(moments).any():
        message = "times: some are missing (NaT); every time must be a date"
        raise InvalidParameterError(message)
    years = moments.astype("datetime64[Y]")
    level = np.zeros(moments.shape)
    for year in np.unique(years):
        start = year.astype("datetime64[ms]")
        middle = start + ((year + 1).astype("datetime64[ms]") - start) / 2
        within = years == year
        elapsed = (moments[within] - start) / np.timedelta64(1, "s")
        level[within] = harmonic_sum(elapsed, _constants_from(start, middle, constituents))
    return level


def _constants_from(
    start: np.datetime64, middle: np.datetime64, constituents: Mapping[str, tuple[float, float]]
) -> dict[str, tuple[float, float]]:
    """Constants with the astronomy of one year folded in, for times counted from `start`."""
    arguments, factors = equilibrium_argument(start), nodal_factors(middle)
    folded = {}
    for name, (amplitude, phase_lag) in constituents.items():
        factor, phase = factors.get(name, (1.0, 0.0))
        folded[name] = (factor * amplitude, phase_lag - phase - arguments.get(name, 0.0))
    return folded


def inundation_fraction(levels: ArrayLike, elevation: ArrayLike) -> Floats:
    """Share of the time that the water stands above a surface.

    Parameters
    ----------
    levels : array_like
        Water levels at even time steps. [m]
    elevation : array_like
        Height of the surface above the same datum, any shape. [m]

    Returns
    -------
    ndarray of float64, same shape as `elevation`
        Share in [0, 1]. [1]

    Raises
    ------
    InvalidParameterError
        If `levels` is empty or not finite.

    Examples
    --------
    >>> float(inundation_fraction([0.0, 1.0, 2.0, 3.0], 1.5))
    0.5
    """
    ordered = np.sort(_checked_levels(levels))
    below = np.searchsorted(ordered, np.asarray(elevation, dtype=np.float64), side="right")
    return np.asarray(1.0 - below / ordered.size, dtype=np.float64)


def mean_high_low_water(levels: ArrayLike) -> tuple[float, float]:
    """Mean of all high waters and mean of all low waters of a record.

    Parameters
    ----------
    levels : array_like
        Water levels at even time steps, at most about half an hour apart. [m]

    Returns
    -------
    tuple of float
        Mean high water and mean low water, in the datum of `levels`. [m]

    Raises
    ------
    InvalidParameterError
        If the record is not finite or holds no high or no low water.

    Notes
    -----
    Turning points that stand out by less than `SMALLEST_TIDE` are not counted as tides.
    """
    # Loading it takes a second, which no forecast needs.
    from scipy.signal import find_peaks

    record = _checked_levels(levels)
    highs, _ = find_peaks(record, prominence=SMALLEST_TIDE)
    lows, _ = find_peaks(-record, prominence=SMALLEST_TIDE)
    if highs.size == 0 or lows.size == 0:
        message = f"levels: {record.size} values hold no full tide; give at least a day"
        raise InvalidParameterError(message)
    return float(record[highs].mean()), float(record[lows].mean())


def _checked_levels(levels: ArrayLike) -> Floats:
    record = np.asarray(levels, dtype=np.float64).ravel()
    if record.size == 0 or not np.isfinite(record).all():
        message = "levels: must hold at least one value and only finite ones"
        raise InvalidParameterError(message)
    return record
