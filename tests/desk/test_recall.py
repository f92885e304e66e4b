"""A maker's notice: everything blocked and held in one operation, followed to the last unit, refused where it must."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    CallIn,
    Custody,
    Fitted,
    HandOut,
    Hold,
    Lot,
    Part,
    PartPlace,
    Recall,
    RecallHold,
    StockItem,
    Unit,
)
from cribdesk.crib.refusal import (
    AlreadyOnFile,
    BatteryNotFree,
    NoInstruction,
    NoProof,
    NothingRecalled,
    NotQualified,
    PastItsDate,
    RecallNotCleared,
    StillRecalled,
    WrongFigure,
)
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.equipment import AddBattery, PutBattery, RetireBattery
from cribdesk.desk.printing import record_for
from cribdesk.desk.recall import CloseRecall, HoldRecalled, OpenRecall
from cribdesk.desk.recall_reach import Meant, reach, reach_words
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.shift_list import ShiftRows
from cribdesk.desk.shift_lists import shift_page
from cribdesk.desk.stock import BlockLot, ReceiveLot
from tests.desk.operating import custody_of, hand_out
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import BUILT, Shop, house

ITEM = "WL1-PREFILTER"


def lot_of(shop: Shop, code: str = "LTER-1") -> Lot:
    """The lot that sits in every unit."""
    item = shop.record(StockItem, ITEM)
    with shop.store.reading() as reader:
        found = reader.first(Lot, item_id=item.id, code=code)
    assert found is not None
    return found


def everything(shop: Shop, kind: type, **equal: object) -> list:  # type: ignore[type-arg]
    """Records as they stand."""
    with shop.store.reading() as reader:
        return reader.find(kind, **equal)


def recall_lot(shop: Shop, notice: str = "FN 26-114", **more: object):  # type: ignore[no-untyped-def]
    """The notice of the pre-filters' maker."""
    return shop.do(OpenRecall, notice=notice, why="seam opens when damp", lot_id=lot_of(shop).id, **more)


def new_filter(shop: Shop, name: str) -> None:
    """Another lot's pre-filter goes in."""
    unit, item = shop.record(Unit, name), shop.record(StockItem, ITEM)
    shop.do(ChangePart, unit_id=unit.id, position="pre-filter", item_id=item.id, lot_id=lot_of(shop, "OLD").id)


def recalls(shop: Shop) -> ShiftRows:
    """The list as it is shown."""
    with shop.store.reading() as reader:
        return shift_page(reader, house(), "recalls", shop.moment).rows


def test_one_operation_blocks_the_lot_and_holds_every_unit_that_has_it(own_shop: Shop) -> None:
    """In hand a tag prints, out a call-in slip; the call-in is noted, and nothing of the lot is fitted any more."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    receipt = recall_lot(own_shop)
    fitted = {one.unit_id for one in everything(own_shop, Fitted, lot_id=lot_of(own_shop).id, removed_at=None)}
    held = everything(own_shop, Hold, reason="recall", released_at=None)
    assert len(fitted) == 5
    assert {one.unit_id for one in held} == fitted
    assert sorted(name for name, _ in receipt.papers) == ["call_in_slip", *["tag"] * 4]
    assert "lot LTER-1 of Wl1 prefilter blocked, 5 units held, 1 of them out." in receipt.sentence
    assert lot_of(own_shop).blocked == "recall FN 26-114: seam opens when damp"
    assert [one.unit_id for one in everything(own_shop, CallIn, closed_at=None)] == [own_shop.record(Unit, "wl-1").id]
    (one,) = everything(own_shop, Recall)
    assert {link.hold_id for link in everything(own_shop, RecallHold, recall_id=one.id)} == {hold.id for hold in held}
    unit, item = own_shop.record(Unit, "wl-2"), own_shop.record(StockItem, ITEM)
    fields = {"unit_id": unit.id, "position": "pre-filter", "item_id": item.id, "lot_id": lot_of(own_shop).id}
    with refused(own_shop, PastItsDate, "blocked, recall FN 26-114"):
        own_shop.do(ChangePart, **fields)
    with own_shop.store.reading() as reader:
        for paper, of in receipt.papers:
            assert "notice FN 26-114, lot LTER-1" in record_for(reader, house(), paper, of, own_shop.moment, 1).why


def test_a_recalled_unit_that_comes_back_gets_its_tag(own_shop: Shop) -> None:
    """The slip calls it in; the tag prints at its return."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    recall_lot(own_shop)
    receipt = own_shop.do(TakeBack, unit_id=custody_of(own_shop, "wl-1").unit_id)
    unit = own_shop.record(Unit, "wl-1")
    tags = [one.tag for one in everything(own_shop, Hold, unit_id=unit.id, released_at=None)]
    assert [paper for paper in receipt.papers if paper[0] == "tag"] == [("tag", tag) for tag in tags]
    assert everything(own_shop, CallIn, closed_at=None) == []
    assert everything(own_shop, Custody, unit_id=unit.id, returned_at=None) == []


