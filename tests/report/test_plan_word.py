"""The plan as a Word document: headings, captions that Word counts, alt text, the same tables."""

from __future__ import annotations

import csv
import re
import zipfile
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import docx
import pytest

from edgesim.report.cautions import ITEMS
from edgesim.scenario import CAUTIONS

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


@pytest.fixture(scope="module")
def word(plan: Any) -> Any:
    return docx.Document(str(plan.folder / "plan.docx"))


@pytest.fixture(scope="module")
def body(plan: Any) -> Any:
    with zipfile.ZipFile(plan.folder / "plan.docx") as archive:
        return ET.fromstring(archive.read("word/document.xml"))


def instructions(body: Any) -> list[str]:
    return [(element.text or "").strip() for element in body.iter(f"{W}instrText")]


def test_headings_are_headings(word: Any, plan: Any):
    titles = [p.text for p in word.paragraphs if p.style.name == "Heading 1"]
    shown = ["".join(e.itertext()) for e in plan.tree().iter("h2")]
    assert titles == [shown[0], *shown[2:]]  # the list of contents is no heading in Word


def test_cautions_stand_before_everything_else(word: Any):
    before = [p.text for p in word.paragraphs]
    words = "\n".join(before[: before.index("Contents")])
    assert CAUTIONS in words
    for lead, more in ITEMS.items():
        assert f"{lead} {more}" in words
    assert "Figure" not in words


def test_captions_are_counted_by_word_and_agree_with_the_page(word: Any, body: Any, plan: Any):
    captions = [p.text for p in word.paragraphs if p.style.name == "Caption"]
    figures = [c for c in captions if c.startswith("Figure")]
    tables = [c for c in captions if c.startswith("Table")]
    counted = instructions(body)
    assert counted.count("SEQ Figure \\* ARABIC") == len(figures) == 2
    assert counted.count("SEQ Table \\* ARABIC") == len(tables) == len(word.tables)
    for names in (figures, tables):
        assert [int(name.split()[1].rstrip(".")) for name in names] == list(
            range(1, len(names) + 1)
        )
    shown = ["".join(e.itertext()) for e in plan.tree().iter("figcaption")]
    assert all(s.startswith(c.rstrip(".")) for s, c in zip(shown, figures, strict=True))


def test_lists_of_contents_figures_and_tables_are_fields(word: Any, body: Any):
    wanted = ['TOC \\o "1-2" \\h \\z \\u', 'TOC \\h \\z \\c "Figure"']
    wanted += ['TOC \\h \\z \\c "Table"'] if word.tables else []
    assert [i for i in instructions(body) if i.startswith("TOC")] == wanted


def test_every_field_begins_and_ends(body: Any):
    kinds = [e.get(f"{W}fldCharType") for e in body.iter(f"{W}fldChar")]
    assert kinds == ["begin", "separate", "end"] * (len(kinds) // 3)


def test_every_reference_resolves(body: Any):
    names = [e.get(f"{W}name") for e in body.iter(f"{W}bookmarkStart")]
    assert len(set(names)) == len(names)
    numbers = [e.get(f"{W}id") for e in body.iter(f"{W}bookmarkStart")]
    assert len(set(numbers)) == len(numbers)
    pointed = [i.split()[1] for i in instructions(body) if i.startswith("REF")]
    pointed += [e.get(f"{W}anchor") for e in body.iter(f"{W}hyperlink")]
    assert pointed
    assert set(pointed) <= set(names)
    assert all(re.fullmatch(r"\w{1,40}", name) for name in names)


def test_every_table_equals_its_file(word: Any, plan: Any):
    notes = [re.search(r"The same table as a file: (\S+)\.$", p.text) for p in word.paragraphs]
    paths = [note[1] for note in notes if note]
    assert len(paths) == len(word.tables)
    for table, path in zip(word.tables, paths, strict=True):
        with (plan.folder / path).open(encoding="utf-8", newline="") as stream:
            wanted = list(csv.reader(stream))
        assert [[cell.text for cell in row.cells] for row in table.rows] == wanted


def test_pictures_have_alternative_text(word: Any):
    assert len(word.inline_shapes) == 2
    for shape in word.inline_shapes:
        assert len(shape._inline.docPr.get("descr")) > 60
        assert shape._inline.docPr.get("title")
        assert shape.width.mm <= 171.9  # the text is 171.9 mm wide


def test_properties_and_running_lines(word: Any):
    properties = word.core_properties
    assert "adaptive management plan" in properties.title
    assert properties.author.startswith("edgesim")
    assert properties.language == "en-US"
    section = word.sections[0]
    assert "not a design" in section.header.paragraphs[0].text
    assert re.search(r"edgesim .*Page 1 of 1", section.footer.paragraphs[0].text)


def test_pages_of_limits_and_provenance_begin_a_page(word: Any):
    headings = [p for p in word.paragraphs if p.style.name in ("Heading 1", "Heading 2")]
    names = [p.text.split(maxsplit=1)[-1] for p in headings]
    assert headings[names.index("Limits of this forecast")].paragraph_format.page_break_before
    assert headings[names.index("Appendices")].paragraph_format.page_break_before
    assert names.index("Provenance") == names.index("Appendices") + 1


def test_headings_go_down_one_level_at_a_time(word: Any):
    levels = [int(p.style.name[-1]) for p in word.paragraphs if p.style.name.startswith("Heading ")]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
