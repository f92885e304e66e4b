"""What lies on the counter now, the events that change it, and the requests that come of them.

Longer than 400 lines: it is the whole of what router and app say to each other, as values, in one place.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime

from cribdesk.crib.acceptance import Accepted
from cribdesk.crib.air import USUAL_KG_M3
from cribdesk.crib.model import HoldReason
from cribdesk.crib.reasons import Facts
from cribdesk.crib.records import RunEnd
from cribdesk.crib.refusal import NotAllowed, Reason
from cribdesk.desk.air import AirNow
from cribdesk.desk.cards import AreaCard, BatteryCard, Card, InstrumentCard, PersonCard, SlipCard, UnitCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.facts import IssueIds
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt
from cribdesk.procedure.run import Answer, Run


@dataclass(frozen=True)
class Clerk:
    """Who is signed on at this counter."""

    person_id: int
    label: str
    name: str
    roles: str


@dataclass(frozen=True)
class Line:
    """What the scan line says: `level` is taken, caution, refused or quiet; `label` what was scanned last."""

    level: str
    words: str
    label: str = ""
    at: datetime | None = None


@dataclass(frozen=True)
class Check:
    """A run on the counter. `purpose` is issue, bench, cleaning, return-look; `unit_ids` a tray for cleaning.

    Of purpose meter it is a flow meter's daily check: `instrument_id` is the meter, and there is no unit.
    `held` says that 'inspection not finished' was written already; `ask` is what a remedy waits for.
    `last_at` is the moment of the last answer: after ten idle minutes the run is not resumed.
    """

    purpose: str
    kind: str
    run: Run
    unit_ids: tuple[int, ...]
    labels: tuple[str, ...]
    instrument_label: str = ""
    instrument_words: str = ""
    instrument_id: int = 0
    uncertainty_lpm: float | None = None  # of the flow meter
    calibration_kg_m3: float = USUAL_KG_M3  # the air its scale holds in
    cautions: tuple[str, ...] = ()
    held: bool = False
    ask: str = ""
    step_began: datetime | None = None
    last_at: datetime | None = None


@dataclass(frozen=True)
class ReturnForm:
    """The rest of a return: proposed hours are the clock's. None means not said yet."""

    custody_id: int
    unit_id: int
    unit_label: str
    holder: str
    worn_hours: float | None
    proposed_words: str
    speeds: tuple[str, ...]
    speed: str = ""
    alarms: str = ""
    battery_label: str = ""
    battery_end: RunEnd | None = None
    bars_left: int | None = None
    battery_back: bool | None = None
    damage: str = ""
    any_fault: bool = False  # said that there is one; which comes next
    fault: str = ""  # code of a hold reason
    brought_by: int | None = None
    brought_by_name: str = ""
    reasons: tuple[HoldReason, ...] = ()
    returned: bool = False  # already taken back by a scan; now being completed
    next_after: bool = False  # when it is complete, the next return to complete comes up
    trouble: str = ""


@dataclass(frozen=True)
class HoldForm:
    """A hold being placed."""

    unit_id: int
    unit_label: str
    reasons: tuple[HoldReason, ...]
    reason: str = ""
    detail: str = ""
    trouble: str = ""


@dataclass(frozen=True)
class Choice:
    """One part that may be fitted: an item's lot, or a labelled part."""

    item_id: int
    lot_id: int | None
    part_id: int | None
    words: str
    on_hand: int


@dataclass(frozen=True)
class ChangeForm:
    """A part being changed: first the position, then what goes in. `for_check` when a remedy asked for it."""

    unit_id: int
    unit_label: str
    positions: tuple[tuple[str, str], ...]  # code, name
    position: str = ""
    choices: tuple[Choice, ...] = ()
    chosen: int | None = None
    why: str = ""
    for_check: bool = False
    trouble: str = ""


@dataclass(frozen=True)
class ReleaseForm:
    """A hold that ends by the program administrator's word."""

    hold_id: int
    unit_label: str
    words: str
    word: str = ""
    trouble: str = ""


@dataclass(frozen=True)
class AreaForm:
    """Another area, another time: what can be chosen, and what is."""

    areas: tuple[AreaCard, ...] = ()
    times: tuple[tuple[str, str], ...] = ()  # ISO moment, words
    area: str = ""  # label
    due: str = ""  # ISO moment
    trouble: str = ""


@dataclass(frozen=True)
class BindForm:
    """A foreign text that will be bound to the record scanned next."""

    text: str
    trouble: str = ""


@dataclass(frozen=True)
class AskLine:
    """One thing scanned into a form, and how many of it. `level` marks one that is short or questionable."""

    key: str
    label: str
    words: str
    number: int = 1
    note: str = ""
    level: str = ""  # '', 'caution', 'stop'


