"""Units, parts, holds and their release: each operation's plain case and each of its refusals."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.records import (
    Battery,
    Cleaning,
    Fitted,
    Hold,
    Lot,
    Movement,
    Part,
    PartPlace,
    StockItem,
    Unit,
    Where,
)
from cribdesk.crib.refusal import (
    AlreadyHeld,
    AlreadyOut,
    NoProof,
    NotApproved,
    NotOnTheShelf,
    NotQualified,
    NotReady,
    PastItsDate,
    Scrapped,
    Unknown,
    WrongFigure,
)
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cabinet import PutInCabinet
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.equipment import PutBattery
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.stock import BlockLot, CountLot, ReceiveLot
from cribdesk.desk.unit import AddPart, AddUnit, MoveUnit
from tests.desk.operating import hand_out
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house, passed
from tests.desk.test_cabinet import a_cabinet


def parts_of(shop: Shop, model: str = "WL1") -> dict[str, tuple[str, int, int | None, int | None]]:
    """What a new unit of the model is put together from, by position."""
    found = {}
    for place in house().models[model].positions:
        item = shop.record(StockItem, place.items[0])
        part = shop.spare(f"new {place.code}", item.code).id if place.labelled else None
        found[place.code] = (place.code, item.id, None if place.labelled else shop.lot(item).id, part)
    return found


def hold_of(shop: Shop, unit: Unit) -> Hold:
    """The unit's newest hold."""
    with shop.store.reading() as reader:
        found = reader.latest(Hold, unit_id=unit.id)
    assert found is not None
    return found


def sitting(shop: Shop, unit: Unit, position: str) -> Fitted:
    """What sits at the position."""
    with shop.store.reading() as reader:
        found = reader.first(Fitted, unit_id=unit.id, position=position, removed_at=None)
    assert found is not None
    return found


def test_add_part(own_shop: Shop) -> None:
    """A part gets a label, one piece comes off the shelf; a lot of another item is refused."""
    item = own_shop.record(StockItem, "WL1-BLOWER")
    lot = own_shop.lot(item)
    part = own_shop.spare("new blower", "WL1-BLOWER")
    assert (part.place, part.lot_id, part.label[0]) == (PartPlace.SHELF, lot.id, "W")
    assert own_shop.lot(item).on_hand == lot.on_hand - 1
    other = own_shop.record(StockItem, "WL1-HEAD")
    with refused(own_shop, WrongFigure, "another item"):
        own_shop.do(AddPart, item_id=other.id, lot_id=lot.id)


def test_add_unit(own_shop: Shop) -> None:
    """A new unit lies at the bench with a part at every position, each taken off the shelf."""
    parts = parts_of(own_shop)
    before = own_shop.lot(own_shop.record(StockItem, "WL1-PREFILTER")).on_hand
    label = own_shop.do(AddUnit, model="WL1", serial="S-9", parts=tuple(parts.values())).subjects[0]
    with own_shop.store.reading() as reader:
        unit = reader.first(Unit, label=label)
        assert unit is not None
        fitted = reader.find(Fitted, unit_id=unit.id, removed_at=None)
    assert (unit.where, unit.worn_hours) == (Where.BENCH, 0.0)
    assert {one.position for one in fitted} == set(parts)
    assert own_shop.lot(own_shop.record(StockItem, "WL1-PREFILTER")).on_hand == before - 1


