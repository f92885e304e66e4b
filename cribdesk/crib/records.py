"""Every stored record, frozen. `id` 0 means not saved yet; moments are aware UTC; quantities in natural units.

Columns marked personal are sealed in the journal (see `personal`). One file, longer than 400 lines: it is the list of
all that a store holds, and the tables follow it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Any

PERSONAL = {"personal": True}
FAULT = "fault"
"""How a faulty pack's note begins."""


def personal(default: Any = "") -> Any:
    """A field about a person that stands in the journal only as a digest."""
    return field(default=default, metadata=PERSONAL)


class Where(StrEnum):
    """Where a unit is."""

    RACK = "rack"
    OUT = "out"
    ASSIGNED = "assigned"
    BENCH = "bench"
    EMERGENCY = "emergency cabinet"
    SENT_OUT = "sent out"
    MISSING = "missing"
    SCRAPPED = "scrapped"


AWAY = (Where.MISSING, Where.SENT_OUT)
"""Where nobody of this crib has a unit in hand, whatever its custody says."""

GONE = (*AWAY, Where.SCRAPPED)
"""The same, and those that never come back."""


class Role(StrEnum):
    """What a person does at the crib. A wearer has none."""

    ATTENDANT = "attendant"
    TECHNICIAN = "bench technician"
    STOREKEEPER = "storekeeper"
    PROGRAM = "program administrator"
    SYSTEM = "system administrator"


class ClearanceKind(StrEnum):
    """What a wearer needs before wearing."""

    MEDICAL = "medical"
    TRAINING = "training"
    FIT_TEST = "fit test"


class BatteryPlace(StrEnum):
    """Where a battery is. IN_UNIT also when the unit is out."""

    SHELF = "shelf"
    CHARGER = "charger"
    IN_UNIT = "unit"
    SENT_OUT = "sent out"
    MISSING = "missing"
    SCRAPPED = "scrapped"


class PartPlace(StrEnum):
    """Where a part with a label of its own is."""

    SHELF = "shelf"
    FITTED = "unit"
    SENT_OUT = "sent out"
    SCRAPPED = "scrapped"


class RunEnd(StrEnum):
    """How a battery's run ended."""

    FLAT = "ran flat"
    ALARM = "low-battery alarm"
    STOPPED = "stopped before"


class AwayKind(StrEnum):
    """Why a unit is neither in the crib nor with its wearer."""

    MISSING = "missing"
    STOLEN = "stolen"
    REPAIR = "sent for repair"
    LENT = "lent to another crib"


class NoticeKind(StrEnum):
    """What the program administrator has to see."""

    REFUSED = "refused to wear it"
    SIZE = "wrong size"
    HAIR = "facial hair at the seal"
    WANTS_POWERED = "asks for a powered respirator"
    OTHER = "something else"
    NO_FILTER = "no filter was in it"
    METER = "flow meter found wrong"


class RequisitionState(StrEnum):
    """How far a purchase requisition is."""

    DRAFT = "draft"
    SENT = "sent"
    PART = "part delivered"
    BACK_ORDERED = "back-ordered"
    CLOSED = "closed"
    CANCELLED = "cancelled"


class Control(StrEnum):
    """What is done against an exposure, the best first; a respirator comes last."""

    ELIMINATION = "elimination or substitution"
    ENGINEERING = "engineering"
    WORK_PRACTICE = "work practice"
    PROTECTION = "personal protection"


class AssessmentBasis(StrEnum):
    """What the hygienist's finding rests on."""

    SAMPLES = "samples"
    STATED = "stated result"
    OBJECTIVE = "objective data"


class Verdict(StrEnum):
    """How an inspection ended."""

    PASS = "pass"
    FAIL = "fail"
    BROKEN_OFF = "broken off"


@dataclass(frozen=True, kw_only=True)
class Record:
    """What every stored record has."""

    id: int = 0
    revision: int = 0