@dataclass(frozen=True)
class AskForm:
    """The form of a matter: fields with what stands in them, and lines scanned into it; no rule.

    `ids` are the records it is about, by name. `turn` grows with each change, so that what the store answers for an
    older one is dropped. `counted` says that a line's number can be changed by hand. `extra` is the matter's own.
    `bad` is what 'Not good' (F8) fills in: the field, its value, and the words of the button that then ends it.
    """

    matter: str
    title: str
    label: str = ""
    lead: str = ""
    fields: tuple[EntryField, ...] = ()
    values: tuple[tuple[str, str], ...] = ()
    lines: tuple[AskLine, ...] = ()
    lines_none: str = ""
    counted: bool = False
    cautions: tuple[str, ...] = ()
    go: str = "Done"
    bad: tuple[str, str, str] | None = None
    cost: str = ""
    ids: tuple[tuple[str, int], ...] = ()
    extra: tuple[tuple[str, str], ...] = ()
    trouble: str = ""
    turn: int = 0

    def value(self, name: str) -> str:
        """What stands in a field, or what stood in it at first."""
        found = dict(self.values)
        return found.get(name, next((one.value for one in self.fields if one.name == name), ""))

    def id(self, name: str) -> int:
        """The id of a record it is about; 0 where it is about none such."""
        return dict(self.ids).get(name, 0)

    def shown(self) -> tuple[EntryField, ...]:
        """The fields that are asked for while the form stands so."""
        return tuple(one for one in self.fields if one.only is None or self.value(one.only[0]) in one.only[1:])


@dataclass(frozen=True)
class MoreForm:
    """What else can be done with what lies here: (command, words, why not yet)."""

    choices: tuple[tuple[str, str, str], ...]
    trouble: str = ""


Form = ReturnForm | HoldForm | ChangeForm | ReleaseForm | AreaForm | BindForm | AskForm | MoreForm


@dataclass(frozen=True)
class Pending:
    """An operation under way: its id stays until its answer is back."""

    operation_id: str
    words: str
    after: str = ""  # what the router does with the answer
    clerk: Clerk | None = None  # who signs on by it
    battery: BatteryCard | None = None  # the pack that goes along once it is done
    form: AskForm | None = None  # the matter's form it was made of


@dataclass(frozen=True)
class UsedPart:
    """A filter that was just changed in a unit: what it is, its stream, and the open bag it goes into ('': none)."""

    unit_id: int
    unit_label: str
    what: str
    stream: str
    bag: str = ""

    @property
    def words(self) -> str:
        """Where it goes, to be said."""
        if not self.bag:
            return f"Used filter: no bag is open for '{self.stream}'. Open one under More."
        return f"Used filter: into bag {self.bag}, scan it."


@dataclass(frozen=True)
class Slate:
    """The counter. `mode` is 'counter', 'returns', 'pre-stage' or 'sign-on'."""

    clerk: Clerk | None = None
    mode: str = "counter"
    person: PersonCard | None = None
    unit: UnitCard | None = None
    battery: BatteryCard | None = None
    area: AreaCard | None = None
    due_at: datetime | None = None
    assigned: bool = False  # it goes out with no time of return
    carrier: bool = False  # somebody else acknowledges, and carries it to its wearer
    facts: Facts | None = None
    reasons: tuple[Reason, ...] = ()
    check: Check | None = None
    passed: Check | None = None  # the finished check that waits for the wearer
    slip: SlipCard | None = None  # a slip prepared to be signed
    slip_label: str = ""
    meter: InstrumentCard | None = None  # the flow meter used last at this counter
    air: AirNow | None = None  # the air at it, as entered last
    foreign: str = ""  # an unknown text that can be bound
    form: Form | None = None
    tray: tuple[UnitCard, ...] = ()
    used: UsedPart | None = None
    pending: Pending | None = None
    waiting: tuple[Scanned, ...] = ()
    line: Line = field(default_factory=lambda: Line("quiet", "Scan a badge or a unit to begin"))
    done: tuple[str, ...] = ()  # sentences of what this slate did, newest last
    named: PersonCard | None = None  # found by name, and not confirmed yet
    accepted: tuple[Accepted, ...] = ()  # cautions that somebody accepted by name for what lies here
    by_name: int = 0  # the id of the person whom the clerk confirmed, no badge being in hand

    @property
    def empty(self) -> bool:
        """Nothing on the counter."""
        return not (self.person or self.unit or self.battery or self.area or self.check or self.form or self.tray)

    @property
    def theirs(self) -> bool:
        """Whether the unit here is out with the very person whose badge lies beside it: no issue is weighed then."""
        custody = self.unit.custody if self.unit else None
        return custody is not None and self.person is not None and custody.person_id == self.person.person.id

    def ids(self) -> IssueIds | None:
        """What to weigh, when a unit is there."""
        if self.unit is None:
            return None
        return IssueIds(
            unit_id=self.unit.unit.id,
            person_id=self.person.person.id if self.person else None,
            battery_id=self.battery.battery.id if self.battery else None,
            area_id=self.area.area.id if self.area else None,
            due_at=self.due_at,
            assigned=self.assigned,
        )

    def cleared(self) -> Slate:
        """The same counter with nothing on it."""
        bare = Slate(clerk=self.clerk, mode=self.mode, meter=self.meter, air=self.air)
        return replace(bare, waiting=self.waiting, line=self.line, pending=self.pending)


