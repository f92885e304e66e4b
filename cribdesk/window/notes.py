"""Lines under the strip: a typed label, a notice that stays, work in progress; and the list of places."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget
from shiboken6 import isValid

from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.layout import Boxes, Panel, Row, Scroll


class _LabelEdit(QLineEdit):
    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        from PySide6.QtCore import Qt

        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
            return
        super().keyPressEvent(event)


class TypedLabel(Panel):
    """A label typed by hand; its check character catches slips. `entered(text)` on Return."""

    entered = Signal(str)

    def __init__(self) -> None:
        super().__init__("sheet")
        line = Row(margins=(24, 8, 24, 8), gap=16)
        self.field = _LabelEdit()
        self.field.setAccessibleName("Label, typed by hand")
        self.field.returnPressed.connect(self._enter)
        self.field.left.connect(self.close_field)
        words = Words("Label, as printed, with its last character", 18)
        words.setBuddy(self.field)
        self._words = words
        line.addWidget(words)
        line.addWidget(self.field, 1)
        go = ActionButton("Take", "plain", "Return", size="row")
        go.clicked.connect(self._enter)
        close = ActionButton("Close", "quiet", "Esc", size="row")
        close.clicked.connect(self.close_field)
        for button in (go, close):
            button.setSizePolicy(button.sizePolicy().Policy.Fixed, button.sizePolicy().Policy.Fixed)
            line.addWidget(button)
        self.column.addLayout(line)
        self.column.addWidget(Rule("edge"))
        self._before: QWidget | None = None
        self.hide()

    def open_field(self) -> None:
        """Show it, empty, and take the keys."""
        if not self.isVisible():
            self._before = self.window().focusWidget()
        self.show()
        self.field.clear()
        self.field.setFocus()

    def close_field(self) -> None:
        """Take it away; the keys go back to where they were, never to the first thing Qt finds."""
        self.field.clear()
        if self.isAncestorOf(self.window().focusWidget() or self):
            before = self._before if self._before is not None and isValid(self._before) else None
            (before if before is not None and before.isVisible() else self.window()).setFocus()
        self._before = None
        self.hide()

    def _enter(self) -> None:
        text = self.field.text().strip()
        if text:
            self.close_field()
            self.entered.emit(text)


class NoteLine(Panel):
    """A notice that stays, and what is being worked on; `called_off` where that may be left for another time."""

    called_off = Signal()

    def __init__(self) -> None:
        super().__init__("rail")
        column = Boxes(margins=(16, 4, 24, 4))
        self.words = Words("", 14, ink="ink2", wrap=True)
        self.busy = Words("", 14, True, wrap=True)
        column.addWidget(self.words)
        line = Row(gap=16)
        line.addWidget(self.busy, 1)
        self.stop = ActionButton("Not now", "quiet", size="row")
        self.stop.setSizePolicy(self.stop.sizePolicy().Policy.Fixed, self.stop.sizePolicy().Policy.Fixed)
        self.stop.clicked.connect(self.called_off)
        line.addWidget(self.stop)
        column.addLayout(line)
        self.column.addLayout(column)
        self.column.addWidget(Rule())
        self.show_words("")
        self.show_busy(None)

    def show_words(self, words: str) -> None:
        """Another notice; empty words take it away."""
        self.words.setText(words)
        self.words.setVisible(bool(words))
        self._turn()

    def show_busy(self, words: str | None, *, may_stop: bool = False) -> None:
        """What is being worked on, and whether it may be called off; None when it is over."""
        self.busy.setText(words or "")
        self.busy.setVisible(bool(words))
        self.stop.setVisible(bool(words) and may_stop)
        self._turn()

    def _turn(self) -> None:
        self.setVisible(bool(self.words.text() or self.busy.text()))


class PlaceList(Panel):
    """Every place as a list over the page, where the rail has no room for them: `chosen(id)`."""

    chosen = Signal(str)

    def __init__(self, places: tuple[tuple[str, str, str], ...]) -> None:
        super().__init__()
        inside = Panel("page", (24, 16, 24, 16), 8)
        self._ids: dict[QWidget, str] = {}
        for id_, title, key in places:
            button = ActionButton(title, "plain", key, size="bar")
            button.return_presses = True
            button.clicked.connect(self._press)
            self._ids[button] = id_
            inside.column.addWidget(button)
        inside.column.addStretch(1)
        self.column.addWidget(Scroll(inside), 1)

    def _press(self) -> None:
        button = self.sender()
        if isinstance(button, QWidget):
            self.chosen.emit(self._ids[button])
