"""The reasons for and against an issue: every rule reached, its words and its basis; and what never turns fine."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.reasons import Facts, Held, at_hand, cautions, reasons, stops, takes_back_own
from cribdesk.crib.records import Area, BatteryPlace, ClearanceKind, Custody, Person, SealLook, Where
from cribdesk.crib.refusal import WORST_FIRST, Level, Reason
from cribdesk.crib.run_time import CAUTION_FROM, RunOutlook
from tests.crib.given import (
    NOW,
    TODAY,
    agent,
    asked,
    back,
    clearances,
    facts,
    hold,
    passed,
    protection,
    standing,
    unit,
    with_part,
)
from tests.procedure.house import models, text_of

STOP, CAUTION, FINE = Level.STOP, Level.CAUTION, Level.FINE
OUT = Custody(id=6, unit_id=7, person_id=3, issued_at=NOW - timedelta(hours=1), issued_by=1)
HOLDER = Person(id=3, label="P000207D", name="Abel Nkemba")


def lapsed(kind: ClearanceKind, **changes: Any) -> tuple[ClearanceState, ...]:
    """All clearances standing but one."""
    state = ClearanceState(kind, False, date(2025, 11, 22), date(2026, 11, 22))
    return tuple(replace(state, **changes) if one.kind is kind else one for one in clearances())


NEVER = {"given_on": None, "until": None}
NOT_CLEARED = {"cleared": False}
DIRTY = standing(last_custody=back(NOW - timedelta(hours=1)))
OWN = standing(last_custody=back(NOW - timedelta(hours=1), person_id=2))
OTHERS = standing(last_custody=back(NOW - timedelta(hours=1), person_id=3))
BATTERY = facts().battery
VOLUNTARY = Area(id=2, label="A000007B", name="Store", required=False)
PERSON = facts().person
assert PERSON is not None
assert BATTERY is not None

ASSIGNED = replace(back(NOW - timedelta(hours=12)), assigned=True)
TASTED = tuple(
    replace(one, method="qualitative: saccharin aerosol") if one.kind is ClearanceKind.FIT_TEST else one
    for one in clearances()
)

CASES: dict[str, tuple[Facts, Level, str, str]] = {
    "everything well": (facts(), FINE, "ready", "Ready"),
    "out": (
        facts(at=standing(unit=unit(where=Where.OUT)), custody=OUT, holder=HOLDER),
        STOP,
        "unit-out",
        "U000417Q is out with Abel Nkemba",
    ),
    "scrapped": (facts(at=standing(unit=unit(where=Where.SCRAPPED))), STOP, "unit-elsewhere", "U000417Q: scrapped"),
    "missing": (facts(at=standing(unit=unit(where=Where.MISSING))), STOP, "unit-elsewhere", "U000417Q: missing"),
    "sent out": (facts(at=standing(unit=unit(where=Where.SENT_OUT))), STOP, "unit-elsewhere", "U000417Q: sent out"),
    "in the cabinet": (
        facts(at=standing(unit=unit(where=Where.EMERGENCY))),
        STOP,
        "unit-elsewhere",
        "U000417Q: emergency cabinet",
    ),
    "held": (facts(at=standing(holds=(hold(),))), STOP, "on-hold", "On hold: Airflow too low"),
    "part past its date": (
        facts(at=with_part(standing(), "seal", expires_on=date(2026, 11, 1))),
        STOP,
        "on-hold",
        "On hold: Face seal: past its date, Sun 1 Nov",
    ),
    "worn by another": (facts(at=OTHERS), STOP, "not-ready", "Not ready: back from its wearer, not looked over yet"),
    "meter was out": (
        facts(at=standing(last_pass=passed(instrument_good=False))),
        STOP,
        "not-ready",
        "Not ready: its last inspection was made with a meter out of calibration",
    ),
    "worn by the same": (
        facts(at=OWN, needs_full_check=True),
        CAUTION,
        "own-unit",
        "Not ready, but it is the wearer's own",
    ),
    "badge dead": (
        facts(person=Person(id=2, label="P1", name="A", active=False)),
        STOP,
        "badge-dead",
        "This badge is no longer active",
    ),
    "badge ended": (
        facts(person=Person(id=2, label="P1", name="A", ends_on=date(2026, 11, 24))),
        STOP,
        "badge-ended",
        "Badge ended yesterday",
    ),
    "medical lapsed": (
        facts(clearances=lapsed(ClearanceKind.MEDICAL)),
        STOP,
        "medical",
        "Medical clearance ended 3 days ago",
    ),
    "medical none": (
        facts(clearances=lapsed(ClearanceKind.MEDICAL, **NEVER)),
        STOP,
        "medical",
        "Medical clearance: none",
    ),
    "medical no": (
        facts(clearances=lapsed(ClearanceKind.MEDICAL, **NOT_CLEARED)),
        STOP,
        "medical",
        "Medical clearance: not cleared",
    ),
    "training lapsed": (
        facts(clearances=lapsed(ClearanceKind.TRAINING)),
        STOP,
        "training",
        "Training ended 3 days ago",
    ),
    "training none": (facts(clearances=lapsed(ClearanceKind.TRAINING, **NEVER)), STOP, "training", "Training: none"),
    "fit test none": (
        facts("FF1", clearances=lapsed(ClearanceKind.FIT_TEST, **NEVER)),
        STOP,
        "fit-test",
        "Fit test: none",
    ),
    "fit test lapsed": (
        facts("FF1", clearances=lapsed(ClearanceKind.FIT_TEST)),
        STOP,
        "fit-test",
        "Fit test ended 3 days ago",
    ),
    "fit test stands": (facts("FF1"), FINE, "fit-test", "Fit tested"),
    "no fit test needed": (facts(), FINE, "fit-test", "Fit test not needed"),
    "medically cleared": (facts(), FINE, "medical", "Medically cleared"),
    "trained": (facts(), FINE, "training", "Trained"),
    "still holds one": (
        facts(holds_now=(Held("U000291A", "Bay 7", NOW - timedelta(hours=9), True),)),
        CAUTION,
        "overdue",
        "Still holds U000291A, overdue",
    ),
    "wrong pack": (
        facts(battery=replace(BATTERY, model="FF1-PACK")),
        STOP,
        "battery-model",
        "B000077D is no battery for welding PAPR",
    ),
    "pack faulty": (
        facts(battery=replace(BATTERY, note="fault: latch broken, U000018N")),
        STOP,
        "battery-fault",
        "B000077D has a fault: latch broken, U000018N",
    ),
    "pack out": (facts(battery_in_use=True), STOP, "battery-elsewhere", "B000077D is in use: in another unit, or out"),
    "pack missing": (
        facts(battery=replace(BATTERY, place=BatteryPlace.MISSING)),
        STOP,
        "battery-elsewhere",
        "B000077D is not here: missing",
    ),
    "pack not charged": (
        facts(battery=replace(BATTERY, charged_at=None)),
        CAUTION,
        "battery-charge",
        "B000077D was not seen on a charger since its last use",
    ),
    "pack charged": (facts(), FINE, "battery", "Battery charged"),
    "pack may not last": (
        facts(run_time=RunOutlook("high", 5.1, 0.93)),
        CAUTION,
        "run-time",
        "This pack may not last until 14:12: it lasts about 5.1\u00a0h on high",
    ),
    "no meter": (facts(needs_full_check=True, meters=()), STOP, "meter", "No flow meter in calibration"),
    "meter there": (facts(needs_full_check=True), FINE, "meter", "Flow meter in calibration"),
    "part due": (
        facts(at=with_part(standing(), "pre-filter", worn_before_hours=55.0)),
        CAUTION,
        "part-due",
        "Pre-filter may fall due before it is back",
    ),
    "part ends tonight": (
        facts(at=with_part(standing(), "pre-filter", expires_on=TODAY), due_at=NOW + timedelta(days=7)),
        CAUTION,
        "part-due",
        "Pre-filter may fall due before it is back",
    ),
    # program_duties.csv d10: 29 CFR 1910.134(d)(3)(i)(A)-(B); what an area asks has its own cases in areas.py
    "enough": (facts(), FINE, "enough", "Enough: factor 25 against 0.6 needed"),
    "no rule set": (
        facts(protection=None),
        STOP,
        "no-rules",
        "The rule set of this site has no file: nothing can be judged",
    ),
    # a house rule, resting on 29 CFR 1910.134(e), (f), (k)
    "contractor without proof": (
        facts(clearances=lapsed(ClearanceKind.MEDICAL, until=None, proven=False)),
        STOP,
        "medical",
        "Medical clearance: no proof of the employer",
    ),
    "due after the badge": (
        facts(person=replace(PERSON, ends_on=TODAY), due_at=NOW + timedelta(days=1)),
        STOP,
        "due-after-badge",
        "The badge ends today, before it is due back",
    ),
    # program_duties.csv d26: 29 CFR 1910.134(g)(1)(i)
    "hair at the seal": (facts("FF1", hair_at=NOW), STOP, "facial-hair", "Facial hair at the seal, seen 06:12"),
    # the look at the face: 29 CFR 1910.134(g)(1)(i)-(ii)
    "seal not looked at": (facts("FF1", seal=None), STOP, "seal-look", "Seal not looked at yet"),
    "seal looked at": (facts("FF1"), FINE, "seal-look", "Nothing under the seal"),
    "carried to its wearer": (
        facts("FF1", replace(standing("FF1"), last_custody=ASSIGNED), seal=None, assigned=True),
        CAUTION,
        "seal-look",
        "Seal not looked at here: the wearer does",
    ),
    "eyeglasses": (
        facts("FF1", seal=SealLook(person_id=2, under_seal=True, at=NOW, by_id=1)),
        STOP,
        "under-seal",
        "Something lies under the seal, seen 06:12",
    ),
    # work limits: 29 CFR 1910.134(e)(6)(i)(A)
    "loose-fitting only": (
        facts("FF1", work_limits=("loose-fitting only",)), STOP, "work-limit", "Work limit: loose-fitting only"
    ),
    "hours left": (
        facts(work_limits=("hours at most 8",)), FINE, "work-limit", "Work limit: 8\u00a0h a day at most"
    ),
    "hours used up": (
        facts(work_limits=("hours at most 8",), worn_today_hours=1.5),
        STOP,
        "work-limit",
        "Work limit: 8\u00a0h a day at most",
    ),
    "warmth": (
        facts(work_limits=("not above 30 C",)), CAUTION, "work-limit", "Work limit: not where it is above 30\u00a0°C"
    ),
    "code from elsewhere": (
        facts(work_limits=("no ladders",)), STOP, "work-limit", "Work limit not understood: no ladders"
    ),
    "lasts": (facts(run_time=RunOutlook("high", 9.0, 0.02)), FINE, "lasts", "Should last until 14:12"),
    # (f)(6), (f)(7), seen quoted: taste and smell show a fit factor of 100, and tenfold safety leaves 10
    "by taste only": (
        replace(
            facts("FF1", clearances=TASTED, protection=protection("FF1", asked(agent(12.0)))),
            model=replace(models()["FF1"], powered=False),
        ),
        STOP,
        "fit-test",
        "Fit tested qualitatively: good for factor 10, 12 needed",
    ),
    # d04: 29 CFR 1910.134(c)(2)(i)
    "no information sheet": (facts(area=VOLUNTARY), STOP, "information-sheet", "Information sheet: not given"),
    "information sheet": (
        facts(area=VOLUNTARY, sheet_given=TODAY),
        FINE,
        "information-sheet",
        "Information sheet given",
    ),
    # d05: 29 CFR 1910.134(c)(2)(ii)
    "worn by choice": (
        facts(area=VOLUNTARY),
        FINE,
        "voluntary",
        "Not required here: training and fit test not asked for",
    ),
    "worn by choice, not cleared": (
        facts(area=VOLUNTARY, clearances=lapsed(ClearanceKind.MEDICAL)),
        STOP,
        "medical",
        "Medical clearance ended 3 days ago",
    ),
}


@pytest.mark.parametrize("case", list(CASES))
def test_each_rule(case: str) -> None:
    """The one fact gives the one reason, with these words."""
    given_facts, level, code, words = CASES[case]
    found = [one for one in reasons(given_facts, NOW) if one.code == code]
    assert [(one.level, one.words) for one in found] == [(level, words)]


def test_the_good_case_has_no_stop() -> None:
    """Everything in order: nothing to stop for, nothing to be cautious of."""
    found = reasons(facts(), NOW)
    assert stops(found) == ()
    assert cautions(found) == ()


@pytest.mark.parametrize(("chance", "said"), [(CAUTION_FROM, True), (CAUTION_FROM - 0.001, False)])
def test_a_short_pack_is_a_caution_and_never_a_stop(chance: float, said: bool) -> None:
    """From one chance in four on the pack's run time is a caution; it stops nothing."""
    found = reasons(facts(run_time=RunOutlook("high", 5.1, chance)), NOW)
    assert stops(found) == ()
    assert ("run-time" in {one.code for one in cautions(found)}) is said


