from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgesim.scenario.distributions import (
    Discrete,
    Distribution,
    Lognormal,
    Normal,
    Triangular,
    Uniform,
    from_entries,
)

SHARES = np.linspace(0.001, 0.999, 41)
SPREAD = math.log(1.5) / stats.norm.ppf(0.95)

# Each quantile function against the reference library scipy.stats.
PAIRS = [
    (Triangular(0.2, 0.6, 1.5), stats.triang(c=0.4 / 1.3, loc=0.2, scale=1.3)),
    (Triangular(0.0, 0.0, 2.0), stats.triang(c=0.0, loc=0.0, scale=2.0)),
    (Triangular(0.0, 2.0, 2.0), stats.triang(c=1.0, loc=0.0, scale=2.0)),
    (Uniform(-1.0, 3.0), stats.uniform(-1.0, 4.0)),
    (Normal(2.0, 0.5), stats.truncnorm(-3.0, 3.0, 2.0, 0.5)),
    (Normal(2.0, 0.5, low=1.8, high=3.0), stats.truncnorm(-0.4, 2.0, 2.0, 0.5)),
    (Normal(2.0, 0.5, low=1.8), stats.truncnorm(-0.4, 3.0, 2.0, 0.5)),
]


@pytest.mark.parametrize(("ours", "reference"), PAIRS)
def test_quantiles_match_scipy(ours: Distribution, reference: Any) -> None:
    quantiles = [ours.quantile(float(share)) for share in SHARES]
    np.testing.assert_allclose(quantiles, reference.ppf(SHARES), rtol=1e-9, atol=1e-12)


def test_lognormal_matches_the_logarithm_of_a_cut_normal() -> None:
    ours = Lognormal(2.0, 1.5)
    reference = 2.0 * np.exp(stats.truncnorm(-3.0, 3.0, 0.0, SPREAD).ppf(SHARES))
    np.testing.assert_allclose([ours.quantile(float(s)) for s in SHARES], reference, rtol=1e-9)


def test_factor_of_a_lognormal_holds_nine_draws_of_ten() -> None:
    # the cut at 3 standard deviations takes 0.27 %, so the share is 0.9 / 0.9973 = 0.9024
    draws = np.array([Lognormal(1.0, 1.5).quantile((i + 0.5) / 20000) for i in range(20000)])
    inside = np.mean((draws > 1 / 1.5) & (draws < 1.5))
    assert inside == pytest.approx(0.9 / (1 - 2 * stats.norm.sf(3)), abs=1e-4)


def test_discrete_follows_the_weights() -> None:
    coin = Discrete((3.0, 1.0, 2.0), (1.0, 2.0, 1.0))
    draws = [coin.quantile((i + 0.5) / 1000) for i in range(1000)]
    assert [draws.count(value) for value in (1.0, 2.0, 3.0)] == [500, 250, 250]
    assert coin.support == (1.0, 3.0)


def test_discrete_never_draws_a_value_without_weight() -> None:
    assert Discrete((1.0, 2.0, 3.0), (0.0, 1.0, 0.0)).support == (2.0, 2.0)


def test_medians() -> None:
    assert Triangular(0.0, 1.0, 2.0).median == pytest.approx(1.0)
    assert Lognormal(0.7, 3.0).median == 0.7
    assert Normal(4.0, 1.0).median == pytest.approx(4.0, abs=1e-12)


@given(
    st.floats(-1e3, 1e3),
    st.floats(0.0, 1.0),
    st.floats(1e-3, 1e3),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_quantiles_rise_and_stay_in_the_support(
    low: float, peak: float, width: float, first: float, second: float
) -> None:
    high = low + width
    for distribution in (
        Triangular(low, min(low + peak * width, high), high),
        Uniform(low, high),
        Normal(low, width),
    ):
        a, b = distribution.quantile(min(first, second)), distribution.quantile(max(first, second))
        bottom, top = distribution.support
        slack = 1e-9 * (abs(low) + width)
        assert bottom - slack <= a <= b + slack <= top + 2 * slack


@pytest.mark.parametrize(
    "entries",
    [
        {"low": 3.0, "high": 1.0},
        {"low": 1.0, "mode": 5.0, "high": 3.0},
        {"low": 1.0, "mode": 1.0, "high": 1.0},
        {"mean": 1.0, "sd": 0.0},
        {"mean": 1.0, "sd": 0.1, "low": 9.0},
        {"median": -1.0, "factor": 2.0},
        {"median": 1.0, "factor": 1.0},
        {"values": (1.0, 2.0), "weights": (1.0, -1.0)},
        {"values": (1.0, 2.0), "weights": (1.0,)},
        {"values": (1.0,), "weights": (0.0,)},
        {"low": 1.0},
        {"mean": 1.0, "factor": 2.0},
    ],
)
def test_impossible_distributions_are_refused(entries: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"must|no distribution|both"):
        from_entries(entries)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "entries",
    [
        {"low": 1.0, "mode": 2.0, "high": 3.0},
        {"low": 1.0, "high": 3.0},
        {"mean": 1.0, "sd": 0.5},
        {"mean": 1.0, "sd": 0.5, "low": 0.2, "high": 1.9},
        {"median": 1.0, "factor": 2.0},
        {"values": [1.0, 2.0], "weights": [1.0, 3.0]},
    ],
)
def test_entries_give_back_what_was_written(entries: dict[str, object]) -> None:
    given = {k: tuple(v) if isinstance(v, list) else v for k, v in entries.items()}
    written = from_entries(given).entries()  # type: ignore[arg-type]
    assert written.keys() == entries.keys()
    for key, value in entries.items():
        assert written[key] == pytest.approx(value)
