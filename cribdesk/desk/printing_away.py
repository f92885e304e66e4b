"""The records of the repair note and the certification tag out of the store."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Away, AwayKind, Cabinet, Certification, Person, Unit
from cribdesk.desk.cabinet import EVERY
from cribdesk.desk.house import House
from cribdesk.desk.ports import R, Reader
from cribdesk.desk.printing_parts import local, unit_name
from cribdesk.desk.printouts_away import CertificationTag, RepairNote
from cribdesk.desk.saying import name_of


def repair_note(reader: Reader, house: House, of: str, moment: datetime) -> RepairNote:
    """Of a unit's label: its last repair; in three queries."""
    unit = _unit(reader, of)
    away = _there(reader.latest(Away, unit_id=unit.id, kind=AwayKind.REPAIR), f"{of} was never sent for repair.")
    return RepairNote(
        unit=unit.label,
        unit_model=unit_name(house, unit),
        serial=unit.serial,
        goes_to=away.goes_to,
        wrong=away.detail,
        decontaminated=away.decontaminated,
        sent_at=local(house, away.since),
        sent_by=name_of(reader.first(Person, id=away.by_id)),
        due_back=away.due_on,
        loaner=away.loaner,
    )


def certification_tag(reader: Reader, house: House, of: str, moment: datetime) -> CertificationTag:
    """Of a unit's label: its last certification; in four queries."""
    unit = _unit(reader, of)
    made = _there(reader.latest(Certification, unit_id=unit.id), f"{of} was never certified.")
    cabinet = reader.get(Cabinet, made.cabinet_id)
    return CertificationTag(
        unit=unit.label,
        unit_model=unit_name(house, unit),
        cabinet=cabinet.label,
        cabinet_name=", ".join(part for part in (cabinet.name, cabinet.place) if part),
        purpose=cabinet.purpose,
        made_on=made.made_on,
        made_by=name_of(reader.first(Person, id=made.by_id)),
        findings=made.findings,
        action=made.action,
        identity=made.identity,
        seal=made.seal,
        next_due=made.made_on + EVERY,
    )


def _unit(reader: Reader, label: str) -> Unit:
    return _there(reader.first(Unit, label=label), f"There is no unit {label} in this store.")


def _there(found: R | None, words: str) -> R:
    if found is None:
        raise LookupError(words)
    return found
