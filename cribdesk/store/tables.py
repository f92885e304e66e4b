"""The tables as they are now, as peewee models: one for every record class, and those of the journal.

Tables only, no behaviour. The rules that must hold whatever a program does are constraints here: foreign
keys, choices, quantities that cannot be negative, one open custody a unit, one open hold a unit and reason,
one place a battery and a part, one record a label, one person a badge.
"""

from __future__ import annotations

from typing import Any

from peewee import (
    SQL,
    AutoField,
    BigIntegerField,
    BooleanField,
    Check,
    CompositeKey,
    Field,
    ForeignKeyField,
    IntegerField,
    Model,
    ModelIndex,
    Node,
    TextField,
)

from cribdesk.store.mapping import SHAPES, Column, Shape

PERSON = "person"
POINTS_AT = {
    "area_id": "area",
    "assessment_id": "assessment",
    "battery_id": "battery",
    "bin_id": "bin",
    "brought_by": PERSON,
    "by_id": PERSON,
    "cabinet_id": "cabinet",
    "charger_id": "charger",
    "clearance_id": "clearance",
    "count_sheet_id": "count_sheet",
    "custody_id": "custody",
    "flat_id": "battery",
    "found_by": PERSON,
    "hold_id": "hold",
    "inspection_id": "inspection",
    "instrument_id": "instrument",
    "issued_by": PERSON,
    "item_id": "stock_item",
    "loaner_id": "unit",
    "lot_id": "lot",
    "part_id": "part",
    "parts_set_id": "parts_set",
    "person_id": PERSON,
    "recall_id": "recall",
    "received_by": PERSON,
    "released_by": PERSON,
    "requisition_id": "requisition",
    "requisition_line_id": "requisition_line",
    "seen_by": PERSON,
    "slip_id": "slip",
    "slot_id": "charger_slot",
    "supplier_id": "supplier",
    "taken_by": PERSON,
    "unit_id": "unit",
    "waste_bag_id": "waste_bag",
    "wording_id": "wording",
}
"""Column and the table its ids belong to. (`record_id` may be of any table, its `kind` says which.)"""

LOOKED_UP = frozenset({"battery_id", "inspection_id", "item_id", "lot_id", "person_id", "unit_id"})
"""Columns that views look rows up by: they have an index in every table."""

LOOKED_UP_TOO = {
    "area_condition": ("area_id",),
    "area_control": ("area_id",),
    "area_process": ("area_id",),
    "assessment": ("area_id",),
    "battery_swap": ("custody_id",),
    "carried": ("custody_id",),
    "caution_accepted": ("custody_id",),
    "count_sheet_line": ("count_sheet_id",),
    "custody": ("slip_id",),
    "evidence": ("clearance_id",),
    "hold": ("tag",),
    "own_check": ("custody_id",),
    "parts_set_line": ("parts_set_id",),
    "print": ("of",),
    "recall_hold": ("recall_id",),
    "requisition_step": ("requisition_id",),
    "sample": ("assessment_id",),
    "waste": ("waste_bag_id",),
}
"""Further columns with an index, in one table each."""

SIGNED = frozenset({"found_error_ml_min", "quantity"})
"""Quantities that may be negative: an instrument's error, a movement of stock."""

NEVER_NEGATIVE = (
    "_minutes",
    "_ml_min",
    "_cents",
    "_ug_m3",
    "_g_m3",
    "milliseconds",
    "on_hand",
    "cycles",
    "_pieces",
    "per_week",
    "_ng_m3",
    "_ppb",
    "exposed_minutes",
    "current_a",
    "fit_factor",
    "expected",
    "there",
    "bars_left",
    "arrived",
)
"""Ends of the names of columns that cannot hold a negative number."""

DEFAULTS = {
    "assessment": {"measured_as": "''"},
    "clearance": {"method": "''"},
    "instrument": {"calibration_g_m3": "1204"},
    "sample": {"series": "''"},
}
"""Columns added to a table that had rows, and what stands in those: the database's own default."""

