"""Rival formulas of transmission for arrays, their arguments checked: for comparison and for tests.

Low-crested mounds and tight walls from flume tests (formulas in ``low_crested``), and rows of piles.
They give the transmitted height only; the energy that is left may be reflected or lost.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError
from edgesim.processes import low_crested

Real = NDArray[np.float64]


def transmission_dangremond(
    freeboard: ArrayLike,
    height: ArrayLike,
    crest_width: ArrayLike,
    breaker_number: ArrayLike,
    *,
    permeable: bool = True,
) -> Real:
    r"""Transmission of a low-crested mound with a narrow crest.

    Parameters
    ----------
    freeboard : array_like
        Crest above still water, negative when submerged. [m]
    height, crest_width : array_like
        Incident significant wave height and width of the crest, > 0. [m, m]
    breaker_number : array_like
        `tan(slope) / sqrt(steepness)`, > 0. [1]
    permeable : bool, default True
        Rubble (True) or smooth and tight (False).

    Returns
    -------
    ndarray of float64
        Transmission coefficient of height. [1]

    Raises
    ------
    InvalidParameterError
        If a height, width or breaker number is not > 0.

    Notes
    -----
    ``low_crested.narrow_mound`` for arrays, with its arguments checked.
    """
    coefficient = low_crested.LOOSE if permeable else low_crested.TIGHT
    of_each = np.vectorize(low_crested.narrow_mound, otypes=[float])
    return np.asarray(of_each(*_mound(freeboard, height, crest_width, breaker_number), coefficient))


def transmission_vandermeer(
    freeboard: ArrayLike, height: ArrayLike, crest_width: ArrayLike, breaker_number: ArrayLike
) -> Real:
    r"""Transmission of a permeable low-crested mound with a crest of any width.

    Arguments, result and errors as :func:`transmission_dangremond`.

    Notes
    -----
    ``low_crested.mound`` for arrays, with its arguments checked.
    """
    of_each = np.vectorize(low_crested.mound, otypes=[float])
    return np.asarray(of_each(*_mound(freeboard, height, crest_width, breaker_number)))


def transmission_goda(
    freeboard: ArrayLike, height: ArrayLike, *, width: float = 1.8, offset: float = 0.1
) -> Real:
    r"""Transmission over a tight wall.

    Parameters
    ----------
    freeboard, height : array_like
        As :func:`transmission_dangremond`. [m, m]
    width, offset : float, default 1.8 and 0.1
        Half range of relative freeboard and its shift: 1.8 and 0.1 thin vertical wall,
        2.2 and 0.4 caisson, 2.6 and 0.15 dam sloping 1 to 1.5. [1, 1]

    Returns
    -------
    ndarray of float64
        Transmission coefficient of height, in [0, 1]. [1]

    Raises
    ------
    InvalidParameterError
        If a height is not > 0.

    Notes
    -----
    ``low_crested.tight_wall`` for arrays, with its arguments checked.
    """
    relative_freeboard = np.asarray(freeboard, float) / _positive("height", height)
    of_each = np.vectorize(low_crested.tight_wall, otypes=[float])
    return np.asarray(of_each(relative_freeboard, width, offset))


def transmission_hayashi_kano(
    height: ArrayLike, depth: ArrayLike, opening_ratio: ArrayLike, *, discharge: float = 0.9
) -> Real:
    r"""Transmission through a row of closely spaced piles in long waves.

    Parameters
    ----------
    height, depth : array_like
        Incident wave height and depth of still water, > 0. [m, m]
    opening_ratio : array_like
        Clear opening between piles over pile diameter, > 0. [1]
    discharge : float, default 0.9
        Discharge coefficient of the opening, 0.9 to 1.0. [1]

    Returns
    -------
    ndarray of float64
        Transmission coefficient of height. [1]

    Raises
    ------
    InvalidParameterError
        If an argument is not > 0.

    Notes
    -----
    .. math::
        K_t = \frac{4h}{H} E \left[-E + \sqrt{E^2 + \frac{H}{2h}}\right], \quad
        E = \frac{C e}{\sqrt{1-e^2}}, \quad e = \frac{b}{D+b}

    Equal to ``transmission.barrier_transmission`` in the long-wave limit with a loss coefficient
    `1/E^2` and without the Lorentz factor. From memory, after Hayashi and Kano (1966),
    "Hydraulic research on the closely spaced pile breakwater".
    """
    ratio = _positive("opening_ratio", opening_ratio)
    relative_height = _positive("height", height) / _positive("depth", depth)
    opening = ratio / (1.0 + ratio)
    E = discharge * opening / np.sqrt(1.0 - opening**2)
    return np.asarray(4.0 * E / relative_height * (np.sqrt(E**2 + 0.5 * relative_height) - E))


def transmission_wiegel(open_fraction: ArrayLike) -> Real:
    """Transmission through a row of piles if energy passes in proportion to the opening.

    The root of `open_fraction`, > 0, the open share of the area of the row. [1]

    Notes
    -----
    Independent of height and period; too low for dense rows. From memory, after
    Wiegel (1961), "Closely spaced piles as a breakwater".
    """
    return np.asarray(np.sqrt(_positive("open_fraction", open_fraction)))


def _mound(
    freeboard: ArrayLike, height: ArrayLike, crest_width: ArrayLike, breaker_number: ArrayLike
) -> tuple[Real, Real, Real]:
    """Relative freeboard, relative crest width and breaker number, checked."""
    wave = _positive("height", height)
    relative_width = _positive("crest_width", crest_width) / wave
    xi = _positive("breaker_number", breaker_number)
    return np.asarray(np.asarray(freeboard, float) / wave), np.asarray(relative_width), xi


def _positive(name: str, value: ArrayLike) -> Real:
    """`value` as an array, refused unless finite and > 0 throughout."""
    array = np.asarray(value, float)
    if not (np.isfinite(array) & (array > 0.0)).all():
        message = f"{name} = {array} must be finite and > 0"
        raise InvalidParameterError(message)
    return array
