"""Traffic without draws, rival formulas, rough days, hourly winds and classes of wind waves.

Bounds on drawn numbers are four standard errors of the estimate (one failure in 16 000), taken
from the draws themselves; seeds are fixed, so that a test passes always or never.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from edgesim.forcing.streams import Purpose, stream
from edgesim.forcing.waves import WIND, fleet, sample_passages, waterway, wave_classes
from edgesim.forcing.wind import boating_factor, wind_rows, wind_sea, wind_table, winds
from edgesim.model.common import member_forcing, prepare
from edgesim.scenario import ScenarioFile, load_scenario
from edgesim.scenario.distributions import Choice

Floats = NDArray[np.float64]
Tell = Callable[[str], None]
Make = Callable[..., ScenarioFile]

STANDARD_ERRORS = 4.0


# --- the expected tally -----------------------------------------------------------------------

CERTAIN: dict[str, Any] = {
    "design.walls.offset": 7.3152,
    "traffic.planing_formula": "maynord",
    "traffic.displacement_formula": "kriebel-seelig",
    "wind.formula": "young-verhagen",
    "tide.surge_sd": 0.0,
    "traffic.level": 1.0,
    "traffic.growth": 0.02,
}


def with_rule(table: dict[str, Any]) -> None:
    table["traffic"]["speed_rule"] = {"speed_limit_knots": 12.0, "compliance": 0.6}
    for boat in table["traffic"]["classes"]:
        boat["hull_constant"] = 0.8
        boat["waves_per_packet"] = 10.0


@pytest.mark.slow
def test_the_expected_tally_is_the_mean_of_drawn_ones(small_scenario: Make, tell: Tell) -> None:
    """Every level and class, over forty members that differ by chance alone."""
    changes = CERTAIN | {"run.years": 1, "run.wake_classes": 3, "run.wind_classes": 2}
    drawn_file = small_scenario(changes, with_rule)
    expected_file = drawn_file.overridden({"traffic.passages": "expected"})
    common = prepare(drawn_file)
    drawn = np.array(
        [member_forcing(drawn_file, common, i).weather.tally.sum(axis=0) for i in range(40)]
    )
    first, second = (member_forcing(expected_file, common, i).weather.tally for i in (0, 1))
    np.testing.assert_array_equal(first, second)  # no chance is left
    expected = first.sum(axis=0)
    error = drawn.std(axis=0, ddof=1) / math.sqrt(drawn.shape[0])
    gap = abs(drawn.mean(axis=0) - expected)
    worst = float((gap / (error + 1e-9 * expected.max())).max())
    is_wind = common.classes.source == WIND
    energy = (common.classes.height * common.classes.period) ** 2
    sums = [
        float((drawn.mean(axis=0) * energy)[:, part].sum() / (expected * energy)[:, part].sum())
        for part in (~is_wind, is_wind)
    ]
    tell(f"largest gap {worst:.2f} standard errors; energy drawn over expected {sums}")
    # Slices of speed and distance stand for the passages: 0.5 % of the energy at most.
    assert (gap <= STANDARD_ERRORS * error + 0.005 * expected + 1e-9).all()
    assert sums == pytest.approx([1.0, 1.0], abs=0.03)


def test_expected_passages_know_week_season_and_growth(small_scenario: Make) -> None:
    scenario_file = small_scenario(
        {name: value for name, value in CERTAIN.items() if name != "wind.formula"}
        | {"run.years": 2, "traffic.passages": "expected"},
        lambda table: table.pop("wind"),
    )
    forcing = member_forcing(scenario_file, common := prepare(scenario_file), 0)
    energy = (common.classes.height * common.classes.period) ** 2
    daily = (forcing.weather.tally * energy).sum(axis=(1, 2))
    days = common.days
    weekend = days.is_weekend == 1
    july, january = days.month == 6, days.month == 0
    assert daily[weekend & july].min() > 2.0 * daily[~weekend & july].max()
    assert daily[~weekend & july].min() > 1.3 * daily[~weekend & january].max()
    # The same kind of day one leap-free year on: 2027-07-02 and 2028-06-30 are Fridays of summer.
    later = float(daily[days.year_fraction >= 1.0].sum() / daily[days.year_fraction < 1.0].sum())
    assert later == pytest.approx(1.02, rel=0.01)


# --- rival formulas ---------------------------------------------------------------------------


def test_members_believe_in_rival_formulas_by_their_weights(demo: ScenarioFile) -> None:
    n = 600
    members = [demo.member(i) for i in range(n)]
    for pick, likely in (
        (lambda m: m.traffic.planing_formula, "maynord"),
        (lambda m: m.traffic.displacement_formula, "kriebel-seelig"),
        (lambda m: m.wind.formula, "young-verhagen"),
    ):
        counts = Counter(map(pick, members))
        assert len(counts) == 2
        error = math.sqrt(2.0 / 9.0 / n)
        assert counts[likely] / n == pytest.approx(2.0 / 3.0, abs=STANDARD_ERRORS * error)


def test_a_scenario_can_fix_a_formula(demo: ScenarioFile) -> None:
    fixed = demo.overridden({"traffic.planing_formula": "bhowmik", "wind.formula": "spm"})
    members = [fixed.member(i) for i in range(20)]
    assert {m.traffic.planing_formula for m in members} == {"bhowmik"}
    assert {m.wind.formula for m in members if m.wind} == {"spm"}
    assert waterway(fixed.central).use_bhowmik


def test_choices_are_drawn_by_weight_and_read_back() -> None:
    choice = Choice(("a", "b", "c"), (1.0, 0.0, 3.0))
    assert [choice.quantile(share) for share in (0.0, 0.249, 0.251, 0.999, 1.0)] == list("aaccc")
    assert choice.median == "c"
    assert choice.support == ("a", "c")
    assert choice.entries() == {"choices": ["a", "b", "c"], "weights": [1.0, 0.0, 3.0]}
    for words, weights in (((), ()), (("a",), (1.0, 2.0)), (("a", "b"), (0.0, 0.0))):
        with pytest.raises(ValueError, match="weights"):
            Choice(words, weights)


def test_own_weights_of_rival_formulas_survive_the_resolved_file(
    small_scenario: Make, tmp_path: Path
) -> None:
    def edit(table: dict[str, Any]) -> None:
        table["traffic"]["planing_formula"] = {"choices": ["bhowmik", "maynord"]}

    scenario_file = small_scenario(edit=edit)
    assert scenario_file.distributions["traffic.planing_formula"] == Choice(
        ("bhowmik", "maynord"), (1.0, 1.0)
    )
    path = tmp_path / "resolved.toml"
    path.write_text(scenario_file.resolved_toml(), encoding="utf-8")
    assert load_scenario(path).digest() == scenario_file.digest()


@pytest.mark.parametrize("n_other", [1, 2])
def test_rival_formulas_move_the_wakes(demo: ScenarioFile, n_other: int) -> None:
    # Both formulas of a kind are in use: heights of its boats change, those of the other do not.
    change = [
        {"traffic.planing_formula": "bhowmik"},
        {"traffic.displacement_formula": "weggel-sorensen"},
    ]
    samples = []
    for changes in ({}, change[n_other - 1]):
        scenario = demo.overridden(changes).central
        sample = np.empty((400, 4))
        generator = stream(1, 0, Purpose.CLASSES)
        sample_passages(fleet(scenario, 7.3), waterway(scenario), generator, sample)
        samples.append(sample[:, 0].reshape(-1, 4))
    moved = (samples[0] != samples[1]).mean(axis=0)
    planing, displacing = moved[:2].min(), moved[2:].min()
    assert (planing > 0.9 and displacing == 0.0) if n_other == 1 else displacing > 0.5


# --- rough days -------------------------------------------------------------------------------


def test_rough_days_keep_boats_in_and_leave_the_yearly_mean(demo: ScenarioFile) -> None:
    scenario = demo.central
    sea = wind_sea(scenario, prepare_classes(scenario))
    rows = winds(scenario, sea, 20_000, np.random.default_rng(2))
    factor = boating_factor(scenario, sea, rows)
    error = factor.std() / math.sqrt(factor.size)
    assert factor.mean() == pytest.approx(1.0, abs=STANDARD_ERRORS * error)
    # Boating hours 7 to 19 hold the four spells whose middles lie between them.
    rough = (sea.speed[rows] >= scenario.traffic.rough_wind)[:, 3:6].sum(axis=1)
    rough += (sea.speed[rows] >= scenario.traffic.rough_wind)[:, 2]
    assert (np.diff([factor[rough == n].mean() for n in range(4)]) < -0.1).all()
    for n in range(4):
        assert np.ptp(factor[rough == n]) < 1e-12
    still = demo.overridden({"traffic.rough_share": 1.0}).central
    assert boating_factor(still, sea, rows).tolist() == [1.0] * rows.shape[0]


def prepare_classes(scenario: Any, n_wind: int = 1) -> Any:
    share, flux, height, period = wind_table(scenario)
    return wave_classes(np.empty((0, 4)), (share * flux, height, period), 3, 4.0, n_wind)


# --- hourly winds and classes of wind waves ----------------------------------------------------


def hourly_file(folder: Path, n_hours: int) -> tuple[str, Floats, Floats]:
    """A record from 31 December 2026, 22 h, with speeds that say their hour."""
    speeds = 2.0 + 10.0 * np.arange(n_hours) / n_hours
    directions = np.where(np.arange(n_hours) % 2 == 0, 70.0, 250.0)
    first = np.datetime64("2026-12-31T22:00")
    lines = ["time_utc,speed_m_per_s,direction_deg"]
    lines += [
        f"{first + np.timedelta64(i, 'h')},{speed},{direction}"
        for i, (speed, direction) in enumerate(zip(speeds, directions, strict=True))
    ]
    path = folder / "hourly.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path), speeds, directions


def test_an_hourly_record_is_laid_on_the_calendar_and_repeated(
    small_scenario: Make, tmp_path: Path
) -> None:
    name, speeds, directions = hourly_file(tmp_path, 50)

    def edit(table: dict[str, Any]) -> None:
        del table["wind"]["table"]
        table["wind"]["hourly"] = name

    scenario_file = small_scenario(edit=edit)
    scenario = scenario_file.central
    assert scenario.wind is not None
    assert scenario.wind.hourly is not None
    sea = wind_sea(scenario, prepare_classes(scenario))
    rows = winds(scenario, sea, 10, np.random.default_rng(1))
    # The forecast begins on 2027-01-01, two hours into the record of fifty.
    assert rows.ravel().tolist() == [(2 + hour) % 50 for hour in range(240)]
    assert sea.speed.tolist() == pytest.approx(speeds.tolist())
    assert ((sea.flux > 0.0) == (directions == 70.0)).all()
    # It survives the resolved file.
    path = tmp_path / "resolved.toml"
    path.write_text(scenario_file.resolved_toml(), encoding="utf-8")
    assert load_scenario(path).central.wind == scenario.wind
    # And the model counts its waves: the mean power over whole repetitions.
    common = prepare(scenario_file)
    tally = member_forcing(scenario_file, common, 0).weather.tally[:50]
    wind = common.classes.source == WIND
    energy = (tally * common.classes.flux * common.classes.period)[:, :, wind].sum()
    share, _, flux, _, _ = wind_rows(scenario_file.member(0))
    assert energy / (50 * 86400.0) == pytest.approx(float(share @ flux), rel=1e-9)


def test_wind_is_a_rose_or_a_record_not_both_nor_neither(
    small_scenario: Make, tmp_path: Path
) -> None:
    from edgesim.errors import ScenarioError

    name, _, _ = hourly_file(tmp_path, 50)
    with pytest.raises(ScenarioError, match=r"stands beside wind\.hourly"):
        small_scenario(edit=lambda table: table["wind"].update(hourly=name))
    with pytest.raises(ScenarioError, match=r"is missing, and so is wind\.hourly"):
        small_scenario(edit=lambda table: table["wind"].pop("table"))


def test_classes_of_wind_waves_share_their_energy_by_height(demo: ScenarioFile) -> None:
    scenario = demo.central
    share, flux, height, period = wind_table(scenario)
    for n in (1, 2, 3):
        classes = prepare_classes(scenario, n)
        assert classes.source.tolist() == [WIND] * n
        assert (np.diff(classes.height) > 0.0).all()
        assert (np.diff(classes.period) > 0.0).all()
        sea = wind_sea(scenario, classes)
        makes = sea.flux > 0.0
        energy = np.bincount(sea.wave_class[makes], (share * flux), minlength=n)
        mean = np.bincount(sea.wave_class[makes], share * flux * height**2, minlength=n) / energy
        np.testing.assert_allclose(np.sqrt(mean), classes.height, rtol=1e-12)
        # Rows are whole: a class may miss its even share by the largest row.
        assert abs(energy / energy.sum() - 1.0 / n).max() <= (share * flux).max() / energy.sum()
    assert period.min() < 0.7 < period.max()