CHECKS = {
    "battery": ("(place = 'unit') = (unit_id IS NOT NULL)", "(place = 'charger') = (slot_id IS NOT NULL)"),
    "part": ("(place = 'unit') = (unit_id IS NOT NULL)",),
    "fitted": ("(removed_at IS NULL) = (removed_at_minutes IS NULL)",),
    "hold": ("(released_at IS NULL) = (released_by IS NULL)",),
    "custody": ("(returned_at IS NULL) = (received_by IS NULL)",),
    "stock_item": ("pack_size > 0",),
    "hand_out": ("quantity > 0", "fitted_pieces <= quantity", "(fitted_pieces > 0) = (fitted_at IS NOT NULL)"),
    "parts_set_line": ("quantity >= 0",),
    "waste": ("quantity > 0",),
    "gtin": ("pieces > 0",),
    "order_rule": ("service_permille BETWEEN 500 AND 999", "review_days > 0", "shelf_space > 0"),
    "set_aside": ("quantity >= 0",),
    "supplier_return": ("quantity > 0",),
    "count_sheet_line": ("counted >= 0", "(counted IS NULL) = (counted_at IS NULL)"),
    "assessment": ("concentration_ng_m3 IS NULL OR concentration_ppb IS NULL",),
    "sample": ("(value_ng_m3 IS NULL) <> (value_ppb IS NULL)", "minutes > 0"),
    "site_limit": ("(limit_ng_m3 IS NULL) <> (limit_ppb IS NULL)", "limit_ng_m3 > 0", "limit_ppb > 0"),
    "notice": ("(seen_at IS NULL) = (seen_by IS NULL)",),
    "battery_swap": ("flat_id <> battery_id",),
}

ONE_EACH: dict[str, tuple[tuple[str, tuple[str, ...], str], ...]] = {
    "away": (("one_open_a_unit", ("unit_id",), "ended_at IS NULL"),),
    "battery": (
        ("one_in_a_unit", ("unit_id",), "unit_id IS NOT NULL"),
        ("one_in_a_slot", ("slot_id",), "slot_id IS NOT NULL"),
    ),
    "bin": (("code", ("code",), ""),),
    "bound_label": (("one_record_a_text", ("text",), "text <> ''"),),
    "cabinet": (("name", ("name",), ""),),
    "call_in": (("one_open_a_custody", ("custody_id",), "closed_at IS NULL"),),
    "charger": (("name", ("name",), ""),),
    "charger_slot": (("number", ("charger_id", "number"), ""),),
    "count_sheet": (("number", ("number",), ""),),
    "count_sheet_line": (("lot", ("count_sheet_id", "lot_id"), ""),),
    "custody": (("one_open_a_unit", ("unit_id",), "returned_at IS NULL"),),
    "fitted": (
        ("one_open_a_position", ("unit_id", "position"), "removed_at IS NULL"),
        ("one_open_a_part", ("part_id",), "removed_at IS NULL AND part_id IS NOT NULL"),
    ),
    "gtin": (("code", ("code",), ""),),
    "hand_out_limit": (("one_an_item", ("item_id",), ""),),
    "hold": (("one_open_a_reason", ("unit_id", "reason"), "released_at IS NULL"),),
    "lot": (("code", ("item_id", "code"), ""),),
    "order_rule": (("one_an_item", ("item_id",), ""),),
    "parts_set_line": (("item", ("parts_set_id", "item_id"), ""),),
    "recall_hold": (("one_a_hold", ("recall_id", "hold_id"), ""),),
    "requisition": (("number", ("number",), ""),),
    "set_aside": (("one_a_purpose", ("item_id", "purpose"), ""),),
    "site_setting": (("name", ("name",), ""),),
    "stock_item": (("code", ("code",), ""),),
    "wording": (("digest", ("digest",), ""),),
}
"""Unique indexes: their name's end, the columns, and where they hold (everywhere if empty)."""

READ_BY: dict[str, tuple[tuple[str, tuple[str, ...]], ...]] = {
    "inspection": (("last_of_a_kind", ("kind", "verdict", "unit_id")),),
}
"""Further indexes, for what is read of every unit at once: their name's end and the columns."""


