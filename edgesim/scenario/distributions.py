"""Distributions that may stand in a scenario wherever a number may stand.

Each turns a share of probability into a value by its quantile function, so one
uniform draw per parameter is all the randomness there is. All are bounded: the
normal and the lognormal are cut at three standard deviations, so that the
ends of what can be drawn can be checked when the file is read.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from scipy.special import ndtr, ndtri

CUT = 3.0
"""Where the normal and lognormal are cut, in standard deviations (judgement). [1]"""

_Z95 = float(ndtri(0.95))


class Distribution(ABC):
    """What every distribution can do; `form` lists the keys it is written with."""

    form: ClassVar[tuple[str, ...]] = ()

    @abstractmethod
    def quantile(self, share: float) -> float:
        """Value below which the share of probability lies."""

    @property
    def median(self) -> float:
        """Middle value, used where one number must stand for the whole."""
        return self.quantile(0.5)

    @property
    def support(self) -> tuple[float, float]:
        """Smallest and largest value that can be drawn."""
        return self.quantile(0.0), self.quantile(1.0)

    def entries(self) -> dict[str, Any]:
        """Keys and values, as they are written in a file."""
        found: dict[str, Any] = {}
        for name in self.form:
            value = getattr(self, name)
            if value is not None:
                found[name] = list(value) if isinstance(value, tuple) else value
        return found


@dataclass(frozen=True)
class Triangular(Distribution):
    """Straight sides from `low` up to `mode` and down to `high`."""

    low: float
    mode: float
    high: float
    form: ClassVar[tuple[str, ...]] = ("low", "mode", "high")

    def __post_init__(self) -> None:
        if not self.low <= self.mode <= self.high or self.low == self.high:
            msg = "low, mode and high must stand in this order and low must be less than high"
            raise ValueError(msg)

    def quantile(self, share: float) -> float:
        """Closed form of the inverse of the triangular distribution function."""
        width = self.high - self.low
        at_mode = (self.mode - self.low) / width
        if share <= at_mode:
            return self.low + math.sqrt(share * width * (self.mode - self.low))
        return self.high - math.sqrt((1.0 - share) * width * (self.high - self.mode))


@dataclass(frozen=True)
class Uniform(Distribution):
    """Every value between `low` and `high` is as likely."""

    low: float
    high: float
    form: ClassVar[tuple[str, ...]] = ("low", "high")

    def __post_init__(self) -> None:
        if not self.low < self.high:
            msg = "low must be less than high"
            raise ValueError(msg)

    def quantile(self, share: float) -> float:
        """Linear between the ends."""
        return self.low + share * (self.high - self.low)


@dataclass(frozen=True)
class Normal(Distribution):
    """Bell curve cut at three standard deviations and, if given, at `low` and `high`."""

    mean: float
    sd: float
    low: float | None = None
    high: float | None = None
    form: ClassVar[tuple[str, ...]] = ("mean", "sd", "low", "high")

    def __post_init__(self) -> None:
        if not self.sd > 0.0:
            msg = "sd must be greater than 0"
            raise ValueError(msg)
        lower, upper = self._cuts()
        if not lower < upper:
            msg = "low must be less than high and both near the mean"
            raise ValueError(msg)

    def _cuts(self) -> tuple[float, float]:
        """Cuts in standard deviations from the mean."""
        lower = -CUT if self.low is None else max(-CUT, (self.low - self.mean) / self.sd)
        upper = CUT if self.high is None else min(CUT, (self.high - self.mean) / self.sd)
        return lower, upper

    def quantile(self, share: float) -> float:
        """Inverse of the truncated normal distribution function."""
        lower, upper = self._cuts()
        z = ndtri(ndtr(lower) + share * (ndtr(upper) - ndtr(lower)))
        return self.mean + self.sd * float(np.clip(z, lower, upper))


@dataclass(frozen=True)
class Lognormal(Distribution):
    """Nine draws of ten lie between `median_value` / `factor` and `median_value` * `factor`."""

    median_value: float
    factor: float
    form: ClassVar[tuple[str, ...]] = ("median", "factor")

    def __post_init__(self) -> None:
        if not (self.median_value > 0.0 and self.factor > 1.0):
            msg = "median must be greater than 0 and factor greater than 1"
            raise ValueError(msg)

    @property
    def median(self) -> float:
        """The median, free of the rounding of its quantile."""
        return self.median_value

    def quantile(self, share: float) -> float:
        """Exponential of the cut normal quantile; the 95 % point is the factor."""
        spread = math.log(self.factor) / _Z95
        return self.median_value * math.exp(Normal(0.0, spread).quantile(share))


@dataclass(frozen=True)
class Discrete(Distribution):
    """A few values, each with a weight."""

    values: tuple[float, ...]
    weights: tuple[float, ...]
    form: ClassVar[tuple[str, ...]] = ("values", "weights")

    def __post_init__(self) -> None:
        if not self.values or len(self.values) != len(self.weights):
            msg = "values and weights must be lists of the same length"
            raise ValueError(msg)
        if min(self.weights) < 0.0 or sum(self.weights) <= 0.0:
            msg = "weights must not be negative and not all 0"
            raise ValueError(msg)

    def quantile(self, share: float) -> float:
        """Smallest value whose cumulated weight reaches the share."""
        ranked = sorted((v, w) for v, w in zip(self.values, self.weights, strict=True) if w > 0.0)
        reached = np.cumsum([weight for _, weight in ranked])
        place = int(np.searchsorted(reached, share * reached[-1] * (1.0 - 1e-12)))
        return ranked[place][0]


@dataclass(frozen=True)
class Choice(Distribution):
    """One of a few words, each with a weight: rival formulas that members believe in by turns."""

    choices: tuple[str, ...]
    weights: tuple[float, ...]
    form: ClassVar[tuple[str, ...]] = ("choices", "weights")

    def __post_init__(self) -> None:
        if not self.choices or len(self.choices) != len(self.weights):
            msg = "choices and weights must be lists of the same length"
            raise ValueError(msg)
        if min(self.weights) < 0.0 or sum(self.weights) <= 0.0:
            msg = "weights must not be negative and not all 0"
            raise ValueError(msg)

    @property
    def median(self) -> Any:
        """The likeliest word, the first of equals, where one must stand for all."""
        return self.choices[int(np.argmax(self.weights))]

    @property
    def support(self) -> Any:
        """Every word that can be drawn."""
        return tuple(
            word for word, weight in zip(self.choices, self.weights, strict=True) if weight > 0.0
        )

    def quantile(self, share: float) -> Any:
        """Word in whose part of the weights, laid end to end, the share falls."""
        reached = np.cumsum(self.weights)
        place = int(np.searchsorted(reached, share * reached[-1], side="right"))
        return self.choices[min(place, int(np.flatnonzero(self.weights)[-1]))]


KINDS: tuple[tuple[frozenset[str], frozenset[str], type[Distribution]], ...] = (
    (frozenset({"low", "mode", "high"}), frozenset(), Triangular),
    (frozenset({"low", "high"}), frozenset(), Uniform),
    (frozenset({"mean", "sd"}), frozenset({"low", "high"}), Normal),
    (frozenset({"median", "factor"}), frozenset(), Lognormal),
    (frozenset({"values", "weights"}), frozenset(), Discrete),
)
"""Required keys, further keys and class of every distribution."""

FORMS = "{low, mode, high}, {low, high}, {mean, sd}, {median, factor} or {values = [..], weights = [..]}"
CHOICE_FORM = '{choices = ["..", ".."], weights = [..]}'
UNITLESS_KEYS = frozenset({"factor", "weights"})
"""Entries that are pure numbers whatever the quantity."""


def from_entries(entries: Mapping[str, float | tuple[float, ...]]) -> Distribution:
    """Make the distribution that is written with these keys.

    Raises
    ------
    ValueError
        If no distribution has these keys, or its numbers are impossible.

    Examples
    --------
    >>> from_entries({"low": 1.0, "high": 3.0}).median
    2.0
    """
    keys = frozenset(entries)
    for required, further, cls in KINDS:
        if required <= keys <= required | further:
            return cls(*(entries.get(name) for name in cls.form))
    msg = f"no distribution is written with the keys {', '.join(sorted(keys))}"
    raise ValueError(msg)
