"""What the forecast says, and whether it says enough to decide: sentences made from results.

Options are compared member by member, since every option meets the same futures: the band of
the differences says what the design does, while the bands of the options themselves also hold
all that nobody knows about the site.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from edgesim.figures.style import EVIDENCE_YEARS, last_year, option_names
from edgesim.outcomes.calendar import upkeep_end_words
from edgesim.outcomes.dataset import has_reef, has_walls
from edgesim.outcomes.embedded import INPUTS
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.objectives import Judged, judged
from edgesim.outcomes.summary import chance_interval, member_quantiles
from edgesim.outcomes.triggers import counts, modelled
from edgesim.report.words import (
    AREA,
    DENSITY,
    LENGTH,
    PERCENT,
    SMALL_LENGTH,
    TIMES,
    TINY_LENGTH,
    banded,
    directed,
    listed,
    money,
    sentence,
    share_of,
    share_words,
)

Floats = NDArray[np.float64]
Verdict = Literal["supported", "leaning", "open"]
Outlook = Literal["missed", "open", "reached"]

UNLIKELY, LIKELY = 1.0 / 3.0, 2.0 / 3.0
"""Between these chances a plan must not count on an event (judgement). [1]"""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two options, member by member: how much less the edge retreats with the first.

    Attributes
    ----------
    first, second : str
        Options.
    gain : ndarray
        Retreat of the second less retreat of the first, each member. [m]
    """

    first: str
    second: str
    gain: Floats

    @property
    def verdict(self) -> Verdict:
        """Whether the bands of the differences lie on one side of zero."""
        p05, p25, _, p75, p95 = member_quantiles(self.gain)
        if p05 > 0.0 or p95 < 0.0:
            return "supported"
        return "leaning" if p25 > 0.0 or p75 < 0.0 else "open"

    def words(self) -> str:
        """Say what the evidence supports, with the numbers."""
        better, worse, gain = self.first, self.second, self.gain
        if float(np.median(gain)) < 0.0:
            better, worse, gain = worse, better, -gain
        told = (
            f"by the end, the edge behind the design has retreated less by {banded(gain, LENGTH)}"
        )
        if self.verdict == "supported":
            return (
                f"{sentence(better)} against {worse}: {told}. The forecast supports this "
                "difference: nine tenths of the futures lie on one side of zero."
            )
        if self.verdict == "leaning":
            return (
                f"{sentence(better)} against {worse}: {told}. The forecast leans this way, but "
                "the band of nine tenths includes zero: the evidence does not support a choice "
                "between the two on retreat alone."
            )
        return (
            f"{sentence(better)} against {worse}: {told}. Both bands include zero: the evidence "
            "does not support a choice between the two on retreat alone."
        )


def at_end(dataset: xr.Dataset, name: str, option: str) -> Floats:
    """Every member's value of a quantity in the last record."""
    return np.asarray(dataset[name].sel(option=option).values[:, -1], dtype=np.float64)


def compare(dataset: xr.Dataset, first: str, second: str) -> Comparison:
    """Compare the retreat behind the design of two options in the last record."""
    gain = at_end(dataset, "retreat", second) - at_end(dataset, "retreat", first)
    return Comparison(first, second, gain)


def built_options(dataset: xr.Dataset) -> list[str]:
    """Options that build something."""
    return [
        name
        for name in option_names(dataset)
        if has_walls(dataset, name) or has_reef(dataset, name)
    ]


def against_nothing(dataset: xr.Dataset) -> list[Comparison]:
    """Every option that builds against no action."""
    return [compare(dataset, name, NO_ACTION) for name in built_options(dataset)]


def among_built(dataset: xr.Dataset) -> list[Comparison]:
    """Every pair of options that build."""
    pairs = combinations(reversed(built_options(dataset)), 2)
    return [compare(dataset, first, second) for first, second in pairs]


def no_action_words(dataset: xr.Dataset) -> str:
    """What happens if nothing is done."""
    return (
        f"With no action, by year {last_year(dataset)} the edge behind the planned design retreats "
        f"by {banded(at_end(dataset, 'retreat', NO_ACTION), LENGTH)}."
    )


