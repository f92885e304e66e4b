"""Checks on the counter: begin, answer, remedy, end, break off, and the issue they lead to."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from cribdesk.crib.air import USUAL_KG_M3
from cribdesk.crib.reasons import cautions
from cribdesk.crib.reference import METER_KIND
from cribdesk.crib.words import date_words
from cribdesk.desk import air, forms, used
from cribdesk.desk.air import AirNow
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cards import BagCard, BatteryCard, InstrumentCard, UnitCard
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.equipment import PutBattery
from cribdesk.desk.house import House
from cribdesk.desk.inspection import IDLE, FinishInspection, HoldUnfinished
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.meter_check import FinishMeterCheck, reference_of
from cribdesk.desk.pre_stage import PreStage
from cribdesk.desk.routing import Routed, also, do, refuse, say
from cribdesk.desk.slate import Answered, ChangeForm, Check, Chosen, Offer, Scanned, Slate, Ticked
from cribdesk.procedure.answers import Ball, Measured, RemedyDone
from cribdesk.procedure.run import Run, answer, back, break_off, page, start

HELD_AT_ONCE = ("issue", "bench", "return-look", "pre-stage")
"""Purposes whose first not-good answer is written as a hold at once."""


OPENS_IT = ("return-look", "cleaning", "bench", "pre-stage")
"""Purposes whose work stirs up what a used unit brought along."""


def begin(house: House, slate: Slate, cards: tuple[UnitCard, ...], kind: str, purpose: str, moment: datetime) -> Routed:
    """A run at its first step."""
    first = cards[0]
    if slate.clerk is None:
        return refuse(slate, "Nobody is signed on. Scan a staff badge first. Nothing changed.", moment)
    procedure = house.procedure_of(first.model, kind)
    if procedure is None:
        words = f"{first.model.short_name} has no procedure for this ({kind}). Nothing changed."
        return refuse(slate, words, moment)
    for other in cards[1:]:  # told before the work is done, not after it
        wanted = house.procedure_of(other.model, kind)
        if wanted is None or wanted.code != procedure.code:
            words = f"{other.label} is cleaned another way: give it a tray of its own. Nothing changed."
            return refuse(slate, words, moment)
    meter = _meter(house, slate, moment)
    check = Check(
        purpose=purpose,
        kind=kind,
        run=start(procedure, first.model, moment, slate.clerk.label),
        unit_ids=tuple(card.unit.id for card in cards),
        labels=tuple(card.label for card in cards),
        instrument_label=meter.label if meter else "",
        instrument_words=_meter_words(meter),
        uncertainty_lpm=meter.instrument.uncertainty_lpm if meter else None,
        calibration_kg_m3=meter.instrument.calibration_kg_m3 if meter else USUAL_KG_M3,
        cautions=_first_steps(cards) if purpose in OPENS_IT else (),
        step_began=moment,
        last_at=moment,
    )
    more = f" and {len(cards) - 1} more" if len(cards) > 1 else ""
    words = f"{procedure.name} of {first.label}{more}"
    return say(replace(slate, check=check, form=None, carrier=False), "taken", words, moment)


def _first_steps(cards: tuple[UnitCard, ...]) -> tuple[str, ...]:
    """What the bench does first, by what was in the air where each was worn last; each said once."""
    return tuple(dict.fromkeys(card.used.words for card in cards if card.used))


def begin_meter(house: House, slate: Slate, card: InstrumentCard, moment: datetime) -> Routed:
    """A flow meter's daily check at its first step: read with the meter itself, on the reference blower."""
    assert slate.clerk is not None
    reference = reference_of(house)
    procedure = house.procedure_of(reference, METER_KIND) if reference else None
    if reference is None or procedure is None:
        return refuse(slate, "No reference blower, or no procedure for it, is there. Nothing changed.", moment)
    check = Check(
        purpose=METER_KIND,
        kind=METER_KIND,
        run=start(procedure, reference, moment, slate.clerk.label),
        unit_ids=(),
        labels=(card.label,),
        instrument_label=card.label,
        instrument_words=f"{card.instrument.name} on the reference blower.",
        instrument_id=card.instrument.id,
        uncertainty_lpm=card.instrument.uncertainty_lpm,
        calibration_kg_m3=card.instrument.calibration_kg_m3,
        step_began=moment,
        last_at=moment,
    )
    return say(replace(slate, check=check), "taken", f"{procedure.name} of {card.instrument.name}", moment)


