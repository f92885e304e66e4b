"""Small rows that several pages share: a fact with its value, a head with its count, an empty state."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn, Words
from cribdesk.window.layout import Boxes, Row
from cribdesk.window.look import Look
from cribdesk.window.signs import sign


class Fact(Drawn):
    """A name at the left, its value at the right, with a sign where one is needed; long values take lines."""

    def __init__(
        self, name: str, value: str, mark: str = "", bold: bool = True, exact: str = "", high: int = 34,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self._name, self._value, self._mark, self._bold, self._high = name, value, mark, bold, high
        self.setAccessibleName(f"{name}: {value}" + (f", {mark}" if mark else ""))
        self.setToolTip(exact)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def value(self) -> str:
        """The value shown."""
        return self._value

    def _room(self, look: Look) -> float:
        name = drawing.width(self._name, look.font(18)) + look.px(12)
        mark = look.px(28) if self._mark else 0
        return max(look.px(90), self.width() - name - mark)

    def _lines(self, look: Look) -> list[str]:
        return drawing.broken(self._value, look.font(18, self._bold), self._room(look))

    def _own_line(self, look: Look) -> bool:
        """Whether the value needs a line of its own, under the name."""
        return len(self._lines(look)) > 2

    def measure(self, look: Look) -> QSize:
        lines = self._lines(look)
        if self._own_line(look):
            lines = ["", *drawing.broken(self._value, look.font(18, self._bold), max(look.px(90), self.width()))]
        wide = round(drawing.width(self._name, look.font(18))) + look.px(102)
        return QSize(wide, look.px(self._high) + (len(lines) - 1) * look.px(24))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c, font = look.colours, look.font(18, self._bold)
        top = (look.px(self._high) - look.px(24)) / 2
        drawing.text(painter, QRectF(0, top, self.width(), look.px(24)), self._name, look.font(18), c.ink2)
        ink = c.stopink if self._mark in ("stop", "on hold") else c.ink
        room, lines = self._room(look), self._lines(look)
        if self._own_line(look):
            room, top = float(self.width()), top + look.px(24)
            lines = drawing.broken(self._value, font, room)
        for number, line in enumerate(lines):
            at = QRectF(self.width() - room, top + number * look.px(24), room, look.px(24))
            drawing.text(painter, at, line, font, ink, drawing.RIGHT)
        if self._mark and lines:
            side = look.px(20)
            left = self.width() - drawing.width(lines[0], font) - side - look.px(8)
            sign(painter, QRectF(left, top + look.px(2), side, side), self._mark)


class Head(QWidget):
    """A head of 24 bold with a count or words beside it."""

    def __init__(self, words: str, beside: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        line = Row(self, gap=12)
        self.words, self.beside = Words(words, 24, True), Words(beside, 14, ink="ink2")
        line.addWidget(self.words)
        line.addStretch(1)
        line.addWidget(self.beside)

    def set_beside(self, words: str) -> None:
        """What stands at the right."""
        self.beside.setText(words)


class EmptyState(QWidget):
    """What a place says when it has nothing to show: what is so, and what to do first."""

    def __init__(self, head: str, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = Boxes(self, (0, 16, 0, 16), 8)
        self.head = Words(head, 24, True, wrap=True)
        self.words = Words(words, 18, ink="ink2", wrap=True)
        column.addWidget(self.head)
        column.addWidget(self.words)
        column.addStretch(1)


class Upright(Drawn):
    """A hairline from top to bottom."""

    def __init__(self, ink: str = "line", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ink = ink
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(1), look.px(8))

    def draw(self, painter: QPainter, look: Look) -> None:
        drawing.upright(painter, 0, 0, self.height(), look.colours.role(self._ink))
