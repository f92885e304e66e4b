"""The daily check of a flow meter against the reference blower, and what its outcome does to the meter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Instrument, MeterCheck, Verdict
from cribdesk.crib.reference import METER_KIND, reference_model
from cribdesk.crib.refusal import NotMadeWhole, WrongFigure
from cribdesk.crib.words import number
from cribdesk.desk.house import House
from cribdesk.desk.inspection import IDLE, keep_wording
from cribdesk.desk.meters import Found, act_on, would_find
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.procedure.record import to_json
from cribdesk.procedure.run import Run


def reference_of(house: House) -> UnitModel | None:
    """The site's reference blower; None while the settings name none."""
    flow = house.settings["reference_lpm"]
    return reference_model(float(flow), float(house.settings["reference_tolerance_lpm"])) if flow else None


def reference_flow(reference: UnitModel) -> float:
    """What the reference blower gives: the middle of what is good."""
    low, high = reference.flow_minimum_lpm or 0.0, reference.flow_plausible_lpm or 0.0
    return (low + high) / 2


@dataclass(frozen=True, kw_only=True)
class FinishMeterCheck(Operation):
    """A daily check ended: good, not good, or broken off."""

    instrument_id: int
    run_made: Run

    code: ClassVar[str] = "check-meter"
    words: ClassVar[str] = "Checking a flow meter"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it. Not good: the meter is out of use, and what rests on it is weighed anew.

        One broken off after trouble counts as not good: a check is not begun anew until it fits.
        """
        meter = fetch(work, Instrument, self.instrument_id, "This flow meter")
        work.take(meter)
        made = self.run_made
        self._check(meter, context)
        if made.verdict != Verdict.PASS and not made.not_good:
            words = f"Daily check of {meter.name} broken off: {made.broken_off or 'no reason given'}."
            return Outcome(words, (meter.label,))
        kept = work.save(
            MeterCheck(
                instrument_id=meter.id,
                reference_lpm=reference_flow(made.model),
                read_lpm=_read(made),
                good=made.verdict == Verdict.PASS,
                wording_id=keep_wording(work, made).id,
                answers=to_json(made),
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        work.save(replace(meter, active=kept.good))
        return self._outcome(work, context, meter, kept)

    def _check(self, meter: Instrument, context: Context) -> None:
        made, reference = self.run_made, reference_of(context.house)
        if made.verdict is None:
            raise NotMadeWhole(meter.label, "its check has not ended")
        if made.procedure.kind != METER_KIND or {one.instrument for one in made.asked} - {"", meter.label}:
            raise NotMadeWhole(meter.label, "this check was made of something else")
        if reference is None:
            raise WrongFigure("Reference blower", "the settings name no flow of it")
        if made.verdict == Verdict.BROKEN_OFF:
            return
        if made.model != reference:
            raise NotMadeWhole(meter.label, "the reference blower's figures changed meanwhile")
        if made.by != context.clerk.label:
            raise NotMadeWhole(meter.label, "this check was begun by somebody else")
        last = made.asked[-1].moment if made.asked else made.started
        if context.moment - last > IDLE:
            raise NotMadeWhole(meter.label, "its check stood idle for more than 10 minutes")

    def _outcome(self, work: Work, context: Context, meter: Instrument, kept: MeterCheck) -> Outcome:
        at = f"at {number(kept.reference_lpm)} L/min"
        read = f"read {number(kept.read_lpm)} {at}" if kept.read_lpm is not None else f"no reading {at}"
        if kept.good:
            return Outcome(f"Daily check of {meter.name}: good, {read}.", (meter.label,))
        finding = would_find(work, context.house, meter, kept)
        found = act_on(work, context, meter, finding) if finding else Found("How far it was wrong is not known.")
        said = f"Daily check of {meter.name}: not good, {read}. It is out of use until it is calibrated or checks good."
        return Outcome(f"{said} {found.words}", (meter.label, *found.subjects), found.papers)


def _read(made: Run) -> float | None:
    """The last reading on the reference blower, a mean where a mean decided; None where nothing was read."""
    read = [one for one in made.asked if one.kind == "reading" and not one.replaced and one.value is not None]
    if not read:
        return None
    return read[-1].counts