def test_add_unit_refused(own_shop: Shop) -> None:
    """An unknown model, a wrong size, a part that does not belong there: no unit is made."""
    parts = parts_of(own_shop)
    seal, belt, blower, head = (parts[code] for code in ("seal", "belt", "blower", "head-assembly"))
    with refused(own_shop, Unknown, "XX9"):
        own_shop.do(AddUnit, model="XX9")
    with refused(own_shop, WrongFigure, "comes in"):
        own_shop.do(AddUnit, model="WL1", size="M")
    with refused(own_shop, NotApproved):
        own_shop.do(AddUnit, model="WL1", parts=(("belt", *seal[1:]),))
    with refused(own_shop, WrongFigure, "has no wheel"):
        own_shop.do(AddUnit, model="WL1", parts=(("wheel", *seal[1:]),))
    with refused(own_shop, WrongFigure, "named twice"):
        own_shop.do(AddUnit, model="WL1", parts=(belt, belt))
    with refused(own_shop, WrongFigure, "another item"):
        own_shop.do(AddUnit, model="WL1", parts=((*seal[:2], belt[2], None),))
    with refused(own_shop, WrongFigure, "which lot"):
        own_shop.do(AddUnit, model="WL1", parts=((*seal[:2], None, None),))
    with refused(own_shop, WrongFigure, "label of its own"):
        own_shop.do(AddUnit, model="WL1", parts=((*blower[:2], None, None),))
    with refused(own_shop, NotApproved):
        own_shop.do(AddUnit, model="WL1", parts=((*blower[:3], head[3]),))
    own_shop.do(AddUnit, model="WL1", parts=(blower,))
    with refused(own_shop, WrongFigure, "not on the shelf"):
        own_shop.do(AddUnit, model="WL1", parts=(blower,))


def test_move_unit(own_shop: Shop) -> None:
    """A unit goes to the bench and back; out and assigned are reached by an issue only, a cabinet at the counter."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(MoveUnit, unit_id=unit.id, where=Where.BENCH, place="shelf 2", why="for its belt")
    assert own_shop.record(Unit, "wl-1").place == "shelf 2"
    own_shop.do(MoveUnit, unit_id=unit.id, where=Where.RACK)
    for place, words in (("gate 2", "gate 2 is no cabinet of this store; enter the cabinet"), ("", "without a name")):
        with refused(own_shop, WrongFigure, words):
            own_shop.do(MoveUnit, unit_id=unit.id, where=Where.EMERGENCY, place=place)
    for where in (Where.OUT, Where.ASSIGNED):
        with refused(own_shop, WrongFigure, "by an issue"):
            own_shop.do(MoveUnit, unit_id=unit.id, where=where)
    for where in (Where.MISSING, Where.SENT_OUT):
        with refused(own_shop, WrongFigure, "say what became of it"):
            own_shop.do(MoveUnit, unit_id=unit.id, where=where)
    with refused(own_shop, Unknown):
        own_shop.do(MoveUnit, unit_id=9999, where=Where.RACK)


def test_only_a_ready_unit_goes_into_the_emergency_cabinet(own_shop: Shop) -> None:
    """Never inspected, on hold or worn since: not into the cabinet; cleaned and inspected it goes in."""
    fields = {"cabinet_id": a_cabinet(own_shop).id, "seal": "S-1"}
    never = own_shop.record(Unit, "wl-5")
    with refused(own_shop, NotReady, "never inspected"):
        own_shop.do(PutInCabinet, unit_id=never.id, **fields)
    held = own_shop.record(Unit, "wl-2")
    own_shop.do(PlaceHold, unit_id=held.id, reason="head", detail="cracked")
    with refused(own_shop, NotReady, "cracked"):
        own_shop.do(PutInCabinet, unit_id=held.id, **fields)
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(TakeBack, unit_id=unit.id)
    with refused(own_shop, NotReady, "takes a ready unit only"):
        own_shop.do(PutInCabinet, unit_id=unit.id, **fields)
    run = passed(unit, "cleaning", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
    own_shop.moment += timedelta(minutes=5)
    own_shop.inspect("wl-1")
    own_shop.do(PutInCabinet, unit_id=unit.id, **fields)
    assert own_shop.record(Unit, "wl-1").where is Where.EMERGENCY


def test_move_unit_that_is_out(own_shop: Shop) -> None:
    """A unit with somebody is put nowhere before it is back."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    with refused(own_shop, AlreadyOut):
        own_shop.do(MoveUnit, unit_id=unit.id, where=Where.RACK)
    assert own_shop.record(Unit, "wl-1").where is Where.OUT


