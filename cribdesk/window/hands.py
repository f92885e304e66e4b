"""Hands for a window without a person: real key events through Qt's own queue, and pictures of what is shown."""

from __future__ import annotations

import time
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QKeyEvent, QWindow
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

KEYS = {
    "Return": Qt.Key.Key_Return,
    "F3": Qt.Key.Key_F3,
    "F5": Qt.Key.Key_F5,
    "F6": Qt.Key.Key_F6,
    "F7": Qt.Key.Key_F7,
    "F8": Qt.Key.Key_F8,
    "F9": Qt.Key.Key_F9,
    "F10": Qt.Key.Key_F10,
    "F11": Qt.Key.Key_F11,
    "F12": Qt.Key.Key_F12,
}


def scan(window: QWidget, label: str) -> None:
    """A burst of keys as a scanner types them, 5 ms apart by their own time stamps, ended by Enter."""
    handle = _handle(window)
    begun = time.monotonic_ns() // 1_000_000
    for number, character in enumerate(f"{label}\r"):
        key = Qt.Key.Key_Return if character == "\r" else Qt.Key(ord(character.upper()))
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            event = QKeyEvent(kind, key, Qt.KeyboardModifier.NoModifier, character)
            event.setTimestamp(begun + 5 * number)
            QCoreApplication.postEvent(handle, event)
    QCoreApplication.sendPostedEvents(handle)


def press(window: QWidget, key: str) -> None:
    """One of the keys on the buttons."""
    QTest.keyClick(_handle(window), KEYS[key])


def type_slowly(window: QWidget, text: str) -> None:
    """Keys at a person's pace, so that they are no scan."""
    handle = _handle(window)
    for character in text:
        QTest.keyClick(handle, ord(character))
        QTest.qWait(60)


def picture(window: QWidget, file: Path) -> None:
    """What the window shows, as a PNG."""
    QApplication.processEvents()
    if not window.grab().save(str(file), "PNG"):
        raise OSError(f"The picture {file} cannot be written.")


def settle(milliseconds: int) -> None:
    """Lets the window work for so long."""
    QTest.qWait(milliseconds)


def _handle(window: QWidget) -> QWindow:
    handle = window.windowHandle()
    if handle is None:
        raise RuntimeError("the window is not shown")
    return handle
