"""A life model as a table: the use left at chosen probabilities for a row of ages, and the survival curve's band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cribdesk.compute import checks
from cribdesk.compute.life import LifeModel

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from cribdesk.compute.rows import Row

    Single = NDArray[np.float32]
    Laws = tuple[Single, Single, Single]

NEAR, FAR = 44, 12  # ages up to two typical lives, and beyond
FURTHER = 48  # the use left is then within half a percent of the model's
CURVE = 60
SHORTEST = 1 / 40  # of what the law in the middle has left at the least probability
CONFIDENCE = 0.95  # of the band about the curve
LONGEST = 30.0  # further use, in typical lives
LARGEST = 40.0  # of the log of a cumulative hazard: far beyond all use, far from overflow
NEGLIGIBLE = 3e-5  # of the weight: laws that share less than this in all are left out


@dataclass(frozen=True, slots=True)
class LifeTable:
    """`left` has a row for each age: the further use within which a change comes with each probability.

    `curve` is (use, share that lasts longer), `band` for each of its points the bounds between which that share lies
    95 times in 100.
    """

    ages: tuple[float, ...]
    left: tuple[tuple[float, ...], ...]
    curve: tuple[tuple[float, float], ...]
    band: tuple[tuple[float, float], ...] = ()


def life_table(model: LifeModel, probabilities: Sequence[float], oldest: float = 0.0) -> LifeTable:
    """The table up to five typical lives or twice the `oldest` age, for units whose ages are among the data.

    The same as `model.remaining(age, p, counted=True)`, for all ages at once: the chance of a change is worked
    out for a row of further hours, and its place found on lines through ln(-ln(1 - chance)) against ln hours,
    which for Weibull lives are nearly straight.
    """
    import numpy as np

    wanted = [checks.fraction("A probability", one) for one in probabilities]
    middle = float(np.exp(model.mean_log_scale))
    end = max(5 * middle, 2 * checks.not_negative("The oldest age", oldest))
    near = 2 * middle * np.linspace(0.0, 1.0, NEAR, endpoint=False) ** 1.5  # closer where the left bends most
    ages = np.concatenate([near, np.geomspace(2 * middle, end, FAR)])
    law = model.typical()
    laws = _main_laws(model)
    targets = np.log(-np.log1p(-np.array(wanted)))
    left = []
    for age in ages.tolist():
        first = law.remaining(age, min(wanted)) * SHORTEST  # the older, the shorter
        left.append(_left(age, np.geomspace(first, LONGEST * middle, FURTHER), laws, targets))
    hours = np.linspace(0.0, left[0][-1] * 1.15, CURVE + 1)
    curve = zip(hours.tolist(), model.survival(hours).tolist(), strict=True)
    return LifeTable(tuple(ages.tolist()), tuple(left), tuple(curve), _band(hours, laws))


def _band(hours: Row, laws: Laws) -> tuple[tuple[float, float], ...]:
    """For each of these hours the bounds of the share that lasts longer, as much weight left out at each end.

    At one hour the share falls as the log of the cumulative hazard grows, so the laws are put in its order and their
    weights added up: the quantiles of the posterior, point by point.
    """
    import numpy as np

    scale, shape, weight = laws
    end = (1 - CONFIDENCE) / 2
    found = [(1.0, 1.0)]  # nothing is used up at no hours
    for log_hours in np.log(hours[1:]).tolist():
        used = shape * (np.float32(log_hours) - scale)
        order = np.argsort(used)
        middle = np.cumsum(weight[order], dtype=np.float64) - weight[order] / 2
        low, high = np.exp(-np.exp(np.minimum(np.interp([1 - end, end], middle, used[order]), LARGEST))).tolist()
        found.append((low, high))
    return tuple(found)


def _main_laws(model: LifeModel) -> Laws:
    """ln scale, shape and weight of the laws that carry all but a negligible part of the weight."""
    import numpy as np

    order = np.argsort(model.weight)[::-1]
    count = int(np.searchsorted(np.cumsum(model.weight[order]), 1 - NEGLIGIBLE)) + 1
    kept = order[:count]
    single = np.float32  # seven digits are plenty, in half the time
    weight = (model.weight[kept] / model.weight[kept].sum()).astype(single)
    return np.log(model.scale[kept]).astype(single), model.shape[kept].astype(single), weight


def _left(age: float, further: Row, laws: Laws, targets: Row) -> tuple[float, ...]:
    import numpy as np

    scale, shape, weight = laws
    reached = shape * (np.log(age + further).astype(np.float32)[:, None] - scale)
    more = np.exp(np.minimum(reached, LARGEST))
    if age > 0:
        begun = np.exp(np.clip(shape * (np.float32(np.log(age)) - scale), -LARGEST, LARGEST))
        step = shape * np.log1p(further / age).astype(np.float32)[:, None]
        near = begun * np.expm1(np.minimum(step, 1.0))  # without the difference of two nearly equal numbers
        more = np.where(step < 1.0, near, np.maximum(more - begun, near))
    due = (-np.expm1(-more) @ weight).astype(np.float64)
    good = (due > 1e-9) & (due < 1 - 1e-5)
    ups, along = np.log(-np.log1p(-due[good])), np.log(further[good])
    rising = np.diff(np.maximum.accumulate(ups), prepend=-np.inf) > 0  # rounding may make two the same
    ups, along = ups[rising], along[rising]
    after = np.clip(np.searchsorted(ups, targets), 1, ups.size - 1)
    share = (targets - ups[after - 1]) / (ups[after] - ups[after - 1])
    found = np.exp(along[after - 1] + share * (along[after] - along[after - 1]))
    return tuple(found.tolist())
