"""Three tiny invented forecasts, the reef with two kinds of mesh: kept indicators and what moved.

Run ``python tests/golden/regenerate.py`` to print what moved, and with ``--write`` to keep the new
numbers. They come from this program alone: they say that it has changed, never that it is right.
"""

from __future__ import annotations

import json
import math
import sys
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from edgesim.outcomes.indicators import yearly_records
from edgesim.scenario.loader import from_table
from edgesim.studies.ensemble import run_forecast

FOLDER = Path(__file__).parent
Numbers = dict[str, Any]

BASE = """
schema = 1
title = "Invented reach of the stored forecasts"
[site]
name = "Invented reach"
vertical_datum = "NAVD88"
shore_length_m = 24.0
shore_faces = "70 deg"
profile_m = [[0.0, -0.35], [4.0, -0.65], [8.0, -0.95], [16.0, -1.5], [40.0, -3.2]]
scarp_height_m = 0.85
retreat_rate_m_per_year = {mean = 0.4, sd = 0.05}
[site.datums]
MHHW_m = 0.80
MHW_m = 0.69
MSL_m = -0.07
MLW_m = -0.90
MLLW_m = -0.96
[traffic]
channel_depth_m = 4.0
[[traffic.classes]]
name = "open boats"
hull = "planing"
waterline_length_m = 5.5
displacement = "1300 kg"
draft_m = 0.4
speed = "22 knots"
distance_off_m = 50.0
passages_weekday = 30
passages_weekend = 90
[[traffic.classes]]
name = "cruisers"
hull = "displacement"
waterline_length_m = 11.0
displacement = "9000 kg"
draft_m = 0.9
speed = "7 knots"
distance_off_m = 60.0
passages_weekday = 4
passages_weekend = 10
[run]
members = 2
seed = 11
cell_size_m = 1.0
seaward_width_m = 12.0
landward_width_m = 10.0
"""

TIDE = """
[tide.constituents]
M2 = {amplitude_m = 0.77, phase_deg = 10.0}
S2 = {amplitude_m = 0.12, phase_deg = 36.0}
K1 = {amplitude_m = 0.10, phase_deg = 198.0}
"""

WALLS = """
[design.walls]
count = 2
length_m = 5.0
gap_m = 1.5
offset_m = 7.0
crest_m = 0.6
post_spacing_m = 0.6
post_diameter_m = 0.1
row_gap_m = 0.6
post_wood = "treated pine"
[[options]]
name = "walls"
walls = true
"""

TRIGGER = """
[upkeep]
rule = "trigger"
fill_trigger = 0.7
skip_chance = 0.2
"""

REEF = """
[design.reef]
material = "shell gabion"
unit_length_m = 1.0
unit_width_m = 0.45
unit_height_m = 0.45
rows = 2
offset_m = 2.5
length_m = 12.0
wire = "{wire}"
[[options]]
name = "reef"
reef = true
"""

GROWTH = """
growth_per_year = 0.05
speed_rule = {speed_limit = "6 knots", compliance = 0.8}
"""

WIND = """
[wind]
fetch_depth_m = 2.5
fetches = [["70 deg", "600 m"]]
table = [
  {speed_knots = 12, direction_deg = 70, share_percent = 20},
  {speed_knots = 5, direction_deg = 250, share_percent = 80},
]
"""


def gauge() -> Numbers:
    """Thirty days of an invented hourly water-level record: two tides and their spring and neap."""
    hours = np.arange(30 * 24.0)
    level = 0.7 * np.cos(2.0 * np.pi * hours / 12.4206) + 0.15 * np.cos(2.0 * np.pi * hours / 12.0)
    start = tomllib.loads("at = 2027-01-01T00:00:00Z")["at"]
    return {"first_time": start, "hours": hours.tolist(), "level_m": level.round(4).tolist()}


