"""Mud in any scenario: nothing below nothing in any window, and an undefended flat that stays."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from edgesim.model.state import ENTRY
from edgesim.model.step import Member, run_until
from edgesim.scenario import ScenarioFile

Make = Callable[..., ScenarioFile]
Build = Callable[..., Member]
Tell = Callable[[str], None]

drawn = st.fixed_dictionaries(
    {
        "run.seed": st.integers(0, 10_000),
        "mud.concentration": st.floats(0.0, 1.0),
        "mud.mixing": st.floats(0.0005, 0.05),
        "mud.wash_time": st.floats(0.1, 3.0),
        "mud.consolidation_time": st.floats(0.1, 3.0),
        "mud.trapping_efficiency": st.floats(0.0, 1.0),
        "mud.current_share": st.floats(0.0, 1.0),
        "mud.line_exchange": st.floats(0.0, 1.0),
        "mud.scarp_share_suspended": st.floats(0.0, 1.0),
        "mud.settling_stress": st.floats(0.02, 0.5),
        "site.retreat_rate": st.floats(0.05, 2.0),
        "traffic.growth": st.floats(-0.1, 0.3),
        "sea_level.rate": st.floats(0.0, 0.02),
    }
)


@pytest.mark.slow
@given(drawn, st.sampled_from(["no action", "walls and reef"]))
@settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.generate,),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_nothing_is_ever_negative(
    small_scenario: Make, build_member: Build, changes: dict[str, Any], option: str
) -> None:
    member = build_member(small_scenario(changes), option)
    state, settled = member.state, member.work.fluxes
    for day in range(0, 728, 14):
        run_until(member, day, day + 14)
        for name in (
            "suspended",
            "loose_mud",
            "loose_thickness",
            "scarp_mud",
            "slump",
            "roughness",
        ):
            assert getattr(state, name).min() >= 0.0, (name, day)
        # Settling, stirring and mean depth of the window.
        assert settled.min() >= 0.0, day
        assert state.shoots.min() >= 0.0
        assert state.residual.max() < 1e-9, day
        # Packed mud is never lighter than fresh nor denser than the flat.
        packed = state.loose_mud / member.edge_settings.flat_density
        assert (state.loose_thickness >= packed * (1.0 - 1e-9)).all(), day


@pytest.mark.slow
def test_an_undefended_flat_keeps_what_it_has(
    small_scenario: Make, build_member: Build, tell: Tell
) -> None:
    """Under a future like the past the flat gains and loses alike; see docs/decisions/0006."""
    steady = {
        "traffic.growth": 0.0,
        "traffic.passages": "expected",
        "sea_level.rate": 0.0,
        "sea_level.acceleration": 0.0,
        "run.years": 3,
    }
    scenario_file = small_scenario(steady)
    gains = []
    for index in range(3):
        member = build_member(scenario_file, "no action", index)
        run_until(member, 0, 1096)
        ledger = member.state.ledger
        settled = ledger[ENTRY["mud_deposited"]]
        gains.append((settled - ledger[ENTRY["mud_resuspended"]]) / settled)
    tell(f"gain over what settled: {np.round(gains, 4)}")
    # Four level bins only; with eight of the history's shifts, not 32, the mean was a loss of 4 %.
    assert abs(np.mean(gains)) < 0.02
    assert np.abs(gains).max() < 0.03
