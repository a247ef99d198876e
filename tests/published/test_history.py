"""Posterior of the rate of retreat against closed forms and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from edgesim.errors import InvalidParameterError
from edgesim.processes.history import BLOCK_SCATTER, YEAR_VARIATION, retreat_posterior


@pytest.mark.published
def test_without_scatter_it_is_weighted_least_squares(monkeypatch: pytest.MonkeyPatch) -> None:
    # Textbook: scipy/numpy's weighted fit with known errors is the reference.
    monkeypatch.setattr("edgesim.processes.history.BLOCK_SCATTER", 1e-9)
    monkeypatch.setattr("edgesim.processes.history.YEAR_VARIATION", 0.0)
    years, errors = np.array([1980.0, 1991.0, 2003.0, 2014.0]), np.array([3.0, 2.0, 1.0, 0.5])
    places = np.array([0.3, 4.0, 9.5, 13.9])
    fit, covariance = np.polyfit(years - 1980.0, places, 1, w=1.0 / errors, cov="unscaled")
    mean, sd = retreat_posterior(years, places, errors)
    assert mean == pytest.approx(fit[0], rel=1e-9)
    assert sd == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-9)


def test_two_surveys_by_hand() -> None:
    # Two points lie on any line: s keeps its prior. Per s the variance of the rate is
    # (e1^2 + e2^2 + 2 s^2) / T^2 + (c R)^2 / T; the likelihood with a and R integrated out does
    # not depend on s, so the mean of s^2 is that of half a normal cut at six scales.
    span, errors, rate = 30.0, (2.0, 1.0), 0.4
    prior = stats.truncnorm(0.0, 6.0, scale=BLOCK_SCATTER)
    second = quad(lambda s: s**2 * prior.pdf(s), 0.0, 6.0 * BLOCK_SCATTER)[0]
    variance = (errors[0] ** 2 + errors[1] ** 2 + 2.0 * second) / span**2
    variance += (YEAR_VARIATION * rate) ** 2 / span
    mean, sd = retreat_posterior([1990.0, 1990.0 + span], [0.0, rate * span], errors)
    assert mean == pytest.approx(rate, rel=1e-9)
    assert sd == pytest.approx(np.sqrt(variance), rel=1e-3)


@pytest.mark.parametrize("rate", [0.2, 0.4, 1.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_six_surveys_tell_more_than_two(rate: float, seed: int) -> None:
    years = np.linspace(1994.0, 2024.0, 6)
    noise = np.random.default_rng(seed).normal(0.0, 1.0, 6)
    places = rate * (years - years[0]) + noise
    _, six = retreat_posterior(years, places, np.ones(6))
    _, two = retreat_posterior(years[[0, -1]], places[[0, -1]], np.ones(2))
    assert two > 1.02 * six


def test_surveys_off_the_line_widen_the_posterior() -> None:
    years = np.linspace(1994.0, 2024.0, 6)
    straight = 0.4 * (years - years[0])
    _, on_line = retreat_posterior(years, straight, np.full(6, 0.1))
    bent = straight + np.array([0.0, 1.2, -1.0, 1.1, -1.2, 0.1])
    _, off_line = retreat_posterior(years, bent, np.full(6, 0.1))
    assert off_line > 1.3 * on_line


def test_true_rates_fall_into_the_stated_bands() -> None:
    """Of many synthetic records nine in ten put the true rate within 1.645 standard deviations."""
    rng = np.random.default_rng(8)
    years, errors, rate = np.linspace(0.0, 25.0, 6), np.full(6, 0.8), 0.5
    inside = 0
    for _ in range(400):
        scatter = abs(rng.normal(0.0, BLOCK_SCATTER))
        walk = rng.normal(0.0, YEAR_VARIATION * rate * np.sqrt(5.0), 5)
        places = rate * years + np.concatenate([[0.0], np.cumsum(walk)])
        places += rng.normal(0.0, np.hypot(errors, scatter))
        mean, sd = retreat_posterior(years, places, errors)
        inside += abs(mean - rate) < 1.645 * sd
    # Two standard errors of a share of 0.9 in 400 are 0.03.
    assert inside / 400 == pytest.approx(0.9, abs=0.04)


@pytest.mark.parametrize(
    ("years", "positions", "errors", "word"),
    [
        ([1.0], [1.0], [1.0], "two"),
        ([2.0, 1.0], [1.0, 2.0], [1.0, 1.0], "increase"),
        ([1.0, 2.0], [1.0, 2.0], [1.0, 0.0], "errors"),
        ([1.0, 2.0], [1.0, np.nan], [1.0, 1.0], "finite"),
    ],
)
def test_refuses_impossible_surveys(
    years: list[float], positions: list[float], errors: list[float], word: str
) -> None:
    with pytest.raises(InvalidParameterError, match=word):
        retreat_posterior(years, positions, errors)
