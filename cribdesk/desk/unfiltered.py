"""Who had a unit in which no filter was found, since its last good inspection: derived, never stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.records import Area, Custody, Inspection, Notice, NoticeKind, Person, Unit, Verdict
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION
from cribdesk.desk.ports import Records
from cribdesk.desk.standings import people

LATEST = 20
"""So many of the last findings are listed; those that the program administrator has not seen, all."""


@dataclass(frozen=True)
class Worn:
    """One custody in which the unit may have been worn without its filter."""

    custody: Custody
    person: Person
    area: Area | None
    hours: float | None  # None while they were not said


@dataclass(frozen=True)
class WithoutFilter:
    """One finding: the unit, when, by which inspection, and everybody who had it since `since`, newest first.

    `since` is None where the unit has no good inspection before it: then it is everybody who ever had it.
    """

    notice: Notice
    unit: Unit
    found_at: datetime
    since: datetime | None
    worn: tuple[Worn, ...]


def without_filter(records: Records) -> tuple[WithoutFilter, ...]:
    """Every finding that counts here, newest first, in seven queries."""
    notices = sorted(records.find(Notice, kind=NoticeKind.NO_FILTER), key=lambda one: -one.id)
    notices = [one for index, one in enumerate(notices) if index < LATEST or one.seen_at is None]
    unit_ids = sorted({one.unit_id for one in notices if one.unit_id})
    if not unit_ids:
        return ()
    units = {one.id: one for one in records.find(Unit, id=unit_ids)}
    made_ids = sorted({one.inspection_id for one in notices if one.inspection_id})
    made = {one.id: one for one in records.find(Inspection, id=made_ids)}
    passes = records.find(Inspection, unit_id=unit_ids, verdict=Verdict.PASS, kind=COUNTS_AS_INSPECTION)
    custodies = records.find(Custody, unit_id=unit_ids)
    persons = people(records, (one.person_id for one in custodies))
    areas = {one.id: one for one in records.find(Area, id=sorted({one.area_id for one in custodies if one.area_id}))}
    found = []
    for notice in notices:
        inspection = made.get(notice.inspection_id or 0)
        unit = units.get(notice.unit_id or 0)
        if inspection is None or unit is None:
            continue
        since = _last_good(passes, inspection)
        worn = [
            Worn(one, persons[one.person_id], areas.get(one.area_id or 0), one.worn_hours)
            for one in custodies
            if one.unit_id == unit.id and _overlaps(one, since, inspection.ended_at)
        ]
        worn.sort(key=lambda one: one.custody.issued_at, reverse=True)
        found.append(WithoutFilter(notice, unit, inspection.ended_at, since, tuple(worn)))
    return tuple(found)


def _last_good(passes: list[Inspection], found: Inspection) -> datetime | None:
    """When the last inspection ended that passed with a meter in calibration, before the finding's began."""
    ended = [
        one.ended_at
        for one in passes
        if one.unit_id == found.unit_id and one.instrument_good and one.ended_at <= found.started_at
    ]
    return max(ended, default=None)


def _overlaps(custody: Custody, since: datetime | None, until: datetime) -> bool:
    ended = custody.returned_at is not None and since is not None and custody.returned_at <= since
    return not ended and custody.issued_at < until

