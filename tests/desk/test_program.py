"""Evaluations of the program and their findings, who may ask for the register, what breaks a rule today."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from cribdesk.crib.records import (
    Area,
    AssessmentBasis,
    Clearance,
    ClearanceKind,
    Instrument,
    Person,
    ProgramEvaluation,
    Role,
    Unit,
)
from cribdesk.crib.refusal import AlreadyOnFile, NotAllowed, NotQualified, Unknown, WrongFigure
from cribdesk.desk.assessments import AssessArea
from cribdesk.desk.counter import Counter
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, may_open, operation_of
from cribdesk.desk.equipment import AddArea
from cribdesk.desk.printing import IN_STEPS, kept_back, record_for
from cribdesk.desk.program import LOOKED_AT, AskRegister, FixFinding, RecordEvaluation
from cribdesk.desk.rule_breaks import Break, breaks_today
from cribdesk.desk.shift_lists import seen_by, shift_lists
from cribdesk.desk.use_register import EVERYTHING, PAPER, RegisterAsked
from cribdesk.store.connect import open_store
from tests.desk.shop import Shop, house
from tests.desk.small_crib import NOW, SmallCrib
from tests.desk.small_crib import house as crib_house

TODAY = date(2026, 11, 25)
FINDING: dict[str, Any] = {
    "substance": "manganese", "basis": AssessmentBasis.STATED, "made_on": date(2026, 3, 4), "concentration": 0.05,
    "made_by": "Invented Hygienist", "document": "report 7",
}  # fmt: skip
GOOD: dict[str, Any] = {"made_on": TODAY, "what": LOOKED_AT[0], "finding": "Two found the headband tight"}


def evaluations(shop: Shop) -> list[ProgramEvaluation]:
    """All that are kept."""
    with shop.store.reading() as reader:
        return reader.find(ProgramEvaluation)


def program(shop: Shop) -> dict[str, tuple[str, str, str]]:
    """The rows of the program's page by their key: sign, what, detail."""
    with shop.store.reading() as reader:
        rows = shift_lists()["program"].read(reader, house(), shop.moment).rows
    return {row.key: (row.sign, row.what, row.detail) for row in rows}


def test_an_evaluation_is_kept_and_its_finding_set_right_once(own_shop: Shop) -> None:
    """What was looked at, found, planned, done: each step stands in the record, and what is done is done."""
    own_shop.do(RecordEvaluation, **GOOD)
    (one,) = evaluations(own_shop)
    assert (one.what, one.finding, one.fix, one.fixed_on) == (LOOKED_AT[0], GOOD["finding"], "", None)
    own_shop.do(FixFinding, evaluation_id=one.id, fix="Order headbands")
    assert evaluations(own_shop)[0].fix == "Order headbands"
    assert evaluations(own_shop)[0].fixed_on is None
    own_shop.do(FixFinding, evaluation_id=one.id, fix="New headbands are in", fixed_on=TODAY)
    assert evaluations(own_shop)[0].fixed_on == TODAY
    with pytest.raises(AlreadyOnFile):
        own_shop.do(FixFinding, evaluation_id=one.id, fix="Again", fixed_on=TODAY)
    with pytest.raises(Unknown):
        own_shop.do(FixFinding, evaluation_id=one.id + 9, fix="Nothing", fixed_on=TODAY)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"what": " "}, "What was looked at"),
        ({"finding": ""}, "Finding"),
        ({"made_on": TODAY + timedelta(days=1)}, "Evaluated on"),
        ({"fixed_on": TODAY}, "What is done about it"),
        ({"fix": "Done", "fixed_on": TODAY - timedelta(days=1)}, "Set right on"),
        ({"fix": "Done", "fixed_on": TODAY + timedelta(days=1)}, "Set right on"),
    ],
)
def test_what_is_no_evaluation_is_refused_by_its_field(own_shop: Shop, wrong: dict[str, object], field: str) -> None:
    """Empty, to come, done before it was found, done without what was done: nothing is kept."""
    with pytest.raises(WrongFigure, match=field):
        own_shop.do(RecordEvaluation, **GOOD | wrong)
    assert evaluations(own_shop) == []


def test_users_are_asked_about_what_the_paragraph_lists() -> None:
    """The first four are 29 CFR 1910.134(l)(2)(i)-(iv), in our words: fit and effect, selection, use, maintenance."""
    assert [words.split()[0].rstrip(",") for words in LOOKED_AT[:4]] == ["fit", "selection", "use", "maintenance"]


