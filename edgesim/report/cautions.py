"""The page that comes first: what every reader must know before building or deciding."""

from __future__ import annotations

from edgesim.report.document import Paragraph
from edgesim.scenario import CAUTIONS

ITEMS: dict[str, str] = {
    "This is a forecast for planning, not a design.": (
        "Have structures designed, and drawings sealed where the law asks for it, by a licensed engineer."
    ),
    "Nothing here says that a structure is permitted.": (
        "Obtain every permit, certificate, lease and consent before work begins, and follow local "
        "codes. Rules change: ask each agency for its present text."
    ),
    "Boats may hit what is built.": (
        "Apply for marking of structures and private aids to navigation before building, then keep "
        "the marks in order. A no-wake zone is a separate legal process."
    ),
    "Posts may hit cables and pipes.": (
        "Have utilities located before driving any post. Free marking services do not cover every "
        "submerged cable: ask charts and owners too."
    ),
    "Wire, rope, mesh and closed pockets can trap animals.": (
        "Leave a way out at low tide from every place between walls, reef and marsh. Remove loose "
        "wire and rope. Stop and report if an animal is caught."
    ),
    "Protected species may be near.": (
        "Ask the wildlife agency for seasons in which not to work, for observers, and for what to "
        "do when an animal comes close. Keep off seagrass."
    ),
    "Shell can carry disease.": (
        "Use only shell from a known source that has been cured as the agency asks, and keep a "
        "record of each batch."
    ),
    "The work is hard and the shore is dangerous.": (
        "Closed shoes and gloves against cuts, a first-aid kit, a plan for tide, mud, heat, "
        "lightning and boats, and nobody alone."
    ),
    "Storms break structures.": (
        "Posts and wire adrift are a danger: tag units, plan their retrieval, and keep the cost of "
        "removal in the budget."
    ),
}
"""Openings and words of the caution page (what to show: judgement, after the rules the permit screen names)."""


def caution_page() -> tuple[Paragraph, ...]:
    """Write the caution page: the sentence that stands under every result, then each matter apart."""
    return (Paragraph(CAUTIONS), *(Paragraph(words, lead=lead) for lead, words in ITEMS.items()))
