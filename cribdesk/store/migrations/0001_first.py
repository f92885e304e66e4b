"""Schema 1: the first tables, frozen. Never edited once a store was made with it; a change is a new file."""

from __future__ import annotations

from typing import Any

import peewee
from peewee import SQL, Check, CompositeKey, ForeignKeyField, Model, ModelIndex

NUMBER = 1

PERSONAL: dict[str, tuple[str, ...]] = {
    "person": ("name",),
    "clearance": ("detail",),
    "custody": ("damage",),
    "bound_label": ("text",),
}
"""Table and the columns of it that stand in entries of this schema as a digest."""

CHOICES = {
    "clearance.kind": (
        "medical",
        "training",
        "fit test",
    ),
    "unit.where": (
        "rack",
        "out",
        "assigned",
        "bench",
        "emergency cabinet",
        "sent out",
        "missing",
        "scrapped",
    ),
    "part.place": (
        "shelf",
        "unit",
        "sent out",
        "scrapped",
    ),
    "battery.place": (
        "shelf",
        "charger",
        "unit",
        "sent out",
        "missing",
        "scrapped",
    ),
    "inspection.verdict": (
        "pass",
        "fail",
        "broken off",
    ),
    "custody.battery_end": (
        "ran flat",
        "low-battery alarm",
        "stopped before",
    ),
    "battery_run.ended": (
        "ran flat",
        "low-battery alarm",
        "stopped before",
    ),
}
"""Column and the only texts it may hold."""

TABLES = {
    "person": "revision:int label name trade crew employer ends_on? active:bool roles",
    "clearance": "revision:int person_id>person kind given_on cleared:bool until? model size detail",
    "supplier": "revision:int name active:bool",
    "bin": "revision:int label code",
    "stock_item": (
        "revision:int label code name maker maker_number criticality pack_size:int "
        "price_cents:amount supplier_id>supplier? bin_id>bin? minimum:int maximum:int? "
        "shelf_days:int? active:bool"
    ),
    "lot": "revision:int item_id>stock_item code on_hand:amount expires_on? received_on? blocked",
    "unit": "revision:int label model serial size where place worn_minutes:amount added_at",
    "part": ("revision:int label item_id>stock_item lot_id>lot? serial place unit_id>unit? worn_minutes:amount fault"),
    "fitted": (
        "revision:int unit_id>unit position item_id>stock_item lot_id>lot? part_id>part? "
        "expires_on? fitted_at fitted_at_minutes:amount worn_before_minutes:amount removed_at? "
        "removed_at_minutes:amount? removed_why"
    ),
    "charger": "revision:int name slots:int",
    "charger_slot": "revision:int charger_id>charger number:int",
    "battery": (
        "revision:int label model serial place unit_id>unit? slot_id>charger_slot? cycles:amount "
        "charged_at? bought_on? note"
    ),
    "instrument": (
        "revision:int label name serial uncertainty_ml_min:amount calibrated_on calibrated_until active:bool"
    ),
    "calibration": ("revision:int instrument_id>instrument made_on good_until found_error_ml_min:int certificate"),
    "area": "revision:int label name required:bool agents processes dust_ug_m3:amount? note",
    "wording": "revision:int procedure edition:int digest text",
    "inspection": (
        "revision:int unit_id>unit kind procedure wording_id>wording by_id>person started_at "
        "ended_at verdict fault instrument_id>instrument? instrument_good:bool answers"
    ),
    "reading": (
        "revision:int inspection_id>inspection unit_id>unit quantity flow_ml_min:amount? "
        "milliseconds:amount? ball instrument_id>instrument? at at_minutes:amount"
    ),
    "cleaning": "revision:int unit_id>unit inspection_id>inspection by_id>person at product tray",
    "slip": "revision:int label unit_id>unit person_id>person battery_id>battery? area_id>area? due_at? prepared_at",
    "custody": (
        "revision:int unit_id>unit person_id>person area_id>area? battery_id>battery? "
        "inspection_id>inspection? slip_id>slip? assigned:bool issued_at due_at? issued_by>person "
        "acknowledged cautions returned_at? received_by>person? brought_by>person? completed_at? "
        "worn_minutes:amount? speed alarms battery_end? bars_left:amount? battery_back:bool? damage"
    ),
    "battery_run": (
        "revision:int battery_id>battery unit_id>unit custody_id>custody? worn_minutes:amount ended "
        "speed bars_left:amount? cycles:amount filter_minutes:amount? ended_at"
    ),
    "hold": (
        "revision:int unit_id>unit reason detail proof found_by>person found_at tag "
        "inspection_id>inspection? released_at? released_by>person? released_on"
    ),
    "movement": "revision:int item_id>stock_item lot_id>lot? quantity:int why unit_id>unit? at",
    "requisition": "revision:int number:int supplier_id>supplier state made_on note",
    "requisition_line": (
        "revision:int requisition_id>requisition item_id>stock_item quantity:int price_cents:amount "
        "promised_on? arrived:amount"
    ),
    "delivery": (
        "revision:int requisition_line_id>requisition_line? item_id>stock_item lot_id>lot quantity:int arrived_at"
    ),
    "cycle_count": "revision:int lot_id>lot booked:int counted:int at by_id>person",
    "bound_label": "revision:int text kind record_id:int",
    "dead_label": "revision:int label kind record_id:int died_at",
    "print": "revision:int paper of copy:int at failed",
    "site_setting": "revision:int name value",
    "entry": "seq:int digest body moment operation operation_id",
    "subject": "label seq>entry",
    "journal_head": "id:small seq:int digest moment?",
    "sealed": "digest salt value table row_id:int column person_id:int? seq>entry",
    "schema": "id:small number:small",
}
"""Table and its columns, each after those it points at.

A column is text, or :int, :amount (never negative), :small, :bool, or points at a table (>); ? allows null.
Tables of records begin with the columns id and revision.
"""

