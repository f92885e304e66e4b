"""Requests for requisitions, prices, goods that go back, and recalls, by code."""

from __future__ import annotations

from datetime import date

from cribdesk.crib.records import (
    CountSheet,
    Lot,
    Recall,
    Requisition,
    RequisitionLine,
    RequisitionState,
    StockItem,
    Supplier,
)
from cribdesk.desk.counting import MakeCountSheet
from cribdesk.desk.recall import OpenRecall
from cribdesk.desk.requisitions import MakeRequisitions, StepRequisition
from cribdesk.desk.stock import AddItem, AddSupplier, ReceiveLot
from tests.desk.requests_common import NOBODY, Fields, Makes, first_item, in_days
from tests.desk.scene import Scene
from tests.desk.shop import Shop


def stock_the_store(shop: Shop) -> None:
    """A supplier with an item, a draft and one handed over; recalls of goods that are in no unit, and of a new one."""
    shop.do(AddSupplier, supplier="Weir")
    with shop.store.reading() as reader:
        supplier = reader.latest(Supplier)
    assert supplier is not None
    shop.do(AddItem, item_code="BOUGHT", item_name="Bought", supplier_id=supplier.id, price_cents=120)
    shop.names["BOUGHT"] = _latest(shop, StockItem).label
    item = shop.record(StockItem, "BOUGHT").id
    shop.do(ReceiveLot, item_id=item, lot_code="B1", quantity=9)
    recalled = _latest(shop, Lot).id
    for _ in range(2):
        shop.do(MakeRequisitions, lines=((item, 4),))
    shop.do(StepRequisition, requisition_id=_latest(shop, Requisition).id, to=RequisitionState.SENT)
    shop.do(MakeCountSheet, item_ids=(item,))
    shop.do(OpenRecall, notice="N1", why="cracks", lot_id=recalled)
    shop.do(OpenRecall, notice="N2", why="cracks", model="WL1", serial_from="z1", serial_to="z9")
    shop.unit("z5", "WL1", bench=False)


def _latest(shop: Shop, kind: type) -> object:
    with shop.store.reading() as reader:
        return reader.latest(kind)


def _make(scene: Scene) -> list[Fields]:
    item = scene.id(StockItem, "BOUGHT")
    return [{"lines": lines} for lines in (((item, 3),), (), ((item, 0),), ((NOBODY, 3),))]


def _change(scene: Scene) -> list[Fields]:
    """Pieces and the promised day of each line; nothing that differs."""
    found = []
    for line in scene.find(RequisitionLine):
        same = {"requisition_id": line.requisition_id}
        found += [
            same | {"lines": ((line.id, line.item_id, pieces, day),)}
            for pieces, day in ((line.quantity, None), (line.quantity + 2, None), (line.quantity, in_days(scene, 5)))
        ]
    return found


def _step(scene: Scene) -> list[Fields]:
    return [
        {"requisition_id": one.id, "to": to, "note": note}
        for one in scene.find(Requisition) for to in RequisitionState for note in ("", "no more")
    ]  # fmt: skip


def _price(scene: Scene) -> list[Fields]:
    base = {"item_id": scene.id(StockItem, "BOUGHT"), "supplier_id": scene.first(Supplier).id, "price_cents": 150}
    return [base | {"from_on": in_days(scene, 0)}, base | {"from_on": date(2027, 1, 1), "price_cents": -1}]


def _back(scene: Scene) -> list[Fields]:
    lot = scene.latest(Lot, item_id=first_item(scene)).id
    base = {"lot_id": lot, "quantity": 1, "why": "wrong"}
    return [base, base | {"quantity": 9000}, base | {"why": " "}, base | {"replaced": True}]


def _open_recall(scene: Scene) -> list[Fields]:
    """The lot that states are made with, the unit's model, its own serial; no notice, nothing meant."""
    lot = scene.latest(Lot, item_id=first_item(scene)).id
    base = {"notice": "T1", "why": "cracks"}
    serial = scene.unit.serial
    return [
        base | {"lot_id": lot}, base | {"model": scene.unit.model},
        base | {"item_id": first_item(scene), "lot_code": "NEVER"}, base | {"model": "WL1-PACK"},
        base | {"model": scene.unit.model, "serial_from": serial, "serial_to": serial},
        base | {"lot_id": lot, "notice": " "}, base,
    ]  # fmt: skip


def _hold_recalled(scene: Scene) -> list[Fields]:
    return [{"recall_id": one.id} for one in scene.find(Recall)] + [{"recall_id": NOBODY}]


def _close_recall(scene: Scene) -> list[Fields]:
    return [{"recall_id": one.id, "word": word} for one in scene.find(Recall) for word in ("sent back", "")]


def _count_sheet(scene: Scene) -> list[Fields]:
    return [{"item_ids": ids} for ids in ((scene.id(StockItem, "BOUGHT"),), (), (NOBODY,))]


def _drop_sheet(scene: Scene) -> list[Fields]:
    sheet = scene.latest(CountSheet).id
    return [{"count_sheet_id": sheet, "why": why} for why in ("no time", " ")]


def _order_rule(scene: Scene) -> list[Fields]:
    item = {"item_id": scene.id(StockItem, "BOUGHT")}
    return [item | {"minimum": 2, "maximum": 9}, item | {"minimum": 9, "maximum": 2}, item | {"criticality": "Z"}]


def _set_aside(scene: Scene) -> list[Fields]:
    item = first_item(scene)
    return [{"lines": lines} for lines in (((item, 1),), ((item, -1),), ((item, 9000),), (), ((NOBODY, 1),))]


STORE: dict[str, Makes] = {
    "make-requisition": _make,
    "change-requisition": _change,
    "step-requisition": _step,
    "enter-price": _price,
    "return-to-supplier": _back,
    "open-recall": _open_recall,
    "hold-recalled": _hold_recalled,
    "close-recall": _close_recall,
    "order-rule": _order_rule,
    "set-aside": _set_aside,
    "count-sheet": _count_sheet,
    "drop-count-sheet": _drop_sheet,
}
