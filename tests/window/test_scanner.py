"""The wedge: scans are caught whole, typing passes, whatever has the focus."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QDialog,
    QLineEdit,
    QMenu,
    QPushButton,
    QTableWidget,
    QVBoxLayout,
    QWidget,
)  # fmt: skip
from pytestqt.qtbot import QtBot

from cribdesk.crib.scan import LONGEST_CARTON
from cribdesk.window.scanner import Wedge, by_position

LABEL = "U000417Q"


class Bench(QWidget):
    """A window with something of every kind that could swallow a scan."""

    def __init__(self) -> None:
        super().__init__()
        self.field, self.button, self.combo = QLineEdit(), QPushButton("Go"), QComboBox()
        self.table = QTableWidget(3, 1)
        self.combo.addItems(["Ulm", "Oslo"])
        column = QVBoxLayout(self)
        for widget in (self.field, self.button, self.combo, self.table):
            column.addWidget(widget)
        self.pressed = 0
        self.button.clicked.connect(self.press)
        self.button.setAutoDefault(True)

    def press(self) -> None:
        self.pressed += 1


@pytest.fixture
def wedge(qapp: QApplication) -> Iterator[Wedge]:
    """A wedge on the application and a list of what it caught."""
    made = Wedge()
    made.setProperty("caught", [])
    qapp.installEventFilter(made)
    yield made
    qapp.removeEventFilter(made)


@pytest.fixture
def bench(qtbot: QtBot, wedge: Wedge) -> Bench:
    """A shown window in front."""
    made = Bench()
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    made.activateWindow()
    return made


def burst(widget: QWidget, text: str, end: bool = True) -> None:
    """Send keys as a scanner does, 5 ms apart by their own time stamps, so that a busy machine tears none apart."""
    window = widget.window().windowHandle()
    assert window is not None
    begun = time.monotonic_ns() // 1_000_000
    for number, character in enumerate(f"{text}\r" if end else text):
        key = Qt.Key.Key_Return if character == "\r" else Qt.Key(ord(character.upper()))
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            event = QKeyEvent(kind, key, Qt.KeyboardModifier.NoModifier, character)
            event.setTimestamp(begun + 5 * number)
            QApplication.sendEvent(window, event)


def slowly(widget: QWidget, text: str) -> None:
    """Send keys as a person does."""
    for character in text:
        QTest.keyClick(widget.window().windowHandle(), character)
        QTest.qWait(Wedge.HOLD + 20)


def caught(wedge: Wedge) -> list[str]:
    """Listen to the wedge from now on."""
    texts: list[str] = []
    wedge.scanned.connect(lambda text, _: texts.append(text))
    return texts


def test_a_burst_is_a_scan_and_leaves_the_field_alone(bench: Bench, wedge: Wedge) -> None:
    """A label read while a field has the focus is caught, and the field stays empty."""
    texts = caught(wedge)
    bench.field.setFocus()
    burst(bench, LABEL)
    QTest.qWait(60)
    assert texts == [LABEL]
    assert bench.field.text() == ""


def test_a_scan_presses_no_button(bench: Bench, wedge: Wedge) -> None:
    """The Return at the end of a scan does not press the button in focus."""
    texts = caught(wedge)
    bench.button.setFocus()
    burst(bench, LABEL)
    QTest.qWait(60)
    assert texts == [LABEL]
    assert bench.pressed == 0


def test_slow_typing_passes(bench: Bench, wedge: Wedge) -> None:
    """A person's keys arrive in the field, in order and once."""
    texts = caught(wedge)
    bench.field.setFocus()
    slowly(bench, "pre-filter")
    assert bench.field.text() == "pre-filter"
    assert texts == []


def test_a_short_burst_is_typing(bench: Bench, wedge: Wedge) -> None:
    """Fewer than six characters and Return are replayed, and the field hears the Return."""
    texts = caught(wedge)
    heard: list[bool] = []
    bench.field.returnPressed.connect(lambda: heard.append(True))
    bench.field.setFocus()
    burst(bench, "12.5")
    assert bench.field.text() == "12.5"
    assert heard == [True]
    assert texts == []


