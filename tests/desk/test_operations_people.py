"""People, settings, prints, labels: each operation's plain case and each of its refusals."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cribdesk.crib.records import (
    BoundLabel,
    Clearance,
    ClearanceKind,
    DeadLabel,
    Person,
    Print,
    Role,
    SiteSetting,
    Unit,
)
from cribdesk.crib.refusal import (
    DoneOtherwise,
    LabelTaken,
    NoClerk,
    NotFirst,
    NotQualified,
    Unknown,
    WrongFigure,
    WrongKind,
)
from cribdesk.desk.counter import Counter
from cribdesk.desk.labels import BindLabel, ReplaceLabel
from cribdesk.desk.office import NotePrint, SetSetting
from cribdesk.desk.people import AddClearance, AddPerson, ChangePerson, FirstStart, SignOff, SignOn
from cribdesk.store.connect import open_store
from tests.desk.refused import as_clerk, head, refused
from tests.desk.shop import BUILT, Shop, house


def test_first_start_makes_the_administrator(address: str) -> None:
    """An empty store gets its first person, who is also the entry's clerk; a second first start is refused."""
    with open_store(address, create=True) as store:
        shop = Shop(store)
        receipt = shop.do(FirstStart, full_name="  Sela Okafor ")
        with store.reading() as reader:
            (person,) = reader.find(Person)
            (entry,) = reader.entries().entries
        assert person.name == "Sela Okafor"
        assert person.roles == "system administrator"
        assert entry.clerk == person.label == receipt.subjects[0]
        assert "Okafor" not in entry.sentence
        with refused(shop, NotFirst):
            shop.do(FirstStart, full_name="Somebody Else")


def test_first_start_needs_a_name(address: str) -> None:
    """A first start without a name is refused and leaves the store empty."""
    with open_store(address, create=True) as store:
        shop = Shop(store)
        with refused(shop, WrongFigure, "Name"):
            shop.do(FirstStart, full_name=" ")


def test_nobody_signed_on(own_shop: Shop) -> None:
    """Without a clerk nothing is done."""
    with as_clerk(own_shop, None), refused(own_shop, NoClerk):
        own_shop.do(SignOff)


def test_roles_reach_so_far(own_shop: Shop) -> None:
    """An attendant enters no person; a wearer signs on nowhere."""
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified, "administrator"):
        own_shop.do(AddPerson, full_name="Nobody Yet")
    with as_clerk(own_shop, "Wronecka"), refused(own_shop, NotQualified):
        own_shop.do(SignOn)


def test_inactive_clerk(own_shop: Shop) -> None:
    """A clerk who is no longer active does nothing."""
    person = own_shop.record(Person, "Brandl")
    own_shop.do(ChangePerson, person_id=person.id, full_name=person.name, active=False, roles=(Role.ATTENDANT,))
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(SignOn)


def test_the_same_id_twice(own_shop: Shop) -> None:
    """Doing it again writes nothing and returns the first receipt; another request under the id is refused."""
    counter = Counter(own_shop.store, house(), lambda: BUILT + timedelta(hours=1), "Counter 1")
    asked = SetSetting(operation_id="00000000-0000-4000-8000-000000000001", setting="site_name", value="Quay")
    first = counter.do(asked, own_shop.clerk_id)
    stood = head(own_shop)
    assert counter.do(asked, own_shop.clerk_id) == first
    assert counter.done_already(asked.operation_id) == first
    assert counter.done_already("00000000-0000-4000-8000-000000000002") is None
    assert head(own_shop) == stood
    other = SetSetting(operation_id=asked.operation_id, setting="site_name", value="Yard")
    with refused(own_shop, DoneOtherwise):
        counter.do(other, own_shop.clerk_id)


def test_sign_on_and_off(own_shop: Shop) -> None:
    """Signing on and off leave an entry that names the clerk by label."""
    with as_clerk(own_shop, "Brandl"):
        receipt = own_shop.do(SignOn)
        assert receipt.sentence == f"{own_shop.label('Brandl')} signed on at Office."
        assert own_shop.do(SignOff).subjects == (own_shop.label("Brandl"),)


def test_add_person(own_shop: Shop) -> None:
    """A person gets a fresh badge; the sentence names no name; an empty name is refused."""
    receipt = own_shop.do(AddPerson, full_name="Ελένη Άσπρου", crew="night", ends_on=date(2027, 1, 31))
    with own_shop.store.reading() as reader:
        person = reader.first(Person, label=receipt.subjects[0])
    assert person is not None
    assert (person.name, person.crew, person.ends_on) == ("Ελένη Άσπρου", "night", date(2027, 1, 31))
    assert "Άσπρου" not in receipt.sentence
    with refused(own_shop, WrongFigure, "Name"):
        own_shop.do(AddPerson, full_name="")


def test_change_person(own_shop: Shop) -> None:
    """Crew, name and end change; an unknown person and an empty name are refused."""
    person = own_shop.record(Person, "Verrani")
    own_shop.do(ChangePerson, person_id=person.id, full_name="Paolo Verrani-Costa", crew="night")
    after = own_shop.record(Person, "Verrani")
    assert (after.name, after.crew, after.revision) == ("Paolo Verrani-Costa", "night", person.revision + 1)
    with refused(own_shop, Unknown):
        own_shop.do(ChangePerson, person_id=9999, full_name="Nobody")
    with refused(own_shop, WrongFigure, "Name"):
        own_shop.do(ChangePerson, person_id=person.id, full_name=" ")


