"""A review: surveys weigh the futures of a forecast and its beliefs, and correct it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.errors import ScenarioError, StudyError
from edgesim.forcing.streams import Purpose, stream
from edgesim.monitoring.surveys import Survey
from edgesim.monitoring.weights import (
    drawn,
    effective_number,
    error_factor,
    log_likelihood,
    posterior,
)
from edgesim.names import BY_NAME
from edgesim.outcomes.comparison import AS_WRITTEN
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.summary import QUANTILES, survey_band, weighted_quantiles
from edgesim.scenario import ScenarioFile
from edgesim.scenario.plan_types import Variant
from edgesim.scenario.plans import beliefs_of

Floats = NDArray[np.float64]

FEWEST = 10.0
"""Effective number of futures that a corrected forecast must rest on (judgement). [1]"""


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """A survey against the forecast as earlier reviews had left it; inside units."""

    date: str
    quantity: str
    unit: str
    surveyed: float
    error: float
    p05: float
    p50: float
    p95: float
    inside: bool


@dataclass(frozen=True, slots=True)
class BeliefRow:
    """Weight of a belief after a review; the first date is that of the start."""

    date: str
    belief: str
    weight: float
    effective_futures: float


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A quantity of an option at the end of the run, before and after all reviews; inside units."""

    option: str
    quantity: str
    unit: str
    before_p05: float
    before_p50: float
    before_p95: float
    after_p05: float
    after_p50: float
    after_p95: float


@dataclass(frozen=True, slots=True)
class Review:
    """What a review found.

    Attributes
    ----------
    dataset : xarray.Dataset
        The corrected forecast: futures of one weight, drawn from the weighted ones, with the
        variables of :mod:`edgesim.outcomes.extras`.
    surveys, beliefs, changes : list
        Rows of its tables.
    effective, error_factor : float
        Effective number of futures after the last survey, and by how much the errors of all surveys
        were raised to keep it at :data:`FEWEST` (1: not at all). [1]
    """

    dataset: xr.Dataset
    surveys: list[SurveyRow]
    beliefs: list[BeliefRow]
    changes: list[ChangeRow]
    effective: float
    error_factor: float


def believed(scenario_file: ScenarioFile) -> list[tuple[Variant, ScenarioFile]]:
    """Beliefs of a scenario, each with the scenario that it makes; one where none are listed.

    Raises
    ------
    ScenarioError
        If a belief is wrong, or changes what futures must share to be put together.
    """
    beliefs = beliefs_of(scenario_file) or [Variant(AS_WRITTEN, {})]
    bare = scenario_file.without_plans()
    found = [(one, bare.changed(one.changes) if one.changes else bare) for one in beliefs]
    for belief, changed in found:
        if changed.central.run != bare.central.run:
            problem = (
                f'{scenario_file.path}: beliefs: "{belief.name}" changes the section run. '
                "Let all beliefs share it, so that their futures can stand side by side."
            )
            raise ScenarioError([problem])
    return found


def review(
    scenario_file: ScenarioFile,
    surveys: Sequence[Survey],
    built: str,
    forecasts: Callable[[int, ScenarioFile], xr.Dataset],
) -> Review:
    """Run every belief and weigh all futures by the surveys, date by date.

    Parameters
    ----------
    scenario_file : ScenarioFile
        The scenario; its ``[[beliefs]]`` stand side by side where it has them.
    surveys : sequence of Survey
        At least one, in the order of their dates.
    built : str
        Option that was built.
    forecasts : callable
        Runs the forecast of a belief, given its number and scenario.

    Returns
    -------
    Review

    Raises
    ------
    StudyError
        If no future holds what was surveyed.
    """
    beliefs = believed(scenario_file)
    futures = [forecasts(place, file) for place, (_, file) in enumerate(beliefs)]
    sizes = np.array([one.sizes["member"] for one in futures])
    held = np.array([belief.weight for belief, _ in beliefs])
    owner = np.repeat(np.arange(sizes.size), sizes)
    prior = (held / held.sum() / sizes)[owner]
    predicted = np.concatenate([_at_surveys(one, built, surveys) for one in futures])
    measured = np.array([survey.value for survey in surveys])
    error = np.array([survey.error for survey in surveys])
    if not np.isfinite(log_likelihood(predicted, measured, error)).any():
        msg = f"No future of {built} holds all that was surveyed; look at the quantities of the surveys."
        raise StudyError(msg)
    fewest = min(FEWEST, 0.5 * prior.size)
    factor = error_factor(prior, predicted, measured, error, fewest)
    weights, survey_rows = prior, []
    start = scenario_file.central.run.start
    names = [belief.name for belief, _ in beliefs]
    steps = [(0.0, start.isoformat(), prior)]
    for day, group in groupby(range(len(surveys)), key=lambda place: surveys[place].day):
        places = list(group)
        survey_rows += [_survey_row(surveys[i], predicted[:, i], weights) for i in places]
        density = log_likelihood(predicted[:, places], measured[places], factor * error[places])
        weights = posterior(weights, density)
        steps.append((surveys[places[0]].years, day.isoformat(), weights))
    shares = np.array([np.bincount(owner, weights=one, minlength=sizes.size) for *_, one in steps])
    belief_rows = [
        BeliefRow(day, name, float(share), effective_number(one))
        for (_, day, one), row in zip(steps, shares, strict=True)
        for name, share in zip(names, row, strict=True)
    ]
    dataset = _corrected(scenario_file, futures, owner, weights)
    dataset = _with_reviews(dataset, surveys, built, names, shares, [years for years, *_ in steps])
    effective = effective_number(weights)
    dataset.attrs["review_note"] = (
        f"{len(surveys)} survey{'s' if len(surveys) > 1 else ''} up to {steps[-1][1]}, {weights.size} futures under "
        f"{len(names)} belief{'s' if len(names) > 1 else ''}, effective number {effective:.1f}, "
        f"errors taken {factor:.2f} times as large"
    )
    changes = _changes(futures, prior, weights)
    return Review(dataset, survey_rows, belief_rows, changes, effective, factor)


