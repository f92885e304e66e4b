"""What the desk asks of the outside: records to read, a Work to write, a clock, a printer."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any, Protocol, TypeVar

from cribdesk.crib.entry import Entry
from cribdesk.crib.forecast import Cover, Fit, Forecast
from cribdesk.crib.records import Record
from cribdesk.crib.run_time import RunFit, Share, Shares
from cribdesk.crib.stock_forecast import Demand

R = TypeVar("R", bound=Record)


class Filled(Enum):
    """As a value in a look-up: the field is not empty."""

    YES = "filled"


FILLED = Filled.YES

Clock = Callable[[], datetime]
"""The moment now, aware UTC. A sample store's clock starts at its `sample_until`."""

Entropy = Callable[[int], bytes]
"""So many random bytes (secrets.token_bytes; a seeded one where a sample is made)."""


class Records(Protocol):
    """Looking records up, by equality. A sequence as a value means 'one of these', None means
    empty, FILLED means not empty."""

    def get(self, kind: type[R], id: int) -> R:
        """The record of that id. Raises LookupError."""
        ...

    def find(self, kind: type[R], /, **equal: object) -> list[R]:
        """All records whose fields are as said, by id."""
        ...

    def first(self, kind: type[R], /, **equal: object) -> R | None:
        """The one record of the lowest id, or None."""
        ...

    def latest(self, kind: type[R], /, **equal: object) -> R | None:
        """The one record of the highest id, or None."""
        ...

    def latest_of_each(self, kind: type[R], by: str, /, **equal: object) -> dict[int, R]:
        """The record of the highest id for each value of the field `by` (an id), in one query."""
        ...

    def within(
        self, kind: type[R], field: str, first: datetime, last: datetime, /, **equal: object
    ) -> list[R]:
        """All records whose moment lies from `first` on and before `last`, by id, in one query."""
        ...

    def begun_at(self) -> datetime | None:
        """When the store's first entry was written; None before it."""
        ...

    def forecasts(self, unit_ids: Sequence[int]) -> dict[int, dict[str, Forecast]]:
        """The forecasts kept for these units, by unit and position, in one query; none where none was made yet."""
        ...

    def run_times(
        self, battery_ids: Sequence[int] | None, unit_ids: Sequence[int] | None
    ) -> tuple[dict[str, RunFit], Shares]:
        """What runs say, by pack model, and the shares of these packs and units (None: all), in one query."""
        ...


@dataclass(frozen=True)
class Head:
    """Where the journal stands: the last entry's seq, digest and moment (None before the first)."""

    seq: int
    digest: str
    moment: datetime | None


class Work(Records, Protocol):
    """One open transaction. Records are saved through it; the entry is written when it commits."""

    def take(self, *records: Record) -> None:
        """Lock these rows, sorted by table and id, before they are changed.

        Raises Stale (store) for one that another counter changed since it was read, as `save` does.
        """
        ...

    def save(self, record: R) -> R:
        """Insert (id 0) or update where id and revision still fit; returns it with its new id and revision.

        Raises Stale (store) when another counter changed it meanwhile: Counter.do then runs once more.
        """
        ...

    def entry_of(self, operation_id: str) -> Entry | None:
        """The entry an operation id already wrote."""
        ...

    def forget(self, person_id: int) -> int:
        """Empties every personal column that tells of the person and throws the seals away; how many rows it emptied.

        Whether it is allowed is the operation's business.
        """
        ...

    def commit(self, entry: Unwritten) -> Entry:
        """Number, chain and write the entry over all rows saved so far. Once a Work."""
        ...


@dataclass(frozen=True)
class Unwritten:
    """What an entry needs from the desk; the Work adds seq, schema, rows and digest."""

    operation: str
    operation_id: str
    request: str
    moment: datetime
    counter: str
    clerk: str
    subjects: tuple[str, ...]
    sentence: str
    papers: tuple[tuple[str, str], ...] = ()
    corrects: int | None = None


@dataclass(frozen=True)
class Page:
    """One page of journal entries, newest first; `before` asks for the next page, None at the end."""

    entries: tuple[Entry, ...]
    before: int | None


