"""What waits at the bench, what falls due there before the shift ends and this week, and returns to complete."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from cribdesk.crib.change import next_change
from cribdesk.crib.records import Custody, Instrument
from cribdesk.crib.words import clock, count
from cribdesk.desk.cards_lists import BenchList, UnitRow
from cribdesk.desk.first import calendar_rows
from cribdesk.desk.house import House
from cribdesk.desk.lists import unit_row
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.saying import moment_words
from cribdesk.desk.standings import STATES, Member, due_now, fleet, waiting_at_bench, worst_first

WEEK = timedelta(days=7)
Group = tuple[str, str, tuple[UnitRow, ...]]


def bench_list(reader: Reader, house: House, moment: datetime) -> BenchList:
    """The bench's list, in eleven queries; a group without a unit is left out."""
    units = fleet(reader, house, moment)
    due = [unit for unit, _ in due_now(units, house, moment)]
    week = this_week(units, due, house, moment)
    end = clock(house.turn(moment).end, house.zone)
    waiting = worst_first(waiting_at_bench(units))
    by_state = {state: [one for one in waiting if one.state == state] for state in STATES}
    groups = (
        _group("On hold", ", not to be used", by_state["on hold"], house, moment),
        _group("To look over or inspect", "", by_state["not checked"], house, moment),
        _group("To clean", "", by_state["needs cleaning"], house, moment),
        _group("Before next shift", f" by {end}", due, house, moment),
        _group("This week", "", week, house, moment),
    )
    return BenchList(
        groups=tuple(group for group in groups if group[2]),
        to_complete=_to_complete(reader, units, house, moment),
        calendar=calendar_rows(units, reader.find(Instrument, active=True), house, moment),
    )


def this_week(units: Sequence[Member], due: Sequence[Member], house: House, moment: datetime) -> list[Member]:
    """Units whose next change falls due within seven days and not before this shift ends, the first first."""
    before = {unit.unit.id for unit in due}
    last = house.today(moment) + WEEK
    found = []
    for unit in units:
        change = next_change(unit.parts)
        if unit.unit.id in before or unit.state in ("on hold", "elsewhere") or change is None:
            continue
        if change.due_on is not None and change.due_on <= last:
            found.append((change.due_on, unit.unit.label, unit))
    return [unit for _, _, unit in sorted(found, key=lambda one: one[:2])]


def _group(title: str, words: str, units: Sequence[Member], house: House, moment: datetime) -> Group:
    told = count(len(units), "unit") + words
    return title, told, tuple(unit_row(unit, house, moment) for unit in units)


def _to_complete(
    reader: Reader, units: Sequence[Member], house: House, moment: datetime
) -> tuple[tuple[int, str, str], ...]:
    labels = {unit.unit.id: unit.unit.label for unit in units}
    found = reader.find(Custody, returned_at=FILLED, completed_at=None)
    return tuple(
        (one.id, labels[one.unit_id], f"back {moment_words(one.returned_at, house, moment)}, the rest not entered")
        for one in found
        if one.returned_at is not None
    )
