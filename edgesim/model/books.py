"""Money that no day decides: monitoring, removal owed at the end, the worth of volunteers' hours."""

from __future__ import annotations

import math
from dataclasses import dataclass

from edgesim.constants import DAYS_PER_YEAR
from edgesim.model.bill import bill, removal_lines, volunteer_value
from edgesim.model.prices import day_prices, unit_price
from edgesim.model.state import ENTRY, State
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option


@dataclass(frozen=True)
class Books:
    """Amounts of one member of one option.

    Attributes
    ----------
    monitoring : float
        Monitoring of one year. [currency]
    years : float
        Years that are monitored. [year]
    removal : float
        Taking everything away at the end. [currency]
    volunteers_built, volunteers_refill, volunteers_post, volunteers_unit : float
        Worth of volunteers' hours in building [currency], in a volume of fill [currency m-3], in a
        post [currency] and in a reef unit mended [currency].
    """

    monitoring: float
    years: float
    removal: float
    volunteers_built: float
    volunteers_refill: float
    volunteers_post: float
    volunteers_unit: float

    def post_monitoring(self, state: State, day: int) -> None:
        """Post the monitoring of the years that have ended by a day."""
        # Records fall within half a day of the end of a year.
        ended = math.floor((day + 0.5) / DAYS_PER_YEAR)
        state.ledger[ENTRY["money_monitoring"]] = self.monitoring * min(ended, self.years)

    def post_memos(self, state: State) -> None:
        """Post what is owed or worth something but not paid."""
        ledger = state.ledger
        ledger[ENTRY["money_removal_owed"]] = self.removal
        ledger[ENTRY["money_volunteers"]] = (
            self.volunteers_built
            + self.volunteers_refill * ledger[ENTRY["fill_refilled"]]
            + self.volunteers_post * state.post_life.sum()
            + self.volunteers_unit * state.unit_life.sum()
        )


def make_books(scenario: Scenario, option: Option) -> Books:
    """Amounts of an option; all nothing for an option that builds nothing.

    Parameters
    ----------
    scenario : Scenario
        A member's values.
    option : Option
        Which lines are built.

    Returns
    -------
    Books
    """
    built = bill(scenario, option)
    paid = day_prices(scenario)
    return Books(
        monitoring=round(unit_price(scenario.prices, "monitoring"), 2) if built else 0.0,
        years=math.floor(scenario.prices.monitoring_years),
        removal=round(sum(line.cost for line in removal_lines(scenario, option)), 2),
        volunteers_built=volunteer_value(built),
        volunteers_refill=paid.volunteer_refill,
        volunteers_post=paid.volunteer_post,
        volunteers_unit=paid.volunteer_unit,
    )