def choice_words(dataset: xr.Dataset) -> str:
    """Say plainly whether the forecast can carry a choice."""
    built = built_options(dataset)
    year = last_year(dataset)
    if not built:
        return (
            "No option builds anything: there is nothing to choose between. Add a design to the "
            "scenario and run the forecast again."
        )
    helping = [c.first for c in against_nothing(dataset) if _gains(c)]
    if not helping:
        return (
            f"The evidence does not support building any of these designs for the sake of the "
            f"edge: for none of them do nine tenths of the futures show less retreat than with no "
            f"action by year {year}."
        )
    best = _best(dataset, helping)
    open_pairs = [
        other
        for other in helping
        if other != best and compare(dataset, best, other).verdict != "supported"
    ]
    told = (
        f"{_few(helping)} slowed the edge against no action in at least nine tenths of the futures."
    )
    if open_pairs:
        return (
            f"{told} The evidence does not support a choice between {best} and "
            f"{_either(open_pairs)} on retreat alone: decide on cost, upkeep, permits and what "
            "monitoring shows."
        )
    if len(helping) == 1:
        return f"{told} The other designs did not reach that."
    return (
        f"{told} Of these, {best} slowed it most, and its lead over each of the others also holds "
        f"in nine tenths of the futures. {extra_cost_words(dataset, best, helping)} Whether that "
        "lead is worth its price is for those who pay to say."
    )


def extra_cost_words(dataset: xr.Dataset, best: str, helping: list[str]) -> str:
    """What the leader costs against the next in retreat, future by future."""
    second = _best(dataset, [name for name in helping if name != best])
    extra = at_end(dataset, "cost", best) - at_end(dataset, "cost", second)
    measure = money(f"{dataset.attrs['currency']}")
    return (
        f"By year {last_year(dataset)}, undiscounted, it costs "
        f"{directed(extra, measure, f'more than {second}', f'less than {second}')}."
    )


def _gains(comparison: Comparison) -> bool:
    return comparison.verdict == "supported" and float(np.median(comparison.gain)) > 0.0


def _best(dataset: xr.Dataset, options: list[str]) -> str:
    return min(options, key=lambda name: float(np.median(at_end(dataset, "retreat", name))))


