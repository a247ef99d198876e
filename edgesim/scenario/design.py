"""What is built: walls of branches between posts, reef units behind, and the options compared."""

from __future__ import annotations

from typing import Any, Literal

from edgesim.scenario.parameters import JUDGEMENT, OURS, Section, parameter

MATERIAL = "filled in from the material named; write it here to use another value"


_WIRE: dict[str, tuple[str, str, str, dict[str, Any]]] = {
    "coating_thickness": ("Thickness of the zinc on the {}.", "size", '"36 um"', {"at_least": 0.0}),
    "zinc_rate": (
        "Loss of zinc thickness from the {} between tides.",
        "slow rate",
        '"25 um/yr"',
        {"above": 0.0},
    ),
    "wire_diameter": ("Diameter of the steel of the {}.", "size", '"2.7 mm"', {"above": 0.0}),
    "steel_rate": (
        "Loss of radius of the bare steel of the {}.",
        "slow rate",
        '"150 um/yr"',
        {"above": 0.0},
    ),
    "jacket_life": (
        "Delay by a plastic jacket on the {}.",
        "years",
        '"12 years"',
        {"at_least": 0.0},
    ),
    "damaged_share": (
        "Share of the {} whose jacket is cut from the start.",
        "fraction",
        "0.05",
        {"at_least": 0.0, "at_most": 1.0},
    ),
}


def _wire(name: str, part: str) -> Any:
    """Declare one number of the wire of a part, filled in from the wire named."""
    meaning, kind, example, limits = _WIRE[name]
    return parameter(meaning.format(part), kind, None, example=example, source=MATERIAL, **limits)


class Segment(Section):
    """One wall of the line."""

    start: float = parameter(
        "Where the wall begins, measured from the left end of the shore.",
        "length",
        certain=True,
        example='"20 ft"',
    )
    length: float = parameter(
        "Length of the wall.", "length", above=0.0, certain=True, example='"16 ft"'
    )


