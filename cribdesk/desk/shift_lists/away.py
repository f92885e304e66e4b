"""What is away: missing, stolen, at repair, lent; overdue first, then by the day it is due back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from cribdesk.crib.records import AWAY, Away, AwayKind, Custody, Person, Unit, Where
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import away_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people


def _far(reader: Reader) -> list[Unit]:
    return reader.find(Unit, where=list(AWAY))


def _overdue(away: Away | None, today: date) -> bool:
    return away is not None and away.due_on is not None and away.due_on < today


def _row(unit: Unit, away: Away | None, holder: Person | None, house: House, moment: datetime) -> ShiftRow:
    late = _overdue(away, house.today(moment))
    what, since, rest = away_words(unit, away, holder, house, moment).partition(" since ")
    detail = [f"since {rest}"] if since else []
    if away is not None:
        detail += [part for part in (away.detail, f"loaner {away.loaner}" if away.loaner else "") if part]
    sign = "overdue" if late else "caution" if unit.where is Where.MISSING else "out"
    return ShiftRow(
        unit.label, sign, capital(what), capital("; ".join(detail)), unit.label,
        _buttons(unit, away, holder), bold=late,
    )  # fmt: skip


def _buttons(unit: Unit, away: Away | None, holder: Person | None) -> tuple[ShiftAction, ...]:
    if unit.where is Where.MISSING:
        back = ("Take back", "take-back") if holder else ("It turned up", "found")
        return (ShiftAction(back[0], "command", back[1], unit.label),)
    found = [ShiftAction("It is back", "command", "arrive", unit.label)]
    if away is not None and away.kind is AwayKind.LENT and away.arrived_at is None:
        found.append(ShiftAction("It arrived there", "command", "arrived-there", unit.label))
    if away is not None and away.kind is AwayKind.REPAIR:
        found.append(ShiftAction("Its note", "paper", "repair_note", unit.label))
    return tuple(found)


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In four queries."""
    units = _far(reader)
    ids = sorted(one.id for one in units)
    away: Mapping[int, Away] = {one.unit_id: one for one in reader.find(Away, unit_id=ids, ended_at=None)}
    custodies = {one.unit_id: one for one in reader.find(Custody, unit_id=ids, returned_at=None)}
    holders = people(reader, (one.person_id for one in custodies.values()))
    today, never = house.today(moment), date.max

    def rank(unit: Unit) -> tuple[bool, date, str]:
        one = away.get(unit.id)
        return not _overdue(one, today), (one.due_on if one and one.due_on else never), unit.label

    def holder(unit: Unit) -> Person | None:
        custody = custodies.get(unit.id)
        return holders.get(custody.person_id) if custody else None

    units.sort(key=rank)
    late = sum(_overdue(away.get(one.id), today) for one in units)
    lead = f"{count(len(units), 'unit')} away" + (f", {late} overdue" if late else "") + "."
    rows = tuple(_row(one, away.get(one.id), holder(one), house, moment) for one in units)
    caution = "What comes back goes to the bench: it is ready only after a bench inspection passed here."
    return ShiftRows(lead, rows, "No unit is missing, at repair or lent.", caution=caution)


LIST = ShiftList("away", "Away", 35, _read, lambda reader, house, moment: len(_far(reader)))
