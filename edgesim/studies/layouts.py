"""What runs of a study have in common, made once in each process and used again.

The tables of the barrier problem depend on the plan of the lines and on the
waves that are counted, not on crests, fills, woods, wires, prices or what an
uncertain input happens to be in one run. So runs whose scenarios agree in
what :func:`edgesim.model.common.prepare` reads share one set of tables; runs
that agree in boats, wind, water and member share one tally; and runs that
agree in the site as well share its calibration and what happens without action.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import Any

from edgesim.model.common import Common, MemberForcing, member_forcing, prepare
from edgesim.model.forecast import UNDEFENDED, Calibration, calibrate, run_option
from edgesim.outcomes.dataset import Facts
from edgesim.outcomes.facts import layout_facts
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.scenario.writing import canonical

SURROUNDINGS = ("site", "tide", "sea_level", "traffic", "wind", "run")
"""Sections whose every number may enter the tables and the waves."""

LINES = {
    "walls": ("segments", "post_spacing", "offset"),
    "reef": ("start", "length", "unit_length", "offset"),
}
"""Numbers of the lines that enter the tables: where the parts stand along and off the shore."""

GROUND = ("site", "tide", "sea_level", "traffic", "wind", "mud", "marsh", "run")
"""Sections that decide what happens without action."""

NO_PART_OF_WEATHER = frozenset({"retreat_rate"})
"""Numbers of the site that the calibration reads, but no wave depends on."""

TABLE_BYTES = 400_000_000
"""Memory that shelter tables may take in one process. [bytes]"""

RECENT = 6
"""Tallies and courses without action that are kept. [1]"""


def layout_key(scenario_file: ScenarioFile) -> str:
    """Digest of all that the shared tables depend on."""
    return _digest(scenario_file, LINES)


def weather_key(scenario_file: ScenarioFile) -> str:
    """Digest of all that the waves of a scenario depend on, whatever the values drawn."""
    return _digest(scenario_file, dict.fromkeys(LINES, ("offset",)))


def _digest(scenario_file: ScenarioFile, of_lines: dict[str, tuple[str, ...]]) -> str:
    tree = scenario_file.tree
    design = tree["design"]
    parts = {name: canonical(tree.get(name)) for name in SURROUNDINGS}
    for line, names in of_lines.items():
        inner = design.get(line)
        parts[line] = inner and {name: canonical(inner.get(name)) for name in names}
    text = json.dumps(parts, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


class Recent:
    """The last few things made, by key; the oldest goes when there are too many."""

    def __init__(self, most: float, weigh: Callable[[Any], float] = lambda _: 1.0) -> None:
        self.kept: OrderedDict[Hashable, tuple[Any, float]] = OrderedDict()
        self.most, self.weigh, self.made = most, weigh, 0

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The thing of this key, made now unless it is kept."""
        if key in self.kept:
            self.kept.move_to_end(key)
            return self.kept[key][0]
        self.made += 1
        thing = make()
        self.kept[key] = thing, self.weigh(thing)
        while len(self.kept) > 1 and sum(weight for _, weight in self.kept.values()) > self.most:
            self.kept.popitem(last=False)
        return thing


@dataclass(frozen=True)
class Layout:
    """A scenario with what its members share."""

    common: Common
    facts: Facts
    weather: str


class Bench:
    """Keeps in one process what runs have in common."""

    def __init__(self) -> None:
        self.layouts = Recent(TABLE_BYTES, _table_bytes)
        self.forcings = Recent(RECENT)
        self.grounds = Recent(RECENT)

    def layout(self, scenario_file: ScenarioFile) -> Layout:
        """Tables of a scenario."""

        def make() -> Layout:
            common = prepare(scenario_file)
            return Layout(common, layout_facts(scenario_file, common), weather_key(scenario_file))

        found: Layout = self.layouts.get(layout_key(scenario_file), make)
        return found

    def member(
        self, scenario_file: ScenarioFile, layout: Layout, index: int
    ) -> tuple[MemberForcing, Calibration, dict[str, Any]]:
        """Weather, calibration and course without action of one member.

        Parameters
        ----------
        scenario_file : ScenarioFile
            Whose member.
        layout : Layout
            Its tables.
        index : int
            Member, from 0.

        Returns
        -------
        tuple of MemberForcing, Calibration and dict
        """
        scenario = scenario_file.member(index)
        common = layout.common
        weather = (layout.weather, index, _contents(scenario, SURROUNDINGS, NO_PART_OF_WEATHER))
        made = self.forcings.get(weather, lambda: member_forcing(scenario_file, common, index))
        forcing = replace(made, scenario=scenario)

        def course() -> tuple[Calibration, dict[str, Any]]:
            calibration = calibrate(forcing, common)
            return calibration, run_option(forcing, calibration, common, UNDEFENDED)

        ground = (layout_key(scenario_file), index, _contents(scenario, GROUND))
        calibration, nothing = self.grounds.get(ground, course)
        return forcing, calibration, nothing


def _contents(
    scenario: Scenario, sections: tuple[str, ...], without: frozenset[str] = frozenset()
) -> str:
    """Digest of some sections with the values drawn."""
    digest = hashlib.sha256()
    for name in sections:
        section = getattr(scenario, name)
        digest.update(
            b"-" if section is None else section.model_dump_json(exclude=set(without)).encode()
        )
    return digest.hexdigest()


def _table_bytes(layout: Layout) -> float:
    lines = (layout.common.wall, layout.common.reef)
    return float(sum(2 * line.intensity.nbytes for line in lines if line is not None))
