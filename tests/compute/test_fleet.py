"""How the fleet fails: repairs by age, failure rate, ranking and spares, against published and simulated figures."""

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from cribdesk.compute.fleet import as_many_by_chance, failure_rate, mean_cumulative, pareto, spares, worse

SYSTEMS = [([5, 10, 15], 17), ([6, 13, 17], 19), ([12, 20, 25], 26), ([13, 15], 24), ([16, 22, 25], 28)]
histories = st.lists(
    st.tuples(st.lists(st.integers(1, 40), max_size=6), st.integers(0, 20)).map(
        lambda pair: ([float(age) for age in pair[0]], float(max(pair[0], default=0) + pair[1]))
    ),
    min_size=1, max_size=6,
)  # fmt: skip


VALVE_SEATS = """
    761 | 759 | 98 667 | 326 653 653 667 | 665 | 84 667 | 87 663 | 646 653 | 92 653 | 651 | 258 328 377 621 650
    61 539 648 | 254 276 298 640 644 | 76 538 642 | 635 641 | 349 404 561 649 | 631 | 596 | 120 479 614
    323 449 582 | 139 139 589 | 593 | 573 589 | 165 408 604 606 | 249 594 | 344 497 613 | 265 586 595
    166 206 348 389 | 601 | 410 581 601 | 611 | 608 | 587 | 367 603 | 202 563 570 585 | 587 | 578 | 578 | 586 | 585
    582
"""
"""Valve seats of 41 diesel engines (Nelson 1995, Technometrics 37, 147-157; the data as SAS/QC prints them for its
RELIABILITY procedure): days of each replacement, then the day the engine's history ends."""


def test_valve_seats_of_41_engines() -> None:
    """Nelson 1995, valve seats (data published): 48 replacements; the first figures of SAS/QC's table (from memory).

    Later ones by exact fractions: until day 389 all 41 are at risk, on day 653 nine are, and one has two replaced.
    """
    engines = []
    for line in VALVE_SEATS.strip().replace("\n", "|").split("|"):
        *replaced, end = (int(day) for day in line.split())
        engines.append((replaced, end))
    assert (len(engines), sum(len(replaced) for replaced, _ in engines)) == (41, 48)
    found = {age: (value, error) for age, value, error in mean_cumulative(engines)}
    for age, value, error in ((61, 0.024, 0.024), (76, 0.049, 0.034), (84, 0.073, 0.041)):
        assert found[age] == pytest.approx((value, error), abs=6e-4)
    until_389 = [day for replaced, _ in engines for day in replaced if day < 389]
    assert found[377][0] == pytest.approx(len(until_389) / 41)
    assert found[653][0] - found[646][0] == pytest.approx(2 / 9)
    exact = sum(Fraction(1, sum(end >= day for _, end in engines)) for replaced, _ in engines for day in replaced)
    assert found[653][0] == pytest.approx(float(exact), abs=1e-12)
    assert list(found)[-1] == 653


def test_robust_error_is_not_the_independent_one() -> None:
    """Trap: adding the steps' variances as if independent gives 0.032, 0.064, 0.096, 0.128 (computed both ways)."""
    variances = [error**2 for _, _, error in mean_cumulative(SYSTEMS)[:4]]
    assert variances == pytest.approx([0.0320, 0.0480, 0.1280, 0.1120], abs=5e-5)


def test_unit_ending_at_an_event_is_at_risk_there() -> None:
    """The history that ends at 17 counts at 17: the step is one half of two, not one of one."""
    assert mean_cumulative([([17], 19), ([], 17)])[0] == pytest.approx((17, 0.5, math.sqrt(0.125)))
    assert mean_cumulative([([17], 19), ([], 16.9)])[0][:2] == (17, 1.0)


def test_no_event_gives_no_point() -> None:
    """Units without any event have an empty function, not a refusal."""
    assert mean_cumulative([([], 10), ([], 0)]) == []


def test_two_events_at_one_age_count_twice() -> None:
    """Two repairs at the same hour are two."""
    assert mean_cumulative([([5, 5], 9), ([], 9)])[0][:2] == (5, 1.0)


@given(histories)
def test_mean_cumulative_by_definition(systems: list[tuple[list[float], float]]) -> None:
    """Nelson's sum and the Lawless and Nadeau variance, written out unit by unit with numpy."""
    points = mean_cumulative(systems)
    ages = [age for age, _, _ in points]
    assert ages == sorted({age for events, _ in systems for age in events})
    at_risk = np.array([[end >= age for age in ages] for _, end in systems], dtype=float).reshape(len(systems), -1)
    counts = np.array([[events.count(age) for age in ages] for events, _ in systems]).reshape(len(systems), -1)
    risk = at_risk.sum(axis=0)
    steps = counts.sum(axis=0) / risk
    apart = np.cumsum(at_risk * (counts - steps) / risk, axis=1)
    assert [value for _, value, _ in points] == pytest.approx(list(np.cumsum(steps)))
    assert [error for _, _, error in points] == pytest.approx(list(np.sqrt((apart**2).sum(axis=0))), abs=1e-12)


