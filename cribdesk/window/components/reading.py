"""A reading: the big field one types into, the verdict beneath, and the meter's tube beside it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, QRegularExpression, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF, QRegularExpressionValidator
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn
from cribdesk.window.components.pad import BACK
from cribdesk.window.look import Look, current, source
from cribdesk.window.signs import sign


class ReadingField(QLineEdit):
    """A field 136 high with figures of 96, `low` 96 with figures of 64, `least` 80 with 52; `reading_changed` carries a
    point, no comma."""

    reading_changed = Signal(str)

    def __init__(
        self, unit: str = "", name: str = "Reading", low: bool = False, least: bool = False,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self._unit = unit
        self._high, self._figures = (80, 52) if least else (96, 64) if low else (136, 96)
        self.setAccessibleName(f"{name}, {unit}" if unit else name)
        figures = QRegularExpression(r"\d{0,5}([.,]\d{0,2})?")
        self.setValidator(QRegularExpressionValidator(figures, self))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.textChanged.connect(self._tell)
        source.look_changed.connect(self.refit)
        self.refit()

    def refit(self) -> None:
        """Take sizes of the look anew."""
        look = current()
        c, line = look.colours, look.px(3)
        self.setStyleSheet(
            f"QLineEdit {{ border: {line}px solid {c.edge.name()}; background: {c.sheet.name()}; "
            f"color: {c.ink.name()}; border-radius: {look.px(4)}px; padding: 0 {look.px(20)}px; "
            f"min-height: {look.px(self._high) - 2 * line}px; max-height: {look.px(self._high) - 2 * line}px; }} "
            f"QLineEdit:focus {{ border: {line}px solid {c.acc.name()}; }}"
        )
        self.setFont(look.font(self._figures, True))
        self.setFixedHeight(look.px(self._high))
        self.setMinimumWidth(look.px(340))
        self.setTextMargins(0, 0, round(drawing.width(self._unit, look.font(24))) + look.px(12), 0)

    def reading(self) -> str:
        """What is typed, with a point."""
        return self.text().replace(",", ".")

    def value(self) -> float | None:
        """The number typed, or None while there is none."""
        text = self.reading()
        return float(text) if any(character.isdigit() for character in text) else None

    def press(self, key: str) -> None:
        """Take a key of the pad."""
        if key == BACK:
            self.backspace()
        else:
            self.insert(key)
        self.setFocus()

    def _tell(self) -> None:
        self.reading_changed.emit(self.reading())

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        look = current()
        painter = QPainter(self)
        room = QRectF(self.rect()).adjusted(0, 0, -look.px(24), 0)
        drawing.text(painter, room, self._unit, look.font(24), look.colours.ink2, drawing.RIGHT)
        if self.hasFocus():
            # The style's own caret is one pixel wide: paper over it, then the wide one.
            x = QRectF(self.cursorRect()).center().x() - 1
            inner = self.rect().adjusted(0, look.px(4), 0, -look.px(4))
            painter.fillRect(QRectF(x, inner.top(), look.px(3), inner.height()), look.colours.sheet)
            tall = look.px(self._high - (28 if self._high < 96 else 48))
            at = QRectF(x, (self.height() - tall) / 2, look.px(3), tall)
            painter.fillRect(at, look.colours.acc)
        painter.end()


class VerdictLine(Drawn):
    """A reading's verdict, under the field as one types: sign, words of 24, a line of 18; `low` keeps it no room."""

    def __init__(self, low: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept = 0 if low else 1
        self._mark, self._words, self._detail = "", "", ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_verdict(self, mark: str, words: str, detail: str = "") -> None:
        """Say it; empty words keep the room empty."""
        self._mark, self._words, self._detail = mark, words, detail
        self.setAccessibleName(f"{words} {detail}".strip())
        self.refit()

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def _lines(self, look: Look) -> tuple[list[str], list[str]]:
        room = max(look.px(200), self.width() - look.px(48))
        words = drawing.broken(self._words, look.font(24, True), room)
        return words, drawing.broken(self._detail, look.font(18), room) if self._detail else []

    def measure(self, look: Look) -> QSize:
        words, detail = self._lines(look)
        high = look.px(8) + len(words) * look.px(30) + max(self._kept, len(detail)) * look.px(23)
        return QSize(look.px(248), high)

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        if self._mark:
            sign(painter, QRectF(0, look.px(8), look.px(30), look.px(30)), self._mark)
        room = QRectF(look.px(48), look.px(4), max(look.px(200), self.width() - look.px(48)), 0)
        used = drawing.paragraph(painter, room, self._words, look.font(24, True), c.ink, look.px(30))
        room.translate(0, used)
        drawing.paragraph(painter, room, self._detail, look.font(18), c.ink2, look.px(23))


@dataclass(frozen=True)
class Tube:
    """What the tube shows: its scale, the least that passes, the most that can be, and the readings.

    `over` says what a reading above `most` means; `earlier` are words and value, left in place.
    """

    low: float
    high: float
    least: float
    least_words: str
    most: float | None = None
    over: str = ""
    now: float | None = None
    now_words: str = ""
    earlier: tuple[tuple[str, float], ...] = ()
    step: float = 20


class FlowTube(Drawn):
    """A tapered tube and its ball, as the flow meter shows it, wider at the top."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tube: Tube | None = None
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def set_tube(self, tube: Tube) -> None:
        """Show other readings."""
        self._tube = tube
        now = f"{tube.now_words}. " if tube.now is not None else ""
        rest = ". ".join(words for words, _ in tube.earlier)
        self.setAccessibleName(f"{now}{tube.least_words}. {rest}")
        self.update()

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(320), look.px(320))

    def _y(self, value: float, body: QRectF) -> float:
        tube = self._tube
        assert tube is not None
        share = (value - tube.low) / (tube.high - tube.low)
        return body.bottom() - min(1.0, max(0.0, share)) * body.height()

    def _half(self, y: float, body: QRectF) -> float:
        share = (body.bottom() - y) / body.height()
        return current().u * (22 + 12 * share)

    def draw(self, painter: QPainter, look: Look) -> None:
        if self._tube is None:
            return
        tube, c = self._tube, look.colours
        body = QRectF(look.px(100), look.px(16), look.px(120), self.height() - look.px(32))
        middle = body.center().x()
        self._slice(painter, body, body.bottom(), body.top(), c.sheet)
        self._slice(painter, body, body.bottom(), self._y(tube.least, body), c.track)
        if tube.most is not None:
            self._slice(painter, body, self._y(tube.most, body), body.top(), c.track)
        self._outline(painter, look, body)
        self._scale(painter, look, body)
        if tube.most is not None:
            self._over(painter, look, body, tube.most)
        for words, value in tube.earlier:
            self._ball(painter, look, body, value, words, hollow=True)
        if tube.now is not None:
            self._ball(painter, look, body, tube.now, tube.now_words, hollow=False)
        at = self._y(tube.least, body)
        drawing.hairline(painter, middle - look.px(46), middle + look.px(120), at - look.px(1.5), c.ink, 3)
        room = QRectF(middle + look.px(58), at - look.px(26), look.px(100), look.px(24))
        drawing.text(painter, room, tube.least_words, look.font(18, True), c.ink)

    def _slice(self, painter: QPainter, body: QRectF, low: float, high: float, fill: QColor) -> None:
        middle = body.center().x()
        a, b = self._half(low, body), self._half(high, body)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(fill)
        painter.drawPolygon(
            QPolygonF([QPointF(middle - a, low), QPointF(middle + a, low), QPointF(middle + b, high),
                       QPointF(middle - b, high)])
        )  # fmt: skip

    def _outline(self, painter: QPainter, look: Look, body: QRectF) -> None:
        middle = body.center().x()
        a, b = self._half(body.bottom(), body), self._half(body.top(), body)
        painter.setPen(QPen(look.colours.ink, 2 * look.u))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolygon(
            QPolygonF([QPointF(middle - a, body.bottom()), QPointF(middle + a, body.bottom()),
                       QPointF(middle + b, body.top()), QPointF(middle - b, body.top())])
        )  # fmt: skip

    def _scale(self, painter: QPainter, look: Look, body: QRectF) -> None:
        tube, c = self._tube, look.colours
        assert tube is not None
        middle = body.center().x()
        painter.setPen(QPen(c.edge, 1.5 * look.u))
        count = round((tube.high - tube.low) / (tube.step / 2))
        for number in range(count + 1):
            value = tube.low + number * tube.step / 2
            y, whole = self._y(value, body), number % 2 == 0
            start = middle + self._half(y, body) + look.px(4)
            painter.setPen(QPen(c.edge, 1.5 * look.u))
            painter.drawLine(QLineF(start, y, start + look.px(14 if whole else 8), y))
            near = abs(y - self._y(tube.least, body) + look.px(14)) < look.px(22)
            if whole and not near:
                room = QRectF(middle + look.px(58), y - look.px(12), look.px(60), look.px(24))
                drawing.text(painter, room, f"{value:g}", look.font(18), c.ink2)

    def _over(self, painter: QPainter, look: Look, body: QRectF, most: float) -> None:
        c, y, middle = look.colours, self._y(most, body), body.center().x()
        drawing.hairline(painter, middle - look.px(46), middle + self._half(y, body), y, c.ink, 2)
        lines = (self._tube.over if self._tube else "").split("\n")
        for number, line in enumerate(lines):
            top = y - look.px(12) + (number - (len(lines) - 1)) * look.px(22)
            room = QRectF(0, top, middle - look.px(50), look.px(24))
            drawing.text(painter, room, line, look.font(18), c.ink2, drawing.RIGHT)

    def _ball(
        self, painter: QPainter, look: Look, body: QRectF, value: float, words: str, hollow: bool
    ) -> None:
        c, y, middle = look.colours, self._y(value, body), body.center().x()
        painter.setPen(QPen(c.ink2 if hollow else c.ink, 2 * look.u))
        painter.setBrush(c.track if hollow else c.ink)
        radius = look.u * (15 if hollow else 16)
        painter.drawEllipse(QPointF(middle, y), radius, radius)
        drawing.hairline(painter, middle - look.px(38), middle - self._half(y, body), y, c.ink, 2)
        room = QRectF(0, y - look.px(12), middle - look.px(44), look.px(24))
        ink = c.ink2 if hollow else c.ink
        drawing.text(painter, room, words, look.font(18, not hollow), ink, drawing.RIGHT)
