"""The number tile: one count of the crib, its sign, and what to hold it against."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QFont, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look, current
from cribdesk.window.signs import sign


def figure_font(number: int) -> QFont:
    """The figures of a tile: a number of three digits is set smaller, so that eight tiles stay in one row."""
    return current().font(72 if number < 100 else 56, True)


class NumberTile(Pressable):
    """A count, 192 high; a press opens its list: `clicked`."""

    ring_inside = True
    return_presses = True

    def __init__(self, word: str, mark: str = "", first: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._word, self._mark, self._first = word, mark, first
        self._number, self._against = 0, ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_number(0)

    def set_number(self, number: int, against: str = "") -> None:
        """The count, and one line to hold it against."""
        self._number, self._against = number, against
        self.setAccessibleName(f"{self._word}: {number}. {against}".strip())
        self.refit()

    def measure(self, look: Look) -> QSize:
        number = drawing.width(str(self._number), figure_font(self._number)) + look.px(40 if self._mark else 0)
        wide = max(
            number,
            drawing.width(self._word, look.font(18, True)),
            drawing.width(self._against, look.font(18)),
        )
        return QSize(round(wide + look.px(24)), look.px(192))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        if self.underMouse():
            painter.fillRect(whole, c.track)
        if not self._first:
            drawing.upright(painter, 0, 0, whole.bottom(), c.line)
        left = float(look.px(24 if self._first else 16))  # the first stands level with what is under it
        room = whole.width() - left
        ink = c.ink if self._number else c.off
        at = QRectF(left, look.px(14), room, look.px(28))
        drawing.text(painter, at, self._word, look.font(18, True), ink)
        at = QRectF(left, look.px(52), room, look.px(86))
        wide = drawing.text(painter, at, str(self._number), figure_font(self._number), ink)
        if self._mark:
            side = look.px(32)
            foot = look.px(121)  # where the figures stand
            box = QRectF(left + wide + look.px(8), foot - side, side, side)
            mark, colour = (self._mark, None) if self._number else (self._quiet(), c.off)
            sign(painter, box, mark, colour=colour)
        at = QRectF(left, look.px(150), room, look.px(28))
        drawing.text(painter, at, self._against, look.font(18), c.ink2 if self._number else c.off)

    def _quiet(self) -> str:
        """A zero raises no alarm: stop and caution give way to a dot."""
        return "dot" if self._mark in ("stop", "on hold", "caution", "overdue") else self._mark
