"""Whether the proof that clears a hold is there."""

from __future__ import annotations

import re

from cribdesk.crib.records import Hold
from cribdesk.crib.serviceable import Standing


def proof_of(hold: Hold, standing: Standing) -> str:
    """The proof that clears the hold, in words, or nothing while there is none.

    'Bench inspection' counts a pass at the bench that began after the hold was placed; a meter out of calibration
    proves nothing. A recalled lot and a battery are named in the hold's detail and are gone once nothing fitted
    carries that name.
    """
    passed, cleaned = standing.last_pass, standing.last_cleaning
    if passed is not None and not passed.instrument_good:
        passed = None
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
    """A recall's detail names each lot by '#' and its id; without one nothing proves it."""
    lots = recalled(hold.detail)
    return bool(lots) and not lots & {one.lot_id for one in standing.fitted}


def recalled(detail: str) -> set[int]:
    """The ids of the lots that a recall's detail names."""
    return {int(number) for number in re.findall(r"#(\d+)", detail)}