def test_scrap(own_shop: Shop) -> None:
    """Scrapping takes a reason and a technician, frees the labelled parts, and nothing is done afterwards."""
    unit = own_shop.record(Unit, "wl-1")
    blower = sitting(own_shop, unit, "blower")
    with refused(own_shop, WrongFigure, "say why"):
        own_shop.do(MoveUnit, unit_id=unit.id, where=Where.SCRAPPED)
    with as_clerk(own_shop, "Brandl"), refused(own_shop, WrongFigure, "technician"):
        own_shop.do(MoveUnit, unit_id=unit.id, where=Where.SCRAPPED, why="crushed")
    own_shop.do(MoveUnit, unit_id=unit.id, where=Where.SCRAPPED, why="crushed")
    with own_shop.store.reading() as reader:
        assert reader.find(Fitted, unit_id=unit.id, removed_at=None) == []
        assert blower.part_id is not None
        assert reader.get(Part, blower.part_id).place is PartPlace.SHELF
    with refused(own_shop, Scrapped):
        own_shop.do(MoveUnit, unit_id=unit.id, where=Where.RACK)


def change(shop: Shop, position: str, item_code: str, **fields: Any) -> None:
    """A change of a part of wl-1."""
    unit, item = shop.record(Unit, "wl-1"), shop.record(StockItem, item_code)
    shop.do(ChangePart, unit_id=unit.id, position=position, item_id=item.id, **fields)


def test_change_part_from_stock(own_shop: Shop) -> None:
    """The old part keeps its hours, the new one starts at none; stock goes down by one, with its movement."""
    unit, item = own_shop.record(Unit, "wl-1"), own_shop.record(StockItem, "WL1-TUBE")
    old, lot = sitting(own_shop, unit, "breathing-tube"), own_shop.lot(item)
    change(own_shop, "breathing-tube", item.code, lot_id=lot.id, why="cracked")
    with own_shop.store.reading() as reader:
        ended, moved = reader.get(Fitted, old.id), reader.latest(Movement)
    new = sitting(own_shop, unit, "breathing-tube")
    assert (ended.removed_at, ended.removed_why) == (own_shop.moment, "cracked")
    assert new.worn(unit.worn_hours) == 0.0
    assert moved is not None
    assert (moved.quantity, moved.unit_id, own_shop.lot(item).on_hand) == (-1, unit.id, lot.on_hand - 1)


def test_change_labelled_part(own_shop: Shop) -> None:
    """A labelled part comes out with its fault and is not fitted again."""
    unit = own_shop.record(Unit, "wl-1")
    old = sitting(own_shop, unit, "blower")
    spare = own_shop.record(Part, "blower-1")
    change(own_shop, "blower", "WL1-BLOWER", part_id=spare.id, why="repair", old_fault="hums")
    with own_shop.store.reading() as reader:
        assert old.part_id is not None
        out = reader.get(Part, old.part_id)
    assert (out.place, out.fault, out.unit_id) == (PartPlace.SHELF, "hums", None)
    assert own_shop.record(Part, "blower-1").unit_id == unit.id
    with refused(own_shop, WrongFigure, "a fault: hums"):
        change(own_shop, "blower", "WL1-BLOWER", part_id=out.id)
    away = own_shop.record(Part, "wl-2 blower")
    with refused(own_shop, WrongFigure, "not on the shelf"):
        change(own_shop, "blower", "WL1-BLOWER", part_id=away.id)
    with refused(own_shop, WrongFigure, "scan the label"):
        change(own_shop, "blower", "WL1-BLOWER")
    head = own_shop.spare("spare head", "WL1-HEAD")
    with refused(own_shop, NotApproved):
        change(own_shop, "blower", "WL1-BLOWER", part_id=head.id)


