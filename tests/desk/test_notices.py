"""Employers' proofs, the information sheet, refusals and their answers: what is kept, what is refused."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.reasons import reasons, stops
from cribdesk.crib.records import (
    Area,
    Clearance,
    ClearanceKind,
    Evidence,
    InformationSheet,
    Notice,
    NoticeKind,
    Person,
    Unit,
)
from cribdesk.crib.refusal import AlreadyOnFile, NotQualified, Unknown, WrongFigure
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, may_open, operation_of
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.lists import person_rows
from cribdesk.desk.lookup import person_card
from cribdesk.desk.notices import AT_THE_COUNTER, RecordRefusal, SayClear, SeeNotice
from cribdesk.desk.office import SetSetting
from cribdesk.desk.people import AddClearance, ChangePerson
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_people import InformationPaper
from cribdesk.desk.proof import AddEvidence, GiveSheet
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.desk.slate import AreaForm
from cribdesk.store.connect import SqlStore
from tests.desk.harness import Desk
from tests.desk.operating import hand_out, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house

EMPLOYER = "Nordbau (invented)"
SEEN = date(2026, 11, 25)


def contractor(shop: Shop, name: str = "Verrani", employer: str = EMPLOYER) -> Person:
    """Somebody of another employer."""
    one = shop.record(Person, name)
    shop.do(ChangePerson, person_id=one.id, full_name=one.name, employer=employer)
    return shop.record(Person, name)


def states(shop: Shop, person: Person) -> list[ClearanceState]:
    """Medical and training as the card shows them."""
    with shop.store.reading() as reader:
        return list(person_card(reader, house(), person.id, shop.moment).clearances)


def rows(shop: Shop, person: Person) -> list[Clearance]:
    """The clearances on file."""
    with shop.store.reading() as reader:
        return reader.find(Clearance, person_id=person.id)


def stops_of(shop: Shop, unit: str, person: str, area: str = "bay-3") -> set[str]:
    """The stops against an issue without a pack on the counter."""
    ids = IssueIds(
        shop.record(Unit, unit).id, shop.record(Person, person).id, None, shop.record(Area, area).id, None
    )
    with shop.store.reading() as reader:
        return {one.code for one in stops(reasons(facts_of(reader, house(), ids, shop.moment), shop.moment))}


# Another employer's proof.


def test_a_proof_makes_a_clearance_stand(own_shop: Shop) -> None:
    """Each clearance wants its own; the people list names what is missing until the last is there."""
    person = contractor(own_shop)
    assert [(one.stands, one.proven) for one in states(own_shop, person)] == [(False, False)] * 2
    assert stops_of(own_shop, "wl-1", "Verrani") == {"medical", "training"}
    with own_shop.store.reading() as reader:
        (row,) = (one for one in person_rows(reader, house(), own_shop.moment) if one.person_id == person.id)
    assert row.trouble == "medical clearance: no proof of the employer; training: no proof of the employer"
    for one in rows(own_shop, person):
        fields = {"document": "letter 117", "dated_on": date(2026, 11, 20), "seen_on": SEEN}
        own_shop.do(AddEvidence, clearance_id=one.id, **fields)
    assert all(one.stands for one in states(own_shop, person))
    assert stops_of(own_shop, "wl-1", "Verrani") == set()
    with own_shop.store.reading() as reader:
        kept = reader.find(Evidence)
    assert {(one.employer, one.document, one.seen_on) for one in kept} == {(EMPLOYER, "letter 117", SEEN)}
    with refused(own_shop, AlreadyOnFile, "The proof of this medical is on file already"):
        own_shop.do(AddEvidence, clearance_id=kept[0].clearance_id, **fields)


def test_a_proof_with_its_clearance(own_shop: Shop) -> None:
    """Entered together it stands at once; without, the entry says that it does not stand yet."""
    person = contractor(own_shop)
    fields = {"person_id": person.id, "kind": ClearanceKind.MEDICAL, "given_on": date(2026, 11, 2)}
    words = own_shop.do(AddClearance, **fields).sentence
    assert words.endswith("without proof of the employer: it does not stand yet.")
    words = own_shop.do(AddClearance, **fields, document="card 9").sentence
    assert words.endswith("entered, with its proof.")
    medical, training = states(own_shop, person)
    assert (medical.stands, training.stands) == (True, False)


def test_a_proof_of_the_employer_before_does_not_count(own_shop: Shop) -> None:
    """A house rule: who changes employer brings a new proof; capitals and blanks make no other employer."""
    person = contractor(own_shop)
    for one in rows(own_shop, person):
        own_shop.do(AddEvidence, clearance_id=one.id, document="letter", dated_on=SEEN, seen_on=SEEN)
    assert all(one.stands for one in states(own_shop, contractor(own_shop, employer=" NORDBAU (Invented)")))
    assert not any(one.stands for one in states(own_shop, contractor(own_shop, employer="Südwerk (invented)")))


def test_the_sites_own_employer_is_no_other(own_shop: Shop) -> None:
    """Where the person form names the site itself, no proof is asked for."""
    person = contractor(own_shop)
    own = house().settings | {"own_employer": EMPLOYER.upper()}
    mine = type(house())(house().models, house().procedures, own)
    with own_shop.store.reading() as reader:
        assert all(one.stands for one in person_card(reader, mine, person.id, own_shop.moment).clearances)
    own_shop.do(SetSetting, setting="own_employer", value=EMPLOYER)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"document": " "}, "say which paper it is"),
        ({"dated_on": date(2025, 1, 1)}, "it lies between"),
        ({"dated_on": date(2026, 11, 26), "seen_on": date(2026, 11, 26)}, "it lies between"),
        ({"seen_on": date(2026, 11, 1)}, "it lies between"),
        ({"seen_on": date(2026, 11, 26)}, "it lies between"),
    ],
)
def test_a_proof_refused(own_shop: Shop, changes: dict[str, object], words: str) -> None:
    """It names its paper; its days lie between the clearance and today, seen no earlier than written."""
    one = rows(own_shop, contractor(own_shop))[0]
    asked = {"document": "letter", "dated_on": date(2026, 11, 20), "seen_on": SEEN} | changes
    with refused(own_shop, WrongFigure, words):
        own_shop.do(AddEvidence, clearance_id=one.id, **asked)


def test_no_proof_of_ones_own_people(own_shop: Shop) -> None:
    """The site's own records are not proven by somebody else; nor is there proof of nothing."""
    own = rows(own_shop, own_shop.record(Person, "Wronecka"))[0]
    fields = {"document": "letter", "dated_on": SEEN, "seen_on": SEEN}
    with refused(own_shop, WrongFigure, "is one of your own"):
        own_shop.do(AddEvidence, clearance_id=own.id, **fields)
    with refused(own_shop, Unknown):
        own_shop.do(AddEvidence, clearance_id=999, **fields)
    person, today = own_shop.record(Person, "Wronecka").id, date(2026, 11, 2)
    with refused(own_shop, WrongFigure, "has no other employer"):
        own_shop.do(
            AddClearance, person_id=person, kind=ClearanceKind.MEDICAL, given_on=today, document="letter"
        )


