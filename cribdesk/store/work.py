"""The one place that writes: a transaction, its rows, its entry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from cribdesk.crib.entry import Entry, Value, canonical, chained, sealed, stamp
from cribdesk.crib.label import Kind
from cribdesk.crib.records import Record
from cribdesk.desk.ports import Entropy, Unwritten
from cribdesk.store.engine import Engine
from cribdesk.store.faults import Stale
from cribdesk.store.mapping import Shape, shape_of, shape_of_table
from cribdesk.store.reader import SqlRecords, read_head

R = TypeVar("R", bound=Record)

SALT_BYTES = 16


class SqlWork(SqlRecords):
    """One open transaction. Made by SqlStore.work, which commits it or rolls it back.

    It holds the journal's head from its beginning: transactions that write come one after the other, on a server as
    on a file, so that what is decided is decided by all that was written before.
    """

    def __init__(self, engine: Engine, schema: int, entropy: Entropy) -> None:
        super().__init__(engine)
        self._schema = schema
        self._entropy = entropy
        self._images: dict[tuple[str, int], dict[str, Value]] = {}
        self._head = read_head(engine, lock=True)
        self.entry: Entry | None = None

    def take(self, *records: Record) -> None:
        """Lock these rows, sorted by table and id, before they are changed.

        Raises Stale for one that another counter changed since it was read: what was decided by it has to be
        decided anew, also where the row itself is not saved.
        """
        if not self._engine.for_update:
            return  # the transaction holds the only write lock since its start
        wanted: dict[str, dict[int, int]] = {}
        for record in records:
            wanted.setdefault(shape_of(type(record)).table, {})[record.id] = record.revision
        for table in sorted(wanted):
            engine, seen = self._engine, wanted[table]
            sql = f'SELECT id, revision FROM "{table}" WHERE id {engine.one_of} ORDER BY id{engine.for_update}'
            for id_, revision in engine.run(sql, (engine.some(sorted(seen)),)).fetchall():
                if revision != seen[id_] and (table, id_) not in self._images:
                    raise Stale(table, id_)

    def save(self, record: R) -> R:
        """Insert (id 0) or update where id and revision still fit; returns it as it is read from now on.

        Raises Stale when another counter changed it meanwhile, ValueError for what no column can hold.
        """
        if self.entry is not None:
            raise RuntimeError("the entry is written: nothing more can be saved in this Work")
        shape = shape_of(type(record))
        row = shape.row(record)
        row["revision"] = record.revision + 1
        if record.id == 0:
            row["id"] = self._insert(shape, row)
        else:
            self._update(shape, row, record)
        self._images[shape.table, row["id"]] = row  # type: ignore[index]
        return shape.record(tuple(row.values()))

    def commit(self, entry: Unwritten) -> Entry:
        """Number, chain and write the entry over all rows saved so far. Once a Work."""
        if self.entry is not None:
            raise RuntimeError("the entry of this Work is written already")
        head = self._head
        seq = head.seq + 1
        seals: list[tuple[Any, ...]] = []
        self.entry = Entry(
            seq=seq,
            schema=self._schema,
            operation=entry.operation,
            operation_id=entry.operation_id,
            request=entry.request,
            moment=entry.moment,
            counter=entry.counter,
            clerk=entry.clerk,
            subjects=tuple(dict.fromkeys(entry.subjects)),
            sentence=entry.sentence,
            rows=tuple((table, self._sealed(table, row, seq, seals)) for (table, _), row in self._images.items()),
            papers=entry.papers,
            corrects=entry.corrects,
            late=head.moment is not None and entry.moment < head.moment,
        )
        write_entry(self._engine, self.entry, head.digest)
        for seal in seals:
            self._engine.run(_insert_sql(self._engine, "sealed", SEALED_COLUMNS), seal)
        return self.entry

    def forget(self, person_id: int) -> int:
        """Empties every personal column that tells of the person, and unseals none of them any more.

        Returns how many rows were emptied. Whether it is allowed is the desk's business.
        """
        mark = self._engine.mark
        rows = self._engine.run(
            f'SELECT DISTINCT "table", row_id FROM sealed WHERE person_id = {mark} ORDER BY "table", row_id',
            (person_id,),
        ).fetchall()
        for table, row_id in rows:
            shape = shape_of_table(table)
            row = shape.row(self.get(shape.kind, row_id))
            row.update({column.name: None if column.null else "" for column in shape.columns if column.personal})
            self.save(shape.record(tuple(row.values())))
        self._engine.run(f"DELETE FROM sealed WHERE person_id = {mark}", (person_id,))
        return len(rows)

    def _insert(self, shape: Shape[Any], row: dict[str, Value]) -> int:
        sql = self._engine.compiled(
            (shape.table, "insert"),
            lambda: _insert_sql(self._engine, shape.table, shape.names[1:]) + self._engine.returning,
        )
        return self._engine.inserted(self._engine.run(sql, tuple(row.values())[1:]))

    def _update(self, shape: Shape[Any], row: dict[str, Value], record: Record) -> None:
        sql = self._engine.compiled((shape.table, "update"), lambda: _update_sql(self._engine, shape))
        values = (*tuple(row.values())[1:], record.id, record.revision)
        if self._engine.run(sql, values).rowcount != 1:
            raise Stale(shape.table, record.id)

    def _sealed(self, table: str, row: dict[str, Value], seq: int, seals: list[tuple[Any, ...]]) -> dict[str, Value]:
        """The row as it stands in the entry: each personal value replaced by a digest.

        Empty values stand as they are: they tell nothing. An unchanged value keeps its digest.
        """
        personal = shape_of_table(table).personal
        if not any(row[column] for column in personal):
            return row
        closed = dict(row)
        for column in personal:
            value = row[column]
            if not value:
                continue
            text = canonical(value).decode()
            digest = self._known_seal(table, row["id"], column, text)
            if digest is None:
                salt = self._entropy(SALT_BYTES)
                digest = sealed(salt, value)
                person = person_of(table, row, self._who_had)
                seals.append((digest, salt.hex(), text, table, row["id"], column, person, seq))
            closed[column] = digest
        return closed

    def _who_had(self, custody_id: Value) -> Value:
        sql = f"SELECT person_id FROM custody WHERE id = {self._engine.mark}"
        return self._engine.run(sql, (custody_id,)).fetchone()[0]  # type: ignore[no-any-return]

    def _known_seal(self, table: str, row_id: Value, column: str, text: str) -> str | None:
        mark = self._engine.mark
        found = self._engine.run(
            f'SELECT digest, value FROM sealed WHERE "table" = {mark} AND row_id = {mark} '
            f'AND "column" = {mark} ORDER BY seq DESC LIMIT 1',
            (table, row_id, column),
        ).fetchone()
        return found[0] if found is not None and found[1] == text else None


SEALED_COLUMNS = ("digest", "salt", "value", "table", "row_id", "column", "person_id", "seq")
ENTRY_COLUMNS = ("seq", "digest", "body", "moment", "operation", "operation_id")


def person_of(table: str, row: dict[str, Value], who_had: Callable[[Value], Value]) -> Value:
    """The id of the person a row tells of, where it says so itself or is about a custody; `who_had` tells whose."""
    if table == "person":
        return row["id"]
    if table == "bound_label":
        return row["record_id"] if row["kind"] == Kind.PERSON.value else None
    if table == "caution_accepted":
        return who_had(row["custody_id"])
    return row.get("person_id")


def write_entry(engine: Engine, entry: Entry, previous: str) -> str:
    """Chains the entry to the previous digest; writes it, its subjects and the head. Returns its digest."""
    body = entry.canonical()
    digest = chained(previous, body)
    moment = stamp(entry.moment)
    mark = engine.mark
    engine.run(
        _insert_sql(engine, "entry", ENTRY_COLUMNS),
        (entry.seq, digest, body.decode(), moment, entry.operation, entry.operation_id),
    )
    if entry.subjects:
        places = ", ".join([f"({mark}, {mark})"] * len(entry.subjects))
        pairs = [value for label in entry.subjects for value in (label, entry.seq)]
        engine.run(f"INSERT INTO subject (label, seq) VALUES {places}", pairs)
    engine.run(f"UPDATE journal_head SET seq = {mark}, digest = {mark}, moment = {mark}", (entry.seq, digest, moment))
    return digest


def _insert_sql(engine: Engine, table: str, columns: tuple[str, ...]) -> str:
    names = ", ".join(f'"{column}"' for column in columns)
    return f'INSERT INTO "{table}" ({names}) VALUES ({engine.marks(len(columns))})'


def _update_sql(engine: Engine, shape: Shape[Any]) -> str:
    names = ", ".join(f'"{column}" = {engine.mark}' for column in shape.names[1:])
    return f'UPDATE "{shape.table}" SET {names} WHERE id = {engine.mark} AND revision = {engine.mark}'
