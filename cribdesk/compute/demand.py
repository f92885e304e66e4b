"""How many changes the fleet will need, from ages and lives, or from the history of use alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from cribdesk.compute import checks, renewal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from cribdesk.compute.life import LifeModel
    from cribdesk.compute.renewal import Survives

TAIL = 1e-9  # what is cut off the far end of a distribution


def changes(life: Survives | LifeModel, age: float, worn_hours: float) -> NDArray[np.float64]:
    """Chances of 0, 1, 2 ... changes of one part within its next `worn_hours`, each by a new part at once.

    `life` has `survival(hours)`, as a Weibull has; `age` is what the part has been worn already. The first
    change follows the life that is left at that age, later ones whole lives. The tail under 1e-9 is cut.
    Raises ValueError for negative hours, and for an age that no part of this life reaches.
    Source: renewal theory, for example Cox 1962; a delayed renewal process solved on a grid.
    """
    return fleet_changes(life, [(age, worn_hours)])


def fleet_changes(
    life: Survives | LifeModel,
    ages_and_hours: Sequence[tuple[float, float]],
    *,
    counted: bool = True,
    near: float | None = None,
) -> NDArray[np.float64]:
    """Chances of 0, 1, 2 ... changes over all units, each given as (age of its part, worn hours ahead).

    Units are independent once the life is known. With a LifeModel the life is not known, and what is not
    known is the same for all of them: the fleet's distribution is formed for each possible life and those are
    averaged over the posterior last. Averaging unit by unit first would make a bad life look like bad luck of
    one unit, and the demand far too narrow. `counted` True: the ages are among the data that the model was
    fitted to, as those of a fleet in service are; False: that the parts reached their ages is news, and
    counts. The tail under 1e-9 is cut. `near`: chances that are good to so much are enough, and sooner there.
    """
    checks.not_empty("Units", ages_and_hours)
    units = [
        (checks.not_negative("The age", age), checks.not_negative("The worn hours", hours))
        for age, hours in ages_and_hours
    ]
    return _cut(renewal.fleet(life, units, counted=counted, near=near))


def mixed(distributions: Sequence[Iterable[float]], chances: Sequence[float]) -> NDArray[np.float64]:
    """One distribution out of several, each with its chance: for example one for each possible lead time.

    The chances must add up to 1. Never mix single units and convolve afterwards: the lead time is the same
    for all of them.
    """
    import numpy as np

    weights = checks.probabilities(chances)
    checks.same_length("The distributions and their chances", distributions, weights)
    rows = [np.asarray(checks.probabilities(pmf)) for pmf in distributions]
    total = np.zeros(max(row.size for row in rows))
    for row, weight in zip(rows, weights, strict=True):
        total[: row.size] += weight * row
    return _cut(total)


def croston(series: Sequence[float], alpha: float) -> float:
    """Mean use a period, one step ahead: smoothed size of a demand over the smoothed periods between two.

    `series` is the use in each past period, the latest last. Both averages start at their first value (the
    first interval is the place of the first demand) and move only where there was demand; 0 without any.
    It is biased upward. Source: Croston 1972; starting values as in statsforecast.
    """
    weight, use = checks.weight("alpha", alpha), _series(series)
    demands = [place for place, pieces in enumerate(use, 1) if pieces > 0]
    if not demands:
        return 0.0
    gaps = [place - before for before, place in zip([0, *demands], demands, strict=False)]
    return _smoothed([use[place - 1] for place in demands], weight) / _smoothed(gaps, weight)


def sba(series: Sequence[float], alpha: float) -> float:
    """Croston's forecast times (1 - alpha / 2), which takes off most of its bias.

    Source: Syntetos and Boylan 2005.
    """
    return (1 - checks.weight("alpha", alpha) / 2) * croston(series, alpha)


def tsb(series: Sequence[float], alpha_size: float, alpha_chance: float) -> float:
    """Mean use a period, one step ahead: smoothed size of a demand times the smoothed chance of one.

    The chance moves every period, so the forecast fades when an item is no longer used. It starts at 1 where
    the first period has a demand, else at 0; the size starts at the first demand.
    Source: Teunter, Syntetos and Babai 2011; starting values as in statsforecast.
    """
    size, chance = checks.weight("alpha_size", alpha_size), checks.weight("alpha_chance", alpha_chance)
    use = _series(series)
    demands = [pieces for pieces in use if pieces > 0]
    if not demands:
        return 0.0
    return _smoothed(demands, size) * _smoothed([float(pieces > 0) for pieces in use], chance)


def _series(series: Sequence[float]) -> list[float]:
    checks.not_empty("Periods", series)
    return [checks.not_negative("The use in a period", pieces) for pieces in series]


def _smoothed(values: Sequence[float], weight: float) -> float:
    """Exponential smoothing that starts at the first value."""
    level = float(values[0])
    for value in values[1:]:
        level += weight * (value - level)
    return level


def _cut(pmf: NDArray[np.float64]) -> NDArray[np.float64]:
    """Without the far end whose chances together stay under the tail."""
    import numpy as np

    beyond = np.cumsum(pmf[::-1])[::-1]
    return pmf[: max(1, int(np.count_nonzero(beyond >= TAIL)))].copy()
