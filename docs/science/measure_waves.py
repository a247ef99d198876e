"""Measure what ``docs/science/waves.md`` states about the waves, and print it as tables.

Run ``python docs/science/measure_waves.py`` from the folder of the project (some minutes); names of
tables after it run only those: ``heights block lines convergence formulas ranges directions``.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq

import edgesim.model.shelter as shelter_module
from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.model.step import PACKET_HEIGHT, SEA_HEIGHT, flood_lines, raise_lines, solve
from edgesim.processes import porous_block, rival_transmission, transmission
from edgesim.processes.linear_waves import wavenumber
from edgesim.scenario import load_scenario
from edgesim.scenario.design import Option

DEMO = Path(__file__).parents[2] / "configs" / "demo.toml"
WALLS = Option(name="walls", walls=True)
BOTH = Option(name="both", walls=True, reef=True)
OPEN = Option(name="open")
FIXED = {
    "traffic.passages": "expected",
    "run.years": 1,
    "traffic.planing_formula": "maynord",
    "traffic.displacement_formula": "kriebel-seelig",
    "wind.formula": "young-verhagen",
}


def table(*columns: str) -> None:
    print("\n| " + " | ".join(columns) + " |\n|" + "---|" * len(columns))


def row(*cells: object) -> None:
    print("| " + " | ".join(str(cell) for cell in cells) + " |")


def thin(
    height: float, period: float, depth: float, quadratic: float, linear: float = 0.0
) -> float:
    k = float(wavenumber(period, depth))
    return transmission.barrier_transmission(
        height, 2.0 * math.pi / period, k, depth, linear, quadratic
    )


def passed(heights_: Any, resistance: float) -> float:
    """Energy through a wall, each wave by itself; highest or rms height 0.25 m, 2 s, 1 m deep."""
    Kt = np.array([thin(0.25 * h, 2.0, 1.0, resistance) for h in heights_])
    return float((heights_**2 * Kt**2).sum() / (heights_**2).sum())


def heights() -> None:
    """Energy through a wall of every wave of a packet, and of one wave of its mean height."""
    print("\n## One height for a packet or a sea (energy passed)")
    table(
        "l beta",
        "each wave of a packet",
        f"one of {PACKET_HEIGHT} of the highest",
        "the highest",
        "each wave of a sea",
        f"one of {SEA_HEIGHT:.2f} of the rms",
        "largest error of Kt",
    )
    share = (np.arange(400) + 0.5) / 400
    rayleigh = np.sqrt(-np.log1p(-share))
    for resistance in (0.5, 2.0, 5.0, 15.0, 50.0):
        packet, one = (
            passed(share, resistance),
            thin(0.25 * PACKET_HEIGHT, 2.0, 1.0, resistance) ** 2,
        )
        sea, sea_one = (
            passed(rayleigh, resistance),
            thin(0.25 * SEA_HEIGHT, 2.0, 1.0, resistance) ** 2,
        )
        worst = max(abs(math.sqrt(one / packet) - 1.0), abs(math.sqrt(sea_one / sea) - 1.0))
        row(
            resistance,
            f"{packet:.3f}",
            f"{one:.3f}",
            f"{thin(0.25, 2.0, 1.0, resistance) ** 2:.3f}",
            f"{sea:.3f}",
            f"{sea_one:.3f}",
            f"{100 * worst:.1f} %",
        )


def block() -> None:
    """Thin wall and block of the demo's lines, emergent."""
    scenario = load_scenario(DEMO).central
    from edgesim.model.settings import reef_material, wall_material

    print("\n## Thin wall and thick block (emergent, depth 1 m)")
    table("line", "H, T", "k l", "thin: Kt, Kr, D", "block: Kt, Kr, D")
    for name, material in (("wall", wall_material(scenario)), ("reef", reef_material(scenario))):
        for height, period in ((0.1, 1.6), (0.1, 2.0), (0.25, 2.3), (0.03, 0.8)):
            w, k = 2.0 * math.pi / period, float(wavenumber(period, 1.0))
            linear = material.linear + transmission.LORENTZ * material.swing / period
            Kt = thin(
                height,
                period,
                1.0,
                material.thickness * material.quadratic + material.posts,
                material.thickness * linear,
            )
            t, r = porous_block.block_coefficients(
                height,
                w,
                k,
                1.0,
                material.thickness,
                material.porosity,
                linear,
                material.quadratic + material.posts / material.thickness,
            )
            row(
                name,
                f"{height} m, {period} s",
                f"{k * material.thickness:.2f}",
                f"{Kt:.2f}, {1 - Kt:.2f}, {2 * Kt * (1 - Kt):.2f}",
                f"{t:.2f}, {r:.2f}, {1 - t * t - r * r:.2f}",
            )