def test_a_recall_is_followed_to_its_last_unit_and_closed(own_shop: Shop) -> None:
    """Only the lot coming out releases a hold; the list counts down; the last one cleared, it closes."""
    recall_lot(own_shop)
    (one,) = everything(own_shop, Recall)
    holds = everything(own_shop, Hold, reason="recall", released_at=None)
    assert recalls(own_shop).lead == "1 recall open, 5 units not cleared."
    with refused(own_shop, NoProof, "the recalled lot out of the unit"):
        own_shop.do(ReleaseHold, hold_id=holds[0].id)
    with refused(own_shop, RecallNotCleared, own_shop.label("wl-1")):
        own_shop.do(CloseRecall, recall_id=one.id, word="sent back")
    with own_shop.store.reading() as reader:
        names = {own_shop.record_in(reader, Unit, f"wl-{n}").id: f"wl-{n}" for n in range(1, 6)}
    own_shop.do(ReceiveLot, item_id=one_item(own_shop), lot_code="NEW", quantity=10)
    for number, hold in enumerate(holds):
        unit = own_shop.record(Unit, names[hold.unit_id])
        item = own_shop.record(StockItem, ITEM)
        lot = lot_of(own_shop, "NEW").id
        own_shop.do(ChangePart, unit_id=unit.id, position="pre-filter", item_id=item.id, lot_id=lot)
        own_shop.do(ReleaseHold, hold_id=hold.id)
        assert f"{number + 1} of 5 units cleared" in recalls(own_shop).rows[0].detail
    head = recalls(own_shop).rows[0]
    assert (head.sign, [action.id for action in head.actions]) == ("fine", ["close-recall"])
    with refused(own_shop, WrongFigure, "what became"):
        own_shop.do(CloseRecall, recall_id=one.id, word=" ")
    own_shop.do(CloseRecall, recall_id=one.id, word="400 pieces sent back")
    assert recalls(own_shop).lead == "No recall is open."
    assert lot_of(own_shop).blocked
    with refused(own_shop, WrongFigure, "closed already"):
        own_shop.do(CloseRecall, recall_id=one.id, word="again")


def one_item(shop: Shop) -> int:
    """The pre-filter's id."""
    return shop.record(StockItem, ITEM).id


def test_a_recalled_lot_stays_blocked(own_shop: Shop) -> None:
    """Nobody lifts the block while the recall is open; a site's own block is lifted as before."""
    recall_lot(own_shop)
    with refused(own_shop, StillRecalled, "Close the recall first."):
        own_shop.do(BlockLot, lot_id=lot_of(own_shop).id, why="")
    other = lot_of(own_shop, "OLD")
    own_shop.do(BlockLot, lot_id=other.id, why="wet carton")
    own_shop.do(BlockLot, lot_id=other.id, why="")
    assert lot_of(own_shop, "OLD").blocked == ""


def test_a_closed_recalls_block_takes_the_administrator(own_shop: Shop) -> None:
    """A recalled lot never becomes an ordinary one by the storekeeper's word."""
    own_shop.do(ReceiveLot, item_id=one_item(own_shop), lot_code="UNUSED", quantity=10)
    lot = lot_of(own_shop, "UNUSED")
    own_shop.do(OpenRecall, notice="N 2", why="wrong print", lot_id=lot.id)
    (one,) = everything(own_shop, Recall)
    own_shop.do(CloseRecall, recall_id=one.id, word="sent back")
    with as_clerk(own_shop, "Castel"), refused(own_shop, StillRecalled, "Only the program administrator"):
        own_shop.do(BlockLot, lot_id=lot.id, why="")
    own_shop.do(BlockLot, lot_id=lot.id, why="")
    assert lot_of(own_shop, "UNUSED").blocked == ""


