"""Both ends of the race, and chance that is common to all materials."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.figures.takeover_map import takeover_map as draw
from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.scenario import load_scenario
from edgesim.studies.takeover_map import takeover_map

LAGOON = Path(__file__).parents[2] / "docs" / "science" / "small_tide.toml"
Make = Callable[..., Any]


@pytest.mark.slow
def test_no_spat_never_takes_over_and_much_spat_with_lasting_wire_often_does(
    tell: Callable[[str], None],
) -> None:
    scenario = load_scenario(LAGOON).overridden({"run.members": 8})
    found = takeover_map(
        scenario, "walls and reef", (0.0, 8000.0), (2.0,), ("galvanised", "stainless")
    )
    chance = found["takeover_chance"].values
    tell(f"takeover without spat {chance[:, 0, 0]}, with 8000 a m2 {chance[:, 0, 1]}")
    assert np.all(chance[:, :, 0] == 0.0)
    # Of eight futures that differ in mud, exposure and death rates, more than half see takeover.
    assert chance[1, 0, 1] > 0.5
    assert chance[1, 0, 1] >= chance[0, 0, 1] > 0.0
    words = " ".join(
        text.get_text() for text in draw(found).findobj(lambda part: hasattr(part, "get_text"))
    )
    assert "Young oysters a year, per m² (per ft²)" in words
    assert "No spat, no takeover" in words


CHANGES = {
    "rings": ("design.reef.rings", "stainless", {"ring_end"}),
    "mesh": ("design.reef.wire", "zinc-aluminium", {"mesh_end", "ring_end"}),
    "ties": ("design.walls.ties", "black nylon", {"tie_end", "tie_lives"}),
    "posts": ("design.walls.post_wood", "composite", {"post_end", "post_lives"}),
    "branches": ("design.walls.branch_wood", "durable branches", {"decay"}),
}


@pytest.mark.parametrize("part", CHANGES)
def test_switching_a_material_moves_only_what_depends_on_it(
    small_scenario: Make, part: str
) -> None:
    path, name, moves = CHANGES[part]
    before, after = (small_scenario({"run.years": 1, **changes}) for changes in ({}, {path: name}))
    common = prepare(before)
    option = next(o for o in before.central.options if o.name == "walls and reef")
    found = []
    for scenario in (before, after):
        forcing = member_forcing(scenario, common, 1)
        member = set_up(forcing, common, option)
        numbers = {
            **member.state._asdict(),
            **member.wall_settings._asdict(),
            **member.reef_settings._asdict(),
            "tally": forcing.weather.tally,
            "strength": member.edge_settings.strength,
        }
        found.append(numbers)
    moved = {
        key
        for key, value in found[0].items()
        if not np.array_equal(value, found[1][key], equal_nan=np.asarray(value).dtype.kind == "f")
    }
    assert moved == moves
