"""Blocks at the face of the scarp: how far waves undercut them, and when they fall or topple.

A block breaks off when its rooted overhang is too heavy for its strength, or topples as a slab cut
off by a crack full of water while the tide is out in front. Low water comes twice a day, so that
the limits of low water decide. What has fallen lies before the toe until waves have broken it up.
"""

from __future__ import annotations

import math

from edgesim.constants import GRAVITY, WATER_DENSITY
from edgesim.kernels import kernel


@kernel
def overhang_limit(tensile: float, thickness: float, unit_weight: float) -> float:
    """Width of overhang at which it breaks off in air.

    Parameters
    ----------
    tensile : float
        Tensile strength of the rooted soil, >= 0. [Pa]
    thickness : float
        Thickness of the overhang, > 0. [m]
    unit_weight : float
        Bulk unit weight, > 0. [N m-3]

    Returns
    -------
    float
        Critical width. [m]

    Notes
    -----
    ``sqrt(sigma h / (3 gamma))``, beam theory; the array form is `scarp.cantilever_width`.
    """
    return math.sqrt(tensile * thickness / (3.0 * unit_weight))


@kernel
def standing_width(height: float, unit_weight: float, tensile: float) -> float:
    """Least width of a slab that stands before a crack full of water, with the tide out in front.

    Parameters
    ----------
    height : float
        Height of the slab and depth of the crack, > 0. [m]
    unit_weight : float
        Bulk unit weight, > 0. [N m-3]
    tensile : float
        Tensile strength at its base, >= 0. [Pa]

    Returns
    -------
    float
        Width at which the moments of `scarp.toppling_moments` are equal. [m]

    Notes
    -----
    ``B = sqrt((gamma_w h**3 / 6) / (gamma h / 2 + sigma / 6))`` (judgement: the planar form of
    Bendoni et al. 2014 that stands there).
    """
    overturning = WATER_DENSITY * GRAVITY * height**3 / 6.0
    return math.sqrt(overturning / (unit_weight * height / 2.0 + tensile / 6.0))


@kernel
def next_block(
    height: float,
    root_depth: float,
    crack_distance: float,
    unit_weight: float,
    tensile: float,
) -> tuple[float, float]:
    """Undercut at which the next block goes, and how far the edge then moves.

    Parameters
    ----------
    height : float
        Height of the scarp, > 0. [m]
    root_depth : float
        Thickness of the rooted mat, which carries the overhang, > 0. [m]
    crack_distance : float
        Distance of the tension crack behind the face, > 0. [m]
    unit_weight : float
        Bulk unit weight, > 0. [N m-3]
    tensile : float
        Tensile strength here, >= 0. [Pa]

    Returns
    -------
    tuple of float
        Undercut [m] and width of the block [m]: an overhang falls as wide as it is undercut; a
        slab topples whole, so that its foot stands out before the new face by what was not undercut.

    Notes
    -----
    The limit that comes first decides. A slab topples when the undercut leaves it less than
    `standing_width`. The combination is judgement.
    """
    overhang = overhang_limit(tensile, min(height, root_depth), unit_weight)
    # A slab that could not stand at all goes as soon as its foot is worn away.
    topple = max(crack_distance - standing_width(height, unit_weight, tensile), 0.0)
    if overhang <= topple:
        return overhang, overhang
    return topple, crack_distance
