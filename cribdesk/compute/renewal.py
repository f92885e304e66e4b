"""Renewals on a grid: how often parts of uncertain life are changed within given hours, unit by unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from cribdesk.compute.life import LifeModel
from cribdesk.compute.weibull import Weibull

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Grid = NDArray[np.float64]

Units = Sequence[tuple[float, float]]  # age of the fitted part, worn hours ahead

COARSEST, FINEST = 64, 2**15  # cells over the longest horizon
AGREE_ONE, AGREE_MANY = 1e-6, 1e-5  # two grids agree: for one life; averaged over many
DISAGREE = 1e-3  # beyond this the finest grid is not believed
NEGLIGIBLE = 1e-12  # chance of one unit that is dropped
LEFT_OUT = 1e-6  # posterior weight that is left out at the thin end
MOST_CHANGES = 1000  # of one unit
ROOM = 400_000  # numbers worked on at once
ROUNDING = 1e-9
FINE_CUTS = 40  # each cut of the first hours is shorter by the root of 2
BY_TRANSFORM = 48  # columns beyond which convolving by transform is quicker
LARGEST_LOG = 700.0  # exp of more overflows


class Survives(Protocol):
    """Anything that tells the chance that a new part lasts longer than some hours."""

    def survival(self, hours: Any, /) -> Any: ...


@dataclass(frozen=True, slots=True, eq=False)
class Laws:
    """Several possible lives side by side.

    `left(age, hours)` gives, a row for each life, the chance that a part of that age lasts the further hours;
    `part` the lives of a slice.
    """

    count: int
    left: Callable[[float, Grid], Grid]
    part: Callable[[slice], Laws]


def fleet(life: Survives | LifeModel, units: Units, *, counted: bool, near: float | None = None) -> Grid:
    """Chances of 0, 1, 2 ... changes over all (age, worn hours), on grids that are halved until two agree.

    P(N >= 1) = 1 - S(a + T) / S(a); P(N >= k + 1) is the chance that a new part sees k changes in the hours
    left after the first change, averaged over the moment of that change. On each cell it is taken as the mean
    of its two ends: an error of the cell's width squared. The chances add up to 1 on every grid;
    each is good to about 1e-5, for one life mostly to 1e-6; to `near` where that is enough.
    """
    import numpy as np

    laws, weights = _laws(life, units, counted)
    longest = max(hours for _, hours in units)
    if longest <= ROUNDING:
        return np.ones(1)
    agree = near if near is not None else AGREE_ONE if laws.count == 1 else AGREE_MANY
    cells = COARSEST
    before = _averaged(laws, weights, units, longest / cells, cells)
    while True:
        cells = 2 * cells + 1  # not the double: what is left over from whole cells must differ
        pmf = _averaged(laws, weights, units, longest / cells, cells)
        apart = float(np.abs(_sum(before, -pmf)).max())
        if apart < agree or (cells >= FINEST and apart < DISAGREE):
            return pmf
        if cells >= FINEST:
            raise ValueError("The changes cannot be computed so far ahead for so short or so abrupt a life")
        before = pmf


def _laws(life: Survives | LifeModel, units: Units, counted: bool) -> tuple[Laws, Grid]:
    """The possible lives and their weights. A LifeModel also has a survival, which must not be used here."""
    import numpy as np

    if isinstance(life, LifeModel):
        return _posterior(life, units, counted)
    if isinstance(life, Weibull):
        return _weibulls(np.array([life.shape]), np.array([life.scale])), np.ones(1)
    return _any(life), np.ones(1)


def _posterior(model: LifeModel, units: Units, counted: bool) -> tuple[Laws, Grid]:
    """The model's laws, the shortest life last, without the thinnest; weighed by the ages unless counted."""
    import numpy as np

    weight = np.array(model.weight, dtype=float)
    if not counted:
        ages = np.array([age for age, _ in units])
        with np.errstate(divide="ignore"):
            powers = model.shape[:, None] * (np.log(ages)[None, :] - np.log(model.scale)[:, None])
        used = np.exp(np.minimum(powers, LARGEST_LOG)).sum(axis=1)
        weight *= np.exp(used.min() - used)
        weight /= weight.sum()
    heaviest = np.argsort(-weight)
    enough = int(np.searchsorted(np.cumsum(weight[heaviest]), 1 - LEFT_OUT)) + 1
    kept = heaviest[:enough]
    kept = kept[np.argsort(-model.scale[kept])]
    return _weibulls(model.shape[kept], model.scale[kept]), weight[kept] / weight[kept].sum()


