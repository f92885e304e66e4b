"""What stands against keeping a unit that is out: each reason, since when, and what is no reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.protection import Weighing
from cribdesk.crib.reasons import Protection
from cribdesk.crib.recheck import RANK, Holding, against_keeping, severity
from cribdesk.crib.records import Area, ClearanceKind, Custody, Person, Where, WorkLimit
from cribdesk.crib.refusal import Level
from cribdesk.crib.rules import NO_RULES
from cribdesk.desk.protection import respirator_of
from tests.crib import given
from tests.crib.areas import CASES as AREAS
from tests.crib.areas import Case
from tests.crib.given import FOUND, NOW, TODAY, clearances, hold, rules, standing, unit, with_part
from tests.crib.test_reasons import lapsed
from tests.procedure.house import models

WEARER = Person(id=2, label="P000138F", name="Łucja Wronecka")
OUT = Custody(id=6, unit_id=7, person_id=2, issued_at=NOW - timedelta(hours=1), issued_by=1)
BY_CHOICE = Area(id=2, label="A000007B", name="Store", required=False)


def holding(of: str = "WL1", **changes: Any) -> Holding:
    """A unit in good order, out with somebody who may have it."""
    at = standing(of, unit=unit(of, where=Where.OUT))
    made = Holding(
        unit=at.unit, model=models()[of], standing=at, custody=OUT, person=WEARER, clearances=clearances(),
        area=None, bench_by=None, today=TODAY,
    )  # fmt: skip
    return replace(made, **changes)


CASES: dict[str, tuple[Holding, str, str, object]] = {
    "held": (
        holding(standing=standing(holds=(hold(),))),
        "on-hold",
        "On hold: Airflow too low",
        NOW - timedelta(minutes=5),
    ),
    "a part past its date": (
        holding(standing=with_part(standing(), "seal", expires_on=date(2026, 11, 20))),
        "on-hold",
        "On hold: Face seal: past its date, Fri 20 Nov",
        date(2026, 11, 21),
    ),
    "its lot recalled": (
        holding(standing=replace(with_part(standing(), "seal", lot_id=9), blocked={9: "recalled"})),
        "on-hold",
        "On hold: Face seal: its lot is blocked, recalled",
        None,
    ),
    "hair at the seal": (
        holding("FF1", hair_at=NOW),
        "facial-hair",
        "Facial hair at the seal",
        NOW,
    ),
    "not cleared any more": (
        holding(clearances=lapsed(ClearanceKind.MEDICAL, cleared=False, given_on=TODAY, until=None)),
        "medical",
        "Medical clearance: not cleared",
        TODAY,
    ),
    "training ran out": (
        holding(clearances=lapsed(ClearanceKind.TRAINING)),
        "training",
        "Training ended 3 days ago",
        date(2026, 11, 23),
    ),
    "a work limit came": (
        holding("FF1", work_limits=(WorkLimit(person_id=2, code="loose-fitting only", given_on=TODAY, by_id=1),)),
        "work-limit",
        "Work limit: loose-fitting only",
        TODAY,
    ),
    "fit test ran out": (
        holding("FF1", clearances=lapsed(ClearanceKind.FIT_TEST)),
        "fit-test",
        "Fit test ended 3 days ago",
        date(2026, 11, 23),
    ),
    "no proof on file": (
        holding(clearances=lapsed(ClearanceKind.MEDICAL, until=None, proven=False)),
        "medical",
        "Medical clearance: no proof of the employer",
        None,
    ),
    "badge ended": (
        holding(person=replace(WEARER, ends_on=date(2026, 11, 24))),
        "badge-ended",
        "Badge ended yesterday",
        TODAY,
    ),
    "badge dead": (holding(person=replace(WEARER, active=False)), "badge-dead", "This badge is no longer active", None),
    "bench overdue": (
        holding(bench_by=date(2026, 11, 24)),
        "bench-due",
        "Bench inspection was due yesterday",
        TODAY,
    ),
    "no model": (
        holding(standing=None, model=None),
        "no-model",
        "Model WL1 has no file: nothing can be said of it",
        None,
    ),
}

AREA = Area(id=1, label="A000003P", name="Plate shop, bay 3")


def in_area(case: Case) -> Holding:
    """A unit in good order, out in an area that came to ask this."""
    respirator = replace(respirator_of(models()[case.model], rules()), **case.respirator)
    return holding(case.model, area=AREA, protection=Protection(case.area, respirator, Weighing(rules(), TODAY)))


def since(case: Case) -> date | None:
    """The day of the finding that says so, of the change of process; of what is said of the place none is known."""
    if case.code == "process-changed":
        return case.area.changed_on
    if case.words.endswith("nothing is assessed that this unit filters"):
        return None
    by_agent = case.code not in ("oxygen", "idlh", "confined", "explosive", "no-factor", "mixture", "shade")
    return FOUND if by_agent and case.area.findings else None


STOPPED = {name: case for name, case in AREAS.items() if case.level is Level.STOP}
CASES |= {f"area: {name}": (in_area(one), one.code, one.words, since(one)) for name, one in STOPPED.items()}
CASES["area: no rule set"] = (
    replace(in_area(AREAS["enough"]), protection=replace(given.protection(), with_=Weighing(NO_RULES, TODAY))),
    "no-rules",
    "The rule set of this site has no file: nothing can be judged",
    None,
)


@pytest.mark.parametrize("case", list(CASES))
def test_each_reason(case: str) -> None:
    """The one fact gives the one reason, with these words, and since when; it is a stop with a basis and a remedy."""
    held, code, words, begun = CASES[case]
    (one,) = [each for each in against_keeping(held) if each.reason.code == code]
    assert (one.reason.code, one.words, one.since) == (code, words, begun)
    assert (one.reason.level, bool(one.reason.basis), bool(one.reason.detail)) == (Level.STOP, True, True)


def test_every_code_has_its_rank() -> None:
    """Each code is met above, so that none of them fails only when it is sorted."""
    assert {code for _, code, *_ in CASES.values()} == set(RANK)


@pytest.mark.parametrize("model", list(models()))
def test_all_well_is_no_reason(model: str) -> None:
    """Nobody is called in who may have it; the last good day of badge and bench counts as good."""
    good = holding(model, person=replace(WEARER, ends_on=TODAY), bench_by=TODAY)
    assert against_keeping(good) == ()


def test_cautions_of_an_area_call_nobody_in() -> None:
    """A gas below its limit, a review overdue: said when something is handed out, no reason to call it in."""
    for case in AREAS.values():
        codes = {one.reason.code for one in against_keeping(in_area(case))}
        assert case.code in codes or case.level is not Level.STOP
        assert "gas" not in codes
        assert "review" not in codes


def test_over_a_limit_training_is_asked_for_whatever_the_area_is_marked_as() -> None:
    """29 CFR 1910.134(a)(2), (c)(2)(ii): the finding counts, not the mark."""
    over = in_area(replace(AREAS["enough"], area=given.asked(given.agent(3.0), required=False)))
    late = replace(over, area=BY_CHOICE, clearances=lapsed(ClearanceKind.TRAINING))
    assert [one.reason.code for one in against_keeping(late)] == ["training"]


def test_dirty_or_uninspected_is_no_reason_while_it_is_out() -> None:
    """It left clean and inspected; that it is worn now calls nobody in."""
    assert against_keeping(holding(standing=standing(last_pass=None))) == ()


def test_a_lapse_that_the_model_or_the_area_does_not_ask_for() -> None:
    """No fit test for a loose-fitting unit; no training where none is required (29 CFR 1910.134(c)(2)(ii))."""
    assert against_keeping(holding(clearances=lapsed(ClearanceKind.FIT_TEST))) == ()
    late = holding(clearances=lapsed(ClearanceKind.TRAINING), area=BY_CHOICE)
    assert against_keeping(late) == ()
    now_required = replace(late, area=replace(BY_CHOICE, required=True))
    assert [one.reason.code for one in against_keeping(now_required)] == ["training"]


@pytest.mark.parametrize("where", [Where.MISSING, Where.SENT_OUT])
def test_nobody_to_call_it_in_from(where: Where) -> None:
    """What is missing or sent out is in nobody's hands."""
    given = holding(person=replace(WEARER, active=False))
    assert against_keeping(replace(given, unit=replace(given.unit, where=where))) == ()


def test_the_worst_stands_first() -> None:
    """What the wearer breathes through before what is on paper."""
    everything = holding(
        standing=standing(holds=(hold(),)), clearances=lapsed(ClearanceKind.TRAINING),
        person=replace(WEARER, active=False), bench_by=date(2026, 11, 1),
    )  # fmt: skip
    found = against_keeping(everything)
    assert [one.reason.code for one in found] == ["on-hold", "training", "badge-dead", "bench-due"]
    assert severity(found) < severity(found[1:]) < severity(())
