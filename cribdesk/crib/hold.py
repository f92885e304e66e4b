"""Holds: the reasons every model shares, their words, and what clears each kind."""

from __future__ import annotations

from cribdesk.crib.model import INSPECTION_NOT_FINISHED, HoldReason, UnitModel
from cribdesk.crib.records import Hold, Role

NOT_FINISHED = INSPECTION_NOT_FINISHED
OTHER = HoldReason("other", "Another fault", "bench inspection")
RECALL = HoldReason("recall", "Recalled lot", "lot out")
RECALLED_UNIT = HoldReason("recall-unit", "Recalled by its maker", "program administrator")
BATTERY = HoldReason("battery", "Battery fault", "battery gone")
DIRTY = HoldReason("dirty", "Dirty beyond a wipe", "cleaned")
CRUSHED = HoldReason("crushed", "Crushed, run over or burnt", "bench inspection")
ROBBED = HoldReason("robbed", "A part was taken out of it", "bench inspection")
MOVED = HoldReason("part-moved", "It got a part of another unit", "bench inspection")
USED = HoldReason("used", "Used out of its cabinet", "bench inspection")
METER = HoldReason("meter", "Measured with a meter found wrong", "bench inspection")
OFFICE = HoldReason("program", "Held by the program administrator", "program administrator")
COMMON = (NOT_FINISHED, DIRTY, RECALL, RECALLED_UNIT, BATTERY, METER, CRUSHED, ROBBED, MOVED, USED, OFFICE, OTHER)
BY_THEIR_OPERATION = (NOT_FINISHED.code, ROBBED.code, MOVED.code, USED.code, RECALLED_UNIT.code)
"""What only its own operation places: nobody chooses it from a list."""

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


def choosable(model: UnitModel) -> tuple[HoldReason, ...]:
    """The reasons a person may choose."""
    return tuple(reason for reason in reasons_of(model) if reason.code not in BY_THEIR_OPERATION)


def reason_of(model: UnitModel, code: str) -> HoldReason:
    """The reason of that code. Raises LookupError where the model has none."""
    found = next((reason for reason in reasons_of(model) if reason.code == code), None)
    if found is None:
        raise LookupError(f"{model.code} has no hold reason {code}")
    return found


def hold_words(model: UnitModel, hold: Hold) -> str:
    """A hold's reason in words with its detail; as it was written where the model has no such reason any more."""
    try:
        words = reason_of(model, hold.reason).words
    except LookupError:
        words = hold.reason
    detail = hold.detail.partition("#")[0].strip() if hold.proof == RECALL.proof else hold.detail
    return f"{words}: {detail}" if detail else words
