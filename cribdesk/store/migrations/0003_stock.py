"""Schema 3: what ordering, deliveries, recalls and counts leave behind. Never edited once a store was made with it."""

from __future__ import annotations

from importlib import import_module

import peewee

frozen = import_module("cribdesk.store.migrations.0002_whole_day")

NUMBER = 3

PERSONAL: dict[str, tuple[str, ...]] = {
    "person": ("name",),
    "clearance": ("detail",),
    "custody": ("damage",),
    "bound_label": ("text",),
    "own_check": ("note",),
    "away": ("detail", "decontaminated", "arrived_word"),
    "evidence": ("document",),
    "notice": ("detail", "answer"),
}
"""As in step 1: table and the columns of it that stand in entries as a digest."""

CHOICES: dict[str, tuple[str, ...]] = {
    "requisition_step.state": ("draft", "sent", "part delivered", "back-ordered", "closed", "cancelled"),
}
"""Column and the only texts it may hold."""

TABLES = {
    "price": "revision:int item_id>stock_item supplier_id>supplier? price_cents:amount from_on",
    "gtin": "revision:int item_id>stock_item code pieces:int",
    "order_rule": "revision:int item_id>stock_item service_permille:int? review_days:int? shelf_space:int?",
    "requisition_step": "revision:int requisition_id>requisition state at by_id>person note",
    "supplier_return": (
        "revision:int item_id>stock_item lot_id>lot requisition_line_id>requisition_line? quantity:int why at "
        "by_id>person"
    ),
    "recall": "revision:int notice maker lot_id>lot? model serial_from serial_to why at by_id>person closed_at?",
    "recall_hold": "revision:int recall_id>recall hold_id>hold unit_id>unit",
    "count_sheet": "revision:int number:int at by_id>person closed_at?",
    "count_sheet_line": (
        "revision:int count_sheet_id>count_sheet item_id>stock_item lot_id>lot booked:int counted:int? why "
        "counted_at?"
    ),
}
"""The new tables, written as in step 1."""

CHECKS: dict[str, tuple[str, ...]] = {
    "gtin": ("pieces > 0",),
    "order_rule": ("service_permille BETWEEN 500 AND 999", "review_days > 0", "shelf_space > 0"),
    "supplier_return": ("quantity > 0",),
    "count_sheet_line": ("counted >= 0", "(counted IS NULL) = (counted_at IS NULL)"),
}
"""Table and what must hold in each row."""

INDEXES = (
    ("price", "item_id", "item_id", False, ""),
    ("gtin", "item_id", "item_id", False, ""),
    ("gtin", "code", "code", True, ""),
    ("order_rule", "item_id", "item_id", False, ""),
    ("order_rule", "one_an_item", "item_id", True, ""),
    ("requisition_step", "requisition_id", "requisition_id", False, ""),
    ("supplier_return", "item_id", "item_id", False, ""),
    ("supplier_return", "lot_id", "lot_id", False, ""),
    ("recall", "lot_id", "lot_id", False, ""),
    ("recall_hold", "recall_id", "recall_id", False, ""),
    ("recall_hold", "unit_id", "unit_id", False, ""),
    ("recall_hold", "one_a_hold", "recall_id hold_id", True, ""),
    ("count_sheet", "number", "number", True, ""),
    ("count_sheet_line", "count_sheet_id", "count_sheet_id", False, ""),
    ("count_sheet_line", "item_id", "item_id", False, ""),
    ("count_sheet_line", "lot_id", "lot_id", False, ""),
    ("count_sheet_line", "lot", "count_sheet_id lot_id", True, ""),
)
"""Table, end of the index's name, its columns, whether unique, and where it holds."""


def up(database: peewee.Database) -> None:
    """Makes the new tables; the old ones stay as they are."""
    frozen.make(database, TABLES, CHOICES, CHECKS, INDEXES)

