"""Holds a store against its own journal: the chain, the tables made again from it, what no constraint can say."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import peewee

from cribdesk.crib.records import Where
from cribdesk.store.connect import SqlStore
from cribdesk.store.derived import DERIVED
from cribdesk.store.engine import Engine, SqliteEngine
from cribdesk.store.faults import Damaged
from cribdesk.store.journal import Chain, lines
from cribdesk.store.reader import read_head
from cribdesk.store.replay import replay
from cribdesk.store.steps import make_tables

TOLD_AT_MOST = 20
"""Findings of one kind that are told; more say nothing new."""


@dataclass(frozen=True)
class Finding:
    """One thing that is not as it must be. `place` is an entry, a row or the file."""

    place: str
    what: str

    def __str__(self) -> str:
        return f"{self.place}: {self.what}."


def check(store: SqlStore) -> list[Finding]:
    """Everything wrong with the store; nothing when it is sound. Changes nothing.

    Open the store with `verify=False`, else a broken chain is refused before it can be looked at. Who can write
    the file can also chain it anew from the start: only a digest kept elsewhere shows that.
    """
    try:
        with store.engine.looking():
            found = [*_file(store.engine), *_chain(store.engine)]
            found = found or [*_replayed(store.engine)]
            return [*found, *_rules(store.engine)]
    except (peewee.DatabaseError, sqlite3.Error) as failure:  # the latter where reading on fails
        return [Finding("The store", f"it cannot be read to its end ({failure})")]


def _file(engine: Engine) -> Iterator[Finding]:
    if not isinstance(engine, SqliteEngine):
        return
    for (text,) in engine.run(f"PRAGMA integrity_check({TOLD_AT_MOST})").fetchall():
        if text != "ok":
            yield Finding("The file", text)
    for table, row_id, target, _ in engine.run("PRAGMA foreign_key_check").fetchmany(TOLD_AT_MOST):
        yield Finding(f"{table} {row_id}", f"it points at a {target} that is not there")


def _chain(engine: Engine) -> Iterator[Finding]:
    """Every link; after a bad one the walk goes on from the digest that is kept."""
    return islice(_links(engine), TOLD_AT_MOST)


def _links(engine: Engine) -> Iterator[Finding]:
    chain = Chain()
    for line in lines(engine):
        try:
            chain.follow(line.text())
        except Damaged as failure:
            yield Finding(f"Entry {failure.seq}", failure.what)
            chain.digest = line.digest
    head = read_head(engine)
    if (head.seq, head.digest) != (chain.seq, chain.digest):
        yield Finding("The journal's head", f"it names entry {head.seq}, the last one is {chain.seq}")


def _replayed(engine: Engine) -> Iterator[Finding]:
    """The tables against those that the journal makes."""
    with tempfile.TemporaryDirectory() as folder:
        database = peewee.SqliteDatabase(
            str(Path(folder) / "replayed.sqlite"), pragmas=[("journal_mode", "off"), ("synchronous", 0)]
        )
        with closing(database):
            database.connect()
            again = SqliteEngine(database)
            try:
                with again.filling():
                    make_tables(again)
                    replay((line.text() for line in lines(engine)), again)
            except (Damaged, peewee.DatabaseError) as failure:
                yield Finding("The journal", f"the tables cannot be made from it again ({failure})")
                return
            yield from _differences(engine, again)


def _differences(engine: Engine, again: Engine) -> Iterator[Finding]:
    tables, wanted = set(engine.points_at()), set(again.points_at())
    for table in sorted(wanted - tables):
        yield Finding(f"Table {table}", "it is missing")
    for table in sorted(name for name in tables - wanted if not name.startswith(DERIVED)):
        yield Finding(f"Table {table}", "it does not belong to a store")
    for table in sorted(tables & wanted):
        yield from islice(_different_rows(table, _rows(engine, table), _rows(again, table)), TOLD_AT_MOST)
    for name in sorted(again.indexes() - engine.indexes()):
        yield Finding(f"Index {name}", "it is missing")


def _rows(engine: Engine, table: str) -> dict[Any, dict[str, Any]]:
    cursor = engine.run(f'SELECT * FROM "{table}"')
    names = [column[0] for column in cursor.description]
    key = 2 if table == "subject" else 1
    return {row[:key]: dict(zip(names, row, strict=True)) for row in cursor.fetchall()}


def _different_rows(
    table: str, rows: dict[Any, dict[str, Any]], wanted: dict[Any, dict[str, Any]]
) -> Iterator[Finding]:
    if rows == wanted:
        return
    for key in sorted(rows.keys() | wanted.keys()):
        place = f"{table} {' '.join(str(part) for part in key)}"
        if key not in rows:
            yield Finding(place, "it is missing")
        elif key not in wanted:
            yield Finding(place, "the journal does not know it")
        elif rows[key] != wanted[key]:
            names = [name for name, value in wanted[key].items() if rows[key].get(name) != value]
            yield Finding(place, f"the journal says otherwise about {', '.join(names)}")


def _rules(engine: Engine) -> Iterator[Finding]:
    """What takes two tables to say: a unit is out or assigned exactly while somebody has it.

    A missing unit may still be in somebody's custody: who had it last answers for it.
    """
    out = f"('{Where.OUT.value}', '{Where.ASSIGNED.value}')"
    held = "EXISTS (SELECT 1 FROM custody c WHERE c.unit_id = u.id AND c.returned_at IS NULL)"
    for label, where in engine.run(
        f'SELECT label, "where" FROM unit u WHERE ("where" IN {out} AND NOT {held}) '
        f'OR ("where" NOT IN {out} AND "where" <> \'{Where.MISSING.value}\' AND {held}) ORDER BY id'
    ).fetchmany(TOLD_AT_MOST):
        yield Finding(f"Unit {label}", f"it is {where}, which does not fit its custody")
