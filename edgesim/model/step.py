"""The steps of one member: every process in its order, and nothing else.

Waves and mud live in windows of a few days (``run.wave_update_days``): the wave
field is solved for the ground and the lines as they stand at the start of a
window, and mud and plants answer at its end to all waves of it. Everything with
a life of its own (edge, walls, oysters, shell, upkeep) steps day by day inside
three compiled loops. The loop over windows is plain Python: it costs little, and
compiles nothing (docs/decisions/0004).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, GOLDEN_RATIO
from edgesim.errors import SolverError
from edgesim.forcing.calendar import Calendar
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_SIZE, TABLE_STEP
from edgesim.forcing.waves import WAKE
from edgesim.model.days import grow_reef, wear_edge, wear_walls
from edgesim.model.edge import EdgeSettings
from edgesim.model.ledger import close_budgets
from edgesim.model.line_field import (
    HIGHEST_CONDITION,
    LineField,
    LineMaterial,
    between_rungs,
    fill_transmissions,
    middle_transmission,
    raise_parts,
)
from edgesim.model.mending import Mending, spans
from edgesim.model.mud import exchange_mud
from edgesim.model.plants import grow_plants
from edgesim.model.reef import ReefSettings, crests
from edgesim.model.state import State
from edgesim.model.walls import WallSettings, fill_heights, share_lost
from edgesim.model.washing import washing_rate
from edgesim.model.wave_field import WaveResult, solve_waves
from edgesim.model.wave_tables import DEPTH_STEP, WaveTables

Floats = NDArray[np.float64]

LADDER = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
"""Elevations of the tables of ``forcing/water_levels``. [m]"""

PACKET_HEIGHT = 0.72
"""Height of the even train of waves that passes a line as a packet does, over that of its highest
wave: derived for a triangular envelope, 3/4 where the line resists little (mean of h^3 over mean of
h^2) and 2/3 where it resists much. [1]"""

SEA_HEIGHT = 1.25
"""The same for a wind sea over its root-mean-square height, heights after Rayleigh: 1.33 to
1.13. [1]"""


class Weather(NamedTuple):
    """What comes from outside, day by day.

    Attributes
    ----------
    days : Calendar
        The calendar.
    tally : float64, (n_days, n_levels, n_classes)
        Class waves. [1]
    level_centres : float64, (n_levels,)
        Levels of the bins about mean sea level. [m]
    bin_width : float
        Width of a level bin. [m]
    mean_sea_level : float64, (n_days,)
        Above the vertical datum. [m]
    high_water : float
        Mean high water above mean sea level. [m]
    dry_share, flood_depth : float64
        Tables of ``forcing/water_levels``.
    daily_high : float64, (n_days,)
        Highest level of each day about mean sea level. [m]
    source : int64, (n_classes,)
        Source of each class.
    """

    days: Calendar
    tally: Floats
    level_centres: Floats
    bin_width: float
    mean_sea_level: Floats
    high_water: float
    dry_share: Floats
    flood_depth: Floats
    daily_high: Floats
    source: NDArray[np.int64]


@dataclass(frozen=True)
class Defence:
    """One line as waves meet it.

    Attributes
    ----------
    stands : bool
        Whether the option builds it.
    field : LineField
        Its wave tables.
    base, built_height : float
        Bed under it on the surveyed profile, and height at build. [m]
    row, bed : int, float
        Grid row of its centre line, and mean bed under it in that row at the start. [m]
    material : LineMaterial
        What it is made of.
    """

    stands: bool
    field: LineField
    base: float
    built_height: float
    row: int
    bed: float
    material: LineMaterial


@dataclass(frozen=True)
class Work:
    """Work space of a member."""

    waves: WaveResult
    retreat: Floats
    fluxes: Floats
    boxes: Floats


@dataclass(frozen=True)
class Member:
    """One member of one option, ready to run."""

    state: State
    weather: Weather
    tables: WaveTables
    walls: Defence
    reef: Defence
    edge_settings: EdgeSettings
    reef_settings: ReefSettings
    wall_settings: WallSettings
    level_decay: float
    line_exchange: float
    window_days: int
    work: Work
    mending: Mending | None = None

    @cached_property
    def energy_by_transmission(self) -> Floats:
        """Mean energy where the reef stands by what the walls let through. (n_levels, n_classes, n_rungs)."""
        walls, reef = self.walls.field, self.reef.field
        row = max(reef.first_row - 1 - walls.first_row, 0)
        return np.asarray(walls.intensity[:, :, :, row, reef.part >= 0].mean(axis=3))


def run_until(member: Member, first_day: int, last_day: int) -> None:
    """Run a member from one day to another.

    Parameters
    ----------
    member : Member
        Set up by ``edgesim.model.forecast``; its state is changed.
    first_day, last_day : int
        First day to run, and the day after the last. [d]
    """
    flood_lines(member, first_day)
    while first_day < last_day:
        end = min(first_day + member.window_days, last_day)
        run_window(member, first_day, end)
        first_day = end


def run_window(member: Member, first_day: int, end: int) -> None:
    """One window: waves, then day by day, then mud and plants, then the books."""
    for step in STEPS:
        step(member, first_day, end)
    settle_books(member)


def step_waves(member: Member, first_day: int, end: int) -> None:
    """Solve the waves of a window for the lines and the ground at its start."""
    raise_lines(member, first_day)
    counts = waves_of(member, first_day, end)
    solve(member, first_day, counts, shift=level_shift(member, first_day))


def step_edge(member: Member, first_day: int, end: int) -> None:
    """Wear the edge day by day."""
    waves = member.work.waves
    wear_edge(
        member.state,
        member.weather.tally,
        waves.gain,
        member.edge_settings,
        first_day,
        end,
        member.work.retreat,
    )


def step_walls(member: Member, first_day: int, end: int) -> None:
    """Wear and mend the walls day by day, and send the crew, also to a reef alone."""
    if not member.walls.stands and member.mending is None:
        return
    weather = member.weather
    wear_walls(
        member.state,
        weather.days,
        weather.dry_share,
        float(weather.mean_sea_level[first_day]),
        wall_kt(member),
        member.reef_settings,
        member.wall_settings,
        first_day,
        end,
    )


def step_reef(member: Member, first_day: int, end: int) -> None:
    """Let the reef grow and wear day by day, where it stands."""
    if not member.reef.stands:
        return
    weather = member.weather
    sea_level = float(weather.mean_sea_level[first_day])
    counts = waves_of(member, first_day, end)
    state, settings, calm = member.state, member.reef_settings, calm_share(member)
    washing = loose_washing(member, counts, float(end - first_day), sea_level)
    for day, stop in spans(state, settings, member.mending, first_day, end):
        grow_reef(
            state, weather.days, weather.dry_share, sea_level, calm, washing, settings, day, stop
        )


def step_mud(member: Member, first_day: int, end: int) -> None:
    """Let mud settle and be stirred up by all waves of the window."""
    weather = member.weather
    exchange_mud(
        member.state,
        member.edge_settings,
        *member.work.waves[1:4],  # excess, shaken, hindered
        float(end - first_day),
        float(weather.days.year_phase[first_day]),
        float(weather.mean_sea_level[first_day]),
        weather.dry_share,
        weather.flood_depth,
        *exchange_of_lines(member, first_day),
        member.work.fluxes,
        member.work.boxes,
    )


def step_plants(member: Member, first_day: int, end: int) -> None:
    """Let the platform rise and plants spread or die."""
    weather = member.weather
    sea_level = float(weather.mean_sea_level[first_day])
    grow_plants(
        member.state,
        member.edge_settings,
        member.work.waves.edge_stress,
        first_day,
        end,
        weather.daily_high,
        sea_level,
        sea_level + weather.high_water,
        weather.dry_share,
    )


STEPS = (step_waves, step_edge, step_walls, step_reef, step_mud, step_plants)
"""What a window does, in this order."""


def waves_of(member: Member, first_day: int, end: int) -> Floats:
    """Class waves of some days. (n_levels, n_classes)."""
    return np.asarray(member.weather.tally[first_day:end].sum(axis=0))


def settle_books(member: Member) -> None:
    """Close every budget on the present state."""
    edge, reef, walls = member.edge_settings, member.reef_settings, member.wall_settings
    close_budgets(member.state, edge, reef, walls, member.mending)


def solve(
    member: Member,
    day: int,
    counts: Floats,
    *,
    shift: float | None = None,
    walls: bool = True,
    reef: bool = True,
) -> None:
    """Solve the wave field of some class waves for the ground and lines of a day.

    Parameters
    ----------
    member : Member
        Its ``work.waves`` is filled.
    day : int
        Day that gives the sea level.
    counts : ndarray, (n_levels, n_classes)
        Class waves.
    shift : float, optional
        Shift of all levels within their bins; without it each level stands for its whole bin
        where it meets the scarp. [m]
    walls, reef : bool
        Set either false to leave out a line that stands.
    """
    state = member.state
    solve_waves(
        state.bed,
        state.platform,
        state.edge,
        state.shoots,
        member.edge_settings.dx,
        levels_of(member, day) + (shift or 0.0),
        member.weather.bin_width if shift is None else 0.0,
        counts,
        member.tables,
        member.walls.field,
        member.reef.field,
        walls and member.walls.stands,
        reef and member.reef.stands,
        member.edge_settings.critical_stress,
        member.level_decay,
        member.work.waves,
    )


def level_shift(member: Member, day: int) -> float:
    """Shift of the levels within their bins in the window that begins on a day. [m].

    A level that stood still would leave its mark on the ground where it just dries; the golden
    ratio spreads the levels of successive windows evenly over their bins.
    """
    window = day // member.window_days
    return ((0.5 + GOLDEN_RATIO * window) % 1.0 - 0.5) * member.weather.bin_width


def levels_of(member: Member, day: int) -> Floats:
    """Water level of every bin above the vertical datum on a day. [m]."""
    weather = member.weather
    last = weather.mean_sea_level.size - 1
    return np.asarray(weather.level_centres + weather.mean_sea_level[min(day, last)])


def calm_share(member: Member) -> float:
    """Share of the open wave energy that the walls keep from the reef. [1]."""
    reached, in_the_open = member.work.waves.reef_energy
    return max(0.0, 1.0 - float(reached / in_the_open)) if in_the_open > 0.0 else 0.0


def wall_kt(member: Member) -> float:
    """Kt of the walls at mid tide, where upkeep looks at it; 0 where it does not. [1]."""
    if not member.walls.stands or member.wall_settings.kt_trigger == np.inf:
        return 0.0
    field, flux, centres = member.walls.field, member.tables.flux, member.weather.level_centres
    return middle_transmission(field.transmission, fill_heights(member.state), centres, flux)


def loose_washing(member: Member, counts: Floats, days: float, sea_level: float) -> float:
    """Rate at which the waves of a window carry off loose shell. [year-1]."""
    state, settings = member.state, member.reef_settings
    if not state.spilled.any():
        return 0.0
    levels = member.weather.level_centres + sea_level
    heights = incoming_heights(member, member.reef, levels)
    heights *= np.sqrt(1.0 - calm_share(member))
    flooded = levels > member.reef.base
    a_year = counts * DAYS_PER_YEAR / days
    return washing_rate(a_year, heights, flooded, settings.loose_embedment, settings.loose_share)


def reef_heights(member: Member, day: int) -> Floats:
    """Height above the first bed of each column of units over its height at build. [1]."""
    settings = member.reef_settings
    above_bed = crests(member.state, settings, day / DAYS_PER_YEAR) - settings.base
    n_columns = int(settings.column.max()) + 1
    columns = np.maximum(above_bed / settings.built_height, 0.0).reshape(-1, n_columns)
    return np.asarray(columns.mean(axis=0))


def exchange_of_lines(member: Member, day: int) -> tuple[NDArray[np.int64], Floats]:
    """Row of each line, and the share of the free exchange of water that passes it in each column.

    Water passes freely through gaps and over the crest; through the fill passes a share.
    """
    sea_level = float(member.weather.mean_sea_level[day])
    rows = np.full(2, -1, dtype=np.int64)
    open_share = np.ones((2, member.state.edge.size))
    for i, line in enumerate((member.walls, member.reef)):
        if not line.stands:
            continue
        heights = fill_heights(member.state) if i == 0 else reef_heights(member, day)
        crests_of_parts = line.base + line.built_height * heights
        about_sea = np.append(crests_of_parts, line.base) - sea_level
        depths = np.interp(about_sea, LADDER, member.weather.flood_depth)
        over = depths[:-1] / max(float(depths[-1]), 1e-9)
        passes = np.minimum(over + (1.0 - over) * member.line_exchange, 1.0)
        part = line.field.part
        rows[i] = line.row
        open_share[i] = np.where(part >= 0, passes[np.maximum(part, 0)], 1.0)
    return rows, open_share


def raise_lines(member: Member, day: int) -> None:
    """Bring the condition of both lines up to a day.

    Raises
    ------
    SolverError
        If a height is not finite: compiled look-ups would go out of their tables.
    """
    if member.walls.stands:
        _raise_line(member.walls, fill_heights(member.state), f"walls, day {day}")
    if member.reef.stands:
        _raise_line(member.reef, reef_heights(member, day), f"reef, day {day}")


def _raise_line(line: Defence, heights: Floats, where: str) -> None:
    if not np.isfinite(heights).all():
        message = f"{where}: a height stopped being finite; please report this scenario."
        raise SolverError(message)
    raise_parts(line.field, heights)


def flood_lines(member: Member, day: int, *, walls: bool = True) -> None:
    """Bring the transmission of both lines up to the water, the waves and the bed of a day.

    Parameters
    ----------
    member : Member
        The transmission of its lines is filled; call :func:`raise_lines` after it.
    day : int
        Day that gives the sea level.
    walls : bool, default True
        Whether walls that stand shelter the reef.
    """
    levels = levels_of(member, day)
    if member.walls.stands:
        # What no longer stands no longer resists.
        material = member.walls.material
        posts = material.posts * (1.0 - share_lost(member.state, day))
        walls_now = replace(member.walls, material=material._replace(posts=posts))
        fill_line(member, walls_now, levels, incoming_heights(member, member.walls, levels))
    if member.reef.stands:
        heights = incoming_heights(member, member.reef, levels)
        if walls and member.walls.stands:
            heights *= np.sqrt(energy_at_reef(member))
        fill_line(member, member.reef, levels, heights)


def incoming_heights(member: Member, line: Defence, levels: Floats) -> Floats:
    """Height of the even train of waves that a line lets through as it does a class. (n_levels, n_classes). [m].

    Shoaled and capped by breaking; then the mean over the heights of a packet or a sea, by
    energy (:data:`PACKET_HEIGHT`, :data:`SEA_HEIGHT`).
    """
    tables = member.tables.arriving
    place = np.maximum(levels - line.base, DEPTH_STEP) / DEPTH_STEP
    rung = np.minimum(place.astype(np.int64), tables.shape[1] - 2)
    low, high = tables[:, rung].T, tables[:, rung + 1].T
    highest = low + (place - rung)[:, None] * (high - low)
    return np.asarray(highest * np.where(member.weather.source == WAKE, PACKET_HEIGHT, SEA_HEIGHT))


def energy_at_reef(member: Member) -> Floats:
    """Mean energy behind the walls where the reef stands, relative to the open. (n_levels, n_classes)."""
    condition = float(fill_heights(member.state).mean()) / HIGHEST_CONDITION
    transmission = between_rungs(member.walls.field.transmission, condition)
    return between_rungs(member.energy_by_transmission, transmission)


def fill_line(member: Member, line: Defence, levels: Floats, heights: Floats) -> None:
    """Fill the transmission of one line for waves of some heights."""
    fill_transmissions(
        heights,
        member.tables.period,
        member.tables.wavenumber,
        DEPTH_STEP,
        levels,
        line.base,
        float(member.state.bed[line.row, line.field.part >= 0].mean()) - line.bed,
        line.built_height,
        line.material,
        line.field.transmission,
    )