def after_meter(slate: Slate) -> Slate:
    """The counter's own meter once its check ended: in use again, or no longer the one to take."""
    check, meter = slate.check, slate.meter
    if check is None or check.purpose != METER_KIND or meter is None or meter.label != check.labels[0]:
        return slate
    if check.run.verdict == "pass":
        fresh = replace(meter, instrument=replace(meter.instrument, active=True), good=True, why="", unchecked=False)
        return replace(slate, meter=fresh)
    return replace(slate, meter=None) if check.run.not_good else slate


def answered(house: House, slate: Slate, event: Answered) -> Routed:
    """One answer. The first that is not good is written as a hold before anything else happens."""
    check = slate.check
    if check is None:
        return slate, ()
    if _idle(check, event.moment):
        return _left_idle(slate, check, event.moment, event.token)
    given = event.answer
    asked = page(check.run)
    if isinstance(given, RemedyDone) and asked.remedy is not None:
        waiting = _remedy(slate, check, event)
        if waiting is not None:
            return waiting
    if isinstance(given, (Measured, Ball)) and not given.instrument_label:
        given = replace(given, instrument_label=check.instrument_label)
    if isinstance(given, (Measured, Ball)) and not given.instrument_label:
        return refuse(slate, "Scan the flow meter first: readings are kept with the meter.", event.moment)
    try:
        if isinstance(given, (Measured, Ball)) and asked.instrument:
            given, slate = _in_this_air(house, slate, check, given, event.moment)
        run = answer(check.run, given, event.moment, event.elapsed_s)
    except ValueError as failure:
        return refuse(slate, f"{failure}", event.moment)
    return _moved_on(slate, replace(check, run=run, ask=""), event.moment, event.token)


def _in_this_air(
    house: House, slate: Slate, check: Check, given: Measured | Ball, moment: datetime
) -> tuple[Measured | Ball, Slate]:
    """The reading as it counts in the air it was made in; that air is offered again until the day ends."""
    known, model = air.today(house, slate.air, moment), check.run.model
    if isinstance(given, Ball):
        seen = air.ball(house, model, given, known)
        pressure = known.pressure_hpa if known else None
        return seen, replace(slate, air=AirNow(seen.temperature_c or 0.0, pressure, moment))
    guarded = check.purpose != METER_KIND  # a daily check has its own tolerance
    scale = check.calibration_kg_m3
    read = air.measured(house, model, given, known, check.uncertainty_lpm, guarded, scale)
    return read, replace(slate, air=AirNow(read.temperature_c or 0.0, read.pressure_hpa, moment))


def step_back(slate: Slate, moment: datetime) -> Routed:
    """One step back, recorded."""
    check = slate.check
    assert check is not None
    try:
        run = back(check.run, moment)
    except ValueError as failure:
        return refuse(slate, str(failure), moment)
    kept = replace(check, run=run, ask="", step_began=moment, last_at=moment)
    return replace(slate, check=kept), ()


def leave(slate: Slate, moment: datetime, token: str, why: str) -> Routed:
    """Break the run off, or put a passed check aside: one entry is left either way."""
    check = slate.check or slate.passed
    assert check is not None
    run = check.run if check.run.verdict else break_off(check.run, moment, why)
    after = "broken-off" if check.run.verdict is None else "put-aside"
    return do(slate, finish(replace(check, run=run), token), after)


def ticked(house: House, slate: Slate, event: Ticked) -> Routed:
    """Time went by: a check that stood idle too long is broken off."""
    check = slate.check or slate.passed
    if check is not None and event.token and _idle(check, event.moment):
        return _left_idle(slate, check, event.moment, event.token)
    return slate, ()


