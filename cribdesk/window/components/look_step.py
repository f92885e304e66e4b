"""What a look step shows: the thing when it is good, and each way in which it is not."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn
from cribdesk.window.look import Look
from cribdesk.window.pictures import has_picture, picture
from cribdesk.window.signs import sign


class LookPictures(Drawn):
    """Good at the left, not good at the right; where there is no picture the words stand alone."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._thing, self._good, self._bad = "", "", ()  # type: str, str, tuple[str, ...]
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def set_step(self, thing: str, good: str, bad: tuple[str, ...]) -> None:
        """The code of the thing, the words of good, and the words of each fault."""
        self._thing, self._good, self._bad = thing, good, bad
        self.setAccessibleName(f"Good: {good}. Not good, any one of these: {', '.join(bad)}")
        self.refit()

    def measure(self, look: Look) -> QSize:
        if not has_picture(self._thing):
            return QSize(look.px(560), look.px(64 + 44 * max(1, len(self._bad))))
        return QSize(look.px(720), look.px(330))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        split = self.width() * (0.36 if has_picture(self._thing) else 0.45)
        drawing.upright(painter, split + look.px(16), 0, self.height(), look.colours.line)
        left = QRectF(0, 0, split - look.px(8), self.height())
        right = QRectF(split + look.px(40), 0, self.width() - split - look.px(40), self.height())
        foot = self._heads(painter, look, left, right)
        if has_picture(self._thing):
            self._pictures(painter, look, left, right, foot)
        else:
            self._faults_in_words(painter, look, right, float(look.px(48)))

    def _heads(self, painter: QPainter, look: Look, left: QRectF, right: QRectF) -> float:
        """The bold lines; at the foot under pictures, at the top without; returns where they begin."""
        font, high = look.font(24, True), look.px(32)
        good = drawing.broken(f"Good: {self._good}", font, left.width() - look.px(44))
        lines = max(len(good), 1)
        top = self.height() - lines * high if has_picture(self._thing) else 0.0
        for room, mark, words in ((left, "fine", f"Good: {self._good}"), (right, "not good", _NOT_GOOD)):
            box = QRectF(room.left(), top, look.px(32), look.px(32))
            sign(painter, box, mark)
            at = QRectF(room.left() + look.px(44), top, room.width() - look.px(44), high)
            drawing.paragraph(painter, at, words, font, look.colours.ink, high)
        return top

    def _pictures(self, painter: QPainter, look: Look, left: QRectF, right: QRectF, foot: float) -> None:
        room = foot - look.px(24)
        side = min(left.width(), room, look.px(300))
        at = QRectF(left.left(), (room - side) / 2, side, side)
        picture(painter, at, self._thing)
        if not any(has_picture(self._thing, words) for words in self._bad):
            self._faults_in_words(painter, look, right, max(0.0, (room - look.px(40) * len(self._bad)) / 2))
            return
        count = max(1, len(self._bad))
        gap = look.px(24)
        each = (right.width() - gap * (count - 1)) / count
        small = min(each, look.px(172), max(look.px(80), room - look.px(72)))
        top = max(0.0, (room - small - look.px(80)) / 2)
        for number, words in enumerate(self._bad):
            x = right.left() + number * (each + gap)
            if has_picture(self._thing, words):
                box = QRectF(x, top, small, small)
                picture(painter, box, self._thing, words)
                self._caption(painter, look, QRectF(x, top + small + look.px(12), each, 0), words, False)
            else:
                middle = top + small / 2 - look.px(32)
                self._caption(painter, look, QRectF(x, middle, each, 0), words, True)

    def _caption(self, painter: QPainter, look: Look, room: QRectF, words: str, alone: bool) -> None:
        px = 24 if len(drawing.broken(words, look.font(24), room.width())) <= (4 if alone else 2) else 18
        ink = look.colours.ink
        drawing.paragraph(painter, room, words, look.font(px), ink, look.px(px * 4 / 3))

    def _faults_in_words(self, painter: QPainter, look: Look, right: QRectF, top: float) -> None:
        for words in self._bad:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.colours.ink2)
            painter.drawEllipse(QRectF(right.left() + look.px(12), top + look.px(13), look.px(8), look.px(8)))
            at = QRectF(right.left() + look.px(44), top, right.width() - look.px(44), look.px(32))
            top += look.px(8) + drawing.paragraph(
                painter, at, words, look.font(24), look.colours.ink, look.px(32)
            )


_NOT_GOOD = "Not good: any one of these"
