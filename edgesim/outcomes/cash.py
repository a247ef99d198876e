"""Money by year and head, discounting, and what a metre protected or a square metre kept costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from edgesim.names import COST_HEADS, LEDGER_ENTRIES
from edgesim.outcomes.indicators import NO_ACTION, yearly_records

Floats = NDArray[np.float64]


def cash_flow(ledger: ArrayLike, elapsed: ArrayLike) -> dict[str, Floats]:
    """Outlay of every year by head, and the worth of volunteers' hours, from the ledger.

    Parameters
    ----------
    ledger : array_like, (option, member, time, ledger_entry)
        Cumulative entries.
    elapsed : array_like, (time,)
        Time since the start. [year]

    Returns
    -------
    dict
        ``cash_flow`` (option, member, cost_year, cost_head) and ``volunteer_value`` (option, member,
        cost_year); year 0 is the build, year k what was spent in the k-th year. [currency]

    Notes
    -----
    Upkeep is all money that is neither build nor monitoring, so that whatever the day loop
    books as upkeep is in it and the heads add up to the ledger's closing money. Removal is a
    memo of the ledger: owed at the end of the last year, not part of the money spent.
    """
    books = np.asarray(ledger, dtype=np.float64)[..., list(yearly_records(elapsed).values()), :]

    def entry(name: str) -> Floats:
        return np.asarray(books[..., LEDGER_ENTRIES.index(f"money_{name}")])

    built, monitored = entry("built"), entry("monitoring")
    kept_up = entry("closing") - built - monitored
    removal = np.zeros_like(built)
    removal[..., -1] = entry("removal_owed")[..., -1]
    heads = [_yearly(built), _yearly(kept_up), _yearly(monitored), removal]
    return {
        "cash_flow": np.stack(heads, axis=-1),
        "volunteer_value": _yearly(entry("volunteers")),
    }


def _yearly(cumulative: Floats) -> Floats:
    """Gain of each year; the first is what stood at the start."""
    first = np.zeros_like(cumulative[..., :1])
    return np.asarray(np.diff(cumulative, axis=-1, prepend=first))


def discount_factors(years: ArrayLike, rate: float) -> Floats:
    """Weight of money of each year: 1 over 1 plus the rate, to the power of the year.

    Parameters
    ----------
    years : array_like
        Years since the build; what is spent in a year counts at its end. [year]
    rate : float
        Discount rate; 0 weighs all years alike. [year-1]

    Returns
    -------
    ndarray
        Weights. [1]

    Examples
    --------
    >>> [round(float(factor), 4) for factor in discount_factors([0, 1, 10], 0.03)]
    [1.0, 0.9709, 0.7441]
    """
    return np.asarray((1.0 + rate) ** -np.asarray(years, dtype=np.float64))


def spent_until(
    dataset: xr.Dataset, option: str, year: int | None = None, rate: float = 0.0
) -> Floats:
    """Cash of each member from the build to the end of a year, removal owed not counted.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    option : str
        Name of the option.
    year : int, optional
        Last year counted; the last of the forecast when left out.
    rate : float, default 0
        Discount rate. [year-1]

    Returns
    -------
    ndarray, (member,)
        Cash. [currency]
    """
    flow = dataset["cash_flow"].sel(option=option)
    years = flow["cost_year"].values
    weights = discount_factors(years, rate) * (years <= (years[-1] if year is None else year))
    spent = flow.values[:, :, : COST_HEADS.index("removal")].sum(axis=2)
    return np.asarray(spent @ weights)


@dataclass(frozen=True, slots=True)
class UnitCosts:
    """What an option's money bought, member by member.

    Attributes
    ----------
    per_metre : ndarray, (member,)
        Cash to the end of the forecast over the length of shore that the design covers. [currency m-1]
    per_area : ndarray, (n,)
        Cash over the marsh kept against no action, of the members that keep any. [currency m-2]
    without : int
        Members that keep no marsh, for which no price of it can be given.
    """

    per_metre: Floats
    per_area: Floats
    without: int


def unit_costs(dataset: xr.Dataset, option: str, rate: float = 0.0) -> UnitCosts:
    """Cost of a metre protected and of a square metre of marsh kept, at the end of the forecast.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    option : str
        Name of an option that builds something.
    rate : float, default 0
        Discount rate. [year-1]

    Returns
    -------
    UnitCosts
    """
    spent = spent_until(dataset, option, rate=rate)
    length = float(dataset["defended_end"] - dataset["defended_start"])
    kept = dataset["land_kept"].sel(option=option).values[:, -1]
    keeps = kept > 0.0
    return UnitCosts(spent / length, spent[keeps] / kept[keeps], int((~keeps).sum()))


def built_options(dataset: xr.Dataset) -> list[str]:
    """Options that spend money on building."""
    names = [str(name) for name in dataset["option"].values]
    return [
        name
        for name in names
        if name != NO_ACTION and float(dataset["cash_flow"].sel(option=name)[:, 0, 0].max()) > 0.0
    ]
