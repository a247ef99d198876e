"""Reads a scenario file and draws from it one scenario of plain numbers per member."""

from __future__ import annotations

import copy
import hashlib
import json
import tomllib
import zlib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from numpy.random import PCG64, Generator, SeedSequence

from edgesim.errors import DataFileError, ScenarioError
from edgesim.scenario import checks
from edgesim.scenario.distributions import Distribution
from edgesim.scenario.filling import complete_options, fill, place_lines
from edgesim.scenario.history import rate_from_history
from edgesim.scenario.model import SCHEMA, Scenario
from edgesim.scenario.overlay import overlaid
from edgesim.scenario.own_forms import OWN
from edgesim.scenario.parameters import section_class
from edgesim.scenario.plans import PLANS, check_plans
from edgesim.scenario.reading import Origin, Problem, Reader, Tree, labels_of
from edgesim.scenario.sea_level_curves import fill_sea_level
from edgesim.scenario.writing import canonical, resolved_toml, write_into
from edgesim.units import KINDS, both_ways

_LISTED = "All inputs stand on the page docs/reference/scenario.md."

Pick = Callable[[str, Distribution], float]


def load_scenario(path: str | Path) -> ScenarioFile:
    """Read, complete and check a scenario file.

    Parameters
    ----------
    path : str or Path
        TOML file; files that it names are looked for beside it.

    Returns
    -------
    ScenarioFile
        From which the scenario of each member is drawn.

    Raises
    ------
    DataFileError
        If the file cannot be read.
    ScenarioError
        If anything in it is wrong; it lists all problems.
    """
    path = Path(path)
    if path.is_dir():
        msg = f"{path}: is a folder. Name the scenario file in it (.toml)."
        raise DataFileError(msg)
    if path.suffix.lower() == ".nc":
        msg = f"{path}: is the result of a forecast, not a scenario. Name the scenario (.toml) that it was made from."
        raise DataFileError(msg)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        msg = f"{path}: the file does not exist. Correct the name, or make a new scenario with: edgesim new {path}"
        raise DataFileError(msg) from error
    except (OSError, UnicodeDecodeError) as error:
        msg = f"{path}: the file cannot be read as text. Save it as text in UTF-8."
        raise DataFileError(msg) from error
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        msg = f"{path}: is not valid TOML: {error}. Look at that line for a missing quote, bracket or equals sign."
        raise ScenarioError([msg]) from error
    scenario_file = from_table(table, path)
    check_plans(scenario_file)
    return scenario_file


def from_table(
    table: Mapping[str, Any], path: Path, overriding: Collection[str] = ()
) -> ScenarioFile:
    """Complete and check the tables of a scenario; see :func:`load_scenario`.

    Inputs at the paths in `overriding` are marked as not coming from the file.
    """
    given_table = dict(table)
    reader = Reader(path.parent, OWN)
    if table.get("schema") != SCHEMA:
        given = table.get("schema")
        what = "is missing" if given is None else "is a version that this program does not know"
        text = "" if given is None else repr(given)
        reader.blame("schema", text, what, f"Write schema = {SCHEMA} as the first line.")
        table = {**table, "schema": SCHEMA}
    tree: Tree = reader.section(Scenario, table, "")
    complete_options(reader, tree)
    rate_from_history(reader, tree)
    fill_sea_level(reader, tree)
    fill(reader, Scenario, tree, "")
    place_lines(reader, tree)
    for key in reader.origins.keys() & set(overriding):
        reader.origins[key] = replace(reader.origins[key], given_by="override")
    scenario_file = ScenarioFile(path, tree, reader.origins, given_table)
    problems = reader.problems + list(_broken_checks(scenario_file, reader.problems))
    if problems:
        raise ScenarioError([problem.sentence(str(path)) for problem in problems])
    return scenario_file


