"""What every reader of a result must know."""

from __future__ import annotations

CAUTIONS = (
    "This is a planning-level forecast, not a design: have structures designed by a licensed "
    "engineer, obtain permits and follow local codes, mark structures for navigation, locate "
    "utilities before driving posts, and remember that wire and closed pockets can trap animals."
)
"""Cautions that stand under every result."""
