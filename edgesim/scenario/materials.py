"""From the name of a wood, wire, tie or unit to the numbers of a design."""

from __future__ import annotations

from dataclasses import dataclass

from edgesim.processes.substrate import UNITS, Unit
from edgesim.processes.wire import STEEL_RATES, TIES, WIRES, ZINC_DENSITY, ZINC_RATES, Tie, Wire
from edgesim.processes.wood import WOODS, Wood
from edgesim.scenario.distributions import Distribution, Triangular

RING_DIAMETER = (2.5e-3, 3.0e-3, 3.5e-3)
"""Wire of rings and lacing (judgement). [m]"""

WIRE_DIAMETERS = {"thin galvanised": (1.0e-3, 1.4e-3, 1.8e-3)}
"""Diameter of the steel by kind of wire where it is not the usual one (judgement). [m]"""

USUAL_DIAMETER = (2.2e-3, 2.7e-3, 3.4e-3)
"""Sizes of mesh wire on makers' data sheets (read). [m]"""


@dataclass(frozen=True)
class Filled:
    """A value that comes with a material."""

    value: float | bool | Distribution
    source: str
    mark: str


def spread(low_mode_high: tuple[float, float, float]) -> float | Distribution:
    """Triangular distribution, or the number itself when there is no spread."""
    low, _, high = low_mode_high
    return low if low == high else Triangular(*low_mode_high)


def woods_for(part: str) -> tuple[str, ...]:
    """Names of the woods for a part, "post" or "branch"."""
    return tuple(name for name, wood in WOODS.items() if wood.part == part)


def wire_names() -> tuple[str, ...]:
    """Names of the kinds of wire."""
    return tuple(WIRES)


def tie_names() -> tuple[str, ...]:
    """Names of all that can tie branches down: wire, nylon or rope."""
    return (*WIRES, *TIES)


def post_values(name: str) -> dict[str, Filled]:
    """Numbers of the posts."""
    wood = WOODS[name]
    return {
        "post_life": _of(wood, spread(wood.life)),
        "post_shape": _of(wood, wood.shape),
        "post_eaten_by_borers": _of(wood, wood.eaten_by_borers),
    }


def branch_values(name: str) -> dict[str, Filled]:
    """Numbers of the branches."""
    wood = WOODS[name]
    assert wood.decay is not None, "every branch has a rate of decay"
    return {
        "branch_eaten_by_borers": _of(wood, wood.eaten_by_borers),
        "branch_decay": _of(wood, spread(wood.decay)),
    }


def tie_values(name: str) -> dict[str, Filled]:
    """Numbers of the ties, wire or not."""
    if name in WIRES:
        return wire_values(name, "tie")
    tie = TIES[name]
    return {"tie_life": _of(tie, spread(tie.life)), "tie_shape": _of(tie, tie.shape)}


def unit_values(name: str) -> dict[str, Filled]:
    """Numbers of the reef units."""
    unit = UNITS[name]
    values = {
        "porosity": _of(unit, spread(unit.porosity)),
        "grain_size": _of(unit, unit.grain_size),
        "substrate_factor": _of(unit, spread(unit.substrate_factor)),
    }
    if unit.container == "bag":
        values["bag_life"] = _of(unit, spread(unit.bag_life))
        values["bag_shape"] = _of(unit, unit.bag_shape)
    return values


def wire_values(name: str, prefix: str) -> dict[str, Filled]:
    """Numbers of a wire, for the attributes that begin with `prefix`."""
    wire = WIRES[name]
    factor, steel = wire.coating_factor, wire.steel_factor
    zinc = _scaled(ZINC_RATES["intertidal"], (1 / factor[2], 1 / factor[1], 1 / factor[0]))
    between_tides = "between tides, from immersed rates and judgement"
    values = {
        "coating_thickness": _of(wire, spread(_scaled(wire.coating_mass, (1 / ZINC_DENSITY,) * 3))),
        "zinc_rate": Filled(spread(zinc), f"{name}: {between_tides}", "judgement"),
        "wire_diameter": Filled(
            spread(RING_DIAMETER if prefix == "ring" else WIRE_DIAMETERS.get(name, USUAL_DIAMETER)),
            f"{name}: usual sizes",
            "judgement",
        ),
        "steel_rate": Filled(
            spread(_scaled(STEEL_RATES["intertidal"], steel)),
            f"{name}: {between_tides}",
            "judgement",
        ),
        "jacket_life": _of(wire, spread(wire.jacket_life)),
        "damaged_share": _of(wire, spread(wire.damaged_share)),
    }
    return {f"{prefix}_{key}": filled for key, filled in values.items()}


def _scaled(
    numbers: tuple[float, float, float], factors: tuple[float, float, float]
) -> tuple[float, float, float]:
    low, mode, high = (n * f for n, f in zip(numbers, factors, strict=True))
    return low, mode, high


def _of(row: Wood | Wire | Tie | Unit, value: float | bool | Distribution) -> Filled:
    return Filled(value, f"{row.name}: {row.source}", row.mark)
