"""How the whole fleet fails: repairs by age, failure rate, which unit is worse, what fails most, spares to hold."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from cribdesk.compute import checks


def mean_cumulative(systems: Sequence[tuple[Sequence[float], float]]) -> list[tuple[float, float, float]]:
    """Mean number of events of one unit up to each age: (age, value, robust standard error), ages ascending.

    Each system is (ages at its events, age at which its history ends), in worn hours; a system without an
    event has an empty first part. A system whose history ends exactly at an age is still at risk there. The
    standard error is that of Lawless and Nadeau: what one unit's events have in common is kept, which adding
    up the steps' variances as if independent would lose. Raises ValueError for an event after the end.
    Source: Nelson's mean cumulative function; robust variance, Lawless and Nadeau 1995.
    """
    checks.not_empty("Systems", systems)
    histories = [_history(events, end) for events, end in systems]
    happened: dict[float, Counter[int]] = {}
    for unit, (events, _) in enumerate(histories):
        for age in events:
            happened.setdefault(age, Counter())[unit] += 1

    import numpy as np

    ends = np.array([end for _, end in histories])
    apart = np.zeros(ends.size)  # each unit's own accumulated distance from the mean
    value, points = 0.0, []
    for age in sorted(happened):
        at_risk = ends >= age
        risk = int(at_risk.sum())
        step = happened[age].total() / risk
        value += step
        apart -= at_risk * (step / risk)
        for unit, count in happened[age].items():
            apart[unit] += count / risk
        points.append((age, value, math.sqrt(float(apart @ apart))))
    return points


def failure_rate(hours: float, failures: int, confidence: float) -> tuple[float, float, float]:
    """Failures an hour with a two-sided interval: (rate, low, high), for time-ended observation.

    low = chi2(a/2; 2r) / 2T and high = chi2(1 - a/2; 2r + 2) / 2T with a = 1 - confidence. Without a failure
    the rate and low are 0 and high is the one-sided -ln(a) / T. It assumes a constant rate: for parts that
    wear out use the life model instead. Source: NIST/SEMATECH e-Handbook 8.4.5.1.
    """
    total = checks.positive("The observed hours", hours)
    count = checks.whole("The number of failures", failures)
    outside = 1 - checks.fraction("The confidence", confidence)
    if count == 0:
        return 0.0, 0.0, -math.log(outside) / total

    from scipy.special import gammaincinv

    low = float(gammaincinv(count, outside / 2))  # half a chi-squared quantile at 2r
    high = float(gammaincinv(count + 1, 1 - outside / 2))
    return count / total, low / total, high / total


def as_many_by_chance(repairs: int, hours: float, fleet_repairs: int, fleet_hours: float) -> float:
    """The chance of as many repairs of one unit, or more, were it no worse than its fleet.

    Given the fleet's repairs, one unit's are binomial with its share of the worn hours, whatever the common rate
    (the exact conditional test of Poisson rates, Przyborowski and Wilenski 1940, from memory). The fleet counts the
    unit itself. A unit that was not worn tells nothing: 1 without a repair.
    """
    mine, all_of_them = checks.whole("The unit's repairs", repairs), checks.whole("The fleet's repairs", fleet_repairs)
    worn = checks.not_negative("The unit's hours", hours)
    together = checks.positive("The fleet's hours", fleet_hours)
    if mine > all_of_them or worn > together * (1 + 1e-9):
        raise ValueError("A unit cannot have more repairs or hours than the fleet it belongs to")
    if mine == 0:
        return 1.0
    from scipy.special import betainc

    return float(betainc(mine, all_of_them - mine + 1, min(1.0, worn / together)))


def worse(chances: Sequence[float], share: float = 0.05) -> list[bool]:
    """Which of these are called worse, so that of those called, at most `share` are false alarms on average.

    Benjamini and Hochberg's step-up: with the chances in ascending order the largest place i of m where
    chance <= i / m x share, and all before it. Raises ValueError where a chance is none from 0 to 1.
    Source: Benjamini and Hochberg 1995, section 3.1.
    """
    limit = checks.fraction("The share of false alarms", share)
    given = [checks.not_negative("A chance", one) for one in chances]
    if any(one > 1 for one in given):
        raise ValueError("A chance must not be above 1")
    ranked = sorted(range(len(given)), key=lambda at: given[at])
    called = max((n for n, at in enumerate(ranked, 1) if given[at] <= n / len(given) * limit), default=0)
    return [given[at] <= given[ranked[called - 1]] if called else False for at in range(len(given))]


def pareto(counts: Mapping[str, float]) -> list[tuple[str, float, float]]:
    """What counts most first: (name, count, cumulative fraction); equal counts by name.

    Counts may be pieces or hours of downtime. Raises ValueError where there is nothing or only zeros.
    """
    if not counts:
        raise ValueError("Nothing to rank: there are no counts")
    checked = {name: checks.not_negative(f"The count of {name}", count) for name, count in counts.items()}
    total = math.fsum(checked.values())
    if total <= 0:
        raise ValueError("Nothing to rank: all counts are zero")
    ranked = sorted(counts, key=lambda name: (-checked[name], name))
    so_far = [math.fsum(checked[name] for name in ranked[: place + 1]) for place in range(len(ranked))]
    return [(name, counts[name], part / total) for name, part in zip(ranked, so_far, strict=True)]


def spares(demand_per_day: float, days_away: float, service: float) -> int:
    """The fewest spare units for which the chance that a failed unit finds one is at least `service`.

    Units away for repair at a moment follow a Poisson distribution with mean demand x days away, whatever the
    spread of the repair times; the result is the smallest number that is not exceeded with that chance.
    Source: Palm's theorem (Palm 1938).
    """
    demand = checks.not_negative("The demand a day", demand_per_day)
    mean = demand * checks.not_negative("The days away", days_away)
    wanted = checks.fraction("The service level", service)

    from scipy.special import pdtr

    fewest, most = -1, 1  # below the answer; at or above it
    while float(pdtr(most, mean)) < wanted:
        fewest, most = most, most * 2
    while most - fewest > 1:
        middle = (fewest + most) // 2
        if float(pdtr(middle, mean)) < wanted:
            fewest = middle
        else:
            most = middle
    return most


def _history(events: Sequence[float], end: float) -> tuple[list[float], float]:
    last = checks.not_negative("The end of a history", end)
    ages = [checks.not_negative("The age at an event", age) for age in events]
    late = [age for age in ages if age > last]
    if late:
        raise ValueError(f"An event at {late[0]:g} h stands after the end of its history at {last:g} h")
    return ages, last
