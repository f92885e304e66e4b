"""Forms for the shelf: items, what comes in, suppliers, bins."""

from __future__ import annotations

from collections.abc import Callable

from cribdesk.crib.records import Bin, StockItem, Supplier
from cribdesk.crib.words import date_words
from cribdesk.desk.entry_form import Asked, EntryField, EntryKind, Fields, Filled, or_none
from cribdesk.desk.entry_orders import expected_field
from cribdesk.desk.operation import Operation
from cribdesk.desk.stock import AddBin, AddItem, AddSupplier, ReceiveLot

OTHER = "other"
"""The choice of an item that no unit model names."""


def _item_fields(asked: Asked) -> Fields:
    wanted = _wanted_codes(asked)
    suppliers = sorted(asked.reader.find(Supplier, active=True), key=lambda one: one.name)
    bins = sorted(asked.reader.find(Bin), key=lambda one: one.code)
    return (
        EntryField(
            "item_code", "Item", "choice", True, "What the unit models name and this store lacks comes first.",
            (*wanted, (OTHER, "something else")),
        ),
        EntryField("other_code", "Code", needed=True, help="Your own, one for each item.", only=("item_code", OTHER)),
        EntryField("item_name", "Name", needed=True),
        EntryField("maker", "Maker"),
        EntryField("maker_number", "The maker's number"),
        EntryField("criticality", "How badly it is missed", "choice", True, choices=_CRITICAL, value="B"),
        EntryField("pack_size", "Pieces in a pack", "number", True, value="1"),
        EntryField("price", "Price of a piece", "number", decimals=2),
        EntryField("supplier", "Supplier", "choice", choices=or_none((str(one.id), one.name) for one in suppliers)),
        EntryField("bin", "Bin", "choice", choices=or_none((str(one.id), one.code) for one in bins)),
        EntryField("minimum", "Minimum", "number", value="0"),
        EntryField("maximum", "Maximum", "number"),
        EntryField("shelf_days", "Keeps on the shelf", "number", unit="days", help="Empty: it does not age."),
    )  # fmt: skip


_CRITICAL = (("A", "A: without it no unit goes out"), ("B", "B: soon missed"), ("C", "C: can wait"))


def _wanted_codes(asked: Asked) -> tuple[tuple[str, str], ...]:
    """Codes the unit models name and the store has no item for."""
    there = {one.code for one in asked.reader.find(StockItem)}
    words: dict[str, str] = {}
    for model in asked.house.models.values():
        for position in model.positions:
            for code in position.items:
                if code not in there:
                    words.setdefault(code, f"{code}: {position.name.lower()}, {model.short_name}")
    return tuple(words.items())


def _item(filled: Filled, asked: Asked, token: str) -> Operation:
    low, high = filled.whole("minimum"), filled.whole("maximum")
    if low is not None and high is not None and high < low:
        filled.troubles["maximum"] = "It is less than the minimum."
    code = filled.pick("item_code")
    supplier, place = filled.pick("supplier"), filled.pick("bin")
    return AddItem(
        operation_id=token,
        item_code=filled.text("other_code") if code == OTHER else code,
        item_name=filled.text("item_name"),
        maker=filled.text("maker"),
        maker_number=filled.text("maker_number"),
        criticality=filled.pick("criticality") or "B",
        pack_size=filled.whole("pack_size", 1) or 1,
        price_cents=filled.cents("price") or 0,
        supplier_id=int(supplier) if supplier else None,
        bin_id=int(place) if place else None,
        minimum=low or 0,
        maximum=high,
        shelf_days=filled.whole("shelf_days", 1),
    )


def _no_items(asked: Asked) -> str:
    return "" if asked.reader.first(StockItem) else "There is no stock item yet. Enter one first."


def _lot_fields(asked: Asked) -> Fields:
    items = sorted(asked.reader.find(StockItem, active=True), key=lambda one: one.name)
    choices = tuple((one.label, f"{one.name}, {one.code}") for one in items)
    return (
        EntryField("item", "Item", "choice", True, choices=choices),
        EntryField("lot_code", "Lot", needed=True, help="Write the day it came where the carton names none."),
        EntryField("quantity", "Pieces", "number", True),
        EntryField("expires_on", "May be used until", "date", help="Empty where the carton names no day."),
        *expected_field(asked),
    )


def _lot(filled: Filled, asked: Asked, token: str) -> Operation:
    item = asked.reader.first(StockItem, label=filled.pick("item"))
    line = filled.pick("line")
    last = filled.day("expires_on")
    if last and last < asked.house.today(asked.moment):
        filled.troubles["expires_on"] = f"{date_words(last)} is past. It may not go on the shelf."
    return ReceiveLot(
        operation_id=token,
        item_id=item.id if item else 0,
        lot_code=filled.text("lot_code"),
        quantity=filled.whole("quantity", 1) or 0,
        expires_on=last,
        requisition_line_id=int(line) if line else None,
        more_kept=bool(line) and filled.yes("more_kept"),
    )


def _named(name: str, words: str, help_words: str = "") -> Callable[[Asked], Fields]:
    return lambda asked: (EntryField(name, words, needed=True, help=help_words),)


def _supplier(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddSupplier(operation_id=token, supplier=filled.text("supplier"))


def _bin(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddBin(operation_id=token, bin_code=filled.text("bin_code"))


STOCK_FORMS = (
    EntryKind("item", "stock", "Stock item", "Enter a stock item", AddItem, _item_fields, _item),
    EntryKind("lot", "stock", "Lot", "Receive a lot", ReceiveLot, _lot_fields, _lot, missing=_no_items),
    EntryKind("supplier", "stock", "Supplier", "Enter a supplier", AddSupplier, _named("supplier", "Name"), _supplier),
    EntryKind("bin", "stock", "Bin", "Enter a bin", AddBin, _named("bin_code", "Bin", "As on the shelf: A1-02."), _bin),
)
