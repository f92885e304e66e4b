"""Gathers from records what the rules need: a unit's standing, and the facts of an issue."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from cribdesk.crib.change import outlook
from cribdesk.crib.clearance import ClearanceState, clearance_state
from cribdesk.crib.model import UnitModel
from cribdesk.crib.reasons import Facts, Held, Protection
from cribdesk.crib.records import (
    Area,
    Away,
    Battery,
    Cleaning,
    Clearance,
    ClearanceKind,
    Custody,
    Evidence,
    Fitted,
    Hold,
    InformationSheet,
    Inspection,
    Instrument,
    Lot,
    MeterCheck,
    Notice,
    NoticeKind,
    Person,
    SealLook,
    StockItem,
    Unit,
    Verdict,
    WorkLimit,
)
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION, Standing, is_current
from cribdesk.crib.wearer import LOOK_LASTS
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Records
from cribdesk.desk.protection import area_protection, shelf, weighing
from cribdesk.desk.run_time_cards import outlook_of


@dataclass(frozen=True)
class IssueIds:
    """What lies on the counter, by id; None where it is not there yet."""

    unit_id: int
    person_id: int | None = None
    battery_id: int | None = None
    area_id: int | None = None
    due_at: datetime | None = None
    assigned: bool = False


def standing_of(records: Records, house: House, unit: Unit, moment: datetime) -> Standing:
    """Everything a unit's state follows from, in ten queries."""
    fitted = records.find(Fitted, unit_id=unit.id, removed_at=None)
    items = records.find(StockItem, id=sorted({one.item_id for one in fitted}))
    lots = records.find(Lot, id=sorted({one.lot_id for one in fitted if one.lot_id}))
    return Standing(
        unit=unit,
        model=house.model_of(unit),
        holds=tuple(records.find(Hold, unit_id=unit.id, released_at=None)),
        fitted=tuple(fitted),
        last_custody=records.latest(Custody, unit_id=unit.id, returned_at=FILLED),
        last_cleaning=records.latest(Cleaning, unit_id=unit.id),
        last_pass=records.latest(
            Inspection, unit_id=unit.id, verdict=Verdict.PASS, kind=COUNTS_AS_INSPECTION
        ),
        last_look=records.latest(Inspection, unit_id=unit.id, kind="return-look"),
        today=house.today(moment),
        items={one.id: one.code for one in items},
        blocked={one.id: one.blocked for one in lots if one.blocked},
        away=records.first(Away, unit_id=unit.id, ended_at=None),
        forecasts=records.forecasts([unit.id]).get(unit.id, {}),
    )


def meters(records: Records, house: House, moment: datetime) -> tuple[Instrument, ...]:
    """The flow meters in calibration today."""
    today = house.today(moment)
    found = records.find(Instrument, active=True)
    return tuple(one for one in found if one.calibrated_until >= today)


def unchecked(records: Records, house: House, meters: Iterable[Instrument], moment: datetime) -> frozenset[int]:
    """Ids of the meters that were not checked today, where the site wants that; one query a meter, else none."""
    if house.settings.get("meter_check") != "daily":
        return frozenset()
    last = {one.id: records.latest(MeterCheck, instrument_id=one.id) for one in meters}
    today = house.today(moment)
    return frozenset(id_ for id_, made in last.items() if made is None or house.today(made.at) != today)