@dataclass(frozen=True, kw_only=True)
class Person(Record):
    """Wearer or staff. `roles` is a comma-separated list of Role values, in their order."""

    label: str
    name: str = personal()
    trade: str = ""
    crew: str = ""
    employer: str = ""
    ends_on: date | None = None
    active: bool = True
    roles: str = ""

    def has(self, *roles: Role) -> bool:
        """Whether the person holds one of the roles."""
        return bool({role.value for role in roles} & set(self.roles.split(",")))

    def ended(self, today: date) -> bool:
        """Whether the badge stands no more: it was withdrawn, or its last day is past."""
        return not self.active or (self.ends_on is not None and self.ends_on < today)


@dataclass(frozen=True, kw_only=True)
class Clearance(Record):
    """One medical recommendation, training or fit test. `until` only where one was given."""

    person_id: int
    kind: ClearanceKind
    given_on: date
    cleared: bool = True
    until: date | None = None
    model: str = ""  # fit test: unit model and size it was made with; a model is of one make and style
    size: str = ""
    detail: str = personal()
    method: str = ""  # fit test: how it was made, 'quantitative' or 'qualitative: ...'
    fit_factor: int | None = None  # measured, where it was made by an instrument


@dataclass(frozen=True, kw_only=True)
class Unit(Record):
    """One assembled respirator or helmet. `worn_hours` is its meter: it only grows."""

    label: str
    model: str
    serial: str = ""
    size: str = ""
    where: Where = Where.RACK
    place: str = ""  # rack row, shelf, cabinet, repairer, as people say it
    worn_hours: float = 0.0
    added_at: datetime


@dataclass(frozen=True, kw_only=True)
class Part(Record):
    """A part with a label of its own: it carries its hours, lot and faults from unit to unit.

    `worn_hours` counts up to its last removal; while fitted the unit's meter tells the rest.
    """

    label: str
    item_id: int
    lot_id: int | None = None
    serial: str = ""
    place: PartPlace = PartPlace.SHELF
    unit_id: int | None = None
    worn_hours: float = 0.0
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class Fitted(Record):
    """What sits, or sat, at one position of a unit.

    Worn hours = worn_before_hours + the unit's meter (now, or at removal) - fitted_at_hours. What its wearer fitted
    while the unit is out stands ahead of the meter until the unit is back: it has none yet.
    """

    unit_id: int
    position: str
    item_id: int
    lot_id: int | None = None
    part_id: int | None = None
    expires_on: date | None = None
    fitted_at: datetime
    fitted_at_hours: float
    worn_before_hours: float = 0.0
    removed_at: datetime | None = None
    removed_at_hours: float | None = None
    removed_why: str = ""

    def worn(self, meter_hours: float) -> float:
        """Hours worn at the position, the unit's meter standing at `meter_hours`."""
        end = meter_hours if self.removed_at_hours is None else self.removed_at_hours
        return self.worn_before_hours + max(0.0, end - self.fitted_at_hours)


@dataclass(frozen=True, kw_only=True)
class Battery(Record):
    """A pack with a label. `bars` is what it showed last, of its model's `bars`."""

    label: str
    model: str
    serial: str = ""
    place: BatteryPlace = BatteryPlace.SHELF
    unit_id: int | None = None
    slot_id: int | None = None
    cycles: int = 0
    charged_at: datetime | None = None
    bought_on: date | None = None
    note: str = ""

    @property
    def faulty(self) -> bool:
        """Whether a hold named it as faulty and nobody at the bench has cleared it since."""
        return self.note.startswith(FAULT)


@dataclass(frozen=True, kw_only=True)
class BatteryRun(Record):
    """One use of a pack in a unit, from hand-over to its return."""

    battery_id: int
    unit_id: int
    custody_id: int | None
    worn_hours: float
    ended: RunEnd
    speed: str = ""
    bars_left: int | None = None
    cycles: int = 0
    filter_hours: float | None = None
    ended_at: datetime


@dataclass(frozen=True, kw_only=True)
class Charger(Record):
    """A charger with its slots."""

    name: str
    slots: int = 6


@dataclass(frozen=True, kw_only=True)
class ChargerSlot(Record):
    """A battery's place on a charger."""

    charger_id: int
    number: int


