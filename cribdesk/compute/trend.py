"""Where a row of readings is heading, and whether it has left its level: lines, crossings, control charts."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean, stdev

from cribdesk.compute import checks, rows

FAR = 2.0  # observed spans beyond which a crossing is marked as far
LEARNING = 5  # readings before a chart has a level


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope x."""

    slope: float
    intercept: float

    def at(self, x: float) -> float:
        """y on the line."""
        return self.intercept + self.slope * x

    def reaches(self, level: float) -> float | None:
        """x at which the line has that level; None for a level line."""
        return _quotient(level - self.intercept, self.slope)


def robust_line(x: Iterable[float], y: Iterable[float]) -> Line:
    """The line through readings of which some may be quite wrong; two or more, in any order.

    Slope: the median of the slopes of all pairs with different x; intercept: the median of y - slope x
    (the *joint* one: median(y) - slope median(x) moves with an outlier). Source: Theil 1950, Sen 1968,
    after Helsel and Hirsch 2002, chapter 10 (from memory). Cost grows with the square of the readings.
    ValueError: fewer than two readings, all x the same, lengths that differ.
    """
    import numpy as np

    across, up = rows.pairs(x, y, 2)
    first, second = np.triu_indices(across.size, 1)
    run = across[second] - across[first]
    apart = run != 0
    slope = float(np.median((up[second] - up[first])[apart] / run[apart]))
    return Line(slope, float(np.median(up - slope * across)))


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a line reaches a level, between which bounds; None for what does not exist.

    `far`: the estimate lies more than twice the observed span away from the readings; show it as such.
    """

    estimate: float | None
    low: float | None
    high: float | None
    far: bool = False


def crossing(
    x: Iterable[float],
    y: Iterable[float],
    level: float,
    confidence: float = 0.8,
    future_readings: int | None = None,
) -> Crossing:
    """Where the least-squares line reaches `level`, with two-sided bounds; three readings or more.

    Without `future_readings` the bounds are for the mean line; with m of them, for when the mean of m new
    readings will show it. Both bounds are None when the slope cannot be told from zero at that confidence
    (g >= 1): then there is no bounded interval. Which way the line runs is the caller's to see.
    Source: Fieller 1954; Draper and Smith, inverse regression (both from memory).
    """
    import numpy as np
    from scipy.special import stdtrit

    across, up = rows.pairs(x, y, 3)
    mark = checks.number("The level", level)
    tail = (1 + checks.fraction("The confidence", confidence)) / 2
    again = 0.0 if future_readings is None else 1 / checks.whole("The number of future readings", future_readings, 1)
    middle, mean = float(across.mean()), float(up.mean())
    off = across - middle
    spread = float(off @ off)
    slope = 0.0 if np.ptp(up) == 0 else float(off @ (up - mean)) / spread
    estimate = _quotient(mark - mean, slope)
    if estimate is None:
        return Crossing(None, None, None)
    residual = up - mean - slope * off
    wide = float(stdtrit(across.size - 2, tail)) * math.sqrt(float(residual @ residual) / (across.size - 2))
    at = middle + estimate
    far = max(across.min() - at, at - across.max()) > FAR * float(np.ptp(across))
    g = (wide / slope) ** 2 / spread
    if not g < 1:
        return Crossing(at, None, None, bool(far))
    shifted = middle + estimate / (1 - g)
    inside = (again + 1 / across.size) * (1 - g) + estimate**2 / spread
    half = wide / abs(slope) / (1 - g) * math.sqrt(inside)
    return Crossing(at, shifted - half, shifted + half, bool(far))


def shrunk_slope(slope: float, standard_error: float, fleet_slope: float, fleet_sd: float) -> float:
    """The slope of a unit with few readings, drawn towards the fleet's by how well each is known.

    (b / se^2 + B / T^2) / (1 / se^2 + 1 / T^2): B and T are mean and standard deviation over the fleet.
    With no slope of its own a unit takes the fleet's, through its last reading. An infinite
    `standard_error` says that. Source: the normal mean with a normal prior.
    """
    own = checks.number("The slope", slope)
    fleet = checks.number("The fleet's slope", fleet_slope)
    between = checks.positive("The fleet's deviation", fleet_sd) ** 2
    if standard_error == math.inf:
        return fleet
    within = checks.not_negative("The standard error", standard_error) ** 2
    return (own * between + fleet * within) / (between + within)


@dataclass(frozen=True, slots=True)
class Cusum:
    """Both sides of the chart after each reading; the reading that first went over h, from 1, or None."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    first_signal: int | None

    def began(self) -> int | None:
        """The reading, from 1, at which the change that was signalled began: the first since the last zero."""
        if self.first_signal is None:
            return None
        last = self.first_signal
        side = max(self.high[:last], self.low[:last], key=lambda values: values[-1])
        return max((at for at, value in enumerate(side, 1) if value == 0.0), default=0) + 1


