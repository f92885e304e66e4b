"""Everything out of a store and back: plain files, a backup, a restore."""

from __future__ import annotations

import lzma
import os
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, nullcontext, suppress
from pathlib import Path
from queue import Queue
from typing import IO, Any

import peewee

from cribdesk.desk.ports import Head
from cribdesk.store.connect import SERVER, SqlStore, open_store, shown
from cribdesk.store.derived import DERIVED
from cribdesk.store.engine import Engine
from cribdesk.store.faults import CannotOpen, Damaged, told
from cribdesk.store.journal import lines
from cribdesk.store.replay import NotEmpty, replay

JOURNAL = "journal.jsonl"
DIGEST = "digest.txt"
TABLES = "tables"

FAST_PRESET = 1
"""xz's quickest: a backup is made while somebody waits."""

README = """\
This folder holds everything of one crib, in plain files.

journal.jsonl     The journal: one operation a line, oldest first, UTF-8. This file alone makes the store
                  again (cribdesk load FOLDER ADDRESS). A line is JSON without spaces, its keys sorted:
    digest        SHA-256, in hex, over the digest of the line before (64 zeros before the first) followed by
                  the bytes of `entry` as they stand in the line.
    entry         The operation: seq (1, 2, 3 ...), schema, operation, operation_id, request, moment (UTC),
                  counter, clerk, subjects (labels), sentence, rows (table, and the whole row as it was
                  afterwards), papers, corrects, late.
    sealed        What the operation told about persons: digest, then 16 bytes in hex and the value. The digest
                  is SHA-256 over the bytes and the value as JSON; in `rows` it stands in the value's place.
                  What was erased is missing here.
digest.txt        The last digest: a journal whose last lines were cut off is whole too, but does not end with it.
tables/*.csv      Each table as it is now, for reading and for other programs. UTF-8, comma, first line the names
                  of the columns; nothing is null, "" is an empty text. Whole numbers of small units: _minutes,
                  _ml_min (millilitres a minute), milliseconds, _g_m3 (grams a cubic metre), _cents.
                  Moments are UTC; 1 is yes, 0 is no.
"""


class CannotTransfer(Exception):
    """What cannot go out or come in, in plain words. Nothing was changed."""


def dump(store: SqlStore, folder: Path) -> Head:
    """Writes everything into an empty or new folder. Returns where the journal ends."""
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise CannotTransfer(f"The folder {folder} is not empty. Give an empty one. Nothing changed.")
    (folder / TABLES).mkdir()
    (folder / "README.txt").write_text(README, encoding="utf-8")
    with _plainly(folder), store.reading() as reader:
        _write_journal(store.engine, folder / JOURNAL, None)
        for table in sorted(name for name in store.engine.points_at() if not name.startswith(DERIVED)):
            _write_table(store.engine, table, folder / TABLES / f"{table}.csv")
        head = reader.head()
        (folder / DIGEST).write_text(f"{head.digest}\n", encoding="ascii")
        return head


def write_journal(store: SqlStore, file: Path, *, preset: int | None = FAST_PRESET) -> Head:
    """Writes the journal alone; as xz where the name ends so. Returns where it ends."""
    with _plainly(file), store.reading() as reader:
        _write_journal(store.engine, file, preset)
        return reader.head()


def load(folder: Path, store: SqlStore, progress: Callable[[float], None] | None = None) -> Head:
    """Fills an empty store from a folder that `dump` wrote, or that holds journal.jsonl.xz.

    Where digest.txt stands beside it, the last digest has to be that one: a journal cut short is whole too.
    """
    for name in (JOURNAL, JOURNAL + ".xz"):
        if (folder / name).is_file():
            return load_journal(folder / name, store, progress, expected_digest(folder))
    raise CannotTransfer(f"There is no {JOURNAL} or {JOURNAL}.xz in {folder}. Nothing changed.")


def expected_digest(folder: Path) -> str | None:
    """The last digest that the folder's journal must end with, where the folder says one."""
    file = folder / DIGEST
    return file.read_text("ascii", errors="replace").strip() if file.is_file() else None