def scanned(house: House, slate: Slate, event: Scanned) -> Routed:
    """A scan while a check is open: a meter, the pack or the part a remedy asks for; nothing else."""
    check, card = slate.check, event.card
    assert check is not None
    if slate.form is not None:
        return forms.scanned(house, slate, event)
    if isinstance(card, InstrumentCard):
        if check.purpose == METER_KIND:
            words = f"This check is of {check.labels[0]}. Finish it, or break off with F12. Nothing changed."
            return refuse(slate, words, event.moment, card.label)
        if not card.good:
            words = f"{card.instrument.name}: {card.why}. Take another meter. Nothing changed."
            return refuse(slate, words, event.moment, card.label)
        kept = replace(
            check,
            instrument_label=card.label,
            instrument_words=_meter_words(card),
            uncertainty_lpm=card.instrument.uncertainty_lpm,
            calibration_kg_m3=card.instrument.calibration_kg_m3,
        )
        placed = replace(slate, check=kept, meter=card)
        return say(placed, "taken", f"{card.instrument.name} is the meter now", event.moment, card.label)
    if isinstance(card, BatteryCard) and check.ask == "battery":
        return _battery_in(slate, check, card, event)
    if isinstance(card, BagCard) and slate.used is not None:
        return used.into_bag(slate, slate.used, card, event)
    return refuse(slate, is_open(check), event.moment, card.label)


def is_open(check: Check) -> str:
    """What is said to whatever would push a check aside."""
    return f"The check of {check.labels[0]} is open. Finish it, or break off with F12. Nothing changed."


def issue(slate: Slate, event: Scanned, slip_id: int | None, carrier_id: int | None = None) -> Routed:
    """The wearer took it, or a carrier for them: one durable transaction."""
    check, unit, person = slate.passed, slate.unit, slate.person
    assert check is not None
    assert unit is not None
    assert person is not None
    assert slate.due_at is not None or slate.assigned
    operation = IssueUnit(
        operation_id=event.token,
        unit_id=unit.unit.id,
        person_id=person.person.id,
        battery_id=slate.battery.battery.id if slate.battery else None,
        area_id=slate.area.area.id if slate.area else None,
        due_at=None if slate.assigned else slate.due_at,
        assigned=slate.assigned,
        carrier_id=carrier_id,
        run_made=check.run,
        shown=tuple(reason.key for reason in cautions(slate.reasons)),
        accepted=tuple((one.code, one.subject, one.words, one.why, one.by_id) for one in slate.accepted),
        slip_id=slip_id,
    )
    return do(slate, operation, "issued")


def remedy_done(slate: Slate, detail: str, moment: datetime, token: str) -> Routed:
    """The remedy was carried out and is in the journal; the run goes on."""
    check = slate.check
    assert check is not None
    elapsed = max(0.0, (moment - (check.step_began or moment)).total_seconds())
    run = answer(check.run, RemedyDone(detail), moment, elapsed)
    return _moved_on(replace(slate, form=None), replace(check, run=run, ask=""), moment, token)


def _moved_on(slate: Slate, check: Check, moment: datetime, token: str) -> Routed:
    """The next page, or the end. Trouble that is not the end yet is held first; a fail writes its own hold."""
    check = replace(check, step_began=moment, last_at=moment)
    slate = replace(slate, check=check)
    if check.run.not_good and check.run.verdict != "fail" and not check.held and check.purpose in HELD_AT_ONCE:
        step = next(asked.title for asked in reversed(check.run.asked) if not asked.good)
        operation = HoldUnfinished(
            operation_id=token, unit_id=check.unit_ids[0], procedure=check.run.procedure.code, step=step
        )
        return do(slate, operation, "held-unfinished")
    return ended(slate, moment, token)


def ended(slate: Slate, moment: datetime, token: str) -> Routed:
    """What a verdict does: a pass for an issue waits for the wearer, all else is written."""
    check = slate.check
    if check is None or check.run.verdict is None:
        return slate, ()
    if check.run.verdict == "pass" and check.purpose == "issue":
        assert slate.person is not None
        if check.run.procedure.kind == "hand-over" and any(asked.remedy_kind == "change" for asked in check.run.asked):
            return do(slate, finish(check, token), "inspect-again")
        passed = replace(slate, check=None, passed=check)
        words = f"Checked. {slate.person.person.name}: scan your badge to take it"
        return say(passed, "taken", words, moment)
    return do(slate, finish(check, token), "finished")


