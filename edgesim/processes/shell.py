"""Dead shell: how fast it dissolves and breaks up, and the room it takes.

Masses per plan area in kg m-2, time in Julian years.
"""

from __future__ import annotations

import math

from edgesim.kernels import kernel

HALF_LIFE_EXPOSED = (2.0, 5.0, 10.0)
"""Half-life of shell at the surface: low, mode, high. [year]

Range read, mode judgement. K. A. Ashton-Alcox, E. N. Powell and others, 2006, conference
abstract 108672 of the Geological Society of America: 2 to 10 years in a mid-Atlantic bay.
"""

HALF_LIFE_BURIED = (10.0, 30.0, 100.0)
"""Half-life of shell inside a cemented or buried matrix: low, mode, high (judgement). [year]"""


@kernel
def loss_rate(half_life: float) -> float:
    """First-order loss rate of a half-life.

    Parameters
    ----------
    half_life : float
        Time in which half the shell is lost. [year]

    Returns
    -------
    float
        ln 2 / half_life. [year-1]
    """
    return math.log(2.0) / half_life


@kernel
def loss_rate_of_yearly_share(share: float) -> float:
    """First-order loss rate of a share lost in one year.

    Parameters
    ----------
    share : float
        Share of the shell lost in a year, from 0 to below 1. [1]

    Returns
    -------
    float
        -ln(1 - share). [year-1]
    """
    return -math.log1p(-share)


@kernel
def steady_shell(supply: float, rate: float) -> float:
    """Shell mass at which loss equals supply.

    Parameters
    ----------
    supply : float
        Shell of oysters that die. [kg m-2 year-1]
    rate : float
        Loss rate. [year-1]

    Returns
    -------
    float
        supply/rate. [kg m-2]
    """
    return supply / rate


@kernel
def shell_after(mass: float, supply: float, rate: float, dt: float) -> float:
    """Shell mass after a step of constant supply and first-order loss.

    What was lost is ``mass + supply dt`` less the result, so that a ledger closes.

    Parameters
    ----------
    mass : float
        Shell at the start. [kg m-2]
    supply : float
        Shell of oysters that die, and placed shell. [kg m-2 year-1]
    rate : float
        Loss rate, 0 or more. [year-1]
    dt : float
        Length of the step. [year]

    Returns
    -------
    float
        Shell at the end. [kg m-2]

    Notes
    -----
    Exact solution of dB/dt = supply - rate B: B e^-x + supply dt (1 - e^-x)/x with
    x = rate dt, therefore the same for one step or many. The form of the equation was read.

    References
    ----------
    J. N. Kraeuter and others, conference slides on oyster shell budgets,
    dS/dt = (b(t) - L) S.
    """
    x = rate * dt
    if x == 0.0:
        return mass + supply * dt
    # The ratio first: a vanishing x would round away in a product.
    return mass * math.exp(-x) + supply * dt * (-math.expm1(-x) / x)


@kernel
def bulk_density(shell_density: float, porosity: float) -> float:
    """Mass of shell in a cubic metre of reef or basket.

    Parameters
    ----------
    shell_density : float
        Density of the shell material, 2400 to 2700 (from memory). [kg m-3]
    porosity : float
        Share of voids, (0.5, 0.65, 0.8) (judgement). [1]

    Returns
    -------
    float
        shell_density (1 - porosity). [kg m-3]
    """
    return shell_density * (1.0 - porosity)
