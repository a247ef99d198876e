"""What every reader of a result must know."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from edgesim.scenario.model import Scenario

CAUTIONS = (
    "This is a planning-level forecast, not a design: have structures designed by a licensed "
    "engineer, obtain permits and follow local codes, mark structures for navigation, locate "
    "utilities before driving posts, and remember that wire and closed pockets can trap animals."
)
"""Cautions that stand under every result."""

UNSURVEYED = (
    "No surveyed retreat was given. How fast the edge goes then rests on a general law whose constant is known to a "
    "factor of forty at best (judgement): for the boats of the demonstration it gives centimetres in ten years where "
    "its survey says metres. Give site.retreat_rate or site.history before anything is decided by the retreat."
)
"""What a reader must know where a site has no history."""


def cautions_for(scenario: Scenario) -> str:
    """Cautions of a result of this scenario."""
    return CAUTIONS if scenario.site.retreat_rate is not None else f"{CAUTIONS}\n{UNSURVEYED}"