def test_robust_error_is_the_spread_of_the_estimate() -> None:
    """Simulation: units that differ in their rate; the robust error is the spread seen over many fleets."""
    random = np.random.default_rng(8)
    values, errors = [], []
    for _ in range(250):
        rates = random.gamma(2, 0.5, size=30)
        fleet = [(sorted(random.uniform(0, 10, random.poisson(rate * 10))), 10.0) for rate in rates]
        _, value, error = mean_cumulative(fleet)[-1]
        values.append(value)
        errors.append(error)
    assert np.mean(values) == pytest.approx(10, abs=0.2)
    assert np.mean(errors) == pytest.approx(np.std(values), rel=0.12)


@pytest.mark.parametrize(("failures", "confidence"), [(1, 0.8), (2, 0.9), (7, 0.95), (40, 0.6)])
def test_rate_interval_by_chi_squared(failures: int, confidence: float) -> None:
    """NIST/SEMATECH e-Handbook 8.4.5.1 (formulas verified), with scipy's chi-squared quantiles."""
    outside, hours = 1 - confidence, 1234.5
    rate, low, high = failure_rate(hours, failures, confidence)
    assert rate == failures / hours
    assert 1 / high == pytest.approx(2 * hours / stats.chi2.ppf(1 - outside / 2, 2 * failures + 2))
    assert 1 / low == pytest.approx(2 * hours / stats.chi2.ppf(outside / 2, 2 * failures))


def test_time_ended_data_use_two_more_degrees_above() -> None:
    """Trap: failure-ended data would use 2r in both quantiles and give a lower upper bound."""
    high = failure_rate(800, 2, 0.9)[2]
    assert high > stats.chi2.ppf(0.95, 4) / 1600


def test_no_failure_bounds_the_rate_from_above_only() -> None:
    """NIST/SEMATECH e-Handbook 8.4.5.1: without a failure the mean time is at least T / (-ln a)."""
    rate, low, high = failure_rate(500, 0, 0.95)
    assert (rate, low) == (0, 0)
    assert 1 / high == pytest.approx(500 / -math.log(0.05))


def test_pareto_ranks_and_breaks_ties_by_name() -> None:
    """Most first, equal counts by name, cumulative fractions that end at 1."""
    ranked = pareto({"hose": 2, "blower": 5, "battery": 2, "lens": 1})
    assert ranked == [("blower", 5, 0.5), ("battery", 2, 0.7), ("hose", 2, 0.9), ("lens", 1, 1.0)]


@given(st.dictionaries(st.text(max_size=4), st.floats(0, 1e6), min_size=1, max_size=12))
def test_pareto_loses_nothing(counts: dict[str, float]) -> None:
    """Every name stands once, counts fall, fractions rise to 1."""
    if sum(counts.values()) == 0:
        with pytest.raises(ValueError, match="zero"):
            pareto(counts)
        return
    ranked = pareto(counts)
    assert {name: count for name, count, _ in ranked} == counts
    assert [count for _, count, _ in ranked] == sorted(counts.values(), reverse=True)
    fractions = [fraction for _, _, fraction in ranked]
    assert fractions == sorted(fractions)
    assert fractions[-1] == pytest.approx(1)


@given(st.floats(0, 5), st.floats(0, 60), st.sampled_from([0.5, 0.9, 0.95, 0.99, 0.999]))
def test_spares_are_the_poisson_quantile(demand: float, days: float, service: float) -> None:
    """Oracle scipy: the smallest number not exceeded with the service's chance."""
    count = spares(demand, days, service)
    assert stats.poisson.cdf(count, demand * days) >= service
    assert count == 0 or stats.poisson.cdf(count - 1, demand * days) < service


