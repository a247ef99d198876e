"""Reefs by the formulas of low-crested structures, as a scenario may choose them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgesim.model.line_field import LineMaterial, fill_transmissions
from edgesim.model.settings import reef_material
from edgesim.processes import low_crested, rival_transmission
from edgesim.processes.linear_waves import wavenumber
from edgesim.processes.transmission import flux_share_above

heights = st.floats(0.01, 0.6)
periods = st.floats(0.8, 4.0)
depths = st.floats(0.2, 3.0)
widths = st.floats(0.3, 4.0)
BUILT = 0.3
"""Height of the reef of the scenario tests. [m]"""


def passed(
    height: float, period: float, depth: float, crest: float, width: float, is_tight: bool
) -> float:
    over = max(0.0, depth - crest)
    above = float(flux_share_above(float(wavenumber(period, depth)), depth, over))
    return low_crested.low_crested_transmission(
        height, period, crest - depth, width, is_tight, above
    )


@given(heights, periods, depths, widths, st.floats(0.02, 1.5), st.booleans())
def test_energy_closes_and_more_passes_as_the_crest_goes_down(
    height: float, period: float, depth: float, width: float, relative: float, is_tight: bool
) -> None:
    found = [
        passed(height, period, depth, crest, width, is_tight)
        for crest in np.linspace(relative * depth, 0.0, 12)
    ]
    assert min(found) >= 0.0
    assert max(found) <= 1.0 + 1e-12
    assert (np.diff(found) >= -1e-12).all()
    assert found[-1] == pytest.approx(1.0, abs=1e-9)  # no reef, nothing held back


@given(heights, periods, depths, widths, st.floats(0.02, 1.5))
def test_wider_crests_pass_less(
    height: float, period: float, depth: float, width: float, relative: float
) -> None:
    # Between 8 and 12 wave heights of width two fits are joined, and theirs is the last word there.
    narrow, wide = (
        passed(height, period, depth, relative * depth, w, False) for w in (width, 1.2 * width)
    )
    if 1.2 * width < 8.0 * height or width > 12.0 * height:
        assert wide <= narrow + 1e-12


def test_an_emergent_reef_passes_what_the_published_formula_says() -> None:
    freeboard, height, period, width = 0.05, 0.15, 2.0, 0.9
    breaker = 1.0 / math.sqrt(2.0 * math.pi * height / (9.81 * period**2))
    formula = float(rival_transmission.transmission_vandermeer(freeboard, height, width, breaker))
    found = low_crested.low_crested_transmission(height, period, freeboard, width, False, 0.0)
    assert found == pytest.approx(formula, rel=1e-4)
    wall = float(rival_transmission.transmission_goda(freeboard, height, width=2.2, offset=0.4))
    tight = low_crested.low_crested_transmission(height, period, freeboard, width, True, 0.0)
    assert tight == pytest.approx(wall, rel=1e-12)


def table_of(material: LineMaterial, depth: float) -> np.ndarray:
    """Transmission of a reef by its height, from nothing to twice the height at build."""
    transmission = np.zeros((1, 1, 17), dtype=np.float32)
    numbers = wavenumber(2.0, np.maximum(np.arange(800) * 0.005, 0.0025))[None, :]
    fill_transmissions(
        np.array([[0.15]]), np.array([2.0]), numbers, 0.005, np.array([depth]), 0.0, 0.0, BUILT,
        material, transmission,
    )  # fmt: skip
    return np.asarray(transmission[0, 0])


def test_a_scenario_chooses_how_waves_pass_its_reef(
    small_scenario: Callable[..., Any],
) -> None:
    by_default = reef_material(small_scenario().central)
    block = reef_material(small_scenario({"design.reef.transmission": "block"}).central)
    chosen = reef_material(small_scenario({"design.reef.transmission": "low-crested"}).central)
    assert by_default == block
    assert chosen == block._replace(is_low_crested=True)
    # Out of the water, at its crest and under water, by other amounts than the block.
    for depth in (0.6 * BUILT, BUILT, 1.4 * BUILT):
        by_formula, by_block = (table_of(material, depth)[8] for material in (chosen, block))
        expected = passed(0.15, 2.0, depth, BUILT, chosen.thickness, False)
        assert by_formula == pytest.approx(expected, abs=2e-3)  # wavenumbers by steps of depth
        assert abs(by_formula - by_block) > 0.005
    # Where no reef is left both let all through.
    assert table_of(chosen, BUILT)[0] == table_of(block, BUILT)[0] == 1.0


def test_solid_modules_are_tight(small_scenario: Callable[..., Any]) -> None:
    def edit(table: dict[str, Any]) -> None:
        reef = table["design"]["reef"]
        for name in [key for key in reef if key.startswith(("wire", "rings", "mesh", "ring"))]:
            del reef[name]
        reef["material"] = "concrete module"
        reef["transmission"] = "low-crested"

    material = reef_material(small_scenario(edit=edit).central)
    assert material.is_low_crested
    assert material.is_tight
