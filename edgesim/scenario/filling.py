"""Fills what a file leaves out: numbers of materials, layout, defaults; notes what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic_core import PydanticUndefined

from edgesim.processes.substrate import UNITS
from edgesim.scenario import materials
from edgesim.scenario.design import MATERIAL, NO_ACTION, Reef, Walls
from edgesim.scenario.distributions import Distribution
from edgesim.scenario.parameters import Parameter, Section, parameters_of, section_class
from edgesim.scenario.price_book import fill_book
from edgesim.scenario.prices import Prices
from edgesim.scenario.reading import BAD, Origin, Reader, Tree, labels_of, toml_value


def fill(reader: Reader, cls: type[Section], tree: Tree, path: str) -> None:
    """Complete the tree of a section in place, and all sections in it.

    Parameters
    ----------
    reader : Reader
        Takes origins and problems.
    cls : type of Section
        What the tree describes.
    tree : dict
        What the file gives.
    path : str
        Where it stands; "" for the whole file.
    """
    if cls in _MATERIALS:
        _MATERIALS[cls](reader, tree, path)
    for name, about, info in parameters_of(cls):
        inner = f"{path}.{name}" if path else name
        if name in tree:
            _fill_inner(reader, info, tree[name], inner)
            continue
        inner_cls, several = section_class(info)
        if info.default is PydanticUndefined:
            _missing(reader, about, inner)
            tree[name] = BAD
        elif inner_cls is not None and not several and isinstance(info.default, Section):
            tree[name] = {}
            fill(reader, inner_cls, tree[name], inner)
        elif info.default is not None and not several:
            default = about.spread if about.spread is not None else info.default
            tree[name] = default
            key = inner.removesuffix(name) + about.inside_key(name)
            text = _text(default)
            reader.origins[inner] = Origin(
                key, text, "default", about.source, about.mark, about.kind
            )
    ordered = {name: tree[name] for name in cls.model_fields if name in tree}
    tree.clear()
    tree.update(ordered)


def _text(value: Any) -> str:
    """Value as it would stand in a file."""
    return toml_value(value.entries() if isinstance(value, Distribution) else value)


def _fill_inner(reader: Reader, info: Any, value: Any, path: str) -> None:
    """Fill the section or sections that stand in a field."""
    cls, several = section_class(info)
    if cls is None or value is BAD:
        return
    if not several:
        if isinstance(value, dict):
            fill(reader, cls, value, path)
        return
    for label, item in zip(labels_of(value), value, strict=True):
        if isinstance(item, dict):
            fill(reader, cls, item, f"{path}[{label}]")


def _missing(reader: Reader, about: Parameter, path: str) -> None:
    key = path[: path.rfind(".") + 1] + (about.key or path[path.rfind(".") + 1 :])
    if about.kind == "section":
        reader.blame(key, "", "is missing", f"{about.meaning} Begin it with [{key}].")
        return
    name = key[key.rfind(".") + 1 :]
    example = about.shown_example()
    written = example if "=" in example else f"{name} = {example}"
    reader.blame(key, "", "is missing", f"{about.meaning} Write for example {written}.")


def _take(
    reader: Reader, tree: Tree, path: str, values: dict[str, materials.Filled], cls: type[Section]
) -> None:
    """Put the numbers of a material where the file gives none."""
    described = {name: about for name, about, _ in parameters_of(cls)}
    for name, filled in values.items():
        if name not in described or name in tree:
            continue
        about = described[name]
        tree[name] = filled.value
        reader.origins[f"{path}.{name}"] = Origin(
            f"{path}.{about.inside_key(name)}",
            _text(filled.value),
            "material",
            filled.source,
            filled.mark,
            about.kind,
        )


def _named(
    reader: Reader, tree: Tree, path: str, key: str, names: tuple[str, ...], default: str = ""
) -> str:
    """Name of a material that is known; "" when there is none."""
    given = tree.get(key, default)
    if given is BAD or not given:
        return ""
    if given not in names:
        origin = reader.origins[f"{path}.{key}"]
        tree[key] = reader.choose(origin.key, origin.text, given, names)
        return ""
    return str(given)


def _fill_walls(reader: Reader, tree: Tree, path: str) -> None:
    posts = _named(reader, tree, path, "post_wood", materials.woods_for("post"))
    branches = _named(
        reader, tree, path, "branch_wood", materials.woods_for("branch"), "untreated branches"
    )
    ties = _named(reader, tree, path, "ties", materials.tie_names(), "galvanised")
    if posts:
        _take(reader, tree, path, materials.post_values(posts), Walls)
    if branches:
        _take(reader, tree, path, materials.branch_values(branches), Walls)
    if ties:
        _take(reader, tree, path, materials.tie_values(ties), Walls)
    _bear_unknown(tree, Walls)
    _layout(reader, tree, path)


def _bear_unknown(tree: Tree, cls: type[Section]) -> None:
    """Keep numbers of an unknown material from being called missing as well."""
    for name, about, info in parameters_of(cls):
        if about.source == MATERIAL and info.default is PydanticUndefined:
            tree.setdefault(name, BAD)


def _layout(reader: Reader, tree: Tree, path: str) -> None:
    """Insist on either count, length and gap, or segments."""
    if "segments" in tree:
        for name in sorted(tree.keys() & {"count", "length", "gap", "start"}):
            origin = reader.origins[f"{path}.{name}"]
            reader.blame(
                origin.key,
                origin.text,
                "stands beside segments",
                "Give either segments, or count, length and gap.",
            )
        return
    for name, about, _ in parameters_of(Walls):
        needed = name in ("count", "length") or (name == "gap" and tree.get("count") != 1)
        if needed and name not in tree:
            _missing(reader, about, f"{path}.{name}")


def _fill_reef(reader: Reader, tree: Tree, path: str) -> None:
    name = tree.get("material")
    unit = UNITS.get(name) if isinstance(name, str) else None
    if unit is not None:
        _take(reader, tree, path, materials.unit_values(unit.name), Reef)
    _bear_unknown(tree, Reef)
    if unit is not None and unit.container == "none":
        for key in sorted(tree.keys() & {"wire", "rings"}):
            origin = reader.origins[f"{path}.{key}"]
            what = "is given for concrete units, which have no wire"
            reader.blame(origin.key, origin.text, what, "Remove this line.")
        return
    if "wire" not in tree:
        if unit is None or unit.container == "wire":
            remedy = 'Wire of the cage. Write for example wire = "galvanised".'
            reader.blame(f"{path}.wire", "", "is missing", remedy)
        return
    wire = _named(reader, tree, path, "wire", materials.wire_names())
    rings = _named(reader, tree, path, "rings", materials.wire_names(), wire)
    if wire:
        _take(reader, tree, path, materials.wire_values(wire, "mesh"), Reef)
    if rings:
        _take(reader, tree, path, materials.wire_values(rings, "ring"), Reef)


_MATERIALS: dict[type[Section], Callable[[Reader, Tree, str], None]] = {
    Walls: _fill_walls,
    Reef: _fill_reef,
    Prices: fill_book,
}


def place_lines(reader: Reader, tree: Tree) -> None:
    """Turn count, length and gap into segments and put lines without a start in the middle."""
    site, design = tree.get("site"), tree.get("design")
    shore = site.get("shore_length") if isinstance(site, dict) else None
    if not isinstance(design, dict) or not isinstance(shore, float):
        return
    walls, reef = design.get("walls"), design.get("reef")
    if isinstance(walls, dict) and "segments" not in walls:
        count, length, gap = walls.get("count"), walls.get("length"), walls.get("gap", 0.0)
        if isinstance(count, int) and isinstance(length, float) and isinstance(gap, float):
            start = _start(reader, walls, "design.walls", shore, count * length + (count - 1) * gap)
            walls["segments"] = [
                {"start": start + i * (length + gap), "length": length} for i in range(count)
            ]
    if isinstance(reef, dict) and isinstance(reef.get("length"), float):
        _start(reader, reef, "design.reef", shore, reef["length"])


def _start(reader: Reader, line: Tree, path: str, shore: float, total: float) -> float:
    """Where a line begins: as given, else so that it lies in the middle of the shore."""
    if not isinstance(line.get("start"), float):
        line["start"] = (shore - total) / 2.0
        origin = Origin(f"{path}.start_m", repr(line["start"]), "layout", kind="length")
        reader.origins.setdefault(f"{path}.start", origin)
    return float(line["start"])


def complete_options(reader: Reader, tree: Tree) -> None:
    """Put "no action" first and, when the file names no options, the design as it stands."""
    options = tree.get("options", [])
    if options is BAD:
        return
    names = [option.get("name") for option in options if isinstance(option, dict)]
    added: list[Tree] = [] if NO_ACTION in names else [{"name": NO_ACTION}]
    design = tree.get("design")
    if not options and isinstance(design, dict):
        lines = {line: True for line in ("walls", "reef") if line in design}
        added += [{"name": "design", **lines}] if lines else []
    for option in added:
        for name, value in option.items():
            path = f"options[{option['name']}].{name}"
            reader.origins[path] = Origin(path, toml_value(value), "layout")
    tree["options"] = [*added, *options]
