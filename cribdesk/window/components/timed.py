"""The timed step: a clock with its window, the whole of it one target."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look

BEFORE, INSIDE, AFTER = "before", "inside", "after"


@dataclass(frozen=True)
class Window:
    """When the answer must come, in seconds from the start: opens, closes, and the end of the scale."""

    opens: float
    closes: float
    end: float

    def phase(self, seconds: float) -> str:
        """before, inside or after; both ends belong to the window."""
        return BEFORE if seconds < self.opens else INSIDE if seconds <= self.closes else AFTER


@dataclass(frozen=True)
class TimedWords:
    """A head and a line for each phase; `{left}` in the line is filled with the seconds left in it."""

    before: tuple[str, str]
    inside: tuple[str, str]
    after: tuple[str, str]
    marks: tuple[str, str, str] = ("too early", "alarm here", "too late: fails")

    def of(self, phase: str) -> tuple[str, str]:
        """The head and the line of a phase."""
        return {BEFORE: self.before, INSIDE: self.inside, AFTER: self.after}[phase]


class TimedField(Pressable):
    """Neutral before the window, accent inside it, stop after; `clicked` when touched anywhere.

    It keeps no time: `set_time(seconds)` paints a moment.
    """

    def __init__(self, window: Window, words: TimedWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._window, self._words, self._seconds = window, words, 0.0
        self._phase = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_time(0.0)

    def set_time(self, seconds: float) -> None:
        """Show this many seconds since the start."""
        self._seconds = seconds
        phase = self._window.phase(seconds)
        if phase != self._phase:
            self._phase = phase
            self.setAccessibleName(self._words.of(phase)[0])
            self.setAccessibleDescription(self._line())
        self.update()

    def phase(self) -> str:
        """before, inside or after."""
        return self._phase

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(560), look.px(344))

    def _line(self) -> str:
        end = {BEFORE: self._window.opens, INSIDE: self._window.closes, AFTER: self._window.end}[self._phase]
        left = max(0.0, end - self._seconds)
        return self._words.of(self._phase)[1].replace("{left}", f"{left:.1f}")

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        grounds = {BEFORE: (c.sheet, c.ink), INSIDE: (c.acc, c.onacc), AFTER: (c.stop, c.onstop)}
        ground, ink = grounds[self._phase]
        drawing.box(painter, whole, fill=ground, edge=c.edge if self._phase == BEFORE else None, thick=2)
        left = float(look.px(40))
        digits = look.font(160, True)
        clock = QRectF(left, look.px(16), whole.width() / 2, look.px(160))
        wide = drawing.text(painter, clock, f"{self._seconds:.1f}", digits, ink)
        unit = QRectF(left + wide + look.px(18), look.px(112), look.px(40), look.px(48))
        drawing.text(painter, unit, "s", look.font(36), ink)
        at = max(unit.right() + look.px(32), look.px(448))
        room = QRectF(at, look.px(36), whole.right() - look.px(24) - at, 0)
        head, line = self._words.of(self._phase)[0], self._line()
        px = 56 if drawing.width(head, look.font(56, True)) <= room.width() else 36
        used = drawing.paragraph(painter, room, head, look.font(px, True), ink, look.px(px * 1.15))
        under = room.translated(0, used + look.px(8))
        drawing.paragraph(painter, under, line, look.font(24), ink, look.px(32))
        self._draw_scale(painter, look, ink)

    def _draw_scale(self, painter: QPainter, look: Look, ink: QColor) -> None:
        left, right = look.px(40), self.width() - look.px(40)
        window = self._window
        top = self.height() - look.px(104)

        def x(seconds: float) -> float:
            return left + (right - left) * min(1.0, seconds / window.end)

        for y in (top, top + look.px(30)):
            drawing.hairline(painter, left, right, y, ink, 2)
        painter.fillRect(QRectF(left, top + look.px(8), x(self._seconds) - left, look.px(16)), ink)
        for seconds in (window.opens, window.closes):
            drawing.upright(painter, x(seconds) - look.px(2), top - look.px(16), top + look.px(48), ink, 4)
        self._draw_marks(painter, look, ink, top, (left, x(window.opens), x(window.closes), right))

    def _draw_marks(
        self, painter: QPainter, look: Look, ink: QColor, top: float, ends: tuple[float, ...]
    ) -> None:
        left, opens, closes, right = ends
        early, here, late = self._words.marks
        high = look.px(24)
        above = top - look.px(36)
        gap = look.px(8)
        plain, bold, big = look.font(18), look.font(18, True), look.font(24, True)
        drawing.text(painter, QRectF(left, above, opens - left, high), early, plain, ink)
        room = QRectF(opens + gap, above, closes - opens - 2 * gap, high)
        if drawing.width(here, bold) <= room.width():
            drawing.text(painter, room, here, bold, ink, drawing.MIDDLE)
        else:
            over = QRectF(opens - look.px(200), above, closes - gap - opens + look.px(200), high)
            drawing.text(painter, over, here, bold, ink, drawing.RIGHT)
        room = QRectF(closes + gap, above, right - closes + look.px(24), high)
        drawing.text(painter, room, late, plain, ink)
        for at, seconds in ((opens, self._window.opens), (closes, self._window.closes)):
            room = QRectF(at - look.px(60), top + look.px(50), look.px(120), look.px(32))
            drawing.text(painter, room, f"{seconds:g} s", big, ink, drawing.MIDDLE)
        below = top + look.px(38)
        drawing.text(painter, QRectF(left, below, look.px(60), high), "0 s", plain, ink)
        room = QRectF(right - look.px(100), below, look.px(100), high)
        drawing.text(painter, room, f"{self._window.end:g} s", plain, ink, drawing.RIGHT)
