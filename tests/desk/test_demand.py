"""Expected use out of records: the fleet's lives, an item's own history, start values; then the rows of the view."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from math import exp, log
from typing import Any

import numpy as np
import pytest
from scipy import stats

from cribdesk.crib.records import (
    Custody,
    Delivery,
    Fitted,
    Lot,
    Movement,
    OrderRule,
    Part,
    PartPlace,
    Requisition,
    RequisitionLine,
    SetAside,
    StockItem,
    Supplier,
)
from cribdesk.crib.stock_forecast import CROSTON, FLEET, NONE, SBA, START, TSB, Demand, Lead, Score
from cribdesk.desk import demands, forecasts
from cribdesk.desk.backtest import Try, scores
from cribdesk.desk.cards_stock import UnitsMissed
from cribdesk.desk.demand import Asked, besides, best, by_history, demand_of, growing_of
from cribdesk.desk.house import House
from cribdesk.desk.ordering import Costs
from cribdesk.desk.past import Past, read_past
from cribdesk.desk.shift_list import ShiftPage
from cribdesk.desk.shift_lists import shift_page
from cribdesk.desk.shift_lists.standing_still import LIST
from cribdesk.desk.sight import Sight, sight_at
from cribdesk.desk.stock_detail import detail, units_missed
from cribdesk.desk.stock_outlook import expiring, outlook, outlooks
from cribdesk.desk.use_history import Used, leads_at, pace_ratios, ratios, used_between, used_until
from cribdesk.store.connect import open_store
from tests.desk.lived import START as BEGUN
from tests.desk.lived import Lived
from tests.desk.shop import house

LATER = BEGUN + timedelta(days=200)


@pytest.fixture
def lived(address: str) -> Iterator[Lived]:
    """An empty store with a clerk and item 1; the tests add units."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as store:
        made = Lived(store)
        made.ground(light=1000)
        yield made


def ran(steps: Any) -> Any:
    """What a generator of steps returns."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


def all_made(lived: Lived, moment: datetime = LATER, rules: House | None = None) -> dict[int, Demand]:
    """Forecasts and expected use made anew; the latter by item."""
    ran(forecasts.recompute(lived.store, rules or house(), moment))
    ran(demands.recompute(lived.store, rules or house(), moment))
    with lived.store.reading() as reader:
        return reader.demands()


def used(lived: Lived, item_id: int, *pieces: int, days: int = 7, until: datetime = LATER) -> None:
    """Pieces that were handed out, the last just before the moment, one every so many days."""
    begun = until - timedelta(days=days * len(pieces)) + timedelta(hours=1)
    rows = [
        Movement(item_id=item_id, lot_id=None, quantity=-one, why="handed out", at=begun + timedelta(days=days * n))
        for n, one in enumerate(pieces)
        if one
    ]
    lived.write(rows)


def item(lived: Lived, code: str, **fields: Any) -> int:
    """Another item."""
    number = next(lived.numbers)
    made = StockItem(**{"label": f"K{number:06}X", "code": code, "name": code, **fields})
    return int(wrote(lived, made)[0].id)


def wrote(lived: Lived, *records: Any) -> list[Any]:
    """The records as they were saved."""
    return list(lived.write(records))


def past_of(lived: Lived) -> Past:
    """The store read for forecasts of use."""
    past = Past()
    ran(read_past(lived.store, house(), past))
    return past


def test_use_by_history_spreads_by_its_weeks_and_by_the_doubt_of_its_mean(lived: Lived) -> None:
    """Its variance over some weeks is theirs and that of the smoothed mean besides (the variance of exponential
    smoothing, alpha / (2 - alpha)); a start value may be half wrong."""
    use = Used((0, 3, 0, 1, 0, 0, 4, 0, 2, 1), 11, 0, 31, 70.0)
    sight = Sight(LATER, {}, {}, {})
    with lived.store.reading() as reader:
        stock = reader.get(StockItem, 1)
    asked = Asked(stock, Lead(14.0, 0.3, 4, ""), 7, 0.95, 0.2)
    level, variance = by_history(SBA, use.weeks)
    grown = growing_of(SBA, asked, sight, use, [70.0])
    assert grown is not None
    n = np.arange(grown.pmfs[0].size)
    mean = float(grown.pmfs[0] @ n)
    spread = float(grown.pmfs[0] @ (n - mean) ** 2)
    assert mean == pytest.approx(10 * level, rel=1e-4)
    assert spread == pytest.approx(10 * variance + 100 * variance * 0.1 / 1.9, rel=1e-3)
    assert asked.longest == pytest.approx((14 * exp(2.6 * 0.3) + 7) * exp(0.2))


def test_the_fleets_use_follows_age(lived: Lived) -> None:
    """Units with old parts need more soon than units with new ones, though nothing was used of the item before."""
    for _ in range(4):
        lived.unit(5.0, at_once=False)
    young = all_made(lived, BEGUN + timedelta(days=20))[1]
    for _ in range(4):
        lived.unit(45.0, at_once=False)
    old = all_made(lived, BEGUN + timedelta(days=20))[1]
    assert (young.method, old.method) == (FLEET, FLEET)
    assert young.until_next is not None
    assert old.until_next is not None
    assert old.until_next.mean > 2 * young.until_next.mean
    assert "8 fitted parts" in old.basis


def test_a_date_within_the_time_is_a_change_for_certain(lived: Lived) -> None:
    """A pre-filter's limit of 180 days falls due within a month: it is changed then, worn or not."""
    lived.unit(1.0)
    moment = BEGUN + timedelta(days=175)
    demand = all_made(lived, moment)[1]
    assert demand.until_next is not None
    assert demand.until_next.first >= 1 or demand.until_next.over(0) > 0.99
    before = all_made(lived, BEGUN + timedelta(days=60))[1]
    assert before.until_next is not None
    assert before.until_next.over(0) < 0.5


