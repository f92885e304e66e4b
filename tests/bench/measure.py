"""Timing: many rounds, and what to say of them."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Times:
    """Seconds of many rounds."""

    seconds: tuple[float, ...]

    def share(self, part: float) -> float:
        """The quantile, in milliseconds: 0.5 the median, 0.99 the slowest hundredth."""
        ordered = sorted(self.seconds)
        return ordered[min(len(ordered) - 1, math.ceil(part * len(ordered)) - 1)] * 1000

    @property
    def median(self) -> float:
        """The median, in milliseconds."""
        return self.share(0.5)

    @property
    def p99(self) -> float:
        """The slowest hundredth, in milliseconds."""
        return self.share(0.99)


def timed(rounds: Iterable[Callable[[], object]]) -> Times:
    """Each round's time by the machine's steady clock."""
    found = []
    for one in rounds:
        begun = time.perf_counter()
        one()
        found.append(time.perf_counter() - begun)
    return Times(tuple(found))


@dataclass(frozen=True)
class Row:
    """One line of the table: what, ours, what it is held against, the ratio, and what is asked of it."""

    what: str
    ours: str
    against: str
    ratio: str
    asked: str
