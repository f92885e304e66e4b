"""Wrong or faulty goods go back to who delivered them: out of the lot, with why, and replaced or not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import (
    Delivery,
    Lot,
    Requisition,
    RequisitionLine,
    RequisitionState,
    Role,
    StockItem,
    SupplierReturn,
)
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import count
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.requisition_steps import step
from cribdesk.desk.stock import SHELF, move_stock


@dataclass(frozen=True, kw_only=True)
class ReturnToSupplier(Operation):
    """Goods go back: so many of a lot, with why. `replaced`: the supplier sends them anew, so the line expects them."""

    lot_id: int
    quantity: int
    why: str
    requisition_line_id: int | None = None
    replaced: bool = False

    code: ClassVar[str] = "return-to-supplier"
    words: ClassVar[str] = "Sending goods back"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Takes them off the shelf; a requisition that was closed expects the replacement again."""
        lot = fetch(work, Lot, self.lot_id, "This lot")
        work.take(lot)
        item = fetch(work, StockItem, lot.item_id, "This item")
        why = self.why.strip()
        if self.quantity < 1:
            raise WrongFigure("Pieces", "at least 1 goes back")
        if not why:
            raise WrongFigure("Why", "say why it goes back")
        if self.replaced and self.requisition_line_id is None:
            raise WrongFigure("Replaced", "say for which requisition it came")
        move_stock(work, context, lot, -self.quantity, f"sent back: {why}")
        papers: tuple[tuple[str, str], ...] = ()
        about = ""
        if self.requisition_line_id is not None:
            requisition = self._off_the_line(work, context, item)
            about = f" It came for requisition {requisition.number}."
            papers = (("requisition", str(requisition.number)),)
        work.save(
            SupplierReturn(
                item_id=item.id,
                lot_id=lot.id,
                requisition_line_id=self.requisition_line_id,
                quantity=self.quantity,
                why=why,
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        words = f"{count(self.quantity, 'piece')} of {item.name}, lot {lot.code}, sent back: {why}.{about}"
        return Outcome(words, (item.label,), papers)

    def _off_the_line(self, work: Work, context: Context, item: StockItem) -> Requisition:
        line = fetch(work, RequisitionLine, self.requisition_line_id or 0, "This line")
        requisition = fetch(work, Requisition, line.requisition_id, "This requisition")
        work.take(line, requisition)
        if line.item_id != item.id:
            raise WrongFigure("Requisition", f"its line is not for {item.name}")
        came = sum(one.quantity for one in work.find(Delivery, requisition_line_id=line.id))
        came -= sum(one.quantity for one in work.find(SupplierReturn, requisition_line_id=line.id))
        if self.quantity > came:
            raise WrongFigure("Pieces", f"{came} are here that came for requisition {requisition.number}")
        if not self.replaced:
            return requisition
        work.save(replace(line, arrived=line.arrived - self.quantity))
        if requisition.state == RequisitionState.CLOSED.value:
            return step(work, context, requisition, RequisitionState.PART, f"sent back: {self.why.strip()}")
        return requisition
