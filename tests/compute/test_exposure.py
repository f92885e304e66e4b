"""Averages, ratios, lasting protection and lognormal statistics: refusals, traps, oracles, properties."""

import inspect
import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import minimize

from cribdesk.compute import exposure

FUME = [0.84, 0.98, 0.42, 1.16, 1.36, 2.66]
SURFACE = [
    0.025, 0.025, 0.04, 0.04, 0.04, 0.045, 0.05, 0.05, 0.07, 0.075, 0.095, 0.1, 0.125, 0.125, 0.145, 0.145,
    0.15, 0.15, 0.165, 0.27, 0.29, 0.345, 0.395, 0.395, 0.42, 0.495, 0.84, 1.14,
]  # fmt: skip
concentrations = st.floats(0, 1e4)
limits = st.floats(1e-4, 1e4)
factors = st.sampled_from([5.0, 10.0, 25.0, 50.0, 1000.0, 10000.0])
groups = st.lists(st.floats(1e-3, 1e3), min_size=3, max_size=20)

REFUSED: list[tuple[Callable[..., Any], dict[str, Any], str]] = [
    (exposure.time_weighted_average, {"intervals": []}, "none"),
    (exposure.time_weighted_average, {"intervals": [(-1, 2)]}, "negative"),
    (exposure.time_weighted_average, {"intervals": [(1, -2)]}, "negative"),
    (exposure.time_weighted_average, {"intervals": [(math.nan, 2)]}, "finite"),
    (exposure.time_weighted_average, {"intervals": [(1, math.inf)]}, "finite"),
    (exposure.time_weighted_average, {"intervals": [(None, 2)]}, "number"),
    (exposure.time_weighted_average, {"intervals": [("5", 2)]}, "number"),
    (exposure.time_weighted_average, {"intervals": [(1, 12), (1, 12.1)]}, "24 hours"),
    (exposure.time_weighted_average, {"intervals": [(1, 2)], "shift_hours": 0}, "above zero"),
    (exposure.time_weighted_average, {"intervals": [(1, 2)], "shift_hours": 25}, "24 hours"),
    (exposure.mixture_index, {"pairs": []}, "none"),
    (exposure.mixture_index, {"pairs": [(1, 0)]}, "above zero"),
    (exposure.mixture_index, {"pairs": [(1, 5), (-1, 5)]}, "negative"),
    (exposure.hazard_ratio, {"concentration": 1, "limit": 0}, "above zero"),
    (exposure.hazard_ratio, {"concentration": -1, "limit": 1}, "negative"),
    (exposure.maximum_use_concentration, {"factor": 0.5, "limit": 1}, "1 or more"),
    (exposure.maximum_use_concentration, {"factor": 25, "limit": 0}, "above zero"),
    (exposure.maximum_use_concentration, {"factor": 25, "limit": 1, "idlh": 0}, "above zero"),
    (exposure.effective_factor, {"factor": 25, "worn_hours": 8.5}, "longer than exposed"),
    (exposure.effective_factor, {"factor": 25, "worn_hours": -1}, "negative"),
    (exposure.effective_factor, {"factor": 0, "worn_hours": 1}, "1 or more"),
    (exposure.effective_factor, {"factor": 25, "worn_hours": 0, "exposed_hours": 0}, "above zero"),
    (exposure.long_shift_factor, {"hours_per_day": 7.9}, "from 8"),
    (exposure.long_shift_factor, {"hours_per_day": 24}, "below 24"),
    (exposure.tolerance_factor, {"n": 1, "coverage": 0.95, "confidence": 0.95}, "2 or more"),
    (exposure.tolerance_factor, {"n": 6.5, "coverage": 0.95, "confidence": 0.95}, "whole"),
    (exposure.tolerance_factor, {"n": 6, "coverage": 1, "confidence": 0.95}, "between 0 and 1"),
    (exposure.tolerance_factor, {"n": 6, "coverage": 0.95, "confidence": 95}, "between 0 and 1"),
    (exposure.describe, {"samples": []}, "3 samples"),
    (exposure.describe, {"samples": [1, 2]}, "3 samples"),
    (exposure.describe, {"samples": [1, 2, 0]}, "detection limit"),
    (exposure.describe, {"samples": [1, 2, -3]}, "negative"),
    (exposure.describe, {"samples": [1, 2, 3], "limit": 0}, "above zero"),
    (exposure.describe, {"samples": [1, 2, 3], "detected": [True, True]}, "as many"),
    (exposure.describe, {"samples": [1, 2, 3, 4], "detected": [True, True, False, False]}, "3 detected"),
    (exposure.describe, {"samples": [1.0] * 16, "detected": [True] * 3 + [False] * 13}, "80 %"),
    (exposure.describe, {"samples": [1, 1, 1, 2], "detected": [True] * 3 + [False]}, "spread"),
    (exposure.upper_tolerance_limit, {"samples": [1, 2]}, "3 samples"),
    (exposure.upper_tolerance_limit, {"samples": [1, 2, 3], "coverage": 0}, "between 0 and 1"),
    (exposure.exceedance_limits, {"samples": [2, 2, 2], "limit": 5}, "spread"),
]


