"""What a reef's crest level does for waves and for oysters: the two pull apart."""

from __future__ import annotations

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim import __version__
from edgesim.forcing.water_levels import TABLE_LOW, TABLE_SIZE, TABLE_STEP
from edgesim.forcing.waves import WAKE
from edgesim.model.common import Common, member_forcing, prepare
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


def crest_tradeoff(scenario_file: ScenarioFile) -> xr.Dataset:
    """Wave-height reduction and oyster growth of a new reef by its crest level, in all members.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A scenario with a reef; crests run from the bed to twice the height of its units.

    Returns
    -------
    xarray.Dataset
        Over ``member`` and ``crest_level`` [m]: ``height_reduction`` of all waves that meet the reef
        in the run, at all water levels above its foot; ``under_water``, the same of those waves that
        come while the crest is under water (not-a-number where it never is); ``wave_by_wave``, the
        first as the mean over waves, whatever their height; ``in_air``, share of the time that the
        crest is dry; ``energy_in_air``, share of the waves' energy that comes in that time;
        ``growth``, growth of the reef over its most.

    Notes
    -----
    The height is that of the waves' energy, as loggers give it: four standard deviations of the
    surface. So a ripple of two centimetres counts as little as it does in a record.
    """
    central = scenario_file.central
    common = prepare(scenario_file)
    members = [_of_member(scenario_file, common, i) for i in range(central.run.members)]
    whole = xr.concat(members, "member")
    return whole.assign_coords(member=np.arange(central.run.members)).assign_attrs(
        vertical_datum=central.site.vertical_datum,
        title=central.title,
        comment=central.notes,
        source=f"edgesim {__version__}",
    )


def _of_member(scenario_file: ScenarioFile, common: Common, index: int) -> xr.Dataset:
    """Trade-off of one member, over the level of the crest."""
    forcing = member_forcing(scenario_file, common, index)
    reef = set_up(forcing, common, Option(name="reef", reef=True))
    flood_lines(reef, 0)
    weather = reef.weather
    sea_level = float(weather.mean_sea_level[0])
    levels = weather.level_centres + sea_level
    waves = weather.tally.sum(axis=0) * (levels > reef.reef.base)[:, None]
    transmission = reef.reef.field.transmission.astype(np.float64)
    passed = (waves[:, :, None] * transmission).sum(axis=(0, 1)) / waves.sum()
    duration, height = waves * reef.tables.period, heights_at_reef(reef)
    ladder = np.linspace(0.0, HIGHEST_CONDITION, CONDITIONS)
    crest = reef.reef.base + reef.reef.built_height * ladder
    drowned = (levels[:, None] > crest)[:, None, :]
    energy = (duration * height**2)[:, :, None]
    in_air = np.interp(
        crest - sea_level, TABLE_LOW + TABLE_STEP * np.arange(TABLE_SIZE), weather.dry_share
    )
    growth = np.array([reef_growth(float(share)) for share in in_air])
    return xr.Dataset(
        {
            "height_reduction": ("crest_level", 1.0 - height_left(energy, transmission)),
            "under_water": ("crest_level", 1.0 - height_left(energy * drowned, transmission)),
            "wave_by_wave": ("crest_level", 1.0 - passed),
            "in_air": ("crest_level", in_air),
            "energy_in_air": ("crest_level", share_below(levels, energy.sum(axis=(1, 2)), crest)),
            "growth": ("crest_level", growth),
        },
        coords={"crest_level": crest},
    )


def share_below(levels: Floats, amount: Floats, crest: Floats) -> Floats:
    """Share of an amount spread over bins of level that lies below each of some levels. [1].

    Parameters
    ----------
    levels : ndarray, (n_levels,)
        Centres of bins of one width. [m]
    amount : ndarray, (n_levels,)
        What is in each bin, evenly through it.
    crest : ndarray, (n,)
        Levels asked for. [m]

    Returns
    -------
    ndarray, (n,)

    Examples
    --------
    >>> share_below(np.array([0.1, 0.3]), np.array([1.0, 3.0]), np.array([0.2, 0.3, 0.9]))
    array([0.25 , 0.625, 1.   ])
    """
    half = 0.5 * (levels[1] - levels[0])
    edges = np.append(levels - half, levels[-1] + half)
    below = np.append(0.0, np.cumsum(amount))
    return np.asarray(np.interp(crest, edges, below / below[-1]))


