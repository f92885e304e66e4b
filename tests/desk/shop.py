"""A shop for scripts and random runs, built by the desk's own operations; all of it is invented."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any, TypeVar

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import (
    Area,
    AssessmentBasis,
    Battery,
    BatteryPlace,
    ChargerSlot,
    ClearanceKind,
    Control,
    Lot,
    Part,
    Person,
    Record,
    Role,
    StockItem,
    Unit,
)
from cribdesk.desk import air
from cribdesk.desk.area_facts import SayAreaControl
from cribdesk.desk.assessments import AssessArea
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.counter import Counter
from cribdesk.desk.equipment import AddArea, AddBattery, AddCharger, AddInstrument, EndCharge, StartCharge
from cribdesk.desk.house import House
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.numbering import owner_of
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import AddClearance, AddPerson, FirstStart
from cribdesk.desk.ports import Reader, Store
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.stock import AddItem, ReceiveLot
from cribdesk.desk.unit import AddPart, AddUnit
from cribdesk.opening import load_house
from cribdesk.procedure.answers import Answer, Ball, Chosen, Good, Measured, RemedyDone, Timed
from cribdesk.procedure.run import Run, answer, page, start

BUILT = datetime(2026, 11, 25, 4, 0, tzinfo=UTC)
"""05:00 in Vienna: the shop is set up before the day shift."""

FOUND = date(2026, 3, 4)
"""When the hygienist's findings of the areas were made."""

R = TypeVar("R", bound=Record)


@cache
def house() -> House:
    """The shipped models and procedures, every site setting at its default."""
    made, faults = load_house()
    assert faults == ()
    return made


class Tokens:
    """Operation ids, the same in every run."""

    def __init__(self, of: int = 0) -> None:
        self.number = of << 64

    def __call__(self) -> str:
        self.number += 1
        return str(uuid.UUID(int=self.number))


