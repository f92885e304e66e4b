"""What a piece costs, from which day on: a price that is entered leaves the earlier ones, and orders, as they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import Price, Role, StockItem, Supplier
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.stock import SHELF


def price_of(records: Records, item: StockItem, supplier_id: int | None, on: date) -> int:
    """What a piece costs at a supplier on a day, in cents: the latest price begun by then, else the item's own."""
    known = [one for one in records.find(Price, item_id=item.id, supplier_id=supplier_id) if one.from_on <= on]
    return max(known, key=lambda one: (one.from_on, one.id)).price_cents if known else item.price_cents


def prices_on(records: Records, items: Iterable[StockItem], on: date) -> dict[int, int]:
    """What a piece of each item costs at its own supplier on a day, in cents, by the item's id; one query."""
    wanted = {item.id: item for item in items}
    found = {item.id: item.price_cents for item in wanted.values()}
    rows = records.find(Price, item_id=next(iter(wanted))) if len(wanted) == 1 else records.find(Price)
    for one in sorted(rows, key=lambda one: (one.from_on, one.id)):
        item = wanted.get(one.item_id)
        if item is not None and one.supplier_id == item.supplier_id and one.from_on <= on:
            found[item.id] = one.price_cents
    return found


def history_of(records: Records, item: StockItem, on: date) -> tuple[str, ...]:
    """The item's prices as they are told, the latest first: what it costs, cost before, and will cost; two queries."""
    rows = sorted(records.find(Price, item_id=item.id), key=lambda one: (one.from_on, one.id), reverse=True)
    names = {one.id: one.name for one in records.find(Supplier)} if rows else {}
    now = next((one.id for one in rows if one.from_on <= on and one.supplier_id == item.supplier_id), 0)
    told = []
    for one in rows:
        at = f" at {names[one.supplier_id]}" if one.supplier_id in names else ""
        since = "from" if one.from_on > on else "since"
        told.append(f"{money(one.price_cents)}{at} {since} {date_words(one.from_on)}{', now' if one.id == now else ''}")
    return tuple(told)


def money(cents: int) -> str:
    """'12.50', thousands apart by a no-break space. The program knows no currency."""
    whole, rest = divmod(abs(cents), 100)
    sign = "\u2212" if cents < 0 else ""
    return f"{sign}{whole:,}.{rest:02d}".replace(",", "\u00a0")


@dataclass(frozen=True, kw_only=True)
class EnterPrice(Operation):
    """What a piece of an item costs at a supplier from a day on."""

    item_id: int
    supplier_id: int
    price_cents: int
    from_on: date

    code: ClassVar[str] = "enter-price"
    words: ClassVar[str] = "Entering a price"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the earlier ones; where that supplier delivers the item it is its price from that day on."""
        item = fetch(work, StockItem, self.item_id, "This item")
        supplier = fetch(work, Supplier, self.supplier_id, "This supplier")
        if self.price_cents < 0:
            raise WrongFigure("Price", "it is not below zero")
        if work.first(Price, item_id=item.id, supplier_id=supplier.id, from_on=self.from_on):
            raise WrongFigure("From", f"a price from {date_words(self.from_on)} on stands there already")
        work.save(
            Price(item_id=item.id, supplier_id=supplier.id, price_cents=self.price_cents, from_on=self.from_on)
        )
        if item.supplier_id == supplier.id:
            work.take(item)
            now = price_of(work, item, supplier.id, context.house.today(context.moment))
            if now != item.price_cents:
                work.save(replace(item, price_cents=now))
        since = date_words(self.from_on)
        words = f"{item.name} costs {money(self.price_cents)} a piece at {supplier.name} from {since} on."
        return Outcome(words, (item.label,))
