"""Sentences from results: numbers, spreads, and plain words where the evidence is too thin."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import pytest
import xarray as xr

from edgesim.report import findings
from edgesim.report.document import Bullets, Document, Paragraph
from edgesim.report.exhibits import Shelf
from edgesim.report.plan import make_document

BOTH, WALLS, REEF = "walls and reef", "walls only", "reef only"
SPREAD = re.compile(r"nine tenths|90 % interval|same in nine tenths")
RESULT = re.compile(r"\d+(\.\d+)? ?(m|ft|cm|in|mm|m²|USD|%|per m²|times)\b")


def changed(dataset: xr.Dataset, name: str, option: str, last: object) -> xr.Dataset:
    """The same forecast with other values in the last record of one option."""
    copy = dataset.copy(deep=True)
    copy[name].loc[{"option": option, "time": copy["time"][-1]}] = last
    return copy


def test_a_difference_whose_band_leaves_out_zero_is_supported(synthetic_dataset: xr.Dataset):
    nothing = findings.at_end(synthetic_dataset, "retreat", "no action")
    data = changed(synthetic_dataset, "retreat", BOTH, nothing - np.linspace(0.4, 2.4, 40))
    comparison = findings.compare(data, BOTH, "no action")
    assert comparison.verdict == "supported"
    # Quantiles by hand, of even steps from 0.4 to 2.4 m: 0.5, 0.9, 1.4, 1.9 and 2.3 m.
    assert "less by 1.4 m (4.6 ft): 0.9 to 1.9 m (3.0 to 6.2 ft) in half" in comparison.words()
    assert "0.5 to 2.3 m (1.6 to 7.5 ft) in nine tenths" in comparison.words()


@pytest.mark.parametrize(
    ("low", "high", "verdict", "words"),
    [
        (-0.5, 0.5, "open", "Both bands include zero"),
        (-0.1, 0.9, "leaning", "the band of nine tenths includes zero"),
        (-0.9, 0.1, "leaning", "the band of nine tenths includes zero"),
    ],
)
def test_a_difference_whose_band_holds_zero_does_not_support_a_choice(
    synthetic_dataset: xr.Dataset, low: float, high: float, verdict: str, words: str
):
    walls = findings.at_end(synthetic_dataset, "retreat", WALLS)
    data = changed(synthetic_dataset, "retreat", BOTH, walls - np.linspace(low, high, 40))
    comparison = findings.compare(data, BOTH, WALLS)
    assert comparison.verdict == verdict
    assert words in comparison.words()
    assert "does not support a choice" in comparison.words()


def test_the_better_option_is_named_first_whatever_the_order(synthetic_dataset: xr.Dataset):
    walls = findings.at_end(synthetic_dataset, "retreat", WALLS)
    data = changed(synthetic_dataset, "retreat", BOTH, walls - 1.0)
    assert findings.compare(data, WALLS, BOTH).words().startswith("Walls and reef against walls")
    assert (
        findings.compare(data, WALLS, BOTH).words() == findings.compare(data, BOTH, WALLS).words()
    )


def test_the_plan_says_when_no_design_helps(synthetic_dataset: xr.Dataset):
    data = synthetic_dataset
    nothing = findings.at_end(data, "retreat", "no action")
    for option in (BOTH, WALLS, REEF):
        data = changed(data, "retreat", option, nothing + np.linspace(-0.5, 0.5, 40))
    assert "does not support building any" in findings.choice_words(data)


def test_the_plan_says_when_two_designs_cannot_be_told_apart(synthetic_dataset: xr.Dataset):
    data, nothing = synthetic_dataset, findings.at_end(synthetic_dataset, "retreat", "no action")
    data = changed(data, "retreat", BOTH, nothing - 1.0)
    data = changed(data, "retreat", REEF, nothing - 1.0 + np.linspace(-0.1, 0.2, 40))
    data = changed(data, "retreat", WALLS, nothing - 0.2)
    words = findings.choice_words(data)
    assert "does not support a choice between walls and reef and reef only" in words
    assert "walls only on retreat alone" not in words


def test_the_plan_names_a_leader_only_if_its_lead_holds(synthetic_dataset: xr.Dataset):
    data, nothing = synthetic_dataset, findings.at_end(synthetic_dataset, "retreat", "no action")
    for option, gain in ((BOTH, 1.0), (REEF, 0.6), (WALLS, 0.3)):
        data = changed(data, "retreat", option, nothing - gain)
    assert "walls and reef slowed it most" in findings.choice_words(data)
    assert "does not support" not in findings.choice_words(data)


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (10, "more likely that it does not"),
        (14, "do not plan on it"),
        (26, "do not plan on it"),
        (30, "more likely than not"),
    ],
)
def test_takeover_between_one_third_and_two_thirds_is_not_to_be_planned_on(
    synthetic_dataset: xr.Dataset, count: int, words: str
):
    data = synthetic_dataset.copy(deep=True)
    years = np.where(np.arange(40) < count, 5.0, np.nan)
    data["takeover_year"].loc[{"option": BOTH}] = years
    told = findings.takeover_words(data, BOTH)
    assert words in told
    assert f"{count} of 40 futures" in told
    assert "90 % interval" in told


@pytest.mark.parametrize(
    ("count", "words"),
    [
        # Interval of 14 of 40 at 90 %: 22 to 49 %, of 20 of 40: 36 to 64 %, of 26 of 40: 51 to 77 %.
        (14, "No option of this forecast can be expected to reach “keep the marsh”"),
        (20, "Whether “keep the marsh” can be reached the forecast cannot tell"),
        (26, ""),
    ],
)
def test_an_objective_is_judged_by_the_interval_of_its_chance(
    whole_dataset: xr.Dataset, count: int, words: str
):
    toml = whole_dataset.attrs["edgesim_scenario"]
    said = toml.replace('metric = "retreat"', 'metric = "fill left in the walls"')
    fill = xr.DataArray(np.where(np.arange(40) < count, 0.4, 0.6), dims="member")
    data = whole_dataset.assign(fill_fraction=0.0 * whole_dataset["fill_fraction"] + fill)
    told = findings.objective_words(data.assign_attrs(edgesim_scenario=said))
    assert f"{count} of 40 futures" in told
    verdict = told.partition("whatever is built.")[2]
    assert verdict.strip().startswith(words)
    assert bool(verdict) == bool(words)


@pytest.mark.parametrize(("share", "missed"), [(0.9, True), (0.1, False)])
def test_the_plan_says_whether_its_own_objectives_are_reached(
    whole_dataset: xr.Dataset, share: float, missed: bool
):
    toml = whole_dataset.attrs["edgesim_scenario"]
    metric = "retreat behind the design against no action"
    data = whole_dataset.assign_attrs(
        edgesim_scenario=toml.replace('metric = "retreat"', f'metric = "{metric}"')
    )
    nothing = whole_dataset["retreat"].sel(option="no action", drop=True)
    data = data.assign(
        retreat=data["retreat"].where(data["option"] == "no action", share * nothing)
    )
    words = findings.objective_words(data)
    # None or all of 40: the one-sided 5 % point is 1 - 0.05**(1/40) = 7.2 %.
    told = "0 of 40 futures (chance 0 %, 90 % interval 0 to 7 %)" if missed else "40 of 40 futures (chance 100 %, 90 % interval 93 to 100 %)"  # fmt: skip
    assert f"“keep the marsh” ({metric} below half, by year 5): {told} whatever is built." in words
    assert ("can be expected to reach “keep the marsh”" in words) == missed


def test_an_objective_that_is_not_computed_is_named(whole_dataset: xr.Dataset):
    assert findings.objective_words(whole_dataset) == (
        "Not computed from the forecast: “keep the marsh”."
    )


def test_interval_of_a_chance_is_that_of_a_reference_library(synthetic_dataset: xr.Dataset):
    # scipy.stats.binomtest(10, 40).proportion_ci(0.9, "exact") = (0.1424, 0.3877)
    from scipy.stats import binomtest

    from edgesim.report.words import share_of

    low, high = binomtest(10, 40).proportion_ci(0.9, "exact")
    assert f"90 % interval {100 * low:.0f} to {100 * high:.0f} %" in share_of([1] * 10 + [0] * 30)


@pytest.mark.parametrize(
    ("harm", "words"), [(0.2, "loses more"), (-0.2, "loses less"), (0.0, "neither harm nor help")]
)
def test_harm_beside_the_design_is_said(synthetic_dataset: xr.Dataset, harm: float, words: str):
    nothing = findings.at_end(synthetic_dataset, "retreat_neighbours", "no action")
    beside = nothing + harm + np.linspace(-0.05, 0.05, 40)
    data = changed(synthetic_dataset, "retreat_neighbours", BOTH, beside)
    assert words in findings.neighbours_words(data, BOTH)


@pytest.mark.parametrize(("rise", "words"), [(0.2, "risen by 20 cm"), (-0.2, "sunk by 20 cm")])
def test_a_change_is_named_by_its_side_and_not_by_a_minus_sign(
    synthetic_dataset: xr.Dataset, rise: float, words: str
):
    built = float(synthetic_dataset["reef_crest_built"])
    told = findings.oyster_words(changed(synthetic_dataset, "reef_crest", BOTH, built + rise), BOTH)
    assert words in told
    assert "\N{MINUS SIGN}" not in told


def test_a_leader_is_named_with_what_it_costs_more(synthetic_dataset: xr.Dataset):
    data, nothing = synthetic_dataset, findings.at_end(synthetic_dataset, "retreat", "no action")
    for option, gain, cost in ((BOTH, 1.0, 9000.0), (REEF, 0.6, 5500.0), (WALLS, 0.3, 100.0)):
        data = changed(data, "retreat", option, nothing - gain)
        data = changed(data, "cost", option, cost)
    assert "it costs more than reef only by 3,500 USD" in findings.choice_words(data)


def test_futures_that_were_not_computed_are_told(
    synthetic_dataset: xr.Dataset, say: Callable[[xr.Dataset], Document]
):
    assert findings.failure_words(synthetic_dataset) == ""
    data = synthetic_dataset.assign_attrs(failures='[{"member": 3}, {"member": 7}]')
    told = findings.failure_words(data)
    assert told.startswith("2 of 42 futures could not be computed and are left out")
    assert any(told in paragraph.words for paragraph in paragraphs(say(data)))


def test_a_trigger_that_new_works_do_not_meet_is_told(synthetic_dataset: xr.Dataset):
    data = synthetic_dataset.copy(deep=True)
    assert "Fill left" not in findings.trigger_words(data, BOTH)
    data["fill_fraction"].loc[{"option": BOTH}] = 0.4
    told = findings.trigger_words(data, BOTH)
    assert "“Fill left in the walls” in 40 of 40 futures" in told
    assert "change the threshold" in told


def test_mended_units_are_told_where_there_are_any(synthetic_dataset: xr.Dataset):
    assert "mend" not in findings.oyster_words(synthetic_dataset, BOTH)
    data = synthetic_dataset.copy(deep=True)
    data["ledger"].loc[{"option": BOTH, "ledger_entry": "units_mended"}] = 12.0
    told = findings.oyster_words(data, BOTH)
    assert "Crews mend spilled units 12 times, the same in nine tenths of the futures." in told


def test_a_horizon_beyond_the_evidence_is_said(synthetic_dataset: xr.Dataset):
    assert "beyond the evidence" in findings.horizon_words(synthetic_dataset)
    short = synthetic_dataset.isel(time=slice(0, 21))
    assert "within the age" in findings.horizon_words(short)


@pytest.fixture(scope="module")
def say(synthetic_dataset: xr.Dataset) -> Callable[[xr.Dataset], Document]:
    """Write a plan's text without drawing anything."""

    def saying(dataset: xr.Dataset) -> Document:
        from edgesim.report import exhibits

        absent = {f"fig:{key}": "not provided: not drawn." for key in exhibits.FIGURES}
        absent |= {f"tab:{key}": "not provided: not built." for key in exhibits.TABLES}
        return make_document(Shelf(dataset, {}, {}, absent))

    return saying


