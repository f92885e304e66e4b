"""What a delivery is held against before it is booked: the lines that expect it, its last day, the known lot."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from cribdesk.crib.records import Lot, Requisition, RequisitionLine, StockItem, Supplier
from cribdesk.crib.requisition import OPEN
from cribdesk.crib.words import count, date_words, day, number
from cribdesk.desk.ports import Records

EXPIRES_SOON = timedelta(days=90)
"""Goods that may be used for fewer days than these are taken in with a caution (a house rule)."""


@dataclass(frozen=True)
class Expected:
    """A line that goods may come in for, and how many it still expects."""

    line: RequisitionLine
    requisition: Requisition
    supplier: Supplier

    @property
    def left(self) -> int:
        """Pieces still expected."""
        return max(0, self.line.quantity - self.line.arrived)

    def words(self, today: date) -> str:
        """'Requisition 3 to Keramion: 24 of 48 expected, promised Thu 3 Dec'."""
        promised = f", promised {day(self.line.promised_on, today)}" if self.line.promised_on else ""
        whole = f"{number(self.left)} of {number(self.line.quantity)} expected"
        return f"Requisition {self.requisition.number} to {self.supplier.name}: {whole}{promised}"


def expected(records: Records, item_id: int | None = None) -> tuple[Expected, ...]:
    """Lines that still expect something, of one item or of all, the oldest requisition first; three queries."""
    requisitions = {one.id: one for one in records.find(Requisition, state=[state.value for state in OPEN])}
    about = {"item_id": item_id} if item_id is not None else {}
    lines = records.find(RequisitionLine, requisition_id=sorted(requisitions), **about)
    suppliers = {one.id: one for one in records.find(Supplier)}
    found = (
        Expected(line, requisitions[line.requisition_id], suppliers[requisitions[line.requisition_id].supplier_id])
        for line in lines
        if line.quantity > line.arrived
    )
    return tuple(sorted(found, key=lambda one: (one.requisition.number, one.line.id)))


def past_words(last_day: date | None, today: date) -> str:
    """Why it may not go on the shelf by its date, or ''."""
    if last_day is None or last_day >= today:
        return ""
    return f"May be used until {date_words(last_day)}, which is past: it does not go on the shelf. Send it back."


def soon_words(last_day: date | None, today: date) -> str:
    """That its date comes soon, or ''."""
    if last_day is None or not today <= last_day < today + EXPIRES_SOON:
        return ""
    return f"Good until {date_words(last_day)} only: {count((last_day - today).days, 'day')} are left."


def known_words(lot: Lot | None, last_day: date | None, item: StockItem) -> str:
    """What stands against the lot as it is booked already, or ''."""
    if lot is None or lot.expires_on == last_day or (lot.received_on is None and not lot.on_hand):
        return ""
    until = f"until {date_words(lot.expires_on)}" if lot.expires_on else "without a date"
    return f"Lot {lot.code} of {item.name} is booked {until}. Compare it with the carton."
