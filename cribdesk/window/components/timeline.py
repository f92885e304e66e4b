"""What happened: the timeline of a thing and the strip of this shift."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Drawn, Pressable
from cribdesk.window.look import Look, current
from cribdesk.window.signs import sign


@dataclass(frozen=True)
class Happened:
    """One thing that happened: id, when as people say it, what, details, sign or none, the exact moment.

    `bold` is for holds; `paper` names what was printed for it; the shift strip can print that again.
    """

    id: str
    when: str
    what: str
    detail: str = ""
    mark: str = ""
    exact: str = ""
    bold: bool = False
    paper: str = ""


class TimelineRow(Pressable):
    """One event: when at the left, sign or dot, what, and who and numbers beneath."""

    ring_inside = True
    return_presses = True

    def __init__(self, event: Happened, when_width: int = 112, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.event_shown, self._when_width = event, when_width
        told = f"{event.mark}: " if event.mark else ""
        self.setAccessibleName(f"{told}{event.what}. {event.detail}. {event.exact or event.when}")
        self.setToolTip(event.exact)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def _left(self, look: Look) -> float:
        return look.px(self._when_width + 44)

    def _room(self, look: Look) -> float:
        return max(look.px(160), self.width() - self._left(look))

    def measure(self, look: Look) -> QSize:
        lines = drawing.broken(self.event_shown.what, look.font(18, self.event_shown.bold), self._room(look))
        details = self._details(look)
        high = look.px(11) + len(lines) * look.px(23) + len(details) * look.px(20)
        return QSize(round(self._left(look)) + look.px(160), max(look.px(44), high))

    def _details(self, look: Look) -> list[str]:
        detail = self.event_shown.detail
        return drawing.broken(detail, look.font(14), self._room(look)) if detail else []

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c, shown = look.colours, self.event_shown
        if self.underMouse():
            painter.fillRect(self.rect(), c.track)
        top = look.px(5)
        at = QRectF(0, top, look.px(self._when_width), look.px(23))
        drawing.text(painter, at, shown.when, look.font(18), c.ink2, elide=True)
        side = look.px(20)
        box = QRectF(look.px(self._when_width + 12), top + look.px(2), side, side)
        sign(painter, box, shown.mark or "dot")
        room = QRectF(self._left(look), top, self._room(look), 0)
        used = drawing.paragraph(painter, room, shown.what, look.font(18, shown.bold), c.ink, look.px(23))
        if shown.detail:
            under = room.translated(0, used)
            drawing.paragraph(painter, under, shown.detail, look.font(14), c.ink2, look.px(20))
        drawing.hairline(painter, 0, self.width(), self.height() - look.px(1), c.line)


class Timeline(QWidget):
    """Events, newest first as given; `opened(event id)`."""

    opened = Signal(str)

    def __init__(self, when_width: int = 112, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._when_width = when_width
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._rows: list[TimelineRow] = []

    def set_events(self, events: tuple[Happened, ...]) -> None:
        """Show these, in the order given."""
        for row in self._rows:
            self._column.removeWidget(row)
            row.hide()  # a queued show of a layout would make it a window of its own
            row.setParent(None)
            row.deleteLater()
        self._rows = [TimelineRow(event, self._when_width, self) for event in events]
        for row in self._rows:
            self._column.addWidget(row)
            row.clicked.connect(self._press)

    def _press(self) -> None:
        row = self.sender()
        if isinstance(row, TimelineRow):
            self.opened.emit(row.event_shown.id)


class _ShiftHead(Drawn):
    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.counts, self.right = "This shift", "", ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(240), look.px(36))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        drawing.hairline(painter, 0, whole.right(), 0, c.edge)
        room = whole.adjusted(look.px(24), 0, -look.px(24), 0)
        wide = drawing.text(painter, room, self.title, look.font(14, True), c.ink2)
        at = room.adjusted(wide + look.px(18), 0, 0, 0)
        drawing.text(painter, at, self.counts, look.font(14), c.ink2)
        drawing.text(painter, room, self.right, look.font(14), c.ink2, drawing.RIGHT)
        drawing.hairline(painter, 0, whole.right(), whole.bottom() - look.px(1), c.line)


class _ShiftLine(Pressable):
    """The words of one row of the strip."""

    ring_inside = True
    return_presses = True

    def __init__(self, event: Happened, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.event_shown = event
        self.setAccessibleName(f"{event.when}, {event.mark}: {event.what}")
        self.setToolTip(event.exact)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(320), look.px(44))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, shown, high = look.colours, self.event_shown, self.height()
        drawing.text(painter, QRectF(look.px(24), 0, look.px(64), high), shown.when, look.font(18), c.ink2)
        side = look.px(20)
        sign(painter, QRectF(look.px(96), (high - side) / 2, side, side), shown.mark or "dot")
        room = QRectF(look.px(132), 0, self.width() - look.px(132), high)
        if shown.paper:
            wide = drawing.width(shown.paper, look.font(18))
            drawing.text(painter, room, shown.paper, look.font(18), c.ink2, drawing.RIGHT)
            room.setRight(room.right() - wide - look.px(24))
        drawing.text(painter, room, shown.what, look.font(18, shown.bold), c.ink, elide=True)


class _ShiftRow(QWidget):
    """One row with its button, a hairline beneath both."""

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look = current()
        drawing.hairline(painter, 0, self.width(), self.height() - look.px(1), look.colours.line)
        painter.end()


class ShiftStrip(QWidget):
    """The last rows of this shift, each paper printable again: `print_again(id)`, `opened(id)`."""

    print_again = Signal(str)
    opened = Signal(str)

    def __init__(self, rows: int = 3, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._most = rows
        self._head = _ShiftHead(self)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._column.addWidget(self._head)
        self._rows: list[QWidget] = []
        self._buttons: dict[ActionButton, str] = {}

    def set_head(self, counts: str, right: str = "", title: str = "This shift") -> None:
        """The counts of the shift and what is said at the right."""
        self._head.title, self._head.counts, self._head.right = title, counts, right
        self._head.setAccessibleName(f"{title}: {counts}")
        self._head.update()

    def set_events(self, events: tuple[Happened, ...]) -> None:
        """Show the first of these, newest first."""
        for old in self._rows:
            self._column.removeWidget(old)
            old.hide()  # a queued show of a layout would make it a window of its own
            old.setParent(None)
            old.deleteLater()
        self._rows, self._buttons = [], {}
        for event in events[: self._most]:
            row = self._row(event)
            self._rows.append(row)
            self._column.addWidget(row)

    def _row(self, event: Happened) -> QWidget:
        row = _ShiftRow(self)
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, current().px(24), 0)
        line.setSpacing(current().px(16))
        words = _ShiftLine(event, row)
        words.clicked.connect(self._open)
        line.addWidget(words, 1)
        if event.paper:
            button = ActionButton("Print again", "quiet", size="row")
            button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            button.setAccessibleName(f"Print {event.paper} again")
            button.clicked.connect(self._print)
            self._buttons[button] = event.id
            line.addWidget(button)
        return row

    def _open(self) -> None:
        line = self.sender()
        if isinstance(line, _ShiftLine):
            self.opened.emit(line.event_shown.id)

    def _print(self) -> None:
        button = self.sender()
        if isinstance(button, ActionButton):
            self.print_again.emit(self._buttons[button])