def test_every_rule_is_reached() -> None:
    """Every code that these modules can say is said in some case above."""
    source = "".join(text_of("..", f"cribdesk/crib/{one}.py") for one in ("reasons", "wearer", "work_limit", "lasting"))
    literal = set(re.findall(r'Reason\(\s*Level\.[A-Z]+,\s*"([a-z-]+)"', source))
    assert len(literal) >= 14
    said = {one.code for given_facts, *_ in CASES.values() for one in reasons(given_facts, NOW)}
    assert literal - said == set()


def all_found() -> list[Reason]:
    """Every reason of every case."""
    return [one for given_facts, *_ in CASES.values() for one in reasons(given_facts, NOW)]


def test_words_and_basis() -> None:
    """Each has words that begin with a capital and no full stop, and a basis; a stop says what to do as well."""
    for one in all_found():
        assert one.words[:1].isupper(), one
        assert not one.words.endswith("."), one
        assert one.basis, one
        if one.level is STOP:
            assert one.detail.endswith("."), one


def test_worst_first() -> None:
    """Stops, then cautions, then what is fine."""
    for given_facts, *_ in CASES.values():
        levels = [WORST_FIRST.index(one.level) for one in reasons(given_facts, NOW)]
        assert levels == sorted(levels)


def paragraphs(text: str) -> set[str]:
    """Every paragraph of 29 CFR 1910.134 named in a text: '(h)(1)(i)'."""
    found = set()
    for section in re.findall(r"1910\.134((?:[\s,]*(?:\([a-z0-9]+\))+)+)", text):
        found |= set(re.findall(r"(?:\([a-zA-Z0-9]+\))+", section))
    return found


