"""Units that came back by a scan alone: the rest of their return is not entered yet, the oldest first."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import Custody, Person, Unit, Where
from cribdesk.crib.words import capital, count
from cribdesk.desk.cards import UnitCard
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people
from cribdesk.desk.unit_lookup import unit_card

NEXT = "next"
"""What a command is about when it takes the oldest that waits, and goes on to the next after it."""


def waiting(reader: Reader) -> list[Custody]:
    """Every return to complete, the oldest first; one query."""
    found = reader.find(Custody, returned_at=FILLED, completed_at=None)
    return sorted(found, key=lambda one: (one.returned_at is None, one.returned_at, one.id))


def oldest(reader: Reader) -> Custody | None:
    """The return that waits longest of a unit that lies here, or None."""
    found = waiting(reader)
    out = _out_again(reader, found)
    return next((one for one in found if one.unit_id not in out), None)


def card_to_complete(reader: Reader, house: House, which: str, moment: datetime) -> UnitCard | None:
    """The unit of a return to complete: of that custody's number, or of the oldest; None where none waits.

    The card stands as it did after that return, so that an older one of two can be completed as well.
    """
    number = which.removeprefix(NEXT).strip()
    custody = reader.first(Custody, id=int(number)) if number.isdecimal() else oldest(reader)
    if custody is None:
        return None
    card = unit_card(reader, house, custody.unit_id, moment)
    holder = people(reader, (custody.person_id,)).get(custody.person_id)
    return replace(card, standing=replace(card.standing, last_custody=custody), last_holder=holder)


def _out_again(reader: Reader, found: list[Custody]) -> set[int]:
    units = sorted({one.unit_id for one in found})
    return {one.unit_id for one in reader.find(Custody, unit_id=units, returned_at=None)}


def _row(one: Custody, unit: Unit, holder: Person | None, out: bool, back: str) -> ShiftRow:
    again = "out again: complete it when it is back" if out else "hours, battery and damage not said"
    button = ShiftAction("Complete", "command", "complete-return", f"{NEXT} {one.id}")
    detail = capital(f"back {back}; {again}")
    return ShiftRow(str(one.id), "not checked", name_of(holder), detail, unit.label, () if out else (button,))


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = waiting(reader)
    units = {one.id: one for one in reader.find(Unit, id=sorted({one.unit_id for one in found}))}
    found = [one for one in found if units[one.unit_id].where is not Where.SCRAPPED]
    holders = people(reader, (one.person_id for one in found))
    out = _out_again(reader, found)
    rows = tuple(
        _row(
            one, units[one.unit_id], holders.get(one.person_id), one.unit_id in out,
            moment_words(one.returned_at or moment, house, moment),
        )
        for one in found
    )  # fmt: skip
    actions = (ShiftAction("Complete one after the other", "command", "complete-return", NEXT),) if rows else ()
    lead = f"{count(len(rows), 'return')} to complete." if rows else "Every return is complete."
    return ShiftRows(lead, rows, "Every return is complete.", actions)


LIST = ShiftList(
    "to-complete", "Returned, to complete", 50, _read,
    lambda reader, house, moment: reader.count(Custody, returned_at=FILLED, completed_at=None),
)  # fmt: skip