def lines() -> None:
    """What waves that go to and fro between two lines add, phases at random."""
    print("\n## Between two lines")
    table("Kt of the wall", "Kr of the reef", "energy behind both, more by")
    for Kt in (0.4, 0.6, 0.8, 0.9):
        for Kr in (0.15, 0.3, 0.45):
            row(Kt, Kr, f"{100 * (1 / (1 - (1 - Kt) ** 2 * Kr**2) - 1):.1f} %")


@contextmanager
def set_to(module: Any, name: str, value: Any) -> Iterator[None]:
    before = getattr(module, name)
    setattr(module, name, value)
    try:
        yield
    finally:
        setattr(module, name, before)


def powers(changes: dict[str, Any]) -> dict[str, float]:
    """Power at the edge behind the lines as built over that in the open, by source, central behind walls."""
    scenario_file = load_scenario(DEMO).overridden(FIXED | changes)
    common = prepare(scenario_file)
    forcing = member_forcing(scenario_file, common, 0)
    found: dict[str, Any] = {}
    for option in (OPEN, WALLS, BOTH):
        member = set_up(forcing, common, option)
        flood_lines(member, 0)
        raise_lines(member, 0)
        counts = member.weather.tally.sum(axis=0)
        solve(member, 0, counts)
        along = (np.arange(member.state.edge.size) + 0.5) / member.state.edge.size
        middle = (along > 0.35) & (along < 0.65)
        gain = member.work.waves.gain[:, :, middle].mean(axis=2) * counts
        is_wind = member.weather.source == 1
        found[option.name] = gain.sum(axis=0)[~is_wind].sum(), gain.sum(axis=0)[is_wind].sum()
    wake, wind = found["open"]
    seconds = 365.25 * 86400.0
    return {
        "open, W/m": (wake + wind) / seconds,
        "wakes behind walls": found["walls"][0] / wake,
        "wind behind walls": found["walls"][1] / wind,
        "wakes behind both": found["both"][0] / wake,
        "wind behind both": found["both"][1] / wind,
    }


def convergence() -> None:
    """How the power at the edge answers to cells, padding, classes and ladders."""
    print("\n## Convergence")
    here = shelter_module
    cases: list[tuple[str, dict[str, Any], Callable[[], Any] | None]] = [
        ("as in the forecast", {}, None),
        ("cell 1 m", {"run.cell_size": 1.0}, None),
        ("cell 0.25 m", {"run.cell_size": 0.25}, None),
        ("12 m of open water at the ends", {}, lambda: set_to(here, "OPEN_WATER", 12.0)),
        ("48 m of open water at the ends", {}, lambda: set_to(here, "OPEN_WATER", 48.0)),
        (
            "4 rungs of transmission",
            {},
            lambda: set_to(here, "TRANSMISSIONS", np.linspace(0, 1, 4)),
        ),
        (
            "13 rungs of transmission",
            {},
            lambda: set_to(here, "TRANSMISSIONS", np.linspace(0, 1, 13)),
        ),
        ("wavenumber step 0.4", {}, lambda: set_to(here, "WAVENUMBER_STEP", 0.4)),
        ("wavenumber step 0.1", {}, lambda: set_to(here, "WAVENUMBER_STEP", 0.1)),
        ("1 class of wakes", {"run.wake_classes": 1}, None),
        ("6 classes of wakes", {"run.wake_classes": 6}, None),
        ("12 classes of wakes", {"run.wake_classes": 12}, None),
        ("2 classes of wind waves", {"run.wind_classes": 2}, None),
        ("4 classes of wind waves", {"run.wind_classes": 4}, None),
        ("16 level bins", {"run.water_level_bins": 16}, None),
    ]
    first: dict[str, float] = {}
    for name, changes, context in cases:
        if context is None:
            found = powers(changes)
        else:
            with context():
                found = powers(changes)
        if not first:
            first = found
            table("changed", *found)
            row(name, *(f"{value:.4f}" for value in found.values()))
        else:
            row(
                name,
                *(f"{100 * (value / first[key] - 1.0):+.1f} %" for key, value in found.items()),
            )
        sys.stdout.flush()


