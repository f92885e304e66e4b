"""What is in the air against what is allowed: averages, ratios, lasting protection, lognormal statistics."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress
from statistics import NormalDist

from cribdesk.compute import checks

STANDARD_SHIFT_HOURS = 8.0
DAY_HOURS = 24.0
ROUNDING_HOURS = 1e-9  # minutes turned into hours add up to a little more than the day
FEWEST_SAMPLES = 3
FEWEST_DETECTED = 3
MOST_NOT_DETECTED = 0.8
NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class ExposureStatistics:
    """Lognormal description of one group's samples.

    `mean_log` and `sd_log` belong to the natural logarithms, `geometric_mean` and `percentile_95` have the
    samples' unit, `exceedance` is the estimated fraction of all exposures above the limit (None without one).
    `all_equal` tells that the samples show no spread at all: every figure but the mean then says nothing.
    """

    mean_log: float
    sd_log: float
    geometric_mean: float
    geometric_sd: float
    percentile_95: float
    exceedance: float | None
    count: int
    not_detected: int
    all_equal: bool


def time_weighted_average(
    intervals: Sequence[tuple[float, float]], shift_hours: float = STANDARD_SHIFT_HOURS
) -> float:
    """The shift average sum(C T) / shift_hours of (concentration, hours) pairs, in the concentrations' unit.

    Time that was not sampled counts as zero, so the caller must know that it was clean. The divisor stays at
    8 h for a longer shift. Raises ValueError for no interval, and for more than 24 h in all.
    Source: 29 CFR 1910.1000(d)(1)(i).
    """
    checks.not_empty("Sampled intervals", intervals)
    divisor = checks.positive("The shift's hours", shift_hours)
    parts = [
        (checks.not_negative("A concentration", concentration), checks.not_negative("Sampled hours", hours))
        for concentration, hours in intervals
    ]
    total = math.fsum(hours for _, hours in parts)
    if max(total, divisor) > DAY_HOURS + ROUNDING_HOURS:
        raise ValueError(f"A shift has 24 hours at most, not {max(total, divisor):g}")
    return math.fsum(concentration * hours for concentration, hours in parts) / divisor


def mixture_index(pairs: Sequence[tuple[float, float]]) -> float:
    """Sum of concentration / limit over substances of like effect; above 1 is over the limit.

    Each pair is (concentration, limit) in one unit. Source: 29 CFR 1910.1000(d)(2)(i).
    """
    checks.not_empty("Substances of the mixture", pairs)
    return math.fsum(hazard_ratio(concentration, limit) for concentration, limit in pairs)


def hazard_ratio(concentration: float, limit: float) -> float:
    """Concentration / limit in one unit: the least assigned protection factor that will do.

    Raises ValueError for a limit of zero or below. Source: 29 CFR 1910.134(d)(3)(i).
    """
    return checks.not_negative("The concentration", concentration) / checks.positive("The limit", limit)


def maximum_use_concentration(factor: float, limit: float, idlh: float | None = None) -> float:
    """The highest concentration this assigned factor may be used in: factor x limit, at most IDLH.

    In the limit's unit. It never allows entry into an immediately dangerous atmosphere, whatever the figure.
    Source: 29 CFR 1910.134(d)(3)(i)(B).
    """
    highest = checks.at_least("The protection factor", factor, 1) * checks.positive("The limit", limit)
    if idlh is None:
        return highest
    return min(highest, checks.positive("The immediately dangerous concentration", idlh))


def effective_factor(factor: float, worn_hours: float, exposed_hours: float = STANDARD_SHIFT_HOURS) -> float:
    """The factor that is left over the whole exposure when a respirator is worn for only part of it.

    1 / ((exposed - worn) / exposed + (worn / exposed) / factor): the protected level counts only while the
    respirator is worn. Raises ValueError where it is worn longer than there is exposure.
    Source: the weighting of 29 CFR 1926.62(c)(3).
    """
    assigned = checks.at_least("The protection factor", factor, 1)
    exposed = checks.positive("The exposed hours", exposed_hours)
    worn = checks.not_negative("The worn hours", worn_hours)
    if worn > exposed:
        raise ValueError(f"Worn {worn:g} h of {exposed:g} h exposed: it cannot be worn longer than exposed")
    return exposed / (exposed - worn + worn / assigned)


def long_shift_factor(hours_per_day: float) -> float:
    """What an 8-hour limit is multiplied by for a longer day: (8 / h) x (24 - h) / 16, from 8 to below 24 h.

    Advice beside the legal limit, never in its place. Source: Brief and Scala 1975, daily form.
    """
    hours = checks.number("The hours a day", hours_per_day)
    if not STANDARD_SHIFT_HOURS <= hours < DAY_HOURS:
        raise ValueError(f"The hours a day must be from 8 to below 24, not {hours:g}")
    return (STANDARD_SHIFT_HOURS / hours) * (DAY_HOURS - hours) / 16.0


def tolerance_factor(n: int, coverage: float, confidence: float) -> float:
    """One-sided normal tolerance factor k: mean + k sd covers `coverage` of all values at `confidence`.

    k = t'(confidence; n - 1, z sqrt n) / sqrt n with t' the noncentral t quantile and z the normal quantile
    of coverage; n from 2. Source: NIST/SEMATECH e-Handbook 7.2.6.3 (exact form).
    """
    from scipy.stats import nct

    size = checks.whole("The number of samples", n, 2)
    root = math.sqrt(size)
    shift = NORMAL.inv_cdf(checks.fraction("The coverage", coverage)) * root
    factor = float(nct.ppf(checks.fraction("The confidence", confidence), size - 1, shift)) / root
    if not math.isfinite(factor):
        raise ValueError(f"No tolerance factor can be computed for {size} samples at these fractions")
    return factor


def describe(
    samples: Sequence[float], limit: float | None = None, detected: Sequence[bool] | None = None
) -> ExposureStatistics:
    """Lognormal statistics of one group's samples, all in one unit.

    `detected` tells sample by sample what was found; where it is False the value is that sample's detection
    limit. Complete data give the mean and the n - 1 deviation of the logarithms; otherwise both are maximum
    likelihood: density for a detected value, chance of lying below for one that was not. Raises ValueError
    for fewer than 3 samples, fewer than 3 detected, more than 80 % not detected, or a value of zero.
    Source: lognormal exposure statistics as in Mulhausen and Damiano 1998 (complete) and Frome and Wambach
    2005 (not detected).
    """
    logs, found = _logs(samples, detected)
    bound = None if limit is None else math.log(checks.positive("The limit", limit))
    missing = len(found) - sum(found)
    mean, deviation = _censored_fit(logs, found) if missing else _mean_and_deviation(logs)
    return ExposureStatistics(
        mean_log=mean,
        sd_log=deviation,
        geometric_mean=math.exp(mean),
        geometric_sd=math.exp(deviation),
        percentile_95=math.exp(mean + NORMAL.inv_cdf(0.95) * deviation),
        exceedance=None if bound is None else _above(bound, mean, deviation),
        count=len(found),
        not_detected=missing,
        all_equal=deviation == 0,
    )


def upper_tolerance_limit(
    samples: Sequence[float], coverage: float = 0.95, confidence: float = 0.95
) -> float:
    """The level under which `coverage` of all exposures lie, at one-sided `confidence`; the samples' unit.

    exp(mean + k sd) of the logarithms, k by `tolerance_factor`; complete samples only, 3 or more.
    Source: Mulhausen and Damiano 1998; NIST/SEMATECH e-Handbook 7.2.6.3.
    """
    logs, _ = _logs(samples, None)
    mean, deviation = _mean_and_deviation(logs)
    return math.exp(mean + tolerance_factor(len(logs), coverage, confidence) * deviation)


def exceedance_limits(
    samples: Sequence[float], limit: float, confidence: float = 0.90
) -> tuple[float, float]:
    """The two-sided interval of the fraction of exposures above the limit, from complete samples.

    The bounds solve F(sqrt n u; n - 1, delta) = (1 +- confidence) / 2 for the noncentrality delta of t, with
    u = (ln limit - mean) / sd; the fraction is the normal tail above delta / sqrt n.
    Raises ValueError where the samples show no spread.
    """
    from scipy.optimize import brentq
    from scipy.stats import nct

    logs, _ = _logs(samples, None)
    mean, deviation = _mean_and_deviation(logs)
    two_sided = checks.fraction("The confidence", confidence)
    if deviation == 0:
        raise ValueError("All samples are equal: they tell nothing about the spread of exposure")
    root = math.sqrt(len(logs))
    seen = root * (math.log(checks.positive("The limit", limit)) - mean) / deviation

    def below(delta: float) -> float:
        chance = float(nct.cdf(seen, len(logs) - 1, delta))
        if math.isnan(chance):  # scipy gives up at some points with t and delta far out on either side of 0
            return 1.0 if delta < 0 else 0.0
        return chance

    def tail(chance: float) -> float:
        step = math.sqrt(1 + seen**2 / (2 * len(logs) - 2))
        low = high = seen
        while below(low) < chance:
            low -= step
        while below(high) > chance:
            high += step
        delta = brentq(lambda delta: below(delta) - chance, low, high, xtol=1e-12)
        return _normal_tail(float(delta) / root)

    return tail((1 - two_sided) / 2), tail((1 + two_sided) / 2)


def _logs(samples: Sequence[float], detected: Sequence[bool] | None) -> tuple[list[float], list[bool]]:
    """The samples' logarithms and which were detected, after every ground for refusing statistics."""
    logs = [math.log(_above_zero(value)) for value in samples]
    found = [True] * len(logs) if detected is None else [bool(flag) for flag in detected]
    checks.same_length("The samples and whether they were detected", logs, found)
    if len(logs) < FEWEST_SAMPLES:
        raise ValueError(f"Statistics need {FEWEST_SAMPLES} samples or more, not {len(logs)}")
    if sum(found) < FEWEST_DETECTED:
        raise ValueError(f"Statistics need {FEWEST_DETECTED} detected samples or more, not {sum(found)}")
    if found.count(False) > MOST_NOT_DETECTED * len(found):
        raise ValueError(f"{found.count(False)} of {len(found)} not detected: more than 80 % tell too little")
    return logs, found