@pytest.mark.parametrize(("function", "arguments", "reason"), REFUSED)
def test_bad_input_is_refused_with_its_reason(
    function: Callable[..., Any], arguments: dict[str, Any], reason: str
) -> None:
    """What cannot be right raises ValueError, and the sentence says what is wrong."""
    with pytest.raises(ValueError, match=reason):
        function(**arguments)


def test_minutes_added_up_fill_a_day() -> None:
    """1440 single minutes are a day, whatever their sum rounds to, and zero hours count as nothing."""
    assert exposure.time_weighted_average([(4, 1 / 60)] * 1440) == pytest.approx(12)
    assert exposure.time_weighted_average([(4, 2), (1e6, 0)]) == 1.0


def test_unsampled_time_counts_as_zero_and_the_divisor_stays() -> None:
    """29 CFR 1910.1000(d)(1)(i): always divided by 8, so 4 h at 100 is 50 and 12 h at 100 is 150."""
    assert exposure.time_weighted_average([(100, 4)]) == 50
    assert exposure.time_weighted_average([(100, 12)]) == 150
    assert exposure.time_weighted_average([(100, 12)], shift_hours=12) == 100


def test_protection_counts_only_while_worn() -> None:
    """Weighting of 29 CFR 1926.62(c)(3): the effective factor gives the same average as the two parts of the day."""
    for worn, average in ((8, 20.0), (7.5, 50.0), (7, 80.0)):
        parts = exposure.time_weighted_average([(500 / 25, worn), (500, 8 - worn)])
        assert parts == pytest.approx(average)
        assert 500 / exposure.effective_factor(25, worn) == pytest.approx(average)


def test_long_shift_formula_is_not_the_misprint() -> None:
    """Trap: a circulating copy prints 8 x h for 8 / h; the right one never rises above 1."""
    values = [exposure.long_shift_factor(hours) for hours in np.linspace(8, 23.99, 50)]
    assert values[0] == 1
    assert all(later < earlier for earlier, later in pairwise(values))


def test_tolerance_factor_is_not_the_approximation() -> None:
    """Trap: the simple approximation (Natrella) gives 3.667 at n = 6; the exact factor is 3.708 (printed tables)."""
    z = stats.norm.ppf(0.95)
    a, b = 1 - z**2 / 10, z**2 - z**2 / 6
    approximate = (z + math.sqrt(z**2 - a * b)) / a
    assert approximate == pytest.approx(3.667, abs=6e-4)
    assert exposure.tolerance_factor(6, 0.95, 0.95) == pytest.approx(3.708, abs=6e-4)


def test_confidence_is_not_coverage() -> None:
    """Trap: 95/70 is smaller than 95/95, and the two fractions do not change places."""
    assert exposure.tolerance_factor(6, 0.95, 0.70) < exposure.tolerance_factor(6, 0.95, 0.95)
    assert exposure.tolerance_factor(6, 0.95, 0.70) != pytest.approx(exposure.tolerance_factor(6, 0.70, 0.95))


@pytest.mark.parametrize(("n", "coverage", "confidence"), [(3, 0.95, 0.95), (8, 0.9, 0.7), (30, 0.3, 0.9)])
def test_tolerance_factor_covers_as_it_says(n: int, coverage: float, confidence: float) -> None:
    """Simulation: mean + k sd of a normal sample lies above the quantile with the stated confidence."""
    drawn = np.random.default_rng(7).normal(size=(40_000, n))
    upper = drawn.mean(axis=1) + exposure.tolerance_factor(n, coverage, confidence) * drawn.std(axis=1, ddof=1)
    assert (upper >= stats.norm.ppf(coverage)).mean() == pytest.approx(confidence, abs=0.01)


def test_nist_tolerance_interval() -> None:
    """NIST/SEMATECH e-Handbook 7.2.6.3 (verified): mean 97.07, s 0.0268, n 43; upper 97.1202 with the exact factor.

    Trap: an older copy multiplied by 2.68 and printed 102.096.
    """
    upper = 97.07 + exposure.tolerance_factor(43, 0.9, 0.99) * 0.0268
    assert upper == pytest.approx(97.1202, abs=6e-5)


