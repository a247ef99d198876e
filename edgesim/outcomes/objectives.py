"""Whether the forecast reaches the plan's own objectives: a target in words is judged as a trigger is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

import xarray as xr

from edgesim.errors import UnitError
from edgesim.names import BY_NAME
from edgesim.outcomes.embedded import scenario_of
from edgesim.outcomes.triggers import PLAIN, REEF_ALONE, Trigger, counts, starter_triggers
from edgesim.scenario.plan import Objective
from edgesim.scenario.plans import AIMS
from edgesim.units import parse_quantity

PERCENT = "%"

METRICS: dict[str, tuple[str, str]] = {
    **{
        trigger.name.casefold(): (trigger.measure, trigger.unit)
        for trigger in starter_triggers()
        if trigger.measure
    },
    **{BY_NAME[name].label.casefold(): (name, AIMS[name]) for name in PLAIN},
    "retreat behind the design against no action": ("retreat_share", PERCENT),
    "chance that the reef alone shelters the edge": (REEF_ALONE, PERCENT),
}
"""Metric in words -> measure of the triggers, and its unit: that of a trigger, or a kind of quantity."""

KINDS_OF_UNITS = {PERCENT: "fraction", "m": "length", "1": "number"}
"""Unit of a trigger -> kind of the quantity that a target of it is read as."""

TARGET = re.compile(r"(below|less than|at most|above|more than|at least)\s+(.+)")
UPPER = ("below", "less than", "at most")

SHARE = re.compile(r"(?:(a|one|two|three)\s+)?(half|third|quarter)s?")
PARTS = {"a": 1, "one": 1, "two": 2, "three": 3, "half": 2, "third": 3, "quarter": 4}


@dataclass(frozen=True, slots=True)
class Judged:
    """An objective and how often the forecast reaches it.

    Attributes
    ----------
    objective : Objective
        As the scenario states it.
    reached : dict of str to (int, int)
        Option -> members that reach it, and members with a value; empty where it is not computed.
    wanted : float
        Chance that counts as reached: the one that the objective names, else one half. [1]
    reason : str
        Why it is not computed, and what to do; "" where it is.
    """

    objective: Objective
    reached: dict[str, tuple[int, int]]
    wanted: float = 0.5
    reason: str = ""


def share_or_quantity(text: str, unit: str) -> float | None:
    """Read the threshold of a target in the unit of its measure; None where it cannot be read.

    Examples
    --------
    >>> share_or_quantity("three quarters", "%"), share_or_quantity("80 %", "%")
    (75.0, 80.0)
    >>> share_or_quantity("10 ft", "m"), share_or_quantity("80", "%")
    (3.048, None)
    """
    words = SHARE.fullmatch(text)
    if unit == PERCENT and words:
        return 100.0 * float(Fraction(PARTS[words[1] or "one"], PARTS[words[2]]))
    if unit == PERCENT and not re.search(r"%|percent|per cent", text):
        return None
    try:
        value = parse_quantity(text.replace("per cent", PERCENT), KINDS_OF_UNITS.get(unit, unit))
    except UnitError:
        return None
    return 100.0 * value if unit == PERCENT else value


def judge(dataset: xr.Dataset, objective: Objective) -> Judged:
    """Count the members that reach an objective in its year, option by option.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    objective : Objective
        What is wanted, in words.

    Returns
    -------
    Judged
    """
    metric = METRICS.get(" ".join(objective.metric.casefold().split()))
    if metric is None:
        return Judged(objective, {}, reason="the forecast knows no such metric; say how to measure it")  # fmt: skip
    measure, unit = metric
    said = TARGET.fullmatch(objective.target.strip().casefold())
    threshold = share_or_quantity(said[2], unit) if said else None
    if said is None or threshold is None:
        example = "below half or at least 80 %" if unit == PERCENT else "below or at least a number with its unit"  # fmt: skip
        return Judged(objective, {}, reason=f"write the target as {example}")
    if objective.by_year is None:
        return Judged(objective, {}, reason="give its by_year")
    upper, wanted = said[1] in UPPER, 0.5
    if measure == REEF_ALONE:
        # The objective is a chance itself: members have it or not, and their share is held against it.
        upper, threshold, wanted = False, 50.0, threshold / 100.0
    side = "above" if upper else "below"
    limit = Trigger(objective.name, measure, unit, side, threshold, threshold, 0.0, "", "", "", "")
    missed = {str(name): counts(dataset, limit, str(name)) for name in dataset["option"].values}
    known = {name: by_year for name, by_year in missed.items() if by_year}
    if not known:
        return Judged(objective, {}, reason="no option of this forecast has such a value")
    reached = {
        name: (size - over, size)
        for name, by_year in known.items()
        for over, size in [by_year.get(objective.by_year, (0, 0))]
        if size
    }
    reason = "" if reached else f"the forecast holds no value of year {objective.by_year}"
    return Judged(objective, reached, wanted, reason)


def judged(dataset: xr.Dataset) -> list[Judged]:
    """Every objective of a forecast's scenario, in its order."""
    return [judge(dataset, objective) for objective in scenario_of(dataset).plan.objectives]
