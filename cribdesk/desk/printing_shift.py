"""The records behind the papers of a shift: seals, and the page of its hand-over."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Inspection, Person, Unit, Verdict
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import local, unit_name
from cribdesk.desk.printouts_shift import ReadySeal
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
