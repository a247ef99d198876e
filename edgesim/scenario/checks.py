"""What must hold between inputs; each check is asked again at both ends of every distribution.

A check takes the sections it needs by name and yields findings. It runs as soon
as those sections could be read, whatever is wrong elsewhere.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from edgesim.constants import DAYS_PER_YEAR
from edgesim.scenario.design import Design, Option
from edgesim.scenario.ecology import Marsh
from edgesim.scenario.events import NEEDS, OPTIONAL, SAYS, Event
from edgesim.scenario.oysters import Oysters
from edgesim.scenario.run import Run
from edgesim.scenario.site import Site, Tide, Wind
from edgesim.scenario.traffic import Traffic
from edgesim.units import both_ways

RETREAT_RESERVE = 1.3
"""Room that the grid keeps behind the edge, relative to the surveyed retreat (judgement). [1]"""

MOST_CELLS = 1_000_000
"""Cells of the largest grid. A cell of the demonstration takes 3.6 to 3.8 kB of shelter tables (measured), so
that a million take near 4 GB in every process; the demonstration has eight thousand. [1]"""

CREST_ABOVE_MHW = 3.0
"""Highest crest above mean high water: no one packs branches higher than that (judgement). [m]"""

ROUNDING = 1e-6
"""Lengths that differ by less count as equal: well above rounding of feet to metres. [m]"""


@dataclass(frozen=True)
class Finding:
    """Something that does not hold, at the path of the value to be changed."""

    path: str
    what: str
    remedy: str


def datums_in_order(site: Site) -> Iterator[Finding]:
    """MLLW <= MLW < MSL < MHW <= MHHW."""
    d = site.datums
    if not d.mlw < d.msl:
        yield Finding(
            "site.datums.mlw",
            f"must be below MSL ({d.msl:.3g} m)",
            "Take all datums from one station, above one vertical datum.",
        )
    if not d.msl < d.mhw:
        yield Finding(
            "site.datums.mhw",
            f"must be above MSL ({d.msl:.3g} m)",
            "Take all datums from one station, above one vertical datum.",
        )
    if d.mhhw is not None and d.mhhw < d.mhw:
        yield Finding(
            "site.datums.mhhw",
            f"must not be below MHW ({d.mhw:.3g} m)",
            "Take all datums from one station, above one vertical datum.",
        )
    if d.mllw is not None and d.mllw > d.mlw:
        yield Finding(
            "site.datums.mllw",
            f"must not be above MLW ({d.mlw:.3g} m)",
            "Take all datums from one station, above one vertical datum.",
        )


def profile_is_usable(site: Site) -> Iterator[Finding]:
    """Distances begin at 0 and increase."""
    distances = [distance for distance, _ in site.profile]
    if len(distances) < 2:
        yield Finding(
            "site.profile",
            "must hold at least two points",
            "Level the bed from the toe of the scarp seaward.",
        )
    elif distances[0] != 0.0:
        yield Finding(
            "site.profile",
            f"must begin at distance 0, but begins at {distances[0]:.3g} m",
            "Measure distances from the marsh edge; the first point is the toe of the scarp.",
        )
    for before, after in pairwise(distances):
        if not after > before:
            yield Finding(
                "site.profile",
                f"must have increasing distances, but {after:.3g} m follows {before:.3g} m",
                "Sort the points seaward and remove doubles.",
            )
            break


def edge_fits(site: Site, run: Run) -> Iterator[Finding]:
    """The edge line lies on the shore and inside the grid."""
    for along, offset in site.edge:
        if not -ROUNDING <= along <= site.shore_length + ROUNDING:
            yield Finding(
                "site.edge",
                f"has a point {along:.4g} m along a shore of {site.shore_length:.4g} m",
                "Measure from the left end of the shore, or give a longer shore_length.",
            )
            return
        if not -run.seaward_width < offset < run.landward_width:
            yield Finding(
                "site.edge",
                f"has an offset of {offset:.4g} m, outside the grid",
                "Give offsets from the mean edge line, or widen run.landward_width and run.seaward_width.",
            )
            return
    if any(not after > before for (before, _), (after, _) in pairwise(site.edge)):
        yield Finding(
            "site.edge",
            "must have increasing distances alongshore",
            "Sort the points along the shore and remove doubles.",
        )


def tide_is_given(tide: Tide) -> Iterator[Finding]:
    """There is a tide."""
    if not tide.constituents and tide.gauge is None:
        yield Finding(
            "tide.constituents",
            "is missing, and so is tide.gauge",
            "Give the harmonic constants of the nearest tide station under [tide.constituents], or a CSV file of a water-level logger.",
        )


def boats_float(traffic: Traffic) -> Iterator[Finding]:
    """Boats float at mean sea level, their lanes lie on the water and the day has hours."""
    if not traffic.day_start_hour < traffic.day_end_hour:
        yield Finding(
            "traffic.day_end_hour",
            f"must be later than day_start_hour ({traffic.day_start_hour:g})",
            "Give hours of the day, for example 7 and 19.",
        )
    for boat in traffic.classes:
        if boat.draft >= traffic.channel_depth:
            yield Finding(
                f"traffic.classes[{boat.name}].draft",
                f"must be less than the channel_depth ({traffic.channel_depth:.3g} m)",
                "Give the depth of the hull under water, and the channel's depth below MSL.",
            )
        if traffic.lanes_apart >= 2.0 * boat.distance_off:
            yield Finding(
                f"traffic.classes[{boat.name}].distance_off",
                f"leaves no water for the near lane: it must be more than half of lanes_apart "
                f"({traffic.lanes_apart:.3g} m)",
                "Give the distance of the middle between the lanes from the marsh edge.",
            )


def wind_is_whole(wind: Wind | None, site: Site) -> Iterator[Finding]:
    """The wind rose is complete, the shore's direction known."""
    if wind is None:
        return
    if site.shore_faces is None:
        yield Finding(
            "site.shore_faces",
            "is missing, but wind is given",
            'Give the compass direction from the marsh out to the channel, for example "90 deg".',
        )
    if bool(wind.table) == (wind.hourly is not None):
        both = bool(wind.table)
        yield Finding(
            "wind.table",
            "stands beside wind.hourly" if both else "is missing, and so is wind.hourly",
            "Give either a wind rose or a CSV file of hourly winds.",
        )
        return
    total = sum(share for _, _, share in wind.table)
    if wind.table and not 0.99 <= total <= 1.01:
        yield Finding(
            "wind.table",
            f"has shares that sum to {100 * total:.4g} %",
            "Give shares of the time that sum to 100 %, calms and land winds included.",
        )
    if any(speed < 0.0 or share < 0.0 for speed, _, share in wind.table):
        yield Finding(
            "wind.table", "has a negative speed or share", "Give speeds and shares of 0 or more."
        )
    if any(fetch < 0.0 for _, fetch in wind.fetches):
        yield Finding(
            "wind.fetches", "has a negative fetch", "Give lengths of open water of 0 or more."
        )


