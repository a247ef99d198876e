"""The reference page of the scenario file, made from the declarations of the inputs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic_core import PydanticUndefined

from edgesim.scenario.distributions import CHOICE_FORM, FORMS, Distribution
from edgesim.scenario.model import Scenario
from edgesim.scenario.parameters import (
    Parameter,
    Section,
    choices_of,
    parameters_of,
    plainly,
    section_class,
)
from edgesim.scenario.reading import toml_value
from edgesim.units import KINDS, plain

_OPENING = f"""# Scenario file

A scenario is a TOML file. This page is printed by `python -m edgesim.scenario.reference` from
the declarations in `edgesim/scenario/`; change those, not this page.

- A length, speed, mass or any other physical value is written with its unit, either in the value,
  `gap = "5 ft"`, or in the key, `gap_m = 1.524`. A bare number without unit is refused.
- Any number, unless marked *one number*, may be a distribution: `{FORMS}`.
  With `{{median, factor}}` nine draws of ten lie between median/factor and median x factor. The normal
  and the lognormal are cut at three standard deviations.
- A choice between rival formulas may be uncertain too: `{CHOICE_FORM}`; one word fixes it.
- Names of files are looked for beside the scenario file.
- **Bold** keys are the ones asked for in everyday use.
- *Mark* says how far a default may be trusted: read in the source named, from memory, or judgement.
"""


def reference_page() -> str:
    """Return the reference page in Markdown."""
    return "\n".join([_OPENING, *_section(Scenario, "")]).rstrip() + "\n"


def basic_inputs() -> list[str]:
    """Paths of what is asked for in everyday use; a table counts once."""
    return list(_basic(Scenario, ""))


def _basic(cls: type[Section], path: str) -> Iterator[str]:
    for name, about, info in parameters_of(cls):
        inner = f"{path}.{name}" if path else name
        section, several = section_class(info)
        if about.basic:
            yield inner
        elif section is not None and not several:
            yield from _basic(section, inner)


def _section(cls: type[Section], path: str) -> Iterator[str]:
    """Yield the lines of one table and of the tables in it."""
    inner: list[tuple[type[Section], str]] = []
    title = f"`[{path}]`" if path else "Top of the file"
    yield f"## {title}\n\n{cls.__doc__}\n"
    yield "| key | meaning | unit | default | limits | source of the default | mark |"
    yield "|---|---|---|---|---|---|---|"
    for name, about, info in parameters_of(cls):
        section, several = section_class(info)
        key = about.key or name
        if section is not None and about.kind == "section":
            place = f"{path}.{key}" if path else key
            inner.append((section, f"[{place}]" if several else place))
        yield _row(key, about, info)
    yield ""
    for section, place in inner:
        yield from _section(section, place)


def _row(key: str, about: Parameter, info: Any) -> str:
    shown = f"**`{key}`**" if about.basic else f"`{key}`"
    meaning = about.meaning + (" *One number.*" if about.certain else "")
    choices = choices_of(info)
    if choices:
        meaning += " One of " + ", ".join(f'"{choice}"' for choice in choices) + "."
    cells = [
        shown,
        meaning,
        _unit(about),
        _default(about, info),
        _limits(about),
        about.source,
        about.mark,
    ]
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _unit(about: Parameter) -> str:
    """Endings by which a unit may be given, or the form of the value."""
    if about.is_quantity:
        kind = KINDS[about.kind]
        endings = [f"`_{ending}`" for ending in kind.suffixes if ending]
        return ("number; " if kind.bare else "") + ", ".join(endings) if endings else "number"
    if about.kind == "table":
        return "CSV file or rows: " + ", ".join(column.name for column in about.columns)
    return {"count": "whole number", "flag": "true or false", "section": "table", "own": ""}.get(
        about.kind, about.kind
    )


def _default(about: Parameter, info: Any) -> str:
    unit = plain(KINDS[about.kind].unit) if about.is_quantity else ""
    if isinstance(about.spread, Distribution):
        numbers = about.spread.entries()
        return f"`{toml_value(numbers)}` {unit}".strip()
    default = info.default
    if about.source.startswith("filled in") and default in (None, PydanticUndefined):
        return "of the material"
    if default is PydanticUndefined:
        return (
            f"must be given, e.g. `{about.shown_example()}`"
            if about.kind != "section"
            else "must be given"
        )
    if default is None or isinstance(default, Section) or default in ((), {}):
        return (
            "none"
            if default is None or default == ()
            else "defaults"
            if isinstance(default, Section)
            else "none"
        )
    return f"`{toml_value(default)}` {unit}".strip()


def _limits(about: Parameter) -> str:
    parts = [
        f"{sign} {plainly(limit)}"
        for sign, limit in (
            (">", about.above),
            (">=", about.at_least),
            ("<", about.below),
            ("<=", about.at_most),
        )
        if limit is not None
    ]
    unit = plain(KINDS[about.kind].unit) if about.is_quantity and parts else ""
    return " and ".join(parts) + (f" {unit}" if unit else "")


if __name__ == "__main__":
    import sys

    sys.stdout.write(reference_page())
