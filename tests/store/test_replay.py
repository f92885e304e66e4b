"""A journal whose chain is sound and whose rows are not: refused by entry, and nothing of it is kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cribdesk.crib.entry import START, canonical, chained
from cribdesk.crib.records import Unit
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.faults import Damaged
from cribdesk.store.journal import Line, lines
from cribdesk.store.replay import replay
from cribdesk.store.steps import MIGRATION, SCHEMA
from tests.store.conftest import save_all, unit

Entry = dict[str, Any]


def chained_anew(store: SqlStore, change: Callable[[Entry], None]) -> list[bytes]:
    """The store's journal with its last entry changed, and a chain that fits it."""
    with store.engine.looking():
        found = list(lines(store.engine))
    made, digest = [], START
    for line in found:
        entry = json.loads(line.body)
        if line is found[-1]:
            change(entry)
        body = canonical(entry)
        digest = chained(digest, body)
        made.append(Line(digest, body, line.seals).text())
    return made


def ghost(entry: Entry) -> None:
    """A row of a table that no schema has."""
    entry["rows"].append(["ghost", {"id": 1, "revision": 1}])


def more(entry: Entry) -> None:
    """A column too many."""
    entry["rows"][0][1]["more"] = 1


def fewer(entry: Entry) -> None:
    """A column too few."""
    del entry["rows"][0][1]["serial"]


def leap(entry: Entry) -> None:
    """A step over a schema."""
    entry.update(operation=MIGRATION, schema=SCHEMA + 2)


def newer(entry: Entry) -> None:
    """A step to a schema that this program does not know."""
    entry.update(operation=MIGRATION, schema=SCHEMA + 1)


@pytest.mark.parametrize("engine", ["sqlite"])
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (ghost, "the journal tells of a table ghost"),
        (more, "has other columns"),
        (fewer, "has other columns"),
        (leap, f"it brings schema {SCHEMA} to {SCHEMA + 2}"),
        (newer, f"it brings schema {SCHEMA} to {SCHEMA + 1}"),
    ],
)
def test_rows_that_cannot_be(store: SqlStore, tmp_path: Path, change: Callable[[Entry], None], words: str) -> None:
    """The chain alone does not make a journal: what its rows tell must fit the tables of their schema."""
    save_all(store, unit(1), number=1)
    save_all(store, unit(2), number=2)
    with open_store(str(tmp_path / "again.sqlite"), create=True) as again:
        with pytest.raises(Damaged, match=words), again.engine.filling():
            replay(chained_anew(store, change), again.engine)
        with again.reading() as reader:
            assert (reader.head().seq, reader.find(Unit)) == (0, [])
        with again.engine.filling():
            replay(chained_anew(store, lambda entry: None), again.engine)
        with again.reading() as reader:
            assert len(reader.find(Unit)) == 2
