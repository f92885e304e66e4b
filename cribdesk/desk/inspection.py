"""Inspections as operations: what a run leaves in the store, and what its verdict does to the unit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import ClassVar

from cribdesk.crib.hold import METER, NOT_FINISHED, OTHER, reason_of
from cribdesk.crib.label import Kind
from cribdesk.crib.model import HoldReason, UnitModel
from cribdesk.crib.records import (
    AWAY,
    FAULT,
    Away,
    Battery,
    Cleaning,
    Custody,
    Hold,
    Inspection,
    Instrument,
    Notice,
    NoticeKind,
    Person,
    Reading,
    Role,
    Unit,
    Verdict,
    Where,
    Wording,
)
from cribdesk.crib.refusal import AlreadyOut, NotMadeWhole, NotQualified, Scrapped, WrongFigure
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION, Serviceable, condition
from cribdesk.desk.facts import standing_of
from cribdesk.desk.meter_errors import ill_weighed, overtaken
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.sealed import leave_cabinet
from cribdesk.procedure.answers import Asked
from cribdesk.procedure.model import NO_FILTER
from cribdesk.procedure.record import to_json
from cribdesk.procedure.run import Run

IDLE = timedelta(minutes=10)
"""A run is not taken up again after so long without an answer (a house rule)."""

BENCH_KINDS = ("bench", "monthly")
HELD_KINDS = (*COUNTS_AS_INSPECTION, "hand-over")
"""Kinds of check whose trouble holds the unit until one is passed from its first step."""

HOLD_SHELF = "hold shelf"
FOUND_SHELF = "bench, found again"
RACK = "rack"


def fetch_unit(work: Work, unit_id: int) -> Unit:
    """The unit, taken for change. Raises NotAllowed for one that is scrapped."""
    unit = fetch(work, Unit, unit_id, "This unit")
    work.take(unit)
    if unit.where is Where.SCRAPPED:
        raise Scrapped(unit.label)
    return unit


def must_be_in_hand(work: Work, unit: Unit) -> None:
    """Raises AlreadyOut for a unit that somebody has, also one that went missing in their hands."""
    custody = work.first(Custody, unit_id=unit.id, returned_at=None)
    if custody is not None:
        raise AlreadyOut(unit.label, fetch(work, Person, custody.person_id, "The wearer").label)


def check_run(run: Run, unit: Unit, model: UnitModel, context: Context) -> None:
    """Raises NotMadeWhole for a run of another model, of somebody else, or left idle too long."""
    if run.model.code != model.code:
        raise NotMadeWhole(unit.label, "this check was made for another model")
    if run.by != context.clerk.label:
        raise NotMadeWhole(unit.label, "this check was begun by somebody else")
    last = run.asked[-1].moment if run.asked else run.started
    if context.moment - last > IDLE:
        raise NotMadeWhole(unit.label, "its check stood idle for more than 10 minutes")


def made_by(run: Run, context: Context) -> datetime:
    """When the run ended: what was done to the unit after its last answer, it has not seen."""
    return run.ended if run.ended is not None and run.verdict == Verdict.PASS else context.moment


def not_before(work: Work, unit: Unit, moment: datetime) -> datetime:
    """The moment; where the clock was set back, just after what was last done for the unit's sake.

    A return, a hold, a cleaning or a changed part stamped before an older pass would let that one count as made
    since.
    """
    cleaned = work.latest(Cleaning, unit_id=unit.id)
    passed = work.latest(Inspection, unit_id=unit.id, verdict=Verdict.PASS, kind=COUNTS_AS_INSPECTION)
    known = [one for one in (cleaned and cleaned.at, passed and passed.started_at, passed and passed.ended_at) if one]
    return max([moment, *(one + timedelta(microseconds=1) for one in known)])


def save_run(work: Work, context: Context, unit: Unit, run: Run) -> Inspection:
    """Keeps a run: the wording once, the inspection, and its readings apart.

    Raises NotMadeWhole for one that passed by a reading that was not weighed as the rules ask.
    """
    meters = meters_of(work, run)
    work.take(*meters.values())  # a calibration entered meanwhile comes before this run, or waits for it
    good = all(_in_use(one, context) for one in meters.values())
    if run.verdict == "pass":
        why = ill_weighed(context.house, run, meters)
        if why:
            raise NotMadeWhole(unit.label, why)
    meter = meters[max(meters)] if meters else None
    inspection = work.save(
        Inspection(
            unit_id=unit.id,
            kind=run.procedure.kind,
            procedure=run.procedure.code,
            wording_id=keep_wording(work, run).id,
            by_id=context.clerk.id,
            started_at=run.started,
            ended_at=made_by(run, context),
            verdict=Verdict(run.verdict or "broken off"),
            fault=run.fault or "",
            instrument_id=meter.id if meter else None,
            instrument_good=good,
            answers=to_json(run),
        )
    )
    for asked in run.asked:
        if not asked.replaced:
            _save_reading(work, unit, inspection, asked, meters.get(asked.instrument))
    return inspection


def place_hold(
    work: Work,
    context: Context,
    unit: Unit,
    reason: HoldReason,
    detail: str,
    inspection: Inspection | None = None,
) -> Hold:
    """One more open hold, with its tag's number; a unit in hand goes to the hold shelf."""
    hold = work.save(
        Hold(
            unit_id=unit.id,
            reason=reason.code,
            detail=_with_pack(work, unit, reason, detail),
            proof=reason.proof,
            found_by=context.clerk.id,
            found_at=not_before(work, unit, context.moment),
            tag=fresh_label(work, Kind.TAG),
            inspection_id=inspection.id if inspection else None,
        )
    )
    _mark_pack(work, unit, reason)
    _to_hold_shelf(work, work.get(Unit, unit.id))
    return hold