def test_a_quick_space_still_presses_a_button_once(bench: Bench, wedge: Wedge) -> None:
    """A press whose release comes inside the hold is replayed with its release."""
    bench.button.setFocus()
    QTest.keyClick(bench.windowHandle(), Qt.Key.Key_Space)
    QTest.qWait(Wedge.HOLD + 40)
    assert bench.pressed == 1
    assert not bench.button.isDown()


def test_scan_in_a_modal_dialog(bench: Bench, wedge: Wedge, qtbot: QtBot) -> None:
    """A scan is caught while a modal dialog is open and does not close it."""
    texts = caught(wedge)
    dialog = QDialog(bench)
    qtbot.addWidget(dialog)
    QVBoxLayout(dialog).addWidget(QPushButton("OK", default=True))  # type: ignore[call-overload]
    dialog.setModal(True)
    dialog.show()
    burst(dialog, LABEL)
    QTest.qWait(60)
    assert texts == [LABEL]
    assert dialog.isVisible()
    dialog.close()


def test_scan_with_an_open_menu(bench: Bench, wedge: Wedge, qtbot: QtBot) -> None:
    """A scan is caught while a menu is open, and chooses nothing in it."""
    texts, chosen = caught(wedge), []
    menu = QMenu(bench)
    menu.addAction("Ulm").triggered.connect(lambda: chosen.append("Ulm"))
    menu.popup(bench.mapToGlobal(bench.rect().center()))
    burst(bench, LABEL)
    QTest.qWait(60)
    menu.close()
    assert texts == [LABEL]
    assert chosen == []


def test_scan_on_a_combo_and_a_table(bench: Bench, wedge: Wedge) -> None:
    """A scan neither turns a choice nor moves in a table."""
    texts = caught(wedge)
    bench.combo.setCurrentIndex(1)
    for widget in (bench.combo, bench.table):
        widget.setFocus()
        burst(bench, LABEL)
    QTest.qWait(60)
    assert texts == [LABEL, LABEL]
    assert bench.combo.currentIndex() == 1


def test_an_endless_burst_is_dropped(bench: Bench, wedge: Wedge, qtbot: QtBot) -> None:
    """10 000 characters reach no field, are not kept, and are told once; the next scan works."""
    texts, told = caught(wedge), []
    wedge.overlong.connect(lambda: told.append(True))
    bench.field.setFocus()
    burst(bench, "7" * 10_000)
    assert len(wedge._held) == 0
    burst(bench, LABEL)
    QTest.qWait(60)
    assert told == [True]
    assert texts == [LABEL]
    assert bench.field.text() == ""


def test_an_endless_burst_without_return_ends_by_itself(bench: Bench, wedge: Wedge) -> None:
    """A long burst that stops without Return is dropped too, and typing works after it."""
    bench.field.setFocus()
    burst(bench, "7" * 200, end=False)
    QTest.qWait(80)
    slowly(bench, "ok")
    assert bench.field.text() == "ok"


def test_a_prefix_lets_a_slow_scanner_through(bench: Bench, wedge: Wedge) -> None:
    """With a prefix set, keys that come slower than a scanner's are still one scan, without the prefix."""
    wedge.prefix = "~"
    texts = caught(wedge)
    bench.field.setFocus()
    slowly(bench, "~" + LABEL)
    QTest.keyClick(bench.windowHandle(), Qt.Key.Key_Return)
    assert texts == [LABEL]
    assert bench.field.text() == ""