def test_paragraphs_are_in_the_table_of_duties() -> None:
    """Every paragraph cited is one of resources/tables/program_duties.csv, or the head of one there.

    Source of the table: 29 CFR 1910.134, paragraph by paragraph, with how each was checked.
    """
    rows = list(csv.DictReader(text_of("tables", "program_duties.csv").splitlines()))
    known = set().union(*(paragraphs(row["source"]) for row in rows))
    assert len(known) > 40
    cited = set().union(*(paragraphs(one.basis) for one in all_found()))
    assert cited >= {"(e)", "(k)(5)", "(f)(2)", "(f)(1)", "(h)(4)", "(d)(3)(i)", "(h)(1)(i)", "(h)(1)(ii)", "(h)(3)"}
    assert [one for one in cited if not any(row.startswith(one) for row in known)] == []


ladder = st.sampled_from(sorted(CASES))


def test_every_hold_is_a_stop_of_its_own() -> None:
    """Two holds give two stops, each with its reason: none hides behind the other."""
    both = facts(at=standing(holds=(hold(), hold("lens", detail="flickers"))))
    found = [one.words for one in stops(reasons(both, NOW))]
    assert found == ["On hold: Airflow too low", "On hold: Lens damaged, or does not darken: flickers"]


@given(ladder, st.sampled_from(["airflow", "dirty", "battery"]))
def test_one_more_hold_never_helps(case: str, reason: str) -> None:
    """With a hold more there is a stop, and no stop that was there turns fine."""
    before = CASES[case][0]
    if before.custody is not None:
        return  # while it is out it is stopped by that
    there = replace(before.standing, holds=(*before.standing.holds, hold(reason)))
    assert_no_better(before, replace(before, standing=there))
    assert any(one.code == "on-hold" for one in stops(reasons(replace(before, standing=there), NOW)))