@pytest.mark.parametrize("operation", [RecordEvaluation, FixFinding, AskRegister])
def test_only_the_program_administrator_may(own_shop: Shop, operation: type) -> None:
    """Attendant, technician, storekeeper and system administrator are all refused, and the sentence says who can."""
    fields = {
        RecordEvaluation: GOOD,
        FixFinding: {"evaluation_id": 1, "fix": "x"},
        AskRegister: {"of": EVERYTHING, "first": TODAY, "last": TODAY},
    }[operation]
    for role in Role:
        if role is Role.PROGRAM:
            continue
        clerk = own_shop.person(f"only {role.value}", f"Only {role.value}", role)
        counter = Counter(own_shop.store, house(), lambda: own_shop.moment, "Counter 1")
        with pytest.raises(NotQualified, match="program administrator"):
            counter.do(operation(operation_id=own_shop.tokens(), **fields), clerk)


def test_the_register_opens_for_that_role_alone() -> None:
    """Form and paper say who can; other papers are kept from nobody."""
    others = ",".join(role.value for role in Role if role is not Role.PROGRAM)
    assert "opens for a program administrator only" in may_open("register", others)
    assert "opens for a program administrator only" in kept_back(PAPER, others)
    assert "opens for a program administrator only" in kept_back(PAPER, "")
    assert may_open("register", Role.PROGRAM.value) == kept_back(PAPER, Role.PROGRAM.value) == ""
    assert kept_back("issue_slip", "") == kept_back("wearer_card", Role.ATTENDANT.value) == ""
    assert PAPER in IN_STEPS
    assert "program" not in seen_by(others)
    assert "program" in seen_by(Role.PROGRAM.value)


def test_asking_for_the_register_is_journalled(own_shop: Shop) -> None:
    """The entry names what was asked for, over which days, by whom; the paper's address leads to the same rows."""
    wearer = own_shop.label("Wronecka")
    receipt = own_shop.do(AskRegister, of=wearer, first=date(2026, 11, 1), last=TODAY)
    assert receipt.sentence == f"Register of use asked for: {wearer}, 1 Nov 2026 to 25 Nov 2026."
    assert receipt.subjects == (wearer,)
    ((paper, of),) = receipt.papers
    assert (paper, of) == (PAPER, f"{wearer} 2026-11-01 2026-11-25")
    with own_shop.store.reading() as reader:
        made = record_for(reader, house(), paper, of, own_shop.moment, 1)
        entry = reader.entries(count=1).entries[0]
    assert "Łucja Wronecka" in made.about  # type: ignore[attr-defined]
    assert entry.rows == ()
    assert entry.operation == "register"


@pytest.mark.parametrize("of", ["U999999", "", "everything", "B0000011", "all all"])
def test_a_register_of_nothing_is_refused(own_shop: Shop, of: str) -> None:
    """A label that is none, of something it cannot be of, or of nobody here."""
    with pytest.raises(NotAllowed):
        own_shop.do(AskRegister, of=of, first=TODAY, last=TODAY)


@pytest.mark.parametrize("address", ["", "all", "all 2026-11-01", "all 2026-11-02 2026-11-01", "all x y", "U1 2026 2"])
def test_an_address_that_is_none_is_refused_in_words(address: str) -> None:
    """As `record_for` does of every paper: LookupError with the address in it."""
    with pytest.raises(LookupError, match="There is no register"):
        RegisterAsked.read(address)


def test_the_forms_say_what_is_missing(own_shop: Shop) -> None:
    """Another thing that was looked at has to be named; without an open finding there is nothing to set right."""
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment)
        assert form_of(asked, "fix-finding").note == "No finding is open: enter an evaluation first."
        values = {"topic": "something else", "made_on": "2026-11-25", "finding": "The sign is gone"}
        with pytest.raises(FormTroubles) as told:
            operation_of(asked, "evaluation", values, own_shop.tokens())
        assert told.value.troubles == (("where", "Say what was looked at."),)
        made = operation_of(asked, "evaluation", values | {"where": "signs at the gate"}, own_shop.tokens())
        assert isinstance(made, RecordEvaluation)
        assert made.what == "signs at the gate"
        about = form_of(Asked(reader, house(), own_shop.moment, own_shop.label("wl-1")), "register")
        assert about.fields[0].value == own_shop.label("wl-1")
        assert form_of(asked, "register").fields[0].value == EVERYTHING


