"""What reef units are made of: shell in a cage or a bag, or solid modules.

Shares without unit, lengths in metres, lives in Julian years.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Spread = tuple[float, float, float]


@dataclass(frozen=True)
class Unit:
    """One kind of reef unit.

    Parameters
    ----------
    name : str
        Our plain name.
    holds_shell : bool
        Whether loose shell is held by a container that can fail; else the unit is solid.
    container : str
        "wire", "bag" or "none".
    bag_life : tuple of float
        Weibull scale of the life of a bag: low, mode, high; zeros without a bag. [year]
    bag_shape : float
        Weibull shape of that life. [1]
    porosity : tuple of float
        Share of the unit that is open water: low, mode, high. [1]
    grain_size : float
        Size of the shells or of the openings. [m]
    substrate_factor : tuple of float
        Settlement on it relative to loose shell: low, mode, high. [1]
    solid_density : float
        Density of its solid parts. [kg m-3]
    has_plastic : bool
        Whether it leaves plastic in the water as it wears.
    source : str
        Where the numbers come from.
    mark : str
        "read", "from memory" or "judgement".
    """

    name: str
    holds_shell: bool
    container: str
    bag_life: Spread
    bag_shape: float
    porosity: Spread
    grain_size: float
    substrate_factor: Spread
    solid_density: float
    has_plastic: bool
    source: str
    mark: str


_SHELL = (0.5, 0.65, 0.8)
_NO_BAG = (0.0, 0.0, 0.0)
_CAGED = (0.8, 1.0, 1.5)

UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        unit.name: unit
        for unit in (
            Unit(
                "shell gabion",
                True,
                "wire",
                _NO_BAG,
                3.0,
                _SHELL,
                0.05,
                _CAGED,
                2500.0,
                False,
                "shell in wire; inner shell adds surface, mesh slows the flow",
                "judgement",
            ),
            Unit(
                "shell bag",
                True,
                "bag",
                (3.0, 8.0, 15.0),
                3.0,
                _SHELL,
                0.05,
                _CAGED,
                2500.0,
                True,
                "plastic mesh bags of loose shell",
                "judgement",
            ),
            Unit(
                "fibre shell bag",
                True,
                "bag",
                (0.5, 1.5, 3.0),
                2.0,
                _SHELL,
                0.05,
                _CAGED,
                2500.0,
                False,
                "plastic-free: bags of plant fibre, which rot",
                "judgement",
            ),
            Unit(
                "shell-cement module",
                False,
                "none",
                _NO_BAG,
                3.0,
                (0.3, 0.5, 0.7),
                0.10,
                (1.0, 1.5, 3.0),
                2200.0,
                False,
                "first year on the open coast of the south-eastern US: significantly more oysters than on "
                "smooth concrete (Sustainability 15:7028, 2023, abstract); the factor is judgement",
                "judgement",
            ),
            Unit(
                "concrete module",
                False,
                "none",
                _NO_BAG,
                3.0,
                (0.3, 0.5, 0.7),
                0.10,
                (0.7, 1.0, 1.3),
                2300.0,
                False,
                "trays in Texas, four months: concrete, limestone and river rock alike to shell "
                "(George, thesis, abstract); the spread is judgement",
                "judgement",
            ),
        )
    }
)
"""Kinds of reef unit by name."""
