"""The ensemble in a few rows: quantiles by year and the chance of takeover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv, ndtri

from edgesim.errors import InvalidParameterError
from edgesim.names import BY_NAME
from edgesim.outcomes.dataset import has_reef, write_table, years_elapsed
from edgesim.outcomes.indicators import record_of_year

QUANTITIES = (
    "retreat",
    "retreat_neighbours",
    "land_kept",
    "fill_fraction",
    "oyster_density",
    "reef_crest",
    "wall_transmission",
    "reef_transmission",
    "cost",
    "mud_trapped",
)
QUANTILES = (0.05, 0.25, 0.50, 0.75, 0.95)
YEARS = (1, 3, 5, 10, 20, 30)

METRES_PER_FOOT = 0.3048
"""International foot, exact by definition. [m]"""

ENGLISH_UNITS = {
    "m": ("ft", 1.0 / METRES_PER_FOOT),
    "m2": ("ft2", 1.0 / METRES_PER_FOOT**2),
    "m-2": ("ft-2", METRES_PER_FOOT**2),
    "kg": ("lb", 1.0 / 0.45359237),
}
"""Customary unit and factor beside each SI unit; exact by definition of foot and pound."""


@dataclass(frozen=True, slots=True)
class SummaryRow:
    """Quantiles of one quantity of one option at one year, over `n` members."""

    option: str
    quantity: str
    unit: str
    year: int
    p05: float
    p25: float
    p50: float
    p75: float
    p95: float
    n: int


@dataclass(frozen=True, slots=True)
class TakeoverRow:
    """Chance that the reef has taken over by a year, with its 90 % interval."""

    option: str
    year: int
    chance: float
    low: float
    high: float
    n: int


def member_quantiles(values: ArrayLike) -> NDArray[np.float64]:
    """Quantiles over members of the members that have a value.

    Parameters
    ----------
    values : array_like, (member, ...)
        One quantity; NaN where a member has none.

    Returns
    -------
    ndarray, (5, ...)
        The `QUANTILES`; NaN where no member has a value.

    Examples
    --------
    >>> [float(q) for q in member_quantiles([0.0, 1.0, 2.0, 3.0, 4.0])]
    [0.2, 1.0, 2.0, 3.0, 3.8]
    """
    array = np.asarray(values, dtype=np.float64)
    found = np.isfinite(array).any(axis=0)
    # nanquantile warns about slices without any value, so those take no part.
    quantiles = np.nanquantile(np.where(found, array, 0.0), QUANTILES, axis=0)
    return np.where(found, quantiles, np.nan)


def weighted_quantiles(
    values: ArrayLike, weights: ArrayLike, shares: ArrayLike
) -> NDArray[np.float64]:
    """Quantiles of weighted futures.

    Parameters
    ----------
    values : array_like, (n,)
        One quantity; futures without a value take no part.
    weights : array_like, (n,)
        [1]
    shares : array_like, (n_shares,)
        Share of the weight below each quantile. [1]

    Returns
    -------
    ndarray, (n_shares,)
        Values at which the shares are reached, none made up between futures; NaN where no future
        that weighs has a value.

    Examples
    --------
    >>> weighted_quantiles([1.0, 2.0, 3.0], [0.1, 0.8, 0.1], [0.05, 0.5, 0.95])
    array([1., 2., 3.])
    """
    found, weight = np.asarray(values, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    wanted = np.asarray(shares, dtype=np.float64)
    kept = np.isfinite(found) & (weight > 0.0)
    if not kept.any():
        return np.full(wanted.shape, np.nan)
    return np.asarray(np.quantile(found[kept], wanted, weights=weight[kept], method="inverted_cdf"))


ERROR_STEPS = ndtri((np.arange(41) + 0.5) / 41.0)
"""Values of even weight that stand for a normal error of 1. [1]"""


def survey_band(
    values: ArrayLike, error: float, weights: ArrayLike | None = None
) -> tuple[float, float, float]:
    """5 %, 50 % and 95 % of what a survey would find in futures: each with the error of the survey.

    Parameters
    ----------
    values : array_like, (n,)
        What each future holds.
    error : float
        Standard error of the survey. [as the values]
    weights : array_like, (n,), optional
        Of the futures; all alike where left out. [1]
    """
    found = np.asarray(values, dtype=np.float64)
    weight = np.ones(found.size) if weights is None else np.asarray(weights)
    seen = (found[:, None] + error * ERROR_STEPS).ravel()
    low, middle, high = weighted_quantiles(
        seen, np.repeat(weight, ERROR_STEPS.size), QUANTILES[::2]
    )
    return float(low), float(middle), float(high)


def chance_interval(
    successes: ArrayLike, trials: int, confidence: float = 0.90
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Exact (Clopper-Pearson) interval of a chance seen in few trials.

    Parameters
    ----------
    successes : array_like of int
        How often it happened, 0 to `trials`. [1]
    trials : int
        Number of members, at least 1. [1]
    confidence : float, default 0.90
        Two-sided confidence, between 0 and 1. [1]

    Returns
    -------
    low, high : ndarray
        Ends of the interval. [1]

    Raises
    ------
    InvalidParameterError
        If a count lies outside 0 to `trials`.

    Notes
    -----
    The ends are quantiles of Beta(k, n-k+1) and Beta(k+1, n-k) (from memory,
    checked against ``scipy.stats.binomtest``). Never too short, at the price of
    being somewhat long for few members.

    References
    ----------
    C. J. Clopper and E. S. Pearson, 1934, The use of confidence or fiducial
    limits illustrated in the case of the binomial.
    """
    count = np.asarray(successes, dtype=np.float64)
    if trials < 1 or np.any((count < 0) | (count > trials)):
        msg = (
            f"successes must lie between 0 and trials ({trials}, at least 1); got {count.tolist()}."
        )
        raise InvalidParameterError(msg)
    tail = (1.0 - confidence) / 2.0
    # The clipped arguments only keep betaincinv defined where the end is 0 or 1 anyway.
    low = betaincinv(np.maximum(count, 1), trials - np.maximum(count, 1) + 1, tail)
    high = betaincinv(
        np.minimum(count, trials - 1) + 1, trials - np.minimum(count, trials - 1), 1 - tail
    )
    return np.where(count == 0, 0.0, low), np.where(count == trials, 1.0, high)