@dataclass(frozen=True, kw_only=True)
class Instrument(Record):
    """A flow meter. `uncertainty_lpm` is its standard uncertainty; calibration good through `calibrated_until`.

    `calibration_kg_m3` is the density of the air its scale holds in, by its certificate: 1.204 at 20 °C, 101 325 Pa.
    """

    label: str
    name: str
    serial: str = ""
    uncertainty_lpm: float
    calibrated_on: date
    calibrated_until: date
    active: bool = True
    calibration_kg_m3: float = 1.204


@dataclass(frozen=True, kw_only=True)
class Calibration(Record):
    """One calibration of an instrument, with what it was found to read. `entered_at` is None for one of long ago."""

    instrument_id: int
    made_on: date
    good_until: date
    found_error_lpm: float = 0.0
    certificate: str = ""
    entered_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Area(Record):
    """A place or task. `dust_ug_m3` is an assessed concentration, where there is one."""

    label: str
    name: str
    required: bool = True
    agents: str = ""
    processes: str = ""
    dust_ug_m3: int | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Bin(Record):
    """A place on the shelf."""

    label: str
    code: str


@dataclass(frozen=True, kw_only=True)
class Supplier(Record):
    """Who delivers."""

    name: str
    active: bool = True


@dataclass(frozen=True, kw_only=True)
class StockItem(Record):
    """Something on the shelf. `code` is what unit models name in their positions."""

    label: str
    code: str
    name: str
    maker: str = ""
    maker_number: str = ""
    criticality: str = "B"
    pack_size: int = 1
    price_cents: int = 0
    supplier_id: int | None = None
    bin_id: int | None = None
    minimum: int = 0
    maximum: int | None = None
    shelf_days: int | None = None
    active: bool = True


@dataclass(frozen=True, kw_only=True)
class Lot(Record):
    """A batch of a stock item, with what is left of it on the shelf."""

    item_id: int
    code: str
    on_hand: int = 0
    expires_on: date | None = None
    received_on: date | None = None
    blocked: str = ""  # why nothing of it may be fitted


@dataclass(frozen=True, kw_only=True)
class Movement(Record):
    """One change of stock, with why."""

    item_id: int
    lot_id: int | None
    quantity: int
    why: str
    unit_id: int | None = None
    at: datetime


@dataclass(frozen=True, kw_only=True)
class Requisition(Record):
    """A purchase requisition to one supplier."""

    number: int
    supplier_id: int
    state: str = "draft"
    made_on: date
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class RequisitionLine(Record):
    """One line of a requisition."""

    requisition_id: int
    item_id: int
    quantity: int
    price_cents: int = 0
    promised_on: date | None = None
    arrived: int = 0


@dataclass(frozen=True, kw_only=True)
class Delivery(Record):
    """One arrival of one line."""

    requisition_line_id: int | None
    item_id: int
    lot_id: int
    quantity: int
    arrived_at: datetime


@dataclass(frozen=True, kw_only=True)
class CycleCount(Record):
    """One count of one lot: what the book said, what was there."""

    lot_id: int
    booked: int
    counted: int
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Custody(Record):
    """A unit in somebody's hands, since when, due when, and how it came back."""

    unit_id: int
    person_id: int
    area_id: int | None = None
    battery_id: int | None = None
    inspection_id: int | None = None
    slip_id: int | None = None
    assigned: bool = False
    issued_at: datetime
    due_at: datetime | None = None
    issued_by: int
    acknowledged: str = ""  # 'badge', 'signed slip' or 'carrier'
    cautions: str = ""  # accepted, one a line
    returned_at: datetime | None = None
    received_by: int | None = None
    brought_by: int | None = None
    completed_at: datetime | None = None
    worn_hours: float | None = None
    speed: str = ""
    alarms: str = ""
    battery_end: RunEnd | None = None
    bars_left: int | None = None
    battery_back: bool | None = None
    damage: str = personal()


