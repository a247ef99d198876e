"""The march of waves to the edge against a plain twin written from the formulas.

The twin is slow float64 numpy: a loop over rows, every function of depth worked out at the
depth itself. It shares no table, no kernel and no helper with the model but the physical
constants; the tables of shelter behind a line are taken as given (tests/published/test_shelter.py).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
import pytest
from scipy.optimize import brentq

from edgesim.constants import GRAVITY, WATER_DENSITY, WATER_VISCOSITY
from edgesim.model.ground import SHALLOWEST
from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION, LineField
from edgesim.model.shelter import TRANSMISSIONS
from edgesim.model.step import (
    Defence,
    Member,
    flood_lines,
    levels_of,
    raise_lines,
    reef_heights,
    run_until,
    solve,
)
from edgesim.model.walls import fill_heights
from edgesim.model.wave_tables import DEPTH_STEP

Floats = np.ndarray
Build = Callable[..., Member]
Depths = Callable[[Floats], Floats]


class Wave(NamedTuple):
    """What one class does in one depth."""

    breaking_flux: Floats
    decay: Floats
    stress_of_unit_flux: Floats


class Twin(NamedTuple):
    """What the twin finds, by level and class."""

    gain: Floats
    excess: Floats
    hindered: Floats


def wave_in(period: float, depth: Floats) -> Wave:
    """Linear wave over smooth mud in several depths (m): dispersion by bisection."""
    omega = 2.0 * np.pi / period
    k = np.array([_wavenumber(omega, h) for h in depth])
    kh = k * depth
    group_speed = 0.5 * omega / k * (1.0 + 2.0 * kh / np.sinh(2.0 * kh))
    flux_of_height = WATER_DENSITY * GRAVITY / 8.0 * group_speed  # of a wave 1 m high
    # Breaking: Miche, 1944, "Mouvements ondulatoires de la mer" (from memory).
    breaking_height = 0.142 * 2.0 * np.pi / k * np.tanh(kh)
    velocity = np.pi / (period * np.sinh(kh))
    # Laminar layer, f_w = 2 / sqrt(R_w), with stress rho f_w u^2 / 2 and loss 2/(3 pi) rho f_w u^3:
    # Soulsby, 1997, "Dynamics of marine sands" (read in an independent implementation).
    viscous = WATER_DENSITY * np.sqrt(2.0 * np.pi * WATER_VISCOSITY / period)
    decay = 4.0 / (3.0 * np.pi) * viscous * velocity**2 / flux_of_height
    return Wave(
        flux_of_height * breaking_height**2, decay, viscous * velocity / np.sqrt(flux_of_height)
    )


def rough_stress(smooth: Floats, period: float) -> Floats:
    """Stress on shell where that on smooth mud is known: f_w = 1.39 (A / z0)^-0.52 of Soulsby, 1997.

    With 1.5 for 1.48 as the power of the velocity, equal at A = 60 z0, and f_w at most 0.3.
    """
    viscous = WATER_DENSITY * np.sqrt(2.0 * np.pi * WATER_VISCOSITY / period)
    velocity, z0 = smooth / viscous, 0.002
    friction = 1.39 * 60.0**-0.52 * np.sqrt(60.0 * z0 * 2.0 * np.pi / period)
    rough = 0.5 * WATER_DENSITY * friction * velocity**1.5
    rough = np.minimum(rough, 0.5 * WATER_DENSITY * 0.3 * velocity**2)
    return np.maximum(rough, smooth)


def _wavenumber(omega: float, depth: float) -> float:
    deep = omega**2 / GRAVITY
    highest = deep / np.tanh(np.sqrt(deep * depth)) * 2.0
    return float(
        brentq(lambda k: GRAVITY * k * np.tanh(k * depth) - omega**2, 1e-6, highest, xtol=1e-12)
    )


def seen_energy(energy: Floats, part: Floats, reach: int) -> Floats:
    """Mean energy through the line within `reach` cells of every place; through all of it where there is none."""
    found = np.empty(part.size)
    for y in range(part.size):
        near = [energy[p] for p in part[max(0, y - reach) : y + reach + 1] if p >= 0]
        found[y] = np.mean(near) if near else energy.mean()
    return found


def let_through(line: Defence, heights: Floats, k: int, w: int, row: int) -> Floats:
    """Share of the energy that one line lets through to a row."""
    field: LineField = line.field
    if not line.stands or row < field.first_row:
        return np.ones(field.part.size)
    i = row - field.first_row
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    passed = np.interp(
        np.minimum(heights, HIGHEST_CONDITION), ladder, field.transmission[k, w].astype(float)
    )
    transmission = np.sqrt(seen_energy(passed**2, field.part, int(field.reach[i])))
    columns = field.intensity[k, w, :, i].astype(float).T
    return np.array(
        [
            np.interp(t, TRANSMISSIONS, column)
            for t, column in zip(transmission, columns, strict=True)
        ]
    )


def weight_of(level: float, width: float, toe: float, platform: float, decay: float) -> float:
    """Share of the power that works on the scarp: none below the toe, all at the platform.

    Mean over a band of levels, by midpoints.
    """
    levels = level + width * ((np.arange(4000) + 0.5) / 4000 - 0.5)
    below = np.maximum(0.0, (levels - toe) / (platform - toe))
    above = np.exp(-np.maximum(levels - platform, 0.0) / decay)
    return float(np.where(levels > platform, above, below).mean())


class Question(NamedTuple):
    """What is asked of both: day, class waves, shift of the levels, and how depth is taken."""

    day: int
    counts: Floats
    shift: float | None
    taken_as: Depths


def march(member: Member, asked: Question, k: int, w: int) -> tuple[Floats, Floats, Floats]:
    """Gain at the edge (ny,), excess and hindered settling (nx, ny) of one level and class."""
    state, settings, tables = member.state, member.edge_settings, member.tables
    day, counts, shift, taken_as = asked
    nx, ny = state.bed.shape
    level, period = levels_of(member, day)[k] + (shift or 0.0), tables.period[w]
    width = member.weather.bin_width if shift is None else 0.0
    walls = fill_heights(member.state) if member.walls.stands else np.ones(1)
    reef = reef_heights(member, day) if member.reef.stands else np.ones(1)
    share, gain = np.ones(ny), np.zeros(ny)
    excess, hindered = np.zeros((2, nx, ny))
    last_rows = np.minimum((state.edge / settings.dx + 0.5).astype(int), nx) - 1
    for row in range(last_rows.max() + 1):
        depth = level - state.bed[row]
        wave = wave_in(period, taken_as(np.maximum(depth, 1e-3)))
        sheltered = let_through(member.walls, walls, k, w, row) * let_through(
            member.reef, reef, k, w, row
        )
        arriving = tables.flux[w] * sheltered * share
        flux = np.where(taken_as(depth) > SHALLOWEST, np.minimum(arriving, wave.breaking_flux), 0.0)
        stress = wave.stress_of_unit_flux * np.sqrt(flux)
        seconds, shell = counts[k, w] * period, settings.shell[row]
        for bed_stress, part in ((stress, 1.0 - shell), (rough_stress(stress, period), shell)):
            hindered[row] += seconds * part * np.minimum(bed_stress / tables.settling_stress, 1.0)
            over = np.maximum(bed_stress / settings.critical_stress - 1.0, 0.0)
            excess[row] += seconds * part * over
        for y in np.flatnonzero(last_rows == row):
            inland = state.platform[min(row + 1, nx - 1), y]
            decay = member.level_decay * tables.height[w]
            weight = weight_of(level, width, state.bed[row, y], inland, decay)
            gain[y] = flux[y] * period * weight
        with np.errstate(invalid="ignore", divide="ignore"):
            kept = np.where(arriving > 0.0, flux / arriving, 0.0)
        share = share * kept * np.exp(-wave.decay * settings.dx)
    return gain, excess, hindered


def twin_of(member: Member, asked: Question) -> Twin:
    """March of every level and class that has any waves."""
    counts = asked.counts
    gain = np.zeros((*counts.shape, member.state.edge.size))
    excess, hindered = np.zeros_like(member.state.bed), np.zeros_like(member.state.bed)
    for k, w in np.argwhere(counts > 0.0):
        gain[k, w], stirred, held = march(member, asked, int(k), int(w))
        excess += stirred
        hindered += held
    return Twin(gain, excess, hindered)


def exact(depth: Floats) -> Floats:
    return depth


def on_rungs(depth: Floats) -> Floats:
    """Depth as the model's tables hold it."""
    return np.maximum(np.floor(depth / DEPTH_STEP + 0.5), 0.5) * DEPTH_STEP


