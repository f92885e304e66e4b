"""A small crib in every state, its rows written straight through a Work; all of it invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any, TypeVar

from cribdesk.crib.label import Kind, next_label
from cribdesk.crib.model import read_model
from cribdesk.crib.records import (
    Area,
    Assessment,
    AssessmentBasis,
    Battery,
    BatteryPlace,
    BatteryRun,
    Bin,
    Cabinet,
    Charger,
    ChargerSlot,
    Cleaning,
    Clearance,
    ClearanceKind,
    Custody,
    Fitted,
    Hold,
    Inspection,
    Instrument,
    Lot,
    Part,
    PartPlace,
    PartsSet,
    Person,
    Reading,
    Record,
    RunEnd,
    Slip,
    StockItem,
    Unit,
    Verdict,
    WasteBag,
    Where,
    Wording,
)
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader, Unwritten, Work
from cribdesk.opening import load_house
from cribdesk.procedure.load import load
from cribdesk.procedure.record import to_json
from cribdesk.procedure.run import Good, Measured, Timed, answer, page, start
from cribdesk.store.connect import SqlStore
from tests.procedure.house import good_answer, text_of

NOW = datetime(2026, 11, 25, 5, 12, tzinfo=UTC)  # 06:12 in Vienna, inside the day shift
R = TypeVar("R", bound=Record)
PRE_USE = "welding-papr-pre-use"


def label(kind: Kind, number: int) -> str:
    """The label of that running number, or the next that may be issued."""
    return next_label(kind, number)[0]


@lru_cache(1)
def house() -> House:
    """The shipped loose-fitting model with its two shipped checks."""
    model = read_model(text_of("units", "wl1.toml"), "wl1.toml")
    loaded = [
        load(text_of("procedures", f"{code}.toml"), f"{code}.toml", [model])
        for code in (PRE_USE, "welding-papr-hand-over")
    ]
    shipped, _ = load_house()
    tables = {"substances": shipped.substances, "shades": shipped.shades, "rule_sets": shipped.rule_sets}
    return replace(House.of({model.code: model}, {one.code: one for one in loaded}), **tables)


@lru_cache(4)
def passed_run(by: str, meter: str, ended: datetime = NOW) -> str:
    """The answers of a full inspection that passed, as the engine keeps them."""
    model = house().models["WL1"]
    run = start(house().procedures[PRE_USE], model, ended - timedelta(minutes=5), by)
    while run.verdict is None:
        kind = page(run).kind
        given = {"reading": Measured(184.0, meter), "timed": Timed(17.2)}.get(kind) or good_answer(run)
        run = answer(run, given, ended, 2.0)
    assert run.verdict == "pass"
    return to_json(run)


class SmallCrib:
    """The crib's records by name, after `fill`."""

    def __init__(self, store: SqlStore) -> None:
        self.store = store
        self.people: dict[str, Person] = {}
        self.units: dict[str, Unit] = {}
        self.entries = 0
        self.slips = 0

    def write(self, what: Callable[[Work], R], sentence: str, subjects: tuple[str, ...] = (), **more: Any) -> R:
        """One Work with its entry."""
        self.entries += 1
        moment = more.pop("moment", NOW - timedelta(days=30) + timedelta(minutes=self.entries))
        with self.store.work() as work:
            made = what(work)
            work.commit(
                Unwritten(
                    operation=more.pop("operation", "try"),
                    operation_id=f"try {self.entries}",
                    request="0" * 64,
                    moment=moment,
                    counter="Counter 1",
                    clerk=more.pop("clerk", self.clerk.label if self.people else "P000001X"),
                    subjects=subjects,
                    sentence=sentence,
                    **more,
                )
            )
        return made

    def save(self, record: R, **more: Any) -> R:
        """One record, one entry."""
        return self.write(lambda work: work.save(record), f"Saved a {type(record).__name__}.", **more)

    @property
    def clerk(self) -> Person:
        """Rhea Castel, attendant and technician."""
        return self.people["Rhea Castel"]

    def fill(self) -> SmallCrib:
        """Everything; each unit is named after its state."""
        self._people()
        self._stock()
        self._equipment()
        for number, name in enumerate(
            ("ready", "out", "overdue", "not checked", "needs cleaning", "on hold", "due", "emergency", "missing",
             "scrapped", "never inspected"),
            1,
        ):
            self._unit(number, name)
        self._states()
        return self

    def _people(self) -> None:
        for number, (name, roles) in enumerate(
            (("Rhea Castel", "attendant,bench technician"), ("Łucja Wronecka", ""), ("Imre Dobrosi", ""),
             ("Abel Nkemba", "")), 1,
        ):
            badge = label(Kind.PERSON, number * 10)
            self.people[name] = self.save(Person(label=badge, name=name, trade="welder", crew="day crew", roles=roles))
        wearer, lapsed = self.people["Łucja Wronecka"], self.people["Imre Dobrosi"]
        medical, training, fit_test = ClearanceKind.MEDICAL, ClearanceKind.TRAINING, ClearanceKind.FIT_TEST
        for person, kind, given_on, more in (
            (wearer, medical, date(2025, 3, 12), {"until": date(2027, 3, 12)}),
            (wearer, training, date(2026, 2, 3), {}),
            (wearer, fit_test, date(2026, 1, 9), {"model": "FF1", "size": "M"}),
            (lapsed, training, date(2025, 11, 22), {}),
        ):
            self.save(Clearance(person_id=person.id, kind=kind, given_on=given_on, **more))

    def _stock(self) -> None:
        self.bin = self.save(Bin(label=label(Kind.BIN, 1), code="C-04"))
        self.items: dict[str, StockItem] = {}
        for number, position in enumerate(house().models["WL1"].positions, 1):
            code = position.items[0]
            made = StockItem(
                label=label(Kind.ITEM, number * 10), code=code, name=f"{position.name}, WL1",
                bin_id=self.bin.id, minimum=2,
            )
            self.items[code] = self.save(made)
        prefilter = self.items["WL1-PREFILTER"].id
        self.lots = {
            code: self.save(Lot(item_id=prefilter, code=code, on_hand=n, expires_on=until, blocked=why))
            for code, n, until, why in (
                ("LATE", 7, date(2028, 1, 1), ""), ("SOON", 4, date(2027, 1, 1), ""), ("NEVER", 3, None, ""),
                ("PAST", 9, date(2026, 11, 24), ""), ("RECALLED", 9, None, "recalled by its maker"),
                ("GONE", 0, None, ""),
            )
        }
        blower = self.items["WL1-BLOWER"].id
        self.parts = {
            name: self.save(Part(label=label(Kind.PART, n), item_id=blower, worn_hours=hours, fault=fault, place=place))
            for n, (name, hours, fault, place) in enumerate(
                (("good", 412.0, "", PartPlace.SHELF), ("faulty", 90.0, "hums", PartPlace.SHELF),
                 ("away", 10.0, "", PartPlace.SENT_OUT)), 11,
            )
        }

    def _equipment(self) -> None:
        self.meter = self.save(
            Instrument(
                label=label(Kind.INSTRUMENT, 2), name="Flow meter", serial="FM-2", uncertainty_lpm=3.0,
                calibrated_on=date(2025, 11, 27), calibrated_until=date(2026, 11, 27),
            )
        )
        self.area = self.save(Area(label=label(Kind.AREA, 3), name="Plate shop, bay 3"))
        self._assess()
        self.set = self.save(PartsSet(label=label(Kind.SET, 1), name="Lens set"))
        self.cabinet = self.save(Cabinet(label=label(Kind.CABINET, 1), name="Cabinet 1", purpose="Leaving the hall"))
        self.bag = self.save(
            WasteBag(label=label(Kind.BAG, 1), stream="used filters", opened_at=NOW, by_id=self.clerk.id)
        )
        charger = self.save(Charger(name="A"))
        slot = self.save(ChargerSlot(charger_id=charger.id, number=3))
        charged = {"model": "WL1-PACK", "charged_at": NOW - timedelta(hours=2)}
        self.batteries = {
            "charger": self.save(
                Battery(label=label(Kind.BATTERY, 10), place=BatteryPlace.CHARGER, slot_id=slot.id, **charged)
            ),
            "shelf": self.save(Battery(label=label(Kind.BATTERY, 20), model="WL1-PACK")),
        }
        self.wording = self.save(Wording(procedure=PRE_USE, edition=1, digest="d" * 64, text="text"))

    def _unit(self, number: int, name: str) -> None:
        place = {"out": Where.OUT, "overdue": Where.OUT, "emergency": Where.EMERGENCY, "missing": Where.MISSING,
                 "scrapped": Where.SCRAPPED, "ready": Where.RACK, "due": Where.RACK}.get(name, Where.BENCH)
        added = NOW - timedelta(days=40)

        def make(work: Work) -> Unit:
            unit = work.save(
                Unit(
                    label=label(Kind.UNIT, number * 10), model="WL1", serial=f"WL1-{number}", where=place,
                    added_at=added,
                )
            )
            for position in house().models["WL1"].positions:
                work.save(
                    Fitted(
                        unit_id=unit.id, position=position.code, item_id=self.items[position.items[0]].id,
                        lot_id=self.lots["LATE"].id if position.code == "pre-filter" else None,
                        fitted_at=added, fitted_at_hours=0.0,
                        worn_before_hours=58.0 if name == "due" and position.code == "pre-filter" else 1.0,
                    )
                )
            return unit

        self.units[name] = self.write(make, "A unit entered.")
        if name != "never inspected":
            self.inspect(self.units[name], NOW - timedelta(minutes=32))

    def inspect(self, unit: Unit, ended: datetime, kind: str = "bench", **more: Any) -> Inspection:
        """An inspection that passed, with its airflow reading."""

        def make(work: Work) -> Inspection:
            made = work.save(
                Inspection(
                    unit_id=unit.id, kind=kind, procedure=PRE_USE, wording_id=self.wording.id, by_id=self.clerk.id,
                    started_at=ended - timedelta(minutes=5), ended_at=ended, verdict=Verdict.PASS,
                    instrument_id=self.meter.id, answers=passed_run(self.clerk.label, self.meter.label, ended),
                )
            )
            work.save(
                Reading(
                    inspection_id=made.id, unit_id=unit.id, quantity="airflow", flow_lpm=184.0,
                    instrument_id=self.meter.id, at=ended, at_hours=unit.worn_hours,
                )
            )
            return made

        return self.write(make, f"Full inspection of {unit.label} passed.", (unit.label,), moment=ended, **more)

    def issue(self, name: str, wearer: str, issued: datetime, due: datetime | None, **more: Any) -> Custody:
        """A unit handed out, with its slip."""
        unit, person = self.units[name], self.people[wearer]
        self.slips += 1
        number = label(Kind.SLIP, self.slips * 10)

        def make(work: Work) -> Custody:
            slip = work.save(Slip(label=number, unit_id=unit.id, person_id=person.id, prepared_at=issued))
            made = Custody(
                unit_id=unit.id, person_id=person.id, slip_id=slip.id, issued_at=issued, due_at=due,
                issued_by=self.clerk.id, area_id=self.area.id, acknowledged="badge", **more,
            )
            return work.save(made)

        return self.write(
            make, f"Issued {unit.label} to {person.label} until 14:30.", (unit.label, person.label, number),
            moment=issued, papers=(("issue_slip", number),),
        )

    def take_back(self, custody: Custody, unit: Unit, at: datetime, complete: bool = True) -> Custody:
        """A unit back from its wearer."""
        done = replace(
            custody, returned_at=at, received_by=self.clerk.id, worn_hours=6.5, completed_at=at if complete else None
        )
        person = next(one for one in self.people.values() if one.id == custody.person_id)
        sentence = f"{unit.label} back from {person.label}, not checked yet."
        return self.write(lambda work: work.save(done), sentence, (unit.label, person.label), moment=at)

    def _assess(self) -> None:
        """The hygienist's findings of the area, invented: fume of plain steel, below its limits."""
        stated: dict[str, Any] = {
            "area_id": self.area.id, "basis": AssessmentBasis.STATED, "made_on": date(2026, 3, 4),
            "made_by": "T. Ambrus, hygienist", "document": "Report 26-014", "limit": "osha", "by_id": self.clerk.id,
        }  # fmt: skip
        iron = {"substance": "iron_oxide_fume", "measured_as": "Fe2O3", "concentration_ng_m3": 6_100_000}
        self.save(Assessment(**iron, **stated))
        self.save(Assessment(substance="manganese", measured_as="Mn", short_ng_m3=3_100_000, **stated))

    def _states(self) -> None:
        yesterday, early = NOW - timedelta(hours=20), NOW - timedelta(minutes=10)
        self.out = self.issue(
            "out", "Łucja Wronecka", early, datetime(2026, 11, 25, 13, 30, tzinfo=UTC),
            battery_id=self.batteries["shelf"].id, inspection_id=self.hand_over().id,
            cautions="Pre-filter may fall due before it is back",
        )
        self.late = self.issue("overdue", "Imre Dobrosi", yesterday, NOW - timedelta(hours=8))
        for name, complete in (("not checked", False), ("needs cleaning", True)):
            back = self.issue(name, "Abel Nkemba", NOW - timedelta(hours=16), None)
            self.take_back(back, self.units[name], NOW - timedelta(minutes=14), complete)
        self.inspect(self.units["needs cleaning"], NOW - timedelta(minutes=10), kind="return-look")
        held = self.units["on hold"]
        self.hold = self.write(
            lambda work: work.save(
                Hold(
                    unit_id=held.id, reason="airflow", detail="Airflow 158 L/min after the whole ladder.",
                    proof="bench inspection", found_by=self.clerk.id, found_at=NOW - timedelta(minutes=9),
                    tag=label(Kind.TAG, 231),
                )
            ),
            f"{held.label} on hold: airflow.", (held.label, label(Kind.TAG, 231)), moment=NOW - timedelta(minutes=9),
            papers=(("tag", label(Kind.TAG, 231)),),
        )
        cleaned = Cleaning(
            unit_id=self.units["ready"].id, inspection_id=1, by_id=self.clerk.id, at=NOW - timedelta(hours=7)
        )
        self.save(cleaned)
        self.save(
            BatteryRun(
                battery_id=self.batteries["shelf"].id, unit_id=held.id, custody_id=None, worn_hours=6.5,
                ended=RunEnd.STOPPED, speed="low", bars_left=2, ended_at=NOW - timedelta(days=2),
            )
        )

    def hand_over(self) -> Inspection:
        """The short check of the unit that is out."""
        procedure = house().procedures["welding-papr-hand-over"]
        run = start(procedure, house().models["WL1"], NOW - timedelta(minutes=11), self.clerk.label)
        while run.verdict is None:
            run = answer(run, Good(), NOW - timedelta(minutes=10), 2.0)
        made = Inspection(
            unit_id=self.units["out"].id, kind="hand-over", procedure=procedure.code, wording_id=self.wording.id,
            by_id=self.clerk.id, started_at=run.started, ended_at=NOW - timedelta(minutes=10), verdict=Verdict.PASS,
            answers=to_json(run),
        )
        return self.save(made)


class Counted:
    """Counts the statements a reader sends."""

    def __init__(self, store: SqlStore) -> None:
        self.store = store
        self.sent = 0
        plain = store.engine.run

        def run(*given: Any, **more: Any) -> Any:
            self.sent += 1
            return plain(*given, **more)

        store.engine.run = run  # type: ignore[method-assign]

    def of(self, what: Callable[[Reader], object]) -> int:
        """How many statements `what` sends."""
        with self.store.reading() as reader:
            before = self.sent
            what(reader)
            return self.sent - before
