"""What holds of an area besides its agents: its conditions, what is done there for the shade, the controls in place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import Area, AreaCondition, AreaControl, AreaProcess, Control, Role
from cribdesk.crib.refusal import AlreadyWithdrawn, NothingToSay, WrongFigure
from cribdesk.crib.shade import ShadeRow, ShadeTable, deciding_row
from cribdesk.crib.words import date_words, joined, number
from cribdesk.desk.assessments import assessments_of, has_finding
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Records, Work

DAY_MINUTES = 24 * 60
IN_ONE_INCH = 64
PROCESS_WORDS = {
    "SMAW": "Stick welding (SMAW)",
    "GMAW_FCAW": "Wire welding, solid or cored (GMAW, FCAW)",
    "GTAW": "TIG welding (GTAW)",
    "AIR_CARBON_ARC_CUTTING": "Air carbon arc cutting",
    "PLASMA_ARC_WELDING": "Plasma arc welding",
    "PLASMA_ARC_CUTTING": "Plasma arc cutting",
    "TORCH_BRAZING": "Torch brazing",
    "TORCH_SOLDERING": "Torch soldering",
    "CARBON_ARC_WELDING": "Carbon arc welding",
    "GAS_WELDING": "Gas welding",
    "OXYGEN_CUTTING": "Oxygen cutting",
}
"""Operations of the table of shades as they are said."""


@dataclass(frozen=True, kw_only=True)
class SayAreaCondition(Operation):
    """The atmosphere and the place as the hygienist or the safety office says them; all of it anew, the last stands.

    `exposed_minutes` is how long the air is met in a shift. `changed` tells of a change of process: findings made
    before that day no longer do. A later saying without one takes it not back; a new finding does.
    """

    area_id: int
    said_on: date
    oxygen_deficient: bool = False
    idlh: bool = False
    confined: bool = False
    explosive: bool = False
    exposed_minutes: int | None = None
    changed: str = ""

    code: ClassVar[str] = "say-area-condition"
    words: ClassVar[str] = "Saying what holds of an area"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the earlier ones."""
        area = fetch(work, Area, self.area_id, "This area")
        _past(context, "Said on", self.said_on)
        if self.exposed_minutes is not None and not 0 < self.exposed_minutes <= DAY_MINUTES:
            raise WrongFigure("Exposed time", "it lies above zero and within 24 h")
        last = standing_condition(conditions_of(work, area.id))
        if last is not None and last.said_on > self.said_on:
            why = f"what was said on {date_words(last.said_on)} stands; say all of it anew, of that day or a later one"
            raise WrongFigure("Said on", why)
        if self.changed.strip():
            self._none_of_that_day(work, area)
        work.save(
            AreaCondition(
                area_id=area.id,
                oxygen_deficient=self.oxygen_deficient,
                idlh=self.idlh,
                confined=self.confined,
                explosive=self.explosive,
                exposed_minutes=self.exposed_minutes,
                changed=self.changed.strip(),
                said_on=self.said_on,
                by_id=context.clerk.id,
            )
        )
        return Outcome(f"Area {area.label}: {self._told()}.", (area.label,))

    def _none_of_that_day(self, work: Work, area: Area) -> None:
        """Whether a finding of the day of a change tells of before or after it, nobody can see: it is asked."""
        there = assessments_of(work, area.id)
        if any(has_finding(one) and one.made_on == self.said_on for one in there):
            why = "a finding was made on that day. Withdraw it where it tells of the time before, or say the day before"
            raise WrongFigure("Process changed", why)

    def _told(self) -> str:
        marks = (
            (self.oxygen_deficient, "oxygen-deficient"),
            (self.idlh, "immediately dangerous to life or health"),
            (self.confined, "a confined space"),
            (self.explosive, "a hazardous (explosive) location"),
        )
        said = joined([words for holds, words in marks if holds]) or "no special condition"
        hours = f", exposed {number(self.exposed_minutes)} min a shift" if self.exposed_minutes else ""
        changed = f". Process changed: {self.changed.strip().rstrip('.')}; a new assessment is needed"
        return f"{said}{hours}{changed if self.changed.strip() else ''}"


