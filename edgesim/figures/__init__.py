"""The figures of a forecast: one file a figure, each a function Dataset to Figure."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import xarray as xr

from edgesim.figures import (
    belief_weights,
    conceptual_model,
    cost_fan,
    decision_tree,
    design_map,
    design_plan,
    edge_fan,
    edge_history,
    exposure,
    location_map,
    maintenance,
    monitoring_map,
    mud,
    neighbours,
    observed,
    oysters,
    plan_map,
    profile,
    race,
    retreat_rates,
    section,
    sensitivity,
    tradeoff,
    traffic_calendar,
    transmission,
    trigger_chart,
    wake_heights,
    wave_energy,
)
from edgesim.figures.needs import A_DESIGN, A_LINE, A_RATE, A_REEF, BOATS, PASSED, SPENT
from edgesim.figures.registry import Entry
from edgesim.figures.saving import save_both
from edgesim.outcomes.embedded import SITE
from edgesim.outcomes.extras import BELIEFS, DESIGN_MAP, SENSITIVITY, SURVEYED
from edgesim.outcomes.history import SURVEYS
from edgesim.outcomes.needs import Need


def _entry(number: str, module: ModuleType, title: str, *needs: Need, stem: str = "") -> Entry:
    """Register the figure of a module: its function has the module's name."""
    name = module.__name__.rpartition(".")[2]
    return Entry(
        number,
        title,
        getattr(module, name),
        module.headline,
        module.alt_text,
        module.READING,
        stem or name,
        needs,
        name,
        getattr(module, "RESTS_ON", ""),
        getattr(module, "SAMPLE", ""),
    )


_ENTRIES = (
    _entry("F1", location_map, "Where the site is", SITE),
    _entry("F2", edge_history, "Edge lines of the past", SITE, SURVEYS),
    _entry("F3", retreat_rates, "Rates of retreat with their errors", SITE, A_RATE),
    _entry("F4", profile, "Profile across the shore with tidal datums and lines", SITE),
    _entry("F5", design_plan, "Plan of the design", SITE, A_DESIGN),
    _entry("F6", exposure, "Time in air by level, and the oysters' band", SITE),
    _entry("F7", wake_heights, "Height of wakes by class of boats", SITE, BOATS),
    _entry("F8", traffic_calendar, "When boats pass", SITE, BOATS),
    _entry(
        "F9", wave_energy, "Wave energy at the edge, wind against wakes", stem="fig4_wave_energy"
    ),
    _entry("F10", transmission, "What passes each line by water level", SITE, PASSED),
    _entry("F11", conceptual_model, "How the parts act on one another"),
    _entry("F12", edge_fan, "Edge position through time, by option", stem="fig1_edge_fan"),
    _entry("F13", plan_map, "Map of the edge through the years", stem="fig2_plan_map"),
    _entry(
        "F14", section, "Section behind the lines, at the start and at the end", stem="fig3_section"
    ),
    _entry("F14b", mud, "Mud trapped and rise of the flat", stem="fig6_mud"),
    _entry("F15", oysters, "Oysters, height and time in air of the reef", A_REEF),
    _entry("F16", race, "What wears out against what grows", A_LINE, stem="fig5_race"),
    _entry("F17", sensitivity, "Which inputs matter", SENSITIVITY),
    _entry("F18", tradeoff, "Cost against marsh kept and oysters", A_LINE, SPENT),
    _entry("F19", design_map, "Chance of success by spacing and material", DESIGN_MAP),
    _entry("F20", trigger_chart, "Chance of red by trigger and year", A_LINE),
    _entry("F21", observed, "Forecast against surveys", SURVEYED),
    _entry("F22", belief_weights, "Weights of beliefs through the reviews", BELIEFS),
    _entry("F23", maintenance, "Calendar of upkeep, surveys and reviews", A_LINE),
    _entry("F24", cost_fan, "Money spent through time", A_LINE),
    _entry("F25", decision_tree, "What to do after a survey", A_LINE),
    _entry("F26", monitoring_map, "Where to measure", A_LINE),
    _entry("F27", neighbours, "What the works do to the shore beside them", A_LINE),
)

FIGURES: dict[str, Entry] = {entry.name: entry for entry in _ENTRIES}
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
        paths += save_both(entry.draw(dataset), target / entry.stem, dataset)
    return paths
