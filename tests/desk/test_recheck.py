"""Who may no longer keep a unit: in bulk as one by one, in as many queries however many are out; calling in."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cribdesk.crib.records import Area, CallIn, Clearance, ClearanceKind, Custody, Lot, Person, StockItem, Unit
from cribdesk.crib.refusal import NothingToCallIn, StillCalledIn, Unknown
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.call_in import CallUnitsIn, EndCallIn
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.people import AddClearance, ChangePerson
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts import CallInCause, CallInSlip
from cribdesk.desk.proof import AddEvidence, GiveSheet
from cribdesk.desk.recheck import Rechecked, recheck, rechecked, to_call_in
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.standings import fleet
from cribdesk.desk.stock import BlockLot
from cribdesk.store.connect import SqlStore
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house
from tests.store.queries import counting


def listed(shop: Shop) -> tuple[Rechecked, ...]:
    """Everybody who is to be called in now."""
    with shop.store.reading() as reader:
        return to_call_in(reader, house(), fleet(reader, house(), shop.moment), shop.moment)


def labels(shop: Shop) -> list[str]:
    """Their units by the shop's names."""
    names = {label: name for name, label in shop.names.items()}
    return [names[one.unit.label] for one in listed(shop)]


def medical(shop: Shop, name: str, cleared: bool) -> None:
    """A medical recommendation of today."""
    fields = {"kind": ClearanceKind.MEDICAL, "given_on": house().today(shop.moment), "cleared": cleared}
    shop.do(AddClearance, person_id=shop.record(Person, name).id, **fields)


def three_out(shop: Shop) -> None:
    """Three units out with three wearers."""
    for unit, person, pack in (("wl-1", "Wronecka", "1"), ("wl-2", "Nkemba", "2"), ("wl-3", "Verrani", "3")):
        hand_out(shop, unit, person, f"pack-{pack}")
    assert listed(shop) == ()


def call_ins(shop: Shop) -> list[CallIn]:
    """Every call-in there is."""
    with shop.store.reading() as reader:
        return reader.find(CallIn)


def test_each_change_shows_at_once(own_shop: Shop) -> None:
    """A clearance, a hold, a recalled lot, a badge, an area: each puts its wearer on the list, worst first."""
    three_out(own_shop)
    medical(own_shop, "Nkemba", cleared=False)
    assert labels(own_shop) == ["wl-2"]
    one = own_shop.record(Person, "Verrani")
    yesterday = house().today(own_shop.moment) - timedelta(days=1)
    own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, ends_on=yesterday)
    assert labels(own_shop) == ["wl-2", "wl-3"]
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="airflow")
    assert labels(own_shop) == ["wl-1", "wl-2", "wl-3"]
    belt = own_shop.lot(own_shop.record(StockItem, "WL1-BELT"))
    own_shop.do(BlockLot, lot_id=belt.id, why="recalled")
    with own_shop.store.reading() as reader:
        assert reader.get(Lot, belt.id).blocked == "recalled"
    assert all(any("blocked" in against.words for against in row.against) for row in listed(own_shop))


def test_an_area_that_becomes_required(own_shop: Shop) -> None:
    """Worn by choice without training; the area is marked 'required' and the wearer is on the list."""
    area = own_shop.record(Area, "bay-3")
    own_shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=False)
    custody = lapsed_by_choice(own_shop)
    assert labels(own_shop) == []
    own_shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=True)
    assert labels(own_shop) == ["wl-1"]
    with own_shop.store.reading() as reader:
        (only,) = recheck(reader, house(), custody, own_shop.moment)
    assert (only.words, only.since) == ("Training ended 3 days ago", date(2026, 11, 23))


def lapsed_by_choice(shop: Shop) -> Custody:
    """Imre Dobrosi, whose training ran out, has a unit by choice."""
    shop.do(GiveSheet, person_id=shop.record(Person, "Dobrosi").id)
    hand_out(shop, "wl-1", "Dobrosi", "pack-1")
    return custody_of(shop, "wl-1")


