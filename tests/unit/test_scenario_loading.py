from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.random import PCG64, Generator, SeedSequence

from edgesim.errors import ScenarioError
from edgesim.scenario import Scenario, ScenarioFile, load_scenario, reference_page
from edgesim.scenario.loader import from_table, uniform_draw
from edgesim.scenario.parameters import Section, parameters_of, section_class
from edgesim.scenario.reference import basic_inputs
from edgesim.scenario.summary import as_data, banner, rows
from edgesim.units import KINDS

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "tests" / "data" / "demo.toml"


@pytest.fixture(scope="module")
def demo() -> ScenarioFile:
    return load_scenario(DEMO)


@pytest.fixture
def table() -> dict[str, Any]:
    with DEMO.open("rb") as file:
        return tomllib.load(file)


def read(table: dict[str, Any]) -> ScenarioFile:
    return from_table(table, DEMO)


def sections(cls: type[Section] = Scenario) -> list[type[Section]]:
    inner = [section_class(field)[0] for _, _, field in parameters_of(cls)]
    return [cls, *(found for section in inner if section for found in sections(section))]


def test_demo_holds_what_its_file_says(demo: ScenarioFile) -> None:
    scenario = demo.central
    assert scenario.site.shore_length == 60.96
    assert scenario.site.datums.msl == -0.067
    assert scenario.site.shore_faces == pytest.approx(math.radians(70.0))
    assert scenario.site.profile[3] == pytest.approx((24 * 0.3048, -2.97 * 0.3048))
    assert scenario.site.retreat_rate == pytest.approx(1.3 * 0.3048)
    assert scenario.tide.constituents["M2"].amplitude == 0.767
    assert scenario.tide.constituents["M2"].phase_lag == pytest.approx(math.radians(10.1))
    assert scenario.traffic.classes[0].speed == pytest.approx(22 * 1852 / 3600)
    assert scenario.traffic.classes[2].displacement == 11000.0
    assert sum(boat.passages_weekday for boat in scenario.traffic.classes) == 40
    assert sum(boat.passages_weekend for boat in scenario.traffic.classes) == 120
    assert scenario.wind is not None
    assert len(scenario.wind.table) == 25
    assert scenario.wind.fetches[1] == pytest.approx((math.pi / 4, 700 * 0.3048))
    assert [option.name for option in scenario.options] == [
        "no action", "walls only", "reef only", "walls and reef",
    ]  # fmt: skip


def test_walls_stand_in_the_middle_with_their_gaps(demo: ScenarioFile) -> None:
    walls = demo.central.design.walls
    assert walls is not None
    first, second, *_, last = walls.segments
    assert len(walls.segments) == 4
    assert first.start == pytest.approx(60.96 - last.start - last.length)
    assert second.start - first.start - first.length == pytest.approx(5 * 0.3048)


def test_only_plain_numbers_reach_the_model(demo: ScenarioFile) -> None:
    dumped = demo.member(0).model_dump()

    def numbers(node: Any) -> list[Any]:
        if isinstance(node, dict):
            return [leaf for value in node.values() for leaf in numbers(value)]
        if isinstance(node, tuple | list):
            return [leaf for value in node for leaf in numbers(value)]
        return [node]

    allowed = {float, int, str, bool, type(None)}
    kinds = {type(leaf) for leaf in numbers(dumped)} - allowed
    assert {kind.__name__ for kind in kinds} == {"date"}


def test_models_are_frozen(demo: ScenarioFile) -> None:
    with pytest.raises(Exception, match="frozen"):
        demo.central.mud.concentration = 1.0


def test_draw_depends_on_seed_member_and_path_alone() -> None:
    import zlib

    key = (3, zlib.crc32(b"mud.concentration"))
    expected = Generator(PCG64(SeedSequence(11, spawn_key=key))).random()
    assert uniform_draw(11, 3, "mud.concentration") == expected
    draws = {
        uniform_draw(seed, member, path)
        for seed in (1, 2) for member in (0, 1) for path in ("mud.concentration", "marsh.soil_density")
    }  # fmt: skip
    assert len(draws) == 8


