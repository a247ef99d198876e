"""Both ends of the race, and chance that is common to all materials."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.figures.takeover_map import takeover_map as draw
from edgesim.model.common import Common, member_forcing, prepare
from edgesim.model.forecast import covered, set_up
from edgesim.model.records import record
from edgesim.scenario import load_scenario
from edgesim.studies.ensemble import run_forecast
from edgesim.studies.takeover_map import takeover_map

LAGOON = Path(__file__).parents[2] / "docs" / "science" / "small_tide.toml"
Make = Callable[..., Any]


@pytest.mark.slow
def test_no_spat_never_takes_over_and_much_spat_with_lasting_wire_mostly_does(
    tell: Callable[[str], None],
) -> None:
    # Units that sink little, oysters that live long and settle in waves as well.
    kind = {"design.reef.settlement": 0.05, "oysters.adult_mortality": 0.3}
    kind |= {"oysters.wave_factor": 1.0, "oysters.consolidation_density": 300.0}
    scenario = load_scenario(LAGOON).overridden({"run.members": 8, **kind})
    found = takeover_map(
        scenario, "walls and reef", (0.0, 8000.0), (2.0,), ("galvanised", "stainless")
    )
    chance = found["takeover_chance"].values
    tell(f"takeover without spat {chance[:, 0, 0]}, with 8000 a m2 {chance[:, 0, 1]}")
    assert np.all(chance[:, :, 0] == 0.0)
    # Six of eight futures that differ in mud, heat, exposure limits and growth.
    assert chance[1, 0, 1] >= 0.75
    assert chance[1, 0, 1] >= chance[0, 0, 1] > 0.0
    words = " ".join(
        text.get_text() for text in draw(found).findobj(lambda part: hasattr(part, "get_text"))
    )
    assert "Young oysters a year, per m² (per ft²)" in words
    assert "No spat, no takeover" in words


@pytest.mark.slow
def test_without_spat_for_ten_years_a_reef_is_passive_and_fails_with_its_wire() -> None:
    scenario = load_scenario(LAGOON)
    found = {}
    for wire in ("galvanised", "stainless"):
        changes = {"oysters.recruitment": 0.0, "design.reef.wire": wire, "design.reef.rings": wire}
        data = run_forecast(scenario.overridden({"run.members": 4, **changes}), 1)
        data = data.sel(option="walls and reef")
        assert float(data["oyster_density"].max()) == 0.0
        assert float(data["shell_stock"].sel(shell_part="live").max()) == 0.0
        assert np.isnan(data["takeover_year"]).all()
        found[wire] = data.isel(time=-1)
    # Where the wire has gone half of the shell has fallen out, and the waves pass.
    gone = found["galvanised"]["mesh_intact"].values < 0.5
    assert gone.any()
    assert np.all(found["stainless"]["mesh_intact"].values == 1.0)
    crest, kept = (found[wire]["reef_crest"].values for wire in ("galvanised", "stainless"))
    assert np.all(kept[gone] - crest[gone] > 0.1)
    passed, held = (found[wire]["reef_transmission"].values for wire in ("galvanised", "stainless"))
    assert np.all(passed[gone] > held[gone])


WIRED = {
    "design.reef.rings": "galvanised",
    "upkeep.mend_reef": True,
    "upkeep.rule": "calendar",
}
"""Rings of their own, so that they do not follow the mesh, and lives for mending."""

PRICED = {"price_unit", "ledger", "log"}

CHANGES: dict[str, tuple[dict[str, Any], set[str]]] = {
    "rings": ({"design.reef.rings": "stainless"}, {"ring_end", "ring_lives"}),
    "mesh": ({"design.reef.wire": "zinc-aluminium"}, {"mesh_end", "mesh_lives"}),
    "mesh with a jacket": (
        {"design.reef.wire": "jacketed galvanised"},
        {"mesh_end", "mesh_lives"},
    ),
    "ties": ({"design.walls.ties": "black nylon"}, {"tie_end", "tie_lives"}),
    "ties with a jacket": ({"design.walls.ties": "jacketed galvanised"}, {"tie_end", "tie_lives"}),
    "posts": ({"design.walls.post_wood": "composite"}, {"post_end", "post_lives"}),
    "branches": ({"design.walls.branch_wood": "durable branches"}, {"decay"}),
    "bags": (
        {"design.reef.material": "shell bag", "design.reef.wire": None, "design.reef.rings": None},
        PRICED | {"mesh_end", "mesh_lives", "ring_end", "ring_lives"},
    ),
    # Concrete holds no shell, wears no wire, is never mended and has a surface of its own.
    "concrete": (
        {
            "design.reef.material": "concrete module",
            "design.reef.wire": None,
            "design.reef.rings": None,
        },
        PRICED
        | {"mesh_end", "mesh_lives", "ring_end", "ring_lives", "price_shell", "hours_unit"}
        | {"is_solid", "substrate", "bulk_density", "reef_trigger"},
    ),
}
"""What is written otherwise (None: left out), and all that may move with it."""


def writing(changes: dict[str, Any]) -> Callable[[dict[str, Any]], None]:
    """Edit of a scenario's tables."""

    def edit(table: dict[str, Any]) -> None:
        for path, value in changes.items():
            *sections, key = path.split(".")
            place = table
            for section in sections:
                place = place.setdefault(section, {})
            place[key] = value
            if value is None:
                del place[key]

    return edit