def test_in_bulk_as_one_by_one(own_shop: Shop) -> None:
    """The list says of every open custody what the unit's own card says."""
    three_out(own_shop)
    medical(own_shop, "Nkemba", cleared=False)
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="airflow")
    one = own_shop.record(Person, "Verrani")
    own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, employer="Nordbau (invented)")
    with own_shop.store.reading() as reader:
        members = fleet(reader, house(), own_shop.moment)
        bulk = {row.custody.id: row.against for row in rechecked(reader, house(), members, own_shop.moment)}
        assert len(bulk) == 3
        for custody in reader.find(Custody, returned_at=None):
            assert recheck(reader, house(), custody, own_shop.moment) == bulk.get(custody.id, ())


def test_as_many_queries_however_many_are_out(own_shop: Shop) -> None:
    """Thirty out ask the store no more than three."""
    assert isinstance(own_shop.store, SqlStore)
    three_out(own_shop)
    medical(own_shop, "Nkemba", cleared=False)

    def asked() -> int:
        assert isinstance(own_shop.store, SqlStore)
        with counting(own_shop.store) as found:
            listed(own_shop)
        return len(found)

    few = asked()
    own_shop.crowd(27)
    for number in range(1, 28):
        hand_out(own_shop, f"unit-{number}", f"wearer-{number}", f"crowd-pack-{number}")
    medical(own_shop, "wearer-5", cleared=False)
    assert labels(own_shop) == ["wl-2", "unit-5"]
    assert asked() == few <= 24


def test_the_employer_before_proves_nothing_in_bulk_either(own_shop: Shop) -> None:
    """One by one as all at once: a proof counts for the employer that gave it."""
    three_out(own_shop)
    one = own_shop.record(Person, "Verrani")
    today = house().today(own_shop.moment)
    for employer, amiss in (("Nordbau (invented)", False), ("Südwerk (invented)", True)):
        own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, employer=employer)
        with own_shop.store.reading() as reader:
            proven = reader.find(Clearance, person_id=one.id)
        if not amiss:
            for clearance in proven:
                own_shop.do(
                    AddEvidence, clearance_id=clearance.id, document="letter", dated_on=today, seen_on=today
                )
        custody = custody_of(own_shop, "wl-3")
        with own_shop.store.reading() as reader:
            alone = recheck(reader, house(), custody, own_shop.moment)
        assert bool(alone) is amiss
        assert labels(own_shop) == (["wl-3"] if amiss else [])


def test_a_call_in_and_its_end(own_shop: Shop) -> None:
    """One open a custody, with the reasons and a slip to the supervisor; the return ends it."""
    three_out(own_shop)
    medical(own_shop, "Nkemba", cleared=False)
    custody = custody_of(own_shop, "wl-2")
    receipt = own_shop.do(CallUnitsIn, custody_ids=(custody.id,))
    (one,) = call_ins(own_shop)
    assert (one.why, one.closed_at) == ("Medical clearance: not cleared", None)
    assert receipt.papers == (("call_in_slip", str(one.id)),)
    with refused(own_shop, NothingToCallIn, "was called in already"):
        own_shop.do(CallUnitsIn, custody_ids=(custody.id,))
    with refused(own_shop, StillCalledIn, "medical clearance: not cleared"):
        own_shop.do(EndCallIn, call_in_id=one.id)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-2").id)
    (closed,) = call_ins(own_shop)
    assert closed.closed_at == own_shop.moment
    with refused(own_shop, NothingToCallIn, "has ended already"):
        own_shop.do(EndCallIn, call_in_id=one.id)
    with refused(own_shop, NothingToCallIn, "it is back"):
        own_shop.do(CallUnitsIn, custody_ids=(custody.id,))


