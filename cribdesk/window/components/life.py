"""Life bars: what is left of each part, in the order the air passes them."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look, current
from cribdesk.window.signs import sign

SHORTEST = 64
"""A bar shorter than this can hardly be read."""
TIGHT_NAME = 14


@dataclass(frozen=True)
class Life:
    """What is left, as shares of one whole life of that part (0 to 1).

    `sure` is reached 9 times in 10, `perhaps` 1 time in 10, `pin` is what is needed now (None: no pin).
    `level` is fine, caution or stop; `beyond` says that the limit is passed and nothing is left.
    """

    sure: float
    perhaps: float
    pin: float | None = None
    level: str = "fine"
    beyond: bool = False


@dataclass(frozen=True)
class PartLife:
    """One part of a unit as a row: its position's id, its name, its life and the middle figure in words.

    `note` stands in place of the bar where there is no life to show.
    """

    id: str
    name: str
    figure: str
    life: Life | None = None
    level: str = "fine"
    note: str = ""

    def told(self) -> str:
        """What the bar says, in words."""
        if not self.figure:
            return self.note
        return self.figure if self.figure.endswith(" past") else f"{self.figure} left"


def draw_life(painter: QPainter, rect: QRectF, life: Life) -> None:
    """Paint a bar 14 high in the middle of the rect, with its pin."""
    look, c = current(), current().colours
    body = QRectF(rect.left(), rect.center().y() - look.px(7), rect.width(), look.px(14))
    if life.beyond:
        binds = life.level == "stop"  # past a rule of thumb is a caution
        painter.fillRect(body, c.sheet)
        painter.fillRect(QRectF(body.left(), body.top(), look.px(8), body.height()), c.stop if binds else c.caut)
        drawing.box(painter, body, edge=c.stop if binds else c.edge, thick=2)
        return
    sure, maybe = {"caution": (c.caut, c.caut2), "stop": (c.stop, c.stop2)}.get(
        life.level, (c.steel, c.maybe)
    )
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.fillRect(body, c.track)
    at_sure = body.left() + body.width() * min(1.0, max(0.0, life.sure))
    at_maybe = body.left() + body.width() * min(1.0, max(0.0, life.perhaps))
    painter.fillRect(QRectF(body.left(), body.top(), at_sure - body.left(), body.height()), sure)
    if at_maybe > at_sure:
        gap = look.px(2)
        painter.fillRect(QRectF(at_sure, body.top(), gap, body.height()), c.sheet)
        painter.fillRect(
            QRectF(at_sure + gap, body.top(), max(0.0, at_maybe - at_sure - gap), body.height()), maybe
        )
        if life.perhaps < 1:
            painter.fillRect(QRectF(at_maybe - gap, body.top(), gap, body.height()), c.ink2)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    drawing.box(painter, body, edge=c.edge, thick=1)
    if life.pin is not None:
        draw_pin(painter, body.left() + body.width() * min(1.0, max(0.0, life.pin)), body)


def draw_pin(painter: QPainter, x: float, body: QRectF) -> None:
    """The pin of the hours needed now, its head above the bar."""
    look, ink = current(), current().colours.ink
    reach, half = look.px(8), look.px(5)
    top = body.top() - reach
    painter.setPen(ink)
    painter.setBrush(ink)
    painter.drawPolygon(QPolygonF([QPointF(x - half, top), QPointF(x + half, top), QPointF(x, top + reach)]))
    wide = look.px(2)
    painter.fillRect(QRectF(x - wide / 2, top, wide, body.height() + reach + look.px(6)), ink)


class PartRow(Pressable):
    """One part on the air path; a press opens it."""

    ring_inside = True
    return_presses = True

    def __init__(
        self, part: PartLife, first: bool, last: bool, high: int = 44, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.part, self._first, self._last, self._high = part, first, last, high
        self.name_width, self.tight = 0.0, False
        told = f"{part.level}: " if part.level != "fine" else ""
        self.setAccessibleName(f"{told}{part.name}, {part.told()}")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def measure(self, look: Look) -> QSize:
        fixed = look.px(self._left() + 16 + SHORTEST + 8 + 84 + 32)
        return QSize(fixed + round(self.name_width), look.px(self._high))

    def _left(self) -> int:
        return 28 if self.tight else 40

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole, part = look.colours, QRectF(self.rect()), self.part
        if self.underMouse():
            painter.fillRect(whole, c.track)
        self._draw_path(painter, look)
        heavy = part.level != "fine"
        left = float(look.px(self._left()))
        font = look.font(18, heavy)
        name = look.font(TIGHT_NAME, heavy) if self.tight else font
        drawing.text(painter, QRectF(left, 0, self.name_width, whole.height()), part.name, name, c.ink)
        right = whole.right() - look.px(32)
        if heavy:
            side = look.px(24)
            at = QRectF(whole.right() - side, (whole.height() - side) / 2, side, side)
            sign(painter, at, part.level)
        at = QRectF(right - look.px(84), 0, look.px(84), whole.height())
        drawing.text(painter, at, part.figure, font, c.ink, drawing.RIGHT)
        bar_left = left + self.name_width + look.px(16)
        bar = QRectF(bar_left, 0, at.left() - look.px(8) - bar_left, whole.height())
        if part.life is not None:
            draw_life(painter, bar, part.life)
        elif part.note:
            drawing.text(painter, bar, part.note, look.font(14), c.ink2, elide=True)

    def _draw_path(self, painter: QPainter, look: Look) -> None:
        c, middle = look.colours, self.height() / 2
        x = look.px(10)
        wide, half = look.px(2), look.px(5)
        top = middle if self._first else 0.0
        foot = middle if self._last else float(self.height())
        painter.fillRect(QRectF(x - wide / 2, top, wide, foot - top), c.steel)
        square = QRectF(x - half, middle - half, 2 * half, 2 * half)
        drawing.box(painter, square, fill=c.page, edge=c.ink2, thick=2)


class PartsPath(QWidget):
    """The parts of a unit from inlet to face, in rows so high; `opened(position id)`."""

    opened = Signal(str)

    def __init__(self, high: int = 44, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._high = high
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._rows: list[PartRow] = []

    def set_parts(self, parts: tuple[PartLife, ...]) -> None:
        """Show these, in the order given."""
        for row in self._rows:
            self._column.removeWidget(row)
            row.hide()  # a queued show of a layout would make it a window of its own
            row.setParent(None)
            row.deleteLater()
        last = len(parts) - 1
        self._rows = [PartRow(part, n == 0, n == last, self._high, self) for n, part in enumerate(parts)]
        for row in self._rows:
            self._column.addWidget(row)
            row.clicked.connect(self._press)
        self._align()

    def _align(self) -> None:
        look = current()
        tight, widest = False, self._widest(18)
        if self._rows and self.width() - look.px(40 + 16 + 8 + 84 + 32) - widest < look.px(SHORTEST):
            tight, widest = True, self._widest(TIGHT_NAME)  # smaller names, so that a bar can still be read
        for row in self._rows:
            if (row.name_width, row.tight) != (widest + 1, tight):
                row.name_width, row.tight = widest + 1, tight
                row.refit()
                row.update()

    def _widest(self, px: int) -> float:
        look = current()
        return max((drawing.width(row.part.name, look.font(px, True)) for row in self._rows), default=0)

    def resizeEvent(self, event: object) -> None:
        self._align()

    def changeEvent(self, event: object) -> None:
        self._align()

    def _press(self) -> None:
        row = self.sender()
        if isinstance(row, PartRow):
            self.opened.emit(row.part.id)