def hold_anew(
    work: Work, context: Context, unit: Unit, reason: HoldReason, detail: str, inspection: Inspection | None = None
) -> Hold:
    """A hold that stands for this reason goes on from now: an older inspection or cleaning ends it no more."""
    there = work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None)
    if there is None:
        return place_hold(work, context, unit, reason, detail, inspection)
    _mark_pack(work, unit, reason)
    _to_hold_shelf(work, work.get(Unit, unit.id))
    return work.save(
        replace(
            there,
            detail=_with_pack(work, unit, reason, detail) or there.detail,
            found_at=not_before(work, unit, context.moment),
            inspection_id=inspection.id if inspection else there.inspection_id,
        )
    )


def _mark_pack(work: Work, unit: Unit, reason: HoldReason) -> None:
    """The pack a battery's hold names goes with no other unit either, until the bench clears it."""
    pack = work.first(Battery, unit_id=unit.id) if reason.proof == "battery gone" else None
    if pack is not None and not pack.faulty:
        work.save(replace(pack, note=f"{FAULT}: {reason.words[:1].lower()}{reason.words[1:]}, {unit.label}"))


def _to_hold_shelf(work: Work, unit: Unit) -> None:
    if unit.where in (Where.RACK, Where.BENCH) and unit.place != HOLD_SHELF:
        work.save(replace(unit, where=Where.BENCH, place=HOLD_SHELF))


def _with_pack(work: Work, unit: Unit, reason: HoldReason, detail: str) -> str:
    """A battery's hold names the pack in the unit: it is that one that has to go."""
    pack = work.first(Battery, unit_id=unit.id) if reason.proof == "battery gone" else None
    if pack is None or pack.label in detail:
        return detail
    return f"{detail.rstrip('.')}, pack {pack.label}".lstrip(", ")


def is_own(hold: Hold, run: Run, context: Context) -> bool:
    """Whether it is the hold 'inspection not finished' that this very run placed: it met trouble itself."""
    return run.not_good and hold.reason == NOT_FINISHED.code and run.started < hold.found_at <= context.moment


def end_unfinished(work: Work, context: Context, unit: Unit, words: str, run: Run | None = None) -> None:
    """Ends the hold 'inspection not finished', where it stands: after a pass its own, or one from before its start.

    A short check ends only its own. Without a run it ends whoever placed it, as after a fail.
    """
    hold = work.first(Hold, unit_id=unit.id, reason=NOT_FINISHED.code, released_at=None)
    if hold is None:
        return
    whole = run is not None and run.procedure.kind in COUNTS_AS_INSPECTION and run.started >= hold.found_at
    if run is None or whole or is_own(hold, run, context):
        work.save(
            replace(hold, released_at=context.moment, released_by=context.clerk.id, released_on=words)
        )


