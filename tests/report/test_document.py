"""The neutral document: numbers by place, references that lead somewhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgesim.errors import EdgesimError
from edgesim.report.document import (
    Block,
    Document,
    FigureContent,
    FigureHere,
    Heading,
    Paragraph,
    Section,
    TableHere,
    bullets,
)

FIGURE = FigureContent("x", "Title", "Caption.", "Alt.", Path("x.svg"), Path("x.png"))


def document(*blocks: Block) -> Document:
    sections = (Section("one", "One", blocks), Section("two", "Two", ()))
    return Document("T", "S", "I", (Paragraph("Careful."),), sections, {"x": FIGURE}, {})


def test_figures_and_tables_are_numbered_by_their_place_in_the_text():
    made = document(FigureHere("x"), TableHere("a"), FigureHere("y"), TableHere("b"))
    assert [made.label(f"fig:{key}") for key in "xy"] == ["Figure 1", "Figure 2"]
    assert [made.label(f"tab:{key}") for key in "ab"] == ["Table 1", "Table 2"]


def test_sections_and_their_headings_are_numbered():
    made = document(Heading("first", "F"), Heading("second", "S"))
    assert made.label("sec:two") == "Section 2"
    assert made.label("sec:second") == "Section 1.2"


@pytest.mark.parametrize(
    "block", [Paragraph("See [[fig:missing]]."), bullets(["See [[tab:missing]]."])]
)
def test_a_reference_that_leads_nowhere_is_refused(block: Block):
    with pytest.raises(EdgesimError, match="missing"):
        document(block)


def test_a_part_that_stands_twice_is_refused():
    with pytest.raises(EdgesimError, match="twice"):
        document(FigureHere("x"), FigureHere("x"))
