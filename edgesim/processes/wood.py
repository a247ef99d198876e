"""Life of posts and branches in brackish and salt water, and of the packed fill.

Time in Julian years, rates per year. Posts and branches are individuals whose lives
are drawn from a Weibull distribution; the fill between posts is a mass that decays.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from edgesim.kernels import kernel

REFERENCE_DIAMETER = 0.10
"""Diameter of the posts whose lives `WOODS` gives. [m]"""

LOWEST_BORER_PRESSURE = 0.05
"""Floor of borer pressure, so that no wood lasts for ever (judgement). [1]"""

BURIED_IMMERSION = 0.02
"""Immersion factor of wood in airless mud (judgement). [1]"""


@dataclass(frozen=True)
class Wood:
    """Life of one kind of post or branch at full borer pressure.

    Parameters
    ----------
    name : str
        Our plain name.
    part : str
        "post", 0.10 m thick, or "branch", 1 to 3 cm thick.
    life : tuple of float
        Weibull scale: low, mode, high. [year]
    shape : float
        Weibull shape. [1]
    eaten_by_borers : bool
        Whether salinity, warmth and immersion change the life.
    source : str
        Where the life comes from.
    mark : str
        "read", "from memory" or "judgement".
    decay : tuple of float or None
        Rate at which packed branches of it rot and are eaten: low, mode, high; None for
        posts. [year-1]
    has_plastic : bool
        Whether it leaves plastic in the water as it wears.
    """

    name: str
    part: str
    life: tuple[float, float, float]
    shape: float
    eaten_by_borers: bool
    source: str
    mark: str
    decay: tuple[float, float, float] | None = None
    has_plastic: bool = False


_BAMBOO_REPORT = (
    "trade news review of permeable brushwood dams on a tropical mud coast, 2017: shipworm "
    "limits bamboo to 2 years; low and high ends judgement"
)

WOODS: Mapping[str, Wood] = MappingProxyType(
    {
        wood.name: wood
        for wood in (
            Wood(
                "untreated softwood",
                "post",
                (1.0, 2.0, 4.0),
                2.5,
                True,
                f"as bamboo: {_BAMBOO_REPORT}",
                "judgement",
            ),
            Wood("untreated bamboo", "post", (1.0, 2.0, 4.0), 2.5, True, _BAMBOO_REPORT, "read"),
            Wood(
                "untreated branches",
                "branch",
                (0.3, 1.0, 2.0),
                1.75,
                True,
                "scaled down from posts by diameter; a delta coast tops up its fill yearly "
                "(Van Cuong et al. 2015)",
                "judgement",
                (0.2, 0.6, 1.5),
            ),
            Wood(
                "softwood branches",
                "branch",
                (0.3, 0.8, 1.5),
                1.75,
                True,
                "pine and the like, sapwood only: EN 350 calls all sapwood not durable in the sea",
                "judgement",
                (0.3, 0.8, 1.8),
            ),
            Wood(
                "hardwood branches",
                "branch",
                (0.4, 1.2, 2.5),
                1.75,
                True,
                "oak and the like: a secondary page gives oak twice the time of pine with shipworm",
                "judgement",
                (0.2, 0.5, 1.2),
            ),
            Wood(
                "durable branches",
                "branch",
                (0.5, 2.0, 4.0),
                2.0,
                True,
                "juniper, cedar and the like, with little heartwood at branch size",
                "judgement",
                (0.1, 0.3, 0.8),
            ),
            Wood(
                "bamboo culms",
                "branch",
                (0.5, 1.5, 2.5),
                2.0,
                True,
                f"thin culms, at most the life of poles: {_BAMBOO_REPORT}",
                "judgement",
                (0.25, 0.6, 1.5),
            ),
            Wood(
                "durable heartwood",
                "post",
                (8.0, 15.0, 30.0),
                3.0,
                True,
                "EN 350 marine class D species",
                "from memory",
            ),
            Wood(
                "treated pine",
                "post",
                (15.0, 25.0, 50.0),
                3.0,
                True,
                "arsenical salts at marine retention, about 40 kg/m3",
                "from memory",
            ),
            Wood(
                "composite",
                "post",
                (15.0, 30.0, 50.0),
                4.0,
                False,
                "plastic, fibre-reinforced or concrete-filled pipe",
                "judgement",
                has_plastic=True,
            ),
            Wood(
                "concrete",
                "post",
                (20.0, 40.0, 60.0),
                4.0,
                False,
                "plastic-free: reinforced concrete, until its steel rusts",
                "judgement",
            ),
        )
    }
)
"""Kinds of post and branch by name, wood or what stands in its place."""


@kernel
def salinity_factor(salinity: float) -> float:
    """Borer pressure by salinity.

    Parameters
    ----------
    salinity : float
        Mean practical salinity of the warm season. [1e-3]

    Returns
    -------
    float
        0.05 at 5 and below, linear to 1 at 15. [1]

    Notes
    -----
    Judgement on limits from memory: shipworms live above about 5, breed above about 9,
    gribble needs about 15.
    """
    return 0.05 + 0.95 * min(1.0, max(0.0, (salinity - 5.0) / 10.0))


@kernel
def temperature_factor(summer_temperature: float) -> float:
    """Borer pressure by warmth.

    Parameters
    ----------
    summer_temperature : float
        Mean water temperature of summer. [degree_Celsius]

    Returns
    -------
    float
        0 at 11 and below, linear to 1 at 25. [1]

    Notes
    -----
    Judgement; shipworms breed above about 11 C (from memory).
    """
    return min(1.0, max(0.0, (summer_temperature - 11.0) / 14.0))


@kernel
def immersion_factor(exposure: float) -> float:
    """Borer pressure by time under water; use `BURIED_IMMERSION` below the bed.

    Parameters
    ----------
    exposure : float
        Share of time in the air at the height considered. [1]

    Returns
    -------
    float
        1 - exposure. [1]
    """
    return 1.0 - exposure


@kernel
def diameter_factor(diameter: float) -> float:
    """Life of a post relative to one of 0.10 m.

    Parameters
    ----------
    diameter : float
        Diameter of the post; for branches use a factor of 1. [m]

    Returns
    -------
    float
        diameter / 0.10 m. [1]
    """
    return diameter / REFERENCE_DIAMETER


@kernel
def scale_life(
    lam0: float, diameter_ratio: float, salinity: float, temperature: float, immersion: float
) -> float:
    """Weibull scale of a life at the site's borer pressure.

    Parameters
    ----------
    lam0 : float
        Scale at full borer pressure. [year]
    diameter_ratio : float
        `diameter_factor`, 1 for branches. [1]
    salinity : float
        `salinity_factor`. [1]
    temperature : float
        `temperature_factor`. [1]
    immersion : float
        `immersion_factor`. [1]

    Returns
    -------
    float
        lam0 diameter_ratio / max(0.05, salinity temperature immersion). [year]

    Notes
    -----
    Judgement in structure: the factors are independent and multiply.
    """
    return lam0 * diameter_ratio / max(LOWEST_BORER_PRESSURE, salinity * temperature * immersion)


@kernel
def weibull_survival(t: float, scale: float, shape: float) -> float:
    """Share still sound at an age.

    Parameters
    ----------
    t : float
        Age. [year]
    scale : float
        Age that 1/e outlive. [year]
    shape : float
        Shape; above 1 the hazard grows with age. [1]

    Returns
    -------
    float
        exp(-(t/scale)^shape). [1]
    """
    return math.exp(-math.pow(t / scale, shape))


@kernel
def weibull_lifetime(uniform: float, scale: float, shape: float) -> float:
    """Lifetime of one piece, from a uniform draw.

    Parameters
    ----------
    uniform : float
        Share of pieces that fail earlier, from 0 to below 1. [1]
    scale : float
        Age that 1/e outlive. [year]
    shape : float
        Shape. [1]

    Returns
    -------
    float
        scale (-ln(1 - uniform))^(1/shape), the inverse of `weibull_survival`. [year]
    """
    return scale * math.pow(-math.log1p(-uniform), 1.0 / shape)


@kernel
def section_diameter(diameter: float, radial_loss: float, t: float) -> float:
    """Diameter left of a post eaten from outside.

    Parameters
    ----------
    diameter : float
        Diameter when new. [m]
    radial_loss : float
        Loss of radius, 0.005 to 0.025 with many gribble (from memory). [m year-1]
    t : float
        Age. [year]

    Returns
    -------
    float
        diameter - 2 radial_loss t, not below 0; strength goes with its cube. [m]
    """
    return max(0.0, diameter - 2.0 * radial_loss * t)


@kernel
def fill_remaining(t: float, decay: float, washing: float) -> float:
    """Share of the fill mass left.

    Parameters
    ----------
    t : float
        Time since packing. [year]
    decay : float
        Loss by rot and borers, (0.2, 0.6, 1.5) (judgement). [year-1]
    washing : float
        Loss of pieces through the gaps, (0.1, 0.3, 1.0) (judgement). [year-1]

    Returns
    -------
    float
        exp(-(decay + washing) t). [1]
    """
    return math.exp(-(decay + washing) * t)


@kernel
def fill_lost_to(t: float, own: float, other: float) -> float:
    """Share of the fill mass lost to one of two rival causes.

    Parameters
    ----------
    t : float
        Time since packing. [year]
    own : float
        Rate of the cause asked for. [year-1]
    other : float
        Rate of the rival. [year-1]

    Returns
    -------
    float
        own/(own + other) (1 - exp(-(own + other) t)); both causes and what remains
        sum to one. [1]
    """
    total = own + other
    if total == 0.0:
        return 0.0
    return -own / total * math.expm1(-total * t)


@kernel
def settlement_share(t_days: float, total: float, duration: float) -> float:
    """Share of the packed height lost as new fill settles.

    Parameters
    ----------
    t_days : float
        Time since packing. [d]
    total : float
        Share lost in the end, (0.10, 0.20, 0.35) (judgement). [1]
    duration : float
        Time it takes, 90 to 180 (judgement). [d]

    Returns
    -------
    float
        Linear from 0 to `total` over `duration`, then constant. [1]
    """
    return total * min(1.0, t_days / duration)


@kernel
def fill_height(packed_height: float, settlement: float, remaining: float) -> float:
    """Height of the fill.

    Parameters
    ----------
    packed_height : float
        Height when packed. [m]
    settlement : float
        `settlement_share`. [1]
    remaining : float
        Share of the mass left. [1]

    Returns
    -------
    float
        packed_height (1 - settlement) remaining. [m]
    """
    return packed_height * (1.0 - settlement) * remaining


@kernel
def time_to_refill(trigger: float, settlement: float, rate: float) -> float:
    """Time from packing until the height falls to a share of the packed height.

    Parameters
    ----------
    trigger : float
        Share of the packed height that calls for refill, about 0.7 (judgement). [1]
    settlement : float
        Settlement share, taken as immediate. [1]
    rate : float
        Sum of the loss rates. [year-1]

    Returns
    -------
    float
        ln((1 - settlement)/trigger)/rate, 0 when settlement alone is enough. [year]
    """
    return max(0.0, math.log((1.0 - settlement) / trigger) / rate)
