"""Areas, batteries, chargers and flow meters: entering them, charging, calibrating."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.air import DENSEST_KG_M3, THINNEST_KG_M3, USUAL_KG_M3
from cribdesk.crib.label import Kind
from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    Calibration,
    Charger,
    ChargerSlot,
    Custody,
    Instrument,
    Role,
    Unit,
)
from cribdesk.crib.refusal import (
    AlreadyOut,
    BatteryNotFree,
    LabelTaken,
    NoInstruction,
    NotQualified,
    WrongFigure,
)
from cribdesk.crib.words import date_words, number
from cribdesk.desk.inspection import fetch_unit, must_be_in_hand
from cribdesk.desk.meters import act_on, would_find
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.recall_reach import names, recalls_of

OFFICE = (Role.PROGRAM, Role.SYSTEM)
BENCH = (Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)


@dataclass(frozen=True, kw_only=True)
class AddArea(Operation):
    """A place or task is entered. `dust_ug_m3` is the hygienist's figure, where there is one."""

    area_name: str
    required: bool = True
    agents: str = ""
    processes: str = ""
    dust_ug_m3: int | None = None
    note: str = ""

    code: ClassVar[str] = "add-area"
    words: ClassVar[str] = "Entering an area"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        if not self.area_name.strip():
            raise WrongFigure("Area", "the name is empty")
        if self.dust_ug_m3 is not None and self.dust_ug_m3 < 0:
            raise WrongFigure("Dust", "a concentration is not below zero")
        area = work.save(
            Area(
                label=fresh_label(work, Kind.AREA),
                name=self.area_name.strip(),
                required=self.required,
                agents=self.agents,
                processes=self.processes,
                dust_ug_m3=self.dust_ug_m3,
                note=self.note,
            )
        )
        return Outcome(f"Area {area.name} entered as {area.label}.", (area.label,))


@dataclass(frozen=True, kw_only=True)
class AddCharger(Operation):
    """A charger is entered with its slots."""

    charger_name: str
    slots: int = 6

    code: ClassVar[str] = "add-charger"
    words: ClassVar[str] = "Entering a charger"
    may: ClassVar[tuple[Role, ...]] = (*OFFICE, Role.TECHNICIAN)

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it and its slots."""
        name = self.charger_name.strip()
        if not name:
            raise WrongFigure("Charger", "the name is empty")
        if work.first(Charger, name=name):
            raise LabelTaken(name, "a charger in this store")
        if not 1 <= self.slots <= 60:
            raise WrongFigure("Slots", "a charger has 1 to 60")
        charger = work.save(Charger(name=name, slots=self.slots))
        for slot in range(1, self.slots + 1):
            work.save(ChargerSlot(charger_id=charger.id, number=slot))
        return Outcome(f"Charger {charger.name} entered with {self.slots} slots.", ())


@dataclass(frozen=True, kw_only=True)
class AddBattery(Operation):
    """A pack is entered, uncharged, on the shelf."""

    battery_model: str
    serial: str = ""
    bought_on: date | None = None
    cycles: int = 0

    code: ClassVar[str] = "add-battery"
    words: ClassVar[str] = "Entering a battery"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        known = {code for model in context.house.models.values() for code in model.battery_models}
        if self.battery_model not in known:
            raise WrongFigure("Battery", f"no unit model takes a pack of model {self.battery_model}")
        battery = work.save(
            Battery(
                label=fresh_label(work, Kind.BATTERY),
                model=self.battery_model,
                serial=self.serial,
                bought_on=self.bought_on,
                cycles=self.cycles,
            )
        )
        return Outcome(f"Battery {battery.label} entered.", (battery.label,))


@dataclass(frozen=True, kw_only=True)
class StartCharge(Operation):
    """A pack goes on a charger: into the slot named, or the first that is free."""

    battery_id: int
    slot_id: int | None = None

    code: ClassVar[str] = "start-charge"
    words: ClassVar[str] = "Charging a battery"

    def run(self, work: Work, context: Context) -> Outcome:
        """Puts it in a free slot."""
        battery = fetch(work, Battery, self.battery_id, "This battery")
        in_here(work, battery)
        slot = self._slot(work, battery)
        there = work.first(Battery, slot_id=slot.id)
        if there is not None and there.id != battery.id:
            raise BatteryNotFree(battery.label, f"slot {slot.number} holds {there.label}")
        work.take(battery)
        work.save(
            replace(battery, place=BatteryPlace.CHARGER, slot_id=slot.id, unit_id=None, charged_at=None)
        )
        charger = fetch(work, Charger, slot.charger_id, "This charger")
        return Outcome(f"{battery.label} on charger {charger.name}, slot {slot.number}.", (battery.label,))

    def _slot(self, work: Work, battery: Battery) -> ChargerSlot:
        if self.slot_id is not None:
            return fetch(work, ChargerSlot, self.slot_id, "This slot")
        taken = {one.slot_id for one in work.find(Battery, place=BatteryPlace.CHARGER) if one.id != battery.id}
        free = next((slot for slot in work.find(ChargerSlot) if slot.id not in taken), None)
        if free is None:
            raise BatteryNotFree(battery.label, "no slot of a charger is free")
        return free


@dataclass(frozen=True, kw_only=True)
class EndCharge(Operation):
    """A pack comes off its charger, charged."""

    battery_id: int

    code: ClassVar[str] = "end-charge"
    words: ClassVar[str] = "Charging a battery"

    def run(self, work: Work, context: Context) -> Outcome:
        """Puts it on the shelf as charged, one cycle older."""
        battery = fetch(work, Battery, self.battery_id, "This battery")
        if battery.place is not BatteryPlace.CHARGER:
            raise BatteryNotFree(battery.label, "it is on no charger")
        work.take(battery)
        work.save(
            replace(
                battery,
                place=BatteryPlace.SHELF,
                slot_id=None,
                charged_at=context.moment,
                cycles=battery.cycles + 1,
            )
        )
        return Outcome(f"{battery.label} charged.", (battery.label,))


@dataclass(frozen=True, kw_only=True)
class PutBattery(Operation):
    """A charged pack goes into a unit in hand; one that sat there lies on the shelf, its charge unknown."""

    unit_id: int
    battery_id: int

    code: ClassVar[str] = "put-battery"
    words: ClassVar[str] = "Swapping a battery"

    def run(self, work: Work, context: Context) -> Outcome:
        """Puts it in, where the model takes such a pack."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        battery = fetch(work, Battery, self.battery_id, "This battery")
        model = context.house.model_of(unit)
        if battery.model not in model.battery_models:
            raise BatteryNotFree(battery.label, f"{model.short_name} takes no pack of model {battery.model}")
        if battery.faulty:
            raise BatteryNotFree(battery.label, battery.note)
        in_here(work, battery)
        if battery.unit_id not in (None, unit.id):
            raise BatteryNotFree(battery.label, "it sits in another unit")
        put_in(work, battery, unit)
        return Outcome(f"{battery.label} put into {unit.label}.", (unit.label, battery.label))


