"""Medical clearance, training and fit test: whether each stands today, and until when."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Clearance, ClearanceKind
from cribdesk.crib.words import count, date_words

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
YEAR = dict.fromkeys(YEARLY, 12)
"""Months that each runs for where the rule set in force says nothing else."""


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
    method: str = ""  # of a fit test
    fit_factor: int | None = None
    other_sizes: tuple[str, ...] = ()  # with which a fit test of the same model stands, where none was made with this

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
    months: Mapping[ClearanceKind, int] = YEAR,
) -> ClearanceState:
    """How one kind of clearance stands; a fit test counts only for the model and size it was made with.

    A unit model is of one make and one style, so model and size say all four that 29 CFR 1910.134(f)(2) names.

    `proofs` are the ids of those whose employer's proof is on file; None where no proof is asked for. The last word
    counts, proven or not.
    """
    of_kind = [one for one in clearances if one.kind is kind and one.given_on <= today]
    others: tuple[str, ...] = ()
    if kind is ClearanceKind.FIT_TEST:
        if size:
            made = [one for one in of_kind if one.model == model and one.size not in ("", size)]
            others = tuple(
                each
                for each in sorted({one.size for one in made})
                if clearance_state([one for one in made if one.size == each], kind, today, model=model, size=each,
                                   proofs=proofs, months=months).stands
            )  # fmt: skip
        of_kind = [one for one in of_kind if one.model == model and (not size or one.size == size)]
    if not of_kind:
        return ClearanceState(kind, False, None, None, other_sizes=others)
    last = max(of_kind, key=lambda one: (one.given_on, one.id))
    until = good_until(last, months)
    proven = proofs is None or last.id in proofs
    stands = last.cleared and proven and (until is None or today <= until)
    return ClearanceState(kind, stands, last.given_on, until, last.cleared, proven, last.method, last.fit_factor)


def good_until(clearance: Clearance, months: Mapping[ClearanceKind, int] = YEAR) -> date | None:
    """Its last good day: training and fit tests run to the same date so many months on, medical only to an 'until'.

    `months` are those of the rule set in force. 29 CFR 1910.134(k)(5) and (f)(2) ask for them at least once a year;
    (e) gives no interval.
    """
    if clearance.kind not in months:
        return clearance.until
    last = same_date_on(clearance.given_on, months[clearance.kind])
    return min(last, clearance.until) if clearance.until else last


def same_date_on(on: date, months: int) -> date:
    """The same date so many months on; the month's last day where it has no such date."""
    year, month = divmod(on.year * 12 + on.month - 1 + months, 12)
    return on.replace(year=year, month=month + 1, day=min(on.day, monthrange(year, month + 1)[1]))


def same_date_next_year(on: date) -> date:
    """The same date a year on; 29 February becomes 28 February."""
    return same_date_on(on, 12)


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


REMIND_DAYS = 30
"""So many days before its last good day a clearance is said to end soon (a house rule)."""


def days_left(state: ClearanceState, today: date) -> int | None:
    """Days from today to its last good day, 0 on that day; None where it does not stand or has no end."""
    return (state.until - today).days if state.stands and state.until else None


def ends_soon(state: ClearanceState, today: date) -> bool:
    """Whether it stands and ends within the days of reminding."""
    left = days_left(state, today)
    return left is not None and left <= REMIND_DAYS


def until_words(state: ClearanceState, today: date) -> str:
    """'until 7 Dec 2026', within the days of reminding 'until 7 Dec 2026, in 12 days'; '' where no end was given."""
    left = days_left(state, today)
    if left is None or state.until is None:
        return ""
    words = f"until {date_words(state.until)}"
    return f"{words}, {in_days(left)}" if ends_soon(state, today) else words


def in_days(left: int) -> str:
    """'in 12 days', 'tomorrow', 'today'."""
    return {0: "today", 1: "tomorrow"}.get(left, f"in {count(left, 'day')}")


QUANTITATIVE = "quantitative"
QUALITATIVE = "qualitative"
FIT_METHODS = (
    "quantitative: ambient aerosol counter",
    "quantitative: controlled negative pressure",
    "quantitative: generated aerosol",
    "qualitative: saccharin aerosol",
    "qualitative: denatonium benzoate aerosol",
    "qualitative: isoamyl acetate",
    "qualitative: irritant smoke",
)
"""The protocols of 29 CFR 1910.134, Appendix A, parts B and C, in our words."""

FIT_FACTORS = {"half_mask": 100, "full_facepiece": 500}
"""The fit factor an instrument has to find, by facepiece: 29 CFR 1910.134(f)(7)."""

QUALITATIVE_FACTOR = 10
"""What a qualitative test supports at most: it shows a fit factor of 100, tenfold safety off it (1910.134(f)(6))."""


def fit_trouble(model: UnitModel, method: str, fit_factor: int | None) -> str:
    """Why such a test was not passed, or cannot be, in words; '' where it was."""
    wanted = FIT_FACTORS.get(model.facepiece)
    if wanted is None:
        return f"{model.short_name} is loose-fitting: no fit test belongs to it"
    if method and method not in FIT_METHODS:
        return f"'{method}' is no method of Appendix A"
    if method.startswith(QUALITATIVE) and fit_factor is not None:
        return "a qualitative test measures no fit factor"
    if method.startswith(QUANTITATIVE) and fit_factor is None:
        return "an instrument measured it: the fit factor is wanted"
    if fit_factor is not None and fit_factor < wanted:
        return f"fit factor {fit_factor}, it takes {wanted} (29 CFR 1910.134(f)(7)): not passed"
    return ""


def factor_by_fit(model: UnitModel, state: ClearanceState) -> int | None:
    """The protection factor that the fit test holds the wearer to; None where it sets no bound.

    A qualitative test may serve for a negative-pressure facepiece only up to factor 10 (1910.134(f)(6)); a powered one
    may be tested either way (f)(8). A test of which nobody said how it was made shows no more than that one.
    """
    bound = not model.powered and model.tight_fitting and not state.method.startswith(QUANTITATIVE)
    return QUALITATIVE_FACTOR if bound else None
