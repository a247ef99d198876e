"""Ranges measured on marshes elsewhere, against what the program assumes or makes of them.

Published numbers here were read in abstracts; they are limits or orders of magnitude, for other
marshes than the user's. Defaults are held against the ranges that the notes of sources state.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from edgesim.model.edge import worn_position
from edgesim.model.mud import pack_bed
from edgesim.model.step import run_until
from edgesim.processes.mud import consolidated_density, dry_density_from_organic
from edgesim.processes.plants import accretion_morris
from edgesim.processes.scarp import undercut_cycle_mean
from edgesim.processes.sea_level import rate_and_half_acceleration, rise
from edgesim.scenario.distributions import Triangular
from edgesim.scenario.ecology import Marsh, Mud
from edgesim.scenario.parameters import Section, parameters_of


def default_of(section: type[Section], name: str) -> Any:
    about, field = next(found[1:] for found in parameters_of(section) if found[0] == name)
    return field.default if about.spread is None else about.spread


def spread_of(section: type[Section], name: str) -> tuple[float, float, float]:
    default = default_of(section, name)
    assert isinstance(default, Triangular)
    return default.low, default.mode, default.high


# Published, read.


@pytest.mark.published
def test_national_rise_to_2050() -> None:
    # Sweet et al. 2022, public summary (read): the coast of the US rises by .25 to .30 m from 2020
    # to 2050. The targets of the south-eastern curve, .36 and 1.1 m, are from memory.
    curve = rate_and_half_acceleration(0.36, 1.1)
    start, end = rise([20.0, 50.0], *curve)
    assert 0.25 <= end - start <= 0.30


@pytest.mark.published
def test_creek_mud_of_winter_and_summer_lies_within_the_default() -> None:
    # Wolaver et al. 1988, abstract (read): inorganic 6.5 mg/l in winter, 85.1 mg/l in summer.
    low, _, high = spread_of(Mud, "concentration")
    winter, summer = (default_of(Mud, f"{season}_factor") for season in ("winter", "summer"))
    assert low * winter < 0.0065 < high * winter
    assert low * summer < 0.0851 < high * summer
    # A year's mean is the mean of both.
    assert winter + summer == pytest.approx(2.0)


@pytest.mark.published
@pytest.mark.parametrize("front", [0.793, 2.7])
def test_fronts_of_grass_lie_within_the_default_spread(front: float) -> None:
    # Feist and Simenstad 2000, abstract (read): patches .793 +- .017 m/yr. Yangtze front onto sedge
    # 2.7 +- .5 m/yr (2010, abstract, read); its 25.4 m/yr onto mud is by seedlings, not by runners.
    low, _, high = spread_of(Marsh, "clonal_spread")
    assert low < front < high


@pytest.mark.published
def test_a_marsh_needs_about_a_century_for_a_new_rate_and_lags_by_some_twenty_years() -> None:
    # Abstract in Quat. Sci. Rev. 2009 (read): about 100 years to adjust, a lag of about 20 years.
    # Near the steady depth D the depth relaxes with A'(D): lag 1 / A', 95 % after three times that.
    for rate in (0.003, 0.004, 0.005):
        depth = brentq(lambda d, r=rate: accretion_morris(d) - r, 0.12, 0.45)
        slope = (accretion_morris(depth + 1e-4) - accretion_morris(depth - 1e-4)) / 2e-4
        assert 15.0 < 1.0 / slope < 30.0
        assert 45.0 < 3.0 / slope < 130.0


@pytest.mark.published
@pytest.mark.parametrize("rate", [0.01, 0.5, 0.58, 4.0])
def test_retreat_as_slow_and_as_fast_as_measured_elsewhere_can_be_a_sites_own(
    rate: float,
    small_scenario: Callable[..., Any],
    build_member: Callable[..., Any],
    tell: Callable[[str], None],
) -> None:
    # Abstracts (read): 0.01 to 4 m/yr over short stretches of the Delaware Estuary, up to 0.5 m/yr on
    # boat channels of Georgia, a mean of 0.58 m/yr on the Neuse Estuary (Cowart et al. 2011).
    steady = {"traffic.growth": 0.0, "sea_level.rate": 0.0, "sea_level.acceleration": 0.0}
    changes = {**steady, "traffic.passages": "expected", "site.retreat_rate": rate}
    member = build_member(small_scenario(changes), "no action")

    def worn() -> float:
        state, share = member.state, member.edge_settings.slump_share
        columns = zip(state.edge, state.undercut, state.slump, strict=True)
        return float(np.mean([worn_position(*column, share) for column in columns]))

    before = worn()
    run_until(member, 0, 730)
    found = (worn() - before) / 730.0 * 365.25
    tell(f"{rate} m/yr surveyed, {found:.4f} m/yr found")
    assert found == pytest.approx(rate, rel=0.05)


@pytest.mark.published
def test_an_undefended_layer_can_be_gone_within_months() -> None:
    # Van Cuong et al. 2015 (read): a layer of 17 cm in the open, of one wet season, was washed away
    # in one to two months. The quickest of our members keep a third of theirs after four months:
    # slower than that open, muddy coast, as a flat between creeks should be.
    quickest, _, _ = spread_of(Mud, "wash_time")
    layer = 0.17 * 200.0
    left = layer
    for _ in range(120):
        left, *_ = pack_bed(
            left, left / 200.0, 0.0, 0.0, 1.0, 1.0 / 365.25, 600.0, 200.0, 0.75, quickest
        )
    assert 0.25 < left / layer < 0.40


@pytest.mark.published
@pytest.mark.parametrize(("organic", "low", "high"), [(1.0, 84.3, 85.7), (0.0, 1962.0, 2018.0)])
def test_self_packing_densities_lie_within_their_errors(
    organic: float, low: float, high: float
) -> None:
    # Morris et al. 2016, abstract (read): 0.085 +- 0.0007 and 1.99 +- 0.028 g/cm3.
    assert low < float(dry_density_from_organic(organic)) < high


# Computed from the stated formulas.


@pytest.mark.golden
def test_a_packed_layer_keeps_two_fifths_of_its_thickness() -> None:
    # Mass is kept: 200 / 500 = .40 at the end.
    assert 200.0 / consolidated_density(100.0, 200.0, 500.0, 0.75) == pytest.approx(0.40, rel=1e-9)


@pytest.mark.golden
def test_default_slumps_shelter_the_toe_for_about_the_noted_time() -> None:
    # Noted shelter of .05, .25 and 1.5 yr. With blocks of .3 m and .4 m/yr by the law a share s of
    # its work makes a shelter of s w / R, and the published cycle gives back the law's mean.
    for share, noted in zip(spread_of(Marsh, "slump_share"), (0.05, 0.25, 1.5), strict=True):
        shelter = share * 0.3 / 0.4
        assert noted / 4.0 < shelter < noted * 4.0
        mean = undercut_cycle_mean(0.3, 0.4 / (1.0 - share), shelter)
        assert float(mean) == pytest.approx(0.4, rel=1e-12)


NOTED = [
    # From memory or judgement, each with its unit's SI value.
    (Mud, "concentration", (0.010, 0.035, 0.090)),
    (Mud, "settling_velocity", (0.1e-3, 0.5e-3, 2e-3)),
    (Mud, "critical_stress", (0.2, 0.4, 1.0)),
    (Mud, "fresh_density", (100.0, 200.0, 350.0)),
    (Mud, "flat_density", (400.0, 600.0, 900.0)),
    (Mud, "consolidation_time", (0.3, 0.75, 2.0)),
    (Mud, "trapping_efficiency", (0.1, 0.3, 0.8)),
    (Mud, "wash_time", (0.3, 1.0, 3.0)),
    (Marsh, "erodibility", (0.005, 0.05, 0.2)),
    (Marsh, "strength_variation", (0.1, 0.3, 0.6)),
    (Marsh, "soil_density", (200.0, 400.0, 700.0)),
    (Marsh, "level_decay", (0.5, 1.0, 2.0)),
    (Marsh, "tensile_strength", (1e3, 3e3, 10e3)),
    (Marsh, "root_depth", (0.2, 0.35, 0.6)),
    (Marsh, "clonal_spread", (0.2, 0.8, 3.0)),
    (Marsh, "seedling_stress", (0.05, 0.15, 0.3)),
    (Marsh, "stress_growth", (0.005, 0.01, 0.02)),
    (Marsh, "dry_days", (1.0, 2.5, 5.0)),
    (Marsh, "rooting_days", (10.0, 20.0, 40.0)),
    (Marsh, "bed_change", (0.01, 0.02, 0.04)),
]


@pytest.mark.golden
@pytest.mark.parametrize(("section", "name", "noted"), NOTED)
def test_defaults_are_the_noted_spreads(
    section: type[Section], name: str, noted: tuple[float, float, float]
) -> None:
    assert spread_of(section, name) == pytest.approx(noted, rel=1e-12)


@pytest.mark.golden
def test_wet_soil_weighs_what_is_noted() -> None:
    # 12, 14 and 17 kN/m3 over g, rounded to ten kilograms.
    weights = np.array(spread_of(Marsh, "wet_density")) * 9.81 / 1000.0
    assert weights == pytest.approx([12.0, 14.0, 17.0], abs=0.06)
