"""The form for an item's own minimum and maximum, and for how it is ordered otherwise than the house does."""

from __future__ import annotations

from cribdesk.crib.records import OrderRule, StockItem
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.order_rule import HIGHEST_SERVICE, LOWEST_SERVICE, SetOrderRule

_CRITICAL = (("A", "A: without it no unit goes out"), ("B", "B: soon missed"), ("C", "C: can wait"))


def _fields(asked: Asked) -> Fields:
    items = sorted(asked.reader.find(StockItem, active=True), key=lambda one: one.name)
    item = next((one for one in items if one.label == asked.label), None)
    choices = tuple((one.label, f"{one.name}, {one.code}") for one in items)
    about = EntryField(
        ABOUT, "Item", "choice", True, "Choose it, or scan its label.", choices, item.label if item else ""
    )
    if item is None:
        return (about,)
    rule = asked.reader.first(OrderRule, item_id=item.id) or OrderRule(item_id=item.id)
    service = f"{rule.service_permille / 10:g}" if rule.service_permille is not None else ""
    house = "Empty: as the house has it."
    return (
        about,
        EntryField("minimum", "Own minimum", "number", help="Empty or 0: as suggested.", value=_text(item.minimum)),
        EntryField("maximum", "Own maximum", "number", help="Empty: as suggested.", value=_text(item.maximum)),
        EntryField("criticality", "How badly it is missed", "choice", True, choices=_CRITICAL, value=item.criticality),
        EntryField("service", "Service", "number", help=house, value=service, unit="%", decimals=1),
        EntryField("review_days", "Looked at every", "number", help=house, value=_text(rule.review_days), unit="days"),
        EntryField("shelf_space", "Room on the shelf", "number", help="Empty: enough.", value=_text(rule.shelf_space)),
    )


def _text(value: int | None) -> str:
    return str(value) if value is not None else ""


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    item = asked.reader.first(StockItem, label=filled.pick(ABOUT))
    low, high = filled.whole("minimum"), filled.whole("maximum", 1)
    if low is not None and high is not None and high < low:
        filled.troubles["maximum"] = "It is less than the minimum."
    service = filled.figure("service", LOWEST_SERVICE / 10, HIGHEST_SERVICE / 10)
    return SetOrderRule(
        operation_id=token,
        item_id=item.id if item else 0,
        minimum=low or 0,
        maximum=high,
        criticality=filled.pick("criticality") or "B",
        service_permille=round(service * 10) if service is not None else None,
        review_days=filled.whole("review_days", 1, 3660),
        shelf_space=filled.whole("shelf_space", 1),
    )


def _no_items(asked: Asked) -> str:
    return "" if asked.reader.first(StockItem) else "There is no stock item yet. Enter one first."


ORDER_RULE_FORMS = (
    EntryKind(
        "order-rule", "order-rule", "Own minimum", "Own minimum and maximum of an item", SetOrderRule, _fields, _build,
        "Where you set one it goes before what is suggested.", _no_items, again=False,
    ),
)  # fmt: skip
