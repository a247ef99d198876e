"""Triggers: thresholds that call for a closer look or for action, and how likely they are.

The starter set is a data file beside this one; a scenario changes its rows or
adds others under ``[[plan.triggers]]``. Every number of it is judgement.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from edgesim.outcomes.dataset import has_reef, years_elapsed
from edgesim.outcomes.embedded import INPUTS, scenario_of
from edgesim.outcomes.indicators import NO_ACTION, yearly_records
from edgesim.outcomes.summary import chance_interval

Floats = NDArray[np.float64]

DATA = Path(__file__).parent / "data"

LOCAL_REEF = 2350.0
"""Live oysters on natural intertidal reefs of South Carolina, all sizes (read, Hadley et al.,
mean of natural reefs; docs/sources.md, row figures-4). [m-2]"""

PLAIN = (
    "retreat",
    "retreat_neighbours",
    "retreat_worst",
    "land_kept",
    "cost",
    "oyster_density",
    "bed_rise",
    "mud_trapped",
)
"""Measures that are quantities of the forecast as they stand, in their own units."""

GREEN, AMBER, RED, UNKNOWN = 0, 1, 2, -1


@dataclass(frozen=True, slots=True)
class Trigger:
    """A threshold.

    Attributes
    ----------
    name, unit, action, data, who, mark : str
        As shown.
    measure : str
        Key of `MEASURES`; "" where the forecast holds no such value.
    worse : str
        "above" or "below": the side of a threshold that is worse.
    amber, red : float
        Thresholds, in `unit`.
    from_year : float
        Year from which it is looked at. [year]
    """

    name: str
    measure: str
    unit: str
    worse: str
    amber: float
    red: float
    from_year: float
    action: str
    data: str
    who: str
    mark: str

    def state(self, values: ArrayLike) -> NDArray[np.int64]:
        """Judge values: GREEN, AMBER, RED, or UNKNOWN where there is none.

        Parameters
        ----------
        values : array_like
            In `unit`.

        Returns
        -------
        ndarray of int
        """
        found = np.asarray(values, dtype=np.float64)
        sign = 1.0 if self.worse == "above" else -1.0
        state = np.where(sign * found > sign * self.amber, AMBER, GREEN)
        state = np.where(sign * found > sign * self.red, RED, state)
        return np.where(np.isnan(found), UNKNOWN, state).astype(np.int64)


def starter_rows(name: str) -> list[dict[str, str]]:
    """Rows of a data file of this room.

    Parameters
    ----------
    name : str
        File name without ending.

    Returns
    -------
    list of dict
    """
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def starter_triggers() -> list[Trigger]:
    """Triggers of the starter set, in its order."""
    numbers = ("amber", "red", "from_year")
    return [
        Trigger(**{key: float(row[key]) if key in numbers else row[key] for key in row})  # type: ignore[arg-type]
        for row in starter_rows("triggers")
    ]


def triggers_of(dataset: xr.Dataset) -> list[Trigger]:
    """Triggers of a forecast: the starter set with the scenario's own rows.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of Trigger
        A row of the scenario with the name of a starter row changes it, another name adds a row
        without a computed chance.
    """
    found = {trigger.name: trigger for trigger in starter_triggers()}
    own = scenario_of(dataset).plan.triggers if INPUTS in dataset.attrs else ()
    for rule in own:
        known = found.get(rule.name) or Trigger(
            rule.name, "", "", "above", np.nan, np.nan, 0.0, "", "", "", "given in the scenario"
        )
        changes = {
            key: value
            for key in ("amber", "red", "action", "data", "who")
            if (value := getattr(rule, key)) is not None
        }
        found[rule.name] = replace(known, **changes, mark="given in the scenario")
    return list(found.values())


def _against_no_action(dataset: xr.Dataset, name: str, option: str, least: float) -> Floats:
    """Value over that of the same member without action, in per cent."""
    if option == NO_ACTION:
        return np.full(dataset[name].sel(option=option).shape, np.nan)
    control = dataset[name].sel(option=NO_ACTION).values
    share = 100.0 * dataset[name].sel(option=option).values / np.where(control > least, control, 1)
    return np.asarray(np.where(control > least, share, np.nan))


def _extra_retreat(dataset: xr.Dataset, option: str) -> Floats:
    """Most that any place lost beyond the same place without action. [m]."""
    if option == NO_ACTION:
        return np.full(dataset["retreat"].sel(option=option).shape, np.nan)
    edge = dataset["edge_position"].astype(np.float64)
    extra = edge.sel(option=option) - edge.sel(option=NO_ACTION)
    return np.asarray(extra.max("alongshore").values)


def _rise_ratio(dataset: xr.Dataset, option: str) -> Floats:
    """Rise of the flat behind the lines over the rise of the sea since the start. [1]."""
    rise = dataset["bed_rise"].sel(option=option).values
    sea = dataset["mean_sea_level"].sel(option=option).values
    risen = sea - sea[:, :1]
    return np.where(risen > 1e-6, rise / np.where(risen > 1e-6, risen, 1.0), np.nan)


def _plain(name: str, factor: float) -> Callable[[xr.Dataset, str], Floats]:
    return lambda dataset, option: np.asarray(factor * dataset[name].sel(option=option).values)


def _wall_reduction(dataset: xr.Dataset, option: str) -> Floats:
    """Height that the walls take off waves over that of the walls as built, in per cent."""
    taken = 1.0 - dataset["wall_transmission"].sel(option=option).values
    new = taken[:, :1]
    return np.asarray(np.where(new > 0.0, 100.0 * taken / np.where(new > 0.0, new, 1.0), np.nan))


def _reef_height(dataset: xr.Dataset, option: str) -> Floats:
    crest = dataset["reef_crest"].sel(option=option).values
    return np.asarray(crest - crest[:, :1])


REEF_ALONE = "reef_alone"
"""Measure that says in which members the reef has taken over for good: 100 % or none."""


def _reef_alone(dataset: xr.Dataset, option: str) -> Floats:
    taken = dataset["takeover_year"].sel(option=option).values[:, None] <= years_elapsed(dataset)
    return np.where(taken, 100.0, 0.0 if has_reef(dataset, option) else np.nan)


MEASURES: dict[str, Callable[[xr.Dataset, str], Floats]] = {
    "retreat_share": lambda d, o: _against_no_action(d, "retreat", o, 0.05),
    "extra_retreat": _extra_retreat,
    "wall_reduction": _wall_reduction,
    "fill_fraction": _plain("fill_fraction", 100.0),
    "posts_standing": _plain("posts_standing", 100.0),
    "mesh_intact": _plain("mesh_intact", 100.0),
    "reef_height_change": _reef_height,
    "oyster_share": _plain("oyster_density", 100.0 / LOCAL_REEF),
    "rise_ratio": _rise_ratio,
    "platform_share": lambda d, o: _against_no_action(d, "platform_rise", o, 1e-4),
    REEF_ALONE: _reef_alone,
    **{name: _plain(name, 1.0) for name in PLAIN},
}
"""Measure -> function of Dataset and option to an array (member, time)."""


def states(dataset: xr.Dataset, trigger: Trigger, option: str) -> NDArray[np.int64] | None:
    """State of a trigger in every member and record.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    trigger : Trigger
        The trigger.
    option : str
        Option.

    Returns
    -------
    ndarray of int, (member, time), or None
        None where the forecast says nothing of it: no measure, or no such line.
    """
    if not trigger.measure:
        return None
    found = trigger.state(MEASURES[trigger.measure](dataset, option))
    found[:, years_elapsed(dataset) < trigger.from_year - 1e-6] = UNKNOWN
    return found if (found != UNKNOWN).any() else None


def counts(
    dataset: xr.Dataset, trigger: Trigger, option: str, state: int = RED
) -> dict[int, tuple[int, int]] | None:
    """Members by year in which a trigger stands at a state or worse, and members with a value.

    Parameters
    ----------
    dataset, trigger, option
        See :func:`states`.
    state : int, default RED
        AMBER or RED.

    Returns
    -------
    dict of int to (int, int), or None
        Years without a value are left out; None where the forecast says nothing of the trigger.
    """
    found = states(dataset, trigger, option)
    if found is None:
        return None
    by_year = {}
    for year, record in yearly_records(years_elapsed(dataset)).items():
        known = found[:, record] != UNKNOWN
        if year > 0 and known.any():
            by_year[year] = (int((found[known, record] >= state).sum()), int(known.sum()))
    return by_year


def chances(
    dataset: xr.Dataset, trigger: Trigger, option: str, state: int = RED
) -> dict[int, float] | None:
    """Chance by year that a trigger stands at a state or worse; see :func:`counts`."""
    found = counts(dataset, trigger, option, state)
    return None if found is None else {year: hit / size for year, (hit, size) in found.items()}


def chance_words(hit: int, size: int) -> str:
    """Write how often something happened among the members, with the 90 % interval of its chance.

    Examples
    --------
    >>> chance_words(2, 8)
    '5 to 60 % (2 of 8 members)'
    """
    low, high = chance_interval(hit, size)
    return f"{100 * float(low):.0f} to {100 * float(high):.0f} % ({hit} of {size} members)"


def due_year(
    dataset: xr.Dataset, trigger: Trigger, option: str, confidence: float = 0.8
) -> float | None:
    """Year by which a share of the members have been red at least once.

    Parameters
    ----------
    dataset, trigger, option
        See :func:`states`.
    confidence : float, default 0.8
        That share. [1]

    Returns
    -------
    float or None
        None where fewer members ever are.
    """
    found = states(dataset, trigger, option)
    if found is None:
        return None
    ever = np.maximum.accumulate(found == RED, axis=1).mean(axis=0)
    reached = np.flatnonzero(ever >= confidence - 1e-9)
    return float(years_elapsed(dataset)[reached[0]]) if reached.size else None


def modelled(dataset: xr.Dataset, option: str) -> Iterator[Trigger]:
    """Yield the triggers of which the forecast of an option says something."""
    for trigger in triggers_of(dataset):
        if states(dataset, trigger, option) is not None:
            yield trigger