@given(ladder, st.sampled_from(list(ClearanceKind)), st.sampled_from(["lapsed", "none", "no"]))
def test_a_clearance_lost_never_helps(case: str, kind: ClearanceKind, how: str) -> None:
    """A lapsed, absent or withdrawn clearance never turns a stop into fine."""
    before = CASES[case][0]
    change = {"lapsed": {}, "none": NEVER, "no": NOT_CLEARED}[how]
    lost = tuple(
        replace(ClearanceState(kind, False, date(2025, 11, 22), date(2026, 11, 22)), **change)
        if one.kind is kind
        else one
        for one in before.clearances
    )
    assert_no_better(before, replace(before, clearances=lost))


@given(ladder, st.integers(0, 2000))
def test_more_hours_planned_never_help(case: str, planned: int) -> None:
    """A longer turn brings cautions, and takes none away."""
    before = replace(CASES[case][0], planned_hours=0.0)
    later = replace(before, planned_hours=float(planned), due_at=before.due_at + timedelta(hours=planned))
    assert_no_better(before, later)


def assert_no_better(before: Facts, after: Facts) -> None:
    """No reason became milder."""
    was = {one.key: one.level for one in reasons(before, NOW)}
    now = {one.key: one.level for one in reasons(after, NOW)}
    for key, level in was.items():
        if level is STOP and key[0] != "on-hold" and key[0] != "not-ready":
            assert now.get(key) is STOP, key
    worst = [min((WORST_FIRST.index(level) for level in levels.values()), default=2) for levels in (was, now)]
    assert worst[1] <= worst[0]
    held = [key for key, level in was.items() if level is CAUTION]
    if not stops(reasons(after, NOW)):
        assert all(key in now for key in held)


