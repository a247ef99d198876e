"""Shell budget against read numbers and scipy, and a three-volume reef model as a harness.

The reef model (live oysters, dead shell, mud) lives here only. Its structure is after
Jordan-Cooley et al. (2011), "Bistability in a differential equation model of oyster reef
height and sediment accumulation"; its equations are from memory and its parameters from a
student report, so its numbers are regression values and only its behaviour is a claim.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, root

from edgesim.processes import shell


@pytest.mark.published
def test_half_life_of_a_yearly_loss() -> None:
    # Mann et al. (2022), abstract, read: surface shell turns over at 30 % a year or more,
    # within the loss rates of 2 to 10 years of half-life read for another bay, or faster.
    rate = shell.loss_rate_of_yearly_share(0.30)
    assert shell.shell_after(1.0, 0.0, rate, 1.0) == pytest.approx(0.70)
    assert math.log(2.0) / rate < shell.HALF_LIFE_EXPOSED[0]


@pytest.mark.golden
@pytest.mark.parametrize(
    ("half_life", "rate"), [(2.0, 0.3466), (3.0, 0.2310), (5.0, 0.1386), (10.0, 0.0693)]
)
def test_loss_rate(half_life: float, rate: float) -> None:
    # By hand: 0.6931/2 = 0.3466.
    assert shell.loss_rate(half_life) == pytest.approx(rate, abs=6e-5)


@pytest.mark.golden
def test_loss_rate_of_thirty_percent() -> None:
    rate = shell.loss_rate_of_yearly_share(0.30)
    assert rate == pytest.approx(0.3567, abs=5e-5)
    assert math.log(2.0) / rate == pytest.approx(1.943, abs=5e-4)


@pytest.mark.golden
def test_steady_shell() -> None:
    # 1 kg/m2/yr at a half-life of 5 years; by hand 5/0.6931 = 7.213.
    assert shell.steady_shell(1.0, shell.loss_rate(5.0)) == pytest.approx(7.213, abs=5e-4)


def test_step_solves_the_budget_equation() -> None:
    # Independent: dS/dt = b - L S (form read, Kraeuter et al.) by scipy.integrate.solve_ivp.
    start, supply, rate = 3.0, 0.8, 0.35
    solved = solve_ivp(lambda t, s: supply - rate * s, (0.0, 4.0), [start], rtol=1e-11, atol=1e-13)
    assert shell.shell_after(start, supply, rate, 4.0) == pytest.approx(solved.y[0, -1], rel=1e-8)
    settled = shell.shell_after(start, supply, rate, 1e3)
    assert settled == pytest.approx(shell.steady_shell(supply, rate))


def test_step_without_loss_keeps_everything() -> None:
    assert shell.shell_after(3.0, 0.8, 0.0, 2.0) == pytest.approx(4.6)
    assert shell.shell_after(3.0, 0.8, 1e-14, 2.0) == pytest.approx(4.6)


def test_bulk_density() -> None:
    assert shell.bulk_density(2500.0, 0.65) == pytest.approx(875.0)


@dataclass(frozen=True)
class Reef:
    """Parameters of the three-volume model, as printed in the student report (read)."""

    r: float = 1.0
    K: float = 0.3
    mu: float = 0.4
    eps: float = 0.94
    gamma: float = 0.7
    F0: float = 1.0
    C: float = 0.02
    y0: float = 0.02
    beta: float = 0.01
    h: float = 20.0
    eta: float = 3.33

    def rates(self, volumes: NDArray[np.float64]) -> NDArray[np.float64]:
        live, dead, mud = volumes
        clear = 1.0 / (1.0 + math.exp(min(700.0, -self.h * (live + dead - mud))))
        load = self.C * math.exp(-self.eta * (live + dead))
        filtration = self.F0 * load / self.y0 * math.exp(-(load - self.y0) / self.y0)
        dying = (self.mu * clear + self.eps * (1.0 - clear)) * live
        return np.array(
            [
                self.r * clear * live * (1.0 - live / self.K) - dying,
                dying - self.gamma * dead,
                -self.beta * mud + load * math.exp(-filtration * live / load),
            ]
        )

    def run(self, dead: float, years: float) -> NDArray[np.float64]:
        """Volumes after some years from 0.01 of live oysters and mud."""
        solved = solve_ivp(
            lambda t, v: self.rates(v),
            (0.0, years),
            [0.01, dead, 0.01],
            method="LSODA",
            rtol=1e-8,
            atol=1e-11,
        )
        assert solved.success
        return np.asarray(solved.y[:, -1])

    def critical_dead_shell(self, low: float = 0.0, high: float = 1.0) -> float:
        """Initial dead shell that divides dying from lasting, by bisection."""
        while high - low > 1e-5:
            middle = 0.5 * (low + high)
            if self.run(middle, 150.0)[0] > 0.03:
                high = middle
            else:
                low = middle
        return 0.5 * (low + high)

    def equilibrium(self, guess: tuple[float, float, float]) -> NDArray[np.float64]:
        found = root(self.rates, guess, tol=1e-13)
        assert np.allclose(self.rates(found.x), 0.0, atol=1e-10)
        return np.asarray(found.x)

    def eigenvalues(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        step = 1e-6
        columns = [
            (self.rates(at + step * axis) - self.rates(at - step * axis)) / (2.0 * step)
            for axis in np.eye(3)
        ]
        return np.sort(np.linalg.eigvals(np.array(columns).T).real)


@pytest.mark.golden
def test_reef_rates() -> None:
    rates = Reef().rates(np.array([0.1, 0.1, 0.05]))
    assert rates == pytest.approx([0.02094394, -0.02743900, -0.00049698], abs=1e-8)


@pytest.mark.golden
def test_reef_equilibria() -> None:
    reef = Reef()
    lasting = reef.equilibrium((0.18, 0.10, 0.0))
    saddle = reef.equilibrium((0.05, 0.04, 0.05))
    assert lasting == pytest.approx([0.178993, 0.102773, 0.0], abs=2e-6)
    assert saddle == pytest.approx([0.050922, 0.041433, 0.053280], abs=2e-6)
    assert reef.eigenvalues(lasting) == pytest.approx([-0.737, -0.552, -0.010], abs=1e-3)
    assert reef.eigenvalues(saddle)[-1] == pytest.approx(0.3354, abs=2e-4)
    # The empty reef: mud at C/beta = 2; the argument of the last exponential is -F0 c 0 = 0.
    assert reef.rates(np.array([0.0, 0.0, 2.0])) == pytest.approx(np.zeros(3), abs=1e-12)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("reef", "guess", "expected"),
    [
        (Reef(C=0.04, beta=0.02), (0.07, 0.06, 0.08), (0.073644, 0.057641, 0.082529)),
        (Reef(C=0.06, beta=0.03), (0.10, 0.07, 0.11), (0.096318, 0.072042, 0.107616)),
    ],
)
def test_reef_saddles(
    reef: Reef, guess: tuple[float, float, float], expected: tuple[float, float, float]
) -> None:
    assert reef.equilibrium(guess) == pytest.approx(expected, abs=2e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("dead", "years", "expected"),
    [
        (0.4, 1.0, (0.017303, 0.202636, 0.011996)),
        (0.4, 2.0, (0.027425, 0.107640, 0.013926)),
        (0.4, 10.0, (0.141665, 0.070733, 0.015714)),
        (0.1, 10.0, (0.000237, 0.001504, 0.135047)),
    ],
)
def test_reef_trajectories(dead: float, years: float, expected: tuple[float, float, float]) -> None:
    assert Reef().run(dead, years) == pytest.approx(expected, abs=2e-6)


@pytest.mark.golden
@pytest.mark.parametrize(
    ("reef", "critical"),
    [
        (Reef(), 0.246079),
        (Reef(C=0.04, beta=0.02), 0.451229),
        (Reef(gamma=0.5), 0.154012),
    ],
)
def test_reef_critical_dead_shell(reef: Reef, critical: float) -> None:
    assert reef.critical_dead_shell() == pytest.approx(critical, abs=2e-5)


def test_more_initial_shell_saves_the_reef_once() -> None:
    survives = [Reef().run(dead, 150.0)[0] > 0.03 for dead in np.linspace(0.05, 0.6, 12)]
    assert survives == sorted(survives)
    assert not survives[0]
    assert survives[-1]


def _critical(change: Callable[[Reef], Reef]) -> float:
    return change(Reef()).critical_dead_shell()


def test_the_threshold_moves_the_way_it_should() -> None:
    base = Reef().critical_dead_shell()
    assert _critical(lambda reef: replace(reef, C=0.03)) > base
    assert _critical(lambda reef: replace(reef, mu=0.45)) > base
    assert _critical(lambda reef: replace(reef, gamma=0.8)) > base
    assert _critical(lambda reef: replace(reef, r=1.2)) < base
    assert _critical(lambda reef: replace(reef, h=30.0)) < base


def test_closed_form_of_the_clear_reef() -> None:
    # With no mud in the way (f -> 1): O = K (1 - mu/r) = 0.18 and B = mu O/gamma = 0.102857;
    # and the live share needs d above ln(.61039/.38961)/h = 0.02245 for any positive state.
    reef = Reef(h=1e4)
    assert reef.equilibrium((0.18, 0.10, 0.0))[:2] == pytest.approx([0.18, 0.102857], abs=1e-6)
    base = Reef()
    needed = base.eps / (base.r - base.mu + base.eps)
    depth = brentq(lambda d: 1.0 / (1.0 + math.exp(-base.h * d)) - needed, 0.0, 1.0)
    assert depth == pytest.approx(0.02245, abs=5e-5)


def test_surviving_shell_budget_is_that_of_the_module() -> None:
    # At the lasting equilibrium the dead shell is supply over loss rate.
    reef = Reef()
    live, dead, mud = reef.equilibrium((0.18, 0.10, 0.0))
    clear = 1.0 / (1.0 + math.exp(-reef.h * (live + dead - mud)))
    supply = (reef.mu * clear + reef.eps * (1.0 - clear)) * live
    assert shell.steady_shell(supply, reef.gamma) == pytest.approx(dead, rel=1e-9)