def facts_of(
    records: Records, house: House, ids: IssueIds, moment: datetime, protection: Protection | None = None
) -> Facts:
    """The facts of an issue. Raises LookupError where a record or the unit's model is missing.

    `protection` is handed in where it was worked out in the same transaction already.
    """
    unit = records.get(Unit, ids.unit_id)
    standing = standing_of(records, house, unit, moment)
    custody = records.first(Custody, unit_id=unit.id, returned_at=None)
    person = records.get(Person, ids.person_id) if ids.person_id else None
    battery = records.get(Battery, ids.battery_id) if ids.battery_id else None
    due_at = ids.due_at or house.turn(moment).end
    current = is_current(standing, house.inspected_since(moment))
    if ids.assigned:
        seen = standing.last_pass.ended_at if current and standing.last_pass else moment
        due_at = assigned_until(house, standing, person, seen, moment)
    area = records.get(Area, ids.area_id) if ids.area_id else None
    planned = planned_hours(house, moment, due_at)
    spans = planned, hours_until(moment, due_at)
    limits = work_limits(records, person) if person else ()
    return Facts(
        unit=unit,
        model=standing.model,
        standing=standing,
        custody=custody,
        holder=records.get(Person, custody.person_id) if custody else None,
        outlook=outlook(standing, house.hours_a_day),
        person=person,
        clearances=_clearances(records, standing, person, house, moment) if person else (),
        holds_now=held_by(records, person, moment) if person else (),
        battery=battery,
        battery_in_use=battery is not None and _in_use(records, battery, unit),
        area=area,
        due_at=due_at,
        assigned=ids.assigned,
        planned_hours=planned,
        needs_full_check=not current,
        meters=(good_meters := meters(records, house, moment)),
        unchecked_meters=unchecked(records, house, good_meters, moment),
        today=house.today(moment),
        zone=house.zone,
        run_time=None if ids.assigned else outlook_of(
            records, unit, standing.model, standing.fitted, battery, person, planned, hours_until(moment, due_at)
        ),
        sheet_given=sheet_given(records, person) if person and area and not area.required else None,
        hair_at=hair_seen(records, house, person, moment) if person and standing.model.tight_fitting else None,
        seal=seal_seen(records, person, unit, moment) if person and standing.model.tight_fitting else None,
        work_limits=limits,
        worn_today_hours=worn_today(records, house, person, moment) if person and limits else 0.0,
        protection=protection
        or (protection_facts(records, house, standing.model, area, spans, moment) if area else None),
    )


def protection_facts(
    records: Records, house: House, model: UnitModel, area: Area, planned: tuple[float, float], moment: datetime
) -> Protection:
    """The unit's model as protection, and what the area asks of it; at most seven queries.

    `planned` are the hours to be worn until it is due, and those by the clock.
    """
    asked = area_protection(records, house, area, moment)
    on_shelf = shelf(records, house)
    respirator = next(one for one in on_shelf if one.model == model.code)
    with_ = weighing(house, respirator, asked, house.today(moment), planned, on_shelf)
    return Protection(asked, respirator, with_)


def assigned_until(
    house: House, standing: Standing, person: Person | None, seen: datetime, moment: datetime
) -> datetime:
    """Until when a unit is planned for that is assigned: its next bench inspection, or the end of the wearer's badge.

    `seen` is its last full inspection; where that is not recent enough, the one that its issue asks for now.
    """
    last_day = house.today(seen) + timedelta(days=house.inspection_days(standing.model))
    if person is not None and person.ends_on is not None:
        last_day = min(last_day, person.ends_on)
    return max(moment, datetime.combine(last_day, time(23, 59), house.zone).astimezone(moment.tzinfo))


