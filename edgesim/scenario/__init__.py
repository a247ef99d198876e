"""What a user writes: reading, units, defaults, checks and draws."""

from __future__ import annotations

from edgesim.scenario.cautions import CAUTIONS, cautions_for
from edgesim.scenario.loader import ScenarioFile, load_scenario
from edgesim.scenario.model import Scenario
from edgesim.scenario.reference import reference_page

__all__ = [
    "CAUTIONS",
    "Scenario",
    "ScenarioFile",
    "cautions_for",
    "load_scenario",
    "reference_page",
]
