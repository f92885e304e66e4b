"""Expected use of all items made anew in short steps and kept, once a day or when a rule of ordering changed."""

from __future__ import annotations

import gc
import hashlib
from collections import defaultdict
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TypeVar, cast

from cribdesk.crib.entry import canonical
from cribdesk.crib.forecast import Fit
from cribdesk.crib.records import OrderRule, StockItem
from cribdesk.crib.stock_forecast import Demand, Score
from cribdesk.desk.backtest import APART, ORIGINS, Try, scores_in_steps, tries_at
from cribdesk.desk.demand import Asked, asked_for, demand_in_steps
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.lives import Key
from cribdesk.desk.ordering import DAYS_A_YEAR, Costs, costs_of
from cribdesk.desk.past import Past, read_past
from cribdesk.desk.ports import Store
from cribdesk.desk.prices import prices_on
from cribdesk.desk.sight import Sight, sight_at
from cribdesk.desk.use_history import NOTHING, leads_at, pace_ratios, sift, start_lead, used_until

T = TypeVar("T")

PACE_DAYS, PACE_START, PACE_WORTH = 21, 0.2, 4
"""How unevenly the fleet is worn from three weeks to the next is learnt from a fifth, worth four such spans (a house
rule)."""

TRIED_EVERY = timedelta(days=7)
FIRST_AFTER = timedelta(weeks=4)
"""Methods are tried on the past once a week, from the fourth week of issues on (a house rule)."""

FITTED_EVERY = 4
"""Lives are fitted at every fourth moment of the past; the next three are judged by that older fit, never a later."""

LONGEST_CYCLE = 365.0
"""Days between two orders to a supplier, however little is used of what it delivers (a house rule)."""

KEPT_AT_ONCE = 50
"""So many items' use is kept in one transaction."""

SETTINGS = ("service", "review_days", "lead_days", "order_cost_cents", "holding_percent")