def test_history_where_no_model_has_lives(lived: Lived) -> None:
    """An item handed out every week is expected to go on like that, with its spread from its own weeks."""
    lived.unit(5.0, at_once=False)
    wipes = item(lived, "WIPES")
    used(lived, wipes, *[2, 3, 1, 2, 2, 3, 1, 2, 2, 3, 1, 2, 2, 3, 1, 2, 2, 3, 1, 2])
    demand = all_made(lived)[wipes]
    assert demand.method in (TSB, SBA, CROSTON)
    assert demand.a_day * 7 == pytest.approx(2.0, abs=0.7)
    assert sum(demand.history) == 40


def test_a_start_value_and_no_figure(lived: Lived) -> None:
    """Nothing seen: the rule of thumb times what is fitted; without a model no figure, and that is said."""
    lived.unit(5.0, at_once=False)
    nothing = item(lived, "UNUSED")
    past, moment = past_of(lived), BEGUN + timedelta(days=20)
    sight = ran(sight_at(past, house(), moment))
    no_fits = replace(sight, fits={})
    asked = {one.item.id: one for one in demands.all_asked(past, house(), moment, {})}
    history = used_until(past, moment)
    start = demand_of(asked[1], no_fits, history[1], house())
    assert start.method == START
    for _, mean, low, high in start.path:
        law = stats.nbinom(4.0, 1 / (1 + mean / 4))  # a variance of mean + (half the mean) squared
        assert (low, high) == (law.ppf(0.1), law.ppf(0.9))
    thumb = sight.thumbs["WL1", "pre-filter"]
    assert start.a_day == pytest.approx(sight.parts[1][0].hours_a_day / thumb, rel=0.05)
    none = demand_of(asked[nothing], no_fits, history[nothing], house())
    assert (none.method, none.until_next) == (NONE, None)
    all_made(lived)
    with lived.store.reading() as reader:
        row = outlook(reader, house(), LATER, nothing)
    assert (row.basis, row.expected) == ("no figure: set a minimum", None)
    assert row.advice.words == "No figure. Set a minimum."