CHECKS = {
    "battery": (
        "(place = 'unit') = (unit_id IS NOT NULL)",
        "(place = 'charger') = (slot_id IS NOT NULL)",
    ),
    "part": ("(place = 'unit') = (unit_id IS NOT NULL)",),
    "fitted": ("(removed_at IS NULL) = (removed_at_minutes IS NULL)",),
    "hold": ("(released_at IS NULL) = (released_by IS NULL)",),
    "custody": ("(returned_at IS NULL) = (received_by IS NULL)",),
    "stock_item": ("pack_size > 0",),
    "journal_head": ("id = 1",),
    "schema": ("id = 1",),
}
"""Table and what must hold in each row."""

INDEXES = (
    ("person", "label", "label", True, ""),
    ("clearance", "person_id", "person_id", False, ""),
    ("bin", "label", "label", True, ""),
    ("bin", "code", "code", True, ""),
    ("stock_item", "label", "label", True, ""),
    ("stock_item", "code", "code", True, ""),
    ("lot", "item_id", "item_id", False, ""),
    ("lot", "code", "item_id code", True, ""),
    ("unit", "label", "label", True, ""),
    ("part", "label", "label", True, ""),
    ("part", "item_id", "item_id", False, ""),
    ("part", "lot_id", "lot_id", False, ""),
    ("part", "unit_id", "unit_id", False, ""),
    ("fitted", "unit_id", "unit_id", False, ""),
    ("fitted", "item_id", "item_id", False, ""),
    ("fitted", "lot_id", "lot_id", False, ""),
    ("fitted", "one_open_a_position", "unit_id position", True, "removed_at IS NULL"),
    ("fitted", "one_open_a_part", "part_id", True, "removed_at IS NULL AND part_id IS NOT NULL"),
    ("charger", "name", "name", True, ""),
    ("charger_slot", "number", "charger_id number", True, ""),
    ("battery", "label", "label", True, ""),
    ("battery", "unit_id", "unit_id", False, ""),
    ("battery", "one_in_a_unit", "unit_id", True, "unit_id IS NOT NULL"),
    ("battery", "one_in_a_slot", "slot_id", True, "slot_id IS NOT NULL"),
    ("instrument", "label", "label", True, ""),
    ("area", "label", "label", True, ""),
    ("wording", "digest", "digest", True, ""),
    ("inspection", "unit_id", "unit_id", False, ""),
    ("reading", "inspection_id", "inspection_id", False, ""),
    ("reading", "unit_id", "unit_id", False, ""),
    ("cleaning", "unit_id", "unit_id", False, ""),
    ("cleaning", "inspection_id", "inspection_id", False, ""),
    ("slip", "label", "label", True, ""),
    ("slip", "unit_id", "unit_id", False, ""),
    ("slip", "person_id", "person_id", False, ""),
    ("slip", "battery_id", "battery_id", False, ""),
    ("custody", "unit_id", "unit_id", False, ""),
    ("custody", "person_id", "person_id", False, ""),
    ("custody", "battery_id", "battery_id", False, ""),
    ("custody", "inspection_id", "inspection_id", False, ""),
    ("custody", "slip_id", "slip_id", False, ""),
    ("custody", "one_open_a_unit", "unit_id", True, "returned_at IS NULL"),
    ("battery_run", "battery_id", "battery_id", False, ""),
    ("battery_run", "unit_id", "unit_id", False, ""),
    ("hold", "unit_id", "unit_id", False, ""),
    ("hold", "tag", "tag", False, ""),
    ("hold", "inspection_id", "inspection_id", False, ""),
    ("hold", "one_open_a_reason", "unit_id reason", True, "released_at IS NULL"),
    ("movement", "item_id", "item_id", False, ""),
    ("movement", "lot_id", "lot_id", False, ""),
    ("movement", "unit_id", "unit_id", False, ""),
    ("requisition", "number", "number", True, ""),
    ("requisition_line", "item_id", "item_id", False, ""),
    ("delivery", "item_id", "item_id", False, ""),
    ("delivery", "lot_id", "lot_id", False, ""),
    ("cycle_count", "lot_id", "lot_id", False, ""),
    ("bound_label", "one_record_a_text", "text", True, "text <> ''"),
    ("dead_label", "label", "label", True, ""),
    ("print", "of", "of", False, ""),
    ("site_setting", "name", "name", True, ""),
    ("entry", "operation_id", "operation_id", True, ""),
    ("sealed", "place", "table row_id column seq", False, ""),
    ("sealed", "person_id", "person_id", False, ""),
)
"""Table, end of the index's name, its columns, whether unique, and where it holds."""

