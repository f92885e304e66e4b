"""What is known of each thing that can be scanned, as frozen values: the slate holds them, views paint them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from cribdesk.compute.decline import Decline
from cribdesk.crib.change import PartOutlook
from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.label import Kind
from cribdesk.crib.meter import corrected
from cribdesk.crib.model import UnitModel
from cribdesk.crib.reasons import Held
from cribdesk.crib.recheck import Against
from cribdesk.crib.records import (
    Area,
    Battery,
    Bin,
    Cabinet,
    CallIn,
    Custody,
    Fitted,
    Hold,
    Instrument,
    Lot,
    Part,
    PartsSet,
    Person,
    Slip,
    StockItem,
    Unit,
    WasteBag,
)
from cribdesk.crib.run_time import RunTime
from cribdesk.crib.serviceable import Condition, Standing
from cribdesk.desk.cards_carton import CartonCard


@dataclass(frozen=True)
class AirflowTrend:
    """Where a unit's airflow is heading: a sentence; for the plot the readings, the line, its 80 % band."""

    words: str
    found: Decline | None = None
    points: tuple[tuple[float, float], ...] = ()
    line: tuple[tuple[float, float], ...] = ()
    band: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class FlowPoint:
    """One airflow reading for the plot: when, at which meter hours of the unit, how much.

    `error_lpm` is by how much its meter was found to have read too much since; the reading stays as it was entered.
    """

    at: datetime
    at_hours: float
    flow_lpm: float
    limit_lpm: float | None
    error_lpm: float = 0.0

    @property
    def really_lpm(self) -> float:
        """What flowed, by what is known of the meter now."""
        return corrected(self.flow_lpm, self.error_lpm)


@dataclass(frozen=True)
class TimelineRow:
    """One line of a history: `sign` names a drawn sign ('out', 'on hold', ...) or '' for a dot.

    `what`, `who` and `figures` (readings, clocked seconds) are ready words, names filled in; `papers` can be
    printed again.
    """

    seq: int
    at: datetime
    sign: str
    what: str
    who: str
    bold: bool = False
    papers: tuple[tuple[str, str], ...] = ()
    figures: str = ""

    @property
    def detail(self) -> str:
        """Figures and who, as they stand under a row of a history."""
        return ", ".join(part for part in (self.figures, self.who) if part)


@dataclass(frozen=True)
class HoldLine:
    """One open hold with its words, its proof in words, and whether the proof is there."""

    hold: Hold
    words: str
    proof_words: str
    proof: str


@dataclass(frozen=True)
class FittedLine:
    """What sits at a position, with its names."""

    position: str
    name: str
    item: str
    lot: str
    part_label: str
    fitted: Fitted | None


@dataclass(frozen=True)
class UsedCard:
    """What was in the air where a unit was worn last: the bench's first step, and which open bag takes its filter.

    `bag` is that bag's label, or ''; `said` is false where the area has nothing entered.
    """

    area: str
    area_label: str
    words: str
    stream: str
    basis: str
    bag: str = ""
    said: bool = True


@dataclass(frozen=True)
class UnitCard:
    """A unit as it stands. `check` is the procedure kind an issue would run now: hand-over or pre-use."""

    unit: Unit
    model: UnitModel
    standing: Standing
    condition: Condition
    custody: Custody | None
    holder: Person | None
    holder_overdue: bool
    where_words: str
    parts: tuple[PartOutlook, ...]
    next_change: PartOutlook | None
    fitted: tuple[FittedLine, ...]
    holds: tuple[HoldLine, ...]
    flow: tuple[FlowPoint, ...]
    battery: Battery | None
    check: str
    inspected_words: str
    issues: int
    entries: int
    timeline: tuple[TimelineRow, ...]
    before: int | None  # seq to ask the next page of the timeline with
    last_holder: Person | None = None  # who had it, while the rest of that return is not said yet
    used: UsedCard | None = None
    against: tuple[Against, ...] = ()  # why who has it may no longer keep it
    call_in: CallIn | None = None
    area: Area | None = None  # where it went, while it is out
    run_time: RunTime | None = None
    air_trend: AirflowTrend | None = None
    air_words: str = ""  # the last airflow against the minimum, and what it dropped since the filter change

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.unit.label

    @property
    def is_out(self) -> bool:
        """Whether somebody has it, also where it went missing in their hands."""
        return self.custody is not None


