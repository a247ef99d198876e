"""Draw the wave field behind the demo's walls, and save the pictures of ``docs/science/waves.md``.

Run ``python docs/science/draw_waves.py`` from the folder of the project.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.model.common import Common, member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.model.grid import Grid, Line, make_grid, wall_line
from edgesim.model.ground import SHALLOWEST
from edgesim.model.step import Member, flood_lines, levels_of, raise_lines
from edgesim.model.wave_tables import DEPTH_STEP
from edgesim.processes.diffraction import barrier_jump, field_behind
from edgesim.processes.linear_waves import group_velocity, wavenumber
from edgesim.scenario import load_scenario
from edgesim.scenario.design import Option

ROOT = Path(__file__).parents[2]
IMAGES = ROOT / "docs" / "images"
sys.path.insert(0, str(ROOT / "benchmarks"))

from numpy_march import passed_by_line  # noqa: E402

STYLE = ROOT / "edgesim" / "figures" / "edgesim.mplstyle"
FIXED = {
    "run.years": 1,
    "run.cell_size": 0.25,
    "traffic.planing_formula": "maynord",
    "traffic.displacement_formula": "kriebel-seelig",
    "wind.formula": "young-verhagen",
}


def height_field(member: Member, k: int, w: int, level: float) -> Any:
    """Height of one class at one level in every cell of the flat. (nx, ny). [m]."""
    tables, bed = member.tables, member.state.bed
    share = np.ones(bed.shape[1])
    period = float(tables.period[w])
    heights = np.full(bed.shape, np.nan)
    edge_rows = (member.state.edge / member.edge_settings.dx + 0.5).astype(int)
    for row in range(int(edge_rows.max())):
        depth = level - bed[row]
        if depth.min() <= SHALLOWEST:
            break
        factor = np.ones_like(share)
        if row >= member.walls.field.first_row:
            factor = passed_by_line(member.walls.field, k, row)[w]
        rung = np.clip(depth / DEPTH_STEP + 0.5, 0, tables.stress.shape[1] - 1).astype(int)
        here = tables.flux[w] * factor * share
        flux = np.minimum(here, tables.breaking_flux[w, rung])
        share = share * tables.passing[w, rung] * flux / here
        speed = group_velocity(period, depth)
        heights[row] = np.sqrt(8.0 * flux / (WATER_DENSITY * GRAVITY * speed))
        heights[row, row >= edge_rows] = np.nan
    return heights


def behind_walls(changes: dict[str, Any]) -> tuple[Common, Member, Grid, Line]:
    """The demo's first member behind new walls alone, its grid and the line of the walls."""
    scenario_file = load_scenario(ROOT / "configs" / "demo.toml").overridden(FIXED | changes)
    common = prepare(scenario_file)
    forcing = member_forcing(scenario_file, common, 0)
    member = set_up(forcing, common, Option(name="walls", walls=True))
    flood_lines(member, 0)
    raise_lines(member, 0)
    line = wall_line(forcing.scenario)
    assert line is not None
    return common, member, make_grid(forcing.scenario), line


def draw_heights() -> None:
    """Height of the middle class of wakes at low, middle and high water."""
    _, member, grid, line = behind_walls({})
    levels, w = levels_of(member, 0), 1
    wanted = [int(np.argmin(abs(levels - level))) for level in (-0.28, 0.30, 1.15)]
    figure, axes = plt.subplots(3, 1, figsize=(8.0, 6.0), sharex=True, constrained_layout=True)
    for axis, k in zip(axes, wanted, strict=True):
        mesh = draw_field(axis, height_field(member, k, w, float(levels[k])), grid, line)
        depth = float(levels[k] - line.base)
        over = depth - member.walls.built_height
        crest = f"crest {abs(over):.2f} m {'under' if over > 0 else 'out of the'} water"
        passed = float(member.walls.field.transmission[k, w, 8])
        axis.set_title(
            f"Water {levels[k]:+.2f} m: {depth:.2f} m deep at the walls, {crest}, Kt {passed:.2f}",
            fontsize=9,
        )
    axes[-1].set_xlabel("alongshore, m (waves come from below)")
    figure.colorbar(
        mesh, ax=axes, label="height of the highest wave of a wake, m", shrink=0.7, aspect=30
    )
    figure.savefig(IMAGES / "waves_behind_walls.png", dpi=110)
    plt.close(figure)


