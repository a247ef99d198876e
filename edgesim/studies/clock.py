"""How long a study may take, and how long its runs do take."""

from __future__ import annotations

import time

from edgesim.studies.store import StudyStore


class Clock:
    """Knows how long a run takes and how much time is left."""

    def __init__(self, seconds: float | None) -> None:
        self.began, self.seconds = time.monotonic(), seconds
        self.runs, self.rate, self.seen = 0, 0.0, dict[int, int]()
        self.stages: set[str] = set()

    def elapsed(self) -> float:
        """Seconds since the beginning."""
        return time.monotonic() - self.began

    def left(self) -> float | None:
        """Seconds that are left; None without a limit."""
        return None if self.seconds is None else max(0.0, self.seconds - self.elapsed())

    def has_begun(self, stage: str) -> bool:
        """Whether this call made the store of a stage already; remembers that it is made now."""
        begun = stage in self.stages
        self.stages.add(stage)
        return begun

    def learn(self, store: StudyStore, began: float) -> None:
        """Take the rate from the runs since a time."""
        finished = int((store.status != 0).sum())
        key = hash(store.path)
        new = finished - self.seen.get(key, 0)
        self.seen[key] = finished
        self.runs += new
        if new > 0:
            self.rate = (self.elapsed() - began) / new

    def affordable(self) -> float:
        """Runs for which there is time."""
        left = self.left()
        if left is None or self.rate == 0.0:
            return float("inf")
        return left / self.rate

    def fits(self, runs: int) -> bool:
        """Whether there is time for some runs."""
        return runs <= self.affordable()
