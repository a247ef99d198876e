"""From dated positions of the edge to the distribution of its rate of retreat."""

from __future__ import annotations

from edgesim.constants import DAYS_PER_YEAR
from edgesim.processes.history import retreat_posterior
from edgesim.scenario.distributions import CUT, Normal
from edgesim.scenario.reading import BAD, Origin, Reader, Tree, toml_value

SOURCE = "posterior of the rate, from site.history"


def rate_from_history(reader: Reader, tree: Tree) -> None:
    """Fill `site.retreat_rate` from `site.history`, so that every member draws from the posterior.

    Parameters
    ----------
    reader : Reader
        Takes origin and problems.
    tree : dict
        The scenario as read; its site is completed.
    """
    site = tree.get("site")
    if not isinstance(site, dict) or site.get("history") in (None, BAD, ()):
        return
    origin = reader.origins["site.history"]
    if "retreat_rate" in site:
        given = reader.origins.get("site.retreat_rate", origin)
        reader.blame(
            given.key,
            given.text,
            "stands beside site.history",
            "Give one of the two: the rate follows from the history.",
        )
        return
    surveys = site["history"]
    years = [survey.day.toordinal() / DAYS_PER_YEAR for survey in surveys]
    mean, sd = retreat_posterior(
        years, [survey.position for survey in surveys], [survey.sd for survey in surveys]
    )
    if mean <= -0.5 * CUT * sd:
        site["retreat_rate"] = reader.blame(
            origin.key,
            origin.text,
            f"shows an edge that advances by {-mean:.2g} m/yr",
            "Positions grow landward; correct their sign, or give site.retreat_rate = 0.",
        )
        return
    # The product knows no retreat below 0: an edge that may have advanced counts as standing still.
    site["retreat_rate"] = Normal(mean, sd, low=0.0)
    text = toml_value(site["retreat_rate"].entries())
    reader.origins["site.retreat_rate"] = Origin(
        "site.retreat_rate_m_per_year", text, "material", SOURCE, "computed", "rate"
    )
