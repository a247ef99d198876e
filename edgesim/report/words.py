"""Numbers in words: every result with its spread, every length both ways."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from edgesim.outcomes.summary import METRES_PER_FOOT, chance_interval, member_quantiles

Floats = NDArray[np.float64]

MINUS = "\N{MINUS SIGN}"


class Measure:
    """How a quantity is written: digits, unit, and a second unit if it has one.

    Parameters
    ----------
    unit : str
        First unit, as people write it.
    digits : int
        Digits behind the point.
    other : str, default ""
        Second unit.
    factor : float, default 1
        Second unit per first unit.
    other_digits : int, default 0
        Digits in the second unit.
    """

    def __init__(
        self, unit: str, digits: int, other: str = "", factor: float = 1.0, other_digits: int = 0
    ) -> None:
        self.parts = [(unit, digits, 1.0)] + ([(other, other_digits, factor)] if other else [])

    def one(self, value: float) -> str:
        """Write one value.

        Examples
        --------
        >>> LENGTH.one(-3.048)
        '−3.0 m (−10.0 ft)'
        """
        return self._joined([(value,)])

    def between(self, low: float, high: float) -> str:
        """Write a range.

        Examples
        --------
        >>> LENGTH.between(0.3048, 3.048)
        '0.3 to 3.0 m (1.0 to 10.0 ft)'
        """
        return self._joined([(low, high)])

    def _joined(self, values: Sequence[tuple[float, ...]]) -> str:
        written = [
            " to ".join(number(v * factor, digits) for v in values[0])
            + (f" {unit}" if unit else "")
            for unit, digits, factor in self.parts
        ]
        return written[0] if len(written) == 1 else f"{written[0]} ({written[1]})"


LENGTH = Measure("m", 1, "ft", 1.0 / METRES_PER_FOOT, 1)
FINE_LENGTH = Measure("m", 2, "ft", 1.0 / METRES_PER_FOOT, 1)
SMALL_LENGTH = Measure("cm", 0, "in", 1.0 / 2.54, 1)
TINY_LENGTH = Measure("mm", 0, "in", 1.0 / 25.4, 1)
AREA = Measure("m²", 0, "ft²", 1.0 / METRES_PER_FOOT**2)
DENSITY = Measure("per m²", 0, "per ft²", METRES_PER_FOOT**2)
PERCENT = Measure("%", 0)
COUNT = Measure("", 0)
TIMES = Measure("times", 0)


def number(value: float, digits: int) -> str:
    r"""Write a number with commas between thousands, as the tables do, and a real minus sign.

    Examples
    --------
    >>> number(-0.001, 1), number(-12345.6, 0)
    ('0.0', '−12,346')
    """
    text = f"{value:,.{digits}f}"
    if not any(digit in "123456789" for digit in text):
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def money(currency: str) -> Measure:
    """How amounts of a currency are written."""
    return Measure(currency, 0)


def banded(values: ArrayLike, measure: Measure) -> str:
    """Write the median of the members with both bands; a phrase that ends its sentence.

    Examples
    --------
    >>> banded([0.0, 1.0, 2.0, 3.0, 4.0], COUNT)
    '2: 1 to 3 in half of the futures, 0 to 4 in nine tenths'
    >>> banded([9.0, 9.0, 9.0], TIMES)
    '9 times, the same in nine tenths of the futures'
    """
    p05, p25, p50, p75, p95 = (float(value) for value in member_quantiles(values))
    if measure.one(p05) == measure.one(p95):
        return f"{measure.one(p50)}, the same in nine tenths of the futures"
    half = measure.between(p25, p75)
    if measure.one(p25) == measure.one(p75):
        half = "the same"
    return (
        f"{measure.one(p50)}: {half} in half of the futures, "
        f"{measure.between(p05, p95)} in nine tenths"
    )


def directed(values: ArrayLike, measure: Measure, up: str, down: str) -> str:
    """Write a change by the word for the side on which its median lies, so that it reads as a gain or a loss.

    Parameters
    ----------
    values : array_like
        The change in every member, upward positive.
    measure : Measure
        How it is written.
    up, down : str
        Words for a change upward and downward.

    Returns
    -------
    str

    Examples
    --------
    >>> directed([-3.0, -2.0, -1.0], COUNT, "risen", "sunk")
    'sunk by 2: the same in half of the futures, 1 to 3 in nine tenths'
    >>> directed([-1.0, 2.0, 5.0], COUNT, "risen", "sunk")
    'risen (a negative number: sunk) by 2: 0 to 4 in half of the futures, −1 to 5 in nine tenths'
    """
    found = np.asarray(values, dtype=np.float64)
    word, other = (up, down) if float(np.median(found)) >= 0.0 else (down, up)
    found = found if word == up else -found
    p05 = float(member_quantiles(found)[0])
    hint = f" (a negative number: {other})" if MINUS in measure.one(p05) else ""
    return f"{word}{hint} by {banded(found, measure)}"


def share_of(holds: ArrayLike) -> str:
    """Write how many of the members something holds for, with the interval of the chance.

    Examples
    --------
    >>> share_of([True] * 10 + [False] * 10)
    '10 of 20 futures (chance 50 %, 90 % interval 30 to 70 %)'
    """
    seen = np.asarray(holds, dtype=bool)
    return share_words(int(seen.sum()), seen.size)


def share_words(count: int, size: int) -> str:
    """Write that something holds for `count` of `size` members."""
    low, high = (float(end) * 100 for end in chance_interval(count, size))
    return (
        f"{count} of {size} futures (chance {PERCENT.one(100 * count / size)}, "
        f"90 % interval {PERCENT.between(low, high)})"
    )


def listed(names: Sequence[str]) -> str:
    """Join names as people do.

    Examples
    --------
    >>> listed(["walls", "reef", "both"])
    'walls, reef and both'
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def sentence(words: str) -> str:
    """Begin with a capital letter, without touching the rest."""
    return words[:1].upper() + words[1:]
