"""A history that grows as one scrolls: newest first, a page at a time."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from cribdesk.crib.words import count
from cribdesk.desk.cards import TimelineRow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Words
from cribdesk.window.components.timeline import Timeline
from cribdesk.window.doors import Doors
from cribdesk.window.events import events_of, row_of
from cribdesk.window.layout import Boxes, Scroll
from cribdesk.window.rows import Head

NEAR = 200  # px from the end, where the next page is asked for


class History(QWidget):
    """Rows of one thing. `before` asks for the next page: `wanted('more', label newline seq)`."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._label, self._before, self._asked = "", None, False  # type: str, int | None, bool
        self.rows: tuple[TimelineRow, ...] = ()
        self._scroll: Scroll | None = None
        column = Boxes(self)
        self.head = Head("History")
        self.timeline = Timeline(136)
        self.timeline.opened.connect(self._open)
        self.none = Words("Nothing has happened yet.", ink="ink2", wrap=True)
        self.more = ActionButton("Earlier", "quiet", size="row")
        self.more.clicked.connect(self.ask)
        column.addWidget(self.head)
        column.addWidget(self.none)
        column.addWidget(self.timeline)
        column.addWidget(self.more)

    def follow(self, scroll: Scroll) -> None:
        """Ask for the next page when this scrolls near its end."""
        if scroll is not self._scroll:
            self._scroll = scroll
            scroll.verticalScrollBar().valueChanged.connect(self._scrolled)

    def show_rows(
        self, rows: tuple[TimelineRow, ...], before: int | None, label: str, entries: int | None = None
    ) -> None:
        """Show the first page; pages read before stay when it only grew at its head."""
        kept: tuple[TimelineRow, ...] = ()
        if label == self._label and rows and self.rows:
            oldest = rows[-1].seq
            kept = tuple(row for row in self.rows if row.seq < oldest)
        if not kept:
            self._before = before
        self._label, self._asked = label, False
        self.rows = (*rows, *kept)
        self.timeline.set_events(events_of(self.rows, self._doors))
        self.head.set_beside(count(entries, "entry", "entries") if entries is not None else "")
        self._turn()

    def ask(self) -> None:
        """Ask for the next page."""
        if self._before is not None and not self._asked:
            self._asked = True
            self._doors.wanted.emit("more", f"{self._label}\n{self._before}")

    def take_more(self, data: object) -> None:
        """A page: (label, rows, before)."""
        if not (isinstance(data, tuple) and len(data) == 3 and data[0] == self._label):
            return
        _, rows, before = data
        self._before, self._asked = before, False
        seen = {row.seq for row in self.rows}
        self.rows = (*self.rows, *(row for row in rows if row.seq not in seen))
        self.timeline.set_events(events_of(self.rows, self._doors))
        self._turn()

    def _turn(self) -> None:
        self.none.setVisible(not self.rows)
        self.more.setVisible(self._before is not None)

    def _scrolled(self, value: int) -> None:
        if self._scroll is not None and value > self._scroll.verticalScrollBar().maximum() - NEAR:
            self.ask()

    def _open(self, id_: str) -> None:
        row = row_of(self.rows, id_)
        if row is not None:
            self._doors.open_place.emit("journal", id_)