def _above_zero(value: float) -> float:
    given = checks.not_negative("A sample", value)
    if given == 0:
        raise ValueError("A sample of zero has no logarithm: give its detection limit, as not detected")
    return given


def _mean_and_deviation(logs: list[float]) -> tuple[float, float]:
    if min(logs) == max(logs):
        return logs[0], 0.0
    mean = math.fsum(logs) / len(logs)
    return mean, math.sqrt(math.fsum((value - mean) ** 2 for value in logs) / (len(logs) - 1))


def _normal_tail(z: float) -> float:
    """The chance of a standard normal value above z, exact far out too."""
    return math.erfc(z / math.sqrt(2)) / 2


def _above(bound: float, mean: float, deviation: float) -> float:
    if deviation == 0:
        return 1.0 if mean > bound else 0.0
    return _normal_tail((bound - mean) / deviation)


def _censored_fit(logs: list[float], found: list[bool]) -> tuple[float, float]:
    """Mean and deviation by maximum likelihood, where some values are only known to lie below.

    Newton steps on a = 1/sd and b = mean/sd, in which the log likelihood is concave (Burridge 1981, from
    memory), so that halving an over-long step always ends at the one maximum.
    """
    values = list(compress(logs, found))
    below = list(compress(logs, (not flag for flag in found)))
    centre, spread = _mean_and_deviation(values)
    if spread == 0 and min(below) >= values[0]:
        raise ValueError("All detected samples are equal, no detection limit lies below: no spread to tell")
    scale = spread or (values[0] - min(below))
    seen = [(value - centre) / scale for value in values]
    under = [(value - centre) / scale for value in below]
    a, b = 1.0, 0.0
    level = _likelihood(a, b, seen, under)
    for _ in range(200):
        step_a, step_b = _newton_step(a, b, seen, under)
        share = 1.0
        while share > 1e-12:
            next_a, next_b = a + share * step_a, b + share * step_b
            reached = _likelihood(next_a, next_b, seen, under) if next_a > 0 else -math.inf
            if reached >= level:
                break
            share /= 2
        else:
            break
        settled = abs(next_a - a) + abs(next_b - b) < 1e-13 * (1 + abs(a) + abs(b))
        a, b, level = next_a, next_b, reached
        if settled:
            break
    return centre + scale * b / a, scale / a


