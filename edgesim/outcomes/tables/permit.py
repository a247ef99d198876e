"""T8 permit checklist and the numbers behind it, T18 checklists for the work."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from pathlib import Path

import xarray as xr

from edgesim.outcomes.design_numbers import Number, design_numbers, line_geometries
from edgesim.outcomes.embedded import SITE, scenario_file_of
from edgesim.outcomes.entrapment import CANNOT_TELL, OPEN, Pocket, screen_pockets
from edgesim.outcomes.needs import Need
from edgesim.outcomes.permit import Answer, Pack, ask_words, dated_words, screen
from edgesim.outcomes.summary import ENGLISH_UNITS
from edgesim.outcomes.tables.table import Table, TableEntry, make_table
from edgesim.scenario import CAUTIONS, ScenarioFile
from edgesim.units import both_ways

CHECKLISTS = Path(__file__).parents[1] / "checklists.csv"

SCREEN_NOTE = (
    "Geometry only, against the rule packs named, at the datums as they were entered; distances below zero lie landward of the line named. This screen gives no leave to build "
    "and is no legal advice: rules change, districts add conditions, and only the agency decides. Ask the agency."
)

WILDLIFE = "ask the agency: state and federal wildlife agencies"

A_DESIGN = Need(
    lambda dataset: (
        SITE.holds(dataset)
        and (
            scenario_file_of(dataset).central.design.walls is not None
            or scenario_file_of(dataset).central.design.reef is not None
        )
    ),
    "this scenario has no walls and no reef",
    "add a design to the scenario",
)


def permit_table(scenario_file: ScenarioFile, packs: Sequence[Pack] | None = None) -> Table:
    """T8 of a scenario: each rule and line with its answer, the number, the rule's date and whom to ask.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.
    packs : sequence of Pack, optional
        Rule packs; those of edgesim when left out.

    Returns
    -------
    Table
    """
    begins = scenario_file.central.run.start
    answers = screen(scenario_file, packs)
    rows: list[tuple[str, ...]] = [
        (
            f"{answer.pack.short}, {answer.rule.cites}", answer.rule.words, answer.line, answer.answer,
            _number_cell(answer), answer.limit_text,
            f"{dated_words(answer.pack, begins)} ({answer.pack.mark})", ask_words(answer.pack),
        )
        for answer in answers
    ]  # fmt: skip
    rows += [
        _pocket_row(pocket, scenario_file.central.site.vertical_datum)
        for pocket in pockets(scenario_file)
    ]
    headings = (
        "rule", "what it says, in our words", "line", "answer", "this design", "limit",
        "date of the rule (mark)", "and now",
    )  # fmt: skip
    notes = {
        f"{answer.pack.short} is the {answer.pack.title}": answer.pack.note for answer in answers
    }
    note = " ".join([SCREEN_NOTE, *(f"{title}: {text}" for title, text in notes.items()), CAUTIONS])
    return make_table("Permit checklist", headings, rows, note)


def _number_cell(answer: Answer) -> str:
    if not answer.why:
        return answer.number_text
    return f"{answer.number_text}; {answer.why}" if answer.number_text else answer.why


def pockets(scenario_file: ScenarioFile) -> list[Pocket]:
    """Screen of closed pockets for every option that builds something."""
    central = scenario_file.central
    return [
        screen_pockets(central, option) for option in central.options if option.walls or option.reef
    ]


def _pocket_row(pocket: Pocket, datum: str) -> tuple[str, ...]:
    title = "Animals shut in at low tide"
    words = (
        "no water between walls, reef and marsh from which an animal cannot leave as the tide falls"
    )
    if pocket.answer == OPEN:
        shown = "a way to open water at every level from MHW down"
    else:
        square = ENGLISH_UNITS["m2"][1]
        shown = (
            f"shut below {both_ways(pocket.level, 'length')} {datum}, up to {pocket.area:.0f} m2 "
            f"({pocket.area * square:.0f} ft2) and {both_ways(pocket.depth, 'length')} deep, "
            f"{both_ways(pocket.from_, 'length')} to {both_ways(pocket.to, 'length')} along the shore"
        )
        if pocket.answer == CANNOT_TELL:
            shown = f"a line runs to the side of the survey; if it goes on there: {shown}"
    return (
        title,
        words,
        pocket.option,
        pocket.answer,
        shown,
        "none",
        "screen of edgesim (judgement)",
        WILDLIFE,
    )


def numbers_table(scenario_file: ScenarioFile) -> Table:
    """T8b: distances, lengths, depths, area and volume of both lines, which agencies ask for.

    Parameters
    ----------
    scenario_file : ScenarioFile
        A loaded scenario.

    Returns
    -------
    Table
    """
    rows = []
    for name in ("walls", "reef"):
        every = [
            design_numbers(geometry) for geometry in line_geometries(scenario_file.central, name)
        ]
        if not every:
            continue
        for key, first in every[0].items():
            if key == "longest_run_without_opening":
                continue  # hangs on the opening that a rule names
            shown = sorted({_number_text(numbers[key]) for numbers in every})
            rows.append((name, first.words, " to ".join(shown)))
    site = scenario_file.central.site
    note = (
        f"Datums as entered, above {site.vertical_datum}: "
        + ", ".join(
            f"{name.upper()} {both_ways(level, 'length')}"
            for name in ("mhhw", "mhw", "msl", "mlw", "mllw")
            if (level := getattr(site.datums, name)) is not None
        )
        + ". Distances below zero lie landward of the line named. Two numbers are the least and the greatest along an uneven edge. "
        + CAUTIONS
    )
    return make_table(
        "Numbers of the design that agencies ask for", ("line", "number", "value"), rows, note
    )


def _number_text(number: Number) -> str:
    if number.value is None:
        return f"cannot tell: {number.why}"
    if number.kind == "area":
        return f"{number.value:.1f} m2 ({number.value * ENGLISH_UNITS['m2'][1]:.0f} ft2)"
    if number.kind == "volume":
        return f"{number.value:.1f} m3 ({number.value / 0.9144**3:.1f} yd3)"
    if number.kind == "fraction":
        return f"{number.value:.1%}"
    return both_ways(round(number.value, 6), number.kind)


def checklist_table(only: str = "") -> Table:
    """T18: what to check before and during the work.

    Parameters
    ----------
    only : str, default ""
        Name of one list, as "worker safety"; all of them when left out.

    Returns
    -------
    Table
    """
    rows = [row for row in _checklist_rows() if only in ("", row[0])]
    headings = ("list", "check", "why", "source", "mark", "done, by whom, when")
    note = (
        "Short lists for a first meeting, not a safety plan: add what your site, law and insurer ask for. "
        + CAUTIONS
    )
    return make_table(
        "Construction, biosecurity and worker-safety checklists",
        headings,
        [(*row, "") for row in rows],
        note,
    )


def _checklist_rows() -> Iterator[tuple[str, ...]]:
    with CHECKLISTS.open(encoding="utf-8", newline="") as stream:
        lines = csv.reader(stream)
        next(lines)
        yield from (tuple(line) for line in lines)


def t8_permit(dataset: xr.Dataset) -> Table:
    """T8, permit checklist of the scenario behind a forecast."""
    return permit_table(scenario_file_of(dataset))


def t8b_numbers(dataset: xr.Dataset) -> Table:
    """T8b, numbers of the design behind a forecast."""
    return numbers_table(scenario_file_of(dataset))


def t18_checklists(_dataset: xr.Dataset) -> Table:
    """T18, construction, biosecurity and worker-safety checklists."""
    return checklist_table()


PERMIT_TABLES: dict[str, TableEntry] = {
    "permit": TableEntry("T8", "Permit checklist", t8_permit, (SITE, A_DESIGN)),
    "design_numbers": TableEntry(
        "T8b", "Numbers of the design that agencies ask for", t8b_numbers, (SITE, A_DESIGN)
    ),
    "checklists": TableEntry(
        "T18", "Construction, biosecurity and worker-safety checklists", t18_checklists
    ),
}
"""Tables of the permit screen and the checklists by name."""
