"""Money by year and head, discounting, and what a metre protected or a square metre kept costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from edgesim.model.prices import items_of_other_years
from edgesim.names import COST_HEADS, LEDGER_ENTRIES
from edgesim.outcomes.embedded import SITE, scenario_of
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
    # Rounding of sums leaves no cents where nothing was spent, nor a zero below zero.
    return np.asarray(np.round(np.diff(cumulative, axis=-1, prepend=first), 6) + 0.0)


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


@dataclass(frozen=True, slots=True)
class CostRow:
    """Money of one year of one option under one head, over `n` members."""

    option: str
    year: int
    head: str
    expected: float
    expected_discounted: float
    p05: float
    p50: float
    p95: float
    currency: str
    price_year: int
    discount_rate: float
    n: int
    flag: str


MIXED = "mixed price years: do not compare options by these sums"
"""Flag of sums in which prices of other years stand."""

VOLUNTEERS, TO_DATE = "volunteers (not cash)", "spent to date"
"""Heads beside those of the cash flow: worth of hours, and the sum without removal."""


def cost_rows(dataset: xr.Dataset) -> list[CostRow]:
    """Every year and head of every option that builds something, nominal and discounted.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of CostRow
        Expected values add up; quantiles do not. Removal is owed, not spent.
    """
    rate = float(dataset.attrs["discount_rate"])
    years = dataset["cost_year"].values
    weights = discount_factors(years, rate)
    rows = []
    for option in built_options(dataset):
        of_option = dataset.sel(option=option)
        for place, year in enumerate(years):
            values = {
                head: of_option["cash_flow"].values[:, place, index]
                for index, head in enumerate(COST_HEADS)
            }
            values[VOLUNTEERS] = of_option["volunteer_value"].values[:, place]
            factor = float(weights[place])
            rows += [
                _cost_row(dataset, option, int(year), head, found, found * factor)
                for head, found in values.items()
            ]
            to_date = spent_until(dataset, option, int(year))
            discounted = spent_until(dataset, option, int(year), rate)
            rows.append(_cost_row(dataset, option, int(year), TO_DATE, to_date, discounted))
    return rows


def _has_mixed_years(dataset: xr.Dataset) -> bool:
    """Whether prices of other years stand in the sums, as far as the forecast carries its scenario."""
    return SITE.holds(dataset) and bool(items_of_other_years(scenario_of(dataset).prices))


def _cost_row(
    dataset: xr.Dataset, option: str, year: int, head: str, values: Floats, discounted: Floats
) -> CostRow:
    p05, p50, p95 = (float(value) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    attributes = dataset.attrs
    return CostRow(
        option, year, head, float(values.mean()), float(discounted.mean()), p05, p50, p95,
        str(attributes["currency"]), int(attributes["price_year"]), float(attributes["discount_rate"]), values.size,
        MIXED if _has_mixed_years(dataset) else "",
    )  # fmt: skip


def money_words(dataset: xr.Dataset) -> list[dict[str, str]]:
    """Cost of every option in a line: medians and 90 % bands, heading to text.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of dict
        Options that build something.
    """
    rate, currency = float(dataset.attrs["discount_rate"]), dataset.attrs["currency"]
    last = int(dataset["cost_year"].values[-1])
    lines = []
    for option in built_options(dataset):
        flow = dataset["cash_flow"].sel(option=option).values
        costs = unit_costs(dataset, option)
        lines.append(
            {
                "option": option,
                f"build, {currency}": _median_and_band(flow[:, 0, 0]),
                f"spent in {last} years": _median_and_band(spent_until(dataset, option)),
                f"discounted at {rate:.1%}": _median_and_band(spent_until(dataset, option, rate=rate)),
                "per m protected": _median_and_band(costs.per_metre),
                "per m2 of marsh kept": _median_and_band(costs.per_area),
                "removal owed": _median_and_band(flow[:, -1, COST_HEADS.index("removal")]),
            }
        )  # fmt: skip
    return lines


def _median_and_band(values: Floats) -> str:
    if not values.size:
        return "none kept"
    low, middle, high = np.quantile(values, (0.05, 0.5, 0.95))
    return f"{middle:,.0f} [{low:,.0f}..{high:,.0f}]"
