"""Use over an uncertain time: worked example of the methods, scipy's laws as oracles, what is lost between lengths."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy import stats

from cribdesk.compute.demand import fleet_changes
from cribdesk.compute.horizon import (
    Growing,
    growing,
    log_spread,
    lognormal_points,
    negative_binomial,
    pinball,
    summed,
)
from cribdesk.compute.laws import alike, model_of, thinned
from cribdesk.compute.life import fit_life
from cribdesk.compute.weibull import Weibull


def mean_and_variance(pmf: np.ndarray) -> tuple[float, float]:
    """Of a count."""
    counts = np.arange(pmf.size)
    mean = float(pmf @ counts)
    return mean, float(pmf @ (counts - mean) ** 2)


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """Total variation between two distributions of a count."""
    size = max(one.size, other.size)
    return float(np.abs(np.pad(one, (0, size - one.size)) - np.pad(other, (0, size - other.size))).sum()) / 2


@pytest.mark.parametrize(("mean", "variance"), [(0.3, 0.3), (0.3, 0.9), (12.0, 40.0), (150.0, 150.0)])
def test_negative_binomial_by_its_moments(mean: float, variance: float) -> None:
    """Mean and variance come back as they were given; no larger variance than mean is Poisson."""
    found = mean_and_variance(negative_binomial(mean, variance))
    assert found == pytest.approx((mean, variance), rel=2e-3)
    poisson = stats.poisson(mean).pmf(np.arange(400))
    assert (apart(negative_binomial(mean, mean / 2), poisson)) < 1e-6


def test_points_of_a_lognormal_time() -> None:
    """Its moments: mean exp(s^2 / 2), second moment exp(2 s^2) (lognormal law)."""
    points, weights = lognormal_points(1.0, 0.4)
    assert float(weights.sum()) == pytest.approx(1.0)
    assert float(weights @ points) == pytest.approx(np.exp(0.08), rel=1e-9)
    assert float(weights @ points**2) == pytest.approx(np.exp(0.32), rel=1e-7)


def test_between_two_lengths_of_a_poisson_stream() -> None:
    """Between the lengths worked out, the distribution is that of the stream itself, near enough: mean and 99 %."""
    grown = growing(40.0, lambda days: negative_binomial(days * 0.5, days * 0.5))
    for days in (3.0, 7.0, 13.0, 20.0, 33.0):
        law = stats.poisson(days * 0.5)
        found = grown.at(days)
        assert mean_and_variance(found)[0] == pytest.approx(law.mean(), rel=0.03)
        assert abs(int(np.searchsorted(np.cumsum(found), 0.99)) - int(law.ppf(0.99))) <= 1


def test_lead_time_spread_widens_the_use() -> None:
    """Variance over an uncertain time L: E[L] s^2 + d^2 Var[L], here Poisson at d a day (methods 5c, textbook)."""
    grown = growing(60.0, lambda days: negative_binomial(days * 2.0, days * 2.0))
    median, sd = 10.0, 0.4
    mean = median * np.exp(sd**2 / 2)
    variance = mean**2 * (np.exp(sd**2) - 1)
    found = mean_and_variance(grown.over(median, sd))
    assert found[0] == pytest.approx(2 * mean, rel=0.02)
    assert found[1] == pytest.approx(2 * mean + 4 * variance, rel=0.06)


def test_worked_fleet_over_uncertain_pace() -> None:
    """Worked example (v), methods 5a: over a sure time and pace the fleet's own distribution comes back."""
    fleet = [(0.0, 60.0), (10.0, 60.0), (25.0, 60.0), (38.0, 60.0), (55.0, 30.0), (5.0, 0.0)]
    life = Weibull(2.2, 45.0)
    grown = Growing((30.0, 60.0), tuple(fleet_changes(life, [(a, h * d / 60) for a, h in fleet]) for d in (30, 60)))
    mean, variance = mean_and_variance(grown.over(60.0, 0.0))
    assert (mean, variance) == pytest.approx((6.7940, 2.1548), rel=0.01)
    assert mean_and_variance(grown.over(60.0, 0.0, 0.0, 0.35))[1] > 2 * variance


