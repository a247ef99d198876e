"""The waves of a site as a table on the screen."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from edgesim.outcomes.wave_climate import WaveClimateRow
    from edgesim.scenario import ScenarioFile

WIDTH = 184
"""Width of tables where the output is not a terminal. [characters]"""

COLUMNS = {
    "passages_per_day": "passages a day",
    "waves_per_day": "waves a day",
    "period": "period, s",
    "height_at_line": "usual height\nat the line",
    "large_height_at_line": "one in twenty\nat the line",
    "height_at_edge": "usual height\nat the edge",
    "large_height_at_edge": "one in twenty\nat the edge",
    "share_of_edge_power": "share of power\nat the edge",
}


def show_waves(scenario_file: ScenarioFile, *, as_json: bool) -> None:
    """Print the waves of boats and wind, with their spread over members.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    as_json : bool
        Whether the table is for programs.
    """
    from edgesim.outcomes.wave_climate import wave_climate

    rows = wave_climate(scenario_file)
    if as_json:
        click.echo(json.dumps({"schema": 1, "waves": [asdict(row) for row in rows]}, indent=2))
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(width=WIDTH, highlight=False)
    table = Table(box=None, pad_edge=False)
    table.add_column("waves of")
    for heading in COLUMNS.values():
        table.add_column(heading, justify="right")
    by_place = {(row.source, row.quantity): row for row in rows}
    for source in dict.fromkeys(row.source for row in rows if row.source != "all"):
        cells = [by_place.get((source, quantity)) for quantity in COLUMNS]
        table.add_row(escape(source), *[escape(_cell(row)) if row else "" for row in cells])
    power = by_place["all", "edge_power"]
    n = power.n
    console.print(
        f"Waves of an ordinary year, today's traffic, no defence: median of {n} futures and, in brackets, "
        "their 90 % band.\nHeights are of the highest wave of a wake (of wind: the mean by energy, and the "
        "strongest wind listed); the line is the outermost structure,\nthe edge is the marsh edge at mean "
        "high water.",
        markup=False,
    )
    console.print(table)
    console.print(
        f"Power that works on the edge: {power.p50:.3g} W/m ({power.p05:.3g} to {power.p95:.3g}).",
        markup=False,
    )


def _cell(row: WaveClimateRow) -> str:
    """Median and band; heights in feet and, below, in metres."""
    from edgesim.outcomes.wave_climate import in_feet

    if row.unit == "m":
        feet = in_feet(row)
        return (
            f"{feet.p50:.2f} ft ({feet.p05:.2f}..{feet.p95:.2f})\n"
            f"{row.p50:.2f} m ({row.p05:.2f}..{row.p95:.2f})"
        )
    if row.quantity == "share_of_edge_power":
        return f"{row.p50:.0%} ({row.p05:.0%}..{row.p95:.0%})"
    digits = 1 if row.quantity == "period" else 0
    return f"{row.p50:.{digits}f} ({row.p05:.{digits}f}..{row.p95:.{digits}f})"
