"""When to order and how much: order points, shortages, economic quantities, whole packs, safety stock."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import accumulate
from statistics import NormalDist

from cribdesk.compute import checks

NORMAL = NormalDist()
ROUNDING = 1e-12  # a sum of probabilities that misses the service level by rounding alone reaches it


def reorder_point(pmf: Iterable[float], service: float) -> int:
    """The smallest stock R for which the chance of needing no more than R is at least `service`.

    `pmf` holds the chances of needing 0, 1, 2 ... until a delivery ordered now is on the shelf; `service` is
    the cycle service level (the chance of no shortage), not the share of demand filled. Raises ValueError
    where the distribution was cut before it reaches the service level.
    Source: the definition of the cycle service level; discrete form.
    """
    chances = checks.probabilities(pmf)
    wanted = checks.fraction("The service level", service)
    for point, reached in enumerate(accumulate(chances)):
        if reached >= wanted - ROUNDING:
            return point
    reached = math.fsum(chances)
    raise ValueError(f"The distribution ends at {reached:.9g}, before the service level {wanted:.9g}")


def expected_shortage(pmf: Iterable[float], point: float) -> float:
    """The mean number that is missing at the end of the lead time: sum (d - point)+ p(d)."""
    chances = checks.probabilities(pmf)
    stock = checks.not_negative("The stock", point)
    return math.fsum((need - stock) * chance for need, chance in enumerate(chances) if need > stock)


def expected_expired(pmf: Iterable[float], stock: float) -> float:
    """The mean number that is still there at the expiry date: sum (stock - d)+ p(d), d the use until then."""
    chances = checks.probabilities(pmf)
    held = checks.not_negative("The stock", stock)
    return math.fsum((held - need) * chance for need, chance in enumerate(chances) if need < held)


def economic_quantity(per_year: float, order_cost: float, holding_cost: float) -> float:
    """The order quantity of least cost a year, sqrt(2 D K / h); 0 where nothing is used.

    `per_year` D in pieces, `order_cost` K for one order, `holding_cost` h for one piece over a year, both in
    one currency. Source: the economic order quantity (Harris 1913).
    """
    demand = checks.not_negative("The use a year", per_year)
    order = checks.not_negative("The cost of an order", order_cost)
    return math.sqrt(2 * demand * order / checks.positive("The cost of holding one a year", holding_cost))


def joint_cycle(items: Iterable[tuple[float, float]], order_cost: float) -> float:
    """Years between two orders of least cost where one order brings several items: sqrt(2 K / sum(D h)).

    Each item is (use a year D, cost of holding one over a year h); K is the cost of one order, whatever is on it.
    Infinite where nothing is used, or holding costs nothing. With one item, D times it is the economic quantity.
    Source: Chopra and Meindl, lots of several products ordered jointly: n = sqrt(sum(D h C) / (2 S)) orders a year.
    """
    pairs = [(checks.not_negative("The use a year", use), checks.not_negative("The cost of holding", cost))
             for use, cost in items]  # fmt: skip
    whole = math.fsum(use * cost for use, cost in pairs)
    order = checks.not_negative("The cost of an order", order_cost)
    return math.sqrt(2 * order / whole) if whole > 0 else math.inf


def packs(quantity: float, pack_size: int, per_year: float, order_cost: float, holding_cost: float) -> int:
    """Pieces to order: the cheaper of the two whole numbers of packs next to `quantity`, one pack at least.

    The two are compared by their cost a year, D K / Q + h Q / 2, not rounded; at equal cost the smaller.
    """
    wanted = checks.not_negative("The quantity", quantity)
    size = checks.whole("The pack size", pack_size, 1)
    demand = checks.not_negative("The use a year", per_year)
    order = checks.not_negative("The cost of an order", order_cost)
    holding = checks.positive("The cost of holding one a year", holding_cost)

    def cost(pieces: int) -> float:
        return demand * order / pieces + holding * pieces / 2

    fewer = max(1, math.floor(wanted / size)) * size
    more = max(1, math.ceil(wanted / size)) * size
    return min(fewer, more, key=lambda pieces: (cost(pieces), pieces))


def safety_stock(mean: float, sd: float, lead_mean: float, lead_sd: float, service: float) -> float:
    """Stock above the mean need over the lead time: z sqrt(L s^2 + d^2 s_L^2), normal approximation.

    `mean` d and `sd` s are the need in one period, `lead_mean` L and `lead_sd` s_L the lead time in the same
    periods. Below a service of one half it is negative. A cross-check beside `reorder_point`, which uses the
    distribution itself. Source: the usual formula of textbooks on stock, for example Chopra and Meindl.
    """
    lead = checks.not_negative("The mean lead time", lead_mean)
    within = lead * checks.not_negative("The deviation of the need", sd) ** 2
    late = checks.not_negative("The deviation of the lead time", lead_sd)
    between = (checks.not_negative("The mean need", mean) * late) ** 2
    return NORMAL.inv_cdf(checks.fraction("The service level", service)) * math.sqrt(within + between)


def normal_loss(z: float) -> float:
    """The standard normal loss L(z) = phi(z) - z (1 - Phi(z)): the mean shortage in deviations at z."""
    point = checks.number("z", z)
    if point < 0:
        return normal_loss(-point) - point
    density = math.exp(-(point**2) / 2) / math.sqrt(2 * math.pi)
    return max(0.0, density - point * math.erfc(point / math.sqrt(2)) / 2)