def test_labelled_part_of_a_blocked_lot(own_shop: Shop) -> None:
    """A part with a label does not get past the block of its lot."""
    lot = own_shop.lot(own_shop.record(StockItem, "WL1-BLOWER"))
    own_shop.do(BlockLot, lot_id=lot.id, why="recalled by its maker")
    with refused(own_shop, PastItsDate, "recalled"):
        change(own_shop, "blower", "WL1-BLOWER", part_id=own_shop.record(Part, "blower-1").id)


def test_change_part_refused(own_shop: Shop) -> None:
    """A part of another place, a lot that is empty, past, blocked or another item's: nothing is changed."""
    tube, seal = own_shop.record(StockItem, "WL1-TUBE"), own_shop.record(StockItem, "WL1-FACESEAL")
    lot = own_shop.lot(tube)
    with refused(own_shop, NotApproved):
        change(own_shop, "breathing-tube", "WL1-FACESEAL", lot_id=own_shop.lot(seal).id)
    with refused(own_shop, WrongFigure, "has no wheel"):
        change(own_shop, "wheel", "WL1-TUBE", lot_id=lot.id)
    with refused(own_shop, WrongFigure, "which lot"):
        change(own_shop, "breathing-tube", "WL1-TUBE")
    with refused(own_shop, WrongFigure, "another item"):
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=own_shop.lot(seal).id)
    own_shop.do(BlockLot, lot_id=lot.id, why="recalled")
    with refused(own_shop, PastItsDate, "recalled"):
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=lot.id)
    own_shop.do(BlockLot, lot_id=lot.id, why="")
    own_shop.do(CountLot, lot_id=lot.id, counted=0, why="gone")
    with refused(own_shop, NotOnTheShelf):
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=lot.id)
    own_shop.do(ReceiveLot, item_id=tube.id, lot_code="SHORT", quantity=1, expires_on=date(2026, 11, 25))
    own_shop.moment += timedelta(days=1)
    with own_shop.store.reading() as reader:
        short = reader.latest(Lot)
    assert short is not None
    with refused(own_shop, PastItsDate, "its date was"):
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=short.id)