def test_two_notices_about_one_unit_stand_on_one_hold(own_shop: Shop) -> None:
    """The second lot is named on the same tag, and both have to come out."""
    recall_lot(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        other = next(
            one for one in reader.find(Fitted, unit_id=unit.id, removed_at=None)
            if one.lot_id and one.position != "pre-filter"
        )  # fmt: skip
    own_shop.do(OpenRecall, notice="N 2", why="cracks", lot_id=other.lot_id)
    (hold,) = everything(own_shop, Hold, unit_id=unit.id, released_at=None)
    assert "notice FN 26-114" in hold.detail
    assert f"notice N 2, lot {everything(own_shop, Lot, id=other.lot_id)[0].code} #{other.lot_id}" in hold.detail
    assert len(everything(own_shop, RecallHold, hold_id=hold.id)) == 2
    new_filter(own_shop, "wl-1")
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold.id)


def test_a_whole_model_is_held_until_the_administrator_names_the_notice(own_shop: Shop) -> None:
    """Every unit of it and no other; the word has to name the notice, and only the administrator gives it."""
    receipt = own_shop.do(OpenRecall, notice="FD 7", why="valve sticks", model="FF1")
    assert receipt.subjects == (own_shop.label("ff-1"),)
    (hold,) = everything(own_shop, Hold, reason="recall-unit", released_at=None)
    with as_clerk(own_shop, "Castel"), refused(own_shop, NotQualified, "program administrator"):
        own_shop.do(ReleaseHold, hold_id=hold.id, word="FD 7: valve changed")
    with refused(own_shop, NoInstruction, "Name the notice, FD 7"):
        own_shop.do(ReleaseHold, hold_id=hold.id, word="valve changed")
    own_shop.do(ReleaseHold, hold_id=hold.id, word="fd 7, step 3: valve changed")
    (one,) = everything(own_shop, Recall)
    with refused(own_shop, NothingRecalled):
        own_shop.do(HoldRecalled, recall_id=one.id)
    own_shop.do(CloseRecall, recall_id=one.id, word="set right")


def test_a_unit_entered_after_the_notice_waits_to_be_held(own_shop: Shop) -> None:
    """It is told in the list, keeps the recall open, and is held by one button."""
    own_shop.do(OpenRecall, notice="FD 7", why="valve sticks", model="FF1")
    (one,) = everything(own_shop, Recall)
    (hold,) = everything(own_shop, Hold, reason="recall-unit", released_at=None)
    own_shop.do(ReleaseHold, hold_id=hold.id, word="FD 7 done")
    own_shop.unit("ff-2", "FF1", size="M")
    assert [(row.what, row.label) for row in recalls(own_shop).rows[1:]] == [("Not held yet", own_shop.label("ff-2"))]
    with refused(own_shop, RecallNotCleared, own_shop.label("ff-2")):
        own_shop.do(CloseRecall, recall_id=one.id, word="done")
    own_shop.do(HoldRecalled, recall_id=one.id)
    unit = own_shop.record(Unit, "ff-2")
    assert [one.reason for one in everything(own_shop, Hold, unit_id=unit.id, released_at=None)] == ["recall-unit"]


def test_a_unit_whose_serial_does_not_tell_is_held_too(own_shop: Shop) -> None:
    """Of a range those in it; and, refuse rather than guess, one whose serial may be any of them."""
    own_shop.unit("wl-1b", "WL1")
    receipt = own_shop.do(
        OpenRecall, notice="FD 8", why="weld cracks", model="WL1", serial_from="WL-1", serial_to="WL 02"
    )
    assert receipt.subjects == tuple(sorted(own_shop.label(name) for name in ("wl-1", "wl-2", "wl-1b")))
    details = {one.unit_id: one.detail for one in everything(own_shop, Hold, reason="recall-unit")}
    assert "its serial does not tell: read it" in details[own_shop.record(Unit, "wl-1b").id]
    assert details[own_shop.record(Unit, "wl-1").id] == "notice FD 8"


