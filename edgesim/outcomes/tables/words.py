"""How tables write numbers: both units, bands, minus signs, nothing where nothing is."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike

from edgesim.outcomes.extras import sample_words
from edgesim.outcomes.summary import METRES_PER_FOOT, member_quantiles

MINUS = "\N{MINUS SIGN}"


def plain(value: float, digits: int = 2) -> str:
    """Write a number; "" for none.

    Examples
    --------
    >>> plain(-0.067), plain(12345.6, 0), plain(float("nan"))
    ('−0.07', '12,346', '')
    """
    if math.isnan(value):
        return ""
    text = f"{value:,.{digits}f}"
    # What rounds to nothing has no sign.
    return (
        text.removeprefix("-") if float(text.replace(",", "")) == 0.0 else text.replace("-", MINUS)
    )


def feet(metres: float, digits: int = 1) -> str:
    """Write a length given in metres in feet.

    Examples
    --------
    >>> feet(3.048)
    '10.0'
    """
    return plain(metres / METRES_PER_FOOT, digits)


def band(values: ArrayLike, digits: int = 2, factor: float = 1.0) -> str:
    """Write median and 90 % band of the members that have a value.

    Examples
    --------
    >>> band([0.0, 1.0, 2.0, 3.0, 4.0], 1)
    '2.0 (0.2 to 3.8)'
    """
    quantiles = factor * member_quantiles(values)
    if np.isnan(quantiles[2]):
        return ""
    low, middle, high = (plain(float(quantiles[place]), digits) for place in (0, 2, 4))
    return f"{middle} ({low} to {high})"


def small_print(dataset: xr.Dataset, *sentences: str) -> str:
    """Note under a table: what is said, sample size, version and datum.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    *sentences : str
        What else there is to say, each with its full stop.

    Returns
    -------
    str
    """
    invented = "Invented data." if "invented" in dataset.attrs["comment"].lower() else ""
    parts = [
        *sentences,
        f"{sample_words(dataset)}, the same for each option.",
        f"Elevations are above {dataset.attrs['vertical_datum']}.",
        invented,
        f"Planning-level forecast, not a design. {dataset.attrs['source']}: {dataset.attrs['title']}.",
    ]
    return " ".join(part for part in parts if part)
