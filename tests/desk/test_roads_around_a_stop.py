"""Roads around a stop that the office or the counter could take without meaning to: each ends at the stop, or asks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.reasons import reasons
from cribdesk.crib.records import (
    Area,
    Assessment,
    AssessmentBasis,
    Clearance,
    ClearanceKind,
    Control,
    Custody,
    FactorEvidence,
    Person,
    Role,
    Unit,
)
from cribdesk.crib.refusal import Level, NotAccepted, Superseded, WrongFigure
from cribdesk.desk.area_facts import SayAreaCondition, SayAreaControl
from cribdesk.desk.area_page import area_page
from cribdesk.desk.assessments import AssessArea, WithdrawAssessment
from cribdesk.desk.class_day import ClearMany, RowsNotAllowed
from cribdesk.desk.equipment import AddArea
from cribdesk.desk.factor_evidence import RecordFactorEvidence, WithdrawFactorEvidence
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.lapses import lapses
from cribdesk.desk.notices import SayClear
from cribdesk.desk.recheck import recheck, to_call_in
from cribdesk.desk.rule_breaks import breaks_today
from cribdesk.desk.seal_look import LookAtSeal
from cribdesk.desk.standings import fleet
from tests.desk.operating import hand_out, issue_fields
from tests.desk.shop import Shop, house

DAY = date(2026, 3, 4)
STATED: dict[str, Any] = {
    "basis": AssessmentBasis.STATED, "made_by": "T. Ambrus, hygienist", "document": "Report 26-014",
}  # fmt: skip


@pytest.fixture
def shed(own_shop: Shop) -> int:
    """An area of which nothing is noted but what a test notes."""
    own_shop.names["shed"] = own_shop.do(AddArea, area_name="Shed", required=True).subjects[0]
    return own_shop.record(Area, "shed").id


def said(shop: Shop, unit: str, area: str = "bay-3") -> dict[str, Level]:
    """What an issue to Wronecka says, by code."""
    ids = IssueIds(shop.record(Unit, unit).id, shop.record(Person, "Wronecka").id, area_id=shop.record(Area, area).id)
    with shop.store.reading() as reader:
        return {one.code: one.level for one in reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)}


def test_an_older_saying_entered_late_takes_no_newer_one_away(own_shop: Shop, shed: int) -> None:
    """What was said of a place on 10 March is not taken back by a letter of 4 March that lay in a tray."""
    own_shop.do(SayAreaCondition, area_id=shed, said_on=date(2026, 3, 10), idlh=True)
    with pytest.raises(WrongFigure, match="what was said on 10 Mar 2026 stands"):
        own_shop.do(SayAreaCondition, area_id=shed, said_on=DAY)
    assert said(own_shop, "wl-1", "shed")["idlh"] is Level.STOP
    own_shop.do(SayAreaCondition, area_id=shed, said_on=date(2026, 3, 10))
    assert "idlh" not in said(own_shop, "wl-1", "shed")


def test_a_change_on_the_day_of_a_finding_is_asked_about(own_shop: Shop, shed: int) -> None:
    """Whether the finding tells of before or after it nobody can see: the change is never noted and then ignored."""
    own_shop.do(AssessArea, area_id=shed, substance="silver", concentration=0.005, made_on=DAY, **STATED)
    with pytest.raises(WrongFigure, match="Withdraw it where it tells of the time before, or say the day before"):
        own_shop.do(SayAreaCondition, area_id=shed, said_on=DAY, changed="cored wire")
    own_shop.do(SayAreaCondition, area_id=shed, said_on=DAY, exposed_minutes=300)
    own_shop.do(SayAreaCondition, area_id=shed, said_on=DAY + timedelta(days=1), changed="cored wire")
    assert said(own_shop, "wl-1", "shed")["process-changed"] is Level.STOP
    own_shop.do(
        AssessArea, area_id=shed, substance="silver", concentration=0.005, made_on=DAY + timedelta(days=1), **STATED
    )
    assert "process-changed" not in said(own_shop, "wl-1", "shed")


def test_what_is_there_and_not_assessed_asks_nothing_of_a_change(own_shop: Shop, shed: int) -> None:
    """Nobody found anything of it: the change is noted."""
    unknown = {"basis": AssessmentBasis.STATED, "made_on": DAY}
    own_shop.do(AssessArea, area_id=shed, substance="silver", **unknown)
    own_shop.do(SayAreaCondition, area_id=shed, said_on=DAY, changed="cored wire")


def test_a_look_at_the_seal_of_a_half_mask_is_none_for_a_full_facepiece(own_shop: Shop) -> None:
    """Eyeglass temples lie under the one and not under the other; what was seen bad holds for both."""
    own_shop._stock(house().models["HM1"])
    own_shop.unit("hm-1", "HM1", size="M")
    person, mask, full = (
        own_shop.record(Person, "Wronecka").id, own_shop.record(Unit, "hm-1").id, own_shop.record(Unit, "ff-1").id,
    )  # fmt: skip
    own_shop.do(LookAtSeal, person_id=person, unit_id=mask)
    assert said(own_shop, "hm-1")["seal-look"] is Level.FINE
    assert said(own_shop, "ff-1")["seal-look"] is Level.STOP
    own_shop.do(LookAtSeal, person_id=person, unit_id=full)
    assert said(own_shop, "ff-1")["seal-look"] is Level.FINE
    own_shop.do(LookAtSeal, person_id=person, unit_id=mask, under_seal=True)
    assert said(own_shop, "ff-1")["under-seal"] is Level.STOP


def test_a_look_counts_for_an_hour(own_shop: Shop) -> None:
    """The hour itself is over when it is over."""
    own_shop.do(
        LookAtSeal, person_id=own_shop.record(Person, "Wronecka").id, unit_id=own_shop.record(Unit, "ff-1").id
    )
    own_shop.moment += timedelta(minutes=58)
    assert said(own_shop, "ff-1")["seal-look"] is Level.FINE
    own_shop.moment += timedelta(minutes=2)
    assert said(own_shop, "ff-1")["seal-look"] is Level.STOP


def test_evidence_that_is_left_is_told(own_shop: Shop) -> None:
    """The newer of two papers is withdrawn: whoever does it reads that the older one still lifts the factor."""
    for day, name in ((date(2026, 2, 1), "Test 7"), (date(2026, 5, 1), "Test 8")):
        own_shop.do(RecordFactorEvidence, model="WH1", factor=1000, document=name, dated_on=day)
    with own_shop.store.reading() as reader:
        older, newer = reader.find(FactorEvidence)
    told = own_shop.do(WithdrawFactorEvidence, evidence_id=newer.id, why="the maker took it back").sentence
    assert told.endswith("That of 1 Feb 2026 still stands.")
    told = own_shop.do(WithdrawFactorEvidence, evidence_id=older.id, why="the maker took it back").sentence
    assert told.endswith("the maker took it back.")


def test_a_review_is_that_of_the_last_finding_or_of_none(own_shop: Shop, shed: int) -> None:
    """A finding that was replaced and then withdrawn asks for no review any more; what is due has its name."""
    made = {"area_id": shed, "substance": "silver", "concentration": 0.005, **STATED}
    own_shop.do(AssessArea, made_on=DAY, review_on=date(2026, 12, 1), **made)
    own_shop.do(AssessArea, made_on=DAY, review_on=date(2026, 12, 5), **made)

    def reviews() -> list[tuple[str, date]]:
        with own_shop.store.reading() as reader:
            due = lapses(reader, house(), own_shop.moment)
            return [(one.what, one.until) for one in due if one.who == "Shed"]

    assert reviews() == [("assessment of silver, metal and soluble compounds", date(2026, 12, 5))]
    with own_shop.store.reading() as reader:
        last = reader.latest(Assessment)
    assert last is not None
    own_shop.do(WithdrawAssessment, assessment_id=last.id, why="wrong wire", still_there=False)
    assert reviews() == []


def test_over_a_limit_where_nothing_is_required_breaks_a_rule_as_well(own_shop: Shop) -> None:
    """29 CFR 1910.134(a)(2): the finding counts, not the mark; no model of the crib is enough at 60 000 times."""
    yard = own_shop.do(AddArea, area_name="Yard", required=False).subjects[0]
    own_shop.names["yard"] = yard
    area_id = own_shop.record(Area, "yard").id
    made = {"area_id": area_id, "substance": "silver", "made_on": DAY, "review_on": date(2026, 11, 25), **STATED}
    own_shop.do(AssessArea, concentration=600.0, **made)
    with own_shop.store.reading() as reader:
        found = {one.key for one in breaks_today(reader, house(), own_shop.moment)}
    assert f"enough {yard}" in found
    assert f"review {yard}" not in found  # today is in time
    own_shop.do(AssessArea, concentration=0.005, **made)
    with own_shop.store.reading() as reader:
        assert f"enough {yard}" not in {one.key for one in breaks_today(reader, house(), own_shop.moment)}


def test_the_page_says_what_a_control_counts_as(own_shop: Shop, shed: int) -> None:
    """So that whoever noted a curtain sees that it lifts nothing."""
    for what in ("local exhaust", "general ventilation", "welding curtain"):
        own_shop.do(SayAreaControl, area_id=shed, control=Control.ENGINEERING, what=what, from_on=DAY)
    with own_shop.store.reading() as reader:
        page = area_page(reader, house(), own_shop.label("shed"), own_shop.moment)
    assert page is not None
    assert [one.since.removeprefix("since 4 Mar 2026") for one in page.controls] == [
        ", counts as local exhaust", ", counts as ventilation, not as local exhaust", "",
    ]  # fmt: skip


def test_after_a_withdrawal_the_right_day_may_be_entered(own_shop: Shop, shed: int) -> None:
    """A finding entered under a wrong day is withdrawn and entered anew under the right one, though that is older."""
    made = {"area_id": shed, "substance": "silver", "concentration": 0.005, **STATED}
    own_shop.do(AssessArea, made_on=date(2026, 3, 14), **made)
    with pytest.raises(Superseded):
        own_shop.do(AssessArea, made_on=DAY, **made)
    with own_shop.store.reading() as reader:
        last = reader.latest(Assessment)
    assert last is not None
    own_shop.do(WithdrawAssessment, assessment_id=last.id, why="the day was wrong", still_there=False)
    own_shop.do(AssessArea, made_on=DAY, **made)
    assert said(own_shop, "wl-1", "shed")["enough"] is not Level.STOP


def test_hair_seen_today_calls_in_what_is_out(own_shop: Shop) -> None:
    """One by one as all at once: what is tight-fitting comes in, until the seal was looked at again and is clear."""
    wearer = own_shop.record(Person, "Wronecka")
    own_shop.do(LookAtSeal, person_id=wearer.id, unit_id=own_shop.record(Unit, "ff-1").id)
    hand_out(own_shop, "ff-1", "Wronecka", "pack-ff")
    hand_out(own_shop, "wl-1", "Nkemba", "pack-1")

    def called_in() -> list[str]:
        with own_shop.store.reading() as reader:
            listed = to_call_in(reader, house(), fleet(reader, house(), own_shop.moment), own_shop.moment)
            for custody in reader.find(Custody, returned_at=None):
                alone = recheck(reader, house(), custody, own_shop.moment)
                assert alone == next((one.against for one in listed if one.custody.id == custody.id), ())
        return [one.words for one in listed]

    assert called_in() == []
    for who in ("Wronecka", "Nkemba"):
        own_shop.do(
            LookAtSeal, person_id=own_shop.record(Person, who).id, unit_id=own_shop.record(Unit, "ff-1").id, hair=True
        )
    assert called_in() == ["Facial hair at the seal"]
    own_shop.do(SayClear, person_id=wearer.id)
    assert called_in() == []
    own_shop.do(LookAtSeal, person_id=wearer.id, unit_id=own_shop.record(Unit, "ff-1").id, hair=True)
    assert called_in() == ["Facial hair at the seal"]
    own_shop.moment += timedelta(days=1)
    assert called_in() == []


def test_a_caution_is_accepted_by_its_role_alone(own_shop: Shop) -> None:
    """Nobody, the attendant, an ended badge, no reason, or words of another day: none of them lets the unit out."""
    own_shop.do(
        AssessArea, area_id=own_shop.record(Area, "bay-3").id, substance="carbon_monoxide", unit="ppm",
        concentration=12.0, limit="niosh", made_on=DAY, **STATED,
    )  # fmt: skip
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    subject, words = "carbon_monoxide", "Carbon monoxide: no short-term finding"
    assert ("short-term", subject) in fields["shown"]
    program = own_shop.person("Administrator", "Ana Administrator", Role.PROGRAM)
    gone = own_shop.person("Gone", "Gil Gone", Role.PROGRAM, ends_on=own_shop.moment.date() - timedelta(days=1))
    attendant = own_shop.record(Person, "Brandl").id

    def accepted(by: int, why: str = "hygienist asked", said: str = words) -> dict[str, Any]:
        return {**fields, "accepted": (("short-term", subject, said, why, by),)}

    for refused in (fields, accepted(attendant), accepted(gone), accepted(program, said="Other words")):
        with pytest.raises(NotAccepted):
            own_shop.do(IssueUnit, **refused)
    with pytest.raises(WrongFigure, match="a caution is accepted with a reason"):
        own_shop.do(IssueUnit, **accepted(program, why=" "))
    told = own_shop.do(IssueUnit, **accepted(program)).sentence
    assert told.endswith(f"cautions accepted by {own_shop.label('Administrator')}.")


def test_hair_of_yesterday_is_looked_at_anew(own_shop: Shop) -> None:
    """It holds for the day, however early in it; the next day begins with a look."""
    wearer = own_shop.record(Person, "Wronecka").id
    own_shop.do(LookAtSeal, person_id=wearer, unit_id=own_shop.record(Unit, "ff-1").id, hair=True)
    own_shop.moment += timedelta(hours=10)
    assert said(own_shop, "ff-1")["facial-hair"] is Level.STOP
    own_shop.moment += timedelta(hours=14)
    found = said(own_shop, "ff-1")
    assert ("facial-hair" in found, found["seal-look"]) == (False, Level.STOP)


def test_a_class_clears_nobody_whose_badge_has_ended(own_shop: Shop) -> None:
    """The row is named, and nobody of the class is entered."""
    gone = own_shop.person("Gone", "Gil Gone", ends_on=own_shop.moment.date() - timedelta(days=1))
    rows = ((own_shop.record(Person, "Wronecka").id, "", None), (gone, "", None))
    with pytest.raises(RowsNotAllowed, match=r"Row 2, \w+: the badge has ended"):
        own_shop.do(ClearMany, kind=ClearanceKind.TRAINING, given_on=date(2026, 11, 20), rows=rows)
    with own_shop.store.reading() as reader:
        assert reader.find(Clearance, given_on=date(2026, 11, 20)) == []
