"""What lapses in the next days: clearances, badges, calibrations, reviews of assessments, inspections by the calendar.

Derived each time it is asked for. Nothing medical is told but the day until which somebody is cleared.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from cribdesk.crib.clearance import NAMES, clearance_state
from cribdesk.crib.records import (
    Area,
    Assessment,
    Cabinet,
    Certification,
    Clearance,
    ClearanceKind,
    Instrument,
    Person,
    Where,
)
from cribdesk.crib.words import in_sentence
from cribdesk.desk.assessments import standing_assessments
from cribdesk.desk.cabinet import EVERY
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import bench_by, proofs_of_all
from cribdesk.desk.saying import name_of
from cribdesk.desk.site_limits import substance_words
from cribdesk.desk.standings import Member, fleet

PERSON, BADGE, METER, AREA, UNIT, CABINET = "person", "badge", "meter", "area", "unit", "cabinet"
HORIZONS = (30, 60, 90)
"""So many days ahead."""


@dataclass(frozen=True)
class Lapse:
    """One thing that stands until `until`, its last good day. `sort` is what it is; `label` opens it."""

    sort: str
    what: str
    who: str
    label: str
    until: date

    def left(self, today: date) -> int:
        """Days from today to its last good day; below none once it lapsed."""
        return (self.until - today).days

    @property
    def key(self) -> str:
        """What tells it from every other."""
        return f"{self.label} {self.what}"


def lapses(reader: Reader, house: House, moment: datetime, days: int = HORIZONS[-1]) -> tuple[Lapse, ...]:
    """What lapsed already and is not renewed, and what lapses within so many days, the first first.

    In a constant number of queries. What counts no more (an ended badge, a meter out of use) is not in it.
    """
    today = house.today(moment)
    found = [
        *_people(reader, house, today),
        *_meters(reader),
        *_reviews(reader, house),
        *_units(reader, house, moment),
    ]
    last = today + timedelta(days=days)
    return tuple(sorted((one for one in found if one.until <= last), key=lambda one: (one.until, one.who, one.what)))


def _people(reader: Reader, house: House, today: date) -> Iterator[Lapse]:
    live = [one for one in reader.find(Person, active=True) if not one.ended(today)]
    rows: defaultdict[int, list[Clearance]] = defaultdict(list)
    for row in reader.find(Clearance, person_id=sorted(one.id for one in live)):
        rows[row.person_id].append(row)
    proofs = proofs_of_all(reader, house, live)
    for person in live:
        if person.ends_on is not None:
            yield Lapse(BADGE, "badge", name_of(person), person.label, person.ends_on)
        for what, until in _ends_of(house, rows[person.id], proofs.get(person.id), today):
            yield Lapse(PERSON, what, name_of(person), person.label, until)


def _ends_of(
    house: House, rows: Sequence[Clearance], proofs: frozenset[int] | None, today: date
) -> Iterator[tuple[str, date]]:
    """The last word of each kind, of fit tests for each model the last one; what was refused has no end."""
    fitted: dict[str, str] = {}
    for row in sorted(rows, key=lambda one: (one.given_on, one.id)):
        if row.kind is ClearanceKind.FIT_TEST:
            fitted[row.model] = row.size
    asked = [(kind, "", "") for kind in (ClearanceKind.MEDICAL, ClearanceKind.TRAINING)]
    asked += [(ClearanceKind.FIT_TEST, model, size) for model, size in sorted(fitted.items())]
    months = house.clearance_months
    for kind, model, size in asked:
        state = clearance_state(rows, kind, today, model=model, size=size, proofs=proofs, months=months)
        if state.cleared and state.proven and state.until is not None:
            short = house.models[model].short_name if model in house.models else model
            of = f" with {short}{f', size {size}' if size else ''}" if model else ""
            yield f"{NAMES[kind].lower()}{of}", state.until


def _meters(reader: Reader) -> Iterator[Lapse]:
    for one in reader.find(Instrument, active=True):
        yield Lapse(METER, "calibration", one.name, one.label, one.calibrated_until)


def _reviews(reader: Reader, house: House) -> Iterator[Lapse]:
    areas = {one.id: one for one in reader.find(Area)}
    by_area: defaultdict[int, list[Assessment]] = defaultdict(list)
    for row in reader.find(Assessment):
        by_area[row.area_id].append(row)
    for area_id, rows in by_area.items():
        days = {one.review_on: one for one in standing_assessments(rows) if one.review_on is not None}
        for review, one in days.items():  # what is reviewed on one day stands in one row
            assert review is not None
            alike = sum(other.review_on == review for other in standing_assessments(rows))
            agent = in_sentence(substance_words(house, one.substance)) if alike == 1 else f"{alike} agents"
            yield Lapse(AREA, f"assessment of {agent}", areas[area_id].name, areas[area_id].label, review)


def _units(reader: Reader, house: House, moment: datetime) -> Iterator[Lapse]:
    """Bench inspections of what is assigned, and certifications of what lies in cabinets."""
    members = fleet(reader, house, moment)
    made = reader.latest_of_each(Certification, "unit_id")
    cabinets = {one.name: one for one in reader.find(Cabinet, active=True)}
    for one in members:
        yield from _assigned(house, one)
        cabinet = cabinets.get(one.unit.place) if one.unit.where is Where.EMERGENCY else None
        last = made.get(one.unit.id)
        if cabinet is not None and last is not None and last.cabinet_id == cabinet.id:
            who = f"{one.unit.label}, {cabinet.name}"
            yield Lapse(CABINET, "certification", who, one.unit.label, last.made_on + EVERY)


def _assigned(house: House, one: Member) -> Iterator[Lapse]:
    if one.custody is None or not one.custody.assigned or one.holder is None:
        return
    by = bench_by(house, one.custody, one.standing)
    if by is not None:
        who = f"{one.unit.label}, with {name_of(one.holder)}"
        yield Lapse(UNIT, "bench inspection", who, one.unit.label, by)
