"""What lapses in the next 30, 60 and 90 days, for the program administrator: people, meters, assessments, units."""

from __future__ import annotations

from datetime import date, datetime

from cribdesk.crib.clearance import REMIND_DAYS, in_days
from cribdesk.crib.records import Role
from cribdesk.crib.words import capital, count, date_words
from cribdesk.desk.house import House
from cribdesk.desk.lapses import AREA, HORIZONS, METER, PERSON, Lapse, lapses
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows

LAPSED = "Lapsed, not renewed"
CAUTION = (
    "Training and fit tests run a year to the same date, 29 CFR 1910.134(k)(5) and (f)(2). A medical clearance ends "
    "only where the health professional gave a date; none given is not lapsed: (e)."
)
_ENTER = {
    PERSON: ("Enter anew", "clearance"),
    METER: ("Calibrate", "calibrate"),
}


def _group(left: int) -> str:
    if left < 0:
        return LAPSED
    before = 0
    for days in HORIZONS:
        if left <= days:
            return f"Within {days} days" if not before else f"In {before + 1} to {days} days"
        before = days
    return ""


def _row(one: Lapse, today: date) -> ShiftRow:
    left = one.left(today)
    if left < 0:
        words = f"{one.what} ended {date_words(one.until)}, {count(-left, 'day')} ago"
    else:
        words = f"{one.what} ends {in_days(left)}, {date_words(one.until)}"
    words = words.replace(" ended ", " was to be reviewed ") if one.sort == AREA and left < 0 else words
    words = words.replace(" ends ", " is to be reviewed ") if one.sort == AREA and left >= 0 else words
    sign = "stop" if left < 0 else "caution" if left <= REMIND_DAYS else ""
    return ShiftRow(
        one.key, sign, one.who, f"{capital(words)}.", one.label, _actions(one), bold=left < 0, group=_group(left)
    )


def _actions(one: Lapse) -> tuple[ShiftAction, ...]:
    if one.sort not in _ENTER:
        return ()
    words, form = _ENTER[one.sort]
    return (ShiftAction(words, "form", form, one.label),)


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    today = house.today(moment)
    found = lapses(reader, house, moment)
    ended = sum(one.left(today) < 0 for one in found)
    soon = sum(0 <= one.left(today) <= HORIZONS[0] for one in found)
    lead = f"{count(soon, 'thing lapses', 'things lapse')} within 30 days" if soon else "Nothing lapses within 30 days"
    lead += f"; {ended} lapsed already, not renewed." if ended else "."
    none = "Nothing lapses in the next 90 days, and nothing has lapsed."
    many = ShiftAction("Class or test day", "command", "class-day")
    return ShiftRows(lead, tuple(_row(one, today) for one in found), none, (many,), CAUTION)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return len(lapses(reader, house, moment, HORIZONS[0]))


LIST = ShiftList("lapses", "Lapses", 83, _read, _count, (Role.PROGRAM,))