def put_in(work: Work, battery: Battery, unit: Unit) -> None:
    """The pack sits in the unit now; one that sat there before lies on the shelf, its charge unknown."""
    there = work.first(Battery, unit_id=unit.id)
    work.take(*([battery] if there is None else [battery, there]))
    if there is not None and there.id != battery.id:
        work.save(replace(there, place=BatteryPlace.SHELF, unit_id=None, charged_at=None))
    work.save(replace(battery, place=BatteryPlace.IN_UNIT, unit_id=unit.id, slot_id=None))


@dataclass(frozen=True, kw_only=True)
class RetireBattery(Operation):
    """A pack leaves for good, or is missing."""

    battery_id: int
    place: BatteryPlace
    why: str

    code: ClassVar[str] = "retire-battery"
    words: ClassVar[str] = "Taking a battery out of use"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Marks it scrapped, missing, sent out, or found again on the shelf; out with its unit, missing alone."""
        battery = fetch(work, Battery, self.battery_id, "This battery")
        if self.place in (BatteryPlace.IN_UNIT, BatteryPlace.CHARGER):
            raise WrongFigure("Battery", "scan it into its place instead")
        out = work.first(Custody, battery_id=battery.id, returned_at=None)
        if out is not None and self.place is not BatteryPlace.MISSING:
            raise AlreadyOut(battery.label, "its unit")
        if self.place is BatteryPlace.SHELF:
            self._must_name_notices(work, context, battery)
        lost = battery.faulty and self.place is BatteryPlace.MISSING  # found again, its fault is still there
        note = f"{battery.note}; {self.why.strip()}" if lost else self.why.strip()
        work.take(battery)
        work.save(
            replace(battery, place=self.place, unit_id=None, slot_id=None, charged_at=None, note=note)
        )
        return Outcome(f"{battery.label}: {self.place.value}, {self.why.strip()}.", (battery.label,))

    def _must_name_notices(self, work: Work, context: Context, battery: Battery) -> None:
        """A pack its maker recalled is given free by the maker's own instruction, as a unit is."""
        for recall in recalls_of(work, battery):
            if not context.clerk.has(Role.PROGRAM):
                raise NotQualified("Giving a recalled pack free", (Role.PROGRAM.value,))
            if not names(self.why, recall.notice):
                raise NoInstruction(battery.label, recall.notice)


