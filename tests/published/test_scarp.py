"""Scarp laws against published relations, classical mechanics and scipy."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import astuple
from itertools import pairwise

import numpy as np
import pytest
from scipy import ndimage
from scipy.integrate import quad
from scipy.stats import rayleigh

from edgesim.errors import InvalidParameterError
from edgesim.processes.lattice import edge_statistics, surveys_of_a_lattice
from edgesim.processes.scarp import (
    WATER_UNIT_WEIGHT,
    cantilever_width,
    critical_height,
    lattice_rate,
    mean_level_weight,
    retreat_rate,
    retreat_schwimmer,
    retreat_site_normalised,
    root_cohesion,
    toppling_moments,
    undercut_cycle_mean,
    water_level_weight,
)


@pytest.mark.golden
@pytest.mark.parametrize("width", [0.0, 0.05, 0.3, 2.5])
@pytest.mark.parametrize("level", [-0.5, 0.0, 0.1, 0.75, 0.8, 1.1])
def test_mean_weight_is_the_integral_of_the_weight(level: float, width: float) -> None:
    # scipy's quadrature is the reference, split at the kinks of the tent.
    low, high = level - 0.5 * width, level + 0.5 * width
    corners = [low, *(kink for kink in (0.0, 0.8) if low < kink < high), high]
    expected = water_level_weight(level, 0.0, 0.8, 0.2)
    if width > 0.0:
        pieces = (
            quad(water_level_weight, a, b, args=(0.0, 0.8, 0.2))[0] for a, b in pairwise(corners)
        )
        expected = sum(pieces) / width
    assert mean_level_weight(level, width, 0.0, 0.8, 0.2) == pytest.approx(expected, abs=1e-9)


@pytest.mark.published
def test_weight_grows_until_the_platform_drowns_and_then_falls_rapidly() -> None:
    # Tonelli et al. 2010, abstract (read)
    levels = np.linspace(0.0, 1.6, 81)
    weights = np.array([water_level_weight(level, 0.0, 0.8, 0.2) for level in levels])
    rising = levels <= 0.8
    assert (np.diff(weights[rising]) > 0).all()
    assert (np.diff(weights[~rising]) < 0).all()
    assert levels[weights.argmax()] == pytest.approx(0.8)
    # rapidly: over the drowned platform it loses more in 0.2 m than it gained in the last 0.2 m
    assert weights[50] < weights[30]


@pytest.mark.golden
@pytest.mark.parametrize(
    ("level", "weight"),
    [(-0.1, 0.0), (0.0, 0.0), (0.4, 0.5), (0.8, 1.0), (1.0, 0.368), (1.2, 0.135)],
)
def test_weight(level: float, weight: float) -> None:
    assert water_level_weight(level, 0.0, 0.8, 0.2) == pytest.approx(weight, abs=5e-4)


@pytest.mark.golden
def test_retreat_rate() -> None:
    # Volume law from memory (Marani et al. 2011); by hand 0.05 * 10 / 0.5 = 1 m/yr
    assert retreat_rate(10.0, 0.05, 1.0, 0.5) == pytest.approx(1.0, rel=1e-12)
    assert retreat_rate(10.0, 0.05, 1.0, 1.0) == pytest.approx(0.5, rel=1e-12)
    assert retreat_rate(10.0, 0.05, 2.0, 0.5) == pytest.approx(0.5, rel=1e-12)


@pytest.mark.golden
def test_schwimmer() -> None:
    # Constants from memory (Schwimmer 2001); by hand 0.35 * 2**1.1 = 0.35 * 2.1435 = 0.7502
    own = retreat_schwimmer([50.0, 100.0, 500.0, 1000.0, 2000.0])
    assert own == pytest.approx([0.0130, 0.0278, 0.1633, 0.3500, 0.7502], abs=6e-5)


@pytest.mark.published
def test_site_normalised_retreat_is_linear_without_threshold() -> None:
    # Leonardi, Ganju and Fagherazzi 2016, abstract (read)
    own = retreat_site_normalised([0.0, 2.0, 4.0, 8.0], 4.0, 0.6)
    assert own == pytest.approx([0.0, 0.3, 0.6, 1.2], rel=1e-12)


@pytest.mark.golden
def test_site_normalised_retreat_with_another_exponent() -> None:
    own = retreat_site_normalised([0.5, 1.0, 2.0], 1.0, 1.0, exponent=1.1)
    assert own == pytest.approx([0.467, 1.0, 2.144], abs=6e-4)


@pytest.mark.golden
@pytest.mark.parametrize(("share", "erosion"), [(0.1, 0.330), (0.01, 0.0561), (0.001, 0.00791)])
def test_share_of_erosion_done_by_the_highest_waves(share: float, erosion: float) -> None:
    # Linear law, power as height squared, Rayleigh heights: the part above the height that a share p
    # exceeds is p (1 + ln(1/p)), here by quadrature of our law over scipy's density. Same order
    # as the read "violent storms below 1 % of the long-term erosion" for the rarest waves.
    mean = quad(lambda h: h**2 * rayleigh.pdf(h), 0, 12)[0]

    def law(h: float) -> float:
        return float(retreat_site_normalised(h**2, mean, 1.0) * rayleigh.pdf(h))

    own = quad(law, rayleigh.isf(share), 12)[0]
    assert own == pytest.approx(share * (1 + math.log(1 / share)), rel=1e-6)
    assert own == pytest.approx(erosion, rel=2e-3)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("strength", "weight", "heights"),
    [(5e3, 15e3, (1.333, 1.277, 0.890)), (2e3, 14e3, (0.571, 0.547, 0.381))],
)
def test_critical_height(strength: float, weight: float, heights: tuple[float, ...]) -> None:
    # Stability numbers classical, from memory; by hand 4 * 5 / 15 = 1.333
    own = [float(critical_height(strength, weight, number)) for number in (4.0, 3.83, 2.67)]
    assert own == pytest.approx(heights, abs=6e-4)


def test_critical_height_of_a_plane_wedge() -> None:
    # Culmann: a plane through the toe at angle a of a vertical cut stands while
    # c H / sin a > W sin a with W = gamma H^2 / (2 tan a), so H = 2 c / (gamma sin a cos a), least
    # at 45 degrees. The curved surface (3.83) must lie a little below that plane's 4.
    angles = np.radians(np.linspace(5, 85, 8001))
    plane = (2 * 5e3 / (15e3 * np.sin(angles) * np.cos(angles))).min()
    assert critical_height(5e3, 15e3, 4.0) == pytest.approx(plane, rel=1e-6)
    assert 0.95 * plane < critical_height(5e3, 15e3) < plane


@pytest.mark.golden
@pytest.mark.parametrize(
    ("tensile", "thickness", "weight", "width"),
    [(2e3, 0.5, 14e3, 0.154), (5e3, 1.0, 16e3, 0.323), (2e3, 0.5, 14e3 - 10.05e3, 0.290)],
)
def test_cantilever(tensile: float, thickness: float, weight: float, width: float) -> None:
    # By hand: sqrt(2 * 0.5 / (3 * 14)) = 0.1543 m. The last case is drowned.
    assert cantilever_width(tensile, thickness, weight) == pytest.approx(width, abs=6e-4)


def test_cantilever_stress_by_beam_theory() -> None:
    # Largest fibre stress M y / I of the overhang of that width is its strength.
    width = float(cantilever_width(2e3, 0.5, 14e3))
    moment = quad(lambda x: 14e3 * 0.5 * x, 0, width)[0]
    inertia = 0.5**3 / 12
    assert moment * 0.25 / inertia == pytest.approx(2e3, rel=1e-9)


@pytest.mark.published
def test_drowned_overhang_stands_wider() -> None:
    # Failures cluster at low water (Bendoni et al. 2014, abstract, read: worst case is a low tide).
    drowned = cantilever_width(2e3, 0.5, 14e3 - WATER_UNIT_WEIGHT)
    assert drowned > cantilever_width(2e3, 0.5, 14e3)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("height", "width", "overturning", "resisting"),
    # In kN m per m. By hand: 10.055 * 0.6^3 / 6 = 0.362; 14 * 0.2^2 * 0.6 / 2 + 0.2^2 / 6 = 0.1747
    [(0.6, 0.2, 0.362, 0.175), (1.0, 0.3, 1.675, 0.645)],
)
def test_toppling(height: float, width: float, overturning: float, resisting: float) -> None:
    own = np.array(toppling_moments(height, width, height, 0.0, 14e3, 1e3)) / 1e3
    assert own == pytest.approx([overturning, resisting], abs=1e-3)
    assert own[0] > own[1]
    balanced, _ = toppling_moments(height, width, height, height, 14e3, 1e3)
    assert balanced == 0.0


def test_toppling_moment_by_integration_of_water_pressure() -> None:
    weight, crack, front = WATER_UNIT_WEIGHT, 0.8, 0.3
    crack_side = quad(lambda z: weight * (crack - z) * z, 0, crack)[0]
    front_side = quad(lambda z: weight * (front - z) * z, 0, front)[0]
    overturning, _ = toppling_moments(1.0, 0.3, crack, front, 14e3, 1e3)
    assert overturning == pytest.approx(crack_side - front_side, rel=1e-9)


@pytest.mark.golden
def test_undercut_cycle() -> None:
    # By hand: 0.3 / (0.3 / 0.5 + 0.25) = 0.3 / 0.85 = 0.353
    assert undercut_cycle_mean(0.3, 0.5, [0.25, 0.0]) == pytest.approx([0.353, 0.5], abs=5e-4)


def test_undercut_cycle_by_running_it() -> None:
    step, overhang, rest, edge = 1e-3, 0.0, 0.0, 0.0
    for _ in range(170_000):  # 170 yr, 200 cycles of 0.85 yr
        if rest > 0:
            rest -= step
        elif (overhang := overhang + 0.5 * step) >= 0.3 - 1e-9:
            edge, overhang, rest = edge + overhang, 0.0, 0.25 - 1e-9
    assert edge / 170 == pytest.approx(float(undercut_cycle_mean(0.3, 0.5, 0.25)), rel=0.01)


@pytest.mark.golden
def test_root_cohesion() -> None:
    # Wu et al. 1979 from memory; 1.1 * 10 MPa * 0.001 = 11 kPa
    assert root_cohesion(10e6, 0.001) == pytest.approx(11e3, rel=1e-12)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("power", "critical", "wave", "rate"),
    # Rule read in the authors' summary; by hand 0.35 * 1 * exp(-1 / 0.3) = 0.35 * 0.03567 = 0.01249
    [
        (1000.0, 1.0, 0.3, 0.01249),
        (1000.0, 0.5, 0.3, 0.06611),
        (2000.0, 0.5, 0.6, 0.3260),
        (100.0, 0.5, 0.15, 0.00099),
    ],
)
def test_lattice_rate(power: float, critical: float, wave: float, rate: float) -> None:
    assert lattice_rate(power, critical, wave) == pytest.approx(rate, abs=6e-5)


@pytest.mark.golden
@pytest.mark.parametrize(("wave", "ratio"), [(0.3, 0.189), (0.15, 0.0357), (1.0, 0.607)])
def test_contrast_of_strong_and_weak_cells(wave: float, ratio: float) -> None:
    own = lattice_rate(500.0, 1.0, wave) / lattice_rate(500.0, 0.5, wave)
    assert own == pytest.approx(ratio, abs=6e-4)


def of_lattices(wave_height: float, seeds: int, variation: float = 0.5) -> np.ndarray:
    """Mean over seeds of length, variation, extreme, skewness and spread of the profile."""
    found = [
        edge_statistics(
            surveys_of_a_lattice(wave_height, np.random.default_rng(seed), variation=variation)
        )
        for seed in range(seeds)
    ]
    return np.mean([astuple(one) for one in found], axis=0)


@pytest.mark.published
def test_high_energy_retreats_evenly_and_low_energy_unpredictably() -> None:
    # Leonardi and Fagherazzi 2014, 2015 (public summary, read): high energy gives uniform erosion
    # and a smooth edge, low energy with strong soil a jagged edge with many small and few very
    # large events. Thresholds 0.6 and 1.2 of the spread are judgement.
    high_length, high_spread, high_extreme, *_ = of_lattices(2.0, 1)
    low_length, low_spread, low_extreme, *_ = of_lattices(0.15, 1)
    assert high_spread < 0.6
    assert low_spread > 1.2
    assert low_length > 5 * high_length
    assert low_extreme > 2 * high_extreme


@pytest.mark.golden
@pytest.mark.parametrize(
    ("wave_height", "expected"),
    # Mean and standard deviation over six seeds of an independent run of the rule; ours, also over
    # six seeds, must lie within two of those deviations.
    [
        (2.0, ((3.28, 0.10), (0.457, 0.011), (2.33, 0.08), (0.80, 0.10), (4.8, 0.9))),
        (0.5, ((5.16, 0.11), (0.918, 0.033), (4.20, 0.16), (3.4, 0.5), (5.1, 1.0))),
        (0.15, ((39.9, 1.2), (2.14, 0.03), (9.23, 0.22), (2.5, 0.1), (9.0, 0.6))),
        (0.10, ((68.4, 2.0), (2.90, 0.03), (12.1, 0.3), (3.2, 0.1), (13.0, 1.5))),
    ],
)
def test_lattice_statistics(wave_height: float, expected: tuple[tuple[float, float], ...]) -> None:
    own = of_lattices(wave_height, 6)
    for value, (mean, deviation) in zip(own, expected, strict=True):
        assert value == pytest.approx(mean, abs=2 * deviation)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("wave_height", "length", "spread"),
    # The same run with a coefficient of variation of 0.3, no deviations stated: to a tenth.
    [
        (2.0, 3.09, 0.43),
        (1.0, 3.29, 0.47),
        (0.5, 3.81, 0.61),
        (0.3, 5.29, 0.95),
        (0.15, 16.3, 1.45),
    ],
)
def test_lattice_of_even_soil(wave_height: float, length: float, spread: float) -> None:
    own = of_lattices(wave_height, 4, variation=0.3)
    assert own[0] == pytest.approx(length, rel=0.1)
    assert own[1] == pytest.approx(spread, rel=0.1)


def test_a_cell_left_alone_goes_too_and_none_goes_before_it_is_exposed() -> None:
    maps = surveys_of_a_lattice(0.3, np.random.default_rng(4), columns=60, surveys=4)
    for before, after in pairwise(maps):
        assert (after >= before).all()
    last = maps[-1]
    left = ~last
    beside = np.roll(left, 1, 0) | np.roll(left, -1, 0)
    beside[:, 1:] |= left[:, :-1]
    beside[:, :-1] |= left[:, 1:]
    assert (left & ~beside).sum() == 0
    # Every gone cell hangs together with the water in front of row 0.
    water = np.pad(last, ((0, 0), (1, 0)), constant_values=True)
    # Laid out twice, since the shore is periodic.
    labels, _ = ndimage.label(np.concatenate([water, water], axis=0))
    assert set(np.unique(labels[30:90])) <= {0, labels[0, 0]}


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: retreat_schwimmer(-1.0), "power"),
        (lambda: retreat_site_normalised(1.0, 0.0, 1.0), "site_power"),
        (lambda: critical_height(1.0, 0.0), "unit_weight"),
        (lambda: cantilever_width(1.0, np.nan, 1.0), "thickness"),
        (lambda: toppling_moments(1.0, -1.0, 0.0, 0.0, 1.0, 1.0), "width"),
        (lambda: toppling_moments(1.0, 1.0, -0.1, 0.0, 1.0, 1.0), "crack_water"),
        (lambda: undercut_cycle_mean(0.3, 0.5, -1.0), "residence"),
        (lambda: root_cohesion(1.0, -0.1), "area_ratio"),
        (lambda: surveys_of_a_lattice(0.0, np.random.default_rng(1)), "wave_height"),
    ],
)
def test_refuses_numbers_outside_the_domain(call: Callable[[], object], name: str) -> None:
    with pytest.raises(InvalidParameterError, match=name):
        call()
