"""The low-stock view's data: every item with what will be used and what to order, the worst first; one item opened."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from cribdesk.crib.counting import counted_on, due_on
from cribdesk.crib.records import CycleCount, Delivery, Lot, Movement, StockItem, Supplier, Unit
from cribdesk.crib.requisition import substitutes
from cribdesk.crib.words import count, day
from cribdesk.desk.cards_item import ItemPage, MovementLine
from cribdesk.desk.cards_lists import StockRow
from cribdesk.desk.counting import days_of
from cribdesk.desk.house import House
from cribdesk.desk.lists import stock_rows
from cribdesk.desk.ports import Reader
from cribdesk.desk.prices import history_of
from cribdesk.desk.saying import moment_words
from cribdesk.desk.stock_detail import detail
from cribdesk.desk.stock_outlook import outlooks

NOW, SUPPLIER, MODEL = "now", "supplier ", "model "
"""What the list can be narrowed to: what to order now, one supplier's (its id), one unit model's (its code)."""

MOVEMENTS = 12
"""So many of the last movements an opened item shows."""

BEHIND = timedelta(weeks=13)
"""So far back the shelf is drawn."""


def stock_page(reader: Reader, house: House, argument: str, moment: datetime) -> tuple[StockRow, ...]:
    """Items with the text in them, narrowed by words parted by ';' before the line's end; ten queries or so."""
    narrowed, _, text = argument.partition("\n") if "\n" in argument else _only_text(argument)
    known = {one.item_id: one for one in outlooks(reader, house, moment)}
    rows = [replace(row, outlook=known.get(row.item_id)) for row in stock_rows(reader, house, moment, text)]
    wanted = [one.strip() for one in narrowed.split(";") if one.strip()]
    found = [row for row in rows if all(_fits(row, one) for one in wanted)]
    return tuple(sorted(found, key=_worst))


def _only_text(argument: str) -> tuple[str, str, str]:
    """A single line is a filter where it is one, else a text."""
    first = argument.split(";")[0].strip()
    is_filter = first == NOW or first.startswith((SUPPLIER, MODEL))
    return (argument, "", "") if is_filter else ("", "", argument)


def _fits(row: StockRow, wanted: str) -> bool:
    outlook = row.outlook
    if outlook is None:
        return False
    if wanted == NOW:
        return outlook.advice.order_now or bool(outlook.advice.along)
    if wanted.startswith(SUPPLIER):
        return str(outlook.supplier_id or "") == wanted.removeprefix(SUPPLIER)
    return wanted.removeprefix(MODEL) in outlook.models


def _worst(row: StockRow) -> tuple[float, bool, bool, str, str]:
    worst = row.outlook.worst if row.outlook else 0.0
    return (-worst, not row.short, not row.trouble, row.name.casefold(), row.label)


def stock_item(reader: Reader, house: House, label: str, moment: datetime) -> ItemPage | None:
    """One item opened; a constant number of queries."""
    item = reader.first(StockItem, label=label)
    if item is None:
        return None
    lots = {one.id: one for one in reader.find(Lot, item_id=item.id)}
    last = reader.newest(Movement, MOVEMENTS, item_id=item.id)
    units = {one.id: one.label for one in reader.find(Unit, id=sorted({one.unit_id for one in last if one.unit_id}))}
    counts = reader.latest_of_each(CycleCount, "lot_id", lot_id=sorted(lots))
    counted = max(counts.values(), key=lambda one: one.at, default=None)
    return ItemPage(
        label=label,
        detail=detail(reader, house, moment, item.id),
        movements=tuple(_line(one, lots, units, house, moment) for one in reversed(last)),
        movements_all=reader.count(Movement, item_id=item.id),
        last_count=_count_words(counted, house, moment),
        next_count=_next_words(item, lots, counts, house, moment),
        last_delivery=_delivery_words(reader, item, house, moment),
        shelf=_shelf(reader, item, lots, moment),
        prices=history_of(reader, item, house.today(moment)),
        instead=_instead(reader, house, item),
    )


def _instead(reader: Reader, house: House, item: StockItem) -> tuple[str, ...]:
    """Names of the items in use that the unit models allow in the same positions."""
    codes = substitutes(house.models.values(), item.code)
    found = reader.find(StockItem, code=sorted(codes), active=True) if codes else []
    return tuple(sorted(f"{one.name}, {one.code}" for one in found))


def _line(
    one: Movement, lots: dict[int, Lot], units: dict[int, str], house: House, moment: datetime
) -> MovementLine:
    lot = lots[one.lot_id].code if one.lot_id in lots else ""
    unit = units.get(one.unit_id or 0, "")
    return MovementLine(moment_words(one.at, house, moment), one.quantity, lot, one.why, unit)


def _count_words(last: CycleCount | None, house: House, moment: datetime) -> str:
    if last is None:
        return "not counted yet"
    apart = last.counted - last.booked
    agreed = "agreed" if not apart else f"{count(abs(apart), 'piece')} {'fewer' if apart < 0 else 'more'}"
    return f"{moment_words(last.at, house, moment)}, {agreed}"


def _next_words(
    item: StockItem, lots: dict[int, Lot], counts: dict[int, CycleCount], house: House, moment: datetime
) -> str:
    last = counted_on(lots.values(), {lot: house.today(one.at) for lot, one in counts.items()})
    if last is None:
        return ""
    today, due = house.today(moment), due_on(last, days_of(house, item.criticality))
    return f"due {day(due, today)}" if due > today else f"due since {day(due, today)}"


def _delivery_words(reader: Reader, item: StockItem, house: House, moment: datetime) -> str:
    last = reader.latest(Delivery, item_id=item.id)
    if last is None:
        return "none on record"
    supplier = reader.first(Supplier, id=item.supplier_id) if item.supplier_id else None
    by = f", {supplier.name}" if supplier else ""
    return f"{moment_words(last.arrived_at, house, moment)}, {count(last.quantity, 'piece')}{by}"


def _shelf(reader: Reader, item: StockItem, lots: dict[int, Lot], moment: datetime) -> tuple[tuple[float, int], ...]:
    """What lay there at each change of the last weeks, counted back from what lies there now."""
    moves = reader.within(Movement, "at", moment - BEHIND, moment + timedelta(days=1), item_id=item.id)
    there = sum(lot.on_hand for lot in lots.values())
    points = [(0.0, there)]
    for one in sorted(moves, key=lambda one: (one.at, one.id), reverse=True):
        points.append((-max(0.0, (moment - one.at).total_seconds() / 86400), there))
        there -= one.quantity
    points.append((-float(BEHIND.days), there))
    return tuple(reversed(points))