def test_pinball_is_least_at_the_quantile() -> None:
    """The mean loss of drawn figures is least near their quantile (Koenker and Bassett 1978)."""
    rng = random.Random(4)
    drawn = [rng.random() * 100 for _ in range(4000)]
    losses = {at: sum(pinball(one, at, 0.9) for one in drawn) for at in range(0, 101, 5)}
    assert min(losses, key=losses.__getitem__) == 90


def test_sums_and_spreads() -> None:
    """Two Poisson counts add up to a Poisson one; without ratios the start value stands."""
    both = summed([negative_binomial(2.0, 2.0), negative_binomial(3.0, 3.0)])
    assert apart(both, stats.poisson(5.0).pmf(np.arange(40))) < 1e-5
    assert log_spread([], 0.3, 4) == pytest.approx(0.3)
    assert log_spread([1.5, 0.5, 2.0] * 20, 0.3, 4) > 0.5


@pytest.mark.parametrize("changes", [0, 5, 100])
def test_few_laws_stand_for_all(changes: int) -> None:
    """On 32 laws the fleet's distribution is within 0.04 of the whole model's, its mean within 1 %."""
    rng = random.Random(1)
    model = fit_life([rng.weibullvariate(60, 2) for _ in range(changes)], [20.0, 40.0], typical_hours=50)
    laws = thinned(model)
    assert len(laws) <= 32
    assert sum(one[2] for one in laws) == pytest.approx(1.0)
    kept = model_of(laws)
    assert kept.mean_log_scale == pytest.approx(model.mean_log_scale, rel=1e-3)
    assert kept.sd_log_scale == pytest.approx(model.sd_log_scale, rel=1e-3)
    assert kept.sd_log_shape == pytest.approx(model.sd_log_shape, rel=1e-3)
    fleet = [(rng.random() * 60, rng.random() * 60) for _ in range(10)]
    whole, few = fleet_changes(model, fleet), fleet_changes(kept, fleet)
    assert apart(whole, few) < 0.04
    assert mean_and_variance(few)[0] == pytest.approx(mean_and_variance(whole)[0], rel=0.01)


def test_alike_units_taken_together() -> None:
    """Of 400 units as many stay; the fleet's mean moves by under 1 %; few stay as they are."""
    rng = random.Random(2)
    fleet = [(rng.random() * 60, rng.random() * 40) for _ in range(400)]
    grouped = alike(fleet)
    assert len(grouped) == 400
    assert len(set(grouped)) <= 64
    life = Weibull(2.2, 45.0)
    whole, near = fleet_changes(life, fleet), fleet_changes(life, grouped, near=1e-3)
    assert mean_and_variance(near)[0] == pytest.approx(mean_and_variance(whole)[0], rel=0.01)
    assert apart(whole, near) < 0.02
    assert alike(fleet[:10]) == fleet[:10]


@pytest.mark.parametrize("pace_sd", [0.2, 0.5])
def test_an_uncertain_pace_leaves_the_mean_and_spreads(pace_sd: float) -> None:
    """Poisson use at a lognormal pace of mean 1: mean m, variance m + m^2 (exp(s^2) - 1), the law of total variance."""
    grown = growing(30.0, lambda days: negative_binomial(2 * days, 2 * days))
    pmf = grown.over(8.0, 0.0, 2.0, pace_sd)
    counts = np.arange(pmf.size)
    mean = float(pmf @ counts)
    assert mean == pytest.approx(20.0, rel=0.01)
    wanted = 20 + 400 * (np.exp(pace_sd**2) - 1)
    assert float(pmf @ (counts - mean) ** 2) == pytest.approx(wanted, rel=0.06)
