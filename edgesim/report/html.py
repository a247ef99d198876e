"""The plan as one page of HTML that needs no other file and no network."""

from __future__ import annotations

import re
from pathlib import Path

import xarray as xr
from markupsafe import Markup, escape

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
from edgesim.report.pages import environment, part, write_page
from edgesim.report.svg import inline

NUMERIC = re.compile(r"^[−-]?[\d.,\u202f ]+( ?%)?( to [−-]?[\d.,\u202f ]+( ?%)?)?$")
"""Cells that stand to the right: a number, or a range."""

WIDE = 7
"""Columns from which a table is set smaller on paper."""


def anchor(target: str) -> str:
    """Name of a part inside the page.

    Examples
    --------
    >>> anchor("fig:edge_fan")
    'fig-edge_fan'
    """
    return target.replace(":", "-")


def is_number(cell: str) -> bool:
    """Whether a cell is a number or a range of numbers."""
    return bool(cell.strip()) and bool(NUMERIC.match(cell.strip()))


def plan_page(document: Document, dataset: xr.Dataset) -> str:
    """Write a plan as HTML.

    Parameters
    ----------
    document : Document
        The plan.
    dataset : xarray.Dataset
        The forecast behind it, for the page's own imprint.

    Returns
    -------
    str
        The page.
    """

    def linked(words: str) -> Markup:
        """Escape a text and turn its references into links."""
        parts = [
            Markup('<a href="#{}">{}</a>').format(anchor(target), document.label(target))
            if target
            else escape(plain)
            for plain, target in pieces(words)
        ]
        return Markup("").join(parts)

    def drawing(key: str) -> Markup:
        figure = document.figures[key]
        text = inline(
            figure.svg.read_text(encoding="utf-8"), f"fig-{key}", figure.title, figure.alt
        )
        return Markup(text)

    return (
        environment()
        .get_template("plan.html.j2")
        .render(
            document=document,
            attrs=dataset.attrs,
            style=part("common.css") + part("plan.css"),
            linked=linked,
            drawing=drawing,
            anchor=anchor,
            is_number=is_number,
            wide=WIDE,
            kind=_kind,
            figures=document.placed(FigureHere),
            tables=document.placed(TableHere),
        )
    )


def _kind(block: object) -> str:
    """Name of the template's way to write a block."""
    names = {
        Paragraph: "paragraph",
        Bullets: "bullets",
        Missing: "missing",
        Heading: "heading",
        Listing: "listing",
        FigureHere: "figure",
        TableHere: "table",
    }
    return names[type(block)]


def write_html(document: Document, dataset: xr.Dataset, path: Path) -> None:
    """Write a plan as HTML.

    Parameters
    ----------
    document : Document
        The plan.
    dataset : xarray.Dataset
        The forecast behind it.
    path : Path
        Target.
    """
    write_page(plan_page(document, dataset), path)
