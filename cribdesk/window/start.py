"""Starting Qt: the one application object, timers for whoever knows no Qt, and the end."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

from cribdesk.window.look import install, make, source, system_dark, wear

SHADES = {"light": False, "dark": True}  # anything else follows the system


def application(arguments: Sequence[str], scale: float, shade: str) -> QApplication:
    """The application object, dressed; `shade` is light, dark or system."""
    there = QApplication.instance()
    app = there if isinstance(there, QApplication) else QApplication(["cribdesk", *arguments])
    app.setApplicationName("CribDesk")
    install(app, scale, SHADES.get(shade))
    return app


def dress(scale: float, shade: str) -> None:
    """Changes text scale and shade while the program runs."""
    source.shade = SHADES.get(shade)
    wear(make(system_dark() if source.shade is None else source.shade, scale))


def no_screen() -> bool:
    """Whether this machine has no screen to open a window on."""
    if os.environ.get("QT_QPA_PLATFORM") or not sys.platform.startswith("linux"):
        return False
    return not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def offscreen() -> None:
    """From now on windows are painted without a screen; said before the application is made."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"


def every(milliseconds: int, call: Callable[[], None], parent: QObject) -> QTimer:
    """Calls again and again while the parent lives."""
    timer = QTimer(parent, interval=milliseconds, timerType=Qt.TimerType.CoarseTimer)
    timer.timeout.connect(call)
    timer.start()
    return timer


def wait_until(ready: Callable[[], bool], seconds: float) -> bool:
    """Lets the window work until something is so; False when the time ran out."""
    import time

    app = QApplication.instance()
    end = time.monotonic() + seconds
    while not ready():
        if time.monotonic() > end or app is None:
            return False
        app.processEvents()
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete)  # no loop runs here that would do it
        time.sleep(0.002)
    return True


def run() -> int:
    """Runs until the last window is closed."""
    app = QApplication.instance()
    return app.exec() if app is not None else 1