def walls_fit_shore(site: Site, design: Design, run: Run) -> Iterator[Finding]:
    """Walls stand on the shore, apart from each other and wide enough for the grid."""
    if design.walls is None:
        return
    segments = sorted(design.walls.segments, key=lambda segment: segment.start)
    path = "design.walls.gap" if design.walls.gap is not None else "design.walls.segments"
    if not segments:
        return
    end = segments[-1].start + segments[-1].length
    if segments[0].start < -ROUNDING or end > site.shore_length + ROUNDING:
        total = end - segments[0].start
        yield Finding(
            "design.walls.length" if design.walls.length is not None else path,
            f"makes a line of walls from {segments[0].start:.4g} to {end:.4g} m ({total:.4g} m long) on a shore of {site.shore_length:.4g} m",
            "Give fewer or shorter walls, another start, or a longer shore_length.",
        )
    for before, after in pairwise(segments):
        gap = after.start - before.start - before.length
        if gap < -ROUNDING:
            yield Finding(
                path,
                f"lets walls overlap by {-gap:.3g} m",
                "Leave an opening between neighbouring walls.",
            )
            return
        if 0.0 < gap < run.cell_size - ROUNDING:
            yield Finding(
                path,
                f"is an opening of {gap:.3g} m, less than run.cell_size ({run.cell_size:g} m)",
                "Give a smaller run.cell_size or a wider opening.",
            )
            return