def test_first_fitting_and_deliveries_are_no_use(lived: Lived) -> None:
    """What goes into a new unit on its first day is no use; a count that finds pieces gone is."""
    unit_id = lived.unit(5.0, at_once=False)
    moves = [
        (-1, "fitted, pre-filter", unit_id, 0.1), (50, "delivery", None, 3.0), (-1, "fitted, pre-filter", unit_id, 9.0),
        (-4, "count: gone", None, 10.0), (1, "count: found", None, 11.0),
    ]  # fmt: skip
    lived.write([
        Movement(item_id=1, lot_id=None, quantity=pieces, why=why, unit_id=unit, at=BEGUN + timedelta(days=day))
        for pieces, why, unit, day in moves
    ])  # fmt: skip
    assert used_between(past_of(lived), BEGUN, LATER)[1] == 4
    assert used_until(past_of(lived), LATER)[1].squares == 4**2 + 1**2  # of what goes besides; a fitted part is none


@pytest.mark.parametrize(("why", "explained"), [
    ("Pre-filter", 1), ("by the calendar", 1), ("along with the lens", 0), ("swapped with another", 0),
])  # fmt: skip
def test_ends_that_lives_and_dates_foresee(lived: Lived, why: str, explained: int) -> None:
    """A part changed at the end of its life or by its date is foreseen; one that moved on is not."""
    lived.unit(5.0, (30.0, why), at_once=False)
    assert used_until(past_of(lived), LATER)[1].explained == explained
    assert used_until(past_of(lived), BEGUN + timedelta(days=2))[1].explained == 0


def test_the_past_is_what_was_known_then(lived: Lived) -> None:
    """Ages, meters and use of a past moment take nothing from what came later."""
    lived.unit(50.0, (30.0, "Pre-filter"), at_once=False)
    past = past_of(lived)
    early = BEGUN + timedelta(days=3)
    (unit,) = past.units_at(early)
    assert 0 < unit.worn_hours < 30
    sight = ran(sight_at(past, house(), early))
    assert [round(part.use) for part in sight.parts[1]] == [round(unit.worn_hours)]
    assert sight.fits["WL1", "pre-filter"].changed == 0
    assert ran(sight_at(past, house(), LATER)).fits["WL1", "pre-filter"].changed == 1


def test_delivery_times_are_learnt(lived: Lived) -> None:
    """Three deliveries in 30 days draw the start value of 14 up; what arrives later is not known yet."""
    supplier, _ = wrote(lived, Supplier(name="Somebody"), Supplier(name="Nobody"))
    lived.write([Lot(item_id=1, code="A", on_hand=5)])
    for n in range(3):
        on = BEGUN + timedelta(days=10 * n)
        asked_for = Requisition(number=n + 1, supplier_id=supplier.id, state="closed", made_on=on.date())
        (asked,) = wrote(lived, asked_for)
        (line,) = wrote(lived, RequisitionLine(requisition_id=asked.id, item_id=1, quantity=5, arrived=5))
        arrived = on + timedelta(days=30)
        lived.write([Delivery(requisition_line_id=line.id, item_id=1, lot_id=1, quantity=5, arrived_at=arrived)])
    lived.unit(5.0)
    past = past_of(lived)
    learnt, never = leads_at(past, house(), LATER).values()
    assert learnt.median_days == pytest.approx((30**3 * 14) ** 0.25, rel=0.01)
    assert (learnt.seen, never.seen, never.median_days) == (3, 0, pytest.approx(14))
    assert learnt.basis == "learnt from 3 deliveries"
    middle = (3 * log(30) + log(14)) / 4
    variance = (3 * (log(30) - middle) ** 2 + 4 * 0.4**2) / 7 * (1 + 1 / 4)  # of a next one, not of the mean
    assert learnt.sd_log == pytest.approx(variance**0.5, rel=0.01)
    assert leads_at(past, house(), BEGUN + timedelta(days=29))[1].seen == 0


