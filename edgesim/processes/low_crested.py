r"""What a reef lets through by the formulas of low-crested structures, fitted to flume tests.

The other way to see a reef than the porous block: heights behind mounds and walls were measured in
flumes and drawn together over freeboard and width of the crest. The formulas give the transmitted
height only. What is left of the energy is reflected or lost, in shares that they do not tell.
"""

from __future__ import annotations

import math

from edgesim.constants import GRAVITY
from edgesim.kernels import kernel

FACE_SLOPE = 1.0
"""Tangent of the faces of a reef of stacked units (judgement); 1 to 2 passes 0.01 (waves of 0.1 m) to 0.09 (0.25 m) less. [1]"""

LOOSE, TIGHT = 0.64, 0.80
"""Coefficients of permeable and of tight mounds (read at second hand; the second from memory). [1]"""

WALL_RANGE, WALL_SHIFT = 2.2, 0.4
"""Half range and shift of relative freeboard of a tight block with upright faces. [1]"""


@kernel
def narrow_mound(
    relative_freeboard: float, relative_width: float, breaker_number: float, coefficient: float
) -> float:
    r"""Transmission of a mound with a narrow crest.

    Parameters
    ----------
    relative_freeboard, relative_width : float
        Freeboard of the crest, negative under water, and its width, over the wave height. [1]
    breaker_number : float
        `tan(slope) / sqrt(steepness)`, > 0. [1]
    coefficient : float
        LOOSE or TIGHT. [1]

    Returns
    -------
    float
        Transmission coefficient of height, 0.075 to 0.80. [1]

    Notes
    -----
    .. math::
        K_t = -0.4 \frac{R_c}{H} + c_0 \left(\frac{B}{H}\right)^{-0.31}
              \left(1 - e^{-0.5 \xi}\right)

    for B/H < 10. Read at second hand, the tight coefficient from memory, after d'Angremond et al.
    (1996), "Wave transmission at low-crested structures".
    """
    raw = -0.40 * relative_freeboard - coefficient * relative_width**-0.31 * math.expm1(
        -0.5 * breaker_number
    )
    return float(min(max(raw, 0.075), 0.80))


@kernel
def mound(relative_freeboard: float, relative_width: float, breaker_number: float) -> float:
    r"""Transmission of a permeable mound with a crest of any width.

    Arguments and result as :func:`narrow_mound`.

    Notes
    -----
    Narrow crests, B/H < 8, as :func:`narrow_mound`; wide ones, B/H > 12:

    .. math::
        K_t = -0.35 \frac{R_c}{H} + 0.51 \left(\frac{B}{H}\right)^{-0.65}
              \left(1 - e^{-0.41 \xi}\right), \quad 0.05 \le K_t \le 0.93 - 0.006\, B/H

    linear between. Read at second hand, limits from memory, after van der Meer et al.
    (2005), "Wave transmission and reflection at low-crested structures".
    """
    raw = -0.35 * relative_freeboard - 0.51 * relative_width**-0.65 * math.expm1(
        -0.41 * breaker_number
    )
    wide = min(max(raw, 0.05), max(0.93 - 0.006 * relative_width, 0.05))
    narrow = narrow_mound(relative_freeboard, relative_width, breaker_number, LOOSE)
    share_wide = min(max((relative_width - 8.0) / 4.0, 0.0), 1.0)
    return float((1.0 - share_wide) * narrow + share_wide * wide)


@kernel
def tight_wall(relative_freeboard: float, half_range: float, shift: float) -> float:
    r"""Transmission over a tight wall, in [0, 1].

    Parameters
    ----------
    relative_freeboard : float
        As :func:`narrow_mound`. [1]
    half_range, shift : float
        Of the relative freeboard: 1.8 and 0.1 thin vertical wall, 2.2 and 0.4 caisson, 2.6 and
        0.15 dam sloping 1 to 1.5. [1]

    Returns
    -------
    float
        Transmission coefficient of height. [1]

    Notes
    -----
    .. math::
        K_t = \tfrac12 \left\{1 - \sin\left[\frac{\pi}{2a}
              \left(\frac{R_c}{H} + b\right)\right]\right\}

    clipped outside :math:`|R_c/H + b| \le a`. Constants read at second hand, form from
    memory, after Goda, Takeda and Moriya (1967) and Seelig (1979).
    """
    argument = min(max((relative_freeboard + shift) / half_range, -1.0), 1.0)
    return 0.5 * (1.0 - math.sin(0.5 * math.pi * argument))


@kernel
def low_crested_transmission(
    height: float, period: float, freeboard: float, width: float, is_tight: bool, share_above: float
) -> float:
    r"""Transmission of a reef by the formula of its kind, and never less than runs over it.

    Parameters
    ----------
    height, period : float
        Of the wave, >= 0 and > 0. [m, s]
    freeboard : float
        Crest above the water, negative under it. [m]
    width : float
        Width of the crest, > 0. [m]
    is_tight : bool
        A wall of tight units (:func:`tight_wall`) in place of a permeable mound (:func:`mound`).
    share_above : float
        Share of the energy flux that runs above the crest. [1]

    Returns
    -------
    float
        Transmission coefficient of height, in [0, 1]. [1]

    Notes
    -----
    The fits of mounds end at 0.80 and 0.93, also where the crest lies so deep that no wave feels it.
    There :math:`K_t = \sqrt{\phi}` takes over, the open water above the crest, share phi of the flux
    (``transmission``; judgement): no reef gives all the wave. The remainder
    :math:`1 - K_t^2` is reflected or lost, so that energy closes with :math:`K_r^2 \le 1 - K_t^2`.
    Between flume tests of significant heights and single wakes no factor is made (judgement).
    """
    if height <= 0.0:
        return 1.0
    relative = freeboard / height
    if is_tight:
        fitted = tight_wall(relative, WALL_RANGE, WALL_SHIFT)
    else:
        steepness = 2.0 * math.pi * height / (GRAVITY * period**2)
        fitted = mound(relative, width / height, FACE_SLOPE / math.sqrt(steepness))
    return max(fitted, math.sqrt(share_above))
