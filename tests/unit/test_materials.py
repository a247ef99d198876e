"""Every material can be named in a scenario, brings its numbers, and stands on the page of materials."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.forcing.streams import Purpose, stream
from edgesim.model.lives import container_ends, tie_lives
from edgesim.processes.substrate import UNITS
from edgesim.processes.wire import TIES, WIRES
from edgesim.processes.wood import WOODS
from edgesim.scenario.distributions import Distribution
from edgesim.scenario.materials_reference import materials_page

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "materials.md"
Make = Callable[..., Any]


def posts() -> list[str]:
    return [name for name, wood in WOODS.items() if wood.part == "post"]


def branches() -> list[str]:
    return [name for name, wood in WOODS.items() if wood.part == "branch"]


@pytest.mark.parametrize("name", posts())
def test_every_post_brings_its_life(small_scenario: Make, name: str) -> None:
    scenario = small_scenario({"design.walls.post_wood": name})
    assert scenario.distributions["design.walls.post_life"].support == WOODS[name].life[::2]
    assert scenario.central.design.walls.post_eaten_by_borers is WOODS[name].eaten_by_borers


@pytest.mark.parametrize("name", branches())
def test_every_branch_brings_its_rate_of_decay(small_scenario: Make, name: str) -> None:
    scenario = small_scenario({"design.walls.branch_wood": name})
    decay = WOODS[name].decay
    assert decay is not None
    assert scenario.distributions["design.walls.branch_decay"].support == decay[::2]


@pytest.mark.parametrize("name", [*WIRES, *TIES])
def test_every_tie_gives_lives_of_its_own_size(small_scenario: Make, name: str) -> None:
    scenario = small_scenario({"design.walls.ties": name})
    lives = tie_lives(scenario.central, 200, stream(1, 0, Purpose.WALLS)) / 365.25
    assert lives.shape[0] == 200
    if name in TIES:
        # Weibull scale: 1 - 1/e = 63 % have failed by then.
        scale = scenario.central.design.walls.tie_life
        assert np.mean(lives < scale) == pytest.approx(0.632, abs=0.03)
    else:
        assert np.std(np.log(lives[:, 0])) > 0.1


def test_cut_jackets_shorten_the_life_of_ties(small_scenario: Make) -> None:
    jacketed = {"design.walls.ties": "jacketed galvanised"}
    whole, cut = (
        tie_lives(
            small_scenario({**jacketed, "design.walls.tie_damaged_share": share}).central,
            300,
            stream(1, 0, Purpose.WALLS),
        )
        for share in (0.0, 0.5)
    )
    shorter = np.mean(cut < whole)
    assert shorter == pytest.approx(0.5, abs=0.03)
    assert np.all((cut == whole) | (cut < 0.7 * whole))


@pytest.mark.parametrize("name", list(UNITS))
def test_every_unit_is_held_by_its_container_or_by_none(small_scenario: Make, name: str) -> None:
    def edit(table: dict[str, Any]) -> None:
        table["design"]["reef"]["material"] = name
        if UNITS[name].container != "wire":
            del table["design"]["reef"]["wire"]

    scenario = small_scenario(edit=edit)
    mesh, rings = container_ends(scenario.central, 100, stream(1, 0, Purpose.MESH))
    assert np.isfinite(mesh).all() == (UNITS[name].container != "none")
    assert np.isfinite(rings).all() == (UNITS[name].container == "wire")
    assert isinstance(scenario.distributions["design.reef.porosity"], Distribution)
    substrate = scenario.distributions["design.reef.substrate_factor"]
    assert substrate.support == UNITS[name].substrate_factor[::2]


def test_stainless_rings_outlast_the_mesh_and_leave_it_alone(small_scenario: Make) -> None:
    plain = small_scenario().central
    better = small_scenario({"design.reef.rings": "stainless"}).central
    mesh, rings = container_ends(plain, 100, stream(1, 0, Purpose.MESH))
    same, lasting = container_ends(better, 100, stream(1, 0, Purpose.MESH))
    np.testing.assert_array_equal(mesh, same)
    assert np.median(rings) < 3.0 * np.median(mesh)
    assert lasting.min() > rings.max()


def test_page_of_materials_is_up_to_date_and_complete() -> None:
    page = materials_page()
    assert PAGE.read_text(encoding="utf-8") == page, (
        "run: python -m edgesim.scenario.materials_reference"
    )
    for name in (*WOODS, *WIRES, *TIES, *UNITS):
        assert f"| {name} |" in page


def test_every_material_has_a_source_and_a_mark() -> None:
    for row in (*WOODS.values(), *WIRES.values(), *TIES.values(), *UNITS.values()):
        assert row.source
        assert row.mark in ("read", "from memory", "judgement")
