"""What the plan says, second half: design to end of life, and the appendices."""

from __future__ import annotations

from edgesim.figures.style import featured_option
from edgesim.outcomes.calendar import review_years
from edgesim.outcomes.dataset import has_walls
from edgesim.outcomes.embedded import INPUTS, inputs_of
from edgesim.report import findings as told
from edgesim.report.content import finding, findings_list
from edgesim.report.document import (
    Block,
    Bullets,
    Heading,
    Listing,
    Paragraph,
    Section,
    bullets,
)
from edgesim.report.exhibits import Shelf

GLOSSARY = (
    ("Band:", "the range that holds half, or nine tenths, of the futures."),
    (
        "Future, or member:",
        "one run of the forecast with one draw of everything that is uncertain.",
    ),
    ("Gabion:", "a cage of wire filled with shell."),
    ("Kt:", "the share of the wave height that passes a line; 1 is no shelter."),
    (
        "Mean high and low water (MHW, MLW):",
        "averages of the high and of the low waters over 19 years.",
    ),
    ("Median:", "the middle value: as many futures above as below."),
    ("NAVD88:", "the zero of heights in North American surveys."),
    ("Retreat:", "movement of the marsh edge towards the land."),
    ("Takeover:", "the reef, standing without its wire, shelters the edge by itself."),
    ("Wake:", "the waves that a boat leaves behind."),
)


def design(shelf: Shelf) -> Section:
    """What is built."""
    return Section(
        "design",
        "Design and materials",
        (
            Paragraph(
                "Dimensions here are those of the forecast, for planning and for talks with "
                "agencies. They are not construction drawings."
            ),
            *shelf.show("T6", "F5", "F10", "T7"),
        ),
    )


def construction(shelf: Shelf) -> Section:
    """How it is built without harm."""
    return Section(
        "construction",
        "Construction, safety and biosecurity",
        (
            Paragraph(
                "Tick each line with name and date before, during and after the work. The cautions "
                "on the first page apply to every day on site."
            ),
            *shelf.show("T18"),
        ),
    )


def monitoring(shelf: Shelf) -> Section:
    """What is measured, where and by whom."""
    return Section(
        "monitoring",
        "Monitoring plan",
        (
            Paragraph(
                "Measure before and after, here and at a control that is not protected. Measure "
                "the same way every time, write down who measured with what, take photographs from "
                "fixed points, and repeat a tenth of the measurements to know their error."
            ),
            *shelf.show("T14", "F26"),
        ),
    )


def triggers(shelf: Shelf) -> Section:
    """What is seen, and what is done then."""
    data = shelf.dataset
    return Section(
        "triggers",
        "Triggers and responses",
        (
            Paragraph(
                "A trigger names a value, who looks at it, and what is done without a new meeting. "
                "No published thresholds for refilling were found: the values below are a start, "
                "to be changed by those who will act on them."
            ),
            finding(told.trigger_words(data, featured_option(data))),
            *shelf.show("T13", "F20", "F25"),
        ),
    )


def maintenance(shelf: Shelf) -> Section:
    """What upkeep needs and costs."""
    data = shelf.dataset
    built = told.built_options(data)
    blocks: list[Block] = [
        Paragraph(
            "Upkeep decides the result: porous walls of branches elsewhere needed topping up for "
            "years, and sites without upkeep failed. Money for it belongs in the first budget."
        )
    ]
    if built:
        blocks.append(findings_list([told.cost_words(data, name) for name in built]))
    if has_walls(data, featured_option(data)):
        blocks.append(finding(told.upkeep_words(data, featured_option(data))))
    blocks += shelf.show("T15", "F23", "T16", "F24")
    return Section("maintenance", "Maintenance schedule and budget", tuple(blocks))


def permits(shelf: Shelf) -> Section:
    """Which numbers in the rules the layout meets."""
    return Section(
        "permits",
        "Permits and conditions",
        (
            Paragraph(
                "Some permit limits are numbers that can be compared with the layout. The table "
                "says whether the layout is inside or outside such a number, or that it cannot "
                "tell. It never says that something is permitted: ask the agency, and ask for the "
                "present text of the rule."
            ),
            *shelf.show("T8"),
        ),
    )


def data_management(_shelf: Shelf) -> Section:
    """Where numbers are kept and shared."""
    return Section(
        "data",
        "Data management and sharing",
        (
            bullets(
                [
                    (
                        "Kept together:",
                        "scenario file, forecast file, this plan, field sheets, photographs, and the log of changes.",
                    ),
                    (
                        "Named:",
                        "every height with its datum and geoid model, every position with its coordinate system, every length with its unit.",
                    ),
                    (
                        "Open:",
                        "tables as CSV and the forecast as netCDF, which any program reads. Each table of this plan lies beside it as CSV.",
                    ),
                    (
                        "Separable:",
                        "control and treated stations differ by a column, so that others can use the data.",
                    ),
                    ("Safe:", "two copies in two places, one of them not in the same building."),
                ]
            ),
        ),
    )


