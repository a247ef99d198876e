"""What a reef's crest level does for waves and for oysters: the two pull apart."""

from __future__ import annotations

import numpy as np
import xarray as xr

from edgesim import __version__
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP
from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION
from edgesim.model.step import flood_lines
from edgesim.processes.oysters import reef_growth
from edgesim.scenario import ScenarioFile
from edgesim.scenario.design import Option


def crest_tradeoff(scenario_file: ScenarioFile, member: int = 0) -> xr.Dataset:
    """Wave-height reduction and oyster growth of a new reef by its crest level.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A scenario with a reef; crests run from the bed to twice the height of its units.
    member : int, default 0
        Member whose waves and beliefs are taken.

    Returns
    -------
    xarray.Dataset
        Over ``crest_level`` [m]: ``height_reduction``, the mean of one minus Kt over all waves
        that meet the reef in the run, at all water levels above its foot; ``in_air``, share of
        the time that the crest is dry; ``growth``, growth of the reef over its most.
    """
    common = prepare(scenario_file)
    forcing = member_forcing(scenario_file, common, member)
    reef = set_up(forcing, common, Option(name="reef", reef=True))
    flood_lines(reef, 0)
    weather = reef.weather
    sea_level = float(weather.mean_sea_level[0])
    waves = (
        weather.tally.sum(axis=0) * (weather.level_centres + sea_level > reef.reef.base)[:, None]
    )
    passed = (waves[:, :, None] * reef.reef.field.transmission).sum(axis=(0, 1)) / waves.sum()
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    level = reef.reef.base + reef.reef.built_height * ladder
    table = TABLE_LOW + TABLE_STEP * np.arange(weather.dry_share.size)
    in_air = np.interp(level - sea_level, table, weather.dry_share)
    growth = np.array([reef_growth(float(share)) for share in in_air])
    return xr.Dataset(
        {
            "height_reduction": ("crest_level", 1.0 - passed),
            "in_air": ("crest_level", in_air),
            "growth": ("crest_level", growth),
        },
        coords={"crest_level": level},
        attrs={
            "vertical_datum": forcing.scenario.site.vertical_datum,
            "mean_sea_level": sea_level,
            "title": forcing.scenario.title,
            "comment": forcing.scenario.notes,
            "source": f"edgesim {__version__}",
        },
    )


def reduction_by_inundation(dataset: xr.Dataset) -> tuple[float, float]:
    """Mean height reduction of crests that are under water less, and more, than half of the time. [1].

    Parameters
    ----------
    dataset : xarray.Dataset
        From :func:`crest_tradeoff`; crests that are never dry or never wet take no part.
    """
    in_air, reduction = dataset["in_air"].values, dataset["height_reduction"].values
    between = (in_air > 0.0) & (in_air < 1.0)
    dry, wet = between & (in_air > 0.5), between & (in_air <= 0.5)
    return float(reduction[dry].mean()), float(reduction[wet].mean())
