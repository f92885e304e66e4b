"""Schema 5: columns added to tables there are, and new tables. Never edited once a store was made with it.

An added column is null, or has a value for the rows there are; it points at no table: SQLite could not add it in the
place where a new table has it. What points somewhere gets a table of its own.
"""

from __future__ import annotations

from importlib import import_module

import peewee

first = import_module("cribdesk.store.migrations.0001_first")
frozen = import_module("cribdesk.store.migrations.0002_whole_day")

NUMBER = 5

PERSONAL: dict[str, tuple[str, ...]] = {
    "person": ("name",),
    "clearance": ("detail",),
    "custody": ("damage",),
    "bound_label": ("text",),
    "own_check": ("note",),
    "away": ("detail", "decontaminated", "arrived_word"),
    "evidence": ("document",),
    "notice": ("detail", "answer"),
    "assessment": ("made_by",),
    "caution_accepted": ("why",),
}
"""As in step 1: table and the columns of it that stand in entries as a digest."""

CHOICES: dict[str, tuple[str, ...]] = {}
"""Column and the only texts it may hold."""

ADDED: dict[str, str] = {
    "clearance": "method='' fit_factor:amount?",
    "instrument": "calibration_g_m3:amount=1204",
    "calibration": "entered_at?",
    "assessment": "measured_as='' short_ng_m3:amount? short_ppb:amount?",
    "sample": "series=''",
}
"""Table and the columns added at its end, written as in step 1; = is the value of the rows there are, and the default.

Air of 20 °C at 101 325 Pa: 1.204 kg/m3.
"""

TABLES: dict[str, str] = {
    "set_aside": "revision:int item_id>stock_item purpose quantity:int at by_id>person",
    "seal_look": "revision:int person_id>person unit_id>unit? hair:bool under_seal:bool at by_id>person",
}
"""The new tables, written as in step 1."""

CHECKS: dict[str, tuple[str, ...]] = {
    "set_aside": ("quantity >= 0",),
}
"""Table and what must hold in each row."""

INDEXES: tuple[tuple[str, str, str, bool, str], ...] = (
    ("set_aside", "item_id", "item_id", False, ""),
    ("set_aside", "one_a_purpose", "item_id purpose", True, ""),
    ("seal_look", "person_id", "person_id", False, ""),
    ("seal_look", "unit_id", "unit_id", False, ""),
)
"""Table, end of the index's name, its columns, whether unique, and where it holds."""

MORE_INDEXES: tuple[tuple[str, str, str], ...] = (("inspection", "last_of_a_kind", "kind verdict unit_id"),)
"""Table that was there before, end of the index's name, its columns."""


def up(database: peewee.Database) -> None:
    """Adds the columns, makes the new tables and indexes."""
    for table, words in ADDED.items():
        for one in words.split():
            add_column(database, table, one)
    frozen.make(database, TABLES, CHOICES, CHECKS, INDEXES)
    for table, end, columns in MORE_INDEXES:
        named = ", ".join(f'"{one}"' for one in columns.split())
        database.execute_sql(f'CREATE INDEX "{table}_{end}" ON "{table}" ({named})')  # type: ignore[no-untyped-call]


def add_column(database: peewee.Database, table: str, words: str) -> None:
    """Adds one column as a table made anew would have it."""
    written, _, default = words.partition("=")
    name, field = first.column(table, written, {}, CHOICES)
    if default:
        field.constraints = [peewee.SQL(f"DEFAULT {default}"), *(field.constraints or [])]
    field.bind(type(table, (peewee.Model,), {}), name)
    context = database.get_sql_context()
    sql, _ = context.literal(f'ALTER TABLE "{table}" ADD COLUMN ').sql(field.ddl(context)).query()  # type: ignore[no-untyped-call]
    database.execute_sql(sql)  # type: ignore[no-untyped-call]
