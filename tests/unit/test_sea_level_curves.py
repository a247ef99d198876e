"""Sea-level scenarios, and surges: what they fill, what they widen, and what is refused."""

from __future__ import annotations

import copy
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgesim.errors import ScenarioError
from edgesim.forcing.calendar import calendar
from edgesim.forcing.water_levels import surge_spread, water_levels
from edgesim.model.common import sea_levels
from edgesim.scenario import load_scenario
from edgesim.scenario.loader import ScenarioFile, from_table
from edgesim.scenario.sea_level_curves import CURVES, SPREAD

DEMO = Path(__file__).parents[1] / "data" / "demo.toml"


def with_sea(**section: Any) -> ScenarioFile:
    table = copy.deepcopy(load_scenario(DEMO).table)
    table["sea_level"] = section
    return from_table(table, DEMO)


@pytest.mark.parametrize("name", CURVES)
def test_a_named_scenario_passes_through_its_targets(name: str) -> None:
    found = with_sea(scenario=name)
    drawn = [found.member(i).sea_level for i in range(100)]
    for key, target in zip(("rise_2050", "rise_2100"), CURVES[name], strict=True):
        values = np.array([getattr(sea, key) for sea in drawn])
        assert abs(values - target).max() <= SPREAD * target
        # Standard deviation of a triangle of half width w is w / sqrt(6).
        assert values.std() == pytest.approx(SPREAD * target / np.sqrt(6.0), rel=0.25)


def test_the_sea_of_a_member_follows_the_targets() -> None:
    scenario = with_sea(rise_2050_m=0.3, rise_2100_m=1.1).central
    days = calendar(scenario.run.start, 3653)
    level = sea_levels(scenario, days)
    # By hand: a = 2 * .3 / 50 - 1.1 / 100 = .001, b = (1.1 / 100 - .3 / 50) / 50 = 1e-4.
    t = scenario.run.start.year - 2000 + 1.0 / 365.25 + np.array([0.0, 10.0])
    curve = 0.001 * t + 1e-4 * t**2
    since = scenario.site.datums_year - 2000.0
    start = 0.001 * since + 1e-4 * since**2
    expected = scenario.site.datums.msl + curve - start
    assert level[[0, 3652]] == pytest.approx(expected, abs=3e-5)


@pytest.mark.parametrize(
    "section",
    [{"scenario": "high"}, {"rise_2050_m": 0.3, "rise_2100_m": {"low": 0.5, "mode": 1.1, "high": 2.0}}],
)  # fmt: skip
def test_the_resolved_file_reads_back(section: dict[str, Any], tmp_path: Path) -> None:
    found = with_sea(**section)
    (tmp_path / "again.toml").write_text(found.resolved_toml())
    assert load_scenario(tmp_path / "again.toml").digest() == found.digest()


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ({"scenario": "middling"}, "is not one of the choices"),
        ({"scenario": "low", "rise_2050_m": 0.2}, "stands beside rise_2050"),
        ({"rise_2100_m": 1.0}, "stands alone"),
        ({"rise_2050_m": 0.2, "rise_2100_m": 1.0, "rate_mm_per_year": 3.0}, "stands beside"),
    ],
)
def test_what_is_wrong_is_said(section: dict[str, Any], words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        with_sea(**section)


def test_surges_widen_the_bins_and_a_gauge_holds_its_own() -> None:
    demo = load_scenario(DEMO)
    calm = demo.overridden({"tide.surge_sd": 0.0}).central
    rough = demo.overridden({"tide.surge_sd": 0.3}).central
    assert water_levels(rough, 800).width > 1.1 * water_levels(calm, 800).width
    exact = water_levels(calm, 800)
    low, high = np.quantile(np.repeat(exact.hourly[::7], 20), [0.002, 0.998])
    assert np.diff(exact.edges) == pytest.approx((high - low) / exact.centres.size, rel=1e-9)
    table = copy.deepcopy(demo.table)
    hours = [float(hour) for hour in range(240)]
    first = datetime(2027, 1, 1, tzinfo=UTC)
    record = {"first_time": first, "hours": hours, "level_m": [0.5 * (h % 12) for h in hours]}
    table["tide"] = {"gauge": record}
    assert surge_spread(from_table(table, DEMO).central) == 0.0
    assert surge_spread(rough) == 0.3