def test_what_goes_besides_begins_in_step_with_the_rule_of_thumb() -> None:
    """By hand: half a piece in 28 days; where the rule of thumb says 2 a year, half a piece in a quarter of one."""
    new = Used((), 0, 0, 0, 0.0)
    assert besides(new)[0] == besides(new, 1.0)[0] == pytest.approx(0.5 / 28)
    assert besides(new, 2 / 365)[0] == pytest.approx(2 / 365)
    lived_on = Used((1,) * 52, 3, 1, 2, 364.0)
    assert besides(lived_on, 2 / 365)[0] == pytest.approx(2.5 / (364 + 91.25))


def test_the_better_method_is_used_when_it_is_surely_better() -> None:
    """The first stands against a lucky few; a loss lower by more than its standard error decides."""
    fleet = Score(FLEET, 1.0, 3.0, 8)
    assert best((FLEET, TSB), (fleet, Score(TSB, 0.9, 2.0, 8, 0.2))) == FLEET
    assert best((FLEET, TSB), (fleet, Score(TSB, 0.7, 2.0, 8, 0.2))) == TSB
    assert best((FLEET, TSB), ()) == FLEET
    assert best((TSB, SBA), (Score(SBA, 0.1, 1.0, 8, 0.01), Score(TSB, 0.5, 1.0, 8))) == SBA
    assert best((), ()) == ""


def test_scores_are_of_forecasts_whose_time_is_over(lived: Lived) -> None:
    """Pinball loss and miss by hand: enough 5 at 90 %, mean 4, used 7: 0.9 x 2 and 3; one not over counts nothing."""
    lived.unit(5.0)
    tries = []
    for n in range(4):
        made = BEGUN + timedelta(days=20 + 10 * n)
        lived.write([Movement(item_id=1, lot_id=None, quantity=-7, why="handed out", at=made + timedelta(days=2))])
        tries.append(Try(1, TSB, made, made + timedelta(days=10), 0.9, 4.0, 5))
    now = BEGUN + timedelta(days=55)
    (score,) = scores(past_of(lived), tries, now)[1]
    assert (score.method, score.periods) == (TSB, 3)
    assert (score.pinball, score.miss) == pytest.approx((1.8, 3.0))
    assert scores(past_of(lived), tries[:2], now) == {}
    assert (score.last_miss, score.last) == (pytest.approx(3.0), 3)


def test_how_wrong_it_was_is_told_of_the_last_quarter(lived: Lived) -> None:
    """Forecasts whose time ended more than 13 weeks ago choose the method, but are no part of what is told."""
    lived.unit(5.0)
    tries = []
    for n, pieces in enumerate((9, 9, 5, 6)):  # the mean said is 4: off by 5, 5, 1 and 2
        made = BEGUN + timedelta(days=20 + 50 * n)
        lived.write([Movement(item_id=1, lot_id=None, quantity=-pieces, why="handed out", at=made + timedelta(days=2))])
        tries.append(Try(1, TSB, made, made + timedelta(days=10), 0.9, 4.0, 5))
    (score,) = scores(past_of(lived), tries, BEGUN + timedelta(days=80 + 91))[1]
    assert (score.periods, score.miss, score.last, score.last_miss) == (3, pytest.approx(11 / 3), 1, pytest.approx(1))
    (score,) = scores(past_of(lived), tries, BEGUN + timedelta(days=200))[1]
    assert (score.periods, score.miss, score.last, score.last_miss) == (4, pytest.approx(3.25), 2, pytest.approx(1.5))


def test_the_three_methods_of_history() -> None:
    """Worked figures of methods 5b (statsforecast, computed), through the path used here; alpha 0.1."""
    weeks = [0, 0, 3, 0, 0, 0, 2, 0, 4, 0, 0, 1]
    found = [by_history(one, weeks)[0] for one in (CROSTON, SBA, TSB)]
    assert found == pytest.approx([0.9391508, 0.8921932, 0.7603712], abs=1e-5)


def test_the_pace_is_held_against_the_weeks_before() -> None:
    """Twice as much as the four weeks before is 2; without enough days nothing is told."""
    assert ratios([1.0] * 28 + [2.0] * 14, 14) == pytest.approx([2.0])
    assert ratios([1.0] * 30, 14) == []
    assert pace_ratios(Past(), LATER, 14) == []


