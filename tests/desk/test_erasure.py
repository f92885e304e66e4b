"""Erasing what is kept of a person: when it is not allowed, what goes, what stays, and that the journal stays sound."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from cribdesk.crib.acceptance import wants_accepting
from cribdesk.crib.label import Kind
from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import (
    Area,
    BoundLabel,
    CautionAccepted,
    Clearance,
    ClearanceKind,
    Custody,
    Notice,
    NoticeKind,
    Person,
    Unit,
)
from cribdesk.crib.refusal import MayNotErase, NotQualified, StillKept, WrongFigure
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.cabinet import Certify
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, may_open, operation_of
from cribdesk.desk.erasure import REMAINS, ErasePerson
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.find import find
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.labels import BindLabel
from cribdesk.desk.notices import RecordRefusal, SeeNotice
from cribdesk.desk.operation import PERSONAL_FIELDS, digest
from cribdesk.desk.people import AddClearance, AddPerson, ChangePerson
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.work_limits import SetWorkLimit
from cribdesk.store.check import check
from cribdesk.store.connect import open_store
from cribdesk.store.transfer import load_journal, write_journal
from tests.desk.operating import custody_of, hand_out, issue_fields, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house
from tests.desk.test_cabinet import a_cabinet, in_it

LEFT = date(2026, 11, 25)
PERSONAL = (
    "Nkemba, Chidi Amadi", "no heat above 30", "EMP-00417", "strap torn by hand", "wants a hood", "sat in the cool hall"
)  # fmt: skip


def gone(shop: Shop) -> Person:
    """Somebody with something in every personal column, whose badge has ended, and whose unit is back."""
    id_ = shop.person("Gone", PERSONAL[0])
    shop.cleared(id_)
    shop.do(AddClearance, person_id=id_, kind=ClearanceKind.MEDICAL, given_on=LEFT, detail=PERSONAL[1])
    shop.do(BindLabel, text=PERSONAL[2], label=shop.label("Gone"))
    shop.do(SetWorkLimit, person_id=id_, code_of_limit="not above 30 C", given_on=house().today(shop.moment))
    handed = issue_fields(shop, "wl-1", "Gone", "pack-1")
    with shop.store.reading() as reader:
        ids = IssueIds(*(handed[name] for name in ("unit_id", "person_id", "battery_id", "area_id", "due_at")))
        (limit,) = wants_accepting(cautions(reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)))
    shop.do(IssueUnit, accepted=((*limit.key, limit.words, PERSONAL[5], shop.clerk_id),), **handed)
    shop.do(RecordRefusal, person_id=id_, kind=NoticeKind.SIZE, detail=PERSONAL[4])
    later(shop, 8)
    unit = shop.record(Unit, "wl-1")
    shop.do(TakeBack, unit_id=unit.id)
    shop.do(
        CompleteReturn, custody_id=custody_of(shop, "wl-1").id, worn_hours=6.0, battery_back=True, damage=PERSONAL[3]
    )
    return shop.record(Person, "Gone")


def ended(shop: Shop, person: Person, left: date | None = None) -> None:
    """The badge stands no more, and what waits about them is answered."""
    shop.do(ChangePerson, person_id=person.id, full_name=person.name, trade="welder", ends_on=left, active=False)
    with shop.store.reading() as reader:
        waiting = reader.find(Notice, person_id=person.id, seen_at=None)
    for one in waiting:
        shop.do(SeeNotice, notice_id=one.id, answer="done")


def found_by(shop: Shop, words: str) -> set[str]:
    """The labels that a search finds."""
    with shop.store.reading() as reader:
        return {row.label for row in find(reader, house(), words, shop.moment).rows}


def to_day(shop: Shop, day: date) -> None:
    """The shop's clock goes on to that day."""
    shop.moment += timedelta(days=(day - house().today(shop.moment)).days)


