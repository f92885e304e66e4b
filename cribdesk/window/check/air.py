"""The air at the flow meter: its temperature, and the barometer's pressure where there is one."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRegularExpression, Qt, Signal
from PySide6.QtGui import QRegularExpressionValidator
from PySide6.QtWidgets import QLineEdit, QWidget

from cribdesk.desk.air import AirNow
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import TARGET, Words
from cribdesk.window.components.pad import BACK
from cribdesk.window.layout import Boxes, Row
from cribdesk.window.lists import fixed
from cribdesk.window.look import current

BAROMETER = "Barometer: the one here, never the weather report's figure for sea level. Empty: the altitude tells it."


class AirFields(QWidget):
    """One line of two small fields, and what the air does to the reading beneath; `changed` as a person types."""

    changed = Signal()
    entered = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.temperature = _figure("Air at the meter, °C", r"-?\d{0,2}([.,]\d?)?")
        self.pressure = _figure("Barometer here, hPa", r"\d{0,4}([.,]\d?)?")
        self._last: QLineEdit | None = None
        self._under = Words("", 14, ink="ink2", wrap=True)
        minus = fixed(ActionButton("+/\N{MINUS SIGN}", "plain", "", size="bar"))
        minus.setAccessibleName("Below zero, or above")
        minus.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        minus.clicked.connect(self._turn_sign)
        line = Row(gap=8)
        for one in (Words("Air at the meter"), self.temperature, Words("°C"), minus):
            line.addWidget(one)
        line.addSpacing(current().px(16))
        for one in (Words("Barometer"), self.pressure, Words("hPa")):
            line.addWidget(one)
        line.addStretch(1)
        column = Boxes(self, gap=4)
        column.addLayout(line)
        column.addWidget(self._under)
        for field in (self.temperature, self.pressure):
            field.textEdited.connect(lambda _: self.changed.emit())
            field.returnPressed.connect(self.entered)
            field.installEventFilter(self)

    def set_air(self, known: AirNow | None) -> None:
        """What was entered last today."""
        if known is None:
            return
        self.temperature.setText(f"{known.temperature_c:.1f}".removesuffix(".0"))
        if known.pressure_hpa is not None:
            self.pressure.setText(f"{known.pressure_hpa:.1f}".removesuffix(".0"))

    def celsius(self) -> float | None:
        """The temperature typed, or None."""
        return _value(self.temperature)

    def hectopascals(self) -> float | None:
        """The pressure typed, or None."""
        return _value(self.pressure)

    def say(self, words: str) -> None:
        """What the air does to the reading; nothing typed yet: which barometer is meant."""
        self._under.setText(words or BAROMETER)
        self._under.set_ink("ink2")

    def say_wrong(self, words: str) -> None:
        """Why this air is not taken."""
        self._under.setText(words)
        self._under.set_ink("stopink")

    def takes_pad(self) -> bool:
        """Whether the pad's keys belong to one of these fields."""
        return self._last is not None

    def press(self, key: str) -> None:
        """A key of the pad, into the field that was used last."""
        field = self._last
        if field is None:
            return
        if key == BACK:
            field.backspace()
        else:
            field.insert(key)
        field.setFocus()
        self.changed.emit()

    def left(self) -> None:
        """Something else has the keys now."""
        self._last = None

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn and isinstance(watched, QLineEdit):
            self._last = watched
        return False

    def _turn_sign(self) -> None:
        text = self.temperature.text()
        self.temperature.setText(text[1:] if text.startswith("-") else f"-{text}")
        self.changed.emit()


def _figure(name: str, pattern: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setValidator(QRegularExpressionValidator(QRegularExpression(pattern), field))
    field.setFont(current().font(24, True))
    field.setStyleSheet("QLineEdit { padding: 0 8px; }")
    field.setFixedSize(current().px(104), current().px(TARGET))
    return field


def _value(field: QLineEdit) -> float | None:
    text = field.text().replace(",", ".")
    return float(text) if any(character.isdigit() for character in text) else None

