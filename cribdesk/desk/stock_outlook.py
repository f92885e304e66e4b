"""The low-stock view's data: what lies on the shelf now, joined with the expected use that is kept; few queries."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import inf

from cribdesk.crib.records import (
    Bin,
    Lot,
    OrderRule,
    Part,
    PartPlace,
    Requisition,
    RequisitionLine,
    RequisitionState,
    SetAside,
    StockItem,
    Supplier,
)
from cribdesk.crib.stock_forecast import NONE, Demand, Score
from cribdesk.crib.words import count
from cribdesk.desk.cards_stock import OrderAdvice, StockOutlook
from cribdesk.desk.house import House
from cribdesk.desk.ordering import Costs, Position, advise, costs_of
from cribdesk.desk.ports import Reader
from cribdesk.desk.prices import prices_on
from cribdesk.desk.requisition_steps import in_drafts
from cribdesk.desk.set_aside import kept_words, reserved_of, set_asides

COMING = (RequisitionState.SENT.value, RequisitionState.PART.value, RequisitionState.BACK_ORDERED.value)
FAR = 10_000.0


@dataclass(frozen=True)
class Shelf:
    """What there is of every item, what a piece costs today, read at once."""

    lots: Mapping[int, Sequence[Lot]]
    labelled: Mapping[int, int]
    on_order: Mapping[int, int]
    arrivals: Mapping[int, date]
    rules: Mapping[int, OrderRule]
    aside: Mapping[int, Sequence[SetAside]]
    prices: Mapping[int, int]
    drafted: Mapping[int, int]


def outlooks(reader: Reader, house: House, moment: datetime) -> tuple[StockOutlook, ...]:
    """Every item in use, the worst first; a constant number of queries."""
    items = reader.find(StockItem, active=True)
    return _outlooks(reader, house, moment, items, None)


def outlook(reader: Reader, house: House, moment: datetime, item_id: int) -> StockOutlook:
    """One item's row."""
    return _outlooks(reader, house, moment, [reader.get(StockItem, item_id)], [item_id])[0]


def _outlooks(
    reader: Reader, house: House, moment: datetime, items: Sequence[StockItem], ids: list[int] | None
) -> tuple[StockOutlook, ...]:
    demands = reader.demands(ids)
    today = house.today(moment)
    shelf = read_shelf(reader, items, today, ids)
    suppliers = {one.id: one.name for one in reader.find(Supplier)}
    bins = {one.id: one.code for one in reader.find(Bin)}
    models = models_served(house)
    costs = costs_of(house)
    rows = [
        _row(
            item, demands.get(item.id), shelf, costs, today,
            suppliers.get(item.supplier_id or 0, ""), bins.get(item.bin_id or 0, ""), models.get(item.code, ()),
        )
        for item in items
    ]  # fmt: skip
    due = {row.supplier_id for row in rows if row.advice.order_now}
    rows = [row if row.supplier_id in due else alone(row) for row in rows]
    return tuple(sorted(rows, key=lambda row: (-row.worst, row.name.casefold(), row.label)))


def alone(row: StockOutlook) -> StockOutlook:
    """The row where nothing is due from its supplier, so that there is nothing to go along with."""
    return replace(row, advice=replace(row.advice, along=0)) if row.advice.along else row


def models_served(house: House) -> dict[str, tuple[str, ...]]:
    """Unit models by the code of an item that may sit in them."""
    found: defaultdict[str, set[str]] = defaultdict(set)
    for model in house.models.values():
        for position in model.positions:
            for code in position.items:
                found[code].add(model.code)
    return {code: tuple(sorted(names)) for code, names in found.items()}


def read_shelf(reader: Reader, items: Sequence[StockItem], today: date, ids: list[int] | None = None) -> Shelf:
    """Lots, parts with labels of their own, lines of requisitions, the items' own rules, prices, set-asides."""
    only: dict[str, object] = {} if ids is None else {"item_id": ids}
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in reader.find(Lot, **only):
        lots[lot.item_id].append(lot)
    labelled = Counter(one.item_id for one in reader.find(Part, place=PartPlace.SHELF, fault="", **only))
    open_ids = [one.id for one in reader.find(Requisition, state=COMING)]
    on_order: Counter[int] = Counter()
    arrivals: dict[int, date] = {}
    for line in reader.find(RequisitionLine, requisition_id=open_ids, **only):
        left = line.quantity - line.arrived
        if left > 0:
            on_order[line.item_id] += left
            if line.promised_on is not None:
                first = arrivals.get(line.item_id, line.promised_on)
                arrivals[line.item_id] = min(first, line.promised_on)
    rules = {one.item_id: one for one in reader.find(OrderRule, **only)}
    aside, prices = set_asides(reader, ids), prices_on(reader, items, today)
    return Shelf(lots, labelled, on_order, arrivals, rules, aside, prices, in_drafts(reader, ids))