def test_the_last_administrator_stays(own_shop: Shop) -> None:
    """Roles may be taken from administrators while another is left, not from the last."""
    for name in ("Lindqvist", "Okafor"):
        person = own_shop.record(Person, name)
        own_shop.do(ChangePerson, person_id=person.id, full_name=person.name)
    last = own_shop.record(Person, "Office")
    with refused(own_shop, WrongFigure, "nobody would be left"):
        own_shop.do(ChangePerson, person_id=last.id, full_name=last.name, roles=(Role.ATTENDANT,))


def test_add_clearance(own_shop: Shop) -> None:
    """A clearance stands beside the earlier ones."""
    wearer = own_shop.record(Person, "Halvorsen")
    own_shop.do(
        AddClearance,
        person_id=wearer.id,
        kind=ClearanceKind.MEDICAL,
        given_on=date(2026, 11, 24),
        until=date(2028, 11, 24),
        detail="questionnaire",
    )
    with own_shop.store.reading() as reader:
        found = reader.find(Clearance, person_id=wearer.id)
    assert [one.kind for one in found] == [ClearanceKind.TRAINING, ClearanceKind.MEDICAL]
    assert found[1].until == date(2028, 11, 24)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"given_on": date(2026, 11, 26)}, "still to come"),
        ({"until": date(2026, 11, 1)}, "lies before"),
        ({"kind": ClearanceKind.FIT_TEST}, "one model of respirator"),
    ],
)
def test_clearance_refused(own_shop: Shop, changes: dict[str, object], words: str) -> None:
    """A date to come, an end before the start, a fit test without its model are refused."""
    asked = {"kind": ClearanceKind.TRAINING, "given_on": date(2026, 11, 24)} | changes
    person = own_shop.record(Person, "Wronecka").id
    with refused(own_shop, WrongFigure, words):
        own_shop.do(AddClearance, person_id=person, **asked)


def test_clearance_of_nobody(own_shop: Shop) -> None:
    """A clearance for somebody who is not there is refused."""
    with refused(own_shop, Unknown):
        own_shop.do(AddClearance, person_id=9999, kind=ClearanceKind.MEDICAL, given_on=date(2026, 11, 2))


def test_settings(own_shop: Shop) -> None:
    """A setting is kept, and changed in place; unknown names and impossible values are refused."""
    for value in ("Quay", "Yard"):
        own_shop.do(SetSetting, setting="site_name", value=value)
    with own_shop.store.reading() as reader:
        (kept,) = reader.find(SiteSetting)
    assert (kept.value, kept.revision) == ("Yard", 2)
    with refused(own_shop, Unknown):
        own_shop.do(SetSetting, setting="colour", value="red")
    with refused(own_shop, WrongFigure, "time zone"):
        own_shop.do(SetSetting, setting="zone", value="Europe/Nowhere")
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(SetSetting, setting="page", value="letter")


def test_prints_are_counted(own_shop: Shop) -> None:
    """Each print that came out has its copy number; one that failed takes none."""
    of = own_shop.label("wl-1")
    for failed in ("", "out of paper", ""):
        own_shop.do(NotePrint, paper="label_sheet", of=of, failed=failed)
    with own_shop.store.reading() as reader:
        assert [(one.copy, one.failed) for one in reader.find(Print, of=of)] == [(1, ""), (1, "out of paper"), (2, "")]


def test_bind_label(own_shop: Shop) -> None:
    """A foreign text scans as the record from now on, and as no other one's."""
    own_shop.do(BindLabel, text=" HN-4711 ", label=own_shop.label("Wronecka"))
    with own_shop.store.reading() as reader:
        (bound,) = reader.find(BoundLabel)
    assert (bound.text, bound.record_id) == ("HN-4711", own_shop.record(Person, "Wronecka").id)
    with refused(own_shop, LabelTaken):
        own_shop.do(BindLabel, text="HN-4711", label=own_shop.label("Nkemba"))
    with refused(own_shop, WrongFigure, "nothing to bind"):
        own_shop.do(BindLabel, text=" ", label=own_shop.label("Nkemba"))
    with refused(own_shop, Unknown):
        own_shop.do(BindLabel, text="HN-1", label="U999999N")
    with refused(own_shop, WrongKind):
        own_shop.do(BindLabel, text="HN-1", label="T000001X")


def test_replace_label(own_shop: Shop) -> None:
    """A melted label dies and is never given out again."""
    old = own_shop.label("wl-1")
    fresh = own_shop.do(ReplaceLabel, label=old).subjects[0]
    with own_shop.store.reading() as reader:
        assert reader.first(Unit, label=old) is None
        unit = reader.first(Unit, label=fresh)
        (dead,) = reader.find(DeadLabel)
    assert unit is not None
    assert (dead.label, dead.record_id) == (old, unit.id)
    with refused(own_shop, Unknown):
        own_shop.do(ReplaceLabel, label=old)
    with refused(own_shop, WrongKind):
        own_shop.do(ReplaceLabel, label="S000001X")
