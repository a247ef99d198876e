"""The figures of comparisons and studies, and how they are saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures import (
    compare_differences,
    study_convergence,
    study_map,
    study_ranking,
    study_regret,
    study_separation,
    study_tradeoff,
)
from edgesim.figures.saving import save_both


class StudyEntry(NamedTuple):
    """How to draw a figure of a study, what to call its files, how to describe it.

    Attributes
    ----------
    draw : callable
        Dataset to Figure.
    stem : str
        File name without ending.
    alt_text : callable
        Dataset to a description for those who cannot see the figure.
    needs : str
        Variable without which it cannot be drawn; "" where it always can.
    """

    draw: Callable[[xr.Dataset], Figure]
    stem: str
    alt_text: Callable[[xr.Dataset], str]
    needs: str = ""


COMPARISON_FIGURES: dict[str, StudyEntry] = {
    "differences": StudyEntry(
        compare_differences.compare_differences,
        "compare1_differences",
        compare_differences.alt_text,
    ),
    "tradeoff": StudyEntry(
        study_tradeoff.study_tradeoff, "compare2_tradeoff", study_tradeoff.alt_text
    ),
    "regret": StudyEntry(study_regret.study_regret, "compare3_regret", study_regret.alt_text),
}
"""The figures of a comparison."""

STUDY_FIGURES: dict[str, StudyEntry] = {
    "ranking": StudyEntry(study_ranking.study_ranking, "study1_ranking", study_ranking.alt_text),
    "convergence": StudyEntry(
        study_convergence.study_convergence,
        "study2_convergence",
        study_convergence.alt_text,
        "total",
    ),
    "map": StudyEntry(study_map.study_map, "study3_map", study_map.alt_text, "map_members"),
    "tradeoff": StudyEntry(
        study_tradeoff.study_tradeoff, "study4_tradeoff", study_tradeoff.alt_text, "map_members"
    ),
    "regret": StudyEntry(
        study_regret.study_regret, "study5_regret", study_regret.alt_text, "map_members"
    ),
    "separation": StudyEntry(
        study_separation.study_separation,
        "study6_separation",
        study_separation.alt_text,
        "separation_words",
    ),
}
"""The figures of a study; those that it cannot fill yet are left out."""


def save_figures(
    dataset: xr.Dataset, folder: str | Path, entries: dict[str, StudyEntry]
) -> list[Path]:
    """Draw the figures of a comparison or a study that its data can fill.

    Parameters
    ----------
    dataset : xarray.Dataset
        A comparison or a study.
    folder : str or Path
        Made if it does not exist.
    entries : dict of str to StudyEntry
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
        if not entry.needs or entry.needs in dataset.variables:
            paths += save_both(entry.draw(dataset), target / entry.stem, dataset)
    return paths