def planned_hours(house: House, moment: datetime, due_at: datetime) -> float:
    """Hours to be worn until it is due back: the time until then, at most a usual day's for each day."""
    span = hours_until(moment, due_at)
    days = int(span // 24) + 1
    return min(span, days * house.hours_a_day)


def hours_until(moment: datetime, due_at: datetime) -> float:
    """Hours by the clock from one moment to the other, never below none."""
    return max(0.0, (due_at - moment).total_seconds() / 3600)


def held_by(records: Records, person: Person, moment: datetime) -> tuple[Held, ...]:
    """What a person holds now, oldest first."""
    open_ones = records.find(Custody, person_id=person.id, returned_at=None)
    units = {one.id: one for one in records.find(Unit, id=[custody.unit_id for custody in open_ones])}
    area_ids = [custody.area_id for custody in open_ones if custody.area_id]
    areas = {one.id: one for one in records.find(Area, id=area_ids)}
    return tuple(
        Held(
            unit=units[custody.unit_id].label,
            area=areas[custody.area_id].name if custody.area_id else "",
            due_at=custody.due_at,
            overdue=custody.due_at is not None and custody.due_at < moment,
        )
        for custody in open_ones
    )


def _clearances(
    records: Records, standing: Standing, person: Person, house: House, moment: datetime
) -> tuple[ClearanceState, ...]:
    rows = records.find(Clearance, person_id=person.id)
    proofs = proofs_of(records, house, person)
    today, months = house.today(moment), house.clearance_months
    model, size = standing.model.code, standing.unit.size
    return tuple(
        clearance_state(rows, kind, today, model=model, size=size, proofs=proofs, months=months)
        for kind in ClearanceKind
    )


def proofs_of(records: Records, house: House, person: Person) -> frozenset[int] | None:
    """The ids of the person's clearances with their employer's proof on file; None where no proof is asked for.

    What a former employer proved does not count for the present one (a house rule).
    """
    if not house.from_elsewhere(person):
        return None
    found = records.find(Evidence, person_id=person.id)
    return frozenset(one.clearance_id for one in found if house.same_employer(one.employer, person.employer))


def sheet_given(records: Records, person: Person) -> date | None:
    """When the information for voluntary users was given last."""
    sheet = records.latest(InformationSheet, person_id=person.id)
    return sheet.given_on if sheet else None


SEAL_CLEAR = "seal clear again"
"""How it is written beside a notice of facial hair that the seal was looked at again, and is clear."""


def hair_seen(records: Records, house: House, person: Person, moment: datetime) -> datetime | None:
    """When facial hair was noted at this person's seal today; None once the seal was looked at again and is clear.

    It holds for the day (a house rule): tomorrow the attendant looks anew.
    """
    last = records.latest(Notice, person_id=person.id, kind=NoticeKind.HAIR)
    if last is None or SEAL_CLEAR in last.offered or house.today(last.at) != house.today(moment):
        return None
    return last.at


def hair_today(records: Records, house: House, moment: datetime) -> dict[int, datetime]:
    """The same of everybody, by person; one query."""
    morning = datetime.combine(house.today(moment), time(), house.zone)
    last: dict[int, Notice] = {}
    for one in records.within(Notice, "at", morning, moment + timedelta(microseconds=1), kind=NoticeKind.HAIR):
        if one.person_id is not None:
            last[one.person_id] = one
    return {person: one.at for person, one in last.items() if SEAL_CLEAR not in one.offered}


def seal_seen(records: Records, person: Person, unit: Unit, moment: datetime) -> SealLook | None:
    """The last look at this person's face while it counts for an issue of the unit.

    A clear one counts for units of the model it was made with: what a half mask lets by lies under a full facepiece.
    Of one by a clock ahead of ours, as another counter's may be, only what was found counts.
    """
    last = records.latest(SealLook, person_id=person.id)
    clear = last is not None and not last.hair and not last.under_seal
    if last is None or moment >= last.at + LOOK_LASTS or (clear and last.at > moment):
        return None
    if clear and last.unit_id is not None and records.get(Unit, last.unit_id).model != unit.model:
        return None
    return last


def work_limits(records: Records, person: Person) -> tuple[str, ...]:
    """The codes of the person's work limits that stand, in the order they were given."""
    found = records.find(WorkLimit, person_id=person.id, ended_on=None)
    return tuple(one.code for one in sorted(found, key=lambda one: (one.given_on, one.id)))


ONE_DAY = timedelta(hours=14)
"""What went out so long ago counts into the same working day, a night's too (a house rule)."""


def worn_today(records: Records, house: House, person: Person, moment: datetime) -> float:
    """Hours this person wore units on this working day, by their returns; by the clock where none are said yet."""
    total = 0.0
    for one in records.within(Custody, "issued_at", moment - ONE_DAY, moment, person_id=person.id):
        if one.worn_hours is not None:
            total += one.worn_hours
        else:
            total += planned_hours(house, one.issued_at, one.returned_at or moment)
    return total


def _in_use(records: Records, battery: Battery, unit: Unit) -> bool:
    """Whether the pack is out with another unit, or sits in another one."""
    elsewhere = battery.unit_id is not None and battery.unit_id != unit.id
    return elsewhere or bool(records.find(Custody, battery_id=battery.id, returned_at=None))