def _field(column: Column, table: str, models: dict[str, type[Model]]) -> Field:
    constraints: list[Node] = []
    if default := DEFAULTS.get(table, {}).get(column.name):
        constraints.append(SQL(f"DEFAULT {default}"))
    if column.choices:
        choices = ", ".join(f"'{one}'" for one in column.choices)
        constraints.append(Check(f'"{column.name}" IN ({choices})'))
    if column.name.endswith(NEVER_NEGATIVE) and column.name not in SIGNED:
        constraints.append(Check(f'"{column.name}" >= 0'))
    settings: dict[str, Any] = {
        "column_name": column.name,
        "null": column.null,
        "constraints": constraints or None,
    }
    if column.name in POINTS_AT:
        return ForeignKeyField(
            models[POINTS_AT[column.name]],
            backref="+",
            index=False,
            object_id_name=f"{column.name}_",
            **settings,
        )
    kinds: dict[type, type[Field]] = {int: BigIntegerField, bool: BooleanField, str: TextField}
    return kinds[column.kind](**settings)


def _model(shape: Shape[Any], models: dict[str, type[Model]]) -> type[Model]:
    members: dict[str, Any] = {
        column.name: AutoField() if column.name == "id" else _field(column, shape.table, models)
        for column in shape.columns
    }
    checks = [Check(check) for check in CHECKS.get(shape.table, ())]
    members["Meta"] = type("Meta", (), {"table_name": shape.table, "constraints": checks, "strict_tables": True})
    model: type[Model] = type(shape.kind.__name__, (Model,), members)
    for name in shape.names:
        if name == "label":
            _add_index(model, "label", (name,), unique=True)
        elif name in LOOKED_UP or name in LOOKED_UP_TOO.get(shape.table, ()):
            _add_index(model, name, (name,))
    for end, columns, where in ONE_EACH.get(shape.table, ()):
        _add_index(model, end, columns, unique=True, where=where)
    for end, columns in READ_BY.get(shape.table, ()):
        _add_index(model, end, columns)
    return model


def _add_index(
    model: type[Model], end: str, columns: tuple[str, ...], *, unique: bool = False, where: str = ""
) -> None:
    meta = model._meta
    fields = [meta.columns[column] for column in columns]
    name = f"{meta.table_name}_{end}"
    model.add_index(ModelIndex(model, fields, unique=unique, where=SQL(where) if where else None, name=name))


def _models() -> dict[str, type[Model]]:
    models: dict[str, type[Model]] = {}
    for shape in SHAPES:
        models[shape.table] = _model(shape, models)
    return models


class Journal(Model):
    """What the tables of the journal share."""

    class Meta:
        strict_tables = True


class EntryRow(Journal):
    """One entry: its canonical JSON as it was chained, and what it is looked up by."""

    seq = BigIntegerField(primary_key=True)
    digest = TextField()
    body = TextField()
    moment = TextField()
    operation = TextField()
    operation_id = TextField()

    class Meta:
        table_name = "entry"


class SubjectRow(Journal):
    """A label an entry tells of: the timeline of a record is read by it."""

    label = TextField()
    seq = ForeignKeyField(EntryRow, column_name="seq", object_id_name="seq_", backref="+", index=False)

    class Meta:
        table_name = "subject"
        primary_key = CompositeKey("label", "seq")
        without_rowid = True


class HeadRow(Journal):
    """Where the journal stands: one row, locked while an entry is chained."""

    id = IntegerField(primary_key=True)
    seq = BigIntegerField()
    digest = TextField()
    moment = TextField(null=True)

    class Meta:
        table_name = "journal_head"
        constraints = (Check("id = 1"),)


class SealedRow(Journal):
    """A personal value: the digest that stands for it in entries, its 16 bytes in hex, itself as JSON."""

    digest = TextField(primary_key=True)
    salt = TextField()
    value = TextField()
    table = TextField()
    row_id = BigIntegerField()
    column = TextField()
    person_id = BigIntegerField(null=True)
    seq = ForeignKeyField(EntryRow, column_name="seq", object_id_name="seq_", backref="+", index=False)

    class Meta:
        table_name = "sealed"


class SchemaRow(Journal):
    """The schema number the tables have: one row."""

    id = IntegerField(primary_key=True)
    number = IntegerField()

    class Meta:
        table_name = "schema"
        constraints = (Check("id = 1"),)


_add_index(EntryRow, "operation_id", ("operation_id",), unique=True)
_add_index(SealedRow, "place", ("table", "row_id", "column", "seq"))
_add_index(SealedRow, "person_id", ("person_id",))

MODELS: dict[str, type[Model]] = _models() | {
    model._meta.table_name: model for model in (EntryRow, SubjectRow, HeadRow, SealedRow, SchemaRow)
}
"""Every table of a store, each after those it points at."""