def in_here(work: Work, battery: Battery) -> None:
    """Raises BatteryNotFree for a pack that is out with somebody, or out of use."""
    if battery.place in (BatteryPlace.SCRAPPED, BatteryPlace.SENT_OUT):
        raise BatteryNotFree(battery.label, battery.place.value)
    if work.first(Custody, battery_id=battery.id, returned_at=None):
        raise BatteryNotFree(battery.label, "it is out with its unit")


def check_scale(calibration_kg_m3: float) -> None:
    """Raises WrongFigure for air that no meter's scale is made for."""
    if not THINNEST_KG_M3 <= calibration_kg_m3 <= DENSEST_KG_M3:
        span = f"{number(THINNEST_KG_M3, 1)} and {number(DENSEST_KG_M3, 1)} kg/m³"
        raise WrongFigure("Calibration air", f"it lies between {span}; the certificate names it")


@dataclass(frozen=True, kw_only=True)
class AddInstrument(Operation):
    """A flow meter is entered with its calibration."""

    instrument_name: str
    serial: str
    uncertainty_lpm: float
    calibrated_on: date
    calibrated_until: date
    calibration_kg_m3: float = USUAL_KG_M3

    code: ClassVar[str] = "add-instrument"
    words: ClassVar[str] = "Entering a flow meter"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        if not 0 < self.uncertainty_lpm < 100:
            raise WrongFigure("Uncertainty", "it lies between 0 and 100 L/min; the certificate names it")
        check_scale(self.calibration_kg_m3)
        if self.calibrated_until < self.calibrated_on:
            raise WrongFigure("Calibration", "it ends before it was made")
        meter = work.save(
            Instrument(
                label=fresh_label(work, Kind.INSTRUMENT),
                name=self.instrument_name,
                serial=self.serial,
                uncertainty_lpm=self.uncertainty_lpm,
                calibrated_on=self.calibrated_on,
                calibrated_until=self.calibrated_until,
                calibration_kg_m3=self.calibration_kg_m3,
            )
        )
        work.save(
            Calibration(
                instrument_id=meter.id,
                made_on=self.calibrated_on,
                good_until=self.calibrated_until,
                entered_at=context.moment,
            )
        )
        return Outcome(f"Flow meter {meter.name} entered as {meter.label}.", (meter.label,))


@dataclass(frozen=True, kw_only=True)
class Calibrate(Operation):
    """A flow meter comes back from its calibration. `found_error_lpm` above zero: it had read too much.

    `calibration_kg_m3` is the air its scale holds in from now on; None: the same as before.
    What rests on it since its last good check is weighed anew; readings stay as they were entered.
    """

    instrument_id: int
    made_on: date
    good_until: date
    found_error_lpm: float = 0.0
    certificate: str = ""
    calibration_kg_m3: float | None = None

    code: ClassVar[str] = "calibrate"
    words: ClassVar[str] = "Entering a calibration"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the calibration and its end."""
        meter = fetch(work, Instrument, self.instrument_id, "This flow meter")
        if self.good_until < self.made_on or self.made_on > context.house.today(context.moment):
            raise WrongFigure("Calibration", "its dates cannot be")
        work.take(meter)
        if not -100 < self.found_error_lpm < 100:
            raise WrongFigure("Error found", "it lies between \u2212100 and 100 L/min")
        scale = meter.calibration_kg_m3 if self.calibration_kg_m3 is None else self.calibration_kg_m3
        check_scale(scale)
        fresh = replace(meter, calibrated_on=self.made_on, calibrated_until=self.good_until, calibration_kg_m3=scale)
        work.save(replace(fresh, active=True))
        made = work.save(
            Calibration(
                instrument_id=meter.id,
                made_on=self.made_on,
                good_until=self.good_until,
                found_error_lpm=self.found_error_lpm,
                certificate=self.certificate,
                entered_at=context.moment,
            )
        )
        found = act_on(work, context, meter, would_find(work, context.house, meter, made))
        said = f"{meter.name} calibrated, good until {date_words(self.good_until)}."
        return Outcome(f"{said} {found.words}".rstrip(), (meter.label, *found.subjects), found.papers)