def line_offsets_fit(site: Site, design: Design, run: Run) -> Iterator[Finding]:
    """Both lines stand inside the grid and on the surveyed profile, the reef behind the wall."""
    end = site.profile[-1][0]
    for name, line in (("walls", design.walls), ("reef", design.reef)):
        if line is None:
            continue
        path = f"design.{name}.offset"
        if line.offset >= run.seaward_width:
            yield Finding(
                path,
                f"lies outside the grid, which reaches {run.seaward_width:.4g} m seaward",
                "Give a smaller offset or a larger run.seaward_width.",
            )
        # A profile of one point is blamed itself.
        if line.offset > end + ROUNDING and len(site.profile) > 1:
            yield Finding(
                path,
                f"lies beyond the end of the profile ({end:.4g} m)",
                "Level the bed at least as far out as the structures.",
            )
    walls, reef = design.walls, design.reef
    # Where a surveyed edge comes out furthest a line is nearest to the marsh.
    out = -min((offset for _, offset in site.edge), default=0.0)
    if reef is not None and reef.offset - out <= reef.rows * reef.unit_width / 2.0:
        yield Finding(
            "design.reef.offset",
            f"puts {reef.rows} rows of units onto the marsh",
            "Give a larger offset; it is measured to the middle of the reef.",
        )
    if walls is not None and walls.offset - out <= walls.row_gap / 2.0:
        yield Finding(
            "design.walls.offset",
            "puts the wall onto the marsh",
            "Give a larger offset; it is measured to the middle of the wall.",
        )
    if walls is None or reef is None:
        return
    if reef.offset + reef.rows * reef.unit_width / 2.0 >= walls.offset - walls.row_gap / 2.0:
        yield Finding(
            "design.reef.offset",
            f"must put the reef landward of the wall (offset {walls.offset:.4g} m)",
            "Give a smaller offset, so that the whole reef lies between wall and marsh.",
        )


def grid_holds_retreat(site: Site, run: Run) -> Iterator[Finding]:
    """The surveyed rate does not carry the edge out of the grid within the forecast."""
    needed = RETREAT_RESERVE * (site.retreat_rate or 0.0) * run.years
    if needed > run.landward_width:
        yield Finding(
            "run.landward_width",
            f"is too narrow for {run.years} years at up to {site.retreat_rate:.3g} m/yr",
            f"Give at least {needed:.0f} m.",
        )


def walls_can_stand(site: Site, design: Design) -> Iterator[Finding]:
    """The crest is above the bed and the posts fit into the wall."""
    walls = design.walls
    if walls is None:
        return
    distances, elevations = zip(*site.profile, strict=True)
    bed = float(np.interp(walls.offset, distances, elevations))
    if walls.crest <= bed:
        yield Finding(
            "design.walls.crest",
            f"must be above the bed at the wall ({bed:.3g} m)",
            f"Give the top of the branches above {site.vertical_datum}.",
        )
    if walls.crest > site.datums.mhw + CREST_ABOVE_MHW:
        yield Finding(
            "design.walls.crest",
            f"lies more than {both_ways(CREST_ABOVE_MHW, 'length')} above MHW "
            f"({both_ways(site.datums.mhw, 'length')})",
            f"Give the top of the branches above {site.vertical_datum}.",
        )
    if walls.rows * walls.post_diameter > walls.row_gap:
        yield Finding(
            "design.walls.row_gap",
            f"is too narrow for {walls.rows} rows of posts of {walls.post_diameter:.3g} m",
            "Give a wider wall, fewer rows or thinner posts.",
        )
    if walls.post_spacing <= walls.post_diameter:
        yield Finding(
            "design.walls.post_spacing",
            f"must be more than the post_diameter ({walls.post_diameter:.3g} m)",
            "Give the distance between the middles of neighbouring posts.",
        )
    shortest = min((wall.length for wall in walls.segments), default=walls.post_spacing)
    if walls.post_spacing > shortest + ROUNDING:
        yield Finding(
            "design.walls.post_spacing",
            f"is more than the length of the shortest wall ({both_ways(shortest, 'length')})",
            "Give the distance between the middles of neighbouring posts, or longer walls.",
        )


def reef_fits_shore(site: Site, design: Design) -> Iterator[Finding]:
    """The reef lies on the shore."""
    reef = design.reef
    if reef is None or reef.start is None:
        return
    if reef.start < -ROUNDING or reef.start + reef.length > site.shore_length + ROUNDING:
        yield Finding(
            "design.reef.length",
            f"makes a reef from {reef.start:.4g} to {reef.start + reef.length:.4g} m on a shore of {site.shore_length:.4g} m",
            "Give a shorter reef, another start, or a longer shore_length.",
        )
    if reef.length < reef.unit_length - ROUNDING:
        yield Finding(
            "design.reef.length",
            f"is shorter than one unit ({reef.unit_length:.3g} m)",
            "Give a length of at least one unit.",
        )


def options_can_be_built(options: tuple[Option, ...], design: Design) -> Iterator[Finding]:
    """An option names only lines that are designed."""
    for option in options:
        for line in ("walls", "reef"):
            if getattr(option, line) and getattr(design, line) is None:
                yield Finding(
                    f"options[{option.name}].{line}",
                    f"needs [design.{line}], which is missing",
                    f"Describe the line under [design.{line}], or write {line} = false.",
                )


