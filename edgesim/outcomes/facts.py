"""The layout of a scenario's shore as the outcomes describe it."""

from __future__ import annotations

import math

import numpy as np

from edgesim.model.common import Common
from edgesim.model.grid import covered_reach, make_grid, reef_line, wall_line
from edgesim.outcomes.dataset import Facts
from edgesim.scenario import ScenarioFile


def layout_facts(scenario_file: ScenarioFile, common: Common) -> Facts:
    """Geometry and calendar that all options and members of a scenario share.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    common : Common
        What its members share.

    Returns
    -------
    Facts
    """
    central = scenario_file.central
    grid = make_grid(central)
    walls, reef = central.design.walls, central.design.reef
    wall, reef_units = wall_line(central), reef_line(central)
    datums = central.site.datums
    return Facts(
        alongshore=grid.alongshore,
        cross_shore=grid.cross_shore,
        cell_size=grid.dy,
        shore_length=central.site.shore_length,
        time_days=common.record_days.astype(np.float64),
        start=central.run.start,
        initial_edge=grid.edge,
        defended=covered_reach(central),
        wall_segments=wall.segments if wall else (),
        wall_position=wall.position if wall else math.nan,
        wall_crest=walls.crest if walls else math.nan,
        wall_thickness=walls.row_gap if walls else math.nan,
        reef_segments=reef_units.segments if reef_units else (),
        reef_position=reef_units.position if reef_units else math.nan,
        reef_width=reef.rows * reef.unit_width if reef else math.nan,
        reef_crest_built=reef_units.base + reef.unit_height if reef_units and reef else math.nan,
        datums={
            name.upper(): level
            for name in ("mhhw", "mhw", "msl", "mlw", "mllw")
            if (level := getattr(datums, name)) is not None
        },
        vertical_datum=central.site.vertical_datum,
    )
