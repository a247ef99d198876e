"""The permit screen at and beside the numbers of the rules, and what it must never say."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from edgesim.errors import DataFileError
from edgesim.outcomes.design_numbers import (
    LineGeometry,
    design_numbers,
    line_geometries,
    longest_run,
)
from edgesim.outcomes.permit import (
    CANNOT_TELL,
    INSIDE,
    OUTSIDE,
    Rule,
    dated_words,
    judge,
    load_packs,
    screen,
)
from edgesim.outcomes.tables import csv_text, markdown_text
from edgesim.outcomes.tables.permit import checklist_table, numbers_table, permit_table
from edgesim.scenario import CAUTIONS

FOOT, INCH, MILE = 0.3048, 0.0254, 1609.344

LINE = LineGeometry(
    segments=((0.0, 10.0),),
    offset=5.0,
    thickness=1.0,
    crest=0.4,
    profile=((0.0, 0.0), (50.0, -5.0)),  # falls 1 in 10
    platform=0.8,
    datums={"mhhw": 0.9, "mhw": 0.7, "msl": 0.0, "mlw": -0.2, "mllw": -0.3},
    fetch=500.0,
)
"""MLW lies 2 m from the edge, mid-tide (0.25) above the foot of the scarp, MHW at the scarp."""


def rule(pack_part: str, cites: str) -> Rule:
    pack = next(pack for pack in load_packs() if pack_part in pack.short)
    return next(rule for rule in pack.rules if cites in rule.cites)


def answer(pack_part: str, cites: str, *lines: LineGeometry) -> str:
    pack = next(pack for pack in load_packs() if pack_part in pack.short)
    return judge(pack, rule(pack_part, cites), "walls", lines).answer


def from_mlw(feet: float, edge: str) -> LineGeometry:
    """The line with an edge so many feet channelward of mean low water."""
    middle = 2.0 + feet * FOOT + (0.5 if edge == "landward" else -0.5)
    return replace(LINE, offset=middle)


@pytest.mark.parametrize(("feet", "word"), [(29.9, INSIDE), (30.0, INSIDE), (30.1, OUTSIDE)])
def test_thirty_feet_from_mean_low_water(feet: float, word: str) -> None:
    # 4VAC20-1330-40 A 2 (read) looks at the landward edge, nationwide permit 54 (from memory) at how
    # far the structure reaches.
    assert answer("VA", "A 2, second", from_mlw(feet, "landward")) == word
    assert answer("NWP", "(a)", from_mlw(feet, "seaward")) == word


@pytest.mark.parametrize(("feet", "word"), [(29.9, INSIDE), (30.0, INSIDE), (30.1, OUTSIDE)])
def test_thirty_feet_from_mean_high_water(feet: float, word: str) -> None:
    # 15A NCAC 07H .2705 (d) (read); the scarp stands above MHW, whose line is the edge.
    assert answer("2705", "second sentence", replace(LINE, offset=feet * FOOT + 0.5)) == word


@pytest.mark.parametrize(("gap", "word"), [(4.9, OUTSIDE), (5.0, INSIDE)])
@pytest.mark.parametrize("pack", ["2705", "2105"])
def test_one_opening_of_five_feet_in_a_hundred(gap: float, word: str, pack: str) -> None:
    # 15A NCAC 07H .2705 (i) and .2105 (e) (read): two walls of 60 ft make 124.9 or 125 ft.
    walls = ((0.0, 60 * FOOT), ((60 + gap) * FOOT, (120 + gap) * FOOT))
    cites = "(i)" if pack == "2705" else "(e)"
    assert answer(pack, cites, replace(LINE, segments=walls)) == word


@pytest.mark.parametrize(("feet", "word"), [(99.9, INSIDE), (100.0, INSIDE), (100.1, OUTSIDE)])
def test_a_line_without_a_gap_is_judged_by_its_length(feet: float, word: str) -> None:
    assert answer("2705", "(i)", replace(LINE, segments=((3.0, 3.0 + feet * FOOT),))) == word


@pytest.mark.parametrize(("inches", "word"), [(5.9, INSIDE), (6.0, INSIDE), (6.1, OUTSIDE)])
def test_crest_six_inches_above_mean_high_water(inches: float, word: str) -> None:
    # 15A NCAC 07H .2105 (f) (read); .2705 (f) takes the marsh where it stands higher.
    assert answer("2105", "(f)", replace(LINE, crest=0.7 + inches * INCH)) == word
    assert answer("2705", "(f)", replace(LINE, crest=0.8 + inches * INCH)) == word


@pytest.mark.parametrize(("feet", "word"), [(1.99, INSIDE), (2.0, INSIDE), (2.01, OUTSIDE)])
def test_two_feet_of_water_at_mean_low_water(feet: float, word: str) -> None:
    # 4VAC20-1330-40 A 2 (read): greatest depth, which is under the seaward edge of this slope.
    assert answer("VA", "A 2, first", replace(LINE, offset=2.0 + 10 * feet * FOOT - 0.5)) == word


@pytest.mark.parametrize(("miles", "word"), [(1.49, INSIDE), (1.5, INSIDE), (1.51, OUTSIDE)])
def test_fetch_of_a_mile_and_a_half(miles: float, word: str) -> None:
    assert answer("VA", "A 1", replace(LINE, fetch=miles * MILE)) == word


@pytest.mark.parametrize(("feet", "word"), [(499.9, INSIDE), (500.0, INSIDE), (500.1, OUTSIDE)])
@pytest.mark.parametrize(("pack", "cites"), [("NWP", "(b)"), ("2705", "(g)"), ("2105", "(d)")])
def test_five_hundred_feet_along_the_shore(feet, word, pack, cites) -> None:
    halves = ((0.0, 200 * FOOT), (210 * FOOT, feet * FOOT))
    assert answer(pack, cites, replace(LINE, segments=halves)) == word


@pytest.mark.parametrize(("feet", "word"), [(2.99, INSIDE), (3.0, OUTSIDE)])
def test_less_than_three_feet_leaves_out_three_feet(feet: float, word: str) -> None:
    # 15A NCAC 07H .2105 (b) (read): "less than"; MHW is 0.7 m above the foot of the scarp.
    assert answer("2105", "(b)", replace(LINE, offset=10 * (feet * FOOT - 0.7))) == word


@pytest.mark.parametrize(("feet", "word"), [(4.9, INSIDE), (5.0, INSIDE), (5.1, OUTSIDE)])
def test_five_feet_from_the_wetland_without_fill(feet: float, word: str) -> None:
    assert answer("2705", "first sentence", replace(LINE, offset=feet * FOOT + 0.5)) == word


def test_mid_tide_depth_counts_where_it_lies_farther_out() -> None:
    # Mid-tide at -0.5 lies 5 m from the edge.
    deep = replace(LINE, datums={**LINE.datums, "mhw": 0.0, "mlw": -1.0})
    assert answer("2705", "first sentence", replace(deep, offset=5.5)) == INSIDE
    assert answer("2705", "first sentence", replace(deep, offset=5.6)) == OUTSIDE


@pytest.mark.parametrize(
    ("pack", "cites", "missing"),
    [("NWP", "(a)", "mlw"), ("VA", "A 2, first", "mlw"), ("2105", "(f)", "mhw"), ("2705", "(f)", "mhw"),
     ("2705", "second", "mhw"), ("2705", "first", "mhw"), ("2105", "(b)", "mhw")],
)  # fmt: skip
def test_a_missing_datum_gives_cannot_tell(pack: str, cites: str, missing: str) -> None:
    line = replace(LINE, datums={**LINE.datums, missing: None})
    packs = next(found for found in load_packs() if pack in found.short)
    found = judge(packs, rule(pack, cites), "walls", [line])
    assert found.answer == CANNOT_TELL
    assert "is not given" in found.why


def test_a_profile_that_ends_above_mean_low_water_gives_cannot_tell() -> None:
    short = replace(LINE, profile=((0.0, 0.0), (6.0, -0.1)))
    assert answer("NWP", "(a)", short) == CANNOT_TELL
    assert answer("VA", "A 2, first", replace(short, offset=20.0)) == CANNOT_TELL


def test_facts_of_the_place_that_are_left_out_give_cannot_tell() -> None:
    assert answer("2105", "second sentence", LINE) == CANNOT_TELL
    assert answer("2105", "(g)", LINE) == CANNOT_TELL
    assert answer("VA", "A 3", LINE) == CANNOT_TELL
    assert answer("VA", "A 3", replace(LINE, wetland_width=8 * FOOT)) == INSIDE
    assert answer("VA", "A 3", replace(LINE, wetland_width=7.9 * FOOT)) == OUTSIDE
    assert answer("2105", "second sentence", replace(LINE, water_width=6 * 5.5)) == INSIDE
    assert answer("2105", "second sentence", replace(LINE, water_width=6 * 5.4)) == OUTSIDE


def test_an_uncertain_crest_on_both_sides_of_a_limit_gives_cannot_tell() -> None:
    low, high = replace(LINE, crest=0.8), replace(LINE, crest=0.9)
    assert answer("2105", "(f)", LINE, low, high) == CANNOT_TELL
    assert answer("2105", "(f)", LINE, low) == INSIDE


def test_numbers_of_a_line_by_hand() -> None:
    found = {
        name: number.value
        for name, number in design_numbers(replace(LINE, channel_distance=40.0)).items()
    }
    assert found["landward_edge_from_mlw"] == pytest.approx(2.5)
    assert found["seaward_edge_from_mlw"] == pytest.approx(3.5)
    assert found["seaward_edge_from_mhw"] == pytest.approx(5.5)
    assert found["crest_above_mhw"] == pytest.approx(-0.3)
    assert found["greatest_depth_at_mlw"] == pytest.approx(0.35)
    assert found["mean_depth_below_mhw"] == pytest.approx(1.2)
    assert found["channel_offset"] == pytest.approx(34.5)
    assert found["area"] == pytest.approx(10.0)
    assert found["volume"] == pytest.approx(9.0)
    assert found["volume_below_mhw"] == pytest.approx(9.0)
    gapped = design_numbers(replace(LINE, segments=((0.0, 6.0), (8.0, 10.0))))
    assert gapped["open_share"].value == pytest.approx(0.2)
    assert gapped["narrowest_gap"].value == pytest.approx(2.0)
    assert longest_run([(0.0, 4.0), (6.0, 9.0), (9.5, 20.0)], 1.0) == pytest.approx(14.0)


def test_an_uneven_edge_is_judged_where_the_line_is_nearest_and_farthest(small_scenario) -> None:
    def edit(table):
        table["site"]["edge_ft"] = [[0, 0], [90, 0], [110, 4], [200, 4]]

    near, far = line_geometries(small_scenario(edit=edit).central, "walls")
    assert near.offset == pytest.approx(24 * FOOT)
    assert far.offset == pytest.approx(28 * FOOT)


def test_the_screen_reads_scenarios_with_spread(small_scenario) -> None:
    def edit(table):
        table["design"]["walls"]["crest"] = {"low": "2.5 ft", "high": "3.2 ft"}

    found = {
        (item.pack.short, item.rule.cites, item.line): item
        for item in screen(small_scenario(edit=edit))
    }
    crest = found["NC .2105", "paragraph (f)", "walls"]
    assert crest.answer == CANNOT_TELL
    assert "uncertain" in crest.why
    assert found["NC .2105", "paragraph (d)", "walls"].answer == INSIDE


def test_rule_packs_are_dated_sourced_and_warn_when_they_have_run_out() -> None:
    packs = load_packs()
    assert len(packs) == 4
    for pack in packs:
        assert pack.source
        assert pack.mark in ("read", "from memory")
        assert any(character.isdigit() for character in pack.dated)
    federal = next(pack for pack in packs if "NWP" in pack.short)
    assert "fetch the text in force" in dated_words(federal, date(2027, 1, 1))
    assert "fetch" not in dated_words(federal, date(2026, 3, 14))


def test_every_row_has_number_limit_date_and_agency_and_never_leave_to_build(
    small_scenario,
) -> None:
    table = permit_table(small_scenario())
    place = {name: index for index, name in enumerate(table.headings)}
    assert len(table.rows) > 20
    for row in table.rows:
        assert row[place["answer"]] in (INSIDE, OUTSIDE, CANNOT_TELL, "open", "closed pocket")
        assert row[place["and now"]].startswith("ask the agency: ")
        assert row[place["this design"]]
        assert row[place["limit"]]
        assert row[place["date of the rule (mark)"]]
    every = markdown_text(table) + csv_text(table) + markdown_text(numbers_table(small_scenario()))
    for word in (
        "permitted",
        "allowed",
        "approved",
        "authorised",
        "authorized",
        "compliant",
        "legal to",
    ):
        assert word not in every.lower(), word


def test_cautions_stand_under_every_table(small_scenario) -> None:
    for table in (
        permit_table(small_scenario()),
        numbers_table(small_scenario()),
        checklist_table(),
    ):
        assert CAUTIONS in table.note


def test_checklists_have_a_source_or_say_that_there_is_none() -> None:
    table = checklist_table()
    assert {row[0] for row in table.rows} == {
        "before building", "construction", "biosecurity", "worker safety",
    }  # fmt: skip
    marks = {"read", "from memory", "judgement", "common practice, no source"}
    for row in table.rows:
        assert all(row[:5]), row
        assert row[4] in marks
    assert checklist_table("biosecurity").rows == tuple(
        row for row in table.rows if row[0] == "biosecurity"
    )


PACK = """
short = "own"
title = "Our county"
authority = "county office"
dated = "in force from 2025-01-01"
source = "county code"
mark = "read"
note = "A test."
[[rules]]
cites = "section 1"
words = "no farther out than 20 ft"
number = "seaward_edge_from_marsh_edge"
at_most = "20 ft"
"""


def test_a_pack_of_ones_own_takes_the_place_of_the_others(small_scenario, tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(PACK, encoding="utf-8")
    found = screen(small_scenario(), load_packs([path]))
    assert [(item.line, item.answer) for item in found] == [("walls", OUTSIDE), ("reef", INSIDE)]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('at_most = "20 ft"', 'at_most = "20"', ["rule 1", "at_most", '"20"', "unit"]),
        ('at_most = "20 ft"', 'at_least = "1 ft"\nat_most = "20 ft"', ["one limit"]),
        ("seaward_edge_from_marsh_edge", "seaward", ["number", '"seaward"', "Use one of"]),
        ('cites = "section 1"', 'cite = "section 1"', ["cite", "is not a known key"]),
        ('note = "A test."', "", ["note", "is missing"]),
        ('mark = "read"', 'mark = "read"\nruns_out = "soon"', ["runs_out", "is not a date"]),
        ('title = "', "title = ", ["not valid TOML"]),
    ],
)
def test_a_wrong_pack_is_refused_with_one_sentence(tmp_path: Path, old, new, words) -> None:
    path = tmp_path / "own.toml"
    path.write_text(PACK.replace(old, new), encoding="utf-8")
    with pytest.raises(DataFileError) as caught:
        load_packs([path])
    for word in ("own.toml", *words):
        assert word in str(caught.value), json.dumps(str(caught.value))
