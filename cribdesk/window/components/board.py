"""The board: a cell for every unit, worst first, and its legend."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn, Pressable
from cribdesk.window.look import Look, current, source
from cribdesk.window.signs import sign

CELL, GAP = 56, 8
_PLAIN = ("ready", "out")


@dataclass(frozen=True)
class Cell:
    """One unit, or one model and condition with a count: id, what is written, condition, whole words."""

    id: str
    short: str
    condition: str
    words: str


class BoardCell(Pressable):
    """One cell; ready is framed and bold, out is sunk, every other condition has its sign."""

    ring_inside = True
    return_presses = True

    def __init__(self, cell: Cell, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cell = cell
        self.setAccessibleName(cell.words)
        self.setToolTip(cell.words)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(CELL), look.px(CELL))

    def draw(self, painter: QPainter, look: Look) -> None:
        draw_cell(painter, QRectF(self.rect()), self.cell.condition, self.cell.short, self.underMouse())


def draw_cell(painter: QPainter, rect: QRectF, condition: str, short: str, lit: bool = False) -> None:
    """Paint one cell of the board, or without words a swatch of its legend."""
    look, c = current(), current().colours
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    out = condition == "out"
    painter.fillRect(rect, c.track if out or lit else c.sheet)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    drawing.box(painter, rect, edge=c.line if out else c.edge)
    if condition in _PLAIN:
        drawing.text(painter, rect, short, look.font(18, not out), c.ink2 if out else c.ink, drawing.MIDDLE)
        return
    side = look.px(24)
    at = QRectF(rect.center().x() - side / 2, rect.top() + look.px(6), side, side)
    sign(painter, at, condition, ground="sheet")
    at = QRectF(rect.left(), rect.bottom() - look.px(22), rect.width(), look.px(20))
    drawing.text(painter, at, short, look.font(14, True), c.ink, drawing.MIDDLE)


class Board(QWidget):
    """All cells in rows; `opened(id)`; arrows move among them, Return and Space open."""

    opened = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cells: list[BoardCell] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("Every unit")
        source.look_changed.connect(self._place)

    def set_cells(self, cells: tuple[Cell, ...]) -> None:
        """Show these, in the order given; a cell that stays keeps the focus."""
        focused = self._focused_id()
        for old in self._cells:
            old.hide()  # a queued show of a layout would make it a window of its own
            old.setParent(None)
            old.deleteLater()
        self._cells = [BoardCell(cell, self) for cell in cells]
        for number, cell in enumerate(self._cells):
            cell.setFocusPolicy(Qt.FocusPolicy.ClickFocus if number else Qt.FocusPolicy.StrongFocus)
            cell.clicked.connect(self._press)
            cell.show()
            if cell.cell.id == focused:
                cell.setFocus()
        self._place()

    def _focused_id(self) -> str:
        return next((cell.cell.id for cell in self._cells if cell.hasFocus()), "")

    def _press(self) -> None:
        cell = self.sender()
        if isinstance(cell, BoardCell):
            self.opened.emit(cell.cell.id)

    def columns(self) -> int:
        """How many cells stand in a row at this width."""
        look = current()
        return max(1, (self.width() + look.px(GAP)) // look.px(CELL + GAP))

    def _place(self) -> None:
        look, columns = current(), self.columns()
        step = look.px(CELL + GAP)
        for number, cell in enumerate(self._cells):
            row, column = divmod(number, columns)
            cell.setGeometry(column * step, row * step, look.px(CELL), look.px(CELL))
        self.setMinimumHeight(self.heightForWidth(self.width()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._place()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, wide: int) -> int:
        look = current()
        columns = max(1, (wide + look.px(GAP)) // look.px(CELL + GAP))
        return -(-len(self._cells) // columns) * look.px(CELL + GAP)

    def sizeHint(self) -> QSize:
        wide = current().px(8 * (CELL + GAP))
        return QSize(wide, self.heightForWidth(wide))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: -self.columns(),
            Qt.Key.Key_Down: self.columns(),
        }
        step = steps.get(Qt.Key(event.key()))
        here = next((n for n, cell in enumerate(self._cells) if cell.hasFocus()), None)
        if step is None or here is None:
            event.ignore()
            return
        there = here + step
        if 0 <= there < len(self._cells):
            self._cells[here].setFocusPolicy(Qt.FocusPolicy.ClickFocus)
            self._cells[there].setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self._cells[there].setFocus(Qt.FocusReason.TabFocusReason)


class Legend(Drawn):
    """What the signs of the board mean, in as many lines as the width asks for."""

    def __init__(self, conditions: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._conditions = conditions
        self.setAccessibleName("Signs: " + ", ".join(conditions))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        places = self._places(look)
        return QSize(round(max(room.width() for _, room in places)), round(places[-1][1].bottom()))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c, side = look.colours, look.px(18)
        for word, room in self._places(look):
            at = QRectF(room.left(), room.center().y() - side / 2, side, side)
            if word in _PLAIN:
                draw_cell(painter, at, word, "")
            else:
                sign(painter, at, word)
            words = QRectF(room).adjusted(side + look.px(6), 0, 0, 0)
            drawing.text(painter, words, word, look.font(14), c.ink2)

    def _places(self, look: Look) -> list[tuple[str, QRectF]]:
        """Each word with the room of its sign and itself; a new line where the next would not fit."""
        high, x, y = look.px(32), 0.0, 0.0
        found = []
        for word in self._conditions:
            wide = look.px(24) + drawing.width(word, look.font(14))
            if x > 0 and x + wide > self.width():
                x, y = 0.0, y + look.px(24)
            found.append((word, QRectF(x, y, wide, high)))
            x += wide + look.px(20)
        return found
