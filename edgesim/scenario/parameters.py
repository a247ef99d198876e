"""What is known about every input: meaning, unit, limits, default, spread and source.

A section of a scenario is a frozen model whose fields are declared with
:func:`parameter`. Reading, checking, the reference page and the list of
defaults taken all work from these declarations and from nothing else.
"""

from __future__ import annotations

import operator
import types
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from edgesim.scenario.distributions import Distribution, Triangular
from edgesim.units import KINDS, both_ways

Mark = Literal["read", "from memory", "judgement", "common practice, no source", "computed", ""]

OURS = "edgesim"
"""Source of values that are ours."""

JUDGEMENT: Mark = "judgement"
MEMORY: Mark = "from memory"
READ: Mark = "read"


@dataclass(frozen=True)
class Column:
    """One column of a table given as a file or as a list of rows."""

    name: str
    kind: str
    meaning: str


@dataclass(frozen=True)
class Parameter:
    """The description of one input.

    Parameters
    ----------
    meaning : str
        Plain words: what it is and where to get it.
    kind : str
        Key of ``edgesim.units.KINDS``, or "text", "flag", "count", "date",
        "table" or "own" (read by a function of its own).
    key : str
        Key in the file, without unit; "" when it is the attribute's name.
    spread : Distribution or None
        Default distribution; None when the default is one number or absent.
    source, mark : str
        Where the default comes from and how far to trust it.
    above, at_least, below, at_most : float or None
        Limits; the second and the last may be dates. [inside unit of the kind]
    example : str
        A value as a user would write it.
    basic : bool
        Whether it is asked for in everyday use.
    certain : bool
        Whether it must be one number: layout and numerical settings.
    columns : tuple of Column
        Columns of a table.
    """

    meaning: str
    kind: str
    key: str = ""
    spread: Distribution | None = None
    source: str = ""
    mark: Mark = ""
    above: float | None = None
    at_least: float | date | None = None
    below: float | None = None
    at_most: float | date | None = None
    example: str = ""
    basic: bool = False
    certain: bool = False
    columns: tuple[Column, ...] = ()

    @property
    def is_quantity(self) -> bool:
        """Whether the value is a number with a kind of unit."""
        return self.kind in KINDS

    def inside_key(self, name: str) -> str:
        """Key of the attribute `name` when its value is a bare number in the inside unit."""
        suffix = KINDS[self.kind].suffix if self.is_quantity else ""
        return "_".join(filter(None, (self.key or name, suffix)))

    def shown_example(self) -> str:
        """An example as it stands in a file."""
        if self.example:
            return self.example
        if not self.is_quantity:
            return {"count": "10", "flag": "true"}.get(self.kind, '"..."')
        kind = KINDS[self.kind]
        return kind.example if kind.bare else f'"{kind.example}"'

    def limit_broken(self, value: Any) -> str:
        """Say which limit the value, a number or a date, breaks; "" when none."""
        limits: tuple[tuple[Any, Callable[[Any, Any], bool], str], ...] = (
            (self.above, operator.gt, "greater than"),
            (self.at_least, operator.ge, "at least"),
            (self.below, operator.lt, "less than"),
            (self.at_most, operator.le, "at most"),
        )
        for limit, holds, words in limits:
            if limit is not None and not holds(value, limit):
                if isinstance(limit, date):
                    words = {"at least": "no earlier than", "at most": "no later than"}[words]
                in_units = self.is_quantity and limit
                return (
                    f"must be {words} {both_ways(limit, self.kind) if in_units else plainly(limit)}"
                )
        return ""


def plainly(limit: float | date) -> str:
    """A limit without unit as people write it."""
    return limit.isoformat() if isinstance(limit, date) else f"{limit:g}"


def parameter(
    meaning: str,
    kind: str,
    default: Any = ...,
    *,
    spread: tuple[float, float, float] | Distribution | None = None,
    **more: Any,
) -> Any:
    """Declare one input of a section.

    Parameters
    ----------
    meaning, kind, **more
        See :class:`Parameter`.
    default : object
        Value when the file says nothing; ``...`` when it must be given. With a
        spread the default is the median of the spread.
    spread : tuple of three floats or Distribution
        Default distribution; three floats are low, mode and high.

    Returns
    -------
    pydantic field
        To be assigned to the attribute of a :class:`Section`.
    """
    if isinstance(spread, tuple):
        spread = Triangular(*spread)
    if spread is not None and default is ...:
        default = spread.median
    about = Parameter(meaning, kind, spread=spread, **more)
    limits: dict[str, Any] = {
        name: limit
        for name, limit in (
            ("gt", about.above),
            ("ge", about.at_least),
            ("lt", about.below),
            ("le", about.at_most),
        )
        if limit is not None
    }
    extra: Any = {"edgesim": about}
    return Field(default, description=meaning, json_schema_extra=extra, **limits)


class Section(BaseModel):
    """A table of a scenario: frozen, without unknown fields, finite numbers only."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


def about_field(field: FieldInfo) -> Parameter:
    """Return the description that :func:`parameter` attached to a field."""
    extra = field.json_schema_extra
    assert isinstance(extra, dict), "every field of a section is declared with parameter()"
    found: Any = extra["edgesim"]
    assert isinstance(found, Parameter)
    return found


def parameters_of(section: type[Section]) -> Iterator[tuple[str, Parameter, FieldInfo]]:
    """Attribute, description and field of every input of a section, in order."""
    for name, field in section.model_fields.items():
        yield name, about_field(field), field


def section_class(field: FieldInfo) -> tuple[type[Section] | None, bool]:
    """Return the section that a field holds, if any, and whether it holds a list of them."""
    for annotation in _alternatives(field.annotation):
        if isinstance(annotation, type) and issubclass(annotation, Section):
            return annotation, False
        if get_origin(annotation) is tuple:
            inner = get_args(annotation)[0]
            if isinstance(inner, type) and issubclass(inner, Section):
                return inner, True
    return None, False


def choices_of(field: FieldInfo) -> tuple[str, ...]:
    """Words that a field with a fixed list of choices allows; empty when it has none."""
    return tuple(
        str(choice)
        for annotation in _alternatives(field.annotation)
        if get_origin(annotation) is Literal
        for choice in get_args(annotation)
    )


def _alternatives(annotation: Any) -> tuple[Any, ...]:
    """Members of a union; the annotation itself when it is none."""
    if get_origin(annotation) in (Union, types.UnionType):
        return get_args(annotation)
    return (annotation,)
