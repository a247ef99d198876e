"""One random stream for each purpose of each member, all from one seed.

Separate purposes keep separate streams, so that a draw added to one process
never moves another, and a member's streams do not depend on how many members
or workers there are.
"""

from __future__ import annotations

from enum import IntEnum, unique

import numpy as np


@unique
class Purpose(IntEnum):
    """What a random stream is for; the number is part of the seed and never reused."""

    TRAFFIC = 1
    WIND = 2
    SURGE = 3
    STRENGTH = 4
    RECRUITMENT = 5
    WALLS = 6
    PAST_TRAFFIC = 7
    UPKEEP = 8
    CLASSES = 9
    MESH = 10
    PAST_WIND = 11
    POSTS = 12
    BLOCKS = 13
    SITE = 14
    SCREENS = 15
    MENDING = 16
    DIRECTION = 17
    PAST_DIRECTION = 18
    REVIEW = 19


def stream(seed: int, member: int, purpose: Purpose) -> np.random.Generator:
    """Random generator of one purpose of one ensemble member.

    Parameters
    ----------
    seed : int
        Seed of the run, >= 0.
    member : int
        Index of the member, >= 0.
    purpose : Purpose
        What the numbers are for.

    Returns
    -------
    numpy.random.Generator
        The same stream for the same three arguments, always.
    """
    # The leading 1 sets these streams apart from those that draw scenario values.
    sequence = np.random.SeedSequence(seed, spawn_key=(1, member, int(purpose)))
    return np.random.Generator(np.random.PCG64(sequence))
