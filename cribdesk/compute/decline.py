"""How a unit's airflow falls since its last filter change, and in how many hours it will be at its minimum."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev

from cribdesk.compute import checks, rows
from cribdesk.compute.trend import FAR, Line, crossing, robust_line, shrunk_slope

FEW = 4
"""Readings from which a unit's own are enough; under it they lean on the fleet."""
UNITS = 5
"""Other units from which a fleet has a slope of its own (a house rule)."""
WILD_FROM, WILD = 6, 25.0
"""Readings from which, and robust deviations by which, one counts as wild (a house rule): so far that honest scatter,
of which few readings show little, is not cut off and the interval keeps what it says."""
Z = 1.2816
"""Standard normal quantile of a two-sided 80 % interval."""

Series = tuple[Sequence[float], Sequence[float]]
"""Worn hours and flows of one unit since its last filter change."""


@dataclass(frozen=True, slots=True)
class Fleet:
    """Mean slope over a model's units, its deviation between them, and how far single readings scatter."""

    slope: float
    deviation: float
    noise: float


@dataclass(frozen=True, slots=True)
class Decline:
    """A line through a unit's readings. `left` counts from now to the level, zero when it is reached already.

    `left`, and the 80 % interval from `early` to `late`, are None where no decline can be told from the readings' own
    scatter; `late` alone where it may never come. `far`: more than twice the observed span beyond the readings. `wild`
    readings lie so far off that the interval leaves them out.
    """

    readings: int
    slope: float
    intercept: float
    left: float | None = None
    early: float | None = None
    late: float | None = None
    far: bool = False
    leans: bool = False
    wild: int = 0

    def at(self, hours: float) -> float:
        """The line's flow at those worn hours."""
        return self.intercept + self.slope * hours


def fleet_of(series: Iterable[Series]) -> Fleet | None:
    """What other units of the model show: those with three readings at different hours; None for fewer than five."""
    slopes, squares, free = [], [], 0
    for hours, flows in series:
        if len(hours) < 3 or len(set(hours)) < 3:
            continue
        line = robust_line(hours, flows)
        slopes.append(line.slope)
        squares += [(y - line.at(x)) ** 2 for x, y in zip(hours, flows, strict=True)]
        free += len(hours) - 2
    if len(slopes) < UNITS:
        return None
    deviation, noise = stdev(slopes), math.sqrt(math.fsum(squares) / free)
    return Fleet(fmean(slopes), max(deviation, 1e-6), noise) if noise > 0 else None


def decline(
    hours: Sequence[float], flows: Sequence[float], now: float, level: float, fleet: Fleet | None = None
) -> Decline | None:
    """Where the readings of one unit are heading; None where they and the fleet say nothing yet.

    Four or more: the line by Theil and Sen, that one wild reading does not turn, with Fieller's 80 % interval of the
    least-squares line, widened to hold the robust estimate. Fewer: the slope drawn towards the fleet's, through the
    last reading. Source: Theil 1950, Sen 1968, Fieller 1954, the normal mean with a normal prior (from memory).
    """
    checks.number("Now", now)
    if not hours:
        return None
    if len(hours) >= FEW and len(set(hours)) >= 3:
        return _own(hours, flows, now, level)
    return _leaning(hours, flows, now, level, fleet) if fleet is not None else None


def _own(hours: Sequence[float], flows: Sequence[float], now: float, level: float) -> Decline:
    line = robust_line(hours, flows)
    found = Decline(len(hours), line.slope, line.intercept)
    reached = line.reaches(level) if line.slope < 0 else None
    if reached is None:
        return found
    kept = _trusted(hours, flows, line)
    bounds = crossing([x for x, _ in kept], [y for _, y in kept], level)
    if bounds.low is None or bounds.high is None:
        return found  # what cannot be told from scatter is no date
    span = max(hours) - min(hours)
    wild = len(hours) - len(kept)
    early, late = max(0.0, min(bounds.low, reached) - now), max(0.0, max(bounds.high, reached) - now)
    far = reached - max(hours) > FAR * span
    return Decline(len(hours), line.slope, line.intercept, max(0.0, reached - now), early, late, far, wild=wild)


def _trusted(hours: Sequence[float], flows: Sequence[float], line: Line) -> list[tuple[float, float]]:
    """The readings without those that lie wildly off the line."""
    pairs = list(zip(hours, flows, strict=True))
    off = [y - line.at(x) for x, y in pairs]
    middle = median(off)
    spread = 1.4826 * median(abs(one - middle) for one in off)
    if len(pairs) < WILD_FROM or spread == 0:
        return pairs
    kept = [pair for pair, one in zip(pairs, off, strict=True) if abs(one - middle) <= WILD * spread]
    return kept if len({x for x, _ in kept}) >= 3 else pairs


def _leaning(
    hours: Sequence[float], flows: Sequence[float], now: float, level: float, fleet: Fleet
) -> Decline:
    across, up = rows.pairs(hours, flows, 1) if len(set(hours)) > 1 else (None, None)
    error, own = math.inf, 0.0
    if across is not None and up is not None:
        own = robust_line(hours, flows).slope
        error = fleet.noise / math.sqrt(float(((across - across.mean()) ** 2).sum()))
    slope = shrunk_slope(own, error, fleet.slope, fleet.deviation)
    inverse = 1 / fleet.deviation**2 + (0.0 if error == math.inf else 1 / error**2)
    spread = Z / math.sqrt(inverse)
    last = max(range(len(hours)), key=lambda n: hours[n])
    begun, from_there = hours[last], flows[last] - level
    intercept = flows[last] - slope * hours[last]
    if slope >= 0:
        return Decline(len(hours), slope, intercept, leans=True)

    def left(by: float, above: float) -> float | None:
        return None if by >= 0 else max(0.0, begun + above / -by - now)

    # the last reading's own scatter counts too: it is the only one the line stands on
    middle = left(slope, from_there) or 0.0
    ends = [
        left(by, from_there + above)
        for by in (slope - spread, slope + spread)
        for above in (-Z * fleet.noise, Z * fleet.noise)
    ]
    early = min(middle, *(one for one in ends if one is not None))
    late = None if None in ends else max(middle, *(one for one in ends if one is not None))
    far = from_there / -slope > FAR * (max(hours) - min(hours))
    return Decline(len(hours), slope, intercept, middle, early, late, far, leans=True)


def band(hours: Sequence[float], flows: Sequence[float], at: Sequence[float]) -> list[tuple[float, float, float]]:
    """The 80 % confidence band of the least-squares line at some hours: (hours, low, high); three readings or more.

    Where it meets a level lie Fieller's bounds. Source: Draper and Smith (from memory).
    """
    from scipy.special import stdtrit

    across, up = rows.pairs(hours, flows, 3)
    middle, mean = float(across.mean()), float(up.mean())
    off = across - middle
    spread = float(off @ off)
    slope = float(off @ (up - mean)) / spread
    residual = up - mean - slope * off
    wide = float(stdtrit(across.size - 2, 0.9)) * math.sqrt(float(residual @ residual) / (across.size - 2))
    found = []
    for one in at:
        centre = mean + slope * (one - middle)
        half = wide * math.sqrt(1 / across.size + (one - middle) ** 2 / spread)
        found.append((one, centre - half, centre + half))
    return found