def height_left(energy: Floats, transmission: Floats) -> Floats:
    """Share of the height that is left of a mixture of waves, from its energy.

    Parameters
    ----------
    energy : ndarray, (n_levels, n_classes, n or 1)
        Energy of each class at each level: how long it is there by its height squared. [s m2]
    transmission : ndarray, (n_levels, n_classes, n)
        Transmission of each by the height of the reef. [1]

    Returns
    -------
    ndarray, (n,)
        Not-a-number where there is no energy.

    Examples
    --------
    Of one wave of 0.1 m that passes and three of 0.02 m that do not:

    >>> energy = np.array([[[1 * 0.1**2], [3 * 0.02**2]]])
    >>> height_left(energy, np.array([[[1.0], [0.0]]])).round(3)
    array([0.945])
    """
    whole = energy.sum(axis=(0, 1))
    passed = (energy * transmission**2).sum(axis=(0, 1))
    return np.asarray(np.sqrt(passed / np.where(whole > 0.0, whole, np.nan)))


def heights_at_reef(member: Member) -> Floats:
    """Height of each class of waves where it meets the reef, shoaled and capped. (n_levels, n_classes). [m]."""
    even = incoming_heights(member, member.reef, levels_of(member, 0))
    return even / np.where(member.weather.source == WAKE, PACKET_HEIGHT, SEA_HEIGHT)


def reduction_by_inundation(dataset: xr.Dataset, name: str = "height_reduction") -> Floats:
    """Mean height reduction of crests that are dry for more, and for less, than half of the time.

    Parameters
    ----------
    dataset : xarray.Dataset
        From :func:`crest_tradeoff`; crests that are never dry or never wet, and the bare bed, take no
        part.
    name : str, default "height_reduction"
        That, ``under_water`` or ``wave_by_wave``.

    Returns
    -------
    ndarray, (2, n_members)
        Of dry crests, and of wet ones. [1]
    """
    in_air, reduction = dataset["in_air"], dataset[name]
    between = (in_air > 0.0) & (in_air < 1.0) & (in_air.crest_level > in_air.crest_level[0])
    classes = (between & (in_air > 0.5), between & (in_air <= 0.5))
    return np.array([reduction.where(kind).mean("crest_level").values for kind in classes])


def reduction_where(dataset: xr.Dataset, name: str, share: float) -> Floats:
    """Height reduction of the crest for which a share is reached. (n_members,). [1].

    Parameters
    ----------
    dataset : xarray.Dataset
        From :func:`crest_tradeoff`.
    name : str
        Which share: ``in_air`` or ``energy_in_air``.
    share : float
        Its value. [1]
    """
    pairs = zip(dataset[name].values, dataset["height_reduction"].values, strict=True)
    return np.array([np.interp(share, shares, reduction) for shares, reduction in pairs])


def most_energy_in_air(dry_reduction: float, wet_reduction: float) -> float:
    r"""Most of the waves' energy that can have met a group of reefs while they were out of water. [1].

    Parameters
    ----------
    dry_reduction : float
        What the reefs are taken to take off the height, at least, while they stand out of the water. [1]
    wet_reduction : float
        What the group took off the height of the energy in the mean, through all hours. [1]

    Notes
    -----
    Out of the water a share :math:`(1 - r_d)^2` of the energy passes at most, under water all of it
    at most. So of the share e of the energy that comes while they are out

    .. math:: (1 - r_w)^2 \le e\,(1 - r_d)^2 + (1 - e) \;\Rightarrow\; e \le \frac{1 - (1 - r_w)^2}{1 - (1 - r_d)^2}

    Nothing is said here of how reefs act under water: more of that only lowers the bound.

    Examples
    --------
    >>> round(most_energy_in_air(0.68, 0.05), 3)
    0.109
    """
    return (1.0 - (1.0 - wet_reduction) ** 2) / (1.0 - (1.0 - dry_reduction) ** 2)