@dataclass(frozen=True, kw_only=True)
class Slip(Record):
    """An issue slip's number. One printed to be signed before the issue carries what it will be."""

    label: str
    unit_id: int
    person_id: int
    battery_id: int | None = None
    area_id: int | None = None
    due_at: datetime | None = None
    prepared_at: datetime


@dataclass(frozen=True, kw_only=True)
class Hold(Record):
    """One reason why a unit may not be used, with the proof that clears it, and its tag's number."""

    unit_id: int
    reason: str
    detail: str = ""
    proof: str
    found_by: int
    found_at: datetime
    tag: str  # label of its tag
    inspection_id: int | None = None
    released_at: datetime | None = None
    released_by: int | None = None
    released_on: str = ""  # the proof, in words


@dataclass(frozen=True, kw_only=True)
class Wording(Record):
    """A procedure's whole text, kept once, as inspections were made with it."""

    procedure: str
    edition: int
    digest: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Inspection(Record):
    """One run through a procedure. `answers` is the run's own compact JSON (procedure/record.py)."""

    unit_id: int
    kind: str
    procedure: str
    wording_id: int
    by_id: int
    started_at: datetime
    ended_at: datetime
    verdict: Verdict
    fault: str = ""
    instrument_id: int | None = None
    instrument_good: bool = True
    answers: str


@dataclass(frozen=True, kw_only=True)
class Reading(Record):
    """One measured value that decided a step, kept apart for plots and trends."""

    inspection_id: int
    unit_id: int
    quantity: str
    flow_lpm: float | None = None
    seconds: float | None = None
    ball: str = ""
    instrument_id: int | None = None
    at: datetime
    at_hours: float


@dataclass(frozen=True, kw_only=True)
class Cleaning(Record):
    """One cleaning and disinfection of one unit."""

    unit_id: int
    inspection_id: int
    by_id: int
    at: datetime
    product: str = ""
    tray: str = ""


@dataclass(frozen=True, kw_only=True)
class BoundLabel(Record):
    """A label that was there before: an employee badge, a maker's barcode, an etched number."""

    text: str = personal()
    kind: str
    record_id: int


@dataclass(frozen=True, kw_only=True)
class DeadLabel(Record):
    """A label of ours that was replaced: it scans no more."""

    label: str
    kind: str
    record_id: int
    died_at: datetime


@dataclass(frozen=True, kw_only=True)
class Print(Record):
    """One paper that came out, or did not."""

    paper: str
    of: str
    copy: int
    at: datetime
    failed: str = ""


@dataclass(frozen=True, kw_only=True)
class SiteSetting(Record):
    """One setting of the site, as text."""

    name: str
    value: str


# The crib's whole day. Added with schema 2.


@dataclass(frozen=True, kw_only=True)
class PartsSet(Record):
    """Several items that are handed out by one scan."""

    label: str
    name: str
    active: bool = True


@dataclass(frozen=True, kw_only=True)
class PartsSetLine(Record):
    """One item of a set, and how many of it; none where it is in the set no more."""

    parts_set_id: int
    item_id: int
    quantity: int = 1


@dataclass(frozen=True, kw_only=True)
class HandOutLimit(Record):
    """How many of an item a person gets a week before the counter asks (a house rule); 0 is no limit."""

    item_id: int
    per_week: int


@dataclass(frozen=True, kw_only=True)
class HandOut(Record):
    """Consumables handed to a person who keeps a unit.

    `position` is where it goes on the unit, or ''. `fitted_pieces` of them are confirmed as fitted: only then do the
    hours at the position start anew.
    """

    person_id: int
    item_id: int
    lot_id: int | None = None
    quantity: int
    unit_id: int | None = None
    position: str = ""
    fitted_pieces: int = 0
    fitted_at: datetime | None = None
    found_by_name: bool = False  # no badge was in hand; the attendant confirmed who it is
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class BatterySwap(Record):
    """A pack changed while its unit stays out: `flat_id` came in, `battery_id` went out."""

    custody_id: int
    unit_id: int
    flat_id: int
    battery_id: int
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Carried(Record):
    """Who carried a unit to the person it is assigned to."""

    custody_id: int
    person_id: int
    at: datetime


