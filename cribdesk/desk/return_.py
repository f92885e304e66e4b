"""Taking a unit back: by a scan alone for the queue, and the rest of it now or later."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Custody,
    Fitted,
    Hold,
    Part,
    Person,
    RunEnd,
    Unit,
    Where,
)
from cribdesk.crib.refusal import NotOut, WrongFigure
from cribdesk.crib.words import hours, number
from cribdesk.desk.call_in import close_call_in, note_call_in
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.hold import chosen_reason, is_out
from cribdesk.desk.inspection import fetch_unit, hold_anew, not_before
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import FILLED, Work
from cribdesk.desk.swap import save_run_of, settle_runs

RETURNS_SHELF = "returns shelf"
LONGEST_HOURS = 24 * 92.0


def proposed_hours(custody: Custody, context: Context) -> float | None:
    """Hours worn by the clock and the shift: the time out, at most a usual day's for each day.

    None where the clock cannot tell, as after it was set back: then the hours are asked.
    """
    if context.moment <= custody.issued_at:
        return None
    return round(planned_hours(context.house, custody.issued_at, context.moment), 1)


@dataclass(frozen=True, kw_only=True)
class TakeBack(Operation):
    """A unit comes back by a scan alone: returned, not checked. The rest is asked later."""

    unit_id: int

    code: ClassVar[str] = "return"
    words: ClassVar[str] = "Taking a unit back"

    def run(self, work: Work, context: Context) -> Outcome:
        """Ends the custody; the hours proposed by the clock count until they are said."""
        unit, custody = _open_custody(work, self.unit_id)
        worn = proposed_hours(custody, context)
        close_call_in(work, custody, context.moment)
        work.save(
            replace(
                custody,
                returned_at=not_before(work, unit, max(context.moment, custody.issued_at)),
                received_by=context.clerk.id,
                worn_hours=worn,
            )
        )
        unit = work.save(
            replace(
                unit, where=Where.BENCH, place=RETURNS_SHELF, worn_hours=unit.worn_hours + (worn or 0.0)
            )
        )
        _keep_within(work, unit, custody, unit.worn_hours)
        holder = fetch(work, Person, custody.person_id, "The wearer")
        tags = tuple(
            ("tag", hold.tag) for hold in work.find(Hold, unit_id=unit.id, released_at=None)
        )  # a hold placed while it was out had no unit in hand to hang its tag on
        sentence = f"{unit.label} back from {holder.label}, not checked yet."
        return Outcome(sentence, (unit.label, holder.label), tags)


@dataclass(frozen=True, kw_only=True)
class CompleteReturn(Operation):
    """The rest of a return: hours, speed, alarms, battery, damage, who brought it."""

    custody_id: int
    worn_hours: float
    brought_by: int | None = None
    speed: str = ""
    alarms: str = ""
    battery_back: bool | None = None
    battery_end: RunEnd | None = None
    bars_left: int | None = None
    damage: str = ""
    fault: str = ""

    code: ClassVar[str] = "complete-return"
    words: ClassVar[str] = "Completing a return"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it all; other hours than proposed move the unit's meter, a fault holds the unit at once."""
        custody = fetch(work, Custody, self.custody_id, "This return")
        unit = fetch_unit(work, custody.unit_id)
        if custody.returned_at is None:
            raise NotOut(unit.label, "it was not taken back yet")
        if custody.completed_at is not None:
            raise NotOut(unit.label, "this return is complete already")
        self._check(custody, context)
        model = context.house.model_of(unit)
        changed = replace(
            custody,
            worn_hours=self.worn_hours,
            completed_at=context.moment,
            brought_by=self.brought_by or custody.person_id,
            speed=self.speed,
            alarms=self.alarms,
            battery_back=self.battery_back if custody.battery_id else None,
            battery_end=self.battery_end,
            bars_left=self.bars_left,
            damage=self.damage,
        )
        work.save(changed)
        unit = _set_hours(work, unit, custody, self.worn_hours)
        if custody.battery_id:
            self._battery(work, context, unit, changed)
        return self._outcome(work, context, unit, model, changed)

    def _check(self, custody: Custody, context: Context) -> None:
        most = LONGEST_HOURS
        assert custody.returned_at is not None
        out = (custody.returned_at - custody.issued_at).total_seconds() / 3600
        if not 0 <= self.worn_hours <= most:
            raise WrongFigure("Hours worn", f"between 0 and {number(most)}")
        if out > 0 and self.worn_hours > out + 0.25:
            raise WrongFigure("Hours worn", f"it was out for {hours(out)} in all")
        if self.bars_left is not None and not 0 <= self.bars_left <= 10:
            raise WrongFigure("Bars left", "between 0 and 10")

    def _battery(self, work: Work, context: Context, unit: Unit, custody: Custody) -> None:
        assert custody.battery_id is not None
        battery = fetch(work, Battery, custody.battery_id, "The battery")
        work.take(battery)
        out_again = work.first(Custody, battery_id=battery.id, returned_at=None) is not None
        if battery.unit_id == unit.id and not out_again:
            place = BatteryPlace.MISSING if self.battery_back is False else BatteryPlace.SHELF
            note = f"not with {unit.label} at its return" if place is BatteryPlace.MISSING else battery.note
            battery = work.save(
                replace(battery, place=place, unit_id=None, slot_id=None, charged_at=None, note=note)
            )
        worn = settle_runs(work, context, custody, self.worn_hours)
        if self.battery_back is False or self.battery_end is None or worn is None:
            return
        save_run_of(
            work, context.house, unit, custody, battery, worn, self.battery_end, context.moment,
            speed=self.speed, bars_left=self.bars_left, meter_hours=unit.worn_hours,
        )  # fmt: skip

    def _outcome(
        self, work: Work, context: Context, unit: Unit, model: UnitModel, custody: Custody
    ) -> Outcome:
        holder = fetch(work, Person, custody.person_id, "The wearer")
        words = [f"{unit.label} from {holder.label}: {hours(self.worn_hours)} worn"]
        papers: tuple[tuple[str, str], ...] = ()
        subjects = [unit.label, holder.label]
        if custody.battery_id and self.battery_back is False:
            words.append("its battery did not come back")
        if self.fault:
            reason, detail = chosen_reason(work, unit, model, self.fault, self.damage)
            hold = hold_anew(work, context, unit, reason, detail)
            if is_out(unit):
                note_call_in(work, context, unit, f"on hold: {reason.words.lower()}")
            words.append(f"on hold, {reason.words.lower()}")
            paper = "call_in_slip" if is_out(unit) else "tag"
            papers, subjects = ((paper, hold.tag),), [*subjects, hold.tag]
        return Outcome(f"{', '.join(words)}.", tuple(subjects), papers)


