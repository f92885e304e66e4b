"""Holds: the reasons every model shares, and the proof that clears each kind."""

from __future__ import annotations

from cribdesk.crib.model import INSPECTION_NOT_FINISHED, HoldReason, UnitModel
from cribdesk.crib.records import Hold, Role
from cribdesk.crib.serviceable import Standing

NOT_FINISHED = INSPECTION_NOT_FINISHED
OTHER = HoldReason("other", "Another fault", "bench inspection")
RECALL = HoldReason("recall", "Recalled lot", "lot out")
BATTERY = HoldReason("battery", "Battery fault", "battery gone")
DIRTY = HoldReason("dirty", "Dirty beyond a wipe", "cleaned")
OFFICE = HoldReason("program", "Held by the program administrator", "program administrator")
COMMON = (NOT_FINISHED, DIRTY, RECALL, BATTERY, OFFICE, OTHER)

PROOF_WORDS = {
    "bench inspection": "a bench inspection passed after the hold",
    "inspection passed": "an inspection passed from its first step",
    "cleaned": "a cleaning after the hold",
    "lot out": "the recalled lot out of the unit",
    "battery gone": "that battery out of the unit",
    "program administrator": "the program administrator's word",
}

QUALIFIED = {
    "bench inspection": (Role.TECHNICIAN,),
    "inspection passed": (Role.ATTENDANT, Role.TECHNICIAN),
    "cleaned": (Role.TECHNICIAN, Role.ATTENDANT),
    "lot out": (Role.TECHNICIAN,),
    "battery gone": (Role.TECHNICIAN, Role.ATTENDANT),
    "program administrator": (Role.PROGRAM,),
}


def reasons_of(model: UnitModel) -> tuple[HoldReason, ...]:
    """Every reason a unit of this model can be held for, the model's own first."""
    own = {reason.code for reason in model.hold_reasons}
    return model.hold_reasons + tuple(reason for reason in COMMON if reason.code not in own)


def reason_of(model: UnitModel, code: str) -> HoldReason:
    """The reason of that code. Raises LookupError where the model has none."""
    found = next((reason for reason in reasons_of(model) if reason.code == code), None)
    if found is None:
        raise LookupError(f"{model.code} has no hold reason {code}")
    return found


def proof_of(hold: Hold, standing: Standing) -> str:
    """The proof that clears the hold, in words, or nothing while there is none.

    'Bench inspection' counts a pass at the bench that began after the hold was placed; a recalled lot and
    a battery are named in the hold's detail and are gone once nothing fitted carries that name.
    """
    passed, cleaned = standing.last_pass, standing.last_cleaning
    if hold.proof == "bench inspection":
        if passed and passed.kind == "bench" and passed.started_at >= hold.found_at:
            return f"passed at the bench by inspection {passed.id}"
    elif hold.proof == "inspection passed":
        if passed and passed.started_at >= hold.found_at:
            return f"passed by inspection {passed.id}"
    elif hold.proof == "cleaned":
        if cleaned and cleaned.at >= hold.found_at:
            return f"cleaned by cleaning {cleaned.id}"
    elif hold.proof == "lot out" and _lot_is_out(hold, standing):
        return "the lot is out of the unit"
    return ""


def _lot_is_out(hold: Hold, standing: Standing) -> bool:
    """A recall's detail ends in '#' and the lot's id; without one nothing proves it."""
    lot = hold.detail.rpartition("#")[2]
    return lot.isdigit() and all(str(one.lot_id) != lot for one in standing.fitted)
