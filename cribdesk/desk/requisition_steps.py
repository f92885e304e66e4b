"""What every operation on a requisition shares: its number, its lines, and the step it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import replace

from cribdesk.crib.records import Requisition, RequisitionLine, RequisitionState, RequisitionStep
from cribdesk.crib.requisition import OPEN, NotOpenForGoods, check_step
from cribdesk.desk.operation import Context, fetch
from cribdesk.desk.ports import Records, Work


def next_number(records: Records) -> int:
    """The number of the next requisition."""
    last = records.latest(Requisition)
    return last.number + 1 if last else 1


def lines_of(records: Records, requisition_id: int) -> list[RequisitionLine]:
    """Its lines, without those that were taken off."""
    return [one for one in records.find(RequisitionLine, requisition_id=requisition_id) if one.quantity > 0]


def in_drafts(records: Records, ids: Collection[int] | None = None) -> Counter[int]:
    """Pieces on drafts that nobody handed over yet, of these items or of all, by item; two queries."""
    drafts = [one.id for one in records.find(Requisition, state=RequisitionState.DRAFT.value)]
    only: dict[str, object] = {} if ids is None else {"item_id": sorted(ids)}
    found: Counter[int] = Counter()
    for line in records.find(RequisitionLine, requisition_id=drafts, **only) if drafts else ():
        found[line.item_id] += line.quantity
    return found


def note_step(work: Work, context: Context, requisition: Requisition, to: RequisitionState, note: str = "") -> None:
    """Writes down that it is in that state from now on, and who brought it there; lead times are learnt from it."""
    work.save(
        RequisitionStep(
            requisition_id=requisition.id, state=to, at=context.moment, by_id=context.clerk.id, note=note
        )
    )


def step(work: Work, context: Context, requisition: Requisition, to: RequisitionState, note: str = "") -> Requisition:
    """The requisition in its next state. Raises NoSuchStep."""
    arrived = any(one.arrived for one in lines_of(work, requisition.id))
    check_step(requisition.number, RequisitionState(requisition.state), to, arrived)
    note_step(work, context, requisition, to, note)
    return work.save(replace(requisition, state=to.value))


def open_line(work: Work, line_id: int) -> tuple[RequisitionLine, Requisition]:
    """A line that goods may come in for, taken for change. Raises NotOpenForGoods."""
    line = fetch(work, RequisitionLine, line_id, "This line")
    requisition = fetch(work, Requisition, line.requisition_id, "This requisition")
    work.take(line, requisition)
    if RequisitionState(requisition.state) not in OPEN:
        raise NotOpenForGoods(requisition.number, requisition.state)
    return line, requisition


def count_arrival(
    work: Work, context: Context, line: RequisitionLine, requisition: Requisition, quantity: int
) -> None:
    """So many more pieces of a line came: it is part delivered, or closed once every line is whole."""
    work.save(replace(line, arrived=line.arrived + quantity))
    whole = all(one.arrived >= one.quantity for one in lines_of(work, requisition.id))
    to = RequisitionState.CLOSED if whole else RequisitionState.PART
    if requisition.state != to.value:
        step(work, context, requisition, to)