def test_an_attendant_enters_no_proof(own_shop: Shop) -> None:
    """It takes the office, as clearances do."""
    one = rows(own_shop, contractor(own_shop))[0]
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(AddEvidence, clearance_id=one.id, document="letter", dated_on=SEEN, seen_on=SEEN)


def test_an_expired_badge_is_refused_for_issue(own_shop: Shop) -> None:
    """And nothing else stands against Jiří Marek, whose return the scan script takes."""
    assert stops_of(own_shop, "wl-1", "Marek") == {"badge-ended"}


# The information sheet.


def test_the_information_sheet(own_shop: Shop) -> None:
    """program_duties.csv d04: the date it was given is on file; its paper names the appendix; medical still counts."""
    area = own_shop.record(Area, "bay-7")
    own_shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=False)
    assert stops_of(own_shop, "wl-1", "Dobrosi", "bay-7") == {"information-sheet"}
    assert stops_of(own_shop, "wl-1", "Halvorsen", "bay-7") == {"information-sheet", "medical"}
    person = own_shop.record(Person, "Dobrosi")
    receipt = own_shop.do(GiveSheet, person_id=person.id)
    with own_shop.store.reading() as reader:
        (sheet,) = reader.find(InformationSheet)
        (paper,) = receipt.papers
        made = record_for(reader, house(), *paper, own_shop.moment, 1)
        with pytest.raises(LookupError, match="There is no information sheet 7"):
            record_for(reader, house(), "information_sheet", "7", own_shop.moment, 1)
    assert (sheet.person_id, sheet.given_on) == (person.id, SEEN)
    assert isinstance(made, InformationPaper)
    assert (made.wearer, made.given_on, len(made.points)) == (person.label, SEEN, 4)
    assert stops_of(own_shop, "wl-1", "Dobrosi", "bay-7") == set()
    assert stops_of(own_shop, "wl-1", "Dobrosi", "bay-3") == {"training"}
    with refused(own_shop, Unknown):
        own_shop.do(GiveSheet, person_id=999)


