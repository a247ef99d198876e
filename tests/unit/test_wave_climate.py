"""The table of a site's waves: whole shares, waves that only lose on their way, words on the screen."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from edgesim.cli.main import cli
from edgesim.outcomes.wave_climate import WIND, WaveClimateRow, in_feet, wave_climate
from edgesim.scenario import ScenarioFile

Rows = dict[tuple[str, str], WaveClimateRow]
N = 6
BOATS = ("small open boats", "large open boats", "cruisers", "work skiffs")


@pytest.fixture(scope="module")
def scenario_file(small_scenario: Callable[..., ScenarioFile]) -> ScenarioFile:
    return small_scenario()


@pytest.fixture(scope="module")
def rows(scenario_file: ScenarioFile) -> Rows:
    return {(row.source, row.quantity): row for row in wave_climate(scenario_file, N)}


def test_every_source_is_described(rows: Rows) -> None:
    for source in (*BOATS, WIND):
        for quantity in ("height_at_line", "height_at_edge", "period", "waves_per_day"):
            row = rows[source, quantity]
            assert row.n == N
            assert 0.0 < row.p05 <= row.p50 <= row.p95
    assert rows["all", "edge_power"].p05 > 0.0


def test_a_boater_would_believe_the_waves(rows: Rows) -> None:
    # Judgement: recreational boats 40 to 60 m off make wakes of a hand to a forearm, every two
    # seconds or so; three knots of open water behind an islet make ripples of a few centimetres.
    for boat in BOATS:
        assert 0.03 < rows[boat, "height_at_line"].p50 < 0.35
        assert rows[boat, "large_height_at_line"].p95 < 0.6
        assert 1.2 < rows[boat, "period"].p50 < 2.8
    assert rows[WIND, "height_at_line"].p95 < 0.1
    assert rows[WIND, "period"].p95 < 1.0
    passages = sum(rows[boat, "passages_per_day"].p50 for boat in BOATS)
    # 100 on weekdays and 290 at weekends, for the most likely count.
    assert passages == pytest.approx(5 / 7 * 100 + 2 / 7 * 290, rel=0.4)


def test_waves_reach_the_edge_no_higher_than_they_broke(rows: Rows) -> None:
    for source in (*BOATS, WIND):
        for large in ("", "large_"):
            at_line = rows[source, f"{large}height_at_line"]
            at_edge = rows[source, f"{large}height_at_edge"]
            # Over this flat no wave shoals to more than a tenth above its deep-water height.
            assert 0.3 * at_line.p50 < at_edge.p50 < 1.1 * at_line.p50


def test_shares_of_power_are_whole(rows: Rows) -> None:
    shares = [rows[source, "share_of_edge_power"] for source in (*BOATS, WIND)]
    assert sum(row.p50 for row in shares) == pytest.approx(1.0, abs=0.15)
    assert all(0.0 <= row.p05 <= row.p95 <= 1.0 for row in shares)


def test_feet_are_metres_over_0_3048(rows: Rows) -> None:
    row = rows[BOATS[0], "height_at_line"]
    assert in_feet(row).p50 * 0.3048 == pytest.approx(row.p50)
    assert in_feet(row).unit == "ft"


def test_the_table_is_shown_before_a_forecast(
    scenario_file: ScenarioFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wave_climate, "__defaults__", (1,))
    path = tmp_path / "site.toml"
    path.write_text(scenario_file.resolved_toml(), encoding="utf-8")
    runner = CliRunner()
    shown = runner.invoke(cli, ["check", str(path), "--waves"])
    assert shown.exit_code == 0, shown.output
    for words in (*BOATS, WIND, "ft", "W/m", "90 % band"):
        assert words in shown.output
    answer: dict[str, Any] = json.loads(
        runner.invoke(cli, ["check", str(path), "--waves", "--json"]).stdout
    )
    assert {row["source"] for row in answer["waves"]} == {*BOATS, WIND, "all"}
    assert list(tmp_path.iterdir()) == [path]


def test_a_site_without_boats_or_wind_has_no_rows_of_them(
    small_scenario: Callable[..., ScenarioFile],
) -> None:
    calm = small_scenario(edit=lambda table: table.pop("wind"))
    sources = {row.source for row in wave_climate(calm, 1)}
    assert sources == {*BOATS, "all"}