def test_not_while_the_law_keeps_it(own_shop: Shop) -> None:
    """29 CFR 1910.1020(d)(1)(i): to the last day of employment + 30 years it is refused, on the day after it goes."""
    person = gone(own_shop)
    left = house().today(own_shop.moment)
    ended(own_shop, person)
    with refused(own_shop, StillKept, "employment and 30 years (29 CFR 1910.134(m)(1), 1910.1020(d)(1)(i))"):
        own_shop.do(ErasePerson, person_id=person.id, left_on=left)
    to_day(own_shop, date(left.year + 30, left.month, left.day))
    with refused(own_shop, StillKept):
        own_shop.do(ErasePerson, person_id=person.id, left_on=left)
    later(own_shop, 24)
    receipt = own_shop.do(ErasePerson, person_id=person.id, left_on=left)
    assert "erased" in receipt.sentence
    assert own_shop.record(Person, "Gone").name == ""


def test_lead_keeps_it_forty_years(own_shop: Shop) -> None:
    """29 CFR 1910.1025(n): who wore something where lead is in the air is kept longer."""
    area = own_shop.record(Area, "bay-3")
    own_shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=True, agents="fume of lead paint")
    person = gone(own_shop)
    left = house().today(own_shop.moment)
    ended(own_shop, person)
    to_day(own_shop, date(left.year + 31, left.month, left.day))
    with refused(own_shop, StillKept, "1910.1025(n)"):
        own_shop.do(ErasePerson, person_id=person.id, left_on=left)


def test_not_while_anything_is_open(own_shop: Shop) -> None:
    """A badge that stands, a unit out, an unanswered notice, a certification in force, who is signed on; the role."""
    person = gone(own_shop)
    left = house().today(own_shop.moment)
    fields = {"person_id": person.id, "left_on": left}
    with refused(own_shop, MayNotErase, "the badge still stands"):
        own_shop.do(ErasePerson, **fields)
    own_shop.do(ChangePerson, person_id=person.id, full_name=person.name, active=False)
    with refused(own_shop, MayNotErase, "a notice about them waits"):
        own_shop.do(ErasePerson, **fields)
    ended(own_shop, person)
    for day, words in ((left + timedelta(days=1), "still to come"), (date(2026, 11, 1), "is on file")):
        with refused(own_shop, WrongFigure, words):
            own_shop.do(ErasePerson, person_id=person.id, left_on=day)
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(ErasePerson, **fields)
    assert own_shop.clerk_id is not None
    with refused(own_shop, MayNotErase, "who is signed on"):
        own_shop.do(ErasePerson, person_id=own_shop.clerk_id, left_on=left)
    hand_out(own_shop, "wl-2", "Wronecka", "pack-2")
    wearer = own_shop.record(Person, "Wronecka")
    own_shop.do(ChangePerson, person_id=wearer.id, full_name=wearer.name, active=False)
    with refused(own_shop, MayNotErase, f"{own_shop.label('wl-2')} is out on this badge"):
        own_shop.do(ErasePerson, person_id=wearer.id, left_on=left)


def test_whose_name_a_certification_in_force_bears_is_kept(own_shop: Shop) -> None:
    """29 CFR 1910.134(h)(3)(iv)(A): it names who made the inspection, until the next one takes its place."""
    bench = own_shop.record(Person, "Castel")
    in_it(own_shop, "wl-3", a_cabinet(own_shop))
    later(own_shop, 0.1)
    office = own_shop.clerk_id
    own_shop.clerk_id = bench.id
    own_shop.inspect("wl-3", "monthly")
    own_shop.do(Certify, unit_id=own_shop.record(Unit, "wl-3").id, seal="S-2")
    own_shop.clerk_id = office
    own_shop.do(ChangePerson, person_id=bench.id, full_name=bench.name, active=False)
    with refused(own_shop, MayNotErase, "in force names them"):
        own_shop.do(ErasePerson, person_id=bench.id, left_on=house().today(own_shop.moment))


def test_who_was_entered_by_mistake_goes_at_once(own_shop: Shop) -> None:
    """Nothing is on file that has to be kept; a second time there is nothing left."""
    id_ = own_shop.person("Twice", "Entered Twice")
    own_shop.do(ChangePerson, person_id=id_, full_name="Entered Twice", active=False)
    today = house().today(own_shop.moment)
    own_shop.do(ErasePerson, person_id=id_, left_on=today)
    with refused(own_shop, MayNotErase, "nothing personal is kept"):
        own_shop.do(ErasePerson, person_id=id_, left_on=today)