def test_a_recall_hold_ends_by_that_lot_coming_out_and_by_nothing_else(own_shop: Shop) -> None:
    """No inspection, no word, no other part's change ends it; the recalled lot out does."""
    recall_lot(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    (hold,) = everything(own_shop, Hold, unit_id=unit.id, released_at=None)
    with own_shop.store.reading() as reader:
        other = next(
            one for one in reader.find(Fitted, unit_id=unit.id, removed_at=None)
            if one.lot_id and one.position != "pre-filter"
        )  # fmt: skip
    own_shop.moment += timedelta(hours=1)
    own_shop.inspect("wl-1")
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold.id, word="FN 26-114 says it may stay")
    lots = everything(own_shop, Lot, item_id=other.item_id)
    fields = {"unit_id": unit.id, "position": other.position, "item_id": other.item_id}
    own_shop.do(ChangePart, **fields, lot_id=lots[0].id)
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold.id)
    new_filter(own_shop, "wl-1")
    own_shop.do(ReleaseHold, hold_id=hold.id)
    assert everything(own_shop, Hold, unit_id=unit.id, released_at=None) == []


def test_a_lot_that_never_came_in_blocks_on_arrival(own_shop: Shop) -> None:
    """It is noted without a piece; when it comes it takes the carton's date, lies there blocked, and is not fitted."""
    item = one_item(own_shop)
    receipt = own_shop.do(OpenRecall, notice="N 3", why="wrong felt", item_id=item, lot_code=" Q9 ")
    assert "lot Q9 of Wl1 prefilter blocked, 0 units held; it blocks on arrival." in receipt.sentence
    lot = lot_of(own_shop, "Q9")
    assert (lot.on_hand, lot.received_on, lot.blocked) == (0, None, "recall N 3: wrong felt")
    assert "none of it came in yet, blocked on arrival" in recalls(own_shop).rows[0].detail
    until = own_shop.moment.date() + timedelta(days=400)
    receipt = own_shop.do(ReceiveLot, item_id=item, lot_code="Q9", quantity=20, expires_on=until)
    assert "The lot is blocked: recall N 3: wrong felt." in receipt.sentence
    lot = lot_of(own_shop, "Q9")
    assert (lot.on_hand, lot.expires_on, bool(lot.received_on)) == (20, until, True)
    assert "20 pieces on the shelf, blocked" in recalls(own_shop).rows[0].detail
    unit = own_shop.record(Unit, "wl-1")
    with refused(own_shop, PastItsDate, "blocked, recall N 3"):
        own_shop.do(ChangePart, unit_id=unit.id, position="pre-filter", item_id=item, lot_id=lot.id)
    with refused(own_shop, WrongFigure, "another date"):
        own_shop.do(ReceiveLot, item_id=item, lot_code="Q9", quantity=20)
    (one,) = everything(own_shop, Recall)
    own_shop.do(CloseRecall, recall_id=one.id, word="all 20 sent back")
    assert lot_of(own_shop, "Q9").blocked


def test_packs_are_recalled_by_model_and_serial(own_shop: Shop) -> None:
    """In a unit that is out, on the shelf, one whose serial does not tell: none goes into a unit, the unit is held."""
    pack = own_shop.record(Battery, "pack-1")
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    serials = {one.label: one.serial for one in everything(own_shop, Battery, model=pack.model)}
    receipt = own_shop.do(OpenRecall, notice="BN 5", why="cells swell", model=pack.model)
    assert f"every pack {pack.model} recalled, 1 unit held, 1 of them out, {len(serials)} packs" in receipt.sentence
    assert [name for name, _ in receipt.papers] == ["call_in_slip"]
    (hold,) = everything(own_shop, Hold, released_at=None)
    assert (hold.reason, hold.detail) == ("battery", f"notice BN 5, pack {pack.label}")
    assert all(one.faulty for one in everything(own_shop, Battery, model=pack.model))
    assert recalls(own_shop).lead == f"1 recall open, 1 unit and {len(serials)} packs not cleared."
    other, unit = own_shop.record(Battery, "pack-2"), own_shop.record(Unit, "wl-2")
    with refused(own_shop, BatteryNotFree, "recall BN 5, cells swell"):
        own_shop.do(PutBattery, unit_id=unit.id, battery_id=other.id)