KEYS: dict[str, Any] = {
    "entry": {"seq": peewee.BigIntegerField(primary_key=True)},
    "journal_head": {"id": peewee.IntegerField(primary_key=True)},
    "schema": {"id": peewee.IntegerField(primary_key=True)},
    "sealed": {"digest": peewee.TextField(primary_key=True)},
}
"""Primary keys that are given and not numbered on."""

FIELDS: dict[str, type[peewee.Field[Any]]] = {
    "": peewee.TextField,
    "int": peewee.BigIntegerField,
    "amount": peewee.BigIntegerField,
    "small": peewee.IntegerField,
    "bool": peewee.BooleanField,
}


def column(
    table: str, words: str, models: dict[str, type[Model]], choices: dict[str, tuple[str, ...]] = CHOICES
) -> tuple[str, peewee.Field[Any]]:
    """The name and the field of one column as it is written in TABLES."""
    null = words.endswith("?")
    name, _, target = words.rstrip("?").partition(">")
    if target:
        settings: dict[str, Any] = {
            "object_id_name": f"{name}_",
            "backref": "+",
            "index": False,
            "null": null,
        }
        return name, ForeignKeyField(models[target], column_name=name, **settings)
    name, _, kind = name.partition(":")
    constraints: list[peewee.Node] = [Check(f'"{name}" >= 0')] if kind == "amount" else []
    if allowed := choices.get(f"{table}.{name}"):
        listed = ", ".join(f"'{one}'" for one in allowed)
        constraints.append(Check(f'"{name}" IN ({listed})'))
    return name, FIELDS[kind](null=null, constraints=constraints or None)


def models(*, sqlite: bool) -> dict[str, type[Model]]:
    """The tables with their indexes; SQLite's own options where it is SQLite."""
    made: dict[str, type[Model]] = {}
    for table, words in TABLES.items():
        members: dict[str, Any] = dict(column(table, one, made) for one in words.split()) | KEYS.get(table, {})
        settings: dict[str, Any] = {"table_name": table, "strict_tables": sqlite}
        settings["constraints"] = [Check(check) for check in CHECKS.get(table, ())]
        if table == "subject":
            settings |= {"primary_key": CompositeKey("label", "seq"), "without_rowid": sqlite}
        members["Meta"] = type("Meta", (), settings)
        made[table] = type(table, (Model,), members)
    add_indexes(made, INDEXES)
    return made


def add_indexes(made: dict[str, type[Model]], indexes: tuple[tuple[str, str, str, bool, str], ...]) -> None:
    """Adds indexes as they are written in INDEXES."""
    for table, end, columns, unique, where in indexes:
        fields = [made[table]._meta.columns[one] for one in columns.split()]
        condition = SQL(where) if where else None
        index = ModelIndex(made[table], fields, unique=unique, where=condition, name=f"{table}_{end}")
        made[table].add_index(index)


def up(database: peewee.Database) -> None:
    """Makes the tables in an empty store."""
    made = list(models(sqlite=isinstance(database, peewee.SqliteDatabase)).values())
    with database.bind_ctx(made):
        database.create_tables(made)
