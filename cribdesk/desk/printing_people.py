"""The records behind papers about people: the information sheet, and the slip that calls a unit in."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Area, CallIn, Custody, InformationSheet, Person, Slip, Unit
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import AT_THE_CRIB, by_id, local, origin, unit_name
from cribdesk.desk.printouts import STEPS_RECHECK, CallInCause, CallInSlip
from cribdesk.desk.printouts_people import InformationPaper
from cribdesk.desk.saying import about, name_of


def information_sheet(reader: Reader, house: House, of: str, moment: datetime) -> InformationPaper:
    """The sheet whose id `of` is; two queries."""
    given = reader.first(InformationSheet, id=int(of)) if of.isascii() and of.isdigit() else None
    if given is None:
        raise LookupError(f"There is no information sheet {of} in this store.")
    people = by_id(reader, Person, given.person_id, given.by_id)
    wearer = people[given.person_id]
    return InformationPaper(
        wearer=wearer.label,
        wearer_name=name_of(wearer),
        wearer_about=about(wearer),
        given_on=given.given_on,
        given_by=name_of(people.get(given.by_id)),
    )


def called_in(reader: Reader, house: House, of: str, moment: datetime) -> CallInSlip:
    """The slip to the supervisor of a call-in whose id `of` is; at most seven queries."""
    call = reader.first(CallIn, id=int(of))
    if call is None:
        raise LookupError(f"There is no call-in {of} in this store.")
    custody = reader.get(Custody, call.custody_id)
    unit = reader.get(Unit, call.unit_id)
    people = by_id(reader, Person, call.person_id, call.by_id)
    holder = people[call.person_id]
    area = reader.first(Area, id=custody.area_id) if custody.area_id else None
    slip = reader.first(Slip, id=custody.slip_id) if custody.slip_id else None
    placed = origin(reader, unit.label)
    return CallInSlip(
        cause=CallInCause.RECHECK,
        unit=unit.label,
        unit_model=unit_name(house, unit),
        holder=holder.label,
        holder_name=name_of(holder),
        holder_about=about(holder),
        area=area.name if area else "",
        why=". ".join(call.why.splitlines()) + ".",
        since=local(house, call.made_at),
        found_by=name_of(people.get(call.by_id)),
        printed_at=local(house, moment),
        counter=placed.counter if placed and placed.operation == "call-in" else AT_THE_CRIB,
        slip=slip.label if slip else "",
        steps=STEPS_RECHECK,
        to=supervisor_of(holder),
    )


def supervisor_of(person: Person) -> str:
    """Whom the slip goes to: the crib knows crew and employer, not the supervisor's name."""
    crew = f"{person.crew} crew" if person.crew else ""
    return ", ".join(part for part in ("To the supervisor", crew, person.employer) if part)
