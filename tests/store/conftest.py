"""Stores to write to, on each engine, and things to write."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import peewee
import pytest

from cribdesk.crib.entry import Entry
from cribdesk.crib.records import Custody, Person, Record, Unit, Where
from cribdesk.desk.ports import Unwritten
from cribdesk.store import connect
from cribdesk.store.connect import SqlStore, open_store

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


@pytest.fixture
def store(address: str) -> Iterator[SqlStore]:
    """An empty store on the engine, its salts repeatable."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _no_transaction_open(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Every test ends with no transaction open in any store it opened."""
    opened: list[peewee.Database] = []

    def noted(make: Callable[..., Any]) -> Callable[..., Any]:
        def wrapped(*args: Any, **settings: Any) -> Any:
            engine = make(*args, **settings)
            opened.append(engine.database)
            return engine

        return wrapped

    monkeypatch.setattr(connect, "sqlite_engine", noted(connect.sqlite_engine))
    monkeypatch.setattr(connect, "postgres_engine", noted(connect.postgres_engine))
    yield
    assert not [database for database in opened if database.in_transaction()]
    for database in opened:
        if not database.is_closed():
            database.close()


def unwritten(number: int = 1, **changes: Any) -> Unwritten:
    """What an entry needs, numbered."""
    fields: dict[str, Any] = {
        "operation": "try",
        "operation_id": f"try {number}",
        "request": hashlib.sha256(str(number).encode()).hexdigest(),
        "moment": START + timedelta(minutes=number),
        "counter": "counter 1",
        "clerk": "P000001X",
        "subjects": ("U000001X",),
        "sentence": f"Tried {number}.",
    }
    return Unwritten(**(fields | changes))


def save_all(store: SqlStore, *records: Record, number: int = 1, **changes: Any) -> tuple[Entry, list[Any]]:
    """Saves the records in one Work and its entry."""
    with store.work() as work:
        saved = [work.save(record) for record in records]
        entry = work.commit(unwritten(number, **changes))
    return entry, saved


def person(number: int, **fields: Any) -> Person:
    """Somebody we invented."""
    return Person(**({"label": f"P{number:06}X", "name": f"Wearer Łęcka {number}", "crew": "night"} | fields))


def unit(number: int, **fields: Any) -> Unit:
    """A unit of a model we invented."""
    return Unit(**({"label": f"U{number:06}X", "model": "hood", "added_at": START} | fields))


def out(unit_id: int, person_id: int, **fields: Any) -> Custody:
    """An open custody."""
    return Custody(
        **({"unit_id": unit_id, "person_id": person_id, "issued_by": person_id, "issued_at": START} | fields)
    )


def issue(store: SqlStore, unit_id: int, person_id: int, number: int, **fields: Any) -> Custody:
    """Hands a unit out, without any rule but the tables'."""
    with store.work() as work:
        taken = work.get(Unit, unit_id)
        work.take(taken)
        custody = work.save(out(unit_id, person_id, **fields))
        work.save(changed(taken, where=Where.OUT))
        work.commit(unwritten(number, subjects=(taken.label, work.get(Person, person_id).label)))
    return custody


def changed(record: Any, **fields: Any) -> Any:
    """The record with some fields changed."""
    from dataclasses import replace

    return replace(record, **fields)