def test_a_recalled_pack_is_given_free_by_its_notice_alone(own_shop: Shop) -> None:
    """The administrator names the notice, or the pack leaves; the hold ends with the pack out; then it closes."""
    pack = own_shop.record(Battery, "pack-1")
    own_shop.do(PutBattery, unit_id=own_shop.record(Unit, "wl-1").id, battery_id=pack.id)
    own_shop.do(OpenRecall, notice="BN 5", why="cells swell", model=pack.model)
    (one,) = everything(own_shop, Recall)
    (hold,) = everything(own_shop, Hold, released_at=None)
    with refused(own_shop, NoProof, "that battery out of the unit"):
        own_shop.do(ReleaseHold, hold_id=hold.id)
    fields = {"battery_id": pack.id, "place": BatteryPlace.SHELF}
    with refused(own_shop, NoInstruction, "Name the notice, BN 5"):
        own_shop.do(RetireBattery, **fields, why="looks fine")
    with as_clerk(own_shop, "Castel"), refused(own_shop, NotQualified, "program administrator"):
        own_shop.do(RetireBattery, **fields, why="BN 5: cells measured")
    own_shop.do(RetireBattery, **fields, why="BN 5: cells measured")
    assert not own_shop.record(Battery, "pack-1").faulty
    own_shop.do(ReleaseHold, hold_id=hold.id)
    for other in everything(own_shop, Battery, model=pack.model):
        if other.faulty:
            with refused(own_shop, RecallNotCleared, other.label):
                own_shop.do(CloseRecall, recall_id=one.id, word="done")
            own_shop.do(RetireBattery, battery_id=other.id, place=BatteryPlace.SENT_OUT, why="to its maker")
    own_shop.do(CloseRecall, recall_id=one.id, word="sent back")
    assert recalls(own_shop).lead == "No recall is open."


def test_two_notices_of_one_pack_stand_both_in_its_note(own_shop: Shop) -> None:
    """The second names itself before the first; given free by one alone, the other still holds it."""
    pack = own_shop.record(Battery, "pack-1")
    for notice, why in (("BN 5", "cells swell"), ("BN 7", "plug melts")):
        own_shop.do(OpenRecall, notice=notice, why=why, model=pack.model)
    note = own_shop.record(Battery, "pack-1").note
    assert note.endswith(": recall BN 7, plug melts; recall BN 5, cells swell")
    with refused(own_shop, NoInstruction, "Name the notice, BN 7"):
        own_shop.do(RetireBattery, battery_id=pack.id, place=BatteryPlace.SHELF, why="BN 5: cells measured")
    own_shop.do(RetireBattery, battery_id=pack.id, place=BatteryPlace.SHELF, why="BN 5 and BN 7: both done")
    assert not own_shop.record(Battery, "pack-1").faulty


def test_packs_outside_the_serials_stay_in_use(own_shop: Shop) -> None:
    """A range means its packs and those whose serial does not tell; a pack entered later waits to be marked."""
    model = own_shop.record(Battery, "pack-1").model
    for serial in ("RC-0007", "RC-0012", ""):
        own_shop.do(AddBattery, battery_model=model, serial=serial)
    before = {one.id for one in everything(own_shop, Battery, model=model, serial="RC-0012")}
    range_ = {"model": model, "serial_from": "RC-0001", "serial_to": "RC-0009"}
    own_shop.do(OpenRecall, notice="BN 6", why="cells swell", **range_)
    notes = {one.serial: one.note for one in everything(own_shop, Battery, model=model)}
    assert "recall BN 6" in notes["RC-0007"]
    assert "its serial does not tell" in notes[""]
    assert notes["RC-0012"] == ""
    assert len(before) == 1
    own_shop.do(AddBattery, battery_model=model, serial="RC-0003")
    assert "Not marked yet" in {row.what for row in recalls(own_shop).rows}
    (one,) = everything(own_shop, Recall)
    own_shop.do(HoldRecalled, recall_id=one.id)
    assert "Not marked yet" not in {row.what for row in recalls(own_shop).rows}
    with refused(own_shop, NothingRecalled):
        own_shop.do(HoldRecalled, recall_id=one.id)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"notice": " "}, "say its number"),
        ({"why": ""}, "what the maker found"),
        ({"model": "FF1"}, "one lot, or of one unit model or pack model"),
        ({"lot_id": None}, "one lot, or of one unit model"),
        ({"item_id": 1, "lot_code": "Q9"}, "one lot, or of one unit model"),
        ({"lot_id": None, "item_id": 1}, "the lot as the notice writes it"),
        ({"lot_code": "Q9"}, "say the item"),
        ({"lot_id": None, "model": "XX9"}, "none of this crib"),
        ({"lot_id": None, "model": "FF1", "serial_from": "A1"}, "the first and the last"),
        ({"lot_id": None, "model": "FF1", "serial_from": "A9", "serial_to": "A1"}, "before the first"),
        ({"serial_from": "A1", "serial_to": "A9"}, "say the model"),
    ],
)
def test_a_notice_that_says_too_little_is_refused(own_shop: Shop, fields: dict[str, object], words: str) -> None:
    """Each lack is named, and nothing is blocked or held."""
    whole = {"notice": "N 1", "why": "seam", "lot_id": lot_of(own_shop).id} | fields
    with refused(own_shop, WrongFigure, words):
        own_shop.do(OpenRecall, **whole)
    assert lot_of(own_shop).blocked == ""


