"""An issue with its inspection, durable, against a raw sqlite3 transaction of the same rows."""

from __future__ import annotations

import json
import shutil
import sqlite3
from datetime import timedelta
from functools import partial
from pathlib import Path

from cribdesk.crib.entry import Entry
from cribdesk.crib.records import Area, Battery, Person, Unit
from cribdesk.desk.house import House
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.return_ import TakeBack
from cribdesk.store.connect import open_store
from tests.bench.measure import Row, Times, timed
from tests.desk.shop import Shop, passed

ROUNDS = 120


def row(house: House, folder: Path) -> Row:
    """One hundred and twenty issues of ready units, each with its full inspection, one after the other."""
    file, copy = folder / "issues.sqlite", folder / "raw.sqlite"
    with open_store(str(file), create=True) as store:
        shop = Shop(store).build()
    shutil.copyfile(file, copy)
    entries: list[Entry] = []
    with open_store(str(file)) as store:
        shop.store = store
        made = _issue_all(shop, entries)
    held = _raw(copy, entries)
    return Row(
        "Issue with its inspection, durable",
        f"median {made.median:.1f} ms, p99 {made.p99:.1f} ms",
        f"the same rows raw: median {held.median:.1f} ms, p99 {held.p99:.1f} ms",
        f"{made.median / held.median:.1f} (median)",
        "at most 12, p99 under 10 ms",
    )


def _issue_all(shop: Shop, entries: list[Entry]) -> Times:
    names = ("wl-1", "wl-2", "wl-3", "wl-4")
    found: list[float] = []
    wearer, area = shop.record(Person, "Wronecka"), shop.record(Area, "bay-3")
    for number in range(ROUNDS):
        name = names[number % len(names)]
        unit = shop.record(Unit, name)
        shop.moment += timedelta(seconds=30)
        run = passed(unit, "pre-use", shop.moment, shop.clerk_label, shop.names["meter"])
        operation = IssueUnit(
            operation_id=shop.tokens(),
            unit_id=unit.id,
            person_id=wearer.id,
            battery_id=shop.record(Battery, f"pack-{number % 4 + 1}").id,
            area_id=area.id,
            due_at=shop.moment + timedelta(hours=8),
            run_made=run,
            shown=SHOWN,
        )
        shop.moment += timedelta(seconds=1)
        found += timed([partial(shop.counter.do, operation, shop.clerk_id)]).seconds
        with shop.store.reading() as reader:
            entry = reader.entry_of(operation.operation_id)
        assert entry is not None
        entries.append(entry)
        shop.do(TakeBack, unit_id=unit.id)
    return Times(tuple(found))


SHOWN = tuple(
    (code, subject)
    for code, subject in (("own-unit", ""), ("battery-charge", ""))
)
"""The cautions that may stand: the wearer takes the own unit back, its pack uncharged."""


def quoted(names: list[str]) -> list[str]:
    """Column names as SQL takes them."""
    return [f'"{name}"' for name in names]


def _raw(file: Path, entries: list[Entry]) -> Times:
    database = sqlite3.connect(file, isolation_level=None)
    database.execute("PRAGMA journal_mode = wal")
    database.execute("PRAGMA synchronous = full")
    columns = {
        table: [row[1] for row in database.execute(f"PRAGMA table_info({table})")]
        for table in {name for entry in entries for name, _ in entry.rows}
    }

    def write(entry: Entry) -> None:
        database.execute("BEGIN IMMEDIATE")
        for table, values in entry.rows:
            names = [name for name in columns[table] if name in values]
            marks = ", ".join("?" * len(names))
            database.execute(
                f"INSERT OR REPLACE INTO {table} ({', '.join(quoted(names))}) VALUES ({marks})",
                [values[name] for name in names],
            )
        database.execute("INSERT INTO raw_entry VALUES (?, ?)", (entry.seq, json.dumps(entry.plain())))
        subjects = [(one, -entry.seq) for one in entry.subjects]
        database.executemany("INSERT INTO subject (label, seq) VALUES (?, ?)", subjects)
        database.execute("COMMIT")

    database.execute("CREATE TABLE raw_entry (seq INTEGER PRIMARY KEY, body TEXT)")
    found = timed(partial(write, entry) for entry in entries)
    database.close()
    return found
