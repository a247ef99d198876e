"""Mud laws against published constants, closed forms and numerical integration."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve

from edgesim.errors import InvalidParameterError
from edgesim.model.ground import ROUGHNESS, rough_bed, roughen, sum_stirring
from edgesim.model.wave_field import march_row, wave_result
from edgesim.processes.bed_stress import (
    laminar_stress_coefficient,
    wave_friction_rough,
    wave_stress,
)
from edgesim.processes.mud import (
    approach_to_equilibrium,
    consolidated_density,
    dry_density_from_organic,
    hindered_settling,
    krone_deposition,
    krone_share,
    mean_flood_depth,
    partheniades_erosion,
    stokes_settling,
    suspended_share,
    tidal_deposition,
)

PERIOD, CRITICAL = 2.0, 0.4


@pytest.mark.golden
@pytest.mark.parametrize(
    ("stress", "critical", "rate", "erosion"),
    # By hand: 5e-5 (0.4/0.2 - 1) = 5e-5; 1e-4 (0.5/0.1 - 1) = 4e-4. Form read, numbers computed.
    [(0.4, 0.2, 5e-5, 5e-5), (0.2, 0.2, 5e-5, 0.0), (0.5, 0.1, 1e-4, 4e-4), (0.05, 0.1, 1e-4, 0.0)],
)
def test_partheniades(stress: float, critical: float, rate: float, erosion: float) -> None:
    assert partheniades_erosion(stress, critical, rate) == pytest.approx(erosion, rel=1e-12)


def stirred_by_the_model(on_shell: bool = False) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Smooth stresses of one class, and what the march makes of them: excess and hindered settling."""
    of_root, root = np.linspace(0.0, 0.3, 40), 3.0
    result = wave_result(1, 1, 1, of_root.size)
    result.factor[:], result.share[:], result.passing[:], result.breaking[:] = 1.0, 1.0, 1.0, 1e3
    result.stress[0] = of_root
    march_row(np.array([root**2]), result)
    if on_shell:
        rough = rough_bed(np.array([PERIOD]))
        roughen(rough.of_root, rough.of_square, result.stress)
    sum_stirring(result.stress, np.ones((2, 1)), CRITICAL, 0.08, result.lifted, result.held)
    return root * of_root, result.lifted, result.held


def test_waves_of_the_model_stir_as_partheniades_and_settle_as_krone_says() -> None:
    # The march of the forecast works in single precision and in units of the rate M, which the
    # balance of the undefended flat takes the place of; its excess must be the published law's.
    stress, excess, hindered = stirred_by_the_model()
    law = [partheniades_erosion(one, CRITICAL, 1.0) for one in stress]
    np.testing.assert_allclose(excess, law, rtol=1e-6, atol=1e-6)
    assert 0 < np.count_nonzero(law) < len(law)
    # A second of these waves in ten under water: nine tenths of the time all settles.
    settling = [0.9 + 0.1 * krone_deposition(1.0, 1.0, one, 0.08) for one in stress]
    own = [krone_share(float(one), 10.0) for one in hindered]
    np.testing.assert_allclose(own, settling, rtol=1e-6)
    assert 0.9 < settling[1] < 1.0
    assert krone_share(20.0, 10.0) == 0.0
    assert krone_share(0.0, 0.0) == 1.0


def test_shell_meets_the_rough_formula() -> None:
    stress, excess, _ = stirred_by_the_model(on_shell=True)
    velocity = stress / laminar_stress_coefficient(PERIOD)
    rough = [
        wave_stress(u, min(wave_friction_rough(u, PERIOD, ROUGHNESS), 0.3))
        for u in velocity.tolist()
    ]
    law = np.array([partheniades_erosion(one, CRITICAL, 1.0) for one in rough])
    orbits = velocity * PERIOD / (2.0 * np.pi) / ROUGHNESS
    assert (orbits > 6.0).sum() > 30
    # The march's exponent 1.5 for the formula's 1.48: 5 % of the stress between 6 and 600 roughness
    # lengths, here twice that in the excess over the critical stress. No friction factor exceeds .3.
    near = (orbits > 6.0) & (law > 1.0)
    np.testing.assert_allclose(excess[near], law[near], rtol=0.1)
    # The same waves on mud: four to seven times less (computed in the notes of sources for z0 .2 mm).
    smooth = np.array([partheniades_erosion(one, CRITICAL, 1.0) for one in stress])
    assert (excess[near] > 4.0 * smooth[near]).all()


