"""The number pad for gloved hands."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look, current, source

BACK = "back"
_KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", BACK)


class _PadKey(Pressable):
    def __init__(self, key: str, low: bool, parent: QWidget) -> None:
        super().__init__(parent)
        self.key, self._low = key, low
        self.setAccessibleName("Take back one" if key == BACK else "Point" if key == "." else key)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAutoRepeat(key == BACK)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(64), look.px(44)) if self._low else QSize(look.px(80), look.px(72))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        fill = c.track if self.isDown() else c.sheet
        drawing.box(painter, whole, fill=fill, edge=c.edge, thick=2, radius=4)
        if self.key == BACK:
            self._draw_back(painter, look)
        else:
            drawing.text(painter, whole, self.key, look.font(24, True), c.ink, drawing.MIDDLE)

    def _draw_back(self, painter: QPainter, look: Look) -> None:
        c, u = look.colours, look.u
        middle = QRectF(self.rect()).center()
        x, y = middle.x(), middle.y()
        body = [(-16, 0), (-7, -9), (15, -9), (15, 9), (-7, 9)]
        painter.setPen(c.ink)
        painter.setBrush(c.ink)
        painter.drawPolygon(QPolygonF([QPointF(x + a * u, y + b * u) for a, b in body]))
        painter.setPen(QPen(c.sheet, 2 * u))
        painter.drawLine(QPointF(x, y - 4 * u), QPointF(x + 8 * u, y + 4 * u))
        painter.drawLine(QPointF(x, y + 4 * u), QPointF(x + 8 * u, y - 4 * u))


class NumberPad(QWidget):
    """Twelve keys, 3 by 4, smaller ones where it is `low`; `pressed` carries a digit, '.', or 'back'."""

    pressed = Signal(str)

    def __init__(self, low: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        for number, key in enumerate(_KEYS):
            button = _PadKey(key, low, self)
            button.clicked.connect(self._press)
            self._grid.addWidget(button, number // 3, number % 3)
        self._refit()
        source.look_changed.connect(self._refit)

    def _refit(self) -> None:
        self._grid.setSpacing(current().px(8))

    def _press(self) -> None:
        button = self.sender()
        if isinstance(button, _PadKey):
            self.pressed.emit(button.key)
