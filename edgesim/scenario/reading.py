"""From the tables of a file to a tree of values in inside units, with every problem noted.

The tree has the shape of :class:`edgesim.scenario.model.Scenario`; its leaves are
numbers, words or distributions. What is wrong is collected, never raised, so
that a user sees all of it at once.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from pydantic.fields import FieldInfo

from edgesim.errors import UnitError
from edgesim.scenario.distributions import (
    CHOICE_FORM,
    FORMS,
    UNITLESS_KEYS,
    Choice,
    Distribution,
    from_entries,
)
from edgesim.scenario.parameters import (
    Parameter,
    Section,
    choices_of,
    parameters_of,
    section_class,
)
from edgesim.scenario.tables import TableError, read_table, rows_from_file
from edgesim.units import (
    KINDS,
    both_ways,
    difference_to_inside,
    parse_difference,
    parse_quantity,
    to_inside,
)

Tree = dict[str, Any]

BAD: Final = object()
"""Stands in the tree where a value was given but is wrong."""


@dataclass(frozen=True)
class Origin:
    """Where a value comes from.

    Parameters
    ----------
    key : str
        Key as it stands in the file, or would stand there.
    text : str
        Value as it stands in the file.
    given_by : str
        "file", "default" or "material".
    source, mark : str
        Source of a default and how far to trust it.
    kind : str
        Kind of quantity.
    """

    key: str
    text: str
    given_by: str
    source: str = ""
    mark: str = ""
    kind: str = ""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, in the pieces of its sentence."""

    key: str
    text: str
    what: str
    remedy: str

    def sentence(self, file: str) -> str:
        """Return file, key, value, what is wrong and what to do."""
        value = f" = {self.text}" if self.text else ""
        return f"{file}: {self.key}{value}: {self.what}. {self.remedy}"