@pytest.mark.golden
@pytest.mark.parametrize(
    ("stress", "deposition"),
    # Formula from memory; by hand 5e-4 * 0.05 * (1 - 0.04/0.08) = 1.25e-5
    [(0.0, 2.5e-5), (0.04, 1.25e-5), (0.08, 0.0), (0.2, 0.0)],
)
def test_krone(stress: float, deposition: float) -> None:
    assert krone_deposition(5e-4, 0.05, stress, 0.08) == pytest.approx(deposition, rel=1e-12)


@pytest.mark.golden
def test_stokes() -> None:
    # By hand for 10 um: (2650/1025 - 1) 9.81 1e-10 / (18 * 1.05e-6) = 8.228e-5 m/s
    own = stokes_settling([10e-6, 20e-6, 62e-6])
    assert own == pytest.approx([8.23e-5, 3.29e-4, 3.16e-3], rel=2e-3)


def test_stokes_balances_drag_and_weight() -> None:
    # Stokes drag 3 pi rho nu d w carries the submerged weight (rho_s - rho) g pi d^3 / 6.
    diameter = 20e-6
    drag = 3 * np.pi * 1025.0 * 1.05e-6 * diameter * stokes_settling(diameter)
    assert drag == pytest.approx((2650 - 1025) * 9.81 * np.pi * diameter**3 / 6, rel=1e-12)


@pytest.mark.golden
def test_hindered_settling() -> None:
    # Exponent from memory; 0.9**5 = 0.59049, 0.7**5 = 0.16807
    assert hindered_settling(1.0, [0.0, 0.1, 0.3]) == pytest.approx(
        [1.0, 0.59049, 0.16807], rel=1e-12
    )


@pytest.mark.published
@pytest.mark.parametrize(("organic", "density"), [(1.0, 85.0), (0.0, 1990.0)])
def test_self_packing_densities(organic: float, density: float) -> None:
    # Morris et al. 2016, abstract (read): 0.085 +- 0.0007 and 1.99 +- 0.028 g/cm3
    assert dry_density_from_organic(organic) == pytest.approx(density, rel=1e-12)


@pytest.mark.golden
def test_dry_density_from_organic() -> None:
    # By hand at 0.2: 1/(0.2/0.085 + 0.8/1.99) = 1/(2.3529 + 0.4020) = 0.3630 g/cm3
    own = dry_density_from_organic([0.05, 0.1, 0.2, 0.3, 0.5])
    assert own == pytest.approx([938, 614, 363, 258, 163], abs=0.6)


@pytest.mark.published
def test_organic_accretion_limit() -> None:
    # Morris et al. 2016, abstract (read): refractory organic matter alone accretes <= 0.3 cm/yr. At
    # k1 that is 0.085 g/cm3 * 0.3 cm/yr = 255 g/m2/yr of organic mass: through our density it
    # must come back as 0.3 cm/yr.
    assert 0.255 / dry_density_from_organic(1.0) == pytest.approx(0.003, rel=1e-12)


@pytest.mark.golden
def test_consolidation() -> None:
    own = [consolidated_density(age, 200.0, 500.0, 0.75) for age in (0.0, 0.75, 2.0, 5.0)]
    # By hand at 0.75: 500 - 300/e = 389.6
    assert own == pytest.approx([200, 389.6, 479.2, 499.6], abs=0.06)


def test_consolidation_solves_its_rate_equation() -> None:
    solution = solve_ivp(lambda _, rho: (500 - rho) / 0.75, (0, 2), [200.0], rtol=1e-9, atol=1e-9)
    assert consolidated_density(2.0, 200.0, 500.0, 0.75) == pytest.approx(
        solution.y[0, -1], rel=1e-7
    )


