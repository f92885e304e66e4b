"""Every state a unit can be in, as the product of what matters, each made by real operations.

A state is (where, custody, serviceable, battery). `impossible` says of every other combination why no sequence of
operations leads to it; all the rest are made, and looked at again before anything is tried on them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import product

from cribdesk.crib.records import (
    Where,
)
from tests.desk.shop import BUILT

CUSTODIES = ("none", "issued", "assigned", "returned", "completed")
PROOFS = ("bench inspection", "inspection passed", "cleaned", "lot out", "battery gone", "program administrator")
HELD = tuple(f"hold: {proof}" for proof in PROOFS)
SPOILT = ("a part short", "a part past its date", "a lot blocked")
UNCHECKED = ("cleaned, not inspected", "a part changed", "meter out of calibration", "never inspected")
SERVICEABLE = ("ready", "not checked", "needs cleaning", *UNCHECKED, *HELD, *SPOILT)
BATTERIES = ("in the unit", "on the shelf", "on a charger", "missing", "faulty")
REASONS = {
    "hold: bench inspection": "head", "hold: cleaned": "dirty", "hold: lot out": "recall",
    "hold: battery gone": "battery", "hold: program administrator": "program",
}  # fmt: skip
OUT = ("issued", "assigned")
OPENS = BUILT + timedelta(hours=1, minutes=30)
TRIED = BUILT + timedelta(hours=11)
"""When everything is tried: 16:00 in Vienna; where a part's date has to pass, a day later."""


@dataclass(frozen=True)
class State:
    """One state of one unit."""

    where: str
    custody: str
    serviceable: str
    battery: str

    def __str__(self) -> str:
        return f"{self.where} / {self.custody} / {self.serviceable} / battery {self.battery}"


def impossible(state: State) -> str:
    """Why no sequence of operations leads there, or ''."""
    return _by_custody(state) or _by_place(state) or _by_battery(state)


def _by_custody(state: State) -> str:
    where, custody, what = state.where, state.custody, state.serviceable
    if where in ("out", "assigned") and custody != {"out": "issued", "assigned": "assigned"}[where]:
        return "out means issued, assigned means assigned"
    if where not in ("out", "assigned", "missing") and custody in OUT:
        return "somebody has it: it is out, assigned, or missing in their hands"
    if custody == "none" and what in ("not checked", "needs cleaning"):
        return "nobody has worn it"
    if custody != "none" and what == "never inspected":
        return "it was inspected before it was ever issued"
    if custody in OUT and what in (*UNCHECKED, "hold: inspection passed"):
        return "it left on a passed check, and nobody does this to a unit that is out"
    if custody in OUT and what == "a part short":
        return "a part is taken out of a unit in hand only"
    if custody == "returned" and what == "a part short":
        return "a part is taken out of a unit only once the hours worn are said"
    return ""


def _by_place(state: State) -> str:
    where, what = state.where, state.serviceable
    if where == "emergency cabinet" and what in ("not checked", "needs cleaning", "never inspected"):
        return "it went in ready, and nobody has worn it there"
    if where == "emergency cabinet" and what == "a part short":
        return "it went in whole, and a part leaves it only for another one"
    if where == "scrapped" and state.custody == "returned":
        return "it is scrapped only once the hours worn are said"
    if where == "scrapped" and what in SPOILT:
        return "nothing is fitted in it any more"
    return ""


def _by_battery(state: State) -> str:
    if state.where == "scrapped" and state.battery == "in the unit":
        return "nothing is in it any more"
    if state.serviceable == "hold: battery gone":
        return "" if state.battery == "faulty" else "the hold marks the pack as faulty"
    if state.custody in OUT and state.battery in ("on the shelf", "on a charger"):
        return "the pack that went out stays with the unit, or is missing"
    if state.custody in OUT and state.battery == "faulty":
        return "a faulty pack does not go out; a fault found later holds its unit"
    return ""


def every_state() -> tuple[tuple[State, ...], dict[str, int]]:
    """The states that can be, and how many cannot, by why."""
    possible, why = [], dict[str, int]()
    for parts in product((one.value for one in Where), CUSTODIES, SERVICEABLE, BATTERIES):
        state = State(*parts)
        reason = impossible(state)
        if reason:
            why[reason] = why.get(reason, 0) + 1
        else:
            possible.append(state)
    return tuple(possible), why


def usual_battery(state: State) -> bool:
    """Whether the pack is where it usually is: with a unit that is out, else on the shelf."""
    if state.serviceable == "hold: battery gone":
        return True
    return state.battery == ("in the unit" if state.custody in OUT else "on the shelf")