def reviews(shelf: Shelf) -> Section:
    """When the plan is looked at again."""
    start = int(str(shelf.dataset["time"].values[0])[:4])
    years = review_years(shelf.dataset)
    return Section(
        "reviews",
        "Reporting and review calendar",
        (
            bullets(
                [
                    ("After every visit:", "field sheet and photographs filed within a week."),
                    ("After every storm:", "inspection as soon as it is safe; debris collected."),
                    (
                        "Every year:",
                        "survey compared with the forecast, triggers checked, a report of a few pages.",
                    ),
                    (
                        "Whole plan reviewed:",
                        ", ".join(f"year {year} ({start + year})" for year in years)
                        + ". Each review ends with a decision: go on, change, or stop.",
                    ),
                ]
            ),
        ),
    )


def learning(shelf: Shelf) -> Section:
    """What was forecast, what was seen, what was changed."""
    return Section(
        "learning",
        "Learning log",
        (
            Paragraph(
                "Forecasts are kept and compared with what is measured. A wrong forecast is worth "
                "as much as a right one if it is written down what was learned."
            ),
            *shelf.show("F21", "T19", "T20"),
        ),
    )


def end_of_life(shelf: Shelf) -> Section:
    """What becomes of it."""
    return Section(
        "end",
        "End of life, removal and liability",
        (
            bullets(
                [
                    (
                        "Owner:",
                        "name who owns each structure, who keeps it marked, and who pays if it must go. An agency can order removal of what is not kept up.",
                    ),
                    (
                        "Removal:",
                        "wire and posts are taken out before they come loose; cemented shell may stay if the agency agrees.",
                    ),
                    ("Reserve:", "keep the cost of removal from the first year on."),
                    ("Debris:", "every unit carries a tag with a telephone number."),
                ]
            ),
            *shelf.show("T17"),
        ),
    )


def appendices(shelf: Shelf) -> Section:
    """Provenance, glossary, references, and what found no other place."""
    attrs = shelf.dataset.attrs
    rest = shelf.rest
    provenance: list[Block] = [
        Heading("provenance", "Provenance"),
        Paragraph(
            "With the version, the seed and the scenario below anybody gets the same numbers again."
        ),
        bullets(
            [
                ("Made by:", f"{attrs['source']}; {attrs['library_versions']}."),
                ("Seed:", f"{int(attrs['seed'])}."),
                ("Scenario (SHA-256):", f"{attrs['edgesim_scenario_sha256']}."),
                ("History:", f"{attrs['history']}."),
            ]
        ),
        *shelf.show("T22"),
    ]
    closing: list[Block] = [
        Heading("glossary", "Words used"),
        bullets(list(GLOSSARY)),
        Heading("references", "Sources"),
        Paragraph(
            "Every constant and formula stands with its source and how far to trust it in "
            "docs/sources.md of edgesim. Inputs of this scenario that were not given by its author "
            "rest on:"
        ),
        sources(shelf),
        Heading("scenario", "The scenario as it was run"),
        Paragraph("Every input, in metres, kilograms, seconds and radians, defaults written out."),
        Listing(str(attrs["edgesim_scenario"]), "Scenario file"),
    ]
    numbers: list[Block] = [
        Heading("numbers", "The forecast in numbers"),
        *shelf.show("T11"),
        Heading("inputs", "Inputs and their sources"),
        *shelf.show("T9", "T10"),
    ]
    left = rest()
    more: list[Block] = [Heading("more", "Further figures and tables"), *left] if left else []
    return Section(
        "appendices", "Appendices", (*provenance, *numbers, *more, *closing), new_page=True
    )


def sources(shelf: Shelf) -> Bullets:
    """Sources of the defaults and materials that the scenario took, each once."""
    if INPUTS not in shelf.dataset.attrs:
        return bullets(["Not provided: this forecast was written without its inputs."])
    named = {
        f"{row['source']} ({row['mark']})"
        for row in inputs_of(shelf.dataset)
        if row["source"] and row["given_by"] in ("default", "material")
    }
    return bullets(sorted(named) or ["None: every input was given."])


BACK = (
    design,
    construction,
    monitoring,
    triggers,
    maintenance,
    permits,
    data_management,
    reviews,
    learning,
    end_of_life,
    appendices,
)
"""Sections in their order."""
