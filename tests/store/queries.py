"""Counts the statements a store is asked, for budgets."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from peewee import QueryEvent

from cribdesk.store.connect import SqlStore


@contextmanager
def counting(store: SqlStore) -> Iterator[list[str]]:
    """Gathers every statement but those that open and close transactions."""
    asked: list[str] = []

    def hook(event: QueryEvent) -> None:
        asked.append(event.sql)

    hooks = store.engine.database.query_hooks
    hooks.append(hook)
    try:
        yield asked
    finally:
        hooks.remove(hook)
