"""What the terminal says of the part that failed first."""

from __future__ import annotations

import numpy as np
import xarray as xr

from edgesim.cli.race_output import first_failure_words


def failed(first: list[int], years: list[float]) -> xr.Dataset:
    return xr.Dataset(
        {
            "first_failure": (("option", "member"), np.array([first], dtype=float)),
            "first_failure_year": (("option", "member"), np.array([years])),
        },
        {"option": ["walls and reef"]},
    )


def test_years_of_first_failures_are_those_of_the_futures_where_the_part_went_first():
    # Parts by index: 0 none, 1 fill, 4 mesh.
    told = first_failure_words(failed([1, 1, 4, 0], [0.5, 1.5, 3.0, np.nan]), "walls and reef")
    assert "in 4 futures: fill in 2 (there, in year 1.0 in the middle)" in told
    assert "mesh in 1 (there, in year 3.0 in the middle)" in told
    assert "nothing in 1" in told
    assert "do not compare it" in told


def test_where_one_part_always_goes_first_its_year_needs_no_warning():
    told = first_failure_words(failed([1, 1], [5.0, 6.0]), "walls and reef")
    assert told == (
        "First part to be half gone, if only until a visit, in 2 futures: fill in 2 "
        "(there, in year 5.5 in the middle)."
    )
