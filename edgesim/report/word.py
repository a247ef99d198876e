"""The plan as a Word document with real headings, captions, lists and references."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import docx
import xarray as xr
from docx.shared import Mm, Pt, RGBColor

from edgesim.report import word_parts as parts
from edgesim.report.document import (
    Bullets,
    Document,
    FigureHere,
    Heading,
    Listing,
    Missing,
    Paragraph,
    TableHere,
    pieces,
)
from edgesim.report.html import is_number

PICTURE_WIDTH = 170.0
"""Width of a picture on the page. [mm]"""

TALLEST = 205.0
"""Height that a picture may have, so that its caption stands on the same page. [mm]"""

TEXT_WIDTH, TURNED_WIDTH = 171.9, 235.4
"""Width of the text on an upright page and on a turned one (letter paper). [mm]"""

TURNED = 8
"""Columns from which a table stands on a turned page."""

INK = RGBColor(0x10, 0x17, 0x1D)


def write_docx(document: Document, dataset: xr.Dataset, path: Path) -> None:
    """Write a plan as a Word document.

    Parameters
    ----------
    document : Document
        The plan.
    dataset : xarray.Dataset
        The forecast behind it, for properties and footer.
    path : Path
        Target.
    """
    Writer(document, dataset).written().save(str(path))


class Writer:
    """Writes one document, block by block."""

    def __init__(self, document: Document, dataset: xr.Dataset) -> None:
        self.plan = document
        self.attrs = dataset.attrs
        self.word: Any = docx.Document()
        self.turned = False

    def written(self) -> Any:
        """Write everything and return the document."""
        self._styles()
        self._properties()
        self._running_lines()
        self._front()
        self._lists()
        for number, section in enumerate(self.plan.sections, start=1):
            self._turn(landscape=False)
            self._heading(f"{number} {section.title}", 1, f"sec:{section.key}", section.new_page)
            for block in section.blocks:
                self._block(block)
        return self.word

    def _styles(self) -> None:
        section = self.word.sections[0]
        section.page_width, section.page_height = Mm(215.9), Mm(279.4)
        section.left_margin = section.right_margin = Mm(22)
        section.top_margin, section.bottom_margin = Mm(22), Mm(20)
        styles = self.word.styles
        styles["Normal"].font.name, styles["Normal"].font.size = "Calibri", Pt(10.5)
        styles["Normal"].paragraph_format.space_after = Pt(6)
        for name, size in (("Title", 24), ("Heading 1", 17), ("Heading 2", 13)):
            parts.plain_font(styles[name], "Calibri", size, INK)
        styles["Heading 1"].paragraph_format.space_before = Pt(20)
        styles["Caption"].font.size, styles["Caption"].font.color.rgb = Pt(10), INK
        styles["Caption"].font.bold = True
        parts.add_style(self.word, "Note", 8.5, RGBColor(0x4D, 0x54, 0x5B))
        parts.add_style(self.word, "Letters", 6.5, INK, font="Courier New")
        parts.add_style(self.word, "List title", 13, INK)
        self.word.styles["List title"].font.bold = True
        self.word.styles["List title"].paragraph_format.space_before = Pt(14)
        parts.add_style(self.word, "Cell", 8.5, INK)
        parts.add_style(self.word, "Small cell", 7, INK)
        for name, before, after in (
            ("Note", 3, 6),
            ("Letters", 0, 0),
            ("Cell", 1, 1),
            ("Small cell", 1, 1),
        ):
            parts.set_spaces(styles[name], before, after)
        parts.set_language(self.word, "en-US")

    def _properties(self) -> None:
        properties = self.word.core_properties
        properties.title = f"{self.plan.title}: adaptive management plan"
        properties.subject = "Planning-level forecast, not a design"
        properties.author = str(self.attrs["source"])
        properties.last_modified_by = str(self.attrs["source"])
        properties.keywords = "living shoreline, marsh edge, adaptive management"
        properties.comments = (
            "Planning-level forecast, not a design. Cautions stand on the first page."
        )
        properties.language = "en-US"
        made = datetime.fromisoformat(str(self.attrs["history"]).split("Z")[0])
        properties.created = properties.modified = made

    def _running_lines(self) -> None:
        section = self.word.sections[0]
        head = section.header.paragraphs[0]
        head.style = self.word.styles["Note"]
        head.text = f"{self.plan.title}. Planning-level forecast, not a design."
        foot = section.footer.paragraphs[0]
        foot.style = self.word.styles["Note"]
        foot.add_run(f"{self.attrs['source']}, seed {int(self.attrs['seed'])}. Page ")
        parts.field(foot, "PAGE", "1")
        foot.add_run(" of ")
        parts.field(foot, "NUMPAGES", "1")

    def _front(self) -> None:
        self.word.add_paragraph(self.plan.title, style="Title")
        self.word.add_paragraph(self.plan.subtitle, style="Subtitle")
        self.word.add_heading("Read this first: cautions", level=1)
        self.word.add_paragraph(self.plan.cautions[0].words)
        for caution in self.plan.cautions[1:]:
            self._words(self.word.add_paragraph(style="List Bullet"), caution)
        self.word.add_paragraph(self.plan.imprint, style="Note")

    def _lists(self) -> None:
        """Contents, figures and tables: fields that Word brings up to date, filled already."""
        lines = [
            (f"sec:{section.key}", f"{number} {section.title}")
            for number, section in enumerate(self.plan.sections, start=1)
        ]
        self._list("Contents", 'TOC \\o "1-2" \\h \\z \\u', lines, new_page=True)
        for kind, here, title in (("fig", FigureHere, "Figure"), ("tab", TableHere, "Table")):
            contents: Any = self.plan.figures if kind == "fig" else self.plan.tables
            lines = [
                (target, f"{self.plan.label(target)}. {contents[key].title}")
                for key in self.plan.placed(here)
                for target in (f"{kind}:{key}",)
            ]
            if lines:
                self._list(f"{title}s", f'TOC \\h \\z \\c "{title}"', lines)

    def _list(
        self, title: str, instruction: str, lines: list[tuple[str, str]], new_page: bool = False
    ) -> None:
        # Not a heading, so that the list of contents does not list itself.
        paragraph = self.word.add_paragraph(title, style="List title")
        paragraph.paragraph_format.page_break_before = new_page
        parts.list_field(
            self.word, instruction, [(parts.bookmark_name(target), text) for target, text in lines]
        )

    def _heading(self, text: str, level: int, target: str, new_page: bool) -> None:
        heading = self.word.add_heading("", level=level)
        heading.paragraph_format.page_break_before = new_page
        parts.bookmarked(heading, parts.bookmark_name(target), text)

    def _turn(self, *, landscape: bool) -> None:
        if landscape != self.turned:
            self.turned = landscape
            parts.turn(self.word, landscape=landscape)

    def _block(self, block: Any) -> None:
        wide = isinstance(block, TableHere) and len(self.plan.tables[block.key].columns) >= TURNED
        self._turn(landscape=wide)
        if isinstance(block, Paragraph):
            self._words(self.word.add_paragraph(), block)
        elif isinstance(block, Bullets):
            for item in block.items:
                self._words(self.word.add_paragraph(style="List Bullet"), item)
        elif isinstance(block, Missing):
            self._words(self.word.add_paragraph(), Paragraph(block.words, lead="Not provided:"))
        elif isinstance(block, Heading):
            number = self.plan.label(f"sec:{block.key}").removeprefix("Section ")
            self._heading(f"{number} {block.title}", 2, f"sec:{block.key}", block.new_page)
        elif isinstance(block, Listing):
            for line in block.words.splitlines():
                self.word.add_paragraph(line, style="Letters")
        elif isinstance(block, FigureHere):
            self._figure(block.key)
        elif isinstance(block, TableHere):
            self._table(block.key)

    def _words(self, paragraph: Any, item: Paragraph) -> None:
        if item.lead:
            paragraph.add_run(f"{item.lead} " if item.words else item.lead).bold = True
        for plain, target in pieces(item.words):
            if target:
                parts.reference(paragraph, parts.bookmark_name(target), self.plan.label(target))
            else:
                paragraph.add_run(plain)

    def _figure(self, key: str) -> None:
        figure = self.plan.figures[key]
        holder = self.word.add_paragraph()
        holder.paragraph_format.keep_with_next = True
        holder.paragraph_format.space_before = Pt(10)
        run = holder.add_run()
        picture = run.add_picture(str(figure.png), width=Mm(PICTURE_WIDTH))
        if picture.height > Mm(TALLEST):
            picture.width = int(picture.width * Mm(TALLEST) / picture.height)
            picture.height = Mm(TALLEST)
        parts.describe(picture, figure.title, figure.alt)
        self._caption("Figure", f"fig:{key}", figure.title, keep=True)
        self.word.add_paragraph(figure.caption, style="Note").paragraph_format.keep_together = True

    def _caption(self, kind: str, target: str, title: str, *, keep: bool) -> None:
        """Write a caption with a number that Word counts."""
        caption = self.word.add_paragraph(style="Caption")
        caption.paragraph_format.keep_with_next = keep
        number = self.plan.label(target).split()[-1]
        parts.numbered(caption, parts.bookmark_name(target), kind, number)
        caption.add_run(f". {title}")

    def _table(self, key: str) -> None:
        content = self.plan.tables[key]
        self._caption("Table", f"tab:{key}", content.title, keep=True)
        style = "Small cell" if len(content.columns) > 5 else "Cell"
        numeric = [
            index > 0 and any(is_number(row[index]) for row in content.rows)
            for index in range(len(content.columns))
        ]
        room = TURNED_WIDTH if self.turned else TEXT_WIDTH
        parts.table(self.word, content.columns, content.rows, style, numeric, room)
        place = f"The same table as a file: {content.csv}."
        self.word.add_paragraph(f"{content.note} {place}".strip(), style="Note")