@dataclass(frozen=True)
class ScenarioFile:
    """A scenario as it was written: numbers and distributions, with their origins.

    Parameters
    ----------
    path : Path
        The file.
    tree : dict
        Attribute -> value, distributions not drawn.
    origins : dict
        Path of an attribute -> where its value comes from.
    table : dict
        The tables as they stand in the file.
    shares : dict
        Path of a distribution -> share of probability at which every member stands.
    """

    path: Path
    tree: Tree
    origins: dict[str, Origin]
    table: dict[str, Any]
    shares: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def distributions(self) -> dict[str, Distribution]:
        """Every uncertain input by the path of its attribute."""
        return dict(_leaves(self.tree, ""))

    @cached_property
    def central(self) -> Scenario:
        """The scenario with every distribution at its median."""
        return self._built(_median)

    def member(self, index: int, seed: int | None = None) -> Scenario:
        """Return the scenario of one member of the ensemble.

        Parameters
        ----------
        index : int
            Number of the member, from 0.
        seed : int, optional
            Seed; the scenario's own when left out.

        Returns
        -------
        Scenario
            Plain numbers. A parameter's draw depends on seed, member and the
            parameter's own path alone.
        """
        root = int(self.tree["run"]["seed"]) if seed is None else seed
        return self._built(
            lambda path, distribution: distribution.quantile(
                self.shares[path] if path in self.shares else uniform_draw(root, index, path)
            )
        )

    def at_shares(self, shares: Mapping[str, float]) -> ScenarioFile:
        """Return a copy whose members all stand at given shares of some distributions.

        Parameters
        ----------
        shares : mapping
            Path of a distribution -> share of probability, 0 to 1.

        Returns
        -------
        ScenarioFile
            All else is drawn as before.
        """
        return replace(self, shares=dict(shares))

    def overridden(self, changes: Mapping[str, Any] | None = None, **run: int) -> ScenarioFile:
        """Return a copy with other values, checked again.

        Parameters
        ----------
        changes : mapping, optional
            Path of an attribute -> number or distribution in inside units, or word, as
            ``{"mud.concentration": 0.05, "design.walls.post_wood": "treated pine"}``.
        **run
            Settings of the section `run`, as ``members=100, seed=7``.

        Returns
        -------
        ScenarioFile
            The changed copy.

        Raises
        ------
        ScenarioError
            If a path is not that of an input, or something no longer holds.
        """
        every = {**(changes or {}), **{f"run.{name}": value for name, value in run.items()}}
        table: Any = copy.deepcopy(self.table)
        if any(path.startswith("prices.book[") for path in every):
            # The book becomes rows of the file, so that one of its prices can be changed.
            table.setdefault("prices", {})["book"] = canonical(self.tree["prices"]["book"])
        unknown = [path for path, value in every.items() if not write_into(table, path, value)]
        if unknown:
            raise ScenarioError(
                [f"{self.path}: {path}: is not an input. {_LISTED}" for path in unknown]
            )
        return from_table(table, self.path, every)

    def changed(self, changes: Mapping[str, Any]) -> ScenarioFile:
        """Return a copy with other values, written as in a file (``{"design.walls.gap": "8 ft"}``)."""
        return from_table(overlaid(self.table, changes), self.path, changes)

    def without_plans(self) -> ScenarioFile:
        """Return a copy without the tables that say what is compared and explored."""
        if not any(plan in self.table for plan in PLANS):
            return self
        table = {key: value for key, value in self.table.items() if key not in PLANS}
        return from_table(table, self.path)

    def without_targets(self) -> ScenarioFile:
        """Return a copy without targets, which judge runs but do not change them."""
        goals = {k: v for k, v in self.table.get("goals", {}).items() if k != "targets"}
        return from_table({**self.table, "goals": goals}, self.path)

    def resolved_toml(self) -> str:
        """Return the scenario as a file with every default, in inside units."""
        return resolved_toml(self.tree)

    def digest(self) -> str:
        """Return the SHA-256 of the resolved scenario, the same for the same content."""
        text = json.dumps(canonical(self.tree), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()

    def _built(self, pick: Pick) -> Scenario:
        return Scenario(**{name: self._part(name, pick) for name in self.tree})

    def _part(self, name: str, pick: Pick) -> Any:
        """One section with its distributions replaced; those without any are built once."""
        uncertain = any(path.startswith((f"{name}.", f"{name}[")) for path in self.distributions)
        if uncertain:
            return _section(name, _drawn(self.tree[name], name, pick))
        if name not in self._certain_parts:
            self._certain_parts[name] = _section(name, self.tree[name])
        return self._certain_parts[name]

    @cached_property
    def _certain_parts(self) -> dict[str, Any]:
        return {}


def uniform_draw(seed: int, member: int, path: str) -> float:
    """Number in [0, 1) that belongs to seed, member and the path of a parameter."""
    key = (member, zlib.crc32(path.encode()))
    return float(Generator(PCG64(SeedSequence(seed, spawn_key=key))).random())


def _section(name: str, tree: Any) -> Any:
    """Build the section, or the list of sections, or the plain value of a top-level key."""
    cls, several = section_class(Scenario.model_fields[name])
    if cls is None or tree is None:
        return tree
    return tuple(cls.model_validate(item) for item in tree) if several else cls.model_validate(tree)


def _children(node: Any, path: str) -> Iterator[tuple[Any, str]]:
    """Yield key and path of everything below a table or a list of tables."""
    if isinstance(node, dict):
        for name in node:
            yield name, f"{path}.{name}" if path else name
    elif isinstance(node, list):
        for place, label in enumerate(labels_of(node)):
            yield place, f"{path}[{label}]"


def _leaves(node: Any, path: str) -> Iterator[tuple[str, Distribution]]:
    """Yield every distribution and its path."""
    if isinstance(node, Distribution):
        yield path, node
    for key, inner in _children(node, path):
        yield from _leaves(node[key], inner)


def _drawn(node: Any, path: str, pick: Pick) -> Any:
    """Copy of the tree with each distribution replaced by a number."""
    if isinstance(node, Distribution):
        return pick(path, node)
    if isinstance(node, dict):
        return {key: _drawn(node[key], inner, pick) for key, inner in _children(node, path)}
    if isinstance(node, list):
        return [_drawn(node[key], inner, pick) for key, inner in _children(node, path)]
    return node


def _top(path: str) -> str:
    """Name of the section in which a path begins."""
    return path.replace("[", ".").split(".")[0]


def _median(_: str, distribution: Distribution) -> float:
    """Pick the middle of every distribution."""
    return distribution.median


def _end_at(path: str, end: float) -> Pick:
    """Pick the middle of every distribution but one, which stands at its end."""
    return lambda inner, distribution: end if inner == path else distribution.median


def _broken_checks(scenario_file: ScenarioFile, known: list[Problem]) -> Iterator[Problem]:
    """Yield what does not hold at the medians and, one leaf at a time, at the ends."""
    bad = {_top(problem.key) for problem in known}
    parts = {
        name: scenario_file._part(name, _median) for name in scenario_file.tree if name not in bad
    }
    found = {finding.path: (finding, "") for finding in checks.findings(parts)}
    for path, distribution in scenario_file.distributions.items():
        name = _top(path)
        if name not in parts:
            continue
        kind = scenario_file.origins[path].kind
        for end in distribution.support:
            tree = _drawn(scenario_file.tree[name], name, _end_at(path, end))
            trial = {**parts, name: _section(name, tree)}
            for finding in checks.findings(trial, touching=name):
                shown = both_ways(end, kind) if kind in KINDS else str(end)
                found.setdefault(finding.path, (finding, f" when {path} is {shown}"))
    for finding, when in found.values():
        origin = scenario_file.origins.get(finding.path)
        key, text = (origin.key, origin.text) if origin else (finding.path, "")
        yield Problem(key, text, finding.what + when, finding.remedy)
