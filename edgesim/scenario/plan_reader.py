"""Reads the tables of plans into typed objects, with every problem in the form of all others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from edgesim.errors import ScenarioError
from edgesim.scenario.distributions import Choice, Distribution, Uniform
from edgesim.scenario.overlay import (
    Place,
    flattened,
    nearest,
    overlaid,
    place_of,
    put,
    read_value,
    steps_of,
)
from edgesim.scenario.parameters import Parameter
from edgesim.scenario.plan_types import AIMS, DesignMap, Factor, Study, Target, Variant
from edgesim.scenario.reading import BAD, Problem, Reader, shown

if TYPE_CHECKING:
    from edgesim.scenario.loader import ScenarioFile

TARGET_KEYS = ("name", "quantity", "at_most", "at_least", "year")
FACTOR_KEYS = ("path", "name", "levels")
STUDY_KEYS = ("option", "decisions", "inputs", "map")
MAP_KEYS = ("rows", "columns", "over", "quantiles", "members")
LARGEST_RANGE = 1000
"""Most whole numbers that a range may hold. [1]"""


def featured(scenario_file: ScenarioFile) -> str:
    """Name of the option with the most lines."""
    options = scenario_file.central.options
    return max(options, key=lambda option: option.walls + option.reef).name


class PlanReader:
    """Reads the plans of one scenario and collects problems."""

    def __init__(self, scenario_file: ScenarioFile) -> None:
        self.file = scenario_file
        self.problems: list[Problem] = []
        self.bare = scenario_file.without_plans()

    def blame(self, key: str, text: str, what: str, remedy: str) -> None:
        """Note a problem."""
        self.problems.append(Problem(key, text, what, remedy))

    def raise_if_any(self) -> None:
        """Raise all problems at once."""
        if self.problems:
            raise ScenarioError([p.sentence(str(self.file.path)) for p in self.problems])

    def unknown(self, key: str, table: dict[str, Any], known: tuple[str, ...]) -> None:
        """Note keys that are not known."""
        for name in table.keys() - set(known):
            self.blame(
                f"{key}.{name}",
                shown(table[name]),
                "is not a known key",
                f"Known keys here are {', '.join(known)}.",
            )

    def targets(self) -> list[Target]:
        """Read [[goals.targets]]."""
        found = []
        last = self.file.central.run.years
        for number, table in enumerate(self.file.central.goals.targets, start=1):
            key = f"goals.targets[{table.get('name', number)}]"
            self.unknown(key, table, TARGET_KEYS)
            quantity = table.get("quantity")
            if quantity not in AIMS:
                names = ", ".join(f'"{name}"' for name in AIMS)
                self.blame(
                    f"{key}.quantity",
                    "" if quantity is None else shown(quantity),
                    "is missing" if quantity is None else "is not a quantity with a target",
                    f"Write one of {names}.",
                )
                continue
            sides = [side for side in ("at_most", "at_least") if side in table]
            if len(sides) != 1:
                self.blame(key, "", "must give either at_most or at_least", "Give one threshold.")
                continue
            year = table.get("year", last)
            if not isinstance(year, int) or isinstance(year, bool) or not 1 <= year <= last:
                self.blame(
                    f"{key}.year",
                    shown(year),
                    f"must be a whole year from 1 to run.years ({last})",
                    "Give another year, or a longer run.",
                )
                continue
            reader = Reader(self.file.path.parent, {})
            about = Parameter(f"Threshold of {quantity}", AIMS[quantity], certain=True)
            side, value = sides[0], table[sides[0]]
            threshold = reader.quantity(about, value, "", f"{key}.{side}", shown(value))
            self.problems += reader.problems
            if threshold is not BAD:
                name = str(table.get("name", f"{quantity} {side.replace('_', ' ')} {value}"))
                found.append(Target(name, quantity, side == "at_most", float(threshold), year))
        return found

    def variants(self, which: str, own_keys: tuple[str, ...]) -> list[Variant]:
        """Read [[designs]] or [[beliefs]]."""
        found = []
        for number, table in enumerate(getattr(self.file.central, which), start=1):
            name = str(table.get("name", number))
            key = f"{which}[{name}]"
            changes = dict(flattened({k: v for k, v in table.items() if k not in own_keys}))
            if not self.paths_exist(key, changes):
                continue
            self.holds(key, changes)
            option = table.get("option", "")
            if option and option not in {o.name for o in self.file.central.options}:
                self.no_option(f"{key}.option", option)
            weight = table.get("weight", 1.0)
            if isinstance(weight, bool) or not isinstance(weight, int | float) or weight <= 0:
                self.blame(
                    f"{key}.weight", shown(weight), "must be a number greater than 0",
                    "Give how much it is believed, for example 0.3.",
                )  # fmt: skip
                continue
            found.append(Variant(name, changes, option, float(weight)))
        return found

    def no_option(self, key: str, option: object) -> None:
        """Note that an option does not exist."""
        names = ", ".join(f'"{o.name}"' for o in self.file.central.options)
        self.blame(
            key, shown(option), "is not an option of this scenario", f"Write one of {names}."
        )

    def paths_exist(self, key: str, changes: dict[str, Any], *, named: bool = False) -> bool:
        """Whether every path is that of an input of this scenario; notes those that are not.

        Where paths are only named, the values beside them were not written by the user.
        """
        missing = [
            path for path, value in changes.items() if not put(dict(self._copy()), path, value)
        ]
        for path in missing:
            self.blame(
                f"{key}: {path}",
                "" if named else shown(changes[path]),
                "is not an input of this scenario",
                f"All inputs stand on the page docs/reference/scenario.md.{nearest(path)}",
            )
        return not missing

    def _copy(self) -> dict[str, Any]:
        return overlaid(self.bare.table, {})

    def holds(self, key: str, changes: dict[str, Any]) -> None:
        """Try the changes on the scenario; take over what it says."""
        try:
            self.bare.changed(changes)
        except ScenarioError as error:
            lead = f"{self.file.path}: "
            for sentence in error.problems:
                self.problems.append(Told(f"{lead}{key}: {sentence.removeprefix(lead)}"))

    def factors(self, key: str, tables: object, *, decision: bool) -> Iterator[Factor]:
        """Read [[study.decisions]] or [[study.inputs]]."""
        if not isinstance(tables, list | tuple):
            self.blame(
                key, shown(tables), "must be a list of tables", f"Begin each with [[{key}]]."
            )
            return
        for number, table in enumerate(tables, start=1):
            if not isinstance(table, dict):
                self.blame(key, shown(table), "must be a table", f"Begin each with [[{key}]].")
                continue
            paths = table.get("path", ())
            paths = (paths,) if isinstance(paths, str) else tuple(paths)
            where = f"{key}[{table.get('name', paths[0] if paths else number)}]"
            factor = self.factor(where, table, paths, decision=decision)
            if factor is not None:
                yield factor

    def factor(
        self, key: str, table: dict[str, Any], paths: tuple[Any, ...], *, decision: bool
    ) -> Factor | None:
        """Read one input of a study; None when anything is wrong with it."""
        before = len(self.problems)
        if not paths or not all(isinstance(path, str) for path in paths):
            self.blame(f"{key}.path", "", "is missing", 'Write for example path = "traffic.level".')
            return None
        if not self.paths_exist(key, dict.fromkeys(paths, 0), named=True):
            return None
        places = [place_of(path) for path in paths]
        place = places[0]
        assert place is not None
        if len({p.about.kind for p in places if p is not None}) > 1:
            self.blame(f"{key}.path", shown(list(paths)), "names inputs of several kinds",
                       "Give each kind a table of its own.")  # fmt: skip
            return None
        plain = tuple(_plain(path, p.name) for path, p in zip(paths, places, strict=True) if p)
        name = str(table.get("name", plain[0]))
        form = {k: v for k, v in table.items() if k not in FACTOR_KEYS}
        factor = Factor(name, plain, place.about.kind, decision, layout=place.about.certain)
        if "levels" in table:
            if form:
                self.blame(f"{key}.levels", shown(table["levels"]), "stands beside a range",
                           "Give either levels or a range.")  # fmt: skip
                return None
            factor = self.with_levels(key, factor, table["levels"])
        elif form:
            factor = self.with_range(key, factor, place, form)
        else:
            factor = self.with_own(key, factor)
        return factor if len(self.problems) == before else None

    def with_levels(self, key: str, factor: Factor, levels: object) -> Factor:
        """Give an input the levels that stand in the file."""
        if not isinstance(levels, list | tuple) or len(levels) < 2:
            self.blame(f"{key}.levels", shown(levels), "must be a list of two values or more",
                       "Give the values that the study may choose.")  # fmt: skip
            return factor
        read = []
        for number, raw in enumerate(levels, start=1):
            value, problems = read_value(
                factor.paths[0], raw, f"{key}.levels, value {number}", self.file.path.parent
            )
            self.problems += problems
            if not problems:
                self.holds(key, dict.fromkeys(factor.paths, raw))
            if isinstance(value, Distribution):
                self.blame(f"{key}.levels", shown(raw), "must be one value, not a distribution",
                           "Give numbers or words.")  # fmt: skip
            read.append(value)
        return replace(factor, levels=tuple(read), raw_levels=tuple(levels))

    def with_range(self, key: str, factor: Factor, place: Place, form: dict[str, Any]) -> Factor:
        """Give an input the range or distribution that stands in the file."""
        if place.about.kind == "count":
            low, high = form.get("low"), form.get("high")
            whole = isinstance(low, int) and isinstance(high, int) and set(form) == {"low", "high"}
            if not whole or not low < high <= low + LARGEST_RANGE:  # type: ignore[operator]
                self.blame(key, shown(form), "must give low and high as whole numbers, low below high",
                           "Write for example low = 1 and high = 4.")  # fmt: skip
                return factor
            return self.with_levels(key, factor, list(range(low, high + 1)))  # type: ignore[operator, arg-type]
        if not (place.about.is_quantity or isinstance(place.about.spread, Choice)):
            self.blame(key, shown(form), "has no range, since it is not a number",
                       "Give levels = [...] instead.")  # fmt: skip
            return factor
        if not factor.layout:
            value, problems = read_value(factor.paths[0], form, key, self.file.path.parent)
            self.problems += problems
            if isinstance(value, Distribution):
                self.holds(key, dict.fromkeys(factor.paths, form))
                return replace(factor, spread=value)
            return factor
        if set(form) != {"low", "high"}:
            self.blame(key, shown(form), "must give low and high", "Give both ends of the range.")
            return factor
        ends = []
        for end in ("low", "high"):
            value, problems = read_value(
                factor.paths[0], form[end], f"{key}.{end}", self.file.path.parent
            )
            self.problems += problems
            if not problems:
                self.holds(key, dict.fromkeys(factor.paths, form[end]))
            ends.append(value)
        if None in ends:
            return factor
        if not ends[0] < ends[1]:
            self.blame(key, shown(form), "must have low less than high", "Exchange the two.")
            return factor
        return replace(factor, spread=Uniform(*ends))

    def with_own(self, key: str, factor: Factor) -> Factor:
        """Leave an input on the distribution that it has in the scenario."""
        spread = self.bare.distributions.get(factor.paths[0])
        for path in factor.paths:
            if path not in self.bare.distributions:
                self.blame(
                    f"{key}.path", shown(path), "is one number or word in this scenario, so that it has no range of its own",
                    "Give levels = [...], or low and high, here.",
                )  # fmt: skip
            elif isinstance(spread, Choice) and self.bare.distributions[path] != spread:
                self.blame(
                    f"{key}.path", shown(path), f"is drawn from other words than {factor.paths[0]}",
                    "Give each of them a table of its own.",
                )  # fmt: skip
        return replace(factor, spread=spread)

    def study(self) -> Study | None:
        """Read [study]; None when there is none."""
        table = self.file.central.study
        if table is None:
            return None
        self.unknown("study", table, STUDY_KEYS)
        option = table.get("option", featured(self.file))
        if option not in {o.name for o in self.file.central.options}:
            self.no_option("study.option", option)
        factors = [
            *self.factors("study.decisions", table.get("decisions", ()), decision=True),
            *self.factors("study.inputs", table.get("inputs", ()), decision=False),
        ]
        paths = [path for factor in factors for path in factor.paths]
        names = [factor.name for factor in factors]
        for kind, items in (("path", paths), ("name", names)):
            for double in sorted({item for item in items if items.count(item) > 1}):
                self.blame("study", shown(double), f"stands twice as the {kind} of an input",
                           "Keep one of the two.")  # fmt: skip
        if not factors and not self.problems:
            self.blame(
                "study", "", "names no inputs", "Add [[study.decisions]] or [[study.inputs]]."
            )
        return Study(str(option), tuple(factors), self.map(table.get("map"), factors))

    def map(self, table: Any, factors: list[Factor]) -> DesignMap | None:
        """Read [study.map]; None when there is none, or anything is wrong."""
        if table is None or self.problems:  # a wrong input would be called missing here as well
            return None
        if not isinstance(table, dict):
            self.blame("study.map", shown(table), "must be a table", "Begin it with [study.map].")
            return None
        self.unknown("study.map", table, MAP_KEYS)
        by_name = {factor.name: factor for factor in factors}
        for axis in ("rows", "columns", "over"):
            name = table.get(axis)
            if name not in by_name or (axis != "over" and not by_name[str(name)].levels):
                self.blame(
                    f"study.map.{axis}", "" if name is None else shown(name),
                    "must be the name of a decision with levels" if axis != "over" else "must be the name of an input of the study",
                    f"Names here are {', '.join(by_name) or 'none'}.",
                )  # fmt: skip
        quantiles = table.get("quantiles", [0.1, 0.5, 0.9])
        if not isinstance(quantiles, list | tuple) or not all(
            isinstance(q, float) and 0.0 < q < 1.0 for q in quantiles
        ):
            self.blame("study.map.quantiles", shown(quantiles), "must be numbers between 0 and 1",
                       "Write for example [0.1, 0.5, 0.9].")  # fmt: skip
        members = table.get("members", 16)
        if not isinstance(members, int) or isinstance(members, bool) or members < 1:
            self.blame("study.map.members", shown(members), "must be a whole number, at least 1",
                       "Write for example 16.")  # fmt: skip
        if self.problems:
            return None
        return DesignMap(table["rows"], table["columns"], table["over"], tuple(quantiles), members)


class Told(Problem):
    """A problem that is a whole sentence already."""

    def __init__(self, text: str) -> None:
        super().__init__("", text, "", "")

    def sentence(self, file: str) -> str:  # noqa: ARG002
        """The sentence as it was told."""
        return self.text


def _plain(path: str, name: str) -> str:
    """Path with the attribute instead of the key of the file."""
    return ".".join([*steps_of(path)[:-1], name])
