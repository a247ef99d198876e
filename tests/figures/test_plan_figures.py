"""Every figure of the plan: complete, legible, both units, datum named, words from the data."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from edgesim.errors import InvalidParameterError
from edgesim.figures import FIGURES, available, maintenance
from edgesim.figures.decision_tree import question
from edgesim.figures.exposure import band
from edgesim.figures.maintenance import LOOKS
from edgesim.figures.neighbours import gain
from edgesim.figures.saving import WIDTHS, save_figure
from edgesim.figures.style import FIGURE_WIDTH, OPTION_LOOKS
from edgesim.figures.tradeoff import undominated
from edgesim.figures.traffic_calendar import COLOURS, HATCHES
from edgesim.figures.trigger_chart import LEVELS
from edgesim.outcomes.needs import variables, why_missing
from edgesim.outcomes.site import SAMPLE_MEMBERS
from edgesim.outcomes.tables import TABLES
from edgesim.outcomes.triggers import starter_triggers

NAMES = tuple(FIGURES)
LUMA = np.array([0.299, 0.587, 0.114])
"""Weights of grey print (ITU-R BT.601, from memory)."""


@pytest.fixture(scope="module")
def drawn(whole_dataset: xr.Dataset) -> dict[str, Figure]:
    return {name: FIGURES[name].draw(whole_dataset) for name in NAMES}


def second_axes(axes: Axes) -> list[Axes]:
    return [child for child in axes.child_axes if hasattr(child, "yaxis")]


def labels(figure: Figure) -> list[str]:
    found = []
    for axes in figure.axes:
        for part in (axes, *second_axes(axes)):
            found += [part.get_xlabel(), part.get_ylabel()]
    return [label for label in found if label]


def grey(colour: str) -> float:
    return float(255 * LUMA @ np.array(to_rgb(colour)))


def test_the_plan_has_its_27_figures():
    numbers = [entry.number for entry in FIGURES.values()]
    assert sorted({int(re.sub(r"\D", "", number)) for number in numbers}) == list(range(1, 28))
    assert len(set(numbers)) == len(numbers)
    for name, entry in FIGURES.items():
        assert entry.name == name
        assert entry.title


def test_a_whole_forecast_fills_every_figure(whole_dataset: xr.Dataset):
    assert available(whole_dataset) == list(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_no_axis_is_empty(drawn: dict[str, Figure], name: str):
    figure = drawn[name]
    assert figure.axes
    for axes in figure.axes:
        shown = [*axes.lines, *axes.patches, *axes.collections, *axes.images]
        assert shown, axes.get_title()
        for line in axes.lines:
            values = np.asarray(line.get_ydata(), dtype=float)
            assert not values.size or np.isfinite(values).any()


@pytest.mark.parametrize("name", NAMES)
def test_caption_says_members_version_datum_and_caution(whole_dataset: xr.Dataset, name: str):
    words = FIGURES[name].caption(whole_dataset)
    assert (FIGURES[name].sample.removeprefix("The ")[1:] or "40 members") in words
    assert whole_dataset.attrs["source"] in words
    assert "above NAVD88" in words
    assert "Planning-level forecast, not a design" in words
    assert "Invented data" in words
    assert "nan" not in words.lower().replace("nand", "")
    assert ".." not in words


@pytest.mark.parametrize("name", NAMES)
def test_caption_and_small_print_rest_on_the_same(drawn: dict[str, Figure], name: str):
    small_print = " ".join(text.get_text() for text in drawn[name].texts)
    assert (FIGURES[name].sample or "40 members") in small_print


def test_figures_of_sampled_members_say_how_many():
    for name in ("wake_heights", "transmission"):
        assert f"{SAMPLE_MEMBERS} members" in FIGURES[name].sample


@pytest.mark.parametrize("name", sorted(NAMES))
def test_lengths_in_headlines_stand_in_feet_or_inches_too(whole_dataset: xr.Dataset, name: str):
    words = FIGURES[name].headline(whole_dataset)
    metric, customary = (
        re.findall(rf"\d (?:{units})\b", words) for units in ("m|cm|m/yr", "ft|in|ft/yr")
    )
    assert len(customary) >= len(metric), words


def test_headline_of_money_agrees_with_the_table_of_money(whole_dataset: xr.Dataset):
    table = TABLES["money_buys"].build(whole_dataset)
    rows = [dict(zip(table.headings, row, strict=True)) for row in table.rows]
    row = next(r for r in rows if (r["option"], r["counted"]) == ("walls and reef", "nominal"))
    assert f"costs {row['per m2, 90 %']} USD" in FIGURES["tradeoff"].headline(whole_dataset)


def test_headline_of_the_calendar_says_when_upkeep_ends(
    whole_dataset: xr.Dataset, monkeypatch: pytest.MonkeyPatch
):
    def told(end: float | None) -> str:
        monkeypatch.setattr(maintenance, "upkeep_end", lambda _: end)
        return maintenance.headline(whole_dataset)

    assert "the last in year" in told(None)
    assert "upkeep ends after year 5, while repair is still called for" in told(5.0)
    assert "ends after year 10 (all members)" in told(10.0)


@pytest.mark.parametrize("name", NAMES)
def test_alt_text_tells_the_figure_in_words_and_numbers(whole_dataset: xr.Dataset, name: str):
    words = FIGURES[name].alt_text(whole_dataset)
    assert 80 < len(words) < 1600
    assert re.search(r"\d", words)
    assert not re.search(r"\bnan\b", words)
    assert FIGURES[name].headline(whole_dataset) in words


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("edge_fan", lambda d: d.assign(retreat=2 * d["retreat"])),
        ("cost_fan", lambda d: d.assign(cost=2 * d["cost"])),
        ("oysters", lambda d: d.assign(oyster_density=2 * d["oyster_density"])),
        ("wake_heights", lambda d: d.assign(wake_height=2 * d["wake_height"])),
        ("traffic_calendar", lambda d: d.assign(passages=2 * d["passages"])),
        ("transmission", lambda d: d.assign(transmission_walls=0.5 * d["transmission_walls"])),
        ("trigger_chart", lambda d: d.assign(fill_fraction=0 * d["fill_fraction"])),
        ("neighbours", lambda d: d.assign(edge_position=2 * d["edge_position"])),
        ("belief_weights", lambda d: d.assign(belief_weight=1 - d["belief_weight"])),
        ("observed", lambda d: d.assign(observed_retreat=d["observed_retreat"] + 3)),
    ],
)
def test_the_words_follow_the_data(
    whole_dataset: xr.Dataset, name: str, change: Callable[[xr.Dataset], xr.Dataset]
):
    entry = FIGURES[name]
    assert entry.alt_text(change(whole_dataset)) != entry.alt_text(whole_dataset)


@pytest.mark.parametrize("name", NAMES)
def test_elevation_axes_name_the_datum(drawn: dict[str, Figure], name: str):
    for label in labels(drawn[name]):
        if re.search(r"levation|ater level|^Crest \(m|^Crest \(ft", label):
            assert "NAVD88" in label, label


@pytest.mark.parametrize("name", NAMES)
def test_what_has_metres_has_feet(drawn: dict[str, Figure], name: str):
    every = " ".join(labels(drawn[name]))
    for unit, other in (
        (r"\(m\)", r"\(ft\)"),
        (r"\(m NAVD88\)", r"\(ft NAVD88\)"),
        (r"\(cm\)", r"\(in\)"),
        (r"\(m²\)", r"\(ft²\)"),
        (r"\(per m²\)", r"\(per ft²\)"),
        (r"\(m/yr\)", r"\(ft/yr\)"),
        (r"\(W/m\)", r"\(W/ft\)"),
    ):
        if re.search(unit, every):
            assert re.search(other, every), every


@pytest.mark.parametrize("name", NAMES)
def test_words_are_large_enough_and_on_the_page(drawn: dict[str, Figure], name: str):
    figure = drawn[name]
    assert figure.get_figwidth() * 25.4 == pytest.approx(FIGURE_WIDTH)
    figure.draw_without_rendering()
    for text in figure.findobj(Text):
        if not text.get_visible() or not text.get_text().strip():
            continue
        assert text.get_fontsize() >= 7.0, text.get_text()
    for text in (
        *figure.texts,
        *(t for axes in figure.axes for t in (axes.title, axes.xaxis.label)),
    ):
        box = text.get_window_extent()
        assert box.x0 >= -1, text.get_text()
        assert box.x1 <= figure.bbox.x1 * 1.002, text.get_text()
        assert box.y0 >= -1, text.get_text()


@pytest.mark.parametrize(
    "name",
    ["edge_fan", "wave_energy", "race", "mud", "oysters", "cost_fan", "trigger_chart", "maintenance", "observed"],
)  # fmt: skip
def test_years_beyond_the_evidence_are_marked(drawn: dict[str, Figure], name: str):
    assert any("beyond the evidence" in text.get_text() for text in drawn[name].findobj(Text))


def test_stages_of_alarm_differ_in_grey_print_and_by_hatching():
    greys = [grey(colour) for _, colour, _, _ in LEVELS]
    assert min(-np.diff(greys)) > 25
    assert len({hatch for _, _, hatch, _ in LEVELS}) == len(LEVELS)


def test_bars_and_works_differ_by_hatching_too():
    assert len(set(HATCHES)) == len(HATCHES) == len(COLOURS)
    assert len({hatch for _, hatch, _ in LOOKS.values()}) == len(LOOKS)


@pytest.mark.parametrize("look", OPTION_LOOKS, ids=lambda look: look.colour)
def test_bands_and_lines_stand_out_in_grey_print(look):
    white = 255.0
    line = grey(look.colour)
    if look.colour != "#F0E442":  # the eighth option; its star marks carry it
        assert white - line > 60
        inner = line * 0.38 + white * 0.62  # both bands, 1 - 0.87 * 0.75 opaque
        assert white - inner > 20
        assert inner - line > 30


def test_words_in_cells_can_be_read_on_their_colour():
    def luminance(colour: str) -> float:
        parts = np.array(to_rgb(colour))
        linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
        return float(np.array([0.2126, 0.7152, 0.0722]) @ linear)

    for _, colour, _, _ in LEVELS:
        # Contrast of WCAG 2 (from memory): at least 4.5 for small print.
        assert (luminance(colour) + 0.05) / 0.05 >= 4.5


@pytest.mark.parametrize("width", WIDTHS)
def test_files_say_300_dpi_and_their_width(
    drawn: dict[str, Figure], whole_dataset: xr.Dataset, tmp_path: Path, width: str
):
    figure = drawn["retreat_rates"]
    paths = [
        save_figure(figure, tmp_path / f"one.{kind}", whole_dataset, width)
        for kind in ("png", "svg", "pdf")
    ]
    with Image.open(paths[0]) as image:
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.5)
        assert image.width == pytest.approx(WIDTHS[width] / 25.4 * 300, abs=2)
        assert image.width >= 1800
    root = ET.parse(paths[1]).getroot()
    assert root.tag.endswith("svg")
    points = float(root.attrib["width"].removesuffix("pt"))
    assert points == pytest.approx(WIDTHS[width] / 25.4 * 72, rel=1e-3)
    assert paths[2].read_bytes().startswith(b"%PDF")


def test_an_unknown_format_or_width_is_refused(
    drawn: dict[str, Figure], whole_dataset: xr.Dataset, tmp_path: Path
):
    for name, width in (("one.gif", "journal"), ("one.png", "poster")):
        with pytest.raises(InvalidParameterError, match=re.escape(name)):
            save_figure(drawn["retreat_rates"], tmp_path / name, whole_dataset, width)
    assert not list(tmp_path.iterdir())


def test_what_lacks_its_data_says_why_and_what_to_do(synthetic_dataset: xr.Dataset):
    missing = {name: entry.missing(synthetic_dataset) for name, entry in FIGURES.items()}
    for sentence in filter(None, missing.values()):
        assert re.fullmatch(r"not provided: .+; .+\.", sentence)
    for name in ("sensitivity", "design_map", "observed", "belief_weights", "edge_history"):
        assert missing[name]
    for name in ("edge_fan", "plan_map", "cost_fan", "trigger_chart", "neighbours"):
        assert not missing[name]


def test_the_first_thing_missing_is_named():
    data = xr.Dataset(attrs={"a": 1})
    first = variables("a", reason="no a", remedy="give a")
    second = variables("b", reason="no b", remedy="give b")
    assert why_missing(data, [first]) == ""
    assert why_missing(data, [first, second]) == "not provided: no b; give b."


def test_band_of_the_reefs_is_where_the_tide_curve_meets_its_ends(whole_dataset: xr.Dataset):
    low, high = band(whole_dataset)
    curve = whole_dataset["dry_share"].values, whole_dataset["tide_level"].values
    assert np.interp([low, high], curve[1], curve[0]) == pytest.approx(
        whole_dataset["oyster_band"].values[:2], abs=1e-6
    )
    assert np.all(np.diff(curve[0]) >= 0)
    assert curve[0][0] == 0
    assert curve[0][-1] == pytest.approx(1)


def test_the_same_option_gains_nothing_on_itself(whole_dataset: xr.Dataset):
    assert np.all(gain(whole_dataset, "no action") == 0)


def test_a_dearer_option_that_is_no_better_is_not_ringed(synthetic_dataset: xr.Dataset):
    names = list(synthetic_dataset["option"].values)
    place = names.index("walls only")
    cost = synthetic_dataset["cost"].copy()
    cost[{"option": place}] = 1e9
    land = synthetic_dataset["land_kept"].copy()
    land[{"option": place}] = -1e3
    changed = synthetic_dataset.assign(cost=cost, land_kept=land)
    assert "walls only" not in undominated(changed)
    assert "no action" in undominated(changed)


def test_questions_of_the_decision_tree_name_side_value_and_unit():
    words = [question(trigger) for trigger in starter_triggers()]
    assert "Fill left in the walls below 50 %?" in words
    assert "Extra loss at ends and gaps above 0.5 m?" in words
    assert "Animals caught or boats striking: any?" in words


@pytest.mark.slow
@pytest.mark.parametrize("option", ["walls only", "reef only"])
def test_every_figure_that_can_be_drawn_with_one_line_is_drawn(
    whole_dataset: xr.Dataset, option: str
):
    one = whole_dataset.sel(option=["no action", option]).assign_attrs(observed_option=option)
    for name in available(one):
        FIGURES[name].draw(one).draw_without_rendering()
        assert "nan" not in FIGURES[name].caption(one)