@dataclass
class Reader:
    """Reads the tables of one file and remembers origins and problems.

    `own` holds the reader of each input that has a form of its own.
    """

    folder: Path
    own: Mapping[tuple[str, str], Callable[[Reader, object, str], Any]]
    problems: list[Problem] = field(default_factory=list)
    origins: dict[str, Origin] = field(default_factory=dict)

    def blame(self, key: str, text: str, what: str, remedy: str) -> Any:
        """Note a problem; return the mark of a wrong value."""
        self.problems.append(Problem(key, text, what, remedy))
        return BAD

    def section(self, cls: type[Section], table: object, path: str) -> Tree | Any:
        """Read the table of a section, without defaults.

        Parameters
        ----------
        cls : type of Section
            What the table describes.
        table : object
            What stands in the file.
        path : str
            Where it stands; "" for the whole file.

        Returns
        -------
        dict
            Attribute -> value for what the file gives, or `BAD`.
        """
        if not isinstance(table, dict):
            return self.blame(path, shown(table), "must be a table", f"Begin it with [{path}].")
        allowed = allowed_keys(cls)
        tree: Tree = {}
        meant: list[str] = []
        for key, value in table.items():
            full = f"{path}.{key}" if path else key
            if key not in allowed:
                meant.append(self._unknown(full, key, value, allowed))
                continue
            name, suffix, about, info = allowed[key]
            inner = f"{path}.{name}" if path else name
            if name in tree:
                first = self.origins[inner].key if inner in self.origins else name
                tree[name] = self.blame(
                    full, shown(value), f'is given twice, also as "{first}"', "Keep one of the two."
                )
                continue
            self.origins[inner] = Origin(full, shown(value), "file", kind=about.kind)
            tree[name] = self._value(cls, name, about, info, value, suffix, inner)
        for name in filter(None, meant):
            tree.setdefault(name, BAD)
        return tree

    def _unknown(self, full: str, key: str, value: object, allowed: dict[str, Any]) -> str:
        """Note an unknown key; return the attribute that was probably meant, else ""."""
        near = difflib.get_close_matches(key, allowed, n=1, cutoff=0.65)
        bases = sorted({about.key or name for name, _, about, _ in allowed.values()})
        remedy = (
            f'Did you mean "{near[0]}"?' if near else f"Known keys here are {', '.join(bases)}."
        )
        self.blame(full, shown(value), "is not a known key", remedy)
        return str(allowed[near[0]][0]) if near else ""

    def _value(
        self,
        cls: type[Section],
        name: str,
        about: Parameter,
        info: FieldInfo,
        value: object,
        suffix: str,
        path: str,
    ) -> Any:
        """Read the value of one key by its kind."""
        key, text = self.origins[path].key, self.origins[path].text
        if about.kind == "section":
            return self._sections(info, value, path)
        if about.kind == "own":
            return self.own[cls.__name__, name](self, value, path)
        if about.kind == "table":
            return self._table(about, value, suffix, path)
        if about.is_quantity:
            return self.quantity(about, value, suffix, key, text)
        if isinstance(about.spread, Choice) and isinstance(value, dict):
            return self._choice(key, text, value, choices_of(info))
        if about.kind == "text" and value == info.default == "":
            return value  # what may be left out may be left empty
        read = _PLAIN[about.kind](value)
        if read is None:
            return self.blame(
                key,
                text,
                f"must be {_PLAIN_NAMES[about.kind]}",
                f"Write for example {about.shown_example()}.",
            )
        choices = choices_of(info)
        if choices and read not in choices:
            return self.choose(key, text, str(read), choices)
        if about.kind in ("count", "date") and (broken := about.limit_broken(read)):
            form = {"count": "a whole number", "date": "a day"}[about.kind]
            return self.blame(
                key, text, broken, f"Give {form}, for example {about.shown_example()}."
            )
        return read

    def choose(self, key: str, text: str, given: str, choices: tuple[str, ...]) -> Any:
        """Note that a word is none of those allowed."""
        near = difflib.get_close_matches(given, choices, n=1)
        hint = f' Did you mean "{near[0]}"?' if near else ""
        names = ", ".join(f'"{choice}"' for choice in choices)
        return self.blame(key, text, "is not one of the choices", f"Write one of {names}.{hint}")

    def _choice(self, key: str, text: str, value: dict[str, Any], allowed: tuple[str, ...]) -> Any:
        """Read words with their weights; all alike when there are none."""
        words = value.get("choices")
        if set(value) <= {"choices", "weights"} and isinstance(words, list) and words:
            weights = value.get("weights", [1.0] * len(words))
            for word in words:
                if word not in allowed:
                    return self.choose(key, text, str(word), allowed)
            try:
                return Choice(tuple(words), tuple(float(weight) for weight in weights))
            except (TypeError, ValueError) as error:
                return self.blame(key, text, str(error), f"Write {CHOICE_FORM}.")
        return self.blame(key, text, "is not a list of choices", f"Write {CHOICE_FORM}.")

    def _sections(self, info: FieldInfo, value: object, path: str) -> Any:
        """Read a table, or a list of tables whose places are called by their names."""
        cls, several = section_class(info)
        assert cls is not None
        if not several:
            return self.section(cls, value, path)
        if not isinstance(value, list) or not value:
            return self.blame(
                path, shown(value), "must hold at least one table", f"Begin each with [[{path}]]."
            )
        labels = labels_of(value)
        doubles = {label for label in labels if labels.count(label) > 1}
        for double in sorted(doubles):
            self.blame(
                path, f'"{double}"', "is the name of more than one table", "Give each its own name."
            )
        return [
            self.section(cls, item, f"{path}[{label}]")
            for item, label in zip(value, labels, strict=True)
        ]

    def _table(self, about: Parameter, value: object, suffix: str, path: str) -> Any:
        """Read rows from the CSV file that is named, or from the rows written here."""
        origin = self.origins[path]
        try:
            if isinstance(value, str):
                return read_table(self.folder / value, about.columns)
            if isinstance(value, list):
                return rows_from_file(value, about.columns, suffix)
        except TableError as error:
            return self.blame(origin.key, origin.text, error.what, error.remedy)
        return self.blame(
            origin.key, origin.text, "must be the name of a CSV file or a list of rows",
            f"Write for example {about.shown_example()}.",
        )  # fmt: skip

    def quantity(self, about: Parameter, value: object, suffix: str, key: str, text: str) -> Any:
        """Read a number, a text with a unit or a distribution, and check its limits."""
        kind = KINDS[about.kind]
        remedy = f"{about.meaning.rstrip('.').split(';')[0]}: give {kind.name}, for example {about.shown_example()}."
        try:
            if isinstance(value, dict):
                if about.certain:
                    return self.blame(key, text, "must be one number, not a distribution", remedy)
                read: float | Distribution = self._distribution(value, about.kind, suffix)
            else:
                read = _number(value, about.kind, suffix)
        except UnitError as error:
            return self.blame(key, text, str(error), remedy)
        except ValueError as error:
            return self.blame(key, text, str(error), f"A distribution is written {FORMS}.")
        for number in ends(read):
            if broken := about.limit_broken(number):
                where = (
                    f" (it reaches {both_ways(number, about.kind)})"
                    if isinstance(read, Distribution)
                    else ""
                )
                return self.blame(key, text, broken + where, remedy)
        return read

    def _distribution(self, value: dict[str, Any], kind: str, suffix: str) -> Distribution:
        """Read the entries of a distribution, each in its unit."""
        entries: dict[str, float | tuple[float, ...]] = {}
        for name, entry in value.items():
            if isinstance(entry, list):
                entries[name] = tuple(_entry(name, item, kind, suffix) for item in entry)
            else:
                entries[name] = _entry(name, entry, kind, suffix)
        try:
            return from_entries(entries)
        except TypeError as error:
            msg = "only values and weights are lists"
            raise ValueError(msg) from error


