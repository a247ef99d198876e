"""T3 stakeholders, T4 objectives, T13 triggers, T14 monitoring, T17 risks, T20 changes."""

from __future__ import annotations

import math

import xarray as xr

from edgesim.outcomes.calendar import monitoring_of, upkeep_end_words
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.embedded import INPUTS, scenario_of
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.needs import Need
from edgesim.outcomes.objectives import Judged, judged
from edgesim.outcomes.tables.table import Column, Table, TableEntry, make_table
from edgesim.outcomes.tables.words import plain, small_print
from edgesim.outcomes.triggers import (
    Trigger,
    chance_words,
    chances,
    counts,
    due_year,
    starter_rows,
    states,
    triggers_of,
)

Cells = tuple[str, ...]


def _in_plan(part: str, reason: str, remedy: str) -> Need:
    return Need(
        lambda dataset: INPUTS in dataset.attrs and bool(getattr(scenario_of(dataset).plan, part)),
        reason,
        remedy,
    )


STAKEHOLDERS = _in_plan(
    "stakeholders",
    "the scenario names nobody",
    "add [[plan.stakeholders]] with name and role to the scenario",
)
OBJECTIVES = _in_plan(
    "objectives",
    "the scenario states no objective",
    "add [[plan.objectives]] with name, metric, target and by_year to the scenario",
)
CHANGES = _in_plan(
    "changes",
    "nothing was changed yet, or not written down",
    "add [[plan.changes]] with name (the date), change and by to the scenario",
)


def _featured(dataset: xr.Dataset) -> str:
    """Option with the most lines: both, else one, else no action."""
    names = sorted(map(str, dataset["option"].values), key=lambda name: name != NO_ACTION)
    return max(names, key=lambda name: has_walls(dataset, name) + has_reef(dataset, name))


def stakeholders(dataset: xr.Dataset) -> Table:
    """T3: who decides, works, pays or is touched."""
    rows = [
        (who.name, who.role, who.interest or "") for who in scenario_of(dataset).plan.stakeholders
    ]
    headings = ["who", "role", "interest"]
    return make_table("Stakeholders and roles", headings, rows, small_print(dataset))


def objectives(dataset: xr.Dataset) -> Table:
    """T4: what shall be reached, how it is measured, by when, and how likely that is."""
    rows = [
        (
            found.objective.name,
            found.objective.metric,
            found.objective.target,
            str(found.objective.by_year or "no date given"),
            _chance(found),
        )
        for found in judged(dataset)
    ]
    share = 100 * float(dataset.attrs["takeover_share"])
    headings: list[str | Column] = [
        "objective",
        "metric",
        "target",
        Column("by", "year"),
        "chance in this forecast",
    ]
    notes = (
        "Chance: that the target is met in that year, or, where the metric is a chance, that chance itself; 90 % interval.",
        f"In the forecast the reef has taken over when it alone lets through less than {share:.0f} % of the wave power of an open edge.",
    )
    return make_table("Objectives and targets", headings, rows, small_print(dataset, *notes))


def _chance(found: Judged) -> str:
    """Chance that an objective is reached with each option, or why it is not computed."""
    if found.reason:
        return f"not computed: {found.reason}"
    return "; ".join(f"{option}: {chance_words(*hits)}" for option, hits in found.reached.items())


def _threshold(trigger: Trigger, value: float, *, better: bool = False) -> str:
    """Write a threshold with its side and unit."""
    if math.isnan(value):
        return "not provided"
    if trigger.unit == "events":
        return "none" if better else "any"
    side = {"above": ("above", "at most"), "below": ("below", "at least")}[trigger.worse][better]
    unit = "" if trigger.unit == "1" else f" {trigger.unit}"
    number = f"{value:g}".replace("-", "\N{MINUS SIGN}")
    return f"{side} {number}{unit}"


