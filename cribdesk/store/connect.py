"""Opens a store: a file or a server's database, checked before anything is read from it."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import peewee

from cribdesk.crib.entry import START, chained
from cribdesk.desk.ports import Clock, Entropy
from cribdesk.store.derived import SqlDeriving
from cribdesk.store.engine import WAIT_SECONDS, WRITE_AHEAD, Engine, PostgresEngine, postgres_engine, sqlite_engine
from cribdesk.store.faults import CannotOpen, Stale, sql_state, sqlite_name, told
from cribdesk.store.reader import SqlReader
from cribdesk.store.steps import SCHEMA, make_tables, migrate, schema_of
from cribdesk.store.work import SqlWork

APPLICATION = 0x43524942
"""SQLite's application id of our files: the letters CRIB."""

OLDEST_SQLITE = (3, 37)
"""The first SQLite with strict tables."""

LINKS_CHECKED = 100

OPENING_WAIT_SECONDS = 3.0
"""How long an opening waits for another program's transaction: somebody looks at an empty screen."""

SERVER = ("postgresql://", "postgres://")


def now() -> datetime:
    """The moment now."""
    return datetime.now(UTC)


class SqlStore:
    """An open store, owned by the thread that opened it."""

    def __init__(self, address: str, engine: Engine, entropy: Entropy) -> None:
        self.address = address
        self.engine = engine
        self._entropy = entropy

    @contextmanager
    def work(self) -> Iterator[SqlWork]:
        """A transaction: commits at the end when `commit` was called, else rolls back.

        Raises StoreFault where the disk or the server fails; nothing is kept then.
        """
        self._alone()
        with self._faults(), suppress(_NoEntry), self.engine.writing():
            work = SqlWork(self.engine, SCHEMA, self._entropy)
            yield work
            if work.entry is None:
                raise _NoEntry

    @contextmanager
    def reading(self) -> Iterator[SqlReader]:
        """A consistent look at the store."""
        self._alone()
        with self._faults(), self.engine.looking():
            yield SqlReader(self.engine)

    @contextmanager
    def deriving(self) -> Iterator[SqlDeriving]:
        """A transaction that writes derived tables only. Raises StoreFault as `work` does."""
        self._alone()
        with self._faults(), self.engine.writing():
            yield SqlDeriving(self.engine)

    def collided(self, failure: BaseException) -> bool:
        """Whether another counter caused it (a stale row, a constraint, a deadlock): run once more."""
        return isinstance(failure, (Stale, peewee.IntegrityError)) or sql_state(failure) in ("40001", "40P01")

    def quick_check(self) -> list[str]:
        """What SQLite finds wrong with its own file; nothing when sound. Runs on any thread."""
        if isinstance(self.engine, PostgresEngine):
            return []  # the server watches over its own files
        with closing(sqlite3.connect(self.address)) as connection:
            return [text for (text,) in connection.execute("PRAGMA quick_check(5)") if text != "ok"]

    def close(self) -> None:
        """Closes the connection. Closing twice does nothing."""
        self.engine.database.close()

    def __enter__(self) -> SqlStore:
        return self

    def __exit__(self, *failure: object) -> None:
        self.close()

    def _alone(self) -> None:
        if self.engine.database.in_transaction():
            raise RuntimeError("a transaction is open already: one Work or Reader at a time")

    @contextmanager
    def _faults(self) -> Iterator[None]:
        try:
            self.engine.revive()
            yield
        except peewee.IntegrityError:
            raise
        except (peewee.DatabaseError, peewee.InterfaceError, sqlite3.Error) as failure:
            if self.collided(failure):
                raise
            raise told(failure) from failure


class _NoEntry(Exception):
    """Rolls back a Work that wrote no entry."""