@dataclass(frozen=True, kw_only=True)
class SayAreaProcess(Operation):
    """Something done in the area that needs a shade: an operation of the table, with what its rows ask for."""

    area_id: int
    operation: str
    current_a: int | None = None
    electrode_32nds: int | None = None
    plate_64ths: int | None = None

    code: ClassVar[str] = "say-area-process"
    words: ClassVar[str] = "Adding a process"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it; figures outside the table are refused, nothing is guessed between rows."""
        area = fetch(work, Area, self.area_id, "This area")
        process = AreaProcess(
            area_id=area.id,
            operation=self.operation,
            current_a=self.current_a,
            electrode_32nds=self.electrode_32nds,
            plate_64ths=self.plate_64ths,
        )
        if self.operation not in context.house.shades.operations:
            raise WrongFigure("Process", "it is not in the table of shades: its maker's instructions decide")
        try:
            shade = shade_of(process, context.house.shades)
        except ValueError as failure:
            raise WrongFigure("Process", _decided(str(failure))) from None
        before = work.find(AreaProcess, area_id=area.id, active=True)
        if any(_what(one) == _what(process) for one in before):
            raise NothingToSay(f"{process_words(process)} is noted of {area.label}")
        work.save(process)
        said = f"{process_words(process)} noted, shade {shade:g} at least"
        return Outcome(f"Area {area.label}: {said}.", (area.label,))


@dataclass(frozen=True, kw_only=True)
class EndAreaProcess(Operation):
    """A process is no longer done there."""

    process_id: int

    code: ClassVar[str] = "end-area-process"
    words: ClassVar[str] = "Ending a process"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Marks it as over."""
        process = fetch(work, AreaProcess, self.process_id, "This process")
        if not process.active:
            raise NothingToSay("This process is over")
        area = work.get(Area, process.area_id)
        work.take(process)
        work.save(replace(process, active=False))
        return Outcome(f"Area {area.label}: {process_words(process)} is no longer done there.", (area.label,))


@dataclass(frozen=True, kw_only=True)
class SayAreaControl(Operation):
    """A control in place there, by its rank; a respirator comes last."""

    area_id: int
    control: Control
    what: str
    from_on: date

    code: ClassVar[str] = "say-area-control"
    words: ClassVar[str] = "Adding a control"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it."""
        area = fetch(work, Area, self.area_id, "This area")
        if not self.what.strip():
            raise WrongFigure("Control", "say what is in place")
        _past(context, "In place from", self.from_on)
        work.save(
            AreaControl(area_id=area.id, control=self.control, what=self.what.strip(), from_on=self.from_on)
        )
        return Outcome(f"Area {area.label}: {self.control.value}, {self.what.strip()}, noted.", (area.label,))


@dataclass(frozen=True, kw_only=True)
class EndAreaControl(Operation):
    """A control is no longer in place."""

    control_id: int
    ended_on: date

    code: ClassVar[str] = "end-area-control"
    words: ClassVar[str] = "Ending a control"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Notes its last day."""
        control = fetch(work, AreaControl, self.control_id, "This control")
        if control.ended_on:
            raise AlreadyWithdrawn("This control", date_words(control.ended_on))
        _past(context, "Ended on", self.ended_on)
        if self.ended_on < control.from_on:
            raise WrongFigure("Ended on", f"it was in place from {date_words(control.from_on)}")
        area = work.get(Area, control.area_id)
        work.take(control)
        work.save(replace(control, ended_on=self.ended_on))
        return Outcome(f"Area {area.label}: {control.what} is no longer in place.", (area.label,))


def _past(context: Context, what: str, on: date) -> None:
    if on > context.house.today(context.moment):
        raise WrongFigure(what, f"{date_words(on)} is still to come")


def _decided(words: str) -> str:
    """What the table says of figures outside it; who decides then."""
    return f"{words}. Outside the table the maker's instructions or a qualified person decide"


def _what(one: AreaProcess) -> tuple[str, int | None, int | None, int | None]:
    return one.operation, one.current_a, one.electrode_32nds, one.plate_64ths


def shade_of(process: AreaProcess, table: ShadeTable) -> float:
    """The least shade of a process by the table. Raises ValueError for what stands outside it."""
    return row_of(process, table).minimum_shade


def row_of(process: AreaProcess, table: ShadeTable) -> ShadeRow:
    """The row of the table that decides a process's shade. Raises ValueError for what stands outside it."""
    plate = None if process.plate_64ths is None else process.plate_64ths / IN_ONE_INCH
    return deciding_row(process.operation, process.current_a, process.electrode_32nds, plate, table=table)


def process_words(one: AreaProcess) -> str:
    """'Stick welding (SMAW), 120 A, 4/32 in electrode'."""
    parts = [PROCESS_WORDS.get(one.operation, one.operation)]
    if one.current_a is not None:
        parts.append(f"{number(one.current_a)} A")
    if one.electrode_32nds is not None:
        parts.append(f"{one.electrode_32nds}/32 in electrode")
    if one.plate_64ths is not None:
        parts.append(f"plate {one.plate_64ths / IN_ONE_INCH:g} in")
    return ", ".join(parts)


def standing_condition(conditions: Iterable[AreaCondition]) -> AreaCondition | None:
    """What was said last of an area, or None."""
    return max(conditions, key=lambda one: one.id, default=None)


def last_change(conditions: Iterable[AreaCondition]) -> AreaCondition | None:
    """The last saying that told of a change of process: findings made before its day no longer do."""
    told = [one for one in conditions if one.changed]
    return max(told, key=lambda one: (one.said_on, one.id), default=None)


def conditions_of(records: Records, area_id: int) -> list[AreaCondition]:
    """Everything said of an area, oldest first; one query."""
    return records.find(AreaCondition, area_id=area_id)
