"""How units, people, parts and packs are told in words, alike on cards, lists and papers."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from cribdesk.crib.change import PartOutlook
from cribdesk.crib.records import Away, AwayKind, Inspection, Person, Unit, Where
from cribdesk.crib.words import clock, count, date_words, day, hours, span, when
from cribdesk.desk.house import House

WHERE_WORDS = {
    Where.RACK: "on the rack",
    Where.BENCH: "at the bench",
    Where.EMERGENCY: "in the emergency cabinet",
    Where.SENT_OUT: "sent out",
    Where.MISSING: "missing",
    Where.SCRAPPED: "scrapped",
}


def name_of(person: Person | None) -> str:
    """The person's name, the label where the name was erased, 'somebody' where there is no person."""
    if person is None:
        return "somebody"
    return person.name or person.label


def about(person: Person) -> str:
    """'welder, day crew'."""
    return ", ".join(one for one in (person.trade, person.crew, person.employer) if one)


def where_words(unit: Unit, holder: Person | None = None) -> str:
    """'on the rack, row 3', 'out with Imre Dobrosi'."""
    if unit.where is Where.OUT:
        return f"out with {name_of(holder)}"
    if unit.where is Where.ASSIGNED:
        return f"assigned to {name_of(holder)}"
    words, where = WHERE_WORDS[unit.where], unit.where.value
    place = "" if unit.place == where else unit.place.removeprefix(f"{where}, ")
    return f"{words}, {place}" if place else words


def away_words(unit: Unit, away: Away | None, holder: Person | None, house: House, now: datetime) -> str:
    """'missing since today 06:12', 'at repair with Feldner since Tue 3 Nov, due back 14 Nov 2026', or where it is."""
    if away is None or unit.where not in (Where.MISSING, Where.SENT_OUT):
        return where_words(unit, holder)
    since = f"since {moment_words(away.since, house, now)}"
    if unit.where is Where.MISSING:
        held = f", on the name of {name_of(holder)}" if holder else ""
        return f"{'stolen' if away.kind is AwayKind.STOLEN else 'missing'} {since}{held}"
    late = away.due_on is not None and away.due_on < house.today(now)
    due = f", {'was due' if late else 'due'} back {date_words(away.due_on)}" if away.due_on else ""
    if away.kind is AwayKind.LENT:
        there = f"there {moment_words(away.arrived_at, house, now)}" if away.arrived_at else "in transit"
        return f"lent to {away.goes_to} {since}, {there}{due}"
    return f"at repair with {away.goes_to} {since}{due}" if away.goes_to else f"sent out {since}{due}"


def moment_words(moment: datetime, house: House, now: datetime) -> str:
    """As `when`, with 'today' before the time of a moment today."""
    today = house.today(moment) == house.today(now)
    return f"today {clock(moment, house.zone)}" if today else when(moment, house.zone, now)


def inspected_words(passed: Inspection | None, house: House, now: datetime) -> str:
    """'inspected at the bench today 05:40'."""
    if passed is None:
        return "never inspected"
    place = " at the bench" if passed.kind in ("bench", "monthly") else ""
    return f"inspected{place} {moment_words(passed.ended_at, house, now)}"


def left_words(part: PartOutlook, today: date) -> str:
    """'Pre-filter, about 19 h left', 'Pre-filter, 12 to 40 h left', 'Face seal, until Fri 27 Nov'."""
    if part.last_day is not None and part.due_on == part.last_day:
        return f"{part.name}, until {day(part.last_day, today)}"
    if part.middle is None:
        return f"{part.name}, {part.why}"
    if part.middle < 0:
        return f"{part.name}, {hours(-part.middle)} past"
    if part.early is not None and part.late is not None and part.early < part.late:
        return f"{part.name}, {span(part.early, part.late)} left"
    return f"{part.name}, about {hours(part.middle)} left"


def age_words(age: timedelta) -> str:
    """'9 h', '3 days'."""
    passed = max(0.0, age.total_seconds() / 3600)
    return hours(round(passed, 1) if passed < 1 else int(passed)) if passed < 48 else count(int(passed // 24), "day")
