"""T5 options compared, T11 forecast summary, T12 sensitivity, T19 skill, T21 limits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import xarray as xr

from edgesim.names import BY_NAME
from edgesim.outcomes.dataset import has_reef, has_walls, years_elapsed
from edgesim.outcomes.embedded import INPUTS, inputs_of
from edgesim.outcomes.extras import REVIEWED, SENSITIVITY, SURVEYED, skill
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import (
    chance_interval,
    summary_table,
    takeover_table,
    with_english_units,
)
from edgesim.outcomes.tables.table import Column, Table, TableEntry, make_table
from edgesim.outcomes.tables.words import band, plain, small_print
from edgesim.scenario.cautions import UNSURVEYED

Cells = tuple[str, ...]

EVIDENCE_YEARS = 5
"""Most monitored living shorelines are younger than this (docs/sources.md, row figures-1). [year]"""


def options_compared(dataset: xr.Dataset) -> Table:
    """T5: what each option does by the end, no action first.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    names = sorted(map(str, dataset["option"].values), key=lambda name: name != NO_ACTION)
    year = int(np.round(years_elapsed(dataset)[-1]))
    chances = {row.option: row for row in takeover_table(dataset, (year,))}
    rows = [_option(dataset, name, chances.get(name)) for name in names]
    money = f"{dataset.attrs['currency']} of {dataset.attrs['price_year']}"
    columns = (
        "option",
        "lines",
        Column("retreat behind", "m"),
        Column("retreat behind", "ft"),
        Column("retreat beside", "m"),
        Column("marsh kept", "m2"),
        Column("marsh kept", "ft2"),
        Column("oysters", "per m2"),
        Column("money spent", money),
        "members with less retreat than no action",
        "reef takes over",
    )
    return make_table(
        f"Options compared in year {year}",
        columns,
        rows,
        small_print(dataset, "Median and, in brackets, 90 % of members."),
    )


def _option(dataset: xr.Dataset, name: str, takeover: object) -> Cells:
    last = dataset.sel(option=name).isel(time=-1)
    control = dataset["retreat"].sel(option=NO_ACTION).isel(time=-1).values
    lines = [word for word, there in (("walls", has_walls(dataset, name)), ("reef", has_reef(dataset, name))) if there]  # fmt: skip
    better = ""
    if name != NO_ACTION:
        count = int((last["retreat"].values < control).sum())
        better = f"{count} of {control.size}"
    low, high = getattr(takeover, "low", np.nan), getattr(takeover, "high", np.nan)
    chance = "" if np.isnan(low) else f"{100 * low:.0f} to {100 * high:.0f} %"
    return (
        name,
        " and ".join(lines) or "none",
        band(last["retreat"].values),
        band(last["retreat"].values, 1, 1 / 0.3048),
        band(last["retreat_neighbours"].values),
        band(last["land_kept"].values, 0),
        band(last["land_kept"].values, 0, 1 / 0.3048**2),
        band(last["oyster_density"].values, 0),
        band(last["cost"].values, 0),
        better,
        chance,
    )


