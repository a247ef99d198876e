"""Fixtures that several test files share: an invented ensemble and its scenario."""

from __future__ import annotations

import copy
import hashlib
import importlib
import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import settings
from numpy.typing import NDArray

from edgesim.names import BUDGETS, LEDGER_ENTRIES, SHELL_PARTS

if TYPE_CHECKING:
    from edgesim.model.step import Member
    from edgesim.outcomes.dataset import Facts
    from edgesim.scenario import Scenario, ScenarioFile
    from edgesim.studies.study import Study

# The first example of a property may compile kernels: time says nothing about it.
settings.register_profile("compiled", deadline=None)
settings.load_profile("compiled")

# Fixtures import what they need themselves, so that tests of formulas start at once.
os.environ["MPLBACKEND"] = "Agg"

OPTIONS = {
    "no action": (False, False),
    "walls only": (True, False),
    "reef only": (False, True),
    "walls and reef": (True, True),
}
MEMBERS = 40
YEARS = 10
RECORDS_PER_YEAR = 4
Floats = NDArray[np.float64]


@pytest.fixture(scope="session")
def demo() -> ScenarioFile:
    """The demonstration."""
    from edgesim.scenario import load_scenario

    return load_scenario(Path(__file__).parents[1] / "configs" / "demo.toml")


@pytest.fixture(scope="session")
def central(demo: ScenarioFile) -> Scenario:
    """The middle values of the demonstration."""
    return demo.central


@pytest.fixture(scope="session")
def scenario_file() -> Any:
    """The few attributes of a loaded scenario that the outcomes read."""
    toml = 'schema = 1\ntitle = "Invented reach"\n'
    central = SimpleNamespace(
        title="Invented reach of an invented channel",
        notes="All data are invented.",
        goals=SimpleNamespace(takeover_share=0.5),
        run=SimpleNamespace(seed=7),
        prices=SimpleNamespace(currency="USD", price_year=2026, discount_rate=0.03),
    )
    return SimpleNamespace(
        central=central,
        path="invented.toml",
        resolved_toml=lambda: toml,
        digest=lambda: hashlib.sha256(toml.encode()).hexdigest(),
    )


@pytest.fixture(scope="session")
def synthetic_facts() -> Facts:
    from edgesim.outcomes.dataset import Facts

    alongshore = np.arange(0.25, 60.0, 0.5)
    wall, gap, first = 4.877, 1.524, 18.0
    starts = [first + index * (wall + gap) for index in range(4)]
    return Facts(
        alongshore=alongshore,
        cross_shore=np.arange(0.25, 48.0, 0.5),
        cell_size=0.5,
        shore_length=60.0,
        time_days=np.arange(YEARS * RECORDS_PER_YEAR + 1) * 365.25 / RECORDS_PER_YEAR,
        start=date(2027, 1, 1),
        initial_edge=24.0 + 0.6 * np.sin(2 * np.pi * alongshore / 37.0),
        defended=(18.0, 42.08),
        wall_segments=tuple((start, start + wall) for start in starts),
        wall_position=16.7,
        wall_crest=0.33,
        wall_thickness=0.6,
        reef_segments=((18.0, 42.08),),
        reef_position=21.3,
        reef_width=1.8,
        reef_crest_built=-0.10,
        datums={"MHHW": 0.80, "MHW": 0.691, "MSL": -0.067, "MLW": -0.90, "MLLW": -0.957},
        vertical_datum="NAVD88",
    )


def _logistic(years: Floats, middle: float, width: float) -> Floats:
    return 1.0 / (1.0 + np.exp(-(years - middle) / width))


