"""What the last audit of the rack left open, each with the way to set it right; the audits before it as they were."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Custody, Inspection, Person, RackAudit, Unit, Where
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.rack_audit import audit_words
from cribdesk.desk.saying import moment_words, name_of, where_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people

KEPT = 10
"""So many audits are listed."""


def _open(reader: Reader) -> tuple[list[Unit], list[Unit]]:
    """Of the last audit: what is absent and still in the book as on the rack, what hung there and is still not.

    What was inspected or issued since was in somebody's hands: it is found.
    """
    last = reader.latest(RackAudit)
    if last is None:
        return [], []
    absent = reader.find(Unit, label=last.absent.splitlines(), where=Where.RACK)
    found = _found_since(reader, [one.id for one in absent], last.at)
    absent = [one for one in absent if one.id not in found]
    surplus = [one for one in reader.find(Unit, label=last.surplus.splitlines()) if one.where is not Where.RACK]
    return absent, [one for one in surplus if one.where is not Where.SCRAPPED]


def _found_since(reader: Reader, ids: list[int], moment: datetime) -> set[int]:
    looked = reader.latest_of_each(Inspection, "unit_id", unit_id=ids)
    issued = reader.latest_of_each(Custody, "unit_id", unit_id=ids)
    return {id_ for id_, one in looked.items() if one.ended_at > moment} | {
        id_ for id_, one in issued.items() if one.issued_at > moment
    }


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    absent, surplus = _open(reader)
    custodies = {one.unit_id: one for one in reader.find(Custody, unit_id=[u.id for u in surplus], returned_at=None)}
    holders = people(reader, (one.person_id for one in custodies.values()))
    rows = [_absent(one) for one in absent]
    rows += [_surplus(one, custodies.get(one.id), holders) for one in surplus]
    audits = reader.newest(RackAudit, KEPT)[::-1]
    by = people(reader, (one.by_id for one in audits))
    rows += [_past(one, by.get(one.by_id), house, moment) for one in audits]
    lead = "The rack was not audited yet." if not audits else _lead(len(absent), len(surplus))
    return ShiftRows(
        lead, tuple(rows), "The rack was not audited yet.", (ShiftAction("Audit the rack", "command", "rack-audit"),),
        "An audit moves nothing: somebody who looked for a unit moves it or says it is missing." if rows else "",
    )  # fmt: skip


def _lead(absent: int, surplus: int) -> str:
    if not absent and not surplus:
        return "Nothing of the last audit is open."
    told = [f"{count(absent, 'unit')} absent"] * bool(absent) + [f"{surplus} not expected there"] * bool(surplus)
    return f"Of the last audit still open: {', '.join(told)}."


def _absent(one: Unit) -> ShiftRow:
    return ShiftRow(
        f"absent {one.id}", "caution", "Absent from the rack", "In the book it hangs there. Look for it first.",
        one.label,
        (ShiftAction("Say it is missing", "command", "missing", one.label),
         ShiftAction("It is elsewhere", "form", "move", one.label)),
        bold=True,
    )  # fmt: skip


def _surplus(one: Unit, custody: Custody | None, holders: dict[int, Person]) -> ShiftRow:
    holder = holders.get(custody.person_id) if custody else None
    book = f"In the book it is {where_words(one, holder)}."
    if custody is not None:
        action = ShiftAction("Take back", "command", "take-back", one.label)
        what = f"On the rack, out with {name_of(holder)}"
    elif one.where in (Where.MISSING, Where.SENT_OUT):
        words, command = ("It turned up", "found") if one.where is Where.MISSING else ("It is back", "arrive")
        action = ShiftAction(words, "command", command, one.label)
        what = f"On the rack, {one.where.value} in the book"
    else:
        action = ShiftAction("Put on the rack", "form", "move", one.label)
        what = "On the rack, elsewhere in the book"
    return ShiftRow(f"surplus {one.id}", "caution", what, book, one.label, (action,), bold=True)


def _past(one: RackAudit, by: Person | None, house: House, moment: datetime) -> ShiftRow:
    absent, surplus = one.absent.splitlines(), one.surplus.splitlines()
    words = capital(audit_words(one.expected, one.there, absent, surplus))
    detail = f"{capital(moment_words(one.at, house, moment))}, {name_of(by)}"
    return ShiftRow(f"audit {one.id}", "dot" if absent or surplus else "fine", f"{words}.", detail)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    absent, surplus = _open(reader)
    return len(absent) + len(surplus)


LIST = ShiftList("rack-audits", "Rack audits", 70, _read, _count)
