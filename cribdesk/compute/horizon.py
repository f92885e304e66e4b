"""Use over a time that is itself uncertain: distributions at a few lengths, what lies between, and mixtures."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from cribdesk.compute import checks

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Grid = NDArray[np.float64]

NODES = 7
"""Points of a lognormal time (Gauss and Hermite): exact for what is a polynomial of degree 13 in its log."""

TAIL = 1e-7
GRID = (0.1, 0.23, 0.4, 0.65, 1.0)
"""Lengths at which a distribution is worked out, as parts of the longest; closer together where it is short."""


@dataclass(frozen=True, eq=False)
class Growing:
    """Chances of 0, 1, 2 ... pieces within each of some lengths of time, the shortest first."""

    days: tuple[float, ...]
    pmfs: tuple[Grid, ...]

    def at(self, days: float) -> Grid:
        """The distribution within so many days: between two lengths share by share, as its quantiles move.

        Mixing the two themselves would give two humps. Beyond the longest the quantiles grow in step with time.
        """
        import numpy as np

        length = checks.not_negative("The days", days)
        if length in self.days:
            return self.pmfs[self.days.index(length)]
        shares, weights = _shares()
        after = next((n for n, one in enumerate(self.days) if one >= length), len(self.days) - 1)
        high = _quantiles(self.pmfs[after], shares)
        if length >= self.days[-1]:
            values = high * (length / self.days[-1])
        else:
            low = _quantiles(self.pmfs[after - 1], shares) if after else np.zeros_like(high)
            start = self.days[after - 1] if after else 0.0
            values = low + (high - low) * ((length - start) / (self.days[after] - start))
        return _whole(values, weights)

    def over(self, median_days: float, sd_log: float, more_days: float = 0.0, pace_sd: float = 0.0) -> Grid:
        """The distribution over a lognormal time and so many days more, at a pace that is itself uncertain.

        `sd_log` is the deviation of the time's log; `pace_sd` that of the log of use a day, about 1 in the mean.
        """
        import numpy as np

        points, weights = lognormal_points(median_days, sd_log)
        paces, chances = lognormal_points(1.0, pace_sd)
        paces = paces / float(chances @ paces)
        lengths = ((points[:, None] + more_days) * paces[None, :]).ravel()
        shares = (weights[:, None] * chances[None, :]).ravel()
        rows = [self.at(float(length)) for length in lengths]
        total = np.zeros(max(row.size for row in rows))
        for row, share in zip(rows, shares, strict=True):
            total[: row.size] += share * row
        return cut(total)


def growing(longest: float, made: Callable[[float], Grid], parts: Sequence[float] = ()) -> Growing:
    """Distributions worked out by `made` at a few lengths up to the longest."""
    days = tuple(longest * part for part in parts or GRID)
    return Growing(days, tuple(made(one) for one in days))


def lognormal_points(median: float, sd_log: float) -> tuple[Grid, Grid]:
    """A few points that stand for a lognormal figure, with their weights."""
    import numpy as np

    if sd_log <= 0:
        return np.array([float(median)]), np.ones(1)
    places, weights = np.polynomial.hermite_e.hermegauss(NODES)
    points: Grid = np.asarray(median * np.exp(sd_log * places), dtype=float)
    return points, weights / weights.sum()


def negative_binomial(mean: float, variance: float) -> Grid:
    """Chances of 0, 1, 2 ... with that mean and variance; Poisson where the variance is no larger.

    Source: the negative binomial by its moments, as used for the use within a lead time (methods 5b).
    """
    import numpy as np
    from scipy import stats

    middle = checks.not_negative("The mean", mean)
    if middle <= 0:
        return np.ones(1)
    wide = checks.not_negative("The variance", variance)
    if wide <= middle * (1 + 1e-9):
        law = stats.poisson(middle)
    else:
        law = stats.nbinom(middle**2 / (wide - middle), middle / wide)
    last = int(law.isf(TAIL)) + 1
    pmf: Grid = np.asarray(law.pmf(np.arange(last + 1)), dtype=float)
    return np.asarray(pmf / pmf.sum())


def summed(pmfs: Sequence[Grid]) -> Grid:
    """The distribution of a sum of independent counts."""
    import numpy as np

    total = np.ones(1)
    for pmf in pmfs:
        total = np.convolve(total, pmf)
    return cut(total)


def and_surely(sure: int, pmf: Grid | None) -> Grid:
    """The distribution of a number with so many more that happen for certain; of those alone where there is none."""
    import numpy as np

    return np.concatenate([np.zeros(sure), np.ones(1) if pmf is None else np.asarray(pmf)])


def within(pmf: Grid, least: float) -> tuple[int, list[float]]:
    """A distribution without the ends whose chances are at most `least`: its first number, and the chances from there.

    They come to one. Raises ValueError where nothing is left.
    """
    import numpy as np

    used = np.flatnonzero(pmf > least)
    if not len(used):
        raise ValueError(f"No chance of the distribution is above {least:g}")
    kept = pmf[used[0] : used[-1] + 1]
    return int(used[0]), [float(one) for one in kept / kept.sum()]


def cut(pmf: Grid) -> Grid:
    """Without the far end whose chances together stay under the tail; sums to 1."""
    import numpy as np

    beyond = np.cumsum(pmf[::-1])[::-1]
    kept = pmf[: max(1, int(np.count_nonzero(beyond >= TAIL)))]
    return np.asarray(kept / kept.sum())


def pinball(actual: float, quantile: float, service: float) -> float:
    """The loss of a quantile: what is missing counts `service`, what is left over 1 - `service`.

    Source: Koenker and Bassett 1978.
    """
    wanted = checks.fraction("The service level", service)
    return wanted * (actual - quantile) if actual > quantile else (1 - wanted) * (quantile - actual)


@cache
def _shares() -> tuple[Grid, Grid]:
    """Where quantiles are taken: even shares, closer and closer together towards 1."""
    import numpy as np

    edges = np.concatenate([np.linspace(0, 0.98, 393), 1 - 0.02 * np.geomspace(1, 1e-5, 40)[1:], [1.0]])
    return (edges[1:] + edges[:-1]) / 2, np.diff(edges)


def _quantiles(pmf: Grid, shares: Grid) -> Grid:
    import numpy as np

    places: Grid = np.minimum(np.searchsorted(np.cumsum(pmf), shares), pmf.size - 1).astype(float)
    return places


def _whole(values: Grid, weights: Grid) -> Grid:
    """Values between two whole numbers, shared out to both."""
    import numpy as np

    low = np.floor(values).astype(int)
    upper = values - low
    total = np.zeros(int(low.max()) + 2)
    np.add.at(total, low, weights * (1 - upper))
    np.add.at(total, low + 1, weights * upper)
    return cut(total)


def log_spread(ratios: Sequence[float], start: float, worth: int) -> float:
    """The deviation of the logs of some ratios about 1, begun from `start` as if seen `worth` times already."""
    logs = [math.log(one) for one in ratios if one > 0]
    whole = math.fsum(one**2 for one in logs) + worth * start**2
    return math.sqrt(whole / (len(logs) + worth))