def end_away(work: Work, context: Context, unit: Unit, words: str, run: Run | None = None) -> None:
    """Ends what kept the unit away, where there is such; a run that began before that proves nothing."""
    away = work.first(Away, unit_id=unit.id, ended_at=None)
    if away is not None and (run is None or run.started >= away.since):
        work.save(replace(away, ended_at=max(context.moment, away.since), ended_how=words))


@dataclass(frozen=True, kw_only=True)
class HoldUnfinished(Operation):
    """The first not-good answer of a run: the unit is held at once, whatever happens next."""

    unit_id: int
    procedure: str
    step: str

    code: ClassVar[str] = "hold-unfinished"
    words: ClassVar[str] = "Holding a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Places the hold; where it stands already, the entry alone says that a new run met trouble."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        standing = work.first(Hold, unit_id=unit.id, reason=NOT_FINISHED.code, released_at=None)
        hold = standing or place_hold(work, context, unit, NOT_FINISHED, self.step)
        return Outcome(f"{unit.label} on hold until its inspection is finished: {self.step}.", (unit.label, hold.tag))


@dataclass(frozen=True, kw_only=True)
class FinishInspection(Operation):
    """A run ended at the bench or the counter: passed, failed or broken off."""

    unit_id: int
    run_made: Run

    code: ClassVar[str] = "inspect"
    words: ClassVar[str] = "Inspecting"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps the run; a fail holds the unit with its tag, a pass ends 'inspection not finished'."""
        made = self.run_made
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        model = context.house.model_of(unit)
        if made.verdict is None:
            raise NotMadeWhole(unit.label, "its check has not ended")
        if made.verdict != "broken off":
            check_run(made, unit, model, context)
        if made.procedure.kind in BENCH_KINDS and not context.clerk.has(Role.TECHNICIAN, Role.ATTENDANT):
            raise NotQualified("A bench inspection", (Role.TECHNICIAN.value, Role.ATTENDANT.value))
        judged = made.verdict == "fail" or (made.verdict == "pass" and made.procedure.kind == "bench")
        if judged and unit.where in AWAY:
            unit = work.save(replace(unit, where=Where.BENCH, place=FOUND_SHELF))  # it lies here, so it is back
        if made.verdict == "fail" and unit.where is Where.EMERGENCY:
            leave_cabinet(work, context, unit)
            unit = work.save(replace(unit, where=Where.BENCH, place=HOLD_SHELF))  # nobody may take it from there
        inspection = save_run(work, context, unit, made)
        if made.verdict == "fail":
            return self._failed(work, context, unit, model, inspection)
        if made.verdict == "pass":
            return self._passed(work, context, unit, inspection)
        return self._broken_off(work, context, unit, inspection)

    def _failed(
        self, work: Work, context: Context, unit: Unit, model: UnitModel, inspection: Inspection
    ) -> Outcome:
        hold = fail_hold(work, context, unit, model, self.run_made, inspection)
        end_unfinished(work, context, unit, f"the inspection ended: it failed, tag {hold.tag}")
        listed = " Who had it since its last good inspection is listed." if no_filter_found(self.run_made) else ""
        sentence = f"{unit.label} on hold: {self.run_made.fault_words} Tag {hold.tag}.{listed}"
        return Outcome(sentence, (unit.label, hold.tag), (("tag", hold.tag),))

    def _broken_off(self, work: Work, context: Context, unit: Unit, inspection: Inspection) -> Outcome:
        """Trouble met in it holds the unit, also where the hold could not be written when it was met."""
        made = self.run_made
        sentence = f"{made.procedure.name} of {unit.label} broken off: {made.broken_off or 'no reason given'}."
        there = work.first(Hold, unit_id=unit.id, reason=NOT_FINISHED.code, released_at=None)
        if there is not None or not made.not_good or made.procedure.kind not in HELD_KINDS:
            return Outcome(sentence, (unit.label,))
        step = next(asked.title for asked in reversed(made.asked) if not asked.good)
        hold = place_hold(work, context, unit, NOT_FINISHED, step, inspection)
        words = f"{sentence} On hold until its inspection is finished: {step}."
        return Outcome(words, (unit.label, hold.tag))

    def _passed(self, work: Work, context: Context, unit: Unit, inspection: Inspection) -> Outcome:
        made = self.run_made
        wrong = overtaken(work, context.house, unit, made, meters_of(work, made).values())
        if wrong:
            hold = hold_anew(work, context, unit, METER, wrong, inspection)
            end_unfinished(work, context, unit, f"the inspection ended, held by tag {hold.tag}")
            words = f"{made.procedure.name} of {unit.label} passed with a meter found wrong meanwhile. Tag {hold.tag}."
            return Outcome(f"{words} {wrong}.", (unit.label, hold.tag), (("tag", hold.tag),))
        if inspection.instrument_good and made.procedure.kind in HELD_KINDS:
            end_unfinished(work, context, unit, f"passed by inspection {inspection.id}", made)
        if inspection.instrument_good and made.procedure.kind == "bench":
            end_away(work, context, unit, f"passed at the bench by inspection {inspection.id}", made)
        back_to_rack(work, context, unit)
        words = "passed"
        if made.procedure.kind == "return-look":
            words = "done"
        return Outcome(f"{made.procedure.name} of {unit.label} {words}.", (unit.label,))


def fail_hold(
    work: Work, context: Context, unit: Unit, model: UnitModel, run: Run, inspection: Inspection
) -> Hold:
    """The hold of a failed run; where the same reason holds the unit already, that one goes on from now."""
    _tell_no_filter(work, context, unit, run, inspection)
    try:
        reason = reason_of(model, run.fault or OTHER.code)
    except LookupError:
        reason = OTHER
    return hold_anew(work, context, unit, reason, run.fault_words, inspection)


def no_filter_found(run: Run) -> bool:
    """Whether it was found that the unit was worn, or ready to be, without its filter."""
    return any(asked.finding == NO_FILTER and not asked.replaced for asked in run.asked)


def _tell_no_filter(work: Work, context: Context, unit: Unit, run: Run, inspection: Inspection) -> None:
    """The program administrator has to see who had it since its last good inspection."""
    if no_filter_found(run):
        work.save(
            Notice(
                kind=NoticeKind.NO_FILTER,
                unit_id=unit.id,
                inspection_id=inspection.id,
                detail=run.fault_words,
                at=context.moment,
                by_id=context.clerk.id,
            )
        )


def back_to_rack(work: Work, context: Context, unit: Unit) -> None:
    """A unit at the bench that is ready now goes back to the rack."""
    now = fetch(work, Unit, unit.id, "This unit")
    if now.where is not Where.BENCH:
        return
    if condition(standing_of(work, context.house, now, context.moment)).state is Serviceable.READY:
        work.save(replace(now, where=Where.RACK, place=RACK))


def keep_wording(work: Work, run: Run) -> Wording:
    """The wording of the run's procedure, kept once."""
    procedure = run.procedure
    there = work.first(Wording, digest=procedure.digest)
    if there is not None:
        return there
    return work.save(
        Wording(
            procedure=procedure.code, edition=procedure.revision, digest=procedure.digest, text=procedure.text
        )
    )