def test_member_takes_the_quantile_of_its_draw(demo: ScenarioFile) -> None:
    share = uniform_draw(5, 2, "mud.concentration")
    expected = demo.distributions["mud.concentration"].quantile(share)
    assert demo.member(2, seed=5).mud.concentration == expected
    assert demo.member(2, seed=1) == demo.member(2)
    assert demo.member(2, seed=5) != demo.member(2)


def test_draws_follow_the_distribution(demo: ScenarioFile) -> None:
    draws = np.array([uniform_draw(1, member, "traffic.level") for member in range(2000)])
    # Kolmogorov's statistic of 2000 uniform draws exceeds 0.0364 with a chance of 1 % (1.63/sqrt n)
    assert np.max(np.abs(np.sort(draws) - (np.arange(2000) + 0.5) / 2000)) < 1.63 / math.sqrt(2000)


def test_another_distribution_moves_no_other(table: dict[str, Any]) -> None:
    before = read(table).member(4)
    table["mud"] = {"flat_density": {"low": "500 kg/m^3", "high": "550 kg/m^3"}}
    table["traffic"]["classes"].insert(
        0, {**copy.deepcopy(table["traffic"]["classes"][0]), "name": "new"}
    )
    after = read(table).member(4)
    assert after.mud.flat_density != before.mud.flat_density
    assert after.mud.concentration == before.mud.concentration
    assert after.oysters == before.oysters
    assert after.design == before.design
    assert after.traffic.classes[1:] == before.traffic.classes


@pytest.mark.parametrize(
    ("given", "spread"),
    [
        ({"low": "1 ft/yr", "high": "2 ft/yr"}, (0.3048, 0.6096)),
        ({"mean": "1 ft/yr", "sd": "0.1 ft/yr"}, (0.7 * 0.3048, 1.3 * 0.3048)),
        (
            {"median": "1 ft/yr", "factor": 2},
            (0.3048 / 2 ** (3 / 1.6448536), 0.3048 * 2 ** (3 / 1.6448536)),
        ),
        ({"values": ["1 ft/yr", "0.5 m/yr"], "weights": [1, 3]}, (0.3048, 0.5)),
    ],
)
def test_distributions_are_read_with_units(table: dict[str, Any], given: Any, spread: Any) -> None:
    table["site"]["retreat_rate"] = given
    assert read(table).distributions["site.retreat_rate"].support == pytest.approx(spread)


def test_unit_may_stand_in_the_key(table: dict[str, Any]) -> None:
    del table["site"]["retreat_rate"]
    table["site"]["retreat_rate_ft_per_year"] = {"low": 1, "mode": 1.5, "high": 2}
    table["oysters"] = {
        "summer_temperature_f": {"mean": 82.4, "sd": 1.8},
        "recruitment_per_m2_per_year": 900,
    }
    scenario_file = read(table)
    assert scenario_file.distributions["site.retreat_rate"].support == pytest.approx(
        (0.3048, 0.6096)
    )
    assert scenario_file.distributions["oysters.summer_temperature"].support == pytest.approx(
        (25.0, 31.0)
    )
    assert scenario_file.central.oysters.recruitment == 900.0


def test_price_per_foot(table: dict[str, Any]) -> None:
    table["prices"] = {"wall_per_ft": 30.48, "refill_per_yd3": 0.764554857984, "post": 5}
    prices = read(table).central.prices
    assert prices.wall_per_m == pytest.approx(100.0)
    assert prices.refill_per_m3 == pytest.approx(1.0)  # a yard is 0.9144 m exactly
    assert prices.post == 5.0


