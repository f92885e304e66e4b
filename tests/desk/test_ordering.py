"""When and how much to order: published figures through the whole path, limits, and who outranks whom."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from scipy import stats

from cribdesk.crib.stock_forecast import NONE, TSB, Demand, Lead, Spread
from cribdesk.desk.ordering import Costs, Position, advise, suggested
from cribdesk.desk.stock_outlook import urgency

AT = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
COSTS = Costs(1800.0, 0.5)


def poisson(mean: float) -> Spread:
    """A Poisson count."""
    return Spread(0, tuple(float(one) for one in stats.poisson(mean).pmf(range(int(mean * 4) + 20))))


def demand(a_day: float = 1.0, service: float = 0.95, **changes: object) -> Demand:
    """A steady Poisson use, a delivery in 10 days, a look every 7."""
    made = Demand(
        item_id=1, method=TSB, basis="52 weeks", service=service, lead=Lead(10.0, 0.3, 4, "learnt from 4 deliveries"),
        review_days=7, a_day=a_day, until_delivery=poisson(10 * a_day), until_next=poisson(17 * a_day),
        path=((17.0, 17 * a_day, 12 * a_day, 22 * a_day),), to_expiry=None, fleet_share=0.0, scores=(), history=(),
        history_to=AT, seq=1, at=AT,
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def there(usable: int = 0, **changes: object) -> Position:
    """So many pieces, nothing else set."""
    made = Position(
        usable=usable, on_order=0, reserved=0, expiring=0, shelf=usable, pack_size=1, price_cents=240, minimum=0,
        maximum=None, shelf_days=None,
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("service", [0.9, 0.97, 0.99])
def test_the_point_is_the_quantile(service: float) -> None:
    """The order point is scipy's quantile of the use over delivery and review."""
    assert suggested(demand(service=service), there(), COSTS).point == int(stats.poisson(17).ppf(service))


def test_nothing_is_ordered_at_the_point() -> None:
    """At the point the stock is enough at the service level; one piece under it is not."""
    point = suggested(demand(), there(), COSTS).point or 0
    assert not advise(demand(), there(point), COSTS).order_now
    assert advise(demand(), there(point - 1), COSTS).order_now
    assert not advise(demand(), there(point - 5, on_order=5), COSTS).order_now
    assert advise(demand(), there(point, reserved=1), COSTS).order_now
    assert advise(demand(), there(point, expiring=1), COSTS).order_now


def test_packs_by_cost() -> None:
    """Worked example of methods 5c: 240 a year, order 18, holding 1.2 a year, pack 20: 80 and not 100."""
    use = demand(a_day=240 / 365.25)
    advice = advise(use, there(8, pack_size=20), COSTS)
    assert (advice.packs, advice.pieces, advice.cost_cents) == (4, 80, 80 * 240)
    assert any(line.name == "Cheapest quantity" and line.figure == "84.9 pieces" for line in advice.lines)


def test_items_of_one_supplier_share_the_cost_of_an_order() -> None:
    """What comes together is ordered for the time between two orders, whatever the cost of one for the item alone."""
    use = demand(a_day=240 / 365.25, cycle_days=30.0)
    advice = advise(use, there(8), COSTS)
    assert advice.pieces == 20  # 240 a year, a twelfth of it: 19.7
    assert advice.up_to == (advice.point or 0) + 19
    assert any("30 days between two orders" in line.basis for line in advice.lines)


def test_what_would_be_due_before_the_next_order_goes_along() -> None:
    """From the point up to what is used between two orders; not more, not where it is due itself, or no one shares."""
    use = demand(a_day=1.0, cycle_days=30.0)
    point = suggested(use, there(), COSTS).point or 0
    told = {have: advise(use, there(point + have), COSTS) for have in (-1, 0, 10, 28, 29, 30)}
    assert {have: one.along for have, one in told.items()} == {-1: 0, 0: 29, 10: 19, 28: 1, 29: 0, 30: 0}
    assert [have for have, one in told.items() if one.order_now] == [-1]
    assert advise(use, there(point + 10, pack_size=8), COSTS).along == 24
    assert advise(demand(), there(point), COSTS).along == 0
    assert advise(use, there(point, shelf_space=point + 5), COSTS).along == 5
    assert advise(use, there(point, maximum=point + 7, pack_size=5), COSTS).along == 5
    assert advise(use, there(point, maximum=point + 8, pack_size=5), COSTS).along == 5
    told = {have: advise(use, there(point + have, maximum=point + 50), COSTS).along for have in (29, 30)}
    assert told == {29: 21, 30: 0}


def test_the_need_outranks_the_cheapest_quantity() -> None:
    """Where the point is further away than the economic quantity, the order reaches it, in whole packs."""
    point = suggested(demand(), there(), COSTS).point or 0
    advice = advise(demand(), there(0, pack_size=10, price_cents=5_000_00), COSTS)
    assert advice.pieces >= point
    assert advice.pieces % 10 == 0
    assert advice.pieces - point < 10