def solved(member: Member, day: int, shift: float | None) -> Floats:
    """Run to a day, solve the waves of all days so far and four weeks more, and return them."""
    run_until(member, 0, day)
    counts: Floats = member.weather.tally[: day + 28].sum(axis=0)
    flood_lines(member, day)
    raise_lines(member, day)
    solve(member, day, counts, shift=shift)
    return counts


@pytest.mark.slow
@pytest.mark.parametrize(("day", "shift"), [(0, None), (700, 0.07)])
@pytest.mark.parametrize("option", ["no action", "walls only", "walls and reef"])
def test_march_agrees_with_a_plain_twin_at_the_depths_of_its_tables(
    small_scenario: Callable[..., Any],
    build_member: Build,
    option: str,
    day: int,
    shift: float | None,
) -> None:
    """The march itself: all that is left is float32, 1e-7 an operation, some twenty in a row."""
    member = build_member(small_scenario({"run.wake_classes": 3}), option)
    counts = solved(member, day, shift)
    waves = member.work.waves
    twin = twin_of(member, Question(day, counts, shift, on_rungs))
    energy = (waves.gain * counts[:, :, None]).sum(axis=(0, 1))
    expected = (twin.gain * counts[:, :, None]).sum(axis=(0, 1))
    assert expected.min() > 0.0
    np.testing.assert_allclose(energy, expected, rtol=2e-6)
    stirred = (waves.excess + waves.shaken).sum(axis=1)
    expected_stirring = twin.excess.sum(axis=1)
    assert (expected_stirring > 0.0).sum() > 8
    np.testing.assert_allclose(stirred, expected_stirring, rtol=2e-5, atol=1e-6 * stirred.max())
    held = waves.hindered.sum(axis=1)
    np.testing.assert_allclose(held, twin.hindered.sum(axis=1), rtol=2e-5, atol=1e-6 * held.max())


