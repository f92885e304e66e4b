"""Medical clearance, training and fit test: whether each stands today, and until when."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Clearance, ClearanceKind

BASIS = {
    ClearanceKind.MEDICAL: "29 CFR 1910.134(e)",
    ClearanceKind.TRAINING: "29 CFR 1910.134(k)(5)",
    ClearanceKind.FIT_TEST: "29 CFR 1910.134(f)(2)",
}
NAMES = {
    ClearanceKind.MEDICAL: "Medical clearance",
    ClearanceKind.TRAINING: "Training",
    ClearanceKind.FIT_TEST: "Fit test",
}
YEARLY = (ClearanceKind.TRAINING, ClearanceKind.FIT_TEST)


@dataclass(frozen=True)
class ClearanceState:
    """One kind of clearance today. `until` is its last good day; None where no end was given.

    `given_on` None means there is none on file. `proven` is False where another employer's proof is asked for and
    none is on file: then it does not stand, whatever its date.
    """

    kind: ClearanceKind
    stands: bool
    given_on: date | None
    until: date | None
    cleared: bool = True
    proven: bool = True

    @property
    def ended(self) -> bool:
        """There is one, and it ran out."""
        return self.given_on is not None and self.cleared and self.proven and not self.stands


def clearance_state(
    clearances: Sequence[Clearance],
    kind: ClearanceKind,
    today: date,
    *,
    model: str = "",
    size: str = "",
    proofs: Collection[int] | None = None,
) -> ClearanceState:
    """How one kind of clearance stands; a fit test counts only for the model and size it was made with.

    `proofs` are the ids of those whose employer's proof is on file; None where no proof is asked for. The last word
    counts, proven or not.
    """
    of_kind = [one for one in clearances if one.kind is kind and one.given_on <= today]
    if kind is ClearanceKind.FIT_TEST:
        of_kind = [one for one in of_kind if one.model == model and (not size or one.size == size)]
    if not of_kind:
        return ClearanceState(kind, False, None, None)
    last = max(of_kind, key=lambda one: (one.given_on, one.id))
    until = good_until(last)
    proven = proofs is None or last.id in proofs
    stands = last.cleared and proven and (until is None or today <= until)
    return ClearanceState(kind, stands, last.given_on, until, last.cleared, proven)


def good_until(clearance: Clearance) -> date | None:
    """Its last good day: training and fit tests run a year to the same date, medical only to a given 'until'.

    29 CFR 1910.134(k)(5) and (f)(2) ask for them at least once a year; (e) gives no interval.
    """
    if clearance.kind not in YEARLY:
        return clearance.until
    year_on = same_date_next_year(clearance.given_on)
    return min(year_on, clearance.until) if clearance.until else year_on


def same_date_next_year(on: date) -> date:
    """The same date a year on; 29 February becomes 28 February."""
    try:
        return on.replace(year=on.year + 1)
    except ValueError:
        return on.replace(year=on.year + 1, day=28)


def needed(model: UnitModel, required: bool = True) -> tuple[ClearanceKind, ...]:
    """What a wearer of this model needs: a helmet without air asks for none, a tight-fitting one for all.

    Where the area does not require a respirator, wearing one is voluntary: the medical part stays, training and fit
    test are not asked for (29 CFR 1910.134(c)(2)(ii)).
    """
    if model.facepiece == "none":
        return ()
    if not required:
        return (ClearanceKind.MEDICAL,)
    if model.tight_fitting:
        return (ClearanceKind.MEDICAL, ClearanceKind.TRAINING, ClearanceKind.FIT_TEST)
    return (ClearanceKind.MEDICAL, ClearanceKind.TRAINING)
