"""What the samples of a finding say together: lognormal statistics of its shift averages, each with its source.

No finding follows from them here: they are what a hygienist looks at.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from cribdesk.compute.exposure import (
    describe,
    exceedance_limits,
    tolerance_factor,
    upper_tolerance_limit,
)
from cribdesk.crib.concentration import concentration_words, plain
from cribdesk.crib.limits import LimitKind, measured_as
from cribdesk.crib.protection import AgentFinding, Judged
from cribdesk.crib.records import Sample
from cribdesk.crib.words import NBSP, count, number
from cribdesk.desk.air_figures import Average, long_samples
from cribdesk.desk.cards_area import Told

LOGNORMAL = "lognormal; Mulhausen and Damiano 1998"
CENSORED = "lognormal, maximum likelihood with what was not detected; Frome and Wambach 2005"
TOLERANCE = "one-sided tolerance factor, NIST/SEMATECH e-Handbook 7.2.6.3"
PRELIMINARY = {3: 0.1, 4: 0.15, 5: 0.2}
"""Shares of the limit that so many results all have to stay below: EN 689:2018, from memory."""


def statistics(
    one: AgentFinding, averages: Sequence[Average], samples: Sequence[Sample]
) -> tuple[tuple[Told, ...], str]:
    """(lines, what has to be said beside them). Without lines the note says why there are none."""
    if not samples:
        return (), ""
    detected = _detected(averages, samples)
    limit = next((held for held in one.judged if held.kind is LimitKind.SHIFT), None)
    try:
        values = [_as_limit(each.amount.figure, one, limit) for each in averages]
        found = _lines(values, detected, limit, one.unit)
    except ValueError as failure:
        return (), f"{failure}."
    missing = detected.count(False)
    note = f"Of {count(len(values), 'shift average')}"
    note += f", {missing} below detection: their detection limits count as such." if missing else "."
    if limit is None:
        note += " No 8-hour limit stands: an average shows nothing against a ceiling."
    return found, note


def _detected(averages: Sequence[Average], samples: Sequence[Sample]) -> list[bool]:
    """Of each average whether anything of it was detected."""
    rows = long_samples(samples)
    return [
        any(one.detected for one in rows if (one.taken_on, one.series) == (each.taken_on, each.series))
        for each in averages
    ]


def _as_limit(figure: float, one: AgentFinding, limit: Judged | None) -> float:
    if limit is None:
        return figure
    return measured_as(figure, one.measured_as or limit.measured_as, limit.measured_as)


def _lines(
    values: Sequence[float], detected: Sequence[bool], limit: Judged | None, unit: str
) -> tuple[Told, ...]:
    bound = limit.limit if limit else None
    found = describe(values, bound, detected)
    source = CENSORED if found.not_detected else LOGNORMAL
    told = [
        Told("Geometric mean", concentration_words(found.geometric_mean, unit), source),
        Told("Geometric deviation", plain(found.geometric_sd, 3), source),
        Told("95th percentile", concentration_words(found.percentile_95, unit), f"{source}; the middle estimate"),
    ]
    if found.all_equal:
        return (*told[:1], Told("Spread", "none", "all samples are equal: they tell nothing about how exposure varies"))
    if found.not_detected:
        told.append(Told("Upper tolerance limits", "not told", "they need samples that were all detected"))
    else:
        told += [_tolerance(values, confidence, unit) for confidence in (0.95, 0.70)]
    if found.exceedance is not None:
        told.append(_exceedance(values, found.exceedance, bound or 0.0, bool(found.not_detected)))
    if bound is not None and not found.not_detected:
        told.append(_compared(values, found.mean_log, found.sd_log, bound))
    return tuple(told)


def _tolerance(values: Sequence[float], confidence: float, unit: str) -> Told:
    limit = upper_tolerance_limit(values, 0.95, confidence)
    factor = tolerance_factor(len(values), 0.95, confidence)
    name = f"Upper tolerance limit 95/{100 * confidence:.0f}"
    words = f"95{NBSP}% of shifts lie below it, with {100 * confidence:.0f}{NBSP}% confidence; k {plain(factor)}"
    return Told(name, concentration_words(limit, unit), f"{words}: {TOLERANCE}")


def _exceedance(values: Sequence[float], share: float, bound: float, censored: bool) -> Told:
    if censored:
        return Told("Shifts over the limit", _share(share), "the middle estimate; its confidence is not told")
    low, high = exceedance_limits(values, bound, 0.90)
    words = f"between {_share(low)} and {_share(high)}, 90 times in 100; noncentral t"
    return Told("Shifts over the limit", _share(share), words)


def _share(share: float) -> str:
    """'4.2 %'."""
    return f"{number(100 * share, 1)}{NBSP}%" if share >= 0.001 else f"under 0.1{NBSP}%"


def _compared(values: Sequence[float], mean: float, deviation: float, bound: float) -> Told:
    """How EN 689:2018 would test them, from memory: a hint for the hygienist, no finding."""
    basis = "EN 689:2018, from memory: a hint for the hygienist, no finding"
    if max(values) > bound:
        return Told("Test against the limit", "not passed", f"a shift average lies above the limit; {basis}")
    if len(values) in PRELIMINARY:
        share = PRELIMINARY[len(values)]
        passed = max(values) < share * bound
        words = f"{len(values)} results, all below {plain(share)} of the limit" if passed else (
            f"with {len(values)} results all have to lie below {plain(share)} of the limit: 6 or more are needed"
        )  # fmt: skip
        return Told("Test against the limit", "passed" if passed else "open", f"{words}; {basis}")
    distance, needed = (log(bound) - mean) / deviation, tolerance_factor(len(values), 0.95, 0.70)
    words = f"distance {plain(distance, 3)}, at least {plain(needed, 4)} is needed"
    return Told("Test against the limit", "passed" if distance >= needed else "not passed", f"{words}; {basis}")