def load_journal(
    file: Path,
    store: SqlStore,
    progress: Callable[[float], None] | None = None,
    expected_digest: str | None = None,
) -> Head:
    """Fills an empty store from a journal, .jsonl or .jsonl.xz, in one transaction. Returns where it ends.

    `progress` is told the part done, 0 to 1; what it raises breaks off. Raises CannotTransfer with plain words
    where the file is no whole journal, the store is not empty, or the last digest is not the expected one.
    """
    try:
        with _plainly(file), _Source(file) as source:
            told_part = None if progress is None else _part(progress, source)
            with store.engine.filling():
                head = replay(source, store.engine, told_part)
                if expected_digest is not None and head.digest != expected_digest:
                    raise CannotTransfer(f"{file} is whole, but not the journal that was expected. Nothing changed.")
    except Damaged as failure:
        place = f"{file}, line {failure.seq}" if failure.seq else str(file)
        raise CannotTransfer(f"{place}: {failure.what}. Nothing changed.") from failure
    except NotEmpty as failure:
        raise CannotTransfer(
            f"{shown(store.address)} holds entries already. Give an empty store. Nothing changed."
        ) from failure
    except peewee.IntegrityError as failure:
        raise CannotTransfer(f"{file} leads to records that cannot be. Nothing changed.") from failure
    except peewee.DatabaseError as failure:
        raise CannotTransfer(str(told(failure))) from failure
    if progress is not None:
        progress(1.0)
    return head


def backup(store: SqlStore, file: Path) -> None:
    """A whole copy while the counters work on: a store's file, or of a server the journal as .jsonl.xz."""
    if file.exists():
        raise CannotTransfer(f"There is a file {file} already. Give another name. Nothing changed.")
    on_server = store.address.startswith(SERVER)
    if on_server and not file.name.endswith(".jsonl.xz"):
        raise CannotTransfer("The backup of a server is a journal: give a name that ends in .jsonl.xz.")
    part = file.with_name(file.name + (".part.xz" if on_server else ".part"))
    with _plainly(file), _removed_on_failure(part):
        if on_server:
            write_journal(store, part)
        else:
            copy_file(Path(store.address), part)
        _to_disk(part)
        os.replace(part, file)


def copy_file(source: Path, target: Path) -> None:
    """Copies a store's file in one step, whatever other programs write meanwhile."""
    target.unlink(missing_ok=True)
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
        new.execute("PRAGMA journal_mode = delete")  # one file, none beside it


def restore(file: Path, address: str, progress: Callable[[float], None] | None = None) -> None:
    """Makes a store at a new address from a backup of either kind, and opens it once to see that it holds."""
    if not file.is_file():
        raise CannotTransfer(f"There is no file {file}. Nothing changed.")
    with file.open("rb") as opened:
        is_store = opened.read(16) == b"SQLite format 3\0"
    to_server = address.startswith(SERVER)
    if not to_server and Path(address).exists():
        raise CannotTransfer(f"There is a file {address} already. Move it away first. Nothing changed.")
    if is_store and not to_server:
        _restore_file(file, Path(address))
    elif is_store:
        _restore_from_store(file, address, progress)
    else:
        _restore_journal(file, address, progress)


def _restore_file(file: Path, target: Path) -> None:
    part = target.with_name(target.name + ".part")
    with _plainly(target), _removed_on_failure(part):
        copy_file(file, part)
        open_store(str(part)).close()
        _to_disk(part)
        os.replace(part, target)


def _restore_from_store(file: Path, address: str, progress: Callable[[float], None] | None) -> None:
    journal = Path(f"{file}.part.jsonl")
    with _removed_on_failure(journal):
        with open_store(str(file)) as store:
            write_journal(store, journal)
        _restore_journal(journal, address, progress)
        journal.unlink()


