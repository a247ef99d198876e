"""What a forecast says of the race: upkeep, causes of takeover, what failed first, stability."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import xarray as xr

    from edgesim.outcomes.screens import ScreenRow
    from edgesim.outcomes.takeover import TakeoverCause
    from edgesim.scenario import ScenarioFile

UPKEEP, CAUSES, STABILITY = "upkeep_log.csv", "takeover_causes.csv", "stability.csv"
FILES = (UPKEEP, CAUSES, STABILITY)

SCREENS_ARE = (
    'Stability screens, planning level, never a design. Where one says "look closer" measure the mud '
    'and the waves; where it says "engineer" do not build before an engineer has looked.'
)


class RaceOutput:
    """Tables of the race, made once and then written and printed."""

    def __init__(self, dataset: xr.Dataset, scenario_file: ScenarioFile) -> None:
        from edgesim.outcomes.screens import screen_table
        from edgesim.outcomes.takeover import takeover_causes

        self.dataset = dataset
        self.causes: list[TakeoverCause] = takeover_causes(dataset, scenario_file)
        self.screens: list[ScreenRow] = screen_table(scenario_file)

    def write(self, folder: Path) -> list[str]:
        """Write the tables that have rows; return their names."""
        from edgesim.outcomes.screens import write_screens
        from edgesim.outcomes.takeover import write_causes
        from edgesim.outcomes.upkeep import upkeep_rows, write_upkeep

        written = []
        log = upkeep_rows(self.dataset)
        if log:
            write_upkeep(log, folder / UPKEEP)
            written.append(UPKEEP)
        if self.causes:
            write_causes(self.causes, folder / CAUSES)
            written.append(CAUSES)
        if self.screens:
            write_screens(self.screens, folder / STABILITY)
            written.append(STABILITY)
        return written

    def as_data(self) -> dict[str, Any]:
        """Causes and screens as plain data for programs."""
        from dataclasses import asdict

        return {
            "takeover_causes": [asdict(cause) for cause in self.causes],
            "stability": [asdict(row) for row in self.screens],
        }

    def show_option(self, option: str) -> list[str]:
        """Sentences on one option: what keeps the reef from taking over, and what failed first."""
        from edgesim.outcomes.dataset import has_reef, has_walls
        from edgesim.outcomes.takeover import never_words

        lines = []
        if has_reef(self.dataset, option):
            lines.append(never_words(self.dataset, self.causes, option))
        if has_reef(self.dataset, option) or has_walls(self.dataset, option):
            lines.append(first_failure_words(self.dataset, option))
        return lines

    def show_screens(self) -> None:
        """Print the stability screens."""
        from rich.console import Console
        from rich.table import Table

        if not self.screens:
            return
        console = Console(highlight=False)
        if not console.is_terminal:
            console = Console(width=150, highlight=False)
        table = Table(title="\nstability", title_justify="left", box=None, pad_edge=False)
        for heading in (
            "screen",
            "verdict",
            "acts",
            "resists",
            "safety, middle",
            "safety, 1 in 20",
        ):
            table.add_column(heading, overflow="fold")
        for row in self.screens:
            table.add_row(
                row.screen,
                row.verdict,
                f"{_three_digits(row.acting)} {row.unit}",
                f"{_three_digits(row.resisting)} {row.unit}",
                f"{row.safety:.2g}",
                f"{row.safety_p05:.2g}",
            )
        console.print(table)
        click.echo(SCREENS_ARE)


def _three_digits(value: float) -> str:
    """Write 1780.4 as 1,780."""
    return f"{float(f'{value:.3g}'):,g}"


def first_failure_words(dataset: xr.Dataset, option: str) -> str:
    """Which part was the first to be half gone, in how many futures, and when in those.

    A year tells nothing of the futures in which another part went first, and is no measure of the part.
    """
    import numpy as np

    from edgesim.names import PARTS

    first = dataset["first_failure"].sel(option=option).values.astype(int)
    years = dataset["first_failure_year"].sel(option=option).values
    parts = []
    for index in np.argsort(-np.bincount(first, minlength=len(PARTS)), kind="stable"):
        count = int((first == index).sum())
        if not count:
            continue
        if index == 0:
            parts.append(f"nothing in {count}")
        else:
            when = float(np.median(years[first == index]))
            parts.append(f"{PARTS[index]} in {count} (there, in year {when:.1f} in the middle)")
    told = f"First part to be half gone, if only until a visit, in {first.size} futures: {', '.join(parts)}."
    if len(parts) < 2:
        return told
    return (
        f"{told} Each year is that of the futures in which this part went before all others: "
        "do not compare it with that of an option where another part may go first."
    )
