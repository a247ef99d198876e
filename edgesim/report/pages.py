"""What every page we write shares: templates, embedding of data, and a page moved into place."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from edgesim.outcomes.dataset import replacing

TEMPLATES = "templates"


@cache
def environment() -> Environment:
    """Return the template environment: text is escaped, a missing name is an error."""
    return Environment(
        loader=PackageLoader("edgesim.report", TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def part(name: str) -> Markup:
    """Read a style sheet or a script of ours to stand inside a page."""
    text = resources.files("edgesim.report").joinpath(TEMPLATES, name).read_text(encoding="utf-8")
    return Markup(text)


def as_json(data: Any) -> Markup:
    r"""Write data so that no content of theirs can end the element that holds them.

    Examples
    --------
    >>> str(as_json({"title": "</script>"}))
    '{"title":"\\u003c/script>"}'
    """
    text = json.dumps(data, separators=(",", ":"), allow_nan=False)
    return Markup(text.replace("<", "\\u003c"))


def write_page(text: str, path: Path) -> None:
    """Write a page under a temporary name and move it into place.

    Parameters
    ----------
    text : str
        The page.
    path : Path
        Target.
    """
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
