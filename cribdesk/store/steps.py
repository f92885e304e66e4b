"""Runs the schema's steps: all of them in an empty store, the missing ones in an older store."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from importlib import import_module
from typing import Protocol, cast

import peewee

from cribdesk.crib.entry import START, Entry, canonical
from cribdesk.store.engine import Engine
from cribdesk.store.reader import read_head
from cribdesk.store.work import write_entry

NAMES = ("0001_first", "0002_whole_day", "0003_stock", "0004_protection", "0005_worked_out")
"""Every step, in order. A step's number is the schema it leads to."""

SCHEMA = len(NAMES)
"""The schema this program writes."""

MIGRATION = "migration"
"""The operation of an entry that a step wrote."""


class Step(Protocol):
    """A module of the folder `migrations`."""

    NUMBER: int
    PERSONAL: Mapping[str, tuple[str, ...]]

    def up(self, database: peewee.Database) -> None:
        """Changes the tables, by what stands in them alone."""
        ...


def step(number: int) -> Step:
    """The step that leads to that schema."""
    return cast(Step, import_module(f"cribdesk.store.migrations.{NAMES[number - 1]}"))


def make_tables(engine: Engine, schema: int = SCHEMA) -> None:
    """Brings an empty store to the schema, its journal empty. Part of the caller's transaction."""
    step(1).up(engine.database)
    engine.run("INSERT INTO schema (id, number) VALUES (1, 1)")
    engine.run(f"INSERT INTO journal_head (id, seq, digest) VALUES (1, 0, '{START}')")
    for number in range(2, schema + 1):
        bring_to(engine, number)


def schema_of(engine: Engine) -> int:
    """The schema the store has."""
    return int(engine.run("SELECT number FROM schema").fetchone()[0])


def bring_to(engine: Engine, number: int) -> None:
    """Runs one step. Part of the caller's transaction."""
    step(number).up(engine.database)
    engine.run(f"UPDATE schema SET number = {engine.mark}", (number,))


def migrate(engine: Engine, moment: datetime) -> None:
    """Brings an older store up to date: one transaction, one entry a step. One that fails leaves no trace."""
    while True:
        with engine.writing():
            head = read_head(engine, lock=True)  # two programs at once: the second waits here
            number = schema_of(engine) + 1
            if number > SCHEMA:
                return
            bring_to(engine, number)
            if head.seq:
                late = head.moment is not None and moment < head.moment
                write_entry(engine, migration_entry(head.seq + 1, number, moment, late), head.digest)


def migration_entry(seq: int, number: int, moment: datetime, late: bool) -> Entry:
    """The entry of a step: it has no rows, replay runs the step itself."""
    request = hashlib.sha256(canonical({"from": number - 1, "to": number})).hexdigest()
    return Entry(
        seq=seq,
        schema=number,
        operation=MIGRATION,
        operation_id=f"migration {number - 1} to {number}",
        request=request,
        moment=moment,
        counter="",
        clerk="",
        subjects=(),
        sentence=f"The store went from schema {number - 1} to {number}.",
        rows=(),
        late=late,
    )
