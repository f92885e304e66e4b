"""When batteries on a few chargers are ready, and how many a shift start will be short of."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence

from cribdesk.compute import checks

ROUNDING_HOURS = 1e-9  # charge times added up may miss the shift start by rounding alone


def ready_times(
    returned_h: Sequence[float], chargers: int, charge_h: float, free_at: Sequence[float] | None = None
) -> list[float]:
    """The hour at which each battery is ready, in order of return.

    First come, first served on the charger that is free first; with equal charge times no other order has
    more batteries ready at any moment. `free_at` is when each charger ends what it is charging now (the
    remaining time, not a whole charge); without it all are free. With no charger nothing is ever ready:
    every time is infinite. Hours count from any common moment and are never negative.
    Source: list scheduling on identical machines (Graham 1966); checked against a queue simulation.
    """
    checks.not_empty("Returned batteries", returned_h)
    arrivals = sorted(checks.not_negative("A return", hour) for hour in returned_h)
    count = checks.whole("The number of chargers", chargers)
    charge = checks.positive("The charge time", charge_h)
    begins = [0.0] * count if free_at is None else free_at
    free = [checks.not_negative("A charger's end", hour) for hour in begins]
    if len(free) != count:
        raise ValueError(f"There are {count} chargers and {len(free)} times at which they are free")
    if not free:
        return [math.inf] * len(arrivals)
    heapq.heapify(free)
    ready = []
    for arrival in arrivals:
        end = max(arrival, free[0]) + charge
        heapq.heapreplace(free, end)
        ready.append(end)
    return ready


def short(ready: Sequence[float], starts: Sequence[float], needed: Sequence[int]) -> list[int]:
    """How many batteries are missing at each shift start: max(0, needed - ready by then).

    `needed` is cumulative: all that have to have left the chargers by that start, earlier shifts included, so
    it never falls from a start to a later one. A battery that is ready exactly at the start counts. A ready
    time may be infinite (never).
    """
    checks.not_empty("Batteries", ready)
    checks.not_empty("Shift starts", starts)
    checks.same_length("The shift starts and the batteries needed", starts, needed)
    times = [hour if hour == math.inf else checks.not_negative("A ready time", hour) for hour in ready]
    wanted = [
        (checks.not_negative("A shift start", start), checks.whole("The batteries needed", count))
        for start, count in zip(starts, needed, strict=True)
    ]
    counts = [count for _, count in sorted(wanted)]
    if counts != sorted(counts):
        raise ValueError("The batteries needed are cumulative: they cannot fall from a start to a later one")
    return [max(0, count - sum(hour <= start + ROUNDING_HOURS for hour in times)) for start, count in wanted]
