"""Water levels by the hour, their bins and the tables of exposure."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from edgesim.forcing.tally import level_bin
from edgesim.forcing.water_levels import (
    TABLE_LOW,
    TABLE_SIZE,
    TABLE_STEP,
    daily_surge,
    fill_exposure_tables,
    look_up,
    surge_spread,
    water_levels,
)
from edgesim.processes.tide import inundation_fraction
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.loader import from_table

Floats = NDArray[np.float64]

OUTER = 7.3
LADDER = TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE)
STANDARD_ERRORS = 4.0


# --- water levels -----------------------------------------------------------------------------


def test_bins_are_even_and_their_centres_are_means(central: Scenario) -> None:
    found = water_levels(central, 3653)
    assert found.hourly.shape == (3653 * 24,)
    assert found.centres.size == central.run.water_level_bins
    bins = np.array([level_bin(found.edges, level) for level in found.hourly[:5000]])
    assert bins.tolist() == np.searchsorted(found.edges, found.hourly[:5000], "right").tolist()
    # Many years of drawn surges are the reference for the bins, which are laid on their spread.
    rng = np.random.default_rng(3)
    drawn = found.hourly[:, None] + rng.normal(0.0, central.tide.surge_sd, (found.hourly.size, 8))
    low, high = np.quantile(drawn, [0.002, 0.998])
    assert np.diff(found.edges) == pytest.approx((high - low) / found.centres.size, rel=0.01)
    every = np.searchsorted(found.edges, drawn.ravel(), "right")
    means = [drawn.ravel()[every == k].mean() for k in range(found.centres.size)]
    assert found.centres == pytest.approx(means, abs=0.005)


def test_surges_widen_the_bins_and_a_gauge_holds_its_own(demo: ScenarioFile) -> None:
    calm = demo.overridden({"tide.surge_sd": 0.0}).central
    rough = demo.overridden({"tide.surge_sd": 0.3}).central
    assert water_levels(rough, 800).width > 1.1 * water_levels(calm, 800).width
    exact = water_levels(calm, 800)
    low, high = np.quantile(np.repeat(exact.hourly[::7], 20), [0.002, 0.998])
    assert np.diff(exact.edges) == pytest.approx((high - low) / exact.centres.size, rel=1e-9)
    hours = np.arange(20 * 24.0)
    record = 0.7 * np.cos(2.0 * np.pi * hours / 12.0)
    assert surge_spread(gauged(demo, hours, record)) == 0.0
    assert surge_spread(rough) == 0.3


def gauged(
    demo: ScenarioFile,
    hours: Floats,
    levels: Floats,
    first: datetime = datetime(2027, 1, 1, tzinfo=UTC),
) -> Scenario:
    """The demonstration with a record of the water level instead of constants."""
    table: dict[str, Any] = dict(demo.table)
    record = {
        "first_time": first,
        "hours": hours.tolist(),
        "level_m": levels.tolist(),
    }
    table["tide"] = {"gauge": record}
    return from_table(table, demo.path).central


def test_an_hourly_gauge_is_taken_over_and_repeated(demo: ScenarioFile) -> None:
    hours = np.arange(20 * 24.0)
    record = 0.3 + 0.7 * np.cos(2.0 * np.pi * hours / 12.0)
    found = water_levels(gauged(demo, hours, record), 50).hourly
    assert found.size == 50 * 24
    assert found[: hours.size] == pytest.approx(record - record.mean(), abs=1e-12)
    assert found[hours.size : 2 * hours.size].tolist() == found[: hours.size].tolist()


def test_a_gauge_that_reads_every_six_minutes_gives_the_same_tide(demo: ScenarioFile) -> None:
    hours = np.arange(0.0, 20 * 24.0, 0.1)
    record = 0.7 * np.cos(2.0 * np.pi * hours / 12.0)
    found = water_levels(gauged(demo, hours, record), 20).hourly
    assert found == pytest.approx(0.7 * np.cos(2.0 * np.pi * np.arange(480.0) / 12.0), abs=0.01)


def test_a_gauge_is_laid_on_the_calendar_by_its_own_times(demo: ScenarioFile) -> None:
    # High water at noon of every day, in a record that begins at five on another day.
    hours = np.arange(10 * 24.0)
    record = -np.cos(2.0 * np.pi * (hours + 5.0) / 24.0)
    for first in (datetime(2027, 1, 3, 5, tzinfo=UTC), datetime(2026, 3, 1, 5, tzinfo=UTC)):
        found = water_levels(gauged(demo, hours, record, first), 30).hourly.reshape(30, 24)
        assert found == pytest.approx(
            np.tile(-np.cos(2.0 * np.pi * np.arange(24.0) / 24.0), (30, 1)), abs=1e-9
        )


# --- exposure tables --------------------------------------------------------------------------


def exposure(hourly: Floats, surge: Floats) -> tuple[Floats, Floats]:
    dry_share, flood_depth = np.empty(TABLE_SIZE), np.empty(TABLE_SIZE)
    fill_exposure_tables(hourly, surge, TABLE_LOW, TABLE_STEP, dry_share, flood_depth)
    return dry_share, flood_depth


def test_exposure_table_is_one_minus_the_inundated_share(central: Scenario) -> None:
    hourly = water_levels(central, 800).hourly
    surge = daily_surge(800, 0.15, 3.0, np.random.default_rng(2))
    dry_share, _ = exposure(hourly, surge)
    wet = inundation_fraction(hourly + np.repeat(surge, 24), LADDER)
    # Only a level within round-off of a rung may fall on its other side.
    assert dry_share == pytest.approx(1.0 - wet, abs=1.5 / hourly.size)
    assert np.mean(np.abs(dry_share - (1.0 - wet)) > 1e-12) < 0.01
    assert dry_share[0] == 0.0
    assert dry_share[-1] == 1.0
    assert (np.diff(dry_share) >= 0.0).all()


def test_flood_depth_table_is_the_mean_over_high_waters(central: Scenario) -> None:
    hourly = water_levels(central, 800).hourly
    surge = daily_surge(800, 0.15, 3.0, np.random.default_rng(2))
    _, flood_depth = exposure(hourly, surge)
    levels = hourly + np.repeat(surge, 24)
    is_high = (hourly[1:-1] > hourly[:-2]) & (hourly[1:-1] >= hourly[2:])
    highs = levels[1:-1][is_high]
    direct = np.maximum(highs[:, None] - LADDER, 0.0).mean(axis=0)
    # Each high water is known to half a rung; over many the errors cancel.
    assert flood_depth == pytest.approx(direct, abs=0.1 * TABLE_STEP)
    assert (np.diff(flood_depth) <= 0.0).all()


def test_tables_are_read_between_and_beyond_their_rungs() -> None:
    table = np.array([0.0, 1.0, 4.0])
    places = [-9.0, 0.0, 0.25, 0.5, 0.75, 1.0, 9.0]
    found = [look_up(table, 0.0, 0.5, place) for place in places]
    assert found == pytest.approx(np.interp(places, [0.0, 0.5, 1.0], table), abs=1e-12)
