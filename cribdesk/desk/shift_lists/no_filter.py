"""Worn without a filter: who had the unit since its last good inspection, for the program administrator."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Role
from cribdesk.crib.words import count, hours
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.unfiltered import WithoutFilter, Worn, without_filter

CAUTION = (
    "The industrial hygienist assesses the exposure, the physician decides on any medical follow-up. "
    "This list tells who had the unit, and finds nothing more."
)


def _head(one: WithoutFilter, house: House, moment: datetime) -> ShiftRow:
    since = f"since {moment_words(one.since, house, moment)}" if one.since else "ever, no good inspection before it"
    detail = f"{count(len(one.worn), 'custody', 'custodies')} {since}" if one.worn else f"Nobody had it {since}"
    return ShiftRow(
        f"finding {one.notice.id}",
        "stop",
        f"{one.unit.label}: no filter was in it, found {moment_words(one.found_at, house, moment)}",
        detail,
        one.unit.label,
        (ShiftAction("Print the record", "paper", "inspection_record", str(one.notice.inspection_id)),),
        bold=one.notice.seen_at is None,
    )


def _row(finding: WithoutFilter, one: Worn, house: House, moment: datetime) -> ShiftRow:
    custody = one.custody
    out = moment_words(custody.issued_at, house, moment)
    back = moment_words(custody.returned_at, house, moment) if custody.returned_at else "still has it"
    worn = f"{hours(one.hours)} worn" if one.hours is not None else "hours not said yet"
    area = one.area.name if one.area else "no area said"
    agents = f" ({one.area.agents})" if one.area and one.area.agents else ""
    return ShiftRow(
        f"finding {finding.notice.id} custody {custody.id}",
        "caution",
        name_of(one.person),
        f"{area}{agents}; {out} to {back}, {worn}; tell the industrial hygienist and the physician",
        one.person.label,
        (ShiftAction("Open", "place", "person", one.person.label),),
    )


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = without_filter(reader)
    rows = tuple(
        row
        for one in found
        for row in (_head(one, house, moment), *(_row(one, worn, house, moment) for worn in one.worn))
    )
    people = len({worn.person.id for one in found for worn in one.worn})
    had = count(people, "person", "people") if people else "nobody"
    lead = f"{count(len(found), 'unit')} found without a filter, {had} had one of them."
    return ShiftRows(lead, rows, "No unit was found without its filter.", caution=CAUTION if found else "")


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return sum(one.notice.seen_at is None for one in without_filter(reader))


LIST = ShiftList("no-filter", "Worn without a filter", 82, _read, _count, who=(Role.PROGRAM,))
