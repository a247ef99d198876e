"""The march of ``edgesim.model.wave_field`` once more in plain numpy, over whole rows at once.

It reads the same tables and does the same arithmetic; every row is one set of array expressions
over all wave classes and alongshore cells. It is the yardstick of the compiled march, for its
numbers as well as for its speed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import DTypeLike, NDArray

from edgesim.model.ground import SHALLOWEST
from edgesim.model.line_field import LineField
from edgesim.model.wave_tables import DEPTH_STEP, WaveTables

Array = NDArray[np.floating]


class Found(NamedTuple):
    """What the march leaves behind; see :class:`edgesim.model.wave_field.WaveResult`."""

    gain: Array
    excess: Array
    shaken: Array
    hindered: Array
    edge_stress: Array
    reef_energy: Array


def passed_by_line(line: LineField, k: int, row: int) -> Array:
    """Share of the energy that a line lets through to a row, (n_classes, ny)."""
    i, along = row - line.first_row, np.arange(line.part.size)
    sums, reach = line.sums[k], line.reach[i]
    margin = (sums.shape[1] - along.size - 1) // 2
    total = sums[:, margin + along + reach + 1] - sums[:, margin + along - reach]
    seen = line.seen[i]
    energy = np.where(seen > 0.0, total * seen, line.mean[k][:, None])
    last = line.intensity.shape[2] - 2
    place = (np.sqrt(energy) * (last + 1)).astype(line.intensity.dtype)
    step = np.minimum(place.astype(np.int64), last)
    classes = np.arange(sums.shape[0])[:, None]
    low = line.intensity[k, classes, step, i, along]
    rise = line.intensity[k, classes, step + 1, i, along] - low
    return np.asarray(low + (place - step.astype(place.dtype)) * rise)


def level_weight(
    level: float, width: float, toe: Array, platform: Array, decay_length: Array
) -> Array:
    """Share of the wave power that works on the scarp in a band of levels, (n_classes, ny)."""
    decay = decay_length[:, None]
    if width <= 0.0:
        rising = np.clip((level - toe) / (platform - toe), 0.0, 1.0)
        return np.asarray(rising * np.exp(-np.maximum(level - platform, 0.0) / decay))
    low, high = level - 0.5 * width, level + 0.5 * width
    below = [np.clip(end, toe, platform) - toe for end in (low, high)]
    above = [np.exp(-np.maximum(end - platform, 0.0) / decay) for end in (low, high)]
    rising = 0.5 * (below[1] ** 2 - below[0] ** 2) / (platform - toe)
    return np.asarray((rising + decay * (above[0] - above[1])) / width)


def on_rough_bed(stress: Array, tables: WaveTables) -> Array:
    """Stress on shell and among stems where that on mud is known, (n_classes, ny)."""
    root, square = (table[:, None] for table in tables.rough)
    return np.asarray(np.maximum(np.minimum(root * stress**1.5, square * stress**2), stress))


def march(
    bed: Array,
    platform: Array,
    edge: Array,
    cover: Array,
    dx: float,
    levels: Array,
    level_width: float,
    counts: Array,
    tables: WaveTables,
    wall: LineField,
    reef: LineField,
    with_wall: bool,
    with_reef: bool,
    critical_stress: float,
    level_decay: float,
    kind: DTypeLike = np.float32,
) -> Found:
    """March every level and class from the seaward side to the edge.

    Parameters are those of :func:`edgesim.model.wave_field.solve_waves`; `kind` is the precision
    of the fields.
    """
    nx, ny = bed.shape
    n_classes = tables.period.size
    ground = bed.astype(kind)
    tiny = np.asarray(1e-30, dtype=kind)  # keeps a ratio finite where nothing arrives
    found = Found(
        np.zeros((levels.size, n_classes, ny)),
        *np.zeros((3, nx, ny)),
        np.zeros(ny),
        np.zeros(2),
    )
    edge_row = np.minimum((edge / dx + 0.5).astype(np.int64), nx - 1) - 1
    breaking_flux, passing, stress = (
        table.astype(kind) for table in (tables.breaking_flux, tables.passing, tables.stress)
    )
    incoming = tables.flux.astype(kind)[:, None]
    on_reef = reef.part >= 0
    last = stress.shape[1] - 1
    for k, level in enumerate(levels):
        share = np.ones((n_classes, ny), dtype=kind)
        seconds = counts[k] * tables.period
        for row in range(int(edge_row.max()) + 1):
            if level - bed[row].min() <= SHALLOWEST:
                break
            factor = np.ones((n_classes, ny), dtype=kind)
            if with_wall and row >= wall.first_row:
                factor *= passed_by_line(wall, k, row)
            if row == reef.first_row - 1:
                energy = seconds * tables.flux
                found.reef_energy[0] += (energy @ factor)[on_reef].sum()
                found.reef_energy[1] += energy.sum() * on_reef.sum()
            if with_reef and row >= reef.first_row:
                factor *= passed_by_line(reef, k, row)
            depth = ground.dtype.type(level) - ground[row]
            rung = np.clip(depth / DEPTH_STEP + 0.5, 0, last).astype(np.int64)
            here = incoming * factor * share
            flux = np.minimum(here, breaking_flux[:, rung])
            share *= passing[:, rung] * flux / (here + tiny)
            bent = (cover[row] * tables.stems[:, rung]).astype(kind)
            share /= (1.0 + bent * np.sqrt(flux)) ** 2
            tau = stress[:, rung] * np.sqrt(flux)
            settling_seconds = seconds * tables.season[k]
            covered = np.maximum(cover[row], tables.shell[row])
            for stress_here, part, lifted in (
                (tau, 1.0 - covered, found.excess),
                (on_rough_bed(tau, tables), covered, found.shaken),
            ):
                lifted[row] += part * (seconds @ np.maximum(stress_here / critical_stress - 1, 0))
                held = np.minimum(stress_here / tables.settling_stress, 1.0)
                found.hindered[row] += part * (settling_seconds @ held)
            here_ends = edge_row == row
            if here_ends.any():
                inland = min(row + 1, nx - 1)
                decay = level_decay * tables.height
                weight = level_weight(level, level_width, bed[row], platform[inland], decay)
                spent = flux * tables.period[:, None] * weight * (counts[k] > 0.0)[:, None]
                found.gain[k][:, here_ends] = spent[:, here_ends]
                worst = (tau * (counts[k] > 0.0)[:, None]).max(axis=0)
                found.edge_stress[here_ends] = np.maximum(found.edge_stress, worst)[here_ends]
    return found
