"""What a reef's crest level does for waves and for oysters: the two pull apart."""

from __future__ import annotations

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim import __version__
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_STEP
from edgesim.forcing.waves import WAKE
from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION
from edgesim.model.step import (
    PACKET_HEIGHT,
    SEA_HEIGHT,
    Member,
    flood_lines,
    incoming_heights,
    levels_of,
)
from edgesim.processes.oysters import reef_growth
from edgesim.scenario import ScenarioFile
from edgesim.scenario.design import Option

Floats = NDArray[np.float64]


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
        Over ``crest_level`` [m]: ``height_reduction`` of all waves that meet the reef in the run, at
        all water levels above its foot; ``wave_by_wave``, the same as the mean over waves, whatever
        their height; ``in_air``, share of the time that the crest is dry; ``growth``, growth of the
        reef over its most.

    Notes
    -----
    The height is that of the waves' energy, as loggers give it: four standard deviations of the
    surface. So a ripple of two centimetres counts as little as it does in a record.
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
    transmission = reef.reef.field.transmission.astype(np.float64)
    passed = (waves[:, :, None] * transmission).sum(axis=(0, 1)) / waves.sum()
    left = height_left(waves * reef.tables.period, heights_at_reef(reef), transmission)
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    level = reef.reef.base + reef.reef.built_height * ladder
    table = TABLE_LOW + TABLE_STEP * np.arange(weather.dry_share.size)
    in_air = np.interp(level - sea_level, table, weather.dry_share)
    growth = np.array([reef_growth(float(share)) for share in in_air])
    return xr.Dataset(
        {
            "height_reduction": ("crest_level", 1.0 - left),
            "wave_by_wave": ("crest_level", 1.0 - passed),
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


def height_left(duration: Floats, height: Floats, transmission: Floats) -> Floats:
    """Share of the height that is left of a mixture of waves, from its energy.

    Parameters
    ----------
    duration, height : ndarray, (n_levels, n_classes)
        How long each class is there at each level [s], and its height [m].
    transmission : ndarray, (n_levels, n_classes, n)
        Transmission of each by the height of the reef. [1]

    Returns
    -------
    ndarray, (n,)

    Examples
    --------
    Of one wave of 0.1 m that passes and three of 0.02 m that do not:

    >>> passed = np.array([[[1.0], [0.0]]])
    >>> height_left(np.array([[1.0, 3.0]]), np.array([[0.1, 0.02]]), passed).round(3)
    array([0.945])
    """
    energy = (duration * height**2)[:, :, None]
    return np.asarray(np.sqrt((energy * transmission**2).sum(axis=(0, 1)) / energy.sum()))


def heights_at_reef(member: Member) -> Floats:
    """Height of each class of waves where it meets the reef, shoaled and capped. (n_levels, n_classes). [m]."""
    even = incoming_heights(member, member.reef, levels_of(member, 0))
    return even / np.where(member.weather.source == WAKE, PACKET_HEIGHT, SEA_HEIGHT)


def reduction_by_inundation(
    dataset: xr.Dataset, name: str = "height_reduction"
) -> tuple[float, float]:
    """Mean height reduction of crests that are under water less, and more, than half of the time. [1].

    Parameters
    ----------
    dataset : xarray.Dataset
        From :func:`crest_tradeoff`; crests that are never dry or never wet, and the bare bed, take no
        part.
    name : str, default "height_reduction"
        That, or ``wave_by_wave``.
    """
    in_air, reduction = dataset["in_air"].values, dataset[name].values
    between = (in_air > 0.0) & (in_air < 1.0)
    between[0] = False  # no reef at all
    dry, wet = between & (in_air > 0.5), between & (in_air <= 0.5)
    return float(reduction[dry].mean()), float(reduction[wet].mean())