def _likelihood(a: float, b: float, seen: list[float], under: list[float]) -> float:
    from scipy.special import log_ndtr

    squares = math.fsum((a * value - b) ** 2 for value in seen)
    return (
        len(seen) * math.log(a) - squares / 2 + math.fsum(float(log_ndtr(a * value - b)) for value in under)
    )


def _newton_step(a: float, b: float, seen: list[float], under: list[float]) -> tuple[float, float]:
    """The step that would reach the top if the likelihood were a parabola at (a, b)."""
    from scipy.special import log_ndtr

    slope_a = len(seen) / a - math.fsum(value * (a * value - b) for value in seen)
    slope_b = math.fsum(a * value - b for value in seen)
    curve_aa = len(seen) / a**2 + math.fsum(value**2 for value in seen)
    curve_ab = -math.fsum(seen)
    curve_bb = float(len(seen))
    for value in under:
        z = a * value - b
        ratio = math.exp(-z * z / 2 - float(log_ndtr(z))) / math.sqrt(2 * math.pi)
        bend = ratio * (z + ratio)
        slope_a += value * ratio
        slope_b -= ratio
        curve_aa += value**2 * bend
        curve_ab -= value * bend
        curve_bb += bend
    determinant = curve_aa * curve_bb - curve_ab**2
    step_a = (curve_bb * slope_a - curve_ab * slope_b) / determinant
    step_b = (curve_aa * slope_b - curve_ab * slope_a) / determinant
    return step_a, step_b