@dataclass
class Shop:
    """A store with its people, units, packs, parts; `names` gives the label behind each name."""

    store: Store
    moment: datetime = BUILT
    names: dict[str, str] = field(default_factory=dict)
    clerk_id: int | None = None
    tokens: Tokens = field(default_factory=Tokens)

    @property
    def counter(self) -> Counter:
        """The back office, where the shop is set up."""
        return Counter(self.store, house(), lambda: self.moment, "Office")

    def do(self, operation: type[Operation], /, **fields: Any) -> Receipt:
        """One operation, a second later."""
        self.moment += timedelta(seconds=1)
        return self.counter.do(operation(operation_id=self.tokens(), **fields), self.clerk_id)

    def label(self, name: str) -> str:
        """The label of a named thing."""
        return self.names[name]

    def record(self, kind: type[R], name: str) -> R:
        """The record behind a name, as it stands now."""
        with self.store.reading() as reader:
            return self.record_in(reader, kind, name)

    def record_in(self, reader: Reader, kind: type[R], name: str) -> R:
        """The record behind a name, in an open look at the store."""
        found = owner_of(reader, self.names[name])
        assert isinstance(found, kind)
        return found

    def person(self, name: str, full_name: str, *roles: Role, **fields: Any) -> int:
        """Somebody under a short name."""
        receipt = self.do(AddPerson, full_name=full_name, roles=roles, trade="welder", **fields)
        self.names[name] = receipt.subjects[0]
        return self.record(Person, name).id

    def cleared(self, person_id: int, medical: bool = True, trained: date | None = date(2026, 2, 3)) -> None:
        """Medical clearance and training on file."""
        if medical:
            self.do(AddClearance, person_id=person_id, kind=ClearanceKind.MEDICAL, given_on=date(2025, 3, 12))
        if trained:
            self.do(AddClearance, person_id=person_id, kind=ClearanceKind.TRAINING, given_on=trained)

    def build(self) -> Shop:
        """The whole shop."""
        self._people()
        self._equipment()
        for code in ("WL1", "FF1"):
            self._stock(house().models[code])
        for number in range(1, 6):
            self.unit(f"wl-{number}", "WL1", bench=number < 5)
        self.unit("ff-1", "FF1", size="M")
        for number in range(1, 7):
            self.pack(f"pack-{number}", "WL1-PACK")
        self.pack("pack-ff", "FF1-PACK")
        self.do(AddBattery, battery_model="WL1-PACK")
        self._name_last(Battery, "pack-flat")
        return self

    def _people(self) -> None:
        self.moment += timedelta(seconds=1)
        first = FirstStart(operation_id=self.tokens(), full_name="Sela Okafor")
        self.names["Okafor"] = self.counter.do(first, None).subjects[0]
        self.clerk_id = self.record(Person, "Okafor").id
        self.person("Castel", "Rhea Castel", Role.ATTENDANT, Role.TECHNICIAN, Role.STOREKEEPER)
        self.person("Brandl", "Otto Brandl", Role.ATTENDANT)
        self.person("Lindqvist", "Hana Lindqvist", Role.PROGRAM)
        self.do_as_all_round()
        for name, full in (("Wronecka", "Łucja Wronecka"), ("Nkemba", "Abel Nkemba"), ("Verrani", "Paolo Verrani")):
            self.cleared(self.person(name, full))
        self.cleared(self.person("Dobrosi", "Imre Dobrosi"), trained=date(2025, 11, 22))
        self.cleared(self.person("Halvorsen", "Signe Halvorsen"), medical=False)
        gone = self.person("Marek", "Jiří Marek", ends_on=date(2026, 10, 31))
        self.cleared(gone)
        wearer = self.record(Person, "Wronecka").id
        fit_test = {"kind": ClearanceKind.FIT_TEST, "given_on": date(2026, 1, 9), "model": "FF1", "size": "M"}
        self.do(AddClearance, person_id=wearer, **fit_test)

    def do_as_all_round(self) -> None:
        """From here the back office works with every role."""
        everything = tuple(Role)
        self.person("Office", "Back Office", *everything)
        self.clerk_id = self.record(Person, "Office").id

    def _equipment(self) -> None:
        for name, until in (("meter", date(2027, 5, 3)), ("meter-old", date(2026, 11, 24))):
            self.do(
                AddInstrument,
                instrument_name=f"Flow meter {name}",
                serial=name,
                uncertainty_lpm=3.0,
                calibrated_on=date(2025, 11, 3),
                calibrated_until=until,
            )
            self._name_last_subject(name)
        for name, words in (("bay-3", "Plate shop, bay 3"), ("bay-7", "Repair, bay 7")):
            self.do(AddArea, area_name=words)
            self._name_last_subject(name)
            self.assess(name)
        self.do(AddCharger, charger_name="A", slots=12)

    def assess(self, name: str) -> None:
        """The hygienist's findings of an area, invented: fume of plain steel, below its limits."""
        area = self.record(Area, name)
        stated = {
            "area_id": area.id, "basis": AssessmentBasis.STATED, "made_on": FOUND, "review_on": date(2027, 3, 4),
            "made_by": "T. Ambrus, hygienist", "document": "Report 26-014",
        }  # fmt: skip
        self.do(AssessArea, substance="iron_oxide_fume", concentration=6.1, **stated)
        self.do(AssessArea, substance="manganese", short=3.1, **stated)
        exhaust = {"control": Control.ENGINEERING, "what": "local exhaust", "from_on": FOUND}
        self.do(SayAreaControl, area_id=area.id, **exhaust)

    def _name_last_subject(self, name: str) -> None:
        with self.store.reading() as reader:
            (entry,) = reader.entries(count=1).entries
        self.names[name] = entry.subjects[0]

    def _name_last(self, kind: type[R], name: str) -> R:
        with self.store.reading() as reader:
            found = reader.latest(kind)
        assert found is not None
        self.names[name] = found.label  # type: ignore[attr-defined]
        return found

    def _stock(self, model: UnitModel) -> None:
        for position in model.positions:
            for code in position.items:
                if code in self.names:
                    continue
                self.do(AddItem, item_code=code, item_name=code.replace("-", " ").capitalize())
                self._name_last(StockItem, code)
                item = self.record(StockItem, code).id
                self.do(ReceiveLot, item_id=item, lot_code=f"{code[-4:]}-1", quantity=400)
        if model.code == "WL1":
            item = self.record(StockItem, "WL1-PREFILTER").id
            self.do(ReceiveLot, item_id=item, lot_code="OLD", quantity=3, expires_on=date(2026, 12, 31))
            self.spare("blower-1", "WL1-BLOWER")

    def spare(self, name: str, item_code: str) -> Part:
        """A part with a label of its own, on the shelf."""
        item = self.record(StockItem, item_code)
        self.do(AddPart, item_id=item.id, lot_id=self.lot(item).id)
        return self._name_last(Part, name)

    def lot(self, item: StockItem) -> Lot:
        """The item's newest lot without a date."""
        with self.store.reading() as reader:
            found = reader.latest(Lot, item_id=item.id, expires_on=None)
        assert found is not None
        return found

    def unit(self, name: str, model_code: str, size: str = "", *, bench: bool = True) -> Unit:
        """A unit put together from stock, inspected at the bench unless told not to."""
        model = house().models[model_code]
        parts = []
        for position in model.positions:
            item = self.record(StockItem, position.items[0])
            if position.labelled:
                part = self.spare(f"{name} {position.code}", item.code)
                parts.append((position.code, item.id, None, part.id))
            else:
                parts.append((position.code, item.id, self.lot(item).id, None))
        self.do(AddUnit, model=model_code, serial=name, size=size, parts=tuple(parts))
        self._name_last(Unit, name)
        if bench:
            self.inspect(name)
        return self.record(Unit, name)

    def inspect(self, name: str, kind: str = "bench") -> None:
        """A passed run of the unit, made now."""
        unit = self.record(Unit, name)
        run = passed(unit, kind, self.moment, self.clerk_label, self.names["meter"])
        self.do(FinishInspection, unit_id=unit.id, run_made=run)

    @property
    def clerk_label(self) -> str:
        """Who sets the shop up."""
        assert self.clerk_id is not None
        with self.store.reading() as reader:
            return reader.get(Person, self.clerk_id).label

    def pack(self, name: str, model: str) -> Battery:
        """A charged pack on the shelf."""
        self.do(AddBattery, battery_model=model)
        battery = self._name_last(Battery, name)
        with self.store.reading() as reader:
            slot = next(one for one in reader.find(ChargerSlot) if reader.first(Battery, slot_id=one.id) is None)
        self.do(StartCharge, battery_id=battery.id, slot_id=slot.id)
        self.do(EndCharge, battery_id=battery.id)
        charged = self.record(Battery, name)
        assert charged.place is BatteryPlace.SHELF
        return charged

    def change(self, name: str, position: str, item_code: str) -> None:
        """A part changed from stock, outside any check."""
        item = self.record(StockItem, item_code)
        unit = self.record(Unit, name)
        self.do(ChangePart, unit_id=unit.id, position=position, item_id=item.id, lot_id=self.lot(item).id, why="test")

    def crowd(self, count: int) -> None:
        """So many more wearers, each with a ready unit and a pack, for a busy shift start."""
        for number in range(1, count + 1):
            self.cleared(self.person(f"wearer-{number}", f"Wearer Number {number}"))
            self.unit(f"unit-{number}", "WL1")
            self.pack(f"crowd-pack-{number}", "WL1-PACK")