def _weibulls(shapes: Grid, scales: Grid) -> Laws:
    """Weibull lives, by differences of their cumulative hazard: sound at ages hardly any part reaches."""
    import numpy as np

    log_scales = np.log(scales)[:, None]

    def used(hours: Grid) -> Grid:
        with np.errstate(divide="ignore"):
            powers = shapes[:, None] * (np.log(hours)[None, :] - log_scales)
        return np.asarray(np.exp(np.minimum(powers, LARGEST_LOG)))

    def left(age: float, hours: Grid) -> Grid:
        kept = np.exp(-np.maximum(used(age + hours) - used(np.array([age])), 0.0))
        return np.asarray(kept)

    return Laws(shapes.size, left, lambda which: _weibulls(shapes[which], scales[which]))


def _any(life: Survives) -> Laws:
    """One life of any kind, known by its survival alone, which may take one number or an array."""
    import numpy as np

    def survival(hours: Grid) -> Grid:
        try:
            found = np.asarray(life.survival(hours), dtype=float)
        except (TypeError, ValueError):
            found = np.empty(0)
        if found.shape != hours.shape:
            found = np.array([float(life.survival(float(hour))) for hour in hours])
        if not np.isfinite(found).all() or found.min() < 0 or found.max() > 1 + ROUNDING:
            raise ValueError("A survival must lie between 0 and 1")
        return found

    def left(age: float, hours: Grid) -> Grid:
        reached = float(survival(np.array([age]))[0])
        if reached <= 0:
            raise ValueError(f"No part of this life reaches an age of {age:g} h")
        return np.minimum(survival(age + hours) / reached, 1.0)[None, :]

    if abs(float(survival(np.zeros(1))[0]) - 1) > ROUNDING:
        raise ValueError("The survival at 0 hours must be 1")
    laws = Laws(1, left, lambda which: laws)
    return laws


