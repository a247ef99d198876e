"""What must hold for any line, from dry to drowned, as the model meets it: reefs of shell, walls of branches."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from edgesim.model.line_field import CONDITIONS, HIGHEST_CONDITION, LineMaterial, fill_transmissions
from edgesim.processes import transmission
from edgesim.processes.linear_waves import wavenumber

Floats = NDArray[np.float64]

STEP = 0.005
"""Step of the depth tables, as in the model. Water and crests of these tests stand on its rungs. [m]"""

AS_BUILT = round((CONDITIONS - 1) / HIGHEST_CONDITION)

heights = st.floats(0.02, 0.6)
periods = st.floats(0.8, 4.0)
crests = st.integers(20, 400)
overs = st.integers(1, 40)
thicknesses = st.floats(0.1, 3.0)
porosities = st.floats(0.35, 0.9)
sizes = st.floats(0.02, 0.15)
more = st.floats(1.01, 1.5)


def material(thickness: float, porosity: float, size: float) -> LineMaterial:
    """Reef of shell as `edgesim.model.settings.reef_material` makes it."""
    steady = transmission.rubble_resistance_quadratic(porosity, size, math.inf)
    at_one = transmission.rubble_resistance_quadratic(porosity, size, 1.0)
    return LineMaterial(
        is_block=True,
        thickness=thickness,
        porosity=porosity,
        linear=transmission.rubble_resistance_linear(porosity, size),
        quadratic=steady,
        swing=(at_one - steady) * porosity * size,
        posts=0.0,
        roughness=size / 12.0,
    )


def wall(thickness: float, solid: float, diameter: float, open_share: float) -> LineMaterial:
    """Branches between two rows of posts, as `edgesim.model.settings.wall_material` makes them."""
    return LineMaterial(
        is_block=False,
        thickness=thickness,
        porosity=1.0 - solid,
        linear=0.0,
        quadratic=transmission.stem_resistance(solid, diameter, 1.5),
        swing=0.0,
        posts=transmission.post_row_resistance(open_share),
        roughness=0.0,
    )


def all_heights(
    height: float, period: float, crest: int, over: NDArray[np.int64], line: LineMaterial
) -> Floats:
    """Transmission by water over the crest, in steps of the depth tables, and height of the line.

    (n_waters, CONDITIONS): heights from none to twice that at build.
    """
    last = crest + max(int(over.max()), 0) + 2
    rungs = np.maximum(np.arange(last) * STEP, 0.5 * STEP)
    found = np.empty((over.size, 1, CONDITIONS), dtype=np.float32)
    fill_transmissions(
        np.full((over.size, 1), height), np.array([period]), wavenumber(period, rungs)[None], STEP,
        STEP * (crest + over), 0.0, 0.0, STEP * crest, line, found,
    )  # fmt: skip
    return found[:, 0].astype(np.float64)


def passed(
    height: float, period: float, crest: int, over: NDArray[np.int64], line: LineMaterial
) -> Floats:
    """Transmission of a line as built for several waters over its crest."""
    return all_heights(height, period, crest, over, line)[:, AS_BUILT]


@given(heights, periods, st.integers(1, 25), overs, thicknesses, porosities, sizes)
def test_the_more_a_reef_has_grown_the_less_it_passes(
    height: float,
    period: float,
    crest: int,
    over: int,
    thickness: float,
    porosity: float,
    size: float,
) -> None:
    # Crests in steps of 16 rungs, so that all heights of the ladder stand on the depth tables.
    water = np.array([0, over, 16 * crest])
    Kt = all_heights(height, period, 16 * crest, water, material(thickness, porosity, size))
    assert (np.diff(Kt, axis=1) <= 1e-6).all()


@given(
    heights,
    periods,
    crests,
    st.floats(0.1, 2.0),
    st.floats(0.02, 0.6),
    st.floats(0.005, 0.08),
    st.floats(0.1, 0.95),
)
def test_walls_pass_less_with_more_fill_and_more_as_water_rises_over_them(
    height: float,
    period: float,
    crest: int,
    thickness: float,
    solid: float,
    diameter: float,
    open_share: float,
) -> None:
    """The water above the fill meets the posts alone. Slack as in the test of reefs below."""
    over = np.arange(0, 200, 5)
    Kt = all_heights(height, period, crest, over, wall(thickness, solid, diameter, open_share))
    assert (np.diff(Kt, axis=1) <= 1e-6).all()
    as_built = Kt[:, AS_BUILT]
    assert (as_built - np.maximum.accumulate(as_built) >= -3e-4).all()


@given(heights, periods, crests, thicknesses, porosities, sizes)
def test_reefs_pass_more_as_the_water_rises_over_them(
    height: float, period: float, crest: int, thickness: float, porosity: float, size: float
) -> None:
    """From the crest awash to two metres over it, step by step.

    Slack: the block below loses up to 0.0003 as deep water deepens, where the depth factor of the
    drag rises again to its limit of 2/3.
    """
    over = np.unique(np.concatenate([np.arange(0, 40), np.geomspace(40, 400, 40).astype(int)]))
    Kt = passed(height, period, crest, over, material(thickness, porosity, size))
    assert (np.diff(Kt) >= -1e-4).all()
    assert (Kt - np.maximum.accumulate(Kt) >= -3e-4).all()
    assert 0.0 <= Kt[0] <= Kt[-1] <= 1.0 + 1e-6


@settings(max_examples=200)
@given(heights, periods, crests, st.integers(-20, 400), thicknesses, porosities, sizes, more)
def test_reefs_wet_or_dry_pass_less_of_higher_waves_and_when_thicker_or_denser(
    height: float,
    period: float,
    crest: int,
    over: int,
    thickness: float,
    porosity: float,
    size: float,
    up: float,
) -> None:
    water = np.array([max(over, 2 - crest)])
    usual = passed(height, period, crest, water, material(thickness, porosity, size))
    slack = 1e-5  # the search for the drag ends within 1e-5 of the velocity
    higher = passed(height * up, period, crest, water, material(thickness, porosity, size))
    thicker = passed(height, period, crest, water, material(thickness * up, porosity, size))
    denser = passed(height, period, crest, water, material(thickness, porosity / up, size))
    assert (higher <= usual + slack).all()
    assert (thicker <= usual + slack).all()
    assert (denser <= usual + slack).all()


@given(heights, periods, crests, overs, thicknesses, porosities, sizes)
def test_water_over_a_reef_never_passes_less_than_the_reef_itself(
    height: float,
    period: float,
    crest: int,
    over: int,
    thickness: float,
    porosity: float,
    size: float,
) -> None:
    """The same water before a reef that stands higher than it: a drowned reef passes more."""
    reef = material(thickness, porosity, size)
    drowned = passed(height, period, crest, np.array([over]), reef)
    standing = passed(height, period, crest + over, np.array([0]), reef)
    assert (drowned >= standing - 1e-6).all()


def test_a_drowned_reef_of_small_shell_may_pass_more_for_its_smooth_crest() -> None:
    """Where next to nothing passes the block, the roughness of the crest decides: finer is smoother."""
    over = np.array([26])
    coarse, fine = (
        passed(0.23, 0.84, 29, over, material(2.7, 0.41, size)) for size in (0.09, 0.06)
    )
    assert 0.0 < float(fine[0] - coarse[0]) < 0.05
    # Out of the water finer shell always passes less.
    dry = np.array([0])
    coarse, fine = (passed(0.23, 0.84, 55, dry, material(0.2, 0.41, size)) for size in (0.09, 0.06))
    assert fine[0] < coarse[0]
