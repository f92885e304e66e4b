"""The grid of a slip, entered when it is handed in: a tick for each day, and what was not good."""

from __future__ import annotations

from datetime import date, timedelta

from cribdesk.crib.records import Custody, OwnCheck, Unit
from cribdesk.crib.words import capital, day
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.own_check import SLIP, EnterOwnChecks
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import name_of
from cribdesk.desk.standings import people

MOST_DAYS = 42
"""So many days back the grid is asked for: the last weeks."""
WHAT = (("air", "The air"), ("alarm", "The alarm"), ("both", "Air and alarm"), ("else", "Something else"))


def _last_assigned(reader: Reader) -> dict[str, tuple[Unit, Custody]]:
    """By label, each unit that is assigned, or was when it came in last."""
    last = reader.latest_of_each(Custody, "unit_id")
    found = [one for one in last.values() if one.assigned]
    units = {one.id: one for one in reader.find(Unit, id=sorted(one.unit_id for one in found))}
    return {units[one.unit_id].label: (units[one.unit_id], one) for one in found}


def _days(asked: Asked, custody: Custody) -> list[date]:
    """The days of the custody that are not entered yet, newest first."""
    today = asked.house.today(asked.moment)
    last = min(today, asked.house.today(custody.returned_at)) if custody.returned_at else today
    first = max(asked.house.today(custody.issued_at), last - timedelta(days=MOST_DAYS))
    there = asked.reader.find(OwnCheck, custody_id=custody.id, source=SLIP)
    entered = {asked.house.today(one.at) for one in there}
    every = [last - timedelta(days=back) for back in range((last - first).days + 1)]
    return [on for on in every if on not in entered]


def _fields(asked: Asked) -> Fields:
    known = _last_assigned(asked.reader)
    holders = people(asked.reader, (custody.person_id for _, custody in known.values()))
    choices = tuple(
        (label, f"{label}, {name_of(holders.get(custody.person_id))}")
        for label, (_, custody) in sorted(known.items())
    )
    value = asked.label if asked.label in known else ""
    about = EntryField(ABOUT, "Unit", "choice", True, "Choose it, or scan its label.", choices, value)
    if not value:
        return (about,)
    today = asked.house.today(asked.moment)
    days = _days(asked, known[value][1])
    words = tuple((on.isoformat(), capital(day(on, today))) for on in days)
    ticks = tuple(EntryField(iso, name, "yes-no") for iso, name in words)
    return (
        about,
        *ticks,
        EntryField("bad", "A day that was not good", "choice", choices=(("", "none"), *words)),
        EntryField("what", "What was not good", "choice", True, choices=WHAT, only=("bad", *(iso for iso, _ in words))),
        EntryField("note", "In words", needed=True, only=("what", "else")),
    )


def _missing(asked: Asked) -> str:
    return "" if _last_assigned(asked.reader) else "No unit is assigned, so no slip has a grid."


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    known = _last_assigned(asked.reader).get(filled.pick(ABOUT))
    days = _days(asked, known[1]) if known else []
    bad = filled.pick("bad")
    bad_day = date.fromisoformat(bad) if bad else None
    good = tuple(on for on in days if filled.yes(on.isoformat()) and on != bad_day)
    what, note = filled.pick("what"), filled.text("note")
    if known and not good and bad_day is None:
        filled.troubles[ABOUT] = "Tick at least one day."
    return EnterOwnChecks(
        operation_id=token,
        custody_id=known[1].id if known else 0,
        good_days=good,
        bad_day=bad_day,
        flow_good=what not in ("air", "both"),
        alarm_good=what not in ("alarm", "both"),
        fault=note if what == "else" else "",
    )


OWN_CHECK_FORMS = (
    EntryKind(
        "own-checks", "own-checks", "Own checks", "Enter the own checks of a slip", EnterOwnChecks, _fields, _build,
        "Tick each day on which air and alarm were ticked as good. One that was not good holds the unit.",
        _missing, again=False,
    ),
)  # fmt: skip
