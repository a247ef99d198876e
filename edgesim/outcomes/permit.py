"""The permit screen: numbers of a design against numbers of rules.

It compares geometry and nothing else. It never says that something may be built: the answer is
"inside" or "outside" the number of a rule, or "cannot tell", and always "ask the agency".
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from edgesim.errors import DataFileError, UnitError
from edgesim.outcomes.design_numbers import (
    ROUNDING,
    LineGeometry,
    Number,
    design_numbers,
    line_geometries,
)
from edgesim.scenario import Scenario, ScenarioFile
from edgesim.units import KINDS, both_ways, parse_quantity

INSIDE, OUTSIDE, CANNOT_TELL = "inside", "outside", "cannot tell"

RULES = Path(__file__).with_name("rules")
"""Folder of the rule packs that come with edgesim."""

LIMITS = {"at_most": "at most", "at_least": "at least", "below": "less than"}

LINES = ("walls", "reef")

UNCERTAIN = ("design.walls.crest", "design.reef.", "site.")
"""Inputs whose spread can move an answer."""

_PACK_KEYS = ("short", "title", "authority", "dated", "source", "mark", "note", "rules")
_RULE_KEYS = ("cites", "words", "lines", "number", "opening", "margin", *LIMITS)


@dataclass(frozen=True, slots=True)
class Rule:
    """One number of a rule.

    Attributes
    ----------
    cites, words : str
        Where it stands in the text, and what it says in words of our own.
    lines : tuple of str
        Lines that it is asked of.
    number : str
        Name of the number, see ``design_numbers``.
    limit : str
        Key of `LIMITS`.
    value : float
        The number of the rule. [m or share]
    opening, margin : float
        See ``design_numbers``. [m]
    """

    cites: str
    words: str
    lines: tuple[str, ...]
    number: str
    limit: str
    value: float
    opening: float
    margin: float


@dataclass(frozen=True, slots=True)
class Pack:
    """A dated set of rules of one text."""

    short: str
    title: str
    authority: str
    dated: str
    runs_out: date | None
    source: str
    mark: str
    note: str
    rules: tuple[Rule, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the screen says of one line and one rule.

    Attributes
    ----------
    pack : Pack
        The text.
    rule : Rule
        Its number.
    line : str
        "walls" or "reef".
    answer : str
        "inside", "outside" or "cannot tell".
    number : Number
        The design's number.
    why : str
        Why it cannot tell; "" otherwise.
    """

    pack: Pack
    rule: Rule
    line: str
    answer: str
    number: Number
    why: str

    @property
    def limit_text(self) -> str:
        """The number of the rule, both ways."""
        return f"{LIMITS[self.rule.limit]} {_shown(self.rule.value, self.number.kind)}"

    @property
    def number_text(self) -> str:
        """The number of the design, both ways; "" when there is none."""
        value = self.number.value
        return "" if value is None else _shown(value, self.number.kind)


def _shown(value: float, kind: str) -> str:
    if kind == "fraction":
        return f"{100.0 * value:.1f} %"
    return both_ways(round(value, 6), kind)


def load_packs(own: Sequence[Path] = ()) -> list[Pack]:
    """Rule packs that come with edgesim, or those of the user in their place.

    Parameters
    ----------
    own : sequence of Path
        Files of the user.

    Returns
    -------
    list of Pack

    Raises
    ------
    DataFileError
        Naming file, key, value and remedy.
    """
    return [_read_pack(path) for path in (own or sorted(RULES.glob("*.toml")))]


def _read_pack(path: Path) -> Pack:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        msg = f"{path}: cannot be read ({error.strerror}). Name a rule pack that exists."
        raise DataFileError(msg) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        msg = f"{path}: is not valid TOML: {error}. Correct that line."
        raise DataFileError(msg) from error
    missing = [key for key in _PACK_KEYS if key not in table]
    if missing:
        msg = f"{path}: {missing[0]}: is missing. A rule pack needs {', '.join(_PACK_KEYS)}."
        raise DataFileError(msg)
    return Pack(
        short=str(table["short"]),
        title=str(table["title"]),
        authority=str(table["authority"]),
        dated=str(table["dated"]),
        runs_out=_date(path, table.get("runs_out")),
        source=str(table["source"]),
        mark=str(table["mark"]),
        note=str(table["note"]),
        rules=tuple(
            _read_rule(path, number, rule) for number, rule in enumerate(table["rules"], start=1)
        ),
    )


def _date(path: Path, value: object) -> date | None:
    if value is None:
        return None
    try:
        return date.fromisoformat(str(value))
    except ValueError as error:
        msg = f'{path}: runs_out = "{value}": is not a date. Write it as "2026-03-14".'
        raise DataFileError(msg) from error


