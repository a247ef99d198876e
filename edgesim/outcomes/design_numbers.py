"""Numbers of a design that rules and drawings ask for: distances, depths, lengths, areas, volumes.

Everything is geometry of the scenario at the datums as they were entered; the tide gauge's sea of
its own epoch, not the risen sea of the forecast, is what rules speak of. A number that cannot be
found is None, with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from edgesim.model.grid import Line, reef_line, wall_line
from edgesim.scenario import Scenario

ROUNDING = 1e-6
"""Lengths that differ by less count as equal: well above rounding of feet to metres. [m]"""

DATUMS = ("mhhw", "mhw", "msl", "mlw", "mllw")


@dataclass(frozen=True, slots=True)
class Number:
    """A number of the design, or why there is none.

    Attributes
    ----------
    value : float or None
        In metres, square or cubic metres, or a share.
    kind : str
        Key of ``edgesim.units.KINDS``, or "area" or "volume".
    words : str
        What it is.
    why : str
        Why there is none; "" when there is one.
    """

    value: float | None
    kind: str
    words: str
    why: str = ""


@dataclass(frozen=True)
class LineGeometry:
    """A line of defence as rules see it.

    Attributes
    ----------
    segments : tuple of (start, end)
        Stretches along the shore. [m]
    offset, thickness : float
        Distance of the middle from the marsh edge, and width across the shore. [m]
    crest : float
        Top, above the vertical datum. [m]
    profile : tuple of (distance, elevation)
        Levels of the bed seaward of the edge. [m, m]
    platform : float
        Level of the marsh behind. [m]
    datums : dict of str to float or None
        Levels of MHHW, MHW, MSL, MLW and MLLW; None where not known. [m]
    fetch, channel_distance, water_width, wetland_width, riparian_distance : float or None
        Facts of the place. [m]
    """

    segments: tuple[tuple[float, float], ...]
    offset: float
    thickness: float
    crest: float
    profile: tuple[tuple[float, float], ...]
    platform: float
    datums: dict[str, float | None]
    fetch: float | None = None
    channel_distance: float | None = None
    water_width: float | None = None
    wetland_width: float | None = None
    riparian_distance: float | None = None

    @property
    def landward(self) -> float:
        """Distance of the landward edge from the marsh edge. [m]."""
        return self.offset - 0.5 * self.thickness

    @property
    def seaward(self) -> float:
        """Distance of the seaward edge from the marsh edge. [m]."""
        return self.offset + 0.5 * self.thickness


def line_geometries(scenario: Scenario, name: str) -> list[LineGeometry]:
    """The walls or the reef where they stand nearest to an uneven edge, and farthest.

    Parameters
    ----------
    scenario : Scenario
        Plain numbers.
    name : str
        "walls" or "reef".

    Returns
    -------
    list of LineGeometry
        None for a line that there is not, one along a straight edge, else two.
    """
    line = line_geometry(scenario, name)
    if line is None:
        return []
    if not scenario.site.edge:
        return [line]
    places, landward = np.array(scenario.site.edge, dtype=np.float64).T
    along = np.concatenate([np.linspace(start, end, 50) for start, end in line.segments])
    local = np.interp(along, places, landward)
    return [replace(line, offset=line.offset + float(away)) for away in (local.min(), local.max())]


def line_geometry(scenario: Scenario, name: str) -> LineGeometry | None:
    """The walls or the reef of a scenario along a straight edge; None when there are none.

    Parameters
    ----------
    scenario : Scenario
        Plain numbers.
    name : str
        "walls" or "reef".

    Returns
    -------
    LineGeometry or None
    """
    walls, reef = scenario.design.walls, scenario.design.reef
    line: Line | None
    if name == "walls":
        line = wall_line(scenario)
        if walls is None or line is None:
            return None
        offset, thickness, crest = walls.offset, walls.row_gap, walls.crest
    else:
        line = reef_line(scenario)
        if reef is None or line is None:
            return None
        offset, thickness = reef.offset, reef.rows * reef.unit_width
        crest = line.base + reef.unit_height
    site, permit = scenario.site, scenario.permit
    fetches = scenario.wind.fetches if scenario.wind is not None else ()
    return LineGeometry(
        segments=line.segments,
        offset=offset,
        thickness=thickness,
        crest=crest,
        profile=tuple((float(distance), float(level)) for distance, level in site.profile),
        platform=site.profile[0][1] + site.scarp_height,
        datums={datum: getattr(site.datums, datum) for datum in DATUMS},
        fetch=max((length for _, length in fetches), default=None),
        channel_distance=permit.channel_distance,
        water_width=permit.water_width,
        wetland_width=permit.wetland_width,
        riparian_distance=permit.riparian_distance,
    )


def longest_run(segments: Sequence[tuple[float, float]], opening: float) -> float:
    """Longest stretch of a line without an opening of at least a width. [m].

    Examples
    --------
    >>> longest_run([(0.0, 10.0), (11.0, 20.0), (24.0, 30.0)], 1.5)
    20.0
    """
    runs: list[list[float]] = []
    for start, end in sorted(segments):
        if runs and start - runs[-1][1] < opening - ROUNDING:
            runs[-1][1] = max(runs[-1][1], end)
        else:
            runs.append([start, end])
    return max(end - start for start, end in runs)


def design_numbers(
    line: LineGeometry, opening: float = 0.0, margin: float = 0.0
) -> dict[str, Number]:
    """Every number of a line by name.

    Parameters
    ----------
    line : LineGeometry
        The line.
    opening : float, default 0
        Width from which a gap counts as an opening. [m]
    margin : float, default 0
        Distance from the marsh edge within which a line may always stand. [m]

    Returns
    -------
    dict of str to Number
    """
    found = _distances(line, margin) | _levels(line) | _place(line)
    extent = max(end for _, end in line.segments) - min(start for start, _ in line.segments)
    area = sum(end - start for start, end in line.segments) * line.thickness
    gaps = _gaps(line)
    found |= {
        "length_along_shore": Number(extent, "length", "length along the shore, gaps included"),
        "longest_run_without_opening": Number(
            longest_run(line.segments, opening), "length", "longest stretch without an opening"
        ),
        "narrowest_gap": Number(
            min(gaps) if gaps else None, "length", "narrowest gap", "" if gaps else "it has no gaps"
        ),
        "open_share": Number(sum(gaps) / extent, "fraction", "share of this length that is open"),
        "area": Number(area, "area", "area of bed covered"),
    }
    return found | _volumes(line, area)


def _gaps(line: LineGeometry) -> list[float]:
    ordered = sorted(line.segments)
    return [after[0] - before[1] for before, after in pairwise(ordered)]


def _distances(line: LineGeometry, margin: float) -> dict[str, Number]:
    """Distances from the marsh edge and from the lines of the datums."""
    mhw, mlw = line.datums["mhw"], line.datums["mlw"]
    mid = None if mhw is None or mlw is None else 0.5 * (mhw + mlw)
    low, why_low = _contour(line, mlw, "MLW")
    middle, why_middle = _contour(line, mid, "mid-tide")
    high, why_high = _high_water_line(line, mhw)
    outermost = None if middle is None else max(margin, middle)

    def from_line(edge: float, contour: float | None) -> float | None:
        return None if contour is None else edge - contour

    landward, seaward = line.landward, line.seaward
    return {
        "landward_edge_from_marsh_edge": Number(landward, "length", "landward edge from the marsh edge"),
        "seaward_edge_from_marsh_edge": Number(seaward, "length", "seaward edge from the marsh edge"),
        "landward_edge_from_mlw": Number(from_line(landward, low), "length", "landward edge seaward of the MLW line", why_low),
        "seaward_edge_from_mlw": Number(from_line(seaward, low), "length", "seaward edge seaward of the MLW line", why_low),
        "landward_edge_from_mhw": Number(from_line(landward, high), "length", "landward edge seaward of the MHW line", why_high),
        "seaward_edge_from_mhw": Number(from_line(seaward, high), "length", "seaward edge seaward of the MHW line", why_high),
        "landward_edge_beyond_margin_and_midtide": Number(
            from_line(landward, outermost), "length",
            "landward edge beyond the mid-tide contour and the margin of the marsh edge", why_middle,
        ),
    }  # fmt: skip


def _contour(line: LineGeometry, level: float | None, name: str) -> tuple[float | None, str]:
    """Distance from the edge at which the bed first falls to a level, or why it is not known."""
    if level is None:
        return None, f"the level of {name} is not given"
    distance, bed = np.array(line.profile, dtype=np.float64).T
    below = np.flatnonzero(bed <= level)
    if not below.size:
        return None, f"the levelled profile does not reach down to {name}"
    first = int(below[0])
    if first == 0:
        return float(distance[0]), ""
    drop = bed[first - 1] - bed[first]
    share = (bed[first - 1] - level) / drop
    return float(distance[first - 1] + share * (distance[first] - distance[first - 1])), ""


def _high_water_line(line: LineGeometry, mhw: float | None) -> tuple[float | None, str]:
    """Distance from the edge of the MHW line: at the scarp where the marsh stands higher."""
    if mhw is None:
        return None, "the level of MHW is not given"
    if line.profile[0][1] > mhw:
        return _contour(line, mhw, "MHW")
    if line.platform >= mhw:
        return 0.0, ""
    return None, "the marsh lies below MHW, whose line is landward of the levelled profile"


def _levels(line: LineGeometry) -> dict[str, Number]:
    """Heights of the crest and depths of the water."""
    mhw, mlw = line.datums["mhw"], line.datums["mlw"]
    distance, bed = np.array(line.profile, dtype=np.float64).T
    places = np.linspace(line.landward, line.seaward, 11)
    under = np.interp(places, distance, bed)
    why_high = "" if mhw is not None else "the level of MHW is not given"
    why_low = "" if mlw is not None else "the level of MLW is not given"
    reaches = line.seaward <= distance[-1] + ROUNDING
    if not reaches:
        why_low = why_high = "the levelled profile does not reach out to the line"
    return {
        "crest_above_mhw": Number(
            None if mhw is None else line.crest - mhw, "length", "crest above MHW",
            "" if mhw is not None else "the level of MHW is not given",
        ),
        "crest_above_mhw_or_wetland": Number(
            None if mhw is None else line.crest - max(mhw, line.platform), "length",
            "crest above MHW or the marsh, whichever is higher",
            "" if mhw is not None else "the level of MHW is not given",
        ),
        "greatest_depth_at_mlw": Number(
            None if mlw is None or not reaches else mlw - float(under.min()), "length",
            "greatest depth under the line at MLW", why_low,
        ),
        "mean_depth_below_mhw": Number(
            None if mhw is None or not reaches else mhw - float(under.mean()), "length",
            "mean depth under the line at MHW", why_high,
        ),
    }  # fmt: skip


def _place(line: LineGeometry) -> dict[str, Number]:
    """Numbers that need facts of the place."""

    def fact(value: float | None, kind: str, words: str, key: str) -> Number:
        return Number(value, kind, words, "" if value is not None else f"{key} is not given")

    channel, width = line.channel_distance, line.water_width
    return {
        "channel_offset": fact(
            None if channel is None else channel - line.seaward,
            "length", "seaward edge to the navigation channel", "permit.channel_distance",
        ),
        "share_of_water_width": fact(
            None if width is None else line.seaward / width,
            "fraction", "seaward edge from the marsh over the width of the water", "permit.water_width",
        ),
        "longest_fetch": fact(line.fetch, "length", "longest fetch", "wind.fetches"),
        "wetland_width": fact(line.wetland_width, "length", "width of the marsh", "permit.wetland_width"),
        "riparian_distance": fact(
            line.riparian_distance, "length", "distance to a riparian line", "permit.riparian_distance"
        ),
    }  # fmt: skip


def _volumes(line: LineGeometry, area: float) -> dict[str, Number]:
    """Volume of the line, and its part below MHW."""
    distance, bed = np.array(line.profile, dtype=np.float64).T
    base = float(np.interp(line.offset, distance, bed))
    mhw = line.datums["mhw"]
    below = None if mhw is None else area * max(0.0, min(line.crest, mhw) - base)
    return {
        "volume": Number(area * (line.crest - base), "volume", "volume of the line, outside"),
        "volume_below_mhw": Number(
            below, "volume", "volume below MHW", "" if below is not None else "the level of MHW is not given"
        ),
    }  # fmt: skip
