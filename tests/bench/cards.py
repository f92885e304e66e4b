"""Scan to painted unit card, against the same rows by raw sqlite3 plus painting a card made beforehand."""

from __future__ import annotations

import random
import shutil
import sqlite3
from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QApplication

from cribdesk.crib.records import Unit
from cribdesk.crib.scan import read_scan
from cribdesk.desk.actions import actions
from cribdesk.desk.cards import UnitCard
from cribdesk.desk.counter import Counter
from cribdesk.desk.house import House
from cribdesk.desk.lookup import look_up
from cribdesk.desk.slate import Slate
from cribdesk.opening import OpenDesk, now
from cribdesk.store.connect import open_store
from cribdesk.window.main import MainWindow
from tests.bench.measure import Row, timed

ROUNDS = 300
COPIED = ("inspection", "reading", "cleaning", "battery_run", "movement")
"""Tables whose rows a store of ten times the history has ten times; custody and holds only where they ended."""


def rows(sample: Path, house: House, folder: Path) -> list[Row]:
    """On the sample, and on a store with ten times its history."""
    found = [_one("Scan to painted unit card, sample", sample, house)]
    large = folder / "large.sqlite"
    ten_times(sample, large)
    found.append(_one("The same, ten times the history", large, house))
    large.unlink()
    return found


def _one(what: str, file: Path, house: House) -> Row:
    store = open_store(str(file), verify=False)  # the tenfold journal is no chain
    desk = OpenDesk(store, Counter(store, house, now, "Bench"), now, None)
    window = MainWindow(house)
    window.show()
    with desk.store.reading() as reader:
        labels = [unit.label for unit in reader.find(Unit)]
    chosen = [random.Random(7).choice(labels) for _ in range(ROUNDS)]
    statements = {label: _statements(desk, house, label) for label in set(chosen)}
    raw = sqlite3.connect(file)
    prebuilt = _card(desk, house, chosen[0])

    def ours(label: str) -> None:
        _paint(window, house, _card(desk, house, label))

    def bare(label: str) -> None:
        for statement in statements[label]:
            raw.execute(statement).fetchall()
        _paint(window, house, prebuilt)

    for label in chosen[:20]:
        ours(label)
        bare(label)
    held = timed(partial(bare, label) for label in chosen)
    made = timed(partial(ours, label) for label in chosen)
    raw.close()
    window.close()
    desk.store.close()
    return Row(
        what,
        f"median {made.median:.1f} ms, p99 {made.p99:.1f} ms",
        f"raw rows and a prebuilt card: median {held.median:.1f} ms, p99 {held.p99:.1f} ms",
        f"{made.p99 / held.p99:.2f} (p99), {made.median / held.median:.2f} (median)",
        "at most 2, under 50 ms",
    )


def _card(desk: OpenDesk, house: House, label: str) -> UnitCard:
    with desk.store.reading() as reader:
        card = look_up(reader, house, read_scan(label), desk.clock())
    assert isinstance(card, UnitCard)
    return card


def _paint(window: MainWindow, house: House, card: UnitCard) -> None:
    slate = Slate(unit=card)
    window.show_slate(slate, actions(house, slate))
    QApplication.processEvents()
    window.repaint()


def _statements(desk: OpenDesk, house: House, label: str) -> list[str]:
    """What the look-up asks of the file, with its values filled in."""
    seen: list[str] = []
    connection = desk.store.engine.database.connection()
    connection.set_trace_callback(seen.append)
    _card(desk, house, label)
    connection.set_trace_callback(None)
    return [one for one in seen if one.lstrip().upper().startswith("SELECT")]


def ten_times(source: Path, target: Path) -> None:
    """A copy in which every unit has ten times its ended history; its journal is no chain, only long."""
    shutil.copyfile(source, target)
    database = sqlite3.connect(target, isolation_level=None)
    database.execute("PRAGMA foreign_keys = off")
    database.execute("PRAGMA synchronous = off")
    database.execute("BEGIN")
    for table, where in [(one, "1") for one in COPIED] + [("custody", "returned_at IS NOT NULL")]:
        _copy_rows(database, table, where)
    columns = [row[1] for row in database.execute("PRAGMA table_info(entry)")]
    last = database.execute("SELECT max(seq) FROM entry").fetchone()[0]
    for number in range(1, 10):
        picked = ", ".join(
            {"seq": f"seq + {number * last}", "operation_id": f"operation_id || '/{number}'"}.get(one, one)
            if one not in ("digest",)
            else f"'{number}' || substr(digest, 2)"
            for one in columns
        )
        database.execute(f"INSERT INTO entry ({', '.join(columns)}) SELECT {picked} FROM entry WHERE seq <= {last}")
        database.execute(
            f"INSERT INTO subject (label, seq) SELECT label, seq + {number * last} FROM subject WHERE seq <= {last}"
        )
    database.execute("COMMIT")
    database.close()


def _copy_rows(database: sqlite3.Connection, table: str, where: str) -> None:
    columns = [row[1] for row in database.execute(f"PRAGMA table_info({table})")]
    last = database.execute(f"SELECT max(id) FROM {table}").fetchone()[0]
    for number in range(1, 10):
        picked = ", ".join("-id - " + str(number * last) if one == "id" else one for one in columns)
        database.execute(
            f"INSERT INTO {table} ({', '.join(columns)}) SELECT {picked} FROM {table} WHERE id > 0 AND {where}"
        )