def meters_of(records: Records, run: Run) -> dict[str, Instrument]:
    """The flow meters of the run's readings by label. Raises WrongFigure for one that is unknown."""
    labels = {asked.instrument for asked in run.asked if asked.instrument and not asked.replaced}
    found = {}
    for label in sorted(labels):
        meter = records.first(Instrument, label=label)
        if meter is None:
            raise WrongFigure("Flow meter", f"{label} is not in this store")
        found[label] = meter
    return found


def _in_use(meter: Instrument, context: Context) -> bool:
    return meter.active and meter.calibrated_until >= context.house.today(context.moment)


def _save_reading(
    work: Work, unit: Unit, inspection: Inspection, asked: Asked, meter: Instrument | None
) -> None:
    value = asked.counts
    is_flow, is_time = asked.kind == "reading", asked.kind == "timed"
    if not (is_flow or is_time) or (value is None and not asked.instrument):
        return
    work.save(
        Reading(
            inspection_id=inspection.id,
            unit_id=unit.id,
            quantity=asked.step,
            flow_lpm=value if is_flow else None,
            seconds=value if is_time else None,
            ball=asked.answer if is_flow and value is None else "",
            instrument_id=meter.id if meter and is_flow else None,
            at=asked.moment,
            at_hours=unit.worn_hours,
        )
    )
