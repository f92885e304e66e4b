"""What the readings of one attempt come to: pass, one more, or not; the same for the record and while one types."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cribdesk.crib.flow import FAIL, PASS, TOO_CLOSE, decide, mean_guard, sure_from
from cribdesk.procedure.answers import Measured
from cribdesk.procedure.limits import Limit

AGAIN, HIGH = "again", "high"


@dataclass(frozen=True)
class Band:
    """The guard band of an attempt and the uncertainty it comes from: those of the widest meter used in it."""

    guard_lpm: float = 0.0
    uncertainty_lpm: float = 0.0

    def with_one(self, given: Measured) -> Band:
        """The band after one more reading."""
        if given.guard_lpm is None or given.guard_lpm <= self.guard_lpm:
            return self
        return Band(given.guard_lpm, given.uncertainty_lpm or 0.0)


NO_BAND = Band()


@dataclass(frozen=True)
class Weighed:
    """`verdict` is pass, again, fail or high; `good` that the last reading alone is; `mean` what decided, where
    several did; `needed` the least that passes for sure, where a guard band decided."""

    verdict: str
    good: bool
    mean: float | None = None
    needed: float | None = None


def weigh(limit: Limit, readings: tuple[float, ...], tries: int, averaging: bool, band: Band) -> Weighed:
    """Weighs the readings of this attempt, oldest first, by what really flowed.

    Repeats do not shop for a pass: the first reading decides when it passes for sure, or fails for sure. After one
    too close to say, or taken back, all the tries are taken and their mean decides. Where no guard band is kept, one
    under the limit is such. A reading above what can be decides at once.
    """
    last, guarded = readings[-1], band.guard_lpm > 0 and limit.low is not None
    needed = sure_from(limit.low or 0.0, band.guard_lpm) if guarded else None
    if limit.side(last) == "high":
        return Weighed(HIGH, False)
    alone = _decided(limit, last, band.guard_lpm)
    if len(readings) == 1 and not averaging and (alone == PASS or (alone == FAIL and guarded)):
        return Weighed(alone, alone == PASS, None, needed)
    if len(readings) < tries:
        return Weighed(AGAIN, alone == PASS, None, needed)
    mean = math.fsum(readings) / len(readings)
    wide = mean_guard(band.guard_lpm, band.uncertainty_lpm, readings) if guarded else 0.0
    passed = _decided(limit, mean, wide) == PASS
    least = sure_from(limit.low or 0.0, wide) if guarded else None
    return Weighed(PASS if passed else FAIL, passed, mean if passed or len(readings) > 1 else None, least)


def _decided(limit: Limit, value: float, guard_lpm: float) -> str:
    if limit.side(value) == "high":
        return FAIL
    return PASS if limit.low is None else decide(value, limit.low, guard_lpm)


__all__ = ["AGAIN", "FAIL", "HIGH", "NO_BAND", "PASS", "TOO_CLOSE", "Band", "Weighed", "weigh"]
