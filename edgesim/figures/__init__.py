"""The figures of a forecast: one file a figure, each a function Dataset to Figure."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import matplotlib.style
import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures import (
    compare_differences,
    edge_fan,
    mud,
    plan_map,
    race,
    section,
    study_convergence,
    study_map,
    study_ranking,
    study_regret,
    study_separation,
    study_tradeoff,
    wave_energy,
)
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

COMPARISON_FIGURES: dict[str, Entry] = {
    "differences": Entry(
        compare_differences.compare_differences,
        "compare1_differences",
        compare_differences.alt_text,
    ),
    "tradeoff": Entry(study_tradeoff.study_tradeoff, "compare2_tradeoff", study_tradeoff.alt_text),
    "regret": Entry(study_regret.study_regret, "compare3_regret", study_regret.alt_text),
}
"""The figures of a comparison."""

STUDY_FIGURES: dict[str, Entry] = {
    "ranking": Entry(study_ranking.study_ranking, "study1_ranking", study_ranking.alt_text),
    "convergence": Entry(
        study_convergence.study_convergence, "study2_convergence", study_convergence.alt_text
    ),
    "map": Entry(study_map.study_map, "study3_map", study_map.alt_text),
    "tradeoff": Entry(study_tradeoff.study_tradeoff, "study4_tradeoff", study_tradeoff.alt_text),
    "regret": Entry(study_regret.study_regret, "study5_regret", study_regret.alt_text),
    "separation": Entry(
        study_separation.study_separation, "study6_separation", study_separation.alt_text
    ),
}
"""The figures of a study; those that it cannot fill yet are left out."""

STUDY_NEEDS: dict[str, str] = {
    "study2_convergence": "total",
    "study3_map": "map_members",
    "study4_tradeoff": "map_members",
    "study5_regret": "map_members",
    "study6_separation": "separation_words",
}
"""Files of figures of a study, and the variable without which they cannot be drawn."""

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


def save_figures(dataset: xr.Dataset, folder: str | Path, entries: dict[str, Entry]) -> list[Path]:
    """Draw the figures of a comparison or a study that its data can fill.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison or a study.
    folder : str or Path
        Made if it does not exist.
    entries : dict of str to Entry
        `COMPARISON_FIGURES` or `STUDY_FIGURES`.

    Returns
    -------
    list of Path
        The files written.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for entry in entries.values():
        needed = STUDY_NEEDS.get(entry.stem)
        if needed is None or needed in dataset.variables:
            paths += _save_both(entry.draw(dataset), target, entry.stem, dataset)
    return paths


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
        paths += _save_both(entry.draw(dataset), target, entry.stem, dataset)
    return paths


def _save_both(figure: Figure, target: Path, stem: str, dataset: xr.Dataset) -> list[Path]:
    png = _save(figure, target / f"{stem}.png", {"Software": dataset.attrs["source"]})
    # The layout is found once and kept: finding it costs more than drawing.
    figure.set_layout_engine("none")
    return [png, _save(figure, target / f"{stem}.svg", {"Date": None})]


def _save(figure: Figure, path: Path, metadata: dict[str, str | None]) -> Path:
    with matplotlib.style.context(STYLE), replacing(path) as temporary:
        figure.savefig(temporary, format=path.suffix[1:], metadata=metadata)
    return path
