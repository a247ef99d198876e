"""How fast waves carry off loose shell at the reef."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgesim.processes.oysters import dislodging_height

Floats = NDArray[np.float64]


def washing_rate(
    counts_a_year: Floats,
    heights: Floats,
    is_flooded: NDArray[np.bool_],
    embedment: float,
    share: float,
) -> float:
    """Rate at which loose shell is carried off. [year-1].

    Parameters
    ----------
    counts_a_year : ndarray, (n_levels, n_classes)
        Wave trains a year of each class at each level; a class wave counts as one train.
    heights : ndarray, (n_levels, n_classes)
        Height of these waves at the reef. [m]
    is_flooded : ndarray of bool, (n_levels,)
        Levels at which the foot of the reef is under water.
    embedment : float
        Depth of the shell in the mud. [m]
    share : float
        Share moved by a train of twice the height that just moves it. [1]

    Notes
    -----
    The sum over trains of ``processes/oysters.dislodged_share``; what moves is taken as lost
    to the reef (judgement).
    """
    excess = np.maximum(heights / dislodging_height(embedment) - 1.0, 0.0)
    moved = np.minimum(1.0, share * excess)
    # A year of many small losses: each train leaves 1 - moved of what it finds.
    lost = -np.log1p(-np.minimum(moved, 1.0 - 1e-12))
    return float((counts_a_year * lost * is_flooded[:, None]).sum())
