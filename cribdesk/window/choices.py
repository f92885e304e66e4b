"""One of several, all seen at once, in as many lines as the room asks for."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable, Words
from cribdesk.window.layout import Boxes
from cribdesk.window.look import Look, current, source


class Option(Pressable):
    """One choice: a ring that fills when chosen, its words, and a figure at the right."""

    ring_inside = True

    def __init__(self, id_: str, words: str, figure: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.id, self.words, self.figure = id_, words, figure
        self.number = 0  # by which a printed code takes it; 0 while none does
        self.setCheckable(True)
        self.setAccessibleName(f"{words}, {figure}" if figure else words)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def nextCheckState(self) -> None:
        """The group decides."""

    def wide(self) -> int:
        """How wide it is when it is not stretched."""
        look = current()
        figure = drawing.width(self.figure, look.font(18)) + look.px(16) if self.figure else 0
        return round(drawing.width(self.words, look.font(18, True)) + figure) + look.px(60)

    def _lines(self, look: Look) -> list[str]:
        figure = drawing.width(self.figure, look.font(18)) + look.px(16) if self.figure else 0
        room = max(look.px(100), self.width() - look.px(58) - figure)
        return drawing.broken(self.words, look.font(18, True), room)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(120), look.px(20) + max(1, len(self._lines(look))) * look.px(24))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        fill = c.track if self.isDown() or self.underMouse() else c.sheet
        drawing.box(
            painter,
            whole,
            fill=fill,
            edge=c.ink if self.isChecked() else c.edge,
            thick=2 if self.isChecked() else 1,
            radius=4,
        )
        middle = QPointF(look.px(24), look.px(22))
        painter.setPen(QPen(c.ink if self.isEnabled() else c.off, 2 * look.u))
        painter.setBrush(c.sheet)
        painter.drawEllipse(middle, 9 * look.u, 9 * look.u)
        if self.number and not self.isChecked():
            ring = QRectF(0, 0, look.px(20), look.px(20))
            ring.moveCenter(middle)
            drawing.text(painter, ring, str(self.number), look.font(14), c.ink2, drawing.CENTRE)
        if self.isChecked():
            painter.setBrush(c.ink)
            painter.drawEllipse(middle, 4 * look.u, 4 * look.u)
        ink = c.ink if self.isEnabled() else c.off
        for number, line in enumerate(self._lines(look)):
            at = QRectF(look.px(44), look.px(10) + number * look.px(24), self.width() - look.px(58), look.px(24))
            drawing.text(painter, at, line, look.font(18, self.isChecked()), ink)
        room = whole.adjusted(0, 0, -look.px(14), 0)
        drawing.text(painter, room, self.figure, look.font(18), c.ink2, drawing.RIGHT)


class Choices(QWidget):
    """A named group of options; `chosen(id)` when a person takes one. `stacked` gives each its own row."""

    chosen = Signal(str)

    def __init__(
        self, name: str, choices: tuple[tuple[str, str], ...] = (), stacked: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.name, self._stacked = name, stacked
        self.setAccessibleName(name)
        self.options: list[Option] = []
        column = Boxes(self, gap=4)
        if name:
            column.addWidget(Words(name, 18, wrap=True))
        self._field = _Flow(stacked)
        column.addWidget(self._field)
        self.set_choices(tuple((id_, words, "") for id_, words in choices))

    def set_choices(self, choices: tuple[tuple[str, str, str], ...]) -> None:
        """Offer these (id, words, figure)."""
        before = self.value()
        for old in self.options:
            old.hide()
            old.setParent(None)
            old.deleteLater()
        self.options = [Option(*one, parent=self._field) for one in choices]
        for option in self.options:
            option.clicked.connect(self._press)
            option.show()
        self._field.set_options(self.options)
        self.set_value(before)

    def set_numbered(self, numbered: bool) -> None:
        """Whether a printed number takes from this group now: then each of the first nine shows its own."""
        for place, option in enumerate(self.options, 1):
            number = place if numbered and place <= 9 else 0
            if option.number != number:
                option.number = number
                option.update()

    def value(self) -> str:
        """The id taken, or nothing."""
        return next((one.id for one in self.options if one.isChecked()), "")

    def set_value(self, id_: str) -> None:
        """Take one without telling; an unknown id takes none."""
        for option in self.options:
            option.setChecked(option.id == id_ and bool(id_))

    def _press(self) -> None:
        option = self.sender()
        if isinstance(option, Option):
            self.set_value(option.id)
            self.chosen.emit(option.id)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Up: -1, Qt.Key.Key_Right: 1, Qt.Key.Key_Down: 1}.get(
            Qt.Key(event.key())
        )
        here = next((n for n, one in enumerate(self.options) if one.hasFocus()), None)
        if step is None or here is None or not 0 <= here + step < len(self.options):
            event.ignore()
            return
        self.options[here + step].setFocus(Qt.FocusReason.TabFocusReason)


class _Flow(QWidget):
    """Puts options side by side as long as they fit, then on the next line."""

    def __init__(self, stacked: bool) -> None:
        super().__init__()
        self._stacked = stacked
        self._options: list[Option] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        source.look_changed.connect(self.place)

    def set_options(self, options: list[Option]) -> None:
        self._options = options
        self.place()

    def place(self) -> None:
        """Lay them out for the width there is."""
        look, wide = current(), self.width()
        gap, left, top, high = look.px(8), 0, 0, 0
        for option in self._options:
            want = wide if self._stacked else min(wide, option.wide())
            if left and left + want > wide:
                left, top = 0, top + high + gap
                high = 0
            option.resize(want, look.px(44))
            tall = option.measure(look).height()
            option.setGeometry(left, top, want, tall)
            high = max(high, tall)
            left += want + gap
        self.setFixedHeight(max(1, top + high))

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.place()