def test_materials_fill_what_is_not_given(table: dict[str, Any]) -> None:
    walls = table["design"]["walls"]
    walls.update(post_wood="composite", ties="stainless", post_life="12 years")
    scenario_file = read(table)
    read_walls = scenario_file.central.design.walls
    assert read_walls is not None
    assert read_walls.post_life == 12.0
    assert not read_walls.post_eaten_by_borers
    assert read_walls.post_shape == 4.0
    assert read_walls.tie_coating_thickness == 0.0
    assert scenario_file.origins["design.walls.post_life"].given_by == "file"
    assert scenario_file.origins["design.walls.post_shape"].given_by == "material"


def test_thickness_of_a_heavy_coat(demo: ScenarioFile) -> None:
    # 240, 260 and 275 g/m2 on zinc of 7140 kg/m3 are 33.6, 36.4 and 38.5 um, by hand
    low, high = demo.distributions["design.walls.tie_coating_thickness"].support
    assert (low * 1e6, high * 1e6) == pytest.approx((33.61, 38.52), abs=0.01)


def test_concrete_units_have_no_wire(table: dict[str, Any]) -> None:
    del table["design"]["reef"]["wire"]
    table["design"]["reef"]["material"] = "concrete module"
    reef = read(table).central.design.reef
    assert reef is not None
    assert reef.wire is None
    assert reef.mesh_wire_diameter is None


def test_no_action_is_put_first_and_design_is_an_option_by_default(table: dict[str, Any]) -> None:
    del table["options"]
    options = read(table).central.options
    assert [(option.name, option.walls, option.reef) for option in options] == [
        ("no action", False, False),
        ("design", True, True),
    ]


def test_segments_may_be_given_one_by_one(table: dict[str, Any]) -> None:
    walls = table["design"]["walls"]
    for key in ("count", "length", "gap"):
        del walls[key]
    walls["segments"] = [{"start": "10 ft", "length": "20 ft"}, {"start_m": 20, "length_m": 6.5}]
    read_walls = read(table).central.design.walls
    assert read_walls is not None
    assert [(s.start, s.length) for s in read_walls.segments] == [(3.048, 6.096), (20.0, 6.5)]
    assert read_walls.gap is None


def test_resolved_file_gives_the_same_scenario(demo: ScenarioFile, tmp_path: Path) -> None:
    path = tmp_path / "resolved.toml"
    path.write_text(demo.resolved_toml(), encoding="utf-8")
    again = load_scenario(path)
    assert again.digest() == demo.digest()
    assert again.member(7) == demo.member(7)
    assert again.resolved_toml() == demo.resolved_toml()


def test_digest_sees_content_not_spelling(table: dict[str, Any]) -> None:
    first = read(table).digest()
    del table["site"]["shore_length"]
    table["site"]["shore_length_m"] = 60.96
    assert read(table).digest() == first
    table["site"]["shore_length_m"] = 61.0
    assert read(table).digest() != first


def test_gauge_record_is_read_and_written_back(table: dict[str, Any], tmp_path: Path) -> None:
    gauge = tmp_path / "gauge.csv"
    gauge.write_text(
        "time_utc,level_ft\n2027-01-01 00:00,1.0\n2027-01-01T00:30Z,2.0\n2027-01-01 02:00,0\n"
    )
    table["tide"] = {"gauge": str(gauge)}
    scenario_file = read(table)
    record = scenario_file.central.tide.gauge
    assert record is not None
    assert record.hours == (0.0, 0.5, 2.0)
    assert record.levels == pytest.approx((0.3048, 0.6096, 0.0))
    assert record.first_time.isoformat() == "2027-01-01T00:00:00+00:00"
    again = from_table(tomllib.loads(scenario_file.resolved_toml()), tmp_path / "x.toml")
    assert again.digest() == scenario_file.digest()