@dataclass(frozen=True, kw_only=True)
class OwnCheck(Record):
    """The wearer's own check of an assigned unit, before a use. `source` is the check station or the slip's grid."""

    custody_id: int
    unit_id: int
    person_id: int
    flow_good: bool
    alarm_good: bool
    note: str = personal()
    source: str
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class CallIn(Record):
    """A unit is called in: its holder may no longer have it. Closed when it is back, or the reason is gone."""

    custody_id: int
    unit_id: int
    person_id: int
    why: str
    made_at: datetime
    by_id: int
    closed_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Away(Record):
    """A unit that is missing, stolen, sent for repair or lent: since when, where to, due back when.

    It ends by a bench inspection passed here after it is back, or when the unit is scrapped: until then the unit is
    not ready, wherever it lies. One that is lent is in transit until `arrived_at`, when it is scanned there.
    """

    unit_id: int
    kind: AwayKind
    goes_to: str = ""
    detail: str = personal()  # what is wrong with it, or where it was seen last and who says so
    decontaminated: str = personal()  # by whom, how and when: what goes with it
    due_on: date | None = None
    loaner: str = ""  # what was lent to us meanwhile
    loaner_id: int | None = None
    since: datetime
    by_id: int
    arrived_at: datetime | None = None
    arrived_word: str = personal()  # who said so, where it was not scanned
    ended_at: datetime | None = None
    ended_how: str = ""


@dataclass(frozen=True, kw_only=True)
class InformationSheet(Record):
    """The information for voluntary users was given (29 CFR 1910.134, Appendix D)."""

    person_id: int
    given_on: date
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Evidence(Record):
    """An employer's proof of a clearance, as it is on file."""

    clearance_id: int
    person_id: int
    employer: str
    document: str = personal()
    dated_on: date
    seen_on: date
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Notice(Record):
    """Something the program administrator has to see; `offered` is what the worker was offered instead."""

    kind: NoticeKind
    person_id: int | None = None
    unit_id: int | None = None
    inspection_id: int | None = None
    instrument_id: int | None = None
    detail: str = personal()
    offered: str = ""
    at: datetime
    by_id: int
    seen_at: datetime | None = None
    seen_by: int | None = None
    answer: str = personal()


@dataclass(frozen=True, kw_only=True)
class MeterCheck(Record):
    """A flow meter's daily check against a reference blower. `answers` is the run's own compact JSON."""

    instrument_id: int
    reference_lpm: float
    read_lpm: float | None = None
    good: bool
    wording_id: int
    answers: str
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class WasteBag(Record):
    """A bag or drum for used filters of one waste stream."""

    label: str
    stream: str
    area_id: int | None = None
    opened_at: datetime
    by_id: int
    closed_at: datetime | None = None
    drum: str = ""


@dataclass(frozen=True, kw_only=True)
class Waste(Record):
    """One thing put into a waste bag."""

    waste_bag_id: int
    what: str
    quantity: int
    unit_id: int | None = None
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Cabinet(Record):
    """A point-of-use or emergency cabinet. `purpose` is what its units may be used for.

    What was certified before `opened_at`, when its seal was found broken, counts no more.
    """

    label: str
    name: str
    place: str = ""
    purpose: str
    seal: str = ""
    opened_at: datetime | None = None
    active: bool = True


@dataclass(frozen=True, kw_only=True)
class Certification(Record):
    """The monthly certification of a unit kept for emergencies: 29 CFR 1910.134(h)(3)(iv)."""

    cabinet_id: int
    unit_id: int
    inspection_id: int | None = None
    made_on: date
    by_id: int
    findings: str
    action: str
    identity: str
    seal: str
    at: datetime


@dataclass(frozen=True, kw_only=True)
class RackAudit(Record):
    """The rack scanned against the book. `absent` and `surplus` are labels, one a line."""

    place: str
    expected: int
    there: int
    absent: str = ""
    surplus: str = ""
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class ShiftClose(Record):
    """A shift handed over. `page` is what the sheet said, as compact JSON, so that it prints the same again."""

    began_at: datetime
    ended_at: datetime
    by_id: int
    taken_by: int | None = None
    page: str
    note: str = ""


