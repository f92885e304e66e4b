"""Changes ahead and slow movers: closed forms, worked examples, simulated renewals, traps."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cribdesk.compute.demand import changes, croston, fleet_changes, mixed, sba, tsb
from cribdesk.compute.life import LifeModel, Weibull, fit_life
from cribdesk.compute.reorder import expected_shortage, reorder_point

# Worked example (v): shape 2.2, scale 45; age and worn hours of six units.
LIFE = Weibull(2.2, 45)
FLEET = [(0, 60), (10, 60), (25, 60), (38, 60), (55, 30), (5, 0)]
CHANCES = [
    0.000016, 0.000471, 0.006244, 0.040849, 0.137585, 0.248608, 0.265146, 0.180846, 0.083964, 0.027871,
    0.006878, 0.001302, 0.000194,
]  # fmt: skip


class Uniform:
    """A life that is anything from 0 to 1 hour; takes one number at a time."""

    def survival(self, hours: float) -> float:
        return max(0.0, 1 - hours)


class Erlang:
    """A life of two exponential parts, rate 1 each; takes arrays."""

    def survival(self, hours: Any) -> Any:
        return (1 + hours) * np.exp(-hours)


class LateStart:
    """Nothing happens before 10 hours, then a constant share is changed each hour until 20."""

    def survival(self, hours: float) -> float:
        return min(1.0, max(0.0, 2 - hours / 10))


class Exponential:
    """A life without memory, mean 10 hours."""

    def survival(self, hours: float) -> float:
        return math.exp(-hours / 10)


def moments(pmf: Any) -> tuple[float, float]:
    """Mean and variance of a count."""
    counts = np.arange(len(pmf))
    mean = float(counts @ np.asarray(pmf))
    return mean, float(counts**2 @ np.asarray(pmf)) - mean**2


def distance(first: Any, second: Any) -> float:
    """Total variation between two distributions of a count."""
    size = max(len(first), len(second))
    padded = [np.pad(np.asarray(pmf, dtype=float), (0, size - len(pmf))) for pmf in (first, second)]
    return float(np.abs(padded[0] - padded[1]).sum() / 2)


def simulated(shapes: Any, scales: Any, fleet: Sequence[tuple[float, float]], runs: int, seed: int) -> Any:
    """Changes counted unit by unit, run by run: lives drawn one after the other, by inversion."""
    random = np.random.default_rng(seed)
    total = np.zeros(runs, dtype=int)
    for age, hours in fleet:
        used = -(np.log(random.random(runs)) - (age / scales) ** shapes)  # given that it reached its age
        clock = scales * used ** (1 / shapes) - age
        while (due := clock <= hours).any():
            total += due
            clock = clock + np.where(due, scales * (-np.log(random.random(runs))) ** (1 / shapes), np.inf)
    return np.bincount(total) / runs


def test_uniform_life() -> None:
    """Closed form: a life uniform on 0 to 1 has e - 1 changes in an hour on average; P(N >= k) = 1 / k!."""
    pmf = changes(Uniform(), 0, 1)
    assert moments(pmf)[0] == pytest.approx(math.e - 1, abs=2e-6)
    at_least = np.cumsum(pmf[::-1])[::-1]
    assert at_least[:7] == pytest.approx([1 / math.factorial(k) for k in range(7)], abs=2e-6)


def test_erlang_life() -> None:
    """Closed form: M(3) = 3/2 - 1/4 + exp(-6)/4; pairs of Poisson events, new and at age 1.5."""
    new = changes(Erlang(), 0, 3)
    assert moments(new)[0] == pytest.approx(1.5 - 0.25 + math.exp(-6) / 4, abs=2e-6)
    assert new[:4] == pytest.approx([0.199148, 0.448084, 0.268850, 0.072013], abs=2e-6)
    pairs = [stats.poisson.pmf(2 * k, 3) + stats.poisson.pmf(2 * k + 1, 3) for k in range(8)]
    assert new[:8] == pytest.approx(pairs, abs=2e-6)
    assert changes(Erlang(), 1.5, 3)[:4] == pytest.approx([0.109532, 0.403275, 0.342784, 0.119542], abs=2e-6)


def test_life_without_memory_is_poisson() -> None:
    """Closed form: an exponential life gives Poisson counts, whatever the age."""
    for age in (0, 7, 300):
        assert changes(Exponential(), age, 25)[:12] == pytest.approx(stats.poisson.pmf(range(12), 2.5), abs=2e-6)
        assert changes(Weibull(1, 10), age, 25)[:12] == pytest.approx(stats.poisson.pmf(range(12), 2.5), abs=2e-6)


@pytest.mark.parametrize(
    ("shape", "hours", "mean"), [(2, 1, 0.75369), (1.5, 1, 0.84158), (3, 1, 0.67233), (2, 2, 1.89404)]
)
def test_weibull_renewals(shape: float, hours: float, mean: float) -> None:
    """Mean renewals of a Weibull of scale 1 (computed; tables exist in Soland 1968 and Baxter et al.)."""
    assert moments(changes(Weibull(shape, 1), 0, hours))[0] == pytest.approx(mean, abs=6e-6)


def test_single_changes_are_poisson_binomial() -> None:
    """Worked example (iv): chances 0.1, 0.2, 0.3 without second changes give 0.504, 0.398, 0.092, 0.006."""
    pmf = fleet_changes(LateStart(), [(10, 1), (10, 2), (10, 3)])
    assert pmf == pytest.approx([0.504, 0.398, 0.092, 0.006], abs=1e-9)


def test_worked_fleet() -> None:
    """Worked example (v) (computed; simulation of 400 000 runs): chances, mean, variance and service points."""
    pmf = fleet_changes(LIFE, FLEET)
    assert pmf[1:14] == pytest.approx(CHANCES, abs=2e-6)
    assert moments(pmf) == pytest.approx((6.7940, 2.1548), abs=6e-5)
    assert [reorder_point(pmf, service) for service in (0.90, 0.95, 0.98)] == [9, 9, 10]


def test_worked_uncertain_hours() -> None:
    """Worked example (vi) (computed): the same fleet, worn hours times 0.5, 1 or 1.5."""
    ahead = [fleet_changes(LIFE, [(age, hours * share) for age, hours in FLEET]) for share in (0.5, 1, 1.5)]
    pmf = mixed(ahead, [0.25, 0.5, 0.25])
    assert moments(pmf) == pytest.approx((6.7789, 7.9234), abs=1e-4)
    assert [reorder_point(pmf, service) for service in (0.90, 0.95, 0.99)] == [11, 12, 13]
    assert expected_shortage(pmf, 10) == pytest.approx(0.19039, abs=6e-6)
    assert expected_shortage(pmf, 12) == pytest.approx(0.03215, abs=6e-6)


@pytest.mark.parametrize("runs", [60_000, pytest.param(1_000_000, marks=pytest.mark.long)])
@pytest.mark.parametrize(("shape", "scale"), [(2.2, 45), (0.8, 30), (6, 25)])
def test_simulated_renewals(shape: float, scale: float, runs: int) -> None:
    """Lives drawn one after the other give the same distribution: total variation under 0.02."""
    pmf = fleet_changes(Weibull(shape, scale), FLEET)
    drawn = simulated(np.full(runs, shape), np.full(runs, scale), FLEET, runs, seed=11)
    assert distance(pmf, drawn) < (0.02 if runs < 1e6 else 0.004)


def model() -> LifeModel:
    """A life hardly known: a rule of thumb, four changes, three in service."""
    return fit_life([22, 31, 35, 44], [10, 28, 50], typical_hours=40)


def test_simulated_renewals_of_an_uncertain_life() -> None:
    """A life drawn from the posterior once a run, then all units by it: total variation under 0.02."""
    life, runs = model(), 60_000
    which = np.random.default_rng(5).choice(life.weight.size, size=runs, p=life.weight)
    drawn = simulated(life.shape[which], life.scale[which], FLEET, runs, seed=12)
    assert distance(fleet_changes(life, FLEET), drawn) < 0.02


def test_posterior_is_averaged_after_the_convolution() -> None:
    """Trap: thirty units whose life is known within 25 %; averaged unit by unit the demand is far too narrow."""
    life = fit_life([], typical_hours=45, scale_sd=0.25, shape_centre=2.2, shape_sd=0.05)
    right = fleet_changes(life, [(0, 45)] * 30)
    one = fleet_changes(life, [(0, 45)])
    wrong = np.ones(1)
    for _ in range(30):
        wrong = np.convolve(wrong, one)
    assert moments(right)[0] == pytest.approx(moments(wrong)[0], rel=1e-4)  # only the spread differs
    assert math.sqrt(moments(right)[1]) > 2.4 * math.sqrt(moments(wrong)[1])
    assert reorder_point(right, 0.95) >= reorder_point(wrong, 0.95) + 10


def test_averaged_survival_is_not_taken_for_a_life() -> None:
    """Trap: a LifeModel has a survival too; renewals by that average would forget that all share one life."""
    life = fit_life([], typical_hours=45)

    class Averaged:
        def survival(self, hours: Any) -> Any:
            return life.survival(hours)

    units = [(0.0, 60.0)] * 5
    assert moments(fleet_changes(life, units))[1] > 2 * moments(fleet_changes(Averaged(), units))[1]


def test_poisson_is_too_wide() -> None:
    """Trap: at the same mean a Poisson has three times the variance of a fleet that wears out."""
    mean, variance = moments(fleet_changes(LIFE, FLEET))
    assert variance < mean / 3


@pytest.mark.parametrize("counted", [True, False])
def test_one_unit_agrees_with_the_life_model(counted: bool) -> None:
    """Whether the age is among the data is told apart as on the unit's card: P(no change) = 1 - chance."""
    life = model()
    pmf = fleet_changes(life, [(30, 8)], counted=counted)
    assert pmf[0] == pytest.approx(1 - life.chance(30, 8, counted=counted), abs=3e-6)