def test_an_area_changed(own_shop: Shop) -> None:
    """Its values are replaced; the entry says where the mark turned; nonsense is refused."""
    area = own_shop.record(Area, "bay-7")
    fields = {"area_id": area.id, "area_name": "Repair", "agents": "iron oxide", "required": False}
    words = own_shop.do(ChangeArea, **fields).sentence
    assert words == f"Area {area.label} changed. A respirator is not required there from now on."
    assert own_shop.do(ChangeArea, **fields).sentence == f"Area {area.label} changed."
    changed = own_shop.record(Area, "bay-7")
    assert (changed.name, changed.agents, changed.required) == ("Repair", "iron oxide", False)
    with refused(own_shop, WrongFigure, "the name is empty"):
        own_shop.do(ChangeArea, area_id=area.id, area_name=" ", required=True)
    with refused(own_shop, WrongFigure, "not below zero"):
        own_shop.do(ChangeArea, area_id=area.id, area_name="x", required=True, dust_ug_m3=-1)
    with refused(own_shop, Unknown):
        own_shop.do(ChangeArea, area_id=99, area_name="x", required=True)
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(ChangeArea, **fields)


# Refusals and wishes.


@pytest.mark.parametrize("kind", AT_THE_COUNTER)
def test_what_a_worker_says_is_kept(own_shop: Shop, kind: NoticeKind) -> None:
    """program_duties.csv d73: the request and what was offered; the words are sealed in the entry."""
    person, unit = own_shop.record(Person, "Wronecka"), own_shop.record(Unit, "ff-1")
    fields = {"person_id": person.id, "unit_id": unit.id, "kind": kind}
    own_shop.do(RecordRefusal, **fields, detail="it presses", offered="size L")
    with own_shop.store.reading() as reader:
        (one,) = reader.find(Notice)
        (entry,) = reader.entries(count=1).entries
        listed = shift_lists()["administrator"].read(reader, house(), own_shop.moment)
    assert (one.kind, one.detail, one.offered, one.unit_id) == (kind, "it presses", "size L", unit.id)
    assert one.seen_at is None
    assert "it presses" not in str(entry)
    assert [row.key for row in listed.rows] == [str(one.id)]
    assert "it presses" not in str(listed)
    assert "Wronecka" not in str(listed)


def test_a_refusal_refused(own_shop: Shop) -> None:
    """Another kind, no words for 'something else', somebody who is not there."""
    person = own_shop.record(Person, "Wronecka").id
    for kind in (NoticeKind.NO_FILTER, NoticeKind.METER):
        with refused(own_shop, WrongFigure, "comes of an inspection"):
            own_shop.do(RecordRefusal, person_id=person, kind=kind, detail="x")
    with refused(own_shop, WrongFigure, "say what it is"):
        own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.OTHER, detail=" ")
    with refused(own_shop, WrongFigure, "said by its own command"):
        own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.HAIR, offered="seal clear again, 06:20")
    with refused(own_shop, Unknown):
        own_shop.do(RecordRefusal, person_id=999, kind=NoticeKind.SIZE)
    with refused(own_shop, Unknown):
        own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.SIZE, unit_id=999)


def test_hair_at_the_seal_stops_tight_fitting_units(own_shop: Shop) -> None:
    """program_duties.csv d26: until the seal was looked at again, or the day is over; noted again it stops again."""
    person = own_shop.record(Person, "Wronecka").id
    assert stops_of(own_shop, "ff-1", "Wronecka") == {"seal-look"}
    own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.HAIR)
    assert stops_of(own_shop, "ff-1", "Wronecka") == {"facial-hair"}
    assert stops_of(own_shop, "wl-1", "Wronecka") == set()
    own_shop.do(SayClear, person_id=person)
    assert stops_of(own_shop, "ff-1", "Wronecka") == set()
    with refused(own_shop, WrongFigure, "no facial hair was noted today"):
        own_shop.do(SayClear, person_id=person)
    own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.HAIR, offered="a shave")
    assert stops_of(own_shop, "ff-1", "Wronecka") == {"facial-hair"}
    later(own_shop, 24)
    assert "facial-hair" not in stops_of(own_shop, "ff-1", "Wronecka")
    with refused(own_shop, WrongFigure, "no facial hair was noted today"):
        own_shop.do(SayClear, person_id=person)