# Stock. Added with schema 3.


@dataclass(frozen=True, kw_only=True)
class Price(Record):
    """What one piece of an item costs at a supplier, from a day on."""

    item_id: int
    supplier_id: int | None = None
    price_cents: int
    from_on: date


@dataclass(frozen=True, kw_only=True)
class Gtin(Record):
    """A trade item number (GS1) on a carton of an item, and how many pieces are in it."""

    item_id: int
    code: str
    pieces: int = 1


@dataclass(frozen=True, kw_only=True)
class OrderRule(Record):
    """How one item is ordered where the house's rule does not do. None means the house's rule."""

    item_id: int
    service_permille: int | None = None
    review_days: int | None = None
    shelf_space: int | None = None


@dataclass(frozen=True, kw_only=True)
class SetAside(Record):
    """Pieces of an item that are on the book and kept for a purpose; an empty one is the bench's tray."""

    item_id: int
    purpose: str = ""
    quantity: int = 0
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class RequisitionStep(Record):
    """One step of a requisition: from when on it is in that state, and who brought it there."""

    requisition_id: int
    state: RequisitionState
    at: datetime
    by_id: int
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class SupplierReturn(Record):
    """Wrong or faulty goods sent back to who delivered them."""

    item_id: int
    lot_id: int
    requisition_line_id: int | None = None
    quantity: int
    why: str
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class Recall(Record):
    """A maker's notice: of a lot, of a unit model, or of a range of its serials."""

    notice: str
    maker: str = ""
    lot_id: int | None = None
    model: str = ""
    serial_from: str = ""
    serial_to: str = ""
    why: str
    at: datetime
    by_id: int
    closed_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class RecallHold(Record):
    """A hold that a recall placed."""

    recall_id: int
    hold_id: int
    unit_id: int


@dataclass(frozen=True, kw_only=True)
class CountSheet(Record):
    """A sheet for a cycle count, printed and worked through."""

    number: int
    at: datetime
    by_id: int
    closed_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class CountSheetLine(Record):
    """One lot on a counting sheet. `counted` is None until it is said."""

    count_sheet_id: int
    item_id: int
    lot_id: int
    booked: int
    counted: int | None = None
    why: str = ""
    counted_at: datetime | None = None


# Protection. Added with schema 4. Concentrations of particles in ng/m3, of gases in ppb, as whole numbers.


@dataclass(frozen=True, kw_only=True)
class Assessment(Record):
    """What the hygienist found of one agent in one area. A later one of the same agent takes its place.

    `substance` is an id of the table of limits, or a name that a site limit has; `form` how it is there.
    `concentration` is the average over 8 h, `short` the highest level over 15 minutes or less. Both None: it is there
    and nobody has a finding, unless samples tell one. `limit` is whose limits it is held against: 'osha', 'niosh', or
    the source of the site's own; '' where nobody has set one.
    """

    area_id: int
    substance: str
    form: str = ""
    basis: AssessmentBasis
    concentration_ng_m3: int | None = None
    concentration_ppb: int | None = None
    limit: str = ""  # which limit it is held against: 'osha', 'niosh', or a site limit
    made_on: date
    made_by: str = personal()
    document: str = ""
    review_on: date | None = None
    withdrawn_on: date | None = None
    by_id: int
    measured_as: str = ""  # what the figures count: Fe or Fe2O3
    short_ng_m3: int | None = None
    short_ppb: int | None = None


@dataclass(frozen=True, kw_only=True)
class Sample(Record):
    """One air sample of an assessment. Not detected: the value is the detection limit.

    Samples of one day and `series` (one wearer, or one place) follow each other and make one average.
    """

    assessment_id: int
    value_ng_m3: int | None = None
    value_ppb: int | None = None
    detected: bool = True
    minutes: int
    taken_on: date
    method: str = ""
    series: str = ""