# Events. `token` is a fresh UUID made when the person confirms; the router has no chance of its own.


@dataclass(frozen=True)
class Scanned:
    """A label was scanned or typed, and looked up; or, `by_name`, found by a search."""

    moment: datetime
    text: str
    card: Card
    token: str = ""
    by_name: bool = False


@dataclass(frozen=True)
class Chosen:
    """A command was chosen, by key, touch, menu or printed code; `value` for those that take one."""

    moment: datetime
    command: str
    value: str = ""
    token: str = ""


@dataclass(frozen=True)
class Filled:
    """A field of the open form was filled; an empty value empties it."""

    moment: datetime
    name: str
    value: str


@dataclass(frozen=True)
class Answered:
    """An answer to the page of the check. `elapsed_s` since the page came up, by the workstation's own clock."""

    moment: datetime
    answer: Answer
    elapsed_s: float
    token: str = ""


@dataclass(frozen=True)
class Ticked:
    """Time went by (every few seconds, and when a timed step's window closed)."""

    moment: datetime
    token: str = ""


@dataclass(frozen=True)
class Done:
    """An operation came back: with a receipt, as not allowed, or with a fault's plain words."""

    moment: datetime
    operation_id: str
    result: Receipt | NotAllowed | str
    token: str = ""


@dataclass(frozen=True)
class Looked:
    """Cards were looked up again, and the facts weighed."""

    moment: datetime
    unit: UnitCard | None = None
    person: PersonCard | None = None
    battery: BatteryCard | None = None
    facts: Facts | None = None


@dataclass(frozen=True)
class Offered:
    """What may be fitted at the position the change form names."""

    moment: datetime
    position: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class AreasOffered:
    """The areas of the site."""

    moment: datetime
    areas: tuple[AreaCard, ...]


@dataclass(frozen=True)
class Inquired:
    """The store filled in what only it knows of a matter's form."""

    moment: datetime
    form: AskForm


@dataclass(frozen=True)
class Gathered:
    """Units were put on a tray, to be cleaned together."""

    moment: datetime
    cards: tuple[UnitCard, ...]


@dataclass(frozen=True)
class Changed:
    """Topics changed, here or at another counter."""

    moment: datetime
    topics: frozenset[str]


Event = (
    Scanned
    | Chosen
    | Filled
    | Answered
    | Ticked
    | Done
    | Looked
    | Offered
    | AreasOffered
    | Inquired
    | Gathered
    | Changed
)


# Requests, carried out by app.


@dataclass(frozen=True)
class Weigh:
    """Look the slate's cards up again and weigh the issue; answered by Looked."""

    unit_id: int | None
    person_id: int | None
    battery_id: int | None
    ids: IssueIds | None


@dataclass(frozen=True)
class Do:
    """Carry out an operation as that clerk; answered by Done."""

    operation: Operation
    clerk_id: int | None


@dataclass(frozen=True)
class Offer:
    """Look up what may be fitted at a position; answered by Offered."""

    unit_id: int
    position: str


@dataclass(frozen=True)
class OfferAreas:
    """Look up the areas of the site; answered by AreasOffered."""


@dataclass(frozen=True)
class Inquire:
    """Let the store fill in a matter's form; answered by Inquired."""

    form: AskForm


@dataclass(frozen=True)
class OpenEntry:
    """Open a form for records, about what carries that label."""

    form: str
    about: str = ""


@dataclass(frozen=True)
class BringNext:
    """Lay the next thing that waits on the counter and do this with it; where none waits, say so."""

    command: str


@dataclass(frozen=True)
class PrintPaper:
    """Print a paper of a record."""

    paper: str
    of: str


@dataclass(frozen=True)
class Say:
    """Say it: taken, caution or refused (with its sound)."""

    level: str
    words: str


@dataclass(frozen=True)
class Show:
    """Open a place on a record: ('unit', label), ('person', label), ('bench', ''), ('units', filter)."""

    place: str
    label: str = ""


Request = Weigh | Do | Offer | OfferAreas | Inquire | OpenEntry | BringNext | PrintPaper | Say | Show
