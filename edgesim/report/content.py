"""What the plan says, first half: summary, site, people, targets, options, forecast, limits."""

from __future__ import annotations

from edgesim.figures.style import EVIDENCE_YEARS, featured_option
from edgesim.outcomes.dataset import has_reef, has_walls
from edgesim.outcomes.embedded import INPUTS, banner_of
from edgesim.report import findings as told
from edgesim.report.document import Block, Bullets, Heading, Missing, Paragraph, Section, bullets
from edgesim.report.exhibits import Shelf
from edgesim.report.words import FINE_LENGTH


def finding(words: str, lead: str = "") -> Paragraph:
    """Make a paragraph that tells of results."""
    return Paragraph(words, lead=lead, finding=True)


def cite(words: str, references: str) -> str:
    """Put references before the full stop that ends a text.

    Examples
    --------
    >>> cite("It moves.", " ([[fig:race]])")
    'It moves ([[fig:race]]).'
    """
    return f"{words.removesuffix('.')}{references}."


def findings_list(items: list[str]) -> Bullets:
    """Make a list of results."""
    return Bullets(tuple(finding(item) for item in items))


def summary(shelf: Shelf) -> Section:
    """One page for those who read one page."""
    data = shelf.dataset
    built, goals = told.built_options(data), told.objective_words(data)
    blocks: list[Block] = [
        finding(cite(told.no_action_words(data), shelf.see("F12")), "If nothing is done."),
        finding(
            told.choice_words(data) + " Every comparison stands in [[sec:alternatives]].",
            "Can the forecast carry a choice?",
        ),
    ]
    if goals:
        blocks.append(finding(cite(goals, shelf.see("T4")), "Are the objectives reached?"))
    option = featured_option(data)
    if has_reef(data, option):
        blocks.append(finding(told.takeover_words(data, option), "Will the reef take over?"))
    if built:
        blocks += [
            finding(told.marsh_words(data, option), "Marsh kept."),
            finding(told.neighbours_words(data, option), "The shore beside it."),
            Paragraph("", lead="Money."),
            findings_list([told.cost_words(data, name) for name in built]),
        ]
    blocks += [
        finding(told.horizon_words(data), "How far ahead."),
        Paragraph(_trust(shelf), lead="How far to trust it."),
        Paragraph(
            "Read the cautions, check the site facts, measure what matters most, settle the targets "
            "and triggers with those who will act on them, and ask the agencies. The forecast "
            "compares designs at one site. It does not replace a survey, a design or a permit.",
            lead="What to do now.",
        ),
    ]
    return Section("summary", "Summary", tuple(blocks), new_page=True)


def _trust(shelf: Shelf) -> str:
    members = int(shelf.dataset.sizes["member"])
    words = (
        f"Every number is the middle of {members} equally likely futures and stands with its "
        "spread: the range that holds half of the futures, and the range that holds nine tenths."
    )
    if failed := told.failure_words(shelf.dataset):
        words += f" {failed}"
    if INPUTS in shelf.dataset.attrs:
        words += f" Of what went in: {banner_of(shelf.dataset)}"
    return f"{words} Where the forecast must not be trusted stands in [[sec:limits]]."


def site(shelf: Shelf) -> Section:
    """Where it is and what happened so far."""
    data = shelf.dataset
    return Section(
        "site",
        "Problem, site and history",
        (
            Paragraph(
                "The marsh edge is worn away by waves. The questions are how fast, by whose waves, "
                "and whether two lines of defence slow it: porous walls of branches between posts, "
                "and oyster substrate behind them."
            ),
            *shelf.show("T1", "F1", "T2"),
            Heading("history", "The edge so far"),
            *shelf.show("F2", "F3"),
            Heading("waves", "Waves and water levels"),
            finding(cite(told.wave_words(data), shelf.see("F9"))),
            finding(cite(told.sea_words(data), shelf.see("F6"))),
            *shelf.show("F8", "F7", "F9", "F6", "F4"),
        ),
    )


def people(shelf: Shelf) -> Section:
    """Who decides, works, pays or is touched."""
    return Section(
        "people",
        "Stakeholders and roles",
        (
            Paragraph(
                "A plan works only if somebody has the mandate to act on what the surveys show. "
                "Name for each task one person who does it and one who decides."
            ),
            *shelf.show("T3"),
        ),
    )


def objectives(shelf: Shelf) -> Section:
    """What shall be reached, measurably."""
    blocks: list[Block] = [
        Paragraph(
            "A target is of use if it can be measured, has a date, and can be reached in two "
            "to ten years. Success of oysters cannot be judged before the third year, when "
            "several year classes can be seen."
        )
    ]
    if goals := told.objective_words(shelf.dataset):
        blocks.append(finding(goals))
    blocks += shelf.show("T4")
    return Section("objectives", "Objectives and measurable targets", tuple(blocks))


