"""Numbers read off a run, and whether it meets the targets that the user wrote."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgesim.names import BY_NAME
from edgesim.scenario.plans import AIMS, Target

Floats = NDArray[np.float64]

YEARLY = tuple(name for name in AIMS if name != "takeover_year")
"""Quantities that a run gives at every whole year."""

LESS_IS_BETTER = ("retreat", "retreat_neighbours", "retreat_worst", "cost", "takeover_year")
"""Quantities of which a smaller value is better; of all others a larger one."""


@dataclass(frozen=True)
class Measure:
    """One number that is read off a run: a quantity at a year.

    Attributes
    ----------
    quantity : str
        One of :data:`edgesim.scenario.plans.AIMS`.
    year : int
        When. [year]
    """

    quantity: str
    year: int

    @property
    def name(self) -> str:
        """Name in tables."""
        return f"{self.quantity}_year_{self.year}"

    @property
    def label(self) -> str:
        """Words for people."""
        return f"{BY_NAME[self.quantity].label}, year {self.year}"

    def of(self, yearly: Floats, takeover: Floats) -> Floats:
        """Read it off many runs.

        Parameters
        ----------
        yearly : ndarray, (runs, quantities, years + 1)
        takeover : ndarray, (runs,)

        Returns
        -------
        ndarray, (runs,)
        """
        if self.quantity == "takeover_year":
            return takeover
        return np.asarray(yearly[:, YEARLY.index(self.quantity), self.year])


def met(target: Target, yearly: Floats, takeover: Floats) -> NDArray[np.bool_]:
    """Which runs meet a target; what a design does not have meets none."""
    values = Measure(target.quantity, target.year).of(yearly, takeover)
    with np.errstate(invalid="ignore"):
        return np.asarray(
            values <= target.threshold if target.at_most else values >= target.threshold
        )


def successes(targets: Sequence[Target], yearly: Floats, takeover: Floats) -> NDArray[np.bool_]:
    """Which runs meet all targets."""
    every = np.ones(takeover.shape, dtype=bool)
    for target in targets:
        every &= met(target, yearly, takeover)
    return every