def summary_table(dataset: xr.Dataset, years: Sequence[int] = YEARS) -> list[SummaryRow]:
    """Quantiles of the main quantities by option and year.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    years : sequence of int, default `YEARS`
        Years wanted; those beyond the run are left out. [year]

    Returns
    -------
    list of SummaryRow
        SI units; without the quantities that an option does not have.
    """
    elapsed = years_elapsed(dataset)
    records = {year: record_of_year(elapsed, year) for year in years}
    return [
        _row(str(option), name, _unit(dataset, name), year, values)
        for option in dataset["option"].values
        for name in QUANTITIES
        for year, record in records.items()
        if record is not None
        and np.isfinite(values := dataset[name].sel(option=option).values[:, record]).any()
    ]


def _row(
    option: str, quantity: str, unit: str, year: int, values: NDArray[np.float64]
) -> SummaryRow:
    p05, p25, p50, p75, p95 = (float(value) for value in member_quantiles(values))
    count = int(np.isfinite(values).sum())
    return SummaryRow(option, quantity, unit, year, p05, p25, p50, p75, p95, count)


def _unit(dataset: xr.Dataset, name: str) -> str:
    return str(dataset.attrs["currency"]) if name == "cost" else BY_NAME[name].unit


def takeover_table(dataset: xr.Dataset, years: Sequence[int] = YEARS) -> list[TakeoverRow]:
    """Chance by year that the reef alone shelters the edge from then on.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    years : sequence of int, default `YEARS`
        Years wanted; those beyond the run are left out. [year]

    Returns
    -------
    list of TakeoverRow
        Options with a reef only.
    """
    elapsed = years_elapsed(dataset)
    inside = [year for year in years if record_of_year(elapsed, year) is not None]
    rows = []
    for option in dataset["option"].values:
        if not has_reef(dataset, option):
            continue
        when = dataset["takeover_year"].sel(option=option).values
        counts = np.array([np.sum(when <= year) for year in inside], dtype=np.int64)
        low, high = chance_interval(counts, when.size)
        rows += [
            TakeoverRow(str(option), year, float(count / when.size), float(a), float(b), when.size)
            for year, count, a, b in zip(inside, counts, low, high, strict=True)
        ]
    return rows


def with_english_units(rows: Sequence[SummaryRow]) -> list[SummaryRow]:
    """Add to every row that has a customary unit its twin in that unit.

    Parameters
    ----------
    rows : sequence of SummaryRow
        Rows in SI units.

    Returns
    -------
    list of SummaryRow
        Each row, followed by its twin in feet (or square feet, pounds).
    """
    doubled = []
    for row in rows:
        doubled.append(row)
        if row.unit in ENGLISH_UNITS:
            unit, factor = ENGLISH_UNITS[row.unit]
            scaled = {
                name: getattr(row, name) * factor for name in ("p05", "p25", "p50", "p75", "p95")
            }
            doubled.append(replace(row, unit=unit, **scaled))
    return doubled


def write_summary(dataset: xr.Dataset, path: str | Path, years: Sequence[int] = YEARS) -> None:
    """Write the summary table as CSV, lengths in metres and in feet.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    path : str or Path
        Target.
    years : sequence of int, default `YEARS`
        Years wanted. [year]
    """
    write_table(with_english_units(summary_table(dataset, years)), path)


def write_takeover(dataset: xr.Dataset, path: str | Path, years: Sequence[int] = YEARS) -> None:
    """Write the takeover table as CSV.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with a reef in some option.
    path : str or Path
        Target.
    years : sequence of int, default `YEARS`
        Years wanted. [year]
    """
    write_table(takeover_table(dataset, years), path)
