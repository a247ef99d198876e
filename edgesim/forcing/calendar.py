"""The calendar of a run: day of the week, month and year of every day."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgesim.constants import DAYS_PER_YEAR


class Calendar(NamedTuple):
    """Days of a run as arrays of length ``n_days``.

    Attributes
    ----------
    is_weekend : uint8
        1 on Saturday and Sunday.
    month : int64
        0 for January to 11 for December.
    year_fraction : float64
        Years since the start of the run. [year]
    year_phase : float64
        Share of the calendar year gone, for seasonal curves. [1]
    """

    is_weekend: NDArray[np.uint8]
    month: NDArray[np.int64]
    year_fraction: NDArray[np.float64]
    year_phase: NDArray[np.float64]


def calendar(start: date, n_days: int) -> Calendar:
    """Calendar of `n_days` days from `start`."""
    days = np.datetime64(start, "D") + np.arange(n_days)
    weekday = (days.astype(np.int64) + 3) % 7  # 1970-01-01 was a Thursday
    month = days.astype("datetime64[M]").astype(np.int64) % 12
    day_of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    return Calendar(
        is_weekend=(weekday >= 5).astype(np.uint8),
        month=month,
        year_fraction=np.arange(n_days) / DAYS_PER_YEAR,
        year_phase=day_of_year / DAYS_PER_YEAR,
    )


def calendar_from(days: Calendar, first: int) -> Calendar:
    """Rest of a calendar from one of its days on."""
    return Calendar(
        days.is_weekend[first:],
        days.month[first:],
        days.year_fraction[first:],
        days.year_phase[first:],
    )
