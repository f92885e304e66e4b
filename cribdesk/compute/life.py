"""How long a consumable lasts on worn hours: what the lives seen and the rule of thumb together say."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, overload

from cribdesk.compute import checks, rows
from cribdesk.compute.posterior import Prior, posterior
from cribdesk.compute.weibull import Pairs, Weibull, lives, weibull_mle

if TYPE_CHECKING:
    from cribdesk.compute.rows import Row

__all__ = [
    "LifeModel",
    "Weibull",
    "better_measure",
    "fit_life",
    "scale_for_mean",
    "weibull_mle",
]

BLOCK = 60_000  # numbers worked on at once
ROUNDS = 100
LARGEST_LOG = 300.0  # of a cumulative hazard: far beyond all use, far from overflow
CLOSE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class LifeModel:
    """Weights over Weibull laws: `scale`, `shape`, `weight` are arrays of one length, the weights sum to 1.

    `changes` and `running` say how many lives it rests on; `log_evidence` is the log probability (density)
    of these lives under prior and law. Chances are averages over the laws, so they say how sure they are.
    """

    scale: Row
    shape: Row
    weight: Row
    mean_log_scale: float
    mean_log_shape: float
    sd_log_scale: float
    sd_log_shape: float
    log_evidence: float
    changes: int
    running: int
    _log_scale: Row = field(repr=False)

    @overload
    def survival(self, hours: float) -> float: ...
    @overload
    def survival(self, hours: Row) -> Row: ...
    def survival(self, hours: float | Row) -> float | Row:
        """The chance that a new one lasts longer than that; an array in, an array out."""
        (ages,), single = _units(("The hours", hours))
        result = self._blocks(self._alive, ages)
        return float(result[0]) if single else result

    @overload
    def chance(self, age: float, further: float, counted: bool = False) -> float: ...
    @overload
    def chance(self, age: Row, further: Row | float, counted: bool = False) -> Row: ...
    def chance(self, age: float | Row, further: float | Row, counted: bool = False) -> float | Row:
        """The chance of a change within `further` hours, given life to `age`; arrays in, an array out.

        `counted`: whether this very unit's age already stands among the running ages of the data. If not,
        its survival to `age` is information too, and is used: sum w (S(a) - S(a + d)) / sum w S(a). If it
        is, using it again would count it twice: sum w (1 - S(a + d) / S(a)).
        """
        (ages, more), single = _units(("The age", age), ("The further hours", further))
        result = self._blocks(lambda a, d: self._chance(a, d, counted), ages, more)
        return float(result[0]) if single else result

    @overload
    def remaining(self, age: float, probability: float, counted: bool = False) -> float: ...
    @overload
    def remaining(self, age: Row, probability: float, counted: bool = False) -> Row: ...
    def remaining(self, age: float | Row, probability: float, counted: bool = False) -> float | Row:
        """The further hours within which a change comes with that probability; see `chance`.

        Ask for 0.1, 0.5 and 0.9, never for a mean, which rests on the least likely shapes.
        """
        wanted = checks.fraction("The probability", probability)
        (ages,), single = _units(("The age", age))
        result = self._blocks(lambda part: self._solve(part, wanted, counted), ages)
        return float(result[0]) if single else result

    def scale_interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Bounds of the scale, as much weight left out at each end."""
        return self._interval(self._log_scale, confidence)

    def shape_interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Bounds of the shape, as much weight left out at each end."""
        import numpy as np

        return self._interval(np.log(self.shape), confidence)

    def typical(self) -> Weibull:
        """The one law in the middle of the weights, for a drawing."""
        return Weibull(math.exp(self.mean_log_shape), math.exp(self.mean_log_scale))

    def _interval(self, logs: Row, confidence: float) -> tuple[float, float]:
        import numpy as np

        left = (1 - checks.fraction("The confidence", confidence)) / 2
        values, where = np.unique(np.round(logs, 12), return_inverse=True)
        weight = np.bincount(where, weights=self.weight)
        middle = np.cumsum(weight) - weight / 2
        low, high = np.interp([left, 1 - left], middle, values)
        return math.exp(low), math.exp(high)

    def _used(self, age: Row) -> Row:
        """Cumulative hazard at each age (a row each) under each law."""
        import numpy as np

        with np.errstate(divide="ignore"):
            logs = np.log(age)[:, None]
        return np.asarray(np.exp(np.minimum(self.shape * (logs - self._log_scale), LARGEST_LOG)))

    def _due(self, age: Row, further: Row, used: Row, weight: Row) -> tuple[Row, Row]:
        """The chance of a change within `further`, and its growth with ln further."""
        import numpy as np

        total, near = age + further, further < age
        more = np.empty_like(used)
        more[~near] = self._used(total[~near]) - used[~near]
        # The same where further is small, without the difference of two nearly equal numbers.
        ratio = np.log1p(further[near] / age[near])[:, None]
        more[near] = used[near] * np.expm1(self.shape * ratio)
        dead = np.expm1(-more)
        rate = (used + more) * (1 + dead) * weight
        share = np.divide(further, total, out=np.zeros_like(total), where=total > 0)
        return -np.einsum("ij,ij->i", weight, dead), share * (rate @ self.shape)

    def _start(self, age: Row, counted: bool) -> tuple[Row, Row]:
        """What each unit has used up so far, and the laws' weights for it."""
        import numpy as np

        used = self._used(age)
        if counted:
            return used, np.broadcast_to(self.weight, used.shape)
        weight = self.weight * np.exp(used.min(axis=1, keepdims=True) - used)
        return used, weight / weight.sum(axis=1, keepdims=True)

    def _alive(self, age: Row) -> Row:
        import numpy as np

        return np.asarray(np.exp(-self._used(age)) @ self.weight)

    def _chance(self, age: Row, further: Row, counted: bool) -> Row:
        return self._due(age, further, *self._start(age, counted))[0]

    def _solve(self, age: Row, probability: float, counted: bool) -> Row:
        """Newton's method, kept within bounds, on ln(-ln(1 - chance)) against ln further: nearly a line."""
        import numpy as np

        start = self._start(age, counted)
        target = math.log(-math.log1p(-probability))
        middle = self.typical()
        at = np.log([middle.remaining(float(a), probability) for a in age])
        low, high = at - 60.0, at + 60.0
        for _ in range(ROUNDS):
            due, growth = self._due(age, np.exp(at), *start)
            with np.errstate(divide="ignore", invalid="ignore"):
                left = -np.log1p(-np.minimum(due, 1.0))
                off = np.log(left) - target
                step = off * left * (1 - due) / growth
            low, high = np.where(off < 0, at, low), np.where(off < 0, high, at)
            new = at - step
            inside = (new >= low) & (new <= high)
            new = np.where(inside, new, (low + high) / 2)
            moved = float(np.abs(new - at).max(initial=0.0))
            at = new
            if moved < CLOSE:  # the step just made squares what error is left
                break
        return np.asarray(np.exp(at), dtype=np.float64)

    def _blocks(self, work: Callable[..., Row], *units: Row) -> Row:
        """The work done on so many units at once as fit into the processor's cache."""
        import numpy as np

        size = max(1, BLOCK // self.weight.size)
        starts = range(0, units[0].size, size)
        done = [work(*(unit[start : start + size] for unit in units)) for start in starts]
        return np.concatenate(done) if done else np.empty(0)


def _units(*given: tuple[str, float | Row]) -> tuple[list[Row], bool]:
    """Each as a row of one length, and whether all were single numbers."""
    import numpy as np

    single = all(np.ndim(value) == 0 for _, value in given)
    checked = [rows.not_negative(name, np.atleast_1d(value), empty=True) for name, value in given]
    sizes = {part.size for part in checked if part.size != 1} or {1}
    if len(sizes) > 1:
        raise ValueError(f"{' and '.join(name for name, _ in given)} must be as many")
    size = sizes.pop()
    return [np.broadcast_to(part, (size,)) for part in checked], single


def fit_life(
    changed: Iterable[float],
    running: Iterable[float] = (),
    between: Pairs = (),
    *,
    typical_hours: float,
    scale_sd: float = 0.5,
    shape_centre: float = 2.0,
    shape_sd: float = 0.35,
) -> LifeModel:
    """What the lives seen and the rule of thumb say together; for a unit that is not among the data.

    `changed`: ages at which it had to be changed; `running`: ages reached without that (still fitted,
    removed for another reason or by the calendar: never left out); `between`: found due between two
    ages. All three may be empty: then the rule of thumb stands alone. Beliefs beforehand: ln scale is
    normal about ln `typical_hours` (the life that 63 % do not reach) with sd `scale_sd`, 0.5 meaning right
    within a factor 2.7; ln shape normal about ln `shape_centre` with sd `shape_sd` (common practice, no
    source). Method: Bayes' rule on a grid, see `posterior`.
    """
    data = lives(changed, running, between)
    prior = Prior(
        math.log(checks.positive("The typical hours", typical_hours)),
        checks.positive("The scale's deviation", scale_sd),
        math.log(checks.positive("The centre of the shape", shape_centre)),
        checks.positive("The shape's deviation", shape_sd),
    )
    found = posterior(data, prior)
    return LifeModel(
        found.scale, found.shape, found.weight, *found.means, *found.deviations,
        found.log_evidence, data.ended, int(data.running.size), found.log_scale,
    )  # fmt: skip


def scale_for_mean(mean_hours: float, shape: float = 2.0) -> float:
    """The scale that gives a mean life of `mean_hours`: mean / Gamma(1 + 1 / shape), for a rule of thumb."""
    return checks.positive("The mean hours", mean_hours) / Weibull(shape, 1.0).mean()


def better_measure(
    hours: LifeModel, loading: LifeModel, loading_per_hour: Iterable[float]
) -> Literal["worn hours", "filter loading"]:
    """Which measure of use explains the same lives better, by the evidence of each fit.

    `loading_per_hour` belongs to the lives known to the hour at their change, in any order: a density on
    loading becomes one on hours by that factor (change of variable), else the unit of loading would decide.
    Equal evidence: worn hours, the simpler. ValueError when the fits rest on different numbers of lives.
    """
    import numpy as np

    if (hours.changes, hours.running) != (loading.changes, loading.running):
        raise ValueError("Both fits must rest on the same lives")
    factors = rows.positive("The loading per hour", loading_per_hour, empty=True)
    if factors.size > hours.changes:
        raise ValueError("There are more loadings per hour than changes")
    gain = loading.log_evidence + float(np.log(factors).sum()) - hours.log_evidence
    return "filter loading" if gain > 0 else "worn hours"
