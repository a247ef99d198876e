"""Reads surveys of what came after building: edge, bed, walls, reef and oysters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from edgesim.constants import DAYS_PER_YEAR
from edgesim.errors import ScenarioError, UnitError
from edgesim.scenario import Scenario
from edgesim.scenario.design import Option
from edgesim.scenario.tables import Lines, TableError, day_cell, read_lines
from edgesim.units import KINDS, parse_quantity

COLUMNS = ("date", "quantity", "value", "error")


@dataclass(frozen=True, slots=True)
class Measure:
    """Something that is measured on the site and that a forecast holds.

    Attributes
    ----------
    variable : str
        Its name in the Dataset.
    kind : str
        Kind of quantity of :data:`edgesim.units.KINDS`.
    part : str
        Line that it belongs to: "walls", "reef", or "" for the shore.
    meaning : str
        What exactly is compared.
    """

    variable: str
    kind: str
    part: str
    meaning: str


MEASURES = {
    "retreat": Measure(
        "retreat", "length", "", "retreat of the edge since building, mean over the reach behind the design"
    ),
    "bed rise": Measure(
        "bed_rise", "length", "", "rise of the flat between outer line and edge since building, mean over the reach"
    ),
    "fill": Measure("fill_fraction", "fraction", "walls", "height of the fill over that at build, mean over bays"),
    "posts": Measure("posts_standing", "fraction", "walls", "share of the posts still sound"),
    "reef crest": Measure("reef_crest", "length", "reef", "level of the crest above the vertical datum, mean over units"),
    "oysters": Measure("oyster_density", "per area", "reef", "live oysters of all sizes per plan area of reef unit"),
}  # fmt: skip
"""Quantities that a survey may hold, by the name used in the file."""


@dataclass(frozen=True, slots=True)
class Survey:
    """One measured number with its standard error, in inside units.

    Attributes
    ----------
    day : date
        When it was measured.
    quantity : str
        Key of :data:`MEASURES`.
    value, error : float
        [inside unit of the quantity]
    years : float
        Time since the start of the forecast. [year]
    """

    day: date
    quantity: str
    value: float
    error: float
    years: float

    @property
    def measure(self) -> Measure:
        """What was measured."""
        return MEASURES[self.quantity]


def read_surveys(path: Path, scenario: Scenario, built: Option) -> list[Survey]:
    """Read the surveys of a design that was built at the start of a scenario.

    Parameters
    ----------
    path : Path
        CSV file with the columns ``date`` (2028-03-01), ``quantity`` (key of :data:`MEASURES`), and
        ``value`` and ``error`` (standard error of the value) with their units, as ``1.3 ft``.
    scenario : Scenario
        Gives start and length of the forecast.
    built : Option
        What was built.

    Returns
    -------
    list of Survey
        In the order of their dates.

    Raises
    ------
    ScenarioError
        Naming file, row, column, value and remedy of everything that is wrong.
    """
    try:
        lines = read_lines(path)
        places = {column: _place(lines, column) for column in COLUMNS}
    except TableError as error:
        raise ScenarioError([str(error)]) from error
    problems, found = [], []
    for number, cells in lines.rows:
        row = {name: cells[place] if place < len(cells) else "" for name, place in places.items()}
        try:
            found.append(_survey(lines.name, number, row, scenario, built))
        except TableError as error:
            problems.append(str(error))
    if problems:
        raise ScenarioError(problems)
    return sorted(found, key=lambda survey: survey.day)


def _place(lines: Lines, column: str) -> int:
    if column in lines.heading:
        return lines.heading.index(column)
    raise TableError(
        where=f"{lines.name}, heading",
        what=f'has no column "{column}"',
        remedy=f"Name the columns {', '.join(COLUMNS)}.",
    )


def _survey(
    name: str, number: int, row: dict[str, str], scenario: Scenario, built: Option
) -> Survey:
    """Survey of one row."""
    day = day_cell(name, number, row["date"])
    years = (day - scenario.run.start).days / DAYS_PER_YEAR

    def refuse(*, column: str, what: str, remedy: str) -> TableError:
        where = f'{name}, row {number}, column {column}, value "{row[column]}"'
        return TableError(where=where, what=what, remedy=remedy)

    if not 0.0 < years <= scenario.run.years:
        raise refuse(
            column="date",
            what="lies outside the forecast",
            remedy=f"Give a day after {scenario.run.start}, at most {scenario.run.years} years later.",
        )
    measure = MEASURES.get(row["quantity"])
    if measure is None:
        raise refuse(column="quantity", what="is not known", remedy=f"Write {_either(MEASURES)}.")
    if measure.part and not getattr(built, measure.part):
        raise refuse(
            column="quantity",
            what=f'belongs to the {measure.part}, which "{built.name}" does not have',
            remedy="Leave the row out, or name another option with --built.",
        )
    kind = KINDS[measure.kind]
    numbers = {}
    for column in ("value", "error"):
        try:
            numbers[column] = parse_quantity(row[column], measure.kind)
        except UnitError as error:
            remedy = f"Give {kind.name}, as {kind.example}."
            raise refuse(column=column, what=str(error), remedy=remedy) from error
    if numbers["error"] <= 0.0:
        raise refuse(
            column="error",
            what="must be above 0",
            remedy="Give the standard error of the mean over the reach.",
        )
    return Survey(day, row["quantity"], numbers["value"], numbers["error"], years)


def _either(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} or {last}"
