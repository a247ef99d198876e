"""Eastern oysters on placed substrate: arrival, growth, death and the reef they build.

Heights are shell heights in metres, masses in kilograms, densities in animals per
square metre of plan area, time in Julian years and rates per year. Exposure is the
share of time in the air, 0 to 1. Default values: docs/sources.md, rows ``oyster-*``.
"""

from __future__ import annotations

import math

from edgesim.kernels import kernel

RECRUITMENT_SEASON = (0.0, 0.0, 0.0, 0.0, 0.08, 0.15, 0.22, 0.28, 0.19, 0.08, 0.0, 0.0)
"""Share of the yearly recruits that settles in each month, January first. [1]

Judgement, shaped by the season read in O'Beirn, Heffernan and Walker (abstract of a
1991-94 study of intertidal collectors): May to October, peak in August.
"""

NO_SETTLEMENT_SALINITY = 5.0
"""Salinity at and below which nothing settles or grows (read, VIMS reef siting page). [1e-3]"""

LOW_SALINITY = 10.0
"""Salinity that a reef site should always exceed (read, VIMS reef siting page). [1e-3]"""

HIGH_SALINITY = 28.0
"""Salinity above which suitability begins to taper (judgement). [1e-3]"""

SEA_SALINITY = 35.0
"""Salinity at which the taper ends (judgement). [1e-3]"""

SEA_SUITABILITY = 0.6
"""Suitability at `SEA_SALINITY` (judgement: more predators and disease). [1]"""

LETHAL_BURIAL = 1.08
"""Burial, over shell height, that kills half (read, Colden and Lipcius 2015, abstract). [1]"""

LOOSE_EMBEDMENT = 0.04
"""Deepest embedment of clusters that 2 cm wakes move (read, wave tank, Campbell et al.). [m]"""

LOOSE_WAVE = 0.02
"""Wake height that moves clusters embedded no deeper than `LOOSE_EMBEDMENT` (read, same). [m]"""

FIRM_EMBEDMENT = 0.20
"""Embedment seen away from boat channels (read, Campbell et al.). [m]"""

FIRM_WAVE = 0.25
"""Wave height that moves clusters embedded to `FIRM_EMBEDMENT` (judgement). [m]"""


@kernel
def salinity_suitability(salinity: float) -> float:
    """Share of full settlement and growth that a salinity allows.

    Parameters
    ----------
    salinity : float
        Practical salinity, about g/kg. [1e-3]

    Returns
    -------
    float
        0 at 5 and below, 1 from 10 to 28, 0.6 at 35 and above. [1]

    Notes
    -----
    Trapezoid. Lower corners read (VIMS reef siting page); upper taper judgement.
    """
    if salinity <= NO_SETTLEMENT_SALINITY:
        return 0.0
    if salinity < LOW_SALINITY:
        return (salinity - NO_SETTLEMENT_SALINITY) / (LOW_SALINITY - NO_SETTLEMENT_SALINITY)
    if salinity <= HIGH_SALINITY:
        return 1.0
    taper = min(1.0, (salinity - HIGH_SALINITY) / (SEA_SALINITY - HIGH_SALINITY))
    return 1.0 - (1.0 - SEA_SUITABILITY) * taper


@kernel
def year_factor(sigma: float, z: float) -> float:
    """Lognormal multiplier of recruitment, of mean one, for a year or a site.

    Parameters
    ----------
    sigma : float
        Standard deviation of the logarithm. [1]
    z : float
        Standard normal draw. [1]

    Returns
    -------
    float
        exp(sigma z - sigma^2/2). [1]

    Notes
    -----
    The second term keeps the mean at one, because published recruitment is a mean.
    """
    return math.exp(sigma * z - 0.5 * sigma * sigma)


@kernel
def free_space(density: float, capacity: float) -> float:
    """Share of the substrate still free for settlers.

    Parameters
    ----------
    density : float
        Living oysters on the plan area. [m-2]
    capacity : float
        Density at which no space is left. [m-2]

    Returns
    -------
    float
        1 - density/capacity, not below 0. [1]

    Notes
    -----
    Judgement; capacity (1500, 3000, 6000) brackets the 2350 m-2 read for natural reefs.
    """
    return max(0.0, 1.0 - density / capacity)


@kernel
def growth_coefficient(k0: float, exposure: float, exposure_limit: float) -> float:
    """Growth coefficient of an oyster that can only feed while under water.

    Parameters
    ----------
    k0 : float
        Coefficient of an oyster never exposed. [year-1]
    exposure : float
        Share of time in the air. [1]
    exposure_limit : float
        Exposure at which growth stops, 0.6 to 0.9. [1]

    Returns
    -------
    float
        k0 (1 - exposure/exposure_limit), not below 0. [year-1]

    Notes
    -----
    Judgement; direction after a comparison in which intertidal oysters grew slowest.
    """
    return k0 * max(0.0, 1.0 - exposure / exposure_limit)