def test_change_part_of_a_unit_that_is_out(own_shop: Shop) -> None:
    """What somebody wears is not worked on, nor given another pack."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    tube = own_shop.record(StockItem, "WL1-TUBE")
    with refused(own_shop, AlreadyOut):
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=own_shop.lot(tube).id)
    pack = own_shop.record(Battery, "pack-2").id
    with refused(own_shop, AlreadyOut):
        own_shop.do(PutBattery, unit_id=own_shop.record(Unit, "wl-1").id, battery_id=pack)


def test_place_hold(own_shop: Shop) -> None:
    """A hold in hand prints its tag and puts the unit on the hold shelf; one for a unit that is out calls it in."""
    unit = own_shop.record(Unit, "wl-1")
    receipt = own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="shell cracked")
    hold = hold_of(own_shop, unit)
    assert receipt.papers == (("tag", hold.tag),)
    assert own_shop.record(Unit, "wl-1").place == "hold shelf"
    hand_out(own_shop, "wl-2", "Wronecka", "pack-1")
    out = own_shop.record(Unit, "wl-2")
    with refused(own_shop, WrongFigure, "block the recalled lot first"):
        own_shop.do(PlaceHold, unit_id=out.id, reason="recall", detail="lot X #1")
    tube = sitting(own_shop, out, "breathing-tube").lot_id
    own_shop.do(BlockLot, lot_id=tube, why="recalled")
    receipt = own_shop.do(PlaceHold, unit_id=out.id, reason="recall", detail="lot X #1")
    assert hold_of(own_shop, out).detail.endswith(f"#{tube}")  # a number typed by hand is not what has to go
    assert receipt.papers == (("call_in_slip", hold_of(own_shop, out).tag),)
    assert own_shop.record(Unit, "wl-2").where is Where.OUT


def test_place_hold_refused(own_shop: Shop) -> None:
    """The same reason twice, an unknown one, the built-in one, another fault without words: refused."""
    unit = own_shop.record(Unit, "wl-1").id
    own_shop.do(PlaceHold, unit_id=unit, reason="damage")
    with refused(own_shop, AlreadyHeld):
        own_shop.do(PlaceHold, unit_id=unit, reason="damage")
    with refused(own_shop, Unknown):
        own_shop.do(PlaceHold, unit_id=unit, reason="mood")
    with refused(own_shop, WrongFigure, "only its own operation"):
        own_shop.do(PlaceHold, unit_id=unit, reason="inspection-not-finished")
    with refused(own_shop, WrongFigure, "say what is wrong"):
        own_shop.do(PlaceHold, unit_id=unit, reason="other")


def test_release_by_the_bench(own_shop: Shop) -> None:
    """A hold for damage ends by a bench inspection made after it, by a technician, once."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage")
    hold = hold_of(own_shop, unit)
    with refused(own_shop, NoProof, "a bench inspection passed"):
        own_shop.do(ReleaseHold, hold_id=hold.id)
    own_shop.inspect("wl-1")
    assert own_shop.record(Unit, "wl-1").where is Where.BENCH
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified, "bench technician"):
        own_shop.do(ReleaseHold, hold_id=hold.id)
    own_shop.do(ReleaseHold, hold_id=hold.id)
    released = hold_of(own_shop, unit)
    assert (released.released_at, released.released_by) == (own_shop.moment, own_shop.clerk_id)
    assert own_shop.record(Unit, "wl-1").where is Where.RACK
    with refused(own_shop, WrongFigure, "released already"):
        own_shop.do(ReleaseHold, hold_id=hold.id)


@pytest.mark.parametrize("reason", ["program", "dirty", "recall", "battery"])
def test_release_by_its_own_proof(own_shop: Shop, reason: str) -> None:
    """Each other reason is cleared by its own proof, and by nothing before."""
    unit = own_shop.record(Unit, "wl-1")
    lot = sitting(own_shop, unit, "breathing-tube").lot_id
    pack = own_shop.record(Battery, "pack-1")
    own_shop.do(PutBattery, unit_id=unit.id, battery_id=pack.id)
    if reason == "recall":
        own_shop.do(BlockLot, lot_id=lot, why="recalled")
    detail = {"recall": f"lot K #{lot}", "battery": f"{pack.label} runs hot"}.get(reason, "")
    own_shop.do(PlaceHold, unit_id=unit.id, reason=reason, detail=detail)
    hold = hold_of(own_shop, unit)
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold.id)
    word = ""
    if reason == "program":
        word = "looked into; it was not the unit"
    elif reason == "dirty":
        run = passed(unit, "cleaning", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
        own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
        with own_shop.store.reading() as reader:
            assert reader.latest(Cleaning, unit_id=unit.id) is not None
    elif reason == "recall":
        tube = own_shop.record(StockItem, "WL1-TUBE")
        own_shop.do(ReceiveLot, item_id=tube.id, lot_code="NEXT", quantity=1)
        change(own_shop, "breathing-tube", "WL1-TUBE", lot_id=own_shop.lot(tube).id)
    else:
        own_shop.do(PutBattery, unit_id=unit.id, battery_id=own_shop.record(Battery, "pack-2").id)
    own_shop.do(ReleaseHold, hold_id=hold.id, word=word)
    assert hold_of(own_shop, unit).released_on


def test_a_battery_hold_that_names_no_pack(own_shop: Shop) -> None:
    """Placed while no pack was in the unit: whichever is put in may be the one, so only an empty unit proves it."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="battery", detail="ran hot")
    own_shop.do(PutBattery, unit_id=unit.id, battery_id=own_shop.record(Battery, "pack-1").id)
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold_of(own_shop, unit).id)
