"""The Dataset, its way to disk, and the tables made from it."""

from __future__ import annotations

import csv
import dataclasses
import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from scipy import stats

from edgesim.errors import DataFileError, InvalidParameterError
from edgesim.names import (
    BUDGETS,
    BY_NAME,
    DERIVED,
    LEDGER_ENTRIES,
    OYSTER_SIZE_COUNT,
    SHELL_PARTS,
    VARIABLES,
)
from edgesim.outcomes.dataset import (
    Facts,
    build_dataset,
    has_reef,
    has_walls,
    read_dataset,
    replacing,
    write_dataset,
    write_table,
)
from edgesim.outcomes.summary import (
    chance_interval,
    member_quantiles,
    summary_table,
    takeover_table,
    with_english_units,
    write_summary,
    write_takeover,
)


def small_result(ny: int, nx: int, nt: int, speed: float) -> dict[str, Any]:
    """Every quantity zero, but an edge that retreats everywhere at `speed` a record."""
    sizes = {"time": nt, "alongshore": ny, "cross_shore": nx, "ledger_entry": len(LEDGER_ENTRIES)}
    sizes |= {"budget": len(BUDGETS), "oyster_size": OYSTER_SIZE_COUNT}
    sizes |= {"shell_part": len(SHELL_PARTS), "visit": 3}
    result = {
        variable.name: np.zeros([sizes[dim] for dim in variable.dims[2:]])
        for variable in VARIABLES
        if variable.name not in DERIVED
    }
    result["edge_position"] = 4.0 + speed * np.arange(nt)[:, None] * np.ones(ny)
    return result


@pytest.fixture
def small_facts(synthetic_facts: Facts) -> Facts:
    return dataclasses.replace(
        synthetic_facts,
        alongshore=np.array([0.5, 1.5, 2.5, 3.5]),
        cross_shore=np.arange(6) + 0.5,
        cell_size=1.0,
        shore_length=4.0,
        time_days=np.array([0.0, 365.25, 730.5]),
        initial_edge=np.full(4, 4.0),
        defended=(1.0, 3.0),
        wall_segments=(),
        reef_segments=(),
    )


def test_every_name_is_there_with_its_dimensions_and_unit(synthetic_dataset: xr.Dataset):
    for variable in VARIABLES:
        found = synthetic_dataset[variable.name]
        assert set(found.dims) == set(variable.dims)
        assert found.attrs["units"] == variable.unit
        assert found.attrs["long_name"] == variable.long_name


def test_derived_quantities_by_hand(small_facts: Facts, scenario_file: Any):
    results = [[small_result(4, 6, 3, speed)] for speed in (0.5, 0.2)]
    dataset = build_dataset(small_facts, ["no action", "walls"], results, scenario_file)
    np.testing.assert_allclose(dataset["retreat"].sel(option="walls", member=0), [0.0, 0.2, 0.4])
    # 4 m of shore, 1.0 m against 0.4 m of retreat after two records: 2.4 m2.
    np.testing.assert_allclose(dataset["land_kept"].sel(option="walls", member=0)[-1], 2.4)
    assert (dataset["land_kept"].sel(option="no action") == 0.0).all()


def test_an_option_equal_to_no_action_keeps_exactly_nothing(small_facts: Facts, scenario_file: Any):
    results = [[small_result(4, 6, 3, 1 / 3)], [small_result(4, 6, 3, 1 / 3)]]
    dataset = build_dataset(small_facts, ["no action", "twin"], results, scenario_file)
    assert (dataset["land_kept"] == 0.0).all()


def test_layout_without_lines_has_no_wall_and_no_reef(small_facts: Facts, scenario_file: Any):
    results = [[small_result(4, 6, 3, 0.1)]]
    dataset = build_dataset(small_facts, ["no action"], results, scenario_file)
    assert not [name for name in dataset.variables if str(name).startswith(("wall_s", "reef_s"))]


@pytest.mark.parametrize(
    ("options", "members", "word"),
    [
        (["no action", "walls"], [1], "options"),
        (["no action", "walls"], [1, 2], "members"),
        (["no action"], [0], "members"),
        (["walls"], [1], "no action"),
    ],
)
def test_results_that_do_not_fit_are_refused(
    small_facts: Facts, scenario_file: Any, options: list[str], members: list[int], word: str
):
    results = [[small_result(4, 6, 3, 0.1)] * count for count in members]
    with pytest.raises(InvalidParameterError, match=word):
        build_dataset(small_facts, options, results, scenario_file)


