"""What stands against this wearer's face and work limits: the look at the seal, eyeglass temples, limits as codes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.words import clock, when
from cribdesk.crib.work_limit import Wear, limit_reasons

if TYPE_CHECKING:
    from cribdesk.crib.reasons import Facts

LOOK_LASTS = timedelta(hours=1)
"""So long a look at the seal counts for an issue (a house rule): a face changes by the shift, not by the minute."""

SEAL = "29 CFR 1910.134(g)(1)(i)"
GLASSES = "29 CFR 1910.134(g)(1)(ii)"
BOTH = "29 CFR 1910.134(g)(1)"


def seal_reasons(facts: Facts, moment: datetime) -> Iterator[Reason]:
    """Nothing lies between the skin and the seal of a tight-fitting facepiece: asked anew at each issue.

    Hair that was seen holds for the day. What is assigned and goes back to its wearer may be carried to them: then the
    look is the wearer's own, and a caution says so.
    """
    if not facts.model.tight_fitting or facts.person is None:
        return
    if facts.hair_at is not None:
        words = f"Facial hair at the seal, seen {when(facts.hair_at, facts.zone, moment)}"
        detail = "Nothing tight-fitting goes out to this wearer. Once the seal is clear, say so under More."
        yield Reason(Level.STOP, "facial-hair", words, detail, SEAL)
        return
    look = facts.seal
    if look is not None and (look.hair or look.under_seal):
        words = f"Something lies under the seal, seen {clock(look.at, facts.zone)}"
        detail = "Eyeglasses go into the facepiece, in the maker's own frame. Take it off, then look again."
        yield Reason(Level.STOP, "under-seal", words, detail, GLASSES)
        return
    if look is not None:
        yield Reason(Level.FINE, "seal-look", "Nothing under the seal", f"looked at {clock(look.at, facts.zone)}", BOTH)
        return
    if not facts.required:  # worn by choice there: the fit is not asked for either
        return
    detail = "Look at the face: facial hair, eyeglass temples, straps, anything between skin and seal."
    if _carried_back(facts):
        yield Reason(Level.CAUTION, "seal-look", "Seal not looked at here: the wearer does", detail, BOTH)
    else:
        yield Reason(Level.STOP, "seal-look", "Seal not looked at yet", detail, BOTH)


def _carried_back(facts: Facts) -> bool:
    last = facts.standing.last_custody
    return (
        facts.assigned
        and last is not None
        and last.assigned
        and facts.person is not None
        and last.person_id == facts.person.id
    )


def work_limit_reasons(facts: Facts) -> Iterator[Reason]:
    """Each work limit of the wearer, weighed against what is planned."""
    if facts.person is None:
        return
    wear = Wear(facts.model, facts.planned_hours, facts.worn_today_hours, facts.assigned, facts.confined)
    yield from limit_reasons(facts.work_limits, wear)
