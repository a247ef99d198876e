"""Damping by grass on the flat, in the form that the march of the waves takes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.waves import WaveClasses
from edgesim.processes.linear_waves import energy_flux, wavenumber
from edgesim.processes.plants import damping_coefficient

Floats = NDArray[np.float64]


class Grass(NamedTuple):
    """Closed grass as waves meet it: drag [1], diameter [m], stems on a square metre [m-2], height [m]."""

    drag: float
    diameter: float
    density: float
    height: float


GRASS_DEPTHS = 60
"""Depths, evenly spaced in their logarithm, at which the damping by grass is worked out."""


def stem_tables(
    classes: WaveClasses, grass: Grass, depth: Floats, cell_size: float, shallowest: float
) -> Floats:
    """Loss of height in one cell of closed grass over the root of the flux. (n_classes, n_depths).

    No wave runs where the water is less than `shallowest` deep. [m]
    """
    coarse = np.geomspace(shallowest, max(depth[-1], 2.0 * shallowest), GRASS_DEPTHS)
    # Where the water reaches the tops the damping has a kink.
    coarse = np.unique(np.append(coarse, max(grass.height, shallowest)))
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
