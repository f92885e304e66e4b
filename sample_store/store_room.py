"""The shelf over the year: what is low is ordered, comes in sooner or later, and is counted now and then."""

from __future__ import annotations

from datetime import time, timedelta

from clockwork import Doing
from inputs import rows
from setting_up import expiry
from world import World, works_on

from cribdesk.crib.records import Lot, RequisitionLine, Role, StockItem, Supplier
from cribdesk.desk.stock import CountLot, ReceiveLot, SendRequisition

AT = "Store room"
USED_AT_THE_COUNTER = {"SWEATBAND": 9, "WIPES": 2, "DISINFECT": 1}
"""Pieces a week of what nobody books: the count finds it gone."""


def order_day(world: World) -> Doing:
    """Goes through the shelf once; one requisition for each supplier with something low."""
    hands = world.hands
    with hands.looking() as reader:
        items = reader.find(StockItem, active=True)
        lots = reader.find(Lot)
        lines = reader.find(RequisitionLine)
        suppliers = {one.id: one for one in reader.find(Supplier)}
    wanted: dict[int, list[tuple[int, int, int]]] = {}
    for item in items:
        on_hand = sum(lot.on_hand for lot in lots if lot.item_id == item.id and not lot.blocked)
        coming = sum(line.quantity - line.arrived for line in lines if line.item_id == item.id)
        if on_hand + coming <= item.minimum and item.supplier_id is not None:
            short = (item.maximum or item.minimum * 2) - on_hand - coming
            quantity = max(1, round(short / item.pack_size)) * item.pack_size
            wanted.setdefault(item.supplier_id, []).append((item.id, quantity, item.price_cents))
    keeper = world.clerk(Role.STOREKEEPER, "day").id
    for supplier_id in sorted(wanted):
        yield 400
        about = next(row for row in rows("suppliers") if row["supplier"] == suppliers[supplier_id].name)
        promised = world.today + timedelta(days=int(about["lead_days_median"]))
        receipt = hands.do(
            AT, keeper, SendRequisition,
            supplier_id=supplier_id, lines=tuple(wanted[supplier_id]), promised_on=promised,
        )  # fmt: skip
        assert receipt.seq
        made = hands.last(RequisitionLine).requisition_id
        for line in hands.find(RequisitionLine, requisition_id=made):
            _will_come(world, line, about)


def _will_come(world: World, line: RequisitionLine, about: dict[str, str]) -> None:
    chance = world.chance
    days = max(1, round(chance.lognormal(float(about["lead_days_median"]), float(about["lead_log_sd"]))))
    parts = [line.quantity]
    item = world.hands.get(StockItem, line.item_id)
    if line.quantity >= 2 * item.pack_size and chance.happens(float(about["split_chance"])):
        first = (line.quantity // item.pack_size // 2) * item.pack_size
        parts = [first, line.quantity - first]
    for number, quantity in enumerate(parts):
        on = world.today + timedelta(days=days + number * chance.whole(3, 12))
        while on.weekday() > 4 or works_on(on) == 0:
            on += timedelta(days=1)
        at = world.local(on, time(9, chance.whole(0, 59), chance.whole(0, 59)))
        world.clockwork.start(_comes(world, line, item, quantity), at)


def _comes(world: World, line: RequisitionLine, item: StockItem, quantity: int) -> Doing:
    yield world.chance.between(10, 3000)
    today = world.today
    week = today.isocalendar()
    lot = f"{item.maker_number.replace('-', '')}{week.year % 100}{week.week:02d}{world.chance.whole(0, 9)}"
    expires = expiry(today, item.shelf_days)
    with world.hands.looking() as reader:
        there = reader.first(Lot, item_id=item.id, code=lot)
    if there is not None:
        expires = there.expires_on
    world.hands.do(
        AT, world.clerk(Role.STOREKEEPER, "day").id, ReceiveLot,
        item_id=item.id, lot_code=lot, quantity=quantity, expires_on=expires, requisition_line_id=line.id,
    )  # fmt: skip


def count_day(world: World) -> Doing:
    """Counts a few lots; now and then a piece is missing, and what nobody books is found gone."""
    hands, chance = world.hands, world.chance
    keeper = world.clerk(Role.STOREKEEPER, "day").id
    codes = {one.id: one.code for one in hands.find(StockItem)}
    lots = [one for one in hands.find(Lot) if one.on_hand > 0]
    unbooked = [one for one in lots if codes[one.item_id] in USED_AT_THE_COUNTER]
    for lot in _first_lots(unbooked):
        yield 60
        used = min(lot.on_hand, USED_AT_THE_COUNTER[codes[lot.item_id]] + chance.whole(-1, 2))
        why = "used at the counter" if used > 0 else ""
        hands.do(AT, keeper, CountLot, lot_id=lot.id, counted=lot.on_hand - max(0, used), why=why)
    others = [one for one in lots if codes[one.item_id] not in USED_AT_THE_COUNTER]
    for _ in range(3):
        yield chance.between(90, 240)
        lot = hands.get(Lot, chance.pick(others).id)
        off = chance.pick((-1, -1, 1)) if chance.happens(0.08) else 0
        counted = max(0, lot.on_hand + off)
        why = "not found; not booked when fitted" if counted != lot.on_hand else ""
        hands.do(AT, keeper, CountLot, lot_id=lot.id, counted=counted, why=why)


def _first_lots(lots: list[Lot]) -> list[Lot]:
    """The oldest lot of each item."""
    first: dict[int, Lot] = {}
    for lot in lots:
        first.setdefault(lot.item_id, lot)
    return list(first.values())
