"""How the lines are built, as far as it decides quantities: waste, packing, hours, crews."""

from __future__ import annotations

from edgesim.scenario.parameters import JUDGEMENT, MEMORY, Section, parameter

OURS = "edgesim"
MEKONG = "from two-row pole fences of a tropical muddy coast: 3.0-3.5 m driven, 1.5-2.0 m standing (read)"


class Work(Section):
    """Waste, packing, hours and crews; hours and packing are guesses to be replaced by a crew's log."""

    post_embedment: float = parameter(
        "Length of a post below the bed over its length above.",
        "number",
        spread=(1.5, 1.8, 2.3),
        above=0.0,
        at_most=10.0,
        mark=JUDGEMENT,
        source=MEKONG,
    )
    post_freeboard: float = parameter(
        "Length of a post above the top of the branches.",
        "length",
        spread=(0.10, 0.20, 0.40),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    packing: float = parameter(
        "Volume of loose branches over the volume that they fill once packed.",
        "number",
        spread=(1.5, 2.5, 4.0),
        at_least=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    bundle_diameter: float = parameter(
        "Diameter of a bundle of branches as it is carried.",
        "length",
        0.30,
        above=0.0,
        example='"12 in"',
        mark=JUDGEMENT,
        source=OURS,
    )
    bundle_length: float = parameter(
        "Length of a bundle of branches.",
        "length",
        1.8,
        above=0.0,
        example='"6 ft"',
        mark=JUDGEMENT,
        source=OURS,
    )
    tie_layers: int = parameter(
        "Heights at which wire ties opposite posts together.",
        "count",
        2,
        at_least=0,
        at_most=20,
        mark=JUDGEMENT,
        source=OURS,
    )
    nails_per_post: float = parameter(
        "Nails or staples that hold wire to one post.",
        "number",
        4.0,
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    ring_spacing: float = parameter(
        "Distance between rings along the edges of a cage.",
        "length",
        0.12,
        above=0.0,
        example='"5 in"',
        mark=MEMORY,
        source="100-150 mm, makers' instructions for gabions",
    )
    waste: float = parameter(
        "Material bought above what is built in, as a share.",
        "fraction",
        spread=(0.05, 0.10, 0.20),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_per_post: float = parameter(
        "Working hours to carry and drive one post.",
        "number",
        spread=(0.3, 0.7, 2.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_per_m3: float = parameter(
        "Working hours to carry, pack and tie a cubic metre of packed branches.",
        "number",
        spread=(1.0, 2.0, 5.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    hours_per_unit: float = parameter(
        "Working hours to make, fill, carry and place one reef unit.",
        "number",
        spread=(0.5, 1.0, 2.5),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    volunteer_share: float = parameter(
        "Share of these hours worked by volunteers; their hours are valued apart from cash.",
        "fraction",
        0.0,
        at_least=0.0,
        at_most=1.0,
        example='"30 %"',
        mark=JUDGEMENT,
        source=OURS,
    )
    crew: int = parameter(
        "People in a crew that one boat carries.",
        "count",
        4,
        at_least=1,
        at_most=100,
        mark=JUDGEMENT,
        source=OURS,
    )
    day_hours: float = parameter(
        "Hours that the tide leaves for work in a day.",
        "number",
        5.0,
        above=0.0,
        at_most=24.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    marker_spacing: float = parameter(
        "Largest distance between navigation markers along the outer line.",
        "length",
        30.0,
        above=0.0,
        example='"100 ft"',
        mark=JUDGEMENT,
        source=OURS,
    )
