"""The plate: a label as it sits on the thing, corners clipped, check character set lighter."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import TARGET, Pressable
from cribdesk.window.look import Look, current


def plate_width(label: str) -> int:
    """The width of a plate with that label."""
    look = current()
    bold, regular = look.font(18, True), look.font(18)
    inner = drawing.width(label[:-1], bold) + look.px(3) + drawing.width(label[-1:], regular)
    return round(inner + look.px(24))


def draw_plate(painter: QPainter, rect: QRectF, label: str, ground: str = "page") -> None:
    """Paint a plate 32 high, at the left of the rect and in its middle."""
    look = current()
    c = look.colours
    ink, light = (c.onstrip, c.onstrip2) if ground == "strip" else (c.ink, c.ink2)
    high = look.px(32)
    body = QRectF(rect.left(), rect.center().y() - high / 2, plate_width(label), high)
    half = 0.8 * look.u
    painter.setPen(QPen(ink, 1.6 * look.u))
    painter.setBrush(QColor(c.sheet) if ground in ("page", "sheet") else Qt.BrushStyle.NoBrush)
    painter.drawPolygon(drawing.clipped(body.adjusted(half, half, -half, -half), look.px(6)))
    at = body.adjusted(look.px(12), 0, 0, 0)
    wide = drawing.text(painter, at, label[:-1], look.font(18, True), ink)
    drawing.text(painter, at.adjusted(wide + look.px(3), 0, 0, 0), label[-1:], look.font(18), light)


class Plate(Pressable):
    """A label that opens its thing when pressed; `opened(label)`."""

    opened = Signal(str)
    return_presses = True

    def __init__(self, label: str = "", ground: str = "page", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ground = ground
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_label(label)
        self.clicked.connect(self._open)

    def set_label(self, label: str) -> None:
        """Show another label, whole, with its check character last; an empty one hides the plate."""
        self.setText(label)
        self.setVisible(bool(label)) if self.parentWidget() or not label else None
        self.setAccessibleName(f"Label {label}, open")
        self.refit()

    def _open(self) -> None:
        self.opened.emit(self.text())

    def measure(self, look: Look) -> QSize:
        return QSize(plate_width(self.text()), look.px(TARGET))

    def draw(self, painter: QPainter, look: Look) -> None:
        if self.text():
            draw_plate(painter, QRectF(self.rect()), self.text(), self._ground)