def open_store(
    address: str,
    *,
    create: bool = False,
    entropy: Entropy = secrets.token_bytes,
    clock: Clock = now,
    verify: bool = True,
) -> SqlStore:
    """Opens the store at the address (a file, or postgresql://...); makes an empty one on `create`.

    An older store is brought up to date at `clock`'s moment; a file is copied before that. Without `verify` it
    is left as it is, and a broken journal is no reason to refuse: for `check`.
    Raises CannotOpen with plain words.
    """
    opened = _open_server if address.startswith(SERVER) else _open_file
    engine = opened(address, create, clock, verify)
    return SqlStore(address, engine, entropy)


def shown(address: str) -> str:
    """The address without its password."""
    parts = urlsplit(address)
    if not address.startswith(SERVER) or parts.password is None:
        return address
    return urlunsplit(parts._replace(netloc=parts.netloc.replace(f":{parts.password}@", "@")))


def _open_file(address: str, create: bool, clock: Clock, verify: bool) -> Engine:
    path = Path(address)
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise CannotOpen(
            f"This computer's SQLite is {sqlite3.sqlite_version}. CribDesk needs 3.37 or newer. "
            "Update it, or use a server."
        )
    if create and (not path.exists() or path.stat().st_size == 0):
        _make_file(path)
    _look_at_header(path)
    engine = sqlite_engine(str(path), wait=OPENING_WAIT_SECONDS)
    with _plainly(path, engine):
        engine.database.connect()
        with engine.writing():  # read-only, locked or full: it shows here and not in the middle of an issue
            number = schema_of(engine)
        _refuse_newer(str(path), number)
        _verify_pragmas(path, engine)
        if verify:
            if number < SCHEMA:
                _copy_beside(path, number)
                migrate(engine, clock())
            _verify_links(str(path), engine)
        engine.run(f"PRAGMA busy_timeout = {round(WAIT_SECONDS * 1000)}")
    return engine


def _open_server(address: str, create: bool, clock: Clock, verify: bool) -> Engine:
    try:
        import psycopg  # noqa: F401
    except ImportError as failure:
        raise CannotOpen("A store on a server needs psycopg. Install CribDesk with its extra `postgres`.") from failure
    name = shown(address)
    engine = postgres_engine(address)
    try:
        engine.database.connect()
    except peewee.OperationalError as failure:
        raise CannotOpen(
            f"{name} does not answer: {_first_line(failure)}. Start the server, or check the address."
        ) from failure
    try:
        _server_store(name, engine, create)
        if verify:
            if schema_of(engine) < SCHEMA:
                migrate(engine, clock())
            _verify_links(name, engine)
    except CannotOpen:
        engine.database.close()
        raise
    except peewee.DatabaseError as failure:
        engine.database.close()
        raise CannotOpen(f"{name} cannot be read: {_first_line(failure)}.") from failure
    return engine


def _server_store(name: str, engine: Engine, create: bool) -> None:
    encoding = engine.run("SHOW server_encoding").fetchone()[0]
    if encoding not in ("UTF8", "SQL_ASCII"):
        raise CannotOpen(f"{name} keeps text as {encoding}. Make a database with the encoding UTF8.")
    with engine.writing():
        engine.run("SELECT pg_advisory_xact_lock(%s)", (APPLICATION,))  # two programs making it at once
        tables = set(engine.database.get_tables())
        if not tables and create:
            make_tables(engine)
        elif not tables:
            raise CannotOpen(f"{name} is empty: there is no store in it. Load or restore one first.")
        elif not {"journal_head", "schema", "entry"} <= tables:
            raise CannotOpen(f"{name} holds something else, not a store. Give the address of an empty database.")
    _refuse_newer(name, schema_of(engine))


def _make_file(path: Path) -> None:
    """Makes an empty store beside its place and moves it there whole."""
    fresh = path.with_name(path.name + ".new")
    if not path.parent.is_dir():
        raise CannotOpen(f"There is no folder {path.parent}. Make it first, or give another place.")
    fresh.unlink(missing_ok=True)
    engine = sqlite_engine(str(fresh))
    with _plainly(path, engine):
        engine.database.connect()
        engine.run(f"PRAGMA application_id = {APPLICATION}")
        engine.run(WRITE_AHEAD)
        with engine.writing():
            make_tables(engine)
        engine.database.close()
        os.replace(fresh, path)


