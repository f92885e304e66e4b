"""Work limits as codes, fit tests by method and factor, the look at the face; and what never turns a stop into fine."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.acceptance import WHO_ACCEPTS, Accepted, still_wanting, who_accepts
from cribdesk.crib.change import outlook
from cribdesk.crib.clearance import (
    FIT_FACTORS,
    FIT_METHODS,
    clearance_state,
    ends_soon,
    factor_by_fit,
    fit_trouble,
    in_days,
    until_words,
)
from cribdesk.crib.reasons import reasons, stops
from cribdesk.crib.records import Clearance, ClearanceKind, Role
from cribdesk.crib.refusal import WORST_FIRST, Level, Reason
from cribdesk.crib.run_time import RunOutlook
from cribdesk.crib.work_limit import KINDS, Wear, limit_of, limit_reasons, words_of
from tests.crib.given import NOW, TODAY, facts, standing, with_part
from tests.procedure.house import models, text_of

STOP, CAUTION, FINE = Level.STOP, Level.CAUTION, Level.FINE


# Codes.


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("loose-fitting only", "Loose-fitting only"),
        ("powered only", "Powered units only"),
        ("hours at most 2", "2\u00a0h a day at most"),
        ("hours at most 2.5", "2.5\u00a0h a day at most"),
        ("not above 30 C", "Not where it is above 30\u00a0°C"),
        ("not in confined spaces", "Not in confined spaces"),
    ],
)
def test_codes_are_read_and_written_back(code: str, words: str) -> None:
    """Each code says its words, and is written as it was read."""
    assert (limit_of(code).code, limit_of(code).words, words_of(code)) == (code, words, words)


@pytest.mark.parametrize(
    "code",
    ["", "asthma", "hours at most", "hours at most N", "hours at most -1", "hours at most 99", "hours at most nan",
     "hours at most inf", "not above 500 C", "not above C", "loose-fitting only 2"],
)  # fmt: skip
def test_what_is_no_code_is_refused(code: str) -> None:
    """No free words, no figure that cannot be: a condition does not slip in as a limit; and it stops an issue."""
    with pytest.raises(ValueError, match=r"no work limit|no number|between"):
        limit_of(code)
    (found,) = limit_reasons((code,), Wear(models()["WL1"], 4.0))
    assert found.level is STOP


def test_every_kind_has_its_weight() -> None:
    """Each sort of limit stops what breaks it, but for the warmth that the crib does not see."""
    tight, bare = models()["FF1"], models()["HM1"]
    broken = {
        "loose": Wear(tight, 4.0),
        "powered": Wear(bare, 4.0),
        "hours": Wear(tight, 4.0),
        "warm": Wear(tight, 4.0),
        "confined": Wear(tight, 4.0, confined=True),
    }
    codes = {one.kind: one.code.replace("N", "16" if one.kind == "warm" else "2") for one in KINDS}
    levels = {kind: next(limit_reasons((codes[kind],), wear)).level for kind, wear in broken.items()}
    assert levels == {kind: CAUTION if kind == "warm" else STOP for kind in codes}
    assert list(limit_reasons(tuple(codes.values()), Wear(models()["AD1"], 9.0))) == []


def test_assigned_has_no_hours_a_day() -> None:
    """What is kept for weeks cannot be held to hours a day: it is issued for a time."""
    (found,) = limit_reasons(("hours at most 16",), Wear(models()["WL1"], 1.0, assigned=True))
    assert (found.level, "Issue it for a time" in found.detail) == (STOP, True)


@given(st.floats(0.5, 16), st.floats(0.5, 16), st.floats(0, 24), st.floats(0, 24), st.floats(0, 12))
def test_fewer_hours_allowed_or_more_worn_never_help(
    one: float, two: float, planned: float, more: float, worn: float
) -> None:
    """A tighter limit, a longer plan, hours worn already: none of them turns a stop into fine."""
    less, most = sorted((one, two))
    model = models()["WL1"]

    def level(figure: float, hours: float, before: float) -> int:
        (found,) = limit_reasons((f"hours at most {figure:g}",), Wear(model, hours, before))
        return WORST_FIRST.index(found.level)

    assert level(less, planned, worn) <= level(most, planned, worn)
    assert level(most, planned + more, worn) <= level(most, planned, worn)
    assert level(most, planned, worn + more) <= level(most, planned, worn)


# Clearances.


@given(
    st.sampled_from(list(ClearanceKind)),
    st.dates(date(2024, 1, 1), date(2027, 1, 1)),
    st.one_of(st.none(), st.integers(0, 900)),
    st.integers(0, 900),
)
def test_a_shorter_clearance_never_turns_a_stop_into_fine(
    kind: ClearanceKind, given_on: date, days: int | None, shorter: int
) -> None:
    """The reasons of an issue with an earlier end are no better than with the later one, or with none."""
    long = given_on + timedelta(days=days) if days is not None else None
    short = given_on + timedelta(days=min(shorter, days) if days is not None else shorter)
    found = []
    for until in (long, short):
        row = Clearance(id=1, person_id=2, kind=kind, given_on=given_on, until=until, model="FF1", size="")
        state = clearance_state([row], kind, TODAY, model="FF1")
        before = facts("FF1")
        changed = tuple(state if one.kind is kind else one for one in before.clearances)
        found.append({one.code for one in stops(reasons(replace(before, clearances=changed), NOW))})
    assert found[0] <= found[1]


def test_blank_is_not_lapsed() -> None:
    """A medical clearance ends only where the health professional gave a date: 29 CFR 1910.134(e)."""
    row = Clearance(id=1, person_id=2, kind=ClearanceKind.MEDICAL, given_on=date(1999, 1, 1))
    state = clearance_state([row], ClearanceKind.MEDICAL, TODAY)
    assert (state.stands, state.until, ends_soon(state, TODAY), until_words(state, TODAY)) == (True, None, False, "")


@pytest.mark.parametrize(
    ("left", "soon", "words"),
    [
        (12, True, "until 7 Dec 2026, in 12 days"),
        (30, True, "until 25 Dec 2026, in 30 days"),
        (31, False, "until 26 Dec 2026"),
        (1, True, "until 26 Nov 2026, tomorrow"),
        (0, True, "until 25 Nov 2026, today"),
    ],
)
def test_what_ends_soon_is_said_beforehand(left: int, soon: bool, words: str) -> None:
    """Within thirty days the days left are told; the last good day still counts."""
    row = Clearance(
        id=1, person_id=2, kind=ClearanceKind.MEDICAL, given_on=date(2025, 1, 1), until=TODAY + timedelta(days=left)
    )
    state = clearance_state([row], ClearanceKind.MEDICAL, TODAY)
    assert (state.stands, ends_soon(state, TODAY), until_words(state, TODAY)) == (True, soon, words)
    assert in_days(2) == "in 2 days"


# Fit tests: 29 CFR 1910.134(f)(7), seen quoted: 100 for a half mask, 500 for a full facepiece.


@pytest.mark.parametrize(
    ("model", "method", "factor", "passed"),
    [
        ("HM1", FIT_METHODS[0], 100, True),
        ("HM1", FIT_METHODS[0], 99, False),
        ("FF1", FIT_METHODS[0], 500, True),
        ("FF1", FIT_METHODS[0], 499, False),
        ("FF1", FIT_METHODS[0], None, False),
        ("FF1", "qualitative: saccharin aerosol", None, True),
        ("FF1", "qualitative: saccharin aerosol", 700, False),
        ("FF1", "by eye", None, False),
        ("WL1", FIT_METHODS[0], 9000, False),
    ],
)
def test_fit_tests_pass_by_facepiece(model: str, method: str, factor: int | None, passed: bool) -> None:
    """The factor a facepiece needs, a method of Appendix A, and no test of what is loose-fitting."""
    assert (fit_trouble(models()[model], method, factor) == "") is passed


def test_the_fit_factors_stand_in_the_table_of_duties() -> None:
    """resources/tables/program_duties.csv, d24, says the same two figures, with its paragraph."""
    (row,) = [one for one in text_of("tables", "program_duties.csv").splitlines() if one.startswith("d24,")]
    told = {name: int(figure) for figure, name in re.findall(r"(\d+) \((half|full)\)", row)}
    assert told == {"half": FIT_FACTORS["half_mask"], "full": FIT_FACTORS["full_facepiece"]}
    assert "1910.134(f)(7)" in row


def test_a_fit_test_counts_for_its_model_and_size() -> None:
    """One unit model is one make and style: model and size are the four that (f)(2) names."""
    row = Clearance(
        id=1, person_id=2, kind=ClearanceKind.FIT_TEST, given_on=TODAY, model="FF1", size="M", method=FIT_METHODS[0],
        fit_factor=700,
    )  # fmt: skip
    stands = {
        (model, size): clearance_state([row], ClearanceKind.FIT_TEST, TODAY, model=model, size=size).stands
        for model in ("FF1", "HM1")
        for size in ("M", "L")
    }
    assert stands == {("FF1", "M"): True, ("FF1", "L"): False, ("HM1", "M"): False, ("HM1", "L"): False}


def test_taste_and_smell_bound_what_has_no_blower() -> None:
    """A powered facepiece may be tested either way, in negative-pressure mode: 1910.134(f)(8)."""
    smoke = "qualitative: irritant smoke"
    row = Clearance(id=1, person_id=2, kind=ClearanceKind.FIT_TEST, given_on=TODAY, model="FF1", method=smoke)
    state = clearance_state([row], ClearanceKind.FIT_TEST, TODAY, model="FF1")
    powered = models()["FF1"]
    assert factor_by_fit(powered, state) is None
    assert factor_by_fit(replace(powered, powered=False), state) == 10


# Cautions accepted by name.


def caution(code: str, words: str = "Look out", subject: str = "") -> Reason:
    """One caution."""
    return Reason(CAUTION, code, words, "", "house rule", subject)


def test_a_stop_is_never_accepted() -> None:
    """Only cautions are asked for; a stop of the same code stays one."""
    stop = Reason(STOP, "review", "Look out", "", "house rule")
    assert still_wanting((stop, caution("overdue")), ()) == ()
    assert still_wanting((stop, caution("review")), ()) == (caution("review"),)


def test_what_reads_otherwise_is_accepted_anew() -> None:
    """An acceptance counts for the caution as it read; another agent or another date is another one."""
    taken = Accepted("review", "", "Look out", "asked", 5)
    assert still_wanting((caution("review"),), (taken,)) == ()
    assert still_wanting((caution("review", "Look out, since May"),), (taken,)) != ()
    assert still_wanting((caution("review", subject="lead"),), (taken,)) != ()


def test_the_strictest_role_accepts_several() -> None:
    """Where one of them takes the program administrator, so does the lot."""
    assert who_accepts((caution("review"),)) == tuple(Role)
    assert who_accepts((caution("review"), caution("worn-part"))) == (Role.PROGRAM,)
    assert all(Role.PROGRAM in roles for roles in WHO_ACCEPTS.values())


# Will it last the shift?


def test_the_earliest_leads_and_names_the_next() -> None:
    """A pack short and a part short: what ends first stands first, with the other in its detail."""
    worn = with_part(standing(), "pre-filter", worn_before_hours=57.0)
    short = facts(at=worn, run_time=RunOutlook("high", 5.1, 0.93))
    found = [one for one in reasons(short, NOW) if one.code in ("part-due", "run-time")]
    left = next(one.middle for one in outlook(worn, 7.0) if one.position == "pre-filter")
    assert left is not None
    assert left < 5.1
    assert [one.code for one in found] == ["part-due", "run-time"]
    assert found[0].detail.endswith("After it: the pack, about 5.1\u00a0h.")
    later = facts(at=worn, run_time=RunOutlook("high", 1.0, 0.99))
    found = [one for one in reasons(later, NOW) if one.code in ("part-due", "run-time")]
    assert [one.code for one in found] == ["run-time", "part-due"]
    assert "After it: pre-filter, about" in found[0].detail
    worn = with_part(standing(), "pre-filter", worn_before_hours=90.0)
    both = with_part(worn, "outer-cover-lens", worn_before_hours=90.0)
    found = [one for one in reasons(facts(at=both), NOW) if one.code == "part-due"]
    assert len(found) == 2
    assert "Due too: " in found[0].detail
    assert "After it" not in found[0].detail


def test_where_all_last_one_line_says_so() -> None:
    """Fine, with what is planned and what is left of the pack and of the part that ends first."""
    (found,) = [one for one in reasons(facts(run_time=RunOutlook("high", 9.0, 0.02)), NOW) if one.code == "lasts"]
    assert (found.level, found.words) == (FINE, "Should last until 14:12")
    assert found.detail.startswith("7\u00a0h planned; left: pack about 9\u00a0h, outer cover lens about 40\u00a0h")
    assert "rule of thumb, common practice, no source" in found.basis