def test_ages_are_taken_as_counted_unless_told() -> None:
    """A fleet's running ages are among the data the model was fitted to: that is what is assumed."""
    assert list(fleet_changes(model(), FLEET)) == list(fleet_changes(model(), FLEET, counted=True))


def test_a_known_life_is_the_limit_of_a_model() -> None:
    """A model that is all but sure gives what its one life gives."""
    life = fit_life([], typical_hours=45, scale_sd=1e-4, shape_centre=2.2, shape_sd=1e-4)
    assert distance(fleet_changes(life, FLEET), fleet_changes(LIFE, FLEET)) < 2e-4


def test_far_over_age_is_due_at_once() -> None:
    """A part worn many lives over is changed at once, and a zero horizon changes nothing."""
    pmf = changes(Weibull(8, 45), 900, 5)
    assert pmf[0] < 1e-9
    assert pmf[1] == pytest.approx(1, abs=1e-6)
    assert list(changes(LIFE, 30, 0)) == [1.0]
    assert list(fleet_changes(LIFE, [(0, 0), (90, 0)])) == [1.0]


def test_a_part_due_at_once_beside_a_longer_horizon() -> None:
    """Trap: all of a first change can lie in a sliver of a cell; the rest is then a new part's changes."""
    life = Weibull(5, 5)
    due_at_once = np.convolve([0.0, 1.0], changes(life, 0, 3))
    expected = np.convolve(changes(life, 0, 5), due_at_once)
    assert distance(fleet_changes(life, [(0, 5), (900, 3)]), expected) < 1e-5


