"""Suspended mud over boxes and the packing of the bed: balance, bounds and limits."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from numpy.typing import NDArray

from edgesim.model.mud import (
    BOX,
    balance_suspended,
    box_room,
    boxes_along,
    pack_bed,
    solve_symmetric_band,
)

Floats = NDArray[np.float64]
NX, NY, DX = 12, 10, 1.0
SECONDS = 86400.0 * 365.25


def balanced(
    deposit: Floats,
    stirred: Floats,
    depth: Floats,
    openness: Floats,
    row: int = 6,
    mixing: float = 0.005,
    concentration: float = 0.035,
    scarp: float = 0.0,
) -> Floats:
    """Relative concentration over a flat whose edge lies at 10 m, and loses some mud a column and year."""
    suspended = np.full((NX, NY), np.nan)
    balance_suspended(
        suspended,
        np.full(NY, 10.0),
        DX,
        DX,
        mixing * SECONDS * concentration,
        1.0,
        10,
        np.array([row]),
        openness[None, :],
        deposit,
        stirred,
        depth,
        np.full(NY, scarp),
        1.0,
        box_room(NX, NY, DX, DX),
    )
    return suspended[:10]


def field(low: float, high: float) -> Any:
    return arrays.arrays(np.float64, (NX, NY), elements=st.floats(low, high))


@settings(max_examples=25)
@given(
    field(0.0, 60.0),
    field(0.0, 60.0),
    field(0.0, 2.0),
    arrays.arrays(np.float64, NY, elements=st.floats(0.0, 1.0)),
    st.floats(1e-4, 1.0),
    st.floats(1e-3, 0.5),
    st.floats(0.0, 300.0),
)
def test_no_concentration_is_negative_and_the_boundary_brings_what_settles(
    deposit: Floats,
    stirred: Floats,
    depth: Floats,
    openness: Floats,
    mixing: float,
    concentration: float,
    scarp: float,
) -> None:
    found = balanced(deposit, stirred, depth, openness, 6, mixing, concentration, scarp)
    assert (found >= 0.0).all()
    # What crosses the seaward side equals what settles less what is stirred and falls from the scarp.
    rows, n = int(BOX / DX), boxes_along(NY * DX)
    group = ((np.arange(NY) + 0.5) * n / NY).astype(int)
    width = NY * DX / n
    into = gross = 0.0
    for g in range(n):
        mean_depth = depth[:rows, group == g].mean()
        unit = mixing * SECONDS * concentration * width / (rows * DX)
        into += unit * mean_depth * (1.0 - found[0, group == g][0])
        gross += unit * mean_depth
    net = float((deposit[:10] * found - stirred[:10]).sum()) * DX * DX - NY * scarp
    turnover = float((deposit[:10] * found + stirred[:10]).sum()) + abs(into)
    # The trace of exchange that keeps dry boxes solvable is 1e-9 m.
    trace = 1e-9 * mixing * SECONDS * concentration * np.abs(1.0 - found).sum()
    # What comes in is the small difference of what is carried to and fro, to its round-off.
    assert abs(into - net) <= 1e-9 * turnover + 1e-14 * gross + trace + 1e-12


def test_a_balanced_flat_has_the_water_of_the_channel() -> None:
    rng = np.random.default_rng(2)
    fluxes = rng.uniform(0.0, 20.0, (NX, NY))
    found = balanced(fluxes, fluxes, np.ones((NX, NY)), np.ones(NY))
    np.testing.assert_allclose(found, 1.0, rtol=1e-9)


def test_the_field_is_that_of_the_equation_of_mixing() -> None:
    # K h C0 c'' = d c with c = 1 at the seaward side and no flux at the edge: cosh profile, here
    # with a decay length of 10 m; boxes of 2 m are good to a per cent.
    depth, mixing, concentration, length = 0.8, 0.005, 0.035, 10.0
    deposit = mixing * SECONDS * concentration * depth / length**2
    found = balanced(
        np.full((NX, NY), deposit),
        np.zeros((NX, NY)),
        np.full((NX, NY), depth),
        np.ones(NY),
        -1,
        mixing,
        concentration,
    )[:, 0]
    # The channel's water stands one box seaward of the middle of the first.
    x = 10.0 - (np.arange(0, 10, 2) + 1.0)
    exact = np.cosh(x / length) / np.cosh(11.0 / length)
    np.testing.assert_allclose(found[::2], exact, rtol=0.01)


def test_scarp_mud_muddies_the_water_at_its_foot_and_leaves_by_mixing() -> None:
    none, depth = np.zeros((NX, NY)), np.full((NX, NY), 0.8)
    found = balanced(none, none, depth, np.ones(NY), row=-1, scarp=30.0)[:, 0]
    # By hand: 30 kg a year and metre through faces 2 m apart that carry K C0 h / 2 m = .005 * 3.156e7
    # * .035 * .8 / 2 = 2209 kg a unit: five faces from the channel to the last box.
    assert found[9] - 1.0 == pytest.approx(5 * 30.0 / 2209.0, rel=1e-3)
    assert found[0] - 1.0 == pytest.approx(30.0 / 2209.0, rel=1e-3)
    # Where nothing is stirred it settles on its way out, and none of it comes back from the channel.
    calm = balanced(np.full((NX, NY), 20.0), none, depth, np.ones(NY), -1)[:, 0]
    fed = balanced(np.full((NX, NY), 20.0), none, depth, np.ones(NY), -1, scarp=30.0)[:, 0]
    kept = 20.0 * float((fed - calm)[:10].sum())
    assert 0.0 < kept < 30.0


def test_mud_gets_through_gaps_and_starves_behind_a_closed_line() -> None:
    calm, none = np.full((NX, NY), 20.0), np.zeros((NX, NY))
    depth = np.full((NX, NY), 0.8)
    free = balanced(calm, none, depth, np.ones(NY))
    closed = balanced(calm, none, depth, np.zeros(NY))
    gap = np.zeros(NY)
    gap[4:6] = 1.0
    gapped = balanced(calm, none, depth, gap)
    # Nothing at all comes through a closed line, all of it through none.
    np.testing.assert_allclose(closed[6:], 0.0, atol=1e-6)
    assert (gapped[6:] > closed[6:] + 0.1).all()
    assert (gapped[6:] < free[6:]).all()
    # The water is muddiest behind the gap.
    assert gapped[6, 4] > gapped[6, 0]


def test_the_band_solver_agrees_with_numpy() -> None:
    rng = np.random.default_rng(5)
    n, band = 40, 4
    dense = np.zeros((n, n))
    for k in range(1, band + 1):
        off = -rng.uniform(0.0, 1.0, n - k)
        dense += np.diag(off, k) + np.diag(off, -k)
    np.fill_diagonal(dense, 0.1 - dense.sum(axis=1))
    right = rng.uniform(0.0, 1.0, n)
    packed = np.zeros((n, band + 2))
    for k in range(band + 1):
        packed[: n - k, k] = np.diag(dense, k)
    packed[:, band + 1] = right
    solve_symmetric_band(packed, n, band, band + 1)
    np.testing.assert_allclose(packed[:, band + 1], np.linalg.solve(dense, right), rtol=1e-10)


@given(
    st.floats(0.0, 50.0),
    st.floats(0.0, 1.0),
    st.floats(-50.0, 50.0),
    st.floats(0.0, 10.0),
    st.floats(-1.0, 3.0),
    st.floats(0.0, 1.0),
)
def test_packing_keeps_mass_and_density_between_fresh_and_firm(
    loose: float, age: float, net: float, skin: float, roughness: float, years: float
) -> None:
    fresh, firm = 200.0, 600.0
    thickness = loose / (fresh + age * (firm - fresh))
    after, thick, gain, washed = pack_bed(
        loose, thickness, net, skin, roughness, years, firm, fresh, 0.75, 1.0
    )
    assert after >= 0.0
    assert washed >= 0.0
    assert loose + net == pytest.approx(after + gain + washed, abs=1e-9)
    assert after / firm - 1e-12 <= thick <= after / fresh + 1e-12


def test_loose_mud_packs_as_the_published_density_does() -> None:
    # One deposit left alone. The note's density 200 -> 500 kg/m3 with a time of .75 yr is 389.6
    # after that time; here thickness, not density, nears its end exponentially, so that a deposit
    # packs a little later, alike at the start and the end.
    loose, thick = 10.0, 10.0 / 200.0
    densities = []
    for _ in range(400):
        loose, thick, _, _ = pack_bed(loose, thick, 0.0, 1e9, 0.0, 0.01, 500.0, 200.0, 0.75, 1.0)
        densities.append(loose / thick)
    # By hand: 1 / (1/500 + (1/200 - 1/500) e^-1) = 1 / (.002 + .003 * .3679) = 322.2
    assert densities[74] == pytest.approx(322.2, abs=0.5)
    assert densities[0] == pytest.approx(200.0, rel=0.02)
    assert densities[-1] == pytest.approx(500.0, rel=0.02)


def test_loose_mud_washes_away_in_rough_water_only() -> None:
    def left(roughness: float, years: float) -> float:
        loose, thick = 12.0, 0.03
        for _ in range(round(years * 25)):
            loose, thick, _, _ = pack_bed(
                loose, thick, 0.0, 2.0, roughness, 0.04, 600.0, 200.0, 1e9, 0.5
            )
        return loose

    assert left(0.3, 2.0) == pytest.approx(12.0, rel=1e-6)
    # By hand: 2 + 10 e^(-1 / .5) = 3.353 with waves as before.
    assert left(1.0, 1.0) == pytest.approx(3.353, abs=0.01)
