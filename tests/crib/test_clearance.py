"""Clearances to the day: a year is a year, also from a leap day. 29 CFR 1910.134(e), (f)(2), (k)(5)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.clearance import clearance_state, good_until, needed, same_date_next_year
from cribdesk.crib.records import Clearance, ClearanceKind
from tests.procedure.house import models

MEDICAL, TRAINING, FIT = ClearanceKind.MEDICAL, ClearanceKind.TRAINING, ClearanceKind.FIT_TEST


def given_on(kind: ClearanceKind, on: date, **more: object) -> Clearance:
    """One clearance of somebody."""
    return Clearance(person_id=1, kind=kind, given_on=on, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("on", "last"),
    [
        (date(2025, 11, 25), date(2026, 11, 25)),
        (date(2024, 2, 29), date(2025, 2, 28)),
        (date(2023, 3, 1), date(2024, 3, 1)),
        (date(2027, 2, 28), date(2028, 2, 28)),
    ],
)
def test_a_year_runs_to_the_same_date(on: date, last: date) -> None:
    """Training of a day is good through the same date a year on, and not the day after."""
    training = given_on(TRAINING, on)
    assert good_until(training) == last
    assert clearance_state([training], TRAINING, last).stands
    lapsed = clearance_state([training], TRAINING, last + timedelta(days=1))
    assert not lapsed.stands
    assert lapsed.ended


@given(st.dates(date(1990, 1, 1), date(2090, 12, 31)))
def test_never_longer_than_a_year_and_a_day(on: date) -> None:
    """Counted in days, never more than 366 after it was given, never less than 365."""
    assert 365 <= (same_date_next_year(on) - on).days <= 366


def test_medical_clearance_has_no_interval_of_its_own() -> None:
    """29 CFR 1910.134(e) names no period: it stands until the given end, or until withdrawn."""
    open_ended = given_on(MEDICAL, date(2001, 1, 1))
    assert clearance_state([open_ended], MEDICAL, date(2026, 11, 25)).stands
    ended = given_on(MEDICAL, date(2025, 1, 1), until=date(2026, 11, 24))
    assert not clearance_state([ended], MEDICAL, date(2026, 11, 25)).stands


def test_the_last_word_counts() -> None:
    """A later 'not cleared' ends an earlier clearance; a later clearance ends that."""
    was, not_now = given_on(MEDICAL, date(2025, 1, 1)), given_on(MEDICAL, date(2026, 5, 1), cleared=False)
    state = clearance_state([not_now, was], MEDICAL, date(2026, 11, 25))
    assert not state.stands
    assert not state.cleared
    again = given_on(MEDICAL, date(2026, 9, 1))
    assert clearance_state([not_now, was, again], MEDICAL, date(2026, 11, 25)).stands


def test_a_shorter_given_end_wins() -> None:
    """Training with an end of its own ends then, not a year on; a longer one does not stretch the year."""
    short = given_on(TRAINING, date(2026, 1, 1), until=date(2026, 6, 1))
    long = given_on(TRAINING, date(2026, 1, 1), until=date(2030, 1, 1))
    assert good_until(short) == date(2026, 6, 1)
    assert good_until(long) == date(2027, 1, 1)


@pytest.mark.parametrize(("model", "size", "stands"), [("FF1", "M", True), ("FF1", "L", False), ("HM1", "M", False)])
def test_a_fit_test_counts_for_its_model_and_size_only(model: str, size: str, stands: bool) -> None:
    """29 CFR 1910.134(f): the same make, model, style and size."""
    test = given_on(FIT, date(2026, 1, 9), model="FF1", size="M")
    assert clearance_state([test], FIT, date(2026, 11, 25), model=model, size=size).stands is stands


def test_sizes_that_stand_are_named_where_this_one_was_never_tried() -> None:
    """Not one that ended, that failed since, of another model, or whose proof is missing; nothing where one stands."""
    today = date(2026, 11, 25)
    good = given_on(FIT, date(2026, 1, 9), model="FF1", size="L", id=1)
    tests = [
        good,
        given_on(FIT, date(2025, 1, 9), model="FF1", size="S", id=2),
        given_on(FIT, date(2026, 1, 9), model="FF1", size="XL", id=3),
        given_on(FIT, date(2026, 2, 9), model="FF1", size="XL", cleared=False, id=4),
        given_on(FIT, date(2026, 1, 9), model="HM1", size="XS", id=5),
    ]
    none = clearance_state(tests, FIT, today, model="FF1", size="M")
    assert (none.stands, none.given_on, none.other_sizes) == (False, None, ("L",))
    assert clearance_state(tests, FIT, today, model="FF1", size="M", proofs=()).other_sizes == ()
    assert clearance_state(tests, FIT, today, model="FF1", size="L").other_sizes == ()


def test_nothing_of_tomorrow_counts_today() -> None:
    """A clearance given in the future stands not yet."""
    early = given_on(TRAINING, date(2026, 11, 26))
    assert clearance_state([early], TRAINING, date(2026, 11, 25)).given_on is None


def test_without_its_proof_a_clearance_does_not_stand() -> None:
    """A house rule for another employer's people; the last word counts, also where an older one is proven."""
    old = given_on(MEDICAL, date(2025, 1, 1), id=4)
    new = given_on(MEDICAL, date(2026, 5, 1), id=5)
    today = date(2026, 11, 25)
    assert clearance_state([old], MEDICAL, today, proofs={4}).stands
    assert clearance_state([old], MEDICAL, today, proofs=None).stands
    state = clearance_state([old, new], MEDICAL, today, proofs={4})
    assert (state.stands, state.proven, state.ended, state.cleared) == (False, False, False, True)


def test_what_is_worn_by_choice_asks_for_medical_only() -> None:
    """29 CFR 1910.134(c)(2)(ii), program_duties.csv d05; a helmet without air is no respirator."""
    asked = {code: needed(model, required=False) for code, model in models().items()}
    assert asked == {"WL1": (MEDICAL,), "WH1": (MEDICAL,), "FF1": (MEDICAL,), "HM1": (MEDICAL,), "AD1": ()}


def test_what_each_model_asks_for() -> None:
    """Tight-fitting: all three; loose-fitting: no fit test; a helmet without air: none."""
    asked = {code: set(needed(model)) for code, model in models().items()}
    assert asked == {
        "WL1": {MEDICAL, TRAINING},
        "WH1": {MEDICAL, TRAINING},
        "FF1": {MEDICAL, TRAINING, FIT},
        "HM1": {MEDICAL, TRAINING, FIT},
        "AD1": set(),
    }


@pytest.mark.parametrize(
    ("given_on", "months", "until"),
    [
        (date(2026, 2, 28), 12, date(2027, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 24, date(2026, 2, 28)),
        (date(2026, 11, 25), 24, date(2028, 11, 25)),
        (date(2026, 12, 31), 1, date(2027, 1, 31)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
    ],
)
def test_so_many_months_on(given_on: date, months: int, until: date) -> None:
    """The same date so many months on, or the month's last day: a rule set says how many."""
    made = Clearance(person_id=1, kind=ClearanceKind.FIT_TEST, given_on=given_on, model="FF1", size="M")
    assert good_until(made, {ClearanceKind.FIT_TEST: months}) == until