def trigger_response(dataset: xr.Dataset) -> Table:
    """T13: thresholds, actions, and how likely red is for the option with the most lines.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    option = _featured(dataset)
    last = round(float(years_elapsed(dataset)[-1]))
    years = [year for year in (1, 3, 5, 10, 20, 30) if year <= last]
    rows = [_trigger(dataset, trigger, option, years) for trigger in triggers_of(dataset)]
    headings: list[str | Column] = [
        "trigger",
        "green",
        "amber",
        "red",
        "action on red",
        "data",
        "who",
        *[Column(f"red in year {year}", "% of members") for year in years],
        "red by, 80 % sure",
        "mark",
    ]
    note = f"Chances are those of {option}. Every threshold is editable in the scenario."
    note = " ".join(filter(None, (note, upkeep_end_words(dataset))))
    return make_table("Triggers and responses", headings, rows, small_print(dataset, note))


def _trigger(dataset: xr.Dataset, trigger: Trigger, option: str, years: list[int]) -> Cells:
    found = chances(dataset, trigger, option)
    red = [
        plain(100 * found[year], 0) if found is not None and year in found else "" for year in years
    ]
    due = due_year(dataset, trigger, option)
    when = "not modelled"
    if states(dataset, trigger, option) is not None:
        when = "not in this run" if due is None else f"year {plain(due, 1)}"
    return (
        trigger.name,
        _threshold(trigger, trigger.amber, better=True),
        _threshold(trigger, trigger.amber),
        _threshold(trigger, trigger.red),
        trigger.action or "not provided",
        trigger.data or "not provided",
        trigger.who or "not provided",
        *red,
        when,
        trigger.mark,
    )


def monitoring_matrix(dataset: xr.Dataset) -> Table:
    """T14: what is measured, how, where, how often, by whom, at what cost."""
    rows = [
        (row.name, row.method, row.stations, row.frequency, row.who, row.cost, row.mark)
        for row in monitoring_of(dataset)
    ]
    headings = ["metric", "method", "stations", "frequency", "who", "cost", "mark"]
    note = "Before and after, here and at a control. Every row is editable in the scenario."
    return make_table("Monitoring matrix", headings, rows, small_print(dataset, note))


def risk_register(dataset: xr.Dataset) -> Table:
    """T17: what may go wrong, how likely, and what is done about it.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
        Where a trigger measures the risk, its chance is that of red in the last year.
    """
    option = _featured(dataset)
    triggers = {trigger.name: trigger for trigger in triggers_of(dataset)}
    found: dict[str, Cells] = {}
    for row in starter_rows("risks"):
        chance = row["chance"]
        if row["trigger"] in triggers:
            found_red = counts(dataset, triggers[row["trigger"]], option)
            if not found_red:
                continue
            year, hits = list(found_red.items())[-1]
            chance = f"red in year {year}: {chance_words(*hits)}"
        found[row["name"]] = (row["name"], chance, row["effect"], row["answer"], row["who"], row["mark"])  # fmt: skip
    own = scenario_of(dataset).plan.risks if INPUTS in dataset.attrs else ()
    for risk in own:
        found[risk.name] = (
            risk.name,
            risk.chance or "not provided",
            risk.effect,
            risk.answer,
            risk.who or "not provided",
            "given in the scenario",
        )
    headings = ["risk", "chance", "effect", "answer", "who", "mark"]
    note = f"Chances are those of {option}."
    return make_table("Risk register", headings, list(found.values()), small_print(dataset, note))


def change_log(dataset: xr.Dataset) -> Table:
    """T20: what was changed in the plan, when and by whom."""
    rows = [
        (entry.name, entry.change, entry.by or "") for entry in scenario_of(dataset).plan.changes
    ]
    return make_table("Change log", ["date", "change", "by"], rows, small_print(dataset))


PEOPLE_TABLES: dict[str, TableEntry] = {
    "stakeholders": TableEntry("T3", "Stakeholders and roles", stakeholders, (STAKEHOLDERS,)),
    "objectives": TableEntry("T4", "Objectives and targets", objectives, (OBJECTIVES,)),
    "triggers": TableEntry("T13", "Triggers and responses", trigger_response),
    "monitoring": TableEntry("T14", "Monitoring matrix", monitoring_matrix),
    "risks": TableEntry("T17", "Risk register", risk_register),
    "changes": TableEntry("T20", "Change log", change_log, (CHANGES,)),
}
"""Tables of people and decisions, by name."""