def good_answer(run: Run, meter: str) -> Answer:
    """The answer that is good for the page shown, in the middle of its limits; a remedy is done."""
    shown = page(run)
    if shown.kind == "reading":
        low, high = shown.limit.low if shown.limit else 0.0, shown.limit.high if shown.limit else None
        return Measured(((low or 0.0) + (high if high is not None else (low or 0.0))) / 2, meter)
    if shown.kind == "timed":
        low, high = (shown.limit.low, shown.limit.high) if shown.limit else (0.0, None)
        return Timed(((low or 0.0) + (high if high is not None else (low or 0.0) + 2)) / 2)
    if shown.kind == "choice":
        step = run.procedure.step(shown.step)
        return Chosen(next(one.text for one in step.options if one.leads_to not in ("remedy", "fail")))
    return RemedyDone() if shown.kind == "remedy" else Good()


def weighed(run: Run, given: Answer, celsius: float = 20.0) -> Answer:
    """The reading as the counter weighs it, with a meter of 3 L/min, in such air; any other answer as it is."""
    if isinstance(given, Ball):
        return air.ball(house(), run.model, replace(given, temperature_c=celsius), None)
    if not isinstance(given, Measured):
        return given
    return air.measured(house(), run.model, replace(given, temperature_c=celsius), None, 3.0, True)


def passed(unit: Unit, kind: str, moment: datetime, by: str, meter: str) -> Run:
    """A run of the unit's procedure of that kind with every answer good."""
    model = house().models[unit.model]
    procedure = house().procedure_of(model, kind)
    assert procedure is not None
    run = start(procedure, model, moment, by)
    for _ in range(80):
        if run.verdict is not None:
            break
        run = answer(run, weighed(run, good_answer(run, meter)), moment, 2.0)
    assert run.verdict == "pass"
    return run
