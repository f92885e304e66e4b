"""The frozen records of the papers of a shift: the seal of a unit inspected for it, the page of its hand-over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class ReadySeal:
    """The strip on a unit that was inspected for the next shift.

    `unit`: whole label. `by`: who inspected it. `good_until`: the end of its good time, aware, local.
    """

    unit: str
    unit_model: str
    inspected_at: datetime
    by: str
    good_until: datetime


@dataclass(frozen=True)
class ShiftFigure:
    """One row of a shift's page: what is counted, how many, and which they are where that helps."""

    name: str
    number: str
    detail: str = ""


@dataclass(frozen=True)
class ShiftSheet:
    """The page with which a shift is handed over, as it was frozen when the shift was closed.

    `taken_by`: who scanned the badge for it, '' where nobody did; the line to sign is there all the same.
    """

    shift: str
    began_at: datetime
    ended_at: datetime
    closed_at: datetime
    counter: str
    closed_by: str
    taken_by: str
    figures: tuple[ShiftFigure, ...]
    note: str = ""