def _look_at_header(path: Path) -> None:
    if not path.exists():
        raise CannotOpen(f"There is no file {path}. Check the name, or load or restore a store there.")
    if path.is_dir():
        raise CannotOpen(f"{path} is a folder, not a store.")
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except OSError as failure:
        raise CannotOpen(f"{path} cannot be read: {failure.strerror}.") from failure
    if header[:16] != b"SQLite format 3\0" or int.from_bytes(header[68:72], "big") != APPLICATION:
        raise CannotOpen(f"{path} is not a store of CribDesk. Nothing in it was changed.")


def _verify_pragmas(path: Path, engine: Engine) -> None:
    engine.run(WRITE_AHEAD)
    wanted = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
    for pragma, value in wanted.items():
        (found,) = engine.run(f"PRAGMA {pragma}").fetchone()
        if found != value:
            raise CannotOpen(
                f"{path} cannot be kept safe where it lies ({pragma} is {found}). Move it to a disk of this computer."
            )


def _refuse_newer(name: str, number: int) -> None:
    if number > SCHEMA:
        raise CannotOpen(
            f"{name} was written by a newer CribDesk (schema {number}, this one knows {SCHEMA}). Update CribDesk."
        )


def _copy_beside(path: Path, number: int) -> None:
    """Keeps the old store whole beside the new one: <name>.schema-1."""
    copy = path.with_name(f"{path.name}.schema-{number}")
    unfinished = copy.with_name(copy.name + ".part")
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as target:
        source.backup(target)
    os.replace(unfinished, copy)


def _verify_links(name: str, engine: Engine) -> None:
    """The last links of the chain, and that the head stands at its end."""
    rows = engine.run(f"SELECT seq, digest, body FROM entry ORDER BY seq DESC LIMIT {LINKS_CHECKED + 1}").fetchall()
    rows.reverse()
    seq, head = engine.run("SELECT seq, digest FROM journal_head").fetchone()
    previous = START
    if len(rows) > LINKS_CHECKED:
        _, previous, _ = rows.pop(0)
    expected = seq - len(rows)
    for number, digest, body in rows:
        expected += 1
        if number != expected or chained(previous, body.encode()) != digest or json.loads(body)["seq"] != number:
            raise CannotOpen(
                f"The journal of {name} does not hold together at entry {number}. "
                "Run `cribdesk check` on it, then put the last backup back."
            )
        previous = digest
    if head != previous:
        raise CannotOpen(f"The journal of {name} lacks its last entries. Run `cribdesk check` on it.")


@contextmanager
def _plainly(path: Path, engine: Engine) -> Iterator[None]:
    """Turns what SQLite says into plain words, and closes the connection."""
    try:
        yield
    except CannotOpen:
        engine.database.close()
        raise
    except (peewee.PeeweeException, sqlite3.Error, OSError) as failure:
        with suppress(peewee.PeeweeException):
            engine.database.close()
        raise CannotOpen(_words(path, failure)) from failure


def _words(path: Path, failure: BaseException) -> str:
    name = sqlite_name(failure)
    if name == "SQLITE_FULL" or _no_room(path):
        return f"There is no room on the disk of {path}. Make room, then open it again."
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return f"Another program keeps {path} locked. Close it, then open the store again."
    forbidden = name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM"))
    if forbidden or isinstance(failure, PermissionError):
        return (
            f"{path} may not be written to. Ask who looks after this computer for the right to write "
            "to it and its folder."
        )
    return f"{path} is damaged: {_first_line(failure)}. Put the last backup back."


def _no_room(path: Path) -> bool:
    try:
        return shutil.disk_usage(path.parent).free < 65536
    except OSError:
        return False


def _first_line(failure: BaseException) -> str:
    return (str(failure).strip().splitlines() or ["no reason given"])[0].rstrip(".")
