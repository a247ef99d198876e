"""The reference page of materials, made from the tables of the processes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from edgesim.processes.substrate import UNITS
from edgesim.processes.wire import STEEL_RATES, TIES, WIRES, ZINC_RATES
from edgesim.processes.wood import WOODS

Spread = Sequence[float]

_OPENING = """# Materials

What walls and reef can be made of, with the numbers that a scenario takes when it names them. This page is
printed by `python -m edgesim.scenario.materials_reference` from the tables in `edgesim/processes/`
(`wood.py`, `wire.py`, `substrate.py`); change those, not this page. `edgesim materials` prints the same.

- Three numbers are low, most likely and high; each future draws its own between them. Write a number of
  your own in the scenario, as `post_life = "12 years"`, to use it instead.
- *Mark* says how far a row may be trusted: read in the source named, from memory, or judgement.
- A life is that at full attack: warm, salty, always under water. Fresher or colder water and time in
  air lengthen it where borers eat the material. More than a third of the pieces outlive it.
"""


def tables() -> Iterator[tuple[str, tuple[str, ...], list[tuple[str, ...]]]]:
    """Yield title, headings and rows of each table of materials."""
    yield (
        "Posts: `design.walls.post_wood`",
        ("name", "life (years)", "shape", "eaten by borers", "plastic", "source", "mark"),
        [
            (
                wood.name, _three(wood.life), f"{wood.shape:g}", _yes(wood.eaten_by_borers),
                _yes(wood.has_plastic), wood.source, wood.mark,
            )
            for wood in WOODS.values()
            if wood.part == "post"
        ],
    )  # fmt: skip
    yield (
        "Branches: `design.walls.branch_wood`",
        ("name", "decay (per year)", "life of a piece (years)", "eaten by borers", "source", "mark"),
        [
            (
                wood.name, _three(wood.decay or ()), _three(wood.life), _yes(wood.eaten_by_borers),
                wood.source, wood.mark,
            )
            for wood in WOODS.values()
            if wood.part == "branch"
        ],
    )  # fmt: skip
    yield (
        "Wires: `design.walls.ties`, `design.reef.wire`, `design.reef.rings`",
        (
            "name", "coating (g/m2)", "coating lasts x zinc", "jacket (years)", "jackets cut",
            "steel rusts x carbon steel", "source", "mark",
        ),
        [
            (
                wire.name, _three([1e3 * mass for mass in wire.coating_mass]),
                _three(wire.coating_factor), _three(wire.jacket_life), _three(wire.damaged_share),
                _three(wire.steel_factor), wire.source, wire.mark,
            )
            for wire in WIRES.values()
        ],
    )  # fmt: skip
    yield (
        "Ties that are no wire: `design.walls.ties`",
        ("name", "life (years)", "shape", "source", "mark"),
        [
            (tie.name, _three(tie.life), f"{tie.shape:g}", tie.source, tie.mark)
            for tie in TIES.values()
        ],
    )
    yield (
        "Reef units: `design.reef.material`",
        (
            "name", "holds loose shell", "container", "bag lasts (years)", "open share",
            "settlement x loose shell", "plastic", "source", "mark",
        ),
        [
            (
                unit.name, _yes(unit.holds_shell), unit.container, _three(unit.bag_life),
                _three(unit.porosity), _three(unit.substrate_factor), _yes(unit.has_plastic),
                unit.source, unit.mark,
            )
            for unit in UNITS.values()
        ],
    )  # fmt: skip
    yield (
        "Loss of metal by place",
        ("place", "zinc (um/yr)", "bare steel, a side (um/yr)"),
        [
            (
                place, _three([1e6 * rate for rate in ZINC_RATES[place]]),
                _three([1e6 * rate for rate in STEEL_RATES[place]]),
            )
            for place in ZINC_RATES
        ],
    )  # fmt: skip


def materials_page() -> str:
    """Return the page in Markdown."""
    lines = [_OPENING]
    for title, headings, rows in tables():
        lines += [f"## {title}", "", _line(headings), "|" + "---|" * len(headings)]
        lines += [_line(row) for row in rows]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _three(numbers: Spread) -> str:
    """Low, most likely and high; one number where they are the same."""
    if not numbers or not any(numbers):
        return "none"
    if min(numbers) == max(numbers):
        return f"{numbers[0]:g}"
    return ", ".join(f"{number:.3g}" for number in numbers)


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"


if __name__ == "__main__":
    import sys

    sys.stdout.write(materials_page())