def _averaged(laws: Laws, weights: Grid, units: Units, width: float, cells: int) -> Grid:
    """The fleet's distribution under each life, averaged last; so many lives at once as there is room for."""
    import numpy as np

    total, begin, taken = np.zeros(1), 0, 1
    while begin < laws.count:
        which = slice(begin, begin + taken)
        part = laws.part(which)
        repeats = _repeats(part, width, cells)
        counts = _convolved(part, repeats, units, width)
        total = _sum(total, np.concatenate([np.zeros(counts.begin), weights[which] @ counts.rows]))
        begin += taken
        taken = max(1, ROOM // (repeats.ends.shape[1] * cells))
    return total


@dataclass(frozen=True, slots=True, eq=False)
class Repeats:
    """P(N >= k) of a new part for each life, k from 0: [life, k, edge], and cell by cell its mean."""

    ends: Grid
    means: Grid


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """Chances of `begin`, `begin` + 1 ... changes, a row for each life."""

    begin: int
    rows: Grid


def _repeats(laws: Laws, width: float, cells: int) -> Repeats:
    """How often a new part is changed until each cell's edge, by convolving its life with itself."""
    import numpy as np

    first = 1.0 - laws.left(0.0, np.arange(cells + 1, dtype=np.float64) * width)
    size = 1 << (2 * cells - 1).bit_length()
    steps = np.fft.rfft(np.diff(first, axis=1), size, axis=1)
    ends = [np.ones_like(first), first]
    means = [(end[:, 1:] + end[:, :-1]) / 2 for end in ends]
    while ends[-1][:, -1].max() > NEGLIGIBLE:
        if len(ends) > MOST_CHANGES:
            raise ValueError(
                f"More than {MOST_CHANGES} changes of one unit: too many hours for so short a life"
            )
        after = np.fft.irfft(np.fft.rfft(means[-1], size, axis=1) * steps, size, axis=1)[:, :cells]
        later = np.zeros_like(first)
        later[:, 1:] = np.clip(after, 0.0, ends[-1][:, 1:])  # the transform rounds
        ends.append(later)
        means.append((later[:, 1:] + later[:, :-1]) / 2)
    return Repeats(np.stack(ends, axis=1), np.stack(means, axis=1))


def _one_unit(laws: Laws, repeats: Repeats, age: float, hours: float, width: float) -> Grid:
    """Chances of 0, 1, 2 ... changes of one unit, a row for each life.

    The first change's moments are cut at whole cells before the end, so that what is left lies on the grid.
    The first hours, one to two cells, are cut finer and finer towards now: an old part may be due at once.
    """
    import numpy as np

    cells = repeats.means.shape[2]
    whole = max(0, min(int(hours / width + ROUNDING), cells) - 1)
    kept = laws.left(age, np.maximum(hours - np.arange(whole + 1, dtype=np.float64) * width, 0.0))
    at_least = (repeats.means[:, :, :whole] @ np.diff(kept, axis=1)[:, :, None])[:, :, 0]

    soon = np.append(max(hours - whole * width, 0.0) * 2.0 ** (np.arange(FINE_CUTS) * -0.5), 0.0)
    masses = np.diff(laws.left(age, soon), axis=1)
    place = np.clip((hours - (soon[1:] + soon[:-1]) / 2) / width, whole, cells)
    edges = np.arange(whole, min(whole + 2, cells) + 1)
    shares = np.maximum(1.0 - np.abs(place[:, None] - edges), 0.0)  # of the edges on either side of it
    at_least += (repeats.ends[:, :, edges] @ (masses @ shares)[:, :, None])[:, :, 0]

    at_least = np.pad(at_least, ((0, 0), (1, 1)))
    at_least[:, 0] = 1.0
    pmf = np.maximum(at_least[:, :-1] - at_least[:, 1:], 0.0)
    return np.asarray(pmf[:, : np.flatnonzero(pmf.max(axis=0) > NEGLIGIBLE)[-1] + 1])


def _convolved(laws: Laws, repeats: Repeats, units: Units, width: float) -> Counts:
    """The sum over all units; neighbours are joined two by two, so that few sums are long.

    Units of the same age and hours are worked out once, and their sum by doubling.
    """
    sums = [
        _times(Counts(0, _one_unit(laws, repeats, *unit, width)), number) for unit, number in Counter(units).items()
    ]
    while len(sums) > 1:
        pairs = zip(sums[::2], sums[1::2], strict=False)
        sums = [_plus(*pair) for pair in pairs] + ([sums[-1]] if len(sums) % 2 else [])
    return sums[0]


def _times(one: Counts, number: int) -> Counts:
    """The sum of so many independent counts that are alike."""
    whole: Counts | None = None
    while True:
        if number & 1:
            whole = one if whole is None else _plus(whole, one)
        number >>= 1
        if not number:
            assert whole is not None
            return whole
        one = _plus(one, one)


def _plus(first: Counts, second: Counts) -> Counts:
    """The distribution of the sum of two independent counts, row by row, without its thin ends."""
    import numpy as np

    long, short = sorted((first.rows, second.rows), key=lambda rows: -rows.shape[1])
    size, fewer = long.shape[1], short.shape[1]
    if fewer > BY_TRANSFORM:
        points = 1 << (size + fewer - 2).bit_length()
        product = np.fft.rfft(long, points, axis=1) * np.fft.rfft(short, points, axis=1)
        total = np.maximum(np.fft.irfft(product, points, axis=1)[:, : size + fewer - 1], 0.0)
    else:
        total = np.zeros((long.shape[0], size + fewer - 1))
        for count in range(fewer):
            total[:, count : count + size] += short[:, count, None] * long
    used = np.flatnonzero(total.max(axis=0) > NEGLIGIBLE)
    begin = first.begin + second.begin + int(used[0])
    return Counts(begin, np.asarray(total[:, used[0] : used[-1] + 1]))


def _sum(first: Grid, second: Grid) -> Grid:
    """Two rows added, the shorter filled with zeros."""
    import numpy as np

    total = np.zeros(max(first.size, second.size))
    total[: first.size] += first
    total[: second.size] += second
    return total
