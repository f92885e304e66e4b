"""The record behind the printed due list."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.words import capital, number
from cribdesk.desk.due import SORTED_BY, due_list
from cribdesk.desk.due_cards import GROUPS, DueList, DueRow, FetchRow
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import local
from cribdesk.desk.printouts_due import DueDuty, DueGroup, DueItem, DuePart, DueSheet, DueUnit

MARKS = {"stop": "STOP", "caution": "!"}


def due_sheet(reader: Reader, house: House, of: str, moment: datetime) -> DueSheet:
    """The due list as it is at that moment; in a constant number of queries."""
    due = due_list(reader, house, moment)
    groups = tuple(DueGroup(capital(name), _units(due, name)) for name in GROUPS if due.of(name))
    return DueSheet(
        at=local(house, due.at),
        end=local(house, due.end),
        bound=due.bound,
        groups=groups,
        items=tuple(_item(row) for row in due.fetch if row.number),
        duties=tuple(DueDuty(one.what, one.detail, one.label) for one in due.duties),
        sorted_by=SORTED_BY,
    )


def _units(due: DueList, group: str) -> tuple[DueUnit, ...]:
    """The units of a group in the order of their worst part."""
    by_unit: dict[str, list[DueRow]] = {}
    for row in due.of(group):
        by_unit.setdefault(row.label, []).append(row)
    return tuple(
        DueUnit(label, capital(rows[0].model), rows[0].standing,
                tuple(DuePart(row.name, row.figure, row.why, MARKS.get(row.level, "")) for row in rows))
        for label, rows in by_unit.items()
    )  # fmt: skip


def _item(row: FetchRow) -> DueItem:
    there = f"only {number(row.there)} there" if row.short else f"{number(row.there)} there"
    where = ", ".join(part for part in (f"bin {row.bin}" if row.bin else "", there, row.lot) if part)
    return DueItem(row.number, row.name, row.code, where, row.short)
