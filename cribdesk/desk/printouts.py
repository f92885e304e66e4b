"""The frozen records that papers print: plain values, whole labels, moments already in local time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


@dataclass(frozen=True)
class OutOfServiceTag:
    """The tag that hangs on a unit nobody may use.

    `tag`, `unit`: whole labels. `why`: the hold's reason in plain words, of any length. `found_by`: a name,
    with the counter where it helps. `found_at`: aware, local. `where`: where the unit is, as people say it.
    `releases`: who ends the hold, as a whole sentence.
    """

    tag: str
    unit: str
    unit_model: str
    why: str
    found_by: str
    found_at: datetime
    where: str
    releases: str = "Only the bench releases it."


@dataclass(frozen=True)
class SlipReading:
    """One row of the inspection on a slip: what, the value with its unit, the limit in words, a note.

    `good` None: not a verdict, only told (no sign is drawn).
    """

    what: str
    value: str
    limit: str = ""
    note: str = ""
    good: bool | None = True


@dataclass(frozen=True)
class SlipCaution:
    """A caution that went along with an issue: what it says, and who accepted it with what words."""

    what: str
    accepted: str


@dataclass(frozen=True)
class OwnCheck:
    """One line of the wearer's own part: the occasion ('Before each use') and what to do then."""

    when: str
    do: str


@dataclass(frozen=True)
class IssueSlip:
    """The paper that goes along with an issued unit.

    `slip`, `wearer`, `unit`, `battery`: whole labels (`battery` '' where the model takes none).
    `wearer_about`: trade and crew. `due_back`: None where a unit is assigned without a date. `exposure`: what
    is known of the area's exposure. `inspected`: the heading over the readings ('Inspected at the bench,
    today 05:40'); `handed_over`: 'checked at hand-over 06:18' or ''. `own_part`: the wearer's checks and
    limits of use, from the unit model. `declaration`: the sentence that is signed. `inspect_by`: the last day before
    an assigned unit's next bench inspection; `own_checks`: so many rows the grid for the wearer's own checks has.
    `carrier`, `carrier_name`: who carries it to the wearer, '' where the wearer came.
    """

    slip: str
    issued_at: datetime
    counter: str
    clerk: str
    wearer: str
    wearer_name: str
    wearer_about: str
    due_back: datetime | None
    unit: str
    unit_model: str
    battery: str
    battery_about: str
    area: str
    exposure: str = ""
    inspected: str = ""
    handed_over: str = ""
    readings: tuple[SlipReading, ...] = ()
    cautions: tuple[SlipCaution, ...] = ()
    own_part: tuple[OwnCheck, ...] = ()
    declaration: str = "I have the unit, it fits me, and I know the above."
    inspect_by: date | None = None
    own_checks: int = 0
    carrier: str = ""
    carrier_name: str = ""


class CallInCause(StrEnum):
    """Why a unit that is out is called in."""

    HOLD = "hold"
    OVERDUE = "overdue"
    RECHECK = "recheck"


STEPS_ON_HOLD = (
    "Leave the fume first. Then take the unit off.",
    "Bring unit, battery and this slip to the counter.",
    "Do not mend it. Do not pass it on.",
    "If your work needs protection, do not go on without: the counter looks for another unit.",
)
STEPS_RECHECK = (
    "Tell the wearer: leave the fume first, then take the unit off.",
    "Bring unit, battery and this slip to the counter. Do not pass it on.",
    "What is missing is seen to there. Until then the wearer does not go on without protection.",
)
STEPS_OVERDUE = (
    "Bring unit, battery and this slip to the counter.",
    "If the unit is lost or with somebody else, say so there.",
    "If you need it longer, the counter can agree a new time after a check.",
)


@dataclass(frozen=True)
class CallInSlip:
    """The paper that calls in a unit that is out: on hold there, overdue, or no longer allowed to its wearer.

    `unit`, `holder`: whole labels; `tag`: the hold's tag, `slip`: the slip it went out with, '' where there
    is none. `why`: the reason in plain words. `since`: when the hold was set or the unit fell due.
    `found_by`: who says so. `printed_at`: now. `steps`: what to do, in order. `to`: whom it is for, where not for
    the wearer.
    """

    cause: CallInCause
    unit: str
    unit_model: str
    holder: str
    holder_name: str
    holder_about: str
    area: str
    why: str
    since: datetime
    found_by: str
    printed_at: datetime
    counter: str
    tag: str = ""
    slip: str = ""
    steps: tuple[str, ...] = STEPS_ON_HOLD
    to: str = ""


@dataclass(frozen=True)
class PrintedLabel:
    """One label to stick on: the whole label, a name in bold and a short description, each may be ''."""

    label: str
    name: str = ""
    detail: str = ""


@dataclass(frozen=True)
class LabelSheet:
    """Labels in the order they are printed; `first` is the place on the sheet, from 1, that is still free."""

    labels: tuple[PrintedLabel, ...]
    first: int = 1


@dataclass(frozen=True)
class CardCode:
    """One code of the answer card: its whole label, the word it stands for, a hint, the key that does it."""

    code: str
    word: str
    hint: str = ""
    key: str = ""


@dataclass(frozen=True)
class AnswerCard:
    """The card that lies on the counter: the five answers large, then the commands."""

    answers: tuple[CardCode, ...]
    commands: tuple[CardCode, ...] = ()


class RecordVerdict(StrEnum):
    """How an inspection ended."""

    PASS = "pass"
    FAIL = "fail"
    BROKEN_OFF = "broken off"


@dataclass(frozen=True)
class RecordedAnswer:
    """One answer as it was given, with the wording and limit of that time.

    `step`: its number as shown. `limit`: in words, '' where there is none. `good`: None where the answer was
    no verdict. `replaced`: a later answer or a retest took its place. `remark`: what was done about it.
    """

    step: str
    question: str
    limit: str
    answer: str
    by: str
    at: datetime
    instrument: str = ""
    good: bool | None = None
    replaced: bool = False
    remark: str = ""


@dataclass(frozen=True)
class InspectionRecord:
    """A run through a procedure, every answer of it.

    `unit`: whole label. `procedure`: its title; `edition`: the wording it was asked with, in words.
    `ended_at`: None where the run was never ended. `why`: the fault, or why it was broken off, else ''.
    """

    unit: str
    unit_model: str
    procedure: str
    edition: str
    started_at: datetime
    ended_at: datetime | None
    verdict: RecordVerdict
    by: str
    counter: str
    why: str = ""
    instruments: tuple[str, ...] = ()
    answers: tuple[RecordedAnswer, ...] = ()