def test_methods_are_tried_once_a_week_from_the_fourth_week_on(lived: Lived) -> None:
    """After 90 days the tries of day 34, 48 and 62 are over, those before the fifth week were never made; what came of
    them is kept for a week."""
    lived.unit(5.0, at_once=False)
    begun = past_of(lived).begun_at
    assert begun is not None
    moment = begun + timedelta(days=90)
    used(lived, 1, *[1, 2, 0, 1, 1, 2] * 3, days=5, until=moment)
    made = all_made(lived, moment)[1]
    assert {(one.method, one.periods) for one in made.scores} >= {(TSB, 3)}
    later = {days: all_made(lived, moment + timedelta(days=days))[1].scored_at for days in (3, 7, 8)}
    assert later == {3: moment, 7: moment, 8: moment + timedelta(days=8)}


def test_a_year_is_the_longest_between_two_orders(lived: Lived) -> None:
    """Of two items' joint cycle by its formula; where hardly anything is used, a year."""
    lived.unit(5.0, at_once=False)
    demand, costs = all_made(lived)[1], Costs(1800.0, 0.5)
    bought = StockItem(id=1, label="K1", code="A", name="A", price_cents=240, supplier_id=1)
    for a_day in (1.0, 0.001):
        (one,) = demands.with_cycles([replace(demand, a_day=a_day)], {1: bought}, costs)
        days = 365.25 * (2 * 1800 / (a_day * 365.25 * 120)) ** 0.5
        assert one.cycle_days == pytest.approx(min(365.0, days))
    (none,) = demands.with_cycles([demand], {1: replace(bought, supplier_id=None)}, costs)
    assert none.cycle_days is None


def test_once_a_day_or_when_a_rule_changed(lived: Lived) -> None:
    """Nothing is made anew the same day; the next day it is, and when an item gets its own service level."""
    lived.unit(5.0, at_once=False)
    all_made(lived)
    assert list(demands.catch_up(lived.store, house(), LATER)) == []
    lived.write([OrderRule(item_id=1, service_permille=800, review_days=30)])
    assert list(demands.catch_up(lived.store, house(), LATER))
    with lived.store.reading() as reader:
        demand = reader.demands([1])[1]
    assert (demand.service, demand.review_days) == (0.8, 30)
    assert list(demands.catch_up(lived.store, house(), LATER)) == []
    assert list(demands.catch_up(lived.store, house(), LATER + timedelta(days=1)))


def test_a_row_tells_what_is_there(lived: Lived) -> None:
    """Usable, expired, blocked, on order and labelled pieces, each where it belongs; then what to order."""
    lived.unit(5.0, at_once=False)
    today = house().today(LATER)
    (supplier,) = wrote(lived, Supplier(name="Somebody"))
    lots = [
        Lot(item_id=1, code="A", on_hand=5),
        Lot(item_id=1, code="B", on_hand=3, expires_on=today - timedelta(days=1)),
        Lot(item_id=1, code="C", on_hand=2, blocked="recalled"),
        Part(label="T000001X", item_id=1, place=PartPlace.SHELF),
        Part(label="T000002X", item_id=1, place=PartPlace.SHELF, fault="cracked"),
    ]
    lived.write(lots)
    sent, draft = wrote(
        lived,
        Requisition(number=1, supplier_id=supplier.id, state="part delivered", made_on=today),
        Requisition(number=2, supplier_id=supplier.id, state="draft", made_on=today),
    )
    promised = today + timedelta(days=2)
    lived.write([
        RequisitionLine(requisition_id=sent.id, item_id=1, quantity=10, arrived=4, promised_on=promised),
        RequisitionLine(requisition_id=draft.id, item_id=1, quantity=99),
    ])  # fmt: skip
    all_made(lived)
    with lived.store.reading() as reader:
        (row,) = outlooks(reader, house(), LATER)
    assert (row.usable, row.expired, row.blocked, row.on_order) == (6, 3, 2, 6)
    assert (row.next_arrival, row.models, row.as_of) == (promised, (), LATER)
    assert row.expected is not None
    assert row.low is not None
    assert row.high is not None
    assert row.low <= row.high
    assert row.runs_out is not None
    assert 0 <= row.runs_out < 0.1