@pytest.mark.golden
def test_tidal_deposition() -> None:
    # By hand: 705.8 * 0.3 * 0.05 * 1 = 10.587 kg/m2/yr, 2.65 cm/yr at 400 kg/m3; half depth, half.
    full = tidal_deposition(0.05, 1.0, 0.3, 5e-4, 0.5)
    assert full / 400 == pytest.approx(0.0265, abs=5e-5)
    assert tidal_deposition(0.05, 0.5, 0.3, 5e-4, 0.5) == pytest.approx(full / 2, rel=1e-12)
    assert tidal_deposition(0.05, 0.0, 0.3, 5e-4, 0.0) == 0.0


def test_tidal_deposition_is_limited_by_settling() -> None:
    # 1e-6 m/s * 0.05 kg/m3 * 0.5 * 365.25 * 86400 s = 0.78894 kg/m2/yr, far below the supply
    assert tidal_deposition(0.05, 1.0, 0.8, 1e-6, 0.5) == pytest.approx(0.78894, rel=1e-12)


def test_number_of_tides_follows_from_the_moon() -> None:
    # 365.25 d of M2 at 28.9841042 degree/h (IHO list, read): 705.8 tides; supply per tide is C h.
    tides = 365.25 * 24 * 28.9841042 / 360
    assert tidal_deposition(1.0, 1.0, 1.0, 1.0, 1.0) == pytest.approx(tides, rel=1e-4)


@pytest.mark.golden
def test_suspended_share() -> None:
    # French (2006) form from memory; exp(-1e-4 * 10800 / 0.3) = exp(-3.6) = 0.0273
    assert suspended_share(1e-4, 3 * 3600.0, 0.3) == pytest.approx(0.0273, abs=5e-5)


@pytest.mark.published
@pytest.mark.parametrize(
    ("first", "third", "second", "timescale", "equilibrium"),
    # Read: fences on a muddy delta coast, bed rise 29 and 33 cm in one year, 44 and 42 cm in three.
    # Computed from these: the other three columns (no measured second year was found).
    [(29.0, 44.0, 39.9, 1.02, 46.5), (33.0, 42.0, 40.4, 0.666, 42.5)],
)
def test_fence_shape_runs_through_both_surveys(
    first: float, third: float, second: float, timescale: float, equilibrium: float
) -> None:
    def misfit(unknown: np.ndarray) -> list[float]:
        level, time = unknown
        own = approach_to_equilibrium([1.0, 3.0], level, time)
        return [float(own[0]) - first, float(own[1]) - third]

    level, time = fsolve(misfit, [45.0, 1.0])
    assert time == pytest.approx(timescale, rel=6e-3)
    assert level == pytest.approx(equilibrium, abs=0.06)
    assert approach_to_equilibrium(2.0, level, time) == pytest.approx(second, abs=0.06)


def test_mean_flood_depth_of_a_sine() -> None:
    # Exact for z = 0: mean of A sin over its positive half is 2 A / pi.
    level = 0.7 * np.sin(np.linspace(0, 2 * np.pi, 100_000, endpoint=False))
    assert mean_flood_depth(level, 0.0) == pytest.approx(2 * 0.7 / np.pi, rel=1e-4)
    assert mean_flood_depth(level, -1.0) == pytest.approx(1.0, rel=1e-9)
    assert mean_flood_depth(level, 0.7) == 0.0


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: stokes_settling(0.0), "diameter"),
        (lambda: stokes_settling(1e-5, grain_density=1000.0), "grain_density"),
        (lambda: hindered_settling(1.0, 1.1), "volume_fraction"),
        (lambda: dry_density_from_organic(-0.1), "loss_on_ignition"),
        (lambda: dry_density_from_organic(np.nan), "loss_on_ignition"),
        (lambda: suspended_share(1e-4, 1.0, 0.0), "depth"),
        (lambda: mean_flood_depth([], 0.0), "levels"),
        (lambda: approach_to_equilibrium(-1.0, 1.0, 1.0), "time"),
    ],
)
def test_refuses_numbers_outside_the_domain(call: object, name: str) -> None:
    with pytest.raises(InvalidParameterError, match=name):
        call()  # type: ignore[operator]
