"""What a scenario says is to be compared and explored; everything is checked when it is loaded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgesim.scenario.plan_reader import PlanReader, featured
from edgesim.scenario.plan_types import (
    AIMS,
    PLANS,
    DesignMap,
    Factor,
    Study,
    Target,
    Variant,
)

if TYPE_CHECKING:
    from edgesim.scenario.loader import ScenarioFile

__all__ = [
    "AIMS", "PLANS", "DesignMap", "Factor", "Study", "Target", "Variant", "beliefs_of",
    "check_plans", "designs_of", "featured", "study_of", "targets_of",
]  # fmt: skip


def check_plans(scenario_file: ScenarioFile) -> None:
    """Refuse plans with anything wrong in them, all problems at once.

    Raises
    ------
    ScenarioError
        Naming file, key, value and remedy.
    """
    scenario = scenario_file.central
    if not (scenario.goals.targets or scenario.designs or scenario.beliefs or scenario.study):
        return
    plans = PlanReader(scenario_file)
    plans.targets()
    plans.variants("designs", ("name", "option"))
    plans.variants("beliefs", ("name", "weight"))
    plans.study()
    plans.raise_if_any()


def targets_of(scenario_file: ScenarioFile) -> list[Target]:
    """Targets of a scenario, in order."""
    plans = PlanReader(scenario_file)
    found = plans.targets()
    plans.raise_if_any()
    return found


def designs_of(scenario_file: ScenarioFile) -> list[Variant]:
    """Designs that a scenario lists."""
    plans = PlanReader(scenario_file)
    found = plans.variants("designs", ("name", "option"))
    plans.raise_if_any()
    return found


def beliefs_of(scenario_file: ScenarioFile) -> list[Variant]:
    """Beliefs that a scenario lists."""
    plans = PlanReader(scenario_file)
    found = plans.variants("beliefs", ("name", "weight"))
    plans.raise_if_any()
    return found


def study_of(scenario_file: ScenarioFile) -> Study:
    """Study of a scenario.

    Raises
    ------
    ScenarioError
        If it has none, or anything in it is wrong.
    """
    plans = PlanReader(scenario_file)
    found = plans.study()
    if found is None:
        plans.blame(
            "study",
            "",
            "is missing",
            "Add [study] with [[study.decisions]] and [[study.inputs]]; see docs/howto/explore.md.",
        )
    plans.raise_if_any()
    assert found is not None
    return found
