"""Imports point one way: from what a user writes to what a user reads."""

from __future__ import annotations

import ast
import shutil
from pathlib import Path

import pytest

import edgesim
from edgesim.kernels import ROOMS

PACKAGE = Path(edgesim.__file__).parent

BASE = {"constants", "errors", "kernels", "units", "names"}
MAY_IMPORT: dict[str, set[str]] = {
    "constants": set(),
    "errors": set(),
    "names": set(),
    "kernels": set(),
    "units": {"errors"},
    "processes": {"constants", "errors", "kernels"},
    "scenario": BASE | {"processes"},
    "forcing": BASE | {"scenario", "processes"},
    "model": BASE | {"scenario", "forcing", "processes"},
    "outcomes": BASE | {"processes", "scenario", "forcing", "model"},
    "monitoring": BASE | {"scenario", "outcomes"},
    "studies": BASE | {"scenario", "processes", "forcing", "model", "outcomes", "monitoring"},
    "figures": BASE | {"outcomes"},
    "report": BASE | {"scenario", "outcomes", "figures"},
    "cli": BASE
    | {"processes", "scenario", "forcing", "model", "outcomes", "studies", "figures", "report"}
    | {"monitoring"},
    "__main__": {"cli"},
    "__init__": set(),
}
"""Room -> rooms that it may import, besides itself and the version in ``edgesim/__init__``."""


def room_of(path: Path, package: Path) -> str:
    """Folder, or file without ending, directly in the package."""
    return path.relative_to(package).parts[0].removesuffix(".py")


def own_imports(path: Path) -> set[str]:
    """Rooms of the package that a file imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import in line {node.lineno}"
            module = node.module or ""
            # `from edgesim import x` names the room in x.
            names = (
                [f"edgesim.{alias.name}" for alias in node.names]
                if module == "edgesim"
                else [module]
            )
        found |= {name.split(".")[1] for name in names if name.startswith("edgesim.")}
    return found - {"__version__"}


def offences(package: Path) -> list[str]:
    """Every import that points the wrong way."""
    return [
        f"{path.relative_to(package)} imports {other}"
        for path in sorted(package.rglob("*.py"))
        for other in sorted(
            own_imports(path) - MAY_IMPORT[room_of(path, package)] - {room_of(path, package)}
        )
    ]


def test_imports_point_one_way() -> None:
    assert offences(PACKAGE) == []


def test_every_room_has_a_rule_and_every_rule_a_room() -> None:
    rooms = {room_of(path, PACKAGE) for path in PACKAGE.rglob("*.py")}
    assert rooms == set(MAY_IMPORT)


def test_rules_have_no_cycle() -> None:
    left = dict(MAY_IMPORT)
    while left:
        free = {room for room, others in left.items() if not others & left.keys()}
        assert free, f"each of {sorted(left)} waits for another"
        left = {room: others for room, others in left.items() if room not in free}


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("processes/mud.py", "from edgesim.scenario import Scenario"),
        ("scenario/site.py", "import edgesim.forcing.tally"),
        ("forcing/tally.py", "from edgesim.model.state import State"),
        ("figures/race.py", "from edgesim.model import records"),
        ("outcomes/summary.py", "from edgesim import figures"),
        ("figures/race.py", "from edgesim.report import words"),
        ("model/edge.py", "def late() -> None:\n    from edgesim.outcomes import dataset"),
    ],
)
def test_a_planted_import_is_found(tmp_path: Path, place: str, line: str) -> None:
    copy = tmp_path / "edgesim"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    with (copy / place).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    found = offences(copy)
    assert len(found) == 1
    assert found[0].startswith(f"{place} imports ")


def test_relative_imports_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "some.py"
    file.write_text("from . import other\n", encoding="utf-8")
    with pytest.raises(AssertionError, match="relative import in line 1"):
        own_imports(file)


def test_kernels_live_only_in_rooms_whose_change_compiles_anew():
    with_kernels = {
        path.relative_to(PACKAGE).parts[0]
        for path in PACKAGE.rglob("*.py")
        if "@kernel" in path.read_text(encoding="utf-8")
    }
    assert with_kernels, "no kernel found: this test looks for the wrong sign"
    assert with_kernels <= set(ROOMS)
    for room in ROOMS:
        assert MAY_IMPORT[room] <= BASE | set(ROOMS)
