"""What a member writes down four times a year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, SECONDS_PER_YEAR
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP
from edgesim.forcing.waves import WAKE
from edgesim.model.ledger import visits_made
from edgesim.model.line_field import middle_transmission
from edgesim.model.reef import crests
from edgesim.model.state import ENTRY, State
from edgesim.model.step import (
    Defence,
    Member,
    flood_lines,
    raise_lines,
    reef_heights,
    solve,
)
from edgesim.model.walls import COST, DAY, HOURS, KIND, POSTS, SHELL, UNITS, VOLUME, fill_heights
from edgesim.names import BY_NAME, DERIVED, OYSTER_SIZE_COUNT, OYSTER_SIZE_STEP, SHELL_PARTS
from edgesim.processes.oysters import SHELL_COEFFICIENT, SHELL_EXPONENT

Floats = NDArray[np.float64]
Row = dict[str, Any]

LOGGED = {
    "upkeep_day": DAY,
    "upkeep_kind": KIND,
    "upkeep_cost": COST,
    "upkeep_hours": HOURS,
    "upkeep_posts": POSTS,
    "upkeep_volume": VOLUME,
    "upkeep_units": UNITS,
    "upkeep_shell": SHELL,
}
"""Columns of the upkeep log by the quantity that they become."""

RECORDED = tuple(name for name in BY_NAME if name not in (*DERIVED, *LOGGED, "ledger_residual"))
"""Quantities of ``edgesim.names`` that the model writes; the others follow from them."""


@dataclass(frozen=True)
class Reach:
    """Part of the grid that the design covers, and how it looked at the start.

    Attributes
    ----------
    first, last : int
        Alongshore cells [first, last).
    outer_row : int
        Row of the outermost line of any option.
    bed : ndarray, (nx, ny)
        Level of the bed at the start. [m]
    edge : ndarray, (ny,)
        Position of the edge at the start. [m]
    inland : float
        Mean platform level in the last row at the start. [m]
    """

    first: int
    last: int
    outer_row: int
    bed: Floats
    edge: Floats
    inland: float


def record(member: Member, reach: Reach, day: int) -> Row:
    """Everything that a member writes down on a day.

    Parameters
    ----------
    member : Member
        The member; the sea level of its lines' tables is renewed.
    reach : Reach
        What the design covers.
    day : int
        Days since the start. [d]

    Returns
    -------
    dict of str to number or ndarray
        One value for each name of :data:`RECORDED`; not-a-number for lines that do not stand.
    """
    flood_lines(member, day)
    raise_lines(member, day)
    row: Row = dict.fromkeys(RECORDED, np.nan)
    row["shell_stock"] = np.full(len(SHELL_PARTS), np.nan)
    row["oyster_sizes"] = np.full(OYSTER_SIZE_COUNT, np.nan)
    row |= _ground(member, reach, day)
    if member.walls.stands:
        row |= _walls(member, day)
    if member.reef.stands:
        row |= _reef(member, day)
    if member.walls.stands or member.mending is not None:
        row |= _crew(member)
    return row | _powers(member, reach, day)


def _ground(member: Member, reach: Reach, day: int) -> Row:
    state, settings = member.state, member.edge_settings
    rows = np.arange(state.bed.shape[0])[:, None]
    flat = rows < edge_rows(state.edge, settings.dx)
    surface = np.where(flat, state.bed, state.platform)
    sheltered = (rows >= reach.outer_row) & (rows < edge_rows(reach.edge, settings.dx))
    sheltered[:, : reach.first] = False
    sheltered[:, reach.last :] = False
    risen = (state.bed - reach.bed)[sheltered]
    firm = (state.bed - state.loose_thickness - reach.bed)[sheltered].sum() * settings.flat_density
    gained = float(firm + state.loose_mud[sheltered].sum())
    sea_level = member.weather.mean_sea_level
    return {
        "edge_position": state.edge.astype(np.float32),
        "surface_section": surface[:, reach.first : reach.last].mean(axis=1).astype(np.float32),
        "mud_trapped": gained * settings.dx * settings.dy,
        "bed_rise": float(risen.mean()) if risen.size else 0.0,
        "platform_rise": float(state.platform[-1].mean()) - reach.inland,
        "platform_rise_behind": float(state.platform[-1, reach.first : reach.last].mean())
        - reach.inland,
        "suspended_share": float(state.suspended[sheltered].mean()) if risen.size else 1.0,
        "shoot_cover": float(state.shoots[sheltered].mean()) if risen.size else 0.0,
        "mean_sea_level": float(sea_level[min(day, sea_level.size - 1)]),
        "cost": float(state.ledger[ENTRY["money_closing"]]),
        "ledger": state.ledger.copy(),
    }


def edge_rows(edge: Floats, dx: float) -> NDArray[np.int64]:
    """First row of marsh in every column, as in ``edge.cell_of_edge``."""
    return (edge / dx + 0.5).astype(np.int64)


def _walls(member: Member, day: int) -> Row:
    state = member.state
    return {
        "fill_fraction": float(fill_heights(state).mean()),
        "posts_standing": float((state.post_end > day).mean()),
        "ties_intact": float((state.tie_end > day).mean()),
        "bays_open": float(state.bay_open.mean()),
        "post_scour": float(state.post_scour.mean()),
        "wood_oysters": float(state.wood_oysters.mean()),
        "wall_transmission": _transmission(member, member.walls, fill_heights(state)),
    }


def _crew(member: Member) -> Row:
    return {
        "crew_hours": float(np.nansum(member.state.log[:, HOURS])),
        "refills": float(visits_made(member.state, member.wall_settings)),
    }


def _reef(member: Member, day: int) -> Row:
    state, settings = member.state, member.reef_settings
    year = day / DAYS_PER_YEAR
    cohort = min(int(year), state.oysters.shape[0] - 1)
    tops = crests(state, settings, year)
    sea_level = member.weather.mean_sea_level
    about_sea = tops - sea_level[min(day, sea_level.size - 1)]
    ladder = TABLE_LOW + TABLE_STEP * np.arange(member.weather.dry_share.size)
    adults = state.oysters[:cohort].sum(axis=0)
    cement = -np.expm1(-adults / settings.consolidation_density)
    return {
        "mesh_intact": np.nan if settings.is_solid else float((state.mesh_end > day).mean()),
        "rings_intact": (
            float((state.ring_end > day).mean()) if np.isfinite(state.ring_end).all() else np.nan
        ),
        "shell_stock": shell_parts(member),
        "consolidation": float(cement.mean()),
        "oyster_density": float(state.oysters.sum(axis=0).mean()),
        "oyster_sizes": oyster_sizes(state),
        "reef_crest": float(tops.mean()),
        "reef_exposure": float(np.interp(about_sea, ladder, member.weather.dry_share).mean()),
        "reef_transmission": _transmission(member, member.reef, reef_heights(member, day)),
    }


def shell_parts(member: Member) -> Floats:
    """Shell of all units by ``names.SHELL_PARTS``; of solid units only what oysters added. [kg]."""
    state, settings = member.state, member.reef_settings
    volume = settings.built_height * settings.area
    mass = volume * settings.bulk_density
    placed = 0.0 * state.placed if settings.is_solid else state.placed
    added = state.unit_height - (1.0 if settings.is_solid else placed)
    # Where oysters have added nothing, rounding must not leave less than nothing.
    added = np.maximum(added, 0.0) * volume * settings.grown_density
    single = 1e-3 * SHELL_COEFFICIENT * (1e3 * state.shell_height) ** SHELL_EXPONENT
    carried = (state.oysters * single).sum(axis=0) * settings.area
    # Oysters carry no more than the reef has kept of what they made.
    live = np.clip(carried, 0.0, added)
    parts = (placed * mass, live, added - live, state.loose_shell * mass)
    return np.array([float(part.sum()) for part in parts])


def upkeep_log(member: Member) -> Row:
    """Rows of the upkeep log, not-a-number beyond the last. (n_rows,)."""
    return {name: member.state.log[:, column].copy() for name, column in LOGGED.items()}


def oyster_sizes(state: State) -> Floats:
    """Live oysters by class of shell height, mean over units. [m-2]."""
    place = (state.shell_height / OYSTER_SIZE_STEP).astype(np.int64)
    found = np.bincount(
        np.minimum(place, OYSTER_SIZE_COUNT - 1).ravel(),
        weights=state.oysters.ravel(),
        minlength=OYSTER_SIZE_COUNT,
    )
    return np.asarray(found / max(state.oysters.shape[1], 1))


def _transmission(member: Member, line: Defence, heights: Floats) -> float:
    """Mean transmission of the parts of a line at mean sea level for the heaviest class of waves."""
    return middle_transmission(
        line.field.transmission, heights, member.weather.level_centres, member.tables.flux
    )


def _powers(member: Member, reach: Reach, day: int) -> Row:
    """Power at the edge with no line, each line alone, and as built.

    A year's waves meet ground and lines as they stand on the day.
    """
    tally = member.weather.tally
    year_days = min(365, tally.shape[0])
    end = min(max(day, year_days), tally.shape[0])
    counts = tally[end - year_days : end].sum(axis=0)
    seconds = year_days / DAYS_PER_YEAR * SECONDS_PER_YEAR

    def split(*, walls: bool, reef: bool) -> Floats:
        solve(member, day, counts, walls=walls, reef=reef)
        gain = member.work.waves.gain[:, :, reach.first : reach.last].mean(axis=2)
        return np.asarray((gain * counts).sum(axis=0) / seconds)

    has_walls, has_reef = member.walls.stands, member.reef.stands
    as_built = split(walls=True, reef=True)
    is_wake = member.weather.source == WAKE
    total = float(as_built.sum())
    powers: Row = {
        "edge_power_wake": float(as_built[is_wake].sum()),
        "edge_power_wind": float(as_built[~is_wake].sum()),
        "edge_power_open": total,
    }
    if has_walls or has_reef:
        powers["edge_power_open"] = float(split(walls=False, reef=False).sum())
    if has_walls:
        powers["edge_power_walls"] = (
            float(split(walls=True, reef=False).sum()) if has_reef else total
        )
    if has_reef and has_walls:
        flood_lines(member, day, walls=False)  # the reef then meets the waves of the open
        raise_lines(member, day)
        powers["edge_power_reef"] = float(split(walls=False, reef=True).sum())
    elif has_reef:
        powers["edge_power_reef"] = total
    return powers
