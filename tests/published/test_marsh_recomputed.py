"""Computed numbers that the science rests on, recomputed by other means than the program's own.

Each number was computed once, away from this program; here general-purpose libraries or a hand
calculation find it again, and the program's own formula must agree with both.
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from edgesim.processes.linear_waves import energy_flux
from edgesim.processes.mud import approach_to_equilibrium
from edgesim.processes.plants import accretion_morris
from edgesim.processes.scarp import undercut_cycle_mean
from edgesim.processes.tide import equilibrium_argument, nodal_factors


@pytest.mark.golden
@pytest.mark.parametrize(
    ("name", "argument", "factor"),
    [("M2", 227.53, 1.0056), ("N2", 59.32, 1.0056), ("K1", 1.23, 0.9982), ("O1", 230.41, 0.9968)],
)
def test_tidal_astronomy_of_2020(name: str, argument: float, factor: float) -> None:
    # Recomputed with a general tidal-analysis library where it is installed: V0 + u within .3
    # degree, f within .01 (the library has more satellites of each line).
    own_factor, own_phase = nodal_factors("2020-01-01")[name]
    own = math.degrees(equilibrium_argument("2020-01-01")[name] + own_phase) % 360.0
    assert own == pytest.approx(argument, abs=0.3)
    assert own_factor == pytest.approx(factor, abs=0.01)
    pytest.importorskip("utide")
    from utide._ut_constants import ut_constants
    from utide.harmonics import FUV

    index = [list(ut_constants.const.name).index(name)]
    # The library counts days as ordinals of the calendar: date(2020, 1, 1).toordinal().
    ordinal = np.array([float(date(2020, 1, 1).toordinal())])
    f, u, v = FUV(ordinal, ordinal[0], np.array(index), 30.4, [0, 0, 0, 0])
    library = (float(np.ravel(v)[0] + np.ravel(u)[0]) * 360.0) % 360.0
    assert abs((own - library + 180.0) % 360.0 - 180.0) < 0.3
    assert own_factor == pytest.approx(float(np.ravel(f)[0]), abs=0.01)


@pytest.mark.golden
def test_spread_of_retreat_over_a_surveyed_coast() -> None:
    # Abstract (read): 48 % of transects retreat by more than .2 m/yr, 16 % by more than 1 m/yr.
    # Computed from it: lognormal of median .184, sigma 1.70, mean .785 m/yr. scipy solves anew.
    z_low, z_high = stats.norm.isf([0.48, 0.16])
    sigma = (math.log(1.0) - math.log(0.2)) / (z_high - z_low)
    median = math.exp(math.log(1.0) - sigma * z_high)
    assert median == pytest.approx(0.184, abs=1e-3)
    assert sigma == pytest.approx(1.70, abs=0.01)
    coast = stats.lognorm(sigma, scale=median)
    assert coast.mean() == pytest.approx(0.785, abs=0.01)
    assert coast.sf([0.2, 1.0]) == pytest.approx([0.48, 0.16], abs=1e-9)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("first", "third", "time", "level"), [(0.29, 0.44, 1.02, 0.465), (0.33, 0.42, 0.666, 0.425)]
)
def test_fence_series_by_solving_both_equations(
    first: float, third: float, time: float, level: float
) -> None:
    # Measured rises of year 1 and 3 (read): solve z(3) / z(1) = (1 - q^3) / (1 - q) = 1 + q + q^2.
    q = brentq(lambda x: 1.0 + x + x**2 - third / first, 0.0, 1.0)
    assert -1.0 / math.log(q) == pytest.approx(time, abs=0.01)
    assert first / (1.0 - q) == pytest.approx(level, abs=1e-3)
    own = approach_to_equilibrium([1.0, 3.0], level, time)
    assert own == pytest.approx([first, third], abs=2e-3)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "period", "depth", "power"),
    [(0.2, 2.0, 1.0, 94.17), (0.3, 2.0, 1.5, 204.57), (0.3, 2.5, 1.0, 254.84), (0.1, 1.5, 0.5, 17.61)],
)  # fmt: skip
def test_wave_power_by_depth_integration(
    height: float, period: float, depth: float, power: float
) -> None:
    # Mean over the period of dynamic pressure times velocity, integrated over depth: no group
    # velocity enters. Dispersion solved by scipy.
    omega = 2.0 * math.pi / period
    k = brentq(lambda x: 9.81 * x * math.tanh(x * depth) - omega**2, 1e-3, 50.0)

    def flux(z: float) -> float:
        pressure = 1025.0 * 9.81 * height / 2.0 * math.cosh(k * (z + depth)) / math.cosh(k * depth)
        speed = omega * height / 2.0 * math.cosh(k * (z + depth)) / math.sinh(k * depth)
        return 0.5 * pressure * speed

    direct = quad(flux, -depth, 0.0)[0]
    assert direct == pytest.approx(power, rel=2e-4)
    # Our flux of a wave height counts a regular wave, rho g H^2 / 8.
    assert float(energy_flux(height, period, depth)) == pytest.approx(direct, rel=1e-6)


@pytest.mark.golden
def test_steady_depths_by_running_the_marsh_against_the_sea() -> None:
    # Stable branch above 51.4 cm, accretion 1.193 cm/yr at 40 cm: under a sea that rises just so
    # fast a platform started at 35 or 45 cm comes to 40, one started at 62 cm drowns. scipy's
    # integrator runs our curve; the depth is the computed number.
    rise = 0.01193

    def run(start: float) -> float:
        path = solve_ivp(lambda _, d: rise - accretion_morris(d[0]), (0, 2000), [start], rtol=1e-8)
        return float(path.y[0, -1])

    assert run(0.35) == pytest.approx(0.40, abs=2e-3)
    assert run(0.45) == pytest.approx(0.40, abs=2e-3)
    assert run(0.62) > 5.0


@pytest.mark.golden
def test_slumping_edge_by_chance_events() -> None:
    # w .3 m, R .5 m/yr, T .25 yr: .353 m/yr, here as a renewal process with random widths of the
    # same mean: by Wald's identity the mean rate is mean width over mean cycle, whatever the spread.
    rng = np.random.default_rng(1)
    widths = rng.uniform(0.0, 0.6, 200_000)
    mean = widths.sum() / (widths / 0.5 + 0.25).sum()
    assert mean == pytest.approx(0.353, abs=2e-3)
    assert float(undercut_cycle_mean(0.3, 0.5, 0.25)) == pytest.approx(mean, abs=2e-3)
