"""Form fields with large targets: each has its name above, its help or its fault beneath."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QDate, QEvent, QLocale, QObject, QPointF, QRectF, QRegularExpression, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF, QRegularExpressionValidator
from PySide6.QtWidgets import (
    QComboBox,
    QDateEdit,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from cribdesk.window import drawing
from cribdesk.window.components.base import TARGET, Pressable, Words
from cribdesk.window.look import Look, current, source
from cribdesk.window.signs import tick_box


class Field(QWidget):
    """A name, an editor, and a line beneath: help, or what is wrong; `changed` when a person changes it."""

    changed = Signal()

    def __init__(
        self, name: str, editor: QWidget, help_words: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.name, self._help, self.editor = name, help_words, editor
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._label = Words(name, 18, wrap=True)
        self._label.setBuddy(editor)
        self._under = Words(help_words, 14, ink="ink2", wrap=True)
        self._column.addWidget(self._label)
        self._column.addWidget(editor)
        self._column.addWidget(self._under)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        editor.setAccessibleName(name)
        editor.installEventFilter(self)
        self.setFocusProxy(editor)
        self.set_fault("")
        source.look_changed.connect(self.refit)
        self.refit()

    def refit(self) -> None:
        """Take sizes of the look anew."""
        self._column.setSpacing(current().px(4))
        self.editor.setMinimumHeight(current().px(TARGET))

    def set_fault(self, words: str) -> None:
        """Say what is wrong under the field; empty words bring the help back."""
        shown = words or self._help
        self._under.setText(shown)
        self._under.setVisible(bool(shown))
        self._under.set_ink("stopink" if words else "ink2")
        self.editor.setAccessibleDescription(shown)

    def fault(self) -> str:
        """What is wrong, as it is said now."""
        return self._under.text() if self._under.property("role") == "stopink" else ""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        # A wheel that scrolls the page must not turn a choice or a date on its way.
        if event.type() == QEvent.Type.Wheel and isinstance(watched, QComboBox | QDateEdit):
            event.ignore()
            return True
        return False

    def _tell(self) -> None:
        self.changed.emit()


class TextField(Field):
    """Plain text, of one line or several."""

    def __init__(
        self, name: str, help_words: str = "", lines: int = 1, parent: QWidget | None = None
    ) -> None:
        self._line = QLineEdit() if lines == 1 else None
        self._many = QPlainTextEdit() if lines > 1 else None
        self._lines = lines
        super().__init__(name, self._line or self._many or QLineEdit(), help_words, parent)
        if self._line is not None:
            self._line.textEdited.connect(self._tell)
        if self._many is not None:
            self._many.setTabChangesFocus(True)
            self._many.textChanged.connect(self._tell)

    def refit(self) -> None:
        super().refit()
        if self._lines > 1:
            self.editor.setFixedHeight(current().px(24 * self._lines + 24))

    def value(self) -> str:
        """The text without blanks at its ends."""
        if self._many is not None:
            return self._many.toPlainText().strip()
        return self._line.text().strip() if self._line is not None else ""

    def set_value(self, text: str) -> None:
        """Fill in."""
        if self._line is not None:
            self._line.setText(text)
        elif self._many is not None:
            self._many.setPlainText(text)


class NumberField(Field):
    """A number with its unit; point or comma; what cannot be a number cannot be typed.

    Whoever comes into it types a new number: digits put beside the one that stood there would make a third.
    """

    def __init__(
        self, name: str, unit: str = "", decimals: int = 0, help_words: str = "", signed: bool = False,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        self._line, self._entered = QLineEdit(), False
        super().__init__(f"{name}, {unit}" if unit else name, self._line, help_words, parent)
        point = rf"([.,]\d{{0,{decimals}}})?" if decimals else ""
        pattern = QRegularExpression(("-?" if signed else "") + r"\d{0,9}" + point)
        self._line.setValidator(QRegularExpressionValidator(pattern, self))
        self._line.setInputMethodHints(Qt.InputMethodHint.ImhFormattedNumbersOnly)
        self._decimals = decimals
        self._line.textEdited.connect(self._tell)
        self._column.setAlignment(self._line, Qt.AlignmentFlag.AlignLeft)

    def refit(self) -> None:
        super().refit()
        self.editor.setFixedWidth(current().px(200))  # as wide as a number is, not as the page

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn:
            self._entered = True
            self._line.selectAll()
        elif event.type() == QEvent.Type.MouseButtonRelease and self._entered:  # the press has put the cursor down
            self._entered = False
            if not self._line.hasSelectedText():
                self._line.selectAll()
        elif event.type() == QEvent.Type.KeyPress:
            self._entered = False
        return super().eventFilter(watched, event)

    def value(self) -> float | None:
        """The number, or None while there is none."""
        text = self._line.text().replace(",", ".")
        return float(text) if any(character.isdigit() for character in text) else None

    def set_value(self, number: float | None) -> None:
        """Fill in, or empty."""
        self._line.setText("" if number is None else f"{number:.{self._decimals}f}")


def _arrow(widget: QWidget) -> None:
    """The mark that a list or a calendar opens there; the style sheet leaves it out."""
    look = current()
    painter = QPainter(widget)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    x, y, reach = widget.width() - look.px(24), widget.height() / 2 - look.px(3), look.px(6)
    painter.setPen(QPen(look.colours.ink if widget.isEnabled() else look.colours.off, 2 * look.u))
    painter.drawPolyline(
        QPolygonF([QPointF(x - reach, y), QPointF(x, y + reach), QPointF(x + reach, y)])
    )
    painter.end()


class Combo(QComboBox):
    """A choice with the mark that a list opens there."""

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        _arrow(self)


class _DateEdit(QDateEdit):
    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        _arrow(self)


class ChoiceField(Field):
    """One of several, by id."""

    def __init__(
        self, name: str, choices: tuple[tuple[str, str], ...] = (), help_words: str = "",
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        self._combo = Combo()
        self._ids: list[str] = []
        super().__init__(name, self._combo, help_words, parent)
        self._combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.set_choices(choices)
        self._combo.activated.connect(self._tell)

    def keep_width(self) -> None:
        """As wide as its layout makes it, not as its longest choice; many choices then cost nothing to measure."""
        self._combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)

    def set_choices(self, choices: tuple[tuple[str, str], ...]) -> None:
        """Offer these (id, words); what was chosen stays if it is still there."""
        before = self.value()
        self._combo.clear()
        self._ids = [id_ for id_, _ in choices]
        self._combo.addItems([words for _, words in choices])  # at once: some lists have thousands
        if before:
            self.set_value(before)

    def value(self) -> str:
        """The id chosen, or nothing."""
        place = self._combo.currentIndex()
        return self._ids[place] if 0 <= place < len(self._ids) else ""

    def set_value(self, id_: str) -> None:
        """Choose; an unknown id chooses nothing."""
        self._combo.setCurrentIndex(self._ids.index(id_) if id_ in self._ids else -1)


_NEVER = QDate(1900, 1, 1)


class DateField(Field):
    """A day; with `optional` it may also be none."""

    def __init__(
        self, name: str, help_words: str = "", optional: bool = False, parent: QWidget | None = None
    ) -> None:
        self._edit = _DateEdit()
        super().__init__(name, self._edit, help_words, parent)
        self._edit.setLocale(QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom))
        self._edit.setDisplayFormat("d MMM yyyy")
        self._edit.setCalendarPopup(True)
        self._edit.setMinimumDate(_NEVER)
        if optional:
            self._edit.setSpecialValueText("none")
            self._edit.setDate(_NEVER)
        self._edit.dateChanged.connect(self._tell)

    def value(self) -> dt.date | None:
        """The day, or None."""
        day = self._edit.date()
        return None if day == _NEVER else dt.date(day.year(), day.month(), day.day())

    def set_value(self, day: dt.date | None) -> None:
        """Fill in, or set to none; does not tell."""
        before = self._edit.blockSignals(True)
        self._edit.setDate(_NEVER if day is None else QDate(day.year, day.month, day.day))
        self._edit.blockSignals(before)


class TickField(Pressable):
    """A drawn box with words; `toggled(bool)`."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = words
        self.setCheckable(True)
        self.setAccessibleName(words)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def value(self) -> bool:
        """Whether it is ticked."""
        return self.isChecked()

    def set_value(self, ticked: bool) -> None:
        """Tick or not, without telling."""
        before = self.blockSignals(True)
        self.setChecked(ticked)
        self.blockSignals(before)
        self.update()

    def measure(self, look: Look) -> QSize:
        wide = drawing.width(self._words, look.font(18))
        return QSize(round(wide) + look.px(40), look.px(TARGET))

    def draw(self, painter: QPainter, look: Look) -> None:
        side = look.px(22)
        tick_box(painter, QRectF(look.px(2), (self.height() - side) / 2, side, side), self.isChecked())
        room = QRectF(look.px(36), 0, self.width() - look.px(36), self.height())
        ink = look.colours.ink if self.isEnabled() else look.colours.off
        drawing.text(painter, room, self._words, look.font(18), ink)


def side_by_side(*widgets: QWidget) -> QWidget:
    """Fields in one row, gaps of 16."""
    row = QWidget()
    line = QHBoxLayout(row)
    line.setContentsMargins(0, 0, 0, 0)
    line.setSpacing(current().px(16))
    for widget in widgets:
        line.addWidget(widget, 1, Qt.AlignmentFlag.AlignTop)
    return row
