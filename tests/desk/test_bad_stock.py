"""Bad input for the shelf, by form, by operation and by scanner: the field is named, and nothing half is kept."""

from __future__ import annotations

from typing import Any

import pytest

from cribdesk.crib.records import Delivery, Gtin, Lot, Movement, Price, Requisition, StockItem, Supplier
from cribdesk.crib.refusal import LabelTaken, NotAllowed, Unknown, WrongFigure
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.requisitions import MakeRequisitions
from cribdesk.desk.stock import AddItem, AddSupplier, CountLot, ReceiveLot, SendRequisition
from tests.desk.refused import refused
from tests.desk.shop import Shop, house

BELT = "WL1-BELT"


def everything(shop: Shop) -> dict[type[Any], list[Any]]:
    """All that deliveries, orders and counts could have left behind."""
    kinds = (StockItem, Supplier, Lot, Movement, Delivery, Requisition, Price, Gtin)
    with shop.store.reading() as reader:
        return {kind: reader.find(kind) for kind in kinds}


def troubles(shop: Shop, form_id: str, label: str = "", **values: str) -> dict[str, str]:
    """What a form says of values, by field; what it stands filled with is not said again."""
    with shop.store.reading() as reader:
        asked = Asked(reader, house(), shop.moment, label)
        form = form_of(asked, form_id)
        filled = {one.name: one.value for one in form.fields} | values
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, form_id, filled, "t")
    return dict(caught.value.troubles)


@pytest.fixture
def bought(own_shop: Shop) -> Shop:
    """A shop with a supplier."""
    own_shop.do(AddSupplier, supplier="Keramion")
    return own_shop


ITEM = {"item_code": "other", "other_code": "NEW", "item_name": "New"}


@pytest.mark.parametrize(
    ("form_id", "values", "field"),
    [
        ("item", ITEM | {"pack_size": "0"}, "pack_size"),
        ("item", ITEM | {"pack_size": "-5"}, "pack_size"),
        ("item", ITEM | {"price": "2,505"}, "price"),
        ("item", ITEM | {"price": "-1"}, "price"),
        ("item", ITEM | {"price": "1.005"}, "price"),
        ("item", ITEM | {"minimum": "-1"}, "minimum"),
        ("item", ITEM | {"minimum": "9", "maximum": "3"}, "maximum"),
        ("item", ITEM | {"shelf_days": "0"}, "shelf_days"),
        ("item", ITEM | {"minimum": "2.5"}, "minimum"),
        ("item", ITEM | {"item_name": " "}, "item_name"),
        ("item", ITEM | {"other_code": " "}, "other_code"),
        ("item", ITEM | {"supplier": "77"}, "supplier"),
        ("supplier", {"supplier": " "}, "supplier"),
        ("lot", {"lot_code": "L", "quantity": "-3"}, "quantity"),
        ("lot", {"lot_code": "L", "quantity": "0"}, "quantity"),
        ("lot", {"lot_code": "L", "quantity": "2,5"}, "quantity"),
        ("lot", {"lot_code": " ", "quantity": "3"}, "lot_code"),
        ("lot", {"lot_code": "L", "quantity": "3", "expires_on": "2026-11-01"}, "expires_on"),
        ("lot", {"lot_code": "L", "quantity": "3", "expires_on": "1/2/27"}, "expires_on"),
    ],
)
def test_a_form_names_the_field_that_cannot_be(
    bought: Shop, form_id: str, values: dict[str, str], field: str
) -> None:
    """Negative, nothing, a comma, a third decimal, a past day, an unknown supplier: told beside the field."""
    before = everything(bought)
    if form_id == "lot":
        values = {"item": bought.label(BELT)} | values
    assert field in troubles(bought, form_id, **values)
    assert everything(bought) == before


@pytest.mark.parametrize(
    ("operation", "fields", "error", "words"),
    [
        (AddItem, {"item_code": BELT, "item_name": "Again"}, LabelTaken, "a stock item in this store"),
        (AddItem, {"item_code": "N", "item_name": "N", "pack_size": 0}, WrongFigure, "Pack: it holds at least 1"),
        (AddItem, {"item_code": "N", "item_name": "N", "price_cents": -1}, WrongFigure, "Price"),
        (AddItem, {"item_code": "N", "item_name": "N", "minimum": -1}, WrongFigure, "Minimum"),
        (AddItem, {"item_code": "N", "item_name": "N", "maximum": 0}, WrongFigure, "Maximum"),
        (AddItem, {"item_code": "N", "item_name": "N", "minimum": 5, "maximum": 4}, WrongFigure, "Maximum"),
        (AddItem, {"item_code": "N", "item_name": "N", "shelf_days": 0}, WrongFigure, "Keeps on the shelf"),
        (AddItem, {"item_code": "N", "item_name": "N", "criticality": "Z"}, WrongFigure, "Criticality"),
        (AddItem, {"item_code": " ", "item_name": "N"}, WrongFigure, "Code"),
        (AddItem, {"item_code": "N", "item_name": " "}, WrongFigure, "Name"),
        (AddItem, {"item_code": "N", "item_name": "N", "supplier_id": 99}, Unknown, "supplier"),
        (AddItem, {"item_code": "N", "item_name": "N", "bin_id": 99}, Unknown, "bin"),
        (AddSupplier, {"supplier": "Keramion"}, LabelTaken, "a supplier in this store"),
        (MakeRequisitions, {"lines": ((99, 3),)}, Unknown, "item"),
        (SendRequisition, {"supplier_id": 99, "lines": ((1, 1, 1),)}, Unknown, "supplier"),
        (SendRequisition, {"supplier_id": 1, "lines": ((1, 2, 5), (2, -1, 5))}, WrongFigure, "quantity is at least 1"),
        (CountLot, {"lot_id": 1, "counted": -1, "why": "x"}, WrongFigure, "Count: it is not below zero"),
        (CountLot, {"lot_id": 9999, "counted": 1}, Unknown, "lot"),
    ],
)
def test_an_operation_refuses_what_no_form_let_through(
    bought: Shop, operation: type[Any], fields: dict[str, Any], error: type[NotAllowed], words: str
) -> None:
    """The field stands in the sentence; of several lines none is kept where one cannot be."""
    before = everything(bought)
    with refused(bought, error, words):
        bought.do(operation, **fields)
    assert everything(bought) == before


def test_a_delivery_in_the_red_or_past_its_date_leaves_nothing(bought: Shop) -> None:
    """Neither lot nor movement nor delivery nor carton's number stays of one that is refused."""
    before = everything(bought)
    item = bought.record(StockItem, BELT).id
    past = bought.moment.date().replace(year=2025)
    for more in ({"quantity": -4}, {"quantity": 0}, {"expires_on": past}, {"lot_code": " "}):
        fields = {"item_id": item, "lot_code": "L", "quantity": 4, "gtin": "04012345678901"} | more
        with refused(bought, WrongFigure):
            bought.do(ReceiveLot, **fields)
    assert everything(bought) == before
