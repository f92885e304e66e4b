"""Order points, shortages and quantities: textbook cases, scipy's distributions, traps, properties."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, stats

from cribdesk.compute import reorder

means = st.floats(0.01, 60)
services = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.98, 0.99, 0.999])


def poisson(mean: float) -> list[float]:
    """A Poisson distribution, cut where nothing is left."""
    last = int(stats.poisson.ppf(1 - 1e-12, mean))
    return [float(chance) for chance in stats.poisson.pmf(range(last + 1), mean)]


@given(means, services)
def test_poisson_points_and_shortages(mean: float, service: float) -> None:
    """Oracle scipy: the order point is its quantile, the shortage its sum, and one more never lowers the service."""
    pmf = poisson(mean)
    point = reorder.reorder_point(pmf, service)
    assert point == stats.poisson.ppf(service, mean)
    direct = stats.poisson.expect(lambda need: np.maximum(need - point, 0), (mean,), tolerance=1e-12, maxcount=5000)
    assert reorder.expected_shortage(pmf, point) == pytest.approx(direct, abs=1e-8)


@given(st.floats(0.5, 30), st.floats(1.1, 5), services)
def test_negative_binomial_points(mean: float, spread: float, service: float) -> None:
    """Oracle scipy: lumpy need of more variance than a Poisson."""
    law = stats.nbinom(mean / (spread - 1), 1 / spread)
    pmf = law.pmf(range(int(law.ppf(1 - 1e-10)) + 2))
    assert reorder.reorder_point(pmf, service) == law.ppf(service)


@given(means, st.integers(0, 80))
def test_shortage_falls_with_stock(mean: float, point: int) -> None:
    """A piece more lowers the mean shortage by the chance of needing it; none at all leaves the mean."""
    pmf = poisson(mean)
    first, second = (reorder.expected_shortage(pmf, stock) for stock in (point, point + 1))
    assert first - second == pytest.approx(float(stats.poisson.sf(point, mean)), abs=1e-9)
    assert reorder.expected_shortage(pmf, 0) == pytest.approx(mean, rel=1e-9, abs=1e-10)


@given(means, st.integers(0, 80))
def test_what_is_left_and_what_is_missing_balance(mean: float, stock: int) -> None:
    """Stock less use is what is left less what is missing, on average."""
    pmf = poisson(mean)
    left, missing = reorder.expected_expired(pmf, stock), reorder.expected_shortage(pmf, stock)
    assert left - missing == pytest.approx(stock - mean, abs=1e-8)


def test_expiring_stock() -> None:
    """Worked case (constructed): 30 on hand, Poisson need of 20 before expiry leaves 10.0321 to throw away."""
    assert reorder.expected_expired(poisson(20), 30) == pytest.approx(10.0321, abs=6e-5)


def test_zero_need_needs_no_stock() -> None:
    """Nothing needed: order point 0, no shortage, economic quantity 0."""
    assert reorder.reorder_point([1.0], 0.99) == 0
    assert reorder.expected_shortage([1.0], 0) == 0
    assert reorder.economic_quantity(0, 16, 3) == 0


def test_a_service_reached_but_for_rounding_is_reached() -> None:
    """Eight tenths added up are 0.8, though their sum as floats falls short of it."""
    assert sum([0.1] * 8) < 0.8
    assert reorder.reorder_point([0.1] * 10, 0.8) == 7


def test_cycle_service_is_not_fill_rate() -> None:
    """Trap. Chopra and Meindl, exercise 11-4 (verified): R 600 gives service 0.68 a cycle but fills 0.956."""
    deviation = 150 * math.sqrt(2)
    assert deviation == pytest.approx(212, abs=0.5)
    z = (600 - 2 * 250) / deviation
    shortage = deviation * reorder.normal_loss(z)
    assert stats.norm.cdf(z) == pytest.approx(0.68, abs=5e-3)
    assert shortage == pytest.approx(43.86, abs=5e-3)
    assert 1 - shortage / 1000 == pytest.approx(0.96, abs=5e-3)
    assert 1 - shortage / 1000 == pytest.approx(0.95614, abs=6e-6)  # recomputed


def test_order_points_of_textbooks() -> None:
    """Constant need with lead time N(3, 2), and coffee beans (inputs verified, results computed)."""
    assert 5 * 3 + reorder.safety_stock(5, 0, 3, 2, 0.95) == pytest.approx(31.449, abs=6e-4)
    assert 75 * 4 + reorder.safety_stock(75, 15, 4, 0, 0.99) == pytest.approx(369.79, abs=6e-3)


def test_quantity_and_point_together() -> None:
    """Nahmias, mustard (111 and 143 from memory): Q and R found in turn end at 110.77, 142.57, shortage 0.45416."""
    demand, order, holding, penalty = 200, 50, 2, 25
    quantity, shortage, z = reorder.economic_quantity(demand, order, holding), 0.0, 0.0
    assert quantity == 100
    for _ in range(60):
        z = float(stats.norm.isf(quantity * holding / (penalty * demand)))
        shortage = 25 * reorder.normal_loss(z)
        quantity = reorder.economic_quantity(demand, order + penalty * shortage, holding)
    assert (quantity, 100 + 25 * z, shortage) == pytest.approx((110.77, 142.57, 0.45416), abs=6e-3)
    assert (round(quantity), round(100 + 25 * z)) == (111, 143)


@given(st.floats(-8, 8))
def test_normal_loss_is_the_mean_shortage(z: float) -> None:
    """Oracle: the loss integrates the upper tail, and L(-z) = z + L(z)."""
    tail, _ = integrate.quad(stats.norm.sf, z, np.inf, epsabs=1e-14)
    assert reorder.normal_loss(z) == pytest.approx(tail, rel=1e-6, abs=1e-16)
    assert reorder.normal_loss(-z) == pytest.approx(z + reorder.normal_loss(z), abs=1e-12)


def test_normal_loss_far_out_is_not_negative() -> None:
    """Where the two terms all but cancel the loss stays at zero or above."""
    assert all(reorder.normal_loss(z) >= 0 for z in np.linspace(5, 60, 500))


@given(st.floats(0.1, 1e4), st.floats(0.1, 100), st.floats(0.01, 50), st.integers(1, 60), st.floats(0, 2000))
def test_packs_take_the_cheaper_neighbour(
    per_year: float, order: float, holding: float, size: int, quantity: float
) -> None:
    """A whole number of packs, one at least, next to the quantity, and no dearer than the other neighbour."""

    def cost(pieces: float) -> float:
        return per_year * order / pieces + holding * pieces / 2

    pieces = reorder.packs(quantity, size, per_year, order, holding)
    assert pieces % size == 0
    assert pieces >= size
    assert abs(pieces - quantity) <= size
    others = {max(1, count(quantity / size)) * size for count in (math.floor, math.ceil)}
    assert cost(pieces) == min(cost(other) for other in others)


@given(st.floats(1, 1e4), st.floats(0.1, 100), st.floats(0.01, 50), st.floats(0.2, 5))
def test_economic_quantity_costs_least(per_year: float, order: float, holding: float, share: float) -> None:
    """No other quantity costs less a year, and ordering then costs as much as holding."""
    best = reorder.economic_quantity(per_year, order, holding)
    assert per_year * order / best == pytest.approx(holding * best / 2)
    other = best * share
    assert per_year * order / other + holding * other / 2 >= holding * best * (1 - 1e-12)


def test_joint_orders_of_the_textbook() -> None:
    """Three models of one supplier, ordered jointly: 9.75 orders a year, lots 1230, 123 and 12.3.

    Chopra and Meindl, Supply Chain Management, lots aggregated on one order (figures from memory): use 12 000,
    1 200 and 120 a year at 500 each, holding 20 % a year, an order 4 000 and each model on it 1 000.
    """
    use = (12_000, 1_200, 120)
    years = reorder.joint_cycle([(one, 0.2 * 500) for one in use], 4_000 + 3 * 1_000)
    assert 1 / years == pytest.approx(9.75, abs=0.005)
    assert [one * years for one in use] == pytest.approx([1230, 123, 12.3], rel=0.001)


def test_one_item_alone_is_the_economic_quantity() -> None:
    """Use times the joint time is the square-root formula; none used, or held for nothing, is never."""
    assert 240 * reorder.joint_cycle([(240, 1.2)], 18) == pytest.approx(reorder.economic_quantity(240, 18, 1.2))
    assert reorder.joint_cycle([], 18) == reorder.joint_cycle([(240, 0)], 18) == math.inf
    with pytest.raises(ValueError, match="must not be negative"):
        reorder.joint_cycle([(-1, 1)], 18)


def test_packs_are_compared_not_rounded() -> None:
    """Trap: the nearer pack multiple is not always the cheaper one."""
    assert reorder.packs(14.1, 10, 10, 10, 1) == 10
    assert reorder.packs(14.4, 10, 10, 10.368, 1) == 20


@given(st.floats(0.1, 50), st.floats(0, 20), st.floats(0, 30), st.floats(0, 10), services, services)
def test_more_service_or_spread_never_needs_less(
    mean: float, sd: float, lead: float, lead_sd: float, service: float, other: float
) -> None:
    """Safety stock grows with the service, and from one half up with every deviation."""
    assume(sd * lead + lead_sd > 0)
    low, high = sorted((service, other))
    stock = reorder.safety_stock(mean, sd, lead, lead_sd, low)
    assert 0 <= stock <= reorder.safety_stock(mean, sd, lead, lead_sd, high)
    assert stock <= reorder.safety_stock(mean, sd + 1, lead, lead_sd + 1, low)


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (reorder.reorder_point, ([], 0.9), "none"),
    (reorder.reorder_point, ([0.5, 0.4], 0.9), "add up to 1"),
    (reorder.reorder_point, ([1.5, -0.5], 0.9), "negative"),
    (reorder.reorder_point, ([0.5, math.nan], 0.9), "finite"),
    (reorder.reorder_point, ([0.5, 0.5], 1), "between 0 and 1"),
    (reorder.reorder_point, ([0.5, 0.5], 95), "between 0 and 1"),
    (reorder.reorder_point, ([0.5, 0.4999995], 0.9999999), "before the service level"),
    (reorder.expected_shortage, ([0.5, 0.5], -1), "negative"),
    (reorder.expected_shortage, ([0.5, 0.5], math.inf), "finite"),
    (reorder.expected_expired, ([0.5, 0.5], -1), "negative"),
    (reorder.economic_quantity, (-1, 16, 3), "negative"),
    (reorder.economic_quantity, (100, -16, 3), "negative"),
    (reorder.economic_quantity, (100, 16, 0), "above zero"),
    (reorder.packs, (85, 0, 240, 18, 1.2), "1 or more"),
    (reorder.packs, (85, 2.5, 240, 18, 1.2), "whole"),
    (reorder.packs, (-1, 20, 240, 18, 1.2), "negative"),
    (reorder.packs, (85, 20, 240, 18, 0), "above zero"),
    (reorder.safety_stock, (5, -1, 3, 2, 0.9), "negative"),
    (reorder.safety_stock, (5, 1, -3, 2, 0.9), "negative"),
    (reorder.safety_stock, (5, 1, 3, 2, 1), "between 0 and 1"),
    (reorder.normal_loss, (math.nan,), "finite"),
]


@pytest.mark.parametrize(("function", "arguments", "reason"), REFUSED)
def test_bad_input_is_refused(function: Callable[..., Any], arguments: tuple[Any, ...], reason: str) -> None:
    """What cannot be right raises ValueError, and the sentence says what is wrong."""
    with pytest.raises(ValueError, match=reason):
        function(*arguments)