def test_pieces_that_pass_their_date_unused(lived: Lived) -> None:
    """Of 10 that expire in a week at one a day 2 are lost; a later lot waits for its turn."""
    lived.unit(5.0, at_once=False)
    demand = replace(all_made(lived)[1], a_day=1.0)
    today = date(2026, 11, 25)
    soon = Lot(item_id=1, code="A", on_hand=10, expires_on=today + timedelta(days=7))
    assert expiring([soon], demand, today) == 2
    assert expiring([soon, replace(soon, code="B", on_hand=4)], demand, today) == 6
    assert expiring([replace(soon, expires_on=None)], demand, today) == 0
    assert expiring([soon], None, today) == 0
    assert expiring([soon], demand, today, usable_first=3) == 5


def test_who_would_stand_still(lived: Lived) -> None:
    """Three worn-out parts and one piece: about two units stand still before a delivery, the longest worn first."""
    with_wear = [lived.unit(hours, *[(60.0, "Pre-filter")] * 6, at_once=False) for hours in (100.0, 90.0, 80.0)]
    lived.unit(1.0, *[(60.0, "Pre-filter")] * 6, at_once=False)
    with lived.store.reading() as reader:
        moment = max(one.returned_at for one in reader.find(Custody) if one.returned_at) + timedelta(hours=1)
    lived.write([Lot(item_id=1, code="A", on_hand=1)])
    lived.write([OrderRule(item_id=1, service_permille=990)])
    demand = all_made(lived, moment)[1]
    with lived.store.reading() as reader:
        (missed,) = units_missed(reader, house(), moment)
        opened = detail(reader, house(), moment, 1)
    assert missed.expected > 0.5
    assert missed.most >= 1
    assert missed.next_delivery_on == house().today(moment) + timedelta(days=round(demand.lead.median_days))
    assert {one.unit_id for one in missed.units} <= {*with_wear, max(with_wear) + 1}
    assert [one.chance for one in opened.units] == sorted((one.chance for one in opened.units), reverse=True)
    assert opened.missed == missed
    assert [one.unit_id for one in missed.units] == [one.unit_id for one in opened.units][1:][: len(missed.units)]
    assert missed.other < missed.expected
    assert opened.outlook.advice.order_now
    with lived.store.reading() as reader:
        page = shift_page(reader, house(), LIST.id, moment)
        waiting = LIST.count(reader, house(), moment) if LIST.count else 0
    assert isinstance(page, ShiftPage)
    (row,) = page.rows.rows
    assert (waiting, row.sign, row.label) == (1, "stop", "I000001X")
    assert f"about {round(missed.expected)} unit" in row.what
    assert missed.units[0].label in row.detail
    assert page.rows.lead == "1 item would keep units standing before a delivery could come."