def paragraphs(document: Document) -> list[Paragraph]:
    found: list[Paragraph] = []
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Paragraph):
                found.append(block)
            elif isinstance(block, Bullets):
                found += block.items
    return found


def test_every_sentence_with_a_result_states_its_spread(
    synthetic_dataset: xr.Dataset, say: Callable[[xr.Dataset], Document]
):
    with_results = [p for p in paragraphs(say(synthetic_dataset)) if p.finding]
    told = [p.words for p in with_results if RESULT.search(p.words)]
    assert len(told) > 10
    assert [words for words in told if not SPREAD.search(words)] == []


def test_every_number_of_a_finding_moves_with_the_results(
    synthetic_dataset: xr.Dataset, say: Callable[[xr.Dataset], Document]
):
    """All results doubled: findings change, and nothing else with a result in it stays."""
    names = (
        "retreat", "retreat_neighbours", "land_kept", "cost", "refills", "oyster_density",
        "bed_rise", "platform_rise", "mean_sea_level", "takeover_year", "edge_power_wind",
    )  # fmt: skip
    other = synthetic_dataset.copy(deep=True)
    for name in names:
        other[name] = other[name] * 3.0
    other["reef_crest"] = other["reef_crest"] + 0.5
    before = {p.words for p in paragraphs(say(synthetic_dataset)) if p.finding}
    after = {p.words for p in paragraphs(say(other)) if p.finding}
    unmoved = [words for words in before & after if RESULT.search(words)]
    # The chance of takeover does not depend on the year, and no share was changed.
    assert all("takes over" in words for words in unmoved), unmoved


def test_what_is_not_a_finding_holds_no_result(
    synthetic_dataset: xr.Dataset, say: Callable[[xr.Dataset], Document]
):
    fixed = [p.words for p in paragraphs(say(synthetic_dataset)) if not p.finding]
    allowed = re.compile(r"cells 0\.\d+ m")  # the grid, in the page of limits
    assert [w for w in fixed if RESULT.search(w) and not allowed.search(w)] == []
