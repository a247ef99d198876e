"""Waves and the ground: what grass takes from them, what they stir up and keep from settling.

Stirring and settling go with the bed stress of every class of waves at every place. On mud that is
the stress of a smooth bed; on shell and among stems that of a rough one.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import WATER_DENSITY
from edgesim.forcing.waves import WaveClasses
from edgesim.kernels import kernel
from edgesim.processes.bed_stress import laminar_stress_coefficient, wave_friction_rough
from edgesim.processes.linear_waves import energy_flux, wavenumber
from edgesim.processes.plants import damping_coefficient

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

ROUGHNESS = 0.002
"""Roughness length of shell and of the feet of stems: a thirtieth of 6 cm (judgement). [m]"""

SHALLOWEST = 0.02
"""Depth below which no wave runs. [m]"""

HIGHEST_FRICTION = 0.3
"""Friction factor that no rough bed exceeds (from memory: Jonsson, 1966). [1]"""


class Grass(NamedTuple):
    """Closed grass as waves meet it: drag [1], diameter [m], stems on a square metre [m-2], height [m]."""

    drag: float
    diameter: float
    density: float
    height: float


GRASS_DEPTHS = 60
"""Depths, evenly spaced in their logarithm, at which the damping by grass is worked out."""


def stem_tables(classes: WaveClasses, grass: Grass, depth: Floats, cell_size: float) -> Floats:
    """Loss of height in one cell of closed grass over the root of the flux. (n_classes, n_depths)."""
    coarse = np.geomspace(SHALLOWEST, max(depth[-1], 2.0 * SHALLOWEST), GRASS_DEPTHS)
    # Where the water reaches the tops the damping has a kink.
    coarse = np.unique(np.append(coarse, max(grass.height, SHALLOWEST)))
    loss = np.empty((classes.period.size, depth.size))
    for w, period in enumerate(classes.period):
        numbers = wavenumber(np.full(coarse.size, period), coarse)
        of_one_metre = [
            damping_coefficient(
                grass.drag, grass.diameter, grass.density, 1.0, float(k), float(h), grass.height
            )
            for k, h in zip(numbers, coarse, strict=True)
        ]
        unit_flux = energy_flux(1.0, period, coarse)
        # The damping goes with the height, which is the root of the flux over that of one metre.
        at_coarse = np.array(of_one_metre) * cell_size / np.sqrt(unit_flux)
        # Short waves over deep grass: the damping falls off exponentially, its logarithm evenly.
        loss[w] = np.exp(np.interp(depth, coarse, np.log(at_coarse + 1e-30)))
    return loss


class RoughBed(NamedTuple):
    """Stress of every class on a rough bed, from that on a smooth one.

    Attributes
    ----------
    of_root : float32, (n_classes,)
        Over the smooth stress to the power 3/2. [Pa-1/2]
    of_square : float32, (n_classes,)
        Over its square, where friction is at its highest. [Pa-1]
    """

    of_root: Singles
    of_square: Singles


def rough_bed(period: Floats) -> RoughBed:
    """Coefficients of :class:`RoughBed` for some periods [s].

    On a smooth laminar bed the stress is linear in the velocity u and so tells it. On a rough bed
    it goes with u**1.48 (Soulsby, 1997). The march holds roots only: its 1.5 equals the formula at
    an orbit of 60 roughness lengths and departs by 5 % at most between 6 and 600.
    """
    laminar = laminar_stress_coefficient(period)
    velocity = 60.0 * ROUGHNESS * 2.0 * math.pi / period
    friction = np.array(
        [
            wave_friction_rough(float(u), float(t), ROUGHNESS)
            for u, t in zip(velocity, period, strict=True)
        ]
    )
    at_middle = 0.5 * WATER_DENSITY * friction * velocity**2
    return RoughBed(
        of_root=(at_middle / (laminar * velocity) ** 1.5).astype(np.float32),
        of_square=(0.5 * WATER_DENSITY * HIGHEST_FRICTION / laminar**2).astype(np.float32),
    )


# Loops split and typed so that they become vector code, as in `wave_field`.


@kernel
def damp_over_grass(
    cover: Floats,
    row: int,
    stems: Singles,
    flux: Singles,
    rung: NDArray[np.int32],
    share: Singles,
) -> None:
    """Wear down the waves that cross a row with grass, by its cover.

    Parameters
    ----------
    cover : float64, (nx, ny)
        Cover of the flat with grass. [1]
    row : int
        Row.
    stems : float32, (n_classes, n_depths)
        Loss of height in one cell of closed grass over the root of the flux. [(W m-1)-1/2]
    flux : float32, (n_classes, ny)
        Flux of the row. [W m-1]
    rung : int32, (ny,)
        Rung of the depth tables.
    share : float32, (n_classes, ny)
        Share of each class not yet lost; updated. [1]
    """
    one = np.float32(1.0)
    for w in range(share.shape[0]):
        for y in range(share.shape[1]):
            loss = np.float32(cover[row, y]) * stems[w, np.uint64(np.uint32(rung[y]))]
            left = one / (one + loss * np.sqrt(flux[w, y]))
            share[w, y] *= left * left


@kernel
def roughen(of_root: Singles, of_square: Singles, stress: Singles) -> None:
    """Raise the stress of all classes in a row from that of a smooth bed to that of a rough one.

    Parameters
    ----------
    of_root, of_square : float32, (n_classes,)
        Of :class:`RoughBed`.
    stress : float32, (n_classes, ny)
        Updated. [Pa]
    """
    for w in range(stress.shape[0]):
        root, square = of_root[w], of_square[w]
        for y in range(stress.shape[1]):
            smooth = stress[w, y]
            rough = root * smooth * np.sqrt(smooth)
            highest = square * smooth * smooth
            rough = rough if rough < highest else highest
            stress[w, y] = rough if rough > smooth else smooth


@kernel
def sum_stirring(
    stress: Singles,
    seconds: Floats,
    critical_stress: float,
    settling_stress: float,
    lifted: Singles,
    held: Singles,
) -> None:
    """Sum over all classes the seconds of excess over the critical stress, and of hindered settling.

    Parameters
    ----------
    stress : float32, (n_classes, ny)
        Bed stress of each class. [Pa]
    seconds : float64, (2, n_classes)
        Duration of each class for the one and for the other. [s]
    critical_stress, settling_stress : float
        Stress from which mud is stirred up, and from which none settles. [Pa]
    lifted, held : float32, (ny,)
        Filled: Partheniades' excess, and what Krone's law takes from settling. [s]
    """
    one, zero = np.float32(1.0), np.float32(0.0)
    stirs, settles = np.float32(1.0 / critical_stress), np.float32(1.0 / settling_stress)
    lifted[:] = zero
    held[:] = zero
    for w in range(stress.shape[0]):
        lifting, settling = np.float32(seconds[0, w]), np.float32(seconds[1, w])
        for y in range(stress.shape[1]):
            above = stress[w, y] * stirs - one
            lifted[y] += lifting * (above if above > zero else zero)
            below = stress[w, y] * settles
            held[y] += settling * (below if below < one else one)
