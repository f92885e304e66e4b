"""The shelf: items, lots, deliveries, counts, and the one way stock changes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.records import (
    Bin,
    CountSheet,
    CountSheetLine,
    CycleCount,
    Delivery,
    Gtin,
    Lot,
    Movement,
    Recall,
    Requisition,
    RequisitionLine,
    RequisitionState,
    Role,
    StockItem,
    Supplier,
)
from cribdesk.crib.refusal import LabelTaken, NotOnTheShelf, StillRecalled, WrongFigure
from cribdesk.crib.requisition import MoreThanOrdered
from cribdesk.crib.words import count, date_words
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.requisition_steps import count_arrival, next_number, note_step, open_line

CRITICALITIES = ("A", "B", "C")
SHELF = (Role.STOREKEEPER, Role.PROGRAM, Role.SYSTEM)


def move_stock(
    work: Work, context: Context, lot: Lot, quantity: int, why: str, unit_id: int | None = None
) -> Lot:
    """Add to or take from a lot, with its movement. Raises NotOnTheShelf before stock falls below zero."""
    if lot.on_hand + quantity < 0:
        item = fetch(work, StockItem, lot.item_id, "This item")
        raise NotOnTheShelf(item.name, lot.code, lot.on_hand)
    work.save(
        Movement(
            item_id=lot.item_id, lot_id=lot.id, quantity=quantity, why=why, unit_id=unit_id, at=context.moment
        )
    )
    return work.save(replace(lot, on_hand=lot.on_hand + quantity))


@dataclass(frozen=True, kw_only=True)
class AddSupplier(Operation):
    """A supplier is entered."""

    supplier: str

    code: ClassVar[str] = "add-supplier"
    words: ClassVar[str] = "Entering a supplier"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it; a second one of the same name is not allowed."""
        name = self.supplier.strip()
        if not name:
            raise WrongFigure("Supplier", "the name is empty")
        if work.first(Supplier, name=name):
            raise LabelTaken(name, "a supplier in this store")
        work.save(Supplier(name=name))
        return Outcome(f"Supplier {name} entered.", ())


@dataclass(frozen=True, kw_only=True)
class AddBin(Operation):
    """A bin is entered."""

    bin_code: str

    code: ClassVar[str] = "add-bin"
    words: ClassVar[str] = "Entering a bin"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        if work.first(Bin, code=self.bin_code):
            raise LabelTaken(self.bin_code, "a bin in this store")
        saved = work.save(Bin(label=fresh_label(work, Kind.BIN), code=self.bin_code))
        return Outcome(f"Bin {saved.code} entered as {saved.label}.", (saved.label,))