def test_own_minimum_and_maximum_outrank() -> None:
    """The storekeeper's figures stand, higher or lower than those suggested; the suggestion stays visible."""
    high = advise(demand(), there(40, minimum=60, maximum=90, pack_size=10), COSTS)
    assert (high.point, high.up_to, high.pieces) == (60, 90, 50)
    assert high.suggested_point == int(stats.poisson(17).ppf(0.95))
    low = advise(demand(), there(8, minimum=5), COSTS)
    assert (low.order_now, low.point) == (False, 5)
    over = advise(demand(), there(4, minimum=5, maximum=6, pack_size=50), COSTS)
    assert (over.packs, "over the maximum" in over.words) == (1, True)
    full = advise(demand(), there(4, minimum=5, maximum=6, pack_size=2), COSTS)
    assert (full.pieces, "over the maximum" in full.words) == (2, False)
    assert advise(demand(a_day=0.1), there(40, minimum=60), COSTS).up_to == 60
    assert advise(demand(), there(8, minimum=5), COSTS, own=False).order_now


def test_never_what_would_expire_unused() -> None:
    """Of a quantity that is not used within the shelf life only what is goes on order; with a full shelf nothing."""
    use = demand(a_day=0.1, to_expiry=30.0)
    cheap = there(0, price_cents=1)
    assert advise(replace(use, to_expiry=None), cheap, COSTS).pieces > 100
    limited = advise(use, cheap, COSTS)
    assert limited.pieces == int(30 - 1.28 * 30**0.5)
    assert "pass its date unused" in limited.words
    assert stats.poisson(30).cdf(limited.pieces) < 0.15
    some = advise(use, there(3, price_cents=1), COSTS)
    assert some.pieces == limited.pieces - 3
    big = advise(use, there(0, on_order=1, price_cents=1, pack_size=50), COSTS)
    assert (big.pieces, big.order_now) == (0, False)
    assert "not even one pack" in big.words
    assert advise(use, there(0, price_cents=1, pack_size=50), COSTS).packs == 1


def test_shelf_space_limits() -> None:
    """No more than fits, what is expired or on its way taking up space too."""
    advice = advise(demand(), there(2, shelf=10, on_order=4, shelf_space=25, price_cents=1, pack_size=4), COSTS)
    assert advice.pieces == 8
    assert any("the shelf holds 25" in line.basis for line in advice.lines)


def test_no_figure_is_no_suggestion() -> None:
    """An item without use, model or minimum gets no number; its own minimum is kept all the same."""
    nothing = demand(a_day=0.0, method=NONE, until_delivery=None, until_next=None)
    advice = advise(nothing, there(0), COSTS)
    assert (advice.point, advice.pieces, advice.words) == (None, 0, "No figure. Set a minimum.")
    assert advise(nothing, there(1, minimum=3, maximum=6), COSTS).pieces == 5
    assert advise(None, there(1, minimum=3), COSTS).order_now
    unused = advise(demand(a_day=0.0), there(0, pack_size=5), COSTS)
    assert (unused.point, unused.up_to, unused.pieces) == (0, 0, 0)


def test_a_part_that_is_free_of_charge() -> None:
    """Without a price there is no cheapest quantity: the order covers one delivery and review time."""
    advice = advise(demand(), there(0, price_cents=0), COSTS)
    point = suggested(demand(), there(), COSTS).point or 0
    assert advice.pieces == max(point, 17)
    assert not any(line.name == "Cheapest quantity" for line in advice.lines)


def test_how_long_pieces_last() -> None:
    """By the mean use; the last piece is as likely as not gone once the mean is half a piece further."""
    steady = demand(a_day=0.5, path=((10.0, 10.0, 6.0, 14.0), (30.0, 20.0, 12.0, 28.0)))
    assert [steady.days_of(pieces) for pieces in (0, 5, 10, 15, 22)] == [0.0, 5.0, 10.0, 20.0, 34.0]
    assert [steady.likely_days_of(pieces) for pieces in (0, 5, 10)] == [0.5, 5.5, 11.0]
    assert demand(a_day=0.0, path=()).days_of(3) is None


def test_the_worst_comes_first() -> None:
    """What can be ordered now, what is low and cannot be, what may run out, what lasts less long."""
    due, full = advise(demand(), there(3), COSTS), advise(demand(), there(3, shelf_space=3), COSTS)
    fine = advise(demand(), there(400), COSTS)
    assert (due.order_now, full.order_now, fine.order_now) == (True, False, False)
    told = [
        urgency(due, due.point, there(3), 0.0, 400.0), urgency(full, full.point, there(3), 1.0, 0.0),
        urgency(fine, fine.point, there(400), 0.9, 400.0), urgency(fine, fine.point, there(400), 0.0, 9.0),
        urgency(fine, fine.point, there(400), 0.0, 90.0), urgency(fine, fine.point, there(400), None, None),
    ]  # fmt: skip
    assert told == sorted(set(told), reverse=True)


def test_figures_of_a_spread() -> None:
    """Quantile, chance and shortage agree with scipy; a third of the time is Poisson at a third of the mean."""
    spread, law = poisson(6.0), stats.poisson(6.0)
    assert spread.point(0.9) == int(law.ppf(0.9))
    assert spread.over(8) == pytest.approx(law.sf(8))
    assert spread.missing(8) == pytest.approx(sum((n - 8) * law.pmf(n) for n in range(9, 60)))
    assert spread.left(8) == pytest.approx(sum((8 - n) * law.pmf(n) for n in range(8)))
    third = spread.within(1 / 3)
    assert third.chances[:5] == pytest.approx(stats.poisson(2.0).pmf(range(5)), abs=1e-6)
