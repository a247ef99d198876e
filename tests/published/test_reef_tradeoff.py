"""Crest level, waves and oysters: the published comparison, in direction and rough size.

Morris and others, 2021, Atlantic and Gulf living shorelines (abstract, read): structures under water
less than half of the time cut wave height by about 68 % but are no oyster habitat; those under water
more than half of it suit oysters but cut about 5 %, like controls.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import xarray as xr

from edgesim.figures.crest_tradeoff import crest_tradeoff as draw
from edgesim.model.common import member_forcing, prepare
from edgesim.model.forecast import set_up
from edgesim.model.step import levels_of
from edgesim.processes.linear_waves import shoaling_coefficient
from edgesim.scenario.design import Option
from edgesim.studies.tradeoff import (
    crest_tradeoff,
    height_left,
    heights_at_reef,
    reduction_by_inundation,
)

Make = Callable[..., Any]


@pytest.fixture(scope="module")
def tradeoff(small_scenario: Make) -> xr.Dataset:
    changes = {"run.years": 1, "design.reef.unit_height": 1.05, "design.reef.offset": 5.5}
    return crest_tradeoff(small_scenario({**changes, "run.water_level_bins": 8}))


@pytest.mark.published
def test_dry_reefs_break_waves_and_wet_ones_hardly_do(
    tradeoff: xr.Dataset, tell: Callable[[str], None]
) -> None:
    # Loggers give the height of the waves' energy. The abstract tells neither the waves nor how the
    # reefs were built: hence the rough size of dry ones, 15 points. That of wet ones is missed, see below.
    dry, wet = reduction_by_inundation(tradeoff)
    tell(f"height reduction: dry crests {dry:.0%} (published 68 %), wet crests {wet:.0%} (5 %)")
    assert dry > 2.0 * wet
    assert abs(dry - 0.68) < 0.15


@pytest.mark.golden
def test_wet_reefs_hold_back_more_than_those_measured(tradeoff: xr.Dataset) -> None:
    """Ours, not published numbers: 12 points above the published 5 % by energy, 29 wave by wave."""
    _, wet = reduction_by_inundation(tradeoff)
    assert wet == pytest.approx(0.171, abs=0.02)
    _, wet = reduction_by_inundation(tradeoff, "wave_by_wave")
    assert wet == pytest.approx(0.342, abs=0.02)


def test_the_height_is_that_of_the_energy(small_scenario: Make) -> None:
    """By hand: one wave of 0.1 m that passes whole and three of 0.02 m that do not pass at all."""
    left = height_left(np.array([[1.0, 3.0]]), np.array([[0.1, 0.02]]), np.array([[[1.0], [0.0]]]))
    assert left == pytest.approx(math.sqrt(0.1**2 / (0.1**2 + 3 * 0.02**2)))
    common = prepare(small_scenario({"run.years": 1}))
    forcing = member_forcing(small_scenario({"run.years": 1}), common, 0)
    member = set_up(forcing, common, Option(name="reef", reef=True))
    found = heights_at_reef(member)
    # Where it does not break a wave has the height of its class, shoaled; heights are read off a table
    # of 5 mm steps of depth.
    deep = found[-1] < 0.5 * (levels_of(member, 0)[-1] - member.reef.base)
    depth = levels_of(member, 0)[-1] - member.reef.base
    shoaled = member.tables.height * shoaling_coefficient(member.tables.period, depth)
    assert deep.any()
    assert found[-1][deep] == pytest.approx(shoaled[deep], rel=1e-6)


@pytest.mark.published
def test_oysters_grow_only_on_reefs_under_water_about_half_of_the_time_or_more(
    tradeoff: xr.Dataset,
) -> None:
    """Establishment needs half of the time under water; growth ends at 55 % in air (Ridge, 2015)."""
    growth, in_air = tradeoff["growth"].values, tradeoff["in_air"].values
    assert np.all(growth[in_air > 0.55] < 1e-12)
    assert growth[in_air <= 0.5].max() > 0.9


def test_reduction_rises_and_growth_peaks_below_it(tradeoff: xr.Dataset) -> None:
    reduction, growth = tradeoff["height_reduction"].values, tradeoff["growth"].values
    assert np.all(np.diff(reduction) > -1e-6)
    assert reduction[int(np.argmax(growth))] < 0.5 * reduction[-1]


def test_figure_names_both_units_the_datum_and_its_two_lines(tradeoff: xr.Dataset) -> None:
    figure = draw(tradeoff)
    words = " ".join(text.get_text() for text in figure.findobj(lambda o: hasattr(o, "get_text")))
    for word in ("m NAVD88", "ft NAVD88", "oysters: growth", "waves: height taken off"):
        assert word in words
    assert "Invented data" in words
