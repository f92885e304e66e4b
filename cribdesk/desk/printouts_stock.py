"""The frozen records of the papers of the shelf."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class CountRow:
    """One lot to be counted: where it lies, what it is, its item's label to be scanned. No figure of the book."""

    bin: str
    item: str
    label: str
    lot: str
    until: str = ""


@dataclass(frozen=True)
class CountingSheet:
    """A counting sheet, walked along the shelf."""

    number: int
    made_at: datetime
    by: str
    rows: tuple[CountRow, ...]
