"""The pieces of a Word document that the library has no call for: fields, bookmarks, alt text.

Fields are complex fields of the Office Open XML (ECMA-376, part 1, 17.16); they carry a result
already, so that readers that do not count show the right number too.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Sequence
from typing import Any

from docx.enum.section import WD_ORIENT, WD_SECTION
from docx.enum.style import WD_STYLE_TYPE
from docx.enum.table import WD_TABLE_ALIGNMENT
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Mm, Pt

HEADER_SHADE = "E9EEF2"

PADDING = 4.5
"""White at both sides of a cell. [mm]"""

LETTER_PER_POINT = 0.21
"""Width of a letter for each point of its size, with something to spare. [mm]"""

LONGEST_WORD = 24
"""Letters from which a word is broken. [1]"""


KEPT_ROWS = 2
"""First rows of a table that stand on the page of its header. [1]"""


def bookmark_name(target: str) -> str:
    """Name of a bookmark: letters, digits and underscores, at most 40.

    Examples
    --------
    >>> bookmark_name("fig:edge_fan")
    '_Ref_fig_edge_fan'
    """
    return "_Ref_" + re.sub(r"\W", "_", target)[:35]


def element(tag: str, /, **attributes: str) -> Any:
    """Make an element of the word-processing name space; ``val`` becomes ``w:val``."""
    made = OxmlElement(f"w:{tag}")
    for key, value in attributes.items():
        made.set(qn(f"w:{key}"), value)
    return made


def plain_font(style: Any, name: str, size: float, colour: Any) -> None:
    """Give a style one font for all scripts, in place of the theme's."""
    style.font.name, style.font.size, style.font.color.rgb = name, Pt(size), colour
    fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
    for attribute in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{attribute}"), None)
    fonts.set(qn("w:hAnsi"), name)


def add_style(word: Any, name: str, size: float, colour: Any, font: str = "Calibri") -> None:
    """Add a paragraph style."""
    style = word.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
    style.base_style = word.styles["Normal"]
    plain_font(style, font, size, colour)
    style.paragraph_format.space_after = Pt(6)


def set_spaces(style: Any, before: float, after: float) -> None:
    """Set the white above and below a style's paragraphs, in points."""
    style.paragraph_format.space_before, style.paragraph_format.space_after = Pt(before), Pt(after)


def set_language(word: Any, language: str) -> None:
    """Name the language, which screen readers and spelling need."""
    properties = word.styles["Normal"].element.get_or_add_rPr()
    properties.append(element("lang", val=language))


def field(
    paragraph: Any, instruction: str, result: str, *, into: Any = None, dirty: bool = False
) -> None:
    """Add a field with its result."""
    begin = element("fldChar", fldCharType="begin")
    if dirty:
        begin.set(qn("w:dirty"), "true")
    text = element("instrText")
    text.set(qn("xml:space"), "preserve")
    text.text = f" {instruction} "
    for child in (begin, text, element("fldChar", fldCharType="separate")):
        _run(paragraph, into).append(child)
    _written(_run(paragraph, into), result)
    _run(paragraph, into).append(element("fldChar", fldCharType="end"))


def _run(paragraph: Any, into: Any) -> Any:
    run = element("r")
    (paragraph._p if into is None else into).append(run)
    return run


def _written(run: Any, words: str) -> None:
    text = element("t")
    text.set(qn("xml:space"), "preserve")
    text.text = words
    run.append(text)


def _bookmark(paragraph: Any, name: str) -> None:
    paragraph._p.append(element("bookmarkStart", id=str(zlib.crc32(name.encode()) >> 1), name=name))


def _bookmark_end(paragraph: Any, name: str) -> None:
    paragraph._p.append(element("bookmarkEnd", id=str(zlib.crc32(name.encode()) >> 1)))


def bookmarked(paragraph: Any, name: str, words: str) -> None:
    """Add words that can be referred to."""
    _bookmark(paragraph, name)
    paragraph.add_run(words)
    _bookmark_end(paragraph, name)


def numbered(paragraph: Any, name: str, kind: str, number: str) -> None:
    """Add "Figure 3", where Word counts the 3, as words that can be referred to."""
    _bookmark(paragraph, name)
    paragraph.add_run(f"{kind} ")
    field(paragraph, f"SEQ {kind} \\* ARABIC", number)
    _bookmark_end(paragraph, name)


def reference(paragraph: Any, name: str, label: str) -> None:
    """Add a reference: figures and tables by their counted number, sections as a link."""
    if label.startswith("Section"):
        link = element("hyperlink", anchor=name, history="1")
        _written(_run(paragraph, link), label)
        paragraph._p.append(link)
    else:
        field(paragraph, f"REF {name} \\h", label)


