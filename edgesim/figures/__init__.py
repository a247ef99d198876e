"""The figures of a forecast: one file a figure, each a function Dataset to Figure."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import matplotlib.style
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures import edge_fan, mud, plan_map, race, section, wave_energy
from edgesim.figures.style import STYLE, featured_option
from edgesim.outcomes.dataset import replacing
from edgesim.outcomes.indicators import NO_ACTION


class Entry(NamedTuple):
    """How to draw a figure, what to call its files, how to describe it."""

    draw: Callable[[xr.Dataset], Figure]
    stem: str
    alt_text: Callable[[xr.Dataset], str]


FIGURES: dict[str, Entry] = {
    "edge_fan": Entry(edge_fan.edge_fan, "fig1_edge_fan", edge_fan.alt_text),
    "plan_map": Entry(plan_map.plan_map, "fig2_plan_map", plan_map.alt_text),
    "section": Entry(section.section, "fig3_section", section.alt_text),
    "wave_energy": Entry(wave_energy.wave_energy, "fig4_wave_energy", wave_energy.alt_text),
    "race": Entry(race.race, "fig5_race", race.alt_text),
    "mud": Entry(mud.mud, "fig6_mud", mud.alt_text),
}

NEED_A_LINE = ("race",)
"""Figures that say nothing when no option builds anything."""


def available(dataset: xr.Dataset) -> list[str]:
    """List the figures that a forecast can fill.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of str
        Keys of `FIGURES`.
    """
    built = featured_option(dataset) != NO_ACTION
    return [name for name in FIGURES if built or name not in NEED_A_LINE]


def save_all(dataset: xr.Dataset, folder: str | Path) -> list[Path]:
    """Draw every figure and save it as PNG (300 dpi) and SVG.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    folder : str or Path
        Made if it does not exist.

    Returns
    -------
    list of Path
        The files written; the same Dataset gives the same bytes.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for name in available(dataset):
        entry = FIGURES[name]
        figure = entry.draw(dataset)
        png = _save(figure, target / f"{entry.stem}.png", {"Software": dataset.attrs["source"]})
        # The layout is found once and kept: finding it costs more than drawing.
        figure.set_layout_engine("none")
        paths += [png, _save(figure, target / f"{entry.stem}.svg", {"Date": None})]
    return paths


def _save(figure: Figure, path: Path, metadata: dict[str, str | None]) -> Path:
    with matplotlib.style.context(STYLE), replacing(path) as temporary:
        figure.savefig(temporary, format=path.suffix[1:], metadata=metadata)
    return path
