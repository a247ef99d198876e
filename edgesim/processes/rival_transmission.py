"""Rival formulas of transmission: for comparison and for tests, never in the day loop.

Low-crested mounds and tight walls from flume tests, and rows of piles. They give the transmitted
height only; the energy that is left may be reflected or lost.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.errors import InvalidParameterError

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
    .. math::
        K_t = -0.4 \frac{R_c}{H} + c_0 \left(\frac{B}{H}\right)^{-0.31}
              \left(1 - e^{-0.5 \xi}\right), \quad 0.075 \le K_t \le 0.80

    with c0 = 0.64 permeable, 0.80 tight; for B/H < 10. Read at second hand, 0.80 from
    memory, after d'Angremond et al. (1996), "Wave transmission at low-crested structures".
    """
    relative_freeboard, relative_width, xi = _mound(freeboard, height, crest_width, breaker_number)
    coefficient = 0.64 if permeable else 0.80
    raw = -0.40 * relative_freeboard + coefficient * relative_width**-0.31 * -np.expm1(-0.5 * xi)
    return np.asarray(np.clip(raw, 0.075, 0.80))


def transmission_vandermeer(
    freeboard: ArrayLike, height: ArrayLike, crest_width: ArrayLike, breaker_number: ArrayLike
) -> Real:
    r"""Transmission of a permeable low-crested mound with a crest of any width.

    Arguments, result and errors as :func:`transmission_dangremond`.

    Notes
    -----
    Narrow crests, B/H < 8, as :func:`transmission_dangremond`; wide ones, B/H > 12:

    .. math::
        K_t = -0.35 \frac{R_c}{H} + 0.51 \left(\frac{B}{H}\right)^{-0.65}
              \left(1 - e^{-0.41 \xi}\right), \quad 0.05 \le K_t \le 0.93 - 0.006\, B/H

    linear between. Read at second hand, limits from memory, after van der Meer et al.
    (2005), "Wave transmission and reflection at low-crested structures".
    """
    relative_freeboard, relative_width, xi = _mound(freeboard, height, crest_width, breaker_number)
    raw = -0.35 * relative_freeboard + 0.51 * relative_width**-0.65 * -np.expm1(-0.41 * xi)
    wide = np.clip(raw, 0.05, np.maximum(0.93 - 0.006 * relative_width, 0.05))
    narrow = transmission_dangremond(freeboard, height, crest_width, breaker_number)
    share_wide = np.clip((relative_width - 8.0) / 4.0, 0.0, 1.0)
    return np.asarray((1.0 - share_wide) * narrow + share_wide * wide)


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
    .. math::
        K_t = \tfrac12 \left\{1 - \sin\left[\frac{\pi}{2a}
              \left(\frac{R_c}{H} + b\right)\right]\right\}

    clipped outside :math:`|R_c/H + b| \le a`. Constants read at second hand, form from
    memory, after Goda, Takeda and Moriya (1967) and Seelig (1979).
    """
    argument = (np.asarray(freeboard, float) / _positive("height", height) + offset) / width
    return np.asarray(0.5 * (1.0 - np.sin(0.5 * np.pi * np.clip(argument, -1.0, 1.0))))


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
