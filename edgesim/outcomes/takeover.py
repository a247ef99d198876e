"""What would have to be true for the reef never to take over: which inputs part never from ever."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from scipy.stats import mannwhitneyu

from edgesim.names import BY_NAME
from edgesim.outcomes.dataset import has_reef, write_table, years_elapsed
from edgesim.scenario import ScenarioFile
from edgesim.scenario.distributions import Choice
from edgesim.scenario.loader import uniform_draw
from edgesim.scenario.model import about_input
from edgesim.units import KINDS, both_ways

Floats = NDArray[np.float64]

FEWEST = 3
"""Members needed on each side. [1]"""

SURE = 0.05
"""Chance at which any of the idle quantities would differ as much by accident. [1]"""

IDLE = ("prices", "work", "permit")
"""Sections of the scenario that the reef knows nothing of."""

EARLY_YEARS = 5.0
"""Years over which a quantity that the reef goes through is averaged. [year]"""

ON_THE_WAY = ("oyster_density", "reef_exposure", "mesh_intact", "consolidation")
"""Quantities that a reef goes through on its way, beside the inputs."""


@dataclass(frozen=True, slots=True)
class TakeoverCause:
    """One quantity that parts the members in which the reef never takes over from the others.

    ``order`` is the share of pairs (never, ever) in which the member of never is higher: 0.5
    says nothing, 0 and 1 part them wholly. Medians in the unit named.
    """

    option: str
    quantity: str
    meaning: str
    kind: str
    unit: str
    never_when: str
    median_never: float
    median_ever: float
    order: float
    chance: float
    n_never: int
    n_ever: int


def takeover_causes(dataset: xr.Dataset, scenario_file: ScenarioFile) -> list[TakeoverCause]:
    """Find the inputs, and what the reef goes through, that part never from ever.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    scenario_file : ScenarioFile
        The scenario that it was made from, for the draws of its members.

    Returns
    -------
    list of TakeoverCause
        Strongest first by option; those that chance alone explains are left out. Empty where
        fewer than `FEWEST` members lie on either side.

    Notes
    -----
    Rank test of Mann and Whitney (``scipy.stats.mannwhitneyu``), one quantity at a time: it
    sees neither pairs of inputs nor causes. The chance allowed is shared among all quantities
    that are looked at (Bonferroni), so that a table of idle ones is empty 19 times in 20.
    """
    rows: list[TakeoverCause] = []
    for option in dataset["option"].values:
        if not has_reef(dataset, option):
            continue
        never = np.isnan(dataset["takeover_year"].sel(option=option).values)
        if min(never.sum(), (~never).sum()) < FEWEST:
            continue
        quantities = list(_quantities(dataset, scenario_file, option))
        sure = SURE / len(quantities)
        found = [
            cause
            for quantity in quantities
            if (cause := _cause(str(option), quantity, never, sure)) is not None
        ]
        rows += sorted(found, key=lambda cause: -abs(cause.order - 0.5))
    return rows


def _quantities(
    dataset: xr.Dataset, scenario_file: ScenarioFile, option: str
) -> Iterator[tuple[str, str, str, Floats]]:
    """Name, meaning, kind and value for every member of each number drawn and quantity on the way.

    Inputs that are words, such as the formula of the wakes, have no order and are left out.
    """
    seed, members = int(dataset.attrs["seed"]), dataset["member"].values
    for path, distribution in scenario_file.distributions.items():
        if isinstance(distribution, Choice) or path.partition(".")[0] in IDLE:
            continue
        about = about_input(path)
        draws = [distribution.quantile(uniform_draw(seed, int(m), path)) for m in members]
        yield path, about.meaning, about.kind, np.array(draws)
    early = years_elapsed(dataset) <= EARLY_YEARS
    for name in ON_THE_WAY:
        values = dataset[name].sel(option=option).values[:, early].mean(axis=1)
        words = f"{BY_NAME[name].label}, mean of the first {EARLY_YEARS:.0f} years"
        yield name, words, "", values


def _cause(
    option: str, quantity: tuple[str, str, str, Floats], never: NDArray[np.bool_], sure: float
) -> TakeoverCause | None:
    """The row of a quantity; None where it parts nothing."""
    name, meaning, kind, values = quantity
    of_never, of_ever = values[never], values[~never]
    if not np.isfinite(values).all() or np.ptp(values) == 0.0:
        return None
    test = mannwhitneyu(of_never, of_ever)
    if not test.pvalue < sure:
        return None
    order = float(test.statistic) / (of_never.size * of_ever.size)
    return TakeoverCause(
        option,
        name,
        meaning,
        kind,
        KINDS[kind].unit if kind else BY_NAME[name].unit,
        "high" if order > 0.5 else "low",
        float(np.median(of_never)),
        float(np.median(of_ever)),
        order,
        float(test.pvalue),
        of_never.size,
        of_ever.size,
    )


def never_words(
    dataset: xr.Dataset, causes: Sequence[TakeoverCause], option: str, most: int = 3
) -> str:
    """One plain sentence: what would have to be true for the reef never to take over.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    causes : sequence of TakeoverCause
        From :func:`takeover_causes`.
    option : str
        An option with a reef.
    most : int, default 3
        Inputs named at most.
    """
    years = dataset["takeover_year"].sel(option=option).values
    never, n = int(np.isnan(years).sum()), years.size
    if never == 0:
        return f"In all {n} futures the reef takes over: nothing drawn here keeps it from that."
    if never == n:
        return f"In none of {n} futures does the reef take over: no value drawn here lets it."
    inputs = [cause for cause in causes if cause.option == option and cause.quantity not in BY_NAME]
    if not inputs:
        return (
            f"The reef never takes over in {never} of {n} futures; no single input parts them "
            "from the others beyond chance."
        )
    parts = [
        f"{_plain(cause)} is {cause.never_when} ({_shown(cause, cause.median_never)}, "
        f"where it takes over {_shown(cause, cause.median_ever)}; medians)"
        for cause in inputs[:most]
    ]
    return f"The reef never takes over in {never} of {n} futures, mostly where " + "; where ".join(
        parts
    ) + "."  # fmt: skip


def _plain(cause: TakeoverCause) -> str:
    return f'"{cause.meaning.rstrip(".").split(";")[0]}" ({cause.quantity})'


def _shown(cause: TakeoverCause, value: float) -> str:
    return both_ways(value, cause.kind) if cause.kind else f"{value:.3g}"


def write_causes(causes: Sequence[TakeoverCause], path: str | Path) -> None:
    """Write the causes as CSV."""
    write_table(causes, path)
