"""Requisitions: written from chosen items, changed, and brought from step to step. Nothing is sent by the program."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import Requisition, RequisitionLine, RequisitionState, Role, StockItem, Supplier
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.requisition import (
    BY_HAND,
    OPEN,
    WHY,
    LineFixed,
    NoSubstitute,
    NoSuchStep,
    substitutes,
)
from cribdesk.crib.words import count, date_words, number
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.prices import price_of
from cribdesk.desk.requisition_steps import lines_of, next_number, note_step, step
from cribdesk.desk.stock import SHELF

MOST_PIECES = 100_000
_DRAFT, _SENT = RequisitionState.DRAFT, RequisitionState.SENT
DONE_WORDS = {
    RequisitionState.SENT: "is printed and handed over",
    RequisitionState.BACK_ORDERED: "is back-ordered",
    RequisitionState.CLOSED: "is closed",
    RequisitionState.CANCELLED: "is cancelled",
}


def check_pieces(item: StockItem, pieces: int) -> None:
    """Raises WrongFigure where so many are not ordered: none, too many, or no whole number of packs."""
    if not 1 <= pieces <= MOST_PIECES:
        raise WrongFigure(item.name, f"pieces are between 1 and {number(MOST_PIECES)}")
    over = pieces % item.pack_size
    if over:
        low, high = pieces - over, pieces - over + item.pack_size
        either = f"{low} or {high}" if low else str(high)
        raise WrongFigure(item.name, f"{pieces} are no whole packs of {item.pack_size}; order {either}")


@dataclass(frozen=True, kw_only=True)
class MakeRequisitions(Operation):
    """Chosen items become drafts, one for each supplier: (item id, pieces) a line."""

    lines: tuple[tuple[int, int], ...]
    note: str = ""

    code: ClassVar[str] = "make-requisition"
    words: ClassVar[str] = "Writing a requisition"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Numbers and saves them; each line keeps the price of this day."""
        if not self.lines:
            raise WrongFigure("Requisition", "it has no line")
        wanted: dict[int, list[tuple[StockItem, int]]] = {}
        for item_id, pieces in self.lines:
            item = fetch(work, StockItem, item_id, "This item")
            _orderable(item, [one.id for rows in wanted.values() for one, _ in rows])
            check_pieces(item, pieces)
            wanted.setdefault(item.supplier_id or 0, []).append((item, pieces))
        made = [self._one(work, context, supplier_id, rows) for supplier_id, rows in sorted(wanted.items())]
        labels = tuple(item.label for rows in wanted.values() for item, _ in rows)
        return Outcome(" ".join(made), labels)

    def _one(self, work: Work, context: Context, supplier_id: int, rows: list[tuple[StockItem, int]]) -> str:
        supplier = fetch(work, Supplier, supplier_id, "This supplier")
        today = context.house.today(context.moment)
        requisition = work.save(
            Requisition(
                number=next_number(work),
                supplier_id=supplier.id,
                state=_DRAFT.value,
                made_on=today,
                note=self.note.strip(),
            )
        )
        note_step(work, context, requisition, _DRAFT)
        for item, pieces in rows:
            price = price_of(work, item, supplier.id, today)
            work.save(
                RequisitionLine(
                    requisition_id=requisition.id, item_id=item.id, quantity=pieces, price_cents=price
                )
            )
        return f"Requisition {requisition.number} to {supplier.name}: {count(len(rows), 'line')}, a draft."


def _orderable(item: StockItem, before: list[int]) -> None:
    if item.supplier_id is None:
        raise WrongFigure(item.name, "it has no supplier; change the item first")
    if not item.active:
        raise WrongFigure(item.name, "it is out of use")
    if item.id in before:
        raise WrongFigure(item.name, "it stands there twice; say how many in one line")


@dataclass(frozen=True)
class LineChange:
    """What a line is to be: its item, its pieces (0 takes it off a draft), the day promised for it."""

    line_id: int
    item_id: int
    pieces: int
    promised_on: date | None = None

    def plain(self) -> tuple[int, int, int, date | None]:
        """As it stands in a request."""
        return self.line_id, self.item_id, self.pieces, self.promised_on


