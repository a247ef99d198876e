"""Functions of depth that the march of the waves looks up, class by class."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.forcing.waves import WaveClasses
from edgesim.model.ground import SHALLOWEST, Grass, RoughBed, rough_bed, stem_tables
from edgesim.processes.bed_stress import friction_decay_rate, laminar_stress_coefficient
from edgesim.processes.linear_waves import (
    breaking_height,
    energy_flux,
    near_bed_velocity,
    shoaling_coefficient,
    wavenumber,
)

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

DEPTH_STEP = 0.005
"""Step of the depth tables, fine enough to take the nearest rung. [m]"""


class WaveTables(NamedTuple):
    """Functions of depth for every class, ``(n_classes, n_depths)``, and the classes themselves.

    Attributes
    ----------
    breaking_flux : float32
        Largest energy flux that a depth carries. [W m-1]
    passing : float32
        Share of the flux left after one cell of friction. [1]
    stress : float32
        Bed stress over the root of the flux. [Pa (W m-1)-1/2]
    stems : float32
        Loss of height in one cell of closed grass, over the root of the flux. [(W m-1)-1/2]
    flux, period, height : float64, (n_classes,)
        Incoming flux [W m-1], period [s] and deep-water height [m].
    wavenumber, arriving : float64, (n_classes, n_depths)
        Wavenumber [m-1], and height of the class's waves when they come to a depth, shoaled and capped
        by breaking. [m]
    rough : RoughBed
        Stress on shell and among stems.
    shell : float32, (nx, ny)
        Cover of the flat with shell. [1]
    season : float64, (n_levels, n_classes)
        Weight of each class where it keeps mud from settling: 1, but in a calibration. [1]
    settling_stress : float
        Stress from which no mud settles. [Pa]
    """

    breaking_flux: Singles
    passing: Singles
    stress: Singles
    stems: Singles
    flux: Floats
    period: Floats
    height: Floats
    wavenumber: Floats
    arriving: Floats
    rough: RoughBed
    shell: Singles
    season: Floats
    settling_stress: float


def wave_tables(
    classes: WaveClasses,
    cell_size: float,
    deepest: float,
    grass: Grass,
    shell: Singles,
    n_levels: int,
    settling_stress: float,
) -> WaveTables:
    """Tables of every class down to a depth.

    Parameters
    ----------
    classes : WaveClasses
        The classes.
    cell_size : float
        Length of a cell in the direction of travel. [m]
    deepest : float
        Largest depth on the grid. [m]
    grass : Grass
        Closed grass.
    shell, n_levels, settling_stress
        See :class:`WaveTables`; number of level bins.

    Returns
    -------
    WaveTables
    """
    depth = np.maximum(np.arange(0.0, deepest + 2 * DEPTH_STEP, DEPTH_STEP), 0.5 * DEPTH_STEP)
    period = classes.period[:, None]
    unit_flux = energy_flux(1.0, period, depth)
    unit_velocity = near_bed_velocity(1.0, period, depth)
    highest = breaking_height(period, depth)
    shoaled = classes.height[:, None] * shoaling_coefficient(period, depth)
    # Nothing passes a cell that is dry or nearly so.
    breaking_flux = unit_flux * highest**2 * (depth > SHALLOWEST)
    return WaveTables(
        breaking_flux=breaking_flux.astype(np.float32),
        passing=np.exp(-friction_decay_rate(period, depth) * cell_size).astype(np.float32),
        stress=(laminar_stress_coefficient(period) * unit_velocity / np.sqrt(unit_flux)).astype(
            np.float32
        ),
        stems=stem_tables(classes, grass, depth, cell_size).astype(np.float32),
        flux=classes.flux,
        period=classes.period,
        height=classes.height,
        wavenumber=wavenumber(period, depth),
        arriving=np.minimum(shoaled, highest),
        rough=rough_bed(classes.period),
        shell=shell,
        season=np.ones((n_levels, classes.period.size)),
        settling_stress=settling_stress,
    )