def test_european_test_of_compliance() -> None:
    """EN 689:2018 (rule from memory): complies when U = (ln limit - m) / s is U_T or more, not the other way."""
    described = exposure.describe(FUME, limit=5)
    u = (math.log(5) - described.mean_log) / described.sd_log
    assert u >= exposure.tolerance_factor(6, 0.95, 0.70)
    assert exposure.upper_tolerance_limit(FUME, 0.95, 0.70) <= 5


def test_percentile_below_the_limit_is_no_proof() -> None:
    """Trap: the sample's 95th percentile lies under 5 while the 95,95 limit lies over it."""
    assert exposure.describe(FUME).percentile_95 < 5 < exposure.upper_tolerance_limit(FUME)


def test_deviation_divides_by_one_less() -> None:
    """Trap: the deviation of complete data uses n - 1."""
    logs = np.log(FUME)
    assert exposure.describe(FUME).sd_log == pytest.approx(logs.std(ddof=1))
    assert exposure.describe(FUME, detected=[True] * 6) == exposure.describe(FUME)
    assert exposure.describe(FUME).exceedance is None


def test_equal_samples_are_flagged() -> None:
    """Three equal samples have deviation 0, the flag, and an exceedance of all or nothing."""
    low = exposure.describe([0.1, 0.1, 0.1], limit=0.2)
    high = exposure.describe([0.1, 0.1, 0.1], limit=0.05)
    assert low.all_equal
    assert (low.geometric_sd, low.exceedance, high.exceedance) == (1.0, 0.0, 1.0)
    assert not exposure.describe(FUME).all_equal


def likelihood(mean: float, deviation: float, values: list[float], found: list[bool]) -> float:
    """The censored log likelihood, from scipy's normal law."""
    logs, seen = np.log(values), np.array(found)
    law = stats.norm(mean, deviation)
    return float(law.logpdf(logs[seen]).sum() + law.logcdf(logs[~seen]).sum())


@given(
    st.lists(st.floats(-3, 3), min_size=4, max_size=15, unique=True),
    st.lists(st.floats(-3, 3), min_size=1, max_size=12),
)
def test_censored_fit_is_the_maximum(seen: list[float], under: list[float]) -> None:
    """Nothing near the fit is likelier, by scipy's normal law: both slopes are zero and all steps lead down."""
    assume(max(seen) - min(seen) > 0.1)
    assume(len(under) <= 4 * len(seen))
    values, found = list(np.exp(seen + under)), [True] * len(seen) + [False] * len(under)
    fit = exposure.describe(values, detected=found)
    top = likelihood(fit.mean_log, fit.sd_log, values, found)
    for step in (1e-3, -1e-3):
        assert likelihood(fit.mean_log + step * fit.sd_log, fit.sd_log, values, found) < top
        assert likelihood(fit.mean_log, fit.sd_log * (1 + step), values, found) < top


def test_censored_fit_meets_a_direct_search() -> None:
    """Frome and Wambach 2005, Example 1 (data verified): the fit equals scipy's search of the likelihood."""
    values, found = [0.015] * 3 + SURFACE, [False] * 3 + [True] * 28
    searched = minimize(
        lambda point: -likelihood(point[0], math.exp(point[1]), values, found),
        x0=[-2.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12},
    )  # fmt: skip
    fit = exposure.describe(values, detected=found)
    assert fit.mean_log == pytest.approx(searched.x[0], abs=1e-6)
    assert fit.sd_log == pytest.approx(math.exp(searched.x[1]), abs=1e-6)
    assert (fit.count, fit.not_detected) == (31, 3)


def test_half_the_detection_limit_would_be_wrong() -> None:
    """Trap: putting in the detection limit, or half of it, for what was not found shifts the statistics."""
    values, found = [0.1] * 12 + SURFACE[11:], [False] * 12 + [True] * 17
    fit = exposure.describe(values, detected=found)
    for put_in in (0.1, 0.05):
        replaced = exposure.describe([put_in] * 12 + SURFACE[11:])
        assert abs(replaced.sd_log - fit.sd_log) > 0.05


def test_equal_detected_above_a_limit_still_fit() -> None:
    """Equal detected values above a detection limit leave one maximum, which scipy's search finds too."""
    values, found = [2.0, 2.0, 2.0, 0.5], [True, True, True, False]
    fit = exposure.describe(values, detected=found)
    searched = minimize(
        lambda point: -likelihood(point[0], math.exp(point[1]), values, found),
        x0=[0.3, -0.5], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12},
    )  # fmt: skip
    assert (fit.mean_log, fit.sd_log) == pytest.approx((searched.x[0], math.exp(searched.x[1])), abs=1e-6)


