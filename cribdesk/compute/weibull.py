"""The two-parameter Weibull law of lives, and its maximum likelihood from censored data."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

from cribdesk.compute import checks, rows

if TYPE_CHECKING:
    from cribdesk.compute.rows import Row

Pairs = Iterable[tuple[float, float]]

LARGEST_LOG = 300.0  # exp of that is beyond all use, and its square does not overflow
SAME_LOG = 1e-9  # ages nearer than this, relatively, are one age
STEPS = 200


@dataclass(frozen=True, slots=True)
class Weibull:
    """Lives whose survival is exp(-(hours / scale) ^ shape); scale is the life that 63 % do not reach.

    `log_likelihood` is that of the data it was fitted to, 0 where there were none.
    """

    shape: float
    scale: float
    log_likelihood: float = 0.0

    def __post_init__(self) -> None:
        checks.positive("The shape", self.shape)
        checks.positive("The scale", self.scale)

    @overload
    def survival(self, hours: float) -> float: ...
    @overload
    def survival(self, hours: Row) -> Row: ...
    def survival(self, hours: float | Row) -> float | Row:
        """The chance that a new one lasts longer than that; an array in, an array out."""
        if isinstance(hours, float | int) or getattr(hours, "ndim", 1) == 0:
            return math.exp(-self._used(checks.not_negative("The hours", hours)))
        import numpy as np

        with np.errstate(over="ignore"):
            ages = rows.not_negative("The hours", np.asarray(hours), empty=True)
            used = np.power(ages / self.scale, self.shape)
        return np.asarray(np.exp(-used), dtype=np.float64)

    def chance(self, age: float, further: float) -> float:
        """The chance of a change within `further` hours, given that it has lasted to `age`."""
        begun = checks.not_negative("The age", age)
        more = checks.not_negative("The further hours", further)
        used = self._used(begun)
        if more < begun:  # without the difference of two nearly equal numbers
            return -math.expm1(-used * math.expm1(min(self.shape * math.log1p(more / begun), LARGEST_LOG)))
        return -math.expm1(used - self._used(begun + more))

    def remaining(self, age: float, probability: float) -> float:
        """The further hours within which a change comes with that probability, given life to `age`.

        scale ((age / scale)^shape - ln(1 - probability))^(1 / shape) - age: the survival solved for hours.
        """
        begun = checks.not_negative("The age", age)
        due = -math.log1p(-checks.fraction("The probability", probability))
        used = self._used(begun)
        if used > due:  # the same, without the difference of two large numbers
            return begun * math.expm1(math.log1p(due / used) / self.shape)
        return self.scale * math.exp(math.log(used + due) / self.shape) - begun

    def mean(self) -> float:
        """The mean life in hours, scale x Gamma(1 + 1 / shape)."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    def deviation(self) -> float:
        """The standard deviation of lives in hours."""
        second = math.gamma(1 + 2 / self.shape) - math.gamma(1 + 1 / self.shape) ** 2
        return self.scale * math.sqrt(max(second, 0.0))

    def _used(self, hours: float) -> float:
        """The cumulative hazard; grows beyond all use rather than overflow."""
        if hours == 0.0:
            return 0.0
        return math.exp(min(self.shape * (math.log(hours) - math.log(self.scale)), LARGEST_LOG))


@dataclass(frozen=True, slots=True, eq=False)
class Lives:
    """Checked data: ages at a change, ages without one (zeros say nothing and are dropped), and bounds."""

    changed: Row
    running: Row
    low: Row
    high: Row

    @property
    def ended(self) -> int:
        """How many lives are known to have ended in a change."""
        return int(self.changed.size + self.low.size)


def lives(changed: Iterable[float], running: Iterable[float], between: Pairs) -> Lives:
    """The data as arrays. ValueError: a change at age zero, a negative age, bounds not in order."""
    import numpy as np

    ended = rows.positive("Ages at a change", changed, empty=True)
    still = rows.not_negative("Ages without a change", running, empty=True)
    given = [tuple(pair) for pair in between]
    if any(len(pair) != 2 for pair in given):
        raise ValueError("Bounds of a change come in pairs, from and to")
    low = rows.not_negative("The lower bounds of a change", [pair[0] for pair in given], empty=True)
    high = rows.positive("The upper bounds of a change", [pair[1] for pair in given], empty=True)
    if np.any(low >= high):
        raise ValueError("Each change lies between a lower and a higher age")
    return Lives(ended, still[still > 0], low, high)


def scale_of(changed: Iterable[float], running: Iterable[float], shape: float) -> float:
    """The likeliest scale where the shape is known: ((sum of age^shape) / changes)^(1 / shape).

    Lives to that power are exponential (Nelson, Applied Life Data Analysis, from memory), whose mean is the whole use
    over the changes. ValueError: no change, a zero age among changes.
    """
    known, power = lives(changed, running, ()), checks.positive("The shape", shape)
    if not known.changed.size:
        raise ValueError("Without a change no scale is told")
    ages = [*map(float, known.changed), *map(float, known.running)]
    largest = max(ages)  # ages against it: their powers cannot overflow
    whole = math.fsum((age / largest) ** power for age in ages)
    return largest * float((whole / known.changed.size) ** (1 / power))


