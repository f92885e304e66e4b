"""What a piece costs, from which day on: a price that is entered leaves the earlier ones, and orders, as they are."""

from __future__ import annotations

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
