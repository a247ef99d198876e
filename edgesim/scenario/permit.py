"""Facts of the place that rules ask for and that the forecast itself does not need."""

from __future__ import annotations

from edgesim.scenario.parameters import Section, parameter


class Permit(Section):
    """Distances for the permit screen; what is left out is answered with "cannot tell"."""

    channel_distance: float | None = parameter(
        "Distance from the marsh edge to the near side of the navigation channel, from a chart.",
        "length",
        None,
        above=0.0,
        certain=True,
        example='"150 ft"',
    )
    water_width: float | None = parameter(
        "Width of the waterbody at the site, from edge to edge.",
        "length",
        None,
        above=0.0,
        certain=True,
        example='"400 ft"',
    )
    wetland_width: float | None = parameter(
        "Width of the marsh behind the edge.",
        "length",
        None,
        at_least=0.0,
        certain=True,
        example='"40 ft"',
    )
    riparian_distance: float | None = parameter(
        "Distance along the shore from the nearest end of the work to the riparian line of a neighbour.",
        "length",
        None,
        at_least=0.0,
        certain=True,
        example='"20 ft"',
    )
