"""The figures of a forecast: one file a figure, each a function Dataset to Figure."""

from __future__ import annotations

from pathlib import Path

import xarray as xr

from edgesim.figures import edge_fan, mud, plan_map, race, section, wave_energy
from edgesim.figures.registry import Entry
from edgesim.figures.saving import save_figure
from edgesim.figures.style import BANDS, featured_option
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.needs import Need

A_LINE = Need(
    lambda dataset: featured_option(dataset) != NO_ACTION,
    "no option of this forecast builds walls or a reef",
    "add an option with walls or a reef to the scenario",
)

FIGURES: dict[str, Entry] = {
    "wave_energy": Entry(
        "F9",
        "Wave energy at the edge, wind against wakes",
        wave_energy.wave_energy,
        wave_energy.headline,
        wave_energy.alt_text,
        wave_energy.READING,
        "fig4_wave_energy",
    ),
    "edge_fan": Entry(
        "F12",
        "Edge position through time, by option",
        edge_fan.edge_fan,
        edge_fan.headline,
        edge_fan.alt_text,
        edge_fan.READING,
        "fig1_edge_fan",
    ),
    "plan_map": Entry(
        "F13",
        "Map of the edge through the years",
        plan_map.plan_map,
        plan_map.headline,
        plan_map.alt_text,
        plan_map.READING,
        "fig2_plan_map",
    ),
    "section": Entry(
        "F14",
        "Section behind the lines, at the start and at the end",
        section.section,
        section.headline,
        section.alt_text,
        BANDS,
        "fig3_section",
    ),
    "mud": Entry(
        "F14b",
        "Mud trapped and rise of the flat",
        mud.mud,
        mud.headline,
        mud.alt_text,
        mud.READING,
        "fig6_mud",
    ),
    "race": Entry(
        "F16",
        "What wears out against what grows",
        race.race,
        race.headline,
        race.alt_text,
        race.READING,
        "fig5_race",
        (A_LINE,),
    ),
}
"""Name -> figure, in the order of their numbers."""

WITH_FORECAST = ("edge_fan", "plan_map", "section", "wave_energy", "race", "mud")
"""The few figures that a forecast writes at once; all others come one by one."""


def available(dataset: xr.Dataset) -> list[str]:
    """List the figures that a Dataset can fill.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    list of str
        Keys of `FIGURES`.
    """
    return [name for name, entry in FIGURES.items() if not entry.missing(dataset)]


def save_all(dataset: xr.Dataset, folder: str | Path) -> list[Path]:
    """Draw the figures of `WITH_FORECAST` and save them as PNG (300 dpi) and SVG.

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
    for name in WITH_FORECAST:
        entry = FIGURES[name]
        if entry.missing(dataset):
            continue
        figure = entry.draw(dataset)
        paths.append(save_figure(figure, target / f"{entry.stem}.png", dataset))
        # The layout is found once and kept: finding it costs more than drawing.
        figure.set_layout_engine("none")
        paths.append(save_figure(figure, target / f"{entry.stem}.svg", dataset))
    return paths