def weibull_mle(changed: Iterable[float], running: Iterable[float] = (), between: Pairs = ()) -> Weibull:
    """The Weibull law under which the data are likeliest.

    `changed`: ages at which it had to be changed; `running`: ages reached without that (still fitted,
    removed for another reason or by the calendar); `between`: found due between two ages.
    Newton's method on (-shape ln scale, shape), in which the log likelihood is concave (Burridge 1981,
    from memory), so its one maximum is found. Density: NIST/SEMATECH e-Handbook 8.1.6.2.
    ValueError: no change at all, a zero age among changes, or no spread: no maximum exists then.
    """
    return fit(lives(changed, running, between))


def fit(data: Lives) -> Weibull:
    """Maximum likelihood of checked data; see `weibull_mle`."""
    import numpy as np

    if data.ended == 0:
        raise ValueError("No change among the lives: a life cannot be fitted to none")
    _refuse_without_spread(data)
    inside = np.where(data.low > 0, np.sqrt(data.low * data.high), data.high / 2)
    events = np.log(np.concatenate([data.changed, inside]))
    centre = float(events.mean())
    logs = _Logs.of(data, centre)
    spread = float(events.std())
    shape = 1.28 / spread if spread > 0 else 1.0  # the sd of a log life is pi / sqrt(6) / shape
    level = math.log(data.ended) - _log_sum(shape * np.concatenate([events - centre, logs.running]))
    point = np.array([level, shape])
    value, slope, bend = logs.likelihood(point)
    for _ in range(STEPS):
        step = np.linalg.solve(bend, -slope)
        size = 1.0
        while point[1] + size * step[1] <= 0:
            size /= 2
        gain = float(slope @ step)
        while size > 1e-12:
            new = point + size * step
            new_value, new_slope, new_bend = logs.likelihood(new)
            if new_value >= value + 1e-4 * size * gain - 1e-13 * abs(value):
                break
            size /= 2
        else:
            break
        point, value, slope, bend = new, new_value, new_slope, new_bend
        if gain < 1e-20 * data.ended:
            break
    else:
        raise ValueError("The likeliest life was not found: check the ages")
    shape = float(point[1])
    return Weibull(shape, math.exp(centre - float(point[0]) / shape), value)


def _refuse_without_spread(data: Lives) -> None:
    """ValueError where the likelihood grows without end: shape towards infinity, or towards zero."""
    import numpy as np

    after = float(max(data.running.max(initial=0.0), data.low.max(initial=0.0)))
    before = float(data.high.min(initial=math.inf))
    if data.changed.size:
        first, last = float(data.changed.min()), float(data.changed.max())
        near = math.exp(SAME_LOG)
        same = last <= first * near and after <= last * near and before >= first / near
    else:
        same = after <= before
    if same:
        raise ValueError("The lives have no spread: one age would explain them all, a shape cannot be told")
    if data.changed.size == 0 and not data.low.any():
        flat = not data.running.size or np.log(data.high).mean() <= np.log(data.running).mean()
        if flat:
            raise ValueError("The lives were found due too early to tell a shape")


@dataclass(frozen=True, slots=True, eq=False)
class _Logs:
    """Logarithms of the ages about a centre, ready for the likelihood."""

    changed: Row
    running: Row
    low: Row  # minus infinity where the lower bound is zero
    high: Row
    constant: float

    @classmethod
    def of(cls, data: Lives, centre: float) -> _Logs:
        import numpy as np

        with np.errstate(divide="ignore"):
            low = np.log(data.low) - centre
        changed = np.log(data.changed) - centre
        constant = -float(changed.sum()) - centre * changed.size
        return cls(changed, np.log(data.running) - centre, low, np.log(data.high) - centre, constant)

    def likelihood(self, point: Row) -> tuple[float, Row, Row]:
        """Log likelihood with its first and second derivatives in (level, shape); z = level + shape x log."""
        import numpy as np

        level, shape = float(point[0]), float(point[1])
        value, slope, bend = 0.0, np.zeros(2), np.zeros((2, 2))

        def add(weight1: Row, weight2: Row, logs1: Row, logs2: Row | None = None) -> None:
            """Add first derivatives by z and second ones, at one age or across two."""
            if logs2 is None:
                slope[:] += [weight1.sum(), weight1 @ logs1]
                logs2 = logs1
            cross = 0.5 * float(weight2 @ (logs1 + logs2))
            bend[:] += [[weight2.sum(), cross], [cross, weight2 @ (logs1 * logs2)]]

        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            ages = np.concatenate([self.changed, self.running])
            used = np.exp(level + shape * ages)
            add(-used, -used, ages)
            count = self.changed.size
            value += count * (level + math.log(shape)) + shape * float(self.changed.sum()) - float(used.sum())
            slope += [count, float(self.changed.sum()) + count / shape]
            bend[1, 1] -= count / shape**2
            if self.high.size:
                low, high = np.exp(level + shape * self.low), np.exp(level + shape * self.high)
                open_low = np.isneginf(self.low)
                at_low = np.where(open_low, 0.0, self.low)
                width = high - low
                inside = -np.expm1(-width)
                value += float((np.log(inside) - low).sum())
                first = np.where(open_low, 0.0, -low / inside)
                last = high * np.exp(-width) / inside
                add(first, first * (1 - low) - first**2, at_low)
                add(last, last * (1 - high) - last**2, self.high)
                add(first, -2 * first * last, at_low, self.high)
        value += self.constant
        return (value if math.isfinite(value) else -math.inf), slope, bend


def _log_sum(logs: Row) -> float:
    """ln sum exp, without overflow."""
    import numpy as np

    most = float(logs.max())
    return most + math.log(float(np.exp(logs - most).sum()))
