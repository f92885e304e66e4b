"""Stock and equipment: each operation's plain case and each of its refusals."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    Bin,
    Calibration,
    Charger,
    ChargerSlot,
    CycleCount,
    Delivery,
    Instrument,
    Lot,
    Movement,
    Requisition,
    RequisitionLine,
    StockItem,
    Supplier,
    Unit,
)
from cribdesk.crib.refusal import (
    AlreadyOut,
    BatteryNotFree,
    LabelTaken,
    NotOnTheShelf,
    NotQualified,
    PastItsDate,
    Unknown,
    WrongFigure,
)
from cribdesk.desk.equipment import (
    AddArea,
    AddBattery,
    AddCharger,
    AddInstrument,
    Calibrate,
    EndCharge,
    PutBattery,
    RetireBattery,
    StartCharge,
)
from cribdesk.desk.operation import Operation
from cribdesk.desk.stock import AddBin, AddItem, AddSupplier, BlockLot, CountLot, ReceiveLot, SendRequisition
from cribdesk.desk.unit import AddPart
from tests.desk.operating import hand_out
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import BUILT, Shop

TODAY = BUILT.date()


def last(shop: Shop, kind: type[Any], **equal: object) -> Any:
    """The record made last."""
    with shop.store.reading() as reader:
        found = reader.latest(kind, **equal)
    assert found is not None
    return found


def refuses(shop: Shop, kind: type[Operation], words: str, **fields: object) -> None:
    """The operation is refused for a figure that cannot be."""
    with refused(shop, WrongFigure, words):
        shop.do(kind, **fields)


def prefilter(shop: Shop) -> StockItem:
    """The item most tests move."""
    return shop.record(StockItem, "WL1-PREFILTER")


def test_add_supplier_and_bin(own_shop: Shop) -> None:
    """Suppliers and bins have names of their own, once each."""
    own_shop.do(AddSupplier, supplier=" Keramion ")
    assert last(own_shop, Supplier).name == "Keramion"
    own_shop.do(AddBin, bin_code="A1-01")
    assert last(own_shop, Bin).label.startswith("N")
    with refused(own_shop, LabelTaken):
        own_shop.do(AddSupplier, supplier="Keramion")
    with refused(own_shop, LabelTaken):
        own_shop.do(AddBin, bin_code="A1-01")
    refuses(own_shop, AddSupplier, "empty", supplier=" ")
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified, "storekeeper"):
        own_shop.do(AddSupplier, supplier="Optika")


def test_add_item(own_shop: Shop) -> None:
    """An item is kept with its price in cents; a second one of its code and impossible figures are refused."""
    own_shop.do(AddItem, item_code="SWEATBAND", item_name="Sweatband", pack_size=50, price_cents=60, minimum=20)
    item = last(own_shop, StockItem)
    assert (item.pack_size, item.price_cents, item.minimum) == (50, 60, 20)
    with refused(own_shop, LabelTaken):
        own_shop.do(AddItem, item_code="SWEATBAND", item_name="Again")
    refuses(own_shop, AddItem, "at least 1", item_code="X", item_name="X", pack_size=0)
    refuses(own_shop, AddItem, "not below zero", item_code="X", item_name="X", price_cents=-1)
    refuses(own_shop, AddItem, "not below zero", item_code="X", item_name="X", minimum=-1)


def test_receive_lot(own_shop: Shop) -> None:
    """A delivery raises the lot, with its movement; more of the same lot goes on top."""
    item = prefilter(own_shop)
    fields = {"item_id": item.id, "lot_code": "K2608", "expires_on": date(2030, 1, 1)}
    own_shop.do(ReceiveLot, quantity=20, **fields)
    own_shop.do(ReceiveLot, quantity=5, **fields)
    lot = last(own_shop, Lot)
    assert (lot.code, lot.on_hand, lot.received_on) == ("K2608", 25, TODAY)
    assert (last(own_shop, Movement).quantity, last(own_shop, Movement).why) == (5, "delivery")
    assert last(own_shop, Delivery).quantity == 5
    refuses(own_shop, ReceiveLot, "booked with another date", **(fields | {"quantity": 1, "expires_on": None}))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"quantity": 0}, "at least 1"),
        ({"lot_code": " "}, "empty"),
        ({"expires_on": TODAY - timedelta(days=1)}, "past"),
    ],
)
def test_receive_lot_refused(own_shop: Shop, changes: dict[str, Any], words: str) -> None:
    """Nothing, no lot, or a lot past its date does not come in."""
    fields = {"item_id": prefilter(own_shop).id, "lot_code": "K1", "quantity": 5} | changes
    refuses(own_shop, ReceiveLot, words, **fields)


def test_requisition_and_its_delivery(own_shop: Shop) -> None:
    """A requisition is numbered; it is part delivered, then closed, as its lines arrive."""
    own_shop.do(AddSupplier, supplier="Keramion")
    supplier, item = last(own_shop, Supplier), prefilter(own_shop)
    own_shop.do(SendRequisition, supplier_id=supplier.id, lines=((item.id, 40, 310),))
    made, line = last(own_shop, Requisition), last(own_shop, RequisitionLine)
    assert (made.number, made.state, line.quantity, line.price_cents) == (1, "sent", 40, 310)
    for quantity, state in ((15, "part delivered"), (25, "closed")):
        own_shop.do(ReceiveLot, item_id=item.id, lot_code="K9", quantity=quantity, requisition_line_id=line.id)
        assert last(own_shop, Requisition).state == state
    assert last(own_shop, RequisitionLine).arrived == 40
    other = own_shop.record(StockItem, "WL1-TUBE").id
    wrong = {"item_id": other, "lot_code": "K9", "quantity": 1, "requisition_line_id": line.id}
    refuses(own_shop, ReceiveLot, "not for", **wrong)
    own_shop.do(SendRequisition, supplier_id=supplier.id, lines=((item.id, 1, 0),))
    assert last(own_shop, Requisition).number == 2


def test_requisition_refused(own_shop: Shop) -> None:
    """A requisition without a line, with an impossible one or to nobody is refused."""
    own_shop.do(AddSupplier, supplier="Keramion")
    supplier, item = last(own_shop, Supplier).id, prefilter(own_shop).id
    refuses(own_shop, SendRequisition, "no line", supplier_id=supplier, lines=())
    refuses(own_shop, SendRequisition, "at least 1", supplier_id=supplier, lines=((item, 0, 0),))
    refuses(own_shop, SendRequisition, "not below zero", supplier_id=supplier, lines=((item, 1, -1),))
    with refused(own_shop, Unknown):
        own_shop.do(SendRequisition, supplier_id=99, lines=((item, 1, 0),))


def test_count_lot(own_shop: Shop) -> None:
    """A count that agrees moves nothing; a difference is posted with its reason."""
    lot = own_shop.lot(prefilter(own_shop))
    own_shop.do(CountLot, lot_id=lot.id, counted=lot.on_hand)
    own_shop.do(CountLot, lot_id=lot.id, counted=lot.on_hand - 3, why="not booked when fitted")
    assert last(own_shop, Lot, id=lot.id).on_hand == lot.on_hand - 3
    assert (last(own_shop, CycleCount).booked, last(own_shop, CycleCount).counted) == (lot.on_hand, lot.on_hand - 3)
    assert last(own_shop, Movement).quantity == -3
    refuses(own_shop, CountLot, "say why", lot_id=lot.id, counted=1)
    refuses(own_shop, CountLot, "below zero", lot_id=lot.id, counted=-1, why="?")


def test_block_lot(own_shop: Shop) -> None:
    """A blocked lot is fitted no more until the block is lifted."""
    item = own_shop.record(StockItem, "WL1-BLOWER")
    lot = own_shop.lot(item)
    own_shop.do(BlockLot, lot_id=lot.id, why="recalled by its maker")
    assert last(own_shop, Lot, id=lot.id).blocked == "recalled by its maker"
    with refused(own_shop, PastItsDate, "recalled"):
        own_shop.do(AddPart, item_id=item.id, lot_id=lot.id)
    own_shop.do(BlockLot, lot_id=lot.id, why="")
    own_shop.do(AddPart, item_id=item.id, lot_id=lot.id)


def test_stock_never_below_zero(own_shop: Shop) -> None:
    """What is not on the shelf cannot be taken off it."""
    item = own_shop.record(StockItem, "WL1-BLOWER")
    lot = own_shop.lot(item)
    own_shop.do(CountLot, lot_id=lot.id, counted=0, why="all gone")
    with refused(own_shop, NotOnTheShelf, "0 on the shelf"):
        own_shop.do(AddPart, item_id=item.id, lot_id=lot.id)


def test_add_area_charger_and_battery(own_shop: Shop) -> None:
    """An area, a charger with its slots and a pack are entered; what cannot be is refused."""
    own_shop.do(AddArea, area_name="Yard", dust_ug_m3=1700)
    assert last(own_shop, Area).dust_ug_m3 == 1700
    own_shop.do(AddCharger, charger_name="B", slots=6)
    with own_shop.store.reading() as reader:
        charger = reader.latest(Charger)
        assert charger is not None
        assert reader.count(ChargerSlot, charger_id=charger.id) == 6
    own_shop.do(AddBattery, battery_model="WL1-PACK", serial="A7", cycles=40)
    assert (last(own_shop, Battery).cycles, last(own_shop, Battery).charged_at) == (40, None)
    refuses(own_shop, AddArea, "empty", area_name="")
    refuses(own_shop, AddArea, "not below zero", area_name="Y", dust_ug_m3=-1)
    refuses(own_shop, AddCharger, "1 to 60", charger_name="C", slots=0)
    refuses(own_shop, AddCharger, "empty", charger_name=" ")
    with refused(own_shop, LabelTaken):
        own_shop.do(AddCharger, charger_name="B")
    refuses(own_shop, AddBattery, "no unit model takes", battery_model="TORCH")


def test_charging(own_shop: Shop) -> None:
    """A pack goes on a free slot and comes off charged, a cycle older."""
    pack = own_shop.record(Battery, "pack-flat")
    with own_shop.store.reading() as reader:
        slot, other = reader.find(ChargerSlot)[:2]
    own_shop.do(StartCharge, battery_id=pack.id, slot_id=slot.id)
    on = own_shop.record(Battery, "pack-flat")
    assert (on.place, on.slot_id, on.charged_at) == (BatteryPlace.CHARGER, slot.id, None)
    with refused(own_shop, BatteryNotFree, "holds"):
        own_shop.do(StartCharge, battery_id=own_shop.record(Battery, "pack-1").id, slot_id=slot.id)
    own_shop.do(StartCharge, battery_id=pack.id, slot_id=other.id)
    own_shop.do(EndCharge, battery_id=pack.id)
    off = own_shop.record(Battery, "pack-flat")
    assert (off.place, off.slot_id, off.cycles) == (BatteryPlace.SHELF, None, pack.cycles + 1)
    assert off.charged_at == own_shop.moment
    with refused(own_shop, BatteryNotFree, "no charger"):
        own_shop.do(EndCharge, battery_id=pack.id)


def test_put_battery(own_shop: Shop) -> None:
    """A pack put into a unit pushes the one there out; a wrong model or a pack in another unit is refused."""
    unit = own_shop.record(Unit, "wl-1").id
    first, second = (own_shop.record(Battery, name).id for name in ("pack-1", "pack-2"))
    own_shop.do(PutBattery, unit_id=unit, battery_id=first)
    own_shop.do(PutBattery, unit_id=unit, battery_id=second)
    out, there = own_shop.record(Battery, "pack-1"), own_shop.record(Battery, "pack-2")
    assert (out.place, out.charged_at) == (BatteryPlace.SHELF, None)
    assert (there.place, there.unit_id) == (BatteryPlace.IN_UNIT, unit)
    with refused(own_shop, BatteryNotFree, "another unit"):
        own_shop.do(PutBattery, unit_id=own_shop.record(Unit, "wl-2").id, battery_id=second)
    with refused(own_shop, BatteryNotFree, "takes no pack"):
        own_shop.do(PutBattery, unit_id=unit, battery_id=own_shop.record(Battery, "pack-ff").id)


def test_retire_battery(own_shop: Shop) -> None:
    """A pack is scrapped and charged no more; into its place it is scanned, not retired."""
    pack = own_shop.record(Battery, "pack-1")
    own_shop.do(RetireBattery, battery_id=pack.id, place=BatteryPlace.SCRAPPED, why="holds too little")
    gone = own_shop.record(Battery, "pack-1")
    assert (gone.place, gone.note) == (BatteryPlace.SCRAPPED, "holds too little")
    with own_shop.store.reading() as reader:
        slot = reader.find(ChargerSlot)[0]
    with refused(own_shop, BatteryNotFree, "scrapped"):
        own_shop.do(StartCharge, battery_id=pack.id, slot_id=slot.id)
    other = own_shop.record(Battery, "pack-2").id
    refuses(own_shop, RetireBattery, "scan it", battery_id=other, place=BatteryPlace.CHARGER, why="?")


def test_a_pack_that_is_out_can_only_be_missing(own_shop: Shop) -> None:
    """While its unit is with somebody a pack is neither scrapped nor on the shelf."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    pack = own_shop.record(Battery, "pack-1").id
    for place in (BatteryPlace.SCRAPPED, BatteryPlace.SENT_OUT, BatteryPlace.SHELF):
        with refused(own_shop, AlreadyOut, "out with its unit"):
            own_shop.do(RetireBattery, battery_id=pack, place=place, why="?")
    own_shop.do(RetireBattery, battery_id=pack, place=BatteryPlace.MISSING, why="fell into the dock")
    assert own_shop.record(Battery, "pack-1").place is BatteryPlace.MISSING


