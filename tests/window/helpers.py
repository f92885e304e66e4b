"""What tests of the window share: looks to try, and the check that words fit their boxes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from cribdesk.window import drawing, look
from cribdesk.window.components.base import Pressable

LOOKS = [(dark, u) for dark in (False, True) for u in (1.0, 1.5, 2.0)]


@contextmanager
def wearing(dark: bool = False, u: float = 1.0) -> Iterator[look.Look]:
    """Dress the application for the length of a test, then as before."""
    before = look.current()
    look.wear(look.make(dark, u))
    try:
        yield look.current()
    finally:
        look.wear(before)


def words_that_do_not_fit(widget: QWidget) -> list[str]:
    """What is cut: labels and stock buttons by their size, painted words by watching them being painted."""
    QApplication.processEvents()
    with drawing.watching_words() as overflows:
        widget.grab()
    found = [f"{o.words!r} needs {o.needed:.0f} of {o.room:.0f}" for o in overflows]
    for label in [*widget.findChildren(QLabel), *([widget] if isinstance(widget, QLabel) else [])]:
        if label.isVisibleTo(widget) and label.text() and label.pixmap().isNull():
            found += _label_fault(label)
    for button in widget.findChildren(QAbstractButton):
        if button.isVisibleTo(widget) and not isinstance(button, Pressable) and button.text():
            needed = button.fontMetrics().horizontalAdvance(button.text().replace("&", ""))
            if needed > button.width() + 1:
                found.append(f"button {button.text()!r} needs {needed} of {button.width()}")
    return found


def _label_fault(label: QLabel) -> list[str]:
    room = label.contentsRect()
    if label.wordWrap():
        needed = label.heightForWidth(label.width())
        words = label.text().split()
        widest = max((label.fontMetrics().horizontalAdvance(word) for word in words), default=0)
        faults = [f"label {label.text()!r} is {label.height()} high, needs {needed}"] * (
            needed > label.height() + 1
        )
        return faults + [f"a word of {label.text()!r} needs {widest} of {room.width()}"] * (
            widest > room.width() + 1
        )
    needed = label.fontMetrics().horizontalAdvance(label.text())
    return [f"label {label.text()!r} needs {needed} of {room.width()}"] * (needed > room.width() + 1)


def assert_words_fit(widget: QWidget) -> None:
    """Fail on any word, in a label, a button or painted, that is wider than its box."""
    found = words_that_do_not_fit(widget)
    assert not found, "\n".join(found)