@dataclass(frozen=True, kw_only=True)
class AddItem(Operation):
    """A stock item is entered; `item_code` is what unit models name in their positions."""

    item_code: str
    item_name: str
    maker: str = ""
    maker_number: str = ""
    criticality: str = "B"
    pack_size: int = 1
    price_cents: int = 0
    supplier_id: int | None = None
    bin_id: int | None = None
    minimum: int = 0
    maximum: int | None = None
    shelf_days: int | None = None

    code: ClassVar[str] = "add-item"
    words: ClassVar[str] = "Entering a stock item"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label; figures that cannot be are not allowed."""
        if work.first(StockItem, code=self.item_code):
            raise LabelTaken(self.item_code, "a stock item in this store")
        self._check(work)
        item = work.save(
            StockItem(
                label=fresh_label(work, Kind.ITEM),
                code=self.item_code,
                name=self.item_name,
                maker=self.maker,
                maker_number=self.maker_number,
                criticality=self.criticality,
                pack_size=self.pack_size,
                price_cents=self.price_cents,
                supplier_id=self.supplier_id,
                bin_id=self.bin_id,
                minimum=self.minimum,
                maximum=self.maximum,
                shelf_days=self.shelf_days,
            )
        )
        return Outcome(f"{item.name} entered as {item.label}.", (item.label,))


    def _check(self, work: Work) -> None:
        for name, text in (("Code", self.item_code), ("Name", self.item_name)):
            if not text.strip():
                raise WrongFigure(name, "it is empty")
        if self.criticality not in CRITICALITIES:
            raise WrongFigure("Criticality", "it is A, B or C")
        if self.pack_size < 1:
            raise WrongFigure("Pack", "it holds at least 1")
        for name, figure in (("Price", self.price_cents), ("Minimum", self.minimum)):
            if figure < 0:
                raise WrongFigure(name, "it is not below zero")
        if self.maximum is not None and self.maximum < max(1, self.minimum):
            raise WrongFigure("Maximum", "it is at least 1, and not less than the minimum")
        if self.shelf_days is not None and self.shelf_days < 1:
            raise WrongFigure("Keeps on the shelf", "at least 1 day; none where it does not age")
        if self.supplier_id is not None:
            fetch(work, Supplier, self.supplier_id, "This supplier")
        if self.bin_id is not None:
            fetch(work, Bin, self.bin_id, "This bin")


@dataclass(frozen=True, kw_only=True)
class ReceiveLot(Operation):
    """A delivery of one lot comes in, against a requisition's line or without one."""

    item_id: int
    lot_code: str
    quantity: int
    expires_on: date | None = None
    requisition_line_id: int | None = None
    gtin: str = ""  # the number on the carton; one that is unknown here stands for this item from now on
    carton_pieces: int = 0  # how many pieces a carton of that number holds, where that is known
    more_kept: bool = False  # more came than was ordered, and all of it is kept

    code: ClassVar[str] = "receive-lot"
    words: ClassVar[str] = "Receiving a delivery"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Books the lot in; a lot past its date is not allowed."""
        item = fetch(work, StockItem, self.item_id, "This item")
        today = context.house.today(context.moment)
        line = self._line(work, item)
        if self.quantity < 1:
            raise WrongFigure("Quantity", "it is at least 1")
        if not self.lot_code.strip():
            raise WrongFigure("Lot", "it is empty; write the date when the carton names none")
        if self.expires_on and self.expires_on < today:
            raise WrongFigure("Lot", f"its date, {date_words(self.expires_on)}, is past")
        lot = work.first(Lot, item_id=item.id, code=self.lot_code)
        if lot is None:
            lot = work.save(
                Lot(item_id=item.id, code=self.lot_code, expires_on=self.expires_on, received_on=today)
            )
        elif lot.received_on is None and not lot.on_hand:  # a recall named it before anything of it came
            lot = work.save(replace(lot, expires_on=self.expires_on, received_on=today))
        elif lot.expires_on != self.expires_on:
            raise WrongFigure("Lot", f"{lot.code} is booked with another date")
        move_stock(work, context, lot, self.quantity, "delivery")
        work.save(
            Delivery(
                requisition_line_id=self.requisition_line_id,
                item_id=item.id,
                lot_id=lot.id,
                quantity=self.quantity,
                arrived_at=context.moment,
            )
        )
        if line is not None:
            count_arrival(work, context, *line, self.quantity)
        if self.gtin:
            bind_gtin(work, item, self.gtin, self.carton_pieces)
        blocked = f" The lot is blocked: {lot.blocked}." if lot.blocked else ""
        words = f"{count(self.quantity, 'piece')} of {item.name} came in, lot {lot.code}{_for(line)}.{blocked}"
        return Outcome(words, (item.label,))

    def _line(self, work: Work, item: StockItem) -> tuple[RequisitionLine, Requisition] | None:
        if self.requisition_line_id is None:
            return None
        if fetch(work, RequisitionLine, self.requisition_line_id, "This line").item_id != item.id:
            raise WrongFigure("Requisition", f"its line is not for {item.name}")
        line, requisition = open_line(work, self.requisition_line_id)
        left = max(0, line.quantity - line.arrived)
        if self.quantity > left and not self.more_kept:
            raise MoreThanOrdered(item.name, requisition.number, left, self.quantity)
        return line, requisition


def _for(line: tuple[RequisitionLine, Requisition] | None) -> str:
    return f", for requisition {line[1].number}" if line else ""


def bind_gtin(work: Work, item: StockItem, code: str, pieces: int) -> None:
    """A trade item number stands for this item from now on; one that stands for another is not taken over."""
    known = work.first(Gtin, code=code)
    if known is not None and known.item_id != item.id:
        other = fetch(work, StockItem, known.item_id, "The item of this number")
        raise WrongFigure("GTIN", f"{code} is {other.name}, {other.label}")
    if known is None:
        work.save(Gtin(item_id=item.id, code=code, pieces=max(1, pieces)))
    elif pieces > 0 and known.pieces != pieces:
        work.save(replace(known, pieces=pieces))


@dataclass(frozen=True, kw_only=True)
class SendRequisition(Operation):
    """A requisition to one supplier goes out: (item id, pieces, price in cents) a line."""

    supplier_id: int
    lines: tuple[tuple[int, int, int], ...]
    promised_on: date | None = None

    code: ClassVar[str] = "send-requisition"
    words: ClassVar[str] = "Writing a requisition"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Numbers and saves it."""
        supplier = fetch(work, Supplier, self.supplier_id, "This supplier")
        if not self.lines:
            raise WrongFigure("Requisition", "it has no line")
        requisition = work.save(
            Requisition(
                number=next_number(work),
                supplier_id=supplier.id,
                state=RequisitionState.SENT.value,
                made_on=context.house.today(context.moment),
            )
        )
        note_step(work, context, requisition, RequisitionState.SENT)
        labels = []
        for item_id, quantity, price_cents in self.lines:
            item = fetch(work, StockItem, item_id, "This item")
            if quantity < 1 or price_cents < 0:
                raise WrongFigure(item.name, "quantity is at least 1, price not below zero")
            labels.append(item.label)
            work.save(
                RequisitionLine(
                    requisition_id=requisition.id,
                    item_id=item.id,
                    quantity=quantity,
                    price_cents=price_cents,
                    promised_on=self.promised_on,
                )
            )
        sentence = f"Requisition {requisition.number} to {supplier.name}: {count(len(self.lines), 'line')}."
        return Outcome(sentence, tuple(labels))


