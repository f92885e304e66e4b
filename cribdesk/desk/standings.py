"""The state of every unit at once, in a constant number of queries; agrees with `facts.standing_of`."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from cribdesk.crib.change import PartOutlook, due_within, outlook
from cribdesk.crib.records import (
    GONE,
    Away,
    Cleaning,
    Custody,
    Fitted,
    Hold,
    Inspection,
    Lot,
    Person,
    StockItem,
    Unit,
    Verdict,
    Where,
)
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION, Condition, Serviceable, Standing, condition
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.house import House
from cribdesk.desk.one_look import once
from cribdesk.desk.ports import FILLED, Records

OVERDUE, ELSEWHERE = "overdue", "elsewhere"
STATES = (OVERDUE, "on hold", "not checked", "needs cleaning", "out", "ready", ELSEWHERE)
"""A unit's state on the board and in lists, worst first."""

NEVER, NEW = "never inspected", "new, waits for its first inspection"
"""What a unit is that was entered and not inspected yet, as the rule and as a list says it."""

FAR = GONE
WITH_SOMEBODY = (Where.OUT, Where.ASSIGNED)

_STATE = {
    Serviceable.READY: "ready",
    Serviceable.NOT_CHECKED: "not checked",
    Serviceable.NEEDS_CLEANING: "needs cleaning",
    Serviceable.ON_HOLD: "on hold",
}
T = TypeVar("T", Hold, Fitted)


@dataclass(frozen=True)
class Member:
    """One unit of the fleet. `standing` and `condition` are None where the unit's model has no file."""

    unit: Unit
    standing: Standing | None
    condition: Condition | None
    custody: Custody | None
    holder: Person | None
    state: str
    parts: tuple[PartOutlook, ...]

    @property
    def overdue(self) -> bool:
        """Whether it should be back."""
        return self.state == OVERDUE


Due = tuple[Member, tuple[PartOutlook, ...]]
"""A unit with the parts of it that fall due."""


def standings(reader: Records, house: House, moment: datetime) -> dict[int, Standing]:
    """What each unit's state follows from, by the unit's id, in eleven queries; units without a model left out."""
    return _standings(reader, house, reader.find(Unit), moment)


def fleet(reader: Records, house: House, moment: datetime) -> tuple[Member, ...]:
    """Every unit with its state, by label, in fourteen queries; once in a look that remembers."""
    return once(reader, ("fleet", moment), lambda: _fleet(reader, house, moment))


def _fleet(reader: Records, house: House, moment: datetime) -> tuple[Member, ...]:
    units = reader.find(Unit)
    found = _standings(reader, house, units, moment)
    custodies = {one.unit_id: one for one in reader.find(Custody, returned_at=None)}
    holders = people(reader, (one.person_id for one in custodies.values()))
    members = (_member(house, unit, found.get(unit.id), custodies.get(unit.id), holders, moment) for unit in units)
    return tuple(sorted(members, key=lambda member: member.unit.label))


def people(reader: Records, ids: Iterable[int | None]) -> dict[int, Person]:
    """The people of those ids, in one query."""
    wanted = sorted({one for one in ids if one})
    return {one.id: one for one in reader.find(Person, id=wanted)}


def state_of(unit: Unit, found: Condition | None, custody: Custody | None, moment: datetime) -> str:
    """One of STATES. What cannot be judged counts as on hold; what is out and not held counts as out."""
    if unit.where in FAR:
        return ELSEWHERE
    if custody is not None and custody.due_at is not None and custody.due_at < moment:
        return OVERDUE
    if found is None:
        return "on hold"
    if unit.where in WITH_SOMEBODY and found.state is not Serviceable.ON_HOLD:
        return "out"
    if unit.where is Where.EMERGENCY and found.state is Serviceable.READY:
        return ELSEWHERE
    return _STATE[found.state]


def worst_first(units: Iterable[Member]) -> list[Member]:
    """The units, worst state first, each state by label."""
    return sorted(units, key=lambda unit: (STATES.index(unit.state), unit.unit.label))


def waiting_at_bench(units: Iterable[Member]) -> list[Member]:
    """Units in hand that somebody at the bench has to see to."""
    waiting = ("on hold", "not checked", "needs cleaning")
    return [unit for unit in units if unit.state in waiting and unit.unit.where not in WITH_SOMEBODY]


def due_now(units: Iterable[Member], house: House, moment: datetime) -> list[Due]:
    """Units with the parts that fall due before this shift ends; those on hold or elsewhere left out.

    By a forecast a part is due from the site's early bound on: 95 % last longer than that.
    """
    end = house.turn(moment).end
    worn, until = planned_hours(house, moment, end), house.today(end)
    found = []
    for unit in units:
        if unit.state in ("on hold", "elsewhere"):
            continue
        fitted = (part for part in unit.parts if part.fitted is not None)
        parts = tuple(part for part in fitted if due_within(part, worn, until, house.due_chance))
        if parts:
            found.append((unit, parts))
    return found


def why_words(unit: Member) -> str:
    """Why the unit is in the state it is in."""
    if unit.condition is None:
        return f"model {unit.unit.model} has no file in resources/units"
    told = (NEW if words == NEVER else words for words in unit.condition.why)
    return "; ".join(told)


def _standings(reader: Records, house: House, units: list[Unit], moment: datetime) -> dict[int, Standing]:
    holds = _by_unit(reader.find(Hold, released_at=None))
    fitted = _by_unit(reader.find(Fitted, removed_at=None))
    custodies = reader.latest_of_each(Custody, "unit_id", returned_at=FILLED)
    cleanings = reader.latest_of_each(Cleaning, "unit_id")
    passes = reader.latest_of_each(Inspection, "unit_id", verdict=Verdict.PASS, kind=COUNTS_AS_INSPECTION)
    looks = reader.latest_of_each(Inspection, "unit_id", kind="return-look")
    away = {one.unit_id: one for one in reader.find(Away, ended_at=None)}
    forecasts = reader.forecasts([unit.id for unit in units])
    today = house.today(moment)
    items = {one.id: one.code for one in reader.find(StockItem)}
    blocked = {one.id: one.blocked for one in reader.find(Lot) if one.blocked}
    return {
        unit.id: Standing(
            unit=unit,
            model=house.models[unit.model],
            holds=tuple(holds[unit.id]),
            fitted=tuple(fitted[unit.id]),
            last_custody=custodies.get(unit.id),
            last_cleaning=cleanings.get(unit.id),
            last_pass=passes.get(unit.id),
            last_look=looks.get(unit.id),
            today=today,
            items={one.item_id: items[one.item_id] for one in fitted[unit.id]},
            blocked={lot: blocked[lot] for one in fitted[unit.id] if (lot := one.lot_id) and lot in blocked},
            away=away.get(unit.id),
            forecasts=forecasts.get(unit.id, {}),
        )
        for unit in units
        if unit.model in house.models
    }


def _by_unit(records: list[T]) -> defaultdict[int, list[T]]:
    found: defaultdict[int, list[T]] = defaultdict(list)
    for record in records:
        found[record.unit_id].append(record)
    return found


def _member(
    house: House,
    unit: Unit,
    standing: Standing | None,
    custody: Custody | None,
    holders: Mapping[int, Person],
    moment: datetime,
) -> Member:
    found = condition(standing) if standing else None
    return Member(
        unit=unit,
        standing=standing,
        condition=found,
        custody=custody,
        holder=holders.get(custody.person_id) if custody else None,
        state=state_of(unit, found, custody, moment),
        parts=outlook(standing, house.hours_a_day) if standing else (),
    )