def _entry(name: str, value: object, kind: str, suffix: str) -> float:
    """One entry of a distribution: a pure number, a width or a value."""
    if name in UNITLESS_KEYS:
        return _number(value, "number", "")
    if name == "sd" and isinstance(value, str):
        return parse_difference(value, kind)
    if name == "sd" and suffix:
        number = _number(value, "number", "")
        return difference_to_inside(number, KINDS[kind].suffixes[suffix], kind)
    return _number(value, kind, suffix)


def _number(value: object, kind_name: str, suffix: str) -> float:
    """One number in the inside unit, from a bare number or a text with a unit."""
    kind = KINDS[kind_name]
    if isinstance(value, str):
        if suffix and suffix in kind.suffixes:
            msg = f'has a unit in the key ("_{suffix}"), so the value must be a bare number'
            raise UnitError(msg)
        return parse_quantity(value, kind_name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        msg = "must be a number or a text with a unit"
        raise UnitError(msg)
    if not math.isfinite(value):
        msg = "must be a finite number"
        raise UnitError(msg)
    if suffix:
        return to_inside(float(value), kind.suffixes[suffix], kind_name)
    if not kind.bare:
        msg = "has no unit"
        raise UnitError(msg)
    return float(value)


def ends(value: float | Distribution) -> tuple[float, ...]:
    """Every value at which limits are checked: the middle and both ends."""
    if isinstance(value, Distribution):
        return (value.median, *value.support)
    return (value,)


def labels_of(tables: list[Any]) -> list[str]:
    """Names by which the tables of a list are called: their own, else their number."""
    return [
        table["name"]
        if isinstance(table, dict) and isinstance(table.get("name"), str)
        else str(number)
        for number, table in enumerate(tables, start=1)
    ]


def allowed_keys(cls: type[Section]) -> dict[str, tuple[str, str, Parameter, FieldInfo]]:
    """Every key that a table may hold -> attribute, ending, description, field."""
    allowed: dict[str, tuple[str, str, Parameter, FieldInfo]] = {}
    for name, about, info in parameters_of(cls):
        base = about.key or name
        allowed[base] = (name, "", about, info)
        for suffix in _suffixes(about):
            allowed[f"{base}_{suffix}"] = (name, suffix, about, info)
    return allowed


def given_keys(cls: type[Section], name: str) -> list[str]:
    """Every key with which an attribute may be given."""
    return [key for key, (attribute, *_) in allowed_keys(cls).items() if attribute == name]


def _suffixes(about: Parameter) -> tuple[str, ...]:
    """Endings that the key may have."""
    if about.is_quantity:
        return tuple(suffix for suffix in KINDS[about.kind].suffixes if suffix)
    if about.kind == "table" and {column.kind for column in about.columns} == {"length"}:
        return tuple(KINDS["length"].suffixes)
    return ()


def shown(value: object, width: int = 60) -> str:
    """Value as it would stand in the file, cut to a readable length."""
    text = toml_value(value)
    return text if len(text) <= width else text[: width - 3] + "..."


def toml_value(value: object) -> str:
    """Value in TOML, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        escaped = (
            value.replace("\\", "\\\\")
            .replace('"', '\\"')
            .replace("\n", "\\n")
            .replace("\t", "\\t")
        )
        return f'"{escaped}"'
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_key(k)} = {toml_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    if isinstance(value, date | datetime):
        return value.isoformat()
    return repr(value)


def toml_key(key: str) -> str:
    """Key in TOML, quoted where it must be."""
    return (
        key
        if key.replace("_", "").replace("-", "").isalnum() and key.isascii()
        else toml_value(key)
    )


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _text(value: object) -> str | None:
    return value if isinstance(value, str) and value.strip() else None


def _flag(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _day(value: object) -> date | None:
    return value if isinstance(value, date) and not isinstance(value, datetime) else None


_PLAIN: dict[str, Callable[[object], Any]] = {
    "count": _whole,
    "text": _text,
    "flag": _flag,
    "date": _day,
}
_PLAIN_NAMES = {
    "count": "a whole number",
    "text": "a text in quotes",
    "flag": "true or false",
    "date": "a date without quotes, as 2027-01-01",
}