def test_the_administrator_answers_once(own_shop: Shop) -> None:
    """Only that role, with words, once; then it waits no more."""
    own_shop.do(RecordRefusal, person_id=own_shop.record(Person, "Nkemba").id, kind=NoticeKind.WANTS_POWERED)
    with own_shop.store.reading() as reader:
        (one,) = reader.find(Notice)
    with as_clerk(own_shop, "Castel"), refused(own_shop, NotQualified):
        own_shop.do(SeeNotice, notice_id=one.id, answer="gets one")
    with refused(own_shop, WrongFigure, "say what follows"):
        own_shop.do(SeeNotice, notice_id=one.id, answer=" ")
    with as_clerk(own_shop, "Lindqvist"):
        own_shop.do(SeeNotice, notice_id=one.id, answer="gets one")
        with refused(own_shop, AlreadyOnFile):
            own_shop.do(SeeNotice, notice_id=one.id, answer="gets none")
        with refused(own_shop, Unknown):
            own_shop.do(SeeNotice, notice_id=999, answer="gets none")
    with own_shop.store.reading() as reader:
        (seen,) = reader.find(Notice)
        assert (seen.answer, seen.seen_by) == ("gets one", own_shop.record_in(reader, Person, "Lindqvist").id)
        assert shift_lists()["administrator"].read(reader, house(), own_shop.moment).rows == ()


def test_the_answers_form_is_private(own_shop: Shop) -> None:
    """It opens for the role only, tells what was said, and becomes the operation."""
    own_shop.do(
        RecordRefusal, person_id=own_shop.record(Person, "Nkemba").id, kind=NoticeKind.SIZE, detail="too wide"
    )
    assert may_open("see-notice", "program administrator,attendant") == ""
    assert "opens for a program administrator only" in may_open("see-notice", "attendant,system administrator")
    assert "opens for a program administrator only" in may_open("see-notice", "")
    assert may_open("area", "") == ""
    with own_shop.store.reading() as reader:
        (one,) = reader.find(Notice)
        asked = Asked(reader, house(), own_shop.moment, str(one.id))
        form = form_of(asked, "see-notice")
        assert form.lead == "Said: too wide. Nothing was offered instead."
        made = operation_of(asked, "see-notice", {"about": str(one.id), "answer": "size S"}, own_shop.tokens())
        with pytest.raises(FormTroubles):
            operation_of(asked, "see-notice", {"about": str(one.id), "answer": ""}, own_shop.tokens())
        unknown = form_of(Asked(reader, house(), own_shop.moment, ""), "see-notice")
    assert isinstance(made, SeeNotice)
    assert (made.notice_id, made.answer) == (one.id, "size S")
    assert "too wide" not in str(unknown)


def test_badges_that_end_within_the_week(own_shop: Shop) -> None:
    """The first to end stands first; one that ends in eight days does not stand there yet."""
    today = house().today(own_shop.moment)
    for name, unit, pack, days in (("Wronecka", "wl-1", "pack-1", 7), ("Nkemba", "wl-2", "pack-2", 0),
                                   ("Verrani", "wl-3", "pack-3", 8)):  # fmt: skip
        hand_out(own_shop, unit, name, pack)
        one = own_shop.record(Person, name)
        own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, ends_on=today + timedelta(days=days))
    with own_shop.store.reading() as reader:
        listed = shift_lists()["badges"].read(reader, house(), own_shop.moment)
    assert [row.label for row in listed.rows] == [own_shop.names["wl-2"], own_shop.names["wl-1"]]
    assert listed.rows[0].detail == "Badge ends today; due back today 14:30"


def test_times_are_offered_within_the_badge_only(own_shop: Shop) -> None:
    """Of the next ends of a shift those before the badge ends, and the last minute of its last day."""
    assert isinstance(own_shop.store, SqlStore)
    one = own_shop.record(Person, "Verrani")
    own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, ends_on=date(2026, 11, 25))
    desk = Desk(own_shop.store, house(), own_shop.moment + timedelta(hours=1))
    for name in ("Castel", "Verrani", "wl-1"):
        desk.scan(own_shop.names[name])
    desk.choose("area")
    assert isinstance(desk.slate.form, AreaForm)
    words = [words for _, words in desk.slate.form.times]
    assert [one for one in words if ":" in one] == ["14:30", "22:30", "23:59"]
