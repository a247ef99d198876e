"""The state of one member: everything that lives on from day to day.

Each field has one writer among the processes of ``edgesim.model.step``; the
table :data:`WRITES` says which, and a test runs the processes one by one and
compares. All arrays are set up once; the day loop allocates nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.names import LEDGER_ENTRIES

Floats = NDArray[np.float64]

ENTRY = {name: index for index, name in enumerate(LEDGER_ENTRIES)}
"""Index of each ledger entry."""


class State(NamedTuple):
    """Fields on the grid and the individuals, as struct of arrays.

    Attributes
    ----------
    bed, platform : (nx, ny)
        Level of the flat, and of the marsh where it stands. [m]
    edge : (ny,)
        Position of the edge. [m]
    undercut : (ny,)
        Undercut of the face; below 0 where a foot stands out before it. [m]
    slump : (ny,)
        What the law would wear while the waves break up the fallen block. [m]
    advance : (ny,)
        Growth of the marsh onto the flat due each day until the next window. [m]
    calm_days : (ny,)
        Days in a row that shoots in front of the edge would have stood. [d]
    scarp_mud : (ny,)
        Mud of the scarp that goes into the water in this window. [kg]
    suspended : (nx, ny)
        Mud in the water over the flat, relative to the channel's. [1]
    loose_mud, loose_thickness : (nx, ny)
        Loose mud on the firm flat [kg m-2] and its thickness, which is part of ``bed`` [m].
    roughness : (nx, ny)
        Yearly mean of the stirring over the natural one. [1]
    seedling : (nx, ny)
        Days without flooding, then days of rooting, of a seed on the flat. [d]
    rooted_at : (nx, ny)
        Bed level that seedlings and shoots know. [m]
    shoots : (nx, ny)
        Cover of shoots on the flat. [1]
    fill_mass, fill_settled : (n_bays,)
        Fill over the fill at build [1]; share of its height lost by packing [1].
    tie_end : (n_bays,)
        Day on which the ties break. [d]
    tie_life : (n_bays,)
        Number of lives of ties used. [1]
    post_end : (n_posts,)
        Day on which the post fails. [d]
    post_life : (n_posts,)
        Number of lives used. [1]
    post_scour : (n_posts,)
        Depth to which waves have dug out the post. [m]
    bay_open : (n_bays,)
        1 where a bay stands open.
    wood_oysters : (n_bays,)
        Live oysters on the branches. [m-2]
    unit_height : (n_units,)
        Height of the unit over its height at build. [1]
    placed : (n_units,)
        Part of that height which is still shell placed at build. [1]
    loose_shell : (n_units,)
        Shell spilled beside the unit, as height of the unit over its height at build. [1]
    cement : (n_units,)
        Degree of cementing on the day before. [1]
    mesh_end, ring_end : (n_units,)
        Days on which the mesh or bag, and the rings, fail. [d]
    unit_life : (n_units,)
        Number of new containers. [1]
    spilled : (n_units,)
        1 where the container failed before the shell was cemented.
    shell_made : (n_units,)
        Shell that the live oysters add, from the first day of the window. [kg m-2 year-1]
    oysters, shell_height : (n_cohorts, n_units)
        Live oysters of each year class [m-2] and their shell height [m].
    burial_killed : (n_cohorts, n_units)
        Share of each year class that the mud over it has killed so far. [1]
    visit : (3,)
        Day of the next upkeep visit (inf: none planned) [d]; number of visits decided on so far;
        day of the last that took place (-1: none) [d].
    log : (n_rows, 8)
        Upkeep log: day, kind, cost, hours, posts, branches, reef units, shell; not-a-number beyond
        the last row. Walls and reef post to it.
    log_rows : (1,)
        Rows written.
    ledger : (n_entries,)
        Cumulative entries. [kg, kg, m3, currency]
    residual : (n_budgets,)
        Largest relative gap of each budget so far. [1]
    """

    bed: Floats
    platform: Floats
    edge: Floats
    undercut: Floats
    slump: Floats
    advance: Floats
    calm_days: Floats
    scarp_mud: Floats
    suspended: Floats
    loose_mud: Floats
    loose_thickness: Floats
    roughness: Floats
    seedling: Floats
    rooted_at: Floats
    shoots: Floats
    fill_mass: Floats
    fill_settled: Floats
    tie_end: Floats
    tie_life: Floats
    post_end: Floats
    post_life: Floats
    post_scour: Floats
    bay_open: Floats
    wood_oysters: Floats
    unit_height: Floats
    placed: Floats
    loose_shell: Floats
    cement: Floats
    mesh_end: Floats
    ring_end: Floats
    unit_life: Floats
    spilled: Floats
    shell_made: Floats
    oysters: Floats
    shell_height: Floats
    burial_killed: Floats
    visit: Floats
    log: Floats
    log_rows: Floats
    ledger: Floats
    residual: Floats


WRITES: dict[str, str] = {
    "bed": "exchange_mud",
    "platform": "grow_plants",
    "edge": "move_edge",
    "undercut": "move_edge",
    "slump": "move_edge",
    "advance": "grow_plants",
    "calm_days": "grow_plants",
    "scarp_mud": "move_edge",
    "suspended": "exchange_mud",
    "loose_mud": "exchange_mud",
    "loose_thickness": "exchange_mud",
    "roughness": "exchange_mud",
    "seedling": "grow_plants",
    "rooted_at": "grow_plants",
    "shoots": "grow_plants",
    "fill_mass": "age_walls",
    "fill_settled": "age_walls",
    "tie_end": "age_walls",
    "tie_life": "age_walls",
    "post_end": "age_walls",
    "post_life": "age_walls",
    "post_scour": "age_walls",
    "bay_open": "age_walls",
    "log_rows": "age_walls",
    "wood_oysters": "settle_on_wood",
    "unit_height": "age_reef",
    "placed": "age_reef",
    "loose_shell": "age_reef",
    "cement": "age_reef",
    "mesh_end": "age_reef",
    "ring_end": "age_reef",
    "unit_life": "age_reef",
    "spilled": "age_reef",
    "shell_made": "grow_oysters",
    "oysters": "grow_oysters",
    "shell_height": "grow_oysters",
    "burial_killed": "grow_oysters",
    "visit": "plan_visit",
}
"""The one process that writes each field; every process posts its own entries to ledger and log.
What a crew does to the reef (``model/mending``) is part of ``age_reef``, on the day of a visit."""
