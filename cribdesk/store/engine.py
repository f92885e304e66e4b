"""The two engines behind one face: how each binds values, locks rows, numbers them, opens transactions."""

from __future__ import annotations

import json
import select
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from typing import Any

import peewee

AS_PEEWEE: Any = peewee.__exception_wrapper__  # type: ignore[attr-defined]
"""Turns a driver's exceptions into peewee's, as `execute_sql` does by itself."""

WAIT_SECONDS = 10.0
"""How long a counter waits for another one's transaction."""

SILENT_SECONDS = 60.0
"""After so long without a word while it writes the server gives a counter up: its computer may have lost power."""

SQLITE_PRAGMAS = (
    ("synchronous", "FULL"),
    ("foreign_keys", 1),
    ("secure_delete", 1),
)
"""Durable at every commit, constraints checked, what is erased is overwritten."""

WRITE_AHEAD = "PRAGMA journal_mode = wal"
"""Readers and a writer do not wait for each other. Kept by the file; said once it is known to be a store."""


class Engine(ABC):
    """A peewee database, and what its SQL needs said in its own way."""

    name = ""
    mark = "?"
    for_update = ""
    given_up = ""
    """Read along with the journal's head by what writes: from then on a counter that falls silent is given up."""
    returning = ""
    one_of = ""

    def __init__(self, database: peewee.Database) -> None:
        self.database = database
        self.run: Callable[..., Any] = database.execute_sql
        self.cursor: Callable[[], Any] = database.cursor
        self.connection: Callable[[], Any] = database.connection
        self.derived_there = False
        self._compiled: dict[object, str] = {}

    def compiled(self, key: object, make: Any) -> str:
        """The statement kept under the key, made once."""
        found = self._compiled.get(key)
        if found is None:
            found = self._compiled[key] = make()
        return found

    def marks(self, count: int) -> str:
        """So many places for values."""
        return ", ".join([self.mark] * count)

    @abstractmethod
    def some(self, values: Iterable[Any]) -> Any:
        """The value to bind where `one_of` stands."""

    @abstractmethod
    def inserted(self, cursor: Any) -> int:
        """The id the row just inserted was given."""

    @abstractmethod
    def writing(self) -> AbstractContextManager[Any]:
        """A transaction that writes."""

    @abstractmethod
    def looking(self) -> AbstractContextManager[Any]:
        """A transaction that sees one consistent state."""

    @contextmanager
    def filling(self) -> Iterator[None]:
        """A transaction that writes very much."""
        with self.writing():
            yield

    def revive(self) -> None:  # noqa: B027 - a file is never cut off
        """Connects again where the server cut the connection."""

    @abstractmethod
    def insert_all(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Fills a table, as fast as the engine can."""

    @abstractmethod
    def points_at(self) -> dict[str, set[str]]:
        """Every table and the tables its foreign keys point at."""

    @abstractmethod
    def indexes(self) -> set[str]:
        """The names of all indexes that were made by name."""

    def numbered_on(self, tables: Iterable[str]) -> None:  # noqa: B027 - a file numbers on by itself
        """After a table was filled with ids given: new rows are numbered on from there."""


class SqliteEngine(Engine):
    """One file. The transaction takes the write lock at its start, so rows need no locks of their own."""

    name = "sqlite"
    one_of = "IN (SELECT value FROM json_each(?))"

    def some(self, values: Iterable[Any]) -> str:
        return json.dumps(list(values))

    def inserted(self, cursor: Any) -> int:
        return int(cursor.lastrowid)

    def writing(self) -> AbstractContextManager[Any]:
        return self.database.atomic()

    def looking(self) -> AbstractContextManager[Any]:
        return self.database.atomic("DEFERRED")

    @contextmanager
    def filling(self) -> Iterator[None]:
        self.run("PRAGMA cache_size = -200000")  # kB: pages wait in memory and are written once
        try:
            with self.writing():
                yield
        finally:
            self.run("PRAGMA cache_size = -2000")

    def insert_all(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        names = ", ".join(f'"{column}"' for column in columns)
        sql = f'INSERT INTO "{table}" ({names}) VALUES ({self.marks(len(columns))})'
        with AS_PEEWEE:
            self.cursor().executemany(sql, rows)

    def points_at(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {table: set() for table in self.database.get_tables()}
        sql = (
            "SELECT m.name, k.\"table\" FROM sqlite_master m, pragma_foreign_key_list(m.name) k WHERE m.type = 'table'"
        )
        for table, target in self.run(sql):
            found[table].add(target)
        return found

    def indexes(self) -> set[str]:
        return {name for (name,) in self.run("SELECT name FROM sqlite_master WHERE type = 'index' AND sql <> ''")}


class PostgresEngine(Engine):
    """A server. What writes to the journal holds its head from the beginning, so counters take turns."""

    name = "postgres"
    mark = "%s"
    for_update = " FOR UPDATE"
    given_up = f", set_config('idle_in_transaction_session_timeout', '{SILENT_SECONDS:g}s', true)"
    returning = " RETURNING id"
    one_of = "= ANY(%s)"

    def some(self, values: Iterable[Any]) -> list[Any]:
        return list(values)

    def inserted(self, cursor: Any) -> int:
        return int(cursor.fetchone()[0])

    def writing(self) -> AbstractContextManager[Any]:
        return self.database.atomic()

    def looking(self) -> AbstractContextManager[Any]:
        return self.database.atomic(isolation_level="REPEATABLE READ READ ONLY")

    def revive(self) -> None:
        connection = self.connection()
        unasked = connection.closed or select.select([connection.pgconn.socket], [], [], 0)[0]
        if unasked or not self.database.is_connection_usable():  # between transactions only a farewell comes
            self.database.close()
            self.database.connect()

    def insert_all(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        names = ", ".join(f'"{column}"' for column in columns)
        with AS_PEEWEE, self.cursor().copy(f'COPY "{table}" ({names}) FROM STDIN') as copy:
            for row in rows:
                copy.write_row(row)

    def points_at(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {table: set() for table in self.database.get_tables()}
        sql = (
            "SELECT child.relname, parent.relname FROM pg_constraint k "
            "JOIN pg_class child ON child.oid = k.conrelid JOIN pg_class parent ON parent.oid = k.confrelid "
            "WHERE k.contype = 'f' AND child.relnamespace = current_schema()::regnamespace"
        )
        for table, target in self.run(sql):
            found[table].add(target)
        return found

    def indexes(self) -> set[str]:
        sql = "SELECT indexname FROM pg_indexes WHERE schemaname = current_schema()"
        return {name for (name,) in self.run(sql)}

    def numbered_on(self, tables: Iterable[str]) -> None:
        for table in tables:
            self.run(
                f"SELECT setval(pg_get_serial_sequence('\"{table}\"', 'id'), "
                f'(SELECT COALESCE(MAX(id), 0) + 1 FROM "{table}"), false)'
            )


def sqlite_engine(path: str, *, wait: float = WAIT_SECONDS) -> SqliteEngine:
    """An engine on a file, not yet connected. The thread that connects owns it."""
    database = peewee.SqliteDatabase(
        path, timeout=wait, lock_type="IMMEDIATE", pragmas=list(SQLITE_PRAGMAS), autoconnect=False
    )
    return SqliteEngine(database)


def postgres_engine(address: str) -> PostgresEngine:
    """An engine on a server, not yet connected. The thread that connects owns it."""
    from psycopg.conninfo import conninfo_to_dict

    own = conninfo_to_dict(address).get("options", "")
    database = peewee.PostgresqlDatabase(
        address,
        prefer_psycopg3=True,
        encoding="UTF8",
        autoconnect=False,
        connect_timeout=5,
        options=f"-c lock_timeout={WAIT_SECONDS:g}s {own}".strip(),
    )
    return PostgresEngine(database)
