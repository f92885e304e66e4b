"""Lines under the strip: a typed label, a notice that stays, work in progress; and the list of places."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget
from shiboken6 import isValid

from cribdesk.desk.find import Found
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.find import FindList
from cribdesk.window.layout import Panel, Row, Scroll

LABEL_WORDS = "Label, as printed, with its last character"
FIND_WORDS = "Find a name, a number or a label"
PAUSE = 80  # ms after the last key before it is looked for


class _LabelEdit(QLineEdit):
    left = Signal()
    stepped = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self.stepped.emit(1 if event.key() == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)


class TypedLabel(Panel):
    """A label typed by hand, or something looked for; what fits is listed beneath while one types.

    Return takes the label as typed, `entered(text)`, where its check character catches slips; or the result that an
    arrow chose, `chosen(label)`. While one finds, the first result is chosen from the start. `looked_for(text)` asks.
    """

    entered = Signal(str)
    chosen = Signal(str)
    looked_for = Signal(str)

    def __init__(self) -> None:
        super().__init__("sheet")
        line = Row(margins=(24, 8, 24, 8), gap=16)
        self.field = _LabelEdit()
        self.field.setAccessibleName("Label, typed by hand")
        self.field.returnPressed.connect(self._enter)
        self.field.left.connect(self.close_field)
        self.field.stepped.connect(self._step)
        self.field.textEdited.connect(self._typing)
        words = Words(LABEL_WORDS, 18)
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
        self.found = FindList()
        self.found.setParent(self)
        self.found.chosen.connect(self._choose)
        self._before: QWidget | None = None
        self._finding, self._asked, self._answered, self._waits = False, "", "", False
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE)
        self._pause.timeout.connect(self._ask)
        self.hide()

    def open_field(self, find: bool = False) -> None:
        """Show it, empty, and take the keys; for a label, or to find something."""
        if not self.isVisible():
            self._before = self.window().focusWidget()
        self._finding = find
        self._words.setText(FIND_WORDS if find else LABEL_WORDS)
        self.field.setAccessibleName("Find" if find else "Label, typed by hand")
        self.show()
        self._forget()
        self.field.setFocus()

    def _forget(self) -> None:
        self._pause.stop()
        self.field.clear()
        self.found.clear_rows()
        self._asked, self._answered, self._waits = "", "", False

    def _step(self, by: int) -> None:
        self.found.step(by)

    def _typing(self) -> None:
        self._waits = False
        if self.field.text().strip():
            self._pause.start()
        else:
            self._pause.stop()
            self._answered = ""
            self.found.clear_rows()

    def _ask(self) -> None:
        self._pause.stop()
        self._asked = self.field.text()
        self.looked_for.emit(self._asked)

    def show_found(self, found: Found) -> None:
        """What fits; results of a text that is no more the one typed are dropped."""
        if not self.isVisible() or found.text != self.field.text() or not found.text.strip():
            return
        self._answered = found.text
        self.found.show_found(found, self._finding)
        self._cover()
        self.found.raise_()
        if self._waits:
            self._enter()

    def lie_over(self, page: QWidget) -> None:
        """The results lie over this page while something is looked for."""
        self.found.setParent(page)
        self.found.hide()
        page.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and watched is self.found.parentWidget():
            self._cover()
        return False

    def _cover(self) -> None:
        page = self.found.parentWidget()
        if page is not None:
            self.found.setGeometry(page.rect())

    def _choose(self, label: str) -> None:
        self.close_field()
        self.chosen.emit(label)

    def close_field(self) -> None:
        """Take it away; the keys go back to where they were, never to the first thing Qt finds."""
        self._forget()
        if self.isAncestorOf(self.window().focusWidget() or self):
            before = self._before if self._before is not None and isValid(self._before) else None
            (before if before is not None and before.isVisible() else self.window()).setFocus()
        self._before = None
        self.hide()

    def _enter(self) -> None:
        text = self.field.text().strip()
        fresh = self._answered == self.field.text()
        if not text:
            return
        if fresh and self.found.taken():
            self._choose(self.found.taken())
        elif self._finding and not fresh:
            self._waits = True  # Return came before the answer
            self._ask()
        elif not self._finding or any(letter.isdigit() for letter in text):
            self.close_field()  # a label that nothing carries says itself what became of it
            self.entered.emit(text)
        else:
            self._waits = False


class NoteLine(Panel):
    """A notice that stays, and what is being worked on; `called_off` where that may be left for another time."""

    called_off = Signal()

    def __init__(self) -> None:
        super().__init__("rail")
        line = Row(margins=(16, 4, 24, 4), gap=16)
        self.words = Words("", 14, ink="ink2", wrap=True)
        self.busy = Words("", 14, True, wrap=True)
        self.stop = ActionButton("Not now", "quiet", size="row")
        self.stop.setSizePolicy(self.stop.sizePolicy().Policy.Fixed, self.stop.sizePolicy().Policy.Fixed)
        self.stop.clicked.connect(self.called_off)
        line.addWidget(self.words, 1)
        line.addWidget(self.busy, 1)
        line.addWidget(self.stop)
        self.column.addLayout(line)
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