def test_long_horizon_approaches_the_renewal_theorem() -> None:
    """Smith's renewal theorem: M(t) tends to t / mean + (variance / mean^2 - 1) / 2."""
    life = Weibull(2, 2)
    mean, variance = life.mean(), life.deviation() ** 2
    expected = 200 / mean + (variance / mean**2 - 1) / 2
    assert moments(changes(life, 0, 200))[0] == pytest.approx(expected, rel=1e-4)


REFUSED: list[tuple[Any, list[tuple[float, float]], str]] = [
    (LIFE, [], "none"),
    (LIFE, [(-1, 5)], "negative"),
    (LIFE, [(1, -5)], "negative"),
    (LIFE, [(math.nan, 5)], "finite"),
    (LIFE, [(1, math.inf)], "finite"),
    (Uniform(), [(1, 0.5)], "No part of this life reaches"),
    (Weibull(2, 0.01), [(0, 100)], "More than 1000 changes"),
]


@pytest.mark.parametrize(("life", "units", "reason"), REFUSED)
def test_bad_units_are_refused(life: Any, units: list[tuple[float, float]], reason: str) -> None:
    """Hours that cannot be, and horizons that cannot be computed, raise ValueError with the reason."""
    with pytest.raises(ValueError, match=reason):
        fleet_changes(life, units)


def test_a_survival_that_is_none_is_refused() -> None:
    """A survival above 1, or one that does not begin at 1, is not a life."""

    class Doubled:
        def survival(self, hours: float) -> float:
            return 2.0 - hours

    class Half:
        def survival(self, hours: float) -> float:
            return 0.5 * math.exp(-hours)

    with pytest.raises(ValueError, match="between 0 and 1"):
        changes(Doubled(), 0, 1)
    with pytest.raises(ValueError, match="must be 1"):
        changes(Half(), 0, 1)


