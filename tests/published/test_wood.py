"""Wood lives and fill against scipy, read observations and regression values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import weibull_min

from edgesim.processes import wood


@pytest.mark.parametrize(("scale", "shape"), [(2.0, 2.0), (4.0, 2.5), (25.0, 3.0)])
def test_weibull_is_that_of_scipy(scale: float, shape: float) -> None:
    reference = weibull_min(shape, scale=scale)
    for share in (0.0, 0.01, 0.5, 0.99):
        expected = reference.ppf(share)
        assert wood.weibull_lifetime(share, scale, shape) == pytest.approx(expected, rel=1e-12)
    for t in (0.0, 0.5, 3.0, 10.0):
        expected = reference.sf(t)
        assert wood.weibull_survival(t, scale, shape) == pytest.approx(expected, rel=1e-10)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("t", "scale", "shape", "sound"),
    [
        (1.0, 2.0, 2.0, 0.7788),
        (2.0, 2.0, 2.0, 0.3679),
        (3.0, 2.0, 2.0, 0.1054),
        (2.0, 4.0, 2.5, 0.8380),
        (5.0, 4.0, 2.5, 0.1743),
        (10.0, 25.0, 3.0, 0.9380),
    ],
)
def test_weibull_survival(t: float, scale: float, shape: float, sound: float) -> None:
    # By hand, first row: exp(-(1/2)^2) = e^-0.25 = 0.7788.
    assert wood.weibull_survival(t, scale, shape) == pytest.approx(sound, abs=5e-5)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("scale", "shape", "mean"), [(2.0, 2.0, 1.772), (4.0, 2.5, 3.549), (25.0, 3.0, 22.32)]
)
def test_mean_life(scale: float, shape: float, mean: float) -> None:
    # Mean of the drawn lives over an even grid of draws; by hand scale Gamma(1 + 1/shape).
    draws = (np.arange(20_000) + 0.5) / 20_000
    lives = [wood.weibull_lifetime(float(u), scale, shape) for u in draws]
    assert np.mean(lives) == pytest.approx(mean, rel=5e-4)


@pytest.mark.golden
def test_median_life() -> None:
    assert wood.weibull_lifetime(0.5, 2.0, 2.0) == pytest.approx(1.665, abs=5e-4)


@pytest.mark.published
def test_bamboo_lasts_two_years_in_the_tropics() -> None:
    # Trade news review, 2017, read: shipworm limits bamboo posts to 2 years (warm, salty,
    # immersed). The median life at full borer pressure is within half a year of that.
    bamboo = wood.WOODS["untreated bamboo"]
    pressure = (wood.salinity_factor(30.0), wood.temperature_factor(29.0))
    scale = wood.scale_life(bamboo.life[1], 1.0, *pressure, wood.immersion_factor(0.0))
    assert scale == 2.0
    assert abs(wood.weibull_lifetime(0.5, scale, bamboo.shape) - 2.0) < 0.5


@pytest.mark.published
def test_treated_pine_away_from_borers_outlives_a_fifty_year_plot() -> None:
    # Forest Products Journal 65(7-8):307, abstract, read: of 125 treated posts in soil none
    # had failed in 50 years. With the lowest borer pressure that outcome must be likely.
    pine = wood.WOODS["treated pine"]
    scale = wood.scale_life(pine.life[1], 1.0, 1.0, 1.0, 0.0)
    none_failed = wood.weibull_survival(50.0, scale, pine.shape) ** 125
    assert none_failed > 0.05


@pytest.mark.golden
def test_borer_pressure() -> None:
    # Limits from memory, ramps judgement. By hand at 10: 0.05 + 0.95/2 = 0.525.
    assert wood.salinity_factor(2.0) == pytest.approx(0.05)
    assert wood.salinity_factor(10.0) == pytest.approx(0.525)
    assert wood.salinity_factor(35.0) == pytest.approx(1.0)
    assert wood.temperature_factor(11.0) == 0.0
    assert wood.temperature_factor(18.0) == pytest.approx(0.5)
    assert wood.temperature_factor(28.0) == 1.0
    assert wood.immersion_factor(0.3) == pytest.approx(0.7)


@pytest.mark.golden
def test_fresh_water_and_mud_lengthen_life_twentyfold() -> None:
    fresh = wood.scale_life(2.0, 1.0, wood.salinity_factor(0.0), 1.0, 1.0)
    assert fresh == pytest.approx(40.0)
    buried = wood.scale_life(2.0, 1.0, 1.0, 1.0, wood.BURIED_IMMERSION)
    assert buried == pytest.approx(40.0)
    assert wood.scale_life(2.0, wood.diameter_factor(0.15), 1.0, 1.0, 1.0) == pytest.approx(3.0)


def test_branches_high_on_the_shore_agree_with_their_own_estimate() -> None:
    # Independent judgement for branches that are dry more than half of the time: 2 to 8 years.
    branches = wood.WOODS["untreated branches"]
    for exposure in (0.55, 0.75, 0.85):
        immersion = wood.immersion_factor(exposure)
        assert 2.0 <= wood.scale_life(branches.life[1], 1.0, 1.0, 1.0, immersion) <= 8.0


def test_table_rows_are_sound() -> None:
    for name, row in wood.WOODS.items():
        assert row.name == name
        assert row.part in {"post", "branch"}
        assert 0.0 < row.life[0] < row.life[1] < row.life[2]
        assert row.shape > 1.0
        assert row.source
        assert row.mark in {"read", "from memory", "judgement"}
    order = ["untreated branches", "untreated softwood", "durable heartwood", "treated pine"]
    lives = [wood.WOODS[name].life[1] for name in order]
    assert lives == sorted(lives)


def test_section_is_eaten_from_outside() -> None:
    assert wood.section_diameter(0.10, 0.01, 2.0) == pytest.approx(0.06)
    assert wood.section_diameter(0.10, 0.01, 50.0) == 0.0


@pytest.mark.golden
def test_fill_height_after_a_year() -> None:
    # By hand: 0.8 e^-0.9 = 0.8 * 0.4066 = 0.325.
    remaining = wood.fill_remaining(1.0, 0.6, 0.3)
    assert remaining == pytest.approx(0.4066, abs=5e-5)
    assert wood.fill_height(1.0, 0.2, remaining) == pytest.approx(0.325, abs=5e-4)


@pytest.mark.golden
@pytest.mark.parametrize(("rate", "years"), [(0.9, 0.148), (0.3, 0.445)])
def test_time_to_refill(rate: float, years: float) -> None:
    # By hand: ln(0.8/0.7) = 0.1335, over 0.9 is 0.148.
    assert wood.time_to_refill(0.7, 0.2, rate) == pytest.approx(years, abs=5e-4)
    left = wood.fill_remaining(wood.time_to_refill(0.7, 0.2, rate), rate, 0.0)
    assert wood.fill_height(1.0, 0.2, left) == pytest.approx(0.7)
    assert wood.time_to_refill(0.85, 0.2, rate) == 0.0


def test_losses_of_fill_solve_rival_first_order_decay() -> None:
    # Independent: three pools, dm/dt = -(k_w + k_l) m, by scipy.integrate.solve_ivp.
    decay, washing, t = 0.6, 0.3, 1.4
    solved = solve_ivp(
        lambda _, y: [-(decay + washing) * y[0], decay * y[0], washing * y[0]],
        (0.0, t),
        [1.0, 0.0, 0.0],
        rtol=1e-11,
        atol=1e-13,
    )
    ours = (
        wood.fill_remaining(t, decay, washing),
        wood.fill_lost_to(t, decay, washing),
        wood.fill_lost_to(t, washing, decay),
    )
    assert ours == pytest.approx(solved.y[:, -1], rel=1e-8)
    assert math.fsum(ours) == pytest.approx(1.0, abs=1e-15)
    assert wood.fill_lost_to(t, 0.0, 0.0) == 0.0


def test_new_fill_settles_and_stops() -> None:
    assert wood.settlement_share(0.0, 0.2, 120.0) == 0.0
    assert wood.settlement_share(60.0, 0.2, 120.0) == pytest.approx(0.1)
    assert wood.settlement_share(400.0, 0.2, 120.0) == pytest.approx(0.2)