def catch_up(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Makes all anew where that was not done today, a setting or an item's rule changed, or an item has none yet."""
    with store.reading() as reader:
        ids = [one[0] for one in reader.columns(StockItem, ("id",), active=True)]
        some = reader.demands({ids[0], ids[-1]}) if ids else {}  # all are kept at once; a new item is the last
        ground = ground_of(house, reader.find(OrderRule))
    today = house.today(moment)
    wanted = {*ids[:1], *ids[-1:]}
    if all(one in some and house.today(some[one].at) == today and some[one].ground == ground for one in wanted):
        return
    yield from recompute(store, house, moment)


def ground_of(house: House, rules: list[OrderRule]) -> str:
    """A digest of what the settings and the items' own rules say."""
    said = [house.settings[name] for name in SETTINGS]
    own = sorted([str(one.item_id), str(one.service_permille), str(one.review_days)] for one in rules)
    return hashlib.sha256(canonical({"settings": said, "own": own})).hexdigest()[:16]


def recompute(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Every item's expected use by the method that did best on its own past. Nothing is changed before all is made."""
    past = Past()
    yield from read_past(store, house, past)
    gc.freeze()  # the past is large and stays: a search for garbage through it stops everybody for a while
    try:
        yield from _made_anew(store, house, moment, past)
    finally:
        gc.unfreeze()


def _made_anew(store: Store, house: House, moment: datetime, past: Past) -> Iterator[Step]:
    with store.reading() as reader:
        fits: dict[Key, Fit] = reader.fits()
        rules = {one.item_id: one for one in reader.find(OrderRule)}
        prices = prices_on(reader, past.items.values(), house.today(moment))
    for _ in sift(past):
        yield Step(0.2, "Reading what was used")
    ground = ground_of(house, list(rules.values()))
    scored, scored_at = _kept_scores(store, ground, moment)
    if scored_at is None:
        scored, scored_at = (yield from _all_tried(past, house, moment, rules)), moment
    yield Step(0.8, "Weighing forecasts of use")
    sight = yield from sight_at(past, house, moment, fits or None)
    used = used_until(past, moment)
    yield Step(0.8, "Weighing forecasts of use")
    asked = all_asked(past, house, moment, rules)
    yield Step(0.8, "Weighing forecasts of use")
    made: list[Demand] = []
    for one in asked:
        history = used.get(one.item.id, NOTHING)
        step = Step(0.8 + 0.2 * len(made) / len(past.items), "Working out what will be used")
        working = demand_in_steps(one, sight, history, house, scored.get(one.item.id, ()), past.seq)
        demand = yield from paused(working, step)
        made.append(replace(demand, ground=ground, scored_at=scored_at))
        yield step
    items = {id_: replace(one, price_cents=prices[id_]) for id_, one in past.items.items()}
    yield from _keep(store, with_cycles(made, items, costs_of(house)))


def paused(steps: Generator[object, None, T], step: Step) -> Generator[Step, None, T]:
    """Each pause of other steps as this step."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return cast("T", end.value)
        yield step


def _keep(store: Store, made: Sequence[Demand]) -> Iterator[Step]:
    """Some at a time, as all at once takes too long; the item that was entered last comes last and says that all are.

    Called off in between, some are of now and the rest as before, and the next look makes all anew.
    """
    for start in range(0, len(made), KEPT_AT_ONCE) or (0,):
        with store.deriving() as deriving:
            if not start:
                deriving.drop_demands_but([one.item_id for one in made])
            deriving.put_demands(made[start : start + KEPT_AT_ONCE])
        yield Step(1.0, "Expected use is up to date")


def with_cycles(made: Sequence[Demand], items: Mapping[int, StockItem], costs: Costs) -> list[Demand]:
    """Each item's use with the time between two orders to its supplier: one order brings all that is due from it."""
    from cribdesk.compute.reorder import joint_cycle

    pairs: defaultdict[int | None, list[tuple[float, float]]] = defaultdict(list)
    for one in made:
        item = items[one.item_id]
        pairs[item.supplier_id].append((one.a_day * DAYS_A_YEAR, item.price_cents * costs.holding_share))
    days = {supplier: min(LONGEST_CYCLE, DAYS_A_YEAR * joint_cycle(some, costs.order_cents))
            for supplier, some in pairs.items() if supplier is not None}  # fmt: skip
    return [replace(one, cycle_days=days.get(items[one.item_id].supplier_id or 0)) for one in made]


def _kept_scores(
    store: Store, ground: str, moment: datetime
) -> tuple[dict[int, tuple[Score, ...]], datetime | None]:
    """How the methods did when they were tried last, if that is not long ago."""
    with store.reading() as reader:
        kept = reader.demands()
    latest = min((one.scored_at for one in kept.values() if one.scored_at is not None), default=None)
    if latest is None or moment - latest > TRIED_EVERY or any(one.ground != ground for one in kept.values()):
        return {}, None
    return {one.item_id: one.scores for one in kept.values()}, latest


def _all_tried(
    past: Past, house: House, moment: datetime, rules: Mapping[int, OrderRule]
) -> Generator[Step, None, dict[int, tuple[Score, ...]]]:
    tries: list[Try] = []
    fits: Mapping[Key, Fit] | None = None
    for number in range(ORIGINS, 0, -1):
        origin = moment - APART * number
        if past.begun_at is not None and origin > past.begun_at + FIRST_AFTER:
            sight: Sight = yield from sight_at(past, house, origin, fits if number % FITTED_EVERY else None)
            fits = sight.fits
            tries += yield from _tried(past, house, sight, rules)
    return (yield from paused(scores_in_steps(past, tries, moment), Step(0.8, "Trying forecasts on the past")))


def _tried(
    past: Past, house: House, sight: Sight, rules: Mapping[int, OrderRule]
) -> Generator[Step, None, list[Try]]:
    found = []
    used = used_until(past, sight.moment)
    yield Step(0.5, "Trying forecasts on the past")
    asked = all_asked(past, house, sight.moment, rules)
    yield Step(0.5, "Trying forecasts on the past")
    for one in tries_at(sight, used, asked):
        found += [one] if one is not None else []
        yield Step(0.5, "Trying forecasts on the past")
    return found


def all_asked(past: Past, house: House, moment: datetime, rules: Mapping[int, OrderRule]) -> list[Asked]:
    """What each item's forecast is made for, by what was known then."""
    from cribdesk.compute.horizon import log_spread

    leads, stand_in = leads_at(past, house, moment), start_lead(house)
    pace = log_spread(pace_ratios(past, moment, PACE_DAYS), PACE_START, PACE_WORTH)
    return [asked_for(house, item, leads, stand_in, rules.get(item.id), pace) for item in past.items.values()]
