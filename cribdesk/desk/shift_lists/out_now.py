"""Who is still out: overdue first, then by the time they are due."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Slip, Where
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, fleet


def _out(reader: Reader, house: House, moment: datetime) -> list[Member]:
    return [one for one in fleet(reader, house, moment) if one.custody is not None]


def _slips(reader: Reader, late: list[Member]) -> dict[int, str]:
    """The slips that overdue units went out with, by their id: a call-in slip prints by them. One query."""
    ids = sorted({one.custody.slip_id for one in late if one.custody and one.custody.slip_id})
    return {one.id: one.label for one in reader.find(Slip, id=ids)}


def _row(one: Member, slips: dict[int, str], house: House, moment: datetime) -> ShiftRow:
    custody, unit = one.custody, one.unit
    assert custody is not None
    due = custody.due_at
    back = f"due back {moment_words(due, house, moment)}" if due else "assigned, no time of return"
    if unit.where is Where.MISSING:
        back = "missing in their hands"
    since = f"out since {moment_words(custody.issued_at, house, moment)}"
    missing = unit.where is Where.MISSING
    sign = "caution" if missing else one.state if one.state in ("overdue", "on hold") else "out"
    take_back = ShiftAction("Take back", "command", "take-back", unit.label)
    slip = slips.get(custody.slip_id or 0)
    call = (ShiftAction("Call-in slip", "paper", "call_in_slip", slip),) if one.overdue and slip else ()
    return ShiftRow(
        unit.label, sign, name_of(one.holder), capital(f"{back}; {since}"), unit.label, (*call, take_back),
        bold=one.overdue,
    )  # fmt: skip


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = _out(reader, house, moment)
    last = datetime.max.replace(tzinfo=moment.tzinfo)
    found.sort(key=lambda one: (not one.overdue, one.custody.due_at or last if one.custody else last, one.unit.label))
    overdue = [one for one in found if one.overdue]
    late, slips = len(overdue), _slips(reader, overdue)
    lead = f"{count(len(found), 'unit')} out" + (f", {late} overdue" if late else "") + "."
    return ShiftRows(lead, tuple(_row(one, slips, house, moment) for one in found), "Nobody has a unit now.")


LIST = ShiftList("out", "Still out", 10, _read, lambda reader, house, moment: len(_out(reader, house, moment)))
