"""The register of use: who wore what, where, when, with which checks; read unit by unit, so that no scan waits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from cribdesk.crib.label import Kind, is_valid
from cribdesk.crib.records import (
    Area,
    Battery,
    CautionAccepted,
    Custody,
    Inspection,
    Instrument,
    OwnCheck,
    Person,
    Reading,
    Slip,
    Unit,
    Verdict,
)
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION
from cribdesk.crib.words import date_words, number
from cribdesk.desk.fleet_picture import Told
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.meters import errors_of
from cribdesk.desk.ports import Reader, Records, Store
from cribdesk.desk.printing_parts import local, unit_name
from cribdesk.desk.printouts_register import RegisterCheck, RegisterRow, UseRegister
from cribdesk.desk.saying import about, name_of

PAPER = "use_register"
EVERYTHING = "all"
KINDS = {Kind.PERSON.value: Person, Kind.UNIT.value: Unit, Kind.AREA.value: Area}
"""What a register can be of, by the first letter of its label."""
UNITS_AT_ONCE = 4
CUSTODIES_AT_ONCE = 300
AIRFLOW = "airflow"
READING = "Reading the register"


@dataclass(frozen=True)
class RegisterAsked:
    """Of whom or what (a label, or EVERYTHING), and from which day to which, both counted in."""

    of: str
    first: date
    last: date

    def address(self) -> str:
        """As papers are addressed: 'U000417F 2026-09-01 2026-09-30'."""
        return f"{self.of} {self.first.isoformat()} {self.last.isoformat()}"

    @classmethod
    def read(cls, address: str) -> RegisterAsked:
        """Raises LookupError with plain words for an address that is none."""
        parts = address.split()
        try:
            of, first, last = parts[0], date.fromisoformat(parts[1]), date.fromisoformat(parts[2])
        except (IndexError, ValueError):
            raise LookupError(f"There is no register {address}.") from None
        known = of == EVERYTHING or (of[:1] in KINDS and is_valid(of))
        if not known or len(parts) != 3 or last < first:
            raise LookupError(f"There is no register {address}.")
        return cls(of, first, last)

    def period(self) -> str:
        """'1 Sep 2026 to 30 Sep 2026', or the one day."""
        if self.first == self.last:
            return date_words(self.first)
        return f"{date_words(self.first)} to {date_words(self.last)}"

    def moments(self, house: House) -> tuple[datetime, datetime]:
        """From the first day's midnight to the midnight after the last, in the site's time."""
        after = self.last + timedelta(days=1)
        return (
            datetime.combine(self.first, time(), house.zone),
            datetime.combine(after, time(), house.zone),
        )


def about_words(reader: Records, house: House, of: str) -> str:
    """Of whom or what, in words. Raises LookupError where nothing here carries the label."""
    if of == EVERYTHING:
        return "Every unit, wearer and area"
    found = reader.first(KINDS[of[:1]], label=of)
    if found is None:
        raise LookupError(f"There is nothing labelled {of} here to make a register of.")
    if isinstance(found, Person):
        return ", ".join(part for part in (f"{name_of(found)}, {found.label}", about(found)) if part)
    if isinstance(found, Unit):
        serial = f", serial {found.serial}" if found.serial else ""
        return f"Unit {found.label}, {unit_name(house, found)}{serial}"
    assert isinstance(found, Area)
    return f"Area {found.name}, {found.label}"


class _Brief(NamedTuple):
    """What is read of every custody to choose among them."""

    id: int
    unit_id: int
    issued_at: datetime


class _Seen(NamedTuple):
    """What is read of an inspection: all but its answers, which are long."""

    id: int
    unit_id: int
    kind: str
    verdict: Verdict
    ended_at: datetime
    by_id: int
    instrument_id: int | None
    instrument_good: bool


@dataclass
class _Known:
    """What every row needs of people and things, read once."""

    house: House
    people: Mapping[int, Person]
    units: Mapping[int, Unit]
    areas: Mapping[int, Area]
    batteries: Mapping[int, str]
    meters: Mapping[int, str]
    meter_error: Callable[[int | None, datetime], float]


@dataclass
class _Behind:
    """What stands behind some custodies: inspections by id, full passes by unit and in time, readings, the rest."""

    inspections: dict[int, _Seen]
    passes: Mapping[int, Sequence[_Seen]]
    flows: Mapping[int, tuple[float | None, str]]
    slips: Mapping[int, str]
    own: Mapping[int, Sequence[OwnCheck]]
    accepted: Mapping[int, Sequence[CautionAccepted]] = field(default_factory=dict)


def register_steps(store: Store, house: House, address: str, moment: datetime) -> Iterator[Step]:
    """Reads the register some units at a time; the last step is a `Told` with the `UseRegister`.

    A hand-over counts where any moment of it lies in the period: one that began before and one that is still out too.
    Raises LookupError with plain words where there is no such register.
    """
    return _steps(store.reading, house, address, moment)


def use_register(reader: Reader, house: House, address: str, moment: datetime) -> UseRegister:
    """The same in one go, for who has the time."""
    *_, last = _steps(lambda: nullcontext(reader), house, address, moment)
    assert isinstance(last, Told)
    assert isinstance(last.data, UseRegister)
    return last.data


def _steps(
    reading: Callable[[], AbstractContextManager[Reader]], house: House, address: str, moment: datetime
) -> Iterator[Step]:
    asked = RegisterAsked.read(address)
    with reading() as reader:
        words = about_words(reader, house, asked.of)
        chosen = _chosen(reader, house, asked)
        known = _known(reader, house)
    by_unit: defaultdict[int, list[int]] = defaultdict(list)
    for one in chosen:
        by_unit[one.unit_id].append(one.id)
    rows: dict[int, RegisterRow] = {}
    groups = list(_groups(by_unit))
    for at, ids in enumerate(groups):
        with reading() as reader:
            rows.update(_rows(reader, known, ids))
        yield Step((at + 1) / (len(groups) + 1), READING)
    yield Told(
        1.0,
        READING,
        UseRegister(
            about=words,
            period=asked.period(),
            rows=tuple(rows[one.id] for one in chosen if one.id in rows),
            rule_set=rules_in_force(house),
            made_at=local(house, moment),
            zone=house.settings["zone"],
        ),
    )


def rules_in_force(house: House) -> str:
    """The name of the rule set that the site chose."""
    return house.rules.name


def _groups(by_unit: Mapping[int, Sequence[int]]) -> Iterator[tuple[int, ...]]:
    """Custodies of some units together, never very many at once."""
    ids = sorted(by_unit)
    for start in range(0, len(ids), UNITS_AT_ONCE):
        together = [custody for unit_id in ids[start : start + UNITS_AT_ONCE] for custody in by_unit[unit_id]]
        for at in range(0, len(together), CUSTODIES_AT_ONCE):
            yield tuple(together[at : at + CUSTODIES_AT_ONCE])


def _chosen(reader: Reader, house: House, asked: RegisterAsked) -> list[_Brief]:
    """Hand-overs of whom or what is asked that touch the period, in the order they went out; two queries."""
    equal: dict[str, object] = {}
    if asked.of != EVERYTHING:
        found = reader.first(KINDS[asked.of[:1]], label=asked.of)
        assert found is not None
        equal = {{"P": "person_id", "U": "unit_id", "A": "area_id"}[asked.of[:1]]: found.id}
    begin, end = asked.moments(house)
    names = ("id", "unit_id", "issued_at", "returned_at")
    found_ones = [
        _Brief(id_, unit_id, issued_at)
        for id_, unit_id, issued_at, returned_at in reader.columns(Custody, names, **equal)
        if issued_at < end and (returned_at is None or returned_at >= begin)
    ]
    return sorted(found_ones, key=lambda one: (one.issued_at, one.id))


def _known(reader: Reader, house: House) -> _Known:
    """In nine queries."""
    meters = reader.find(Instrument)
    return _Known(
        house,
        {one.id: one for one in reader.find(Person)},
        {one.id: one for one in reader.find(Unit)},
        {one.id: one for one in reader.find(Area)},
        dict(reader.columns(Battery, ("id", "label"))),
        {one.id: one.label for one in meters},
        errors_of(reader, house, [one.id for one in meters]),
    )


def _rows(reader: Reader, known: _Known, ids: Sequence[int]) -> Iterator[tuple[int, RegisterRow]]:
    custodies = reader.find(Custody, id=ids)
    behind = _behind(reader, custodies)
    for one in custodies:
        yield one.id, _row(known, behind, one)


def _behind(reader: Reader, custodies: Sequence[Custody]) -> _Behind:
    """In six queries."""
    unit_ids = sorted({one.unit_id for one in custodies})
    ids = [one.id for one in custodies]
    fields = _Seen._fields
    full = [
        _Seen(*row)
        for row in reader.columns(
            Inspection, fields, unit_id=unit_ids, kind=COUNTS_AS_INSPECTION, verdict=Verdict.PASS
        )
    ]
    passes: defaultdict[int, list[_Seen]] = defaultdict(list)
    for seen in sorted(full, key=lambda one: (one.ended_at, one.id)):
        passes[seen.unit_id].append(seen)
    made = sorted({one.inspection_id for one in custodies if one.inspection_id})
    inspections = {seen.id: seen for seen in full}
    inspections |= {row[0]: _Seen(*row) for row in reader.columns(Inspection, fields, id=made)}
    wanted = set(made) | {found.id for one in custodies if (found := _last(passes[one.unit_id], one.issued_at))}
    readings = ("inspection_id", "flow_lpm", "ball")
    flows = {
        inspection_id: (flow, ball)
        for inspection_id, flow, ball in reader.columns(
            Reading, readings, inspection_id=sorted(wanted), quantity=AIRFLOW
        )
    }
    own: defaultdict[int, list[OwnCheck]] = defaultdict(list)
    for check in reader.find(OwnCheck, custody_id=ids):
        own[check.custody_id].append(check)
    accepted: defaultdict[int, list[CautionAccepted]] = defaultdict(list)
    for taken in reader.find(CautionAccepted, custody_id=ids):
        accepted[taken.custody_id].append(taken)
    slip_ids = sorted({one.slip_id for one in custodies if one.slip_id})
    slips = dict(reader.columns(Slip, ("id", "label"), id=slip_ids))
    return _Behind(inspections, passes, flows, slips, own, accepted)


def _last(passes: Sequence[_Seen], moment: datetime) -> _Seen | None:
    """The last full pass made by then."""
    return next((one for one in reversed(passes) if one.ended_at <= moment), None)


def _row(known: _Known, behind: _Behind, one: Custody) -> RegisterRow:
    wearer, unit = known.people[one.person_id], known.units[one.unit_id]
    area = known.areas.get(one.area_id or 0)
    made = behind.inspections.get(one.inspection_id or 0)
    own = behind.own.get(one.id, ())
    alone = made is not None and made.kind in COUNTS_AS_INSPECTION
    full = made if alone else _last(behind.passes.get(one.unit_id, ()), one.issued_at)
    check = None if alone else made
    return RegisterRow(
        custody=one.id,
        slip=behind.slips.get(one.slip_id or 0, ""),
        went_out=local(known.house, one.issued_at),
        due_back=local(known.house, one.due_at) if one.due_at else None,
        came_back=local(known.house, one.returned_at) if one.returned_at else None,
        assigned=one.assigned,
        badge=wearer.label,
        wearer=name_of(wearer),
        trade=wearer.trade,
        crew=wearer.crew,
        employer=wearer.employer,
        unit=unit.label,
        model=unit.model,
        serial=unit.serial,
        size=unit.size,
        battery=known.batteries.get(one.battery_id or 0, ""),
        area=area.label if area else "",
        area_name=area.name if area else "",
        required=area.required if area else None,
        full=_check(known, behind, full),
        check=_check(known, behind, check),
        own_checks=len(own),
        own_checks_bad=sum(not (each.flow_good and each.alarm_good and not each.note) for each in own),
        cautions=tuple(line for line in one.cautions.splitlines() if line),
        accepted=name_of(known.people.get(one.issued_by)) if one.cautions else "",
        by_name=_by_name(known, behind, one),
        issued_by=name_of(known.people.get(one.issued_by)),
        acknowledged=one.acknowledged,
        received_by=name_of(known.people.get(one.received_by)) if one.received_by else "",
        worn_hours=one.worn_hours,
        alarms=one.alarms,
    )


def _by_name(known: _Known, behind: _Behind, one: Custody) -> str:
    """Who took a caution that asks for a name, and the reason given; one reason for several stands once."""
    named = (f"{name_of(known.people.get(each.by_id))}: {each.why}" for each in behind.accepted.get(one.id, ()))
    return "; ".join(dict.fromkeys(named))


def _check(known: _Known, behind: _Behind, seen: _Seen | None) -> RegisterCheck | None:
    if seen is None:
        return None
    flow, ball = behind.flows.get(seen.id, (None, ""))
    meter = known.meters.get(seen.instrument_id or 0, "")
    return RegisterCheck(
        kind=seen.kind,
        verdict=seen.verdict.value,
        at=local(known.house, seen.ended_at),
        by=name_of(known.people.get(seen.by_id)),
        flow_lpm=flow,
        ball=ball,
        meter=meter,
        meter_note=_meter_note(known, seen, meter, flow),
    )


def _meter_note(known: _Known, seen: _Seen, meter: str, flow: float | None) -> str:
    if not meter:
        return ""
    error = known.meter_error(seen.instrument_id, seen.ended_at) if flow is not None else 0.0
    found = f"{meter} was found to read {number(abs(error), 1)} L/min too {'much' if error > 0 else 'little'}"
    notes = ("" if seen.instrument_good else f"{meter} was out of calibration", found if error else "")
    return "; ".join(note for note in notes if note)


__all__ = ["EVERYTHING", "PAPER", "RegisterAsked", "about_words", "register_steps", "rules_in_force", "use_register"]