@dataclass(frozen=True)
class PersonCard:
    """A person: who, what they hold, what is overdue, clearances; `fit_tests` by model."""

    person: Person
    holds_now: tuple[Held, ...]
    clearances: tuple[ClearanceState, ...]
    fit_tests: tuple[tuple[str, str, date, date | None], ...]  # model, size, made on, good until
    badge_ended: bool
    timeline: tuple[TimelineRow, ...]
    before: int | None
    usual_area: Area | None = None  # where the last unit was taken to
    work_limits: tuple[str, ...] = ()  # in words, without the reason
    to_call_in: tuple[tuple[str, str], ...] = ()  # (unit, reason) of what this person may no longer keep

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.person.label


@dataclass(frozen=True)
class BatteryCard:
    """A battery: where, in which unit or with whom, and its last runs in words."""

    battery: Battery
    where_words: str
    in_use: bool
    runs: tuple[str, ...] = ()
    unit: UnitCard | None = None  # the unit it is out with, of a pack that was scanned
    run_time: RunTime | None = None

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.battery.label


@dataclass(frozen=True)
class ItemCard:
    """A stock item with its lots, first to expire first, and its bin."""

    item: StockItem
    bin: Bin | None
    lots: tuple[Lot, ...]

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.item.label

    @property
    def on_hand(self) -> int:
        """Pieces on the shelf, blocked lots left out."""
        return sum(lot.on_hand for lot in self.lots if not lot.blocked)


@dataclass(frozen=True)
class BinCard:
    """A bin and what lies in it."""

    bin: Bin
    items: tuple[ItemCard, ...]

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.bin.label


@dataclass(frozen=True)
class InstrumentCard:
    """A flow meter and whether it is in use and in calibration; `why` it is not.

    `unchecked`: the site wants it checked every day, and today it was not yet.
    """

    instrument: Instrument
    good: bool
    why: str = ""
    unchecked: bool = False

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.instrument.label


@dataclass(frozen=True)
class AreaCard:
    """An area."""

    area: Area

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.area.label


@dataclass(frozen=True)
class PartCard:
    """A part with a label of its own: which item, hours, and the unit it sits in."""

    part: Part
    item: StockItem
    unit: Unit | None
    worn_hours: float

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.part.label


@dataclass(frozen=True)
class TagCard:
    """A tag: the hold it stands for, and its unit."""

    hold: Hold
    unit: UnitCard

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.hold.tag


@dataclass(frozen=True)
class SlipCard:
    """An issue slip: prepared for whom and which unit; `custody` once it was issued."""

    slip: Slip
    custody: Custody | None
    unit_label: str
    person_name: str

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.slip.label


@dataclass(frozen=True)
class SetCard:
    """A set of parts: its items with how many of each."""

    set: PartsSet
    items: tuple[tuple[ItemCard, int], ...]

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.set.label


@dataclass(frozen=True)
class CabinetCard:
    """A cabinet and the labels of the units in it."""

    cabinet: Cabinet
    units: tuple[str, ...]

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.cabinet.label


@dataclass(frozen=True)
class BagCard:
    """A waste bag, and how many things are in it."""

    bag: WasteBag
    pieces: int

    @property
    def label(self) -> str:
        """Its label, whole."""
        return self.bag.label


@dataclass(frozen=True)
class CommandCard:
    """A printed command: an answer in a check, or a command of the counter."""

    label: str
    command: str


@dataclass(frozen=True)
class NotFound:
    """Nothing that can be used, with the line that says what it is and what to do.

    `foreign` is the text when it could be bound to a record.
    """

    label: str
    sentence: str
    foreign: str = ""
    kind: Kind | None = None


Card = (
    UnitCard
    | PersonCard
    | BatteryCard
    | ItemCard
    | BinCard
    | InstrumentCard
    | AreaCard
    | PartCard
    | TagCard
    | SlipCard
    | SetCard
    | CabinetCard
    | BagCard
    | CartonCard
    | CommandCard
    | NotFound
)