def _open_custody(work: Work, unit_id: int) -> tuple[Unit, Custody]:
    unit = fetch_unit(work, unit_id)
    custody = work.first(Custody, unit_id=unit.id, returned_at=None)
    if custody is None:
        raise NotOut(unit.label, f"it is at: {unit.place or unit.where.value}")
    work.take(custody)
    return unit, custody


def hours_now(context: Context, unit: Unit, custody: Custody) -> float:
    """Where the meter of a unit that is out stands by the clock: at its issue, and the hours since."""
    return unit.worn_hours + (proposed_hours(custody, context) or 0.0)


def _keep_within(work: Work, unit: Unit, custody: Custody, meter: float) -> None:
    """Parts changed while the unit was out were so by the clock: `meter`, at its return, is the most that can be."""
    back = custody.returned_at
    for one in work.find(Fitted, unit_id=unit.id):
        end, begin = one.removed_at_hours, one.fitted_at_hours
        if one.fitted_at >= custody.issued_at and (back is None or one.fitted_at < back):
            begin = min(begin, meter)
        if one.removed_at and one.removed_at >= custody.issued_at and (back is None or one.removed_at < back):
            end = min(end or 0.0, meter)
        if (begin, end) != (one.fitted_at_hours, one.removed_at_hours):
            work.save(replace(one, fitted_at_hours=begin, removed_at_hours=end))


def _set_hours(work: Work, unit: Unit, custody: Custody, worn: float) -> Unit:
    """Moves the unit's meter to the hours said; parts changed since the return keep their own hours."""
    apart = worn - (custody.worn_hours or 0.0)
    if not apart:
        return unit
    back = custody.returned_at
    assert back is not None
    later = [one for one in work.find(Custody, unit_id=unit.id) if one.id > custody.id]
    _keep_within(work, unit, custody, unit.worn_hours + apart - sum(one.worn_hours or 0.0 for one in later))
    for one in work.find(Fitted, unit_id=unit.id, removed_at=None):
        if one.fitted_at >= back:
            work.save(replace(one, fitted_at_hours=one.fitted_at_hours + apart))
    for one in work.find(Fitted, unit_id=unit.id, removed_at=FILLED):
        if one.removed_at and one.removed_at >= back > one.fitted_at and one.removed_at_hours is not None:
            work.save(replace(one, removed_at_hours=one.removed_at_hours + apart))
            _carry_along(work, one, apart)
    return work.save(replace(unit, worn_hours=unit.worn_hours + apart))


def _carry_along(work: Work, out: Fitted, apart: float) -> None:
    """A labelled part that was taken out meanwhile wore as many hours more or less, wherever it sits now."""
    if out.part_id is None:
        return
    part = fetch(work, Part, out.part_id, "The part taken out")
    work.take(part)
    work.save(replace(part, worn_hours=part.worn_hours + apart))
    for later in work.find(Fitted, part_id=part.id):
        if later.id > out.id:
            work.save(replace(later, worn_before_hours=later.worn_before_hours + apart))