def _few(names: list[str]) -> str:
    return sentence(" and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names))


def _either(names: list[str]) -> str:
    return " or ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def takeover_words(dataset: xr.Dataset, option: str) -> str:
    """Whether the reef takes over, and whether a plan may count on it."""
    years = np.asarray(dataset["takeover_year"].sel(option=option).values, dtype=np.float64)
    seen = np.isfinite(years)
    chance = float(seen.mean())
    share = 100.0 * float(dataset.attrs["takeover_share"])
    told = (
        f"With {option}, the reef takes over (it stands without its wire and alone lets through "
        f"less than {PERCENT.one(share)} of the wave power) in {share_of(seen)} by year "
        f"{last_year(dataset)}."
    )
    if chance < UNLIKELY:
        return f"{told} It is more likely that it does not: plan for upkeep of the walls or for a second build."
    if chance <= LIKELY:
        return f"{told} The forecast cannot tell whether it will: do not plan on it, and decide after the surveys."
    return f"{told} It is more likely than not, but not sure: keep a reserve for upkeep."


def objective_words(dataset: xr.Dataset) -> str:
    """Whether the plan's own objectives can be expected to be reached; "" where it states none."""
    found = judged(dataset) if INPUTS in dataset.attrs else []
    told = [_objective(goal) for goal in found if goal.reached]
    if len(told) < len(found):
        names = listed([f"“{goal.objective.name}”" for goal in found if not goal.reached])
        told.append(f"Not computed from the forecast: {names}.")
    verdicts: dict[Outlook, list[str]] = {"missed": [], "open": [], "reached": []}
    for goal in found:
        if goal.reached:
            verdicts[_expected(goal)].append(f"“{goal.objective.name}”")
    if missed := verdicts["missed"]:
        told.append(
            f"No option of this forecast can be expected to reach {_either(missed)}: change the "
            "target, or the design, before the plan is signed."
        )
    if unsure := verdicts["open"]:
        told.append(f"Whether {listed(unsure)} can be reached the forecast cannot tell.")
    return " ".join(told)


def _objective(found: Judged) -> str:
    """How often an objective is reached with the option that reaches it most often."""
    hits = max(found.reached.values(), key=lambda hit: hit[0] / hit[1])
    best = [name for name, hit in found.reached.items() if hit == hits]
    goal, where = found.objective, f"with {listed(best)}"
    if len(found.reached) > 1:
        alike = len(best) == len(found.reached)
        where = "whatever is built" if alike else f"{where}, the most of all options"
    return (
        f"“{goal.name}” ({goal.metric} {goal.target}, by year {goal.by_year}): "
        f"{share_words(*hits)} {where}."
    )


def _expected(found: Judged) -> Outlook:
    """Whether the interval of the chance lies above what is wanted with any option, or below it with all."""
    ends = [chance_interval(hit, size) for hit, size in found.reached.values()]
    if any(float(low) > found.wanted for low, _ in ends):
        return "reached"
    return "missed" if all(float(high) < found.wanted for _, high in ends) else "open"


def neighbours_words(dataset: xr.Dataset, option: str) -> str:
    """What the design does to the shore beside it."""
    beside = at_end(dataset, "retreat_neighbours", option)
    if not np.isfinite(beside).any():
        return "The design covers the whole shore of the forecast, so that it says nothing about neighbours."
    harm = beside - at_end(dataset, "retreat_neighbours", NO_ACTION)
    p05, *_, p95 = member_quantiles(harm)
    told = (
        f"Beside {option}, by year {last_year(dataset)}, the edge retreats "
        f"{directed(harm * 100.0, SMALL_LENGTH, 'more than with no action', 'less than with no action')}."
    )
    if p05 > 0.0:
        return f"{told} In nine tenths of the futures the neighbouring shore loses more."
    if p95 < 0.0:
        return f"{told} In nine tenths of the futures the neighbouring shore loses less."
    return f"{told} The band includes zero: the forecast shows neither harm nor help to neighbours."


def wave_words(dataset: xr.Dataset) -> str:
    """How much of the wave power at the undefended edge boats bring."""
    wake = np.asarray(dataset["edge_power_wake"].sel(option=NO_ACTION).values[:, 1:])
    wind = np.asarray(dataset["edge_power_wind"].sel(option=NO_ACTION).values[:, 1:])
    total = (wake + wind).sum(axis=1)
    if not np.any(total > 0.0):
        return "No waves reach the edge in this forecast."
    shares = 100.0 * wake.sum(axis=1) / np.where(total > 0.0, total, np.nan)
    return (
        "With no action, the share of the wave power at the edge that comes from boat wakes is "
        f"{banded(shares, PERCENT)}. Wind brings the rest."
    )


def marsh_words(dataset: xr.Dataset, option: str) -> str:
    """Area of marsh kept."""
    kept = at_end(dataset, "land_kept", option)
    return (
        f"{sentence(option)}: by year {last_year(dataset)}, the marsh kept against no action over "
        f"the whole shore of the forecast is {banded(kept, AREA)}."
    )


def cost_words(dataset: xr.Dataset, option: str) -> str:
    """Money spent by the end, in the prices of one year."""
    measure = money(f"{dataset.attrs['currency']}")
    return (
        f"{sentence(option)}: building, upkeep and monitoring up to year {last_year(dataset)}, in prices of "
        f"{int(dataset.attrs['price_year'])} and undiscounted, cost "
        f"{banded(at_end(dataset, 'cost', option), measure)}."
    )


def upkeep_words(dataset: xr.Dataset, option: str) -> str:
    """How long the walls last, and how often they are filled again."""
    year = last_year(dataset)
    fill = 100.0 * at_end(dataset, "fill_fraction", option)
    posts = 100.0 * at_end(dataset, "posts_standing", option)
    return (
        f"With {option}, up to year {year} the walls are filled again "
        f"{banded(at_end(dataset, 'refills', option), TIMES)}. On the last day of that year they "
        f"hold, of their fill, {banded(fill, PERCENT)}. Of their posts there still stand "
        f"{banded(posts, PERCENT)}. {upkeep_end_words(dataset)}"
    ).rstrip()


def oyster_words(dataset: xr.Dataset, option: str) -> str:
    """Oysters on the reef and where its crest stands."""
    year = last_year(dataset)
    crest = at_end(dataset, "reef_crest", option) - float(dataset["reef_crest_built"])
    return (
        f"With {option}, in year {year} live oysters of all sizes on the reef number "
        f"{banded(at_end(dataset, 'oyster_density', option), DENSITY)}. Since building, its crest "
        f"has {directed(100.0 * crest, SMALL_LENGTH, 'risen', 'sunk')}.{_mending_words(dataset, option)}"
    )


def _mending_words(dataset: xr.Dataset, option: str) -> str:
    """How many reef units crews mend; "" where none is."""
    books = dataset["ledger"].sel(option=option, ledger_entry="units_mended")
    mended = np.asarray(books.values[:, -1])
    if not mended.any():
        return ""
    return f" Crews mend spilled units {banded(mended, TIMES)}."


def mud_words(dataset: xr.Dataset, option: str) -> str:
    """Rise of the flat behind the lines, and of the marsh."""
    rise = 100.0 * at_end(dataset, "bed_rise", option)
    platform = 1000.0 * (
        at_end(dataset, "platform_rise", option) - at_end(dataset, "platform_rise", NO_ACTION)
    )
    flat = (
        f"With {option}, by year {last_year(dataset)} the flat behind the outer line rises by "
        f"{banded(rise, SMALL_LENGTH)}."
    )
    p05, *_, p95 = member_quantiles(platform)
    if max(abs(p05), abs(p95)) < 0.5:
        return f"{flat} In nine tenths of the futures the marsh platform rises as with no action, to the millimetre."
    moved = directed(platform, TINY_LENGTH, "more than with no action", "less than with no action")
    return f"{flat} The marsh platform behind rises {moved}. Where it rises less, the design starves it of mud."


def sea_words(dataset: xr.Dataset) -> str:
    """How far the sea rises in the run."""
    level = np.asarray(dataset["mean_sea_level"].sel(option=NO_ACTION).values)
    return (
        f"From the start to year {last_year(dataset)} mean sea level rises by "
        f"{banded(100.0 * (level[:, -1] - level[:, 0]), SMALL_LENGTH)}."
    )


def trigger_words(dataset: xr.Dataset, option: str) -> str:
    """Triggers that are red from the first year: they judge the threshold, not the wear."""
    early = [
        f"“{trigger.name}” in {share_words(*next(iter(found.values())))}"
        for trigger in modelled(dataset, option)
        if (found := counts(dataset, trigger, option))
        and next(iter(found)) <= 1
        and 2 * next(iter(found.values()))[0] > next(iter(found.values()))[1]
    ]
    if not early:
        return (
            f"With {option}, no trigger is red in more than half of the futures in the first year."
        )
    return (
        f"With {option}, red in the first year already: {listed(early)}. A threshold that new works "
        "do not meet calls for action at every survey: change the threshold, or the design, before "
        "the plan is signed."
    )


def failure_words(dataset: xr.Dataset) -> str:
    """Futures that could not be computed; "" if there are none."""
    failed = len(json.loads(str(dataset.attrs.get("failures", "[]"))))
    if not failed:
        return ""
    asked = failed + int(dataset.sizes["member"])
    return (
        f"{failed} of {asked} futures could not be computed and {'is' if failed == 1 else 'are'} left "
        "out of every option, so that the numbers rest on the others; the reasons stand with the "
        "forecast."
    )


def horizon_words(dataset: xr.Dataset) -> str:
    """How far the evidence reaches."""
    year = last_year(dataset)
    if year <= EVIDENCE_YEARS:
        return (
            f"The forecast ends in year {year}, within the age of most monitored sites "
            f"(about {EVIDENCE_YEARS:.0f} years)."
        )
    return (
        f"The forecast runs to year {year}, beyond the evidence: most monitored sites are younger "
        f"than about {EVIDENCE_YEARS:.0f} years. What is said about later years follows from the "
        "model and is not backed by observed sites; figures are shaded there."
    )