@dataclass(frozen=True, kw_only=True)
class CountLot(Operation):
    """A lot was counted; a difference is posted with its reason."""

    lot_id: int
    counted: int
    why: str = ""

    code: ClassVar[str] = "count-lot"
    words: ClassVar[str] = "Counting stock"
    may: ClassVar[tuple[Role, ...]] = (*SHELF, Role.ATTENDANT)

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the count; a difference needs its reason."""
        lot = fetch(work, Lot, self.lot_id, "This lot")
        if self.counted < 0:
            raise WrongFigure("Count", "it is not below zero")
        apart = self.counted - lot.on_hand
        if apart and not self.why.strip():
            raise WrongFigure("Count", f"{abs(apart)} apart from the book; say why")
        work.take(lot)
        work.save(
            CycleCount(
                lot_id=lot.id,
                booked=lot.on_hand,
                counted=self.counted,
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        if apart:
            move_stock(work, context, lot, apart, f"count: {self.why}")
        _meet_sheet(work, context, lot, self.counted, self.why.strip() if apart else "")
        item = fetch(work, StockItem, lot.item_id, "This item")
        words = "agrees" if not apart else f"was {lot.on_hand} in the book"
        return Outcome(f"{item.name}, lot {lot.code}: {self.counted} counted, {words}.", (item.label,))


def _meet_sheet(work: Work, context: Context, lot: Lot, counted: int, why: str) -> None:
    """A counting sheet that waits for this lot has its number; the last one counted, the sheet is closed."""
    for line in work.find(CountSheetLine, lot_id=lot.id, counted=None):
        sheet = fetch(work, CountSheet, line.count_sheet_id, "Its counting sheet")
        if sheet.closed_at is not None:
            continue
        work.take(sheet, line)
        work.save(replace(line, counted=counted, why=why, counted_at=context.moment))
        if work.first(CountSheetLine, count_sheet_id=sheet.id, counted=None) is None:
            work.save(replace(sheet, closed_at=context.moment))


@dataclass(frozen=True, kw_only=True)
class BlockLot(Operation):
    """Nothing of a lot may be fitted from now on; an empty reason lifts the block."""

    lot_id: int
    why: str

    code: ClassVar[str] = "block-lot"
    words: ClassVar[str] = "Blocking a lot"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the block. While a recall of it is open nobody lifts it, later the program administrator only."""
        lot = fetch(work, Lot, self.lot_id, "This lot")
        work.take(lot)
        recall = work.latest(Recall, lot_id=lot.id)
        if recall is not None and not self.why.strip():
            if recall.closed_at is None:
                raise StillRecalled(lot.code, recall.notice, "Close the recall first.")
            if not context.clerk.has(Role.PROGRAM):
                raise StillRecalled(lot.code, recall.notice, "Only the program administrator lifts this block.")
        work.save(replace(lot, blocked=self.why.strip()))
        item = fetch(work, StockItem, lot.item_id, "This item")
        words = f"blocked: {self.why.strip()}" if self.why.strip() else "free again"
        return Outcome(f"{item.name}, lot {lot.code} {words}.", (item.label,))
