"""Who holds what they no longer may: every open custody weighed anew, for one unit or for the whole crib.

Nothing of it is stored, so it is right at any moment: after midnight, after a clearance, a hold, a blocked lot, a
badge or an area changed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from cribdesk.crib.clearance import clearance_state
from cribdesk.crib.reasons import Protection
from cribdesk.crib.recheck import Against, Holding, against_keeping, severity
from cribdesk.crib.records import (
    GONE,
    Area,
    CallIn,
    Clearance,
    ClearanceKind,
    Custody,
    Evidence,
    Person,
    Unit,
    WorkLimit,
)
from cribdesk.crib.serviceable import Standing
from cribdesk.crib.words import day
from cribdesk.desk.facts import hair_seen, hair_today, planned_hours, proofs_of, standing_of
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader, Records
from cribdesk.desk.protection import area_rows, protection_of, shelf, weighing
from cribdesk.desk.saying import moment_words
from cribdesk.desk.standings import Member

BENCH_DAYS = "assigned_inspection_days"
"""The setting that says how often an assigned unit is inspected in full; without it none is asked for."""


@dataclass(frozen=True)
class Rechecked:
    """One open custody with what stands against it, and the call-in that is open for it."""

    unit: Unit
    custody: Custody
    person: Person
    against: tuple[Against, ...]
    call_in: CallIn | None

    @property
    def words(self) -> str:
        """Every reason, worst first."""
        return "; ".join(one.words for one in self.against)


def recheck(records: Records, house: House, custody: Custody, moment: datetime) -> tuple[Against, ...]:
    """What stands against one open custody, in at most twenty-four queries."""
    unit = records.get(Unit, custody.unit_id)
    person = records.get(Person, custody.person_id)
    standing = standing_of(records, house, unit, moment) if unit.model in house.models else None
    return recheck_known(records, house, unit, person, custody, standing, moment)


def recheck_known(
    records: Records,
    house: House,
    unit: Unit,
    person: Person,
    custody: Custody,
    standing: Standing | None,
    moment: datetime,
) -> tuple[Against, ...]:
    """The same where unit, person and standing are known, in at most twelve queries."""
    rows = records.find(Clearance, person_id=person.id)
    area = records.get(Area, custody.area_id) if custody.area_id else None
    proofs = proofs_of(records, house, person)
    asked = _protections(records, house, [area] if area else [], moment)
    limits = records.find(WorkLimit, person_id=person.id, ended_on=None)
    hair = hair_seen(records, house, person, moment) if _seals(house, unit) else None
    holding = _holding(house, unit, person, custody, standing, rows, proofs, limits, area, asked, hair, moment)
    return against_keeping(holding)


def rechecked(
    reader: Reader, house: House, units: Iterable[Member], moment: datetime
) -> tuple[Rechecked, ...]:
    """Every open custody of these units that has a reason against it or a call-in open, the worst and oldest first.

    Thirteen queries beside those that read the units. What is missing stands on its own list.
    """
    held = [one for one in units if one.custody is not None and one.holder is not None and one.unit.where not in GONE]
    people = {one.holder.id: one.holder for one in held if one.holder}
    clearances: defaultdict[int, list[Clearance]] = defaultdict(list)
    for row in reader.find(Clearance, person_id=sorted(people)):
        clearances[row.person_id].append(row)
    limits: defaultdict[int, list[WorkLimit]] = defaultdict(list)
    for limit in reader.find(WorkLimit, ended_on=None):
        limits[limit.person_id].append(limit)
    proofs = proofs_of_all(reader, house, people.values())
    area_ids = {one.custody.area_id for one in held if one.custody and one.custody.area_id}
    areas = {area.id: area for area in reader.find(Area, id=sorted(area_ids))}
    open_ones = {one.custody_id: one for one in reader.find(CallIn, closed_at=None)}
    asked = _protections(reader, house, list(areas.values()), moment)
    hair = hair_today(reader, house, moment) if any(_seals(house, one.unit) for one in held) else {}
    found = []
    for member in held:
        custody, person = member.custody, member.holder
        assert custody is not None
        assert person is not None
        area = areas.get(custody.area_id) if custody.area_id else None
        own = proofs.get(person.id)
        holding = _holding(
            house, member.unit, person, custody, member.standing, clearances[person.id], own, limits[person.id], area,
            asked, hair.get(person.id), moment,
        )  # fmt: skip
        against, called = against_keeping(holding), open_ones.get(custody.id)
        if against or called:
            found.append(Rechecked(member.unit, custody, person, against, called))
    return tuple(sorted(found, key=lambda one: (severity(one.against), _oldest(one, house), one.unit.label)))


def to_call_in(reader: Reader, house: House, units: Iterable[Member], moment: datetime) -> tuple[Rechecked, ...]:
    """Those with a reason against them: whoever has them no longer may."""
    return tuple(one for one in rechecked(reader, house, units, moment) if one.against)


def proofs_of_all(reader: Reader, house: House, people: Iterable[Person]) -> dict[int, frozenset[int]]:
    """By person, the ids of clearances proven by the employer; only for those of whom proof is asked. One query."""
    guests = {one.id: one for one in people if house.from_elsewhere(one)}
    found: defaultdict[int, set[int]] = defaultdict(set)
    for one in reader.find(Evidence, person_id=sorted(guests)):
        if house.same_employer(one.employer, guests[one.person_id].employer):
            found[one.person_id].add(one.clearance_id)
    return {id_: frozenset(found[id_]) for id_ in guests}


def since_words(against: Against, house: House, moment: datetime) -> str:
    """'since today 06:03', 'since Sun 22 Nov', '' where it is not known."""
    if against.since is None:
        return ""
    if isinstance(against.since, datetime):
        return f"since {moment_words(against.since, house, moment)}"
    return f"since {day(against.since, house.today(moment))}"


def called_words(call_in: CallIn | None, house: House, moment: datetime) -> str:
    """'called in today 06:12', or 'not called in yet'."""
    return f"called in {moment_words(call_in.made_at, house, moment)}" if call_in else "not called in yet"


def of_person(records: Records, house: House, person: Person, moment: datetime) -> tuple[tuple[str, str], ...]:
    """(unit, reason) of each unit that this person holds and no longer may."""
    found = []
    for custody in records.find(Custody, person_id=person.id, returned_at=None):
        against = recheck(records, house, custody, moment)
        if against:
            found.append((records.get(Unit, custody.unit_id).label, against[0].words))
    return tuple(found)


def _oldest(one: Rechecked, house: House) -> date:
    known = [
        house.today(against.since) if isinstance(against.since, datetime) else against.since
        for against in one.against
        if against.since is not None
    ]
    return min(known, default=date.max)


def _seals(house: House, unit: Unit) -> bool:
    """Whether it has a seal that hair could lie under."""
    model = house.models.get(unit.model)
    return model is not None and model.tight_fitting


def _holding(
    house: House,
    unit: Unit,
    person: Person,
    custody: Custody,
    standing: Standing | None,
    clearances: Sequence[Clearance],
    proofs: Collection[int] | None,
    limits: Sequence[WorkLimit],
    area: Area | None,
    asked: Mapping[tuple[int, str], Protection],
    hair: datetime | None,
    moment: datetime,
) -> Holding:
    today, months = house.today(moment), house.clearance_months
    return Holding(
        unit=unit,
        model=house.models.get(unit.model),
        standing=standing,
        custody=custody,
        person=person,
        clearances=tuple(
            clearance_state(clearances, kind, today, model=unit.model, size=unit.size, proofs=proofs, months=months)
            for kind in ClearanceKind
        ),
        area=area,
        bench_by=bench_by(house, custody, standing),
        today=today,
        protection=asked.get((area.id, unit.model)) if area else None,
        work_limits=tuple(limits),
        out_hours=planned_hours(house, custody.issued_at, moment) if limits else 0.0,
        hair_at=hair,
    )


def _protections(
    records: Records, house: House, areas: Sequence[Area], moment: datetime
) -> dict[tuple[int, str], Protection]:
    """Each model in each of these areas, by area and model; at most seven queries, none without an area."""
    if not areas:
        return {}
    rows, on_shelf = area_rows(records, sorted(area.id for area in areas)), shelf(records, house)
    today, found = house.today(moment), {}
    for area in areas:
        asked = protection_of(rows, house, area, today)
        for one in on_shelf:
            with_ = weighing(house, one, asked, today, on_shelf=on_shelf)
            found[area.id, one.model] = Protection(asked, one, with_)
    return found


def bench_by(house: House, custody: Custody, standing: Standing | None) -> date | None:
    """The last day on which an assigned unit may go without its next full inspection."""
    days = house.settings.get(BENCH_DAYS, "")
    if not custody.assigned or not days or standing is None:
        return None
    limit = house.inspection_days(standing.model)
    seen = standing.last_pass.ended_at if standing.last_pass else custody.issued_at
    return house.today(seen) + timedelta(days=limit)