def test_the_same_notice_twice_and_the_wrong_clerk_are_refused(own_shop: Shop) -> None:
    """An attendant alone opens no recall; a second entry of one that is open adds nothing."""
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        recall_lot(own_shop)
    recall_lot(own_shop)
    with refused(own_shop, AlreadyOnFile, "Recall FN 26-114 of lot LTER-1"):
        recall_lot(own_shop)


def test_the_form_says_where_it_all_is_before_anything_is_done(own_shop: Shop) -> None:
    """A scanned item of two lots asks which; the chosen lot's places stand above the fields."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    item = own_shop.label(ITEM)
    lot = lot_of(own_shop)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, item)
        assert [one.name for one in form_of(asked, "recall").fields] == ["about"]
        asked = Asked(reader, house(), own_shop.moment, f"{item} {lot.id}")
        form = form_of(asked, "recall")
        assert f"On the shelf: {lot.on_hand} pieces." in form.lead
        assert f"{own_shop.label('wl-1')} out with Łucja Wronecka" in form.lead
        values = {"about": f"{item} {lot.id}", "notice": "N 9", "why": "seam"}
        made = operation_of(asked, "recall", values, "t")
        assert made == OpenRecall(operation_id="t", notice="N 9", why="seam", lot_id=lot.id)
        form = form_of(Asked(reader, house(), own_shop.moment, f"{item} new"), "recall")
        assert [one.name for one in form.fields] == ["about", "lot_code", "notice", "maker", "why"]
        assert form.lead.startswith("Nothing of it came in by the book.")
        values = {"about": f"{item} new", "lot_code": "Q9", "notice": "N 9", "why": "seam"}
        made = operation_of(Asked(reader, house(), own_shop.moment, f"{item} new"), "recall", values, "t")
        id_ = own_shop.record_in(reader, StockItem, ITEM).id
        assert made == OpenRecall(operation_id="t", notice="N 9", why="seam", item_id=id_, lot_code="Q9")
        asked = Asked(reader, house(), own_shop.moment, "model WL1")
        values = {"about": "model WL1", "notice": "N 9", "why": "seam", "serial_from": "A-7", "serial_to": "A-1"}
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "recall", values, "t")
        assert caught.value.troubles == (("serial_to", "The last serial comes before the first."),)


class TakenAlong:
    """Records of a store of three hand-outs and three labelled parts of one lot, and nothing else."""

    def get(self, kind: type, id_: int) -> object:
        """The lot, or its item."""
        return Lot(id=id_, item_id=1, code="A") if kind is Lot else StockItem(id=id_, label="K", code="C", name="Cover")

    def find(self, kind: type, **_: object) -> list:  # type: ignore[type-arg]
        """What there is of a kind."""
        if kind is HandOut:
            return [
                HandOut(id=n, person_id=1, item_id=1, lot_id=1, quantity=4, fitted_pieces=fitted, at=BUILT, by_id=1)
                for n, fitted in enumerate((0, 3, 4))
            ]
        if kind is Part:
            return [Part(id=n, label=f"E{n}", item_id=1, lot_id=1, place=place) for n, place in enumerate(PartPlace)]
        return []


def test_what_was_taken_along_or_sent_out_is_named() -> None:
    """Pieces not fitted by the book are asked for; labelled parts count on the shelf and sent out, others not."""
    found = reach(TakenAlong(), Meant(lot_id=1))  # type: ignore[arg-type]
    assert [one.quantity - one.fitted_pieces for one in found.along] == [4, 1]
    assert {one.place for one in found.spares} == {PartPlace.SHELF, PartPlace.SENT_OUT}
    words = reach_words(found, {})
    assert "On the shelf: 0 pieces, besides 2 labelled parts." in words
    assert "5 pieces were taken along and are not fitted by the book" in words
