"""What is compared and explored: targets, designs, beliefs and the inputs of a study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgesim.scenario.distributions import Choice, Distribution

AIMS: dict[str, str] = {
    "retreat": "length",
    "retreat_neighbours": "length",
    "retreat_worst": "length",
    "land_kept": "area",
    "cost": "number",
    "oyster_density": "per area",
    "fill_fraction": "fraction",
    "posts_standing": "fraction",
    "bed_rise": "length",
    "mud_trapped": "mass",
    "takeover_year": "number",
}
"""Quantity that a target may name -> kind of its threshold."""

PLANS = ("designs", "beliefs", "study")
"""Tables that say what is compared and explored, and are no part of one forecast."""


@dataclass(frozen=True)
class Target:
    """What must hold for a design to succeed; threshold in SI units.

    Attributes
    ----------
    name, quantity : str
        Its name, and a quantity of :data:`AIMS`.
    at_most : bool
        Whether the threshold is an upper one.
    threshold : float
        See there. [SI unit of the quantity]
    year : int
        When it must hold. [year]
    """

    name: str
    quantity: str
    at_most: bool
    threshold: float
    year: int


@dataclass(frozen=True)
class Variant:
    """A named set of changes: a design or a belief.

    Attributes
    ----------
    name : str
        Its name.
    changes : dict of str to object
        Path -> value as a file holds it.
    option : str
        Option of the scenario that is meant (designs).
    weight : float
        How much it is believed (beliefs). [1]
    """

    name: str
    changes: dict[str, Any]
    option: str = ""
    weight: float = 1.0


@dataclass(frozen=True)
class Factor:
    """One decision or uncertain input of a study, driven by a number between 0 and 1.

    Attributes
    ----------
    name : str
        Its name in tables and figures.
    paths : tuple of str
        Inputs that it moves together.
    kind : str
        Kind of quantity, or "count", "text", "flag".
    decision : bool
        Whether someone decides it; else it is uncertain.
    levels : tuple
        Its values in inside units, when it has a few.
    raw_levels : tuple
        The same as the file holds them.
    spread : Distribution or None
        What it is drawn from otherwise.
    layout : bool
        Whether it must be put into the file as a number (a length of the layout).
    """

    name: str
    paths: tuple[str, ...]
    kind: str
    decision: bool
    levels: tuple[Any, ...] = ()
    raw_levels: tuple[Any, ...] = ()
    spread: Distribution | None = None
    layout: bool = False

    @property
    def categories(self) -> tuple[Any, ...]:
        """Its values when they have no order (words, yes or no), as a file holds them; else none."""
        if isinstance(self.spread, Choice):
            return tuple(self.spread.support)
        return self.raw_levels if self.kind in ("text", "flag") else ()

    def category(self, share: float) -> int:
        """Index of the category at a share of the unit interval; words may have unequal weights."""
        if isinstance(self.spread, Choice):
            return self.categories.index(self.spread.quantile(share))
        return self.level(share)

    def level(self, share: float) -> int:
        """Index of the level at a share of the unit interval."""
        return min(int(share * len(self.levels)), len(self.levels) - 1)

    def value(self, share: float) -> Any:
        """Value at a share of the unit interval: a level, or a quantile."""
        if self.levels:
            return self.levels[self.level(share)]
        assert self.spread is not None, "a factor has levels or a distribution"
        return self.spread.quantile(share)


@dataclass(frozen=True)
class DesignMap:
    """A map of the chance of success over two decisions, at quantiles of one input."""

    rows: str
    columns: str
    over: str
    quantiles: tuple[float, ...]
    members: int


@dataclass(frozen=True)
class Study:
    """What is explored."""

    option: str
    factors: tuple[Factor, ...]
    map: DesignMap | None
