"""What the Dataset says of the site: tide, wakes, traffic, what passes the lines."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr


def test_rarer_wakes_are_higher(whole_dataset: xr.Dataset):
    table = whole_dataset["wake_height"]
    assert np.all(np.diff(whole_dataset["exceeded"]) < 0)
    assert np.all(np.diff(table.values, axis=1) > 0)
    assert np.all(table > 0)


def test_higher_levels_lie_in_air_longer(whole_dataset: xr.Dataset):
    dry = whole_dataset["dry_share"].values
    assert np.all(np.diff(dry) >= 0)
    # The tide is nearly even about its mean: mean sea level is in air about half of the time.
    middle = np.interp(0.0, whole_dataset["tide_level"], dry)
    assert middle == pytest.approx(0.5, abs=0.1)


def test_passages_are_those_of_the_count(whole_dataset: xr.Dataset):
    # The demonstration: 60 small open boats on a weekday, 180 on a weekend day; July factor 1.6.
    boats = whole_dataset["passages"].sel(boat_class="small open boats")
    assert float(boats.sel(month=7, day_kind="weekday")) == pytest.approx(96.0)
    assert float(boats.sel(month=7, day_kind="weekend")) == pytest.approx(288.0)
    # Lognormal about 1 with a factor of 1.5: the median is 1.
    assert float(whole_dataset["traffic_level"][2]) == pytest.approx(1.0)


def test_rate_and_its_spread_are_those_of_the_scenario(whole_dataset: xr.Dataset):
    # Mean 1.3 ft/yr, sd 0.3 ft/yr, normal: median 0.396 m/yr, 5 % at 1.3 - 1.645 x 0.3 = 0.807 ft/yr
    # (0.246 m/yr; cutting at three standard deviations moves it by less than 0.002 m/yr).
    rate = whole_dataset["surveyed_retreat_rate"].values
    assert rate[2] == pytest.approx(0.3962, abs=1e-3)
    assert rate[0] == pytest.approx(0.246, abs=3e-3)


@pytest.mark.parametrize("line", ["walls", "reef"])
def test_more_passes_what_is_worn_and_all_passes_what_is_gone(whole_dataset: xr.Dataset, line: str):
    passed = whole_dataset[f"transmission_{line}"].sel(quantile=0.5)
    assert np.all(passed.diff("condition") <= 1e-6)
    gone = passed.sel(condition=0.0)
    assert np.all(gone > 0.9)  # a row of bare posts takes a few per cent
    if line == "reef":
        np.testing.assert_allclose(gone, 1.0, atol=1e-6)
    new = passed.sel(condition=1.0)
    assert float(new.min()) < 0.7
    spread = whole_dataset[f"transmission_{line}"]
    assert np.all(spread.diff("quantile") >= -1e-9)


def test_elevations_of_the_site_name_their_datum(whole_dataset: xr.Dataset):
    for name in ("profile_elevation", "water_level"):
        assert whole_dataset[name].attrs["comment"] == "positive up from NAVD88"
