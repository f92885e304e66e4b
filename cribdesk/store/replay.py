"""Makes the tables again from the journal alone.

The last image of each row is kept in memory and written at the end, by one statement a table; a step of the
schema met on the way is run on the tables as they were then.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from graphlib import TopologicalSorter
from operator import itemgetter
from typing import Any

from cribdesk.crib.entry import canonical
from cribdesk.desk.ports import Head
from cribdesk.store.engine import Engine
from cribdesk.store.faults import Damaged
from cribdesk.store.journal import Chain
from cribdesk.store.reader import read_head
from cribdesk.store.steps import MIGRATION, SCHEMA, bring_to, make_tables, step
from cribdesk.store.work import ENTRY_COLUMNS, SEALED_COLUMNS, person_of

Progress = Callable[[int], None]
"""Told the entries read so far, now and then. What it raises breaks the replay off; nothing is kept then."""

TOLD_EVERY = 500

JOURNAL = frozenset({"entry", "journal_head", "schema", "sealed", "subject"})
"""Tables that are not of records. They are filled last, when all steps were run."""


class NotEmpty(Exception):
    """A replay into a store that holds entries."""


def replay(texts: Iterable[bytes], engine: Engine, progress: Progress | None = None) -> Head:
    """Fills an empty store from the journal's lines, verifying each. Part of the caller's transaction.

    Returns where the journal ends. Raises Damaged, NotEmpty.
    """
    if read_head(engine).seq:
        raise NotEmpty("there are entries in the store already")
    fold = _Fold(engine)
    with _no_collecting():
        for text in texts:
            fold.add(text)
            if progress is not None and fold.chain.seq % TOLD_EVERY == 0:
                progress(fold.chain.seq)
        fold.finish()
    return read_head(engine)


class _Fold:
    """What the journal says so far."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.chain = Chain()
        self.schema = SCHEMA
        self.personal = step(SCHEMA).PERSONAL
        self.images: dict[str, dict[int, dict[str, Any]]] = {}
        self.opened: dict[str, str] = {}  # digest and personal value
        self.entries: list[tuple[Any, ...]] = []
        self.subjects: list[tuple[str, int]] = []
        self.seals: list[tuple[Any, ...]] = []

    def add(self, text: bytes) -> None:
        """Takes the next line."""
        line, entry = self.chain.follow(text)
        seq, seals = entry["seq"], dict(line.seals)
        if seq == 1 and entry["schema"] != self.schema:
            self._start_at(entry["schema"])
        elif entry["operation"] == MIGRATION:
            self._step(entry["schema"])
        moment, operation, operation_id = entry["moment"], entry["operation"], entry["operation_id"]
        self.entries.append((seq, line.digest, line.body.decode(), moment, operation, operation_id))
        self.subjects += [(label, seq) for label in entry["subjects"]]
        for table, row in entry["rows"]:
            try:
                self.images[table][row["id"]] = row
            except KeyError:
                self.images[table] = {row["id"]: row}
            if seals and table in self.personal:
                self._seal(seq, table, row, seals)
        if seals:
            raise Damaged(seq, "it brings a personal value that stands nowhere in it")

    def finish(self) -> None:
        """Writes everything."""
        engine = self.engine
        self._write_records()
        engine.insert_all("entry", ENTRY_COLUMNS, self.entries)
        engine.insert_all("subject", ("label", "seq"), self.subjects)
        engine.insert_all("sealed", SEALED_COLUMNS, self.seals)
        if self.entries:
            mark = engine.mark
            seq, digest, _, moment, *_ = self.entries[-1]
            engine.run(f"UPDATE journal_head SET seq = {mark}, digest = {mark}, moment = {mark}", (seq, digest, moment))

    def _seal(self, seq: int, table: str, row: dict[str, Any], seals: dict[str, Any]) -> None:
        for column in self.personal[table]:
            digest = row[column]
            if digest in seals:
                salt, value = seals.pop(digest)
                self.opened[digest] = value
                text = canonical(value).decode()
                person = person_of(table, row, self._who_had)
                self.seals.append((digest, salt, text, table, row["id"], column, person, seq))

    def _who_had(self, custody_id: Any) -> Any:
        return self.images["custody"][custody_id]["person_id"]

    def _start_at(self, schema: int) -> None:
        """The journal begins with an older schema: the empty tables are made again as they were then."""
        if not 1 <= schema <= SCHEMA:
            raise Damaged(1, f"it is of schema {schema}, this program knows {SCHEMA}")
        for table in reversed(_parents_first(self.engine)):
            self.engine.run(f'DROP TABLE "{table}"')
        make_tables(self.engine, schema)
        self._now_at(schema)

    def _step(self, schema: int) -> None:
        """Runs a step on the tables as they are, and takes them back into memory as it left them."""
        if schema != self.schema + 1 or schema > SCHEMA:
            raise Damaged(self.chain.seq, f"it brings schema {self.schema} to {schema}")
        self._write_records()
        bring_to(self.engine, schema)
        self._now_at(schema)
        for table in reversed(_parents_first(self.engine)):
            if table in JOURNAL:
                continue
            cursor = self.engine.run(f'SELECT * FROM "{table}"')
            names = [column[0] for column in cursor.description]
            rows = [dict(zip(names, values, strict=True)) for values in cursor.fetchall()]
            self.images[table] = {row["id"]: _Plain(row) for row in rows}
            self.engine.run(f'DELETE FROM "{table}"')

    def _now_at(self, schema: int) -> None:
        self.schema = schema
        self.personal = step(schema).PERSONAL

    def _write_records(self) -> None:
        order = [table for table in _parents_first(self.engine) if table in self.images]
        if unknown := set(self.images) - set(order):
            raise Damaged(
                self.chain.seq, f"the journal tells of a table {min(unknown)}, which schema {self.schema} has not"
            )
        for table in order:
            rows = self.images.pop(table)
            self._write_table(table, [rows[row_id] for row_id in sorted(rows)])
        self.engine.numbered_on(order)

    def _write_table(self, table: str, rows: list[dict[str, Any]]) -> None:
        cursor = self.engine.run(f'SELECT * FROM "{table}" WHERE 1 = 0')
        columns = [column[0] for column in cursor.description]
        wanted = set(columns)
        for row in rows:
            if row.keys() != wanted:
                raise Damaged(self.chain.seq, f"{table} {row['id']} has other columns than schema {self.schema}")
        if table in self.personal:
            rows = [self._open(table, row) for row in rows]
        self.engine.insert_all(table, columns, map(itemgetter(*columns), rows))

    def _open(self, table: str, row: dict[str, Any]) -> dict[str, Any]:
        """The row with its personal values in plain; an erased one is empty."""
        if isinstance(row, _Plain):
            return row
        return row | {column: self.opened.get(row[column], "") for column in self.personal[table] if row[column]}


class _Plain(dict[str, Any]):
    """A row read back from its table: its personal values stand in plain."""


def _parents_first(engine: Engine) -> list[str]:
    """All tables, each after those it points at."""
    return list(TopologicalSorter(engine.points_at()).static_order())


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Nothing here is garbage before the end: looking for some takes a third of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
