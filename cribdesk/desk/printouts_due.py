"""The frozen record of the bench's due list on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class DuePart:
    """One part to see to: its name, what is left, and on what that rests. `mark` is STOP, ! or nothing."""

    name: str
    figure: str
    why: str
    mark: str


@dataclass(frozen=True)
class DueUnit:
    """One unit of a group with its parts, worst first. `unit`: whole label."""

    unit: str
    unit_model: str
    standing: str
    parts: tuple[DuePart, ...]


@dataclass(frozen=True)
class DueGroup:
    """Units that are due at the same time: 'Now', 'Before next shift', 'This week'."""

    title: str
    units: tuple[DueUnit, ...]


@dataclass(frozen=True)
class DueItem:
    """One item to fetch for the tray. `where` says bin, how many are there, and which lot goes first."""

    number: int
    name: str
    code: str
    where: str
    short: bool


@dataclass(frozen=True)
class DueDuty:
    """One duty by the calendar, of what carries this label."""

    what: str
    detail: str
    label: str


@dataclass(frozen=True)
class DueSheet:
    """The whole list as of a moment, aware and local; `end` is the end of the shift. `sorted_by` says how it is sorted.

    `bound` is the percent that last longer than when a part is first named.
    """

    at: datetime
    end: datetime
    bound: int
    groups: tuple[DueGroup, ...]
    items: tuple[DueItem, ...]
    duties: tuple[DueDuty, ...]
    sorted_by: str