def directions() -> None:
    """What the way that boats go changes along the edge behind the walls as built."""
    print("\n## Directions of travel")
    table(
        "boats",
        "wakes at the open edge, W/m",
        "share of them from onward boats",
        "through the walls",
        "largest gain and loss of a place against both ways alike",
    )
    even: Any = None
    for name, changes in {
        "half each way": {},
        "all onward (to the right)": {"traffic.onward_share": 1.0},
        "all back (to the left)": {"traffic.onward_share": 0.0},
        "three in four onward": {"traffic.onward_share": 0.75},
        "half each way, lanes 60 ft apart": {"traffic.lanes_apart": 18.288},
    }.items():
        scenario_file = load_scenario(DEMO).overridden(FIXED | changes | {"traffic.level": 1.0})
        common = prepare(scenario_file)
        forcing = member_forcing(scenario_file, common, 0)
        is_wake = common.classes.source == 0
        power: list[Any] = []
        for option in (OPEN, WALLS):
            member = set_up(forcing, common, option)
            flood_lines(member, 0)
            raise_lines(member, 0)
            counts = member.weather.tally.sum(axis=0)
            solve(member, 0, counts)
            spent = (member.work.waves.gain * counts[:, :, None]).sum(axis=0)
            power.append(spent[is_wake] / 365.25 / 86400.0)
        by_class = power[0].mean(axis=1)
        onward = float(forcing.onward[is_wake] @ by_class / by_class.sum())
        behind = power[1].sum(axis=0) / power[0].sum(axis=0)
        even = behind if even is None else even
        along = (np.arange(behind.size) + 0.5) / behind.size
        middle = (along > 0.25) & (along < 0.75)
        change = (behind / even - 1.0)[middle]
        row(
            name,
            f"{by_class.sum():.4f}",
            f"{onward:.0%}",
            f"{behind[middle].mean():.3f}",
            f"{100 * change.max():+.0f} %, {100 * change.min():+.0f} %",
        )


def formulas() -> None:
    """Power at the edge by formula of waves."""
    print("\n## Rival formulas")
    table("planing", "displacement", "wind", "power at the open edge, W/m", "share of wind")
    for planing in ("maynord", "bhowmik"):
        for other in ("kriebel-seelig", "weggel-sorensen"):
            for wind in ("young-verhagen", "spm"):
                names = {
                    "traffic.planing_formula": planing,
                    "wind.formula": wind,
                    "traffic.displacement_formula": other,
                }
                scenario_file = load_scenario(DEMO).overridden(
                    FIXED | names | {"traffic.level": 1.0}
                )
                common = prepare(scenario_file, lines=False)
                member = set_up(member_forcing(scenario_file, common, 0), common, OPEN)
                counts = member.weather.tally.sum(axis=0)
                solve(member, 0, counts)
                spent = (member.work.waves.gain.mean(axis=2) * counts).sum(axis=0)
                is_wind = member.weather.source == 1
                row(
                    planing,
                    other,
                    wind,
                    f"{spent.sum() / 365.25 / 86400:.4f}",
                    f"{spent[is_wind].sum() / spent.sum():.0%}",
                )