def _wall_fill(years: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Fill that sinks a little each season and is made up again below 0.7."""
    fill, refills = np.ones_like(years), np.zeros_like(years)
    loss = rng.uniform(0.15, 0.35) / RECORDS_PER_YEAR
    for index in range(1, years.size):
        fill[index] = fill[index - 1] * (1.0 - loss * rng.uniform(0.4, 1.6))
        refills[index] = refills[index - 1]
        if fill[index] < 0.7 and years[index] <= 7.0:
            fill[index], refills[index] = 1.0, refills[index] + 1
    return fill, refills


def _smooth_noise(size: int, rng: np.random.Generator) -> Floats:
    kernel = np.hanning(15)
    noise = np.convolve(rng.normal(size=size + 14), kernel / np.linalg.norm(kernel), "valid")
    return np.asarray(noise)


def _synthetic_books(walls: bool, reef: bool, refills: Floats, years: Floats) -> Floats:
    """Ledger of money that fits the invented cost; the other budgets stay empty."""
    built = 20000.0 * walls + 15000.0 * reef
    entries = {
        "fill_refilled": 4.0 * refills * walls,
        "money_built": built + 0.0 * years,
        "money_visits": 1500.0 * refills * walls,
        "money_closing": built + 1500.0 * refills * walls,
        "money_removal_owed": 0.2 * built + 0.0 * years,
        "money_volunteers": 0.1 * built + 0.0 * years,
    }
    books = np.zeros((years.size, len(LEDGER_ENTRIES)))
    for name, values in entries.items():
        books[:, LEDGER_ENTRIES.index(name)] = values
    return books


def _sizes(oysters: Floats) -> Floats:
    """Spread a density over 16 classes of shell height, most of it round 45 mm."""
    shape = np.exp(-0.5 * ((np.arange(16) - 4.0) / 2.5) ** 2)
    return np.outer(oysters, shape / shape.sum())


def synthetic_member(facts: Facts, walls: bool, reef: bool, member: int) -> dict[str, Any]:
    """One invented member: plausible in shape and size, computed by no model."""
    rng = np.random.default_rng((11, member))
    years = facts.time_days / 365.25
    nothing = np.full_like(years, np.nan)
    rate, dry_mud = 0.4 * rng.lognormal(0.0, 0.25), rng.lognormal(0.0, 0.5)
    season = 1.0 + 0.12 * rng.normal(size=years.size)
    fill, refills = _wall_fill(years, rng)
    posts = 1.0 - _logistic(years, rng.uniform(7.0, 14.0), 1.2)
    ties = 1.0 - _logistic(years, rng.uniform(4.0, 9.0), 0.9)
    mesh = 1.0 - _logistic(years, rng.uniform(4.0, 9.0), 0.7)
    cement = _logistic(years, rng.uniform(2.5, 7.0), 0.8)
    oysters = rng.uniform(600, 2200) * _logistic(years, rng.uniform(1.5, 3.0), 0.6)
    crest = facts.reef_crest_built - rng.uniform(0.02, 0.12) * (1 - np.exp(-years / 0.8))
    crest = crest + rng.uniform(0.005, 0.03) * np.maximum(years - 1.5, 0.0)
    wall_kt = np.clip(1.0 - 0.62 * fill, 0.2, 1.0)
    reef_kt = np.clip(0.80 - 1.3 * (crest - facts.reef_crest_built), 0.3, 0.95)
    open_power = 32.0 * rng.lognormal(0.0, 0.2) * season
    behind_walls, behind_reef = open_power * wall_kt**1.5, open_power * reef_kt**2
    power = open_power * (wall_kt**1.5 if walls else 1.0) * (reef_kt**2 if reef else 1.0)
    noise = np.exp(0.3 * _smooth_noise(facts.alongshore.size, rng))
    inside = (facts.alongshore >= facts.defended[0]) & (facts.alongshore <= facts.defended[1])
    share = np.where(inside[None, :], (power / open_power)[:, None], 1.0)
    if walls or reef:
        ends = np.minimum(abs(facts.alongshore - 16.0), abs(facts.alongshore - 44.0)) < 2.0
        share = share * np.where(ends, 1.15, 1.0)
    moved = np.concatenate([[np.zeros(noise.size)], np.cumsum(share[1:] * 0.25, axis=0)])
    edge = facts.initial_edge + rate * noise * moved
    trapped = dry_mud * 9000.0 * (0.6 * walls + 0.5 * reef) * (1 - np.exp(-years / 2.5))
    rise = trapped / (400.0 * 24.0 * 7.0)
    retreat = (edge - facts.initial_edge)[:, inside].mean(axis=1)
    x = facts.cross_shore
    flat, top = -0.35 - (24.0 - x) / 15.0, 0.55 + 0.003 * (x - 24.0)
    edge_x = 24.0 + retreat
    ground = np.where(x[None, :] < edge_x[:, None], flat, top)
    eroded = (x[None, :] > 24.0) & (x[None, :] < edge_x[:, None])
    ground = np.where(eroded, -0.35, ground)
    sheltered = (x > 17.0) & (x < 24.0)
    ground = ground + np.where(sheltered[None, :], rise[:, None], 0.0)
    ones = np.ones_like(years)
    return {
        "edge_position": edge,
        "surface_section": ground,
        "fill_fraction": fill if walls else nothing,
        "posts_standing": posts if walls else nothing,
        "ties_intact": ties if walls else nothing,
        "mesh_intact": mesh if reef else nothing,
        "rings_intact": mesh if reef else nothing,
        "wood_oysters": 200.0 * fill if walls else nothing,
        "shell_stock": np.full((years.size, len(SHELL_PARTS)), 1000.0 if reef else np.nan),
        "bays_open": 1.0 - posts if walls else nothing,
        "post_scour": 0.1 * (1.0 - posts) if walls else nothing,
        "crew_hours": 30.0 * refills if walls else nothing,
        **_log(years, refills, walls=walls, reef=reef),
        "consolidation": cement if reef else nothing,
        "oyster_density": oysters if reef else nothing,
        "oyster_sizes": _sizes(oysters) if reef else np.full((years.size, 16), np.nan),
        "reef_crest": crest if reef else nothing,
        "reef_exposure": np.clip(0.5 + 0.4 * crest, 0, 1) if reef else nothing,
        "wall_transmission": wall_kt if walls else nothing,
        "reef_transmission": reef_kt if reef else nothing,
        "edge_power_wake": 0.8 * power,
        "edge_power_wind": 0.2 * power,
        "edge_power_open": open_power,
        "edge_power_walls": behind_walls if walls else open_power,
        "edge_power_reef": behind_reef if reef else open_power,
        "mud_trapped": trapped,
        "bed_rise": rise,
        "platform_rise": 0.004 * years,
        "platform_rise_behind": (0.004 - 0.0002 * walls) * years,
        "suspended_share": (1.0 - 0.05 * walls) * ones,
        "shoot_cover": 0.0 * ones,
        "mean_sea_level": -0.067 + 0.0034 * years,
        "cost": 20000.0 * walls + 15000.0 * reef + 1500.0 * refills * walls,
        "refills": refills if walls else 0.0 * ones,
        "ledger": _synthetic_books(walls, reef, refills, years),
        "ledger_residual": np.full(len(BUDGETS), 1e-15),
    }


def _log(years: Floats, refills: Floats, *, walls: bool, reef: bool) -> dict[str, Floats]:
    """Upkeep log that goes with the invented costs: the build, and a row for every refill."""
    log = np.full((12, 8), np.nan)
    if walls or reef:
        log[0] = (0.0, 0.0, 20000.0 * walls + 15000.0 * reef, 0.0, 0.0, 0.0, 0.0, 0.0)
    if walls:
        visits = 365.25 * years[1:][np.diff(refills) > 0.0]
        log[1 : 1 + visits.size] = (0.0, 1.0, 1500.0, 30.0, 1.0, 2.0, 0.0, 0.0)
        log[1 : 1 + visits.size, 0] = visits
    names = ("day", "kind", "cost", "hours", "posts", "volume", "units", "shell")
    return {f"upkeep_{name}": log[:, column] for column, name in enumerate(names)}


@pytest.fixture(scope="session")
def synthetic_dataset(synthetic_facts: Facts, scenario_file: Any) -> Any:
    """An invented ensemble: 4 options, 40 members, 41 quarterly records, 120 cells."""
    from edgesim.outcomes.dataset import build_dataset

    results = [
        [synthetic_member(synthetic_facts, walls, reef, member) for member in range(MEMBERS)]
        for walls, reef in OPTIONS.values()
    ]
    return build_dataset(synthetic_facts, list(OPTIONS), results, scenario_file)


DEMO = Path(__file__).parents[1] / "configs" / "demo.toml"


PLAN: dict[str, Any] = {
    "location": "left bank",
    "coordinate_system": "an invented plane",
    "stakeholders": [{"name": "manager", "role": "decides on upkeep"}],
    "objectives": [
        {"name": "keep the marsh", "metric": "retreat", "target": "below half", "by_year": 5}
    ],
    "triggers": [{"name": "Posts sound", "red": 80.0}, {"name": "Rats", "action": "call"}],
    "risks": [{"name": "a flood", "effect": "all is wet", "answer": "wait"}],
    "monitoring": [
        {"name": "Fish", "method": "nets", "stations": "2 creeks", "frequency": "yearly"}
    ],
    "edge_surveys": [
        {
            "name": "photo 1999",
            "year": 1999.0,
            "error_m": 2.0,
            "line_m": [[0.0, -9.0], [60.0, -7.0]],
        },
        {"name": "walk 2019", "year": 2019.0, "error_m": 0.5, "line_m": [[0.0, -0.5], [60.0, 0.5]]},
    ],
    "changes": [{"name": "2027-03-01", "change": "second survey added"}],
}
"""An invented people's part of a plan."""


def with_extras(dataset: Any) -> Any:
    """Add what studies and surveys would add, invented."""
    import xarray as xr

    shares = {"traffic level": (0.5, 0.6), "branch decay": (0.2, 0.3), "spat": (0.05, 0.1)}
    first, total = np.array(list(shares.values())).T
    chance = np.array([[0.2, 0.5, 0.7], [0.3, 0.55, 0.9]])
    return dataset.assign(
        sensitivity_first=("input", first),
        sensitivity_first_bound=("input", np.full(3, 0.05)),
        sensitivity_total=("input", total),
        sensitivity_total_bound=("input", np.full(3, 0.06)),
        input=("input", list(shares)),
        success_chance=xr.DataArray(
            chance,
            dims=("material", "gap"),
            coords={"material": ["pine", "cedar"], "gap": [1.5, 2.5, 4.0]},
        ),
        observed_retreat=("survey", np.array([0.3, 0.7])),
        observed_error=("survey", np.array([0.2, 0.2])),
        observed_year=("survey", np.array([1.0, 3.0])),
        belief=("belief", ["fast decay", "slow decay"]),
        belief_weight=(("belief", "review"), np.array([[0.5, 0.6, 0.8], [0.5, 0.4, 0.2]])),
        review_year=("review", np.array([0.0, 1.0, 3.0])),
    ).assign_attrs(sensitivity_output="retreat", observed_option="walls and reef")


@pytest.fixture(scope="session")
def whole_dataset(synthetic_dataset: Any) -> Any:
    """The invented ensemble with the site and the scenario of the demonstration, a plan and studies."""
    from edgesim.model import common
    from edgesim.outcomes.site import with_site
    from edgesim.scenario import load_scenario
    from edgesim.scenario.loader import from_table

    demo = from_table({**load_scenario(DEMO).table, "plan": PLAN}, DEMO)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(common, "shelter", lambda *_: None)  # the site needs no shelter tables
        prepared = common.prepare(demo)
    found = with_site(synthetic_dataset, demo, prepared)
    return with_extras(found.assign_attrs(edgesim_scenario=demo.resolved_toml()))


SMALL: dict[str, Any] = {
    "run.years": 2,
    "run.members": 3,
    "run.cell_size": 1.0,
    "run.water_level_bins": 4,
    "run.wake_classes": 2,
}


@pytest.fixture(scope="session")
def small_scenario() -> Callable[..., ScenarioFile]:
    """Make the demonstration scenario on a coarse grid, with other values and tables.

    ``changes`` are as for ``ScenarioFile.overridden``; ``edit`` is given the tables of the file.
    """
    from edgesim.scenario import load_scenario
    from edgesim.scenario.loader import from_table

    def make(
        changes: dict[str, Any] | None = None, edit: Callable[[dict[str, Any]], Any] | None = None
    ) -> ScenarioFile:
        table = copy.deepcopy(load_scenario(DEMO).table)
        if edit is not None:
            edit(table)
        return from_table(table, DEMO).overridden({**SMALL, **(changes or {})})

    return make


@pytest.fixture(scope="session")
def build_member() -> Callable[..., Member]:
    """Set up one calibrated member of a scenario, by the name of its option."""
    from edgesim.model.common import member_forcing, prepare
    from edgesim.model.forecast import calibrate, set_up

    prepared: dict[int, Any] = {}

    def build(scenario_file: ScenarioFile, option: str, index: int = 0) -> Member:
        # The scenario is kept beside what was made of it, so that its number is not used again.
        if id(scenario_file) not in prepared:
            prepared[id(scenario_file)] = scenario_file, prepare(scenario_file)
        _, common = prepared[id(scenario_file)]
        forcing = member_forcing(scenario_file, common, index)
        chosen = next(o for o in forcing.scenario.options if o.name == option)
        member = set_up(forcing, common, chosen)
        settings = calibrate(forcing, common).applied_to(member.edge_settings)
        return replace(member, edge_settings=settings)

    return build


@pytest.fixture
def tell(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Tell a measured number: ``pytest -rP`` shows it, and a report of the run keeps it."""

    def telling(text: str) -> None:
        record_property("measured", text)
        print(text)  # noqa: T201

    return telling


@pytest.fixture
def cheap_study(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Study]:
    """Make studies whose function worker processes can import, see ``tests/cheap_tasks.py``."""
    monkeypatch.syspath_prepend(Path(__file__).parent)
    make: Callable[..., Study] = importlib.import_module("cheap_tasks").cheap_study
    return make
