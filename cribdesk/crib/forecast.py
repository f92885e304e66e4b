"""A forecast of the next change as it is kept: what such parts' lives say about one part. Plain numbers only.

The fit comes from `compute`, by way of the desk; here is what is read from it without any library.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import exp, expm1, log, log1p

HOURS, LOADING = "worn hours", "filter loading"
PROBABILITIES = (0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98)
"""For each the use left is kept at which the change has come with that probability."""

EARLY, MIDDLE, LATE = 0.1, 0.5, 0.9
TOO_FEW = "too few lives, and no rule of thumb: no forecast"
APART = "lives and rule of thumb too far apart: no forecast"
NO_FIT = (TOO_FEW, APART)
"""Doubts about whole positions, not about records."""

LEAST = 1e-4
"""Hours below which two figures are the same."""


@dataclass(frozen=True)
class Fit:
    """How long a part at one position of one model lasts, in one measure of use.

    `measure` is worn hours or filter loading, the latter in hours at `dust_ug_m3`. `changed` lives ended in a
    change, `running` did not; `typical` is the use half of new ones last, `whole` what one in ten outlasts;
    `scale` and `shape` are (estimate, low, high) at 95 %. `left` has a row for each of `ages`: the use left at
    PROBABILITIES. `curve` is (use, chance to last longer) for the picture, `band` (low, high) at each of its points, at
    95 %. `known` is the share of hours with an
    assessed dust. `seq` is the journal's entry it rests on, `at` that moment. `laws` is (scale, shape, weight) of the
    Weibull laws that stand for all it leaves open, for sums over the fleet. `areas` is (area's id, use half of those
    worn there last, lives that ended there) where worn hours count and enough of them ended in one area.
    """

    model: str
    position: str
    measure: str
    dust_ug_m3: int | None
    changed: int
    running: int
    thumb_hours: float | None
    typical: float
    whole: float
    scale: tuple[float, float, float]
    shape: tuple[float, float, float]
    ages: tuple[float, ...]
    left: tuple[tuple[float, ...], ...]
    curve: tuple[tuple[float, float], ...]
    known: float
    seq: int
    at: datetime
    laws: tuple[tuple[float, float, float], ...] = ()
    band: tuple[tuple[float, float], ...] = ()
    areas: tuple[tuple[int, float, int], ...] = ()

    def left_at(self, age: float) -> tuple[float, ...]:
        """The use left at PROBABILITIES for one that has lasted to `age`, between the ages kept by their logs."""
        if age >= self.ages[-1]:
            return self.left[-1]
        after = bisect_right(self.ages, age)
        low, high = self.ages[after - 1], self.ages[after]
        share = (age - low) / (high - low)
        return tuple(
            exp(log(a) + share * (log(b) - log(a))) for a, b in zip(self.left[after - 1], self.left[after], strict=True)
        )


@dataclass(frozen=True)
class Forecast:
    """What is left of one fitted part.

    `worn_hours` and `use` are what it had when this was made; `left` the use left at PROBABILITIES; `per_hour`
    the use this unit makes of a worn hour; `a_day` its own worn hours a calendar day (None: too few uses). `area` is
    where the unit was worn last, `typical_there` the worn hours that half of such parts last there, by `changed_there`
    lives; '' where nothing tells.
    """

    position: str
    fitted_id: int
    worn_hours: float
    use: float
    per_hour: float
    left: tuple[float, ...]
    a_day: float | None
    measure: str
    dust_ug_m3: int | None
    changed: int
    running: int
    typical: float
    whole: float
    seq: int
    at: datetime
    area: str = ""
    typical_there: float = 0.0
    changed_there: int = 0

    def hours_left(self, probability: float, worn_hours: float) -> float:
        """Worn hours until the change has come with that probability, the part having `worn_hours` now.

        What it wore since this was made is taken off: never later than a forecast made now would say.
        """
        since = max(0.0, worn_hours - self.worn_hours)
        return max(0.0, _at(self.left, probability) / self.per_hour - since)

    def chance(self, further_hours: float, per_hour: float | None = None, since_hours: float = 0.0) -> float:
        """The chance that it falls due within so many further worn hours, at `per_hour` of use (its own if None).

        `since_hours` it wore since this was made, at its own use, stand before them.
        """
        use = further_hours * (self.per_hour if per_hour is None else per_hour) + since_hours * self.per_hour
        if use <= LEAST:
            return 0.0
        ups = [log(-log1p(-one)) for one in PROBABILITIES]
        along = [log(max(LEAST, one)) for one in self.left]
        return -expm1(-exp(min(_line(along, ups, log(use)), 50.0)))

    def per_hour_at(self, dust_ug_m3: int | None) -> float | None:
        """The use a worn hour makes at that dust; None where worn hours count, or the dust is not assessed.

        A dust of nought is no finding: a filter that nothing loads would last for ever.
        """
        if self.measure == HOURS or not self.dust_ug_m3 or not dust_ug_m3:
            return None
        return dust_ug_m3 / self.dust_ug_m3


@dataclass(frozen=True)
class Cover:
    """What the fits and forecasts of a store rest on as a whole.

    `seq` is the last entry of the journal they take in, `at` the moment they were made. `basis` is a digest of
    the rules of thumb they started from, `reference_ug_m3` the dust at which loading is told. `doubts` says how
    many records were left out or clamped, by the reason's words; `fresh` how many parts came out since a position
    was fitted, by model and position.
    """

    seq: int
    at: datetime
    basis: str
    reference_ug_m3: int | None
    doubts: tuple[tuple[str, int], ...]
    fresh: tuple[tuple[str, str, int], ...] = ()


def _at(left: Sequence[float], probability: float) -> float:
    """The use left at any probability: a line through logs, as Weibull lives make one nearly straight."""
    for kept, use in zip(PROBABILITIES, left, strict=True):
        if kept == probability:
            return use
    ups = [log(-log1p(-one)) for one in PROBABILITIES]
    return exp(_line(ups, [log(max(LEAST, one)) for one in left], log(-log1p(-probability))))


def _line(x: Sequence[float], y: Sequence[float], at: float) -> float:
    """Between two points the line through them; beyond the ends the last line goes on."""
    after = min(max(bisect_right(x, at), 1), len(x) - 1)
    width = x[after] - x[after - 1]
    if width <= 0:
        return y[after]
    return y[after - 1] + (at - x[after - 1]) / width * (y[after] - y[after - 1])
