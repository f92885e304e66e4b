"""No medical detail leaves the role for it: every place, list, card, paper, search and form, as an attendant sees it.

29 CFR 1910.134(e)(6) leaves the recommendation with the employer; at the counter it is cleared, not cleared, until.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from cribdesk.crib.entry import canonical
from cribdesk.crib.reasons import reasons
from cribdesk.crib.records import (
    RECORDS,
    Area,
    ClearanceKind,
    Custody,
    Hold,
    Inspection,
    Notice,
    NoticeKind,
    Person,
    Role,
    Slip,
    Unit,
)
from cribdesk.crib.scan import read_scan
from cribdesk.desk import questions
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import FORMS, form_of, may_open
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.lookup import card_of, look_up
from cribdesk.desk.notices import RecordRefusal
from cribdesk.desk.people import AddClearance
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing import _BUILDERS, kept_back, record_for
from cribdesk.desk.shift_lists import shift_lists
from tests.desk.shop import Shop, house

MARK = "Zwerchfellbruch 4711"
"""A diagnosis that nobody but the role for it may see."""
ATTENDANT = Role.ATTENDANT.value


@pytest.fixture
def told(own_shop: Shop) -> Shop:
    """Somebody with the mark in everything medical, a unit out, a hold, a notice in the same words."""
    person = own_shop.record(Person, "Wronecka").id
    own_shop.do(AddClearance, person_id=person, kind=ClearanceKind.MEDICAL, given_on=date(2026, 3, 1), detail=MARK)
    halvorsen = own_shop.record(Person, "Halvorsen").id
    own_shop.do(
        AddClearance, person_id=halvorsen, kind=ClearanceKind.MEDICAL, given_on=date(2026, 3, 1), cleared=False,
        detail=MARK,
    )  # fmt: skip
    own_shop.do(RecordRefusal, person_id=person, kind=NoticeKind.OTHER, detail=MARK)
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-2").id, reason="lens", detail="scratched")
    return own_shop


def asked_places(reader: Reader) -> Iterator[tuple[str, str]]:
    """Every question a place asks, with every argument that leads somewhere."""
    labels = [one.label for kind in RECORDS if hasattr(kind, "label") or "label" in kind.__dataclass_fields__
              for one in reader.find(kind)]  # fmt: skip
    for name in questions._QUESTIONS:
        yield name, ""
        for label in labels:
            yield name, label
            yield name, f"{label}\n"
            yield name, f"\n{label}"
        yield name, MARK
        yield name, MARK.split()[0]
    for list_ in shift_lists():
        yield "shift", list_


def seen_by_an_attendant(reader: Reader, shop: Shop) -> Iterator[tuple[str, Any]]:
    """(where, what) of all that the window can ask for while an attendant is signed on."""
    at, crib = shop.moment, house()
    for name, argument in asked_places(reader):
        try:
            yield f"{name} {argument!r}", questions.place(reader, crib, name, argument, at, ATTENDANT)
        except (LookupError, ValueError) as told:
            yield f"{name} {argument!r}", str(told)
    for label in shop.names.values():
        yield f"scan {label}", look_up(reader, crib, read_scan(label), at)
    for person in reader.find(Person):
        yield f"card {person.label}", card_of(reader, crib, person, at)
        for unit in reader.find(Unit):
            for area in reader.find(Area):
                facts = facts_of(reader, crib, IssueIds(unit.id, person.id, None, area.id), at)
                yield f"issue {unit.label} to {person.label}", (facts, reasons(facts, at))
    for form in FORMS:
        if not may_open(form, ATTENDANT):
            for label in ("", *shop.names.values()):
                yield f"form {form} {label}", form_of(Asked(reader, crib, at, label), form)
    for entry in reader.entries(count=10_000).entries:
        yield f"entry {entry.seq}", (repr(entry), canonical(repr(entry)))
    yield from papers(reader, shop)


def papers(reader: Reader, shop: Shop) -> Iterator[tuple[str, Any]]:
    """Every paper that an attendant may print, of everything it can be of."""
    of = ["", "people", *shop.names.values(), *(str(one.id) for one in reader.find(Inspection))]
    of += [one.label for one in reader.find(Slip)] + [one.tag for one in reader.find(Hold)]
    of += [str(one.id) for kind in (Custody, Notice) for one in reader.find(kind)]
    for paper in _BUILDERS:
        if kept_back(paper, ATTENDANT):
            continue
        for one in of:
            try:
                yield f"{paper} {one}", record_for(reader, house(), paper, one, shop.moment, 1)
            except (LookupError, ValueError) as said:
                yield f"{paper} {one}", str(said)


def test_no_medical_detail_is_seen_by_an_attendant(told: Shop) -> None:
    """The words stand nowhere; whether somebody is cleared does. The walk really met the people and the papers."""
    with told.store.reading() as reader:
        seen = list(seen_by_an_attendant(reader, told))
    leaks = [where for where, what in seen if MARK in repr(what) and MARK not in where]
    leaks += [where for where, what in seen if MARK in where and "Zwerchfell" in repr(what).replace(MARK, "")]
    assert leaks == []
    wronecka, halvorsen = told.label("Wronecka"), told.label("Halvorsen")
    all_said = "".join(repr(what) for _, what in seen)
    assert len(seen) > 1000
    assert "Medically cleared" in all_said
    assert "Medical clearance: not cleared" in all_said
    assert {f"card {wronecka}", f"card {halvorsen}"} <= {where for where, _ in seen}


def test_a_search_for_the_words_finds_nobody(told: Shop) -> None:
    """Whoever guesses the diagnosis learns nothing from what the search finds."""
    with told.store.reading() as reader:
        for text in (MARK, "Zwerchfellbruch", "4711"):
            found = questions.place(reader, house(), "find", text, told.moment, ATTENDANT)
            assert told.label("Wronecka") not in repr(found)
            people = questions.place(reader, house(), "people", text, told.moment, ATTENDANT)
            assert people == ()


def test_the_role_for_it_sees_what_is_on_file(told: Shop) -> None:
    """The form of clearances tells it above its fields, and opens for that role alone."""
    assert "personal" in may_open("clearance", ATTENDANT)
    assert may_open("clearance", Role.PROGRAM.value) == ""
    with told.store.reading() as reader:
        form = form_of(Asked(reader, house(), told.moment, told.label("Wronecka")), "clearance")
    assert f"medical of 1 Mar 2026: {MARK}" in form.lead


def test_the_journal_keeps_a_digest_of_it(told: Shop) -> None:
    """In the chained entry the words stand as a sealed digest, so that they can be erased: design, personal data."""
    rows = told.store.engine.run("SELECT body FROM entry WHERE operation IN ('add-clearance', 'refusal')").fetchall()
    assert len(rows) > 4
    assert not [body for (body,) in rows if MARK in body]


