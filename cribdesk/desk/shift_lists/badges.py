"""What has to be back before a badge ends: contractors and visitors who still hold a unit."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Custody, Person
from cribdesk.crib.words import capital, count, day
from cribdesk.desk.first import SOON
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import about, moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, fleet


def ending(reader: Reader, house: House, moment: datetime) -> list[Member]:
    """Units whose wearer's badge has ended or ends within the week, the first to end first."""
    last = house.today(moment) + SOON
    found = [
        (one.holder.ends_on, one)
        for one in fleet(reader, house, moment)
        if one.custody and one.holder and one.holder.ends_on and one.holder.ends_on <= last
    ]
    return [one for _, one in sorted(found, key=lambda pair: (pair[0], pair[1].unit.label))]


def _row(one: Member, house: House, moment: datetime) -> ShiftRow:
    assert one.custody is not None
    assert one.holder is not None
    today, ends = house.today(moment), one.holder.ends_on
    assert ends is not None
    ended = ends < today
    when = f"badge ended {day(ends, today)}" if ended else f"badge ends {day(ends, today)}"
    who = ", ".join(part for part in (name_of(one.holder), about(one.holder)) if part)
    words = capital(f"{when}; {_back(one.custody, one.holder, house, moment)}")
    return ShiftRow(
        one.unit.label, "stop" if ended else "caution", who, words, one.unit.label,
        (ShiftAction("Take back", "command", "take-back", one.unit.label),), bold=ends <= today,
    )  # fmt: skip


def _back(custody: Custody, holder: Person, house: House, moment: datetime) -> str:
    """When it is due; what has no time, or a later one than the badge, has to be back by its last day."""
    due = custody.due_at
    if due is None:
        return "assigned, to be back by then"
    late = holder.ends_on is not None and house.today(due) > holder.ends_on
    return f"due back {moment_words(due, house, moment)}{', which is too late' if late else ''}"


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = ending(reader, house, moment)
    today = house.today(moment)
    ended = sum(bool(one.holder and one.holder.ends_on and one.holder.ends_on < today) for one in found)
    lead = f"{count(len(found), 'unit')} to be back before a badge ends" + (f", {ended} late" if ended else "") + "."
    return ShiftRows(
        lead,
        tuple(_row(one, house, moment) for one in found),
        "Nobody whose badge ends within the week holds a unit.",
        caution="Badges that end within 7 days (a house rule). An ended badge is refused for issue, taken for return.",
    )


LIST = ShiftList(
    "badges", "Badges that end", 30, _read, lambda reader, house, moment: len(ending(reader, house, moment))
)
