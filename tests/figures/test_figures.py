"""The content of the figures: labels, bands, panels, files."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import matplotlib as mpl
import numpy as np
import pytest
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from edgesim.errors import InvalidParameterError
from edgesim.figures import FIGURES, WITH_FORECAST, available, save_all
from edgesim.figures.style import (
    FIGURE_WIDTH,
    OPTION_LOOKS,
    featured_option,
    option_looks,
    spread,
    year_axis,
)

NAMES = WITH_FORECAST
PANELS = {"edge_fan": 3, "plan_map": 4, "section": 2, "wave_energy": 5, "race": 5, "mud": 2}
SECOND_AXES = {"edge_fan": 1, "plan_map": 4, "section": 3, "wave_energy": 2, "race": 2, "mud": 2}
UNITS = r"\((m|ft|m NAVD88|ft NAVD88|W/m|W/ft|%|per m²|per ft²|t|1000 lb|cm|in)\)"


@pytest.fixture(scope="module")
def drawn(synthetic_dataset: xr.Dataset) -> dict[str, Figure]:
    figures = {name: FIGURES[name].draw(synthetic_dataset) for name in NAMES}
    for figure in figures.values():
        figure.draw_without_rendering()
    return figures


@pytest.fixture(scope="module")
def saved(synthetic_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return save_all(synthetic_dataset, tmp_path_factory.mktemp("figures"))


def second_axes(axes: Axes) -> list[Axes]:
    return [
        child for child in axes.child_axes if isinstance(child, Axes) or hasattr(child, "yaxis")
    ]


def texts(figure: Figure) -> list[Text]:
    found = figure.findobj(Text)
    return [text for text in found if text.get_visible() and text.get_text().strip()]


@pytest.mark.parametrize("name", NAMES)
def test_number_of_panels_and_none_empty(drawn: dict[str, Figure], name: str):
    assert len(drawn[name].axes) == PANELS[name]
    for axes in drawn[name].axes:
        assert axes.lines
        for line in axes.lines:
            assert np.isfinite(np.asarray(line.get_ydata(), dtype=float)).any()


@pytest.mark.parametrize("name", NAMES)
def test_axes_name_their_unit(drawn: dict[str, Figure], name: str):
    labelled = 0
    for axes in drawn[name].axes:
        for axis in (axes.get_ylabel(), *(child.get_ylabel() for child in second_axes(axes))):
            if axis:
                assert re.search(UNITS, axis), axis
                labelled += 1
        across = axes.get_xlabel()
        assert not across or "Years" in across or re.search(UNITS, across)
    assert labelled >= 2


@pytest.mark.parametrize("name", NAMES)
def test_second_units(drawn: dict[str, Figure], name: str):
    found = [child for axes in drawn[name].axes for child in second_axes(axes)]
    assert len(found) == SECOND_AXES[name]


def test_feet_are_feet(drawn: dict[str, Figure]):
    axes = drawn["edge_fan"].axes[-1]
    (feet,) = second_axes(axes)
    np.testing.assert_allclose(feet.get_ylim(), np.array(axes.get_ylim()) / 0.3048)


@pytest.mark.parametrize("name", NAMES)
def test_bands_are_drawn(drawn: dict[str, Figure], name: str):
    for axes in drawn[name].axes:
        bands = [item for item in axes.collections if isinstance(item, PolyCollection)]
        assert bands or axes.containers, axes.get_title()  # the chance has bars, not bands


def test_median_and_bands_of_the_fan_are_those_of_the_ensemble(
    drawn: dict[str, Figure], synthetic_dataset: xr.Dataset
):
    axes = drawn["edge_fan"].axes[1]
    values = synthetic_dataset["retreat"].sel(option="reef only")
    (line,) = [
        line
        for line in axes.lines
        if line.get_marker() == option_looks(synthetic_dataset)["reef only"].marker
    ]
    np.testing.assert_allclose(line.get_ydata(), values.median("member"))
    outer = axes.collections[2].get_datalim(axes.transData)
    np.testing.assert_allclose(outer.y1, values.quantile(0.95, "member").max())


@pytest.mark.parametrize("name", NAMES)
def test_small_print_says_members_version_and_level(
    drawn: dict[str, Figure], name: str, synthetic_dataset: xr.Dataset
):
    every = " ".join(text.get_text() for text in texts(drawn[name]))
    assert "40 members" in every
    assert synthetic_dataset.attrs["source"] in every
    assert "Planning-level forecast" in every
    assert "Invented data" in every


@pytest.mark.parametrize("name", ["edge_fan", "wave_energy", "race", "mud"])
def test_the_shade_beyond_the_evidence_is_named(drawn: dict[str, Figure], name: str):
    assert any("beyond the evidence" in text.get_text() for text in texts(drawn[name]))


def test_a_short_run_has_no_shade():
    axes = Figure().subplots()
    year_axis(axes, 5)
    assert not axes.patches
    year_axis(axes, 6)
    assert len(axes.patches) == 1


@pytest.mark.parametrize("name", NAMES)
def test_text_is_legible_and_inside_the_page(drawn: dict[str, Figure], name: str):
    figure = drawn[name]
    assert figure.get_figwidth() * 25.4 == pytest.approx(FIGURE_WIDTH)
    for text in texts(figure):
        assert text.get_fontsize() >= 7.0
    for text in (*figure.texts, *(axes.title for axes in figure.axes)):
        box = text.get_window_extent()
        assert box.x0 >= 0
        assert box.x1 <= figure.bbox.x1 * 1.001, text.get_text()


@pytest.mark.parametrize("name", NAMES)
def test_end_labels_do_not_overlap(drawn: dict[str, Figure], name: str):
    for axes in drawn[name].axes:
        bold = [text for text in axes.texts if text.get_weight() == "bold"]
        for one, two in itertools.combinations(bold, 2):
            assert not one.get_window_extent().overlaps(two.get_window_extent())


@pytest.mark.parametrize("name", ["section", "race"])
def test_elevations_name_their_datum(drawn: dict[str, Figure], name: str):
    labels = [axes.get_ylabel() for axes in drawn[name].axes]
    assert any("NAVD88" in label for label in labels)
    assert all("NAVD88" in label for label in labels if "levation" in label or "rest" in label)


def test_section_names_the_tidal_datums(drawn: dict[str, Figure]):
    every = " ".join(text.get_text() for text in texts(drawn["section"]))
    for words in ("MHW 0.69 m", "MSL −0.07 m", "MLW −0.90 m"):
        assert words in every


def test_plan_is_true_to_scale(drawn: dict[str, Figure]):
    for axes in drawn["plan_map"].axes:
        box, (left, right), (low, high) = axes.get_window_extent(), axes.get_xlim(), axes.get_ylim()
        assert box.width / (right - left) == pytest.approx(box.height / (high - low), rel=1e-6)


def test_plan_draws_every_wall_where_it_stands(
    drawn: dict[str, Figure], synthetic_dataset: xr.Dataset
):
    counts = [len(axes.patches) for axes in drawn["plan_map"].axes]
    assert counts == [0, 4, 1, 5]
    starts = [patch.get_x() for patch in drawn["plan_map"].axes[1].patches]
    np.testing.assert_allclose(starts, synthetic_dataset["wall_start"])


def test_curves_are_told_apart_in_grey_print():
    weights = np.array([0.299, 0.587, 0.114])  # ITU-R BT.601 luma, from memory
    greys = sorted(255 * float(weights @ to_rgb(look.colour)) for look in OPTION_LOOKS[:4])
    assert min(np.diff(greys)) > 25
    assert len({look.marker for look in OPTION_LOOKS}) == len(OPTION_LOOKS)
    assert len({(look.line, look.marker) for look in OPTION_LOOKS}) == len(OPTION_LOOKS)


def test_no_action_comes_first(synthetic_dataset: xr.Dataset):
    backwards = synthetic_dataset.isel(option=slice(None, None, -1))
    assert next(iter(option_looks(backwards))) == "no action"
    assert featured_option(backwards) == "walls and reef"


def test_spread_keeps_distance_order_and_the_panel():
    rng = np.random.default_rng(1)
    for _ in range(50):
        wanted = sorted(rng.uniform(-0.1, 1.1, size=6))
        placed = spread(wanted, 0.12)
        assert min(np.diff(placed)) >= 0.12 - 1e-9
        assert placed[0] >= 0
        assert placed[-1] <= 1


@pytest.mark.slow
def test_files_are_png_at_300_dpi_and_svg_that_parses(saved: list[Path]):
    assert len(saved) == 2 * len(NAMES)
    for path in saved:
        if path.suffix == ".png":
            with Image.open(path) as image:
                assert image.info["dpi"] == pytest.approx((300, 300), abs=0.5)
                assert image.width == pytest.approx(FIGURE_WIDTH / 25.4 * 300, abs=1)
        else:
            assert ET.parse(path).getroot().tag.endswith("svg")
    assert sorted(saved) == sorted(saved[0].parent.iterdir())


@pytest.mark.slow
def test_the_same_forecast_gives_the_same_files(
    saved: list[Path],
    synthetic_dataset: xr.Dataset,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr("edgesim.figures.WITH_FORECAST", ("mud",))
    for path in save_all(synthetic_dataset, tmp_path):
        assert path.read_bytes() == (saved[0].parent / path.name).read_bytes()


def test_drawing_leaves_the_settings_alone(synthetic_dataset: xr.Dataset):
    before = mpl.rcParams.copy()
    FIGURES["mud"].draw(synthetic_dataset)
    assert mpl.rcParams == before


@pytest.mark.parametrize("name", NAMES)
def test_alt_text_is_words(synthetic_dataset: xr.Dataset, name: str):
    words = FIGURES[name].alt_text(synthetic_dataset)
    assert len(words) > 80
    assert "nan" not in words


@pytest.mark.slow
def test_without_any_design_the_race_is_left_out(synthetic_dataset: xr.Dataset):
    bare = synthetic_dataset.sel(option=["no action"])
    bare = bare.drop_dims(["wall", "reef_run"]).drop_vars(["wall_position", "reef_position"])
    assert "race" not in available(bare)
    for name in available(bare):
        FIGURES[name].draw(bare).draw_without_rendering()
        assert "nan" not in FIGURES[name].alt_text(bare)
    with pytest.raises(InvalidParameterError, match="walls or a reef"):
        FIGURES["race"].draw(bare)


@pytest.mark.parametrize(("option", "panels"), [("walls only", 1), ("reef only", 4)])
def test_race_with_one_line(synthetic_dataset: xr.Dataset, option: str, panels: int):
    one: Any = synthetic_dataset.sel(option=["no action", option])
    assert len(FIGURES["race"].draw(one).axes) == panels
    assert option in FIGURES["wave_energy"].alt_text(one)
