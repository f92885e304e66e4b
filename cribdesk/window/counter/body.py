"""What the forms on the counter are made of: a head, and fields that tell the slate what is typed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from cribdesk.desk.picking import waiting_in
from cribdesk.desk.slate import Form, Slate
from cribdesk.window.choices import Choices
from cribdesk.window.components.base import Words
from cribdesk.window.components.fields import NumberField, TextField
from cribdesk.window.components.plate import Plate
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Row


class Body(QWidget):
    """The fields of one kind of form."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self.doors = doors
        self.groups: dict[str, Choices] = {}
        self.column: Boxes | Row = Boxes(self, gap=16)

    def fill(self, form: Form, slate: Slate) -> None:
        """Show the form's values."""

    def number(self, form: Form) -> None:
        """Show the numbers by which printed codes take from the list that waits."""
        waiting = waiting_in(form)
        for name, group in self.groups.items():
            group.set_numbered(waiting is not None and waiting.field == name)

    def walk(self, step: int) -> bool:
        """The arrow keys, where no field has taken them: whether this form goes by them."""
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The arrows before the page around it scrolls by them."""
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if step is None or not self.walk(step):
            event.ignore()

    def title(self, words: str, label: str) -> None:
        """The head, with the plate of what it is about."""
        line = Row(gap=16)
        line.addWidget(Words(words, 24, True, wrap=True), 1)
        if label:
            line.addWidget(Plate(label))
        self.column.addLayout(line)

    def text(self, name: str, words: str, help_words: str = "", lines: int = 1) -> TextField:
        """A text field that tells what is typed."""
        field = TextField(words, help_words, lines)
        field.changed.connect(lambda: self.doors.filled.emit(name, field.value()))
        self.column.addWidget(field)
        return field

    def figure(self, name: str, words: str, unit: str, decimals: int = 0) -> NumberField:
        """A number field that tells what is typed; empty while there is no number."""
        field = NumberField(words, unit, decimals)
        field.changed.connect(lambda: self.doors.filled.emit(name, _plain(field.value())))
        self.column.addWidget(field)
        return field

    def choice(self, name: str, words: str, choices: tuple[tuple[str, str], ...], stacked: bool = False) -> Choices:
        """A group of options that tells which one was taken."""
        group = Choices(words, choices, stacked)
        group.chosen.connect(lambda id_: self.doors.filled.emit(name, id_))
        self.groups[name] = group
        self.column.addWidget(group)
        return group


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def put_text(field: TextField, value: str) -> None:
    """Fill in what differs, but never under a person's hands."""
    if field.value() != value.strip() and not field.editor.hasFocus():
        field.set_value(value)


def put_figure(field: NumberField, value: float | None) -> None:
    """Fill in what differs, but never under a person's hands."""
    if field.value() != value and not field.editor.hasFocus():
        field.set_value(value)
