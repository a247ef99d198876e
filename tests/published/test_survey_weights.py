"""Weighing futures by surveys, against what is known in closed form.

The normal prior with normal surveys has its posterior and the density of its surveys in every textbook
(conjugate normal; here from memory, and the densities by scipy.stats).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from edgesim.monitoring.weights import (
    drawn,
    effective_number,
    error_factor,
    log_likelihood,
    posterior,
)
from edgesim.outcomes.summary import survey_band, weighted_quantiles

FUTURES = 200_000


def quantile_ladder(mean: float, sd: float) -> np.ndarray:
    """Futures that stand for a normal belief without the noise of chance. (n, 1)."""
    return norm.ppf((np.arange(FUTURES) + 0.5) / FUTURES, mean, sd)[:, None]


@pytest.mark.published
@pytest.mark.parametrize(("seen", "error"), [(0.5, 0.5), (-1.2, 0.3), (2.0, 1.5)])
def test_normal_futures_and_surveys_give_the_conjugate_posterior(seen: float, error: float) -> None:
    futures = quantile_ladder(0.4, 0.8)
    even = np.full(FUTURES, 1.0 / FUTURES)
    weights = posterior(even, log_likelihood(futures, np.array([seen]), np.array([error])))
    precision = 1.0 / 0.8**2 + 1.0 / error**2
    mean = (0.4 / 0.8**2 + seen / error**2) / precision
    assert weights @ futures[:, 0] == pytest.approx(mean, abs=1e-4)
    spread = weights @ (futures[:, 0] - mean) ** 2
    assert spread == pytest.approx(1.0 / precision, rel=1e-3)
    ends = weighted_quantiles(futures[:, 0], weights, [0.05, 0.5, 0.95])
    np.testing.assert_allclose(ends, norm.ppf([0.05, 0.5, 0.95], mean, precision**-0.5), atol=1e-3)


@pytest.mark.published
def test_beliefs_get_the_weight_of_the_density_of_their_surveys() -> None:
    """Two beliefs; the density of a survey under each is normal with both spreads."""
    fast, slow = quantile_ladder(1.0, 0.3), quantile_ladder(0.5, 0.2)
    prior = np.repeat([0.3, 0.7], FUTURES) / FUTURES
    seen, error = np.array([0.9]), np.array([0.25])
    weights = posterior(prior, log_likelihood(np.concatenate([fast, slow]), seen, error))
    dense = np.array(
        [norm.pdf(0.9, 1.0, math.hypot(0.3, 0.25)), norm.pdf(0.9, 0.5, math.hypot(0.2, 0.25))]
    )
    expected = np.array([0.3, 0.7]) * dense
    assert weights[:FUTURES].sum() == pytest.approx(expected[0] / expected.sum(), rel=1e-5)


def test_reviews_one_after_the_other_weigh_as_all_at_once() -> None:
    rng = np.random.default_rng(7)
    futures = rng.normal(size=(50, 3))
    seen, error = np.array([0.2, -0.4, 1.0]), np.array([0.5, 0.8, 0.4])
    at_once = posterior(np.full(50, 0.02), log_likelihood(futures, seen, error))
    weights = np.full(50, 0.02)
    for place in range(3):
        one = [place]
        weights = posterior(weights, log_likelihood(futures[:, one], seen[one], error[one]))
    np.testing.assert_allclose(weights, at_once, rtol=1e-12)


def test_a_future_without_the_value_weighs_nothing() -> None:
    futures = np.array([[0.1], [np.nan], [0.3]])
    weights = posterior(
        np.full(3, 1 / 3), log_likelihood(futures, np.array([0.2]), np.array([0.1]))
    )
    np.testing.assert_allclose(weights, [0.5, 0.0, 0.5])


@given(st.integers(1, 60), st.integers(1, 80), st.floats(0.0, 0.999), st.integers(0, 10**6))
def test_futures_are_drawn_as_often_as_they_weigh(
    futures: int, number: int, start: float, seed: int
) -> None:
    weights = np.random.default_rng(seed).dirichlet(np.full(futures, 0.3))
    times = np.bincount(drawn(weights, number, start), minlength=futures)
    assert times.sum() == number
    assert (np.abs(times - weights * number) < 1.0 + 1e-9).all()
    assert times[weights == 0.0].sum() == 0


def test_on_average_they_are_drawn_exactly_as_they_weigh() -> None:
    weights = np.array([0.05, 0.5, 0.2, 0.25])
    starts = (np.arange(1000) + 0.5) / 1000
    times = sum(np.bincount(drawn(weights, 7, start), minlength=4) for start in starts)
    np.testing.assert_allclose(times / 1000, 7 * weights, atol=2e-3)


def test_effective_number_by_hand() -> None:
    assert effective_number(np.full(8, 0.125)) == pytest.approx(8.0)
    assert effective_number(np.array([1.0, 0.0, 0.0])) == 1.0
    assert effective_number(np.array([0.75, 0.25])) == pytest.approx(1.6)


@given(st.integers(0, 10**6), st.floats(0.005, 2.0))
def test_errors_are_raised_just_far_enough(seed: int, error: float) -> None:
    rng = np.random.default_rng(seed)
    futures, seen = rng.normal(size=(40, 3)), rng.normal(size=3)
    prior, errors = np.full(40, 0.025), np.full(3, error)
    factor = error_factor(prior, futures, seen, errors, 10.0)
    assert factor >= 1.0
    number = effective_number(posterior(prior, log_likelihood(futures, seen, factor * errors)))
    if factor > 1.0:
        assert number == pytest.approx(10.0, rel=1e-3)
    else:
        assert number >= 10.0


@given(st.integers(1, 40), st.integers(0, 10**6))
def test_quantiles_of_even_weights_are_those_of_numpy(number: int, seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=number)
    shares = np.array([0.05, 0.3, 0.5, 0.95])
    found = weighted_quantiles(values, np.full(number, 2.0), shares)
    np.testing.assert_array_equal(found, np.quantile(values, shares, method="inverted_cdf"))
    assert np.isnan(weighted_quantiles(np.full(3, np.nan), np.ones(3), shares)).all()


@pytest.mark.published
def test_band_of_what_a_survey_would_find_holds_both_spreads() -> None:
    futures = quantile_ladder(1.0, 0.3)[::50, 0]
    low, middle, high = survey_band(futures, 0.4)
    expected = norm.ppf([0.05, 0.5, 0.95], 1.0, 0.5)
    # 41 steps stand for the normal error: its tails are a little short.
    np.testing.assert_allclose([low, middle, high], expected, atol=0.01)
