"""What a search found, beneath the field it is typed in: chosen by arrows, by touch, or by Return."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.crib.words import capital
from cribdesk.desk.find import Found, FoundRow
from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable, Rule, Words
from cribdesk.window.components.plate import draw_plate, plate_width
from cribdesk.window.layout import Boxes, Panel, Scroll, empty
from cribdesk.window.look import Look

HIGH = 52


class FindRow(Pressable):
    """One result: its kind, its words, what tells it apart, its plate."""

    def __init__(self, row: FoundRow, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.row, self.selected = row, False
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # one goes on typing
        self.setAccessibleName(", ".join(one for one in (row.what, row.words, row.detail, row.label) if one))
        self.setToolTip(row.detail)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(320), look.px(HIGH))

    def select(self, selected: bool) -> None:
        """Whether Return takes this one."""
        self.selected = selected
        self.update()

    def draw(self, painter: QPainter, look: Look) -> None:
        c, high = look.colours, float(self.height())
        if self.selected or self.underMouse():
            painter.fillRect(self.rect(), c.track)
        if self.selected:
            painter.fillRect(QRectF(0, 0, look.px(8), high), c.ink)
        left, right = float(look.px(24)), float(self.width() - look.px(24))
        drawing.text(painter, QRectF(left, 0, look.px(96), high), capital(self.row.what), look.font(14), c.ink2)
        left += look.px(104)
        plate = plate_width(self.row.label)
        draw_plate(painter, QRectF(right - plate, 0, plate, high), self.row.label, "sheet")
        right -= plate + look.px(16)
        bold = look.font(18, True)
        room = max(0.0, right - left)
        wide = min(drawing.width(self.row.words, bold), room)
        drawing.text(painter, QRectF(left, 0, wide + 1, high), self.row.words, bold, c.ink, elide=True)
        left += wide + look.px(16)
        if right - left > look.px(60):
            at = QRectF(left, 0, right - left, high)
            drawing.text(painter, at, self.row.detail, look.font(18), c.ink2, elide=True)
        drawing.hairline(painter, look.px(24), self.width(), high - look.px(1), c.line)


class FindList(Panel):
    """The results in one column; `chosen(label)`."""

    chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__("sheet")
        inside = Panel("sheet")
        self._rows: list[FindRow] = []
        self._lines = Boxes()
        inside.column.addLayout(self._lines)
        inside.column.addStretch(1)
        self._scroll = Scroll(inside, "sheet")
        self._note = Words("", 14, ink="ink2", wrap=True)
        head = Boxes(margins=(24, 8, 24, 8))
        head.addWidget(self._note)
        self.column.addLayout(head)
        self.column.addWidget(Rule())
        self.column.addWidget(self._scroll, 1)
        self._at = -1
        self.hide()

    def show_found(self, found: Found, first: bool) -> None:
        """Show these results; with `first` Return takes the first of them, else none until an arrow chose one."""
        empty(self._lines)
        self._rows = [FindRow(one) for one in found.rows]
        for row in self._rows:
            row.clicked.connect(self._pressed)
            self._lines.addWidget(row)
        self._at = -1
        if first and self._rows:
            self.step(1)
        if not self._rows:
            words = "Nothing fits. Try fewer letters, or the number on the thing."
        elif found.left_off:
            words = f"And {found.left_off}: type more to narrow it down."
        else:
            words = "Arrows or a touch choose."
        self._note.setText(words)
        self._scroll.verticalScrollBar().setValue(0)
        self.setVisible(bool(found.text.strip()))

    def clear_rows(self) -> None:
        """No results are shown."""
        empty(self._lines)
        self._rows, self._at = [], -1
        self.hide()

    def step(self, by: int) -> None:
        """One down or up; it stays at the ends."""
        if not self._rows:
            return
        if self._at >= 0:
            self._rows[self._at].select(False)
        self._at = max(0, min(len(self._rows) - 1, self._at + by))
        self._rows[self._at].select(True)
        self._scroll.ensureWidgetVisible(self._rows[self._at], 0, 0)

    def taken(self) -> str:
        """The label of the row that Return takes, or ''."""
        return self._rows[self._at].row.label if self._at >= 0 else ""

    def rows(self) -> tuple[FoundRow, ...]:
        """What is shown, in order."""
        return tuple(one.row for one in self._rows)

    def _pressed(self) -> None:
        row = self.sender()
        if isinstance(row, FindRow):
            self.chosen.emit(row.row.label)
