"""How a figure is registered: number, words and needs beside the function that draws it."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import xarray as xr
from matplotlib.figure import Figure

from edgesim.outcomes.extras import sample_words
from edgesim.outcomes.needs import Need, why_missing


class Entry(NamedTuple):
    """How to draw a figure, what to call its files, how to describe it.

    Attributes
    ----------
    number : str
        Its number in the plan, as "F12".
    title : str
        Short title for lists.
    draw : callable
        Dataset to Figure.
    headline : callable
        Dataset to one plain sentence with its spread, without full stop.
    alt_text : callable
        Dataset to a description for those who cannot see the figure.
    reading : str
        How to read its signs, for the caption.
    needs : tuple of Need
        What must be in the Dataset.
    stem : str
        File name without ending.
    name : str
        Name of the figure, for the command line.
    rests_on : str
        Attribute that says what it rests on, where that is not the members of the forecast.
    sample : str
        The same in the words of its own footer, where it is the same for every forecast.
    """

    number: str
    title: str
    draw: Callable[[xr.Dataset], Figure]
    headline: Callable[[xr.Dataset], str]
    alt_text: Callable[[xr.Dataset], str]
    reading: str
    stem: str
    needs: tuple[Need, ...] = ()
    name: str = ""
    rests_on: str = ""
    sample: str = ""

    def missing(self, dataset: xr.Dataset) -> str:
        """Say why the figure cannot be drawn and how to provide what it needs; "" when it can."""
        return why_missing(dataset, self.needs)

    def caption(self, dataset: xr.Dataset) -> str:
        """Headline, how to read the figure, sample size, version and datum."""
        sample = dataset.attrs.get(self.rests_on, self.sample)
        return caption(dataset, self.headline(dataset), self.reading, sample)


def caption(dataset: xr.Dataset, headline: str, reading: str, sample: str = "") -> str:
    """Write the caption of a figure.

    Parameters
    ----------
    dataset : xarray.Dataset
        The forecast shown.
    headline : str
        What is seen, without full stop.
    reading : str
        How to read the signs.
    sample : str, optional
        What it rests on, where that is not the members of the forecast.

    Returns
    -------
    str
        Sentences.
    """
    invented = "Invented data. " if "invented" in dataset.attrs["comment"].lower() else ""
    reading = reading[:1].upper() + reading[1:]
    source = sample.removeprefix("The ")
    rests = (
        f"From the {source[:1].lower()}{source[1:]}"
        if sample
        else f"{sample_words(dataset)}, the same for each option"
    )
    return (
        f"{headline}. {reading} {rests}. "
        f"Elevations are above {dataset.attrs['vertical_datum']}. {invented}"
        f"Planning-level forecast, not a design. {dataset.attrs['source']}: {dataset.attrs['title']}."
    )
