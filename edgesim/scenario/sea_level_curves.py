"""National sea-level scenarios by name: targets for 2050 and 2100 with their spread."""

from __future__ import annotations

from edgesim.scenario.distributions import Triangular
from edgesim.scenario.reading import BAD, Origin, Reader, Tree, toml_value

SOURCE = "global mean of the five national scenarios (Sweet et al., 2022), spread of a quarter: judgement"

CURVES: dict[str, tuple[float, float]] = {
    "low": (0.15, 0.30),
    "intermediate-low": (0.20, 0.50),
    "intermediate": (0.28, 1.00),
    "intermediate-high": (0.37, 1.50),
    "high": (0.43, 2.00),
}
"""Rise of the global mean from 2000 to 2050 and to 2100 (from memory). [m]"""

SPREAD = 0.25
"""Half the range of each target relative to it (judgement). [1]"""


def fill_sea_level(reader: Reader, tree: Tree) -> None:
    """Give the targets of a named scenario, and insist that targets come in pairs.

    Parameters
    ----------
    reader : Reader
        Takes origins and problems.
    tree : dict
        The scenario as read; its section on sea level is completed.
    """
    section = tree.get("sea_level")
    if not isinstance(section, dict) or BAD in section.values():
        return
    name = section.get("scenario")
    given = [key for key in ("rise_2050", "rise_2100") if key in section]
    if name is not None:
        origin = reader.origins["sea_level.scenario"]
        if given:
            reader.blame(
                origin.key,
                origin.text,
                f"stands beside {given[0]}",
                "Give either the name of a scenario or both targets.",
            )
            return
        for key, target in zip(("rise_2050", "rise_2100"), CURVES[name], strict=True):
            spread = Triangular((1.0 - SPREAD) * target, target, (1.0 + SPREAD) * target)
            section[key] = spread
            text = toml_value(spread.entries())
            reader.origins[f"sea_level.{key}"] = Origin(
                f"sea_level.{key}_m", text, "material", SOURCE, "from memory", "length"
            )
        return
    if len(given) == 1:
        origin = reader.origins[f"sea_level.{given[0]}"]
        reader.blame(origin.key, origin.text, "stands alone", "Give both rise_2050 and rise_2100.")
        return
    beside = [key for key in ("rate", "acceleration") if key in section]
    if given and beside:
        origin = reader.origins[f"sea_level.{beside[0]}"]
        reader.blame(
            origin.key,
            origin.text,
            "stands beside rise_2050 and rise_2100",
            "Give either the two targets, or rate and acceleration.",
        )
