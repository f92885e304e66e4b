"""The wearer's own check of an assigned unit before each use: at a check station, or from the grid of its slip."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import ClassVar

from cribdesk.crib.hold import OTHER, reason_of
from cribdesk.crib.model import HoldReason, UnitModel
from cribdesk.crib.records import Custody, Hold, OwnCheck, Person, Unit
from cribdesk.crib.refusal import AlreadyOnFile, IsCalledIn, NotAssigned, WrongBadge, WrongFigure
from cribdesk.crib.words import day, in_sentence, joined
from cribdesk.desk.call_in import note_call_in
from cribdesk.desk.hold import is_out
from cribdesk.desk.inspection import fetch_unit, hold_anew
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.saying import name_of
from cribdesk.desk.still_out import against_use

STATION, SLIP = "check station", "slip"
"""Where an own check was recorded."""
AIR, ALARM = "airflow", "alarm"
"""Codes of the hold reasons for the two things the wearer checks; a model without one is held for another fault."""


@dataclass(frozen=True, kw_only=True)
class CheckOwn(Operation):
    """The wearer checked the unit assigned to them before a use. `fault` is what else they found not good."""

    unit_id: int
    person_id: int
    flow_good: bool = True
    alarm_good: bool = True
    fault: str = ""

    code: ClassVar[str] = "own-check"
    words: ClassVar[str] = "Recording an own check"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it. Not good holds the unit at once; a good one of a unit that may not be used is not allowed."""
        unit = fetch_unit(work, self.unit_id)
        person = fetch(work, Person, self.person_id, "This person")
        custody = work.first(Custody, unit_id=unit.id, returned_at=None)
        if custody is None or not custody.assigned:
            raise NotAssigned(unit.label, "out until a time" if custody else "not out")
        if custody.person_id != person.id:
            holder = fetch(work, Person, custody.person_id, "The wearer")
            raise WrongBadge(name_of(person), name_of(holder))
        good = self.flow_good and self.alarm_good and not self.fault.strip()
        against = against_use(work, context.house, unit, custody, context.moment)
        if good and against:
            raise IsCalledIn(unit.label, against)
        _keep(work, context, custody, context.moment, self.flow_good, self.alarm_good, self.fault.strip(), STATION)
        if good:
            said = f"{unit.label}: own check of {person.label} good."
            return Outcome(said, (unit.label, person.label))
        holds = _hold(work, context, unit, self.flow_good, self.alarm_good, self.fault.strip())
        return _not_good(unit, person, holds, self.flow_good, self.alarm_good, self.fault.strip())


@dataclass(frozen=True, kw_only=True)
class EnterOwnChecks(Operation):
    """The grid of a slip is entered: the days that were ticked, and one that was not good."""

    custody_id: int
    good_days: tuple[date, ...] = ()
    bad_day: date | None = None
    flow_good: bool = True
    alarm_good: bool = True
    fault: str = ""

    code: ClassVar[str] = "own-checks"
    words: ClassVar[str] = "Entering own checks"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps a check for each day; a day is entered once. A day not good holds the unit, wherever it is."""
        custody = fetch(work, Custody, self.custody_id, "This custody")
        work.take(custody)
        unit, person = fetch_unit(work, custody.unit_id), fetch(work, Person, custody.person_id, "The wearer")
        if not custody.assigned:
            raise NotAssigned(unit.label, "not assigned in it")
        fault = self.fault.strip()
        bad = not (self.flow_good and self.alarm_good and not fault)
        if bad != (self.bad_day is not None):
            raise WrongFigure("Own check", "a day that was not good says what was not, and which day it was")
        days = sorted({*self.good_days, *((self.bad_day,) if self.bad_day else ())})
        if not days or len(self.good_days) + bad != len(days):
            raise WrongFigure("Own checks", "name each day once, and at least one")
        self._check_days(work, context, custody, days)
        for on in days:
            at = _at(context, custody, on)
            if on == self.bad_day:
                _keep(work, context, custody, at, self.flow_good, self.alarm_good, fault, SLIP)
            else:
                _keep(work, context, custody, at, True, True, "", SLIP)
        if not bad:
            said = f"{unit.label}: {len(days)} own checks of {person.label} entered from the slip."
            return Outcome(said.replace("1 own checks", "1 own check"), (unit.label, person.label))
        holds = _hold(work, context, unit, self.flow_good, self.alarm_good, fault)
        return _not_good(unit, person, holds, self.flow_good, self.alarm_good, fault)

    def _check_days(self, work: Work, context: Context, custody: Custody, days: list[date]) -> None:
        today, issued = context.house.today(context.moment), context.house.today(custody.issued_at)
        back = context.house.today(custody.returned_at) if custody.returned_at else today
        entered = {
            context.house.today(one.at) for one in work.find(OwnCheck, custody_id=custody.id, source=SLIP)
        }
        for on in days:
            if not issued <= on <= min(today, back):
                raise WrongFigure("Own check", f"{day(on, today)}: it was not assigned then")
            if on in entered:
                raise AlreadyOnFile(f"The own check of {day(on, today)}")


def _at(context: Context, custody: Custody, on: date) -> datetime:
    """A moment of that day inside the custody: the grid has no time of day."""
    noon = datetime.combine(on, time(12), context.house.zone).astimezone(context.moment.tzinfo)
    latest = min(context.moment, custody.returned_at or context.moment)
    return max(custody.issued_at, min(noon, latest))


def _keep(
    work: Work, context: Context, custody: Custody, at: datetime, flow: bool, alarm: bool, note: str, source: str
) -> None:
    work.save(
        OwnCheck(
            custody_id=custody.id,
            unit_id=custody.unit_id,
            person_id=custody.person_id,
            flow_good=flow,
            alarm_good=alarm,
            note=note,
            source=source,
            at=at,
            by_id=context.clerk.id,
        )
    )


def _hold(work: Work, context: Context, unit: Unit, flow: bool, alarm: bool, fault: str) -> list[Hold]:
    """A hold for each thing that was not good."""
    model = context.house.model_of(unit)
    found: dict[str, list[str]] = {}
    for good, wanted, words in ((flow, AIR, "air"), (alarm, ALARM, "alarm"), (not fault, OTHER.code, fault)):
        if not good:
            found.setdefault(_reason(model, wanted).code, []).append(words)
    holds = []
    for code, what in found.items():
        reason = reason_of(model, code)
        detail = "own check not good" if code != OTHER.code else f"own check: {joined(what)}"
        hold = hold_anew(work, context, unit, reason, detail)
        if is_out(unit):
            note_call_in(work, context, unit, f"on hold: {in_sentence(reason.words)}, {detail}")
        holds.append(hold)
    return holds


def _reason(model: UnitModel, code: str) -> HoldReason:
    try:
        return reason_of(model, code)
    except LookupError:
        return OTHER


def _not_good(unit: Unit, person: Person, holds: list[Hold], flow: bool, alarm: bool, fault: str) -> Outcome:
    what = joined([words for good, words in ((flow, "air"), (alarm, "alarm"), (not fault, fault)) if not good])
    tags = joined([hold.tag for hold in holds])
    paper = "call_in_slip" if is_out(unit) else "tag"
    sentence = f"Do not use {unit.label}: {what} not good in the own check of {person.label}. On hold, tag {tags}."
    papers = tuple((paper, hold.tag) for hold in holds)
    return Outcome(sentence, (unit.label, person.label, *(hold.tag for hold in holds)), papers)
