"""Draw the figures of docs/science/edge.md: ``python docs/science/draw_edge.py``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import matplotlib.colors
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.figure import Figure

from edgesim.figures.style import BLUE, GREEN, MARSH, MUTED, ORANGE, STYLE, VERMILLION, WATER
from edgesim.model.common import member_forcing, prepare
from edgesim.model.edge import work_on_block
from edgesim.model.forecast import calibrate, set_up
from edgesim.model.step import run_until
from edgesim.processes.blocks import next_block
from edgesim.processes.history import retreat_posterior
from edgesim.processes.lattice import surveys_of_a_lattice
from edgesim.processes.plants import ACCRETION_CAP, accretion_morris
from edgesim.processes.scarp import water_level_weight
from edgesim.scenario import load_scenario

ROOT = Path(__file__).parents[2]
IMAGES = ROOT / "docs" / "images"
FEET = 1.0 / 0.3048


def save(figure: Figure, name: str) -> None:
    """Write a figure at the size it is read."""
    figure.savefig(IMAGES / name, dpi=150)
    plt.close(figure)


def draw_scarp() -> None:
    """Weight of the water level, and blocks against the law of the mean."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.0, 3.0), layout="constrained")
    levels = np.linspace(-0.5, 1.4, 400)
    for decay, style in ((0.2, "-"), (0.1, ":"), (0.4, "--")):
        weight = [water_level_weight(level, -0.35, 0.52, decay) for level in levels]
        left.plot(weight, levels, style, color=BLUE, label=f"fades over {decay:.1f} m")
    left.axhspan(-0.35, 0.52, color=MARSH, zorder=0)
    left.text(0.97, 0.08, "face of the scarp", ha="right", color=MUTED, fontsize=8)
    left.set(xlabel="share of the wave power that works", ylabel="water level above the datum [m]")
    left.set_title(
        "Waves work hardest when the\nwater stands at the platform", loc="left", fontsize=9
    )
    left.legend(fontsize=7, loc="upper right")
    years = np.arange(0, 3653) / 365.25
    for crack, tensile, color, name in (
        (2.0, 3e3, VERMILLION, "overhangs, 0.16 m"),
        (0.5, 3e3, GREEN, "slabs, 0.5 m"),
    ):
        limit, width = next_block(0.87, 0.35, crack, 14e3, tensile)
        undercut, slump, edge = limit - width, 0.0, 0.0
        path = []
        for _ in years:
            undercut, slump, fallen = work_on_block(
                undercut, slump, 0.4 / 365.25, 0.3, limit, width
            )
            edge += fallen
            path.append(edge)
        right.plot(years, path, color=color, label=name, lw=1.3)
    right.plot(
        years, 0.4 * years, color="black", ls="--", lw=1.0, label="law of the mean, 0.4 m/yr"
    )
    right.set(xlabel="years", ylabel="retreat of one column [m]")
    right.set_title("Blocks change when the edge moves,\nnot how far", loc="left", fontsize=9)
    right.legend(fontsize=7, loc="upper left")
    save(figure, "edge_scarp.png")


def draw_history() -> None:
    """What two and six surveys say of the rate."""
    years = np.array([1994.0, 2000.0, 2006.0, 2012.0, 2018.0, 2024.0])
    places = np.array([0.0, 2.9, 4.2, 7.6, 9.3, 12.0])
    errors = np.array([2.0, 2.0, 1.0, 0.7, 0.5, 0.3])
    figure, (left, right) = plt.subplots(1, 2, figsize=(7.0, 2.8), layout="constrained")
    left.errorbar(years, places, errors, fmt="o", color=BLUE, capsize=3, label="six surveys")
    ends = [0, 5]
    left.plot(years[ends], places[ends], "s", mfc="none", ms=11, color=VERMILLION, label="only two")
    left.set(xlabel="year", ylabel="position of the edge, landward [m]", xlim=(1991, 2027))
    left.set_ylim(-4, 15)
    left.set_title("Invented surveys with their errors", loc="left", fontsize=9)
    left.legend(fontsize=7)
    rates = np.linspace(0.0, 0.9, 400)
    for chosen, color, name in ((range(6), BLUE, "six"), (ends, VERMILLION, "two")):
        pick = list(chosen)
        mean, sd = retreat_posterior(years[pick], places[pick], errors[pick])
        density = np.exp(-0.5 * ((rates - mean) / sd) ** 2) / sd / np.sqrt(2 * np.pi)
        style = "-" if name == "six" else "--"
        right.plot(rates, density, style, color=color, label=f"{name}: {mean:.2f} ± {sd:.2f} m/yr")
    right.set(xlabel="rate of retreat [m/yr]", ylabel="probability density [yr/m]")
    right.set_title("Rates that the members draw from", loc="left", fontsize=9)
    right.legend(fontsize=7)
    save(figure, "edge_history.png")


