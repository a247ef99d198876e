"""Check values of reefs and decay that no other file here holds, each by its mark."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from edgesim.processes import linear_waves, posts, wire
from edgesim.scenario.distributions import Triangular
from edgesim.scenario.oysters import Oysters
from edgesim.scenario.parameters import parameters_of

WATER = 1020.0
HEAD = WATER * 9.81 * 0.4


def _default(name: str) -> Triangular:
    spread = next(about.spread for found, about, _ in parameters_of(Oysters) if found == name)
    assert isinstance(spread, Triangular)
    return spread


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "period", "wavenumber", "length", "velocity"),
    [(0.3, 2.5, 0.8993, 6.987, 0.3676), (0.4, 3.0, 0.7228, 8.693, 0.5320)],
)
def test_wave_at_a_post(
    height: float, period: float, wavenumber: float, length: float, velocity: float
) -> None:
    k = float(linear_waves.wavenumber(period, 1.0))
    assert k == pytest.approx(wavenumber, abs=6e-5)
    assert 2.0 * math.pi / k == pytest.approx(length, abs=6e-4)
    found = linear_waves.near_bed_velocity(height, period, 1.0)
    assert float(found) == pytest.approx(velocity, abs=6e-5)


@pytest.mark.golden
def test_swing_of_the_water_at_a_post() -> None:
    """Keulegan and Carpenter's number of the longer wave at a post of 0.1 m."""
    swing = float(linear_waves.near_bed_velocity(0.4, 3.0, 1.0)) * 3.0 / 0.1
    assert swing == pytest.approx(15.96, abs=6e-3)
    hole = float(posts.wave_scour(swing * 0.1 / 3.0, 3.0, 0.1))
    # By hand: 1.3 x 0.1 (1 - exp(-0.03 (15.96 - 6))) = 0.0336 m.
    assert hole == pytest.approx(0.0336, abs=6e-5)


@pytest.mark.golden
def test_coefficients_of_the_pressure_on_a_wall() -> None:
    length = 2.0 * math.pi / float(linear_waves.wavenumber(3.0, 1.0))
    found = posts.goda_pressure(0.4, length, 1.0, 0.3, water_density=WATER)
    assert found.still_water / HEAD == pytest.approx(0.8601, abs=6e-5)
    assert found.toe / found.still_water == pytest.approx(0.7857, abs=6e-5)
    # Posts 0.5 m apart, half of the pressure, two rows: 0.48 kN each.
    one = posts.goda_force(found, 1.0, 0.3) * 0.5 * 0.5 / 2.0
    assert float(one) == pytest.approx(481.0, abs=0.5)


@pytest.mark.golden
def test_steel_that_goes_before_a_wire_breaks() -> None:
    """Half of the strength is gone at 0.1464 diameters (rounded): 0.3953 mm of 2.7 mm."""
    assert wire.steel_life(2.7e-3, 1e-3) == pytest.approx(0.3953, abs=1.4e-4)


@pytest.mark.published
def test_spread_of_spat_from_year_to_year_holds_the_measured_one() -> None:
    # South Carolina, agency page, read: mean above 4000, record 6650 a m2; as the highest of
    # about seven years it lies 1.352 standard deviations out: ln(6650/4000) = 1.352 s - s^2/2.
    found = brentq(lambda s: 1.352 * s - 0.5 * s**2 - math.log(6650.0 / 4000.0), 0.0, 1.352)
    assert found == pytest.approx(0.45, abs=0.01)
    spread = _default("year_spread")
    assert spread.low < found < spread.high


@pytest.mark.published
def test_spat_in_waves_holds_the_measured_share() -> None:
    # Georgia, 1991, abstract of O'Beirn and others, read: 686 a m2 and month at the most exposed
    # site, 6260 at the most sheltered one, 9.13 times as many.
    spread = _default("wave_factor")
    assert spread.low <= 686.0 / 6260.0 <= spread.high
    assert np.log(spread.high / spread.low) >= np.log(9.13)


@pytest.mark.published
@pytest.mark.parametrize("density", [4000.0, 6650.0, 7000.0])
def test_recruitment_holds_the_measured_densities(density: float) -> None:
    # Trays and collectors after a season, South Carolina and Georgia, read.
    spread = _default("recruitment")
    assert spread.low < density <= spread.high
