"""What must hold for any oyster, shell, wood, wire or post, not only for the tabled ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgesim.processes import oysters, posts, shell, wire, wood


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


share = between(0.0, 1.0)
rate = between(0.0, 5.0)


@given(between(0.0, 60.0))
def test_salinity_factors_are_shares(salinity: float) -> None:
    assert 0.0 <= oysters.salinity_suitability(salinity) <= 1.0
    assert 0.05 <= wood.salinity_factor(salinity) <= 1.0


@given(share, between(0.0, 0.3), between(0.4, 0.95))
def test_reef_growth_is_a_share_and_zero_outside(e: float, lower: float, upper: float) -> None:
    growth = oysters.reef_growth(e, lower, upper)
    assert 0.0 <= growth <= 1.0 + 1e-12
    if e <= lower or e >= upper:
        assert growth == pytest.approx(0.0, abs=1e-12)


@given(between(0.0, 0.2), between(0.05, 0.15), between(0.1, 2.0), between(0.0, 2.0))
def test_growth_in_two_steps_is_growth_in_one(h: float, linf: float, k: float, dt: float) -> None:
    half = h + oysters.height_increment(h, linf, k, 0.5 * dt)
    whole = h + oysters.height_increment(h, linf, k, dt)
    assert half + oysters.height_increment(half, linf, k, 0.5 * dt) == pytest.approx(whole)
    assert whole >= h
    assert whole <= max(h, linf) + 1e-12


@given(between(0.0, 8.0), between(0.05, 0.15), between(0.1, 2.0), between(0.01, 2.0))
def test_increment_follows_the_growth_curve(age: float, linf: float, k: float, dt: float) -> None:
    now = oysters.shell_height(age, linf, k, 0.0)
    later = oysters.shell_height(age + dt, linf, k, 0.0)
    assert now + oysters.height_increment(now, linf, k, dt) == pytest.approx(later)


@given(between(0.0, 50.0), between(0.0, 50.0), between(0.02, 0.3))
def test_deeper_burial_kills_no_fewer(one: float, other: float, spread: float) -> None:
    low, high = sorted((one, other))
    killed = oysters.burial_kill(low, spread), oysters.burial_kill(high, spread)
    assert 0.0 <= killed[0] <= killed[1] <= 1.0


@given(between(0.0, 3.0), between(0.0, 0.5), between(0.0, 0.5))
def test_deeper_clusters_are_safer(wave: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    loose, firm = (oysters.dislodged_share(wave, depth, 1e-3) for depth in (low, high))
    assert 0.0 <= firm <= loose <= 1.0


@given(between(0.005, 0.15), between(1.0, 3.0))
def test_mass_doubles_by_the_power_of_its_exponent(height: float, b: float) -> None:
    ratio = oysters.tissue_mass(2.0 * height, 5e-5, b) / oysters.tissue_mass(height, 5e-5, b)
    assert ratio == pytest.approx(2.0**b)
    ratio = oysters.shell_mass(2.0 * height, 2e-3, b) / oysters.shell_mass(height, 2e-3, b)
    assert ratio == pytest.approx(2.0**b)


@given(share, rate, between(0.05, 0.5), between(0.5, 0.9))
def test_death_rates_are_never_negative(e: float, m: float, limit: float, upper: float) -> None:
    assert 0.0 <= oysters.subtidal_predation(e, limit, m) <= m
    assert 0.0 <= oysters.heat_mortality(e, upper, m) <= m * (1.0 + 1e-12)


@given(between(0.0, 1e4), between(1.0, 1e4))
def test_space_and_cement_are_shares(density: float, scale: float) -> None:
    assert 0.0 <= oysters.free_space(density, scale) <= 1.0
    assert 0.0 <= oysters.consolidation(density, scale) <= 1.0


@given(between(0.0, 100.0), between(0.0, 10.0), rate, between(0.001, 5.0))
def test_shell_budget_closes(mass: float, supply: float, loss: float, dt: float) -> None:
    after = shell.shell_after(mass, supply, loss, dt)
    lost = mass + supply * dt - after
    assert after >= 0.0
    assert lost >= -1e-9 * (mass + supply * dt)
    half = shell.shell_after(mass, supply, loss, 0.5 * dt)
    assert shell.shell_after(half, supply, loss, 0.5 * dt) == pytest.approx(after, abs=1e-12)


@given(between(0.1, 200.0))
def test_half_is_left_after_a_half_life(half_life: float) -> None:
    after = shell.shell_after(1.0, 0.0, shell.loss_rate(half_life), half_life)
    assert after == pytest.approx(0.5)


@given(between(0.0, 0.999999), between(0.1, 100.0), between(0.5, 6.0))
def test_drawn_life_has_the_drawn_chance(u: float, scale: float, shape: float) -> None:
    life = wood.weibull_lifetime(u, scale, shape)
    assert wood.weibull_survival(life, scale, shape) == pytest.approx(1.0 - u, abs=1e-9)


@given(share, share, share, between(0.1, 50.0))
def test_less_pressure_never_shortens_life(s: float, t: float, i: float, life: float) -> None:
    scale = wood.scale_life(life, 1.0, s, t, i)
    assert life * (1.0 - 1e-12) <= scale <= 20.0 * life * (1.0 + 1e-12)


@given(between(0.0, 30.0), rate, rate)
def test_fill_is_conserved(t: float, decay: float, washing: float) -> None:
    rotted = wood.fill_lost_to(t, decay, washing)
    washed = wood.fill_lost_to(t, washing, decay)
    left = wood.fill_remaining(t, decay, washing)
    assert rotted + washed + left == pytest.approx(1.0, abs=1e-12)
    assert min(rotted, washed, left) >= 0.0


@given(between(0.0, 40.0), between(0.0, 40.0), between(0.0, 25.0), between(0.0, 1e-4))
def test_wire_only_weakens_and_breaks_on_time(
    one: float, other: float, jacket: float, coat: float
) -> None:
    low, high = sorted((one, other))
    terms = (jacket, coat, 25e-6, 2.7e-3, 150e-6)
    young, old = wire.strength_left(low, *terms), wire.strength_left(high, *terms)
    assert 0.0 <= old <= young <= 1.0
    if old < wire.FAILURE_STRENGTH * (1.0 - 1e-9):
        assert high > wire.time_to_failure(*terms)


pile = (between(0.6, 5.0), between(0.02, 0.3), between(0.0, 3.0), between(100.0, 5e4))


@given(*pile, between(1.1, 3.0))
def test_post_strength_scales(
    length: float, diameter: float, e: float, su: float, scale: float
) -> None:
    force = posts.broms_short_pile(length, diameter, e, su).force
    stronger = posts.broms_short_pile(length, diameter, e, scale * su).force
    assert stronger == pytest.approx(scale * force)
    larger = posts.broms_short_pile(scale * length, scale * diameter, scale * e, su).force
    assert larger == pytest.approx(scale**2 * force)
    assert posts.broms_short_pile(scale * length, diameter, e, su).force > force
    assert posts.broms_short_pile(length, diameter, e + 0.1, su).force < force
    assert force < posts.broms_fixed_head(length, diameter, su)


@given(*pile, between(0.01, 0.1))
def test_scour_weakens_posts(
    length: float, diameter: float, e: float, su: float, scour: float
) -> None:
    force = posts.broms_short_pile(length, diameter, e, su).force
    assert posts.broms_short_pile(length, diameter, e, su, scour).force < force


@given(between(0.05, 1.0), between(2.0, 40.0), between(0.3, 3.0), between(0.0, 1.5))
def test_wall_pressure_is_ordered(H: float, wavelength: float, h: float, crest: float) -> None:
    p = posts.goda_pressure(H, wavelength, h, crest)
    assert 0.0 <= p.crest <= p.still_water
    assert 0.0 <= p.toe <= p.still_water
    assert posts.goda_force(p, h, crest + 0.1) >= posts.goda_force(p, h, crest)


@given(between(0.05, 1.0), between(1.5, 4.0), between(3.0, 20.0), between(0.02, 0.3))
def test_wave_force_lies_between_its_parts(
    H: float, period: float, wavelength: float, diameter: float
) -> None:
    force = posts.morison_force(H, period, wavelength, 1.0, diameter)
    bound = math.hypot(force.drag, force.inertia) * math.sqrt(2.0)
    assert max(force.drag, force.inertia) <= force.largest * (1.0 + 1e-12)
    assert force.largest <= bound


def test_screens_take_arrays_as_they_take_numbers() -> None:
    lengths = np.array([1.0, 1.5, 2.0])
    together = posts.broms_short_pile(lengths, 0.1, 0.5, 1e4).force
    alone = [float(posts.broms_short_pile(float(x), 0.1, 0.5, 1e4).force) for x in lengths]
    assert together == pytest.approx(alone, rel=1e-15)