@dataclass(frozen=True, kw_only=True)
class SiteLimit(Record):
    """A limit the site adds from its own copy of a list, with what it is measured as."""

    substance: str
    form: str = ""
    kind: str  # '8 h', 'short term', 'ceiling', 'idlh'
    limit_ng_m3: int | None = None
    limit_ppb: int | None = None
    measured_as: str = ""
    source: str
    from_on: date


@dataclass(frozen=True, kw_only=True)
class AreaCondition(Record):
    """What holds of an area besides its agents, as the hygienist or the safety office says it. The last one stands."""

    area_id: int
    oxygen_deficient: bool = False
    idlh: bool = False
    confined: bool = False
    explosive: bool = False
    exposed_minutes: int | None = None
    changed: str = ""  # a change of process that asks for a new assessment
    said_on: date
    by_id: int


@dataclass(frozen=True, kw_only=True)
class AreaProcess(Record):
    """A process done in an area, for the shade: operation as in the table of shades, current, electrode, plate."""

    area_id: int
    operation: str
    current_a: int | None = None
    electrode_32nds: int | None = None
    plate_64ths: int | None = None
    active: bool = True


@dataclass(frozen=True, kw_only=True)
class AreaControl(Record):
    """A control in place in an area, by its rank."""

    area_id: int
    control: Control
    what: str
    from_on: date
    ended_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class FactorEvidence(Record):
    """A maker's test evidence for a higher factor of a unit model (29 CFR 1910.134(d)(3)(i)(A), Table 1 note 4)."""

    model: str
    factor: int
    document: str
    dated_on: date
    by_id: int
    withdrawn_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class WorkLimit(Record):
    """A limit on a wearer's work, as a code seen at the counter; the reason is not kept."""

    person_id: int
    code: str
    given_on: date
    ended_on: date | None = None
    by_id: int


@dataclass(frozen=True, kw_only=True)
class SealLook(Record):
    """One look at the face before something tight-fitting goes out: hair at the seal, or anything else under it."""

    person_id: int
    unit_id: int | None = None
    hair: bool = False
    under_seal: bool = False  # eyeglass temples, straps or anything else between face and seal
    at: datetime
    by_id: int


@dataclass(frozen=True, kw_only=True)
class CautionAccepted(Record):
    """A caution accepted for an issue, by somebody whose role it is, with the reason."""

    custody_id: int
    code: str
    subject: str = ""
    why: str = personal()
    by_id: int


@dataclass(frozen=True, kw_only=True)
class ProgramEvaluation(Record):
    """One evaluation of the respirator program (29 CFR 1910.134(l)): what was looked at, found, and done."""

    made_on: date
    what: str
    finding: str
    fix: str = ""
    fixed_on: date | None = None
    by_id: int


RECORDS: tuple[type[Record], ...] = (
    Person,
    Clearance,
    Supplier,
    Bin,
    StockItem,
    Lot,
    Unit,
    Part,
    Fitted,
    Charger,
    ChargerSlot,
    Battery,
    Instrument,
    Calibration,
    Area,
    Wording,
    Inspection,
    Reading,
    Cleaning,
    Slip,
    Custody,
    BatteryRun,
    Hold,
    Movement,
    Requisition,
    RequisitionLine,
    Delivery,
    CycleCount,
    BoundLabel,
    DeadLabel,
    Print,
    SiteSetting,
    PartsSet,
    PartsSetLine,
    HandOutLimit,
    HandOut,
    BatterySwap,
    Carried,
    OwnCheck,
    CallIn,
    Away,
    InformationSheet,
    Evidence,
    Notice,
    MeterCheck,
    WasteBag,
    Waste,
    Cabinet,
    Certification,
    RackAudit,
    ShiftClose,
    Price,
    Gtin,
    OrderRule,
    RequisitionStep,
    SupplierReturn,
    Recall,
    RecallHold,
    CountSheet,
    CountSheetLine,
    Assessment,
    Sample,
    SiteLimit,
    AreaCondition,
    AreaProcess,
    AreaControl,
    FactorEvidence,
    WorkLimit,
    CautionAccepted,
    ProgramEvaluation,
    SealLook,
    SetAside,
)
"""Every kind of record, each after those it points at."""