def _restore_journal(file: Path, address: str, progress: Callable[[float], None] | None) -> None:
    if address.startswith(SERVER):
        with open_store(address, create=True) as store:
            load_journal(file, store, progress)
        return
    part = Path(address).with_name(Path(address).name + ".part")
    with _plainly(part), _removed_on_failure(part):
        part.unlink(missing_ok=True)
        with open_store(str(part), create=True) as store:
            load_journal(file, store, progress)
        os.replace(part, address)


class _Source:
    """The lines of a journal's file, unpacked ahead on a thread of its own."""

    def __init__(self, file: Path) -> None:
        self._file = file
        self._queue: Queue[list[bytes] | BaseException] = Queue(maxsize=8)
        self._stopped = threading.Event()
        self._size = max(1, file.stat().st_size)
        self._raw: IO[bytes] | None = None
        self._thread = threading.Thread(target=self._read, daemon=True)

    def __enter__(self) -> _Source:
        self._raw = self._file.open("rb")
        self._thread.start()
        return self

    def __exit__(self, *failure: object) -> None:
        self._stopped.set()
        while self._thread.is_alive():
            with suppress(Exception):
                self._queue.get(timeout=0.01)
        if self._raw is not None:
            self._raw.close()

    def part(self) -> float:
        """How much of the file was read."""
        return 0.0 if self._raw is None else min(1.0, self._raw.tell() / self._size)

    def __iter__(self) -> Iterator[bytes]:
        while block := self._queue.get():
            if isinstance(block, BaseException):
                raise Damaged(0, f"it cannot be unpacked ({block})") from block
            yield from block

    def _read(self) -> None:
        assert self._raw is not None
        try:
            unpacked: Any = lzma.LZMAFile(self._raw) if self._file.suffix == ".xz" else self._raw  # noqa: SIM115
            while not self._stopped.is_set() and (block := unpacked.readlines(1 << 20)):
                self._queue.put(block)
            self._queue.put([])
        except (OSError, EOFError, lzma.LZMAError) as failure:
            self._queue.put(failure)


def _part(progress: Callable[[float], None], source: _Source) -> Callable[[int], None]:
    def told_part(_entries: int) -> None:
        progress(source.part())

    return told_part


def _write_journal(engine: Engine, file: Path, preset: int | None) -> None:
    with file.open("wb") as raw, _packed(raw, preset) if file.suffix == ".xz" else nullcontext(raw) as opened:
        for line in lines(engine):
            opened.write(line.text() + b"\n")


def _packed(raw: IO[bytes], preset: int | None) -> lzma.LZMAFile:
    return lzma.LZMAFile(raw, "wb", preset=preset)


def _write_table(engine: Engine, table: str, file: Path) -> None:
    cursor = engine.run(f'SELECT * FROM "{table}" ORDER BY 1, 2')
    with file.open("w", newline="", encoding="utf-8") as opened:
        opened.write(",".join(column[0] for column in cursor.description) + "\n")
        for row in cursor:
            opened.write(",".join(map(_cell, row)) + "\n")


def _cell(value: object) -> str:
    """One value of a CSV (RFC 4180): nothing for null, quotes round every text."""
    if value is None:
        return ""
    if isinstance(value, int):
        return str(int(value))
    doubled = str(value).replace('"', '""')
    return f'"{doubled}"'


def _to_disk(file: Path) -> None:
    with file.open("rb") as opened:
        os.fsync(opened.fileno())


@contextmanager
def _removed_on_failure(part: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        for left in (part, Path(f"{part}-wal"), Path(f"{part}-shm")):
            left.unlink(missing_ok=True)
        raise


@contextmanager
def _plainly(file: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as failure:
        raise CannotTransfer(str(told(failure))) from failure
    except OSError as failure:
        raise CannotTransfer(f"{file}: {failure.strerror or failure}. Nothing changed.") from failure


__all__ = [
    "CannotOpen",
    "CannotTransfer",
    "backup",
    "copy_file",
    "dump",
    "load",
    "load_journal",
    "restore",
    "write_journal",
]