def scenario_tables() -> dict[str, Numbers]:
    """Tables of every stored forecast by its name."""
    grown = BASE.replace("channel_depth_m = 4.0", "channel_depth_m = 4.0" + GROWTH)
    tables = {
        "walls_trigger": tomllib.loads(BASE + TIDE + WALLS + TRIGGER),
        "reef_good_mesh": tomllib.loads(BASE + TIDE + REEF.format(wire="zinc-aluminium")),
        "reef_poor_mesh": tomllib.loads(BASE + TIDE + REEF.format(wire="thin galvanised")),
        "growth_rule_gauge": tomllib.loads(grown + WIND) | {"tide": {"gauge": gauge()}},
    }
    years = {"walls_trigger": 2, "growth_rule_gauge": 3}
    for name, table in tables.items():
        table["run"]["years"] = years.get(name, 5)
    return tables


QUANTITIES = (
    "retreat",
    "fill_fraction",
    "posts_standing",
    "mesh_intact",
    "rings_intact",
    "bays_open",
    "post_scour",
    "wood_oysters",
    "consolidation",
    "oyster_density",
    "reef_crest",
    "wall_transmission",
    "reef_transmission",
    "edge_power_wake",
    "edge_power_wind",
    "edge_power_open",
    "mud_trapped",
    "bed_rise",
    "platform_rise",
    "cost",
    "refills",
)
"""Kept at the end of every year for every option and member; those an option lacks are left out."""

RELATIVE = 1e-6
"""Largest relative change that counts as none. [1]"""

ABSOLUTE = {"retreat": 1e-6}
"""The same in absolute terms: edges are kept in single precision, 1e-6 m at 12 m. [m]"""


def measure(table: Numbers) -> Numbers:
    """Run a stored forecast and take its indicators."""
    dataset = run_forecast(from_table(table, FOLDER / "stored.toml"), workers=1)
    records = list(yearly_records(dataset["elapsed"].values).values())[1:]
    yearly = dataset.isel(time=records)
    found: Numbers = {name: _by_option(yearly[name]) for name in QUANTITIES}
    last = dataset["ledger"].isel(time=-1)
    for entry in dataset["ledger_entry"].values:
        found[f"ledger {entry}"] = _by_option(last.sel(ledger_entry=entry))
    return {name: values for name, values in found.items() if values}


def _by_option(values: xr.DataArray) -> Numbers:
    """Option to nested lists over members (and years); without options that have no value."""
    parts = {str(option): values.sel(option=option).values for option in values["option"].values}
    return {option: part.tolist() for option, part in parts.items() if np.isfinite(part).all()}


def changes(kept: Numbers, found: Numbers) -> list[str]:
    """Rows of the table of changes: quantity, option, kept, found and the relative change."""
    rows = []
    for name in sorted(kept.keys() | found.keys()):
        old, new = kept.get(name, {}), found.get(name, {})
        for option in sorted(old.keys() | new.keys()):
            if option not in old or option not in new:
                rows.append(f"{name:28} {option:12} {'gone' if option in old else 'new'}")
                continue
            before, after = np.ravel(old[option]), np.ravel(new[option])
            if before.shape != after.shape:
                rows.append(f"{name:28} {option:12} {before.size} numbers, now {after.size}")
                continue
            allowed = ABSOLUTE.get(name, 0.0) + RELATIVE * np.abs(before)
            excess = np.abs(after - before) - allowed
            # A comparison that not-a-number fails too.
            if not (excess <= 0.0).all():
                worst = int(np.argmax(np.where(np.isnan(excess), math.inf, excess)))
                one, two = float(before[worst]), float(after[worst])
                size = (two - one) / abs(one) if one else math.inf
                rows.append(f"{name:28} {option:12} {one:14.7g} {two:14.7g} {size:+10.2e}")
    return rows


def stored(name: str) -> Path:
    """File of a stored forecast."""
    return FOLDER / f"{name}.json"


def main() -> None:
    """Print what has moved; keep the new numbers if asked to."""
    for name, table in scenario_tables().items():
        found = measure(table)
        kept = json.loads(stored(name).read_text()) if stored(name).exists() else {}
        rows = changes(kept, found)
        sys.stdout.write(f"{name}: {len(rows)} changes\n" + "".join(f"  {row}\n" for row in rows))
        if "--write" in sys.argv:
            stored(name).write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