@dataclass(frozen=True, kw_only=True)
class ChangeRequisition(Operation):
    """Lines of a requisition are changed: (line id, item id, pieces, promised day); `added` are (item id, pieces).

    Pieces change in a draft only; another item takes a line over while nothing of it came; a promised day is noted
    while something may come. The price of a line stays as it was when it was written.
    """

    requisition_id: int
    lines: tuple[tuple[int, int, int, date | None], ...]
    added: tuple[tuple[int, int], ...] = ()

    code: ClassVar[str] = "change-requisition"
    words: ClassVar[str] = "Changing a requisition"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves what differs; nothing that differs is told."""
        requisition = fetch(work, Requisition, self.requisition_id, "This requisition")
        work.take(requisition)
        state = RequisitionState(requisition.state)
        if state is not _DRAFT and state not in OPEN:
            raise LineFixed(requisition.number, "every line", f"it is {state.value}")
        told: list[str] = []
        labels: list[str] = []
        for change in (LineChange(*one) for one in self.lines):
            line = fetch(work, RequisitionLine, change.line_id, "This line")
            if line.requisition_id != requisition.id:
                raise WrongFigure("Line", f"it is none of requisition {requisition.number}")
            words = self._change(work, context, requisition, line, change)
            if words:
                told.append(words)
                labels.append(fetch(work, StockItem, change.item_id, "This item").label)
        for item_id, pieces in self.added:
            told.append(self._add(work, context, requisition, item_id, pieces))
            labels.append(fetch(work, StockItem, item_id, "This item").label)
        if not told:
            raise WrongFigure(f"Requisition {requisition.number}", "nothing in it differs")
        return Outcome(f"Requisition {requisition.number}: {'; '.join(told)}.", tuple(dict.fromkeys(labels)))

    def _change(
        self, work: Work, context: Context, requisition: Requisition, line: RequisitionLine, to: LineChange
    ) -> str:
        draft = requisition.state == _DRAFT.value
        item = fetch(work, StockItem, to.item_id, "This item")
        told = []
        changed = line
        if to.item_id != line.item_id:
            changed = self._substitute(work, context, requisition, line, item)
            told.append("instead of what was asked for")
        if to.pieces != line.quantity:
            if not draft:
                raise LineFixed(requisition.number, f"{item.name}, {line.quantity} pieces,", "it was handed over")
            if to.pieces:
                check_pieces(item, to.pieces)
            changed = replace(changed, quantity=to.pieces)
            told.append(count(to.pieces, "piece") if to.pieces else "taken off")
        elif to.item_id != line.item_id:
            check_pieces(item, to.pieces)
        if to.promised_on != line.promised_on:
            changed = replace(changed, promised_on=_promised(requisition, to.promised_on))
            told.append(f"promised for {date_words(to.promised_on)}" if to.promised_on else "no day promised")
        if not told:
            return ""
        work.take(line)
        work.save(changed)
        return f"{item.name}: {', '.join(told)}"

    def _substitute(
        self, work: Work, context: Context, requisition: Requisition, line: RequisitionLine, item: StockItem
    ) -> RequisitionLine:
        before = fetch(work, StockItem, line.item_id, "This item")
        if line.arrived:
            raise LineFixed(requisition.number, before.name, "some of it came")
        if not item.active or item.code not in substitutes(context.house.models.values(), before.code):
            raise NoSubstitute(before.name, item.name)
        price = price_of(work, item, requisition.supplier_id, context.house.today(context.moment))
        return replace(line, item_id=item.id, price_cents=price)

    def _add(self, work: Work, context: Context, requisition: Requisition, item_id: int, pieces: int) -> str:
        item = fetch(work, StockItem, item_id, "This item")
        if requisition.state != _DRAFT.value:
            raise LineFixed(requisition.number, "its number of lines", "it was handed over")
        _orderable(item, [one.item_id for one in lines_of(work, requisition.id)])
        if item.supplier_id != requisition.supplier_id:
            raise WrongFigure(item.name, "it comes from another supplier; it needs a requisition of its own")
        check_pieces(item, pieces)
        price = price_of(work, item, requisition.supplier_id, context.house.today(context.moment))
        work.save(
            RequisitionLine(requisition_id=requisition.id, item_id=item.id, quantity=pieces, price_cents=price)
        )
        return f"{item.name}: {count(pieces, 'piece')} more on it"


def _promised(requisition: Requisition, on: date | None) -> date | None:
    if on is not None and on < requisition.made_on:
        raise WrongFigure("Promised", f"{date_words(on)} lies before the requisition itself")
    return on


@dataclass(frozen=True, kw_only=True)
class StepRequisition(Operation):
    """A requisition takes a step: it is printed and handed over, back-ordered, closed or cancelled."""

    requisition_id: int
    to: RequisitionState
    note: str = ""

    code: ClassVar[str] = "step-requisition"
    words: ClassVar[str] = "A step of a requisition"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes the step with its moment; handing it over prints it. Nothing is sent by the program."""
        requisition = fetch(work, Requisition, self.requisition_id, "This requisition")
        work.take(requisition)
        if self.to not in BY_HAND:
            raise NoSuchStep(requisition.number, requisition.state, self.to.value, "A delivery does that by itself.")
        lines, note = lines_of(work, requisition.id), self.note.strip()
        if self.to is _SENT and not lines:
            raise WrongFigure("Requisition", "it has no line")
        short = self.to is RequisitionState.CLOSED and any(one.arrived < one.quantity for one in lines)
        if (self.to in WHY or short) and not note:
            raise WrongFigure(f"Requisition {requisition.number}", f"say why it is {self.to.value}")
        step(work, context, requisition, self.to, note)
        supplier = fetch(work, Supplier, requisition.supplier_id, "This supplier")
        items = {one.id: one.label for one in work.find(StockItem, id=[line.item_id for line in lines])}
        why = f": {note}" if note else ""
        words = f"Requisition {requisition.number} to {supplier.name} {DONE_WORDS[self.to]}{why}."
        papers = (("requisition", str(requisition.number)),) if self.to is _SENT else ()
        return Outcome(words, tuple(items[line.item_id] for line in lines), papers)