def test_only_the_same_wearer_takes_it_straight_back() -> None:
    """The last wearer, nobody before them; and never past a hold."""
    assert takes_back_own(facts(at=OWN))
    assert not takes_back_own(facts(at=OTHERS))
    assert not takes_back_own(facts(at=OWN, person=None))
    held = reasons(facts(at=replace(OWN, holds=(hold(),))), NOW)
    assert [one.code for one in stops(held)] == ["on-hold"]


def test_at_hand() -> None:
    """On the rack or at the bench, nowhere else."""
    assert {where for where in Where if at_hand(unit(where=where))} == {Where.RACK, Where.BENCH}


def test_a_helmet_without_air_asks_for_no_clearance() -> None:
    """No facepiece, no respirator: neither clearance nor battery is weighed; that it gives no air is said."""
    nobody = facts("AD1", clearances=lapsed(ClearanceKind.MEDICAL, **NEVER), meters=(), needs_full_check=True)
    assert [one.code for one in reasons(nobody, NOW)] == ["no-air", "ready"]


@pytest.mark.parametrize("model", ["WL1", "FF1", "HM1"])
def test_worn_by_choice_asks_for_medical_and_the_sheet_only(model: str) -> None:
    """program_duties.csv d04 and d05: no training, no fit test, but medical and the information; required: all."""
    bad = tuple(replace(one, stands=False, given_on=None) for one in clearances())
    by_choice = {one.code for one in stops(reasons(facts(model, area=VOLUNTARY, clearances=bad), NOW))}
    assert by_choice == {"medical", "information-sheet"}
    required = {one.code for one in stops(reasons(facts(model, clearances=bad), NOW))}
    assert required == {"medical", "training", *(["fit-test"] if model != "WL1" else [])}


def test_a_helmet_without_air_asks_for_no_sheet() -> None:
    """It is no respirator: nothing of 29 CFR 1910.134 is asked for, wherever it goes."""
    assert not {one.code for one in reasons(facts("AD1", area=VOLUNTARY), NOW)} & {"information-sheet", "voluntary"}


def test_hair_is_no_matter_of_a_loose_fitting_unit() -> None:
    """29 CFR 1910.134(g)(1)(i) speaks of tight-fitting facepieces."""
    assert stops(reasons(facts("WL1", hair_at=NOW), NOW)) == ()


def test_a_badge_of_tomorrow_is_long_enough_for_today() -> None:
    """Due back on the badge's last day is in time; what is assigned has no time at all."""
    person = replace(PERSON, ends_on=TODAY)
    assert stops(reasons(facts(person=person), NOW)) == ()
    assert stops(reasons(facts(person=person, due_at=NOW + timedelta(days=30), assigned=True), NOW)) == ()


def test_a_size_that_fits_is_named_with_the_stop() -> None:
    """Never tried with this size: the stop stays, and says with which size a unit can go out."""
    found = facts("FF1", clearances=lapsed(ClearanceKind.FIT_TEST, **NEVER, other_sizes=("L", "S")))
    (one,) = [one for one in reasons(found, NOW) if one.code == "fit-test"]
    assert one.level is STOP
    assert "Tested with size L and S: take a unit of that size." in one.detail
    (plain,) = [one for one in reasons(facts("FF1", clearances=lapsed(ClearanceKind.FIT_TEST, **NEVER)), NOW)
                if one.code == "fit-test"]  # fmt: skip
    assert "Tested with" not in plain.detail