def _read_rule(path: Path, place: int, table: dict[str, Any]) -> Rule:
    def fault(*, key: str, what: str, remedy: str) -> DataFileError:
        return DataFileError(
            f'{path}: rule {place}, {key} = "{table.get(key, "")}": {what}. {remedy}'
        )

    unknown = sorted(set(table) - set(_RULE_KEYS))
    if unknown:
        raise fault(
            key=unknown[0],
            what="is not a known key",
            remedy=f"Known keys are {', '.join(_RULE_KEYS)}.",
        )
    numbers = design_numbers(_EXAMPLE)
    name = str(table.get("number", ""))
    if name not in numbers:
        raise fault(
            key="number",
            what="is not a number of a design",
            remedy=f"Use one of {', '.join(numbers)}.",
        )
    kind = numbers[name].kind
    limits = [key for key in LIMITS if key in table]
    if len(limits) != 1 or kind not in KINDS:
        raise fault(
            key="number", what="needs one limit", remedy=f"Give one of {', '.join(LIMITS)}."
        )
    lines = tuple(str(line) for line in table.get("lines", LINES))
    if not set(lines) <= set(LINES) or not lines:
        raise fault(
            key="lines",
            what="must name lines",
            remedy='Write lines = ["walls", "reef"] or one of them.',
        )
    try:
        value = parse_quantity(str(table[limits[0]]), kind)
        opening, margin = (
            parse_quantity(str(table.get(key, "0 m")), "length") for key in ("opening", "margin")
        )
    except UnitError as error:
        raise fault(
            key=limits[0], what=str(error), remedy=f'Write for example "{KINDS[kind].example}".'
        ) from error
    words, cites = str(table.get("words", "")), str(table.get("cites", ""))
    return Rule(cites, words, lines, name, limits[0], value, opening, margin)


_EXAMPLE = LineGeometry(
    segments=((0.0, 1.0),),
    offset=1.0,
    thickness=1.0,
    crest=0.0,
    profile=((0.0, 0.0), (2.0, -1.0)),
    platform=1.0,
    datums=dict.fromkeys(("mhhw", "mhw", "msl", "mlw", "mllw")),
)
"""Any line: it only lends the names and kinds of its numbers."""


def judge(pack: Pack, rule: Rule, line: str, geometries: Sequence[LineGeometry]) -> Answer:
    """Compare a line with a rule.

    Parameters
    ----------
    pack : Pack
        The text.
    rule : Rule
        Its number.
    line : str
        "walls" or "reef".
    geometries : sequence of LineGeometry
        The line at the middle of its inputs, then at the ends of those that are uncertain.

    Returns
    -------
    Answer
        "cannot tell" when the number is not known or the ends lie on both sides.
    """
    numbers = [
        design_numbers(geometry, rule.opening, rule.margin)[rule.number] for geometry in geometries
    ]
    middle = numbers[0]
    values = [number.value for number in numbers if number.value is not None]
    if len(values) < len(numbers):
        why = next(number.why for number in numbers if number.value is None)
        return Answer(pack, rule, line, CANNOT_TELL, middle, why)
    words = {INSIDE if _holds(rule, value) else OUTSIDE for value in values}
    if len(words) > 1:
        low, high = (_shown(value, middle.kind) for value in (min(values), max(values)))
        why = f"the number is uncertain or varies along the line: {low} to {high}"
        return Answer(pack, rule, line, CANNOT_TELL, middle, why)
    return Answer(pack, rule, line, words.pop(), middle, "")


def _holds(rule: Rule, value: float) -> bool:
    if rule.limit == "at_most":
        return value <= rule.value + ROUNDING
    if rule.limit == "at_least":
        return value >= rule.value - ROUNDING
    return value < rule.value - ROUNDING


def screen(scenario_file: ScenarioFile, packs: Sequence[Pack] | None = None) -> list[Answer]:
    """Compare both lines of a scenario with every rule.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    packs : sequence of Pack, optional
        Rule packs; those of edgesim when left out.

    Returns
    -------
    list of Answer
        By pack, rule and line; empty for a scenario without lines.
    """
    scenarios = list(_scenarios(scenario_file))
    found = []
    for pack in load_packs() if packs is None else packs:
        for rule in pack.rules:
            for line in rule.lines:
                geometries = [
                    geometry
                    for scenario in scenarios
                    for geometry in line_geometries(scenario, line)
                ]
                if geometries:
                    found.append(judge(pack, rule, line, geometries))
    return found


def _scenarios(scenario_file: ScenarioFile) -> Iterator[Scenario]:
    """The scenario at the middle, then with each uncertain input that matters at its ends."""
    yield scenario_file.central
    for path, distribution in scenario_file.distributions.items():
        if path.startswith(UNCERTAIN) and path != "site.retreat_rate":
            for end in distribution.support:
                yield scenario_file.overridden({path: end}).central


def dated_words(pack: Pack, begins: date) -> str:
    """Date of a text, and whether it has run out when the work begins."""
    if pack.runs_out is not None and pack.runs_out < begins:
        return f"{pack.dated}; ran out on {pack.runs_out.isoformat()}: fetch the text in force"
    return pack.dated


def ask_words(pack: Pack) -> str:
    """Whom to ask, which stands beside every answer."""
    return f"ask the agency: {pack.authority}"
