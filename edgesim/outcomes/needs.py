"""What a figure or a table needs of a forecast, and what to say when it is not there.

Nothing is invented: what lacks its data is left out with one sentence that says
why and how to provide them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import xarray as xr


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that must be in the Dataset.

    Attributes
    ----------
    holds : callable
        Whether a Dataset has it.
    reason : str
        Why it may be missing, without a full stop.
    remedy : str
        How to provide it, without a full stop.
    """

    holds: Callable[[xr.Dataset], bool]
    reason: str
    remedy: str


def variables(*names: str, reason: str, remedy: str) -> Need:
    """Need variables or attributes of these names.

    Parameters
    ----------
    *names : str
        All of them must be there.
    reason, remedy : str
        See :class:`Need`.

    Returns
    -------
    Need
    """
    return Need(
        lambda dataset: all(name in dataset or name in dataset.attrs for name in names),
        reason,
        remedy,
    )


def why_missing(dataset: xr.Dataset, needs: Sequence[Need]) -> str:
    """Say what is missing and how to provide it; "" when nothing is.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    needs : sequence of Need
        What is needed.

    Returns
    -------
    str
        A sentence that begins with "not provided".

    Examples
    --------
    >>> need = variables("waves", reason="no waves were measured", remedy="measure them")
    >>> why_missing(xr.Dataset(), [need])
    'not provided: no waves were measured; measure them.'
    """
    for need in needs:
        if not need.holds(dataset):
            return f"not provided: {need.reason}; {need.remedy}."
    return ""
