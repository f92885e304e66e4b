"""Placing a hold by hand: from the card, on a report, for a recall."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.hold import BY_THEIR_OPERATION, reason_of
from cribdesk.crib.model import HoldReason, UnitModel
from cribdesk.crib.proof import recalled
from cribdesk.crib.records import Fitted, Hold, Lot, Unit, Where
from cribdesk.crib.refusal import AlreadyHeld, Unknown, WrongFigure
from cribdesk.desk.call_in import note_call_in
from cribdesk.desk.facts import standing_of
from cribdesk.desk.inspection import HOLD_SHELF, fetch_unit, hold_anew
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.release import proof_there
from cribdesk.desk.sealed import leave_cabinet


@dataclass(frozen=True, kw_only=True)
class PlaceHold(Operation):
    """One more reason why a unit may not be used. Anybody at the crib may place one."""

    unit_id: int
    reason: str
    detail: str = ""

    code: ClassVar[str] = "hold"
    words: ClassVar[str] = "Holding a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Holds the unit wherever it is: in hand its tag prints, out a call-in slip does.

        Out of a cabinet it is taken at once, which breaks the seal. One that stands for the same reason already is
        enough, but not where its proof is there and was so before this was said.
        """
        unit = fetch_unit(work, self.unit_id)
        reason, detail = chosen_reason(work, unit, context.house.model_of(unit), self.reason, self.detail)
        there = work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None)
        if there is not None and not proof_there(
            work, there, standing_of(work, context.house, unit, context.moment)
        ):
            raise AlreadyHeld(unit.label, reason.words, there.tag)
        place, out_of = unit.place, unit.where is Where.EMERGENCY
        if out_of:  # nobody may find it there when there is no time to look
            leave_cabinet(work, context, unit)
            unit = work.save(replace(unit, where=Where.BENCH, place=HOLD_SHELF))
        hold = hold_anew(work, context, unit, reason, detail)
        paper = "call_in_slip" if is_out(unit) else "tag"
        words = f"{reason.words.lower()}: {hold.detail}" if hold.detail else reason.words.lower()
        if is_out(unit):
            note_call_in(work, context, unit, f"on hold: {words}")
        taken = f" It is out of cabinet {place} from now on: take it out; the seal counts as broken." if out_of else ""
        sentence = f"{unit.label} on hold: {words}. Tag {hold.tag}.{taken}"
        return Outcome(sentence, (unit.label, hold.tag), ((paper, hold.tag),))


def chosen_reason(work: Work, unit: Unit, model: UnitModel, code: str, detail: str) -> tuple[HoldReason, str]:
    """The hold reason somebody chose, and its words; a recall's name the lots that have to go.

    Raises NotAllowed for one that nobody may choose, or that says nothing.
    """
    try:
        reason = reason_of(model, code)
    except LookupError:
        raise Unknown(f"Hold reason {code}") from None
    if reason.code in BY_THEIR_OPERATION:
        raise WrongFigure("Reason", "only its own operation places this one")
    if reason.code == "other" and not detail.strip():
        raise WrongFigure("Reason", "say what is wrong")
    return reason, _with_lots(work, unit, detail.strip()) if reason.proof == "lot out" else detail.strip()


def _with_lots(work: Work, unit: Unit, detail: str) -> str:
    """A recall's hold names the lots that have to go, by '#' and their ids: each one fitted that is blocked.

    A number typed by hand takes nothing away: it would be out of the unit already.
    """
    fitted = {one.lot_id for one in work.find(Fitted, unit_id=unit.id, removed_at=None) if one.lot_id}
    lots = [lot for lot in work.find(Lot, id=sorted(fitted)) if lot.blocked]
    if not lots:
        raise WrongFigure("Recall", "nothing of a blocked lot is fitted in it; block the recalled lot first")
    known = recalled(detail)
    named = " and ".join(f"lot {lot.code} #{lot.id}" for lot in lots if lot.id not in known)
    if not named:
        return detail
    return f"{detail}, {named}".lstrip(", ")


def is_out(unit: Unit) -> bool:
    """Whether somebody has it, so that a tag has nothing to hang on."""
    return unit.where in (Where.OUT, Where.ASSIGNED, Where.MISSING, Where.SENT_OUT)