def list_field(word: Any, instruction: str, lines: Sequence[tuple[str, str]]) -> None:
    """Add a list that Word brings up to date, filled with links already."""
    for index, (name, text) in enumerate(lines):
        paragraph = word.add_paragraph()
        paragraph.paragraph_format.space_after = Pt(1)
        if index == 0:
            begin = element("fldChar", fldCharType="begin", dirty="true")
            code = element("instrText")
            code.set(qn("xml:space"), "preserve")
            code.text = f" {instruction} "
            for child in (begin, code, element("fldChar", fldCharType="separate")):
                _run(paragraph, None).append(child)
        link = element("hyperlink", anchor=name, history="1")
        _written(_run(paragraph, link), text)
        paragraph._p.append(link)
        if index == len(lines) - 1:
            _run(paragraph, None).append(element("fldChar", fldCharType="end"))


def describe(picture: Any, title: str, words: str) -> None:
    """Give a picture its alternative text."""
    properties = picture._inline.docPr
    properties.set("title", title)
    properties.set("descr", words)


def column_widths(
    columns: Sequence[str], rows: Sequence[Sequence[str]], room: float, letter: float = 1.6
) -> list[float]:
    """Share the width of a page among columns by what they hold.

    Parameters
    ----------
    columns, rows : sequence
        Texts.
    room : float
        Width of the page. [mm]
    letter : float, default 1.6
        Width of a letter. [mm]

    Returns
    -------
    list of float
        Widths that fill the room: first what the longest word needs, then by length of text. [mm]

    Examples
    --------
    >>> [round(width) for width in column_widths(["a", "b"], [["x", "one two three four five"]], 100)]
    [14, 86]
    """
    every = [[column, *(row[index] for row in rows)] for index, column in enumerate(columns)]
    words = [max(len(word) for text in texts for word in text.split() or [""]) for texts in every]
    needs = [PADDING + letter * min(word, LONGEST_WORD) for word in words]
    if sum(needs) >= room:
        return [room * need / sum(needs) for need in needs]
    # The power keeps one long text from taking the room of all others.
    wants = [max(len(text) for text in texts) ** 0.7 for texts in every]
    rest = room - sum(needs)
    return [need + rest * want / sum(wants) for need, want in zip(needs, wants, strict=True)]


def table(
    word: Any,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    style: str,
    numeric: Sequence[bool],
    room: float,
) -> None:
    """Add a table whose first row is repeated on every page and whose rows are not torn."""
    made = word.add_table(rows=0, cols=len(columns), style="Table Grid")
    made.alignment = WD_TABLE_ALIGNMENT.CENTER
    made.autofit = False
    letter = LETTER_PER_POINT * word.styles[style].font.size.pt
    widths = column_widths(columns, rows, room, letter)
    for column, width in zip(made.columns, widths, strict=True):
        column.width = Mm(width)
    _row(word, made, columns, style, numeric, widths, header=True)
    for place, row in enumerate(rows):
        # The first rows stay with the header, so that no page ends in a table of one line.
        _row(word, made, row, style, numeric, widths, keep=place < KEPT_ROWS)


def _row(
    word: Any,
    made: Any,
    cells: Sequence[str],
    style: str,
    numeric: Sequence[bool],
    widths: Sequence[float],
    *,
    header: bool = False,
    keep: bool = False,
) -> None:
    row = made.add_row()
    properties = row._tr.get_or_add_trPr()
    properties.append(element("cantSplit"))
    if header:
        properties.append(element("tblHeader"))
    for index, (cell, text) in enumerate(zip(row.cells, cells, strict=True)):
        cell.width = Mm(widths[index])
        paragraph = cell.paragraphs[0]
        paragraph.style = word.styles[style]
        paragraph.add_run(text).bold = header or index == 0
        if numeric[index]:
            paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT
        if header:
            shade = element("shd", val="clear", color="auto", fill=HEADER_SHADE)
            cell._tc.get_or_add_tcPr().append(shade)
        if header or keep:
            paragraph.paragraph_format.keep_with_next = True


def turn(word: Any, *, landscape: bool) -> None:
    """Begin a new page of the other orientation."""
    section = word.add_section(WD_SECTION.NEW_PAGE)
    section.orientation = WD_ORIENT.LANDSCAPE if landscape else WD_ORIENT.PORTRAIT
    short, long = sorted((section.page_width, section.page_height))
    section.page_width, section.page_height = (long, short) if landscape else (short, long)
