"""What studies and surveys may add to a forecast, by agreed names.

Those of studies are added by :mod:`edgesim.outcomes.study_extras`, with the attribute ``study_note``.

========================== =========================== ==========================================
variable                   dimensions                  meaning
========================== =========================== ==========================================
sensitivity_first, _total  input                       shares of the variance; ``_bound`` beside
                                                       each: half width of the 90 % bounds;
                                                       attribute ``sensitivity_output``
success_chance             (one decision, another)     chance that the goals are met
observed_retreat           survey                      surveyed retreat behind the design [m] with
                                                       ``observed_error`` [m] and
                                                       ``observed_year``; attribute
                                                       ``observed_option``
belief_weight              (belief, review)            weight at the start and after each review,
                                                       ``review_year``
drawn_member, drawn_belief member                      where each future of a corrected forecast
                                                       comes from; attribute ``review_note``
========================== =========================== ==========================================
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.needs import variables
from edgesim.outcomes.summary import member_quantiles, survey_band

Floats = NDArray[np.float64]

REVIEWED = "review_note"
"""Attribute of a forecast that surveys have corrected: how many surveys and futures it rests on."""

SENSITIVITY = variables(
    "sensitivity_first",
    "sensitivity_total",
    "sensitivity_first_bound",
    "sensitivity_total_bound",
    "sensitivity_output",
    reason="a single forecast does not say which input matters most",
    remedy="make a study with edgesim explore and name its folder with --study",
)
DESIGN_MAP = variables(
    "success_chance",
    reason="only the spacing and material of this scenario were run",
    remedy="make a study with targets and [study.map] with edgesim explore and name its folder with --study",
)
SURVEYED = variables(
    "observed_retreat",
    "observed_error",
    "observed_year",
    "observed_option",
    reason="no survey after building was given",
    remedy="walk the edge after building and correct the forecast by it with edgesim review",
)
BELIEFS = variables(
    "belief_weight",
    "review_year",
    reason="the forecast was made with one set of beliefs, and no review was held",
    remedy="write alternative beliefs into the scenario and weigh them by surveys with edgesim review",
)


def sample_words(dataset: xr.Dataset) -> str:
    """How many members a forecast has, and whether surveys have corrected it."""
    members = f"{dataset.sizes['member']} members"
    if REVIEWED not in dataset.attrs:
        return members
    return f"{members} after {str(dataset.attrs[REVIEWED]).partition(',')[0]}"


@dataclass(frozen=True, slots=True)
class Skill:
    """A forecast against surveys of what came.

    Attributes
    ----------
    option : str
        What was built.
    years, observed, errors, median : ndarray
        Time of each survey, its retreat and standard error, and the forecast's median then.
    inside, count : int
        Surveys inside the 90 % band of what they would find, their errors included, and all of them.
    bias, rmse : float
        Mean, and root mean square, of survey less median. [m]
    crps : float
        Mean continuous ranked probability score. [m]
    """

    option: str
    years: Floats
    observed: Floats
    errors: Floats
    median: Floats
    inside: int
    count: int
    bias: float
    rmse: float
    crps: float


def skill(dataset: xr.Dataset) -> Skill:
    """Compare the forecast of the option built with the surveys.

    Parameters
    ----------
    dataset : xarray.Dataset
        With the variables of surveys.

    Returns
    -------
    Skill

    Notes
    -----
    The score of one survey y is mean|x - y| - mean|x - x'|/2 over members x, x'
    (from memory; checked in the tests: a single member gives the absolute error).

    References
    ----------
    T. Gneiting and A. E. Raftery, 2007, Strictly proper scoring rules, prediction, and estimation.
    """
    option = str(dataset.attrs["observed_option"])
    years, seen = dataset["observed_year"].values, dataset["observed_retreat"].values
    members = dataset["retreat"].sel(option=option).values
    ahead = np.array([np.interp(years, years_elapsed(dataset), member) for member in members])
    middle, errors = member_quantiles(ahead)[2], dataset["observed_error"].values
    bands = [survey_band(column, error) for column, error in zip(ahead.T, errors, strict=True)]
    rest = seen - middle
    pairs = np.abs(ahead[:, None] - ahead[None, :]).mean(axis=(0, 1))
    crps = np.abs(ahead - seen).mean(axis=0) - 0.5 * pairs
    return Skill(
        option=option,
        years=years,
        observed=seen,
        errors=errors,
        median=middle,
        inside=sum(low <= found <= high for found, (low, _, high) in zip(seen, bands, strict=True)),
        count=int(seen.size),
        bias=float(rest.mean()),
        rmse=float(np.sqrt((rest**2).mean())),
        crps=float(crps.mean()),
    )
