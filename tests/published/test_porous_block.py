"""Blocks as thick as a good part of the wave: energy, limits, and what was measured on reefs.

Marks: a number read in a publication is `published`, one computed here a regression value.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_bvp
from scipy.optimize import brentq

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.model.line_field import CONDITIONS, fill_transmissions
from edgesim.model.settings import reef_material
from edgesim.processes import porous_block, rival_transmission, transmission
from edgesim.processes.bed_stress import wave_friction_rough
from edgesim.processes.linear_waves import energy_flux, near_bed_velocity, wavenumber

heights = st.floats(0.02, 0.6)
periods = st.floats(0.8, 4.0)
depths = st.floats(0.3, 2.5)
thicknesses = st.floats(0.1, 3.0)
porosities = st.floats(0.35, 0.9)
sizes = st.floats(0.02, 0.15)
more = st.floats(1.01, 1.5)


def reef(
    height: float, period: float, depth: float, thickness: float, porosity: float, size: float
) -> tuple[float, float]:
    """Transmission and reflection of a reef of shell."""
    steady = transmission.rubble_resistance_quadratic(porosity, size, math.inf)
    swing = 7.5 * steady * porosity * size / period
    linear = transmission.rubble_resistance_linear(porosity, size) + transmission.LORENTZ * swing
    k = float(wavenumber(period, depth))
    return porous_block.block_coefficients(
        height, 2.0 * math.pi / period, k, depth, thickness, porosity, linear, steady
    )


def test_amplitudes_solve_the_equations_in_the_block() -> None:
    # The plane wave in the pores integrated numerically by scipy: p' = i w s u, u' = i n k^2 p / w.
    k, w, length, n, F = 1.4, 3.0, 1.3, 0.6, 5.0
    s = 1.0 / n + 1j * F / w
    t, r, velocity = porous_block.block_amplitudes(k, w, length, n, F, 1.0 / n)

    def slopes(x: np.ndarray, both: np.ndarray) -> np.ndarray:
        p, u = both[0] + 1j * both[1], both[2] + 1j * both[3]
        dp, du = 1j * k * s * u, 1j * k * n * p
        return np.array([dp.real, dp.imag, du.real, du.imag])

    def faces(front: np.ndarray, back: np.ndarray) -> np.ndarray:
        incident = front[0] + 1j * front[1] + front[2] + 1j * front[3] - 2.0
        out = back[0] + 1j * back[1] - back[2] - 1j * back[3]
        return np.array([incident.real, incident.imag, out.real, out.imag])

    x = np.linspace(0.0, length, 200)
    solved = solve_bvp(slopes, faces, x, np.full((4, x.size), 0.3), tol=1e-8, max_nodes=20000)
    assert solved.success
    p, u = solved.sol(x)[0] + 1j * solved.sol(x)[1], solved.sol(x)[2] + 1j * solved.sol(x)[3]
    assert t == pytest.approx(p[-1], abs=1e-6)
    assert r == pytest.approx(p[0] - 1.0, abs=1e-6)
    speed = np.abs(u)
    exact = np.trapezoid(speed**3, x) / np.trapezoid(speed**2, x)
    assert velocity == pytest.approx(exact, rel=2e-3)


@given(heights, periods, depths, thicknesses, porosities, sizes)
def test_energy_closes_with_the_work_done_in_the_block(
    height: float, period: float, depth: float, thickness: float, porosity: float, size: float
) -> None:
    # What neither passes nor turns back is the work of the linear drag, F |u|^2 over the block.
    k, w = float(wavenumber(period, depth)), 2.0 * math.pi / period
    F = 3.0 * size / 0.05
    t, r, _ = porous_block.block_amplitudes(k, w, thickness, porosity, F, 1.0 / porosity)
    s = 1.0 / porosity + 1j * F / w
    q, Z = k * np.sqrt(porosity * s), np.sqrt(s / porosity)
    d = np.linspace(0.0, thickness, 801)
    u = t * (np.cos(q * d) - 1j / Z * np.sin(q * d))
    work = F * k / w * np.trapezoid(np.abs(u) ** 2, d)
    assert 1.0 - abs(t) ** 2 - abs(r) ** 2 == pytest.approx(float(work), abs=2e-4)
    through, back = reef(height, period, depth, thickness, porosity, size)
    assert through**2 + back**2 <= 1.0 + 1e-9


@given(heights, periods, depths, st.floats(0.0, 20.0), st.floats(0.0, 200.0))
def test_a_thin_block_is_the_thin_wall_at_every_depth(
    height: float, period: float, depth: float, linear: float, quadratic: float
) -> None:
    k, w, thin = float(wavenumber(period, depth)), 2.0 * math.pi / period, 1e-4
    through, _ = porous_block.block_coefficients(
        height, w, k, depth, thin, 0.7, linear / thin, quadratic / thin
    )
    wall = transmission.barrier_transmission(height, w, k, depth, linear, quadratic)
    assert through == pytest.approx(wall, rel=2e-3)


@given(heights, periods, depths, thicknesses, porosities, sizes, more)
def test_reefs_pass_less_of_higher_waves_and_finer_or_denser_shell(
    height: float,
    period: float,
    depth: float,
    thickness: float,
    porosity: float,
    size: float,
    up: float,
) -> None:
    through, _ = reef(height, period, depth, thickness, porosity, size)
    slack = 1e-5  # the search for the drag ends within 1e-5 of the velocity
    assert reef(height * up, period, depth, thickness, porosity, size)[0] <= through + slack
    assert reef(height, period, depth, thickness, porosity, size / up)[0] <= through + slack
    assert reef(height, period, depth, thickness, porosity / up, size)[0] <= through + slack


@given(heights, periods, depths, porosities, sizes, more)
def test_thicker_reefs_pass_less(
    height: float, period: float, depth: float, porosity: float, size: float, up: float
) -> None:
    for thickness in (0.2, 0.5, 1.0, 1.5, 2.0, 4.0):
        thin = reef(height, period, depth, thickness, porosity, size)[0]
        # The search for the drag ends within 1e-5 of the velocity.
        assert reef(height, period, depth, thickness * up, porosity, size)[0] <= thin + 1e-5


def ringing(share: float, porosity: float) -> float:
    """Largest rise of Kt as a block grows, for a friction F = share w (1 - n)/n^2 that stays."""
    w, k, n = 3.0, 1.4, porosity
    F = share * w * (1.0 - n) / n**2
    grown = np.linspace(0.01, 20.0, 2000)
    t, _ = porous_block.block_transmission(k, w, grown, n, F, inertia=1.0 / n)
    return float((abs(t) - np.minimum.accumulate(abs(t))).max())


def test_water_that_turns_to_and_fro_in_the_pores_damps_the_ringing_of_thick_blocks(
    tell: Callable[[str], None],
) -> None:
    """A block of little resistance rings, as a pane of half a wave lets light through; reefs do not.

    It rings for F below 0.3 w (1 - n)/n^2. The part of the resistance of rubble that comes from
    the flow's turning (7.5/KC), whatever the stones and the waves, is 7.5 * 1.1 * 8/(3 pi)/(2 pi)
    = 1.11 times that: nearly four times as much.
    """
    shares = {share: max(ringing(share, n) for n in POROSITIES) for share in (0.0, 0.1, 0.2, 0.3)}
    tell(f"rise of Kt with thickness by F n^2/(w (1 - n)): {shares}")
    assert shares[0.0] > 0.3
    assert shares[0.1] > 0.05
    assert shares[0.2] > 0.01
    assert shares[0.3] < 1e-9
    for porosity, size, period in ((0.4, 0.02, 1.0), (0.65, 0.05, 2.0), (0.9, 0.3, 4.0)):
        at_one = transmission.rubble_resistance_quadratic(porosity, size, 1.0)
        steady = transmission.rubble_resistance_quadratic(porosity, size, math.inf)
        swing = transmission.LORENTZ * (at_one - steady) * porosity * size / period
        share = swing * porosity**2 / (1.0 - porosity) * period / (2.0 * math.pi)
        assert share == pytest.approx(1.11, abs=0.005)


POROSITIES = np.linspace(0.05, 0.99, 40)


def test_a_thick_block_can_dissipate_more_than_half() -> None:
    # A thin wall dissipates half at most; three rows of gabions take two thirds.
    through, back = reef(0.15, 2.0, 0.6, 1.4, 0.65, 0.05)
    assert 1.0 - through**2 - back**2 > 0.6


@pytest.mark.parametrize(("height", "period", "depth"), [(0.2, 2.0, 0.5), (0.1, 1.5, 0.3)])
def test_loss_over_the_crest_is_that_of_rough_beds(
    height: float, period: float, depth: float
) -> None:
    # The height integrated along the crest with the friction factor of its first metre, by scipy:
    # dF/dx = -2/(3 pi) rho fw ub^3.
    width, roughness, k = 1.4, 0.05 / 12.0, float(wavenumber(period, depth))
    u0 = float(near_bed_velocity(height, period, depth))
    fw = wave_friction_rough(u0, period, roughness)
    flux = float(energy_flux(height, period, depth))
    gamma = 2.0 / (3.0 * math.pi) * WATER_DENSITY * fw * u0**3 / (2.0 * flux)
    run, _ = quad(lambda h: 1.0 / h**2, 1.0 / (1.0 + gamma * width), 1.0)
    assert run == pytest.approx(gamma * width, rel=1e-9)
    found = porous_block.crest_transmission(
        height, 2.0 * math.pi / period, k, depth, width, roughness
    )
    assert found == pytest.approx(1.0 / (1.0 + gamma * width), rel=1e-9)
    # Friction over a metre or two of crest is small: its wall of shell does the work.
    assert 0.9 < found < 1.0


# Measurements.


def drowned(
    porosity: float,
    size: float,
    water: float,
    built: float = 0.4,
    height: float = 0.2,
    period: float = 2.5,
) -> float:
    """Transmission of a reef 1.4 m wide, some water over its crest."""
    depth = built + water
    dense, _ = reef(height, period, depth, 1.4, porosity, size)
    k = float(wavenumber(period, depth))
    above = transmission.flux_share_above(k, depth, water)
    return math.sqrt(above + (1.0 - above) * dense**2)


@pytest.mark.published
def test_oyster_reefs_that_stand_out_of_the_water_for_half_of_the_time() -> None:
    # Morris and others, reefs of the US Atlantic and Gulf (read in abstract): reefs inundated less
    # than half of the time lowered the height by 68 % (Kt 0.32). Shell of 10 cm with 65 %
    # openings, the water at the crest.
    assert drowned(0.65, 0.10, 0.0) == pytest.approx(0.32, abs=0.02)


@pytest.mark.golden
def test_how_far_drowned_oyster_reefs_miss_what_was_measured() -> None:
    # The same abstract: reefs inundated longer lowered the height by about 5 % (Kt 0.95), at depths
    # that are not told. Ours (computed) hold back more: 15 to 20 % at half a metre over the crest, and
    # 5 % only at 1.27 m.
    water = brentq(lambda over: drowned(0.65, 0.10, over) - 0.95, 0.1, 3.0)
    assert water == pytest.approx(1.27, abs=0.02)
    assert 0.80 < drowned(0.65, 0.10, 0.5) < 0.85


def test_the_block_and_the_formula_of_low_crested_mounds_agree_at_the_crest() -> None:
    # d'Angremond and others, 1996 (read at second hand): 0.30 for a permeable mound 1.4 m wide with
    # the water at its crest; shells of 5 to 10 cm with 65 % openings pass 0.22 to 0.33.
    formula = float(rival_transmission.transmission_dangremond(0.0, 0.2, 1.4, 4.0))
    low, high = drowned(0.65, 0.05, 0.0), drowned(0.65, 0.10, 0.0)
    assert low < formula < high


@pytest.mark.published
def test_reefs_on_a_flat_by_depth_of_water(tell: Callable[[str], None]) -> None:
    """Chowdhury and others, 2019, Scientific Reports (second hand, a summary): reefs 0.6 m high took 95 to
    100 % of the energy in water of up to some 0.5 m, and a part of it in 0.5 to 1 m. Neither width nor waves
    are told there: three rows of units and the waves of a small estuary stand for them."""
    waves = [(0.1, 2.0), (0.15, 2.0), (0.2, 2.5), (0.25, 3.0)]
    shallow = [
        1.0 - reef(height, period, depth, 1.4, 0.65, 0.05)[0] ** 2
        for height, period in waves
        for depth in (0.3, 0.4, 0.5)
        if height < 0.6 * depth
    ]
    deep = [
        1.0 - drowned(0.65, 0.05, water, built=0.6, height=height, period=period) ** 2
        for height, period in waves
        for water in (0.1, 0.2, 0.4)
    ]
    tell(
        f"energy taken off: up to 0.5 m {min(shallow):.2f} to {max(shallow):.2f} (measured 0.95 to 1), "
        f"0.7 to 1 m {min(deep):.2f} to {max(deep):.2f}"
    )
    assert min(shallow) > 0.95 - 0.05
    assert 0.1 < min(deep) < max(deep) < 0.95


@pytest.mark.published
def test_brush_fence_of_the_measured_kind() -> None:
    # Van Cuong and others, 2015 (read in extract): a fence of melaleuca poles let through 0.44 of
    # the height; its waves are not given. Waves of 0.3 m and 4 s in 1 m of water, 0.6 m of stems of
    # 2 to 3 cm with a drag of 1.5 to 2, need 41 to 53 % of wood: tightly packed, not impossible.
    k = float(wavenumber(4.0, 1.0))

    def through(solid: float, diameter: float, drag: float) -> float:
        beta = transmission.stem_resistance(solid, diameter, drag)
        return transmission.barrier_transmission(0.3, 0.5 * math.pi, k, 1.0, 0.0, 0.6 * beta)

    for (diameter, drag), expected in {(0.02, 2.0): 0.41, (0.03, 1.5): 0.53}.items():
        solid = brentq(lambda s, d=diameter, c=drag: through(s, d, c) - 0.44, 0.05, 0.9)
        assert solid == pytest.approx(expected, abs=0.01)


@pytest.mark.published
def test_pile_rows_of_the_measured_kind() -> None:
    # Perforated pile rows (2023, read in abstract): smallest Kt 0.58, waves of 0.06 to 0.16 m and
    # 1.4 to 2 s in 0.35 to 0.45 m. An open share of a quarter brings the highest wave there.
    assert pytest.approx(9.81, abs=0.01) == GRAVITY
    row = 0.5 * transmission.post_row_resistance(0.25)
    k = float(wavenumber(2.0, 0.4))
    Kt = transmission.barrier_transmission(0.16, math.pi, k, 0.4, 0.0, row)
    assert pytest.approx(0.58, abs=0.02) == Kt


def test_drowned_reefs_pass_what_flume_formulas_say_and_all_in_the_end(
    small_scenario: Callable[..., Any], tell: Callable[[str], None]
) -> None:
    """Seabrook and Hall (1998), submerged mounds of rubble (from memory), and up to 1.5 wave heights of
    water, above which it ends at 0.80, van der Meer and others (2005; second hand). Rubble of 10 cm
    stands for shell."""

    def seabrook(height: float, period: float, depth: float, over: float, width: float) -> float:
        length, size = 2.0 * math.pi / float(wavenumber(period, depth)), 0.10
        return (
            1.0
            - math.exp(-0.65 * over / height - 1.09 * height / width)
            - 0.047 * width * over / (length * size)
            + 0.067 * over * height / (width * size)
        )

    material = reef_material(small_scenario().central)
    built, width = 0.457, material.thickness
    gaps = []
    for height, period in ((0.1, 2.0), (0.2, 2.0), (0.25, 2.3), (0.2, 3.0)):
        rungs = wavenumber(period, np.maximum(np.arange(1200) * 0.005, 0.0025))[None, :]
        over = height * np.array([1.0, 1.5, 2.0, 3.0, 4.0, 15.0])
        found = np.zeros((over.size, 1, CONDITIONS), dtype=np.float32)
        fill_transmissions(
            np.full((over.size, 1), height), np.array([period]), rungs, 0.005, built + over, 0.0, 0.0,
            built, material, found,
        )  # fmt: skip
        passed = found[:, 0, (CONDITIONS - 1) // 2]
        assert (np.diff(passed) > 0.0).all()
        assert passed[-1] > 0.96
        xi = 1.0 / math.sqrt(2.0 * math.pi * height / (GRAVITY * period**2))
        for place, water in enumerate(over[:5]):
            flume = [seabrook(height, period, built + water, water, width)]
            if water <= 1.5 * height:
                flume.append(
                    float(rival_transmission.transmission_vandermeer(-water, height, width, xi))
                )
            gaps.append(passed[place] - np.mean(flume))
    tell(
        f"Kt of drowned reefs less that of flume formulas: {np.mean(gaps):+.3f}, at most {np.abs(gaps).max():.3f}"
    )
    assert abs(np.mean(gaps)) < 0.05
    assert np.abs(gaps).max() < 0.10