def draw_field(
    axis: Any, field: Any, grid: Grid, line: Line, limits: tuple[float, float] = (0.0, 0.16)
) -> Any:
    """Heights of waves, or their energy, in one panel, with walls and edge."""
    reach = slice(0, int(grid.edge.max() / grid.dx) + 4)
    x = grid.cross_shore[reach] - float(grid.edge.mean())
    low, high = limits
    mesh = axis.pcolormesh(
        grid.alongshore,
        x[: len(field)],
        field[reach],
        cmap="viridis",
        vmin=low,
        vmax=high,
        shading="nearest",
    )
    for start, end in line.segments:
        for color, width in (("white", 4.0), ("black", 2.0)):
            axis.plot(
                [start, end],
                [line.position - grid.edge.mean()] * 2,
                color=color,
                lw=width,
                solid_capstyle="butt",
            )
    axis.axhline(0.0, color="black", lw=1.0)
    axis.text(0.5, 0.25, "marsh edge", fontsize=7)
    axis.set_ylabel("from the edge, m")
    axis.set_aspect("equal")
    axis.set_ylim(x[0], 1.4)
    return mesh


WAYS = {
    "Half of the boats go each way": 0.5,
    "All boats go to the right": 1.0,
}

HIGHEST_WAKES = 2
"""Class of the highest wakes: of cruisers most, which come obliquely."""


def draw_one_way() -> None:
    """Energy of the highest class of wakes behind walls when boats go both ways, and one way."""
    figure, axes = plt.subplots(2, 1, figsize=(8.0, 4.6), sharex=True, constrained_layout=True)
    for axis, (name, share) in zip(axes, WAYS.items(), strict=True):
        one_way = {"traffic.onward_share": share, "traffic.passages": "expected"}
        common, member, grid, line = behind_walls(one_way)
        k = int(np.argmin(abs(levels_of(member, 0) - 0.30)))
        energy = np.ones((int(grid.edge.max() / grid.dx), grid.alongshore.size))
        for row in range(member.walls.field.first_row, energy.shape[0]):
            energy[row] = passed_by_line(member.walls.field, k, row)[HIGHEST_WAKES]
        mesh = draw_field(axis, energy, grid, line, (0.5, 1.2))
        angle = np.arcsin(
            common.classes.alongshore_wavenumber[HIGHEST_WAKES]
            / member.tables.wavenumber[HIGHEST_WAKES, round(1.0 / DEPTH_STEP)]
        )
        for way in (1.0,) if share == 1.0 else (1.0, -1.0):
            length = 3.0
            axis.annotate(
                "",
                xy=(8.0 + way * length * np.sin(angle), -12.5 + length * np.cos(angle)),
                xytext=(8.0, -12.5),
                arrowprops={"arrowstyle": "->", "color": "black", "lw": 1.2},
            )
        axis.set_title(name, fontsize=9, loc="left")
    axes[-1].set_xlabel("alongshore, m (arrows: the way that the wakes run)")
    figure.colorbar(mesh, ax=axes, label="energy over that in the open", shrink=0.9, aspect=30)
    figure.savefig(IMAGES / "waves_one_way.png", dpi=110)
    plt.close(figure)


def draw_crests() -> None:
    """The water surface at one instant behind rigid and porous walls, square and oblique waves."""
    spacing, ny = 0.1, 900
    y = spacing * (np.arange(ny) + 0.5) - 0.5 * spacing * ny
    behind = np.arange(0.05, 12.0, 0.1)
    k = float(wavenumber(2.0, 1.2))
    starts = -12.04 + np.arange(4) * 6.4
    on_wall = np.any([(y > start) & (y < start + 4.88) for start in starts], axis=0)
    figure, axes = plt.subplots(
        2, 2, figsize=(9.0, 4.0), sharex=True, sharey=True, constrained_layout=True
    )
    for axes_row, (name, resistance) in zip(
        axes,
        (("tight walls", np.inf), ("walls with Kt 0.5", 1.0)),
        strict=True,
    ):
        for axis, degrees in zip(axes_row, (0.0, 20.0), strict=True):
            angle = np.radians(degrees)
            jump = barrier_jump(np.where(on_wall, resistance, 0.0), spacing, k, angle)
            field = field_behind(jump, spacing, k, angle, behind)
            mesh = axis.pcolormesh(
                y, behind, field.real, cmap="RdBu_r", vmin=-1.3, vmax=1.3, shading="nearest"
            )
            for start in starts:
                axis.plot(
                    [start, start + 4.88], [0.0, 0.0], color="black", lw=4.0, solid_capstyle="butt"
                )
            axis.set_title(f"{name}, waves {degrees:.0f} degrees off", fontsize=9, loc="left")
            axis.set_xlim(-20.0, 20.0)
            axis.set_ylim(-0.3, 12.0)
            axis.set_aspect("equal")
    for axis in axes[:, 0]:
        axis.set_ylabel("behind the walls, m")
    for axis in axes[-1]:
        axis.set_xlabel("alongshore, m")
    figure.colorbar(
        mesh, ax=axes, label="surface over the incoming amplitude", shrink=0.9, aspect=30
    )
    figure.savefig(IMAGES / "wave_crests.png", dpi=110)
    plt.close(figure)


if __name__ == "__main__":
    with plt.style.context([STYLE, {"axes.grid": False}]):
        draw_heights()
        draw_one_way()
        draw_crests()
