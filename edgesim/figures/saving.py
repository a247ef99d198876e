"""From a figure to a file: PNG at 300 dpi, SVG or PDF, as wide as a journal or a slide."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import matplotlib.style
import xarray as xr
from matplotlib.figure import Figure

from edgesim.errors import InvalidParameterError
from edgesim.figures.style import FIGURE_WIDTH, STYLE
from edgesim.outcomes.dataset import replacing

WIDTHS = {"journal": FIGURE_WIDTH, "slide": 320.0}
"""Width of a double column and of a wide screen page. [mm]"""

FORMATS = ("png", "svg", "pdf")

DOTS_PER_INCH = 300


def save_figure(
    figure: Figure, path: str | Path, dataset: xr.Dataset, width: str = "journal"
) -> Path:
    """Save a figure; the ending of the name says how.

    Parameters
    ----------
    figure : Figure
        Drawn for a journal; a slide shows the same picture larger, letters and all.
    path : str or Path
        Target, replaced only when the new file is complete.
    dataset : xarray.Dataset
        Names the version in the file.
    width : str, default "journal"
        Key of `WIDTHS`. A PDF keeps the journal's page, since whoever places it scales it.

    Returns
    -------
    Path
        The file; the same figure gives the same bytes.

    Raises
    ------
    InvalidParameterError
        If the ending or the width is none of ours.
    """
    target = Path(path)
    kind = target.suffix[1:].lower()
    if kind not in FORMATS or width not in WIDTHS:
        msg = f"{target}: the name must end in .{', .'.join(FORMATS)} and the width be one of {', '.join(WIDTHS)}; got {width!r}."
        raise InvalidParameterError(msg)
    scale = WIDTHS[width] / FIGURE_WIDTH
    settings: dict[str, Any] = {"format": kind, "dpi": DOTS_PER_INCH}
    if kind == "png":
        settings["metadata"] = {"Software": dataset.attrs["source"]}
        # More dots for a larger page, which says 300 dpi all the same.
        settings["dpi"] = DOTS_PER_INCH * scale
        settings["pil_kwargs"] = {"dpi": (DOTS_PER_INCH, DOTS_PER_INCH)}
    elif kind == "svg":
        settings["metadata"] = {"Date": None}
    else:
        settings["metadata"] = {"CreationDate": None, "Creator": dataset.attrs["source"]}
    with matplotlib.style.context(STYLE), replacing(target) as temporary:
        figure.savefig(temporary, **settings)
        if kind == "svg" and scale != 1.0:
            text = temporary.read_text(encoding="utf-8")
            temporary.write_text(_enlarged(text, scale), encoding="utf-8")
    return target


def _enlarged(svg: str, scale: float) -> str:
    """Give the first element of an SVG a larger width and height; the drawing scales with it.

    Examples
    --------
    >>> _enlarged('<svg height="10pt" viewBox="0 0 20 10" width="20pt">', 2.0)
    '<svg height="20.0pt" viewBox="0 0 20 10" width="40.0pt">'
    """
    head, end, rest = svg.partition("viewBox")
    start, first, tail = head.rpartition("<svg")
    size = re.compile(r'(width|height)="([0-9.]+)pt"')

    def larger(found: re.Match[str]) -> str:
        return f'{found[1]}="{float(found[2]) * scale}pt"'

    before = size.sub(larger, tail)
    inside, close, more = rest.partition(">")
    return f"{start}{first}{before}{end}{size.sub(larger, inside)}{close}{more}"
