"""The scan line: the strip over every place that says what was scanned and what became of it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, QTimer, Signal
from PySide6.QtGui import QMouseEvent, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn
from cribdesk.window.components.plate import draw_plate, plate_width
from cribdesk.window.look import Look, current
from cribdesk.window.signs import sign

Bars = tuple[tuple[int, int], ...]  # (start, width) of each dark run, in modules


@dataclass(frozen=True)
class Said:
    """What the strip says: label and bars of the last scan, what became of it, a sign, words at the right.

    With `plate` the label is shown as a plate, as on the pages of an inspection.
    """

    words: str
    label: str = ""
    bars: Bars = ()
    mark: str = ""
    right: str = ""
    plate: bool = False


class ScanLine(Drawn):
    """The strip, 72 high, 56 when compact; `pressed` when touched."""

    pressed = Signal()
    FLASH = 120  # ms

    def __init__(self, title: str = "CribDesk", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title, self._said = title, Said("")
        self._compact = False
        self._light = QTimer(self)
        self._light.setSingleShot(True)
        self._light.timeout.connect(self.update)
        self.reduce_motion = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_title(self, title: str) -> None:
        """The word over the rail; none leaves the strip without that column."""
        self._title = title
        self.update()

    def set_compact(self, compact: bool) -> None:
        """56 high and a narrower title column."""
        self._compact = compact
        self.refit()

    def say(self, said: Said, flash: bool = False) -> None:
        """Say something else at once; `flash` lightens the ground for 120 ms, for a taken scan."""
        self._said = said
        whole = " ".join(part for part in (said.label, said.words, said.right) if part)
        self.setAccessibleName(f"{said.mark}: {whole}" if said.mark else whole)
        self.setToolTip(said.words)
        if flash and not self.reduce_motion:
            self._light.start(self.FLASH)
        self.update()

    def said(self) -> Said:
        """What it says now."""
        return self._said

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(320), look.px(56 if self._compact else 72))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.pressed.emit()

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        painter.fillRect(self.rect(), c.ink2 if self._light.isActive() and not look.dark else
                         c.edge if self._light.isActive() else c.strip)  # fmt: skip
        left: float = look.px(24)
        high = self.height()
        if self._title:
            room = QRectF(look.px(16), 0, look.px(112), high)
            drawing.text(painter, room, self._title, look.font(18, True), c.onstrip)
            left = look.px((104 if self._compact else 128) + 24)
        right = float(self.width() - look.px(24))
        said = self._said
        if said.right:
            font = look.font(18)
            wide = drawing.width(said.right, font)
            at = QRectF(right - wide, 0, wide, high)
            drawing.text(painter, at, said.right, font, c.onstrip2)
            right -= wide + look.px(24)
        left = self._draw_label(painter, look, left)
        if said.mark:
            side = look.px(36)
            sign(painter, QRectF(left, (high - side) / 2, side, side), said.mark, ground="strip")
            left += side + look.px(16)
        self._draw_words(painter, look, QRectF(left, 0, max(0.0, right - left), high))

    def _draw_words(self, painter: QPainter, look: Look, room: QRectF) -> None:
        """One line of 24; a longer sentence in two of 18, for its end says what to do; only then it is cut."""
        words, ink, small = self._said.words, look.colours.onstrip, look.font(18)
        if drawing.width(words, look.font(24)) <= room.width():
            drawing.text(painter, room, words, look.font(24), ink)
            return
        first, *rest = drawing.broken(words, small, room.width())
        high = look.px(24)
        top = room.center().y() - (high if rest else high / 2)
        drawing.text(painter, QRectF(room.left(), top, room.width(), high), first, small, ink, elide=True)
        if rest:
            at = QRectF(room.left(), top + high, room.width(), high)
            drawing.text(painter, at, " ".join(rest), small, ink, elide=True)

    def _draw_label(self, painter: QPainter, look: Look, left: float) -> float:
        said, c = self._said, look.colours
        if not said.label:
            return left
        if said.plate:
            draw_plate(painter, QRectF(left, 0, 1, self.height()), said.label, "strip")
            return left + plate_width(said.label) + look.px(24)
        left = draw_bars(painter, QRectF(left, self.height() / 2 - look.px(16), 0, look.px(32)), said.bars)
        at = QRectF(left, 0, look.px(400), self.height())
        wide = drawing.text(painter, at, said.label[:-1], look.font(24, True), c.onstrip) + look.px(3)
        at.translate(wide, 0)
        wide += drawing.text(painter, at, said.label[-1:], look.font(24), c.onstrip2)
        return left + wide + look.px(24)


def draw_bars(painter: QPainter, rect: QRectF, bars: Bars) -> float:
    """Paint the runs of a code as ornament, 1 px a module at 100 %; returns where the words go on."""
    if not bars:
        return rect.left()
    look = current()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    for start, wide in bars:
        bar = QRectF(rect.left() + start * look.u, rect.top(), wide * look.u, rect.height())
        painter.fillRect(bar, look.colours.onstrip)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    start, wide = bars[-1]
    return rect.left() + (start + wide) * look.u + look.px(24)
