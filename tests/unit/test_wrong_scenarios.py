"""Wrong scenario files as a user would meet them, through the command line."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from edgesim.cli.main import cli

CONFIGS = Path(__file__).parents[1] / "data"
DEMO = (CONFIGS / "demo.toml").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Wrong:
    """One change of the demonstration scenario and what the message must hold."""

    name: str
    old: str
    new: str
    key: str
    value: str
    what: str
    remedy: str
    csv: tuple[str, str] = ("", "")


CASES = [
    # units and numbers
    Wrong("negative gap", 'gap = "5 ft"', 'gap = "-5 ft"', "design.walls.gap", '"-5 ft"', "must be greater than 0", 'for example "5 ft"'),
    Wrong("zero gap", 'gap = "5 ft"', "gap_m = 0", "design.walls.gap_m", "0", "must be greater than 0", 'for example "5 ft"'),
    Wrong("unit of another kind", 'shore_length = "200 ft"', 'shore_length = "200 lb"', "site.shore_length", '"200 lb"', 'unit "lb" is not the unit of a length', 'for example "200 ft"'),
    Wrong("unknown unit", 'shore_length = "200 ft"', 'shore_length = "200 fet"', "site.shore_length", '"200 fet"', 'unit "fet" is not a unit that is known', 'for example "200 ft"'),
    Wrong("no unit", 'shore_length = "200 ft"', "shore_length = 200", "site.shore_length", "200", "has no unit", 'for example "200 ft"'),
    Wrong("unit twice", 'shore_length = "200 ft"', 'shore_length_m = "200 ft"', "site.shore_length_m", '"200 ft"', "has a unit in the key", "give a length"),
    Wrong("not a number", "scarp_height_m = 0.87", "scarp_height_m = nan", "site.scarp_height_m", "nan", "finite number", 'for example "2.5 ft"'),
    Wrong("infinite", "MHW_m = 0.691", "MHW_m = inf", "site.datums.MHW_m", "inf", "finite number", 'for example "2.2 ft"'),
    Wrong("list for a number", "scarp_height_m = 0.87", "scarp_height_m = [1, 2]", "site.scarp_height_m", "[1, 2]", "must be a number or a text with a unit", "give a length"),
    Wrong("truth for a number", "scarp_height_m = 0.87", "scarp_height_m = true", "site.scarp_height_m", "true", "must be a number or a text with a unit", "give a length"),
    Wrong("scarp height zero", "scarp_height_m = 0.87", "scarp_height_m = 0", "site.scarp_height_m", "0", "must be greater than 0", 'for example "2.5 ft"'),
    Wrong("reef height zero", 'unit_height = "9 in"', 'unit_height = "0 in"', "design.reef.unit_height", '"0 in"', "must be greater than 0", 'for example "12 in"'),
    Wrong("solid fraction one", "rows = 2\nrow_gap", "rows = 2\nsolid_fraction = 1\nrow_gap", "design.walls.solid_fraction", "1", "must be less than 1", "for example 0.25"),
    Wrong("share above one", 'fill_trigger = "70 %"', 'fill_trigger = "170 %"', "upkeep.fill_trigger", '"170 %"', "must be less than 1", "give a share"),
    Wrong("years zero", "years = 10", "years = 0", "run.years", "0", "must be at least 1", "whole number, for example 10"),
    Wrong("members zero", "members = 40", "members = 0", "run.members", "0", "must be at least 1", "whole number"),
    Wrong("years with a fraction", "years = 10", "years = 10.5", "run.years", "10.5", "must be a whole number", "for example 10"),
    Wrong("date in quotes", "[run]", '[run]\nstart = "2027-01-01"', "run.start", '"2027-01-01"', "a date without quotes", "for example 2027-01-01"),
    Wrong("months do not average 1", "[0.6, 0.6, 1.0, 1.3, 1.3, 1.0, 0.8, 0.8, 1.0, 1.5, 1.3, 0.8]", "[2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2]", "traffic.classes[cruisers].months", "[2, 2,", "must have a mean of 1, but has 2", "Divide each of the 12 factors"),
    # sizes and days that no shore, boat or forecast has
    Wrong("cells too small", "[run]", '[run]\ncell_size = "0.001 mm"', "run.cell_size", '"0.001 mm"', "must be at least 0.02 m", 'for example "0.5 m"'),
    Wrong("cells too many", "[run]", '[run]\ncell_size = "0.03 m"', "run.cell_size", '"0.03 m"', "cells along the shore by", "or a shorter site.shore_length"),
    Wrong("shore too long", 'shore_length = "200 ft"', 'shore_length = "200000 ft"', "site.shore_length", '"200000 ft"', "must be at most 10000 m (32808 ft)", 'for example "200 ft"'),
    Wrong("scarp too high", "scarp_height_m = 0.87", 'scarp_height = "2500 ft"', "site.scarp_height", '"2500 ft"', "must be at most 10 m", 'for example "2.5 ft"'),
    Wrong("crest in the sky", "crest_m = 0.333", 'crest = "90 ft"', "design.walls.crest", '"90 ft"', "lies more than 3 m (9.843 ft) above MHW", "above NAVD88"),
    Wrong("posts further apart than walls are long", 'post_spacing = "2 ft"', 'post_spacing = "200 ft"', "design.walls.post_spacing", '"200 ft"', "is more than the length of the shortest wall (4.877 m (16 ft))", "or longer walls"),
    Wrong("boat too fast", 'speed = "22 knots"', 'speed = "22000 knots"', "traffic.classes[small open boats].speed", '"22000 knots"', "must be at most 51.44 m/s (100 knot)", 'for example "22 knots"'),
    Wrong("boat too heavy", 'displacement = "2600 lb"', 'displacement = "3000000000 lb"', "traffic.classes[small open boats].displacement", '"3000000000 lb"', "must be at most 1000000 kg", 'for example "3000 lb"'),
    Wrong("too many boats", "passages_weekday = 22", "passages_weekday = 1e12", "traffic.classes[small open boats].passages_weekday", "1000000000000.0", "must be at most 100000", "for example 12"),
    Wrong("start in the past", "[run]", "[run]\nstart = 1492-01-01", "run.start", "1492-01-01", "must be no earlier than 1990-01-01", "for example 2027-01-01"),
    Wrong("start at the end of time", "[run]", "[run]\nstart = 9999-12-31", "run.start", "9999-12-31", "must be no later than 2100-01-01", "for example 2027-01-01"),
    # distributions
    Wrong("low above high", '{mean = "1.3 ft/yr", sd = "0.3 ft/yr"}', '{low = "2 ft/yr", high = "1 ft/yr"}', "site.retreat_rate", 'low = "2 ft/yr"', "low must be less than high", "{low, mode, high}"),
    Wrong("mode outside", '{mean = "1.3 ft/yr", sd = "0.3 ft/yr"}', '{low = "1 ft/yr", mode = "5 ft/yr", high = "2 ft/yr"}', "site.retreat_rate", 'mode = "5 ft/yr"', "low, mode and high must stand in this order", "{low, mode, high}"),
    Wrong("negative weight", '{mean = "1.3 ft/yr", sd = "0.3 ft/yr"}', '{values = ["1 ft/yr", "2 ft/yr"], weights = [1, -1]}', "site.retreat_rate", "weights = [1, -1]", "weights must not be negative", "values = [..]"),
    Wrong("unknown distribution", '{mean = "1.3 ft/yr", sd = "0.3 ft/yr"}', '{mean = "1 ft/yr", range = "1 ft/yr"}', "site.retreat_rate", "range", "no distribution is written with the keys mean, range", "{mean, sd}"),
    Wrong("impossible tail", "scarp_height_m = 0.87", "scarp_height_m = {mean = 0.5, sd = 0.3}", "site.scarp_height_m", "mean = 0.5", "must be greater than 0 (it reaches -0.4 m", "give a length"),
    Wrong("distribution in the layout", 'gap = "5 ft"', 'gap = {low = "4 ft", high = "6 ft"}', "design.walls.gap", 'low = "4 ft"', "must be one number, not a distribution", "give a length"),
    # keys, types, choices
    Wrong("unknown key", "crest_m = 0.333", "crest_m = 0.333\ncolour = 3", "design.walls.colour", "3", "is not a known key", "Known keys here are"),
    Wrong("misspelt key", 'gap = "5 ft"', 'gpa = "5 ft"', "design.walls.gpa", '"5 ft"', "is not a known key", 'Did you mean "gap"?'),
    Wrong("misspelt key near a known one", 'post_spacing = "2 ft"', 'post_spaceing = "2 ft"', "design.walls.post_spaceing", '"2 ft"', "is not a known key", 'Did you mean "post_spacing"?'),
    Wrong("key twice", "crest_m = 0.333", 'crest_m = 0.333\ncrest = "1 ft"', "design.walls.crest", '"1 ft"', "is given twice", "Keep one of the two"),
    Wrong("word for a flag", "[upkeep]", '[upkeep]\nmend_reef = "yes"', "upkeep.mend_reef", '"yes"', "must be true or false", "Write for example true"),
    Wrong("table for a text", 'name = "Invented reach"', "name = {a = 1}", "site.name", "{a = 1}", "must be a text in quotes", "Write for example"),
    Wrong("misspelt table", "[traffic]                         # 40 boats", "[trafic]\n[traffic]  # 40 boats", "trafic", "{}", "is not a known key", 'Did you mean "traffic"?'),
    Wrong("unknown hull", 'hull = "displacement"\nwaterline_length_m', 'hull = "catamaran"\nwaterline_length_m', "traffic.classes[cruisers].hull", '"catamaran"', "is not one of the choices", '"planing", "displacement"'),
    Wrong("unknown wood", 'post_wood = "treated pine"', 'post_wood = "treated pin"', "design.walls.post_wood", '"treated pin"', "is not one of the choices", 'Did you mean "treated pine"?'),
    Wrong("branches of post wood", 'branch_wood = "untreated branches"', 'branch_wood = "composite"', "design.walls.branch_wood", '"composite"', "is not one of the choices", '"untreated branches"'),
    Wrong("unknown wire", 'ties = "galvanised"', 'ties = "copper"', "design.walls.ties", '"copper"', "is not one of the choices", '"stainless"'),
    Wrong("wire for concrete", 'material = "shell gabion"', 'material = "concrete module"', "design.reef.wire", '"galvanised"', "concrete units, which have no wire", "Remove this line"),
    Wrong("cage without wire", 'wire = "galvanised"', "", "design.reef.wire", "", "is missing", 'wire = "galvanised"'),
    Wrong("missing key", "crest_m = 0.333 ", "#", "design.walls.crest", "", "is missing", 'Write for example crest = "1.1 ft"'),
    Wrong("missing gap", 'gap = "5 ft"', "", "design.walls.gap", "", "is missing", 'Write for example gap = "5 ft"'),
    Wrong("missing datum", "MSL_m = -0.067", "", "site.datums.MSL", "", "is missing", 'Write for example MSL = "-0.2 ft"'),
    Wrong("missing vertical datum", 'vertical_datum = "NAVD88"', "", "site.vertical_datum", "", "is missing", 'vertical_datum = "NAVD88"'),
    Wrong("two boats of one name", 'name = "work skiffs"', 'name = "cruisers"', "traffic.classes", '"cruisers"', "is the name of more than one table", "Give each its own name"),
    Wrong("two options of one name", 'name = "reef only"', 'name = "walls only"', "options", '"walls only"', "is the name of more than one table", "Give each its own name"),
    Wrong("segments beside count", "count = 4", "count = 4\nsegments = [{start_m = 1, length_m = 2}]", "design.walls.count", "4", "stands beside segments", "Give either segments"),
    # schema, syntax
    Wrong("schema missing", "schema = 1\n", "", "schema", "", "is missing", "Write schema = 1"),
    Wrong("schema of the future", "schema = 1\n", "schema = 2\n", "schema", "2", "is a version that this program does not know", "Write schema = 1"),
    Wrong("syntax", 'gap = "5 ft"', 'gap = "5 ft', "is not valid TOML", "", "at line 96, column", "missing quote"),
    # datums and tide
    Wrong("datums out of order", "MLW_m = -0.900", "MLW_m = 0.100", "site.datums.MLW_m", "0.1", "must be below MSL", "one station"),
    Wrong("mean high water too low", "MHW_m = 0.691", "MHW_m = -0.691", "site.datums.MHW_m", "-0.691", "must be above MSL", "one station"),
    Wrong("higher high below high", "MHHW_m = 0.800", "MHHW_m = 0.600", "site.datums.MHHW_m", "0.6", "must not be below MHW", "one station"),
    Wrong("unknown constituent", "M4 = {", "M5 = {", "tide.constituents.M5", "amplitude_m = 0.038", "is not one of the choices", '"M2", "S2"'),
    Wrong("constituent without phase", "M4 = {amplitude_m = 0.038, phase_deg = 207.8}", "M4 = {amplitude_m = 0.038}", "tide.constituents.M4", "{amplitude_m = 0.038}", "must give its phase once", "phase_deg = 10.1"),
    Wrong("gauge missing", "[tide.constituents]", '[tide]\ngauge = "none.csv"\n[tide.constituents]', "tide.gauge", '"none.csv"', "does not exist", "beside the scenario file"),
    # traffic and wind
    Wrong("channel shallower than a boat", 'channel_depth = "13 ft"', 'channel_depth = "3 ft"', "traffic.classes[cruisers].draft_m", "1.0", "must be less than the channel_depth (0.914 m)", "below MSL"),
    Wrong("day ends before it starts", 'channel_depth = "13 ft"', 'channel_depth = "13 ft"\nday_end_hour = 6', "traffic.day_end_hour", "6", "must be later than day_start_hour (7)", "for example 7 and 19"),
    Wrong("wind without direction of the shore", 'shore_faces = "70 deg" ', "#", "site.shore_faces", "", "is missing, but wind is given", '"90 deg"'),
    Wrong("wind without fetch", "fetches = [", "colour = [", "wind.fetches", "", "is missing", "fetches ="),
    Wrong("empty table of fetches", '["0 deg", "1000 ft"], ["45 deg", "700 ft"], ["90 deg", "600 ft"], ["135 deg", "900 ft"],\n  ["180 deg", "0 ft"], ["225 deg", "0 ft"], ["270 deg", "0 ft"], ["315 deg", "0 ft"],', "", "wind.fetches", "[]", "at least one row", 'Write rows such as ["90 deg", "5 ft"]'),
    Wrong("fetch without unit", '["45 deg", "700 ft"]', '["45 deg", 700]', "wind.fetches", "", "row 2, fetch = 700: has no unit", 'for example "5 ft"'),
    Wrong("shares do not make 100 %", "", "", "wind.table", '"demo_wind.csv"', "shares that sum to 55.9 %", "sum to 100 %", ("demo_wind.csv", "speed_knots,direction_deg,share_percent\n6,0,50\n12,45,5.9\n")),
    # profile, edge, tables
    Wrong("profile not increasing", "", "", "site.profile", '"demo_profile.csv"', "3.05 m follows 6.1 m", "Sort the points seaward", ("demo_profile.csv", "distance_ft,elevation_ft\n0,-1\n20,-2\n10,-3\n100,-4\n")),
    Wrong("profile shorter than the offset", "", "", "design.walls.offset", '"24 ft"', "lies beyond the end of the profile (6.096 m)", "Level the bed", ("demo_profile.csv", "distance_ft,elevation_ft\n0,-1\n20,-2\n")),
    Wrong("profile not from the edge", "", "", "site.profile", '"demo_profile.csv"', "must begin at distance 0, but begins at 1.52 m", "toe of the scarp", ("demo_profile.csv", "distance_ft,elevation_ft\n5,-1\n200,-9\n")),
    Wrong("profile file missing", 'profile = "demo_profile.csv"', 'profile = "other.csv"', "site.profile", '"other.csv"', "does not exist", "Correct the name"),
    Wrong("profile file empty", "", "", "site.profile", '"demo_profile.csv"', "is empty", "heading line", ("demo_profile.csv", "\n# nothing\n")),
    Wrong("profile without rows", "", "", "site.profile", '"demo_profile.csv"', "has a heading but no rows", "at least one row", ("demo_profile.csv", "distance_ft,elevation_ft\n")),
    Wrong("bad number in a file", "", "", "site.profile", '"demo_profile.csv"', 'row 3, column elevation_ft, value "deep": is not a number', "one number in each cell", ("demo_profile.csv", "distance_ft,elevation_ft\n0,-1\n9,deep\n")),
    Wrong("missing column", "", "", "site.profile", '"demo_profile.csv"', "heading: has no column for elevation", "elevation_m or elevation_ft", ("demo_profile.csv", "distance_ft,depth\n0,-1\n")),
    Wrong("edge outside the grid", 'profile = "demo_profile.csv"', 'profile = "demo_profile.csv"\nedge = [["0 ft", "0 ft"], ["200 ft", "120 ft"]]', "site.edge", '[["0 ft"', "has an offset of 36.58 m, outside the grid", "widen run.landward_width"),
    Wrong("edge beyond the shore", 'profile = "demo_profile.csv"', 'profile = "demo_profile.csv"\nedge_ft = [[0, 0], [300, 1]]', "site.edge_ft", "[[0, 0]", "has a point 91.44 m along a shore of 60.96 m", "longer shore_length"),
    # layout
    Wrong("walls longer than the shore", 'length = "16 ft"', 'length = "60 ft"', "design.walls.length", '"60 ft"', "on a shore of 60.96 m", "fewer or shorter walls"),
    Wrong("overlapping segments", 'count = 4\nlength = "16 ft"\ngap = "5 ft"', "segments = [{start_m = 1, length_m = 5}, {start_m = 4, length_m = 5}]", "design.walls.segments", "start_m = 1", "lets walls overlap by 2 m", "Leave an opening"),
    Wrong("reef in front of the wall", 'offset = "10 ft"', 'offset = "30 ft"', "design.reef.offset", '"30 ft"', "must put the reef landward of the wall (offset 7.315 m)", "smaller offset"),
    Wrong("reef on the marsh", 'offset = "10 ft"', 'offset = "1 ft"', "design.reef.offset", '"1 ft"', "onto the marsh", "larger offset"),
    Wrong("wall outside the grid", "[run]", '[run]\nseaward_width = "20 ft"', "design.walls.offset", '"24 ft"', "lies outside the grid, which reaches 6.096 m seaward", "larger run.seaward_width"),
    Wrong("wall offset zero", 'offset = "24 ft"', 'offset = "0 ft"', "design.walls.offset", '"0 ft"', "must be greater than 0", 'for example "24 ft"'),
    Wrong("more rows of posts than fit", "rows = 2\nrow_gap", "rows = 7\nrow_gap", "design.walls.row_gap", '"2 ft"', "is too narrow for 7 rows of posts", "wider wall"),
    Wrong("posts touch", 'post_spacing = "2 ft"', 'post_spacing = "4 in"', "design.walls.post_spacing", '"4 in"', "must be more than the post_diameter", "middles of neighbouring posts"),
    Wrong("crest under the bed", "crest_m = 0.333", "crest_m = -1.5", "design.walls.crest_m", "-1.5", "must be above the bed at the wall (-0.905 m)", "above NAVD88"),
    Wrong("reef longer than the shore", 'length = "80 ft"', 'length = "300 ft"', "design.reef.length", '"300 ft"', "on a shore of 60.96 m", "shorter reef"),
    Wrong("cells wider than a gap", "[run]", '[run]\ncell_size = "6 ft"', "design.walls.gap", '"5 ft"', "less than run.cell_size", "smaller run.cell_size"),
    Wrong("option without a design", "[design.reef]  ", "[oysters]\n[design.reef_of_old]  ", "design.reef_of_old", "{", "is not a known key", "Known keys here are reef, walls"),
    Wrong("no action that acts", 'name = "no action"', 'name = "no action"\nwalls = true', "options[no action].walls", "true", 'must be false for "no action"', "another name"),
    Wrong("grass band upside down", "[run]", '[marsh]\nband_low = "60 %"\n[run]', "marsh.band_high", "0.55", "must be more than band_low (0.6)", "under water"),
]  # fmt: skip


def prepare(folder: Path, case: Wrong) -> Path:
    assert case.old in DEMO, "the demonstration scenario has changed"
    for name in ("demo_profile.csv", "demo_wind.csv"):
        shutil.copy(CONFIGS / name, folder / name)
    if case.csv[0]:
        (folder / case.csv[0]).write_text(case.csv[1], encoding="utf-8")
    path = folder / "site.toml"
    path.write_text(DEMO.replace(case.old, case.new, 1) if case.old else DEMO, encoding="utf-8")
    return path


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_wrong_scenario_is_explained(case: Wrong, tmp_path: Path) -> None:
    path = prepare(tmp_path, case)
    before = sorted(tmp_path.iterdir())
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.output
    sentences = [line for line in result.stderr.splitlines() if f"{path}: {case.key}" in line]
    assert sentences, result.stderr
    sentence = sentences[0]
    assert case.value in sentence
    assert case.what in sentence
    assert case.remedy in sentence
    assert sorted(tmp_path.iterdir()) == before


def test_option_that_names_a_missing_line(tmp_path: Path) -> None:
    for name in ("demo_profile.csv", "demo_wind.csv"):
        shutil.copy(CONFIGS / name, tmp_path / name)
    start, end = DEMO.index("[design.reef]"), DEMO.index("[[options]]")
    path = tmp_path / "site.toml"
    path.write_text(DEMO[:start] + DEMO[end:], encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 2
    assert "options[reef only].reef = true: needs [design.reef], which is missing" in result.stderr


def test_tide_missing(tmp_path: Path) -> None:
    for name in ("demo_profile.csv", "demo_wind.csv"):
        shutil.copy(CONFIGS / name, tmp_path / name)
    start, end = DEMO.index("[tide.constituents]"), DEMO.index("[traffic] ")
    path = tmp_path / "site.toml"
    path.write_text(DEMO[:start] + "[tide]\n" + DEMO[end:], encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 2
    assert "tide.constituents = {}: is missing, and so is tide.gauge" in result.stderr


def test_file_missing(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["check", str(tmp_path / "none.toml")])
    assert result.exit_code == 2
    assert f"{tmp_path / 'none.toml'}: the file does not exist. Correct the name" in result.stderr


def test_folder_instead_of_file(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["check", str(tmp_path)])
    assert result.exit_code == 2
    assert "is a folder. Name the scenario file in it" in result.stderr


def test_result_instead_of_scenario(tmp_path: Path) -> None:
    (tmp_path / "forecast.nc").write_bytes(b"\x89HDF\r\n")
    result = CliRunner().invoke(cli, ["check", str(tmp_path / "forecast.nc")])
    assert result.exit_code == 2
    assert "is the result of a forecast, not a scenario" in result.stderr


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('profile = "demo_profile.csv"', 'profile = [["0 ft", "-1 ft"]]', "site.profile"),
        ('shore_length = "200 ft"', 'shore_length = "1e300 ft"', "site.shore_length"),
    ],
)
def test_one_fault_is_told_once(tmp_path: Path, old: str, new: str, key: str) -> None:
    for name in ("demo_profile.csv", "demo_wind.csv"):
        shutil.copy(CONFIGS / name, tmp_path / name)
    assert DEMO.count(old) == 1
    path = tmp_path / "site.toml"
    path.write_text(DEMO.replace(old, new), encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(path)])
    assert result.exit_code == 2
    (line,) = result.stderr.splitlines()
    assert line.startswith(f"{path}: {key} = ")


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= 30
    assert len({case.name for case in CASES}) == len(CASES)