def test_a_missing_quantity_is_named(small_facts: Facts, scenario_file: Any):
    result = small_result(4, 6, 3, 0.1)
    del result["cost"]
    with pytest.raises(InvalidParameterError, match="cost"):
        build_dataset(small_facts, ["no action"], [[result]], scenario_file)


def test_takeover_only_with_a_reef(synthetic_dataset: xr.Dataset):
    year = synthetic_dataset["takeover_year"]
    assert np.isnan(year.sel(option=["no action", "walls only"])).all()
    assert np.isfinite(year.sel(option="walls and reef")).any()


def test_no_takeover_without_a_reef_even_if_the_power_is_low(
    small_facts: Facts, scenario_file: Any
):
    result = small_result(4, 6, 3, 0.1)
    result["edge_power_open"] = np.full(3, 10.0)
    result["edge_power_reef"] = np.full(3, 1.0)
    without = {**result, "reef_crest": np.full(3, np.nan)}
    dataset = build_dataset(
        small_facts, ["no action", "reef"], [[without], [result]], scenario_file
    )
    assert np.isnan(dataset["takeover_year"].sel(option="no action")).all()
    assert (dataset["takeover_year"].sel(option="reef") == 0.0).all()


def test_which_option_has_which_line(synthetic_dataset: xr.Dataset):
    lines = {
        str(name): (has_walls(synthetic_dataset, name), has_reef(synthetic_dataset, name))
        for name in synthetic_dataset["option"].values
    }
    assert lines == {
        "no action": (False, False),
        "walls only": (True, False),
        "reef only": (False, True),
        "walls and reef": (True, True),
    }


def test_write_then_read_is_the_identity(synthetic_dataset: xr.Dataset, tmp_path: Path):
    path = tmp_path / "run.nc"
    write_dataset(synthetic_dataset, path)
    xr.testing.assert_identical(read_dataset(path), synthetic_dataset)
    assert [file.name for file in tmp_path.iterdir()] == ["run.nc"]


def test_two_writes_give_the_same_bytes(synthetic_dataset: xr.Dataset, tmp_path: Path):
    one, two = tmp_path / "one.nc", tmp_path / "two.nc"
    write_dataset(synthetic_dataset, one)
    write_dataset(read_dataset(one), two)
    assert one.read_bytes() == two.read_bytes()


def test_times_are_calendar_days(synthetic_dataset: xr.Dataset):
    assert str(synthetic_dataset["time"].values[0])[:10] == "2027-01-01"
    # 3652.5 days after 2027-01-01, with the leap days of 2028, 2032 and 2036.
    assert str(synthetic_dataset["time"].values[-1])[:13] == "2036-12-31T12"
    assert float(synthetic_dataset["elapsed"][-1]) == pytest.approx(10.0)