def expiring(lots: Iterable[Lot], demand: Demand | None, today: date, usable_first: int = 0) -> int:
    """Pieces that will probably pass their date before they are used, the first-expiring being used first."""
    if demand is None:
        return 0
    used, lost = float(usable_first), 0
    for lot in sorted(lots, key=lambda one: (one.expires_on is None, one.expires_on, one.id)):
        if lot.expires_on is None:
            continue
        days = (lot.expires_on - today).days + 1
        could = max(0.0, demand.a_day * days - used)
        gone = min(float(lot.on_hand), could)
        used += gone
        if days <= demand.horizon_days:
            lost += int(lot.on_hand - gone)
    return lost


def position_of(item: StockItem, demand: Demand | None, shelf: Shelf, today: date) -> tuple[Position, int, int]:
    """What there is of the item, and how many pieces are expired and blocked.

    What lies in the bench's tray is counted in expected use already; what is kept for another purpose is not.
    """
    lots = [lot for lot in shelf.lots.get(item.id, ()) if lot.on_hand > 0]
    blocked = sum(lot.on_hand for lot in lots if lot.blocked)
    free = [lot for lot in lots if not lot.blocked]
    good = [lot for lot in free if lot.expires_on is None or lot.expires_on >= today]
    expired = sum(lot.on_hand for lot in free) - sum(lot.on_hand for lot in good)
    labelled = shelf.labelled.get(item.id, 0)
    rule = shelf.rules.get(item.id)
    position = Position(
        usable=sum(lot.on_hand for lot in good) + labelled,
        on_order=shelf.on_order.get(item.id, 0),
        reserved=reserved_of(shelf.aside, item.id)[1],
        expiring=expiring(good, demand, today, labelled),
        shelf=sum(lot.on_hand for lot in lots) + labelled,
        pack_size=max(1, item.pack_size),
        price_cents=shelf.prices.get(item.id, item.price_cents),
        minimum=item.minimum,
        maximum=item.maximum,
        shelf_days=item.shelf_days,
        shelf_space=rule.shelf_space if rule else None,
    )
    return position, expired, blocked


def _row(
    item: StockItem,
    demand: Demand | None,
    shelf: Shelf,
    costs: Costs,
    today: date,
    supplier: str,
    bin_code: str,
    models: tuple[str, ...],
) -> StockOutlook:
    position, expired, blocked = position_of(item, demand, shelf, today)
    advice = advise(demand, position, costs)
    known = demand is not None and demand.until_next is not None
    later = demand.until_next if demand is not None else None
    free = position.usable - position.expiring - position.reserved
    usable = max(0, free)
    runs_out = demand.until_delivery.over(usable) if demand is not None and demand.until_delivery is not None else None
    cover = demand.days_of(usable) if demand is not None and known else None
    return StockOutlook(
        item_id=item.id,
        label=item.label,
        code=item.code,
        name=item.name,
        criticality=item.criticality,
        supplier_id=item.supplier_id,
        supplier=supplier,
        models=models,
        bin=bin_code,
        pack_size=position.pack_size,
        price_cents=position.price_cents,
        usable=position.usable,
        expired=expired,
        blocked=blocked,
        reserved=reserved_of(shelf.aside, item.id)[0],
        kept=kept_words(shelf.aside.get(item.id, ())),
        on_order=position.on_order,
        next_arrival=shelf.arrivals.get(item.id),
        minimum=item.minimum,
        maximum=item.maximum,
        horizon_days=demand.horizon_days if demand is not None else 0.0,
        lead_days=demand.lead.median_days if demand is not None else 0.0,
        expected=later.mean if later else None,
        low=float(later.point(0.1)) if later else None,
        high=float(later.point(0.9)) if later else None,
        days_of_cover=cover,
        runs_out=runs_out,
        basis=_basis(demand),
        how_wrong=how_wrong(demand),
        advice=advice,
        worst=urgency(advice, advice.point, position, runs_out, cover),
        as_of=demand.at if demand is not None else None,
        free=free,
        in_draft=shelf.drafted.get(item.id, 0),
    )


def urgency(
    advice: OrderAdvice, point: int | None, position: Position, runs_out: float | None, cover: float | None
) -> float:
    """Items to order first, then those below their point, then by the chance of running out, then by how soon."""
    low = point is not None and position.pieces < point
    soon = 0.0 if cover is None or cover == inf else 1.0 / (1.0 + cover)
    return (4.0 if advice.order_now else 2.0 if low else 0.0) + (runs_out or 0.0) + soon


def _basis(demand: Demand | None) -> str:
    if demand is None:
        return "not worked out yet"
    return "no figure: set a minimum" if demand.method == NONE else demand.basis


def how_wrong(demand: Demand | None) -> str:
    """How wrong the method in use was last quarter, in one short sentence; empty where it was not tried."""
    score = used_score(demand)
    if demand is None or score is None or not score.last:
        return ""
    over = f"over {demand.horizon_days:.0f} days, {count(score.last, 'forecast')} tried"
    return f"{score.last_miss:.2g} pieces off in the mean {over}"


def used_score(demand: Demand | None) -> Score | None:
    """The score of the method in use."""
    if demand is None:
        return None
    return next((one for one in demand.scores if one.method == demand.method), None)


def arrives_on(demand: Demand, today: date) -> date:
    """When a delivery ordered today could come, in the middle."""
    return today + timedelta(days=round(demand.lead.median_days))
