"""Stored indicators of three tiny forecasts: has a change of the program moved its results?

The numbers were computed by edgesim itself (``regenerate.py`` makes and compares them).
"""

from __future__ import annotations

import copy
import json
import runpy
from pathlib import Path
from typing import Any

import pytest

TOOLS = runpy.run_path(str(Path(__file__).with_name("regenerate.py")))
TABLES = TOOLS["scenario_tables"]()
changes = TOOLS["changes"]

Numbers = dict[str, Any]


def kept(name: str) -> Numbers:
    found = json.loads(TOOLS["stored"](name).read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


@pytest.mark.golden
@pytest.mark.slow
@pytest.mark.parametrize("name", TABLES)
def test_results_have_not_moved(name: str) -> None:
    assert changes(kept(name), TOOLS["measure"](TABLES[name])) == []


@pytest.mark.golden
def test_the_stored_cases_show_what_they_are_for() -> None:
    walls = kept("walls_trigger")
    assert max(walls["refills"]["walls"][0]) >= 1.0
    assert walls["ledger fill_refilled"]["walls"][0] > 0.0
    good, poor = kept("reef_good_mesh"), kept("reef_poor_mesh")
    assert good["mesh_intact"]["reef"][0][:2] == [1.0, 1.0]
    assert poor["mesh_intact"]["reef"][0][0] == 0.0
    assert poor["ledger shell_dissolved"]["reef"][0] > good["ledger shell_dissolved"]["reef"][0]
    gauged = kept("growth_rule_gauge")
    wake, wind = gauged["edge_power_wake"]["no action"], gauged["edge_power_wind"]["no action"]
    assert min(min(member) for member in wake + wind) > 0.0


@pytest.mark.golden
def test_a_moved_number_is_seen() -> None:
    before = kept("walls_trigger")
    assert changes(before, copy.deepcopy(before)) == []
    for name in ("cost", "retreat", "ledger mud_closing"):
        for factor, seen in ((1.0 + 1e-5, 1), (1.0 + 1e-8, 0)):
            moved = copy.deepcopy(before)
            first = moved[name]["walls"][0]
            if isinstance(first, list):
                first[-1] *= factor
            else:
                moved[name]["walls"][0] = first * factor
            assert len(changes(before, moved)) == seen, (name, factor)
    lost = copy.deepcopy(before)
    del lost["fill_fraction"]["walls"]
    assert len(changes(before, lost)) == 1
    broken = copy.deepcopy(before)
    broken["cost"]["walls"][0][0] = float("nan")
    assert len(changes(before, broken)) == 1
