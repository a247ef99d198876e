"""The figures of a forecast: one file a figure, each a function Dataset to Figure."""

from __future__ import annotations

from pathlib import Path

import xarray as xr

from edgesim.figures import (
    conceptual_model,
    cost_fan,
    decision_tree,
    design_plan,
    edge_fan,
    edge_history,
    exposure,
    location_map,
    maintenance,
    monitoring_map,
    mud,
    neighbours,
    oysters,
    plan_map,
    profile,
    race,
    retreat_rates,
    section,
    studies,
    tradeoff,
    traffic_calendar,
    transmission,
    trigger_chart,
    wake_heights,
    wave_energy,
)
from edgesim.figures.needs import A_DESIGN, A_LINE, A_RATE, A_REEF, BOATS, PASSED
from edgesim.figures.registry import Entry
from edgesim.figures.saving import save_figure
from edgesim.figures.style import BANDS
from edgesim.outcomes.embedded import SITE
from edgesim.outcomes.extras import BELIEFS, DESIGN_MAP, SENSITIVITY, SURVEYED
from edgesim.outcomes.history import SURVEYS

FIGURES: dict[str, Entry] = {
    "location_map": Entry(
        "F1",
        "Where the site is",
        location_map.location_map,
        location_map.headline,
        location_map.alt_text,
        location_map.READING,
        "location_map",
        (SITE,),
    ),
    "edge_history": Entry(
        "F2",
        "Edge lines of the past",
        edge_history.edge_history,
        edge_history.headline,
        edge_history.alt_text,
        edge_history.READING,
        "edge_history",
        (
            SITE,
            SURVEYS,
        ),
    ),
    "retreat_rates": Entry(
        "F3",
        "Rates of retreat with their errors",
        retreat_rates.retreat_rates,
        retreat_rates.headline,
        retreat_rates.alt_text,
        retreat_rates.READING,
        "retreat_rates",
        (
            SITE,
            A_RATE,
        ),
    ),
    "profile": Entry(
        "F4",
        "Profile across the shore with tidal datums and lines",
        profile.profile,
        profile.headline,
        profile.alt_text,
        profile.READING,
        "profile",
        (SITE,),
    ),
    "design_plan": Entry(
        "F5",
        "Plan of the design",
        design_plan.design_plan,
        design_plan.headline,
        design_plan.alt_text,
        design_plan.READING,
        "design_plan",
        (
            SITE,
            A_DESIGN,
        ),
    ),
    "exposure": Entry(
        "F6",
        "Time in air by level, and the oysters' band",
        exposure.exposure,
        exposure.headline,
        exposure.alt_text,
        exposure.READING,
        "exposure",
        (SITE,),
    ),
    "wake_heights": Entry(
        "F7",
        "Height of wakes by class of boats",
        wake_heights.wake_heights,
        wake_heights.headline,
        wake_heights.alt_text,
        wake_heights.READING,
        "wake_heights",
        (
            SITE,
            BOATS,
        ),
    ),
    "traffic_calendar": Entry(
        "F8",
        "When boats pass",
        traffic_calendar.traffic_calendar,
        traffic_calendar.headline,
        traffic_calendar.alt_text,
        traffic_calendar.READING,
        "traffic_calendar",
        (
            SITE,
            BOATS,
        ),
    ),
    "wave_energy": Entry(
        "F9",
        "Wave energy at the edge, wind against wakes",
        wave_energy.wave_energy,
        wave_energy.headline,
        wave_energy.alt_text,
        wave_energy.READING,
        "fig4_wave_energy",
    ),
    "transmission": Entry(
        "F10",
        "What passes each line by water level",
        transmission.transmission,
        transmission.headline,
        transmission.alt_text,
        transmission.READING,
        "transmission",
        (
            SITE,
            PASSED,
        ),
    ),
    "conceptual_model": Entry(
        "F11",
        "How the parts act on one another",
        conceptual_model.conceptual_model,
        conceptual_model.headline,
        conceptual_model.alt_text,
        conceptual_model.READING,
        "conceptual_model",
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
    "oysters": Entry(
        "F15",
        "Oysters, height and time in air of the reef",
        oysters.oysters,
        oysters.headline,
        oysters.alt_text,
        oysters.READING,
        "oysters",
        (A_REEF,),
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
    "sensitivity": Entry(
        "F17",
        "Which inputs matter",
        studies.sensitivity,
        studies.sensitivity_headline,
        studies.sensitivity_alt_text,
        studies.SENSITIVITY_READING,
        "sensitivity",
        (SENSITIVITY,),
    ),
    "tradeoff": Entry(
        "F18",
        "Cost against marsh kept and oysters",
        tradeoff.tradeoff,
        tradeoff.headline,
        tradeoff.alt_text,
        tradeoff.READING,
        "tradeoff",
        (A_LINE,),
    ),
    "design_map": Entry(
        "F19",
        "Chance of success by spacing and material",
        studies.design_map,
        studies.map_headline,
        studies.map_alt_text,
        studies.MAP_READING,
        "design_map",
        (DESIGN_MAP,),
    ),
    "trigger_chart": Entry(
        "F20",
        "Chance of red by trigger and year",
        trigger_chart.trigger_chart,
        trigger_chart.headline,
        trigger_chart.alt_text,
        trigger_chart.READING,
        "trigger_chart",
        (A_LINE,),
    ),
    "observed": Entry(
        "F21",
        "Forecast against surveys",
        studies.observed,
        studies.skill_headline,
        studies.skill_alt_text,
        studies.SKILL_READING,
        "observed",
        (SURVEYED,),
    ),
    "belief_weights": Entry(
        "F22",
        "Weights of beliefs through the reviews",
        studies.belief_weights,
        studies.belief_headline,
        studies.belief_alt_text,
        studies.BELIEF_READING,
        "belief_weights",
        (BELIEFS,),
    ),
    "maintenance": Entry(
        "F23",
        "Calendar of upkeep, surveys and reviews",
        maintenance.maintenance,
        maintenance.headline,
        maintenance.alt_text,
        maintenance.READING,
        "maintenance",
        (A_LINE,),
    ),
    "cost_fan": Entry(
        "F24",
        "Money spent through time",
        cost_fan.cost_fan,
        cost_fan.headline,
        cost_fan.alt_text,
        cost_fan.READING,
        "cost_fan",
        (A_LINE,),
    ),
    "decision_tree": Entry(
        "F25",
        "What to do after a survey",
        decision_tree.decision_tree,
        decision_tree.headline,
        decision_tree.alt_text,
        decision_tree.READING,
        "decision_tree",
        (A_LINE,),
    ),
    "monitoring_map": Entry(
        "F26",
        "Where to measure",
        monitoring_map.monitoring_map,
        monitoring_map.headline,
        monitoring_map.alt_text,
        monitoring_map.READING,
        "monitoring_map",
        (A_LINE,),
    ),
    "neighbours": Entry(
        "F27",
        "What the works do to the shore beside them",
        neighbours.neighbours,
        neighbours.headline,
        neighbours.alt_text,
        neighbours.READING,
        "neighbours",
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