def alternatives(shelf: Shelf) -> Section:
    """Options compared, no action among them."""
    data = shelf.dataset
    against, among = told.against_nothing(data), told.among_built(data)
    blocks: list[Block] = [
        Paragraph(
            "All options meet the same futures: the same boats, winds, surges and soils. They are "
            "therefore compared future by future. The spread of a difference is much smaller than "
            "that of the options themselves, because what nobody knows about the site is the same "
            "for all."
        ),
        *shelf.show("T5", "F12"),
        Heading("against_nothing", "Each option against no action"),
    ]
    if against:
        blocks.append(findings_list([comparison.words() for comparison in against]))
    else:
        blocks.append(Missing("an option that builds something. Add one to the scenario."))
    if among:
        blocks += [
            Heading("among_built", "The options against each other"),
            findings_list([comparison.words() for comparison in among]),
        ]
    blocks += [
        Heading("choice", "What the evidence supports"),
        finding(told.choice_words(data)),
        *shelf.show("F18", "F27"),
    ]
    if against:
        blocks.append(finding(told.neighbours_words(data, featured_option(data))))
    return Section("alternatives", "Alternatives, with no action", tuple(blocks))


def hypotheses(shelf: Shelf) -> Section:
    """What we believe about how it works, and what would change our minds."""
    return Section(
        "hypotheses",
        "Conceptual model and competing beliefs",
        (
            Paragraph(
                "Waves that arrive when the water stands at the face of the marsh undercut it, and "
                "it retreats. Walls take height out of the waves, less of it when they are worn and "
                "when they are under water. In the calmer water mud settles, and oysters may grow. "
                "Branches rot, posts are eaten, wire rusts. The reef takes over if it still "
                "shelters the edge, without its wire, when the walls are gone."
            ),
            *shelf.show("F11"),
            Paragraph("Beliefs that surveys can tell apart:"),
            bullets(
                [
                    (
                        "Boats or wind.",
                        "If wakes wear the edge, retreat is fastest in the boating season and where boats pass close; if wind does, after storms.",
                    ),
                    (
                        "Much or little spat.",
                        "If larvae are plenty, shell is covered in the first or second summer; if not, the reef stays a pile of shell.",
                    ),
                    (
                        "Fast or slow decay.",
                        "If borers are many, branches and posts lose strength in the first two years; if not, wire fails first.",
                    ),
                ]
            ),
            *shelf.show("F22"),
        ),
    )


def forecast(shelf: Shelf) -> Section:
    """What the model says, on what it rests, and where it ends."""
    data = shelf.dataset
    option = featured_option(data)
    blocks: list[Block] = [
        finding(told.horizon_words(data)),
        Heading("results", "Results"),
        Paragraph(
            cite(
                "Medians and bands by option and year stand in [[sec:numbers]].",
                shelf.see("T11"),
            )
        ),
        *shelf.show("F13"),
    ]
    if has_walls(data, option) or has_reef(data, option):
        blocks.append(finding(cite(told.mud_words(data, option), shelf.see("F14"))))
    blocks += shelf.show("F14")
    if has_walls(data, option):
        blocks.append(finding(cite(told.upkeep_words(data, option), shelf.see("F16"))))
    if has_reef(data, option):
        blocks += [
            finding(cite(told.oyster_words(data, option), shelf.see("F15"))),
            finding(told.takeover_words(data, option)),
        ]
    blocks += shelf.show("F15", "F16")
    blocks += [
        Heading("assumptions", "Assumptions and their sources"),
        Paragraph(
            cite(
                "Every input that the model uses stands in [[sec:inputs]] with where it comes from "
                "and how far it is to be trusted: read in a source, computed, remembered, a "
                "judgement, or common practice without a source.",
                shelf.see("T9", "T10"),
            )
        ),
        Heading("sensitivity", "What matters most"),
        Paragraph(
            "Inputs to which the result is sensitive are worth measuring; for the others a guess will do."
        ),
        *shelf.show("T12", "F17", "F19"),
        *limits(shelf),
    ]
    return Section(
        "forecast", "Forecast with its uncertainty, assumptions and limits", tuple(blocks)
    )


def limits(shelf: Shelf) -> list[Block]:
    """The page of limits."""
    cell = float(shelf.dataset["cell_size"])
    return [
        Heading("limits", "Limits of this forecast", new_page=True),
        finding(told.horizon_words(shelf.dataset)),
        bullets(
            [
                (
                    "It is a forecast of differences.",
                    "How much one design does better than another is better known than where the edge will lie.",
                ),
                (
                    "Traffic is the worst-known input.",
                    "Short counts of boats are off by a factor; the spread given for traffic carries through every number here.",
                ),
                (
                    "Wave heights behind lines come from formulas",
                    "that were measured in flumes and on other coasts, not on walls of this kind at this site.",
                ),
                (
                    "Storms beyond the record, ice, drought and disease",
                    "are not in it. Each can undo in a day what the forecast says for years.",
                ),
                (
                    "Ground is described on a grid",
                    f"of cells {FINE_LENGTH.one(cell)} long: what is smaller, such as scour at one post, is not seen.",
                ),
                (
                    "The bands hold what the inputs allow.",
                    "They do not hold what the model leaves out; the truth may lie outside them more often than they say.",
                ),
                (
                    f"After about {EVIDENCE_YEARS:.0f} years",
                    "nothing built of this kind has been watched long enough to check the forecast.",
                ),
            ]
        ),
        *shelf.show("T21"),
    ]


FRONT = (summary, site, people, objectives, alternatives, hypotheses, forecast)
"""Sections in their order."""
