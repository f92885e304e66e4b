"""What can go wrong with a store, in plain words."""

from __future__ import annotations

from collections.abc import Iterator


class CannotOpen(Exception):
    """A store that cannot be opened. Its text is a whole message: what it is, what to do."""


class StoreFault(Exception):
    """Something outside the rules that broke an operation off: a full disk, a lost server. Plain words."""


class Stale(Exception):
    """A row was changed by another counter after it was read."""

    def __init__(self, table: str, row_id: int) -> None:
        super().__init__(f"{table} {row_id} was changed meanwhile")
        self.table = table
        self.row_id = row_id


class Damaged(Exception):
    """A journal that does not hold together. `seq` is the first entry that shows it."""

    def __init__(self, seq: int, what: str) -> None:
        super().__init__(f"Entry {seq}: {what}.")
        self.seq = seq
        self.what = what


FULL = "The disk is full. Nothing changed. Make room, then do it again."
READ_ONLY = "The store may not be written to. Nothing changed. Ask who looks after this computer."
BUSY = "Another program keeps the store locked. Nothing changed. Close it, then do it again."
DAMAGED = "The store's file is damaged. Nothing changed. Put the last backup back."
LOST = (
    "The connection to the server was lost. Do it again: what was saved before is found by its number "
    "and not written twice."
)
OTHER = "The store could not be written. Nothing changed. Do it again; if it stays so, restart the program."


def told(failure: BaseException) -> StoreFault:
    """The fault in plain words. The caller raises it from the failure."""
    name = sqlite_name(failure)
    if name == "SQLITE_FULL":
        return StoreFault(FULL)
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return StoreFault(READ_ONLY)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return StoreFault(BUSY)
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return StoreFault(DAMAGED)
    state = sql_state(failure)
    if state.startswith("53"):  # the server's class for no disk, no memory, too many connections
        return StoreFault(FULL.replace("The disk", "The server's disk") if state == "53100" else LOST)
    if state == "55P03":  # another counter's transaction took longer than anybody waits
        return StoreFault(BUSY)
    if state.startswith(("08", "57")) or state == "25P03" or (not name and not state):
        return StoreFault(LOST)
    return StoreFault(OTHER)


def sqlite_name(failure: BaseException) -> str:
    """SQLite's own name of the failure, or nothing. After a full disk the rollback fails too: not that one."""
    names = [one for link in _links(failure) if (one := getattr(link, "sqlite_errorname", None))]
    return next((name for name in names if name != "SQLITE_ERROR"), "".join(names[:1]))


def sql_state(failure: BaseException) -> str:
    """The server's five-letter state of the failure, or nothing."""
    return next((one for link in _links(failure) if (one := getattr(link, "sqlstate", None))), "")


def _links(failure: BaseException | None) -> Iterator[BaseException]:
    while failure is not None:
        yield failure
        yield from (one for one in failure.args if isinstance(one, BaseException))
        failure = failure.__cause__ or failure.__context__