class Reader(Records, Protocol):
    """Read-only lists for views and papers. Every call is a fixed number of queries."""

    def entries(self, *, before: int | None = None, count: int = 50, subject: str | None = None) -> Page:
        """Entries newest first, of one subject's label or of all; `before` is a seq."""
        ...

    def entry_of(self, operation_id: str) -> Entry | None:
        """The entry an operation id wrote."""
        ...

    def entry_count(self, subject: str | None = None) -> int:
        """How many entries there are, of one subject or in all."""
        ...

    def newest(self, kind: type[R], count: int, /, **equal: object) -> list[R]:
        """The `count` records of the highest ids, by id."""
        ...

    def count(self, kind: type[R], /, **equal: object) -> int:
        """How many records there are."""
        ...

    def columns(self, kind: type[R], names: Sequence[str], /, **equal: object) -> list[tuple[Any, ...]]:
        """Only these fields of all records whose fields are as said, by id, in one query: for very many rows."""
        ...

    def total(self, kind: type[R], name: str, /, **equal: object) -> float:
        """The sum of one field over all records whose fields are as said, in one query."""
        ...

    def fits(self, keys: Collection[tuple[str, str]] | None = None) -> dict[tuple[str, str], Fit]:
        """The fits kept, by unit model and position, of these or of all; none where none was made yet."""
        ...

    def cover(self) -> Cover | None:
        """What the fits and forecasts kept rest on as a whole; None where they were never made, or are dropped."""
        ...

    def demands(self, item_ids: Collection[int] | None = None) -> dict[int, Demand]:
        """The expected use kept, by item, of these or of all, in one query; none where none was made yet."""
        ...

    def seen_runs(self) -> dict[str, int]:
        """How many runs of each pack model were there when they were looked at last."""
        ...

    def search(self, kind: type[R], fields: Sequence[str], text: str, count: int = 50) -> list[R]:
        """Records with the text in one of the fields, case ignored, by id."""
        ...

    def head(self) -> Head:
        """Where the journal stands."""
        ...


class Deriving(Protocol):
    """One open transaction that writes derived tables and nothing else: no entry, no row of a record."""

    def put_fits(self, fits: Sequence[Fit]) -> None:
        """Keeps these in place of those of the same model and position."""
        ...

    def put_forecasts(self, made: Sequence[tuple[int, Forecast]]) -> None:
        """Keeps these (unit id, forecast) in place of those of the same unit and position."""
        ...

    def drop_forecasts(self, unit_ids: Sequence[int]) -> None:
        """Forgets what is kept for these units."""
        ...

    def drop_fit(self, model: str, position: str, unit_ids: Sequence[int]) -> None:
        """Forgets the fit of a position, and what was forecast there for these units."""
        ...

    def put_demands(self, made: Sequence[Demand]) -> None:
        """Keeps this expected use in place of what was kept of the same items."""
        ...

    def drop_demands_but(self, item_ids: Sequence[int]) -> None:
        """Forgets the expected use of all other items."""
        ...

    def put_runs(self, fit: RunFit, shares: Sequence[Share]) -> None:
        """Keeps what the runs with packs of one model say, in place of what was kept of that model."""
        ...

    def put_shares(self, shares: Sequence[Share], seq: int) -> None:
        """Keeps these shares of run time in place of those of the same pack or unit."""
        ...

    def put_seen_runs(self, seen: Sequence[tuple[str, int]], seq: int) -> None:
        """Says how many runs of each pack model were there when they were looked at last."""
        ...

    def cover(self, cover: Cover) -> None:
        """Says what it all rests on from now on."""
        ...

    def drop(self) -> None:
        """Forgets everything derived; it is made again when it is asked for."""
        ...


class Store(Protocol):
    """The data of one crib, opened by one thread."""

    def work(self) -> AbstractContextManager[Work]:
        """A transaction: commits at the end when `commit` was called, else rolls back."""
        ...

    def reading(self) -> AbstractContextManager[Reader]:
        """A consistent look at the store."""
        ...

    def deriving(self) -> AbstractContextManager[Deriving]:
        """A transaction that writes derived tables only."""
        ...

    def collided(self, failure: BaseException) -> bool:
        """Whether the failure is one that another counter caused (a stale row, a constraint): run once more."""
        ...


class Printer(Protocol):
    """Where papers go. Raises OSError with plain words when it cannot."""

    def print(self, paper: str, pdf: bytes) -> None: ...

