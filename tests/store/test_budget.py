"""How many statements the Reader and the Work ask, and how long a page of a long history takes."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from cribdesk.crib.records import Custody, Person, Unit
from cribdesk.store.connect import SqlStore
from tests.store.conftest import changed, issue, person, save_all, unit, unwritten
from tests.store.queries import counting

LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)
ONE_QUERY: dict[str, Callable[[Any], object]] = {
    "get": lambda reader: reader.get(Unit, 1),
    "find": lambda reader: reader.find(Unit, id=range(1, 400), size=""),
    "latest of each": lambda reader: reader.latest_of_each(Custody, "unit_id", returned_at=None),
    "within": lambda reader: reader.within(Custody, "issued_at", LONG_AGO, LONG_AGO, assigned=False),
    "newest": lambda reader: reader.newest(Unit, 3),
    "count": lambda reader: reader.count(Unit),
    "search": lambda reader: reader.search(Person, ("name", "label"), "w"),
    "entries": lambda reader: reader.entries(subject="U000001X", before=9),
    "entry count": lambda reader: reader.entry_count("U000001X"),
    "head": lambda reader: reader.head(),
}


def test_every_reader_call_is_one_query(store: SqlStore) -> None:
    """However many records there are."""
    save_all(store, person(1), *[unit(number) for number in range(1, 30)])
    for number in range(1, 30):
        issue(store, number, 1, number + 1)
    with store.reading() as reader:
        for case, call in ONE_QUERY.items():
            with counting(store) as asked:
                call(reader)
            assert len(asked) == 1, (case, asked)


def test_a_work_asks_one_statement_a_row(store: SqlStore) -> None:
    """Beyond the rows themselves: the head read and written, the entry, its subjects, a look for each seal."""
    _, (somebody, *units) = save_all(store, person(1), unit(1), unit(2))
    with counting(store) as asked, store.work() as work:
        for one in units:
            work.save(changed(one, place="row 1"))
        work.save(changed(somebody, crew="day"))
        work.commit(unwritten(2, subjects=("U000001X", "U000002X")))
    assert len(asked) == 3 + 1 + 4, asked


@pytest.mark.parametrize("engine", ["sqlite"])
def test_a_long_history_opens_fast(store: SqlStore) -> None:
    """The first page of 20 000 entries of one unit: well under 100 ms (the median of five)."""
    with store.engine.writing():
        rows = [(seq, "0" * 64, "{}", "", "try", f"{seq}") for seq in range(1, 20_000)]
        columns = ("seq", "digest", "body", "moment", "operation", "operation_id")
        store.engine.insert_all("entry", columns, rows)
        store.engine.insert_all("subject", ("label", "seq"), [("U000001X", seq) for seq in range(1, 20_000)])
        store.engine.run("UPDATE journal_head SET seq = 19999")
    for number in range(60):
        save_all(store, number=number)
    taken = []
    for _ in range(5):
        started = time.perf_counter()
        with store.reading() as reader:
            page = reader.entries(subject="U000001X", count=50)
            assert reader.entry_count("U000001X") == 20_059
        taken.append(time.perf_counter() - started)
    assert len(page.entries) == 50
    assert sorted(taken)[2] < 0.1
