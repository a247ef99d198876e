"""Set up members, calibrate them on the site's history, and run them option by option."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR, SECONDS_PER_DAY
from edgesim.errors import BudgetError, InvalidParameterError, SolverError
from edgesim.forcing.streams import Purpose, stream
from edgesim.model.balance import natural_flat, season_of_classes
from edgesim.model.bill import bill, build_cost
from edgesim.model.books import make_books
from edgesim.model.common import Common, MemberForcing
from edgesim.model.edge import EdgeSettings, start_blocks, worn_position
from edgesim.model.grid import Grid, Line, covered_reach, make_grid, reef_line, wall_line
from edgesim.model.hold import HIGHEST
from edgesim.model.ledger import fill_stock, mud_stock, shell_stock
from edgesim.model.line_field import LineField, LineMaterial, line_field, sight
from edgesim.model.lives import container_ends
from edgesim.model.mending import mending_of
from edgesim.model.mud import box_room
from edgesim.model.records import RECORDED, Reach, record, upkeep_log
from edgesim.model.settings import (
    WallStreams,
    edge_settings,
    grass_of,
    log_size,
    reef_material,
    reef_settings,
    wall_material,
    wall_settings,
)
from edgesim.model.shelter import Shelter
from edgesim.model.state import ENTRY, State
from edgesim.model.step import Defence, Member, Work, run_until, settle_books, solve
from edgesim.model.walls import BUILD, COST, KIND, LOG_COLUMNS, WallSettings
from edgesim.model.wave_field import wave_result
from edgesim.model.wave_tables import wave_tables
from edgesim.names import BUDGETS, LEDGER_ENTRIES
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option

Floats = NDArray[np.float64]

LEDGER_TOLERANCE = 1e-9
"""Largest relative gap of a budget. [1]"""

LEVEL_SHIFTS = 32
"""Shifts of the levels within their bins over which the history is averaged: about a centimetre
each. With a few only, single rows of the flat were given more or less stirring than they meet in
a forecast, whose windows shift the levels evenly, and wore down or rose in stripes."""

UNDEFENDED = Option(name="undefended")


@dataclass(frozen=True)
class Calibration:
    """What the site's own history says of one member.

    Attributes
    ----------
    erodibility : float
        See :class:`edgesim.model.edge.EdgeSettings`.
    stirring, current_stirring, natural_deposition : ndarray, (nx, ny)
    natural_water : ndarray, (ny,)
        See there.
    """

    erodibility: float
    stirring: Floats
    current_stirring: Floats
    natural_deposition: Floats
    natural_water: Floats

    def applied_to(self, settings: EdgeSettings) -> EdgeSettings:
        """Settings with the calibrated numbers in them."""
        return settings._replace(
            erodibility=self.erodibility,
            stirring=self.stirring,
            current_stirring=self.current_stirring,
            natural_deposition=self.natural_deposition,
            natural_water=self.natural_water,
        )


def set_up(
    forcing: MemberForcing, common: Common, option: Option, *, history: bool = False
) -> Member:
    """Build one member of one option, not yet calibrated.

    Parameters
    ----------
    forcing : MemberForcing
        Values and weather of the member.
    common : Common
        What all members share.
    option : Option
        Which lines stand.
    history : bool, default False
        Take the weather of the history instead of the forecast's.

    Returns
    -------
    Member
    """
    scenario, index = forcing.scenario, forcing.index
    seed = scenario.run.seed
    weather = forcing.history if history else forcing.weather
    grid = make_grid(scenario)
    walls = wall_line(scenario) if option.walls else None
    reef = reef_line(scenario) if option.reef else None
    n_cohorts = scenario.run.years + 1
    wall_numbers = wall_settings(
        scenario,
        walls,
        float(weather.mean_sea_level[0]),
        weather.dry_share,
        highest_wave(common),
        common.n_days,
        WallStreams(
            stream(seed, index, Purpose.WALLS),
            stream(seed, index, Purpose.UPKEEP),
            stream(seed, index, Purpose.POSTS),
        ),
    )
    reef_numbers = reef_settings(
        scenario,
        grid,
        reef,
        n_cohorts,
        weather.days.month,
        wall_numbers.base + 0.5 * wall_numbers.built_height,
        stream(seed, index, Purpose.RECRUITMENT),
    )
    edge_numbers = edge_settings(scenario, grid, reef, stream(seed, index, Purpose.STRENGTH))
    n_units = reef_numbers.column.size
    containers = container_ends(scenario, n_units, stream(seed, index, Purpose.MESH))
    highest = weather.level_centres.max() + 0.5 * weather.bin_width
    deepest = float(highest + weather.mean_sea_level.max() - grid.bed.min())
    member = Member(
        state=_state(grid, wall_numbers, containers, n_cohorts, log_size(scenario, common.n_days)),
        weather=weather,
        tables=wave_tables(
            common.classes,
            grid.dx,
            max(deepest, 0.1),
            grass_of(scenario),
            edge_numbers.shell,
            weather.level_centres.size,
            scenario.mud.settling_stress,
        ),
        walls=_defence(
            walls,
            _line_field(walls, common.wall, forcing, common, grid),
            grid,
            wall_numbers.built_height,
            wall_material(scenario),
        ),
        reef=_defence(
            reef,
            _line_field(reef, common.reef, forcing, common, grid),
            grid,
            reef_numbers.built_height,
            reef_material(scenario),
        ),
        edge_settings=edge_numbers,
        reef_settings=reef_numbers,
        wall_settings=wall_numbers,
        level_decay=scenario.marsh.level_decay,
        line_exchange=scenario.mud.line_exchange,
        window_days=scenario.run.wave_update_days,
        work=_work(common, grid),
        mending=mending_of(
            scenario, reef_numbers.column.size, stream(seed, index, Purpose.MENDING)
        ),
    )
    start_blocks(member.state, member.edge_settings, stream(seed, index, Purpose.BLOCKS))
    _open_ledger(member, scenario, option)
    return member


def highest_wave(common: Common) -> tuple[float, float]:
    """Height [m] and period [s] of the highest waves that any class stands for; (0, 1) without waves."""
    classes = common.classes
    if not classes.height.size:
        return 0.0, 1.0
    top = int(np.argmax(classes.height))
    return HIGHEST * float(classes.height[top]), float(classes.period[top])


def calibrate(forcing: MemberForcing, common: Common) -> Calibration:
    """Fit a member to the site's own history.

    The undefended flat, under today's traffic without a new rule, keeps its
    level; the undefended edge, in a trial run of two years, retreats at the
    surveyed rate. The trial carries what the mean wave power alone leaves out:
    uneven soil and the sides of notches.

    Parameters
    ----------
    forcing : MemberForcing
        Values and weather of the member.
    common : Common
        What all members share.

    Returns
    -------
    Calibration

    Raises
    ------
    InvalidParameterError
        If the site has a history of retreat but no waves reach its edge.
    """
    scenario = forcing.scenario
    trial = set_up(forcing, common, UNDEFENDED, history=True)
    counts = forcing.history.tally.sum(axis=0)
    n_days = forcing.history.tally.shape[0]
    seconds = n_days * SECONDS_PER_DAY
    season = season_of_classes(forcing.history.tally, forcing.history.days.year_phase, trial)
    usual, trial = trial.tables, replace(trial, tables=trial.tables._replace(season=season))
    gain, (excess, hindered) = (
        np.zeros_like(trial.work.waves.gain),
        np.zeros((2, *trial.state.bed.shape)),
    )
    for share in (np.arange(LEVEL_SHIFTS) + 0.5) / LEVEL_SHIFTS - 0.5:
        solve(trial, 0, counts, shift=share * trial.weather.bin_width)
        gain += trial.work.waves.gain / LEVEL_SHIFTS
        excess += trial.work.waves.excess / LEVEL_SHIFTS
        hindered += trial.work.waves.hindered / LEVEL_SHIFTS
    trial = replace(trial, tables=usual)
    power = float((gain * counts[:, :, None]).sum(axis=(0, 1)).mean()) / seconds
    rate = scenario.site.retreat_rate
    retreat = (
        scenario.marsh.erodibility * power / scenario.site.scarp_height if rate is None else rate
    )
    flat = natural_flat(trial, excess / seconds, hindered / seconds, retreat, scenario)
    found = Calibration(0.0, *flat)
    if rate is None or (rate == 0.0 and power <= 0.0):
        return replace(found, erodibility=scenario.marsh.erodibility)
    if power <= 0.0:
        message = (
            f"site.retreat_rate = {rate} m/yr, but no waves reach the edge in this scenario: give "
            "traffic or wind, or leave out site.retreat_rate and give marsh.erodibility."
        )
        raise InvalidParameterError(message)
    guess = rate * scenario.site.scarp_height / power
    trial = replace(
        trial, edge_settings=replace(found, erodibility=guess).applied_to(trial.edge_settings)
    )
    before = _worn(trial)
    # Windows break at the records, as they do in the forecast.
    breaks = [
        0,
        *common.record_days[(common.record_days > 0) & (common.record_days < n_days)],
        n_days,
    ]
    for first_day, last_day in pairwise(breaks):
        run_until(trial, int(first_day), int(last_day))
    reached = (_worn(trial) - before) / (n_days / DAYS_PER_YEAR)
    return replace(found, erodibility=guess * rate / reached if reached > 0.0 else guess)


def _worn(member: Member) -> float:
    """Mean position to which the law has worn the edge, whatever block is about to fall. [m]."""
    state, share = member.state, member.edge_settings.slump_share
    columns = zip(state.edge, state.undercut, state.slump, strict=True)
    return float(np.mean([worn_position(*column, share) for column in columns]))


def _state(
    grid: Grid,
    wall: WallSettings,
    containers: tuple[Floats, Floats],
    n_cohorts: int,
    log_rows: int,
) -> State:
    (nx, ny), n_units = grid.bed.shape, containers[0].size
    n_bays, n_posts = wall.volume.size, len(wall.post_lives)
    return State(
        bed=grid.bed.copy(),
        platform=grid.platform.copy(),
        edge=grid.edge.copy(),
        undercut=np.zeros(ny),
        slump=np.zeros(ny),
        advance=np.zeros(ny),
        calm_days=np.zeros(ny),
        scarp_mud=np.zeros(ny),
        suspended=np.ones((nx, ny)),
        loose_mud=np.zeros((nx, ny)),
        loose_thickness=np.zeros((nx, ny)),
        roughness=np.ones((nx, ny)),
        seedling=np.zeros((nx, ny)),
        rooted_at=grid.bed.copy(),
        shoots=np.zeros((nx, ny)),
        fill_mass=np.ones(n_bays),
        fill_settled=np.zeros(n_bays),
        tie_end=wall.tie_lives[:, 0].copy(),
        tie_life=np.zeros(n_bays),
        post_end=wall.post_lives[:, 0].copy(),
        post_life=np.zeros(n_posts),
        post_scour=np.zeros(n_posts),
        bay_open=np.zeros(n_bays),
        wood_oysters=np.zeros(n_bays),
        unit_height=np.ones(n_units),
        placed=np.ones(n_units),
        loose_shell=np.zeros(n_units),
        cement=np.zeros(n_units),
        mesh_end=containers[0],
        ring_end=containers[1],
        unit_life=np.zeros(n_units),
        spilled=np.zeros(n_units),
        shell_made=np.zeros(n_units),
        oysters=np.zeros((n_cohorts, n_units)),
        shell_height=np.zeros((n_cohorts, n_units)),
        burial_killed=np.zeros((n_cohorts, n_units)),
        visit=np.array([np.inf, 0.0, -1.0]),
        log=np.full((log_rows, LOG_COLUMNS), np.nan),
        log_rows=np.zeros(1),
        ledger=np.zeros(len(LEDGER_ENTRIES)),
        residual=np.zeros(len(BUDGETS)),
    )


def _open_ledger(member: Member, scenario: Scenario, option: Option) -> None:
    """Post opening stocks and the cost of building."""
    state, ledger = member.state, member.state.ledger
    ledger[ENTRY["mud_opening"]] = mud_stock(state, member.edge_settings)
    ledger[ENTRY["shell_opening"]] = shell_stock(state, member.reef_settings)
    ledger[ENTRY["fill_opening"]] = fill_stock(state, member.wall_settings)
    built = build_cost(bill(scenario, option))
    ledger[ENTRY["money_built"]] = built
    ledger[ENTRY["units_opening"]] = state.unit_height.size
    if built > 0.0 or member.walls.stands or member.reef.stands:
        state.log[0] = 0.0
        state.log[0, KIND], state.log[0, COST] = BUILD, built
        state.log_rows[0] = 1.0


def _defence(
    line: Line | None, field: LineField, grid: Grid, built_height: float, material: LineMaterial
) -> Defence:
    row = line.row(grid.dx) if line else 0
    return Defence(
        stands=line is not None,
        field=field,
        base=line.base if line else 0.0,
        built_height=built_height,
        row=row,
        bed=float(grid.bed[row, field.part >= 0].mean()) if line else 0.0,
        material=material,
    )


def _line_field(
    line: Line | None, tables: Shelter | None, forcing: MemberForcing, common: Common, grid: Grid
) -> LineField:
    nx, ny = grid.bed.shape
    n_levels, n_classes = common.levels.centres.size, common.classes.period.size
    if line is None or tables is None:
        nothing = np.zeros((n_levels, n_classes, 1, 0, ny), dtype=np.float32)
        open_shore = np.full(ny, -1, dtype=np.int64)
        return line_field(nx + 1, nothing, open_shore, np.zeros(0, dtype=np.int64))
    distances = grid.cross_shore[tables.first_row :] - line.position
    reach = (sight(distances) / grid.dy).astype(np.int64)
    return line_field(tables.first_row, tables.mixed(forcing.onward), tables.part, reach)


def covered(scenario: Scenario, common: Common) -> Reach:
    """Part of the grid that the design covers, at the start."""
    grid = make_grid(scenario)
    start, end = covered_reach(scenario)
    first = int(np.searchsorted(grid.alongshore, start))
    last = max(first + 1, int(np.searchsorted(grid.alongshore, end)))
    outer = scenario.run.seaward_width - common.outer_offset
    return Reach(
        first=first,
        last=last,
        outer_row=int(np.searchsorted(grid.cross_shore, outer)),
        bed=grid.bed,
        edge=grid.edge,
        inland=float(grid.platform[-1].mean()),
    )


def _work(common: Common, grid: Grid) -> Work:
    nx, ny = grid.bed.shape
    n_levels, n_classes = common.levels.centres.size, common.classes.period.size
    return Work(
        waves=wave_result(n_levels, n_classes, nx, ny),
        retreat=np.zeros((2, ny)),
        fluxes=np.zeros((3, nx, ny)),
        boxes=box_room(nx, ny, grid.dx, grid.dy),
    )


def run_option(
    forcing: MemberForcing, calibration: Calibration, common: Common, option: Option
) -> dict[str, Any]:
    """Run one member of one option.

    Parameters
    ----------
    forcing : MemberForcing
        Values and weather of the member.
    calibration : Calibration
        From :func:`calibrate`.
    common : Common
        What all members share.
    option : Option
        Which lines stand.

    Returns
    -------
    dict of str to ndarray
        Quantities of ``edgesim.names`` without the dimensions option and member.

    Raises
    ------
    BudgetError
        If a budget does not close.
    SolverError
        If a result is not finite, or the edge reached the landward side of the grid.
    """
    member = set_up(forcing, common, option)
    member = replace(member, edge_settings=calibration.applied_to(member.edge_settings))
    reach = covered(forcing.scenario, common)
    settle_books(member)
    rows: list[dict[str, Any]] = []
    books = make_books(forcing.scenario, option)
    today = 0
    for day in common.record_days.tolist():
        books.post_monitoring(member.state, day)
        run_until(member, today, day)
        books.post_memos(member.state)
        rows.append(record(member, reach, day))
        today = day
    check(member, forcing, option)
    found: dict[str, Any] = {name: np.stack([row[name] for row in rows]) for name in RECORDED}
    found["ledger_residual"] = member.state.residual
    return found | upkeep_log(member)


def run_all_options(
    scenario: Scenario, forcing: MemberForcing, common: Common
) -> list[dict[str, Any]]:
    """Run one member of every option of a scenario, on one calibration."""
    calibration = calibrate(forcing, common)
    return [run_option(forcing, calibration, common, option) for option in scenario.options]


def check(member: Member, forcing: MemberForcing, option: Option) -> None:
    """Refuse a result that is not finite, not balanced or cut off by the grid.

    Parameters
    ----------
    member : Member
        After its run.
    forcing : MemberForcing
        Names the member.
    option : Option
        Names the option.

    Raises
    ------
    BudgetError
        If a budget does not close.
    SolverError
        If a result is not finite, or the edge reached the landward side of the grid.
    """
    state = member.state
    where = f"option {option.name!r}, member {forcing.index}"
    if not np.isfinite(state.edge).all() or not np.isfinite(state.bed).all():
        message = f"{where}: edge or bed stopped being finite; please report this scenario."
        raise SolverError(message)
    worst = int(np.argmax(state.residual))
    if not state.residual[worst] <= LEDGER_TOLERANCE:
        message = (
            f"{where}: the budget of {BUDGETS[worst]} is open by {state.residual[worst]:.2e} "
            f"of its turnover, more than {LEDGER_TOLERANCE:.0e}."
        )
        raise BudgetError(message)
    nx = state.bed.shape[0]
    if float(state.edge.max()) >= (nx - 1) * member.edge_settings.dx - 1e-9:
        message = (
            f"{where}: the edge reached the landward side of the grid; "
            f"give a larger run.landward_width than {forcing.scenario.run.landward_width} m."
        )
        raise SolverError(message)
