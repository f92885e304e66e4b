"""Rows of a history as events to show."""

from __future__ import annotations

from cribdesk.desk.cards import TimelineRow
from cribdesk.window.components.timeline import Happened
from cribdesk.window.doors import Doors, paper_words


def event_of(row: TimelineRow, doors: Doors) -> Happened:
    """One row; its id is the entry's seq."""
    paper = paper_words(*row.papers[0]) if row.papers else ""
    return Happened(
        str(row.seq), doors.when(row.at), row.what, row.detail, row.sign, doors.exactly(row.at), row.bold, paper
    )


def events_of(rows: tuple[TimelineRow, ...], doors: Doors) -> tuple[Happened, ...]:
    """All rows, in the order given."""
    return tuple(event_of(row, doors) for row in rows)


def row_of(rows: tuple[TimelineRow, ...], id_: str) -> TimelineRow | None:
    """The row an event came from."""
    return next((row for row in rows if str(row.seq) == id_), None)