def test_exceedance_interval_covers_as_it_says() -> None:
    """Simulation: 80 of 100 two-sided 80 % intervals hold the true exceedance of 5 %."""
    random = np.random.default_rng(3)
    held = 0
    for _ in range(400):
        samples = list(np.exp(random.normal(size=6)))
        low, high = exposure.exceedance_limits(samples, math.exp(stats.norm.ppf(0.95)), confidence=0.8)
        held += low <= 0.05 <= high
    assert held / 400 == pytest.approx(0.8, abs=0.06)


@given(st.lists(st.tuples(concentrations, st.floats(0, 2)), min_size=1, max_size=10), st.floats(0, 100))
def test_more_exposure_never_averages_less(intervals: list[tuple[float, float]], more: float) -> None:
    """Adding concentration anywhere never lowers the average."""
    raised = [(concentration + more, hours) for concentration, hours in intervals]
    assert exposure.time_weighted_average(raised) >= exposure.time_weighted_average(intervals)


@given(concentrations, limits, factors)
def test_ratio_and_use_limit_agree(concentration: float, limit: float, factor: float) -> None:
    """A factor covers the hazard ratio exactly where the concentration is within the maximum use concentration."""
    ratio = exposure.hazard_ratio(concentration, limit)
    assume(abs(ratio / factor - 1) > 1e-9)
    assert (ratio <= factor) == (concentration <= exposure.maximum_use_concentration(factor, limit))


@given(limits, factors, limits)
def test_use_limit_never_passes_the_dangerous_level(limit: float, factor: float, idlh: float) -> None:
    """The maximum use concentration lies at or under the immediately dangerous level, and is capped only by it."""
    capped = exposure.maximum_use_concentration(factor, limit, idlh)
    assert capped <= idlh
    assert capped in (idlh, exposure.maximum_use_concentration(factor, limit))


@given(factors, st.floats(0.1, 24), st.floats(0, 1), st.floats(0, 1))
def test_longer_wear_never_protects_less(factor: float, exposed: float, share: float, other: float) -> None:
    """The effective factor lies between 1 and the assigned one and grows with the time worn."""
    less, more = sorted((share * exposed, other * exposed))
    first, second = (exposure.effective_factor(factor, worn, exposed) for worn in (less, more))
    assert 1 - 1e-12 <= first <= second * (1 + 1e-12) <= factor * (1 + 1e-9)
    assert exposure.effective_factor(factor, 0, exposed) == 1


@given(groups, st.floats(0.01, 100))
def test_statistics_keep_their_unit(samples: list[float], scale: float) -> None:
    """Samples in another unit give the same spread and exceedance, and a mean and percentile in that unit."""
    assume(max(samples) / min(samples) > 1.001)
    first = exposure.describe(samples, limit=5.0)
    second = exposure.describe([value * scale for value in samples], limit=5.0 * scale)
    assert second.geometric_mean == pytest.approx(first.geometric_mean * scale, rel=1e-9)
    assert second.percentile_95 == pytest.approx(first.percentile_95 * scale, rel=1e-9)
    assert second.sd_log == pytest.approx(first.sd_log, rel=1e-6)
    assert second.exceedance == pytest.approx(first.exceedance, abs=1e-6)


@given(groups, st.floats(1e-3, 1e3), st.sampled_from([0.5, 0.9, 0.95]))
def test_exceedance_lies_within_its_interval(samples: list[float], limit: float, confidence: float) -> None:
    """The interval holds the estimate, and its upper bound agrees with the tolerance limit's verdict."""
    assume(max(samples) / min(samples) > 1.01)
    low, high = exposure.exceedance_limits(samples, limit, confidence)
    estimate = exposure.describe(samples, limit).exceedance
    assert estimate is not None
    assert 0 <= low <= estimate + 1e-9 <= high + 2e-9 <= 1 + 2e-9
    one_sided = (1 + confidence) / 2
    upper = exposure.upper_tolerance_limit(samples, 0.95, one_sided)
    assume(abs(upper / limit - 1) > 1e-6)
    assert (high <= 0.05) == (upper <= limit)


def test_contract_names() -> None:
    """The parameter names that others call by stand as agreed."""
    assert list(inspect.signature(exposure.describe).parameters) == ["samples", "limit", "detected"]
    assert list(inspect.signature(exposure.effective_factor).parameters) == ["factor", "worn_hours", "exposed_hours"]
