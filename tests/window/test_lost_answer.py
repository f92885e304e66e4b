"""The store answers too late or not at all: what was done is told as done, and what is not known stays asked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from cribdesk.store.connect import SqlStore
from cribdesk.store.faults import LOST, StoreFault
from tests.window.desk_window import DeskWindow


def test_an_answer_lost_after_the_commit(signed_on: DeskWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """The connection breaks between the commit and its answer: issued is said, for issued it is."""
    desk = signed_on
    desk.put_down()
    desk.press("F5")
    desk.answer_well()
    real = SqlStore.work

    @contextmanager
    def breaks(self: SqlStore) -> Iterator[Any]:
        with real(self) as work:
            yield work
        raise StoreFault(LOST)

    with monkeypatch.context() as patch:
        patch.setattr(SqlStore, "work", breaks)
        desk.scan("Wronecka")
    desk.says("Issued")


def test_what_is_not_known_is_asked_again(signed_on: DeskWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a crash the store cannot be read: that is said, and the number is kept for the next start."""
    desk = signed_on
    desk.app.station.set("pending", "a-number")

    @contextmanager
    def unread(self: SqlStore) -> Iterator[Any]:
        raise StoreFault(LOST)
        yield

    with monkeypatch.context() as patch:
        patch.setattr(SqlStore, "reading", unread)
        desk.app.settle("a-number")
        desk.rest()
        desk.says("The connection to the server was lost")
    assert desk.app.station["pending"] == "a-number"
    desk.app.settle("a-number")
    desk.rest()
    desk.says("The program ended before its last operation was done")
    assert desk.app.station["pending"] == ""