def test_spares_need_the_mean_repair_time_only() -> None:
    """Palm's theorem, simulated: fixed and widely spread repair times leave as many units away."""
    random = np.random.default_rng(2)
    arrivals = np.sort(random.uniform(0, 200_000, 20_000))  # a tenth a day
    for away in (np.full(20_000, 20.0), random.exponential(20, 20_000), random.uniform(0, 40, 20_000)):
        moments = random.uniform(1000, 199_000, 4000)
        out = [
            int(((arrivals[begin:end] + away[begin:end]) > moment).sum())
            for moment in moments
            for begin, end in [np.searchsorted(arrivals, [moment - 400, moment])]
        ]
        assert np.mean(np.array(out) <= spares(0.1, 20, 0.95)) == pytest.approx(stats.poisson.cdf(5, 2), abs=0.02)


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (mean_cumulative, ([],), "none"),
    (mean_cumulative, ([([5], 4)],), "after the end"),
    (mean_cumulative, ([([-5], 4)],), "negative"),
    (mean_cumulative, ([([math.nan], 4)],), "finite"),
    (mean_cumulative, ([([], math.inf)],), "finite"),
    (failure_rate, (0, 2, 0.9), "above zero"),
    (failure_rate, (100, -1, 0.9), "0 or more"),
    (failure_rate, (100, 1.5, 0.9), "whole"),
    (failure_rate, (100, 1, 90), "between 0 and 1"),
    (pareto, ({},), "no counts"),
    (pareto, ({"hose": 0},), "zero"),
    (pareto, ({"hose": -1, "lens": 2},), "count of hose"),
    (spares, (-0.1, 20, 0.95), "negative"),
    (spares, (0.1, math.inf, 0.95), "finite"),
    (spares, (0.1, 20, 1), "between 0 and 1"),
]


@pytest.mark.parametrize(("function", "arguments", "reason"), REFUSED)
def test_bad_input_is_refused(function: Callable[..., Any], arguments: tuple[Any, ...], reason: str) -> None:
    """What cannot be right raises ValueError, and the sentence says what is wrong."""
    with pytest.raises(ValueError, match=reason):
        function(*arguments)


BH_1995 = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528,
    0.7590, 1.0000,
)  # fmt: skip
"""Benjamini and Hochberg 1995, section 4: 15 hypotheses of a trial of thrombolysis; the first four are rejected at
0.05, Bonferroni's rule rejects three (from memory)."""


def test_published_step_up() -> None:
    """The published 15 chances: four are called; one by one at 0.05 it would have been nine."""
    assert worse(BH_1995) == [True] * 4 + [False] * 11
    assert sum(chance <= 0.05 for chance in BH_1995) == 9
    assert sum(chance <= 0.05 / 15 for chance in BH_1995) == 3


@given(st.lists(st.floats(0, 1), max_size=30), st.randoms())
def test_step_up_agrees_with_scipy(chances: list[float], shuffled: Any) -> None:
    """In any order, called are those whose adjusted chance by scipy is at most 0.05."""
    shuffled.shuffle(chances)
    expected = stats.false_discovery_control(chances) if chances else np.array([])
    called = worse(chances)
    for mine, theirs in zip(called, expected, strict=True):
        assert mine == (theirs <= 0.05) or abs(theirs - 0.05) < 1e-12


@given(st.integers(0, 30), st.integers(0, 200), st.floats(0.0, 1.0))
def test_chance_is_the_exact_binomial(mine: int, others: int, share: float) -> None:
    """scipy's own exact test, one-sided, of the unit's repairs among all by its share of the hours."""
    if mine + others == 0:
        assert as_many_by_chance(0, share, 0, 1.0) == 1.0
        return
    expected = stats.binomtest(mine, mine + others, share, alternative="greater").pvalue
    assert as_many_by_chance(mine, share, mine + others, 1.0) == pytest.approx(expected, rel=1e-6, abs=1e-300)


def test_an_even_fleet_is_seldom_called() -> None:
    """200 fleets of 60 equal units: a unit is called in at most 5 % of them, as the step-up promises (seeded)."""
    chance = np.random.default_rng(4)
    alarms = 0
    for _ in range(200):
        hours = chance.uniform(100, 900, 60)
        repairs = chance.poisson(0.004 * hours)
        whole, worn = int(repairs.sum()), float(hours.sum())
        alarms += any(worse([as_many_by_chance(int(n), h, whole, worn) for n, h in zip(repairs, hours, strict=True)]))
    assert alarms <= 17  # 10 expected at most; 5 % of 200 and two standard deviations more


@pytest.mark.parametrize(
    "given", [(2, 5.0, 1, 10.0), (1, 11.0, 1, 10.0), (1, 1.0, 1, 0.0), (-1, 1.0, 1, 1.0), (1, math.nan, 1, 1.0)]
)
def test_impossible_fleets_are_refused(given: tuple[int, float, int, float]) -> None:
    """More than the fleet, a fleet without hours, negative or no numbers."""
    with pytest.raises(ValueError, match=r"must|cannot"):
        as_many_by_chance(*given)


def test_impossible_chances_are_refused() -> None:
    """A chance above 1 or below 0, and a share of false alarms that is none."""
    for chances, share in (([1.1], 0.05), ([-0.1], 0.05), ([0.5], 0.0)):
        with pytest.raises(ValueError, match="must"):
            worse(chances, share)
