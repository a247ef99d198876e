"""A plan as neutral content: sections, paragraphs, figures and tables, numbered once.

Both renderers, HTML and Word, take the same :class:`Document`, so that they cannot say
different things. Text refers to other parts by ``[[fig:edge_fan]]``, ``[[tab:bill]]`` or
``[[sec:limits]]``; a reference that leads nowhere is an error.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from edgesim.errors import EdgesimError

REFERENCE = re.compile(r"\[\[(fig|tab|sec):([A-Za-z0-9_]+)\]\]")


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph, with an opening in bold if it has one; a finding tells of results."""

    words: str
    lead: str = ""
    finding: bool = False


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short items, each like a paragraph."""

    items: tuple[Paragraph, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """What somebody still has to provide, in one sentence."""

    words: str


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading below that of the section."""

    key: str
    title: str
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """Text shown letter by letter, such as the resolved scenario."""

    words: str
    name: str


@dataclass(frozen=True, slots=True)
class FigureHere:
    """A figure stands here."""

    key: str


@dataclass(frozen=True, slots=True)
class TableHere:
    """A table stands here."""

    key: str


Block = Paragraph | Bullets | Missing | Heading | Listing | FigureHere | TableHere


@dataclass(frozen=True, slots=True)
class Section:
    """A numbered section."""

    key: str
    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class FigureContent:
    """A figure as both renderers need it: title for lists, caption for its reader."""

    key: str
    title: str
    caption: str
    alt: str
    svg: Path
    png: Path


@dataclass(frozen=True, slots=True)
class TableContent:
    """A table as both renderers need it: the cells are those of the CSV file."""

    key: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    csv: str
    note: str = ""


@dataclass(frozen=True)
class Document:
    """The whole plan.

    Attributes
    ----------
    title, subtitle, imprint : str
        Front page: what it is about, what it is, which version made it.
    cautions : tuple of Paragraph
        The page that comes first.
    sections : tuple of Section
        In order; numbered from 1.
    figures, tables : mapping
        Contents by key; numbered by their place in the text.
    """

    title: str
    subtitle: str
    imprint: str
    cautions: tuple[Paragraph, ...]
    sections: tuple[Section, ...]
    figures: Mapping[str, FigureContent]
    tables: Mapping[str, TableContent]
    labels: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        labels: dict[str, str] = {}
        counts = {"fig": 0, "tab": 0}
        for number, section in enumerate(self.sections, start=1):
            below = 0
            _label(labels, f"sec:{section.key}", f"Section {number}")
            for block in section.blocks:
                if isinstance(block, Heading):
                    below += 1
                    _label(labels, f"sec:{block.key}", f"Section {number}.{below}")
                elif isinstance(block, FigureHere):
                    counts["fig"] += 1
                    _label(labels, f"fig:{block.key}", f"Figure {counts['fig']}")
                elif isinstance(block, TableHere):
                    counts["tab"] += 1
                    _label(labels, f"tab:{block.key}", f"Table {counts['tab']}")
        object.__setattr__(self, "labels", labels)
        for words in self.texts():
            for kind, key in REFERENCE.findall(words):
                self.label(f"{kind}:{key}")

    def label(self, target: str) -> str:
        """Number of a section, figure or table, as ``Figure 3``.

        Raises
        ------
        EdgesimError
            If there is no such part.
        """
        if target not in self.labels:
            msg = f"the plan refers to {target!r}, which it does not hold."
            raise EdgesimError(msg)
        return self.labels[target]

    def texts(self) -> Iterator[str]:
        """Every text in which a reference may stand."""
        for caution in self.cautions:
            yield caution.words
        for section in self.sections:
            for block in section.blocks:
                if isinstance(block, Bullets):
                    yield from (item.words for item in block.items)
                elif isinstance(block, (Paragraph, Missing)):
                    yield block.words

    def placed(self, kind: type[FigureHere] | type[TableHere]) -> list[str]:
        """Keys of the figures or tables in the order of the text."""
        return [
            block.key
            for section in self.sections
            for block in section.blocks
            if isinstance(block, kind)
        ]


def _label(labels: dict[str, str], target: str, label: str) -> None:
    if target in labels:
        msg = f"the plan holds {target!r} twice."
        raise EdgesimError(msg)
    labels[target] = label


def pieces(words: str) -> Iterator[tuple[str, str]]:
    """Split a text into ``(words, "")`` and ``("", target)``.

    Examples
    --------
    >>> list(pieces("see [[fig:race]]."))
    [('see ', ''), ('', 'fig:race'), ('.', '')]
    """
    end = 0
    for match in REFERENCE.finditer(words):
        if match.start() > end:
            yield words[end : match.start()], ""
        yield "", f"{match[1]}:{match[2]}"
        end = match.end()
    if end < len(words):
        yield words[end:], ""


def bullets(items: Sequence[str | tuple[str, str]]) -> Bullets:
    """Make a list of plain items, or of pairs of opening and words."""
    return Bullets(
        tuple(
            Paragraph(item) if isinstance(item, str) else Paragraph(item[1], lead=item[0])
            for item in items
        )
    )