def finish(check: Check, token: str) -> FinishInspection | FinishCleaning | FinishMeterCheck:
    """The operation that keeps an ended run."""
    if check.purpose == METER_KIND:
        return FinishMeterCheck(operation_id=token, instrument_id=check.instrument_id, run_made=check.run)
    if check.purpose == "cleaning":
        return FinishCleaning(operation_id=token, unit_ids=check.unit_ids, run_made=check.run)
    if check.purpose == "pre-stage":
        return PreStage(operation_id=token, unit_id=check.unit_ids[0], run_made=check.run)
    return FinishInspection(operation_id=token, unit_id=check.unit_ids[0], run_made=check.run)


def _remedy(slate: Slate, check: Check, event: Answered) -> Routed | None:
    """A remedy that is an operation of its own: the part is chosen, or the pack scanned, first."""
    asked = page(check.run)
    assert asked.remedy is not None
    if asked.remedy.kind == "change" and asked.remedy.position and check.purpose != "cleaning":
        position = asked.remedy.position
        name = check.run.model.position(position)
        form = ChangeForm(
            unit_id=check.unit_ids[0],
            unit_label=check.labels[0],
            positions=((position, name.name if name else position),),
            position=position,
            why=asked.title,
            for_check=True,
        )
        kept = replace(slate, form=form)
        said = say(kept, "taken", "Scan the part, or choose its lot.", event.moment)
        return also(said, Offer(form.unit_id, position))
    if asked.remedy.kind == "swap-battery" and check.run.model.battery_models:
        kept = replace(slate, check=replace(check, ask="battery"))
        return say(kept, "taken", "Scan the charged pack that goes in.", event.moment)
    return None


def change_for_check(form: ChangeForm, slate: Slate, event: Chosen) -> ChangePart | None:
    """The operation of a change form, or None while nothing is chosen."""
    if form.chosen is None:
        return None
    choice = form.choices[form.chosen]
    return ChangePart(
        operation_id=event.token,
        unit_id=form.unit_id,
        position=form.position,
        item_id=choice.item_id,
        lot_id=choice.lot_id if choice.part_id is None else None,
        part_id=choice.part_id,
        why=form.why,
    )


def _battery_in(slate: Slate, check: Check, card: BatteryCard, event: Scanned) -> Routed:
    if slate.battery is not None and slate.battery.battery.id == card.battery.id:
        words = f"{card.label} is the pack that is in it now. Scan another charged one. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    operation = PutBattery(operation_id=event.token, unit_id=check.unit_ids[0], battery_id=card.battery.id)
    slate, requests = do(slate, operation, f"remedy:{card.label}")
    if slate.pending is not None and check.purpose == "issue":
        slate = replace(slate, pending=replace(slate.pending, battery=card))
    return slate, requests


def _meter(house: House, slate: Slate, moment: datetime) -> InstrumentCard | None:
    """The meter used last at this counter, while it is in use and its calibration runs; else one of the crib's."""
    facts, own = slate.facts, slate.meter
    known = {meter.label: meter for meter in facts.meters} if facts else None
    in_use = own is not None and own.instrument.active and own.instrument.calibrated_until >= house.today(moment)
    if own is not None and in_use and (known is None or own.label in known):
        return own
    if facts is None or not known:
        return None
    first = known[min(known)]
    return InstrumentCard(first, good=True, unchecked=first.id in facts.unchecked_meters)


def _meter_words(meter: InstrumentCard | None) -> str:
    if meter is None:
        return ""
    until = date_words(meter.instrument.calibrated_until)
    unchecked = " Not checked today." if meter.unchecked else ""
    return f"{meter.instrument.name}, calibrated until {until}.{unchecked} Another one in hand? Scan it."


def _idle(check: Check, moment: datetime) -> bool:
    """Whether nothing was answered for too long; a step that runs its own clock gets that on top."""
    shown = page(check.run)
    wait = (shown.limit.high or shown.limit.low or 0.0) if shown.kind == "timed" and shown.limit else 0.0
    return check.last_at is not None and moment - check.last_at > IDLE + timedelta(seconds=wait)


def _left_idle(slate: Slate, check: Check, moment: datetime, token: str) -> Routed:
    why = "stood idle for more than 10 minutes"
    # a check that passed and was not taken is no pass either: what happened to the unit since, nobody saw
    run: Run = replace(check.run, broken_off=why) if check.run.verdict else break_off(check.run, moment, why)
    return do(slate, finish(replace(check, run=run), token), "idle")