def ranges() -> None:
    """Which inputs bring the model to what was measured."""
    print("\n## Measured transmission")
    table("measured", "inputs that bring the model there", "model")
    k = float(wavenumber(4.0, 1.0))
    for diameter, drag in ((0.02, 1.5), (0.02, 2.0), (0.03, 1.5), (0.03, 2.0)):

        def gap(solid: float, diameter: float = diameter, drag: float = drag) -> float:
            beta = transmission.stem_resistance(solid, diameter, drag)
            w = math.pi / 2.0
            return transmission.barrier_transmission(0.3, w, k, 1.0, 0.0, 0.6 * beta) - 0.44

        solid = float(brentq(gap, 0.01, 0.9))
        row(
            "brush fence 0.44",
            f"0.6 m of stems of {100 * diameter:.0f} cm, drag {drag}, {solid:.0%} wood; "
            "H 0.3 m, T 4 s, 1 m deep",
            "0.44",
        )
    for share in (0.1, 0.15, 0.2, 0.25, 0.3):
        f = transmission.post_row_resistance(share)
        Kt = [thin(H, T, 0.4, 0.5 * f) for H, T in ((0.06, 1.4), (0.11, 1.7), (0.16, 2.0))]
        row(
            "perforated piles 0.58",
            f"open share {share:.0%}, H 0.06 to 0.16 m, T 1.4 to 2 s, 0.4 m deep",
            f"{Kt[0]:.2f} to {Kt[2]:.2f}",
        )
    for porosity, size in ((0.5, 0.05), (0.65, 0.05), (0.65, 0.1), (0.8, 0.05)):
        over = [0.0, 0.3, 0.6, 1.0, 1.5]
        found = [reef_over(porosity, size, water) for water in over]
        row(
            "oyster reef 0.32 dry, 0.95 wet",
            f"1.4 m of shell of {100 * size:.0f} cm, porosity {porosity}, 0.4 m high, H 0.2 m, T 2.5 s; "
            "water over the crest 0, 0.3, 0.6, 1, 1.5 m",
            ", ".join(f"{Kt:.2f}" for Kt in found),
        )
    loose = [
        float(rival_transmission.transmission_dangremond(-water, 0.2, 1.4, 4.0))
        for water in (0.0, 0.3, 0.5)
    ]
    row(
        "the same by the formula of low-crested mounds",
        "water over the crest 0, 0.3, 0.5 m",
        ", ".join(f"{Kt:.2f}" for Kt in loose),
    )


def reef_over(porosity: float, size: float, water: float) -> float:
    """Transmission of a reef 0.4 m high and 1.4 m wide with some water over its crest."""
    height, period, depth = 0.2, 2.5, 0.4 + water
    w, k = 2.0 * math.pi / period, float(wavenumber(period, depth))
    steady = transmission.rubble_resistance_quadratic(porosity, size, math.inf)
    linear = transmission.rubble_resistance_linear(porosity, size)
    linear += transmission.LORENTZ * 7.5 * steady * porosity * size / period
    dense, _ = porous_block.block_coefficients(height, w, k, depth, 1.4, porosity, linear, steady)
    if water <= 0.0:
        return dense
    above = transmission.flux_share_above(k, depth, water)
    k_over = float(wavenumber(period, water))
    light = max(dense, porous_block.crest_transmission(height, w, k_over, water, 1.4, size / 12.0))
    return math.sqrt(above * light**2 + (1.0 - above) * dense**2)


def low_crested() -> None:
    """The demo's reef by both choices of a scenario, and as if it were tight."""
    from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION, fill_transmissions
    from edgesim.model.settings import reef_material

    scenario = load_scenario(DEMO).central
    material, step = reef_material(scenario), 0.005
    built = scenario.design.reef.unit_height
    kinds = {
        "block": material,
        "mound": material._replace(is_low_crested=True),
        "tight": material._replace(is_low_crested=True, is_tight=True),
    }
    rungs = np.maximum(np.arange(800) * step, 0.5 * step)
    over = np.array([-0.15, 0.0, 0.15, 0.3, 0.6, 1.0])
    as_built = round((CONDITIONS - 1) / HIGHEST_CONDITION)
    print(f"\n## Reef {built:.2f} m high, {material.thickness:.2f} m wide, by block and by formula")
    table("H, T", "by", *[f"{water:+.2f} m" for water in over])
    for height, period in ((0.1, 2.0), (0.25, 2.3)):
        for name, kind in kinds.items():
            found = np.zeros((over.size, 1, CONDITIONS), dtype=np.float32)
            fill_transmissions(
                np.full((over.size, 1), height), np.array([period]), wavenumber(period, rungs)[None],
                step, built + over, 0.0, 0.0, built, kind, found,
            )  # fmt: skip
            row(f"{height} m, {period} s", name, *[f"{Kt:.2f}" for Kt in found[:, 0, as_built]])


TABLES = {
    "heights": heights, "block": block, "low_crested": low_crested, "lines": lines, "ranges": ranges, "directions": directions, "formulas": formulas,
    "convergence": convergence,
}  # fmt: skip

if __name__ == "__main__":
    for wanted in sys.argv[1:] or TABLES:
        TABLES[wanted]()
        sys.stdout.flush()
