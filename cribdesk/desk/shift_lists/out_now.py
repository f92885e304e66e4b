"""Who is still out: overdue first, then by the time they are due."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Where
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, fleet


def _out(reader: Reader, house: House, moment: datetime) -> list[Member]:
    return [one for one in fleet(reader, house, moment) if one.custody is not None]


def _row(one: Member, house: House, moment: datetime) -> ShiftRow:
    custody, unit = one.custody, one.unit
    assert custody is not None
    due = custody.due_at
    back = f"due back {moment_words(due, house, moment)}" if due else "assigned, no time of return"
    if unit.where is Where.MISSING:
        back = "missing in their hands"
    since = f"out since {moment_words(custody.issued_at, house, moment)}"
    missing = unit.where is Where.MISSING
    sign = "caution" if missing else one.state if one.state in ("overdue", "on hold") else "out"
    return ShiftRow(
        unit.label, sign, name_of(one.holder), capital(f"{back}; {since}"), unit.label,
        (ShiftAction("Take back", "command", "take-back", unit.label),), bold=one.overdue,
    )  # fmt: skip


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = _out(reader, house, moment)
    last = datetime.max.replace(tzinfo=moment.tzinfo)
    found.sort(key=lambda one: (not one.overdue, one.custody.due_at or last if one.custody else last, one.unit.label))
    late = sum(one.overdue for one in found)
    lead = f"{count(len(found), 'unit')} out" + (f", {late} overdue" if late else "") + "."
    return ShiftRows(lead, tuple(_row(one, house, moment) for one in found), "Nobody has a unit now.")


LIST = ShiftList("out", "Still out", 10, _read, lambda reader, house, moment: len(_out(reader, house, moment)))