FEWER = settings(max_examples=settings().max_examples // 4)  # each takes some milliseconds
lives = st.builds(Weibull, st.floats(0.6, 8), st.floats(5, 200))
fleets = st.lists(st.tuples(st.floats(0, 150), st.floats(0, 80)), min_size=1, max_size=5)


@given(lives, fleets)
@FEWER
def test_chances_add_up(life: Weibull, fleet: list[tuple[float, float]]) -> None:
    """Chances are never negative and add up to 1 but for the far end under 1e-9, which is cut."""
    pmf = fleet_changes(life, fleet)
    assert pmf.min() >= 0
    assert pmf.sum() == pytest.approx(1, abs=2e-9)
    assert pmf[-1] > 1e-11


@given(lives, st.floats(0, 100), st.floats(0, 60), st.floats(0, 40))
@FEWER
def test_more_hours_never_need_fewer(life: Weibull, age: float, hours: float, more: float) -> None:
    """Every chance of at least k changes grows with the hours; the first is the life's own conditional chance."""
    less, longer = changes(life, age, hours), changes(life, age, hours + more)
    assert 1 - less[0] == pytest.approx(life.chance(age, hours), abs=1e-8)  # a tail under 1e-9 is cut
    size = max(less.size, longer.size)
    gone = [np.cumsum(np.pad(pmf, (0, size - pmf.size))) for pmf in (less, longer)]
    assert (gone[1] <= gone[0] + 2e-5).all()


@given(lives, fleets)
@FEWER
def test_order_and_splitting_do_not_matter(life: Weibull, fleet: list[tuple[float, float]]) -> None:
    """The fleet is the convolution of its units in any order, but for the grid on which units of one life are laid."""
    whole = fleet_changes(life, fleet[::-1])
    apart = np.ones(1)
    for age, hours in fleet:
        apart = np.convolve(apart, changes(life, age, hours))
    assert distance(whole, apart) < 5e-5


def test_mixing_checks_what_it_is_given() -> None:
    """Distributions and their chances must be as many, and add up."""
    assert list(mixed([[1.0], [0.0, 1.0]], [0.25, 0.75])) == [0.25, 0.75]
    with pytest.raises(ValueError, match="as many"):
        mixed([[1.0]], [0.5, 0.5])
    with pytest.raises(ValueError, match="add up to 1"):
        mixed([[1.0], [1.0]], [0.5, 0.4])


SERIES = st.lists(st.integers(0, 9), min_size=1, max_size=40)
alphas = st.sampled_from([0.05, 0.1, 0.3, 1.0])


@given(SERIES, alphas, st.integers(1, 20))
def test_only_tsb_fades(series: list[int], alpha: float, idle: int) -> None:
    """Periods without use leave Croston's forecast as it is and make the other fade; nothing used forecasts 0."""
    later = series + [0] * idle
    assert croston(later, alpha) == croston(series, alpha)
    assert tsb(later, alpha, alpha) <= tsb(series, alpha, alpha)
    assert tsb([0] * idle, alpha, alpha) == croston([0] * idle, alpha) == sba([0] * idle, alpha) == 0


@given(SERIES, alphas, st.integers(2, 50))
def test_forecasts_keep_their_unit(series: list[int], alpha: float, factor: int) -> None:
    """Use counted in other pieces forecasts the same in those pieces."""
    scaled = [pieces * factor for pieces in series]
    assert croston(scaled, alpha) == pytest.approx(croston(series, alpha) * factor)
    assert tsb(scaled, alpha, 0.1) == pytest.approx(tsb(series, alpha, 0.1) * factor)
    assert sba(series, alpha) == pytest.approx((1 - alpha / 2) * croston(series, alpha))


def test_croston_is_biased_upward() -> None:
    """Trap: for use of 1 in a fifth of all periods Croston forecasts too much, and the correction repairs most."""
    drawn = (np.random.default_rng(1).random((400, 300)) < 0.2).astype(float)
    plain = np.mean([croston(list(row), 0.3) for row in drawn])
    corrected = np.mean([sba(list(row), 0.3) for row in drawn])
    assert plain > 0.22
    assert abs(corrected - 0.2) < abs(plain - 0.2) / 3


@pytest.mark.parametrize(
    ("series", "alpha", "reason"),
    [
        ([], 0.1, "none"),
        ([1, -1], 0.1, "negative"),
        ([1], 0, "above 0"),
        ([1], 1.1, "at most 1"),
        ([math.nan], 0.1, "f"),
    ],
)
def test_bad_history_is_refused(series: list[float], alpha: float, reason: str) -> None:
    """An empty or negative history, or a weight outside 0 to 1, raises ValueError, whichever the method."""
    for forecast in (croston, sba):
        with pytest.raises(ValueError, match=reason):
            forecast(series, alpha)
    with pytest.raises(ValueError, match=reason):
        tsb(series, alpha, alpha)