def test_provenance_and_cautions(
    small_facts: Facts, scenario_file: Any, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    results = [[small_result(4, 6, 3, 0.1)]]
    attributes = build_dataset(small_facts, ["no action"], results, scenario_file).attrs
    assert attributes["history"].startswith("2027-01-15T08:00:00Z edgesim")
    assert attributes["edgesim_scenario_sha256"] == scenario_file.digest()
    assert attributes["edgesim_scenario"] == scenario_file.resolved_toml()
    assert "invented" in attributes["comment"]
    assert "engineer" in attributes["comment"]
    assert "numpy" in attributes["library_versions"]


def test_reading_what_is_missing_or_no_forecast(tmp_path: Path):
    with pytest.raises(DataFileError, match=r"nowhere\.nc"):
        read_dataset(tmp_path / "nowhere.nc")
    other = tmp_path / "other.nc"
    xr.Dataset({"x": ("n", [1.0])}).to_netcdf(other)
    with pytest.raises(DataFileError, match="holds no forecast"):
        read_dataset(other)


def test_a_failed_write_leaves_the_old_file(tmp_path: Path):
    path = tmp_path / "table.csv"
    path.write_text("old")

    def write_half() -> None:
        with replacing(path) as temporary:
            temporary.write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_half()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_an_unwritable_target_is_named(synthetic_dataset: xr.Dataset, tmp_path: Path):
    with pytest.raises(DataFileError, match="absent"):
        write_summary(synthetic_dataset, tmp_path / "absent" / "table.csv")


def test_quantiles_by_hand_and_without_missing_members():
    values = np.array([[0.0, np.nan], [1.0, np.nan], [2.0, np.nan], [3.0, np.nan], [4.0, np.nan]])
    found = member_quantiles(values)
    np.testing.assert_allclose(found[:, 0], [0.2, 1.0, 2.0, 3.0, 3.8])
    assert np.isnan(found[:, 1]).all()
    np.testing.assert_allclose(member_quantiles([1.0, np.nan, 3.0])[2], 2.0)


def test_summary_rows_are_ordered_and_stay_inside_the_run(synthetic_dataset: xr.Dataset):
    rows = summary_table(synthetic_dataset, years=(1, 3, 5, 10, 20))
    assert {row.year for row in rows} == {1, 3, 5, 10}
    assert all(row.p05 <= row.p25 <= row.p50 <= row.p75 <= row.p95 for row in rows)
    assert all(row.n == 40 for row in rows)
    walls = {row.quantity for row in rows if row.option == "walls only"}
    assert "fill_fraction" in walls
    assert "reef_crest" not in walls
    assert {row.unit for row in rows if row.quantity == "cost"} == {"USD"}


def test_summary_agrees_with_xarray(synthetic_dataset: xr.Dataset):
    series = synthetic_dataset["retreat"].sel(option="reef only").isel(time=20)
    (row,) = [
        row
        for row in summary_table(synthetic_dataset, years=(5,))
        if row.option == "reef only" and row.quantity == "retreat"
    ]
    expected = [float(series.quantile(q)) for q in (0.05, 0.25, 0.5, 0.75, 0.95)]
    assert [row.p05, row.p25, row.p50, row.p75, row.p95] == pytest.approx(expected)


def test_lengths_and_areas_come_in_feet_too(synthetic_dataset: xr.Dataset):
    rows = with_english_units(summary_table(synthetic_dataset, years=(10,)))
    units = {"m": ("ft", 3.280840), "m2": ("ft2", 10.763910), "kg": ("lb", 2.204623)}
    checked = set()
    for first, second in itertools.pairwise(rows):
        if first.unit in units:
            unit, factor = units[first.unit]
            assert (second.option, second.quantity, second.unit) == (
                first.option,
                first.quantity,
                unit,
            )
            assert second.p50 == pytest.approx(first.p50 * factor, rel=1e-6)
            checked.add(first.unit)
    assert checked == set(units)


@pytest.mark.parametrize(
    ("count", "trials"), [(0, 40), (1, 40), (22, 40), (40, 40), (0, 1), (1, 1)]
)
@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
def test_chance_interval_equals_scipy(count: int, trials: int, confidence: float):
    found = chance_interval(count, trials, confidence)
    expected = stats.binomtest(count, trials).proportion_ci(confidence, method="exact")
    assert [float(end) for end in found] == pytest.approx([expected.low, expected.high], abs=1e-9)


def test_chance_interval_of_nothing_seen():
    # With k = 0 the upper end solves (1 - p)**n = tail.
    assert float(chance_interval(0, 20)[1]) == pytest.approx(1 - 0.05 ** (1 / 20))


def test_chance_interval_refuses_more_successes_than_trials():
    with pytest.raises(InvalidParameterError, match="successes"):
        chance_interval([1, 5], 4)


def test_takeover_chance_grows_by_year(synthetic_dataset: xr.Dataset):
    rows = [
        row for row in takeover_table(synthetic_dataset, range(11)) if row.option == "reef only"
    ]
    assert len(rows) == 11
    chances = [row.chance for row in rows]
    assert chances == sorted(chances)
    assert all(row.low <= row.chance <= row.high for row in rows)
    never = int(np.isnan(synthetic_dataset["takeover_year"].sel(option="reef only")).sum())
    assert rows[-1].chance == pytest.approx(1 - never / 40)
    assert {row.option for row in takeover_table(synthetic_dataset)} == {
        "reef only",
        "walls and reef",
    }


def test_csv_files_can_be_read_back(synthetic_dataset: xr.Dataset, tmp_path: Path):
    write_summary(synthetic_dataset, tmp_path / "summary.csv")
    write_takeover(synthetic_dataset, tmp_path / "takeover.csv")
    with (tmp_path / "summary.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0]) == [
        "option", "quantity", "unit", "year", "p05", "p25", "p50", "p75", "p95", "n",
    ]  # fmt: skip
    expected = with_english_units(summary_table(synthetic_dataset))
    assert [float(row["p50"]) for row in rows] == [row.p50 for row in expected]
    assert (tmp_path / "takeover.csv").read_text().startswith("option,year,chance,low,high,n\n")


def test_an_empty_table_is_refused(tmp_path: Path):
    with pytest.raises(InvalidParameterError, match="row"):
        write_table([], tmp_path / "empty.csv")


def test_large_fields_are_single_precision(synthetic_dataset: xr.Dataset):
    kinds = {name: synthetic_dataset[name].dtype for name in BY_NAME}
    singles = {name for name, kind in kinds.items() if kind == np.float32}
    assert singles == {"edge_position", "surface_section", "oyster_sizes"}
