"""Draw the pictures of docs/science/reef.md and decay.md into docs/images.

Run from the root of the repository: ``python docs/science/draw_reef.py``; it takes some minutes.
Name pictures to draw only those: crest_tradeoff, decay, reef_exposure, takeover_map.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import xarray as xr
from matplotlib import style
from matplotlib.figure import Figure

from edgesim.figures.crest_tradeoff import DRY, WET
from edgesim.figures.crest_tradeoff import crest_tradeoff as draw_tradeoff
from edgesim.figures.style import BLACK, BLUE, GREEN, ORANGE, PURPLE, STYLE, VERMILLION, new_figure
from edgesim.figures.takeover_map import takeover_map as draw_map
from edgesim.outcomes.summary import member_quantiles
from edgesim.processes.oysters import consolidation, reef_growth
from edgesim.processes.wire import STEEL_RATES, WIRES, ZINC_RATES, coating_thickness, strength_left
from edgesim.processes.wood import WOODS, fill_remaining, weibull_survival
from edgesim.scenario import load_scenario
from edgesim.studies.takeover_map import takeover_map
from edgesim.studies.tradeoff import (
    crest_tradeoff,
    most_energy_in_air,
    reduction_by_inundation,
    reduction_where,
)

ROOT = Path(__file__).parents[2]
IMAGES = ROOT / "docs" / "images"
DPI = 200


REEFS: dict[str, dict[str, object]] = {
    "porous block": {},
    "one row of units": {"design.reef.rows": 1},
    "low-crested formulas": {"design.reef.transmission": "low-crested"},
}
"""Kinds of reef of the table."""


def tradeoff() -> Figure:
    """Crest level, waves and oysters on the tide of the demonstration; prints the table of the page."""
    scenario = load_scenario(ROOT / "configs" / "demo.toml").overridden(
        {
            "run.years": 1, "run.cell_size": 1.0, "run.water_level_bins": 24, "run.members": 24,
            # A foot near low water and units up to high water; the wall makes room, it plays no part.
            "design.reef.unit_height": 1.1, "design.reef.offset": 9.0, "design.walls.offset": 13.0,
        }
    )  # fmt: skip
    datasets = {
        name: crest_tradeoff(scenario.overridden(changes)) for name, changes in REEFS.items()
    }
    for name, dataset in datasets.items():
        _print_row(name, dataset)
    return draw_tradeoff(datasets["porous block"])


def _print_row(name: str, dataset: xr.Dataset) -> None:
    """Print what a kind of reef takes off the height, dry and wet, by how it is counted."""
    bound = most_energy_in_air(DRY, WET)
    found = {
        "even crests, all hours": reduction_by_inundation(dataset),
        f"dry 90 % of the time; {bound:.0%} of the energy in air": np.array(
            [
                reduction_where(dataset, "in_air", 0.9),
                reduction_where(dataset, "energy_in_air", bound),
            ]
        ),
        "even crests, only while under water": reduction_by_inundation(dataset, "under_water"),
        "even crests, wave by wave": reduction_by_inundation(dataset, "wave_by_wave"),
    }
    for what, pair in found.items():
        words = []
        for kind, values in zip(("dry", "wet"), pair, strict=True):
            low, _, middle, _, high = member_quantiles(values)
            words.append(f"{kind} {middle:.0%} [{low:.0%}..{high:.0%}]")
        sys.stdout.write(f"{name}, {what}: {', '.join(words)}\n")


def takeover() -> Figure:
    """Chance of takeover over spat and branch life."""
    # Units that sink little, oysters that live long; no upkeep.
    scenario = load_scenario(Path(__file__).with_name("small_tide.toml")).overridden(
        {
            "run.members": 10, "design.reef.settlement": 0.05, "oysters.adult_mortality": 0.3,
            "oysters.consolidation_density": 300.0, "upkeep.rule": "none",
        }
    )  # fmt: skip
    dataset = takeover_map(
        scenario,
        "walls and reef",
        recruitment=(0.0, 500.0, 2000.0, 8000.0),
        branch_life=(0.5, 5.0),
        wires=("galvanised", "stainless"),
    )
    return draw_map(dataset)


def exposure() -> Figure:
    """Growth by time in air, and cementing by density."""
    with style.context(STYLE):
        figure = new_figure(70.0)
        left, right = figure.subplots(1, 2)
        share = np.linspace(0.0, 0.75, 151)
        for low, high, look in ((0.10, 0.55, "-"), (0.10, 0.70, "--")):
            growth = [100.0 * reef_growth(float(e), low, high) for e in share]
            left.plot(100.0 * share, growth, color=GREEN, ls=look)
        left.axvspan(20.0, 40.0, color=GREEN, alpha=0.12, lw=0)
        left.set_title("Growth of the crest: new reefs (line), old (dashed)")
        left.set_xlabel("Time in air (%)")
        left.set_ylabel("Growth over its most (%)")
        density = np.linspace(0.0, 3000.0, 121)
        for scale, look in ((200.0, ":"), (500.0, "-"), (1500.0, "--")):
            right.plot(
                density,
                [100.0 * consolidation(float(n), scale) for n in density],
                color=BLUE,
                ls=look,
            )
        right.axhline(70.0, color=BLACK, lw=0.8)
        right.annotate("keeps its shape without wire", (2950.0, 54.0), ha="right", fontsize=7)
        right.set_title("Cement: low, middle and high need of oysters")
        right.set_xlabel("Adult oysters (per m²)")
        right.set_ylabel("Cemented (%)")
    return figure


def decay() -> Figure:
    """Posts, branches and wire against time."""
    years = np.linspace(0.0, 30.0, 301)
    with style.context(STYLE):
        figure = new_figure(92.0)
        posts, fill, wires = figure.subplots(1, 3)
        looks = (
            ("untreated softwood", VERMILLION, "-"), ("durable heartwood", ORANGE, "--"),
            ("treated pine", BLUE, "-."), ("composite", BLACK, ":"),
        )  # fmt: skip
        for name, colour, line in looks:
            wood = WOODS[name]
            left = [100.0 * weibull_survival(float(t), wood.life[1], wood.shape) for t in years]
            posts.plot(years, left, color=colour, ls=line, label=name)
        posts.set_title("Posts still sound")
        short = years[years <= 5.0]
        branches = (
            ("softwood branches", VERMILLION, "-"), ("untreated branches", ORANGE, "--"),
            ("durable branches", BLUE, "-."),
        )  # fmt: skip
        for name, colour, line in branches:
            rate = (WOODS[name].decay or (0.0, 0.0, 0.0))[1]
            fill.plot(
                short, [100.0 * fill_remaining(float(t), rate, 0.3) for t in short],
                color=colour, ls=line, label=name,
            )  # fmt: skip
        fill.set_title("Fill left, never topped up")
        for name, colour, line in (
            ("thin galvanised", VERMILLION, "-"), ("galvanised", ORANGE, "--"),
            ("zinc-aluminium", PURPLE, "-."), ("jacketed galvanised", BLUE, ":"),
        ):  # fmt: skip
            wire = WIRES[name]
            diameter = 1.4e-3 if name.startswith("thin") else 2.7e-3
            strength = [
                100.0 * strength_left(
                    float(t), wire.jacket_life[1], coating_thickness(wire.coating_mass[1]),
                    ZINC_RATES["intertidal"][1] / wire.coating_factor[1], diameter,
                    STEEL_RATES["intertidal"][1],
                )
                for t in years
            ]  # fmt: skip
            wires.plot(years, strength, color=colour, ls=line, label=name)
        wires.axhline(50.0, color=BLACK, lw=0.8)
        wires.set_title("Strength of wire in the tide")
        for axes in (posts, fill, wires):
            axes.set_xlabel("Years")
            axes.set_ylim(0.0, 103.0)
            axes.set_xlim(left=0.0)
            axes.legend(fontsize=7, loc="upper center", bbox_to_anchor=(0.5, -0.22))
        posts.set_ylabel("Share left (%)")
    return figure


PICTURES = {
    "reef_exposure": exposure,
    "decay": decay,
    "crest_tradeoff": tradeoff,
    "takeover_map": takeover,
}


def main() -> None:
    """Draw the pictures named, or all."""
    for name in sys.argv[1:] or PICTURES:
        PICTURES[name]().savefig(IMAGES / f"{name}.png", dpi=DPI)


if __name__ == "__main__":
    main()