@kernel
def shell_height(age: float, linf: float, k: float, t0: float) -> float:
    """Shell height at an age, after von Bertalanffy.

    Parameters
    ----------
    age : float
        Time since settlement. [year]
    linf : float
        Height approached by the very old. [m]
    k : float
        Growth coefficient. [year-1]
    t0 : float
        Age of zero height. [year]

    Returns
    -------
    float
        linf (1 - exp(-k (age - t0))), not below 0. [m]

    References
    ----------
    L. von Bertalanffy, 1938, "A quantitative theory of organic growth" (from memory).
    """
    return linf * max(0.0, -math.expm1(-k * (age - t0)))


@kernel
def height_increment(height: float, linf: float, k: float, dt: float) -> float:
    """Growth of a shell in a step, exact for a coefficient constant in the step.

    Parameters
    ----------
    height : float
        Shell height at the start. [m]
    linf : float
        Height approached by the very old. [m]
    k : float
        Growth coefficient. [year-1]
    dt : float
        Length of the step. [year]

    Returns
    -------
    float
        (linf - height)(1 - exp(-k dt)), not below 0: shells do not shrink. [m]
    """
    return max(0.0, linf - height) * -math.expm1(-k * dt)


@kernel
def heat_mortality(exposure: float, upper: float, rate: float) -> float:
    """Death rate by heat and drying above the upper growth limit.

    Parameters
    ----------
    exposure : float
        Share of time in the air. [1]
    upper : float
        Exposure above which the reef does not grow. [1]
    rate : float
        Death rate of oysters never under water, (1, 3, 8) in summer. [year-1]

    Returns
    -------
    float
        rate (exposure - upper)/(1 - upper), not below 0. [year-1]

    Notes
    -----
    Judgement; the limit is where Ridge et al. (2015) read zero growth.
    """
    return rate * max(0.0, (exposure - upper) / (1.0 - upper))


@kernel
def subtidal_predation(exposure: float, limit: float, rate: float) -> float:
    """Death rate by the predators and foulers of the low shore.

    Parameters
    ----------
    exposure : float
        Share of time in the air. [1]
    limit : float
        Exposure that keeps predators away, about 0.2. [1]
    rate : float
        Death rate of oysters never exposed, (0.5, 1.5, 3). [year-1]

    Returns
    -------
    float
        rate (1 - exposure/limit), not below 0. [year-1]

    Notes
    -----
    Judgement; direction read in O'Beirn, Heffernan and Walker: monthly settlement is
    highest low on the shore, season-long survivors are most numerous in the intertidal.
    """
    return rate * max(0.0, 1.0 - exposure / limit)


@kernel
def burial_kill(burial_ratio: float, spread: float) -> float:
    """Share of oysters killed by a lasting burial.

    Parameters
    ----------
    burial_ratio : float
        Burial depth over shell height. [1]
    spread : float
        Scale of the logistic curve, (0.05, 0.08, 0.12). [1]

    Returns
    -------
    float
        1 / (1 + exp(-(burial_ratio - 1.08)/spread)). [1]

    Notes
    -----
    Half die at 1.08 and survival falls clearly only from 0.9 up: both read, shells of
    25 to 75 mm. The spread is derived from them. Apply after some days of burial.

    References
    ----------
    A. M. Colden and R. N. Lipcius, 2015, "Lethal and sublethal effects of sediment burial
    on the eastern oyster Crassostrea virginica", abstract.
    """
    # The cap only keeps exp finite for oysters far above the mud.
    return 1.0 / (1.0 + math.exp(min(700.0, (LETHAL_BURIAL - burial_ratio) / spread)))


@kernel
def freshet_mortality(salinity: float, temperature: float, rate: float) -> float:
    """Death rate while the water is nearly fresh.

    Parameters
    ----------
    salinity : float
        Practical salinity. [1e-3]
    temperature : float
        Water temperature. [degree_Celsius]
    rate : float
        Death rate at 25 C, (0.03, 0.10, 0.25) a week, 52 times that a year. [year-1]

    Returns
    -------
    float
        rate exp(0.15 (temperature - 25)) below a salinity of 5, else 0. [year-1]

    Notes
    -----
    Judgement, after the pattern (from memory, Rybovich et al. 2016) that low salinity
    kills mainly when it is hot.
    """
    if salinity >= NO_SETTLEMENT_SALINITY:
        return 0.0
    return rate * math.exp(0.15 * (temperature - 25.0))