def cusum(values: Iterable[float], target: float, k: float, h: float) -> Cusum:
    """Cumulative sums of what exceeds target + k, and of what falls short of target - k, never under zero.

    A signal is a sum over h, on either side. k and h are in the data's own unit, not in sigmas.
    Source: NIST/SEMATECH e-Handbook 6.3.2.3. A missing reading is left out and does not advance the chart;
    one known only as 'at least z' counts as `mean_beyond(z)`.
    """
    given = [checks.number("A reading", value) for value in values]
    checks.not_empty("Readings", given)
    level = checks.number("The target", target)
    slack, limit = checks.not_negative("k", k), checks.positive("h", h)
    highs, lows = [0.0], [0.0]
    for value in given:
        highs.append(max(0.0, highs[-1] + (value - level) - slack))
        lows.append(max(0.0, lows[-1] + (level - value) - slack))
    over = (at for at in range(1, len(highs)) if max(highs[at], lows[at]) > limit)
    return Cusum(tuple(highs[1:]), tuple(lows[1:]), next(over, None))


def run_length(k: float, h: float, shift: float = 0.0, both_sides: bool = True) -> float:
    """About how many readings pass until a cusum signals after a shift; all three in sigmas.

    Siegmund's closed form, (exp(-2 D b) + 2 D b - 1) / (2 D^2), D = shift - k, b = h + 1.166; within some
    per cent of the exact figure (Siegmund 1985; from memory). Two sides: 1/L = 1/L(shift) + 1/L(-shift).
    """
    slack, limit = checks.not_negative("k", k), checks.positive("h", h)
    moved = checks.number("The shift", shift)
    near = _one_side(moved - slack, limit + 1.166)
    return near if not both_sides else 1 / (1 / near + 1 / _one_side(-moved - slack, limit + 1.166))


def _one_side(drift: float, limit: float) -> float:
    if abs(drift * limit) < 1e-4:
        return limit**2
    exponent = -2 * drift * limit
    if exponent > 700:
        return math.inf
    return (math.exp(exponent) - exponent - 1) / (2 * drift**2)


@dataclass(frozen=True, slots=True)
class Ewma:
    """The weighted average after each reading, its limits then, and the reading that first left them."""

    values: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    first_signal: int | None


def ewma(values: Iterable[float], target: float, sigma: float, weight: float, width: float) -> Ewma:
    """The exponentially weighted average, begun at the target, with its exact limits.

    w = weight x + (1 - weight) w; limits target +- width sigma sqrt(weight/(2-weight) (1-(1-weight)^(2i))).
    They widen to the asymptotic ones that NIST/SEMATECH e-Handbook 6.3.2.4 draws throughout; exact form:
    Montgomery, Statistical Quality Control (from memory).
    """
    given = [checks.number("A reading", value) for value in values]
    checks.not_empty("Readings", given)
    level, spread = checks.number("The target", target), checks.positive("Sigma", sigma)
    new, reach = checks.weight("The weight", weight), checks.positive("The width", width)
    averages, lower, upper = [], [], []
    average = level
    for count, value in enumerate(given, 1):
        average = new * value + (1 - new) * average
        half = reach * spread * math.sqrt(new / (2 - new) * -math.expm1(2 * count * _log(1 - new)))
        averages.append(average)
        lower.append(level - half)
        upper.append(level + half)
    places = range(len(averages))
    left = (at + 1 for at in places if not lower[at] <= averages[at] <= upper[at])
    return Ewma(tuple(averages), tuple(lower), tuple(upper), next(left, None))


@dataclass(frozen=True, slots=True)
class Level:
    """What a chart holds readings against: their mean and standard deviation while all was well."""

    mean: float
    sigma: float


def learned_level(values: Iterable[float], least_sigma: float) -> Level | None:
    """Level and spread of the first good readings; None while there are fewer than five: still learning.

    `least_sigma` is the fleet's: readings that happen to agree must not make every later one a signal.
    Five and this floor: common practice, no source.
    """
    given = [checks.number("A reading", value) for value in values]
    floor = checks.positive("The least sigma", least_sigma)
    if len(given) < LEARNING:
        return None
    return Level(fmean(given), max(stdev(given), floor))


def _quotient(above: float, below: float) -> float | None:
    """above / below, None where that is no finite number."""
    result = above / below if below else math.inf
    return result if math.isfinite(result) else None


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -math.inf