@pytest.mark.slow
@pytest.mark.parametrize("day", [0, 300, 700])
def test_march_agrees_with_a_plain_twin_at_the_true_depths(
    small_scenario: Callable[..., Any],
    build_member: Build,
    day: int,
    tell: Callable[[str], None],
) -> None:
    """The steps of the tables: 0.5 % in energy at the edge, 1 % in the stirring of the flat.

    Single rows miss 1 % of stirring: 1.5 % in the mean, and up to 5 % (15 % with other boats)
    where one level and class alone, in a few centimetres of water, do most of it. The bound on
    them is what was found.
    """
    scenario_file = small_scenario({"run.water_level_bins": 8, "run.wake_classes": 3})
    totals, missed = [], []
    for index in range(4):
        member = build_member(scenario_file, "no action", index)
        counts = solved(member, day, 0.0)
        waves, twin = member.work.waves, twin_of(member, Question(day, counts, 0.0, exact))
        energy = (waves.gain * counts[:, :, None]).sum(axis=(0, 1))
        expected = (twin.gain * counts[:, :, None]).sum(axis=(0, 1))
        np.testing.assert_allclose(energy, expected, rtol=5e-3)
        totals.append((waves.excess.sum(), twin.excess.sum()))
        stirred, expected_stirring = waves.excess.sum(axis=1), twin.excess.sum(axis=1)
        active = expected_stirring > 0.01 * expected_stirring.max()
        missed.append(abs(stirred[active] / expected_stirring[active] - 1.0))
    ours, theirs = np.sum(totals, axis=0)
    tell(f"day {day}: stirring of each member {[f'{a / b - 1.0:+.1e}' for a, b in totals]}")
    # One member may miss 1 % by a little, where a row just dries; all together do not.
    assert ours == pytest.approx(theirs, rel=0.01)
    rows = np.concatenate(missed)
    tell(f"day {day}: rows {rows.mean():.3f} to {rows.max():.3f}")
    assert rows.mean() < 0.02
