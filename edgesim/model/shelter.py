"""How much wave energy reaches each place behind a line, as tables made once a layout.

The barrier problem of a line (``edgesim.processes.diffraction``) is solved for
a ladder of wavenumbers and of transmissions that are the same along the line.
Classes of waves mix neighbouring wavenumbers, since real wakes and wind seas
are not of one period; the state of single bays enters when the model runs
(``edgesim.model.wave_field``). The tables depend on the plan of the line only
and are shared by all members and options; each member mixes the two sides from
which waves come by what its boats and winds did.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from edgesim.forcing.waves import WaveClasses
from edgesim.model.grid import Grid, Line
from edgesim.processes.diffraction import side_intensities
from edgesim.processes.linear_waves import wavenumber

TRANSMISSIONS = np.linspace(0.0, 1.0, 7)
"""Ladder of transmission coefficients of height. [1]"""

PERIOD_SPREAD = 0.15
"""Standard deviation of the logarithm of the period within a class (judgement). [1]"""

WAVENUMBER_STEP = 0.2
"""Step of the ladder of wavenumbers, in its logarithm. [1]"""

OPEN_WATER = 24.0
"""Open water beyond each end of the shore in the barrier problem. [m]"""

STEEPEST_SINE = 0.95
"""Sine of the largest angle of approach against the shore's normal (judgement). [1]"""

SHALLOWEST = 0.15
"""Depth at the line below which the wavelength is not followed further. [m]"""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Shelter:
    """Energy behind a line relative to the incoming energy.

    Attributes
    ----------
    first_row : int
        First cross-shore row behind the line.
    intensity : float32, (n_levels, n_classes, n_transmissions, n_rows, ny)
        Relative energy for a line of even transmission, waves coming from both sides alike. [1]
    lean : float32, of the same shape
        What is added when all waves run onward, the way in which distances alongshore grow, and
        taken away when all go back. [1]
    part : int64, (ny,)
        Part of the line at each alongshore cell, -1 in the open.
    """

    first_row: int
    intensity: NDArray[np.float32]
    lean: NDArray[np.float32]
    part: NDArray[np.int64]

    def mixed(self, onward: Floats) -> NDArray[np.float32]:
        """Relative energy when a share of each class runs onward, (n_classes,). [1]."""
        more = (2.0 * onward - 1.0).astype(np.float32)
        if not more.any():
            return self.intensity
        mixed = self.lean * more[:, None, None, None]
        mixed += self.intensity
        return mixed


def shelter(grid: Grid, line: Line, classes: WaveClasses, levels: Floats) -> Shelter:
    """Tables of a line for all levels and classes.

    Parameters
    ----------
    grid : Grid
        The reach.
    line : Line
        The line.
    classes : WaveClasses
        Wave classes.
    levels : ndarray, (n_levels,)
        Levels of the bins above the vertical datum. [m]

    Returns
    -------
    Shelter
    """
    first_row = int(np.searchsorted(grid.cross_shore, line.position, side="right"))
    distances = grid.cross_shore[first_row:] - line.position
    depths = np.maximum(levels - line.base, SHALLOWEST)
    shape = (levels.size, classes.period.size, TRANSMISSIONS.size, distances.size)
    table = np.ones((*shape, grid.alongshore.size), dtype=np.float32)
    lean = np.zeros_like(table)
    for w in range(classes.period.size):
        number = wavenumber(np.full(levels.size, classes.period[w]), depths)
        centre = np.log(number)
        # In deep water the wavenumber goes with the square of the period.
        spread = 2.0 * PERIOD_SPREAD
        # Waves shorter than four points of the barrier problem are given that length.
        finest = np.log(0.5 * np.pi / (0.5 * grid.dy)) - 1e-6
        centre = np.minimum(centre, finest)
        ladder = _ladder(
            centre.min() - 1.5 * spread, min(centre.max() + 1.5 * spread, float(finest))
        )
        # The systems are small: threads of the linear algebra would only wait for each other.
        with threadpool_limits(limits=1, user_api="blas"):
            numbers = np.exp(ladder)
            # Refraction keeps the alongshore wavenumber from level to level; waves of the band that
            # are longer or shorter than the class at any level come at the angle of its nearest.
            of_class = np.clip(numbers, number.min(), number.max())
            sines = classes.alongshore_wavenumber[w] / of_class
            angles = np.arcsin(np.minimum(sines, STEEPEST_SINE))
            onward, back = _intensities(grid, line, numbers, angles, distances)
        for k in range(levels.size):
            weight = np.exp(-0.5 * ((ladder - centre[k]) / spread) ** 2)
            weight[np.abs(ladder - centre[k]) > 1.75 * spread] = 0.0
            weight /= weight.sum()
            sides = [np.tensordot(weight, side, axes=1) for side in (onward, back)]
            table[k, w, :-1] = 0.5 * (sides[0] + sides[1])
            lean[k, w, :-1] = 0.5 * (sides[0] - sides[1])
    return Shelter(first_row, table, lean, line.part_of(grid.alongshore))


def _ladder(low: float, high: float) -> Floats:
    steps = max(1, int(np.ceil((high - low) / WAVENUMBER_STEP)))
    return np.linspace(low, high, steps + 1)


def _intensities(
    grid: Grid, line: Line, wavenumbers: Floats, angles: Floats, distances: Floats
) -> Floats:
    """Relative energy of waves that run onward and back, full transmission left out.

    (2, n_wavenumbers, n_transmissions - 1, n_rows, ny).
    """
    spacing = 0.5 * grid.dy
    pad = int(np.ceil(OPEN_WATER / spacing))
    fine = spacing * (np.arange(-pad, 2 * grid.alongshore.size + pad, dtype=np.float64) + 0.5)
    on_line = line.part_of(fine) >= 0
    ny = grid.alongshore.size
    result = np.empty((2, wavenumbers.size, TRANSMISSIONS.size - 1, distances.size, ny))
    for j, transmission in enumerate(TRANSMISSIONS[:-1]):
        resistance = np.zeros(fine.size)
        resistance[on_line] = np.inf if transmission == 0.0 else 1.0 / transmission - 1.0
        for i, (number, angle) in enumerate(zip(wavenumbers, angles, strict=True)):
            sides = side_intensities(resistance, spacing, number, angle, distances)
            cells = sides[:, :, pad : pad + 2 * ny].reshape(2, distances.size, ny, 2)
            result[:, i, j] = cells.mean(axis=3)
    return result