def no_action_is_empty(options: tuple[Option, ...]) -> Iterator[Finding]:
    """The option "no action" builds nothing."""
    for option in options:
        if option.name == "no action" and (option.walls or option.reef):
            line = "walls" if option.walls else "reef"
            yield Finding(
                f"options[{option.name}].{line}",
                'must be false for "no action"',
                "Give the option another name.",
            )


def bands_in_order(marsh: Marsh, oysters: Oysters) -> Iterator[Finding]:
    """Lower limits lie below upper limits."""
    if not marsh.band_low < marsh.band_high:
        yield Finding(
            "marsh.band_high",
            f"must be more than band_low ({marsh.band_low:g})",
            "Give the shares of time under water between which grass grows.",
        )
    if not oysters.exposure_low < oysters.exposure_high:
        yield Finding(
            "oysters.exposure_high",
            f"must be more than exposure_low ({oysters.exposure_low:g})",
            "Give the shares of time out of water between which reefs grow.",
        )
    if not oysters.winter_temperature <= oysters.summer_temperature:
        yield Finding(
            "oysters.winter_temperature",
            f"must not be above summer_temperature ({oysters.summer_temperature:g} C)",
            "Give the means of the coldest and of the warmest month.",
        )


def grid_is_sensible(site: Site, run: Run) -> Iterator[Finding]:
    """There are at least four cells in each direction, and no more than a computer holds."""
    width = run.seaward_width + run.landward_width
    columns, rows = site.shore_length / run.cell_size, width / run.cell_size
    if columns * rows > MOST_CELLS:
        largest = math.ceil(100.0 * math.sqrt(site.shore_length * width / MOST_CELLS)) / 100.0
        yield Finding(
            "run.cell_size",
            f"makes {columns:.0f} cells along the shore by {rows:.0f} across, "
            f"more than {MOST_CELLS:,} in all",
            f"Give at least {both_ways(largest, 'length')}, or a shorter site.shore_length.",
        )
    smallest = min(site.shore_length, run.seaward_width, run.landward_width)
    if run.cell_size > smallest / 4.0:
        yield Finding(
            "run.cell_size",
            f"leaves fewer than four cells across {smallest:.3g} m",
            'Give a smaller cell, for example "0.5 m".',
        )


def events_make_sense(events: tuple[Event, ...], run: Run, design: Design) -> Iterator[Finding]:
    """Events fall into the forecast, say what they need, and break bays that are there."""
    last = run.start + timedelta(days=int(run.years * DAYS_PER_YEAR))
    bays = 0
    if design.walls is not None:
        for wall in design.walls.segments:
            bays += max(1, round(wall.length / design.walls.post_spacing))
    for number, event in enumerate(events, start=1):
        path = f"events[{number}]"
        if not run.start <= event.date_ < last:
            yield Finding(
                f"{path}.date_",
                f"lies outside the forecast, which runs from {run.start} to {last}",
                "Give a day of the forecast, or run.start and run.years that hold it.",
            )
        for name in NEEDS.get(event.kind, ()):
            if getattr(event, name) is None:
                yield Finding(
                    f"{path}.{name}",
                    f'is missing for the event "{event.kind}"',
                    f"A {event.kind} needs its {name}.",
                )
        for name in OPTIONAL:
            if getattr(event, name) is not None and name not in SAYS[event.kind]:
                yield Finding(
                    f"{path}.{name}",
                    f'says nothing about a "{event.kind}"',
                    f"Remove it; a {event.kind} has {', '.join(SAYS[event.kind])}.",
                )
        if event.kind == "broken bay" and event.bay is not None and event.bay > bays:
            yield Finding(
                f"{path}.bay",
                f"is bay {event.bay} of walls with {bays} bays",
                "Count the stretches between neighbouring posts of one row, from the left end.",
            )


CHECKS: tuple[Callable[..., Iterator[Finding]], ...] = (
    datums_in_order,
    profile_is_usable,
    edge_fits,
    tide_is_given,
    boats_float,
    wind_is_whole,
    walls_fit_shore,
    line_offsets_fit,
    grid_holds_retreat,
    walls_can_stand,
    reef_fits_shore,
    options_can_be_built,
    no_action_is_empty,
    bands_in_order,
    grid_is_sensible,
    events_make_sense,
)
"""All checks, in the order of the file."""

_NEEDS = {check: tuple(inspect.signature(check).parameters) for check in CHECKS}


def findings(parts: Mapping[str, Any], touching: str = "") -> Iterator[Finding]:
    """Yield what does not hold between the sections that could be read.

    Parameters
    ----------
    parts : mapping
        Section name -> section.
    touching : str
        Only checks that need this section; "" for all.
    """
    for check, needs in _NEEDS.items():
        if all(name in parts for name in needs) and (not touching or touching in needs):
            yield from check(**{name: parts[name] for name in needs})