def test_flow_meters(own_shop: Shop) -> None:
    """A meter is entered with its calibration and comes back from the next; impossible figures are refused."""
    fields = {
        "instrument_name": "Flow meter 9", "serial": "FM-9", "uncertainty_lpm": 2.5,
        "calibrated_on": date(2026, 1, 5), "calibrated_until": date(2027, 1, 5),
    }  # fmt: skip
    own_shop.do(AddInstrument, **fields)
    meter = last(own_shop, Instrument)
    made = {"instrument_id": meter.id, "made_on": TODAY, "good_until": date(2027, 11, 25), "found_error_lpm": -0.7}
    own_shop.do(Calibrate, **made)
    assert last(own_shop, Instrument).calibrated_until == date(2027, 11, 25)
    assert last(own_shop, Calibration).found_error_lpm == pytest.approx(-0.7)
    assert last(own_shop, Instrument).calibration_kg_m3 == 1.204, "said by nobody: the usual one"
    own_shop.do(Calibrate, **made, calibration_kg_m3=1.293)
    own_shop.do(Calibrate, **made)
    assert last(own_shop, Instrument).calibration_kg_m3 == 1.293, "kept where a certificate says no other"
    refuses(own_shop, Calibrate, "between 0.8 and 1.5", **made, calibration_kg_m3=1204.0)
    refuses(own_shop, AddInstrument, "between 0.8 and 1.5", **fields, calibration_kg_m3=0.0)
    refuses(own_shop, AddInstrument, "between 0 and 100", **(fields | {"uncertainty_lpm": 0.0}))
    refuses(own_shop, AddInstrument, "ends before", **(fields | {"calibrated_until": date(2025, 1, 5)}))
    refuses(own_shop, Calibrate, "cannot be", **(made | {"made_on": TODAY + timedelta(days=1)}))
    refuses(own_shop, Calibrate, "cannot be", **(made | {"good_until": date(2026, 1, 1)}))
