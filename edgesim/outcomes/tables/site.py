"""T1 site facts, T2 data inventory, T6 design schedule, T9 assumptions, T10 priors, T22 settings."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
import xarray as xr

from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.embedded import (
    SITE,
    banner_of,
    distributions_of,
    inputs_of,
    scenario_of,
)
from edgesim.outcomes.layout import contour_distance, gaps, spans
from edgesim.outcomes.needs import Need
from edgesim.outcomes.tables.table import Column, Table, TableEntry, make_table
from edgesim.outcomes.tables.words import feet, plain, small_print

Cells = tuple[str, ...]

A_DESIGN = Need(
    lambda dataset: "wall_position" in dataset or "reef_position" in dataset,
    "the scenario has no design",
    "add design.walls or design.reef to the scenario",
)


def _length(name: str, metres: float, note: str = "", digits: int = 2) -> Cells:
    return (name, plain(metres, digits), "m", feet(metres), "ft", note)


def site_facts(dataset: xr.Dataset) -> Table:
    """T1: what is known of the place, with the datum of every level.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Table
    """
    site, datum = scenario_of(dataset).site, str(dataset.attrs["vertical_datum"])
    plan = scenario_of(dataset).plan
    rows: list[Cells] = [
        ("Site", site.name, "", "", "", plan.location or "place not provided"),
        ("Vertical datum", datum, "", "", "", f"levels below are above {datum}"),
        ("Coordinate system", plan.coordinate_system or "not provided", "", "", "", ""),
        _length("Length of shore", site.shore_length, "along the marsh edge", 1),
    ]
    for name in dataset["datum"].values:
        level = float(dataset["datum_level"].sel(datum=name))
        rows.append(
            _length(f"{name}", level, f"above {datum}, middle of epoch {site.datums_year:.0f}")
        )
    sea = float(np.median(dataset["mean_sea_level"].values[..., 0]))
    rows.append(_length("Mean sea level at the start", sea, f"above {datum}, median of members"))
    top = float(dataset["profile_elevation"][0]) + float(dataset["scarp_height"])
    rows += [
        _length("Marsh platform", top, f"above {datum}"),
        _length("Height of the scarp", float(dataset["scarp_height"])),
        _length("Toe of the scarp", float(dataset["profile_elevation"][0]), f"above {datum}"),
        _length("Edge to mean low water", contour_distance(dataset, "MLW"), "on the profile", 1),
    ]
    if site.shore_faces is not None:
        faces = f"{np.degrees(site.shore_faces):.0f}"
        rows.append(("Shore faces", faces, "degrees", "", "", "clockwise from north"))
    if "surveyed_retreat_rate" in dataset:
        low, middle, high = dataset["surveyed_retreat_rate"].values[[0, 2, 4]]
        note = f"90 % band {plain(low)} to {plain(high)} m/yr"
        rows.append(("Retreat of the edge", plain(middle), "m/yr", feet(middle), "ft/yr", note))
    if "passages" in dataset:
        total = dataset["passages"].sum("boat_class").mean("month")
        for kind in ("weekday", "weekend"):
            count = plain(float(total.sel(day_kind=kind)), 0)
            rows.append((f"Boats on a {kind} day", count, "a day", "", "", "mean of the year"))
    return make_table(
        "Facts of the site",
        ["fact", "value", "unit", "value in other units", "other unit", "note"],
        rows,
        small_print(dataset),
    )


_SOURCES = (
    ("Shore profile", "site.profile", "levelled line"),
    ("Tidal datums", "site.datums.mhw", "tide station"),
    ("Tide", "tide.constituents", "tide station or gauge"),
    ("Water levels", "tide.gauge", "logger or gauge"),
    ("Retreat rate", "site.retreat_rate", "photographs, stakes or walks"),
    ("Edge line", "site.edge", "walked line"),
    ("Sea-level rise", "sea_level.rate", "tide record or scenario"),
    ("Boat counts", "traffic.classes", "counts"),
    ("Traffic level", "traffic.level", "length of the count"),
    ("Wind", "wind.table", "airport or buoy record"),
    ("Mud in the water", "mud.concentration", "bottle samples and turbidity"),
    ("Soil of the scarp", "marsh.erodibility", "from the rate of retreat"),
    ("Oyster recruitment", "oysters.recruitment", "settlement tiles"),
)


def data_inventory(dataset: xr.Dataset) -> Table:
    """T2: which measurements stand behind the forecast, and where a default does.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Table
    """
    inputs = inputs_of(dataset)

    def row(name: str, path: str, form: str) -> Cells:
        found = [entry for entry in inputs if entry["path"] == path or entry["path"].startswith((f"{path}.", f"{path}["))]  # fmt: skip
        if not found:
            return name, form, "not provided", "", ""
        given = [entry for entry in found if entry["given_by"] in ("file", "override")]
        if not given and found[0]["value"] == "0 rows":
            return name, form, "not provided", "", ""
        if not given:
            first = found[0]
            mark = first["mark"] or "no mark"
            return name, form, "default", first["value"], f"{mark}: {first['source']}".rstrip(": ")
        many = f"{len(given)} entries" if len(given) > 1 else given[0]["value"]
        spread = "" if len(given) > 1 or not given[0]["spread"] else f"spread {given[0]['spread']}"
        return name, form, "given", many, spread or "error not stated"

    return make_table(
        "Data behind the forecast",
        ["data", "comes from", "state", "what there is", "quality"],
        [row(*source) for source in _SOURCES],
        small_print(dataset, banner_of(dataset)),
    )


def design_schedule(dataset: xr.Dataset) -> Table:
    """T6: every number of the design, both units.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with a design.

    Returns
    -------
    Table
    """
    return make_table(
        "Design schedule",
        ["part", "what", Column("size", "m"), Column("size", "ft"), "count or word"],
        [*_wall_rows(dataset), *_reef_rows(dataset)],
        small_print(dataset, "As designed; have structures designed by a licensed engineer."),
    )


def _size(part: str, what: str, metres: float) -> Cells:
    return part, what, plain(metres), feet(metres, 2), ""


def _word(part: str, what: str, text: object) -> Cells:
    return part, what, "", "", str(text)


def _wall_rows(dataset: xr.Dataset) -> Iterator[Cells]:
    walls = scenario_of(dataset).design.walls
    if walls is None:
        return

    size, word = partial(_size, "walls"), partial(_word, "walls")

    runs = spans(dataset, "wall")
    yield word("number of walls", len(runs))
    lengths = np.diff(runs, axis=1)
    yield size("length of a wall (mean)", float(lengths.mean()))
    openings = gaps(runs)
    if openings.size:
        yield size("clear gap (least)", float(openings.min()))
    yield size("total length", float(lengths.sum()))
    yield size("distance from the edge to the middle", walls.offset)
    yield size(f"crest above {dataset.attrs['vertical_datum']}", walls.crest)
    yield size("thickness", walls.row_gap)
    yield word("rows of posts", walls.rows)
    yield size("post spacing along a row", walls.post_spacing)
    yield size("post diameter", walls.post_diameter)
    yield size("branch diameter (median)", walls.branch_diameter)
    yield word("share of wood in the fill (median)", plain(walls.solid_fraction))
    yield word("wood of posts", walls.post_wood)
    yield word("wood of branches", walls.branch_wood)
    yield word("ties", walls.ties)


def _reef_rows(dataset: xr.Dataset) -> Iterator[Cells]:
    reef = scenario_of(dataset).design.reef
    if reef is None:
        return

    size, word = partial(_size, "reef"), partial(_word, "reef")

    runs = spans(dataset, "reef")
    yield word("material", reef.material)
    yield size("length of the reef", float(np.diff(runs, axis=1).sum()))
    yield size("length of a unit", reef.unit_length)
    yield size("width of a unit", reef.unit_width)
    yield size("height of a unit", reef.unit_height)
    yield word("rows of units", reef.rows)
    yield size("distance from the edge to the middle", reef.offset)
    crest = float(dataset["reef_crest_built"])
    yield size(f"crest above {dataset.attrs['vertical_datum']}", crest)
    if reef.wire:
        yield word("wire", reef.wire)


def assumptions(dataset: xr.Dataset) -> Table:
    """T9: every value that the user did not give, with its source and mark.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Table
    """
    rows = [
        (
            entry["path"],
            entry["value"],
            entry["spread"],
            entry["given_by"],
            entry["mark"] or "",
            entry["source"],
        )
        for entry in inputs_of(dataset)
        if entry["given_by"] not in ("file", "override", "layout")
    ]
    return make_table(
        "Assumptions: values not given by the user",
        ["input", "value", "spread", "given by", "mark", "source"],
        rows,
        small_print(dataset, banner_of(dataset)),
    )


def priors(dataset: xr.Dataset) -> Table:
    """T10: every uncertain input with its spread.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast with its site.

    Returns
    -------
    Table
    """
    uncertain = set(distributions_of(dataset))
    rows = [
        (entry["path"], entry["value"], entry["spread"], entry["given_by"], entry["mark"] or "")
        for entry in inputs_of(dataset)
        if entry["path"] in uncertain
    ]
    return make_table(
        "Spread of the uncertain inputs",
        ["input", "median", "ends", "given by", "mark"],
        rows,
        small_print(dataset, f"{len(rows)} inputs are drawn for each member."),
    )


def settings(dataset: xr.Dataset) -> Table:
    """T22: version, seed, libraries, hashes and settings of the run.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Table
    """
    attrs = dataset.attrs
    rows: list[Cells] = [
        ("Software", str(attrs["source"])),
        ("Libraries", str(attrs["library_versions"])),
        ("Scenario", str(attrs["title"])),
        ("SHA-256 of the resolved scenario", str(attrs["edgesim_scenario_sha256"])),
        ("Seed", str(attrs["seed"])),
        ("Members of each option", str(dataset.sizes["member"])),
        ("Options", ", ".join(str(name) for name in dataset["option"].values)),
        ("Length of the forecast", f"{years_elapsed(dataset)[-1]:.0f} years"),
        ("Cell along the shore", f"{plain(float(dataset['cell_size']))} m"),
        ("Vertical datum", str(attrs["vertical_datum"])),
        ("Money", f"{attrs['currency']} of {attrs['price_year']}"),
        ("History", str(attrs["history"])),
        ("Conventions", str(attrs["Conventions"])),
    ]
    for name in dataset["budget"].values:
        gap = float(np.nanmax(dataset["ledger_residual"].sel(budget=name).values))
        rows.append((f"Largest gap of the {name} budget", f"{gap:.1e} of its turnover"))
    return make_table("Software, seed and settings", ["what", "value"], rows, small_print(dataset))


SITE_TABLES: dict[str, TableEntry] = {
    "site_facts": TableEntry("T1", "Facts of the site", site_facts, (SITE,)),
    "data_inventory": TableEntry("T2", "Data behind the forecast", data_inventory, (SITE,)),
    "design_schedule": TableEntry("T6", "Design schedule", design_schedule, (SITE, A_DESIGN)),
    "assumptions": TableEntry("T9", "Assumptions and their sources", assumptions, (SITE,)),
    "priors": TableEntry("T10", "Spread of the uncertain inputs", priors, (SITE,)),
    "settings": TableEntry("T22", "Software, seed and settings", settings),
}
"""Tables of the place and of the run, by name."""
