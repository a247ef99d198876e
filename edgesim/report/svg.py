"""A figure's SVG made fit to stand inside a page among others."""

from __future__ import annotations

import re
from html import escape

PROLOGUE = re.compile(r"^.*?(?=<svg\b)", re.DOTALL)
METADATA = re.compile(r"\s*<metadata>.*?</metadata>", re.DOTALL)
STYLE = re.compile(r"\s*<style[^>]*>\*\{([^}]*)\}</style>")
SIZE = re.compile(r'\s(?:width|height)="[^"]*"')
NAMES = re.compile(r'(\bid="|\burl\(#|\bhref="#)')
NUMBERS = re.compile(r"(?<=[\s\"LMQC])(-?\d+\.\d{3})\d+")


def inline(svg: str, key: str, title: str, description: str) -> str:
    """Turn an SVG file into an element of a page.

    Parameters
    ----------
    svg : str
        Text of the file.
    key : str
        Put before every name in it, so that names of different figures do not meet.
    title, description : str
        Short name, and what those who cannot see the figure are told.

    Returns
    -------
    str
        One ``svg`` element with ``role="img"``, named and described.

    Notes
    -----
    A style rule of the file would hold for the whole page, so it is moved into the element.
    Coordinates keep three decimals of a point, a tenth of what a printer can show.
    """
    body = METADATA.sub("", PROLOGUE.sub("", svg))
    rules = STYLE.search(body)
    body = NAMES.sub(rf"\g<1>{key}-", STYLE.sub("", body)).replace("xlink:href", "href")
    body = NUMBERS.sub(r"\1", body)
    head, end, rest = body.partition(">")
    head = SIZE.sub("", re.sub(r'\sxmlns:xlink="[^"]*"', "", head))
    style = f' style="{escape(rules[1])}"' if rules else ""
    named = (
        f' role="img" aria-labelledby="{key}-title {key}-desc" focusable="false"{style}{end}'
        f'<title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(description)}</desc>'
    )
    return head + named + rest
