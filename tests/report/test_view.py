"""The interactive page: the numbers in it are those of the forecast."""

from __future__ import annotations

import base64
import json
import re
from typing import Any

import html5lib
import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from edgesim.figures.style import first_edge
from edgesim.report.view import MISSING, MOST_TIMES, pack, view_data, view_page
from edgesim.scenario import CAUTIONS


def unpack(packed: dict[str, Any]) -> np.ndarray:
    codes = np.frombuffer(base64.b64decode(packed["data"]), dtype="<i2").reshape(packed["shape"])
    return np.where(codes == MISSING, np.nan, codes * packed["scale"])


@pytest.fixture(scope="module")
def data(synthetic_dataset: xr.Dataset) -> dict[str, Any]:
    return view_data(synthetic_dataset)


@given(st.lists(st.floats(-1e6, 1e6) | st.just(float("nan")), min_size=1, max_size=20))
def test_packed_numbers_come_back_within_their_step(values: list[float]):
    packed = pack(values, finest=0.001)
    error = np.abs(unpack(packed) - np.array(values))
    assert (np.isnan(error) == np.isnan(values)).all()
    assert np.nanmax([0.0, *error]) <= 0.5 * packed["scale"] * (1 + 1e-9)
    largest = np.nanmax(np.abs([0.0, *values]))
    assert packed["scale"] <= max(0.001, largest / 32000) * (1 + 1e-12)


def test_edges_are_those_of_the_forecast(data: dict[str, Any], synthetic_dataset: xr.Dataset):
    edge = unpack(data["edge"])
    names = [option["name"] for option in data["options"]]
    shown = synthetic_dataset["edge_position"].sel(option=names) - first_edge(synthetic_dataset)
    places = np.searchsorted(synthetic_dataset["alongshore"].values, np.array(data["along"]) - 1e-3)
    members = shown.values[:, :, :, places]
    np.testing.assert_allclose(edge[:, 5:], members, atol=0.00051)
    bands = np.quantile(members.astype(float), [0.05, 0.25, 0.5, 0.75, 0.95], axis=1)
    np.testing.assert_allclose(edge[:, :5], np.moveaxis(bands, 0, 1), atol=0.00051)


def test_values_are_those_of_the_forecast(data: dict[str, Any], synthetic_dataset: xr.Dataset):
    names = [option["name"] for option in data["options"]]
    by_name = {one["name"]: one for one in data["series"]}
    for name, factor in (("retreat", 1.0), ("fill_fraction", 100.0), ("cost", 1.0)):
        wanted = synthetic_dataset[name].sel(option=names).values * factor
        packed = by_name[name]["packed"]
        np.testing.assert_allclose(
            unpack(packed)[:, 5:], wanted, atol=0.51 * packed["scale"], equal_nan=True
        )


def test_bands_come_from_all_members_though_few_are_shown(synthetic_dataset: xr.Dataset):
    many = xr.concat([synthetic_dataset] * 2, "member", data_vars="minimal")
    many["retreat"][{"member": slice(40, None)}] += 10.0
    data = view_data(many)
    assert len(data["members"]) == 40
    assert data["total"] == 80
    retreat = next(one for one in data["series"] if one["name"] == "retreat")["packed"]
    wanted = np.quantile(many["retreat"].sel(option="walls only").values[:, -1], 0.95)
    assert unpack(retreat)[1, 4, -1] == pytest.approx(wanted, abs=retreat["scale"])


def test_long_runs_are_thinned_with_both_ends_kept(synthetic_dataset: xr.Dataset):
    long = xr.concat([synthetic_dataset] * 3, "time", data_vars="minimal")
    data = view_data(long)
    assert len(data["years"]) == MOST_TIMES
    assert data["years"][0] == 0.0
    assert data["years"][-1] == pytest.approx(10.0, abs=0.01)


def test_a_forecast_without_lines_has_a_page(synthetic_dataset: xr.Dataset):
    bare = synthetic_dataset.sel(option=["no action"])
    bare = bare.drop_vars(
        [
            n
            for n in bare
            if re.match(r"(wall|reef)_(start|end|position|crest_built|thickness|width)$", str(n))
        ]
    )
    data = view_data(bare)
    assert data["walls"] is None
    assert data["reef"] is None
    assert "retreat" in [one["name"] for one in data["series"]]


@pytest.fixture(scope="module")
def little(synthetic_dataset: xr.Dataset) -> xr.Dataset:
    """A forecast small enough for a slow parser."""
    return synthetic_dataset.isel(member=slice(0, 3), time=slice(0, None, 10))


def test_the_page_of_a_demo_is_small_enough_to_send(synthetic_dataset: xr.Dataset):
    assert len(view_page(synthetic_dataset)) < 5e6


def test_the_page_is_strict_html_by_itself_with_cautions(little: xr.Dataset):
    page = view_page(little)
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)
    assert CAUTIONS in " ".join("".join(next(tree.iter("aside")).itertext()).split())
    assert not [e for e in tree.iter() if e.get("src") or e.get("href", "#")[0] != "#"]
    assert "default-src 'none'" in page
    assert not re.search(r"\bfetch\(|XMLHttpRequest|import\(|@import|WebSocket", page)


def test_options_are_told_apart_without_colour(data: dict[str, Any]):
    dashes = [option["dash"] for option in data["options"]]
    assert len(set(dashes)) == len(dashes)


def test_a_title_cannot_break_out_of_the_page(little: xr.Dataset):
    wicked = little.assign_attrs(title='</script><script>alert("x")</script>')
    page = view_page(wicked)
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)
    assert len(list(tree.iter("script"))) == 2
    embedded = next(e for e in tree.iter("script") if e.get("id") == "data")
    assert json.loads(embedded.text)["title"] == wicked.attrs["title"]