def test_overriding_moves_all_that_follows(demo: ScenarioFile) -> None:
    changed = demo.overridden(
        {
            "design.walls.gap": 2.0,
            "design.walls.post_wood": "durable heartwood",
            "traffic.classes[cruisers].speed": 5.0,
            "mud.concentration": demo.distributions["marsh.side_exposure"],
        },
        members=7,
        seed=9,
    )
    walls = changed.central.design.walls
    assert walls is not None
    gap = walls.segments[1].start - walls.segments[0].start - walls.segments[0].length
    assert gap == pytest.approx(2.0)
    assert changed.distributions["design.walls.post_life"].support == (8.0, 30.0)
    assert changed.central.traffic.classes[2].speed == 5.0
    assert changed.distributions["mud.concentration"].support == pytest.approx((0.1, 0.5))
    assert (changed.central.run.members, changed.central.run.seed) == (7, 9)
    assert changed.origins["design.walls.gap"].given_by == "override"
    assert demo.central.run.members == 40


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"mud.colour": 1.0}, "mud.colour"),
        ({"traffic.classes[canoes].speed": 1.0}, "canoes"),
        ({"design.walls.gap": -1.0}, "greater than 0"),
        ({"design.walls.length": 40.0}, "on a shore of"),
    ],
)
def test_wrong_overrides_are_refused(
    demo: ScenarioFile, changes: dict[str, Any], text: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        demo.overridden(changes)
    assert text in str(caught.value)


def test_ends_of_distributions_are_checked(table: dict[str, Any]) -> None:
    table["traffic"]["classes"][2]["draft_m"] = {"low": 0.5, "mode": 1.0, "high": 5.0}
    with pytest.raises(ScenarioError) as caught:
        read(table)
    assert "draft_m" in str(caught.value)
    assert "when traffic.classes[cruisers].draft is 5 m (16.4 ft)" in str(caught.value)


def test_all_problems_are_told_at_once(table: dict[str, Any]) -> None:
    table["site"]["scarp_height_m"] = -1
    table["mud"] = {"colour": "brown"}
    table["traffic"]["channel_depth"] = "1 ft"
    with pytest.raises(ScenarioError) as caught:
        read(table)
    assert [
        any(word in p for p in caught.value.problems) for word in ("scarp", "colour", "draft")
    ] == [True] * 3


def test_at_most_fifteen_inputs_are_asked_for() -> None:
    assert 10 <= len(basic_inputs()) <= 15


def test_every_default_has_a_source_and_a_mark() -> None:
    bare = [
        f"{cls.__name__}.{name}"
        for cls in sections()
        for name, about, _ in parameters_of(cls)
        if about.spread is not None and not (about.source and about.mark)
    ]
    assert bare == []


def test_every_input_has_a_meaning_and_a_known_kind() -> None:
    plain = {"text", "flag", "count", "date", "table", "own", "section"}
    for cls in sections():
        for name, about, _ in parameters_of(cls):
            assert about.meaning.endswith((".", "]")), name
            assert about.kind in plain | set(KINDS), name


def test_defaults_lie_inside_their_limits() -> None:
    for cls in sections():
        for name, about, _ in parameters_of(cls):
            for end in about.spread.support if about.spread else ():
                assert about.limit_broken(end) == "", name


def test_reference_page_is_up_to_date() -> None:
    page = (ROOT / "docs" / "reference" / "scenario.md").read_text(encoding="utf-8")
    assert page == reference_page(), "run: python -m edgesim.scenario.reference"


def test_banner_counts_every_input_once(demo: ScenarioFile) -> None:
    numbers = [int(word) for word in banner(demo).replace(":", " ").split() if word.isdigit()]
    total, given, layout, material, default, judged = numbers
    assert total == given + layout + material + default == len(rows(demo))
    assert 0 < judged <= material + default
    assert len(as_data(demo)["inputs"]) == total


def test_sections_of_a_member_are_those_of_the_tree(demo: ScenarioFile) -> None:
    listed = {row.path for row in rows(demo)}
    assert {"options[no action].name", "design.reef.start", "mud.concentration"} <= listed
    assert set(demo.distributions) <= listed