def _at_surveys(dataset: xr.Dataset, built: str, surveys: Sequence[Survey]) -> Floats:
    """What every member holds at every survey, between its records. (n_members, n_surveys)."""
    years = years_elapsed(dataset)
    columns = []
    for survey in surveys:
        members = dataset[survey.measure.variable].sel(option=built).values
        columns.append([np.interp(survey.years, years, member) for member in members])
    return np.array(columns).T


def _survey_row(survey: Survey, predicted: Floats, weights: Floats) -> SurveyRow:
    low, middle, high = survey_band(predicted, survey.error, weights)
    return SurveyRow(
        survey.day.isoformat(),
        survey.quantity,
        BY_NAME[survey.measure.variable].unit,
        survey.value,
        survey.error,
        low,
        middle,
        high,
        low <= survey.value <= high,
    )


def _corrected(
    scenario_file: ScenarioFile,
    futures: list[xr.Dataset],
    owner: NDArray[np.int64],
    weights: Floats,
) -> xr.Dataset:
    """Futures of one weight, as many as know as much as the weighted ones.

    More would be the same futures again, and every interval that counts members too narrow.
    """
    seed = scenario_file.central.run.seed
    number = max(2, round(effective_number(weights)))
    picks = drawn(weights, number, float(stream(seed, 0, Purpose.REVIEW).random()))
    first = np.concatenate([[0], np.cumsum([one.sizes["member"] for one in futures])])
    parts, members = [], []
    for belief, future in enumerate(futures):
        mine = picks[owner[picks] == belief] - first[belief]
        if mine.size:
            parts.append(future.isel(member=mine))
            members.append(future["member"].values[mine])
    whole = xr.concat(
        parts,
        "member",
        data_vars="minimal",
        coords="minimal",
        compat="override",
        join="override",
        combine_attrs="override",
    )
    about = futures[0]["member"].attrs
    return whole.assign_coords(member=("member", np.arange(number), about)).assign(
        drawn_member=("member", np.concatenate(members), {"units": "1", "long_name": "member of the forecast that this future was"}),
        drawn_belief=("member", owner[picks], {"units": "1", "long_name": "belief under which it was run, by its number"}),
    )  # fmt: skip


def _with_reviews(
    dataset: xr.Dataset,
    surveys: Sequence[Survey],
    built: str,
    names: list[str],
    shares: Floats,
    years: list[float],
) -> xr.Dataset:
    """Add the weights of beliefs, and the surveys of retreat where there are any."""

    def about(long_name: str, units: str) -> dict[str, str]:
        return {"long_name": long_name, "units": units}

    added = dataset.assign_coords(belief=("belief", names, {"long_name": "name of the belief"}))
    added = added.assign(
        belief_weight=(("belief", "review"), shares.T, about("weight of each belief", "1")),
        review_year=("review", np.array(years), about("time of each review since the start", "year")),
    )  # fmt: skip
    edges = [survey for survey in surveys if survey.quantity == "retreat"]
    if edges:
        added = added.assign(
            observed_retreat=("survey", [s.value for s in edges], about("surveyed retreat behind the design", "m")),
            observed_error=("survey", [s.error for s in edges], about("its standard error", "m")),
            observed_year=("survey", [s.years for s in edges], about("time of each survey since the start", "year")),
        )  # fmt: skip
        added.attrs["observed_option"] = built
    return added


def _changes(futures: list[xr.Dataset], prior: Floats, weights: Floats) -> list[ChangeRow]:
    """Retreat of every option at the end, before and after."""
    rows = []
    for option in futures[0]["option"].values:
        last = np.concatenate([one["retreat"].sel(option=option).values[:, -1] for one in futures])
        before, after = (weighted_quantiles(last, w, QUANTILES[::2]) for w in (prior, weights))
        numbers = [float(number) for number in (*before, *after)]
        rows.append(ChangeRow(str(option), "retreat", "m", *numbers))
    return rows