def test_of_a_missing_unit_no_call_in_ends_and_none_is_listed(own_shop: Shop) -> None:
    """The hold still stands though nobody has it in hand: no word that its wearer may keep it."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage")
    own_shop.do(MarkMissing, unit_id=unit.id)
    (one,) = call_ins(own_shop)
    with refused(own_shop, StillCalledIn, "it is missing"):
        own_shop.do(EndCallIn, call_in_id=one.id)
    with own_shop.store.reading() as reader:
        assert rechecked(reader, house(), fleet(reader, house(), own_shop.moment), own_shop.moment) == ()
    own_shop.do(TakeBack, unit_id=unit.id)
    assert call_ins(own_shop)[0].closed_at is not None


def test_the_slip_goes_to_the_supervisor(own_shop: Shop) -> None:
    """Whom it is for, who has it, why, what to do; wearer and unit with their labels."""
    three_out(own_shop)
    one = own_shop.record(Person, "Nkemba")
    own_shop.do(ChangePerson, person_id=one.id, full_name=one.name, crew="day", employer="Nordbau (invented)")
    own_shop.do(CallUnitsIn, custody_ids=(custody_of(own_shop, "wl-2").id,))
    made = str(call_ins(own_shop)[0].id)
    with own_shop.store.reading() as reader:
        slip = record_for(reader, house(), "call_in_slip", made, own_shop.moment, 1)
        with pytest.raises(LookupError, match="There is no call-in 99"):
            record_for(reader, house(), "call_in_slip", "99", own_shop.moment, 1)
    assert isinstance(slip, CallInSlip)
    assert (slip.cause, slip.to) == (CallInCause.RECHECK, "To the supervisor, day crew, Nordbau (invented)")
    assert (slip.unit, slip.holder) == (own_shop.names["wl-2"], own_shop.names["Nkemba"])
    assert slip.why == "Medical clearance: no proof of the employer. Training: no proof of the employer."
    assert slip.steps[0].startswith("Tell the wearer: leave the fume first")


def test_the_reason_is_gone(own_shop: Shop) -> None:
    """Cleared again the wearer keeps the unit: the list says so, and only then does the call-in end."""
    three_out(own_shop)
    medical(own_shop, "Nkemba", cleared=False)
    own_shop.do(CallUnitsIn, custody_ids=(custody_of(own_shop, "wl-2").id,))
    medical(own_shop, "Nkemba", cleared=True)
    with own_shop.store.reading() as reader:
        members = fleet(reader, house(), own_shop.moment)
        (row,) = rechecked(reader, house(), members, own_shop.moment)
    assert (row.against, row.call_in is not None) == ((), True)
    own_shop.do(EndCallIn, call_in_id=call_ins(own_shop)[0].id)
    assert call_ins(own_shop)[0].closed_at is not None
    assert own_shop.record(Unit, "wl-2").where == "out"


def test_all_at_once_leaves_out_what_needs_none(own_shop: Shop) -> None:
    """Of several, those with a slip already or without a reason get none; where none is left it is refused."""
    three_out(own_shop)
    medical(own_shop, "Wronecka", cleared=False)
    medical(own_shop, "Nkemba", cleared=False)
    ids = tuple(custody_of(own_shop, name).id for name in ("wl-1", "wl-2", "wl-3"))
    own_shop.do(CallUnitsIn, custody_ids=ids[:1])
    receipt = own_shop.do(CallUnitsIn, custody_ids=ids)
    assert [paper for paper, _ in receipt.papers] == ["call_in_slip"]
    assert [one.custody_id for one in call_ins(own_shop)] == list(ids[:2])
    with refused(own_shop, NothingToCallIn, "nothing stands against its wearer"):
        own_shop.do(CallUnitsIn, custody_ids=ids)
    with refused(own_shop, NothingToCallIn):
        own_shop.do(CallUnitsIn, custody_ids=())
    with refused(own_shop, Unknown):
        own_shop.do(CallUnitsIn, custody_ids=(99,))
    with refused(own_shop, Unknown):
        own_shop.do(EndCallIn, call_in_id=99)


def test_a_holds_own_slip_is_the_call_in(own_shop: Shop) -> None:
    """A hold while it is out calls it in once; a second hold adds its words and makes no second call-in."""
    three_out(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="airflow", detail="weak")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="head")
    (one,) = call_ins(own_shop)
    assert one.why.splitlines()[0] == "On hold: airflow too low: weak"
    assert len(one.why.splitlines()) == 2
    with refused(own_shop, NothingToCallIn, "was called in already"):
        own_shop.do(CallUnitsIn, custody_ids=(custody_of(own_shop, "wl-1").id,))


def test_after_midnight(own_shop: Shop) -> None:
    """Good through its last day, on the list from the next: nobody has to run anything."""
    person = own_shop.record(Person, "Dobrosi")
    fields = {"kind": ClearanceKind.TRAINING, "given_on": date(2025, 11, 25)}
    own_shop.do(AddClearance, person_id=person.id, **fields)
    hand_out(own_shop, "wl-1", "Dobrosi", "pack-1")
    with own_shop.store.reading() as reader:
        assert len(reader.find(Clearance, person_id=person.id)) == 3
    later(own_shop, 17.5)
    assert labels(own_shop) == []
    later(own_shop, 1.5)
    assert labels(own_shop) == ["wl-1"]