def test_command_keys_pass_at_once(bench: Bench, wedge: Wedge) -> None:
    """Ctrl+A in the middle of typing flushes what was held and works."""
    bench.field.setFocus()
    burst(bench, "abc", end=False)
    QTest.keyClick(bench.windowHandle(), Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    assert bench.field.text() == "abc"
    assert bench.field.selectedText() == "abc"


def _key(text: str, code: int, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> QKeyEvent:
    return QKeyEvent(QEvent.Type.KeyPress, 0, modifiers, code, 0, 0, text)


def test_positions_on_another_layout() -> None:
    """On a German layout the key that types Z is the US key Y: position 29 on X11, 21 on Windows."""
    shift = Qt.KeyboardModifier.ShiftModifier
    assert by_position(_key("Z", 29, shift), "xcb") == "Y"
    assert by_position(_key("z", 21), "windows") == "y"
    assert by_position(_key("ß", 20), "xcb") == "-"
    assert by_position(_key("&", 10), "xcb") == "1"


def test_positions_fall_back_to_the_text() -> None:
    """Where the platform tells no position, the text stands."""
    assert by_position(_key("Z", 0), "xcb") == "Z"
    assert by_position(_key("Z", 29), "offscreen") == "Z"


GS = "\x1d"
CARTON = f"]C1010950110153000310AB-123{GS}17271130"


def keys(widget: QWidget, typed: list[tuple[Qt.Key, Qt.KeyboardModifier, str]]) -> None:
    """Send keys as a scanner does, with their modifiers."""
    window = widget.window().windowHandle()
    assert window is not None
    begun = time.monotonic_ns() // 1_000_000
    for number, (key, modifiers, text) in enumerate(typed):
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            event = QKeyEvent(kind, key, modifiers, text)
            event.setTimestamp(begun + 5 * number)
            QApplication.sendEvent(window, event)


def by_control(text: str) -> list[tuple[Qt.Key, Qt.KeyboardModifier, str]]:
    """The text as a scanner types it that has Ctrl and a bracket for GS, and Return behind it."""
    none, control = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ControlModifier
    found: list[tuple[Qt.Key, Qt.KeyboardModifier, str]] = []
    for character in text:
        if character == GS:
            found += [(Qt.Key.Key_Control, none, ""), (Qt.Key.Key_BracketRight, control, GS)]
        else:
            found.append((Qt.Key(ord(character.upper())), none, character))
    return [*found, (Qt.Key.Key_Return, none, "\r")]


def test_the_mark_between_fields_of_a_carton_is_kept(bench: Bench, wedge: Wedge) -> None:
    """GS typed by Ctrl and a bracket, or as a bare character, stays in the scan, and no field sees any of it."""
    texts = caught(wedge)
    bench.field.setFocus()
    keys(bench, by_control(CARTON))
    burst(bench, CARTON)
    QTest.qWait(60)
    assert texts == [CARTON, CARTON]
    assert bench.field.text() == ""


def test_the_longest_carton_is_one_scan(bench: Bench, wedge: Wedge) -> None:
    """A code as long as cartons carry is taken whole; one key more is too long for anything."""
    texts = caught(wedge)
    told: list[bool] = []
    wedge.overlong.connect(lambda: told.append(True))
    burst(bench, "1" * LONGEST_CARTON)
    QTest.qWait(60)
    assert (texts, told) == (["1" * LONGEST_CARTON], [])
    burst(bench, "1" * (LONGEST_CARTON + 1))
    QTest.qWait(60)
    assert (len(texts), told) == (1, [True])


def test_control_after_a_quick_key_stays_a_command(bench: Bench, wedge: Wedge) -> None:
    """A person's key and Ctrl+A right behind it: typed, then all is marked; nothing is a scan."""
    texts = caught(wedge)
    bench.field.setFocus()
    none, control = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ControlModifier
    keys(bench, [(Qt.Key.Key_X, none, "x"), (Qt.Key.Key_Control, none, ""), (Qt.Key.Key_A, control, "\x01")])
    QTest.qWait(60)
    assert (bench.field.text(), bench.field.selectedText(), texts) == ("x", "x", [])