def forecast_summary(dataset: xr.Dataset) -> Table:
    """T11: median, 50 % and 90 % band of the main quantities by year.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    rows = []
    for row in with_english_units(summary_table(dataset)):
        digits = 0 if max(abs(row.p05), abs(row.p95)) >= 100.0 else 2
        values = (plain(value, digits) for value in (row.p50, row.p25, row.p75, row.p05, row.p95))
        unit = {"1": "", "m-2": "per m2", "ft-2": "per ft2"}.get(row.unit, row.unit)
        label = BY_NAME[row.quantity].label
        beyond = "beyond the evidence" if row.year > EVIDENCE_YEARS else ""
        rows.append((row.option, label, unit, str(row.year), *values, str(row.n), beyond))
    columns = (
        "option",
        "quantity",
        "unit",
        Column("year"),
        "median",
        "50 % from",
        "50 % to",
        "90 % from",
        "90 % to",
        "members",
        "horizon",
    )
    note = f"Most monitored sites are younger than {EVIDENCE_YEARS} years: later years are beyond the evidence."
    return make_table("Forecast summary", columns, rows, small_print(dataset, note))


def sensitivity_table(dataset: xr.Dataset) -> Table:
    """T12: first-order and total shares of the variance, with 90 % bounds.

    Parameters
    ----------
    dataset : xarray.Dataset
        With the variables of a sensitivity study.

    Returns
    -------
    Table
    """
    order = np.argsort(dataset["sensitivity_total"].values)[::-1]

    def share(name: str, place: int) -> tuple[str, str]:
        return (
            plain(100 * float(dataset[name][place]), 0),
            f"±{plain(100 * float(dataset[f'{name}_bound'][place]), 0)}",
        )

    rows = [
        (
            str(dataset["input"].values[place]),
            *share("sensitivity_first", place),
            *share("sensitivity_total", place),
        )
        for place in order
    ]
    columns = (
        "input",
        Column("first order", "%"),
        "bounds",
        Column("total", "%"),
        "bounds of total",
    )
    sample = dataset.attrs.get("study_note", "")
    note = "Shares of the variance" + (f", from the {sample}." if sample else ".")
    title = f"Which inputs matter for {dataset.attrs['sensitivity_output']}"
    return make_table(title, columns, rows, small_print(dataset, note))


def skill_table(dataset: xr.Dataset) -> Table:
    """T19: how the forecast did against surveys so far.

    Parameters
    ----------
    dataset : xarray.Dataset
        With the variables of surveys.

    Returns
    -------
    Table
    """
    found = skill(dataset)
    low, high = chance_interval(found.inside, found.count)
    rows = [
        ("surveys", str(found.count), ""),
        (
            "inside the 90 % band",
            f"{found.inside} of {found.count}",
            f"coverage {100 * float(low):.0f} to {100 * float(high):.0f} % (90 % interval); 90 % wanted",
        ),
        ("mean of survey less median", f"{plain(found.bias)} m", "0 is perfect"),
        ("root mean square", f"{plain(found.rmse)} m", "0 is perfect"),
        ("continuous ranked probability score", f"{plain(found.crps)} m", "0 is perfect"),
    ]
    title = f"Skill of the forecast of retreat to date, {found.option}"
    note = "" if REVIEWED not in dataset.attrs else IN_HINDSIGHT
    return make_table(title, ["score", "value", "meaning"], rows, small_print(dataset, note))


IN_HINDSIGHT = (
    "These surveys have corrected the forecast, so that this is no proof of skill: what it said before each of them "
    "stands in surveys.csv beside it."
)


_LIMITS = (
    ("Horizon", "Most monitored sites are younger than 5 years; what comes later is extrapolation."),
    ("Storms", "Weather is drawn like the ordinary days of the record; rare storms, ice and debris are not modelled."),
    ("Purpose", "A planning-level comparison of options; not a design, not an engineer's opinion, not a permit."),
    ("Place of a notch", "Mean retreat behind walls in mixed condition is trustworthy to some per cent, the place of a local notch is not."),
    ("Two lines", "Waves that go to and fro between the lines are left out."),
    ("Neighbours", "Only the shore of the forecast is watched; sand or mud taken from farther away is not."),
    ("Animals", "Trapped or struck animals are not modelled; look at every visit."),
    ("Calibration", "Each member is fitted to the surveyed rate of retreat; if that rate is wrong, so is the forecast."),
    ("Judgement", "Values marked as judgement stand for measurements that nobody has made yet."),
)  # fmt: skip


def limits(dataset: xr.Dataset) -> Table:
    """T21: what the forecast cannot say.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    rows = [*_LIMITS, *_own_limits(dataset)]
    return make_table("Limits of the forecast", ["matter", "limit"], rows, small_print(dataset))


def _own_limits(dataset: xr.Dataset) -> Iterator[Cells]:
    """Limits that follow from this forecast's own numbers."""
    members = dataset.sizes["member"]
    low, high = chance_interval(members // 2, members)
    yield (
        "Number of members",
        f"With {members} members a chance of one half is known to {100 * float(low):.0f} to {100 * float(high):.0f} %.",
    )
    years = int(np.round(years_elapsed(dataset)[-1]))
    if years > EVIDENCE_YEARS:
        yield (
            "This run",
            f"{years - EVIDENCE_YEARS} of its {years} years lie beyond the evidence.",
        )
    if REVIEWED in dataset.attrs:
        first = str(dataset["belief"].values[0])
        yield (
            "Correction",
            f"Corrected by {dataset.attrs[REVIEWED]}. Inputs are listed as under the belief “{first}”.",
        )
    if INPUTS in dataset.attrs:
        inputs = inputs_of(dataset)
        judged = sum(entry["mark"] == "judgement" and entry["given_by"] in ("default", "material") for entry in inputs)  # fmt: skip
        yield ("This scenario", f"{judged} of {len(inputs)} inputs are defaults by judgement.")
        if not any(entry["path"] == "site.retreat_rate" for entry in inputs):
            yield ("Retreat", UNSURVEYED)


FORECAST_TABLES: dict[str, TableEntry] = {
    "options": TableEntry("T5", "Options compared", options_compared),
    "forecast_summary": TableEntry("T11", "Forecast summary", forecast_summary),
    "sensitivity": TableEntry("T12", "Which inputs matter", sensitivity_table, (SENSITIVITY,)),
    "skill": TableEntry("T19", "Skill of the forecast to date", skill_table, (SURVEYED,)),
    "limits": TableEntry("T21", "Limits of the forecast", limits),
}
"""Tables of the forecast, by name."""
