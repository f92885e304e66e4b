"""Whether enough air flows, when the meter itself is only known so well: the one decision, for readings old and new.

A reading passes where even a meter that reads somewhat too much would leave the minimum: at the minimum and a guard
band over it. It fails under the minimum less that band. Between the two it is too close to say. Without a band the
minimum itself decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import stdev

PASS, TOO_CLOSE, FAIL = "pass", "too close", "fail"
_ROUND = 6  # a mean of three readings must not miss its limit by a float's last digit


def sure_from(minimum_lpm: float, guard_lpm: float) -> float:
    """The least flow that passes for sure."""
    return minimum_lpm + guard_lpm


def decide(flow_lpm: float, minimum_lpm: float, guard_lpm: float) -> str:
    """PASS, TOO_CLOSE or FAIL; with no guard band nothing is too close.

    Source: JCGM 106:2012, guarded acceptance; ISO 14253-1. A test holds it to compute's own rule.
    """
    if round(flow_lpm - sure_from(minimum_lpm, guard_lpm), _ROUND) >= 0:
        return PASS
    return FAIL if round(flow_lpm - (minimum_lpm - guard_lpm), _ROUND) < 0 else TOO_CLOSE


def mean_guard(guard_lpm: float, uncertainty_lpm: float, flows: Sequence[float]) -> float:
    """The guard band of a mean: what the meter reads wrong stays in it, the readings' own scatter comes on top.

    Source: GUM (JCGM 100), type A evaluation: u2 = u2 of the meter + s2 / n, both widened by the same factor.
    """
    if len(flows) < 2 or uncertainty_lpm <= 0:
        return guard_lpm
    factor = guard_lpm / uncertainty_lpm
    return math.hypot(guard_lpm, factor * stdev(flows) / math.sqrt(len(flows)))


def round_up(flow_lpm: float) -> float:
    """A flow that is needed, as it is said: to the tenth above, so that what is said is enough."""
    return math.ceil(round(flow_lpm * 10, _ROUND)) / 10
