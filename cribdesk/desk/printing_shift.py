"""The records behind the papers of a shift: seals, and the page of its hand-over."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Inspection, Person, ShiftClose, Unit, Verdict
from cribdesk.desk.close_shift import page_of
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import by_id, local, unit_name
from cribdesk.desk.printouts_shift import ReadySeal, ShiftSheet
from cribdesk.desk.readiness import good_until
from cribdesk.desk.saying import name_of


def ready_seal(reader: Reader, house: House, of: str, moment: datetime) -> ReadySeal:
    """The seal of the inspection whose id `of` is; three queries.

    It prints for a pass at the bench only, and no more once the unit was inspected again or its time is over.
    """
    made = reader.first(Inspection, id=int(of)) if of.isascii() and of.isdigit() else None
    if made is None:
        raise LookupError(f"There is no inspection {of} in this store.")
    unit = reader.get(Unit, made.unit_id)
    if made.verdict is not Verdict.PASS or made.kind != "bench":
        raise LookupError(f"{unit.label} has no seal of this inspection: it is no pass at the bench.")
    until = good_until(house, made.ended_at)
    if until <= moment:
        raise LookupError(f"The seal of {unit.label} is past its time: inspect it again.")
    return ReadySeal(
        unit=unit.label,
        unit_model=unit_name(house, unit),
        inspected_at=local(house, made.ended_at),
        by=name_of(reader.get(Person, made.by_id)),
        good_until=local(house, until),
    )


def shift_page(reader: Reader, house: House, of: str, moment: datetime) -> ShiftSheet:
    """The page of the hand-over whose id `of` is, as it was frozen; two queries."""
    closed = reader.first(ShiftClose, id=int(of)) if of.isascii() and of.isdigit() else None
    if closed is None:
        raise LookupError(f"There is no shift {of} handed over in this store.")
    page = page_of(closed)
    known = by_id(reader, Person, closed.by_id, closed.taken_by)
    return ShiftSheet(
        shift=page.shift,
        began_at=local(house, closed.began_at),
        ended_at=local(house, closed.ended_at),
        closed_at=local(house, page.closed_at),
        counter=page.counter,
        closed_by=name_of(known.get(closed.by_id)),
        taken_by=name_of(known[closed.taken_by]) if closed.taken_by else "",
        figures=page.figures,
        note=closed.note,
    )
