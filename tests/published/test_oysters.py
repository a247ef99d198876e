"""Oyster formulas against read numbers, scipy, and regression values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import lognorm, norm

from edgesim.processes import oysters

PREDATION_LIMIT = 0.2


@pytest.mark.published
def test_salinity_corners() -> None:
    # VIMS reef siting page: a site needs salinity always above 10, below 5 is unsuitable (read).
    assert oysters.salinity_suitability(5.0) == 0.0
    assert oysters.salinity_suitability(4.0) == 0.0
    assert all(oysters.salinity_suitability(s) == 1.0 for s in (10.0, 15.0, 20.0))
    assert 0.0 < oysters.salinity_suitability(9.9) < 1.0


@pytest.mark.golden
def test_salinity_ramps() -> None:
    # By hand: (7.5 - 5)/5 = 0.5; half of the taper 28 to 35 is 31.5: 1 - 0.4/2 = 0.8.
    assert oysters.salinity_suitability(7.5) == pytest.approx(0.5)
    assert oysters.salinity_suitability(31.5) == pytest.approx(0.8)
    assert oysters.salinity_suitability(40.0) == pytest.approx(0.6)


@pytest.mark.published
def test_season_shape() -> None:
    # O'Beirn, Heffernan and Walker (abstracts): May to October, peak in August, July to
    # September high (read). The weights themselves are judgement.
    season = np.array(oysters.RECRUITMENT_SEASON)
    assert season.sum() == pytest.approx(1.0, abs=1e-12)
    assert season.argmax() == 7
    assert set(np.flatnonzero(season)) == set(range(4, 10))
    assert season[6:9].sum() > 0.5


def test_year_factor_is_a_lognormal_of_mean_one() -> None:
    # Independent: scipy.stats.lognorm with scale exp(-sigma^2/2), and Gauss-Hermite mean.
    sigma = 0.5
    z, weight = np.polynomial.hermite_e.hermegauss(40)
    factors = np.array([oysters.year_factor(sigma, float(x)) for x in z])
    assert (weight @ factors) / weight.sum() == pytest.approx(1.0, rel=1e-12)
    reference = lognorm(s=sigma, scale=math.exp(-0.5 * sigma**2))
    for share in (0.1, 0.5, 0.9):
        draw = oysters.year_factor(sigma, float(norm.ppf(share)))
        assert draw == pytest.approx(reference.ppf(share), rel=1e-12)


@pytest.mark.golden
@pytest.mark.parametrize(("share", "expected"), [(0.1, 0.465), (0.5, 0.882), (0.9, 1.675)])
def test_year_factor_quantiles(share: float, expected: float) -> None:
    # By hand: exp(-0.125) = 0.8825; times exp(0.5 * 1.2816) = 1.898 gives 1.675.
    assert oysters.year_factor(0.5, float(norm.ppf(share))) == pytest.approx(expected, abs=5e-4)


def test_free_space() -> None:
    assert oysters.free_space(0.0, 3000.0) == 1.0
    assert oysters.free_space(750.0, 3000.0) == 0.75
    assert oysters.free_space(5000.0, 3000.0) == 0.0


def test_growth_stops_at_the_exposure_limit() -> None:
    assert oysters.growth_coefficient(0.6, 0.0, 0.75) == 0.6
    assert oysters.growth_coefficient(0.6, 0.375, 0.75) == pytest.approx(0.3)
    assert oysters.growth_coefficient(0.6, 0.9, 0.75) == 0.0


@pytest.mark.golden
@pytest.mark.parametrize(
    ("age", "height_mm"), [(0.5, 23.33), (1.0, 40.61), (2.0, 62.89), (3.0, 75.12), (5.0, 85.52)]
)
def test_shell_height(age: float, height_mm: float) -> None:
    # Equation from memory (von Bertalanffy 1938). By hand at 1 yr: 90 (1 - e^-0.6) = 40.61.
    height = oysters.shell_height(age, 0.090, 0.6, 0.0)
    assert 1e3 * height == pytest.approx(height_mm, abs=5e-3)
    # A shell that was born later is as tall, that much later; none is shorter than nothing.
    assert oysters.shell_height(age + 0.2, 0.090, 0.6, 0.2) == pytest.approx(height)
    assert oysters.shell_height(0.1, 0.090, 0.6, 0.2) == 0.0


def test_height_increment_solves_the_growth_equation() -> None:
    # Independent: dh/dt = k (linf - h) by scipy.integrate.solve_ivp.
    linf, k, start = 0.09, 0.6, 0.02
    solved = solve_ivp(lambda t, h: k * (linf - h), (0.0, 1.7), [start], rtol=1e-10, atol=1e-14)
    grown = start + oysters.height_increment(start, linf, k, 1.7)
    assert grown == pytest.approx(solved.y[0, -1], rel=1e-8)
    assert oysters.height_increment(0.10, linf, k, 1.0) == 0.0


def test_heat_and_predation_act_at_opposite_ends() -> None:
    assert oysters.heat_mortality(0.55, 0.55, 3.0) == 0.0
    assert oysters.heat_mortality(0.775, 0.55, 3.0) == pytest.approx(1.5)
    assert oysters.heat_mortality(1.0, 0.55, 3.0) == pytest.approx(3.0)
    assert oysters.subtidal_predation(0.0, PREDATION_LIMIT, 1.5) == 1.5
    assert oysters.subtidal_predation(0.1, PREDATION_LIMIT, 1.5) == pytest.approx(0.75)
    assert oysters.subtidal_predation(0.3, PREDATION_LIMIT, 1.5) == 0.0


@pytest.mark.published
@pytest.mark.parametrize("spread", [0.05, 0.08, 0.12])
def test_burial_kills_half_at_108_percent(spread: float) -> None:
    # Colden and Lipcius (2015), abstract, read: 50 % mortality at 108 % burial; survival
    # falls significantly only at 90 % and more (tested at 0, 50, 70, 90 and 110 %).
    assert oysters.burial_kill(1.08, spread) == pytest.approx(0.5)
    assert oysters.burial_kill(0.7, spread) < 0.05
    assert oysters.burial_kill(1.10, spread) > 0.5


@pytest.mark.golden
@pytest.mark.parametrize(
    ("ratio", "killed"),
    [(0.5, 0.0007), (0.7, 0.0086), (0.9, 0.0953), (1.0, 0.2689), (1.1, 0.5622)],
)
def test_burial_curve(ratio: float, killed: float) -> None:
    # By hand at 1.0: 1/(1 + e^1) = 0.2689.
    assert oysters.burial_kill(ratio, 0.08) == pytest.approx(killed, abs=6e-5)


@pytest.mark.golden
@pytest.mark.parametrize(("temperature", "rate"), [(15.0, 0.022), (25.0, 0.10), (30.0, 0.212)])
def test_freshet(temperature: float, rate: float) -> None:
    # Weekly rates; by hand at 30 C: 0.1 e^0.75 = 0.2117.
    assert oysters.freshet_mortality(3.0, temperature, 0.10) == pytest.approx(rate, abs=5e-4)
    assert oysters.freshet_mortality(5.0, temperature, 0.10) == 0.0


@pytest.mark.published
def test_two_centimetre_wakes_move_shallow_clusters_only() -> None:
    # Campbell et al., wave tank (abstract, read): wakes as small as 2 cm moved oysters
    # embedded 1 to 4 cm; away from channels reefs sit deeper than 20 cm.
    for embedment in (0.01, 0.04):
        assert oysters.dislodging_height(embedment) == pytest.approx(0.02)
        assert oysters.dislodged_share(0.021, embedment, 1e-4) > 0.0
    assert oysters.dislodged_share(0.10, 0.20, 1e-4) == 0.0


@pytest.mark.golden
def test_dislodged_share() -> None:
    assert oysters.dislodged_share(0.02, 0.03, 1e-4) == 0.0
    # By hand: (0.10 - 0.02)/0.02 = 4.
    assert oysters.dislodged_share(0.10, 0.03, 1e-4) == pytest.approx(4e-4)
    assert oysters.dislodged_share(100.0, 0.0, 1e-3) == 1.0


TISSUE_FITS = {
    # Virginia Institute of Marine Science, web page on density and biomass (fits read):
    # a [g mm-b], b, then dry grams at 30, 50, 75, 100 mm (computed).
    "first": (7.12e-5, 2.15, (0.1067, 0.3201, 0.7654, 1.4206)),
    "second": (9.63e-6, 2.743, (0.1085, 0.4405, 1.3394, 2.9487)),
    "third": (4.92e-5, 2.299, (0.1224, 0.3962, 1.0063, 1.9497)),
}


@pytest.mark.published
def test_default_tissue_is_the_third_published_fit() -> None:
    a, b, _ = TISSUE_FITS["third"]
    assert oysters.tissue_mass(0.060) == oysters.tissue_mass(0.060, a, b)
    # 4.92e-5 * 100^2.299 g = 4.92e-5 * 10^4.598 g, by hand 1.950 g.
    assert oysters.tissue_mass(0.100) == pytest.approx(4.92e-8 * 10**4.598, rel=1e-12)


@pytest.mark.golden
@pytest.mark.parametrize("fit", TISSUE_FITS)
def test_tissue_mass(fit: str) -> None:
    a, b, grams = TISSUE_FITS[fit]
    masses = [1e3 * oysters.tissue_mass(h, a, b) for h in (0.030, 0.050, 0.075, 0.100)]
    assert masses == pytest.approx(grams, abs=6e-5)


@pytest.mark.golden
def test_fifty_middling_oysters_miss_the_biomass_target() -> None:
    # Fifty of 50 mm weigh 19.8 g/m2: above the 15 g/m2 threshold and below the 50 g/m2
    # target of the Oyster Metrics Workgroup 2011 (thresholds from memory).
    biomass = 50.0 * 1e3 * oysters.tissue_mass(0.050)
    assert biomass == pytest.approx(19.8, abs=0.05)
    assert 15.0 < biomass < 50.0


@pytest.mark.golden
@pytest.mark.parametrize(("height", "grams"), [(0.030, 5.3), (0.050, 17.7), (0.075, 45.9)])
def test_shell_mass(height: float, grams: float) -> None:
    assert 1e3 * oysters.shell_mass(height) == pytest.approx(grams, abs=0.06)


@pytest.mark.published
def test_reef_growth_band() -> None:
    # Ridge et al. (2015), abstract, read: zero growth at 10 % and 55 % exposure, greatest
    # growth between 20 and 40 %.
    assert oysters.reef_growth(0.10) == 0.0
    assert oysters.reef_growth(0.55) == pytest.approx(0.0, abs=1e-12)
    exposures = np.linspace(0.0, 1.0, 1001)
    growth = np.array([oysters.reef_growth(float(e)) for e in exposures])
    assert 0.20 <= exposures[growth.argmax()] <= 0.40
    assert growth.max() == pytest.approx(1.0)
    assert not growth[(exposures < 0.0995) | (exposures > 0.5505)].any()


@pytest.mark.golden
@pytest.mark.parametrize(
    ("exposure", "share"),
    [(0.20, 0.6914), (0.30, 0.9877), (0.325, 1.0), (0.40, 0.8889), (0.50, 0.3951)],
)
def test_reef_growth_parabola(exposure: float, share: float) -> None:
    # By hand at 0.40: 4 * 0.30 * 0.15 / 0.45^2 = 0.8889.
    assert oysters.reef_growth(exposure) == pytest.approx(share, abs=6e-5)


def test_old_reefs_grow_higher() -> None:
    # Bost et al. (2021), read: old reefs grow fastest at 0.50 to 0.60, tops up to 0.70; the
    # wider upper limit moves the band up but not so far: its peak is at 0.40.
    assert oysters.reef_growth(0.60, 0.10, 0.70) > oysters.reef_growth(0.60)
    assert oysters.reef_growth(0.40, 0.10, 0.70) == pytest.approx(1.0)


def test_consolidation_needs_recruits() -> None:
    assert oysters.consolidation(0.0, 500.0) == 0.0
    # By hand: 1 - 1/e = 0.632; 0.7 needs 500 ln(1/0.3) = 602 oysters a square metre.
    assert oysters.consolidation(500.0, 500.0) == pytest.approx(1.0 - math.exp(-1.0))
    assert oysters.consolidation(602.0, 500.0) == pytest.approx(0.7, abs=1e-3)
