"""The books: closing stocks of mud, shell, fill and money, and whether each budget closes."""

from __future__ import annotations

import numpy as np

from edgesim.model.edge import EdgeSettings, marsh_volume
from edgesim.model.mending import Mending
from edgesim.model.reef import ReefSettings
from edgesim.model.state import ENTRY, State
from edgesim.model.walls import WallSettings
from edgesim.names import BUDGETS, LEDGER_ENTRIES

INFLOWS = {
    "mud": ("mud_opening", "mud_deposited", "mud_platform_accreted"),
    "shell": ("shell_opening", "shell_grown", "shell_refilled"),
    "fill": ("fill_opening", "fill_refilled"),
    "money": (
        "money_opening",
        "money_built",
        "money_refilled",
        "money_posts",
        "money_units",
        "money_visits",
        "money_monitoring",
    ),
    "units": ("units_opening", "units_mended"),
}
"""Entries that add to each budget."""

OUTFLOWS = {
    "mud": ("mud_resuspended", "mud_scarp_exported"),
    "shell": ("shell_dissolved", "shell_washed_off"),
    "fill": ("fill_decayed", "fill_washed_out"),
    "money": (),
    "units": ("units_spilled",),
}
"""Entries that take from each budget."""


def _signs() -> np.ndarray:
    signs = np.zeros((len(BUDGETS), len(LEDGER_ENTRIES)))
    for row, budget in enumerate(BUDGETS):
        for name in INFLOWS[budget]:
            signs[row, ENTRY[name]] = 1.0
        for name in OUTFLOWS[budget]:
            signs[row, ENTRY[name]] = -1.0
    return signs


SIGNS = _signs()
CLOSING = [ENTRY[f"{budget}_closing"] for budget in BUDGETS]


def mud_stock(state: State, edge: EdgeSettings) -> float:
    """Dry mass of flat and marsh above the zero of the datum. [kg]."""
    firm = float(state.bed.sum() - state.loose_thickness.sum()) * edge.flat_density
    flat = (firm + float(state.loose_mud.sum())) * edge.dx * edge.dy
    marsh = marsh_volume(state.bed, state.platform, state.edge, edge.dx, edge.dy)
    return flat + marsh * edge.soil_density


def shell_stock(state: State, reef: ReefSettings) -> float:
    """Shell mass of all units and of what they spilled; of solid units only what oysters have added. [kg]."""
    volume = reef.built_height * reef.area
    placed = np.ones(state.placed.size) if reef.is_solid else state.placed
    grown = float((state.unit_height - placed).sum()) * reef.grown_density
    if reef.is_solid:
        return grown * volume
    return (grown + float((state.placed + state.loose_shell).sum()) * reef.bulk_density) * volume


def whole_units(state: State) -> int:
    """Reef units that have not spilled."""
    return int((state.spilled == 0.0).sum())


def fill_stock(state: State, wall: WallSettings) -> float:
    """Fill of all bays, as the volume that it took when it was fresh. [m3]."""
    return float(state.fill_mass @ wall.volume)


def visits_made(state: State, wall: WallSettings) -> int:
    """Upkeep visits that took place."""
    decided = np.arange(int(state.visit[1])) % wall.skipped.size
    return int((wall.skipped[decided] == 0).sum())


def money_spent(
    state: State, reef: ReefSettings, wall: WallSettings, mending: Mending | None
) -> float:
    """Money spent, from the counts of what was bought rather than from its own entries. [currency]."""
    bought = (
        visits_made(state, wall) * wall.price_visit
        + float(state.post_life.sum()) * wall.price_post
        + float(state.ledger[ENTRY["fill_refilled"]]) * wall.price_refill
    )
    if mending is not None:
        shell = float(state.ledger[ENTRY["shell_refilled"]]) / reef.bulk_density
        bought += float(state.unit_life.sum()) * mending.price_unit + shell * mending.price_shell
    return (
        bought
        + float(state.ledger[ENTRY["money_built"]])
        + float(state.ledger[ENTRY["money_monitoring"]])
    )


def close_budgets(
    state: State,
    edge: EdgeSettings,
    reef: ReefSettings,
    wall: WallSettings,
    mending: Mending | None = None,
) -> None:
    """Post the closing stock of every budget and note the largest relative gap so far.

    Parameters
    ----------
    state : State
        Closing entries and ``residual`` are written.
    edge, reef, wall, mending : settings
        Numbers of the member.
    """
    state.ledger[CLOSING] = (
        mud_stock(state, edge),
        shell_stock(state, reef),
        fill_stock(state, wall),
        money_spent(state, reef, wall, mending),
        float(whole_units(state)),
    )
    turnover = np.abs(SIGNS) @ np.abs(state.ledger)
    gap = np.abs(SIGNS @ state.ledger - state.ledger[CLOSING])
    # A budget with no turnover at all must have no gap either.
    relative = gap / np.where(turnover > 0.0, turnover, 1e-300)
    np.maximum(state.residual, relative, out=state.residual)