def test_what_goes_what_stays_and_the_journal_is_sound(own_shop: Shop, tmp_path: Path) -> None:
    """No word of theirs is in the store, in its export or its replay; what went out on the badge is."""
    person = gone(own_shop)
    left = house().today(own_shop.moment)
    ended(own_shop, person)
    with own_shop.store.reading() as reader:
        custodies = reader.count(Custody, person_id=person.id)
        assert custodies == 1
    assert found_by(own_shop, "Chidi Amadi") == {person.label}
    to_day(own_shop, date(left.year + 31, 1, 1))
    own_shop.do(ErasePerson, person_id=person.id, left_on=left)
    assert check(own_shop.store) == []
    with own_shop.store.reading() as reader:
        after = reader.get(Person, person.id)
        assert (after.name, after.trade, after.active, after.label) == ("", "", False, person.label)
        assert [one.detail for one in reader.find(Clearance, person_id=person.id)] == [""] * 3
        assert reader.count(Custody, person_id=person.id) == custodies
        assert [one.why for one in reader.find(CautionAccepted)] == [""]
        assert reader.first(BoundLabel, kind=Kind.PERSON.value, record_id=person.id, text=PERSONAL[2]) is None
    assert found_by(own_shop, "Chidi Amadi") == found_by(own_shop, PERSONAL[2]) == set()
    write_journal(own_shop.store, tmp_path / "journal.jsonl")
    exported = (tmp_path / "journal.jsonl").read_text("utf-8")
    assert person.label in exported
    for words in PERSONAL:
        assert json.dumps(words)[1:-1] not in exported, words
        assert words not in exported, words
    with open_store(str(tmp_path / "again.sqlite"), create=True) as again:
        load_journal(tmp_path / "journal.jsonl", again)
        assert check(again) == []
        with again.reading() as reader, own_shop.store.reading() as before:
            assert reader.find(Person) == before.find(Person)


def test_no_digest_lets_a_name_be_guessed() -> None:
    """A request's plain digest leaves personal words out, so that of an erased name no guess can be tried."""
    one = AddPerson(operation_id="x", full_name=PERSONAL[0])
    assert digest(one) == digest(AddPerson(operation_id="x", full_name="Somebody Else"))
    assert digest(one) != digest(AddPerson(operation_id="x", full_name=PERSONAL[0], crew="day"))
    assert digest(one) != digest(AddPerson(operation_id="x", full_name=""))
    assert {"full_name", "text"} <= PERSONAL_FIELDS


def test_no_digest_lets_the_reason_be_guessed_why_a_caution_was_accepted(own_shop: Shop) -> None:
    """The same holds of the words in an issue; whose they are, and of which caution, is told apart."""
    plain = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")

    def with_(*row: object) -> str:
        return digest(IssueUnit(operation_id="x", accepted=(row,), **plain))  # type: ignore[arg-type]

    one = with_("work-limit", "", "30 C", PERSONAL[5], 1)
    assert one == with_("work-limit", "", "30 C", "other words", 1)
    assert len({one, with_("work-limit", "", "30 C", "", 1), with_("work-limit", "", "30 C", "x", 2)}) == 3


def test_the_form_names_what_remains_and_asks_twice(own_shop: Shop) -> None:
    """It opens for the administrators only, lists whose badge has ended, tells the period, wants its tick."""
    person = gone(own_shop)
    left = house().today(own_shop.moment)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment)
        assert person.label not in dict(form_of(asked, "erase-person").fields[0].choices)
    ended(own_shop, person, left)
    assert may_open("erase-person", "attendant")
    assert not may_open("erase-person", "program administrator")
    later(own_shop, 24)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, person.label)
        form = form_of(asked, "erase-person")
        assert REMAINS in form.lead
        day = next(one for one in form.fields if one.name == "left_on")
        assert day.value == left.isoformat()
        assert str(left.year + 30) in day.help
        values = {"about": person.label, "left_on": left.isoformat()}
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "erase-person", values, "t")
        assert "sure" in dict(caught.value.troubles)
        made = operation_of(asked, "erase-person", values | {"sure": "yes"}, "t")
    assert made == ErasePerson(operation_id="t", person_id=person.id, left_on=left)
