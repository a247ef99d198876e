"""Objectives of a plan, judged by hand-made forecasts."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from edgesim.outcomes.objectives import METRICS, judge
from edgesim.outcomes.triggers import MEASURES
from edgesim.scenario.plan import Objective

AGAINST = "retreat behind the design against no action"
ALONE = "chance that the reef alone shelters the edge"


def goal(metric: str, target: str, by_year: int | None = 5) -> Objective:
    return Objective(name="wanted", metric=metric, target=target, by_year=by_year)


def with_retreat(dataset: xr.Dataset, option: str, values: object) -> xr.Dataset:
    """The same forecast with other retreats in year 5."""
    copy = dataset.copy(deep=True)
    copy["retreat"].loc[{"option": option, "time": copy["time"][20]}] = values
    return copy


def halved(dataset: xr.Dataset) -> xr.Dataset:
    """A forecast in which walls hold 12 of 40 members at 0.4, and the others at 0.6, of no action in year 5."""
    share = np.where(np.arange(40) < 12, 0.4, 0.6)
    nothing = dataset["retreat"].sel(option="no action")[:, 20].values
    return with_retreat(dataset, "walls only", share * nothing)


@pytest.mark.parametrize(
    ("target", "count"),
    [("below half", 12), ("at most 50 %", 12), ("above one half", 28), ("below two thirds", 40)],
)
def test_members_that_reach_a_share_are_counted(
    synthetic_dataset: xr.Dataset, target: str, count: int
):
    found = judge(halved(synthetic_dataset), goal(AGAINST, target))
    assert found.reached["walls only"] == (count, 40)
    assert "no action" not in found.reached
    assert found.reason == ""


def test_lengths_may_be_given_in_feet(synthetic_dataset: xr.Dataset):
    data = with_retreat(synthetic_dataset, "walls only", np.where(np.arange(40) < 7, 0.90, 0.92))
    # 3 ft are 0.9144 m.
    found = judge(data, goal("Retreat behind the design", "below 3 ft"))
    assert found.reached["walls only"] == (7, 40)


def test_an_objective_that_is_a_chance_is_the_share_of_the_members(synthetic_dataset: xr.Dataset):
    data = synthetic_dataset.copy(deep=True)
    years = np.select([np.arange(40) < 9, np.arange(40) < 20], [5.0, 6.0], np.nan)
    data["takeover_year"].loc[{"option": "reef only"}] = years
    found = judge(data, goal(ALONE, "above 80 %"))
    assert found.reached["reef only"] == (9, 40)
    assert found.wanted == pytest.approx(0.8)
    assert set(found.reached) == {"reef only", "walls and reef"}


@pytest.mark.parametrize(
    ("objective", "reason"),
    [
        (goal("birds seen", "more than 10"), "say how to measure it"),
        (goal(AGAINST, "as little as can be"), "write the target as"),
        (goal(AGAINST, "below 50"), "write the target as"),
        (goal("Retreat behind the design", "below half"), "write the target as"),
        (goal(AGAINST, "below half", None), "give its by_year"),
        (goal(AGAINST, "below half", 11), "no value of year 11"),
    ],
)
def test_what_cannot_be_computed_says_why(
    synthetic_dataset: xr.Dataset, objective: Objective, reason: str
):
    found = judge(synthetic_dataset, objective)
    assert found.reached == {}
    assert reason in found.reason


def test_every_metric_in_words_has_a_measure():
    assert {measure for measure, _ in METRICS.values()} <= set(MEASURES)
