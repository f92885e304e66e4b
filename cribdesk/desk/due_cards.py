"""What the due list shows and prints, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

NOW, SHIFT, WEEK = "now", "before next shift", "this week"
GROUPS = (NOW, SHIFT, WEEK)


@dataclass(frozen=True)
class DueRow:
    """One part that falls due. Hours are what is left; `needed` those planned until the shift ends.

    `figure` says what is left, `why` on what it rests, `standing` how its unit stands and where. `score` is risk x
    consequence, `level` stop where a limit is passed, caution, or due.
    """

    group: str
    label: str
    model: str
    position: str
    name: str
    item: str
    item_name: str
    level: str
    figure: str
    why: str
    standing: str
    in_hand: bool
    score: float
    early: float | None = None
    late: float | None = None
    life_hours: float | None = None
    needed: float = 0.0


@dataclass(frozen=True)
class FetchRow:
    """One item for the tray: how many now and before the next shift, where, how many are there, which lot first.

    `later` more are due this week.
    """

    label: str
    code: str
    name: str
    number: int
    bin: str
    there: int
    lot: str
    later: int = 0

    @property
    def short(self) -> bool:
        """Whether the shelf has too few."""
        return self.there < self.number


@dataclass(frozen=True)
class Duty:
    """One duty by the calendar: a meter's calibration or check, an inspection, a certification."""

    sign: str
    what: str
    detail: str
    label: str
    by: date


@dataclass(frozen=True)
class DueList:
    """Everything due for the bench: parts worst first in each group, what to fetch, what the calendar asks.

    `end` is the end of this shift, `bound` the percent that last longer than when a part is first named.
    """

    at: datetime
    end: datetime
    bound: int
    rows: tuple[DueRow, ...]
    fetch: tuple[FetchRow, ...]
    duties: tuple[Duty, ...]

    def of(self, group: str) -> tuple[DueRow, ...]:
        """The rows of one group."""
        return tuple(row for row in self.rows if row.group == group)