def test_the_page_shows_findings_until_they_are_set_right(own_shop: Shop) -> None:
    """Nothing yet: it says what is asked. Open: what is planned. Set right: when and how, and no button."""
    assert "1910.134(l)" in program(own_shop)["no evaluation"][2]
    own_shop.do(RecordEvaluation, **GOOD)
    one = evaluations(own_shop)[0]
    sign, what, detail = program(own_shop)[f"evaluation {one.id}"]
    assert (sign, what) == ("caution", "Fit, and whether it hinders the work")
    assert "nothing is planned yet" in detail
    own_shop.do(FixFinding, evaluation_id=one.id, fix="New headbands", fixed_on=TODAY)
    sign, _, detail = program(own_shop)[f"evaluation {one.id}"]
    assert sign == "fine"
    assert "set right 25 Nov 2026: New headbands" in detail


def test_the_page_names_the_rules_in_force(own_shop: Shop) -> None:
    """The set the site chose, by its name; papers cite the same words."""
    assert program(own_shop)["rules"][1] == house().rules.name
    with own_shop.store.reading() as reader:
        card = record_for(reader, house(), "wearer_card", "WL1", own_shop.moment, 1)
    assert card.rule_set == house().rules.name  # type: ignore[attr-defined]


def test_an_area_that_asks_for_a_respirator_without_a_finding_breaks_a_rule(own_shop: Shop) -> None:
    """29 CFR 1910.134(d)(1)(iii): it stands on the page until the hygienist's finding is in; a voluntary one never."""
    area = own_shop.do(AddArea, area_name="Shed", required=True).subjects[0]
    own_shop.do(AddArea, area_name="Yard", required=False)
    found = {one.key: one for one in breaks(own_shop)}
    assert found[f"assess {area}"].what == "Shed is not assessed"
    assert "1910.134(d)(1)(iii)" in found[f"assess {area}"].basis
    assert [one for one in found if "Yard" in found[one].what] == []
    with own_shop.store.reading() as reader:
        shed = reader.first(Area, label=area)
    assert shed is not None
    own_shop.do(AssessArea, area_id=shed.id, **FINDING)
    assert f"assess {area}" not in {one.key for one in breaks(own_shop)}


def breaks(shop: Shop) -> tuple[Break, ...]:
    """What breaks a rule now."""
    with shop.store.reading() as reader:
        return breaks_today(reader, house(), shop.moment)


def test_a_model_without_its_file_and_a_meter_past_its_day_break_a_rule(own_shop: Shop) -> None:
    """Nothing can be said of a unit whose model is gone; the shop's old meter is past its calibration."""
    gone = replace(house(), models={code: one for code, one in house().models.items() if code != "FF1"})
    with own_shop.store.reading() as reader:
        found = {one.key: one for one in breaks_today(reader, gone, own_shop.moment)}
        unit, meter = reader.first(Unit, model="FF1"), reader.first(Instrument, label=own_shop.label("meter-old"))
    assert unit is not None
    assert meter is not None
    assert found["model FF1"].label == unit.label
    assert found["model FF1"].grave
    assert "24 Nov" in found[f"meter {meter.label}"].why or "yesterday" in found[f"meter {meter.label}"].why
    assert not found[f"meter {meter.label}"].grave


def test_whoever_holds_what_they_no_longer_may_comes_with_reason_and_paragraph(tmp_path: Path) -> None:
    """A wearer found not cleared while the unit is out: who, which unit, why, by which paragraph; then gone again."""
    with open_store(str(tmp_path / "crib.sqlite"), create=True) as store:
        crib = SmallCrib(store).fill()
        with store.reading() as reader:
            unit, wearer = reader.get(Unit, crib.out.unit_id), reader.get(Person, crib.out.person_id)
            before = {one.key for one in breaks_today(reader, crib_house(), NOW)}
        assert f"held {unit.label}" not in before
        said = crib.save(
            Clearance(person_id=wearer.id, kind=ClearanceKind.MEDICAL, given_on=NOW.date(), cleared=False)
        )
        with store.reading() as reader:
            found = {one.key: one for one in breaks_today(reader, crib_house(), NOW)}
            rows = shift_lists()["program"].read(reader, crib_house(), NOW).rows
        one = found[f"held {unit.label}"]
        assert one.what == f"{wearer.name} has {unit.label}"
        assert "not called in yet" in one.why
        assert "1910.134(e)" in one.basis
        assert (one.grave, one.label) == (True, unit.label)
        assert f"held {unit.label}" in {row.key for row in rows}
        crib.save(replace(said, cleared=True))
        with store.reading() as reader:
            assert f"held {unit.label}" not in {one.key for one in breaks_today(reader, crib_house(), NOW)}
