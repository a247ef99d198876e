"""The plan as a page: valid, complete, by itself, and the same as its files."""

from __future__ import annotations

import csv
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from edgesim.report.cautions import ITEMS
from edgesim.report.svg import inline
from edgesim.scenario import CAUTIONS


@pytest.fixture(scope="module")
def tree(plan: Any) -> Any:
    return plan.tree()


SVG = "{http://www.w3.org/2000/svg}"


def text(element: Any) -> str:
    return " ".join("".join(element.itertext()).split())


def test_the_strict_parser_accepts_the_page(tree: Any):
    assert tree.tag == "html"
    assert tree.get("lang") == "en"


def test_every_reference_resolves_and_every_name_is_unique(tree: Any):
    names = Counter(element.get("id") for element in tree.iter() if element.get("id"))
    assert [name for name, count in names.items() if count > 1] == []
    links = [e.get("href") for e in tree.iter("a") if e.get("href", "").startswith("#")]
    assert len(links) > 20
    assert [link for link in links if link[1:] not in names] == []
    for attribute in ("aria-labelledby", "aria-describedby"):
        pointed = [e.get(attribute) for e in tree.iter() if e.get(attribute)]
        assert [n for points in pointed for n in points.split() if n not in names] == []


def test_drawings_point_only_to_parts_of_their_own(plan: Any):
    names = set(re.findall(r'\bid="([^"]+)"', plan.html))
    used = re.findall(r'url\(#([^)]+)\)|\bhref="#([^"]+)"', plan.html)
    assert {a or b for a, b in used} <= names


def test_nothing_is_loaded_from_anywhere(plan: Any, tree: Any):
    for element in tree.iter():
        for attribute in ("src", "href", "srcset", "data", "action", "poster"):
            value = element.get(attribute) or ""
            assert not re.match(r"(https?:)?//|data:|file:", value), value
    assert not list(tree.iter("script"))
    assert not re.search(r"@import|url\((?!#)", plan.html)
    assert "default-src 'none'" in plan.html


def test_every_table_equals_its_file(plan: Any, tree: Any):
    tables = list(tree.iter("table"))
    files = {path.relative_to(plan.folder).as_posix() for path in plan.folder.glob("tables/*.csv")}
    assert {table.get("data-csv") for table in tables} == files
    for table in tables:
        with (plan.folder / table.get("data-csv")).open(encoding="utf-8", newline="") as stream:
            wanted = [[" ".join(cell.split()) for cell in row] for row in csv.reader(stream)]
        shown = [[text(cell) for cell in row] for row in table.iter("tr")]
        assert shown == wanted, table.get("data-csv")


def test_tables_name_their_headings(tree: Any):
    for table in tree.iter("table"):
        assert table[0].tag == "caption"
        head, *rows = table.iter("tr")
        assert all(cell.tag == "th" and cell.get("scope") == "col" for cell in head)
        for row in rows:
            assert row[0].tag == "th"
            assert row[0].get("scope") == "row"


def test_cautions_come_first_and_all_of_them(tree: Any):
    first = next(tree.iter("main"))[0]
    assert first.get("id") == "cautions"
    words = text(first)
    assert CAUTIONS in words
    for lead, more in ITEMS.items():
        assert f"{lead} {more}" in words
    assert CAUTIONS in text(next(tree.iter("footer")))


def test_cautions_go_with_figures_and_tables_that_are_carried_away(plan: Any):
    for part in ("figures", "tables"):
        assert CAUTIONS in (plan.folder / part / "cautions.txt").read_text(encoding="utf-8")


def test_headings_go_down_one_level_at_a_time(tree: Any):
    levels = [int(e.tag[1]) for e in tree.iter() if re.fullmatch(r"h[1-6]", str(e.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_sections_stand_in_the_order_of_a_plan(tree: Any):
    titles = [text(e) for e in tree.iter("h2")][2:]
    # Order: adaptive management guides (Williams, Szaro and Shapiro, 2009), as far as they have it.
    order = (
        "Summary", "Problem", "Stakeholders", "Objectives", "Alternatives", "Conceptual", "Forecast",
        "Design", "Construction", "Monitoring", "Triggers", "Maintenance", "Permits", "Data",
        "Reporting", "Learning", "End of life", "Appendices",
    )  # fmt: skip
    assert len(titles) == len(order)
    for number, (title, word) in enumerate(zip(titles, order, strict=True), start=1):
        assert title.startswith(f"{number} {word}")


def test_pages_of_limits_and_provenance_are_there(plan: Any, tree: Any):
    headings = [text(e) for e in tree.iter("h3")]
    assert any("Limits of this forecast" in heading for heading in headings)
    assert any("Provenance" in heading for heading in headings)
    assert 'title = "Invented reach' in text(next(tree.iter("pre")))
    assert "Seed: 7." in text(tree)


def test_figures_are_described_and_listed(plan: Any, tree: Any):
    drawings = list(tree.iter(f"{SVG}svg"))
    assert len(drawings) == 2
    for drawing in drawings:
        assert drawing.get("role") == "img"
        title, description = drawing[0], drawing[1]
        assert (title.tag, description.tag) == (f"{SVG}title", f"{SVG}desc")
        assert len(text(description)) > 60
        assert drawing.get("aria-labelledby").split() == [title.get("id"), description.get("id")]
    captions = [text(caption) for caption in tree.iter("figcaption")]
    assert [caption.split(".")[0] for caption in captions] == ["Figure 1", "Figure 2"]
    listed = [text(item) for item in next(tree.iter("nav")).iter("li")]
    assert sum(item.startswith("Figure ") for item in listed) == 2


def test_a_figure_without_its_data_is_a_sentence_and_no_box(tree: Any):
    words = (
        "Not provided: figure “A figure without its data”. Reason: nobody measured it; measure it."
    )
    assert words in text(tree)
    assert all(list(figure.iter(f"{SVG}svg")) for figure in tree.iter("figure"))


def test_the_plan_never_says_permitted(tree: Any):
    # The cautions and the section on permits say that nothing here is permitted.
    found = [sentence for sentence in text(tree).split(".") if "permitted" in sentence]
    assert found
    assert all(re.search(r"\b(nothing|never|not|no)\b", sentence.lower()) for sentence in found)


def test_every_figure_and_table_is_a_file_too(plan: Any):
    names = {path.name for path in plan.folder.glob("figures/f*")}
    assert {Path(name).suffix for name in names} == {".png", ".svg"}
    assert len(names) == 4


def test_names_in_drawings_are_told_apart_and_their_styles_kept_in():
    svg = (
        '<?xml version="1.0"?>\n<!DOCTYPE svg>\n<svg xmlns:xlink="x" width="9pt" height="9pt" '
        'viewBox="0 0 9 9"><metadata>m</metadata><defs>\n<style type="text/css">*{stroke-linecap: butt}'
        '</style></defs><path id="p1" d="M 1.2345678 2"/><use xlink:href="#p1" clip-path="url(#p1)"/></svg>'
    )
    made = inline(svg, "fig-a", "A & b", "C < d")
    assert made.startswith('<svg viewBox="0 0 9 9" role="img"')
    assert 'id="fig-a-p1"' in made
    assert 'href="#fig-a-p1" clip-path="url(#fig-a-p1)"' in made
    assert "<style" not in made
    assert 'style="stroke-linecap: butt"' in made
    assert '<title id="fig-a-title">A &amp; b</title><desc id="fig-a-desc">C &lt; d</desc>' in made
    assert 'd="M 1.234 2"' in made