def test_the_next_delivery_is_what_was_promised_if_that_is_still_to_come(lived: Lived) -> None:
    """Promised for tomorrow, fewer units stand still until then; a day that went by is no promise any more."""
    for hours in (100.0, 90.0, 80.0):
        lived.unit(hours, *[(60.0, "Pre-filter")] * 6, at_once=False)
    with lived.store.reading() as reader:
        moment = max(one.returned_at for one in reader.find(Custody) if one.returned_at) + timedelta(hours=1)
    today = house().today(moment)
    (supplier,) = wrote(lived, Supplier(name="Maker"))
    (lot,) = wrote(lived, Lot(item_id=1, code="A", on_hand=1, expires_on=today + timedelta(days=300)))
    (rule,) = wrote(lived, OrderRule(item_id=1, service_permille=999))
    made = Requisition(number=1, supplier_id=supplier.id, state="sent", made_on=today - timedelta(days=9))
    (requisition,) = wrote(lived, made)
    days = {name: today + timedelta(days=ahead) for name, ahead in (("late", -1), ("soon", 1), ("far", 900))}
    lines = {name: RequisitionLine(requisition_id=requisition.id, item_id=1, quantity=1, promised_on=day)
             for name, day in days.items()}  # fmt: skip
    ordered = today + timedelta(days=round(all_made(lived, moment)[1].lead.median_days))

    def missed() -> UnitsMissed:
        with lived.store.reading() as reader:
            (found,) = units_missed(reader, house(), moment)
            row = outlook(reader, house(), moment, 1)
        assert rule.id
        assert lot.on_hand == row.free
        return found

    (first,) = wrote(lived, lines["late"])
    late = missed()
    assert late.next_delivery_on == ordered
    (far,) = wrote(lived, lines["far"])
    assert missed().next_delivery_on == ordered
    with lived.store.work() as work:
        work.take(first)
        work.save(replace(first, arrived=1))
        lived.entry(work)
    assert missed().next_delivery_on == ordered
    wrote(lived, lines["soon"])
    soon = missed()
    assert (soon.next_delivery_on, soon.expected < late.expected) == (days["soon"], True)
    assert far.promised_on == days["far"]


def test_what_is_kept_for_a_job_or_expires_is_missed(lived: Lived) -> None:
    """Enough lies there until some is promised away, or will be past its date: then the row is below its point."""
    lived.unit(30.0, at_once=False)
    far, near = house().today(LATER) + timedelta(days=900), house().today(LATER)
    (lot,) = wrote(lived, Lot(item_id=1, code="A", on_hand=40, expires_on=far))
    point = all_made(lived)[1].until_next.point(0.97)
    assert 0 < point < 40

    def below() -> tuple[bool, int, int]:
        with lived.store.reading() as reader:
            opened = detail(reader, house(), LATER, 1)
            missed = units_missed(reader, house(), LATER)
        assert (opened.missed,) == (missed or (None,))
        assert opened.outlook.advice.order_now == opened.outlook.below_point
        if opened.missed is not None:
            short = all_made(lived)[1].until_delivery.missing(opened.outlook.free)
            assert opened.missed.expected == pytest.approx(short)
        return opened.missed is not None, opened.outlook.usable, opened.outlook.free

    assert below() == (False, 40, 40)
    kept = SetAside(item_id=1, purpose="dock job", quantity=41 - point, at=LATER, by_id=1)
    (kept,) = wrote(lived, kept)
    assert below() == (True, 40, point - 1)
    with lived.store.work() as work:
        work.take(kept, lot)
        work.save(replace(kept, quantity=0))
        work.save(replace(lot, expires_on=near))
        lived.entry(work)
    assert below()[:2] == (True, 40)


def test_a_part_is_due_the_day_after_its_last(lived: Lived) -> None:
    """Good until a day, it is fitted on that day still; past it, it is due now."""
    lived.unit(1.0, at_once=False)
    moment = BEGUN + timedelta(days=5)
    all_made(lived, moment)
    today = house().today(moment)
    for days in (3, -2):
        with lived.store.work() as work:
            (part,) = work.find(Fitted, removed_at=None)
            work.take(part)
            work.save(replace(part, expires_on=today + timedelta(days=days)))
            lived.entry(work)
        with lived.store.reading() as reader:
            (unit,) = detail(reader, house(), moment, 1).units
        assert (unit.due_on, unit.chance) == (today + timedelta(days=max(0, days + 1)), 1.0)


def test_with_enough_on_the_shelf_nobody_stands_still(lived: Lived) -> None:
    """No row under its point, no unit missed."""
    lived.unit(30.0, at_once=False)
    lived.write([Lot(item_id=1, code="A", on_hand=500)])
    all_made(lived)
    with lived.store.reading() as reader:
        assert units_missed(reader, house(), LATER) == ()
        page = shift_page(reader, house(), LIST.id, LATER)
        assert isinstance(page, ShiftPage)
        assert page.rows.rows == ()
        assert page.rows.none == "No item is below its point."
        assert detail(reader, house(), LATER, 1).missed is None
