"""The keys of the window, each an action of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow


def add_keys(window: QMainWindow, names: Iterable[str], pressed: Callable[[], None]) -> dict[str, QAction]:
    """An action for each key, by its name; held down a key counts once. `pressed` finds it as the sender."""
    made: dict[str, QAction] = {}
    for name in names:
        action = QAction(name, window)
        action.setShortcut(QKeySequence(name))
        action.setShortcutContext(Qt.ShortcutContext.WindowShortcut)
        action.setAutoRepeat(False)
        action.triggered.connect(pressed)
        window.addAction(action)
        made[name] = action
    return made
