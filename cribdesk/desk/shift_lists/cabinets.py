"""The cabinets: what lies in each, when it was certified, what falls due within seven days; overdue first."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta

from cribdesk.crib.records import Cabinet, Certification, Unit, Where
from cribdesk.crib.words import capital, count, date_words, day
from cribdesk.desk.cabinet import EVERY
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, fleet, why_words

SOON = timedelta(days=7)
"""So long before it is due a certification stands on the list as due (a house rule)."""

CAUTION = (
    "Nothing in a cabinet is for an atmosphere immediately dangerous to life or health, nor for an unknown release "
    "(29 CFR 1910.134(d)(2)). What lies there is certified at least monthly (1910.134(h)(3))."
)
_OVERDUE, _DUE, _FINE = 0, 1, 2
_SIGNS = {_OVERDUE: "overdue", _DUE: "caution", _FINE: "fine"}

_EMPTY = (_DUE, date.max)

Ranked = tuple[tuple[int, date, str], ShiftRow]


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    ranked = _ranked(reader, house, moment)
    ranked.sort(key=lambda one: one[0])
    late = sum(rank[0] == _OVERDUE for rank, _ in ranked)
    empty = sum(rank[:2] == _EMPTY for rank, _ in ranked)
    soon = sum(rank[0] == _DUE for rank, _ in ranked) - empty
    told = [count(reader.count(Cabinet, active=True), "cabinet")]
    told += [f"{n} {words}" for n, words in ((late, "overdue"), (soon, "due within 7 days"), (empty, "empty")) if n]
    lead = f"{', '.join(told)}."
    tools = (
        ShiftAction("Enter a cabinet", "form", "cabinet"),
        ShiftAction("A seal is broken", "command", "break-seal"),
        ShiftAction("Change a cabinet", "form", "change-cabinet"),
    )
    return ShiftRows(lead, tuple(row for _, row in ranked), "There is no cabinet yet.", tools, CAUTION)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return sum(rank[0] != _FINE for rank, _ in _ranked(reader, house, moment))


def _ranked(reader: Reader, house: House, moment: datetime) -> list[Ranked]:
    """A row for each unit in a cabinet and for each empty one, in a constant number of queries."""
    cabinets = {one.name: one for one in reader.find(Cabinet)}
    if not cabinets and reader.first(Unit, where=Where.EMERGENCY) is None:
        return []
    inside: defaultdict[str, list[Member]] = defaultdict(list)
    for member in fleet(reader, house, moment):
        if member.unit.where is Where.EMERGENCY:
            inside[member.unit.place].append(member)
    made = reader.latest_of_each(Certification, "unit_id")
    today = house.today(moment)
    found = [
        _unit_row(member, cabinets.get(name), made.get(member.unit.id), today)
        for name, members in inside.items()
        for member in members
    ]
    empty = [one for name, one in cabinets.items() if one.active and name not in inside]
    return [*found, *map(_empty_row, empty)]


def _unit_row(member: Member, cabinet: Cabinet | None, made: Certification | None, today: date) -> Ranked:
    unit = member.unit
    sort, words, due = due_state(cabinet, made, today)
    state = member.condition.state.value if member.condition else "on hold"
    if state != "ready":
        sort, words = _OVERDUE, f"not ready, {state}: {why_words(member)}; take it out"
    name = cabinet.name if cabinet else unit.place or "a cabinet without a name"
    place = f", {cabinet.place}" if cabinet and cabinet.place else ""
    seal = f"; seal {cabinet.seal}" if cabinet and cabinet.seal else ""
    buttons = [
        ShiftAction("Monthly inspection", "command", "monthly", unit.label),
        ShiftAction("Certify", "command", "certify", unit.label),
    ]
    if made is not None:
        buttons.append(ShiftAction("Its tag", "paper", "certification_tag", unit.label))
    row = ShiftRow(
        unit.label, _SIGNS[sort], f"{name}{place}", f"{capital(words)}{seal}", unit.label, tuple(buttons),
        bold=sort == _OVERDUE,
    )  # fmt: skip
    return (sort, due, unit.label), row


def due_state(cabinet: Cabinet | None, made: Certification | None, today: date) -> tuple[int, str, date]:
    """(0 overdue, 1 due within a week, 2 fine; in words; the day that counts) of a unit in a cabinet."""
    if cabinet is None:
        return _OVERDUE, "this place is no cabinet of this store; enter it, then put the unit in", date.min
    if made is None or made.cabinet_id != cabinet.id:
        return _OVERDUE, "never certified here", date.min
    last = f"certified {date_words(made.made_on)}"
    if cabinet.opened_at is not None and made.at < cabinet.opened_at:
        return _OVERDUE, f"seal broken since; {last}", date.min
    due = made.made_on + EVERY
    if due < today:
        return _OVERDUE, f"was due {day(due, today)}; {last}", due
    return (_DUE if due <= today + SOON else _FINE), f"due {day(due, today)}; {last}", due


def _empty_row(cabinet: Cabinet) -> Ranked:
    place = f", {cabinet.place}" if cabinet.place else ""
    change = (ShiftAction("Change it", "form", "change-cabinet", cabinet.label),)
    row = ShiftRow(
        cabinet.label, "caution", f"{cabinet.name}{place}", f"Empty; for {cabinet.purpose}", cabinet.label, change
    )
    return (*_EMPTY, cabinet.label), row


LIST = ShiftList("cabinets", "Cabinets", 45, _read, _count)