class Walls(Section):
    """The first line: double rows of posts with branches packed between."""

    count: int | None = parameter(
        "Number of walls of the same length.",
        "count",
        None,
        at_least=1,
        at_most=1000,
        example="4",
        basic=True,
    )
    length: float | None = parameter(
        "Length of one wall.",
        "length",
        None,
        above=0.0,
        certain=True,
        example='"16 ft"',
        basic=True,
    )
    gap: float | None = parameter(
        "Clear opening between neighbouring walls.",
        "length",
        None,
        above=0.0,
        certain=True,
        example='"5 ft"',
        basic=True,
    )
    start: float | None = parameter(
        "Where the first wall begins, from the left end of the shore; when left out the line stands in the middle.",
        "length",
        None,
        certain=True,
        example='"20 ft"',
    )
    segments: tuple[Segment, ...] = parameter(
        "Each wall by itself, instead of count, length and gap.",
        "section",
        (),
        example='[{start = "20 ft", length = "16 ft"}]',
    )
    offset: float = parameter(
        "Distance from the marsh edge out to the middle of the wall.",
        "length",
        above=0.0,
        certain=True,
        example='"24 ft"',
        basic=True,
    )
    crest: float = parameter(
        "Top of the branches, above the vertical datum.", "length", example='"1.1 ft"', basic=True
    )
    post_spacing: float = parameter(
        "Distance between posts along a row, centre to centre.",
        "length",
        above=0.0,
        example='"2 ft"',
    )
    post_diameter: float = parameter(
        "Diameter of a post.", "size", above=0.0, at_most=1.0, example='"4 in"'
    )
    rows: int = parameter(
        "Rows of posts.", "count", 2, at_least=1, at_most=10, mark=JUDGEMENT, source=OURS
    )
    row_gap: float = parameter(
        "Width of the wall, from the outside of the first row to the outside of the last.",
        "length",
        above=0.0,
        example='"2 ft"',
    )
    branch_diameter: float = parameter(
        "Usual diameter of the branches.",
        "size",
        spread=(0.01, 0.02, 0.03),
        above=0.0,
        at_most=0.5,
        example='"1 in"',
        mark=JUDGEMENT,
        source=OURS,
    )
    solid_fraction: float = parameter(
        "Share of the fill that is wood: volume of wood by volume of the packed space.",
        "fraction",
        spread=(0.15, 0.25, 0.35),
        above=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    drag_coefficient: float = parameter(
        "Drag of a single branch in the fill.",
        "number",
        spread=(1.0, 1.5, 2.0),
        above=0.0,
        at_most=10.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    post_embedment: float = parameter(
        "Length of the posts in the bed; half as long again as what stands out is usual.",
        "length",
        spread=(1.0, 1.5, 2.5),
        above=0.0,
        example='"5 ft"',
        mark=JUDGEMENT,
        source="delta coast: 3.0 to 3.5 m driven, 1.5 to 2.0 m standing (Van Cuong et al., 2015); shorter here",
    )
    opening_scour: float = parameter(
        "Depth to which waves dig out a post beside an opening; twice that where both sides are open.",
        "length",
        spread=(0.05, 0.15, 0.40),
        at_least=0.0,
        example='"6 in"',
        mark=JUDGEMENT,
        source="a hole of more than 0.25 m at the end of a wall is a warning",
    )
    post_wood: str = parameter("Wood of the posts.", "text", example='"treated pine"')
    branch_wood: str = parameter(
        "Wood of the branches.", "text", "untreated branches", mark=JUDGEMENT, source=OURS
    )
    ties: str = parameter(
        "Wire that holds the branches down.", "text", "galvanised", mark=JUDGEMENT, source=OURS
    )
    post_life: float = parameter(
        "Age that more than a third of the posts outlive under full attack by borers (Weibull scale).",
        "years",
        above=0.0,
        source=MATERIAL,
    )
    post_shape: float = parameter(
        "Shape of the distribution of post lives; above 1 old posts fail more often.",
        "number",
        above=0.0,
        at_most=20.0,
        source=MATERIAL,
    )
    post_eaten_by_borers: bool = parameter(
        "Whether salinity, warmth and time under water shorten the life of the posts.",
        "flag",
        source=MATERIAL,
    )
    branch_eaten_by_borers: bool = parameter(
        "Whether salinity, warmth and time under water speed up the decay of branches.",
        "flag",
        source=MATERIAL,
    )
    branch_decay: float = parameter(
        "Share of the branches eaten or rotted in a year, as a rate.",
        "per year",
        at_least=0.0,
        example='"0.6 /yr"',
        source=MATERIAL,
    )
    branch_washing: float = parameter(
        "Share of the branches washed out in a year, as a rate.",
        "per year",
        spread=(0.1, 0.3, 1.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    settlement_share: float = parameter(
        "Share of the fill height lost while new branches settle.",
        "fraction",
        spread=(0.10, 0.20, 0.35),
        at_least=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    tie_coating_thickness: float | None = _wire("coating_thickness", "ties")
    tie_zinc_rate: float | None = _wire("zinc_rate", "ties")
    tie_wire_diameter: float | None = _wire("wire_diameter", "ties")
    tie_steel_rate: float | None = _wire("steel_rate", "ties")
    tie_jacket_life: float | None = _wire("jacket_life", "ties")

    tie_damaged_share: float | None = _wire("damaged_share", "ties")
    tie_life: float | None = parameter(
        "Age that more than a third of the ties outlive, of ties that are no wire (Weibull scale).",
        "years",
        None,
        above=0.0,
        source=MATERIAL,
    )
    tie_shape: float | None = parameter(
        "Shape of the distribution of those lives.",
        "number",
        None,
        above=0.0,
        at_most=20.0,
        source=MATERIAL,
    )


class Reef(Section):
    """The second line: oyster substrate."""

    material: Literal[
        "shell gabion", "shell bag", "fibre shell bag", "shell-cement module", "concrete module"
    ] = parameter("What the units are.", "text", example='"shell gabion"')
    unit_length: float = parameter(
        "Length of a unit along the shore.", "length", above=0.0, certain=True, example='"3 ft"'
    )
    unit_width: float = parameter(
        "Width of a unit across the shore.", "length", above=0.0, certain=True, example='"18 in"'
    )
    unit_height: float = parameter(
        "Height of a unit.", "length", above=0.0, certain=True, example='"12 in"'
    )
    rows: int = parameter(
        "Rows of units, side by side.", "count", 1, at_least=1, at_most=20, example="2"
    )
    offset: float = parameter(
        "Distance from the marsh edge out to the middle of the reef.",
        "length",
        above=0.0,
        certain=True,
        example='"9 ft"',
        basic=True,
    )
    start: float | None = parameter(
        "Where the reef begins, from the left end of the shore; when left out it lies in the middle.",
        "length",
        None,
        certain=True,
        example='"20 ft"',
    )
    length: float = parameter(
        "Length of the reef along the shore.",
        "length",
        above=0.0,
        certain=True,
        example='"80 ft"',
        basic=True,
    )
    porosity: float = parameter(
        "Share of a unit that is open water.",
        "fraction",
        above=0.0,
        below=1.0,
        source=MATERIAL,
    )
    grain_size: float = parameter(
        "Size of the shells or of the openings.",
        "size",
        above=0.0,
        at_most=1.0,
        example='"2 in"',
        source=MATERIAL,
    )
    transmission: Literal["block", "low-crested"] = parameter(
        "How waves pass it: as a porous block of its thickness, or by the formulas of low-crested structures "
        "from flume tests (a permeable mound; a tight wall for solid modules).",
        "text",
        "block",
    )
    wire: str | None = parameter(
        "Wire of the cage; nothing for solid modules, and for bags that are not in wire.",
        "text",
        None,
        example='"galvanised"',
    )
    rings: str | None = parameter(
        "Wire of the rings or lacing that close the cage; when left out they are of the wire of the cage.",
        "text",
        None,
        example='"stainless"',
    )
    bag_life: float | None = parameter(
        "Age that more than a third of the bags outlive (Weibull scale).",
        "years",
        None,
        above=0.0,
        source=MATERIAL,
    )
    bag_shape: float | None = parameter(
        "Shape of the distribution of those lives.",
        "number",
        None,
        above=0.0,
        at_most=20.0,
        source=MATERIAL,
    )
    mesh_coating_thickness: float | None = _wire("coating_thickness", "mesh")
    mesh_zinc_rate: float | None = _wire("zinc_rate", "mesh")
    mesh_wire_diameter: float | None = _wire("wire_diameter", "mesh")
    mesh_steel_rate: float | None = _wire("steel_rate", "mesh")
    mesh_jacket_life: float | None = _wire("jacket_life", "mesh")
    mesh_damaged_share: float | None = _wire("damaged_share", "mesh")
    ring_coating_thickness: float | None = _wire("coating_thickness", "rings")
    ring_zinc_rate: float | None = _wire("zinc_rate", "rings")
    ring_wire_diameter: float | None = _wire("wire_diameter", "rings")
    ring_steel_rate: float | None = _wire("steel_rate", "rings")
    ring_jacket_life: float | None = _wire("jacket_life", "rings")
    ring_damaged_share: float | None = _wire("damaged_share", "rings")
    settlement: float = parameter(
        "How far the units sink into the mud in the end.",
        "length",
        spread=(0.02, 0.10, 0.40),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    settlement_time: float = parameter(
        "Time in which about two thirds of that happens.",
        "years",
        spread=(0.2, 0.8, 3.0),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    substrate_factor: float = parameter(
        "How well oysters settle on it relative to loose shell.",
        "number",
        at_least=0.0,
        source=MATERIAL,
    )


class Design(Section):
    """The two lines; either may be left out."""

    walls: Walls | None = parameter("The walls.", "section", None, basic=True)
    reef: Reef | None = parameter("The reef.", "section", None, basic=True)


class Option(Section):
    """One of the things that could be done."""

    name: str = parameter("Name of the option.", "text", example='"walls and reef"', basic=True)
    walls: bool = parameter("Whether the walls are built.", "flag", False, example="true")
    reef: bool = parameter("Whether the reef is built.", "flag", False, example="true")


NO_ACTION = "no action"
