"""Money spent through time, by option."""

from __future__ import annotations

import xarray as xr
from matplotlib.figure import Figure

from edgesim.figures.style import (
    IN_MOST,
    draw_bands,
    featured_option,
    finish,
    label_ends,
    last_range,
    last_year,
    members_of,
    new_figure,
    note_evidence,
    option_looks,
    second_axis,
    styled,
    year_axis,
)
from edgesim.outcomes.dataset import years_elapsed
from edgesim.outcomes.indicators import NO_ACTION
from edgesim.outcomes.summary import METRES_PER_FOOT

READING = "line median, bands 50 % and 90 % of members. Building, upkeep and monitoring; nothing discounted."


def _money(dataset: xr.Dataset) -> str:
    return f"{dataset.attrs['currency']} of {dataset.attrs['price_year']}"


def headline(dataset: xr.Dataset) -> str:
    """Say what the featured option costs by the end, per metre too."""
    option, year = featured_option(dataset), last_year(dataset)
    low, high = last_range(dataset, "cost", option)
    length = float(dataset["defended_end"]) - float(dataset["defended_start"])
    return (
        f"{option[0].upper()}{option[1:]} cost {low:,.0f} to {high:,.0f} {_money(dataset)} by year {year}, "
        f"{low / length:,.0f} to {high / length:,.0f} a metre of reach "
        f"({low / length * METRES_PER_FOOT:,.0f} to {high / length * METRES_PER_FOOT:,.0f} a foot) {IN_MOST}"
    )


def alt_text(dataset: xr.Dataset) -> str:
    """Describe the figure for those who cannot see it."""
    ends = "; ".join(
        f"{name} {last_range(dataset, 'cost', name)[0]:,.0f} to {last_range(dataset, 'cost', name)[1]:,.0f}"
        for name in option_looks(dataset)
    )
    return (
        f"Fan chart of money spent in {_money(dataset)} over {last_year(dataset)} years, one curve an option. "
        f"{headline(dataset)}. At the end: {ends}."
    )


@styled
def cost_fan(dataset: xr.Dataset) -> Figure:
    """Draw cumulative cost of every option that costs something.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.

    Returns
    -------
    Figure
        Money at the left, money a metre of reach at the right.
    """
    looks = option_looks(dataset)
    figure = new_figure(95.0)
    axes = figure.subplots()
    ends = []
    for option, look in looks.items():
        if option == NO_ACTION and len(looks) > 1:
            continue
        spent = members_of(dataset, "cost", option) / 1000.0
        drawn = draw_bands(axes, years_elapsed(dataset), spent, look)
        ends.append((float(drawn[2, -1]), option, look.colour))
    axes.set_ylim(bottom=0)
    last = last_year(dataset)
    year_axis(axes, last, room=0.03 + 0.0115 * max(map(len, looks)))
    label_ends(axes, last, ends)
    note_evidence(axes, last, 0.12)
    length = float(dataset["defended_end"]) - float(dataset["defended_start"])
    axes.set_ylabel(f"Money spent (1000 {_money(dataset)})")
    second_axis(axes, 1000.0 / length, f"A metre of reach ({dataset.attrs['currency']}/m)")
    finish(figure, dataset, headline(dataset), READING)
    return figure