@kernel
def dislodging_height(embedment: float) -> float:
    """Wave height from which loose clusters begin to move.

    Parameters
    ----------
    embedment : float
        Depth of the cluster in the bed. [m]

    Returns
    -------
    float
        0.02 up to 0.04 m of embedment, then linear to 0.25 at 0.20 m and beyond. [m]

    Notes
    -----
    Lower end read (wave tank, Campbell et al., conference abstract); upper end judgement.
    """
    ramp = (embedment - LOOSE_EMBEDMENT) / (FIRM_EMBEDMENT - LOOSE_EMBEDMENT)
    return LOOSE_WAVE + (FIRM_WAVE - LOOSE_WAVE) * min(1.0, max(0.0, ramp))


@kernel
def dislodged_share(wave_height: float, embedment: float, p1: float) -> float:
    """Share of loose clusters dislodged by one wave train.

    Parameters
    ----------
    wave_height : float
        Highest wave of the train. [m]
    embedment : float
        Depth of the clusters in the bed. [m]
    p1 : float
        Share moved at twice the threshold height, (1e-5, 1e-4, 1e-3). [1]

    Returns
    -------
    float
        p1 (wave_height/threshold - 1), within 0 and 1. [1]

    Notes
    -----
    Judgement. For loose shell and clusters only: oysters held by a sound basket, bag or
    cemented reef lose none, and the caller does not ask.
    """
    excess = wave_height / dislodging_height(embedment) - 1.0
    return min(1.0, p1 * max(0.0, excess))


@kernel
def tissue_mass(height: float, a: float = 4.92e-5, b: float = 2.299) -> float:
    """Dry tissue of one oyster.

    Parameters
    ----------
    height : float
        Shell height. [m]
    a : float, default 4.92e-5
        Coefficient of the published fit, for grams and millimetres. [g mm-b]
    b : float, default 2.299
        Exponent. [1]

    Returns
    -------
    float
        a height^b with height in mm, converted from grams. [kg]

    Notes
    -----
    Three fits read (shells of 30 to 139 mm): (7.12e-5, 2.15), (9.63e-6, 2.743) and the
    default, the middle one.

    References
    ----------
    Virginia Institute of Marine Science, web page on oyster density and biomass.
    """
    return 1e-3 * a * math.pow(1e3 * height, b)


SHELL_COEFFICIENT, SHELL_EXPONENT = 1.8e-3, 2.35
"""Default coefficient and exponent of `shell_mass` (judgement). [g mm-b], [1]"""


@kernel
def shell_mass(height: float, a: float = SHELL_COEFFICIENT, b: float = SHELL_EXPONENT) -> float:
    """Both valves of one oyster.

    Parameters
    ----------
    height : float
        Shell height. [m]
    a : float, default 1.8e-3
        Coefficient for grams and millimetres. [g mm-b]
    b : float, default 2.35
        Exponent. [1]

    Returns
    -------
    float
        a height^b with height in mm, converted from grams. [kg]

    Notes
    -----
    Judgement, order of magnitude: a 75 mm oyster carries 30 to 70 g of shell (from memory).
    """
    return 1e-3 * a * math.pow(1e3 * height, b)


@kernel
def reef_growth(exposure: float, lower: float = 0.10, upper: float = 0.55) -> float:
    """Vertical growth of a reef surface as a share of its maximum.

    Parameters
    ----------
    exposure : float
        Share of time in the air of the reef surface. [1]
    lower : float, default 0.10
        Exposure of zero growth on the low side. [1]
    upper : float, default 0.55
        Exposure of zero growth on the high side, 0.60 to 0.75 for old reefs. [1]

    Returns
    -------
    float
        4 (exposure - lower)(upper - exposure)/(upper - lower)^2, not below 0. [1]

    Notes
    -----
    Zero at 0.10 and 0.55 and fastest between 0.20 and 0.40 were read; the parabola
    through them is ours and peaks at 0.325.

    References
    ----------
    J. T. Ridge et al., 2015, "Maximizing oyster-reef growth supports green infrastructure
    with accelerating sea-level rise", abstract.
    """
    width = upper - lower
    return max(0.0, 4.0 * (exposure - lower) * (upper - exposure) / (width * width))


@kernel
def consolidation(density: float, reference: float) -> float:
    """Degree to which live oysters cement loose shell together.

    Parameters
    ----------
    density : float
        Living oysters older than one year. [m-2]
    reference : float
        Density that cements 63 %, (200, 500, 1500). [m-2]

    Returns
    -------
    float
        1 - exp(-density/reference); above 0.7 the fill stays when its mesh fails. [1]

    Notes
    -----
    Judgement.
    """
    return -math.expm1(-density / reference)
