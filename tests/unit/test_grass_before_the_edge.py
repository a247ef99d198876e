"""Grass on the flat damps the waves of the march as the formula of ``processes/plants`` says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.model.ground import SHALLOWEST
from edgesim.model.step import Member, levels_of
from edgesim.model.wave_field import solve_waves
from edgesim.model.wave_tables import DEPTH_STEP
from edgesim.processes.linear_waves import group_velocity, wavenumber
from edgesim.processes.plants import damping_coefficient, height_ratio

Floats = NDArray[np.float64]


def gain_under(member: Member, cover: Floats) -> Floats:
    """Energy of one wave of each level and class that the edge meets behind a cover of grass."""
    solve_waves(
        member.state.bed,
        member.state.platform,
        member.state.edge,
        cover,
        member.edge_settings.dx,
        levels_of(member, 0),
        0.0,
        np.ones_like(member.weather.tally[0]),
        member.tables,
        member.walls.field,
        member.reef.field,
        False,
        False,
        member.edge_settings.critical_stress,
        member.level_decay,
        member.work.waves,
    )
    return member.work.waves.gain.copy()


@pytest.fixture(scope="module")
def member(
    small_scenario: Callable[..., Any], build_member: Callable[..., Any]
) -> tuple[Member, Any]:
    scenario_file = small_scenario(
        {"run.water_level_bins": 6, "traffic.planing_formula": "maynord"}
    )
    return build_member(scenario_file, "no action"), scenario_file.member(0).marsh


def test_one_row_of_grass_takes_what_the_formula_takes(member: tuple[Member, Any]) -> None:
    one, marsh = member
    dx, row, share = one.edge_settings.dx, 10, 0.6
    bare = gain_under(one, one.state.shoots)
    cover = np.zeros_like(one.state.shoots)
    cover[row] = share
    behind = gain_under(one, cover)
    compared = 0
    for k, level in enumerate(levels_of(one, 0)):
        # At the rung of the depth tables: 2 mm matter where the water just covers the tops.
        depth = round(float(level - one.state.bed[row, 0]) / DEPTH_STEP) * DEPTH_STEP
        for w, (period, flux) in enumerate(zip(one.tables.period, one.tables.flux, strict=True)):
            speed = float(group_velocity(period, max(depth, 0.1)))
            height = float(np.sqrt(8.0 * flux / (WATER_DENSITY * GRAVITY * speed)))
            # Where waves break before the edge, or have lost much to the bed, heights are not known.
            edge_row = int(one.state.edge[0] / dx + 0.5) - 1
            at_edge = float(level - one.state.bed[edge_row, 0])
            if bare[k, w, 0] <= 0.0 or height > 0.4 * at_edge or depth < 10 * SHALLOWEST:
                continue
            damping = damping_coefficient(
                marsh.stem_drag,
                marsh.stem_diameter,
                share * marsh.stems_per_m2,
                height,
                float(wavenumber(period, depth)),
                depth,
                marsh.stem_height,
            )
            loss = 1.0 - behind[k, w, 0] / bare[k, w, 0]
            # To 3 % of the loss: bed friction on the way, straight lines between the depths.
            assert loss == pytest.approx(1.0 - height_ratio(damping, dx) ** 2, rel=0.03, abs=1e-6)
            compared += 1
    assert compared >= 5


def test_more_grass_leaves_less_and_bare_mud_all(member: tuple[Member, Any]) -> None:
    one, _ = member
    bare = gain_under(one, one.state.shoots)
    before = bare
    for cover in (0.2, 0.5, 1.0):
        now = gain_under(one, np.full_like(one.state.shoots, cover))
        # Where the edge lies in water so shallow that waves break anyhow, grass changes nothing.
        assert (now <= before).all()
        assert now.sum() < 0.99 * before.sum()
        before = now
    np.testing.assert_array_equal(gain_under(one, one.state.shoots), bare)


def test_grass_damps_only_where_it_stands(member: tuple[Member, Any]) -> None:
    one, _ = member
    cover = np.zeros_like(one.state.shoots)
    ny = cover.shape[1]
    cover[:, : ny // 2] = 1.0
    bare, half = gain_under(one, one.state.shoots), gain_under(one, cover)
    np.testing.assert_array_equal(half[:, :, ny // 2 :], bare[:, :, ny // 2 :])
    assert half[:, :, : ny // 2].sum() < 0.95 * bare[:, :, : ny // 2].sum()
