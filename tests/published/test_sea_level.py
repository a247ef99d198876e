"""Sea-level curve against published scenario targets and hand calculation."""

from __future__ import annotations

import numpy as np
import pytest

from edgesim.errors import InvalidParameterError
from edgesim.processes.sea_level import rate_and_half_acceleration, rise


@pytest.mark.published
def test_curves_span_the_five_national_scenarios() -> None:
    # US interagency technical report 2022, public summary (read): global rise by 2100 is
    # 0.3, 0.5, 1.0, 1.5 and 2.0 m. The mid-century 0.28 m of Intermediate is from memory.
    for target in (0.3, 0.5, 1.0, 1.5, 2.0):
        curve = rate_and_half_acceleration(0.28, target)
        assert rise([0.0, 50.0, 100.0], *curve) == pytest.approx([0.0, 0.28, target], abs=1e-12)


@pytest.mark.published
def test_initial_rate_of_the_regional_curve_agrees_with_the_observed_one() -> None:
    # Observed 3.3 mm/yr on the south-eastern US coast (Windom and Palmer 2022, abstract, read).
    # Targets 0.36 and 1.1 m are from memory: the curve starts 3 % above the observed rate.
    rate, _ = rate_and_half_acceleration(0.36, 1.1)
    assert rate == pytest.approx(0.0033, rel=0.04)


@pytest.mark.golden
def test_regional_curve() -> None:
    # By hand: b = (1.1/100 - 0.36/50)/50 = 7.6e-5; a = 0.0072 - 50 b = 0.0034;
    # S(25) = 0.085 + 0.0475 = 0.1325; S(60) = 0.204 + 0.2736 = 0.4776.
    rate, half_acceleration = rate_and_half_acceleration(0.36, 1.1)
    assert (rate, half_acceleration) == pytest.approx((3.40e-3, 7.6e-5), rel=1e-9)
    assert rise([25.0, 60.0], rate, half_acceleration) == pytest.approx([0.1325, 0.4776], abs=1e-9)


def test_quadratic_agrees_with_numpy_polynomial() -> None:
    years = np.linspace(0, 100, 11)
    reference = np.polynomial.Polynomial([0.0, 0.0034, 7.6e-5])(years)
    np.testing.assert_allclose(rise(years, 0.0034, 7.6e-5), reference, rtol=1e-13)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_refuses_numbers_that_are_not_finite(bad: float) -> None:
    with pytest.raises(InvalidParameterError, match="finite"):
        rise(bad, 0.003, 0.0)
    with pytest.raises(InvalidParameterError, match="rise_2050"):
        rate_and_half_acceleration(bad, 1.0)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("by_2050", "by_2100"), [(0.19, 0.44), (0.20, 0.56), (0.22, 0.68), (0.23, 0.77)]
)
def test_global_projections_lie_on_curves_that_begin_at_the_observed_global_rate(
    by_2050: float, by_2100: float
) -> None:
    # Medians of the sixth assessment of the climate panel for four pathways, above the mean of 1995
    # to 2014 (from memory). Measured from that mean's middle, about 2005, the quadratic through
    # both targets starts, by hand, with (.19 / 45 * 95 - .44 / 95 * 45) / 50 = 3.85 mm/yr, then 3.14,
    # 2.85 and 2.42 mm/yr: about the 3.3 mm/yr observed at the Georgia Bight (read).
    line, curve = np.array([[45.0, 45.0**2], [95.0, 95.0**2]]), np.array([by_2050, by_2100])
    rate, half = np.linalg.solve(line, curve)
    assert rise([45.0, 95.0], rate, half) == pytest.approx(curve, abs=1e-12)
    assert 0.7 < rate / 0.0033 < 1.2