def draw_lattice() -> None:
    """Edges of the published lattice rule under high and low wave energy."""
    figure, axes = plt.subplots(2, 1, figsize=(7.0, 3.9), layout="constrained", sharex=True)
    for axis, height, words in (
        (axes[0], 2.0, "waves twice as high as the soil can bear: near-even retreat"),
        (axes[1], 0.15, "waves 0.15 of what the soil can bear: inlets, islands, rare large losses"),
    ):
        maps = surveys_of_a_lattice(height, np.random.default_rng(3))
        # Water 0, land lost since the eighth survey 1, land 2.
        picture = (~maps[-1]).astype(int) + ~maps[8]
        axis.imshow(
            picture[:120, :180].T,
            origin="lower",
            aspect="auto",
            interpolation="nearest",
            cmap=mpl.colors.ListedColormap([WATER, ORANGE, GREEN]),
        )
        axis.grid(visible=False)
        axis.set(ylabel="landward [cells]")
        axis.set_title(words[0].upper() + words[1:], loc="left", fontsize=9)
    axes[1].set_xlabel(
        "along the shore [cells]; land green, lost in the second half of the run orange"
    )
    save(figure, "edge_lattice.png")


def draw_mud() -> None:
    """Suspended mud and rise of the bed behind lines after three years of one member."""
    scenario_file = load_scenario(ROOT / "configs" / "demo.toml")
    common = prepare(scenario_file)
    forcing = member_forcing(scenario_file, common, 1)
    option = forcing.scenario.options[-1]
    member = set_up(forcing, common, option)
    member = replace(
        member, edge_settings=calibrate(forcing, common).applied_to(member.edge_settings)
    )
    bed, first_edge = member.state.bed.copy(), member.state.edge.copy()
    water = np.zeros_like(bed)
    months = 36
    for month in range(months):
        run_until(member, 30 * month, 30 * month + 30)
        if month >= months - 12:
            water += member.state.suspended / 12.0
    state, dx = member.state, member.edge_settings.dx
    rows = np.arange(bed.shape[0])[:, None]
    marsh = rows >= (first_edge / dx + 0.5).astype(int)
    top = int(marsh.argmax(axis=0).max()) + 4
    figure, axes = plt.subplots(2, 1, figsize=(7.0, 4.6), layout="constrained", sharex=True)
    extent = (0.0, bed.shape[1] * member.edge_settings.dy, 0.0, top * dx)
    for axis, values, label, words, cmap in (
        (axes[0], water, "of the channel's", "Mud in the water, mean of the third year", "cividis"),
        (axes[1], 100 * (state.bed - bed), "cm", "Rise of the bed in three years", "PuOr"),
    ):
        shown = np.ma.array(values[:top], mask=marsh[:top])
        limit = float(np.abs(shown).max())
        limits = (-limit, limit) if cmap == "PuOr" else (float(shown.min()), float(shown.max()))
        image = axis.imshow(
            shown, origin="lower", extent=extent, cmap=cmap, vmin=limits[0], vmax=limits[1],
            aspect="auto",
        )  # fmt: skip
        axis.set_facecolor(MARSH)
        axis.grid(visible=False)
        figure.colorbar(image, ax=axis, label=label, pad=0.01)
        for start, end in (
            (s.start, s.start + s.length) for s in forcing.scenario.design.walls.segments
        ):
            y = forcing.scenario.run.seaward_width - forcing.scenario.design.walls.offset
            axis.plot([start, end], [y, y], color="black", lw=2.5)
        reef = forcing.scenario.design.reef
        y = forcing.scenario.run.seaward_width - reef.offset
        axis.plot([reef.start, reef.start + reef.length], [y, y], color="black", lw=1.2, ls="--")
        axis.set(ylabel="across the shore [m]")
        axis.set_title(words, loc="left", fontsize=9)
    axes[1].set_xlabel(
        "along the shore [m]; walls solid, reef dashed, first marsh green (invented reach, one member)"
    )
    save(figure, "edge_mud.png")


def draw_platform() -> None:
    """Accretion against depth, with its cap and a rise of the sea."""
    depth = np.linspace(0.0, 0.9, 500)
    curve = np.array([accretion_morris(d) for d in depth]) * 1000.0
    figure, axis = plt.subplots(figsize=(6.0, 3.0), layout="constrained")
    axis.plot(depth, curve, color=GREEN, label="rich supply (Morris et al., 2002)")
    axis.plot(
        depth, np.minimum(curve, 1000 * ACCRETION_CAP), "--", color=BLUE,
        label="what a usual supply allows",
    )  # fmt: skip
    axis.axhline(4.0, color=VERMILLION, ls=":", label="sea rising 4 mm/yr")
    above = curve > 4.0
    roots = depth[np.flatnonzero(np.diff(above.astype(int)))]
    for root, words, ha in ((roots[0], "holds here", "right"), (roots[1], "drowns beyond", "left")):
        axis.plot(root, 4.0, "o", color=VERMILLION)
        axis.annotate(words, (root, 4.0), xytext=(-6 if ha == "right" else 6, 6),
                      textcoords="offset points", ha=ha, fontsize=8)  # fmt: skip
    axis.set(
        xlabel="depth of the platform below mean high water [m]",
        ylabel="accretion [mm/yr]",
        ylim=(0, 15),
    )
    axis.set_title(
        "A platform keeps up with the sea where accretion grows with depth", loc="left", fontsize=9
    )
    axis.legend(fontsize=7, loc="upper left")
    save(figure, "edge_platform.png")


def main() -> None:
    """Draw all of them."""
    plt.style.use(STYLE)
    IMAGES.mkdir(exist_ok=True)
    draw_scarp()
    draw_history()
    draw_lattice()
    draw_platform()
    draw_mud()


if __name__ == "__main__":
    main()