@pytest.fixture(scope="module")
def common(small_scenario: Make) -> Common:
    return prepare(small_scenario({"run.years": 1}))


@pytest.fixture(scope="module")
def numbers(small_scenario: Make, common: Common) -> Callable[[dict[str, Any]], dict[str, Any]]:
    """Everything that a member of the demonstration begins with, by name."""

    def of(changes: dict[str, Any]) -> dict[str, Any]:
        scenario = small_scenario({"run.years": 1}, edit=writing({**WIRED, **changes}))
        forcing = member_forcing(scenario, common, 1)
        option = next(o for o in scenario.central.options if o.name == "walls and reef")
        member = set_up(forcing, common, option)
        return {
            **member.state._asdict(),
            **member.wall_settings._asdict(),
            **member.reef_settings._asdict(),
            **(member.mending._asdict() if member.mending else {}),
            "tally": forcing.weather.tally,
            "strength": member.edge_settings.strength,
        }

    return of


@pytest.fixture(scope="module")
def before(numbers: Callable[[dict[str, Any]], dict[str, Any]]) -> dict[str, Any]:
    return numbers({})


@pytest.mark.parametrize("part", CHANGES)
def test_switching_a_material_moves_only_what_depends_on_it(
    numbers: Callable[[dict[str, Any]], dict[str, Any]], before: dict[str, Any], part: str
) -> None:
    changes, moves = CHANGES[part]
    after = numbers(changes)
    moved = {
        key
        for key, value in before.items()
        if key not in after
        or not np.array_equal(value, after[key], equal_nan=np.asarray(value).dtype.kind == "f")
    }
    assert moved == moves


def test_the_reef_alone_is_the_reef_without_walls_before_it(
    small_scenario: Make, common: Common
) -> None:
    """Takeover asks what the reef would hold back alone: the waves of the open are higher than those
    behind walls, and it holds back more of them. Power with the walls thought away against that of
    the option without walls, the ground the same."""
    scenario = small_scenario({"run.years": 1})
    forcing = member_forcing(scenario, common, 1)
    rows = {
        option.name: record(
            set_up(forcing, common, option), covered(forcing.scenario, common), day=0
        )
        for option in scenario.central.options
    }
    both, reef, walls = (rows[name] for name in ("walls and reef", "reef only", "walls only"))
    assert both["edge_power_reef"] == pytest.approx(reef["edge_power_reef"], rel=1e-12)
    assert both["edge_power_walls"] == pytest.approx(walls["edge_power_walls"], rel=1e-12)
    assert both["edge_power_open"] == pytest.approx(rows["no action"]["edge_power_open"], rel=1e-12)
    assert both["edge_power_reef"] < both["edge_power_open"]
