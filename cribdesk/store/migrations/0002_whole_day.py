"""Schema 2: what the crib's whole day leaves behind. Never edited once a store was made with it."""

from __future__ import annotations

from importlib import import_module

import peewee
from peewee import Check, Model

first = import_module("cribdesk.store.migrations.0001_first")

NUMBER = 2

PERSONAL: dict[str, tuple[str, ...]] = {
    "person": ("name",),
    "clearance": ("detail",),
    "custody": ("damage",),
    "bound_label": ("text",),
    "own_check": ("note",),
    "evidence": ("document",),
    "notice": ("detail", "answer"),
    "away": ("detail", "decontaminated", "arrived_word"),
}
"""As in step 1: table and the columns of it that stand in entries as a digest."""

CHOICES = {
    "away.kind": ("missing", "stolen", "sent for repair", "lent to another crib"),
    "notice.kind": (
        "refused to wear it",
        "wrong size",
        "facial hair at the seal",
        "asks for a powered respirator",
        "something else",
        "no filter was in it",
        "flow meter found wrong",
    ),
}
"""Column and the only texts it may hold."""

TABLES = {
    "parts_set": "revision:int label name active:bool",
    "parts_set_line": "revision:int parts_set_id>parts_set item_id>stock_item quantity:int",
    "hand_out_limit": "revision:int item_id>stock_item per_week:amount",
    "hand_out": (
        "revision:int person_id>person item_id>stock_item lot_id>lot? quantity:int unit_id>unit? position "
        "fitted_pieces:amount fitted_at? found_by_name:bool at by_id>person"
    ),
    "battery_swap": "revision:int custody_id>custody unit_id>unit flat_id>battery battery_id>battery at by_id>person",
    "carried": "revision:int custody_id>custody person_id>person at",
    "own_check": (
        "revision:int custody_id>custody unit_id>unit person_id>person flow_good:bool alarm_good:bool note "
        "source at by_id>person"
    ),
    "call_in": "revision:int custody_id>custody unit_id>unit person_id>person why made_at by_id>person closed_at?",
    "away": (
        "revision:int unit_id>unit kind goes_to detail decontaminated due_on? loaner loaner_id>unit? since "
        "by_id>person arrived_at? arrived_word ended_at? ended_how"
    ),
    "information_sheet": "revision:int person_id>person given_on by_id>person",
    "evidence": (
        "revision:int clearance_id>clearance person_id>person employer document dated_on seen_on by_id>person"
    ),
    "notice": (
        "revision:int kind person_id>person? unit_id>unit? inspection_id>inspection? "
        "instrument_id>instrument? detail offered at by_id>person seen_at? seen_by>person? answer"
    ),
    "meter_check": (
        "revision:int instrument_id>instrument reference_ml_min:amount read_ml_min:amount? good:bool "
        "wording_id>wording answers at by_id>person"
    ),
    "waste_bag": "revision:int label stream area_id>area? opened_at by_id>person closed_at? drum",
    "waste": "revision:int waste_bag_id>waste_bag what quantity:int unit_id>unit? at by_id>person",
    "cabinet": "revision:int label name place purpose seal opened_at? active:bool",
    "certification": (
        "revision:int cabinet_id>cabinet unit_id>unit inspection_id>inspection? made_on by_id>person findings "
        "action identity seal at"
    ),
    "rack_audit": "revision:int place expected:amount there:amount absent surplus at by_id>person",
    "shift_close": "revision:int began_at ended_at by_id>person taken_by>person? page note",
}
"""The new tables, written as in step 1."""

CHECKS = {
    "parts_set_line": ("quantity >= 0",),
    "hand_out": ("quantity > 0", "fitted_pieces <= quantity", "(fitted_pieces > 0) = (fitted_at IS NOT NULL)"),
    "battery_swap": ("flat_id <> battery_id",),
    "notice": ("(seen_at IS NULL) = (seen_by IS NULL)",),
    "waste": ("quantity > 0",),
}
"""Table and what must hold in each row."""

INDEXES = (
    ("parts_set", "label", "label", True, ""),
    ("parts_set_line", "parts_set_id", "parts_set_id", False, ""),
    ("parts_set_line", "item_id", "item_id", False, ""),
    ("parts_set_line", "item", "parts_set_id item_id", True, ""),
    ("hand_out_limit", "item_id", "item_id", False, ""),
    ("hand_out_limit", "one_an_item", "item_id", True, ""),
    ("hand_out", "person_id", "person_id", False, ""),
    ("hand_out", "item_id", "item_id", False, ""),
    ("hand_out", "lot_id", "lot_id", False, ""),
    ("hand_out", "unit_id", "unit_id", False, ""),
    ("battery_swap", "custody_id", "custody_id", False, ""),
    ("battery_swap", "unit_id", "unit_id", False, ""),
    ("battery_swap", "battery_id", "battery_id", False, ""),
    ("carried", "custody_id", "custody_id", False, ""),
    ("carried", "person_id", "person_id", False, ""),
    ("own_check", "custody_id", "custody_id", False, ""),
    ("own_check", "unit_id", "unit_id", False, ""),
    ("own_check", "person_id", "person_id", False, ""),
    ("call_in", "unit_id", "unit_id", False, ""),
    ("call_in", "person_id", "person_id", False, ""),
    ("call_in", "one_open_a_custody", "custody_id", True, "closed_at IS NULL"),
    ("away", "unit_id", "unit_id", False, ""),
    ("away", "one_open_a_unit", "unit_id", True, "ended_at IS NULL"),
    ("information_sheet", "person_id", "person_id", False, ""),
    ("evidence", "clearance_id", "clearance_id", False, ""),
    ("evidence", "person_id", "person_id", False, ""),
    ("notice", "person_id", "person_id", False, ""),
    ("notice", "unit_id", "unit_id", False, ""),
    ("notice", "inspection_id", "inspection_id", False, ""),
    ("waste_bag", "label", "label", True, ""),
    ("waste", "waste_bag_id", "waste_bag_id", False, ""),
    ("waste", "unit_id", "unit_id", False, ""),
    ("cabinet", "label", "label", True, ""),
    ("cabinet", "name", "name", True, ""),
    ("certification", "unit_id", "unit_id", False, ""),
    ("certification", "inspection_id", "inspection_id", False, ""),
)
"""Table, end of the index's name, its columns, whether unique, and where it holds."""


def up(database: peewee.Database) -> None:
    """Makes the new tables; the old ones stay as they are."""
    make(database, TABLES, CHOICES, CHECKS, INDEXES)


def make(
    database: peewee.Database,
    tables: dict[str, str],
    choices: dict[str, tuple[str, ...]],
    checks: dict[str, tuple[str, ...]],
    indexes: tuple[tuple[str, str, str, bool, str], ...],
) -> None:
    """Makes tables that point at each other and at those of step 1, written as there."""
    sqlite = isinstance(database, peewee.SqliteDatabase)
    known: dict[str, type[Model]] = first.models(sqlite=sqlite)
    made: dict[str, type[Model]] = {}
    for table, words in tables.items():
        members = dict(first.column(table, one, known | made, choices) for one in words.split())
        constraints = [Check(check) for check in checks.get(table, ())]
        meta = {"table_name": table, "strict_tables": sqlite, "constraints": constraints}
        members["Meta"] = type("Meta", (), meta)
        made[table] = type(table, (Model,), members)
    first.add_indexes(made, indexes)
    with database.bind_ctx([*known.values(), *made.values()]):
        database.create_tables(list(made.values()))
