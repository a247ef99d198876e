"""What single figures need of a forecast beside its members."""

from __future__ import annotations

from edgesim.figures.style import featured_option
from edgesim.outcomes.dataset import has_reef
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.needs import Need, variables

A_LINE = Need(
    lambda dataset: featured_option(dataset) != NO_ACTION,
    "no option of this forecast builds walls or a reef",
    "add an option with walls or a reef to the scenario",
)
A_REEF = Need(
    lambda dataset: has_reef(dataset, featured_option(dataset)),
    "no option of this forecast builds a reef",
    "add an option with a reef to the scenario",
)
A_DESIGN = Need(
    lambda dataset: "wall_position" in dataset or "reef_position" in dataset,
    "the scenario has no design",
    "add design.walls or design.reef to the scenario",
)
A_RATE = variables(
    "surveyed_retreat_rate",
    reason="the scenario gives no rate of retreat",
    remedy="give site.retreat_rate, from old photographs or stakes",
)
BOATS = variables(
    "wake_height",
    "passages",
    reason="the scenario has no boats",
    remedy="list classes of boats under traffic.classes",
)
PASSED = Need(
    lambda dataset: "transmission_walls" in dataset or "transmission_reef" in dataset,
    "the scenario has no lines, or no waves that meet them",
    "add a design, and boats or wind",
)
SPENT = variables(
    "cash_flow",
    reason="this forecast was written before costs were kept",
    remedy="run the forecast again with this version of edgesim",
)
